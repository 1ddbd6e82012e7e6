"""What a Python user imports: read a car, read rule sets, check one against the other."""

import datetime
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from tarebook.car.reading import Car, load_car
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import BookUsed, Receipt, Report, Row
from tarebook.judge.judging import CONFIDENCE, judge
from tarebook.judge.prepared import PreparedBook, PreparedClass, prepare_class
from tarebook.judge.situation import Situation
from tarebook.kinds import Kind
from tarebook.rules.reading import NotInForce, RuleSet, in_force, load_rules
from tarebook.version import __version__
from tarebook.weight.ledger import Ledger, Weighed

if TYPE_CHECKING:
    from tarebook.route.removals import Removal


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
) -> Report:
    """Judge builds of a car against every class, or the named classes, of the editions in force on a day.

    A build is "now" (jobs done), "planned" (done and planned jobs) or one of the car file's own. `on` is the day for
    all of them, or a day for each by its name. Masses in the report are in kg. `confidence` is the chance of keeping
    each limit that "eligible" asks for.

    Raises:
        MistakesFound: the car names a kind or fact that neither it nor the rule sets declare, or states a value
            that does not fit a book's own fact.
        NotInForce: no edition of a book, or more than one, covers a day.
        KeyError: the car has no such build, or the rule sets no such class.
    """
    editions = [rules] if isinstance(rules, RuleSet) else list(rules)
    known = {class_id for edition in editions for class_id in edition.class_ids}
    for class_id in classes:
        if class_id not in known:
            raise KeyError(class_id)
    adopted = settle(car, editions)
    rows: list[Row] = []
    used: dict[tuple[str, str], RuleSet] = {}
    alone: dict[str, float | None] = {}
    for name in [build] if isinstance(build, str) else build:
        day = on[name] if isinstance(on, Mapping) else on
        for edition in in_force(editions, day):
            used[(edition.id, edition.edition)] = edition
    ledger = Ledger(car.inventory)
    sights = {key: CarBeforeBook(car, edition, adopted, ledger) for key, edition in used.items()}
    for key, edition in used.items():
        situations = []
        for name in [build] if isinstance(build, str) else build:
            day = on[name] if isinstance(on, Mapping) else on
            if edition.covers(day):
                situations.append(sights[key].situation(name, day))
        for situation in situations:
            mass = sights[key].ledger.mass(situation.configuration, Weighed()).mass
            alone[situation.configuration.name] = None if mass is None else float(mass.value)
        book = PreparedBook(edition)
        for class_id in edition.class_ids:
            if not classes or class_id in classes:
                prepared = book.prepare(class_id)
                rows.extend(judge(prepared, situation, confidence=confidence) for situation in situations)
    return Report(receipt(car, used.values()), rows, alone)


def removals(car: Car, rules: Rules, class_id: str, *, on: datetime.date, build: str = "now") -> "list[Removal]":
    """What may come out of a build of a car in one class, part by part; masses in kg.

    Parts already off appear only where their removal is a violation. Weight limits are left aside: each row says
    what margin would remain. Raises as `check` does.
    """
    from tarebook.route.removals import find_removals

    prepared, before, situation = facing(car, rules, class_id, on=on, build=build)
    return find_removals(before, prepared, situation)


def facing(
    car: Car, rules: Rules, class_id: str, *, on: datetime.date, build: str = "now"
) -> tuple[PreparedClass, CarBeforeBook, Situation]:
    """One class, the car before its book, and the situation of one build. Raises as `check` does."""
    chosen = editions_on(rules, on)
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


def editions_on(rules: Rules, on: datetime.date) -> list[RuleSet]:
    """Of each book the edition in force on a day. Raises NotInForce."""
    return in_force([rules] if isinstance(rules, RuleSet) else rules, on)


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
        books=tuple(BookUsed(each.id, each.file.book.title, each.edition, each.source) for each in rules),
    )


__all__ = ["Car", "NotInForce", "Report", "RuleSet", "check", "load_car", "load_rules", "removals"]
