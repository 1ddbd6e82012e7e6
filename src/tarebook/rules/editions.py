"""Which edition of a book holds on a day; gaps and overlaps between editions."""

import datetime
from collections.abc import Iterable
from typing import NamedTuple

from tarebook.rules.reading import RuleSet


class NotInForce(ValueError):
    """No edition of a book covers the day asked about, or several do; the text says which there are."""


def in_force(editions: Iterable[RuleSet], day: datetime.date, *, proposed: bool = False) -> list[RuleSet]:
    """Of each book, the edition that covers the day, with the bulletins in force then.

    With `proposed`, proposed bulletins count too. Raises NotInForce where no edition covers the day, or more than
    one; MistakesFound where a proposal does not fit.
    """
    chosen = []
    for book, known in by_book(editions).items():
        covering = [edition for edition in known if edition.covers(day)]
        if len(covering) != 1:
            raise NotInForce(_problem(book, covering, known, day))
        chosen.append(covering[0].amended(day, proposed=proposed))
    return [each.complete(chosen) for each in chosen]


def by_book(editions: Iterable[RuleSet]) -> dict[str, list[RuleSet]]:
    """The editions of each book, in the order of their days."""
    books: dict[str, list[RuleSet]] = {}
    for edition in editions:
        books.setdefault(edition.id, []).append(edition)
    return {book: sorted(known, key=_first_day) for book, known in books.items()}


def _first_day(edition: RuleSet) -> datetime.date:
    return edition.file.book.in_force.from_


def _problem(book: str, covering: list[RuleSet], known: list[RuleSet], day: datetime.date) -> str:
    if covering:
        listed = "; ".join(map(_told, covering))
        return f'book "{book}": more than one edition covers {day}. There are: {listed}.'
    nearest = sorted(known, key=lambda edition: _days_away(edition, day))[:2]
    listed = "; ".join(_told(edition) for edition in known if edition in nearest)
    words = "There are" if len(known) == len(nearest) else "The nearest are"
    return f'book "{book}": no edition covers {day}. {words}: {listed}.'


def _days_away(edition: RuleSet, day: datetime.date) -> int:
    until = edition.file.book.in_force.until
    return (_first_day(edition) - day).days if until is None or day < _first_day(edition) else (day - until).days


def _told(edition: RuleSet) -> str:
    return f"edition {edition.edition}, {edition.days()} ({edition.source.name})"


class Seam(NamedTuple):
    """A stretch of days that two editions of a book both cover, or that none covers between them."""

    gap: bool
    before: RuleSet
    after: RuleSet
    first: datetime.date
    last: datetime.date

    @property
    def sentence(self) -> str:
        days = f"{self.first}" if self.first == self.last else f"{self.first} to {self.last}"
        names = f"edition {self.before.edition} ({self.before.source.name}) and edition {self.after.edition}"
        if self.gap:
            return f"No edition covers {days}, between {names}."
        return f"Both {names} cover {days}: on such a day nobody can say which holds."


def between(editions: Iterable[RuleSet]) -> list[Seam]:
    """The gaps and overlaps between the editions of each book, in the order of their days."""
    found = []
    for known in by_book(editions).values():
        longest = known[0]
        for edition in known[1:]:
            first = _first_day(edition)
            ends = longest.file.book.in_force.until
            if ends is None or ends >= first:
                theirs = edition.file.book.in_force.until
                both = [each for each in (ends, theirs) if each is not None]
                found.append(Seam(False, longest, edition, first, min(both, default=datetime.date.max)))
            elif ends + datetime.timedelta(days=1) < first:
                day = datetime.timedelta(days=1)
                found.append(Seam(True, longest, edition, ends + day, first - day))
            theirs = edition.file.book.in_force.until
            if ends is not None and (theirs is None or theirs > ends):
                longest = edition
    return found
