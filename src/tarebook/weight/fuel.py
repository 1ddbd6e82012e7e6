"""Fuel in the tank: how much, of which density, and how sure either is."""

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.models import Tank
from tarebook.quantities import Quantity
from tarebook.weight.measured import SQRT_3, Measured, Share
from tarebook.weight.terms import Missing, Term

# Densities at 15 C in kg/L and their half-widths: petrol by EN 228, diesel by EN 590 (from memory).
FUEL_DENSITIES = {
    "petrol": (Fraction("0.7475"), Fraction("0.0275")),
    "diesel": (Fraction("0.8325"), Fraction("0.0125")),
}


class Tankful(NamedTuple):
    """Fuel in the tank: how much, if the tank's size is known, and which; half-width and name of a doubtful level."""

    litres: Fraction | None
    fuel: str | None
    within: Fraction = Fraction(0)
    level: str = ""

    @property
    def any(self) -> bool:
        """Is there fuel, or may there be?"""
        return self.litres is None or bool(self.litres) or bool(self.within)


class TankFacts(NamedTuple):
    """What the facts of a car say about its tank: which fuel it runs on, and what the tank holds in L."""

    fuel: str | None
    capacity: Fraction | None

    def holding(self, amount: Quantity | str, within: Quantity | None, level: str) -> Tankful:
        """The tank with that much in it; "full" and "empty" are sure."""
        if not isinstance(amount, Quantity):
            return Tankful(self.capacity if amount == "full" else Fraction(0), self.fuel)
        if within is None or not within.value:
            return Tankful(amount.value, self.fuel)
        return Tankful(amount.value, self.fuel, within.value, level)


def fuel_terms(was: Tankful | None, now: Tankful | None, weighing: str, tank: Tank) -> list[Term]:
    """What fuel was in when the car was weighed, and what is counted; None where that is not stated.

    One fuel of one sure amount cancels, known or not.
    """
    if was is None or now is None:
        found = []
        if was is None:
            reason = Missing(f'weighing "{weighing}" does not say how much fuel was in')
            found.append(Term("fuel", "fuel", -1, None, missing=reason))
        if now is None:
            found.append(Term("fuel", "fuel", 1, None, missing=Missing("fuel under [at_inspection] is not stated")))
        return found
    if was == now:
        return []
    at = tank.at.value if tank.at is not None else None
    right = tank.right.value if tank.right is not None else None
    both = ((was, -1), (now, 1))
    lacking = [
        Term("fuel", "fuel", sign, None, at, right, reason)
        for tankful, sign in both
        for reason in _lacking(tankful, tank)
    ]
    return lacking or [
        Term("fuel", "fuel", sign, _mass(tankful, tank).times(sign), at, right) for tankful, sign in both if tankful.any
    ]


def _lacking(tankful: Tankful, tank: Tank) -> Iterator[Missing]:
    if not tankful.any:
        return
    if tankful.litres is None:
        yield Missing("tank_capacity is not stated", "tank_capacity")
    if tank.density is None and tankful.fuel not in FUEL_DENSITIES:
        if tankful.fuel is None:
            yield Missing("fuel is not stated, so its density is unknown", "fuel")
        else:
            yield Missing(f"the density of {tankful.fuel} is not stated under [tank]")


def _mass(tankful: Tankful, tank: Tank) -> Measured:
    """The density is one and the same wherever that fuel is counted; the level is unsure each time anew."""
    assert tankful.litres is not None
    if tank.density is None:
        density, half_width = FUEL_DENSITIES[tankful.fuel or ""]
        source = f"density of {tankful.fuel}"
    else:
        density, source = tank.density.value, "density under [tank]"
        half_width = tank.density_within.value if tank.density_within is not None else Fraction(0)
    shares = {source: Share(float(tankful.litres * half_width) / SQRT_3)} if half_width else {}
    if tankful.within:
        shares[tankful.level] = Share(float(tankful.within * density) / SQRT_3)
    return Measured(tankful.litres * density, shares)
