"""A small car, two books and a record of them, for the tests of records. All invented."""

import datetime

from tarebook.car.reading import Car, car_from
from tarebook.records.answering import answers, rule_sources
from tarebook.records.rechecking import Recheck, RowChange, recheck
from tarebook.records.record import KeptFile, Record
from tarebook.rules.reading import RuleSet, rules_of
from tarebook.toml_source import parse_source
from tarebook.version import __version__

SPRING, NEXT_YEAR = datetime.date(2027, 4, 10), datetime.date(2028, 4, 10)

CAR = """\
format = "tarebook-car/1"
[car]
name = "Dunlin"
model_year = 2003
[facts]
seats = 5
production_until = 2003-03-01
[[weighing]]
id = "first"
date = 2026-03-01
total = "900.0 kg"
fuel = "5 L"
[at_inspection]
fuel = "5 L"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
title = "Carpet"
mass = "4.00 kg"
[[part]]
id = "console"
kind = "interior.console"
title = "Console"
mass = "2.40 kg"
[[job]]
id = "strip"
state = "done"
date = 2026-03-10
off = ["carpet"]
finishes = [{ area = "interior.floor", by = "painted" }]
"""
BOOK = """\
format = "tarebook-rules/1"
[book]
id = "saltpan"
title = "Saltpan Speed Club"
edition = "2027"
clause = "1"
in_force = { from = 2027-01-01, until = 2027-12-31 }
silence = "forbids"
[[class]]
id = "open"
title = "Open"
[class.weight]
clause = "3.1"
driver = "out"
minimum = "800 kg"
[[class.allow]]
clause = "3.2"
kinds = ["interior"]
does = ["remove"]
finish = ["floor"]
[[class.finish]]
id = "floor"
clause = "3.3"
area = "interior.floor"
by = ["painted"]
[[class]]
id = "shut"
title = "Shut"
[class.weight]
clause = "4.1"
driver = "out"
minimum = "800 kg"
[[class.ban]]
clause = "4.2"
kinds = ["interior.floor"]
does = ["remove"]
"""
SECOND = (
    BOOK.replace('"saltpan"', '"kiln-lane"')
    .replace('"open"', '"guest"')
    .replace('"shut"', '"host"')
    .replace("{ from = 2027-01-01, until = 2027-12-31 }", "{ from = 2020-01-01 }")
)


def car(text: str = CAR) -> Car:
    return car_from(parse_source(text.encode(), "car.toml"))


def rules(*texts: str, names: tuple[str, ...] = ("book.toml", "more.toml", "third.toml")) -> list[RuleSet]:
    return rules_of(parse_source(text.encode(), name) for text, name in zip(texts, names, strict=False))


def recorded(
    car_text: str = CAR,
    *rule_texts: str,
    on: datetime.date = SPRING,
    builds: tuple[str, ...] = (),
    proposed: bool = False,
) -> Record:
    """The record of a car and its rules, made on a day, with every build judged on that day."""
    the_car, editions = car(car_text), rules(*(rule_texts or (BOOK,)))
    days = dict.fromkeys(builds or the_car.inventory.build_names(), on)
    return Record(
        tool_version=__version__,
        recorded_on=on,
        days=days,
        builds_named=builds,
        proposed=proposed,
        car=KeptFile.of(the_car.source, "car.toml"),
        rules_named=("rulesets",),
        rules=tuple(KeptFile.of(source, source.name) for source in rule_sources(editions)),
        rows=tuple(answers(the_car, editions, days, proposed=proposed).rows.values()),
    )


def again(
    record: Record,
    car_text: str = CAR,
    *rule_texts: str,
    on: datetime.date = SPRING,
    builds: tuple[str, ...] = ("now",),
    proposed: bool = False,
    names: tuple[str, ...] = ("book.toml", "more.toml", "third.toml"),
) -> Recheck:
    """The recheck of a record with things as they are now; build "now" alone, so that a change is told once."""
    editions = rules(*(rule_texts or (BOOK,)), names=names)
    same_names = {source.name: source.name for source in rule_sources(editions)}
    days = dict.fromkeys(builds, on)
    return recheck(record, car(car_text), editions, same_names, days, proposed=proposed)


def row(found: Recheck, class_id: str) -> RowChange:
    """The one changed row of a class."""
    (only,) = [each for each in found.rows if each.key[1] == class_id]
    return only


def changed(found: Recheck) -> dict[str, tuple[tuple[str, ...], ...]]:
    """By class, what each changed row is due to."""
    return {each.key[1]: each.because for each in found.rows}
