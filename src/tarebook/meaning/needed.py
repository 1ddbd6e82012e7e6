"""Which variables some conditions and part bounds speak of, and where they cut them."""

import datetime
from collections.abc import Container, Iterable
from fractions import Fraction
from typing import NamedTuple

from tarebook.facts import Fact
from tarebook.judge.bounds import read_range
from tarebook.meaning.variables import DAYS, FROM_ZERO, SIGNED, SIGNED_WHOLE, WHOLE, Case, Key, Line
from tarebook.rules.conditions import Aged, All, AnyOf, AsMade, Bounds, Happened, IsOneOf, Node, Not, ReadAsMade
from tarebook.rules.models import PartBounds

MEASURES: dict[str, Line] = {
    "weighs": FROM_ZERO,
    "weight_removed": SIGNED,
    "share_of_original": FROM_ZERO,
    "share_removed": SIGNED,
    "thickness": FROM_ZERO,
    "at": SIGNED,
}
SHARES = ("share_of_original", "share_removed")
YES_NO: tuple[Case, ...] = (False, True)
ORIGINS: tuple[Case, ...] = ("factory", "aftermarket")
ORIGINAL: Key = ("part", "as-original")
MATERIAL: Key = ("part", "material")
PLACE: Key = ("part", "place")
OTHER = None  # a text, material or place that nothing names


class Difference(NamedTuple):
    """A figure less another one as made; `turned` if the other way round, as one key serves two figures as made."""

    key: Key
    turned: bool

    def plus(self, amount: Fraction) -> Fraction:
        return -amount if self.turned else amount


def difference(fact: str, made: bool, other: str) -> Difference:
    if made and other < fact:
        return Difference(("difference", other, "as made", fact), True)
    return Difference(("difference", fact, "as made" if made else "", other), False)


def fact_key(fact: str, made: bool) -> Key:
    return ("fact", fact, "as made" if made else "")


def age_key(fact: str, made: bool) -> Key:
    return ("age", fact, "as made" if made else "")


class Needed:
    """Collects variables. `lines` have cut points, `named` have named cases, `kinds` are by event."""

    def __init__(self, facts: dict[str, Fact], counted: Container[str]) -> None:
        self.lines: dict[Key, tuple[Line, set[Fraction]]] = {}
        self.named: dict[Key, dict[Case, None]] = {}
        self.kinds: dict[str, set[str]] = {}
        self._facts = facts
        self._counted = counted

    def condition(self, node: Node, made: bool = False) -> None:
        if isinstance(node, (All, AnyOf)):
            for part in node.parts:
                self.condition(part, made)
        elif isinstance(node, (Not, ReadAsMade)):
            self.condition(node.part, made or isinstance(node, ReadAsMade))
        elif isinstance(node, Happened):
            for event in events(node.event):
                self.kinds.setdefault(event, set()).update(node.kinds)
        elif isinstance(node, IsOneOf):
            self._values(node, made)
        elif isinstance(node, Aged):
            self._cut(age_key(node.fact, made), SIGNED_WHOLE, (edge for edge, _ in _edges(node.bounds)))
        else:
            plain = [edge for edge, _ in _edges(node.bounds) if isinstance(edge, Fraction)]
            self._cut(fact_key(node.fact, made), self._line(node.fact), plain)
            for edge, _ in _edges(node.bounds):
                if isinstance(edge, AsMade):
                    apart = difference(node.fact, made, edge.fact)
                    whole = self._line(node.fact).whole and self._line(edge.fact).whole
                    self._cut(apart.key, SIGNED_WHOLE if whole else SIGNED, [apart.plus(edge.plus)])

    def _line(self, fact: str) -> Line:
        kind = self._facts[fact].type
        if kind == "date":
            return DAYS
        # A factor of the class makes a count any number.
        return WHOLE if kind == "count" and fact not in self._counted else FROM_ZERO

    def _values(self, node: IsOneOf, made: bool) -> None:
        key, kind = fact_key(node.fact, made), self._facts[node.fact].type
        if kind == "yes-no":
            self._name(key, YES_NO)
        elif kind in ("choice", "text"):
            first = self._facts[node.fact].choices if kind == "choice" else (OTHER,)
            # The values of a choice and of a text were read as texts: the node's type is wider.
            self._name(key, (*first, *node.values))  # type: ignore[arg-type]
        else:
            self._cut(key, self._line(node.fact), map(as_number, node.values))

    def part(self, bounds: PartBounds) -> None:
        for measure, line in MEASURES.items():
            limits = getattr(bounds, measure)
            if limits is not None:
                lower, upper = read_range(limits)
                self._cut(("part", measure), line, (edge for edge, _ in (*lower, *upper)))
        if bounds.origin is not None:
            self._name(("part", "origin"), ORIGINS)
        if bounds.material == "as-original":
            self._name(ORIGINAL, YES_NO)
        elif bounds.material is not None:
            self._name(MATERIAL, (OTHER, *(each.casefold() for each in bounds.material)))
        if bounds.material_not is not None:
            self._name(MATERIAL, (OTHER, *(each.casefold() for each in bounds.material_not)))
        for key in yes_no_particulars(bounds):
            self._name(key, YES_NO)
        if bounds.place is not None:
            self._name(PLACE, (OTHER, *bounds.place))

    def _cut(self, key: Key, line: Line, cuts: Iterable[Fraction | AsMade]) -> None:
        points = self.lines.setdefault(key, (line, set()))[1]
        points.update(each for each in cuts if isinstance(each, Fraction))

    def _name(self, key: Key, cases: tuple[Case, ...]) -> None:
        self.named.setdefault(key, {}).update(dict.fromkeys(cases))


def yes_no_particulars(bounds: PartBounds) -> list[Key]:
    """What a part is or has, or not; approvals are alternatives, the rest add up."""
    found: list[Key] = [("part", word) for word in ("behind", "within", "years") if getattr(bounds, word) is not None]
    return found + [("approval", name) for name in bounds.approval or ()]


def events(event: str) -> tuple[str, ...]:
    return ("removed", "swapped") if event == "off" else (event,)


def as_number(value: object) -> Fraction:
    """A figure or a date (by its day) as a number."""
    if isinstance(value, datetime.date):
        return Fraction(value.toordinal())
    assert isinstance(value, Fraction)
    return value


def _edges(bounds: Bounds) -> tuple[tuple[Fraction | AsMade, bool], ...]:
    return (*bounds.lower, *bounds.upper)
