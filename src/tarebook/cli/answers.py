"""`check` and `why`: the commands that judge a car."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import (
    BuildOption,
    BuildsOption,
    CarArgument,
    ConfidenceOption,
    DayOption,
    JsonOption,
    ProposedOption,
    RulesOption,
    confidence_named,
    days_of,
    known_classes,
    known_names,
    print_json,
    read_car_and_rules,
)
from tarebook.cli.status import Refused, of_verdicts

if TYPE_CHECKING:
    import datetime

    from tarebook.api import Car, RuleSet


def check(
    car: CarArgument,
    rules: RulesOption = None,
    build: BuildsOption = None,
    class_id: Annotated[
        list[str] | None,
        typer.Option("--class", "-c", help="A class to judge; may be given again. [default: all]", show_default=False),
    ] = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    confidence: ConfidenceOption = None,
    full: Annotated[bool, typer.Option("--full", help="Print also what is in order.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Which classes each build may enter, and why not."""
    from tarebook import api

    the_car, editions = read_car_and_rules(car, rules)
    builds = known_names("build", build or list(the_car.inventory.build_names()), the_car.inventory.build_names())
    classes = known_classes(class_id or [], editions)
    days = days_of(the_car, builds, on)
    asked = {} if confidence is None else {"confidence": confidence_named(confidence)}
    report = api.check(the_car, editions, on=days, build=builds, classes=classes, proposed=proposed, **asked)
    judged = {name for row in report.rows for name in (row.class_id, f"{row.book}/{row.class_id}")}
    for each in classes:
        if each not in judged:
            raise _not_then(each, list(days.values()))
    if as_json:
        from tarebook.show.report_json import report_document

        print_json(report_document(report))
    else:
        from tarebook.show.report import TextReport

        print("\n".join(TextReport(report, the_car, full=full).lines()))
    raise typer.Exit(of_verdicts(row.verdict for row in report.rows))


def why(
    car: CarArgument,
    class_id: Annotated[str, typer.Argument(metavar="CLASS", help="The class.", show_default=False)],
    about: Annotated[
        str | None,
        typer.Argument(
            metavar="[PART or CLAUSE]", help="A part of the ledger, or a clause of the book.", show_default=False
        ),
    ] = None,
    rules: RulesOption = None,
    build: BuildOption = "now",
    on: DayOption = None,
    proposed: ProposedOption = False,
) -> None:
    """Which rules were considered, and which decided."""
    from tarebook import api
    from tarebook.show.why import explain, spoken

    the_car, editions, _, day = _asked(car, rules, class_id, build, on, proposed)
    prepared, before, situation = api.facing(the_car, editions, class_id, on=day, build=build, proposed=proposed)
    lines = explain(prepared, before, situation, about)
    if lines is None:
        from tarebook.names import did_you_mean

        hint = did_you_mean(about or "", [*the_car.inventory.parts, *(cite.clause for cite in spoken(prepared))])
        sentence = f'"{about}" is neither a part of {car} nor a clause of class {class_id}.'
        raise Refused(f"{sentence} {hint[:1].upper()}{hint[1:]}".rstrip())
    print("\n".join(lines))


def _asked(
    car: Path, rules: list[Path] | None, class_id: str, build: str, on: str | None, proposed: bool
) -> "tuple[Car, list[RuleSet], RuleSet, datetime.date]":
    the_car, editions = read_car_and_rules(car, rules)
    known_names("build", [build], the_car.inventory.build_names())
    known_classes([class_id], editions)
    day = days_of(the_car, [build], on)[build]
    return the_car, editions, edition_of(class_id, editions, day, proposed), day


def edition_of(class_id: str, editions: "list[RuleSet]", day: "datetime.date", proposed: bool) -> "RuleSet":
    """The edition in force on a day that has the class, which may be named with its book.

    Raises Refused where none has it, or several have.
    """
    from tarebook import api

    chosen = api.editions_on(editions, day, proposed=proposed)
    try:
        return api.find_class(chosen, class_id)[0]
    except KeyError:
        raise _not_then(class_id, [day]) from None
    except api.AmbiguousClass as error:
        raise Refused(str(error)) from None


def _not_then(class_id: str, days: "list[datetime.date]") -> Refused:
    listed = " or ".join(dict.fromkeys(day.isoformat() for day in days))
    return Refused(f'No edition in force on {listed} has a class "{class_id}". Name another day: --on DATE.')
