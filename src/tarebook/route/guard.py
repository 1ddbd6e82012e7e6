"""The guard margin, bounded: how much a mass must clear a limit by, over all choices of jobs that fix some of it.

The guard of a choice is t u: u^2 = V is the sum of squares of what each source adds, t the point of Student's
distribution for V^2 / W degrees of freedom, W being the sum of u_i^4 / nu_i. A source's share is linear in the ends
that flows reach, so V and W have bounds, and from them the guard has.
"""

import math
from collections.abc import Collection
from itertools import pairwise

from tarebook.route.masses import Amount, Block
from tarebook.weight.measured import Measured
from tarebook.weight.student import quantile

STEPS = 24
SLACK = 1e-9  # of the guard: rounding in sums of floats


def guard_of(mass: Measured, confidence: float) -> float:
    """The guard margin of a mass, in kg."""
    return point(confidence, mass.degrees) * mass.u if mass.u else 0.0


def point(confidence: float, degrees: float) -> float:
    """The t that a margin over its standard uncertainty must reach."""
    if confidence == 0.5:
        return 0.0
    return quantile(confidence, degrees) if confidence > 0.5 else -quantile(1 - confidence, degrees)


class Guard:
    """Bounds on the guard of one amount."""

    def __init__(self, amount: Amount, extra: Measured, confidence: float) -> None:
        """`extra` is what else is unsure whatever is chosen: the official's scale."""
        self._amount = amount
        self._confidence = confidence
        self._constant: dict[str, float] = {}
        self._degrees: dict[str, float] = {}
        for mass in (amount.constant, extra, *(each for block in amount.blocks for each in block.brings.values())):
            for name, share in mass.shares.items():
                self._degrees[name] = share.degrees
        for mass in (amount.constant, extra):
            for name, share in mass.shares.items():
                self._constant[name] = self._constant.get(name, 0.0) + share.u
        self._ranges = [_ranges(block) for block in amount.blocks]
        self.least, self.most = self.least_with((), frozenset()), self.most_with((), frozenset())

    def shares_at(self, chosen: frozenset[str]) -> dict[str, float]:
        """What each source adds after a choice of jobs."""
        found = dict(self._constant)
        for block in self._amount.blocks:
            for name, share in block.brings[block.flow.end(chosen)].shares.items():
                found[name] = found.get(name, 0.0) + share.u
        return found

    def constant_along(self, direction: dict[str, float]) -> float:
        return sum(weight * self._constant.get(name, 0.0) for name, weight in direction.items())

    def blocks_by_influence(self) -> list[int]:
        """The blocks whose end makes a difference to V or W, those that make the most first."""
        weights = []
        for index, ranges in enumerate(self._ranges):
            weight = sum(abs(high * high - low * low) + abs(high - low) for low, high in ranges.values())
            if weight:
                weights.append((-weight, index))
        return [index for _, index in sorted(weights)]

    def least_point(self) -> float:
        """A bound below on the t of every choice."""
        _, high_v, low_w, _ = self._spread((), frozenset())
        return point(self._confidence, high_v * high_v / low_w if low_w > 0.0 else math.inf)

    def least_with(self, fixed: Collection[int], chosen: frozenset[str]) -> float:
        """What the guard is at least where the blocks `fixed` end as they do for a choice."""
        low_v, high_v, low_w, _ = self._spread(fixed, chosen)
        least = min(self._guard(low, high, low_w) for low, high in pairwise(_steps(low_v, high_v)))
        return least - abs(least) * SLACK

    def most_with(self, fixed: Collection[int], chosen: frozenset[str]) -> float:
        """What it is at most then."""
        low_v, high_v, _, high_w = self._spread(fixed, chosen)
        most = max(self._guard(high, low, high_w) for low, high in pairwise(_steps(low_v, high_v)))
        return most + abs(most) * SLACK

    def _guard(self, v: float, v_of_degrees: float, w: float) -> float:
        if v <= 0.0:
            return 0.0
        degrees = v_of_degrees * v_of_degrees / w if w > 0.0 else math.inf
        # Effective degrees of freedom are never fewer than the fewest of any source, and no source has less than one.
        return point(self._confidence, max(degrees, 1.0)) * math.sqrt(v)

    def _spread(self, fixed: Collection[int], chosen: frozenset[str]) -> tuple[float, float, float, float]:
        lows, highs = dict(self._constant), dict(self._constant)
        for index, (block, ranges) in enumerate(zip(self._amount.blocks, self._ranges, strict=True)):
            if index in fixed:
                shares = block.brings[block.flow.end(chosen)].shares
                ranges = {name: (share.u, share.u) for name, share in shares.items()}
            for name, (low, high) in ranges.items():
                lows[name] = lows.get(name, 0.0) + low
                highs[name] = highs.get(name, 0.0) + high
        low_v = high_v = low_w = high_w = 0.0
        for name, low in lows.items():
            high = highs[name]
            most = max(low * low, high * high)
            least = 0.0 if low <= 0.0 <= high else min(low * low, high * high)
            low_v += least
            high_v += most
            degrees = self._degrees[name]
            if degrees != math.inf:
                low_w += least * least / degrees
                high_w += most * most / degrees
        return low_v, high_v, low_w, high_w


def _steps(low: float, high: float) -> list[float]:
    return [low + (high - low) * step / STEPS for step in range(STEPS + 1)] if high > low else [low] * 2


def _ranges(block: Block) -> dict[str, tuple[float, float]]:
    """Between which values each source's share lies, over the ends of a block."""
    names = {name for mass in block.brings.values() for name in mass.shares}
    found = {}
    for name in names:
        values = [mass.shares[name].u if name in mass.shares else 0.0 for mass in block.brings.values()]
        found[name] = (min(values), max(values))
    return found
