"""`mass`: what a build weighs, and how sure that is."""

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
from tarebook.cli.balancing import (
    AxleMinimumOption,
    BalanceOption,
    BallastAtOption,
    BallastOption,
    FrontShareOption,
    ballast_answers,
    ballast_asked,
    stand,
)
from tarebook.cli.status import ELIGIBLE, UNDECIDED, Refused

if TYPE_CHECKING:
    import datetime

    from tarebook.api import Car, RuleSet
    from tarebook.car.models import Weighing
    from tarebook.show.mass import ClassLimit


def mass(
    car: CarArgument,
    build: BuildsOption = None,
    explain: Annotated[
        bool, typer.Option("--explain", help="Print what the mass is made of, and what would settle a close limit.")
    ] = False,
    class_id: Annotated[
        list[str] | None,
        typer.Option("--class", "-c", help="A class whose close limits to settle; may be given again."),
    ] = None,
    rules: RulesOption = None,
    on: DayOption = None,
    proposed: ProposedOption = False,
    weighing: Annotated[
        str | None,
        typer.Option("--weighing", metavar="ID", help="The weighing to start from. [default: the newest]"),
    ] = None,
    units: Annotated[
        str | None,
        typer.Option("--units", metavar="UNIT", help="The unit of mass to print. [default: as in the car file]"),
    ] = None,
    balance: BalanceOption = False,
    front_share: FrontShareOption = None,
    axle_minimum: AxleMinimumOption = None,
    ballast_at: BallastAtOption = None,
    ballast: BallastOption = None,
    as_json: JsonOption = False,
) -> None:
    """What a build weighs, the car alone, and how sure that is."""
    from tarebook import api
    from tarebook.weight.build_mass import build_mass
    from tarebook.weight.ledger import Ledger

    if not (explain or class_id) and (rules or on or proposed):
        raise Refused("Rules, day and proposals matter only with --explain or --class.")
    if weighing is not None and (class_id or rules):
        raise Refused("Classes are judged by the newest weighing: leave --weighing out.")
    wanted = ballast_asked(front_share, axle_minimum, ballast_at, ballast)
    editions: list[RuleSet] = []
    if class_id or rules or (explain and weighing is None and rules_nearby(car)):
        the_car, editions = read_car_and_rules(car, rules)
    else:
        the_car = api.load_car(car)
    unit = _unit(units) or the_car.units.get("mass") or "kg"
    every = the_car.inventory.build_names()
    builds = known_names("build", build or list(every), every)
    classes = known_names("class", class_id or [], [name for each in editions for name in each.class_ids])
    limits = _close_limits(the_car, editions, builds, classes, days_of(the_car, builds, on), proposed)
    ledger = Ledger(the_car.inventory, weighings=_chosen(the_car, weighing))
    masses = [build_mass(ledger, each) for each in builds]
    stands = [stand(ledger, each) for each in builds] if balance else []
    ballasts = [ballast_answers(ledger, each, wanted) for each in builds] if wanted is not None else []
    if as_json:
        from tarebook.show.balance import balance_document, ballast_document
        from tarebook.show.mass import mass_document

        document = mass_document(masses, limits if editions else None)
        for made, standing in zip(document["builds"], stands, strict=False):
            made["balance"] = balance_document(standing)
        for made, answers in zip(document["builds"], ballasts, strict=False):
            made["ballast"] = [ballast_document(each) for each in answers]
        print_json(document)
    else:
        from tarebook.show.mass import MassText

        text = MassText(the_car, masses, limits, unit, explain=explain, judged=bool(editions))
        print("\n".join(text.lines()))
        if stands or ballasts:
            from tarebook.show.balance import balance_lines, ballast_lines

            answers = [answer for each in ballasts for answer in each]
            balanced = ["", *balance_lines(stands, unit)] if stands else []
            ballasted = ["", *ballast_lines(answers, the_car, unit)] if answers else []
            print("\n".join([*balanced, *ballasted]))
    unknown = any(each.budget.mass is None for each in masses)
    unsolved = any(answer.ballast is None for each in ballasts for answer in each)
    raise typer.Exit(UNDECIDED if unknown or unsolved else ELIGIBLE)


def _chosen(car: "Car", weighing: str | None) -> "list[Weighing] | None":
    """The one weighing to start from; None for all of the car file."""
    if weighing is None:
        return None
    known_names("weighing", [weighing], [each.id for each in car.file.weighing])
    return [each for each in car.file.weighing if each.id == weighing]


def _unit(asked: str | None) -> str | None:
    from tarebook.quantities import QuantityError, canonical_unit

    try:
        return None if asked is None else canonical_unit(asked, "mass")
    except QuantityError as error:
        raise Refused(f"--units: {error}.") from None


def _close_limits(
    car: "Car",
    editions: "list[RuleSet]",
    builds: list[str],
    classes: list[str],
    days: "dict[str, datetime.date]",
    proposed: bool,
) -> "list[ClassLimit]":
    """The limits that are too close to call, of the classes asked for, or of all."""
    if not editions:
        return []
    from tarebook import api
    from tarebook.judge.judging import CONFIDENCE
    from tarebook.judge.settling import close_limits
    from tarebook.show.mass import ClassLimit

    report = api.check(car, editions, on=days, build=builds, classes=classes, proposed=proposed)
    found = []
    for row in report.rows:
        if any(limit.verdict == "too-close" for limit in row.limits):
            prepared, _, situation = api.facing(
                car, editions, f"{row.book}/{row.class_id}", on=row.on, build=row.build, proposed=proposed
            )
            close = {each.limit.path: each for each in close_limits(prepared, situation, CONFIDENCE)}
            found += [
                ClassLimit(row, limit, close.get(limit.path)) for limit in row.limits if limit.verdict == "too-close"
            ]
    return found
