"""Reads the keys of one JSON table strictly: each of its sort, none missing, none unknown."""

import datetime
import math
import re
from collections.abc import Iterator
from typing import Any

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class RecordProblem(ValueError):
    """A record that cannot be read or written; the text says why, and what to do."""


class Fields:
    """The keys of a table at a place such as "rows[3]". Every question raises RecordProblem where it has no answer."""

    def __init__(self, data: Any, at: str = "") -> None:
        if not isinstance(data, dict):
            raise RecordProblem(f"{at or 'the whole'} must be a table of keys.")
        self._data = data
        self._at = at
        self._asked: set[str] = set()

    def place(self, key: str) -> str:
        """Where a key stands, for a sentence."""
        return f"{self._at}.{key}" if self._at else key

    def text(self, key: str) -> str:
        """A text, which may be empty."""
        value = self._value(key)
        return value if isinstance(value, str) else self._refuse(key, "a text")

    def text_or_none(self, key: str) -> str | None:
        """A text, or None for null."""
        value = self._value(key)
        return value if value is None or isinstance(value, str) else self._refuse(key, "a text or null")

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        value = self._value(key)
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            self._refuse(key, "a list of texts")
        return tuple(value)

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self._value(key)
        return value if isinstance(value, bool) else self._refuse(key, "true or false")

    def number_or_none(self, key: str) -> float | None:
        """A finite number, or None for null."""
        value = self._value(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._refuse(key, "a number or null")
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        return number if math.isfinite(number) else self._refuse(key, "a finite number")

    def day(self, key: str) -> datetime.date:
        """A date such as 2027-04-10."""
        value = self._value(key)
        try:
            if isinstance(value, str) and _DAY.fullmatch(value):
                return datetime.date.fromisoformat(value)
        except ValueError:
            pass
        raise RecordProblem(f"{self.place(key)} must be a date such as 2027-04-10.")

    def days(self, key: str) -> dict[str, datetime.date]:
        """A table of dates by name."""
        inner = self.table(key)
        return {name: inner.day(name) for name in inner._data}

    def table(self, key: str) -> "Fields":
        """A table within this one."""
        return Fields(self._value(key), self.place(key))

    def tables(self, key: str) -> Iterator["Fields"]:
        """The tables of a list."""
        value = self._value(key)
        if not isinstance(value, list):
            self._refuse(key, "a list")
        for index, each in enumerate(value):
            yield Fields(each, f"{self.place(key)}[{index}]")

    def no_more(self) -> None:
        """Refuses keys that were not asked for."""
        for key in self._data:
            if key not in self._asked:
                raise RecordProblem(f"{self.place(key)} is no key of such a record.")

    def _value(self, key: str) -> Any:
        self._asked.add(key)
        if key not in self._data:
            raise RecordProblem(f"{self.place(key)} is missing.")
        return self._data[key]

    def _refuse(self, key: str, wanted: str) -> Any:
        raise RecordProblem(f"{self.place(key)} must be {wanted}.")
