"""`removals`: what may come out of the car, and what may not."""

from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.answers import edition_of
from tarebook.cli.asking import (
    BuildOption,
    CarArgument,
    DayOption,
    JsonOption,
    ProposedOption,
    RulesOption,
    days_of,
    known_classes,
    known_names,
    print_json,
    read_car_and_rules,
)
from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, Refused

if TYPE_CHECKING:
    import datetime

    from tarebook.api import Car, RuleSet
    from tarebook.show.removals import ClassRemovals, SortKey


def removals(
    car: CarArgument,
    class_id: Annotated[
        str | None, typer.Argument(metavar="[CLASS]", help="The class; or --all-classes.", show_default=False)
    ] = None,
    rules: RulesOption = None,
    build: BuildOption = "now",
    on: DayOption = None,
    proposed: ProposedOption = False,
    all_classes: Annotated[
        bool, typer.Option("--all-classes", help="Every class: one row for each part, one column for each class.")
    ] = False,
    sort: Annotated[
        str | None,
        typer.Option(
            "--sort",
            metavar="KEY",
            help="mass, cost, cost-per-mass or name, within each group. [default: as in the ledger]",
            show_default=False,
        ),
    ] = None,
    as_json: JsonOption = False,
) -> None:
    """What may come out of the car, and what must stay."""
    from tarebook.show.removals import removal_lines
    from tarebook.show.removals_json import removals_document
    from tarebook.show.removals_table import table_lines

    if all_classes and class_id is not None:
        raise Refused("Name a class or ask for --all-classes, not both.")
    if not all_classes and class_id is None:
        raise Refused("Name a class, or ask for --all-classes.")
    key = _sort_key(sort)
    the_car, editions = read_car_and_rules(car, rules)
    known_names("build", [build], the_car.inventory.build_names())
    if class_id is not None:
        known_classes([class_id], editions)
    day = days_of(the_car, [build], on)[build]
    found = _found(the_car, editions, class_id, build, day, proposed, unlisted=as_json or not all_classes)
    if as_json:
        print_json(removals_document(found, build, day.isoformat(), the_car, key))
    elif all_classes:
        print("\n".join(table_lines(found, build, the_car, key)))
    else:
        (only,) = found
        print("\n".join(removal_lines(only, build, the_car, key)))
    groups = {row.group for each in found for row in each.rows}
    raise typer.Exit(NOT_ELIGIBLE if "put-back" in groups else UNDECIDED if "undecided" in groups else ELIGIBLE)


def _sort_key(asked: str | None) -> "SortKey | None":
    from tarebook.show.removals import SORT_KEYS

    if asked is None:
        return None
    known_names("order", [asked], SORT_KEYS)
    return next(each for each in SORT_KEYS if each == asked)


def _found(
    car: "Car",
    editions: "list[RuleSet]",
    class_id: str | None,
    build: str,
    day: "datetime.date",
    proposed: bool,
    *,
    unlisted: bool,
) -> "list[ClassRemovals]":
    """The rows of the class, or of every class; what the classes of one book share is worked out once."""
    from tarebook import api
    from tarebook.judge.facing import CarBeforeBook
    from tarebook.judge.prepared import PreparedBook
    from tarebook.route.letting_out import Unlisting, find_unlisted
    from tarebook.route.removals import find_removals
    from tarebook.route.trials import trials_of
    from tarebook.show.removals import ClassRemovals
    from tarebook.weight.ledger import Ledger

    chosen = api.editions_on(editions, day, proposed=proposed)
    adopted = api.settle(car, chosen)
    named = None if class_id is None else edition_of(class_id, editions, day, proposed)
    ledger = Ledger(car.inventory)
    found = []
    for rules in chosen:
        if named is not None and rules.id != named.id:
            continue
        before = CarBeforeBook(car, rules, adopted, ledger)
        situation = before.situation(build, day)
        trials, book = trials_of(before, situation), PreparedBook(rules)
        unlisting = Unlisting(before, situation) if unlisted else None
        for each in rules.class_ids if class_id is None else [class_id.rpartition("/")[2]]:
            prepared = book.prepare(each)
            rows = find_removals(before, prepared, situation, trials)
            kinds = [] if unlisting is None else find_unlisted(prepared, unlisting)
            found.append(ClassRemovals(rules, each, rows, kinds))
    return found
