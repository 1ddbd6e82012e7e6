"""Do later weighings agree with the ledger: the first one, carried to the day of each later one, against its readings.

What the two have in common cancels in the difference, such as the error of a scale that weighed the car both times.
So E_n is the difference over the expanded uncertainty of the difference itself, with the t of its own degrees of
freedom at 95 % (after ISO 13528; JCGM 100:2008, GUM, 5.2 and G.4): at most one, they agree.
"""

from dataclasses import dataclass
from typing import NamedTuple

from tarebook.car.models import Weighing
from tarebook.kinds import KindTree
from tarebook.weight.balance import ratio
from tarebook.weight.culprits import ByAxle, Culprit, Unexplained, find_culprits
from tarebook.weight.ledger import Ledger, MassAnswer, Missing, Weighed, has_axles
from tarebook.weight.measured import Measured, total
from tarebook.weight.student import quantile
from tarebook.weight.terms import Axle

AXLES: tuple[Axle, ...] = ("front", "rear")


class Comparison(NamedTuple):
    """A difference, in kg, and whether it is no more than the uncertainty of the readings allows.

    `reach` is the expanded uncertainty of the difference in kg; `e_n` the difference over it, with its sign.
    """

    difference: Measured
    reach: float
    e_n: float

    @property
    def agrees(self) -> bool:
        return abs(self.e_n) <= 1.0


@dataclass(frozen=True, slots=True)
class Reconciled:
    """One later weighing against the base.

    Attributes:
        weighing: the later weighing.
        weighed: what the scales read, in kg.
        expected: what they should have read by the base and the ledger; None where `missing` says why.
        compared: expected less weighed; below zero, the car is heavier than the ledger has it.
        front, rear: the same difference by axle, where both weighings have the axles and the places are known.
        where: how far behind the front axle the unexplained mass sits, in mm; only where they do not agree.
        culprits: what may explain the difference, the likeliest first; none where they agree.
    """

    weighing: Weighing
    weighed: Measured
    expected: Measured | None
    compared: Comparison | None
    front: Comparison | None = None
    rear: Comparison | None = None
    where: Measured | None = None
    culprits: tuple[Culprit, ...] = ()
    missing: tuple[Missing, ...] = ()


@dataclass(frozen=True, slots=True)
class Reconciliation:
    """Every weighing after the first, by date. `base` is the first; None for a car that was never weighed."""

    base: Weighing | None
    weighed: Measured | None
    later: tuple[Reconciled, ...]

    @property
    def agrees(self) -> bool | None:
        """Whether all agree; None where none disagrees, but not all can be computed or there is nothing to compare."""
        compared = [each.compared for each in self.later]
        if any(each is not None and not each.agrees for each in compared):
            return False
        return None if not compared or None in compared else True


def reconcile(ledger: Ledger, tree: KindTree) -> Reconciliation:
    """Each later weighing against the first. `tree` has the kinds of the car, with their plausible masses."""
    by_date = sorted(ledger.car.weighing, key=lambda each: each.date)
    if not by_date:
        return Reconciliation(None, None, ())
    base, *later = by_date
    return Reconciliation(
        base,
        total(group.mass for group in ledger.weighed_groups(base)),
        tuple(_reconciled(ledger, tree, base, each) for each in later),
    )


def compare(expected: Measured, weighed: Measured) -> Comparison:
    """Expected less weighed, its expanded uncertainty and E_n; common sources cancel."""
    difference = total([expected, weighed.times(-1)])
    reach = quantile(0.975, difference.degrees) * difference.u
    return Comparison(difference, reach, float(difference.value) / reach)


def _reconciled(ledger: Ledger, tree: KindTree, base: Weighing, later: Weighing) -> Reconciled:
    groups = ledger.weighed_groups(later)
    weighed = total(group.mass for group in groups)
    missing = tuple(
        Missing(f'weighing "{each.id}" does not say how much fuel was in')
        for each in (base, later)
        if each.fuel is None
    )
    as_then = _weighed_as(later)
    seen = ledger.seen(later)
    answer = MassAnswer(None, missing) if as_then is None else ledger.mass(seen, as_then, weighing=base)
    if as_then is None or answer.mass is None:
        return Reconciled(later, weighed, None, None, missing=answer.missing)
    compared = compare(answer.mass, weighed)
    by_axle: dict[Axle, Comparison] = {}
    if has_axles(base) and has_axles(later):
        for axle in AXLES:
            load = ledger.axle_mass(axle, seen, as_then, weighing=base).mass
            if load is not None:
                by_axle[axle] = compare(load, total(group.mass for group in groups if group.name.startswith(axle)))
    where: Measured | None = None
    culprits: tuple[Culprit, ...] = ()
    wheelbase = ledger.wheelbase(seen)
    if not compared.agrees:
        unexplained = Unexplained(compared.difference.value, compared.reach)
        if len(by_axle) == len(AXLES) and wheelbase is not None:
            front, rear = by_axle["front"], by_axle["rear"]
            where = ratio(rear.difference, compared.difference).times(wheelbase)
            apart = ByAxle(front.difference.value, rear.difference.value, front.reach, rear.reach, wheelbase)
            unexplained = unexplained._replace(by_axle=apart)
        culprits = find_culprits(ledger, tree, base, later, unexplained)
    return Reconciled(
        later,
        weighed,
        answer.mass,
        compared,
        by_axle.get("front"),
        by_axle.get("rear"),
        where,
        culprits,
    )


def _weighed_as(weighing: Weighing) -> Weighed | None:
    """What stood on the scales besides the car; None where it is not said how much fuel that was."""
    if weighing.fuel is None:
        return None
    return Weighed(
        driver="aboard" if weighing.driver_aboard else "out",
        co_driver="aboard" if weighing.co_driver_aboard else "out",
        fuel=weighing.fuel,
        fuel_within=weighing.fuel_within,
    )
