"""How a car stands on its wheels: the share of the load on each side, and the centre of gravity.

A mass m at x behind the front axle loads the rear axle with m x / L and the front with m (1 - x / L), L being the
wheelbase; at r right of the middle it loads the left wheels with m (1/2 - r / t), t being the mean of the two tracks.
Places, wheelbase and tracks count as exact. The part and the whole of a share have sources of uncertainty in common:
each source goes through the quotient by itself, with its sign, before they add up (JCGM 100:2008, GUM, 5.1 and 5.2).
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from fractions import Fraction

from tarebook.car.configurations import Configuration
from tarebook.car.models import Weighing
from tarebook.fact_values import read_value
from tarebook.facts import BUILTIN
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import SQRT_3, Measured, Share, total
from tarebook.weight.terms import NO_AXLES, NO_WHEELBASE, Missing, Term, Terms, Weighed

NO_CORNERS = Missing("no weighing has the four corners apart")
NO_TRACKS = Missing("the tracks, front and rear, are not both stated")
NO_MASS = Missing("there is no mass to share out")
SPRINGS = "how the springs share a load off the middle"
FIGURES = ("total", "front", "centre", "left", "cross")
_HALF = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Balance:
    """How one configuration stands on its wheels; a figure is None where it cannot be said.

    Attributes:
        weighing: the newest weighing that has axles, from which `total`, `front` and `rear` come, in kg.
        cornered: the newest weighing that has corners, from which `left_share` and `cross_share` come.
        front_share: the load of the front axle over the total, without unit; `left_share` likewise.
        cross_share: front right and rear left over the total. How a load off the middle spreads over the axles hangs on
            the springs: between all of it on one axle and all of it on the other, everything is taken as alike likely.
        centre: the centre of gravity, in mm behind the front axle.
        missing: why a figure cannot be said, by its name in `FIGURES`.
    """

    weighing: Weighing | None = None
    cornered: Weighing | None = None
    total: Measured | None = None
    front: Measured | None = None
    rear: Measured | None = None
    front_share: Measured | None = None
    left_share: Measured | None = None
    cross_share: Measured | None = None
    centre: Measured | None = None
    wheelbase: Fraction | None = None
    missing: dict[str, tuple[Missing, ...]] = field(default_factory=dict)


def balance_of(ledger: Ledger, configuration: Configuration, weighed: Weighed) -> Balance:
    """How a configuration stands on its wheels, as `weighed` puts it there: with which fuel, driver aboard or out."""
    weighing = ledger.newest_with_axles
    if weighing is None:
        return Balance(missing=dict.fromkeys(FIGURES, (NO_AXLES,)))
    answer = ledger.mass(configuration, weighed, weighing=weighing)
    whole, missing = answer.mass, {"total": answer.missing}
    front, rear = (ledger.axle_mass(axle, configuration, weighed, weighing=weighing) for axle in ("front", "rear"))
    front_share, missing["front"] = _share(front.mass, whole, front.missing)
    wheelbase = ledger.wheelbase(configuration)
    rear_share, missing["centre"] = _share(rear.mass, whole, rear.missing)
    centre = rear_share.times(wheelbase) if rear_share is not None and wheelbase is not None else None
    if centre is None and not missing["centre"]:
        missing["centre"] = (NO_WHEELBASE,)
    cornered, left_share, cross_share = _newest_with_corners(ledger), None, None
    if cornered is None:
        missing["left"] = missing["cross"] = (NO_CORNERS,)
    else:
        terms = ledger.terms(configuration, weighed, weighing=cornered, moves=True)
        standing = ledger.mass(configuration, weighed, weighing=cornered)
        track = track_of(ledger, configuration)
        for name, corners, part_of in (
            ("left", ("front_left", "rear_left"), _left_part),
            ("cross", ("front_right", "rear_left"), _cross_part),
        ):
            load, reasons = _side_load(terms, corners, part_of, track)
            share, missing[name] = _share(load, standing.mass, standing.missing or reasons)
            left_share, cross_share = (share, cross_share) if name == "left" else (left_share, share)
    return Balance(
        weighing=weighing,
        cornered=cornered,
        total=whole,
        front=front.mass,
        rear=rear.mass,
        front_share=front_share,
        left_share=left_share,
        cross_share=cross_share,
        centre=centre,
        wheelbase=wheelbase,
        missing={name: reasons for name, reasons in missing.items() if reasons},
    )


def ratio(part: Measured, whole: Measured) -> Measured:
    """Part over whole, without unit; what they have in common acts on both. `whole` is not zero."""
    value = part.value / whole.value
    share, below = float(value), float(whole.value)
    sources: dict[str, Share] = {}
    for name in dict.fromkeys((*part.shares, *whole.shares)):
        of_part, of_whole = part.shares.get(name), whole.shares.get(name)
        known = of_part or of_whole
        assert known is not None
        effect = (of_part.u if of_part else 0.0) - share * (of_whole.u if of_whole else 0.0)
        sources[name] = Share(effect / below, known.degrees)
    return Measured(value, sources)


def track_of(ledger: Ledger, configuration: Configuration) -> Fraction | None:
    """The mean of the two tracks in mm, as the configuration has them; None if either is not stated, or is nothing."""
    found = []
    for name in ("track_front", "track_rear"):
        stated = configuration.sets.get(name, ledger.car.facts.get(name))
        value = None if stated is None else read_value(stated, BUILTIN[name], ledger.car.units.as_dict())
        if not isinstance(value, Fraction) or not value:
            return None
        found.append(value)
    return sum(found, Fraction(0)) / len(found)


def _newest_with_corners(ledger: Ledger) -> Weighing | None:
    """Of two on one day, the one further down the file."""
    having = [each for each in ledger.weighings if each.corners is not None]
    return sorted(having, key=lambda each: each.date)[-1] if having else None


def _share(
    part: Measured | None, whole: Measured | None, reasons: tuple[Missing, ...]
) -> tuple[Measured | None, tuple[Missing, ...]]:
    if part is None or whole is None:
        return None, reasons
    return (ratio(part, whole), ()) if whole.value > 0 else (None, (NO_MASS,))


def _side_load(
    terms: Terms,
    corners: tuple[str, ...],
    part_of: Callable[[Measured, Fraction], Measured],
    track: Fraction | None,
) -> tuple[Measured | None, tuple[Missing, ...]]:
    """What some of the corners carry, or why it cannot be said; `part_of` gives their part of a mass at r / t."""
    found = [group.mass for group in terms.base if group.name in corners]
    lacking: dict[Missing, None] = {}
    for term in _uncancelled(terms.differing):
        if term.missing is not None:
            lacking[term.missing] = None
        elif term.right is None:
            lacking[Missing(f"it is not said how far right of the middle {term.name} sits")] = None
        elif track is None and term.right:
            lacking[NO_TRACKS] = None
        else:
            assert term.mass is not None
            found.append(part_of(term.mass, term.right / track if track is not None else Fraction(0)))
    return (None, tuple(lacking)) if lacking else (total(found), ())


def _uncancelled(terms: Iterable[Term]) -> list[Term]:
    """The terms that matter from side to side: a part that moved along the car alone was and is at one `right`."""
    left: list[Term] = []
    for term in terms:
        partner = next((each for each in left if _cancel(each, term)), None)
        if partner is None:
            left.append(term)
        else:
            left.remove(partner)
    return left


def _cancel(one: Term, other: Term) -> bool:
    if (one.what, one.id, one.right, one.sign) != (other.what, other.id, other.right, -other.sign):
        return False
    if one.mass is None or other.mass is None:
        return one.mass is other.mass
    both = total([one.mass, other.mass])
    return not both.value and not both.u


def _left_part(mass: Measured, aside: Fraction) -> Measured:
    return mass.times(_HALF - aside)


def _cross_part(mass: Measured, aside: Fraction) -> Measured:
    """Half of it lies on the one diagonal; what it pushes to its side is shared as the springs have it."""
    half = mass.times(_HALF)
    if not aside:
        return half
    return total([half, Measured(Fraction(0), {SPRINGS: Share(float(mass.value * aside) / SQRT_3)})])
