"""Field types that the car file and the rule-set file share: quantities, readings, fuel amounts, clauses.

A bare number is read in the unit that the file's `[units]` names; the reader passes those units as
pydantic's validation context, `{"units": {"mass": "kg", ...}}`.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import BaseModel, BeforeValidator, ConfigDict, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError
from pydantic_core.core_schema import with_info_plain_validator_function

from tarebook.quantities import Quantity, QuantityError, from_number, parse_quantity

DEFAULT_UNITS = {"mass": "kg", "length": "mm", "volume": "L", "power": "kW"}


QUANTITY_FORMS: tuple[dict[str, Any], ...] = ({"type": "string"}, {"type": "number"})


class Model(BaseModel):
    """Base of every table: strict types, no unknown keys, immutable."""

    model_config = ConfigDict(strict=True, extra="forbid", frozen=True, defer_build=True, arbitrary_types_allowed=True)


class Units(Model):
    """The units of bare numbers in one file."""

    mass: str = "kg"
    length: str = "mm"
    volume: str = "L"
    power: str = "kW"
    money: str | None = None


def mistaken(sentence: str) -> PydanticCustomError:
    """A model error whose text is `sentence`, word for word."""
    return PydanticCustomError("mistake", "{sentence}", {"sentence": sentence})


def read_quantity(value: object, dimension: str, units: dict[str, str | None], *, signed: bool = False) -> Quantity:
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


class AlsoWritten:
    """Says in the JSON Schema which forms a field may take besides the one that it is read into."""

    def __init__(self, *forms: dict[str, Any], description: str) -> None:
        self._forms = forms
        self._description = description

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"oneOf": [handler(core), *self._forms], "description": self._description}


class Read:
    """Reads one field by a function of ours, which sees the value and the file's units.

    pydantic is told nothing else of the type, which keeps the start short; the JSON Schema is given in words of ours.
    The function raises FieldError; its path is where in the value the mistake is.
    """

    def __init__(self, read: Callable[[Any, dict[str, str | None]], object], schema: dict[str, Any]) -> None:
        self._read = read
        self._schema = schema

    def __get_pydantic_core_schema__(self, source: object, handler: object) -> CoreSchema:
        return with_info_plain_validator_function(self._call)

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: object) -> dict[str, Any]:
        return self._schema

    def _call(self, value: Any, info: Any) -> object:
        try:
            return self._read(value, info.context["units"] if info.context else {})
        except FieldError as error:
            raise PydanticCustomError("mistake", "{sentence}", {"sentence": str(error), "path": error.path}) from None


class FieldError(ValueError):
    """What is wrong with a value, in one sentence; `path` leads to the wrong element within it."""

    def __init__(self, sentence: str, path: tuple[str | int, ...] = ()) -> None:
        super().__init__(sentence)
        self.path = path


def quantity(dimension: str, example: str, *, signed: bool = False) -> Read:
    """A field that holds a quantity."""

    def read(value: object, units: dict[str, str | None]) -> Quantity:
        try:
            return read_quantity(value, dimension, units, signed=signed)
        except QuantityError as error:
            raise FieldError(str(error)) from None

    words = f'a quantity with its unit, such as "{example}", or a bare number in the unit of [units]'
    return Read(read, {"oneOf": [{"type": "string", "examples": [example]}, {"type": "number"}], "description": words})


def _readings(value: object, units: dict[str, str | None]) -> list[Quantity]:
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


def _fuel(value: object, units: dict[str, str | None], words: tuple[str, ...]) -> Quantity | str:
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


def _clause(value: object) -> object:
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        raise mistaken(f'a clause is written in quotes, "{value}": without them 4.10 and 4.1 are the same number')
    if isinstance(value, str) and not re.fullmatch(r"[A-Za-z0-9()§-]+(\.[A-Za-z0-9()§-]+)*", value):
        raise mistaken(f'"{value}" is not a clause: write letters and digits, levels parted by dots, such as "7.4.1"')
    return value


def _identifier(value: object) -> object:
    if isinstance(value, str) and not re.fullmatch(r"[a-z0-9][a-z0-9_-]*", value):
        raise mistaken(f'"{value}" is not a name: use lower-case letters, digits, hyphens and underscores')
    return value


Mass = Annotated[Quantity, quantity("mass", "13.4 lb")]
SignedMass = Annotated[Quantity, quantity("mass", "-20 kg", signed=True)]
Length = Annotated[Quantity, quantity("length", "2100 mm")]
SignedLength = Annotated[Quantity, quantity("length", "-310 mm", signed=True)]
Money = Annotated[Quantity, quantity("money", "140 EUR")]
Density = Annotated[Quantity, quantity("mass/volume", "745 kg/m3")]
Number = Annotated[Fraction, Read(lambda value, units: read_number(value), {"type": "number"})]
READINGS_FORMS: tuple[dict[str, Any], ...] = (
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
Clause = Annotated[str, BeforeValidator(_clause)]
Identifier = Annotated[str, BeforeValidator(_identifier)]
