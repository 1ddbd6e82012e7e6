"""Values as TOML text on one line. Whatever a text holds, it cannot end its own quotes."""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from unicodedata import category

from tarebook.car.editing.refusals import EditRefused

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SHORT = {'"': '\\"', "\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"}
_HIDDEN = frozenset({"Cc", "Cf", "Zl", "Zp"})


def plain(value: Any) -> Any:
    """A copy of a value as a reader of the file will have it: texts, whole numbers, Decimals, dates, lists, tables.

    A Decimal without a decimal point becomes a whole number. Raises TypeError for any other type (a binary float has
    lost what was written), EditRefused for a text that no file can hold.
    """
    if isinstance(value, Mapping):
        return {_text(key): plain(each) for key, each in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(each) for each in value]
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Decimal):
        if not value.is_finite():
            raise EditRefused(f"{value} is not a finite number: leave it out if it is not known.")
        return int(value) if value.as_tuple().exponent == 0 else value
    if isinstance(value, (bool, int)) or type(value) is datetime.date:
        return value
    raise TypeError(f"a car file holds no {type(value).__name__}")


def _text(text: str) -> str:
    if any("\ud800" <= character <= "\udfff" for character in text):
        raise EditRefused(f"{text!r} holds a broken character, which no file can keep: write it anew.")
    return text


def key_text(key: str) -> str:
    """A key, in quotes only where it must be."""
    return key if _BARE.fullmatch(key) else string_text(key)


def string_text(text: str) -> str:
    """A text in double quotes, with everything escaped that would end it or could not be seen."""
    return f'"{"".join(_character(each) for each in text)}"'


def _character(character: str) -> str:
    if (short := _SHORT.get(character)) is not None:
        return short
    if character.isascii() and character.isprintable():
        return character
    if category(character) not in _HIDDEN:
        return character
    code = ord(character)
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def value_text(value: Any) -> str:
    """A value that `plain` has made, on one line."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return string_text(value)
    if isinstance(value, dict):
        inner = ", ".join(f"{key_text(key)} = {value_text(each)}" for key, each in value.items())
        return f"{{ {inner} }}" if inner else "{}"
    if isinstance(value, list):
        return f"[{', '.join(map(value_text, value))}]"
    return value.isoformat() if isinstance(value, datetime.date) else str(value)
