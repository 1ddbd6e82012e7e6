"""What may be unknown about a car, and the values that stand for all that an unknown could be.

A number is cut into intervals by every bound that the class puts on it; one value from each interval, and each bound
itself, stand for all numbers. Where two unknown numbers are compared, each takes on the other's values, shifted.
"""

import datetime
import itertools
import math
from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.judge.decision_diagrams import TooMany

Sort = Literal["fact", "kind", "part"]
OTHER = ("\0another", "\0yet another")  # two texts that no file can hold
MOST_VALUES = 400


class Unknown(NamedTuple):
    """A fact, the presence of a kind, or a particular of a part (`name` is "PART.material"; `detail` tells
    several yes-or-no questions about one particular apart)."""

    sort: Sort
    name: str
    detail: str = ""


class Cuts:
    """The values at which something changes, by unknown, gathered before values are chosen."""

    def __init__(self) -> None:
        self._at: dict[Unknown, set[Fraction]] = {}
        self._texts: dict[Unknown, set[str]] = {}
        self._days: dict[Unknown, set[datetime.date]] = {}
        self._pairs: dict[tuple[Unknown, Unknown, Fraction, Fraction], None] = {}
        self._values: dict[Unknown, tuple[Value, ...]] = {}

    def at(self, unknown: Unknown, values: Iterable[Fraction]) -> None:
        self._at.setdefault(unknown, set()).update(values)

    def text(self, unknown: Unknown, values: Iterable[str]) -> None:
        self._texts.setdefault(unknown, set()).update(values)

    def day(self, unknown: Unknown, days: Iterable[datetime.date]) -> None:
        self._days.setdefault(unknown, set()).update(days)

    def pair(self, one: Unknown, other: Unknown, times: Fraction, plus: Fraction) -> None:
        """`one` is compared with `times * other + plus`."""
        self._pairs[(one, other, times, plus)] = None

    def close(self, facts: dict[str, Fact]) -> None:
        """Carry values over between unknown numbers that are compared with each other.

        As many rounds as there are such numbers carry a value along the longest way from one to another. Raises
        TooMany where that gives more values than can be tried.
        """

        def numbers(unknown: Unknown) -> list[Fraction]:
            whole = unknown.sort == "fact" and facts[unknown.name].type == "count"
            cuts = self._at.get(unknown, set())
            return _whole_numbers(cuts) if whole else _numbers(cuts)

        for _ in range(len({unknown for one, other, _, _ in self._pairs for unknown in (one, other)})):
            for one, other, times, plus in self._pairs:
                there, here = numbers(other), numbers(one)
                self.at(one, (times * each + plus for each in there))
                if times:
                    self.at(other, ((each - plus) / times for each in here))
                if len(self._at[one]) > MOST_VALUES or len(self._at.get(other, ())) > MOST_VALUES:
                    raise TooMany

    def values(self, unknown: Unknown, facts: dict[str, Fact]) -> tuple[Value, ...]:
        """Values that stand for all that the unknown could be."""
        if unknown not in self._values:
            self._values[unknown] = tuple(self._choose(unknown, facts))
        return self._values[unknown]

    def provisional(self, unknown: Unknown, facts: dict[str, Fact]) -> Sequence[Value]:
        """As `values`, by the cuts noted so far."""
        return self._choose(unknown, facts)

    def _choose(self, unknown: Unknown, facts: dict[str, Fact]) -> Sequence[Value]:
        if unknown.sort == "fact":
            fact = facts[unknown.name]
            if fact.type == "choice":
                return fact.choices
            if fact.type == "yes-no":
                return (False, True)
            if fact.type == "date":
                return sorted(self._days.get(unknown, ())) or [datetime.date(2000, 1, 1)]
            if fact.type == "count":
                return _whole_numbers(self._at.get(unknown, set()))
        if unknown in self._texts or (unknown.sort == "fact" and facts[unknown.name].type == "text"):
            return (*sorted(self._texts.get(unknown, ())), *OTHER)
        if unknown.sort == "part" and unknown.name.endswith("at") and unknown in self._at:
            return _places(self._at[unknown])
        if unknown.sort == "fact" or unknown in self._at:
            return _numbers(self._at.get(unknown, set()))
        return (False, True)


def _numbers(cuts: set[Fraction]) -> list[Fraction]:
    """Each cut, a value between each two, and one beyond the last: all from zero up."""
    ordered = sorted({Fraction(0), *(cut for cut in cuts if cut > 0)})
    return sorted([*ordered, *_between(ordered), ordered[-1] * 2 + 1])


def _places(cuts: set[Fraction]) -> list[Fraction]:
    """As `_numbers`, but a place may also lie ahead of the front axle, below zero."""
    ordered = sorted({Fraction(0), *cuts})
    return [ordered[0] - 1, *sorted([*ordered, *_between(ordered)]), ordered[-1] + 1]


def _between(ordered: list[Fraction]) -> list[Fraction]:
    return [(low + high) / 2 for low, high in itertools.pairwise(ordered)]


def _whole_numbers(cuts: set[Fraction]) -> list[Fraction]:
    found = {0}
    for cut in cuts:
        low = math.floor(cut)
        found.update(value for value in (low - 1, low, low + 1, low + 2) if value >= 0)
    return [Fraction(value) for value in sorted(found)]
