"""What a new edition changes, and what it does to a car: the question asked of whole rule sets."""

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tarebook.car.reading import Car
from tarebook.checking import Rules, settle
from tarebook.revise.comparing import Change, compare_books
from tarebook.revise.effects import Days, Effect, effects
from tarebook.rules.reading import RuleSet


@dataclass(frozen=True, slots=True)
class BookPair:
    """A book in its two editions; None where only one side has it."""

    old: RuleSet | None
    new: RuleSet | None

    @property
    def either(self) -> RuleSet:
        found = self.new or self.old
        assert found is not None
        return found


@dataclass(frozen=True, slots=True)
class Revision:
    """The answer: the books compared, all changes of the rules, and their effects on the car if one was given."""

    books: tuple[BookPair, ...]
    changes: tuple[Change, ...]
    effects: tuple[Effect, ...]
    car: Car | None
    builds: tuple[str, ...]


def revise(
    old: Rules,
    new: Rules,
    *,
    car: Car | None = None,
    builds: Sequence[str] = ("now", "planned"),
    on: Days | tuple[Days, Days] | None = None,
) -> Revision:
    """Compare editions of one book or of several, and judge builds of a car by both.

    Rules are compared by what they mean: units, order, numbering and words that decide nothing are no change, but
    for a clause that stands elsewhere. `old` and `new` have one edition of a book each; a book of one side only is
    wholly new or gone. Masses are in kg. `on` is the day on which the car is judged, by its builds if they have days
    of their own, or a pair of such: for `old` and for `new`; today unless given. The editions' own days are left
    aside.

    Raises:
        MistakesFound: the car does not fit the rule sets.
        KeyError: the car has no such build.
        ValueError: one side has two editions of one book.
    """
    before, after = _by_id(old), _by_id(new)
    pairs = tuple(BookPair(before.get(book), after.get(book)) for book in dict.fromkeys((*after, *before)))
    on_old, on_new = on if isinstance(on, tuple) else (on, on)
    today = datetime.date.today()
    changes: list[Change] = []
    found: list[Effect] = []
    adopted = settle(car, dict.fromkeys((*before.values(), *after.values()))) if car is not None else ()
    for pair in pairs:
        compared = compare_books(pair.old, pair.new)
        changes.extend(compared.changes)
        if car is not None:
            days = (today if on_old is None else on_old, today if on_new is None else on_new)
            found.extend(effects(car, pair.old, pair.new, builds, *days, compared.renamed, adopted))
    return Revision(pairs, tuple(changes), tuple(found), car, tuple(builds))


def _by_id(rules: Rules) -> dict[str, RuleSet]:
    editions: Iterable[RuleSet] = [rules] if isinstance(rules, RuleSet) else rules
    found: dict[str, RuleSet] = {}
    for edition in editions:
        if edition.id in found:
            raise ValueError(f'book "{edition.id}" is there in two editions: compare one with one')
        found[edition.id] = edition
    return found
