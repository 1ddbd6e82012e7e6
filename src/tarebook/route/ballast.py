"""How much ballast, and where: the least that keeps every limit, exactly.

With b kg of ballast, of which the rear axle carries r, every limit and every bound on the front share is linear in b
and r. Between the axles r lies between nothing and b; r = b at / wheelbase.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations
from typing import NamedTuple

GRAM = Fraction(1, 1000)


class Demand(NamedTuple):
    """`mass` b + `rear` r >= `least`."""

    mass: Fraction
    rear: Fraction
    least: Fraction


class Load(NamedTuple):
    """Ballast in kg, and what of it the rear axle may carry: at least and at most."""

    mass: Fraction
    rear_least: Fraction
    rear_most: Fraction


def least_load(demands: Sequence[Demand], most: Fraction) -> Load | None:
    """The least ballast that meets the demands; None where none up to `most` does.

    Rounded up to a gram where that still meets them.
    """
    lines = [*demands, Demand(Fraction(0), Fraction(1), Fraction(0)), Demand(Fraction(1), Fraction(-1), Fraction(0))]
    corners = {Fraction(0)}
    for line in lines:
        if line.mass + line.rear:
            corners.add(line.least / (line.mass + line.rear))  # all of it over the rear axle
        if line.mass:
            corners.add(line.least / line.mass)  # all of it over the front axle
    for one, other in combinations(lines, 2):
        across = one.mass * other.rear - other.mass * one.rear
        if across:
            corners.add((one.least * other.rear - other.least * one.rear) / across)
    for mass in sorted(corners):
        if not 0 <= mass <= most:
            continue
        found = _at(mass, lines)
        if found is not None:
            rounded = -(-mass // GRAM) * GRAM
            return (_at(rounded, lines) if rounded <= most else None) or found
    return None


def _at(mass: Fraction, lines: Sequence[Demand]) -> Load | None:
    """Between which values the rear axle's part of so much ballast lies; None where none will do."""
    low, high = Fraction(0), mass
    for line in lines:
        lacking = line.least - line.mass * mass
        if line.rear > 0:
            low = max(low, lacking / line.rear)
        elif line.rear < 0:
            high = min(high, lacking / line.rear)
        elif lacking > 0:
            return None
    return Load(mass, low, high) if low <= high else None


def places_for(load: Load, wheelbase: Fraction | None) -> list[Fraction | None]:
    """Places for it in mm behind the front axle, the best first: the middle of where it may sit, then elsewhere there.

    To a whole mm where that will do; [None] where no place can be said.
    """
    if wheelbase is None or not load.mass:
        return [None]
    low, high = (rear * wheelbase / load.mass for rear in (load.rear_least, load.rear_most))
    found: list[Fraction | None] = []
    for quarter in (2, 3, 1, 4, 0):
        at = low + (high - low) * quarter / 4
        found.append(Fraction(round(at)) if low <= round(at) <= high else at)
    return list(dict.fromkeys(found))
