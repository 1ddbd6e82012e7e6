"""Values of car facts: read by type, exact, quantities in base units."""

import datetime
from decimal import Decimal
from fractions import Fraction

from tarebook.facts import Fact
from tarebook.fields import read_quantity
from tarebook.names import did_you_mean
from tarebook.quantities import QuantityError

Value = bool | str | Fraction | datetime.date

QUANTITY_TYPES = ("mass", "length", "volume", "power", "money")
NUMERIC_TYPES = ("number", "count", *QUANTITY_TYPES)


class FactError(ValueError):
    """A value does not fit the fact it is given for; the text says what was expected."""


def read_value(value: object, fact: Fact, units: dict[str, str | None]) -> Value:
    """Read a value of a fact, as a car states it or a rule compares it. Quantities come out in base units.

    Raises FactError with one sentence.
    """
    kind = fact.type
    if kind == "yes-no":
        if isinstance(value, bool):
            return value
        raise FactError(f"{fact.id} is true or false")
    if kind == "choice":
        if isinstance(value, str) and value in fact.choices:
            return value
        choices = ", ".join(f'"{choice}"' for choice in fact.choices)
        near = did_you_mean(value, fact.choices) if isinstance(value, str) else ""
        raise FactError(f"{fact.id} is one of {choices}" + (f"; {near}" if near else ""))
    if kind == "text":
        if isinstance(value, str):
            return value
        raise FactError(f"{fact.id} is a text in quotes")
    if kind == "date":
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value
        raise FactError(f"{fact.id} is a date such as 1996-05-31, without quotes")
    if kind in QUANTITY_TYPES:
        try:
            return read_quantity(value, kind, units).value
        except QuantityError as error:
            raise FactError(f"{fact.id}: {error}") from None
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        raise FactError(f"{fact.id} is a plain number, without quotes and unit")
    if value < 0:
        raise FactError(f"{fact.id} is zero or more")
    if kind == "count" and value != int(value):
        raise FactError(f"{fact.id} is a whole number")
    return Fraction(value)
