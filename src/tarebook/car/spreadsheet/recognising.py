"""What a CSV file is like: its separator, its decimal mark, and which column is which."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from tarebook.car.spreadsheet.cells import numbers_in, unguarded
from tarebook.car.spreadsheet.columns import Column, Which, column_named, every_key
from tarebook.car.spreadsheet.csv_text import SEPARATORS, Cell, CsvText
from tarebook.car.spreadsheet.refusals import CellError
from tarebook.names import did_you_mean
from tarebook.toml_source import Mistake, MistakesFound

_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+")
_NEEDED = {"part": (("id", "title"), ("kind", "title")), "job": (("id", "title"), ("state",))}


@dataclass(frozen=True)
class Table:
    """A CSV file taken apart.

    `columns` are those that are known, by their place in a row; `left` the headers of the others. `rows` holds the
    rows below the header that are not blank, by their number in the file, which counts from 1 and counts all rows.
    """

    text: CsvText
    which: Which
    separator: str
    decimal_comma: bool
    header_row: int
    headers: list[str]
    columns: dict[int, Column]
    left: list[str]
    rows: dict[int, list[str]]

    def mistake(self, row: int, column: int | None, message: str, hint: str = "") -> Mistake:
        """A mistake in a cell, named by its row and column; without a column in the row as a whole."""
        there = self._cells[row - 1]
        if column is None or column >= len(there):
            return self.text.mistake(Cell(there[0].start, there[-1].end), f"row {row}: {message}", hint)
        return self.text.mistake(there[column], f'row {row}, column "{self.headers[column]}": {message}', hint)

    @cached_property
    def _cells(self) -> list[list[Cell]]:
        return self.text.cells(self.separator)


def recognised(text: CsvText, which: Which) -> Table:
    """Take a CSV file apart. Raises MistakesFound for what makes no table with known columns."""
    separator = _separator(text, which)
    rows = text.rows(separator)
    first = next((place for place, row in enumerate(rows) if not _blank(row)), None)
    if first is None:
        raise MistakesFound([Mistake("the file is empty", "a first row with names of columns", text.name, 1, 1, 1, "")])
    headers = [unguarded(each).strip() for each in rows[first]]
    below = {number: row for number, row in enumerate(rows[first + 1 :], first + 2) if not _blank(row)}
    table = Table(text, which, separator, False, first + 1, headers, {}, [], below)
    columns, mistakes = _columns(table)
    mistakes += _ragged(table)
    if mistakes:
        raise MistakesFound(mistakes)
    left = [name or f"column {place + 1}, which has no name" for place, name in enumerate(headers)]
    return Table(
        text,
        which,
        separator,
        _has_decimal_commas(below, columns, separator),
        first + 1,
        headers,
        columns,
        [name for place, name in enumerate(left) if place not in columns and _used(place, headers, below)],
        below,
    )


def _blank(row: list[str]) -> bool:
    return not any(cell.strip() for cell in row)


def _used(place: int, headers: list[str], rows: dict[int, list[str]]) -> bool:
    return bool(headers[place]) or any(row[place].strip() for row in rows.values())


def _separator(text: CsvText, which: Which) -> str:
    """The separator that makes the most of the header: known columns first, then columns at all."""

    def worth(separator: str) -> tuple[int, int]:
        names = [each.strip().strip('"') for each in text.header().split(separator)][:1000]
        return sum(_known(which, each) for each in names), len(names)

    return max(SEPARATORS, key=worth)


def _known(which: Which, header: str) -> bool:
    try:
        return column_named(which, header) is not None
    except CellError:
        return True


def _columns(table: Table) -> tuple[dict[int, Column], list[Mistake]]:
    """The known columns by their place. A column that names the key itself goes before one that means it."""
    found: dict[int, tuple[Column, bool]] = {}
    mistakes: list[Mistake] = []

    def note(place: int, message: str, hint: str = "") -> None:
        mistakes.append(table.mistake(table.header_row, place, message, hint))

    for place, header in enumerate(table.headers):
        try:
            named = column_named(table.which, header)
        except CellError as error:
            note(place, str(error))
            continue
        if named is not None:
            found[place] = named
    exact = {column.path for column, is_exact in found.values() if is_exact}
    columns: dict[int, Column] = {}
    taken: dict[tuple[str, ...], int] = {}
    for place, (column, is_exact) in found.items():
        if column.path in exact and not is_exact:
            continue
        if column.path in taken:
            other = table.headers[taken[column.path]]
            note(place, f'this column and "{other}" both mean {column.key}', "give one of them another name")
            continue
        taken[column.path] = place
        columns[place] = column
    if not mistakes:
        mistakes = _missing(table, {column.key for column in columns.values()})
    return columns, mistakes


def _missing(table: Table, keys: set[str]) -> list[Mistake]:
    found = []
    for either in _NEEDED[table.which]:
        if not keys.intersection(either):
            unknown = [each for each in table.headers if not _known(table.which, each)]
            near = next((hint for each in unknown if (hint := did_you_mean(each, either))), "")
            if "\t" in table.headers[0]:
                near = "save it with commas or semicolons between cells, not tabs"
            listed = f"the columns for a {table.which} are {', '.join(every_key(table.which))}"
            message = f"there is no column {' or '.join(either)}"
            found.append(table.mistake(table.header_row, None, message, near or listed))
    return found


def _ragged(table: Table) -> list[Mistake]:
    wanted = len(table.headers)
    return [
        table.mistake(number, None, f"there are {len(row)} cells here, but {wanted} in the header", _why(row, wanted))
        for number, row in table.rows.items()
        if len(row) != wanted
    ]


def _why(row: list[str], wanted: int) -> str:
    return "put quotes around a cell that holds the separator" if len(row) > wanted else "leave no cell of a row out"


def _has_decimal_commas(rows: dict[int, list[str]], columns: dict[int, Column], separator: str) -> bool:
    """Whether the commas in the file's numbers are decimal.

    They are if one of them can be nothing else. With semicolons between the cells, commas that could also part
    thousands are decimal too.
    """

    def decimal(number: str) -> bool:
        one_comma = number.count(",") == 1 and "." not in number and not number.endswith(",")
        return one_comma and (separator == ";" or not _THOUSANDS.fullmatch(number))

    return any(
        decimal(number)
        for row in rows.values()
        for place, column in columns.items()
        for number in numbers_in(unguarded(row[place]), column)
    )
