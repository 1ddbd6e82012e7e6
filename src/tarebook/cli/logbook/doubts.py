"""What looks like a slip in a new entry, and where a part is that is only known to be in a zone."""

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING

from tarebook.cli.logbook.questions import Values, known_entry, say, sentence, tree_of
from tarebook.cli.status import Refused

if TYPE_CHECKING:
    from tarebook.api import Car
    from tarebook.quantities import Quantity

_DECIMALS = {"mm": 0, "cm": 1, "m": 3, "in": 1, "ft": 2}


def doubts_of_part(car: "Car", values: Values) -> list[str]:
    """What to ask about the masses of a new part."""
    from tarebook.car.plausible import questions

    tree, kind = tree_of(car), values.get(("kind",), "")
    asked: list[str] = []
    for key in (("mass",), ("mass_each",), ("mass_together",)):
        pieces = values.get(("count",), 1) if key == ("mass_each",) else 1
        asked += questions(kind, masses(values.get(key, ())), tree, pieces=pieces)
    if judged := values.get(("estimate", "mass")):
        asked += questions(kind, masses([judged]), tree)
    return asked


def doubts_of_weighing(car: "Car", values: Values) -> list[str]:
    """What to ask about a new weighing: readings that differ, and a car far from what it weighed before."""
    from tarebook.car.plausible import against_earlier, questions

    loads = [masses(each) for key, each in values.items() if key[0] in ("corners", "axles", "total")]
    asked = [question for each in loads for question in questions("", each, tree_of(car))]
    earlier = []
    for weighing in sorted(car.file.weighing, key=lambda each: each.date):
        table = weighing.corners or weighing.axles
        earlier.append(_whole([weighing.total] if table is None else table.as_dict().values()))
    return asked + against_earlier(_whole(loads), [each for each in earlier if each])


def _whole(loads: "Iterable[list[Quantity] | None]") -> Fraction:
    """The sum of the means, in kg."""
    return sum((Fraction(sum(each.value for each in load), len(load)) for load in loads if load), Fraction(0))


def masses(texts: Iterable[str]) -> "list[Quantity]":
    """Readings that have been found to be masses."""
    from tarebook.quantities import parse_quantity

    return [parse_quantity(text, "mass") for text in texts]


def place_in_zone(car: "Car", values: Values, zone: str) -> None:
    """Where a part is that is in a zone: at the zone's middle, unless its place is given. Raises Refused."""
    from tarebook.car.editing.answers import Unfit
    from tarebook.quantities import format_quantity, parse_quantity

    try:
        found = car.file.zone[known_entry(car, "zone", zone)]
    except Unfit as unfit:
        raise Refused(f"--zone: {sentence(str(unfit))}") from None
    if ("at",) not in values:
        unit = found.from_.unit
        middle = format_quantity((found.from_.value + found.to.value) / 2, unit, "length", _DECIMALS.get(unit, 3))
        values[("at",)] = middle
        say(f'Its place is taken to be the middle of zone "{zone}", {middle}: measure it when you can.')
    elif not found.from_.value <= parse_quantity(values[("at",)], "length").value <= found.to.value:
        raise Refused(f'--at: {values[("at",)]} is not within zone "{zone}". Give either of them, or correct one.')
