"""Where the keys and values of a TOML text stand.

The parser of record says what a text means but not where. This reads a text that the parser has
already accepted, so it may trust the grammar and only has to find where each piece begins and ends.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import NamedTuple

import tomli

from tarebook.toml_source.limits import MOST_DEPTH

Path = tuple[str | int, ...]
Offsets = tuple[int, int]

_BASIC = r'"(?:[^"\\\n]++|\\.)*+"'
_LITERAL = r"'[^'\n]*+'"
# A text in triple quotes may end in one or two quotes of its own.
_LONG_BASIC = r'"""(?:[^"\\]++|\\[\s\S]|""?(?!"))*+"{3,5}'
_LONG_LITERAL = r"'''(?:[^']++|''?(?!'))*+'{3,5}"
_STRING = f"{_LONG_BASIC}|{_LONG_LITERAL}|{_BASIC}|{_LITERAL}"
_WORD = r"[^ \t\r\n,\]}#]"

_LINE_END = re.compile("\n")
# _BLANK and _NEXT match anywhere, if only nothing, and _EQUALS where the reader of TOML found a key: where these are
# matched, the answer is never None, and is not looked at for that.
_BLANK = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+")
_NEXT = re.compile(rf"{_BLANK.pattern}(?:,{_BLANK.pattern})?+")
_SIMPLE = re.compile(r"([A-Za-z0-9_-]++)[ \t]*+=[ \t]*+")
_PART = re.compile(rf"[ \t]*+([A-Za-z0-9_-]++|{_BASIC}|{_LITERAL})[ \t]*+(\.?)")
_EQUALS = re.compile(r"=[ \t]*+")
_ATOM = re.compile(rf"{_STRING}|\d{{4}}-\d\d-\d\d \d\d:{_WORD}*+|{_WORD}++")
_BRACKET = re.compile(rf"{_STRING}|#[^\n]*+|([\[{{])|[\]}}]")


class Span(NamedTuple):
    """A piece of a text. Lines and columns count from 1; `end` and `end_column` are just past it."""

    line: int
    column: int
    end_line: int
    end_column: int
    start: int
    end: int


class Places:
    """The spans of every key and every value, by path.

    An item of an array has no key: its key span is its value span, or for `[[name]]` the name. A
    table from a header has the whole header for its value span, one that only a dotted key
    mentions has the dotted key; both at their first mention. What is nested deeper than the reader
    allows has no places.
    """

    __slots__ = ("keys", "values")

    def __init__(self, keys: dict[Path, Span], values: dict[Path, Span]) -> None:
        self.keys = keys
        self.values = values


def locate(text: str) -> Places:
    """The places of everything in a TOML text that the parser accepts."""
    scan = Scan(text)
    starts = [0, *(found.end() for found in _LINE_END.finditer(text)), len(text) + 1]
    return Places(_spans(scan.keys, starts), _spans(scan.values, starts))


def _spans(offsets: dict[Path, Offsets], starts: list[int]) -> dict[Path, Span]:
    """The spans of pieces, given where each line starts."""
    spans = {}
    make = tuple.__new__  # half the time of Span(...), and there are thousands
    line, begin, beyond = 1, 0, starts[1]
    for path, (start, end) in offsets.items():
        if not begin <= start < beyond:  # neighbours are mostly on one line
            line = bisect_right(starts, start)
            begin, beyond = starts[line - 1], starts[line]
        if end < beyond:
            last, last_begin = line, begin
        else:
            last = bisect_right(starts, end)
            last_begin = starts[last - 1]
        spans[path] = make(Span, (line, start - begin + 1, last, end - last_begin + 1, start, end))
    return spans


class Meeting(NamedTuple):
    """A key that names something which an earlier key had named."""

    inline: bool  # in an inline table
    whole: bool  # the whole key, not only the first parts of a dotted one
    here: Offsets
    first: Offsets


class Scan:
    """One pass over a text: `keys` and `values` as offsets.

    The text may also stop after any header or value; then `meetings` are those of the last
    statement, and `inside` tells whether the text stops within an array or inline table.
    """

    def __init__(self, text: str) -> None:
        self.keys: dict[Path, Offsets] = {}
        self.values: dict[Path, Offsets] = {}
        self.meetings: list[Meeting] = []
        self.inside = False
        self._text = text
        self._lengths: dict[Path, int] = {}  # of the arrays of tables
        self._run()

    def _run(self) -> None:
        text = self._text
        size = len(text)
        table: Path = ()
        pos = _BLANK.match(text, 0).end()  # type: ignore[union-attr]
        while pos < size:
            self.meetings.clear()
            if text[pos] == "[":
                table, pos = self._header(pos)
            else:
                path, pos = self._key(table, pos, inline=False)
                pos = self._value(path, pos)
            pos = _BLANK.match(text, pos).end()  # type: ignore[union-attr]

    def _parts(self, pos: int) -> tuple[list[tuple[str, Offsets]], int]:
        """The parts of a key, and where it ends."""
        parts = []
        while found := _PART.match(self._text, pos):
            name = found[1]
            if name[0] in "\"'":
                name = tomli.loads(f"x={name}")["x"] if "\\" in name else name[1:-1]
            parts.append((name, found.span(1)))
            pos = found.end()
            if not found[2]:
                break
        return parts, pos

    def _meet(self, path: Path, here: Offsets, *, inline: bool, whole: bool) -> None:
        if first := self.keys.get(path):
            self.meetings.append(Meeting(inline, whole, here, first))

    def _header(self, pos: int) -> tuple[Path, int]:
        double = self._text.startswith("[[", pos)
        parts, end = self._parts(pos + 1 + double)
        end = min(end + 1 + double, len(self._text))
        path: Path = ()
        for name, here in parts[:-1]:
            path += (name,)
            self._meet(path, here, inline=False, whole=False)
            self.keys.setdefault(path, here)
            self.values.setdefault(path, (pos, end))
            if path in self._lengths:
                path += (self._lengths[path] - 1,)
        for name, here in parts[-1:]:
            path += (name,)
            self._meet(path, here, inline=False, whole=True)
            if double:
                self.keys.setdefault(path, here)
                self.values.setdefault(path, (pos, end))
                index = self._lengths.get(path, 0)
                self._lengths[path] = index + 1
                path += (index,)
            self.keys[path] = here
            self.values[path] = (pos, end)
        return path, end

    def _key(self, path: Path, pos: int, *, inline: bool) -> tuple[Path, int]:
        """The path that a key in the table at `path` names, and where its value begins."""
        if simple := _SIMPLE.match(self._text, pos):
            path = (*path, simple[1])
            here = simple.span(1)
            if path in self.keys:
                self._meet(path, here, inline=inline, whole=True)
            self.keys[path] = here
            return path, simple.end()
        parts, end = self._parts(pos)
        for name, here in parts[:-1]:
            path = (*path, name)
            self._meet(path, here, inline=inline, whole=False)
            self.keys.setdefault(path, here)
            self.values.setdefault(path, (parts[0][1][0], parts[-1][1][1]))
        name, here = parts[-1]
        path = (*path, name)
        self._meet(path, here, inline=inline, whole=True)
        self.keys[path] = here
        return path, _EQUALS.match(self._text, end).end()  # type: ignore[union-attr]

    def _value(self, path: Path, pos: int) -> int:
        """Notes the value that begins at pos, with all it holds; returns where it ends."""
        text, keys, values = self._text, self.keys, self.values
        opened: list[tuple[Path, int, list[int] | None]] = []  # path, start, [next index] of an array
        while True:
            start = pos
            opener = text[pos : pos + 1]
            if opener in ("[", "{") and len(path) < MOST_DEPTH:
                opened.append((path, start, [0] if opener == "[" else None))
                pos += 1
            else:
                pos = self._skip(pos) if opener in ("[", "{") else self._atom(pos)
                values[path] = (start, pos)
                if type(path[-1]) is int:
                    keys[path] = (start, pos)
            while opened:
                pos = _NEXT.match(text, pos).end()  # type: ignore[union-attr]
                parent, start, index = opened[-1]
                if pos >= len(text):
                    self.inside = True
                    return pos
                if text[pos] in "]}":
                    opened.pop()
                    pos += 1
                    values[parent] = (start, pos)
                    if type(parent[-1]) is int:
                        keys[parent] = (start, pos)
                    continue
                if index is not None:
                    path = (*parent, index[0])
                    index[0] += 1
                else:
                    path, pos = self._key(parent, pos, inline=True)
                break
            else:
                return pos

    def _atom(self, pos: int) -> int:
        found = _ATOM.match(self._text, pos)
        return found.end() if found else len(self._text)

    def _skip(self, pos: int) -> int:
        """The end of the array or inline table that begins at pos."""
        depth = 0
        for found in _BRACKET.finditer(self._text, pos):
            if found[1]:
                depth += 1
            elif found[0] in "]}":
                depth -= 1
                if not depth:
                    return found.end()
        return len(self._text)
