"""Parts and jobs of a car file as CSV, word for word as they were written."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

from tarebook.car.reading import Car
from tarebook.car.spreadsheet.cells import cell_of
from tarebook.car.spreadsheet.columns import Column, Path, Which, column_at, order_of
from tarebook.car.spreadsheet.refusals import SpreadsheetRefused

_ALWAYS = {"part": ("id", "kind"), "job": ("id", "state")}


def export_csv(car: Car, which: Which, *, semicolon: bool = False, decimal_comma: bool = False) -> str:
    """The parts or the jobs as CSV (RFC 4180): a column for every key that any entry states.

    With `decimal_comma` semicolons stand between the cells: a comma could not do both. Raises SpreadsheetRefused for
    an entry that says what no cell can.
    """
    entries: list[dict[str, Any]] = car.source.data.get(which, [])
    columns = _columns(entries, which, car.units)
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=";" if semicolon or decimal_comma else ",", lineterminator="\r\n")
    writer.writerow(column.header for column in columns)
    for entry in entries:
        found = dict(leaves(entry, which))
        try:
            writer.writerow(
                cell_of(found[column.path], column, decimal_comma=decimal_comma) if column.path in found else ""
                for column in columns
            )
        except SpreadsheetRefused as refused:
            raise SpreadsheetRefused(f'The {which} "{entry["id"]}" cannot be exported: {refused}') from None
    return file.getvalue()


def leaves(entry: dict[str, Any], which: Which, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """What an entry states, by column; a table that is empty counts as a value."""
    for key, value in entry.items():
        here = (*path, key)
        inner = isinstance(value, dict) and value and not (len(here) == 2 and here[0] == "sets")
        if inner:
            yield from leaves(value, which, here)
        else:
            yield here, value


def _columns(entries: list[dict[str, Any]], which: Which, units: dict[str, str | None]) -> list[Column]:
    """A column for every key that is stated; with its unit where any number in it has none of its own."""
    found: dict[Path, Column] = {}
    for path in [(key,) for key in _ALWAYS[which]] + [path for each in entries for path, _ in leaves(each, which)]:
        column = column_at(which, path)
        assert column is not None  # a sound car file has no other keys
        found[path] = column
    for each in entries:
        for path, value in leaves(each, which):
            column = found[path]
            if column.dimension is not None and column.unit is None and _bare(value):
                found[path] = replace(column, unit=units.get(column.dimension))
    order, first = order_of(which), {path: place for place, path in enumerate(found)}
    keys = {path: path[0] if path[0] in order else ".".join(path) for path in found}
    return [found[path] for path in sorted(found, key=lambda path: (order[keys[path]], first[path]))]


def _bare(value: Any) -> bool:
    return any(not isinstance(each, (str, dict)) for each in (value if isinstance(value, list) else [value]))
