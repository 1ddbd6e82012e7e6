"""The columns that parts and jobs have in a spreadsheet, and how a header is matched to one of them."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from tarebook.car.spreadsheet.refusals import CellError
from tarebook.fact_values import QUANTITY_TYPES
from tarebook.facts import BUILTIN
from tarebook.quantities import QuantityError, canonical_unit, units

Path = tuple[str, ...]
Which = Literal["part", "job"]
Form = Literal[
    "name", "text", "word", "readings", "quantity", "count", "years", "yes-no", "date", "number", "list", "finishes",
    "fact", "table",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Column:
    """One column: where its cells go in an entry, and how they are written.

    `dimension` is that of quantities and readings; `unit` is the one that the header names for bare numbers.
    `fact_type` is the type of a fact, None if only a rule set can know it.
    """

    path: Path
    form: Form
    dimension: str | None = None
    unit: str | None = None
    fact_type: str | None = None

    @property
    def key(self) -> str:
        return ".".join(self.path)

    @property
    def header(self) -> str:
        return f"{self.key} [{self.unit}]" if self.unit else self.key


_MASS, _LENGTH, _MONEY = "mass", "length", "money"

# In the order in which they are written. The words are those that people's own spreadsheets use, beside the key.
_PART: tuple[tuple[str, Form, str | None, str], ...] = (
    ("id", "name", None, "part id"),
    ("kind", "name", None, "type, category, kind of part"),
    ("title", "text", None, "name, part, part name, item, description"),
    ("mass", "readings", _MASS, "weight, masses, weights, readings, mass readings"),
    ("count", "count", None, "quantity, qty, pieces, pcs, number of pieces"),
    ("mass_each", "readings", _MASS, "weight each, mass per piece, weight per piece, unit weight"),
    ("mass_together", "readings", _MASS, "weight together, total weight, total mass"),
    ("scale", "name", None, "scales, weighed on"),
    ("estimate.mass", "quantity", _MASS, "estimate, estimated mass, estimated weight"),
    ("estimate.within", "quantity", _MASS, "within, give or take, plus or minus, +/-, ±"),
    ("at", "quantity", _LENGTH, "position, behind front axle, distance behind front axle"),
    ("right", "quantity", _LENGTH, "right of centre, right of center, right of middle"),
    ("origin", "word", None, ""),
    ("replaces", "name", None, "in place of, instead of"),
    ("material", "text", None, "made of"),
    ("thickness", "quantity", _LENGTH, ""),
    ("belongs_to", "name", None, "part of"),
    ("years", "years", None, "year, listed years"),
    ("approval", "list", None, "approvals, approved by"),
    ("place", "name", None, ""),
    ("kept", "text", None, "kept in, kept at, stored, stored in, storage, where kept"),
    ("gone", "yes-no", None, "sold, scrapped, sold or scrapped"),
    ("note", "text", None, "notes, remark, remarks, comment, comments"),
)
_JOB: tuple[tuple[str, Form, str | None, str], ...] = (
    ("id", "name", None, "job id"),
    ("title", "text", None, "name, job, task, work, description"),
    ("state", "word", None, "status"),
    ("date", "date", None, "day, done on, date done"),
    ("off", "list", None, "takes off, taken off, parts off"),
    ("fit", "list", None, "fits, fitted, parts fitted"),
    ("moves", "table", None, ""),
    ("lightens", "table", None, ""),
    ("sets", "table", None, ""),
    ("cost", "quantity", _MONEY, "price, spent"),
    ("returns", "quantity", _MONEY, "sold for, money back"),
    ("hours", "number", None, "hours worked, working hours"),
    ("needs", "list", None, "after, requires"),
    ("not_with", "list", None, "excludes"),
    ("tools", "list", None, "tool"),
    ("finishes", "finishes", None, "finish"),
    ("note", "text", None, "notes, remark, remarks, comment, comments"),
)
_FORMS = {"part": _PART, "job": _JOB}
_MOVE: dict[str, tuple[Form, str | None]] = {
    "at": ("quantity", _LENGTH),
    "right": ("quantity", _LENGTH),
    "place": ("name", None),
}
_LIGHTENED: dict[Path, tuple[Form, str | None]] = {
    (): ("readings", _MASS),
    ("mass",): ("readings", _MASS),
    ("scale",): ("name", None),
    ("estimate", "mass"): ("quantity", _MASS),
    ("estimate", "within"): ("quantity", _MASS),
}
_UNIT_WORDS = {
    _MASS: {
        "kg": "kgs, kilo, kilos, kilogram, kilograms, kilogramme, kilogrammes",
        "g": "gr, gram, grams, gramme, grammes",
        "lb": "lbs, pound, pounds",
        "oz": "ounce, ounces",
    },
    _LENGTH: {
        "mm": "millimetre, millimetres, millimeter, millimeters",
        "cm": "centimetre, centimetres, centimeter, centimeters",
        "in": "inch, inches",
    },
}
_UNIT_BEHIND = re.compile(r"(.*?)\s*(?:\(([^()]*)\)|\[([^\[\]]*)\])\s*", re.DOTALL)


def order_of(which: Which) -> dict[str, int]:
    """The keys of an entry, and the place of each among the columns."""
    return {key: place for place, (key, *_) in enumerate(_FORMS[which])}


def column_at(which: Which, path: Path) -> Column | None:
    """The column for what stands at a path of an entry; None if there is none such."""
    key = ".".join(path)
    for name, form, dimension, _ in _FORMS[which]:
        if name == key and "." not in path[0]:
            return Column(path, form, dimension)
    if which == "part" or len(path) < 2:
        return None
    table, name, *inner = path
    if table == "sets" and not inner:
        fact = BUILTIN.get(name)
        kind = fact.type if fact is not None else None
        return Column(path, "fact", kind if kind in QUANTITY_TYPES else None, fact_type=kind)
    if table == "moves" and len(inner) == 1 and inner[0] in _MOVE:
        return Column(path, *_MOVE[inner[0]])
    if table == "lightens" and tuple(inner) in _LIGHTENED:
        return Column(path, *_LIGHTENED[tuple(inner)])
    return None


def known_unit(written: str, dimension: str) -> str:
    """The unit that a word stands for, also where its case is off or it is written out: "Lbs" is lb.

    Raises QuantityError if it is none of that dimension.
    """
    try:
        return canonical_unit(written, dimension)
    except QuantityError:
        word = written.strip().casefold().rstrip(".")
        for unit, words in _UNIT_WORDS.get(dimension, {}).items():
            if word in words.split(", "):
                return unit
        alike = [unit for unit in units(dimension) if unit.casefold() == word]
        if len(alike) == 1:
            return alike[0]
        raise


def column_named(which: Which, header: str) -> tuple[Column, bool] | None:
    """The column that a header means, and whether it names the key itself; None if it means none.

    Case, spaces, hyphens and underscores make no difference. Raises CellError for a unit that does not fit.
    """
    behind = _UNIT_BEHIND.fullmatch(header)
    found = _named(which, behind[1]) if behind is not None else None
    if behind is None or found is None or found[0].dimension is None:
        return _named(which, header)
    column, exact = found
    try:
        unit = known_unit(behind[2] if behind[2] is not None else behind[3], column.dimension or "")
    except QuantityError as error:
        raise CellError(str(error)) from None
    return replace(column, unit=unit), exact


def _named(which: Which, header: str) -> tuple[Column, bool] | None:
    table, dot, rest = header.strip().partition(".")
    table = table.casefold()
    if which == "job" and dot and table in ("sets", "moves", "lightens"):
        path = (table, rest) if table == "sets" else (table, *rest.casefold().replace(" ", "").split("."))
        column = column_at(which, path)
        return None if column is None else (column, True)
    wanted = _folded(header)
    if not wanted:
        return None
    for key, *_, words in _FORMS[which]:
        exact = _folded(key) == wanted
        if exact or wanted in map(_folded, words.split(", ")):
            column = column_at(which, tuple(key.split(".")))
            return None if column is None else (column, exact)
    return None


def _folded(text: str) -> str:
    return re.sub(r"[\s_-]+", "", text.casefold())


def every_key(which: Which) -> tuple[str, ...]:
    """The keys that have a column of their own."""
    return tuple(key for key, *_ in _FORMS[which])
