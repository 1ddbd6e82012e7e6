"""The guide docs/writing-a-rule-set.md as a story: the files that it writes, and the commands that it gives.

Run as a program, it puts what the commands print now in place of what the page shows.
"""

import io
import os
import re
import shlex
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, redirect_stdout
from pathlib import Path
from typing import NamedTuple

from tarebook.cli.app import run

PAGE = Path(__file__).parents[2] / "docs" / "writing-a-rule-set.md"
FINISHED = "ottersholm/2027.toml"
PROMPT = "$ tarebook "
ANSWERED = (0, 1, 3)  # exit statuses


class Block(NamedTuple):
    """A fenced block of the page, with the heading above it, and whether it is of the kind "toml" or "text"."""

    heading: str
    language: str
    text: str

    @property
    def first_line(self) -> str:
        return self.text.partition("\n")[0]

    @property
    def rest(self) -> str:
        return self.text.partition("\n")[2]

    @property
    def is_command(self) -> bool:
        return self.language == "text" and self.text.startswith(PROMPT)

    def named(self, pattern: str) -> str:
        """The name of a file in its first line, by such a pattern; "" if it has none."""
        found = re.fullmatch(pattern, self.first_line)
        return found[1] if found else ""

    @property
    def whole(self) -> str:
        return self.named(r"# (\S+\.toml): .*")

    @property
    def piece_of(self) -> str:
        return self.named(r"# a piece of (\S+)")

    @property
    def draft_of(self) -> str:
        return self.named(r"# a draft of (\S+)")


def blocks(page: str) -> list[Block]:
    found, heading = [], ""
    for match in re.finditer(r"^#+ ([^\n]*)$|^```(\w+)\n(.*?)^```$", page, flags=re.MULTILINE | re.DOTALL):
        if match[1] is not None:
            heading = match[1]
        else:
            found.append(Block(heading, match[2], match[3]))
    return found


class Piece(NamedTuple):
    """A table of a rule set, and the blank lines and notes between it and the next one."""

    table: str
    tail: str


def tables(text: str) -> dict[str, Piece]:
    """The tables of a rule set in order, each by its header and its clause or title; what stands before them by ""."""
    found: dict[str, Piece] = {}
    for part in filter(None, re.split(r"^(?=\[)", text, flags=re.MULTILINE)):
        header = part.partition("\n")[0] if part.startswith("[") else ""
        name = re.search(r"^(?:clause|title) = .*$", part, flags=re.MULTILINE) if header.startswith("[[") else None
        key = f"{header} {name[0]}" if name else header
        assert key not in found, key
        table = re.sub(r"(?:^#[^\n]*\n|\n)+\Z", "", part, flags=re.MULTILINE)
        found[key] = Piece(table, part[len(table) :])
    return found


def changed(text: str, pieces: str) -> str:
    """A rule set with tables in place of those of the same name; a new one follows the one that it stands behind."""
    result, before = tables(text), ""
    for key, (table, _) in tables(pieces).items():
        if key in result:
            result[key] = Piece(table, result[key].tail)
        else:
            order = list(result)
            place = order.index(before) + 1
            tail = result[before].tail
            result[before] = Piece(result[before].table, "\n\n")
            result = {name: result.get(name, Piece(table, tail)) for name in (*order[:place], key, *order[place:])}
        before = key
    return "".join(table + tail for table, tail in result.values())


class Told(NamedTuple):
    """A command of the page: what the page shows below it, what it prints, and its exit status."""

    command: str
    shown: str
    printed: str
    status: int


def told(page: str) -> Iterator[Told]:
    """Follow the page in the current folder: write its files as they come up, and run its commands.

    The finished rule set is there from the beginning. A draft of it holds until the next heading.
    """
    story = blocks(page)
    finished = next(block.text for block in story if block.whole == FINISHED)
    _write(FINISHED, finished)
    drafted = ""
    for block in story:
        if drafted and block.heading != drafted:
            _write(FINISHED, finished)
            drafted = ""
        if block.is_command:
            command, _, shown = block.text.partition("\n")
            output = io.StringIO()
            with redirect_stdout(output):
                status = run(shlex.split(command.removeprefix(PROMPT)))
            yield Told(command, shown, output.getvalue(), status)
        elif block.draft_of:
            drafted = block.heading
            _write(block.draft_of, changed(finished, block.rest))
        elif block.piece_of and block.piece_of != FINISHED:
            _write(block.piece_of, changed(finished, block.rest))
        elif block.whole:
            _write(block.whole, block.text)


def _write(name: str, text: str) -> None:
    Path(name).parent.mkdir(exist_ok=True)
    Path(name).write_text(text, encoding="utf-8")


@contextmanager
def _within(folder: str) -> Iterator[None]:
    before = Path.cwd()
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def renewed(page: str) -> str:
    """The page with what its commands print now."""
    with tempfile.TemporaryDirectory() as folder, _within(folder):
        for each in told(page):
            if each.status not in ANSWERED:
                raise SystemExit(f"{each.command} was not answered: status {each.status}. The page stays as it is.")
            page = page.replace(f"{each.command}\n{each.shown}```\n", f"{each.command}\n{each.printed}```\n", 1)
    return page


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
