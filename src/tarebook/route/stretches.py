"""Into which stretches the rules cut what a fact could be: values that the rules tell apart, and what lies between.

The cuts are the judge's own: every bound that a class puts on the fact, and where a limit that grows with it would
change its verdict on the builds that were judged.
"""

import datetime
from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction
from math import ceil, floor
from typing import NamedTuple, TypeVar

from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.judge.components import questions
from tarebook.judge.cutting import cut_conditions, cut_limit_forms
from tarebook.judge.limits import limit_questions
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.rules.conditions import IsOneOf
from tarebook.rules.limits import ByCase

T = TypeVar("T")
Edge = tuple[Fraction, bool]  # a figure, and whether it is itself left out


class Stretch(NamedTuple):
    """Values that come to the same.

    `values` are single ones: choices, texts, yes or no. `rest` is True for every other text. A figure lies between
    `low` and `high`, None where there is no end; a date by its day number.
    """

    values: tuple[Value, ...] = ()
    rest: bool = False
    low: Edge | None = None
    high: Edge | None = None


class Piece(NamedTuple):
    """A value that stands for all of its stretch."""

    value: Value
    stretch: Stretch


class NotedCuts(Cuts):
    """The judge's cuts, which remembers where each unknown was cut."""

    def __init__(self) -> None:
        super().__init__()
        self.figures: dict[Unknown, set[Fraction]] = {}
        self.words: dict[Unknown, set[str]] = {}

    def at(self, unknown: Unknown, values: Iterable[Fraction]) -> None:
        noted = list(values)
        self.figures.setdefault(unknown, set()).update(noted)
        super().at(unknown, noted)

    def text(self, unknown: Unknown, values: Iterable[str]) -> None:
        noted = list(values)
        self.words.setdefault(unknown, set()).update(noted)
        super().text(unknown, noted)

    def day(self, unknown: Unknown, days: Iterable[datetime.date]) -> None:
        noted = list(days)
        self.figures.setdefault(unknown, set()).update(Fraction(day.toordinal()) for day in noted)
        super().day(unknown, noted)


def note_cuts(prepared: PreparedClass, situation: Situation, confidence: float, cuts: NotedCuts) -> None:
    """Note where a class cuts the facts that are unknown. Raises TooMany."""
    cut_conditions(prepared, situation, cuts)
    cut_limit_forms(prepared, situation, cuts)
    for question in (*questions(prepared, situation), *limit_questions(prepared, situation, confidence)):
        question.cut(situation, cuts)


def pieces_of(fact: Fact, cuts: NotedCuts, classes: Sequence[PreparedClass]) -> list[Piece]:
    """One value for each stretch into which a fact is cut, in order; choices that no class tells apart are one."""
    unknown = Unknown("fact", fact.id)
    if fact.type == "yes-no":
        return [Piece(value, Stretch(values=(value,))) for value in (True, False)]
    if fact.type == "choice":
        alike: dict[object, list[str]] = {}
        for value in fact.choices:
            alike.setdefault(_told_apart(fact.id, value, classes), []).append(value)
        return [Piece(values[0], Stretch(values=tuple(values))) for values in alike.values()]
    if fact.type == "text":
        named = sorted(cuts.words.get(unknown, ()))
        return [*(Piece(each, Stretch(values=(each,))) for each in named), Piece(OTHER_TEXT, Stretch(rest=True))]
    found = cuts.figures.get(unknown, set())
    if fact.type == "date":
        return _days(found)
    if fact.type == "count":
        return _whole(found)
    return _figures(each for each in found if each > 0 or (not each and fact.type not in NEVER_NOTHING))


def _told_apart(fact: str, value: str, classes: Sequence[PreparedClass]) -> object:
    """What the classes make of one choice: in which lists it stands, and what limit it asks for."""
    tests = [test for each in classes for test, _ in each.fact_tests.get(fact, ())]
    forms = [spec.form for each in classes for spec in each.rules.limits.values()]
    return (
        tuple(value in test.values for test in tests if isinstance(test, IsOneOf)),
        tuple(dict(form.cases).get(value) for form in forms if isinstance(form, ByCase) and form.fact == fact),
    )


NEVER_NOTHING = ("volume", "power")  # a car with none of it is no car
OTHER_TEXT = "\0something else"  # no file can hold it


def _figures(cuts: Iterable[Fraction]) -> list[Piece]:
    """Each cut, and what lies between: from zero up."""
    found: list[Piece] = []
    before: Fraction | None = None
    for cut in sorted(cuts):
        if cut > 0:
            low = None if before is None else (before, True)
            found.append(Piece(_between(before or Fraction(0), cut), Stretch(low=low, high=(cut, True))))
        found.append(Piece(cut, Stretch(low=(cut, False), high=(cut, False))))
        before = cut
    last = Fraction(floor(before or 0) + 1)
    found.append(Piece(last, Stretch(low=None if before is None else (before, True))))
    return found


def _between(low: Fraction, high: Fraction) -> Fraction:
    """A figure between two, with a finite decimal form."""
    scale = 1
    while True:
        figure = Fraction(floor((low + high) / 2 * scale), scale)
        if low < figure < high:
            return figure
        scale *= 10


def _whole(cuts: Iterable[Fraction]) -> list[Piece]:
    """Stretches of whole numbers: between two cuts, and a cut that is whole by itself."""
    starts = sorted({0, *(start for cut in cuts if cut >= 0 for start in (ceil(cut), floor(cut) + 1))})
    found = []
    for start, following in zip(starts, (*starts[1:], None), strict=True):
        high = None if following is None else (Fraction(following - 1), False)
        low = None if start == 0 else (Fraction(start), False)
        found.append(Piece(Fraction(start), Stretch(low=low, high=high)))
    return found


def _days(cuts: Iterable[Fraction]) -> list[Piece]:
    """Stretches of days, each begun at a day that is noted; the first reaches back for ever."""
    starts = sorted({1, *(int(cut) for cut in cuts)})
    found = []
    for start, following in zip(starts, (*starts[1:], None), strict=True):
        high = None if following is None else (Fraction(following - 1), False)
        low = None if start == 1 else (Fraction(start), False)
        # Its last day stands for it: the days right before and right after each bound are noted too.
        last = following - 1 if following is not None else max(start, datetime.date(2100, 1, 1).toordinal())
        found.append(Piece(datetime.date.fromordinal(last), Stretch(low=low, high=high)))
    return found


def merged(found: Sequence[tuple[Piece, T]], same: Callable[[T, T], bool]) -> list[tuple[Stretch, T]]:
    """Stretches that come to the same made one: neighbours of figures and days, any of choices and texts."""
    made: list[tuple[Stretch, T]] = []
    for piece, result in found:
        stretch = piece.stretch
        single = bool(stretch.values) or stretch.rest
        for index in range(len(made) - 1, -1, -1):
            if same(made[index][1], result):
                made[index] = (_joined(made[index][0], stretch), made[index][1])
                break
            if not single:
                made.append((stretch, result))
                break
        else:
            made.append((stretch, result))
    return made


def _joined(one: Stretch, other: Stretch) -> Stretch:
    if one.values or other.values or one.rest or other.rest:
        return Stretch((*one.values, *other.values), one.rest or other.rest)
    return Stretch(low=one.low, high=other.high)
