"""What may explain a difference between a weighing and the ledger: the slips that people make, the likeliest first.

The plausible masses of the tree of kinds are rough: they raise a question here, and decide nothing.
"""

import datetime
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.checks import jobs_seen
from tarebook.car.configurations import Configuration
from tarebook.car.models import Job, Weighing
from tarebook.kinds import KindTree
from tarebook.weight.differences import Difference, Load, differences
from tarebook.weight.ledger import Ledger

NEAR = datetime.timedelta(days=7)  # between a job and a weighing that may have seen it after all, or not yet
MOST = 8  # that are named
MOST_TRIED = 50  # jobs near one weighing
Why = Literal["implausible", "near-weighing", "estimated", "same-mass", "same-place"]


class ByAxle(NamedTuple):
    """The difference on each axle, in kg, with its expanded uncertainty; the wheelbase in mm."""

    front: Fraction
    rear: Fraction
    front_reach: float
    rear_reach: float
    wheelbase: Fraction


class Unexplained(NamedTuple):
    """Expected less weighed, in kg, with its expanded uncertainty; by axle too, where that can be said."""

    mass: Fraction
    reach: float
    by_axle: ByAxle | None = None

    def misfit(self, mass: Fraction, at: Fraction | None) -> float | None:
        """How far this is from a mass at a place: at most one where it may be it; None where it cannot be.

        The largest of the differences, in all and by axle, each in units of its own expanded uncertainty.
        """
        misfit = abs(float(self.mass - mass)) / self.reach
        if self.by_axle is not None and at is not None:
            rear = mass * at / self.by_axle.wheelbase
            misfit = max(
                misfit,
                abs(float(self.by_axle.rear - rear)) / self.by_axle.rear_reach,
                abs(float(self.by_axle.front - (mass - rear))) / self.by_axle.front_reach,
            )
        return misfit if misfit <= 1.0 else None


class Culprit(NamedTuple):
    """One thing that may be wrong.

    Attributes:
        why: "implausible": its mass lies outside what its kind mostly weighs; "near-weighing": a job done within a
            week of a weighing; "estimated": its mass was judged, not weighed; "same-mass": it weighs about what is
            unexplained; "same-place": it was changed, and sits where the unexplained mass does.
        change: what the ledger says of it: "off" or "on" between the weighings, "lightened", or for "same-mass" its
            state at the later one; for a job "seen" or "not-seen" by the weighing that it is near.
        explains_kg: how much of the difference it would explain; None where that is open.
        would_weigh_kg: what the part would weigh if it explained all of it; None for a job, and for "same-mass".
        weighing: for "near-weighing", the weighing that the job is near.
    """

    what: Literal["part", "job"]
    id: str
    why: Why
    change: Literal["off", "on", "lightened", "seen", "not-seen"]
    explains_kg: float | None = None
    would_weigh_kg: float | None = None
    usual_kg: tuple[float, float] | None = None
    weighing: str = ""


_Ranked = tuple[float, Culprit]


def find_culprits(
    ledger: Ledger, tree: KindTree, base: Weighing, later: Weighing, unexplained: Unexplained
) -> tuple[Culprit, ...]:
    """The suspects, sort by sort as in `Culprit.why`, within a sort the one that explains most first; each once."""
    changed = _changed(ledger, base, later)
    counts = {-1: _kinds_on(ledger, base), 1: _kinds_on(ledger, later)}
    sorts = (
        _implausible(ledger, tree, changed, counts, unexplained),
        _near_weighings(ledger, base, later, unexplained),
        _estimated(ledger, changed, unexplained),
        _same_mass(ledger, ledger.seen(later), unexplained),
        _same_place(changed, unexplained),
    )
    found: dict[tuple[str, str], Culprit] = {}
    for suspects in sorts:
        for _, culprit in sorted(suspects, key=lambda each: each[0]):
            found.setdefault((culprit.what, culprit.id), culprit)
    return tuple(found.values())[:MOST]


def _changed(ledger: Ledger, base: Weighing, later: Weighing) -> list[Difference]:
    """The parts that came off, went on or were lightened in between."""
    return [
        each
        for each in differences(ledger, ledger.seen(base), ledger.seen(later))
        if each.is_part and (each.off is None or each.on is None or each.off.mass is not each.on.mass)
    ]


def _loads(change: Difference) -> Iterator[tuple[Load, int]]:
    """What came off and what went on, with the sign with which it stands in the expected mass."""
    for load, sign in ((change.off, -1), (change.on, 1)):
        if load is not None and load.mass is not None:
            yield load, sign


def _change(change: Difference) -> Literal["off", "on", "lightened"]:
    if change.off is not None and change.on is not None:
        return "lightened"
    return "off" if change.on is None else "on"


def _would_weigh(load: Load, sign: int, unexplained: Unexplained) -> float | None:
    """What it would weigh if its mass were all that is wrong; None where that would be less than nothing."""
    assert load.mass is not None
    mass = load.mass.value - sign * unexplained.mass
    return float(mass) if mass >= 0 else None


def _implausible(
    ledger: Ledger,
    tree: KindTree,
    changed: list[Difference],
    counts: dict[int, Counter[str]],
    unexplained: Unexplained,
) -> Iterator[_Ranked]:
    """Masses outside the plausible range, the right way round. `counts`: kinds on before (-1) and after (1)."""
    for change in changed:
        part = ledger.inventory.parts[change.id]
        kind = part.kind
        usual = tree.get(kind).mass_range if kind in tree else None
        if usual is None:
            continue
        low, high = usual
        for load, sign in _loads(change):
            assert load.mass is not None
            mass = load.mass.value
            if mass > high:
                beyond = mass - high
            elif mass < low and part.origin == "factory" and counts[sign][kind] == 1:
                beyond = mass - low  # it is all of its kind, as the factory made it: else a light one is no surprise
            else:
                continue
            would = _would_weigh(load, sign, unexplained)
            if would is None or (beyond > 0) != (sign * unexplained.mass > 0):
                continue
            explains = float(unexplained.mass if low <= would <= high else sign * beyond)
            range_kg = (float(low), float(high))
            culprit = Culprit("part", change.id, "implausible", _change(change), explains, would, range_kg)
            yield abs(explains - float(unexplained.mass)), culprit


def _kinds_on(ledger: Ledger, weighing: Weighing) -> Counter[str]:
    """How many parts of each kind were on the car when it was weighed."""
    return Counter(ledger.inventory.parts[part_id].kind for part_id in ledger.seen(weighing).on)


def _near_weighings(ledger: Ledger, base: Weighing, later: Weighing, unexplained: Unexplained) -> Iterator[_Ranked]:
    """Jobs that a weighing may have seen although the ledger says otherwise, or the reverse."""
    inventory = ledger.inventory
    for weighing, sign in ((base, -1), (later, 1)):
        seen = jobs_seen(weighing, ledger.car)
        for job in _nearest_jobs(ledger, weighing):
            other = inventory.configuration(seen ^ {job.id})
            if other.problems:
                continue
            gained = _gained(differences(ledger, ledger.seen(weighing), other))
            change: Literal["seen", "not-seen"] = "seen" if job.id in seen else "not-seen"
            explains = None if gained is None else -sign * gained
            left = float(abs(unexplained.mass - (explains or 0)))
            if explains is not None and left >= abs(unexplained.mass):
                continue
            yield (
                left,
                Culprit(
                    "job",
                    job.id,
                    "near-weighing",
                    change,
                    None if explains is None else float(explains),
                    weighing=weighing.id,
                ),
            )


def _nearest_jobs(ledger: Ledger, weighing: Weighing) -> list[Job]:
    """The done jobs near a weighing, the nearest first; of very many, only those."""
    apart = [
        (abs(job.date - weighing.date), place, job)
        for place, job in enumerate(ledger.car.job)
        if job.state == "done" and job.date is not None
    ]
    return [job for days, _, job in sorted(apart, key=lambda each: each[:2]) if days <= NEAR][:MOST_TRIED]


def _gained(changes: list[Difference]) -> Fraction | None:
    """What comes to the car by these changes, in kg; None where something of it was never weighed."""
    gained = Fraction(0)
    for change in changes:
        for load, sign in ((change.off, -1), (change.on, 1)):
            if load is not None:
                if load.mass is None:
                    return None
                gained += sign * load.mass.value
    return gained


def _estimated(ledger: Ledger, changed: list[Difference], unexplained: Unexplained) -> Iterator[_Ranked]:
    for change in changed:
        for load, sign in _loads(change):
            assert load.mass is not None
            estimates = [share.u for name, share in load.mass.shares.items() if name.startswith("estimate of ")]
            would = _would_weigh(load, sign, unexplained)
            if estimates and would is not None:
                yield -max(estimates), Culprit("part", change.id, "estimated", _change(change), None, would)


def _same_mass(ledger: Ledger, seen: Configuration, unexplained: Unexplained) -> Iterator[_Ranked]:
    """Parts that the later weighing had on by the ledger and perhaps had not, or the reverse."""
    for part_id in ledger.inventory.parts:
        on = part_id in seen.on
        mass = ledger.part_mass(part_id, seen.lightened.get(part_id))
        if mass is None:
            continue
        explains = mass.value if on else -mass.value
        misfit = unexplained.misfit(explains, ledger.place(part_id, seen).at)
        if misfit is not None:
            yield misfit, Culprit("part", part_id, "same-mass", "on" if on else "off", float(explains))


def _same_place(changed: list[Difference], unexplained: Unexplained) -> Iterator[_Ranked]:
    """Parts changed in between that sit where the unexplained mass does."""
    if unexplained.by_axle is None:
        return
    for change in changed:
        for load, sign in _loads(change):
            if load.place.at is None:
                continue
            misfit = unexplained.misfit(unexplained.mass, load.place.at)
            would = _would_weigh(load, sign, unexplained)
            if misfit is not None and would is not None:
                yield misfit, Culprit("part", change.id, "same-place", _change(change), None, would)
