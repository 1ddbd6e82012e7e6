"""A car before its rule sets: check builds against classes, find a class, set one build before one class."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from tarebook.car.reading import Car, load_car
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import BookUsed, BulletinUsed, Receipt, Report, Row
from tarebook.judge.judging import CONFIDENCE, judge
from tarebook.judge.prepared import PreparedBook, PreparedClass, prepare_class
from tarebook.judge.situation import Situation
from tarebook.kinds import Kind
from tarebook.rules.editions import NotInForce, in_force
from tarebook.rules.reading import RuleSet, load_rules
from tarebook.toml_source import MistakesFound
from tarebook.version import __version__
from tarebook.weight.ledger import Ledger, Weighed

if TYPE_CHECKING:
    from tarebook.route.answering import Answer
    from tarebook.route.demands import Demands
    from tarebook.route.removals import Removal
    from tarebook.rules.bulletins import Bulletin


class AmbiguousClass(ValueError):
    """Several books have a class of that name; the text says how to name one."""


REPORT_FORMAT = "tarebook-report/1"
Rules = RuleSet | Iterable[RuleSet]


def check(
    car: Car,
    rules: Rules,
    *,
    on: datetime.date | Mapping[str, datetime.date],
    build: str | Sequence[str] = "now",
    classes: Sequence[str] = (),
    confidence: float = CONFIDENCE,
    proposed: bool = False,
) -> Report:
    """Judge builds of a car against every class, or the named classes, of the editions in force on a day.

    A class is named by itself or with its book, as in "harrow-hills/street-trim".

    A build is "now" (jobs done), "planned" (done and planned jobs) or one of the car file's own. `on` is the day for
    all of them, or a day for each by its name. Masses in the report are in kg. `confidence` is the chance of keeping
    each limit that "eligible" asks for. Bulletins count that are in force on the day; with `proposed`, proposals too.

    Raises:
        MistakesFound: the car names a kind or fact that neither it nor the rule sets declare, or states a value
            that does not fit a book's own fact.
        NotInForce: no edition of a book, or more than one, covers a day.
        KeyError: the car has no such build, or the rule sets no such class.
    """
    editions = [rules] if isinstance(rules, RuleSet) else list(rules)
    known = {name for edition in editions for class_id in edition.class_ids for name in _names(edition, class_id)}
    for class_id in classes:
        if class_id not in known:
            raise KeyError(class_id)
    adopted = settle(car, editions)
    builds = [build] if isinstance(build, str) else list(build)
    days = {name: on[name] if isinstance(on, Mapping) else on for name in builds}
    texts: dict[RuleSet, list[str]] = {}  # each edition as it holds on some of the days, with the builds judged by it
    for name in builds:
        for text in in_force(editions, days[name], proposed=proposed):
            texts.setdefault(text, []).append(name)
    ledger = Ledger(car.inventory)
    rows: list[Row] = []
    alone: dict[str, float | None] = {}
    for text, names in texts.items():
        before = CarBeforeBook(car, text, adopted, ledger)
        situations = [before.situation(name, days[name]) for name in names]
        for situation in situations:
            mass = ledger.mass(situation.configuration, Weighed()).mass
            alone[situation.configuration.name] = None if mass is None else float(mass.value)
        book = PreparedBook(text)
        wanted = [each for each in text.class_ids if not classes or not _names(text, each).isdisjoint(classes)]
        chosen = [book.prepare(class_id) for class_id in wanted]
        found = [judge(each, situation, confidence=confidence) for each in chosen for situation in situations]
        if text.bulletins:
            _attribute(found, text, CarAndDays(car, adopted, ledger, days), confidence)
        rows += found
    return Report(receipt(car, texts), rows, alone)


def _names(rules: RuleSet, class_id: str) -> set[str]:
    """What a class may be called: by itself, or with its book."""
    return {class_id, f"{rules.id}/{class_id}"}


class CarAndDays(NamedTuple):
    """A car, the kinds that other books add, its ledger, and the day of each build."""

    car: Car
    adopted: tuple[Kind, ...]
    ledger: Ledger
    days: Mapping[str, datetime.date]


def _attribute(rows: list[Row], text: RuleSet, asked: CarAndDays, confidence: float) -> None:
    """Note on each row the bulletins without which it would read otherwise."""
    for bulletin in text.bulletins:
        without = _without(text, bulletin)
        before = CarBeforeBook(asked.car, without, asked.adopted, asked.ledger)
        book = PreparedBook(without)
        prepared = {name: book.prepare(name) for name in {row.class_id for row in rows} & set(without.class_ids)}
        for row in rows:
            verdict = None
            if row.class_id in prepared:
                situation = before.situation(row.build, asked.days[row.build])
                other = judge(prepared[row.class_id], situation, confidence=confidence)
                if _told(other) == _told(row):
                    continue
                verdict = other.verdict
            row.without = (*row.without, (bulletin.number, verdict))


def _without(text: RuleSet, bulletin: "Bulletin") -> RuleSet:
    """The edition with its other bulletins; those that no longer fit without this one are left out too."""
    found = text.edition_as_printed
    for each in text.bulletins:
        if each is not bulletin:
            with suppress(MistakesFound):
                found = text.edition_as_printed.with_bulletins((*found.bulletins, each))
    return found


def _told(row: Row) -> object:
    """What a row says, but for where it is written."""
    findings = [(each.result, each.clauses, each.part, each.does, each.sentence) for each in row.findings]
    return row.verdict, row.facts_to_find, [limit._replace(path=()) for limit in row.limits], findings


def removals(
    car: Car, rules: Rules, class_id: str, *, on: datetime.date, build: str = "now", proposed: bool = False
) -> "list[Removal]":
    """What may come out of a build of a car in one class, part by part; masses in kg.

    Parts already off appear only where their removal is a violation, or where the class wants them back on. Weight
    limits are left aside: each row says what margin would remain. Raises as `check` does.
    """
    from tarebook.route.removals import find_removals

    prepared, before, situation = facing(car, rules, class_id, on=on, build=build, proposed=proposed)
    return find_removals(before, prepared, situation)


def route(
    car: Car,
    rules: Rules,
    class_id: str,
    *,
    on: datetime.date,
    demands: "Demands | None" = None,
    trade_offs: bool = False,
    proposed: bool = False,
    seconds: float = 20.0,
) -> "Answer":
    """The cheapest legal set of the car's jobs that reaches the minimum of one class: see `tarebook.route.answering`.

    Masses are in kg, places in mm behind the front axle, money as in the car file. `demands` says what it must keep;
    with `trade_offs`, all trade-offs of cost against mass. The solver takes `seconds` at most.

    Raises as `check` does; KeyError too for a job in `demands` that the car does not have or that may not be chosen,
    ValueError for a confidence below one half or not below one.
    """
    from tarebook.route.answering import answer
    from tarebook.route.demands import Demands
    from tarebook.route.workshop import Workshop

    chosen = editions_on(rules, on, proposed=proposed)
    adopted = settle(car, chosen)
    edition, name = find_class(chosen, class_id)
    workshop = Workshop(car, prepare_class(edition, name), adopted, on, demands or Demands())
    return answer(workshop, trade_offs=trade_offs, seconds=seconds)


def facing(
    car: Car, rules: Rules, class_id: str, *, on: datetime.date, build: str = "now", proposed: bool = False
) -> tuple[PreparedClass, CarBeforeBook, Situation]:
    """One class, the car before its book, and the situation of one build. Raises as `check` does."""
    chosen = editions_on(rules, on, proposed=proposed)
    adopted = settle(car, chosen)
    edition, name = find_class(chosen, class_id)
    before = CarBeforeBook(car, edition, adopted)
    return prepare_class(edition, name), before, before.situation(build, on)


def find_class(editions: Iterable[RuleSet], class_id: str) -> tuple[RuleSet, str]:
    """The class of that name, or of that book and name as in "harrow-hills/street-trim".

    Raises KeyError for a class that no book has, AmbiguousClass for one that several have.
    """
    book, _, name = class_id.rpartition("/")
    found = [each for each in editions if name in each.class_ids and book in ("", each.id)]
    if not found:
        raise KeyError(class_id)
    if len(found) > 1:
        named = " or ".join(f'"{each.id}/{name}"' for each in found)
        raise AmbiguousClass(f'Several books have a class "{name}": say {named}.')
    return found[0], name


def editions_on(rules: Rules, on: datetime.date, *, proposed: bool = False) -> list[RuleSet]:
    """Of each book the edition in force on a day, with its bulletins. Raises NotInForce."""
    return in_force([rules] if isinstance(rules, RuleSet) else rules, on, proposed=proposed)


def settle(car: Car, rules: Iterable[RuleSet]) -> tuple[Kind, ...]:
    """Check the names that the car file leaves to the rule sets; the kinds that they declare come back.

    Raises MistakesFound.
    """
    kinds = {kind.path: kind for edition in rules for kind in edition.own_kinds}
    car.settle(kinds, (fact for edition in rules for fact in edition.own_facts))
    used = {kind for kind, _, _ in car.open_kinds}
    branches = {kind for kind in kinds if any(name == kind or name.startswith(kind + ".") for name in used)}
    return tuple(kinds[kind] for kind in kinds if kind in branches)


def receipt(car: Car, rules: Iterable[RuleSet]) -> Receipt:
    """What a report stands on."""
    return Receipt(
        tool_version=__version__,
        report_format=REPORT_FORMAT,
        car=car.name,
        car_file=car.source,
        books=tuple(
            BookUsed(
                each.id,
                each.file.book.title,
                each.edition,
                each.source,
                tuple(BulletinUsed(one.number, one.proposed, one.source) for one in each.bulletins),
            )
            for each in rules
        ),
    )


__all__ = ["Car", "NotInForce", "Report", "RuleSet", "check", "load_car", "load_rules", "removals", "route"]
