"""What may be unknown about a car, and the values that stand for all that an unknown could be.

A number is cut into intervals by every bound that the class puts on it; one value from each interval, and each bound
itself, stand for all numbers. Where two unknown numbers are compared, each takes on the other's values, shifted.
"""

import datetime
import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
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
        self._alike: dict[tuple[Unknown, Unknown], None] = {}
        self._pairs: dict[tuple[Unknown, Unknown, Fraction, Fraction], None] = {}
        self._grids: dict[Unknown, tuple[frozenset[Fraction], list[Fraction]]] = {}
        self._values: dict[Unknown, tuple[Value, ...]] = {}

    def at(self, unknown: Unknown, values: Iterable[Fraction]) -> None:
        self._at.setdefault(unknown, set()).update(values)

    def text(self, unknown: Unknown, values: Iterable[str]) -> None:
        self._texts.setdefault(unknown, set()).update(values)

    def day(self, unknown: Unknown, days: Iterable[datetime.date]) -> None:
        self._days.setdefault(unknown, set()).update(days)

    def alike(self, one: Unknown, other: Unknown) -> None:
        """Two texts are compared with one another: each may be whatever the other may be."""
        self._alike[(one, other)] = None

    def pair(self, one: Unknown, other: Unknown, times: Fraction, plus: Fraction) -> None:
        """`one` is compared with `times * other + plus`."""
        self._pairs[(one, other, times, plus)] = None

    def close(self, facts: dict[str, Fact]) -> None:
        """Choose values for unknown numbers that are compared with one another, so that every way in which they can
        stand to each other is tried.

        First each takes on the bounds of the others, shifted; within such bounds no comparison turns on another. Then,
        one after another, each takes on also the chosen values of those before it. Raises TooMany.
        """
        for _ in self._alike:  # as many times as a text may have to go from one to the next
            for one, other in self._alike:
                both = self._texts.setdefault(one, set()) | self._texts.setdefault(other, set())
                self._texts[one], self._texts[other] = both, set(both)
        order = list(dict.fromkeys(unknown for one, other, _, _ in self._pairs for unknown in (one, other)))
        for (one, other, times, plus), (same, its, more, further) in itertools.combinations(self._pairs, 2):
            if (one, other) == (same, its) and times != more:
                self.at(other, [(further - plus) / (times - more)])
        for _ in range(len(order) - 1):
            before = {unknown: {Fraction(0), *self._at.get(unknown, ())} for unknown in order}
            for one, other, times, plus in self._pairs:
                self._carry(one, other, times, plus, before)
        for index, unknown in enumerate(order):
            chosen = {each: self._grids[each][1] for each in order[:index]}
            for one, other, times, plus in self._pairs:
                if unknown in (one, other):
                    self._carry(one, other, times, plus, chosen, to=unknown)
            cuts = frozenset(self._at.get(unknown, ()))
            if len(cuts) > MOST_VALUES:
                raise TooMany
            whole = unknown.sort == "fact" and facts[unknown.name].type == "count"
            inner = 2 if index < len(order) - 1 else 1
            values = _whole_numbers(cuts) if whole else _spread(cuts, inner, signed=_is_place(unknown))
            self._grids[unknown] = (cuts, values)

    def _carry(
        self,
        one: Unknown,
        other: Unknown,
        times: Fraction,
        plus: Fraction,
        values: Mapping[Unknown, Iterable[Fraction]],
        to: Unknown | None = None,
    ) -> None:
        """What `values` of one side of a comparison are on the other side."""
        if to in (None, one):
            self.at(one, (times * each + plus for each in values.get(other, ())))
        if times and to in (None, other):
            self.at(other, ((each - plus) / times for each in values.get(one, ())))
        if any(len(self._at.get(each, ())) > 4 * MOST_VALUES for each in (one, other)):
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
        if unknown in self._grids:
            cuts, values = self._grids[unknown]
            later = self._at.get(unknown, set()) - cuts
            return sorted({*values, *self._plainly(unknown, facts)}) if later else values
        return self._plainly(unknown, facts)

    def _plainly(self, unknown: Unknown, facts: dict[str, Fact]) -> Sequence[Value]:
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
        if _is_place(unknown) and unknown in self._at:
            return _spread(self._at[unknown], 1, signed=True)
        if unknown.sort == "fact" or unknown in self._at:
            return _spread(self._at.get(unknown, set()), 1, signed=False)
        return (False, True)


def _is_place(unknown: Unknown) -> bool:
    """A place along the car may lie ahead of the front axle, below zero."""
    return unknown.sort == "part" and unknown.name.endswith("at")


def _spread(cuts: Iterable[Fraction], inner: int, *, signed: bool) -> list[Fraction]:
    """Each cut, so many values between each two, and as many beyond the last; from zero up, unless signed."""
    ordered = sorted({Fraction(0), *(cut for cut in cuts if signed or cut > 0)})
    found = [*ordered, *(ordered[-1] + each + 1 for each in range(inner))]
    for low, high in itertools.pairwise(ordered):
        found.extend(low + (high - low) * (each + 1) / (inner + 1) for each in range(inner))
    if signed:
        found.append(ordered[0] - 1)
    return sorted(found)


def _whole_numbers(cuts: Iterable[Fraction]) -> list[Fraction]:
    found = {0}
    for cut in cuts:
        low = math.floor(cut)
        found.update(value for value in (low - 1, low, low + 1, low + 2) if value >= 0)
    return [Fraction(value) for value in sorted(found)]
