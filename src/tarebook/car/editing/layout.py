"""How a file is laid out: its headers, line endings, blank lines, and the way its keys are written."""

from __future__ import annotations

import re
from collections import Counter
from typing import Any, NamedTuple

from tarebook.car.editing.toml_text import key_text, value_text
from tarebook.toml_source.locate import Path, Places, locate

WIDEST = 110  # characters of a line, beyond which a list or a small table is spread over several
_SAMPLE = 20  # headers that are looked at to learn the habits of a file

_REST = re.compile(r"[ \t]*+(?:#[^\n]*+)?+\r?(?:\n|\Z)")  # of a line behind its last value
_COMMENT = re.compile(r"[ \t]*+#[^\n]*+(?:\n|\Z)")
_HEADER = re.compile(r"[ \t]*\[")


class KeyStyle(NamedTuple):
    """How the keys of a table are written."""

    indent: str = ""
    separator: str = " = "
    column: int | None = None  # of the equals sign behind the indent, where they stand in a column

    def statement(self, key: str, text: str) -> str:
        """`key = value`, without a line end."""
        name = key_text(key)
        if self.column is not None and len(name) < self.column:
            after = self.separator[self.separator.index("=") + 1 :]
            return f"{self.indent}{name.ljust(self.column)}={after}{text}"
        return f"{self.indent}{name}{self.separator}{text}"


class Layout:
    """The text of a file and where everything in it stands."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.places: Places = locate(text)
        self.headers: dict[int, Path] = {}  # where a header begins: the table that it begins
        for path, span in self.places.values.items():
            if text[span.start] == "[" and self.places.keys[path].start > span.start:
                known = self.headers.get(span.start, ())
                self.headers[span.start] = path if len(path) > len(known) else known

    def start(self, path: Path) -> int:
        """Where the value at a path begins."""
        return self.places.values[path].start

    def end(self, path: Path) -> int:
        """Where the value at a path ends."""
        return self.places.values[path].end

    def has_header(self, path: Path) -> bool:
        """Whether the table at a path has a header of its own."""
        span = self.places.values.get(path)
        return span is not None and self.headers.get(span.start) == path

    def body_end(self, header: int) -> int:
        """Where the last statement ends below the header that begins there, or the header itself."""
        after = min((start for start in self.headers if start > header), default=len(self.text))
        return max(span.end for span in self.places.values.values() if header <= span.start < after)

    def entry_end(self, path: Path) -> int:
        """Where the last statement ends of a table with a header, tables within it included."""
        size = len(path)
        ends = [self.end(path)]
        for header, of in self.headers.items():
            if of[:size] == path:
                ends.append(self.body_end(header))
        return max(ends)

    def line_end(self, offset: int) -> int:
        """Just past the end of the line on which an offset stands."""
        found = self.text.find("\n", offset)
        return len(self.text) if found < 0 else found + 1

    def below(self, offset: int) -> int:
        """Where a line may be put in after the statement that ends at an offset.

        Comments that follow it line upon line go with it, unless they stand right above a header.
        """
        first = pos = self.line_end(offset)
        while found := _COMMENT.match(self.text, pos):
            pos = found.end()
        return first if _HEADER.match(self.text, pos) else pos

    def newline(self, offset: int) -> str:
        """The line ending that the file uses nearest above an offset, or else below it."""
        found = self.text.rfind("\n", 0, offset)
        if found < 0:
            found = self.text.find("\n", offset)
        return "\r\n" if found > 0 and self.text[found - 1] == "\r" else "\n"

    def indent(self, offset: int) -> str:
        """The blanks before an offset, from the start of its line; "" where something else stands before it."""
        start = self.text.rfind("\n", 0, offset) + 1
        before = self.text[start:offset]
        return "" if before.strip(" \t") else before

    def first_on_line(self, offset: int) -> bool:
        """Whether nothing but blanks stands before an offset on its line."""
        start = self.text.rfind("\n", 0, offset) + 1
        return not self.text[start:offset].strip(" \t")

    def ends_line(self, offset: int) -> bool:
        """Whether nothing but a comment stands behind an offset on its line."""
        return _REST.match(self.text, offset) is not None

    def blank_lines(self, table: str) -> int:
        """How many blank lines stand above the headers of a table's entries; else above those of any table."""
        tops = {start: path for start, path in self.headers.items() if len(path) - isinstance(path[-1], int) == 1}
        own = [start for start, path in tops.items() if path[0] == table and path[-1] != 0]
        lines = self.text.split("\n")
        for starts in (own, [*tops]):
            counts = [_blank_above(lines, self.places.values[self.headers[start]].line) for start in starts[-_SAMPLE:]]
            if found := Counter(count for count in counts if count is not None):
                return found.most_common(1)[0][0]
        return 1

    def key_style(self, header: int | None) -> KeyStyle:
        """How the keys below a header are written; below any header, if there is none or it has no keys."""
        chosen = [header] if header is not None and self._keys(header) else list(self.headers)[-_SAMPLE:]
        keys = [each for start in chosen for each in self._keys(start)]
        if not keys:
            return KeyStyle()
        indent = Counter(indent for indent, _, _ in keys).most_common(1)[0][0]
        separator = Counter(separator for _, _, separator in keys).most_common(1)[0][0]
        columns = {length + separator.index("=") for _, length, separator in keys}
        aligned = len(columns) == 1 and len({length for _, length, _ in keys}) > 1
        return KeyStyle(indent, separator, columns.pop() if aligned else None)

    def _keys(self, header: int) -> list[tuple[str, int, str]]:
        """The keys of a table below its header: indent, length, and what stands between key and value."""
        path = self.headers[header]
        size = len(path)
        found = []
        for each, span in self.places.keys.items():
            value = self.places.values[each]
            if len(each) == size + 1 and each[:size] == path and header < span.start and span.end < value.start:
                found.append((self.indent(span.start), span.end - span.start, self.text[span.end : value.start]))
        return found


def _blank_above(lines: list[str], line: int) -> int | None:
    """The blank lines above a header on a line and the comments right above it; None at the top of the file."""
    above = line - 2
    while above >= 0 and lines[above].lstrip().startswith("#"):
        above -= 1
    last = above
    while above >= 0 and not lines[above].strip():
        above -= 1
    return last - above if above >= 0 else None


def spread(style: KeyStyle, key: str, value: Any, newline: str) -> str:
    """`key = value`; a long list is spread over several lines."""
    line = style.statement(key, value_text(value))
    if len(line) <= WIDEST or not isinstance(value, list) or len(value) < 2:
        return line
    inner = "".join(f"{style.indent}    {value_text(each)},{newline}" for each in value)
    return style.statement(key, f"[{newline}{inner}{style.indent}]")
