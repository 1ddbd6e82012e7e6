"""The changes that can be made to a car file: what each does to the data, and where it goes into the text."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

from tarebook.car.editing.layout import WIDEST, KeyStyle, Layout, spread
from tarebook.car.editing.refusals import EditRefused
from tarebook.car.editing.toml_text import key_text, plain, value_text
from tarebook.toml_source.locate import Path

_COMMA = re.compile(r"(?:[ \t\r\n]++|#[^\n]*+)*+,")


class Splice(NamedTuple):
    """A piece of the text that is replaced; nothing is, where it ends as it starts."""

    start: int
    end: int
    text: str


class Change(Protocol):
    """One change. Both functions raise EditRefused if it cannot be made."""

    def applied(self, data: dict[str, Any]) -> Path:
        """Make the change in the data; the path of the first new or changed value comes back."""

    def splices(self, data: dict[str, Any], layout: Layout) -> list[Splice]:
        """What to replace in the text, given the data as it was."""


@dataclass(frozen=True)
class AddEntries:
    """New entries at the end of a list of tables, such as "part"; each by key, in the order to be written.

    Written as the entries before them are: `[[part]]` blocks below the last one, or tables within brackets.
    """

    table: str
    entries: Sequence[Mapping[str, Any]]

    def applied(self, data: dict[str, Any]) -> Path:
        listed = data.setdefault(self.table, [])
        listed += plain(self.entries)
        return (self.table, len(listed) - len(self.entries))

    def splices(self, data: dict[str, Any], layout: Layout) -> list[Splice]:
        entries = plain(self.entries)
        if not entries:
            return []
        there = layout.places.values.get((self.table,))
        if there is not None and not layout.text.startswith("[[", there.start):
            return _into_brackets(layout, (self.table,), len(data[self.table]), [value_text(each) for each in entries])
        count = len(data.get(self.table, ()))
        return [self._blocks(layout, entries, count)]

    def _blocks(self, layout: Layout, entries: list[dict[str, Any]], count: int) -> Splice:
        text = layout.text
        last = layout.start((self.table, count - 1)) if count else None
        at = layout.below(layout.entry_end((self.table, count - 1))) if count else len(text)
        newline = layout.newline(at)
        blank = newline * layout.blank_lines(self.table)
        style = layout.key_style(last)
        indent = layout.indent(last) if last is not None else ""
        apart = {
            path[2]
            for path in layout.headers.values()
            if len(path) == 3 and path[0] == self.table and isinstance(path[2], str)
        }
        blocks = [_block(self.table, each, style, indent, apart, newline) for each in entries]
        before = blank
        if at and text[at - 1] != "\n":
            before = newline + blank
        elif not count:
            there = text[len(text.rstrip()) :].count("\n") - 1  # blank lines at the end of the file
            before = newline * max(0, layout.blank_lines(self.table) - there) if text.strip() else ""
        return Splice(at, at, before + blank.join(blocks))


def _block(table: str, entry: dict[str, Any], style: KeyStyle, indent: str, apart: set[Any], newline: str) -> str:
    """A `[[table]]` block; tables within it have headers of their own where the file does so, or if they are long."""
    inline: dict[str, Any] = {}
    tables: dict[str, Any] = {}
    for key, value in entry.items():
        wide = isinstance(value, dict) and len(style.statement(key, value_text(value))) > WIDEST
        of = tables if isinstance(value, dict) and value and (wide or key in apart) else inline
        of[key] = value
    lines = [f"{indent}[[{key_text(table)}]]", *(spread(style, key, each, newline) for key, each in inline.items())]
    for name, inner in tables.items():
        lines.append(f"{indent}[{key_text(table)}.{key_text(name)}]")
        lines += (spread(style, key, each, newline) for key, each in inner.items())
    return "".join(line + newline for line in lines)


@dataclass(frozen=True)
class AddToList:
    """More values at the end of a list. A single value becomes a list that begins with it; a missing key is added."""

    path: Path
    values: Sequence[Any]

    def applied(self, data: dict[str, Any]) -> Path:
        table, key = _table(data, self.path), self.path[-1]
        added = plain(self.values)
        there = table.get(key)
        if key in table and added:
            table[key] = [*(there if isinstance(there, list) else [there]), *added]
        elif added:
            table[key] = added
        return self.path

    def splices(self, data: dict[str, Any], layout: Layout) -> list[Splice]:
        texts = [value_text(each) for each in plain(self.values)]
        if not texts:
            return []
        table, key = _table(data, self.path), self.path[-1]
        if key not in table:
            return _new_key(layout, self.path, plain(self.values))
        there = table[key]
        _not_apart(layout, self.path, there)
        if isinstance(there, list):
            return _into_brackets(layout, self.path, len(there), texts)
        start, end = layout.start(self.path), layout.end(self.path)
        return [Splice(start, start, "["), Splice(end, end, f", {', '.join(texts)}]")]


@dataclass(frozen=True)
class SetKey:
    """A key of a table gets a value, whether or not it had one."""

    path: Path
    value: Any

    def applied(self, data: dict[str, Any]) -> Path:
        _table(data, self.path)[self.path[-1]] = plain(self.value)
        return self.path

    def splices(self, data: dict[str, Any], layout: Layout) -> list[Splice]:
        table, key = _table(data, self.path), self.path[-1]
        if key not in table:
            return _new_key(layout, self.path, plain(self.value))
        _not_apart(layout, self.path, table[key])
        return [Splice(layout.start(self.path), layout.end(self.path), value_text(plain(self.value)))]


@dataclass(frozen=True)
class ReplaceKey:
    """A key of a table gives way to another, which the table lacks. What stood there stays above as a comment."""

    path: Path
    key: str
    value: Any

    def applied(self, data: dict[str, Any]) -> Path:
        table = _table(data, self.path)
        del table[self.path[-1]]
        table[self.key] = plain(self.value)
        return (*self.path[:-1], self.key)

    def splices(self, data: dict[str, Any], layout: Layout) -> list[Splice]:
        _not_apart(layout, self.path, _table(data, self.path)[self.path[-1]])
        start, end = layout.places.keys[self.path].start, layout.end(self.path)
        text = value_text(plain(self.value))
        if not layout.has_header(self.path[:-1]):
            return [Splice(start, end, f"{key_text(self.key)} = {text}")]
        indent, newline = layout.indent(start), layout.newline(end)
        old = layout.text[start:end].replace("\n", f"\n{indent}# ")
        separator = layout.text[layout.places.keys[self.path].end : layout.start(self.path)]
        return [Splice(start, end, f"# {old}{newline}{indent}{key_text(self.key)}{separator}{text}")]


def _table(data: dict[str, Any], path: Path) -> dict[Any, Any]:
    """The table that holds the key at a path."""
    here: Any = data
    for step in path[:-1]:
        here = here[step]
    if not isinstance(here, dict):
        raise EditRefused(f"{_named(path[:-1])} is no table.")
    return here


def _not_apart(layout: Layout, path: Path, value: Any) -> None:
    """Refuses what is not written as `key = value` in one place."""
    span, key = layout.places.values[path], layout.places.keys[path]
    apart = isinstance(value, (dict, list)) and layout.text[span.start] not in "{["
    if span.start <= key.start or apart:
        raise _by_hand(layout, path)


def _by_hand(layout: Layout, path: Path) -> EditRefused:
    line = layout.places.values[path].line
    return EditRefused(f"{_named(path)} (line {line}) is written in a way that is not changed here: change it by hand.")


def _named(path: Path) -> str:
    return ".".join(str(step + 1 if isinstance(step, int) else step) for step in path)


def _new_key(layout: Layout, path: Path, value: Any) -> list[Splice]:
    """A key that its table lacks, below the table's other keys."""
    table, key = path[:-1], str(path[-1])
    if not table or table not in layout.places.values:
        raise EditRefused(f"{_named(path)} has no table to stand in: add it by hand.")
    start = layout.start(table)
    if layout.has_header(table):
        at = layout.line_end(layout.body_end(start))
        newline = layout.newline(at)
        line = spread(layout.key_style(start), key, value, newline)
        before = "" if layout.text[at - 1] == "\n" else newline
        return [Splice(at, at, before + line + newline)]
    if layout.text[start] != "{":
        raise _by_hand(layout, table)
    size = len(table)
    ends = [span.end for each, span in layout.places.values.items() if each[:size] == table and len(each) > size]
    return _before_closing(layout, table, max(ends, default=None), [f"{key_text(key)} = {value_text(value)}"])


def _into_brackets(layout: Layout, path: Path, count: int, texts: list[str]) -> list[Splice]:
    """More values in the list at a path, which has `count` of them."""
    return _before_closing(layout, path, layout.end((*path, count - 1)) if count else None, texts, (*path, count - 1))


def _before_closing(
    layout: Layout, path: Path, last: int | None, texts: list[str], item: Path | None = None
) -> list[Splice]:
    """More items behind the one that ends at `last`, in the list or small table at a path, laid out as it is."""
    text = layout.text
    if last is None:
        at = layout.start(path) + 1
        pad = " " if text[at - 1] == "{" else ""
        return [Splice(at, at, pad + ", ".join(texts) + pad)]
    comma = _COMMA.match(text, last)
    at = comma.end() if comma else last
    begin = layout.start(item) if item is not None else None
    found = [] if comma else [Splice(last, last, ",")]
    if begin is None or not layout.first_on_line(begin):
        joined = ", ".join(texts)
        return [*found, Splice(at, at, f" {joined},")] if comma else [Splice(last, last, f", {joined}")]
    newline, indent = layout.newline(begin), layout.indent(begin)
    ended = f",{newline}{indent}".join(texts) + ("," if comma else "")
    if layout.ends_line(at):
        below = layout.line_end(at)
        return [*found, Splice(below, below, f"{indent}{ended}{newline}")]
    return [*found, Splice(at, at, f"{newline}{indent}{ended}")]
