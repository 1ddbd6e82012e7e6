"""What a Python user imports: read a car, read rule sets, check one against the other."""

import datetime
from collections.abc import Iterable, Sequence

from tarebook.car.reading import Car, load_car
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import BookUsed, Receipt, Report, Row
from tarebook.judge.judging import CONFIDENCE, judge
from tarebook.judge.prepared import prepare_class
from tarebook.kinds import Kind
from tarebook.rules.reading import NotInForce, RuleSet, in_force, load_rules
from tarebook.version import __version__

REPORT_FORMAT = "tarebook-report/1"
Rules = RuleSet | Iterable[RuleSet]


def check(
    car: Car,
    rules: Rules,
    *,
    on: datetime.date,
    build: str | Sequence[str] = "now",
    classes: Sequence[str] = (),
    confidence: float = CONFIDENCE,
) -> Report:
    """Judge builds of a car against every class, or the named classes, of the editions in force on a day.

    A build is "now" (jobs done), "planned" (done and planned jobs) or one of the car file's own. Masses in the
    report are in kg. `confidence` is the chance of keeping each limit that "eligible" asks for.

    Raises:
        MistakesFound: the car names a kind or fact that neither it nor the rule sets declare, or states a value
            that does not fit a book's own fact.
        NotInForce: no edition of a book, or more than one, covers the day.
        KeyError: the car has no such build, or the rule sets no such class.
    """
    builds = [build] if isinstance(build, str) else list(build)
    chosen = editions_on(rules, on)
    adopted = settle(car, chosen)
    wanted = set(classes)
    known = {class_id for edition in chosen for class_id in edition.class_ids}
    if wanted - known:
        raise KeyError(min(wanted - known))
    rows: list[Row] = []
    for edition in chosen:
        before = CarBeforeBook(car, edition, adopted)
        situations = [before.situation(name, on) for name in builds]
        for class_id in edition.class_ids:
            if wanted and class_id not in wanted:
                continue
            prepared = prepare_class(edition, class_id)
            rows.extend(judge(prepared, situation, confidence=confidence) for situation in situations)
    return Report(receipt(car, chosen), rows)


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
        car_file=car.source.name,
        car_sha256=car.source.sha256,
        books=tuple(
            BookUsed(each.id, each.file.book.title, each.edition, each.source.name, each.source.sha256)
            for each in rules
        ),
    )


__all__ = ["Car", "NotInForce", "Report", "RuleSet", "check", "load_car", "load_rules"]
