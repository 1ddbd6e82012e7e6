"""The uncertainty budget of a mass: what it is made of, and what of its variance each thing brings."""

import math
from dataclasses import dataclass
from typing import NamedTuple

from tarebook.car.configurations import Configuration
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured, thing_of, total
from tarebook.weight.student import quantile
from tarebook.weight.terms import Missing, Weighed

CAR_ALONE = Weighed()


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a budget.

    Attributes:
        what: "weighing" for what was read with the car on the scale; else what the term is.
        id: the weighing, part or kind; else the same as `what`.
        group: of a weighing, which readings: "total", "front", "front_left", ..
        mass: in kg, below zero for what was taken away; None where it is unknown.
        share: of the variance of the whole. What is common to several lines (one scale, one fuel) is part of each,
            so a line that makes up for others has a share below zero; all shares together make one.
    """

    what: str
    id: str
    group: str | None
    mass: Measured | None
    share: float | None


class SourceShare(NamedTuple):
    """One independent source: its standard uncertainty in kg in the whole, with sign, and its share of the variance."""

    source: str
    u: float
    degrees: float
    share: float


@dataclass(frozen=True, slots=True)
class Budget:
    """A mass with everything that it is made of, the largest contributor to its variance first.

    `mass` is None where it is unknown, for the reasons in `missing`; then no line has a share.
    """

    mass: Measured | None
    missing: tuple[Missing, ...]
    lines: tuple[Line, ...]

    @property
    def interval(self) -> tuple[float, float] | None:
        """The 95 % interval in kg, by Student's t with the effective degrees of freedom."""
        if self.mass is None:
            return None
        reach = expanded(self.mass)
        return float(self.mass.value) - reach, float(self.mass.value) + reach

    @property
    def sources(self) -> list[SourceShare]:
        """The independent sources, the largest first."""
        return [] if self.mass is None else sources_of(self.mass)


def expanded(mass: Measured) -> float:
    """Half the width of the 95 % interval in kg: t times u."""
    return quantile(0.975, mass.degrees) * mass.u if mass.u else 0.0


def sources_of(mass: Measured) -> list[SourceShare]:
    """The independent sources of a mass, the largest first; those that cancel out are left out."""
    variance = mass.u**2
    found = [
        SourceShare(name, share.u, share.degrees, share.u**2 / variance)
        for name, share in mass.shares.items()
        if share.u
    ]
    return sorted(found, key=lambda each: (-each.share, each.source))


def contributors(mass: Measured) -> list[tuple[str, float]]:
    """What makes a mass unsure, with its share of the variance, the largest first.

    The sources of one thing are together: its readings and the resolution that they were read with; all readings of
    one weighing.
    """
    found: dict[str, float] = {}
    for source in sources_of(mass):
        name = thing_of(source.source)
        found[name] = found.get(name, 0.0) + source.share
    return sorted(found.items(), key=lambda each: (-each[1], each[0]))


def budget_of(
    ledger: Ledger,
    configuration: Configuration,
    weighed: Weighed = CAR_ALONE,
) -> Budget:
    """The budget of a configuration's mass, from the newest weighing."""
    terms = ledger.terms(configuration, weighed)
    lines: list[tuple[str, str, str | None, Measured | None]] = []
    if terms.weighing is not None:
        lines += [("weighing", terms.weighing.id, group.name, group.mass) for group in terms.base]
    lines += [(term.what, term.id, None, term.mass) for term in terms.differing]
    missing = dict.fromkeys((*terms.missing, *(term.missing for term in terms.differing if term.missing is not None)))
    known = [mass for *_, mass in lines if mass is not None]
    whole = total(known) if not missing else None
    made = [Line(what, name, group, mass, share_of(mass, whole)) for what, name, group, mass in lines]
    if whole is not None:
        made.sort(key=lambda line: -(line.share or 0.0))  # of equal ones, as the ledger has them
    return Budget(whole, tuple(missing), tuple(made))


def share_of(part: Measured | None, whole: Measured | None) -> float | None:
    """What a part of a sum brings of its variance: its covariance with the sum, over the variance of the sum."""
    if part is None or whole is None:
        return None
    if not whole.u:
        return 0.0
    common = math.fsum(share.u * whole.shares[name].u for name, share in part.shares.items())
    return common / whole.u**2
