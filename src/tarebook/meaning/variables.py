"""What a condition may depend on: one variable for each figure, event or particular, with its finitely many cases.

A figure's line is cut where some bound stands. All figures of one piece are alike to every condition, so each piece
is stood for by one figure in it.
"""

import datetime
from collections.abc import Iterable
from fractions import Fraction
from math import floor
from typing import NamedTuple

from tarebook.kinds import covers

LAST_DAY = Fraction(datetime.date.max.toordinal())
Key = tuple[str, ...]
Case = Fraction | str | bool | None
Edges = tuple[tuple[Fraction, bool], ...]


class Line(NamedTuple):
    """Which figures there are: from `first` (None: below zero too) to `last` (None: no end); perhaps whole ones."""

    first: Fraction | None = Fraction(0)
    last: Fraction | None = None
    whole: bool = False

    def pieces(self, cuts: Iterable[Fraction]) -> tuple[Fraction, ...]:
        """One figure for each cut, and one for each piece of the line between two cuts, before them and after."""
        points = sorted(set(cuts))
        if not points:
            return (self.first or Fraction(0),)
        found = [floor(points[0]) - 1 + Fraction(0) if self.first is None else self.first]
        for point, following in zip(points, (*points[1:], None), strict=True):
            found.append(point)
            if self.whole:
                found.append(Fraction(floor(point) + 1))
            else:
                found.append(point + 1 if following is None else (point + following) / 2)
        kept = (each for each in found if self._has(each))
        return tuple(dict.fromkeys(kept))

    def _has(self, figure: Fraction) -> bool:
        if self.whole and figure.denominator != 1:
            return False
        return (self.first is None or figure >= self.first) and (self.last is None or figure <= self.last)


FROM_ZERO = Line()
SIGNED = Line(first=None)
WHOLE = Line(whole=True)
SIGNED_WHOLE = Line(first=None, whole=True)
DAYS = Line(first=Fraction(1), last=LAST_DAY, whole=True)


def inside(figure: Fraction, lower: Edges, upper: Edges) -> bool:
    """Whether a figure keeps bounds, each with whether the edge itself is left out."""
    return all(figure > edge or (figure == edge and not strict) for edge, strict in lower) and all(
        figure < edge or (figure == edge and not strict) for edge, strict in upper
    )


def by_tree(kind: str) -> list[str]:
    """Sorts a branch right before what stands under it."""
    return [] if kind == "everything" else kind.split(".")


def nearest(kind: str, named: Iterable[str]) -> str | None:
    """Of some kinds, the longest that covers this one."""
    return max((each for each in named if covers(each, kind)), key=lambda each: len(by_tree(each)), default=None)
