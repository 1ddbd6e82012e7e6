"""Field types that the car file and the rule-set file share: quantities, readings, fuel amounts, clauses.

A bare number is read in the unit that the file's `[units]` names; the reader passes those units as
pydantic's validation context, `{"units": {"mass": "kg", ...}}`.
"""

import re
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Annotated, Any, Literal

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    GetJsonSchemaHandler,
    ValidationInfo,
    WithJsonSchema,
)
from pydantic_core import CoreSchema, PydanticCustomError

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
            raise QuantityError(f"a {dimension} needs its unit in quotes, and [units] names none for bare numbers")
        quantity = from_number(value, unit, dimension)
    else:
        raise QuantityError(f"a {dimension} is expected: a number with its unit in quotes, or a bare number")
    if quantity.value < 0 and not signed:
        raise QuantityError(f"a {dimension} cannot be below zero here")
    return quantity


class AlsoWritten:
    """Says in the JSON Schema which forms a field may take besides the one that it is read into."""

    def __init__(self, *forms: dict[str, Any], description: str) -> None:
        self._forms = forms
        self._description = description

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"oneOf": [handler(core), *self._forms], "description": self._description}


def _units_of(info: ValidationInfo) -> dict[str, str | None]:
    context: Any = info.context
    return context["units"] if context else {}


def _reader(dimension: str, *, signed: bool = False) -> Callable[[object, ValidationInfo], Quantity]:
    def read(value: object, info: ValidationInfo) -> Quantity:
        try:
            return read_quantity(value, dimension, _units_of(info), signed=signed)
        except QuantityError as error:
            raise mistaken(str(error)) from None

    return read


def _quantity_schema(example: str) -> WithJsonSchema:
    return WithJsonSchema(
        {
            "oneOf": [{"type": "string", "examples": [example]}, {"type": "number"}],
            "description": f'a quantity with its unit, such as "{example}", or a bare number in the unit of [units]',
        }
    )


def _readings(value: object) -> object:
    """One reading, or several of the same thing."""
    return value if isinstance(value, list) else [value]


def _fuel(value: object, info: ValidationInfo) -> object:
    if value in ("full", "empty", "as-raced"):
        return value
    if isinstance(value, str) and value[:1].isalpha():
        raise mistaken(f'"{value}" is not an amount of fuel: write a volume such as "12 L", "full" or "empty"')
    return _reader("volume")(value, info)


def _number(value: object) -> Fraction:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, (int, Decimal)) and not isinstance(value, bool):
        return Fraction(value)
    raise mistaken("a plain number is expected here, without quotes and unit")


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


Mass = Annotated[Quantity, BeforeValidator(_reader("mass")), _quantity_schema("13.4 lb")]
SignedMass = Annotated[Quantity, BeforeValidator(_reader("mass", signed=True)), _quantity_schema("-20 kg")]
Length = Annotated[Quantity, BeforeValidator(_reader("length")), _quantity_schema("2100 mm")]
SignedLength = Annotated[Quantity, BeforeValidator(_reader("length", signed=True)), _quantity_schema("-310 mm")]
Money = Annotated[Quantity, BeforeValidator(_reader("money")), _quantity_schema("140 EUR")]
Number = Annotated[Fraction, BeforeValidator(_number), WithJsonSchema({"type": "number"})]
Density = Annotated[Quantity, BeforeValidator(_reader("mass/volume")), _quantity_schema("745 kg/m3")]
Readings = Annotated[
    list[Mass],
    BeforeValidator(_readings),
    WithJsonSchema(
        {
            "oneOf": [
                {"type": "string", "examples": ["1.66 kg"]},
                {"type": "number"},
                {
                    "type": "array",
                    "minItems": 1,
                    "items": {"oneOf": [{"type": "string"}, {"type": "number"}]},
                },
            ],
            "description": "one reading, or a list of readings of the same thing",
        }
    ),
]
_FUEL_SCHEMA = WithJsonSchema(
    {
        "oneOf": [{"type": "string"}, {"type": "number"}],
        "description": 'a volume such as "12 L", "full" or "empty"',
    }
)
Fuel = Annotated[Quantity | Literal["full", "empty"], BeforeValidator(_fuel), _FUEL_SCHEMA]
ClassFuel = Annotated[Quantity | Literal["full", "empty", "as-raced"], BeforeValidator(_fuel), _FUEL_SCHEMA]
Clause = Annotated[str, BeforeValidator(_clause)]
Identifier = Annotated[str, BeforeValidator(_identifier)]
