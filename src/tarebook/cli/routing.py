"""`route`: which of the car's jobs to do for one class."""

from fractions import Fraction
from typing import TYPE_CHECKING, Annotated

import typer

from tarebook.cli.asking import (
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
    money_named,
    print_json,
    read_car_and_rules,
)
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car

FOUND, IMPOSSIBLE, NOT_PROVEN = 0, 1, 3
SHARES = "write two ends such as 52%..54%, or one: 52%.. for at least, ..54% for at most"


def route(
    car: CarArgument,
    class_id: Annotated[str, typer.Argument(metavar="CLASS", help="The class.", show_default=False)],
    rules: RulesOption = None,
    target: Annotated[
        str | None,
        typer.Option(
            "--target",
            metavar="MASS",
            help="How much the build may weigh at most, as the class weighs it, before ballast is added."
            " [default: the class's minimum with its guard margin]",
            show_default=False,
        ),
    ] = None,
    just_eligible: Annotated[
        bool, typer.Option("--just-eligible", help="Ask for no target: the cheapest build that is eligible.")
    ] = False,
    budget: Annotated[
        str | None,
        typer.Option("--budget", metavar="MONEY", help="What the jobs may cost at most, less what they return."),
    ] = None,
    hours: Annotated[
        str | None, typer.Option("--hours", metavar="HOURS", help="How many hours the jobs may take at most.")
    ] = None,
    front_share: Annotated[
        str | None,
        typer.Option(
            "--front-share",
            metavar="SHARE",
            help="The share of the load on the front axle, as the class weighs the car: 52%..54%, ..54% or 52%..",
        ),
    ] = None,
    must: Annotated[
        list[str] | None,
        typer.Option("--must", metavar="JOB", help="A job that is to be done; may be given again."),
    ] = None,
    forbid: Annotated[
        list[str] | None,
        typer.Option("--forbid", metavar="JOB", help="A job that is not to be done; may be given again."),
    ] = None,
    undo: Annotated[bool, typer.Option("--undo", help="Done jobs may be undone too.")] = False,
    confidence: ConfidenceOption = None,
    frontier: Annotated[
        bool, typer.Option("--frontier", help="All trade-offs of cost against mass, in place of one route.")
    ] = False,
    seconds: Annotated[float, typer.Option("--seconds", min=0.1, max=3600, help="How long to search at most.")] = 20.0,
    on: DayOption = None,
    proposed: ProposedOption = False,
    as_json: JsonOption = False,
) -> None:
    """The cheapest legal jobs that reach the minimum. Or, where none do, the lightest that may be had.

    Exit status: 0 where there is a route, proven best; 1 where there is none; 3 where the time ran out before that was
    proven.
    """
    from tarebook import api
    from tarebook.cli.answers import edition_of
    from tarebook.judge.judging import CONFIDENCE
    from tarebook.route.demands import Demands

    if just_eligible and target is not None:
        raise Refused("--just-eligible asks for no target, so it does not go with --target.")
    the_car, editions = read_car_and_rules(car, rules)
    known_classes([class_id], editions)
    day = days_of(the_car, ["now"], on)["now"]
    edition = edition_of(class_id, editions, day, proposed)
    jobs = [job.id for job in the_car.file.job if undo or job.state != "done"]
    wanted, unwanted = (frozenset(_jobs(each or [], jobs, the_car)) for each in (must, forbid))
    if wanted & unwanted:
        raise Refused(f'--must and --forbid both name "{min(wanted & unwanted)}".')
    least, most = _shares(front_share)
    demands = Demands(
        target=_mass(target, the_car),
        just_eligible=just_eligible,
        budget=None if budget is None else money_named("--budget", budget, the_car),
        hours=_hours(hours),
        front_least=least,
        front_most=most,
        must=wanted,
        forbid=unwanted,
        undo=undo,
        confidence=CONFIDENCE if confidence is None else confidence_named(confidence),
    )
    found = api.route(
        the_car,
        editions,
        f"{edition.id}/{class_id.rpartition('/')[2]}",
        on=day,
        demands=demands,
        trade_offs=frontier,
        proposed=proposed,
        seconds=seconds,
    )
    if as_json:
        from tarebook.show.route_json import route_document

        print_json(route_document(found, frontier=frontier))
    else:
        from tarebook.show.route import route_lines

        print("\n".join(route_lines(found, the_car)))
    raise typer.Exit({"proven": FOUND, "impossible": IMPOSSIBLE}.get(found.outcome, NOT_PROVEN))


def _jobs(asked: list[str], free: list[str], car: "Car") -> list[str]:
    known_names("job", asked, [job.id for job in car.file.job])
    for job in asked:
        if job not in free:
            raise Refused(f'Job "{job}" is done already; --undo lets a route undo done jobs.')
    return asked


def _mass(text: str | None, car: "Car") -> Fraction | None:
    """A mass in kg, in the car's unit where it names none."""
    from tarebook.quantities import QuantityError, parse_quantity

    if text is None:
        return None
    unit = "" if any(each.isalpha() for each in text) else f" {car.units.get('mass') or 'kg'}"
    try:
        target = parse_quantity(text + unit, "mass").value
    except QuantityError as error:
        raise Refused(f"--target: {error}.") from None
    if target <= 0:
        raise Refused(f'--target: "{text}" is no mass that a car may have.')
    return target


def _hours(text: str | None) -> Fraction | None:
    if text is None:
        return None
    number = _number(text)
    if number is None or number < 0:
        raise Refused(f'--hours: "{text}" is no number of hours: write one such as 12 or 7.5.')
    return number


def _shares(text: str | None) -> tuple[Fraction | None, Fraction | None]:
    if text is None:
        return None, None
    low, dots, high = text.partition("..")
    if not dots or not (low.strip() or high.strip()):
        raise Refused(f'--front-share: "{text}" has no two ends: {SHARES}.')
    ends = tuple(_share(each) if each.strip() else None for each in (low, high))
    if any(each is None and side.strip() for each, side in zip(ends, (low, high), strict=True)):
        raise Refused(f'--front-share: "{text}" cannot be read: {SHARES}.')
    least, most = ends
    if least is not None and most is not None and least > most:
        raise Refused(f'--front-share: "{text}" ends before it begins.')
    return least, most


def _share(text: str) -> Fraction | None:
    """A share such as "54%" or "0.54", between nothing and all."""
    text = text.strip()
    number = _number(text.removesuffix("%").strip())
    if number is None:
        return None
    share = number / 100 if text.endswith("%") else number
    return share if 0 <= share <= 1 else None


def _number(text: str) -> Fraction | None:
    """A plain decimal number; None for anything else."""
    digits = text.strip()
    if len(digits) > 20 or not digits.replace(".", "", 1).isdecimal() or not digits.isascii():
        return None
    return Fraction(digits)
