"""An edit that is checked: the new text says what the old one said and the change, and is a sound car file."""

from __future__ import annotations

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from tarebook.car.editing.changes import Change, Splice
from tarebook.car.editing.layout import Layout
from tarebook.car.editing.refusals import EditRefused
from tarebook.car.reading import Car, car_from
from tarebook.toml_source import MistakesFound, Source, parse_source
from tarebook.toml_source.locate import Path

_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True)
class Edited:
    """A car file as it was and as it will be.

    `car` is the file as it will be, `paths` where each change stands in it: the first of its values.
    """

    before: Source
    after: Source
    car: Car
    paths: tuple[Path, ...]

    @property
    def lines(self) -> tuple[int, ...]:
        """The line of the new text on which each change begins."""
        return tuple(self.after.line(path) for path in self.paths)


def edited(source: Source, changes: Sequence[Change]) -> Edited:
    """Make the changes, one after another, in the text of a car file that is sound. Nothing is written.

    Raises EditRefused if a change cannot be made without touching something else; MistakesFound if the file would
    have mistakes afterwards, each with its place in the text as it would be.
    """
    name, data, text = source.name, deepcopy(source.data), source.text
    mark = _BOM if source.content.startswith(_BOM) else b""
    paths = []
    after = source
    for change in changes:
        spliced = _spliced(text, change.splices(data, Layout(text)))
        paths.append(change.applied(data))
        try:
            after = parse_source(mark + spliced.encode(), name)
        except MistakesFound as found:
            raise _as_it_would_be(found) from None
        if not same(after.data, data):
            raise EditRefused(f"{name} is written in a way that this change does not fit into: change it by hand.")
        text = spliced
    try:
        car = car_from(after)
    except MistakesFound as found:
        raise _as_it_would_be(found) from None
    return Edited(source, after, car, tuple(paths))


def _spliced(text: str, splices: list[Splice]) -> str:
    pieces: list[str] = []
    done = 0
    for splice in sorted(splices, key=lambda each: each.start):  # a stable sort: those at one place keep their order
        pieces += text[done : splice.start], splice.text
        done = splice.end
    return "".join([*pieces, text[done:]])


def same(one: Any, other: Any) -> bool:
    """Whether two values of a file's data are alike in type and digits too: 1.50 is not 1.5, and 1 is not true."""
    if type(one) is not type(other):
        return False
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, Decimal):
        return str(one) == str(other)
    return bool(one == other)


def _as_it_would_be(found: MistakesFound) -> MistakesFound:
    return MistakesFound(replace(each, file=f"{each.file} (with the change)") for each in found.mistakes)
