"""Words for findings: names of parts, values of facts, lists. Figures stay exact until they are written here."""

from collections.abc import Iterable
from fractions import Fraction

from tarebook.car.configurations import Inventory
from tarebook.fact_values import QUANTITY_TYPES, Value
from tarebook.facts import Fact
from tarebook.judge.situation import Situation
from tarebook.kinds import KindTree
from tarebook.quantities import format_quantity, in_unit

PAST = {"remove": "removed", "swap": "swapped", "fit": "fitted", "lighten": "lightened", "move": "moved"}
GERUND = {
    "remove": "removing",
    "swap": "swapping",
    "fit": "fitting",
    "lighten": "lightening",
    "move": "moving",
}


def part_title(part_id: str, inventory: Inventory) -> str:
    part = inventory.parts.get(part_id)
    return part.title or part_id if part is not None else part_id


def kind_title(kind: str, tree: KindTree) -> str:
    return "everything" if kind == "everything" else tree.get(kind).title


def listed(words: Iterable[str], last: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    *others, end = list(words) or [""]
    return f"{', '.join(others)} {last} {end}" if others else end


def plain_number(value: Fraction | float, most: int = 3) -> str:
    """A number with at most so many decimals, and none that are zero."""
    text = f"{float(value):.{most}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def mass_text(kilograms: float, unit: str) -> str:
    """A mass in kg for people, in the unit of the car file: "930.2 kg", "969 kg"."""
    return f"{plain_number(in_unit(Fraction(kilograms), unit, 'mass'), 1)} {unit}"


def fact_text(value: Value | None, fact: Fact) -> str:
    """A fact's value for people, in its usual unit."""
    if value is None:
        return "not stated"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Fraction):
        if fact.type in QUANTITY_TYPES and fact.type != "money":
            unit = fact.unit or {"mass": "kg", "length": "mm", "volume": "L", "power": "kW"}[fact.type]
            text = format_quantity(value, unit, fact.type, 3)
            number, _, rest = text.partition(" ")
            return f"{number.rstrip('0').rstrip('.') if '.' in number else number} {rest}"
        return plain_number(value)
    return str(value)


def facts_text(names: Iterable[str], situation: Situation, facts: dict[str, Fact]) -> dict[str, str]:
    """The facts that a finding looked at."""
    found = {}
    for name in names:
        text = fact_text(situation.facts.get(name), facts[name])
        found[name] = f"{text} (assumed)" if name in situation.assumed else text
    return found
