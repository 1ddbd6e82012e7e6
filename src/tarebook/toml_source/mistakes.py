"""Mistakes in a file as data, and the plain text that shows one to a reader."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

_WIDTH = 110  # characters of a source line that are shown
_LEAD = 40  # of these, before the mark
_UNSAFE = frozenset({"Cc", "Cf", "Zl", "Zp", "Cs"})


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing that is wrong in one place of a file.

    Line and column count from 1, the column in characters. `length` is how many characters of the
    line to mark: at least 1, and never past the end of the line unless the line is empty. `path` is
    the place in the file's data, where it has data; `what` is the sort of mistake in a word or two.
    """

    message: str
    hint: str
    file: str
    line: int
    column: int
    length: int
    source_line: str
    path: tuple[str | int, ...] | None = field(default=None, compare=False)
    what: str = field(default="mistake", compare=False)


class MistakesFound(Exception):
    """A file cannot be used; `mistakes` holds why, sorted by file, line and column."""

    mistakes: tuple[Mistake, ...]

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        self.mistakes = tuple(sorted(mistakes, key=lambda m: (m.file, m.line, m.column)))
        super().__init__(self.mistakes)

    def __str__(self) -> str:
        return "\n".join(_headline(m) + (f" ({show_plain(m.hint)})" if m.hint else "") for m in self.mistakes)


def mistake_at(text: str, start: int, end: int, message: str, hint: str = "", *, file: str) -> Mistake:
    """The mistake at the character offsets `start` to `end` of a text.

    The end of a line marks its last character, the end of the text the last one that is not blank,
    and a place of several lines the rest of its first line.
    """
    if start >= len(text):
        end = len(text.rstrip(" \t\r\n"))
        start = max(0, end - 1)
    line_start = text.rfind("\n", 0, start) + 1
    line_end = text.find("\n", start)
    line = text[line_start:] if line_end < 0 else text[line_start:line_end].removesuffix("\r")
    column = max(1, min(start - line_start + 1, len(line)))
    length = max(1, min(end - start, len(line) - column + 1))
    return Mistake(message, hint, file, text.count("\n", 0, line_start) + 1, column, length, line)


def render(mistake: Mistake) -> str:
    """Where and what, the line with the place marked, and the hint: up to four lines of text.

    Control characters are made visible. A mistake without a source line shows no mark.
    """
    shown = [_headline(mistake)]
    if mistake.source_line:
        shown += (f"  {part}" for part in _excerpt(mistake))
    if mistake.hint:
        shown.append(f"  {show_plain(mistake.hint)}")
    return "\n".join(shown)


def show_plain(text: str) -> str:
    """The text with every control, format, separator and surrogate character spelled out.

    A terminal would act on these instead of showing them: ESC becomes `\\x1b`, a line end `\\n`.
    """
    if text.isprintable():
        return text
    from unicodedata import category

    return "".join(c.encode("unicode_escape").decode() if category(c) in _UNSAFE else c for c in text)


def _headline(mistake: Mistake) -> str:
    place = f"{mistake.file}:{mistake.line}:{mistake.column}"
    return show_plain(f"{place}: {mistake.message}")


def _excerpt(mistake: Mistake) -> tuple[str, str]:
    """The source line, cut around the mark, and the line of marks below it."""
    line = mistake.source_line
    first = mistake.column - 1
    low = max(0, min(first - _LEAD, len(line) - _WIDTH))
    high = min(len(line), low + _WIDTH)
    cells = [" " if c == "\t" else show_plain(c) for c in line[low:high]]
    # Characters that were spelled out take more room than they had. What follows the mark goes
    # first, then what precedes it, then its own end.
    while sum(map(len, cells)) > _WIDTH and len(cells) > 1:
        if high <= first + mistake.length and low < first:
            del cells[0]
            low += 1
        else:
            del cells[-1]
            high -= 1
    before = ("…" if low else "") + "".join(cells[: first - low])
    marked = "".join(cells[first - low : first - low + mistake.length])
    after = "".join(cells[first - low + mistake.length :]) + ("…" if high < len(line) else "")
    return before + marked + after, " " * _columns(before) + "^" * max(1, _columns(marked))


def _columns(text: str) -> int:
    """How many columns of a terminal the text takes."""
    if text.isascii():
        return len(text)
    from unicodedata import category, east_asian_width

    return sum(0 if category(c) in ("Mn", "Me") else 2 if east_asian_width(c) in "WF" else 1 for c in text)
