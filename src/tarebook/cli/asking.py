"""What the commands about a car share: their arguments, the reading of files, and the names and days asked for."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from tarebook.cli.status import Refused

if TYPE_CHECKING:
    import datetime
    from fractions import Fraction

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
ProposedOption = Annotated[bool, typer.Option("--proposed", help="Count proposed bulletins too.")]
BuildsOption = Annotated[
    list[str] | None,
    typer.Option("--build", "-b", help="A build to judge; may be given again. [default: all]", show_default=False),
]
ConfidenceOption = Annotated[
    str | None,
    typer.Option(
        "--confidence",
        metavar="SHARE",
        help="The chance of keeping each limit that eligible asks for. [default: 97.5%]",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print one JSON document.")]


def read_car_and_rules(car: Path, rules: list[Path] | None) -> "tuple[Car, list[RuleSet]]":
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
    try:
        editions = load_rules(*(rules or rules_nearby(car)))
    except MistakesFound as found:
        mistakes.extend(found.mistakes)
    if mistakes or the_car is None:
        raise MistakesFound(tuple(mistakes))
    if not editions:
        raise Refused("Which rules? Name a rule-set file or a folder of them: --rules PATH.")
    return the_car, editions


def rules_nearby(car: Path) -> list[Path]:
    """Where rule sets are looked for if none are named: beside the car, else here."""
    return [folder for folder in (car.parent / "rulesets", Path("rulesets")) if folder.is_dir()][:1]


def known_names(what: str, asked: list[str], known: Any) -> list[str]:
    """The names asked for, each once. Raises Refused for one that is not known."""
    names = dict.fromkeys(known)
    for each in asked:
        if each not in names:
            from tarebook.names import did_you_mean

            hint = did_you_mean(each, names) or f"There are: {', '.join(names)}."
            raise Refused(f'There is no {what} "{each}". {hint[0].upper()}{hint[1:]}')
    return list(dict.fromkeys(asked))


def known_classes(asked: list[str], editions: "list[RuleSet]") -> list[str]:
    """The classes asked for, each once: by name, or by book and name as in "harrow-hills/street-trim".

    Raises Refused for one that is not known.
    """
    by_book = [f"{each.id}/{name}" for each in editions for name in each.class_ids]
    plain = [name for each in editions for name in each.class_ids]
    for each in asked:
        known_names("class", [each], by_book if "/" in each else plain)
    return list(dict.fromkeys(asked))


def day_named(text: str) -> "datetime.date":
    """A day as typed. Raises Refused."""
    import datetime

    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise Refused(f'"{text}" is not a date: write year, month and day, such as 2027-04-10.') from None


def confidence_named(text: str) -> float:
    """A chance such as "97.5%" or "0.975", at least a half and under one. Raises Refused."""
    from fractions import Fraction

    number = text.strip().removesuffix("%").strip()
    try:
        share = float(Fraction(number) / (100 if text.strip().endswith("%") else 1))
    except (ValueError, ZeroDivisionError):
        share = 0.0
    if not 0.5 <= share < 1:
        raise Refused(f'"{text}" is no such chance: write one of at least 50 % and under 100 %, such as 97.5%.')
    return share


def money_named(option: str, text: str, car: "Car") -> "Fraction":
    """An amount of money, in the car's own currency where it names none. Raises Refused."""
    from tarebook.quantities import QuantityError, parse_quantity
    from tarebook.route.taking_off import currency_of

    mine = currency_of(car.inventory)
    unit = "" if any(each.isalpha() for each in text) else f" {mine or 'EUR'}"
    try:
        amount = parse_quantity(text + unit, "money")
    except QuantityError as error:
        raise Refused(f"{option}: {error}.") from None
    if mine and amount.unit != mine:
        raise Refused(f"{option}: the car file counts in {mine}, not in {amount.unit}.")
    return amount.value


def days_of(car: "Car", builds: list[str], on: str | None) -> "dict[str, datetime.date]":
    """On which day to judge each build: the day asked for, else the build's own, else today."""
    import datetime

    if on is not None:
        return dict.fromkeys(builds, day_named(on))
    today = datetime.date.today()
    dates = {build.id: build.date for build in car.file.build}
    return {build: dates.get(build) or today for build in builds}


def print_json(document: Any) -> None:
    """Print the one document that a program asked for."""
    import json

    # In ASCII: a terminal acts on some of the other characters, and not every encoding has them all.
    json.dump(document, sys.stdout, indent=1, allow_nan=False)
    print()
