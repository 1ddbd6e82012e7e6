"""One answer at a time: what somebody typed for one key of a new entry, made a value and checked as in the file."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from decimal import Decimal
from typing import Any, Literal

from tarebook.car.models import Axles, Corners, Estimate, Job, Part, Scale, ScaleCheck, Weighing
from tarebook.tables import Reading, Table, Units, fields_of
from tarebook.toml_source import Source

Form = Literal["text", "date", "whole", "number", "yes-no"]

_TABLES: dict[str, type[Table]] = {"weighing": Weighing, "scale": Scale, "part": Part, "job": Job}
_WITHIN: dict[str, type[Table]] = {"corners": Corners, "axles": Axles, "check": ScaleCheck, "estimate": Estimate}


class Unfit(ValueError):
    """What was typed is no value of that key; its text says what is wrong and what is expected."""


def typed(
    table: str, key: tuple[str, ...], text: str, units: Units, form: Form = "text", *, listed: bool = False
) -> Any:
    """The value that a text stands for at a key of a table; one item of it, if the key holds a list (`listed`).

    Quantities stay as they were typed, with their unit and their digits. Raises Unfit, in the words of the reader of
    car files.
    """
    text = text.strip()
    value = _FORMS[form](text)
    model = _TABLES[table] if len(key) == 1 else _WITHIN[key[0]]
    field = next(each for each in fields_of(model) if each.key == key[-1])
    reading = Reading(Source("", b"", "", {}), units)
    field.read([value] if listed else value, (), reading)
    for mistake in reading.mistakes.values():
        raise Unfit(f"{mistake.message}: {mistake.hint}" if mistake.hint else mistake.message)
    return value


def _date(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise Unfit(f'"{text}" is not a date: write year, month and day, such as 2027-04-10') from None


def _whole(text: str) -> int:
    if not re.fullmatch(r"[0-9]{1,15}", text):
        raise Unfit(f'"{text}" is not a whole number')
    return int(text)


def _number(text: str) -> int | Decimal:
    if not re.fullmatch(r"[0-9]{1,15}(\.[0-9]{1,9})?", text):
        raise Unfit(f'"{text}" is not a plain number such as 1.5')
    return Decimal(text) if "." in text else int(text)


def _yes_no(text: str) -> bool:
    word = text.casefold()
    if word not in ("y", "yes", "n", "no"):
        raise Unfit(f'"{text}" is neither yes nor no')
    return word in ("y", "yes")


_FORMS: dict[Form, Callable[[str], Any]] = {
    "text": str,
    "date": _date,
    "whole": _whole,
    "number": _number,
    "yes-no": _yes_no,
}
