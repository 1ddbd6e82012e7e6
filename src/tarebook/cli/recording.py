"""`record` and `recheck`: keep today's verdicts beside the car, and later say what changed and why."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import (
    BuildsOption,
    CarArgument,
    DayOption,
    JsonOption,
    ProposedOption,
    RulesOption,
    days_of,
    known_names,
    print_json,
    read_car_and_rules,
    rules_nearby,
)
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car, RuleSet
    from tarebook.records.record import Record

NOTHING_WORSE, WORSE = 0, 1
_MOST_NAMED = 3  # verdicts that a new record no longer has


def record(
    car: CarArgument,
    rules: RulesOption = None,
    build: BuildsOption = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    as_json: JsonOption = False,
) -> None:
    """Keep the verdicts of today beside the car. Their texts are kept too; recheck compares with them later."""
    import datetime

    from tarebook.api import check
    from tarebook.judge.wording import listed
    from tarebook.records.answering import rule_sources
    from tarebook.records.files import kept_name, record_path, write_record
    from tarebook.records.record import KeptFile, KeptRow, Record
    from tarebook.records.strict import RecordProblem
    from tarebook.toml_source import show_plain
    from tarebook.version import __version__

    the_car, editions = read_car_and_rules(car, rules)
    every = the_car.inventory.build_names()
    builds = known_names("build", build or list(every), every)
    days = days_of(the_car, builds, on)
    report = check(the_car, editions, on=days, build=builds, proposed=proposed)
    sources = rule_sources(editions)
    kept = Record(
        tool_version=__version__,
        recorded_on=datetime.date.today(),
        days=days,
        builds_named=tuple(builds) if build else (),
        proposed=proposed,
        car=KeptFile.of(the_car.source, car.name),
        rules_named=tuple(kept_name(path, car.parent) for path in rules or ()),
        rules=tuple(KeptFile.of(source, kept_name(Path(source.name), car.parent)) for source in sources),
        rows=tuple(KeptRow.of(row) for row in report.rows),
    )
    path = record_path(car)
    before = _before(path)
    try:
        write_record(path, kept)
    except RecordProblem as problem:
        raise Refused(str(problem)) from None
    lost = sorted(before - {row.key for row in kept.rows})
    if lost:
        named = listed([f"{class_id} ({build_id})" for _, class_id, build_id in lost[:_MOST_NAMED]])
        more = f", and {len(lost) - _MOST_NAMED} more" if len(lost) > _MOST_NAMED else ""
        said = f"The record before it also had {named}{more}: the new one takes its place as a whole."
        print(show_plain(said), file=sys.stderr)
    if as_json:
        document = {"format": "tarebook-recorded/1", "record": str(path), "verdicts": len(kept.rows)}
        print_json({**document, "no_longer_kept": len(lost)})
    else:
        verdicts = f"{len(kept.rows)} verdict{'s' * (len(kept.rows) != 1)}"
        print(show_plain(f"Written: {path}, with {verdicts}. tarebook recheck {car} says later what changed."))


def _before(path: Path) -> "set[tuple[str, str, str]]":
    """The book, class and build of each verdict in the record that stands there; none where it is none."""
    from tarebook.records.files import read_record
    from tarebook.records.strict import RecordProblem

    try:
        return {row.key for row in read_record(path).rows}
    except RecordProblem:
        return set()


def recheck(
    car: CarArgument,
    rules: Annotated[
        list[Path] | None,
        typer.Option(
            "--rules",
            "-r",
            help="A rule-set file, or a folder of them; may be given again. [default: those of the record]",
            show_default=False,
        ),
    ] = None,
    build: Annotated[
        list[str] | None,
        typer.Option(
            "--build",
            "-b",
            help="A build to judge; may be given again. [default: those of the record]",
            show_default=False,
        ),
    ] = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    as_json: JsonOption = False,
) -> None:
    """What changed since the record, and why. Car, rules, date or this program. Status 1: something got worse."""
    from tarebook.records.files import read_record, record_path
    from tarebook.records.rechecking import recheck as compare
    from tarebook.records.strict import RecordProblem
    from tarebook.show.recheck import recheck_document, recheck_lines

    try:
        kept = read_record(record_path(car))
        the_car, editions = read_car_and_rules(car, rules or _rules_of(kept, car))
        days = days_of(the_car, _builds(kept, the_car, build), on)
        found = compare(kept, the_car, editions, _names(editions, car), days, proposed=proposed or kept.proposed)
    except RecordProblem as problem:
        raise Refused(str(problem)) from None
    if as_json:
        print_json(recheck_document(found))
    else:
        print("\n".join(recheck_lines(found, the_car.units.get("mass") or "kg")))
    raise typer.Exit(WORSE if found.worse else NOTHING_WORSE)


def _rules_of(kept: "Record", car: Path) -> list[Path]:
    """Where the record's rules are now; if they were not named, or are gone, where a check would look for them."""
    from tarebook.records.files import named_again

    return named_again(kept.rules_named, car.parent) or rules_nearby(car)


def _builds(kept: "Record", car: "Car", asked: list[str] | None) -> list[str]:
    """The builds to judge: those asked for, else those that the record was made for."""
    if kept.builds_named:
        # Of the other builds the record does not know what they were.
        return known_names("build in the record", asked or list(kept.builds_named), kept.builds_named)
    every = [*car.inventory.build_names(), *kept.days]
    return known_names("build", asked or every, every)


def _names(editions: "list[RuleSet]", car: Path) -> dict[str, str]:
    """By the names of the rule files, those that a record keeps of them."""
    from tarebook.records.answering import rule_sources
    from tarebook.records.files import kept_name

    return {source.name: kept_name(Path(source.name), car.parent) for source in rule_sources(editions)}
