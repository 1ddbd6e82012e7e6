"""Several weighings of one car as one figure: least squares with the full covariance, for those that agree.

Shown beside the newest weighing, never judged by. Every weighing is first brought to the same configuration through
the ledger, so that what two of them share (a scale, a part, a fuel) is known to be shared.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from tarebook.car.configurations import Configuration
from tarebook.car.models import Weighing
from tarebook.weight.budget import expanded
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured, total
from tarebook.weight.terms import Weighed

MOST = 12  # weighings that are combined, the newest ones: the work grows with their cube


@dataclass(frozen=True, slots=True)
class Combined:
    """Weighings combined: which (newest first), with their weights, which add up to one; which disagree; the mass."""

    weights: dict[str, float]
    apart: tuple[str, ...]
    mass: Measured


def agree(one: Measured, other: Measured) -> bool:
    """Whether the difference lies within its own 95 % interval; what is common to both is not in the difference."""
    difference = total((one, other.times(-1)))
    return abs(float(difference.value)) <= expanded(difference)


def combine(ledger: Ledger, configuration: Configuration, weighed: Weighed) -> Combined | None:
    """Combine the weighings that agree with the newest and with each other, beginning with the newest.

    None where fewer than two do, where a mass is unknown, or where no weights are best (neither is unsure).
    """
    newest_first = sorted(enumerate(ledger.weighings), key=lambda each: (each[1].date, each[0]), reverse=True)
    chosen: list[tuple[Weighing, Measured]] = []
    apart: list[str] = []
    for _, weighing in newest_first[:MOST]:
        mass = ledger.mass(configuration, weighed, weighing=weighing).mass
        if mass is None:
            continue
        if all(agree(mass, other) for _, other in chosen):
            chosen.append((weighing, mass))
        else:
            apart.append(weighing.id)
    weights = best_weights([mass for _, mass in chosen]) if len(chosen) > 1 else None
    if weights is None:
        return None
    mass = total(mass.times(weight) for (_, mass), weight in zip(chosen, weights, strict=True))
    named = {weighing.id: float(weight) for (weighing, _), weight in zip(chosen, weights, strict=True)}
    return Combined(named, tuple(apart), mass)


def best_weights(masses: Sequence[Measured]) -> list[Fraction] | None:
    """The weights, one in sum, that make the variance of the weighted mean least; None where they are not unique.

    With the covariance matrix V of the masses they are V^-1 1 / (1' V^-1 1), solved exactly.
    """
    covariances = [[_covariance(one, other) for other in masses] for one in masses]
    raw = _solved(covariances)
    if raw is None or not sum(raw):
        return None
    return [weight / sum(raw) for weight in raw]


def _covariance(one: Measured, other: Measured) -> Fraction:
    return Fraction(
        math.fsum(share.u * other.shares[name].u for name, share in one.shares.items() if name in other.shares)
    )


def _solved(matrix: list[list[Fraction]]) -> list[Fraction] | None:
    """The x with matrix x = (1, .., 1), by elimination; None where the matrix is singular."""
    rows = [[*row, Fraction(1)] for row in matrix]
    size = len(rows)
    for place in range(size):
        pivot = max(range(place, size), key=lambda index: abs(rows[index][place]))
        if not rows[pivot][place]:
            return None
        rows[place], rows[pivot] = rows[pivot], rows[place]
        head = rows[place]
        for index in range(size):
            if index != place and rows[index][place]:
                times = rows[index][place] / head[place]
                rows[index] = [value - times * above for value, above in zip(rows[index], head, strict=True)]
    return [rows[place][size] / rows[place][place] for place in range(size)]
