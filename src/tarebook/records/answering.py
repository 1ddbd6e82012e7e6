"""Judges every build against every class, also where some book has no edition for the day."""

import datetime
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from tarebook.car.reading import Car
from tarebook.checking import settle
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.judging import judge
from tarebook.judge.prepared import PreparedBook
from tarebook.records.differences import GONE, NO_EDITION, State
from tarebook.records.record import KeptRow
from tarebook.rules.editions import NotInForce, by_book, in_force
from tarebook.rules.reading import RuleSet
from tarebook.toml_source import Source
from tarebook.weight.ledger import Ledger

Key = tuple[str, str, str]  # book, class, build


class Answers(NamedTuple):
    """The answers by book, class and build; and the books that have no edition for the day of a build."""

    rows: dict[Key, KeptRow]
    without_edition: frozenset[tuple[str, str]]

    def state(self, key: Key) -> State:
        """The answer, or why there is none."""
        book, _, build = key
        return self.rows.get(key) or (NO_EDITION if (book, build) in self.without_edition else GONE)


def answers(
    car: Car,
    editions: Iterable[RuleSet],
    days: Mapping[str, datetime.date],
    *,
    proposed: bool = False,
    one_each: bool = True,
) -> Answers:
    """Judge the builds of `days` that the car has, each on its day.

    With `one_each`, two editions of a book on one day are an error, otherwise as good as none.

    Raises MistakesFound and NotInForce as `check` does, but not for a day that no edition covers.
    """
    known = list(editions)
    adopted = settle(car, known)
    ledger = Ledger(car.inventory)
    rows: dict[Key, KeptRow] = {}
    without: set[tuple[str, str]] = set()
    of_car = frozenset(car.inventory.build_names())
    builds = [build for build in days if build in of_car]
    for book, of_book in by_book(known).items():
        judging: dict[RuleSet, list[str]] = {}
        for build in builds:
            edition = _edition(of_book, days[build], proposed, one_each)
            if edition is None:
                without.add((book, build))
            else:
                judging.setdefault(edition, []).append(build)
        for edition, its_builds in judging.items():
            before = CarBeforeBook(car, edition, adopted, ledger)
            situations = [before.situation(build, days[build]) for build in its_builds]
            prepared = PreparedBook(edition)
            for class_id in edition.class_ids:
                for situation in situations:
                    row = KeptRow.of(judge(prepared.prepare(class_id), situation))
                    rows[row.key] = row
    return Answers(rows, frozenset(without))


def _edition(editions: list[RuleSet], day: datetime.date, proposed: bool, one_each: bool) -> RuleSet | None:
    if not any(edition.covers(day) for edition in editions):
        return None
    try:
        (edition,) = in_force(editions, day, proposed=proposed)
    except NotInForce:
        if one_each:
            raise
        return None
    return edition


def rule_sources(editions: Iterable[RuleSet]) -> tuple[Source, ...]:
    """The files that rule sets were read from: each edition, and the bulletins that amend it."""
    found: dict[Source, None] = {}
    for edition in editions:
        found[edition.source] = None
        found.update((bulletin.source, None) for bulletin in edition.bulletins_known)
    return tuple(found)
