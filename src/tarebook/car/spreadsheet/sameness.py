"""Whether two entries say the same: the amounts and texts count, not how they are written."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.car.models import Job, Part
from tarebook.car.spreadsheet.columns import Path, Which, column_at
from tarebook.car.spreadsheet.exporting import leaves
from tarebook.fields import read_quantity
from tarebook.quantities import QuantityError
from tarebook.tables import fields_of

_TABLES = {"part": Part, "job": Job}
_LONGEST = 60  # characters of a value that are shown


class Difference(NamedTuple):
    """One key on which two entries differ, and what each says, as people read it."""

    path: Path
    there: str
    here: str


def differences(
    which: Which, there: dict[str, Any], here: dict[str, Any], units: dict[str, str | None]
) -> list[Difference]:
    """Where two entries differ, key by key."""
    old, new = dict(leaves(there, which)), dict(leaves(here, which))
    found = []
    for path in dict.fromkeys((*old, *new)):
        one, other = old.get(path), new.get(path)
        if _meaning(which, path, one, units) != _meaning(which, path, other, units):
            column = column_at(which, path)
            unit = units.get(column.dimension) if column is not None and column.dimension is not None else None
            found.append(Difference(path, shown(one, unit), shown(other, unit)))
    return found


def _meaning(which: Which, path: Path, value: Any, units: dict[str, str | None]) -> Any:
    if value is None and len(path) == 1:
        value = next((each.default for each in fields_of(_TABLES[which]) if each.key == path[0]), None)
    column = column_at(which, path)
    if value is None or value == {} or column is None:
        return value
    if column.dimension is not None:
        amounts = [_amount(each, column.dimension, units) for each in (value if isinstance(value, list) else [value])]
        return amounts if column.form == "readings" or len(amounts) > 1 else amounts[0]
    if column.form == "number" and not isinstance(value, str):
        return Fraction(value)
    return (type(value) is bool, value)


def _amount(value: Any, dimension: str, units: dict[str, str | None]) -> Any:
    try:
        return read_quantity(value, dimension, units, signed=True)
    except QuantityError:
        return value


def shown(value: Any, unit: str | None = None) -> str:
    """A value of an entry as people read it, in one short line; `unit` is that of bare numbers."""
    if value is None:
        return "not stated"
    listed: Iterable[Any] = value if isinstance(value, list) else [value]
    texts = [
        f"{each['area']}: {each['by']}" if isinstance(each, dict) and each else _plain(each, unit) for each in listed
    ]
    text = " / ".join(texts) or "empty"
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1]}…"


def _plain(value: Any, unit: str | None) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value} {unit}" if unit is not None and not isinstance(value, (str, dict)) else str(value)
