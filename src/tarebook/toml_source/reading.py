"""Reads one TOML file, exactly and within limits, and knows where everything in it stands."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Any

import tomli

from tarebook.toml_source.limits import (
    MOST_BYTES,
    MOST_CHARACTERS,
    MOST_DECIMALS,
    MOST_DEPTH,
    MOST_DOTS,
    MOST_NODES,
    NUMBER_BOUND,
)
from tarebook.toml_source.mistakes import Mistake, MistakesFound, mistake_at

if TYPE_CHECKING:
    from tarebook.toml_source.locate import Places, Span

_BOM = b"\xef\xbb\xbf"
_BEYOND = Decimal("sNaN")  # stands for such a number until its place is known; TOML has no other way to it

_Path = tuple[str | int, ...]
_Excess = tuple[_Path, bool, str, str]  # where, whether at the key there, what is wrong, what to do


class Source:
    """One file, read once: its text, its data, and the place of each piece.

    `text` has no byte order mark and keeps its line endings. In `data` every float is an exact
    Decimal.
    """

    def __init__(self, name: str, content: bytes, text: str, data: dict[str, Any]) -> None:
        self.name = name
        self.text = text
        self.data = data
        self.content = content
        self._places: Places | None = None
        self._lines: list[str] | None = None

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Source) and (self.name, self.content) == (other.name, other.content)

    def __hash__(self) -> int:
        return hash((self.name, self.content))

    @property
    def sha256(self) -> str:
        """The SHA-256 digest of the file's bytes, in hexadecimal."""
        from hashlib import sha256

        return sha256(self.content).hexdigest()

    def place(self, path: Sequence[str | int], *, key: bool = False) -> tuple[int, int, int, str]:
        """Line, column, length and source line of the value at a path, or of its key.

        Elements that the data does not have are passed over. When the last one is missing, the
        place is the key of the nearest parent that exists; for no path at all it is line 1.
        """
        places = self._located()
        found: tuple[str | int, ...] = ()
        complete = True
        for element in path:
            complete = (*found, element) in places.values
            if complete:
                found = (*found, element)
        lines = self._split()
        if not found:
            return 1, 1, 1, lines[0]
        span: Span = places.values[found] if complete and not key else places.keys[found]
        line = lines[span.line - 1]
        end = span.end_column if span.end_line == span.line else len(line) + 1
        return span.line, span.column, max(1, end - span.column), line

    def line(self, path: Sequence[str | int]) -> int:
        """The line on which the value at a path begins."""
        return self.place(path)[0]

    def where(self, path: Sequence[str | int]) -> tuple[str, int]:
        """The file and the line on which the value at a path begins."""
        return self.name, self.line(path)

    def mistake(
        self, path: Sequence[str | int], message: str, hint: str = "", *, key: bool = False, what: str = "mistake"
    ) -> Mistake:
        """A mistake at the value at a path, or at its key."""
        line, column, length, source_line = self.place(path, key=key)
        return Mistake(message, hint, self.name, line, column, length, source_line, tuple(path), what)

    def _located(self) -> Places:
        if self._places is None:
            from tarebook.toml_source.locate import locate

            self._places = locate(self.text)
        return self._places

    def _split(self) -> list[str]:
        # Split once, so that many mistakes on one long line share its text.
        if self._lines is None:
            *ended, last = self.text.split("\n")
            self._lines = [line.removesuffix("\r") for line in ended] + [last]
        return self._lines


class NotRegular(OSError):
    """A path leads to a folder, a pipe or a device."""


def read_bytes(path: Path, most: int) -> bytes:
    """The first bytes of a file, so many at most. Raises OSError, such as NotRegular; ValueError for an odd name."""
    if not stat.S_ISREG(path.stat().st_mode):
        raise NotRegular
    # Should a pipe have taken the file's place by now, opening it must not wait for a writer.
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
    with open(os.open(path, flags), "rb") as file:  # noqa: PTH123 - a descriptor, not a path
        if not stat.S_ISREG(os.fstat(file.fileno()).st_mode):
            raise NotRegular
        return file.read(most)


def read_source(path: Path, name: str | None = None) -> Source:
    """Reads and parses a file, called `name` in mistakes (its path, unless given).

    Raises MistakesFound if it is missing, not a regular file, unreadable, or as parse_source does.
    """
    name = str(path) if name is None else name
    try:
        content = read_bytes(path, MOST_BYTES + 1)
    except NotRegular:
        raise _unusable(name, *_odd_kind(path)) from None
    except FileNotFoundError:
        raise _unusable(name, "there is no such file", "check the name and the folder") from None
    except PermissionError:
        raise _unusable(name, "this file may not be read", "change its permissions so that you may read it") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _unusable(name, f"this file cannot be read: {reason}", "check its name and its disk") from None
    return parse_source(content, name)


def parse_source(data: bytes, name: str) -> Source:
    """Parses the bytes of a TOML file.

    Raises MistakesFound if they are too many, are not UTF-8, are not valid TOML, or hold numbers,
    texts or nesting beyond what a car or rule file can need.
    """
    if len(data) > MOST_BYTES:
        raise _unusable(
            name,
            "the file is larger than 1 MiB, the most that is read",
            "check that this is the file you meant, or split it",
        )
    text = _decode(data.removeprefix(_BOM), name)
    nul = text.find("\0")
    if nul >= 0:
        raise MistakesFound(
            [
                mistake_at(
                    text,
                    nul,
                    nul + 1,
                    "there is a NUL character here, which no text file has",
                    "check that this is the file you meant, and save it as plain text",
                    file=name,
                )
            ]
        )
    if text.count(".") > MOST_DOTS and any(line.count(".") > MOST_DOTS for line in text.split("\n")):
        from tarebook.toml_source.syntax import refuse_long_keys

        refuse_long_keys(text, name)
    try:
        parsed = tomli.loads(text, parse_float=_exact)
    except (ValueError, RecursionError) as error:
        from tarebook.toml_source.syntax import explain

        raise MistakesFound([explain(error, text, name)]) from None
    source = Source(name, data, text, parsed)
    # All are found before any is placed: a file with too many nodes is not worth locating.
    if found := list(_excesses(parsed, name)):
        raise MistakesFound(source.mistake(path, message, hint, key=key) for path, key, message, hint in found)
    return source


def _decode(content: bytes, name: str) -> str:
    try:
        return content.decode()
    except UnicodeDecodeError as error:
        # Up to the first bad byte the characters are sound, so its offset counts them.
        start = len(content[: error.start].decode())
        end = start + 4 * (error.end - error.start)  # each bad byte is shown as \xHH
        raise MistakesFound(
            [
                mistake_at(
                    content.decode(errors="backslashreplace"),
                    start,
                    end,
                    f"the byte 0x{content[error.start]:02x} here is not valid UTF-8",
                    "save the file as UTF-8",
                    file=name,
                )
            ]
        ) from None


def _exact(literal: str) -> Decimal:
    try:
        return Decimal(literal)
    except InvalidOperation:  # an exponent beyond what Decimal can hold
        return _BEYOND


def _excesses(data: dict[str, Any], file: str) -> Iterator[_Excess]:
    """What is beyond the limits in the data of a file."""
    nodes = 0
    waiting: list[tuple[_Path, Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        if isinstance(value, (dict, list)):
            nodes += len(value)
            if nodes > MOST_NODES:
                message = f"the file holds more than {MOST_NODES:,} keys and values"
                raise _unusable(file, message, "split it into several files")
            if len(path) == MOST_DEPTH:
                if value:
                    message = f"tables and lists are nested more than {MOST_DEPTH} deep here"
                    yield path, True, message, "give these values nearer to the top"
            elif isinstance(value, list):
                waiting += [((*path, index), item) for index, item in enumerate(value)]
            else:
                waiting += [((*path, name), item) for name, item in value.items()]
                yield from (((*path, name), True, *_too_long("key")) for name in value if len(name) > MOST_CHARACTERS)
        elif isinstance(value, str):
            if len(value) > MOST_CHARACTERS:
                yield path, False, *_too_long("text")
        elif isinstance(value, (int, Decimal)) and (excess := _number_excess(value)):
            yield path, False, *excess


def _too_long(what: str) -> tuple[str, str]:
    return f"this {what} is longer than {MOST_CHARACTERS:,} characters", "shorten it"


def _number_excess(number: int | Decimal) -> tuple[str, str] | None:
    # Only exact comparisons here: arithmetic would round, or fail on an enormous exponent.
    if isinstance(number, Decimal):
        if number.is_snan():
            return "the exponent of this number is too large", "check it for a slip"
        if not number.is_finite():
            hint = "give a number, or leave the key out if it is not known"
            return "this is not a finite number", hint
        if int(number.as_tuple().exponent) < -MOST_DECIMALS:
            return f"this number has more than {MOST_DECIMALS} decimals", "round it"
    if not -NUMBER_BOUND < number < NUMBER_BOUND:
        message = f"this number is too large: it must lie between -{NUMBER_BOUND:,} and {NUMBER_BOUND:,}"
        return message, "check it for a slip, or choose a larger unit"
    return None


def _odd_kind(path: Path) -> tuple[str, str]:
    if path.is_dir():
        return "this is a folder, not a file", "name a file inside it"
    return "this is not a regular file but a pipe or a device", "save its content to a file and name that"


def _unusable(name: str, message: str, hint: str) -> MistakesFound:
    """A mistake of the file as a whole."""
    return MistakesFound([Mistake(message, hint, name, 1, 1, 1, "")])
