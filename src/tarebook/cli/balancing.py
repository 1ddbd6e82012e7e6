"""The options of `mass` about balance and ballast, and their answers."""

import re
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, NamedTuple

import typer

from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.show.balance import BallastAnswer, Stand
    from tarebook.weight.balance import Balance
    from tarebook.weight.ballasting import Wish
    from tarebook.weight.ledger import Ledger
    from tarebook.weight.terms import Axle

BalanceOption = Annotated[
    bool, typer.Option("--balance", help="Print how the car stands on its wheels, and what parts and jobs do to that.")
]
FrontShareOption = Annotated[
    str | None,
    typer.Option("--front-share", metavar="SHARE", help="Find the ballast for this share in front, such as 54%."),
]
AxleMinimumOption = Annotated[
    list[str] | None,
    typer.Option(
        "--axle-minimum",
        metavar="AXLE=MASS",
        help="Find the ballast for this least load of an axle, such as front=450kg; may be given again.",
        show_default=False,
    ),
]
BallastAtOption = Annotated[
    str | None,
    typer.Option("--ballast-at", metavar="PLACE", help='Where the ballast goes, behind the front axle: "300 mm".'),
]
BallastOption = Annotated[
    str | None, typer.Option("--ballast", metavar="MASS", help="How much ballast there is: says where it goes.")
]


class BallastAsked(NamedTuple):
    """What was asked of ballast: wishes, and either a place in mm behind the front axle or a mass in kg."""

    share: Fraction | None
    minima: "tuple[tuple[Axle, Fraction], ...]"
    at: Fraction | None
    mass: Fraction | None


def ballast_asked(
    front_share: str | None, axle_minimum: list[str] | None, ballast_at: str | None, ballast: str | None
) -> BallastAsked | None:
    """The options read; None where none was given. Raises Refused."""
    if front_share is None and not axle_minimum:
        if ballast_at is not None or ballast is not None:
            raise Refused("What is the ballast for? Name a share, --front-share 54%, or --axle-minimum front=450kg.")
        return None
    if (ballast_at is None) == (ballast is None):
        raise Refused('Say where the ballast goes, --ballast-at "300 mm", or how much there is, --ballast "20 kg".')
    return BallastAsked(
        None if front_share is None else _share(front_share),
        tuple(_minimum(each) for each in axle_minimum or ()),
        None if ballast_at is None else _quantity("--ballast-at", ballast_at, "length"),
        None if ballast is None else _quantity("--ballast", ballast, "mass"),
    )


def _share(text: str) -> Fraction:
    found = re.fullmatch(r"([0-9]{1,2}(?:\.[0-9]{1,6})?) ?%", text)
    if found is None or not Fraction(found[1]):
        raise Refused(f'--front-share: "{text}" is not a share: write a percentage below 100, such as 54%.')
    return Fraction(found[1]) / 100


def _minimum(text: str) -> "tuple[Axle, Fraction]":
    axle, _, amount = text.partition("=")
    if axle not in ("front", "rear") or not amount:
        raise Refused(f'--axle-minimum: "{text}" is not understood: write front= or rear= and a mass: front=450kg.')
    return ("front" if axle == "front" else "rear"), _quantity("--axle-minimum", amount, "mass")


def _quantity(option: str, text: str, dimension: str) -> Fraction:
    from tarebook.quantities import QuantityError, parse_quantity

    try:
        value = parse_quantity(text, dimension).value
    except QuantityError as error:
        raise Refused(f"{option}: {error}.") from None
    if dimension == "mass" and value < 0:
        raise Refused(f"{option}: a mass cannot be below zero here.")
    return value


def stand(ledger: "Ledger", build: str) -> "Stand":
    """How a build stands on its wheels, and what parts and jobs do to that."""
    from tarebook.show.balance import Stand
    from tarebook.weight.effects import effects_of_jobs, effects_of_parts

    configuration = ledger.inventory.build(build)
    balances = _balances(ledger, build)
    effects = [
        *effects_of_parts(ledger, configuration, balances["out"]),
        *effects_of_jobs(ledger, configuration, balances["out"]),
    ]
    return Stand(build, balances, effects)


def _balances(ledger: "Ledger", build: str) -> "dict[str, Balance]":
    """With nobody aboard, and with the driver, where the car file has one."""
    from tarebook.weight.balance import balance_of
    from tarebook.weight.ledger import Weighed

    configuration = ledger.inventory.build(build)
    found = {"out": balance_of(ledger, configuration, Weighed())}
    if ledger.car.driver is not None:
        found["aboard"] = balance_of(ledger, configuration, Weighed(driver="aboard"))
    return found


def ballast_answers(ledger: "Ledger", build: str, asked: BallastAsked) -> "list[BallastAnswer]":
    """The ballast that each wish asks for, with nobody aboard and with the driver."""
    from tarebook.show.balance import BallastAnswer
    from tarebook.weight.ballasting import Ballast, ballast_at, place_for

    found = []
    for aboard, balance in _balances(ledger, build).items():
        for wish, share, least in _wishes(balance, asked):
            answer: Ballast | None = None
            if wish is not None and balance.wheelbase is not None:
                if asked.at is not None:
                    answer = ballast_at(wish, asked.at, balance.wheelbase)
                elif asked.mass is not None:
                    answer = place_for(wish, asked.mass, balance.wheelbase)
            found.append(BallastAnswer(build, aboard, balance, wish, share, least, answer))
    return found


def _wishes(balance: "Balance", asked: BallastAsked) -> "list[tuple[Wish | None, Fraction | None, Fraction | None]]":
    from tarebook.weight.ballasting import for_axle, for_share

    front, whole, rear = balance.front, balance.total, balance.rear
    found: list[tuple[Wish | None, Fraction | None, Fraction | None]] = []
    if asked.share is not None:
        wish = None if front is None or whole is None else for_share(front, whole, asked.share)
        found.append((wish, asked.share, None))
    for axle, least in asked.minima:
        load = front if axle == "front" else rear
        found.append((None if load is None else for_axle(axle, load, least), None, least))
    return found
