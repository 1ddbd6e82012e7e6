"""Field types that the car file and the rule-set file share: quantities, readings, fuel amounts, clauses.

A bare number is read in the unit that the file's `[units]` names.
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Literal

from tarebook.quantities import Quantity, QuantityError, from_number, parse_quantity
from tarebook.tables import FieldError, Read, Schema, Table
from tarebook.tables import Units as FileUnits

DEFAULT_UNITS = {"mass": "kg", "length": "mm", "volume": "L", "power": "kW"}


QUANTITY_FORMS: tuple[Schema, ...] = ({"type": "string"}, {"type": "number"})


class Units(Table):
    """The units of bare numbers in one file."""

    mass: str = "kg"
    length: str = "mm"
    volume: str = "L"
    power: str = "kW"
    money: str | None = None


def read_quantity(value: object, dimension: str, units: FileUnits, *, signed: bool = False) -> Quantity:
    """Read one quantity: a text with its unit, or a bare number in the file's own unit.

    Raises QuantityError with one sentence that says what was expected.
    """
    if isinstance(value, Quantity):
        return value
    if isinstance(value, str):
        quantity = parse_quantity(value, dimension)
    elif isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        unit = units.get(dimension) or DEFAULT_UNITS.get(dimension)
        if unit is None:
            where = ", as [units] names no currency" if dimension == "money" else ""
            raise QuantityError(f"{_called(dimension)} needs its unit, in quotes{where}")
        quantity = from_number(value, unit, dimension)
    else:
        raise QuantityError(f"{_called(dimension)} is expected: a number with its unit, in quotes")
    if quantity.value < 0 and not signed:
        raise QuantityError(f"{_called(dimension)} cannot be below zero here")
    return quantity


def _called(dimension: str) -> str:
    return "an amount of money" if dimension == "money" else f"a {dimension.replace('/', ' per ')}"


def quantity(dimension: str, example: str, *, signed: bool = False) -> Read:
    """A field that holds a quantity."""

    def read(value: object, units: FileUnits) -> Quantity:
        try:
            return read_quantity(value, dimension, units, signed=signed)
        except QuantityError as error:
            raise FieldError(str(error)) from None

    words = f'a quantity with its unit, such as "{example}", or a bare number in the unit of [units]'
    return Read(read, {"oneOf": [{"type": "string", "examples": [example]}, {"type": "number"}], "description": words})


def _readings(value: object, units: FileUnits) -> list[Quantity]:
    """One reading, or several of the same thing."""
    if not isinstance(value, list):
        value = [value]
        nested = False
    else:
        nested = True
    found = []
    for index, each in enumerate(value):
        try:
            found.append(read_quantity(each, "mass", units))
        except QuantityError as error:
            raise FieldError(str(error), (index,) if nested else ()) from None
    return found


def _fuel(value: object, units: FileUnits, words: tuple[str, ...]) -> Quantity | str:
    if isinstance(value, str) and value in words:
        return value
    if isinstance(value, str) and value[:1].isalpha():
        known = " or ".join(f'"{word}"' for word in words)
        raise FieldError(f'"{value}" is not an amount of fuel: write a volume such as "12 L", or {known}')
    try:
        return read_quantity(value, "volume", units)
    except QuantityError as error:
        raise FieldError(str(error)) from None


def read_number(value: object) -> Fraction:
    """A plain number, exact. Raises FieldError."""
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return Fraction(value)
    raise FieldError("a plain number is expected here, without quotes and unit")


def _clause(value: object, units: object) -> str:
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        raise FieldError(f'a clause is written in quotes, "{value}": without them 4.10 and 4.1 are the same number')
    if not isinstance(value, str):
        raise FieldError("a text in quotes is expected")
    if not re.fullmatch(r"[A-Za-z0-9()§-]+(\.[A-Za-z0-9()§-]+)*", value):
        raise FieldError(f'"{value}" is not a clause: write letters and digits, levels parted by dots, such as "7.4.1"')
    return value


def _identifier(value: object, units: object) -> str:
    if not isinstance(value, str):
        raise FieldError("a text in quotes is expected")
    if not re.fullmatch(r"[a-z0-9][a-z0-9_-]*", value):
        raise FieldError(f'"{value}" is not a name: use lower-case letters, digits, hyphens and underscores')
    return value


Mass = Annotated[Quantity, quantity("mass", "13.4 lb")]
SignedMass = Annotated[Quantity, quantity("mass", "-20 kg", signed=True)]
Length = Annotated[Quantity, quantity("length", "2100 mm")]
SignedLength = Annotated[Quantity, quantity("length", "-310 mm", signed=True)]
Money = Annotated[Quantity, quantity("money", "140 EUR")]
Density = Annotated[Quantity, quantity("mass/volume", "745 kg/m3")]
Number = Annotated[Fraction, Read(lambda value, units: read_number(value), {"type": "number"})]
READINGS_FORMS: tuple[Schema, ...] = (
    *QUANTITY_FORMS,
    {"type": "array", "minItems": 1, "items": {"oneOf": list(QUANTITY_FORMS)}},
)
Readings = Annotated[
    list[Quantity],
    Read(
        _readings,
        {"oneOf": list(READINGS_FORMS), "description": "one reading, or a list of readings of the same thing"},
    ),
]
_TANK = ("full", "empty")
_CLASS_TANK = (*_TANK, "as-raced")
_FUEL_SCHEMA = {"oneOf": list(QUANTITY_FORMS), "description": 'a volume such as "12 L", "full" or "empty"'}
Fuel = Annotated[
    Quantity | Literal["full", "empty"], Read(lambda value, units: _fuel(value, units, _TANK), _FUEL_SCHEMA)
]
ClassFuel = Annotated[
    Quantity | Literal["full", "empty", "as-raced"],
    Read(lambda value, units: _fuel(value, units, _CLASS_TANK), _FUEL_SCHEMA),
]
Clause = Annotated[str, Read(_clause, {"type": "string"})]
Identifier = Annotated[str, Read(_identifier, {"type": "string"})]
