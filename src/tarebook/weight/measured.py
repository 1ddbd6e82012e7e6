"""A measured mass: an exact mean, and its uncertainty by independent source.

Sources are kept apart until the end, so that what is common to several terms (one scale, one density) adds with
its sign and what cancels does so exactly (JCGM 100:2008, GUM, 5.1 and 5.2).
"""

import math
from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.models import Estimate, Scale
from tarebook.quantities import Quantity

# Sources that are one thing's own begin so; the name of the thing follows.
READINGS, RESOLUTION, ESTIMATE = "readings of ", "resolution of ", "estimate of "
SQRT_3 = math.sqrt(3.0)
SQRT_12 = math.sqrt(12.0)


class Share(NamedTuple):
    """What one source adds: a standard uncertainty in kg, with its sign, and its degrees of freedom."""

    u: float
    degrees: float = math.inf


class Measured:
    """A mass in kg: its exact mean, and its uncertainty by source.

    `u` is the combined standard uncertainty in kg. `degrees` are the effective degrees of freedom by
    Welch-Satterthwaite (GUM G.4.1), infinite where no source limits them.
    """

    __slots__ = ("_spread", "shares", "value")

    def __init__(self, value: Fraction, shares: dict[str, Share]) -> None:
        self.value = value
        self.shares = shares
        self._spread: tuple[float, float] | None = None

    def __repr__(self) -> str:
        return f"Measured({float(self.value)} kg, u {self.u} kg)"

    @property
    def u(self) -> float:
        return self._worked_out()[0]

    @property
    def degrees(self) -> float:
        return self._worked_out()[1]

    def _worked_out(self) -> tuple[float, float]:
        if self._spread is None:
            squares = below = 0.0
            for u, degrees in self.shares.values():
                square = u * u
                squares += square
                if degrees != math.inf:
                    below += square * square / degrees
            self._spread = (math.sqrt(squares), squares * squares / below if below > 0.0 else math.inf)
        return self._spread

    def times(self, factor: Fraction | int) -> "Measured":
        """This mass so many times over; a negative factor takes it away."""
        scale = float(factor)
        return Measured(
            self.value * factor, {name: Share(share.u * scale, share.degrees) for name, share in self.shares.items()}
        )


def total(parts: Iterable[Measured]) -> Measured:
    """The sum; a source that several terms share adds linearly, with its sign."""
    value = Fraction(0)
    shares: dict[str, Share] = {}
    for part in parts:
        value += part.value
        for name, share in part.shares.items():
            before = shares.get(name)
            shares[name] = share if before is None else Share(before.u + share.u, share.degrees)
    return Measured(value, shares)


def from_readings(readings: list[Quantity], scale: Scale | None, what: str) -> Measured:
    """The mean of readings of one thing, on one scale or on none that is named.

    Type A: s/sqrt(n) with n - 1 degrees of freedom (GUM 4.2.3). Resolution d: d/sqrt(12), once for a mean (GUM
    F.2.2.1); without a scale, d is one unit of the last written digit. The scale's check shifts the mean; what the
    check leaves unsure, and the scale's gain error in proportion to what it read, are common to all its readings.
    """
    count = len(readings)
    mean = sum((reading.value for reading in readings), Fraction(0)) / count
    shares: dict[str, Share] = {}
    if count > 1:
        variance = sum((reading.value - mean) ** 2 for reading in readings) / (count - 1)
        if variance:
            shares[READINGS + what] = Share(math.sqrt(variance / count), count - 1)
    resolution = scale.resolution.value if scale is not None else max(reading.step for reading in readings)
    shares[RESOLUTION + what] = Share(float(resolution) / SQRT_12)
    if scale is not None and scale.gain is not None and scale.gain.within:
        shares[f"gain of scale {scale.id}"] = Share(float(mean * scale.gain.within) / SQRT_3)
    if scale is not None and scale.check is not None:
        mean += scale.check.known.value - scale.check.read.value
        shares[f"scale {scale.id}"] = Share(float(scale.check.u.value))
    return Measured(mean, shares)


def from_estimate(estimate: Estimate, what: str) -> Measured:
    """A mass judged to lie anywhere within half-width a of a value: u = a/sqrt(3) (GUM 4.3.7)."""
    return Measured(estimate.mass.value, {ESTIMATE + what: Share(float(estimate.within.value) / SQRT_3)})


def thing_of(source: str) -> str:
    """What a source belongs to: a part, a person, a whole weighing; a source that is nobody's own is itself."""
    for prefix in (READINGS, RESOLUTION, ESTIMATE):
        source = source.removeprefix(prefix)
    return source.rpartition(" ")[0] if source.startswith("weighing ") else source
