"""A CSV file as text: its rows, and where each cell stands. RFC 4180, with a comma or a semicolon between cells."""

from __future__ import annotations

import csv
import io
import re
from bisect import bisect_right
from functools import cached_property
from pathlib import Path
from typing import NamedTuple

from tarebook.toml_source import Mistake, MistakesFound
from tarebook.toml_source.reading import NotRegular, read_bytes

MOST_BYTES = 1024 * 1024
MOST_COLUMNS = 1_000
MOST_ROWS = 20_000
SEPARATORS = (",", ";")

_BOM = b"\xef\xbb\xbf"
_WIDE_BOMS = (b"\xff\xfe", b"\xfe\xff")
_LINE_END = re.compile(r"\r\n|\r|\n")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_MOST_CONTROLS = 20  # that are named one by one
_SAVE_AS = "save it as CSV in UTF-8"


class Cell(NamedTuple):
    """A piece of the text: where it begins and ends."""

    start: int
    end: int


class CsvText:
    """A CSV file that has been read, and is still to be taken apart by a separator."""

    def __init__(self, name: str, text: str) -> None:
        self.name = name
        self.text = text

    def rows(self, separator: str) -> list[list[str]]:
        """The cells of every row, blank rows too. Raises MistakesFound."""
        rows: list[list[str]] = []
        try:
            for row in csv.reader(io.StringIO(self.text, newline=""), delimiter=separator, strict=True):
                if len(row) > MOST_COLUMNS:
                    raise self._whole(f"row {len(rows) + 1} has more than {MOST_COLUMNS:,} cells", "leave some out")
                if len(rows) == MOST_ROWS:
                    raise self._whole(f"there are more than {MOST_ROWS:,} rows", "split the file")
                rows.append(row)
        except csv.Error as error:
            raise MistakesFound([self._broken(separator, len(rows), str(error))]) from None
        return rows

    def header(self) -> str:
        """The first line that is not blank, as it is."""
        return next((line for line in self._lines if line.strip()), "")

    def cells(self, separator: str) -> list[list[Cell]]:
        """Where the cells stand that `rows` gives; a blank row has one, which is empty."""
        text, size = self.text, len(self.text)
        field = re.compile(rf'"(?:[^"]|"")*+"|[^{separator}\r\n]*+')
        rows: list[list[Cell]] = []
        pos = 0
        while pos < size:
            row: list[Cell] = []
            while True:
                found = field.match(text, pos)
                assert found is not None  # the second way matches nothing at all, too
                row.append(Cell(pos, found.end()))
                pos = found.end()
                if not text.startswith(separator, pos):
                    break
                pos += 1
            rows.append(row)
            end = _LINE_END.match(text, pos)
            if pos < size and end is None:
                break  # behind a closing quote: the text is broken here
            pos = end.end() if end else pos
        return rows

    def mistake(self, cell: Cell, message: str, hint: str = "") -> Mistake:
        """A mistake in a cell, at its first line."""
        line = bisect_right(self._starts, cell.start)
        begin = self._starts[line - 1]
        source_line = self._lines[line - 1]
        column = max(1, min(cell.start - begin + 1, len(source_line)))
        length = max(1, min(cell.end - cell.start, len(source_line) - column + 1))
        return Mistake(message, hint, self.name, line, column, length, source_line)

    @cached_property
    def _starts(self) -> list[int]:
        return [0, *(found.end() for found in _LINE_END.finditer(self.text))]

    @cached_property
    def _lines(self) -> list[str]:
        return _LINE_END.split(self.text)

    def _whole(self, message: str, hint: str) -> MistakesFound:
        return _unusable(self.name, message, hint)

    def _broken(self, separator: str, row: int, reason: str) -> Mistake:
        """What the reader of CSV said, in our words and at its place."""
        cells = self.cells(separator)
        there = cells[min(row, len(cells) - 1)]
        if "field larger" in reason:
            cell = max(there, key=lambda each: each.end - each.start)
            return self.mistake(cell, f"row {row + 1}: this cell is too long to be one", "shorten it")
        cell = next((each for each in there if self._half_quoted(each)), there[-1])
        if self._closes(cell):
            message = "something follows the quote that ends this cell"
            return self.mistake(cell, f"row {row + 1}: {message}", "write a quote within a cell twice")
        return self.mistake(
            cell, f"row {row + 1}: this cell begins with a quote and has no end", "close it with a quote"
        )

    def _closes(self, cell: Cell) -> bool:
        return cell.end - cell.start > 1 and self.text[cell.end - 1] == '"'

    def _half_quoted(self, cell: Cell) -> bool:
        text = self.text[cell.start : cell.end]
        after = self.text[cell.end : cell.end + 1]
        return text.startswith('"') and (not re.fullmatch(r'"(?:[^"]|"")*+"', text) or after not in ("", *",;\r\n"))


def read_csv(path: Path) -> CsvText:
    """Read a CSV file. Raises MistakesFound if it is missing, no regular file, unreadable, or as parse_csv does."""
    name = str(path)
    try:
        content = read_bytes(path, MOST_BYTES + 1)
    except NotRegular:
        raise _unusable(name, "this is not a regular file", "save its content to a file and name that") from None
    except FileNotFoundError:
        raise _unusable(name, "there is no such file", "check the name and the folder") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unusable(name, f"this file cannot be read: {reason}", "check its name and its permissions") from None
    return parse_csv(content, name)


def parse_csv(content: bytes, name: str) -> CsvText:
    """The text of a CSV file, with or without a byte order mark.

    Raises MistakesFound if it is too large, is not UTF-8, or holds control characters.
    """
    if len(content) > MOST_BYTES:
        raise _unusable(name, "the file is larger than 1 MiB, the most that is read", "split it")
    if content.startswith(_WIDE_BOMS):
        raise _unusable(name, "the file is in UTF-16, which is not read", _SAVE_AS)
    content = content.removeprefix(_BOM)
    try:
        text = content.decode()
    except UnicodeDecodeError as error:
        line = len(_LINE_END.findall(content[: error.start].decode())) + 1
        raise MistakesFound([Mistake("this line is not in UTF-8", _SAVE_AS, name, line, 1, 1, "")]) from None
    source = CsvText(name, text)
    nul = text.find("\0")
    if nul >= 0:
        message = "there is a NUL character here, which no CSV file has"
        raise MistakesFound([source.mistake(Cell(nul, nul + 1), message, f"if this is the right file, {_SAVE_AS}")])
    controls = [Cell(*found.span()) for found in _CONTROL.finditer(text)]
    if controls:
        message = "there is a control character here, which cannot be seen"
        raise MistakesFound(source.mistake(each, message, "take it out") for each in controls[:_MOST_CONTROLS])
    return source


def _unusable(name: str, message: str, hint: str) -> MistakesFound:
    return MistakesFound([Mistake(message, hint, name, 1, 1, 1, "")])
