"""By which text an example is judged: the one that is proofread, or that of the day which the example states."""

import datetime
from collections.abc import Iterable
from typing import NamedTuple

from tarebook.judge.wording import listed
from tarebook.rules.models import Example
from tarebook.rules.reading import RuleSet


class TextOfDay(NamedTuple):
    """An edition as it holds on a day, complete with what it has from other books, and that day."""

    rules: RuleSet
    day: datetime.date

    @property
    def words(self) -> str:
        """ "as printed", or "with bulletins 1 and 2"."""
        numbers = [each.number for each in self.rules.bulletins]
        return f"with bulletin{'s' * (len(numbers) > 1)} {listed(numbers)}" if numbers else "as printed"


class Texts:
    """The texts of one edition.

    An example that states a day tells of that day alone: the edition with the bulletins then in force judges it,
    whatever text is proofread. One that states none is to hold on every day, so the text that is proofread judges it.
    """

    def __init__(
        self, rules: RuleSet, *, on: datetime.date | None, others: Iterable[RuleSet], proposed: bool = False
    ) -> None:
        self.asked = TextOfDay(rules, on or rules.file.book.in_force.from_)
        self._others = list(others)
        self._proposed = proposed

    def of(self, example: Example) -> TextOfDay:
        """The text for an example. Raises MistakesFound where another book, or a proposal, does not fit on its day."""
        if example.on is None:
            return self.asked
        printed = self.asked.rules.edition_as_printed
        return TextOfDay(self._complete(printed.amended(example.on, proposed=self._proposed), example.on), example.on)

    @property
    def printed(self) -> TextOfDay:
        """The edition without any bulletin, on the day asked about. Raises MistakesFound as `of` does."""
        return TextOfDay(self._complete(self.asked.rules.edition_as_printed, self.asked.day), self.asked.day)

    def _complete(self, rules: RuleSet, day: datetime.date) -> RuleSet:
        return rules.complete(each.amended(day, proposed=self._proposed) for each in self._others if each.covers(day))
