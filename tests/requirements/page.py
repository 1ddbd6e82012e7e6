"""The table of requirements on docs/rule-sets.md, and the example that the page gives for each of its rows."""

import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

PAGE = Path(__file__).parents[2] / "docs" / "rule-sets.md"
HEADER = "| requirement | keys | example |"


class Row(NamedTuple):
    """A row of the table: the requirement in words, the keys that it names, the heading that it leads to."""

    requirement: str
    keys: tuple[str, ...]
    heading: str


class Fragment(NamedTuple):
    """An example of the page: the heading above it, the requirement that its second line names, its text."""

    heading: str
    requirement: str
    text: str


@cache
def rows() -> tuple[Row, ...]:
    lines = PAGE.read_text(encoding="utf-8").split("\n")
    found = []
    for line in lines[lines.index(HEADER) + 2 :]:
        if not line.startswith("|"):
            break
        requirement, keys, link = line.strip("| ").split(" | ")
        leads_to = re.fullmatch(r"\[(.*)\]\(#.*\)", link)
        assert leads_to, line
        found.append(Row(requirement, tuple(re.findall(r"`([^`]+)`", keys)), leads_to[1]))
    return tuple(found)


@cache
def fragments() -> tuple[Fragment, ...]:
    """Every example below the table."""
    below = PAGE.read_text(encoding="utf-8").partition(HEADER)[2]
    found = []
    for part in re.split(r"^### ", below, flags=re.MULTILINE)[1:]:
        heading = part.partition("\n")[0]
        for text in re.findall(r"^```toml\n(.*?)^```$", part, flags=re.MULTILINE | re.DOTALL):
            first, second = text.split("\n")[:2]
            assert first == "# part of a rule set" and second.startswith("# "), f"{heading}: {first}"
            found.append(Fragment(heading, second.removeprefix("# "), text))
    return tuple(found)


def fragment(requirement: str) -> Fragment:
    """The one example of a requirement."""
    (only,) = [each for each in fragments() if each.requirement == requirement]
    return only
