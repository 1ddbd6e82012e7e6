"""A view of a situation: what one class reads in it, with some unknowns given a value on trial.

Answers are True, False or None, "unknown" (strong Kleene logic); each unknown met on the way is noted, so that the
caller knows what to try next.
"""

import datetime
from collections.abc import Callable
from fractions import Fraction

from tarebook.car.changes import Change
from tarebook.car.presence import Unknowns
from tarebook.fact_values import Value
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Unknown

Answer = bool | None


class View:
    """`counts` maps a fact to the factors that the class applies to it, each with its condition (now, as made)."""

    __slots__ = ("counts", "memo", "met", "situation", "trial", "work")

    def __init__(
        self,
        situation: Situation,
        counts: "dict[str, list[tuple[Fraction, Test, Test]]]",
        trial: dict[Unknown, Value],
    ) -> None:
        self.situation = situation
        self.trial = trial
        self.met: dict[Unknown, None] = {}
        self.memo: dict[object, object] = {}
        self.work = 0  # how often the situation was read
        self.counts = counts

    def ask(self, unknown: Unknown) -> Value | None:
        """The value on trial for an unknown; None, and noted, if there is none."""
        value = self.trial.get(unknown)
        if value is None:
            self.met[unknown] = None
        return value

    def stated(self, fact: str, made: bool) -> Value | None:
        """A fact as stated, for this build or as the car was made."""
        self.work += 1
        value = (self.situation.made if made else self.situation.facts).get(fact)
        return value if value is not None else self.ask(Unknown("fact", fact))

    def figure(self, fact: str, made: bool) -> Value | None:
        """A fact as this class counts it."""
        value = self.stated(fact, made)
        counts = self.counts.get(fact)
        if counts is None:
            return value
        for times, now, as_made in counts:
            holds = (as_made if made else now)(self)
            if holds is None:
                value = None
            elif holds and value is not None:
                assert isinstance(value, Fraction)
                value = value * times
        return value

    def present(self, kinds: Unknowns) -> Answer:
        """Whether all of these kinds are present."""
        self.work += 1
        answer: Answer = True
        for kind in kinds:
            value = self.ask(Unknown("kind", kind))
            if value is False:
                return False
            if value is None:
                answer = None
        return answer

    def any_present(self, alternatives: tuple[Unknowns, ...]) -> Answer:
        """Whether one of the alternatives holds."""
        answer: Answer = False
        for kinds in alternatives:
            holds = self.present(kinds)
            if holds:
                return True
            if holds is None:
                answer = None
        return answer

    def fitted(self, kind: str) -> Answer:
        return self.any_present(self.situation.fitted(kind))

    def from_factory(self, kind: str) -> Answer:
        return self.any_present(self.situation.from_factory(kind))

    def age(self, born: datetime.date) -> Fraction:
        """Whole years from a date to the day of the build."""
        on = self.situation.on
        return Fraction(on.year - born.year - ((on.month, on.day) < (born.month, born.day)))


Test = Callable[[View], Answer]
PartTest = Callable[[View, Change], Answer]


def both(one: Answer, other: Answer) -> Answer:
    """Kleene's "and"."""
    if one is False or other is False:
        return False
    return None if one is None or other is None else True
