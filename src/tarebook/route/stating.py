"""A car as it would be with one thing found out: a fact stated, a kind present or absent, a particular of a part."""

import copy
import datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from tarebook.car.configurations import Inventory
from tarebook.car.models import CarFile
from tarebook.car.reading import Car
from tarebook.fact_values import QUANTITY_TYPES, Value
from tarebook.facts import Fact
from tarebook.fields import DEFAULT_UNITS
from tarebook.quantities import Quantity

Sort = str
NOTHING = Fraction(0)
TEXTS = ("material", "place")  # particulars of a part that are one text


def with_fact(car: Car, fact: Fact, value: Value) -> Car:
    """The car with a fact stated in its file. ValueError for a plain number that no file can write out in full."""
    file = copy.copy(car.file)
    file.facts = {**file.facts, fact.id: _as_written(value, fact)}
    return _read_as(car, file)


def with_kind(car: Car, kind: str, *, there: bool) -> Car:
    """The car that left the factory with a kind, or without it."""
    file = copy.copy(car.file)
    file.car = copy.copy(file.car)
    if there:
        file.car.present = [*file.car.present, kind]
    else:
        file.car.absent = [*file.car.absent, kind]
    return _read_as(car, file)


def with_text(car: Car, part_id: str, particular: str, value: str) -> Car:
    """The car with the `material` or the `place` of a part stated."""
    if particular not in TEXTS:
        raise ValueError(particular)
    file = copy.copy(car.file)
    part = copy.copy(car.inventory.parts[part_id])
    setattr(part, particular, value)
    file.part = [part if each.id == part_id else each for each in file.part]
    return _read_as(car, file)


def _read_as(car: Car, file: CarFile) -> Car:
    stated = copy.copy(car)
    stated.file = file
    stated.inventory = Inventory(file, car.source)
    return stated


def _as_written(value: Value, fact: Fact) -> Any:
    """A value as the reader of a car file takes it; a quantity in its base unit."""
    if not isinstance(value, Fraction):
        return value
    if fact.type in QUANTITY_TYPES:
        return Quantity(fact.type, value, DEFAULT_UNITS.get(fact.type, ""), NOTHING)
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest != 1:
        raise ValueError(f"{value} has no finite decimal form")
    return Decimal(value.numerator) / Decimal(value.denominator)


def day_of(ordinal: Fraction) -> datetime.date:
    return datetime.date.fromordinal(int(ordinal))
