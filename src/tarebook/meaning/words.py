"""Conditions, part bounds and limits in plain words: short, and exact."""

import datetime
from collections.abc import Callable, Iterable, Mapping
from fractions import Fraction
from typing import Any

from tarebook.fact_values import QUANTITY_TYPES, Value
from tarebook.facts import Fact
from tarebook.fields import DEFAULT_UNITS
from tarebook.judge.bounds import read_range
from tarebook.judge.wording import kind_title, listed
from tarebook.kinds import KindTree
from tarebook.quantities import canonical_unit, in_unit
from tarebook.rules.conditions import Aged, All, AnyOf, AsMade, Bounds, Happened, IsOneOf, Node, Not, ReadAsMade
from tarebook.rules.limits import Amount, Banded, ByCase, LimitSpec, Linear
from tarebook.rules.models import PartBounds
from tarebook.rules.reading import RuleSet

Units = Mapping[str, str | None]
_Edges = tuple[tuple[Any, bool], ...]
HAPPENED = {"off": "removed or swapped", "from_factory": "there from the factory"}


def units_of(rules: RuleSet) -> Units:
    """The units of a rule set's bare numbers, by dimension: its amounts are told in them."""
    units = rules.file.units
    return {dimension: getattr(units, dimension) for dimension in (*DEFAULT_UNITS, "money")}


def number_text(value: Fraction) -> str:
    """A number written out in full, or with six decimals and "about" where it does not end."""
    digits, rest = 0, value.denominator
    for prime in (2, 5):
        count = 0
        while rest % prime == 0:
            rest //= prime
            count += 1
        digits = max(digits, count)
    if rest != 1:
        return f"about {float(value):.6f}".rstrip("0").rstrip(".")
    text = str(abs(int(value * 10**digits))).rjust(digits + 1, "0")
    whole = f"{text[:-digits]}.{text[-digits:]}" if digits else text
    return f"-{whole}" if value < 0 else whole


def amount_text(value: Fraction, dimension: str, unit: str | None) -> str:
    """An amount in base units, in this unit if it can be written out in it, else in the base unit: "930 kg"."""
    unit = unit or DEFAULT_UNITS.get(dimension)
    if unit is None:
        return number_text(value)
    counted = in_unit(value, unit, dimension)
    if (text := number_text(counted)).startswith("about") and dimension in DEFAULT_UNITS:
        unit, text = DEFAULT_UNITS[dimension], number_text(value)
    return f"{text} {canonical_unit(unit, dimension)}"


def figure_text(value: Value, fact: Fact, units: Units) -> str:
    """A fact's value: yes or no, a choice, a figure in the fact's usual unit, a date."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, Fraction):
        return str(value)
    if fact.type in QUANTITY_TYPES:
        return amount_text(value, fact.type, fact.unit or units.get(fact.type))
    return number_text(value) + (f" {fact.unit}" if fact.unit else "")


def inside(title: str) -> str:
    """A title within a sentence."""
    return title if title[1:2].isupper() else title[:1].lower() + title[1:]


def condition_text(node: Node | None, facts: Mapping[str, Fact], tree: KindTree, units: Units) -> str:
    """A condition in words: "displacement over 1400 cm3 and up to 1600 cm3, and roll cage fitted"; none is "always"."""
    return "always" if node is None else _Words(facts, tree, units).node(node)


class _Words:
    def __init__(self, facts: Mapping[str, Fact], tree: KindTree, units: Units) -> None:
        self._facts = facts
        self._tree = tree
        self._units = units

    def node(self, node: Node, *, nested: bool = False) -> str:
        if isinstance(node, (All, AnyOf)):
            if len(node.parts) == 1:
                return self.node(node.parts[0], nested=nested)
            word = "and" if isinstance(node, All) else "or"
            text = f", {word} ".join(self.node(part, nested=True) for part in node.parts)
            return f"({text})" if nested else text
        if isinstance(node, Not):
            return f"not {self._enclosed(node.part)}"
        if isinstance(node, ReadAsMade):
            return f"as made {self._enclosed(node.part)}"
        if isinstance(node, Happened):
            names = listed((inside(kind_title(kind, self._tree)) for kind in node.kinds), "or")
            return f"{names} {HAPPENED.get(node.event, node.event)}"
        fact = self._facts[node.fact]
        title = inside(fact.title)
        if isinstance(node, IsOneOf):
            values = listed((figure_text(value, fact, self._units) for value in node.values), "or")
            return f"{title}{':' if fact.type == 'yes-no' else ''} {values}"
        if isinstance(node, Aged):
            return f"{title} {self._bounds(node.bounds, Fact('', 'count', '', '', unit='years'))} ago"
        return f"{title} {self._bounds(node.bounds, fact)}"

    def _enclosed(self, node: Node) -> str:
        return f"({self.node(node)})"

    def _bounds(self, bounds: Bounds, fact: Fact) -> str:
        return _range_text(bounds.lower, bounds.upper, lambda edge: self._edge(edge, fact))

    def _edge(self, edge: Fraction | AsMade, fact: Fact) -> str:
        if isinstance(edge, AsMade):
            text = f"{inside(self._facts[edge.fact].title)} as made"
            if not edge.plus:
                return text
            return f"{text} {'plus' if edge.plus > 0 else 'less'} {figure_text(abs(edge.plus), fact, self._units)}"
        if fact.type == "date":
            return str(datetime.date.fromordinal(int(edge)))
        return figure_text(edge, fact, self._units)


def _range_text(lower: _Edges, upper: _Edges, text: Callable[[Any], str]) -> str:
    """ "over 3 kg and up to 5 kg", "at least 4", "under 2"; "4" where it is both the least and the most."""
    if lower == upper and len(lower) == 1 and not lower[0][1]:
        return text(lower[0][0])
    words = [f"{'over' if strict else 'at least'} {text(edge)}" for edge, strict in lower]
    words += [f"{'under' if strict else 'up to'} {text(edge)}" for edge, strict in upper]
    return listed(words)


def part_text(bounds: PartBounds | None, tree: KindTree, units: Units) -> str:
    """Bounds on a part in words, after "with a part": "of at least 5 kg, not of magnesium"; "" for none."""
    if bounds is None:
        return ""

    def mass(edge: Fraction) -> str:
        return amount_text(edge, "mass", units.get("mass"))

    def length(edge: Fraction) -> str:
        return amount_text(edge, "length", units.get("length"))

    found: list[str] = []
    for measure, show, sentence in (
        ("weighs", mass, "of {}"),
        ("share_of_original", number_text, "of {} of the original's mass"),
        ("weight_removed", mass, "with {} taken off"),
        ("share_removed", number_text, "with {} of its mass taken off"),
        ("thickness", length, "{} thick"),
        ("at", length, "{} behind the front axle"),
    ):
        limits = getattr(bounds, measure)
        if limits is not None:
            found.append(sentence.format(_range_text(*read_range(limits), show)))
    if bounds.origin is not None:
        found.append("from the factory" if bounds.origin == "factory" else "from the aftermarket")
    if bounds.material is not None:
        original = bounds.material == "as-original"
        found.append("of the original's material" if original else f"of {listed(bounds.material, 'or')}")
    if bounds.material_not is not None:
        found.append(f"not of {listed(bounds.material_not, 'or')}")
    if bounds.years is not None:
        found.append("made for the car's model year")
    if bounds.approval is not None:
        found.append(f"approved to {listed(bounds.approval, 'or')}")
    if bounds.behind is not None:
        found.append("behind the driver")
    if bounds.within is not None:
        found.append("within the wheelbase")
    if bounds.place is not None:
        found.append(f"in {listed((inside(kind_title(kind, tree)) for kind in bounds.place), 'or')}")
    return ", ".join(found)


def band_text(over: Fraction | None, up_to: Fraction | None, fact: Fact, units: Units) -> str:
    """A stretch of a figure: "over 1400 cm3 and up to 1600 cm3", "up to 1400 cm3" from zero, "over 1600 cm3"."""
    lower = () if not over else ((over, True),)
    upper = () if up_to is None else ((up_to, False),)
    return _range_text(lower, upper, lambda edge: figure_text(edge, fact, units)) or "any figure"


def limit_text(spec: LimitSpec, facts: Mapping[str, Fact], units: Units) -> str:
    """A limit in words: "930 kg"; "by displacement: up to 1400 cm3 840 kg, over 1400 cm3 930 kg"; "11 kg/kW of power".

    Masses are told in the book's unit.
    """

    def mass(value: Fraction) -> str:
        return amount_text(value, "mass", units.get("mass"))

    form = spec.form
    if isinstance(form, Amount):
        text = mass(form.value)
    elif isinstance(form, Linear):
        text = _linear_text(form, facts, units)
    elif isinstance(form, (Banded, ByCase)):
        fact = facts[form.fact]
        rows: Iterable[str]
        if isinstance(form, Banded):
            rows = [f"{band_text(each.over, each.up_to, fact, units)} {mass(each.value)}" for each in form.bands]
        else:
            rows = [f"{figure_text(value, fact, units)} {mass(amount)}" for value, amount in form.cases]
        rest = [] if form.otherwise is None else [f"otherwise {mass(form.otherwise)}"]
        text = f"by {inside(fact.title)}: {', '.join([*rows, *rest])}"
    else:
        text = "the sum of the axle limits"
    return text if spec.least is None else f"{text}, and at least {mass(spec.least)}"


def _linear_text(form: Linear, facts: Mapping[str, Fact], units: Units) -> str:
    title = inside(facts[form.fact].title)
    if form.rate_of:
        unit = {"mass/power": "kg/kW", "mass/volume": "kg/L"}[form.rate_of]
        return f"{number_text(form.rate)} {unit} of {title}"
    text = title if form.rate == 1 else f"{number_text(form.rate)} of {title}"
    if form.plus:
        amount = amount_text(abs(form.plus), "mass", units.get("mass"))
        text += f" {'plus' if form.plus > 0 else 'less'} {amount}"
    return text
