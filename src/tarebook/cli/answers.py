"""`check`, `removals` and `why`: the commands that judge a car."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, Refused, of_verdicts

if TYPE_CHECKING:
    import datetime

    from tarebook.api import Car, RuleSet

CarArgument = Annotated[Path, typer.Argument(metavar="CAR", help="The car file.", show_default=False)]
RulesOption = Annotated[
    list[Path] | None,
    typer.Option(
        "--rules",
        "-r",
        help="A rule-set file, or a folder of them; may be given again. [default: rulesets beside the car or here]",
        show_default=False,
    ),
]
BuildOption = Annotated[
    str, typer.Option("--build", "-b", help="The build to judge: now, planned, or one of the car file.")
]
DayOption = Annotated[
    str | None,
    typer.Option(
        "--on",
        metavar="DATE",
        help="The day of the inspection, such as 2027-04-10. [default: today]",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def check(
    car: CarArgument,
    rules: RulesOption = None,
    build: Annotated[
        list[str] | None,
        typer.Option("--build", "-b", help="A build to judge; may be given again. [default: all]", show_default=False),
    ] = None,
    class_id: Annotated[
        list[str] | None,
        typer.Option("--class", "-c", help="A class to judge; may be given again. [default: all]", show_default=False),
    ] = None,
    on: DayOption = None,
    full: Annotated[bool, typer.Option("--full", help="Print also what is in order.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Which classes may the car enter: each build against each class."""
    from tarebook import api

    the_car, editions = _read(car, rules)
    builds = _known("build", build or list(the_car.inventory.build_names()), the_car.inventory.build_names())
    classes = _known("class", class_id or [], [name for each in editions for name in each.class_ids])
    days = _days(the_car, builds, on)
    report = api.check(the_car, editions, on=days, build=builds, classes=classes)
    judged = {row.class_id for row in report.rows}
    for each in classes:
        if each not in judged:
            raise _not_then(each, list(days.values()))
    if as_json:
        from tarebook.show.report_json import report_document

        _print_json(report_document(report, editions))
    else:
        from tarebook.show.report import TextReport

        print("\n".join(TextReport(report, the_car, editions, full=full).lines()))
    raise typer.Exit(of_verdicts(row.verdict for row in report.rows))


def removals(
    car: CarArgument,
    class_id: Annotated[str, typer.Argument(metavar="CLASS", help="The class.", show_default=False)],
    rules: RulesOption = None,
    build: BuildOption = "now",
    on: DayOption = None,
    as_json: JsonOption = False,
) -> None:
    """What may come out of the car in one class, and what may not."""
    from tarebook import api

    the_car, editions, edition, day = _asked(car, rules, class_id, build, on)
    rows = api.removals(the_car, editions, class_id, on=day, build=build)
    if as_json:
        from tarebook.show.removals import removals_document

        _print_json(removals_document(rows, edition, class_id, build, day.isoformat()))
    else:
        from tarebook.show.removals import removal_lines

        print("\n".join(removal_lines(rows, edition, class_id, build, the_car)))
    groups = {row.group for row in rows}
    raise typer.Exit(NOT_ELIGIBLE if "put-back" in groups else UNDECIDED if "undecided" in groups else ELIGIBLE)


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
) -> None:
    """Why: every rule that was considered, which one decided, and why."""
    from tarebook import api
    from tarebook.show.why import explain, spoken

    the_car, editions, _, day = _asked(car, rules, class_id, build, on)
    prepared, before, situation = api.facing(the_car, editions, class_id, on=day, build=build)
    lines = explain(prepared, before, situation, about)
    if lines is None:
        from tarebook.names import did_you_mean

        hint = did_you_mean(about or "", [*the_car.inventory.parts, *(cite.clause for cite in spoken(prepared))])
        sentence = f'"{about}" is neither a part of {car} nor a clause of class {class_id}.'
        raise Refused(f"{sentence} {hint[:1].upper()}{hint[1:]}".rstrip())
    print("\n".join(lines))


def _asked(
    car: Path, rules: list[Path] | None, class_id: str, build: str, on: str | None
) -> "tuple[Car, list[RuleSet], RuleSet, datetime.date]":
    the_car, editions = _read(car, rules)
    _known("build", [build], the_car.inventory.build_names())
    _known("class", [class_id], [name for each in editions for name in each.class_ids])
    day = _days(the_car, [build], on)[build]
    return the_car, editions, _edition_of(class_id, editions, day), day


def _read(car: Path, rules: list[Path] | None) -> "tuple[Car, list[RuleSet]]":
    """Read everything that was named; all mistakes of all files come at once."""
    from tarebook.api import load_car, load_rules
    from tarebook.toml_source import Mistake, MistakesFound

    mistakes: list[Mistake] = []
    the_car: Car | None = None
    editions: list[RuleSet] = []
    try:
        the_car = load_car(car)
    except MistakesFound as found:
        mistakes.extend(found.mistakes)
    seen: set[Path] = set()
    for path in rules or _rules_nearby(car):
        try:
            for edition in load_rules(path):
                if Path(edition.source.name).resolve() not in seen:
                    seen.add(Path(edition.source.name).resolve())
                    editions.append(edition)
        except MistakesFound as found:
            mistakes.extend(found.mistakes)
    if mistakes or the_car is None:
        raise MistakesFound(tuple(mistakes))
    if not editions:
        raise Refused("Which rules? Name a rule-set file or a folder of them: --rules PATH.")
    return the_car, editions


def _rules_nearby(car: Path) -> list[Path]:
    return [folder for folder in (car.parent / "rulesets", Path("rulesets")) if folder.is_dir()][:1]


def _known(what: str, asked: list[str], known: Any) -> list[str]:
    names = list(dict.fromkeys(known))
    for each in asked:
        if each not in names:
            from tarebook.names import did_you_mean

            hint = did_you_mean(each, names) or f"There are: {', '.join(names)}."
            raise Refused(f'There is no {what} "{each}". {hint[0].upper()}{hint[1:]}')
    return list(dict.fromkeys(asked))


def _days(car: "Car", builds: list[str], on: str | None) -> "dict[str, datetime.date]":
    """On which day to judge each build: the day asked for, else the build's own, else today."""
    import datetime

    today = datetime.date.today()
    if on is not None:
        try:
            today = datetime.date.fromisoformat(on)
        except ValueError:
            raise Refused(f'"{on}" is not a date: write year, month and day, such as 2027-04-10.') from None
        return dict.fromkeys(builds, today)
    dates = {build.id: build.date for build in car.file.build}
    return {build: dates.get(build) or today for build in builds}


def _edition_of(class_id: str, editions: "list[RuleSet]", day: "datetime.date") -> "RuleSet":
    from tarebook import api

    chosen = api.editions_on(editions, day)
    having = [each for each in chosen if class_id in each.class_ids]
    if not having:
        raise _not_then(class_id, [day])
    if len(having) > 1:
        books = " and ".join(each.id for each in having)
        raise Refused(f'Books {books} each have a class "{class_id}". Name the one that you mean: --rules PATH.')
    return having[0]


def _not_then(class_id: str, days: "list[datetime.date]") -> Refused:
    listed = " or ".join(dict.fromkeys(day.isoformat() for day in days))
    return Refused(f'No edition in force on {listed} has a class "{class_id}". Name another day: --on DATE.')


def _print_json(document: Any) -> None:
    import json

    # In ASCII: a terminal acts on some of the other characters, and not every encoding has them all.
    json.dump(document, sys.stdout, indent=1, allow_nan=False)
    print()
