"""Checks of what a car file says of scales, of the tank, and of how much fuel is in it."""

from typing import Protocol

from tarebook.car.models import Scale, Tank
from tarebook.quantities import Quantity

Path = tuple[str | int, ...]


class Note(Protocol):
    """Notes a mistake at a value, or with `key` at the key itself."""

    def __call__(self, path: Path, message: str, hint: str = "", *, key: bool = False) -> None: ...


def check_scale(scale: Scale, path: Path, note: Note) -> None:
    """A scale in itself: what it shows, what it can hold, how far it may be off."""
    if scale.resolution.value <= 0:
        note((*path, "resolution"), "a resolution is more than zero")
    if scale.check is not None and scale.capacity is not None and scale.check.read.value > scale.capacity.value:
        note((*path, "check", "read"), f'this is more than the scale "{scale.id}" can weigh')
    if scale.gain is not None and not 0 <= scale.gain.within < 1:
        note((*path, "gain", "within"), "this is a share of the reading, from 0 to below 1: 0.002 is 0.2 percent")


def check_fuel_within(fuel: Quantity | str | None, within: Quantity | None, path: Path, note: Note) -> None:
    """How far off the fuel may be goes with an amount, and is no more than that."""
    if within is None:
        return
    if not isinstance(fuel, Quantity):
        known = "" if fuel is None else f', and "{fuel}" is none'
        note((*path, "fuel_within"), f"this needs an amount of fuel that it can be off{known}", key=True)
    elif within.value > fuel.value:
        note((*path, "fuel_within"), "this is more than the fuel itself, which cannot fall below zero")


def check_tank(tank: Tank, note: Note) -> None:
    """How far off the density may be goes with a density, and is less than that."""
    if tank.density_within is None:
        return
    if tank.density is None:
        note(("tank", "density_within"), "this needs a density that it can be off: density = ..", key=True)
    elif tank.density_within.value >= tank.density.value:
        note(("tank", "density_within"), "this is as much as the density itself, which stays above zero")
