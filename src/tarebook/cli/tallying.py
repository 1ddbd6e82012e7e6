"""`tally`: what came off and went on, and what it cost."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import (
    CarArgument,
    DayOption,
    JsonOption,
    ProposedOption,
    days_of,
    known_names,
    print_json,
    read_car_and_rules,
)
from tarebook.cli.reconciling import UnitsOption, unit_of
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.weight.tallying import By

WAYS: "tuple[By, ...]" = ("zone", "job", "kind", "month")
MOST_LEVELS = 32


def tally(
    car: CarArgument,
    by: Annotated[
        str, typer.Option("--by", metavar="WAY", help="What makes a row: zone, job, kind or month.")
    ] = "zone",
    build: Annotated[
        str, typer.Option("--build", "-b", help="The build to tally: now, planned, or one of the car file.")
    ] = "now",
    depth: Annotated[
        str | None,
        typer.Option(
            "--depth",
            metavar="N",
            help="With --by kind: how many levels of a kind make a row. [default: 1]",
            show_default=False,
        ),
    ] = None,
    rules: Annotated[
        list[Path] | None,
        typer.Option(
            "--rules",
            "-r",
            help="A rule-set file, or a folder: adds the margins to each minimum; may be given again.",
            show_default=False,
        ),
    ] = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    units: UnitsOption = None,
    as_json: JsonOption = False,
) -> None:
    """What came off the car and what went on. By zone, job, kind or month, with cost and hours."""
    from tarebook import api
    from tarebook.weight.ledger import Ledger
    from tarebook.weight.tallying import progress_of
    from tarebook.weight.tallying import tally as answer

    way: By | None = next((each for each in WAYS if each == by), None)
    if way is None:
        raise Refused(f'--by: there is no "{by}". Choose one of {", ".join(WAYS)}.')
    if depth is not None and way != "kind":
        raise Refused("--depth says how many levels of a kind make a row: it goes with --by kind.")
    if not rules and (on or proposed):
        raise Refused("Day and proposals matter only with the rules of classes: --rules PATH.")
    levels = _levels(depth)
    minima = None
    if rules:
        from tarebook.show.tally import class_minima

        the_car, editions = read_car_and_rules(car, rules)
        builds = ["now", "planned"]
        report = api.check(the_car, editions, on=days_of(the_car, builds, on), build=builds, proposed=proposed)
        minima = class_minima(report.rows)
    else:
        the_car = api.load_car(car)
    unit = unit_of(units, the_car)
    known_names("build", [build], the_car.inventory.build_names())
    ledger = Ledger(the_car.inventory)
    configuration = the_car.inventory.build(build)
    found, progress = answer(ledger, configuration, way, depth=levels), progress_of(ledger, configuration)
    if as_json:
        from tarebook.show.tally import tally_document

        print_json(tally_document(found, progress, minima))
    else:
        from tarebook.show.tally import tally_lines

        print("\n".join(tally_lines(found, progress, minima, the_car, unit)))


def _levels(depth: str | None) -> int:
    if depth is None:
        return 1
    if not depth.isascii() or not depth.isdigit() or not 1 <= int(depth[:4]) <= MOST_LEVELS:
        raise Refused(f'--depth: "{depth}" is not a whole number from 1 to {MOST_LEVELS}.')
    return int(depth)
