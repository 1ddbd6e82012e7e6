"""A small sound car file and rule set, and a way to spoil them: «these marks» go round what is to be complained of.

Every car, club and class here is invented.
"""

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from tarebook.toml_source import MistakesFound

CAR = """\
format = "tarebook-car/1"

[car]
name = "Dunlin"
model_year = 1994

[facts]
seats = 4

[[scale]]
id = "bench"
resolution = "1 g"
capacity = "30 kg"

[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "4.2 kg"
scale = "bench"

[[part]]
id = "stock-seat"
kind = "interior.seat.front.driver"

[[part]]
id = "light-seat"
kind = "interior.seat.front.driver"
origin = "aftermarket"
replaces = "stock-seat"

[[weighing]]
id = "spring"
date = 2026-04-05
total = "900 kg"

[[build]]
id = "winter"
jobs = ["seat"]

[[job]]
id = "strip"
state = "done"
date = 2026-03-01
off = ["carpet"]

[[job]]
id = "seat"
state = "planned"
fit = ["light-seat"]
"""

RULES = """\
format = "tarebook-rules/1"

[book]
id = "fen-edge"
title = "Fen Edge Speed Club"
edition = "2027"
in_force = { from = 2027-01-01 }
silence = "forbids"

[[fact]]
id = "tyre_list"
type = "choice"
choices = ["a", "b"]
title = "Tyre list"

[[group]]
id = "cabin"

[[group.allow]]
clause = "5.1"
kinds = ["stowage"]
does = ["remove"]

[[class]]
id = "road"
title = "Road"
uses = ["cabin"]

[class.weight]
clause = "7.1"
driver = "out"
minimum = "900 kg"

[[class.ban]]
clause = "7.2"
kinds = ["safety"]
does = ["remove"]
"""

Edit = str | tuple[str, str]  # text for the end of the file, or a text of the file and what takes its place
Said = tuple[str, str]  # message and hint


@dataclass(frozen=True)
class Spoiled:
    """A file with mistakes: its text, and where each mistake is, in the order of the file."""

    text: str
    places: list[tuple[int, int, int]]  # line, column, length


def spoil(sound: str, *edits: Edit) -> Spoiled:
    """A sound file with edits made to it; each replaced text must stand in it just once."""
    for edit in edits:
        if isinstance(edit, str):
            sound += "\n" + edit
        else:
            old, new = edit
            assert sound.count(old) == 1, old
            sound = sound.replace(old, new)
    return unmarked(sound)


def unmarked(marked: str) -> Spoiled:
    """The text without its marks, and the places that they enclosed; marks may stand within marks."""
    text = ""
    opened: list[int] = []
    spans: list[tuple[int, int]] = []
    for character in marked:
        if character == "«":
            opened.append(len(text))
        elif character == "»":
            spans.append((opened.pop(), len(text)))
        else:
            text += character
    assert not opened
    places = []
    for start, end in sorted(spans, key=lambda span: span[0]):
        line_start = text.rfind("\n", 0, start) + 1
        assert "\n" not in text[start:end]
        places.append((text.count("\n", 0, start) + 1, start - line_start + 1, end - start))
    return Spoiled(text, places)


def mistakes_of(reader: Callable[[], object]) -> list[tuple[int, int, int, str, str]]:
    """Line, column, length, message and hint of every mistake that reading something finds."""
    with pytest.raises(MistakesFound) as found:
        reader()
    return [(each.line, each.column, each.length, each.message, each.hint) for each in found.value.mistakes]


def expected(spoiled: Spoiled, said: list[Said]) -> list[tuple[int, int, int, str, str]]:
    """What must be found: each mark with its message and hint, and these in the manner of all messages."""
    assert len(spoiled.places) == len(said)
    for sentence in (sentence for words in said for sentence in words):
        assert not sentence[:1].isupper() and not sentence.endswith("."), sentence
    return [(*place, *words) for place, words in zip(spoiled.places, said, strict=True)]
