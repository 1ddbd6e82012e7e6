"""Conditions: what an `if` or a `must` says, read into a small tree of plain nodes.

There is no expression language: a condition is a table, and all of its entries hold together. The nodes carry
typed, exact values (`Fraction` in base units, `date`, text, yes or no); `tarebook.judge.conditions` evaluates them.
"""

import datetime
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.fact_values import NUMERIC_TYPES, QUANTITY_TYPES, FactError, Value, read_value
from tarebook.facts import Fact
from tarebook.fields import read_quantity
from tarebook.kinds import KindTree
from tarebook.names import did_you_mean
from tarebook.quantities import QuantityError
from tarebook.tables import MOST_HINTS
from tarebook.toml_source import Mistake, Source

EVENTS = ("fitted", "removed", "swapped", "lightened", "moved", "off", "from_factory")
COMBINERS = ("any", "all", "not", "as_made")
RESERVED = (*EVENTS, *COMBINERS)
BOUND_WORDS = ("least", "most", "over", "under", "up_to")


class AsMade(NamedTuple):
    """A bound that is another figure of the car as it was made, plus something."""

    fact: str
    plus: Fraction


class Bounds(NamedTuple):
    """Lower and upper bounds: each a value and whether the value itself is left out."""

    lower: tuple[tuple[Fraction | AsMade, bool], ...] = ()
    upper: tuple[tuple[Fraction | AsMade, bool], ...] = ()


class All(NamedTuple):
    parts: "tuple[Node, ...]"


class AnyOf(NamedTuple):
    parts: "tuple[Node, ...]"


class Not(NamedTuple):
    part: "Node"


class ReadAsMade(NamedTuple):
    """The same test, on the facts before any job's `sets`."""

    part: "Node"


class IsOneOf(NamedTuple):
    fact: str
    values: tuple[Value, ...]


class Within(NamedTuple):
    """A number, a quantity in base units, or a date (as its ordinal day) lies within bounds."""

    fact: str
    bounds: Bounds


class Aged(NamedTuple):
    """Whole years from a date to the day of the build lie within bounds."""

    fact: str
    bounds: Bounds


class Happened(NamedTuple):
    """`fitted`, `removed`, `swapped`, `lightened`, `moved`, `off` or `from_factory`, of any of the kinds."""

    event: str
    kinds: tuple[str, ...]


Node = All | AnyOf | Not | ReadAsMade | IsOneOf | Within | Aged | Happened


def walk(node: Node) -> Iterator[Node]:
    """The node and every node within it."""
    yield node
    if isinstance(node, (All, AnyOf)):
        for part in node.parts:
            yield from walk(part)
    elif isinstance(node, (Not, ReadAsMade)):
        yield from walk(node.part)


def _apart(lower: tuple[Fraction | AsMade, bool], upper: tuple[Fraction | AsMade, bool]) -> bool:
    """Whether nothing lies between two bounds; of a bound that depends on the car, no."""
    (low, above), (high, below) = lower, upper
    if isinstance(low, AsMade) or isinstance(high, AsMade):
        return False
    return low > high or (low == high and (above or below))


class ConditionReader:
    """Reads the conditions of one file, and collects what is wrong in them."""

    def __init__(self, source: Source, facts: dict[str, Fact], tree: KindTree, units: dict[str, str | None]) -> None:
        self._source = source
        self._facts = facts
        self._tree = tree
        self._units = units
        self.mistakes: list[Mistake] = []
        self.currencies: dict[str, str] = {}  # by money fact: the one currency of all that it is compared with

    def read(self, table: dict[str, Any], path: tuple[str | int, ...]) -> Node:
        """Read a condition table found at `path`."""
        if not table:
            self._mistake(path, "this condition says nothing", "name a fact, such as { seats = 4 }, or take it out")
        return All(tuple(node for key, value in table.items() for node in self._entry(key, value, (*path, key))))

    def kind_known(self, kind: object, path: tuple[str | int, ...]) -> bool:
        """Note a mistake unless `kind` is in the tree or is the root, "everything"."""
        if not isinstance(kind, str):
            self._mistake(path, "a kind is a text in quotes")
            return False
        if kind == "everything" or kind in self._tree:
            return True
        hint = self._tree.suggest(kind) if len(self.mistakes) < MOST_HINTS else ""
        self._mistake(path, f'there is no kind "{kind}"', hint or "tarebook kinds lists them", what="unknown-kind")
        return False

    def fact_known(self, name: object, path: tuple[str | int, ...], *, key: bool = False) -> Fact | None:
        """The fact of that name; else a mistake is noted."""
        if isinstance(name, str):
            fact = self._facts.get(name)
            if fact is not None:
                return fact
            known = [*self._facts, *RESERVED] if key else list(self._facts)
            hint = did_you_mean(name, known) if len(self.mistakes) < MOST_HINTS else ""
            lists = "tarebook facts lists them; a book may declare its own with [[fact]]"
            self._mistake(path, f'there is no fact "{name}"', hint or lists, key=key, what="unknown-fact")
        else:
            self._mistake(path, "a fact is named by a text in quotes")
        return None

    def _value(self, value: object, fact: Fact) -> Value:
        read = read_value(value, fact, self._units)
        if fact.type == "money":
            unit = read_quantity(value, "money", self._units).unit
            if self.currencies.setdefault(fact.id, unit) != unit:
                raise FactError(f"{fact.id} is compared in {self.currencies[fact.id]} elsewhere: keep to one currency")
        return read

    def _mistake(
        self, path: tuple[str | int, ...], message: str, hint: str = "", *, key: bool = False, what: str = "mistake"
    ) -> None:
        self.mistakes.append(self._source.mistake(path, message, hint, key=key, what=what))

    def _entry(self, key: str, value: object, path: tuple[str | int, ...]) -> Iterator[Node]:
        if key in ("any", "all"):
            yield from self._combined(key, value, path)
        elif key in ("not", "as_made"):
            if not isinstance(value, dict):
                self._mistake(path, f"{key} holds a table, such as {key} = {{ seats = 4 }}")
                return
            node = self.read(value, path)
            if key == "as_made" and any(isinstance(part, Happened) for part in walk(node)):
                self._mistake(path, "as_made reads facts only: fitted, removed and the like belong outside it")
            yield Not(node) if key == "not" else ReadAsMade(node)
        elif key in EVENTS:
            kinds = value if isinstance(value, list) else [value]
            if not kinds:
                self._mistake(path, f"{key} names no kind")
            known = [
                self.kind_known(kind, (*path, index) if isinstance(value, list) else path)
                for index, kind in enumerate(kinds)
            ]
            if kinds and all(known):
                yield Happened(key, tuple(str(kind) for kind in kinds))
        else:
            fact = self.fact_known(key, path, key=True)
            if fact is not None:
                yield from self._fact_test(fact, value, path)

    def _combined(self, key: str, value: object, path: tuple[str | int, ...]) -> Iterator[Node]:
        if not isinstance(value, list) or not value or not all(isinstance(part, dict) for part in value):
            self._mistake(path, f"{key} holds a list of tables, such as {key} = [{{ seats = 4 }}, {{ doors = 5 }}]")
            return
        parts = tuple(self.read(part, (*path, index)) for index, part in enumerate(value))
        yield AnyOf(parts) if key == "any" else All(parts)

    def _fact_test(self, fact: Fact, value: object, path: tuple[str | int, ...]) -> Iterator[Node]:
        if isinstance(value, dict):
            yield from self._bounds_test(fact, value, path)
            return
        values = value if isinstance(value, list) else [value]
        if not values:
            self._mistake(path, f"{fact.id} is compared with an empty list")
            return
        read = []
        for index, each in enumerate(values):
            try:
                read.append(self._value(each, fact))
            except FactError as error:
                self._mistake((*path, index) if isinstance(value, list) else path, str(error))
        if len(read) == len(values):
            yield IsOneOf(fact.id, tuple(read))

    def _bounds_test(self, fact: Fact, table: dict[str, Any], path: tuple[str | int, ...]) -> Iterator[Node]:
        if fact.type == "date" and "age" in table:
            if len(table) > 1:
                self._mistake(path, "age stands alone: write a second entry under all = [..] for another bound")
            elif not isinstance(table["age"], dict):
                self._mistake((*path, "age"), "age holds bounds in years, such as { over = 25 }")
            elif tables := [word for word, bound in table["age"].items() if isinstance(bound, dict)]:
                self._mistake((*path, "age", tables[0]), "an age is bounded by a plain number of years")
            else:
                years = Fact(f"{fact.id}.age", "count", "", "")
                bounds = self._bounds(years, table["age"], (*path, "age"))
                if bounds is not None:
                    yield Aged(fact.id, bounds)
            return
        if fact.type not in NUMERIC_TYPES and fact.type != "date":
            self._mistake(path, f"{fact.id} has no size: compare it with a value or a list of values")
            return
        bounds = self._bounds(fact, table, path)
        if bounds is not None:
            yield Within(fact.id, bounds)

    def _bounds(self, fact: Fact, table: dict[str, Any], path: tuple[str | int, ...]) -> Bounds | None:
        lower: list[tuple[Fraction | AsMade, bool]] = []
        upper: list[tuple[Fraction | AsMade, bool]] = []
        before = len(self.mistakes)
        if not table:
            self._mistake(path, f"bounds on {fact.id} are missing: {', '.join(BOUND_WORDS)}")
        for word, value in table.items():
            if word not in BOUND_WORDS:
                words = ("age", *BOUND_WORDS) if fact.type == "date" else BOUND_WORDS
                hint = did_you_mean(word, words) or f"bounds are {', '.join(words)}"
                self._mistake((*path, word), f'unknown bound "{word}" on {fact.id}', hint, key=True)
                continue
            bound = self._bound(fact, value, (*path, word))
            if bound is not None:
                side = lower if word in ("least", "over") else upper
                side.append((bound, word in ("over", "under")))
        if any(_apart(low, high) for low in lower for high in upper):
            self._mistake(path, f"no {fact.id} can lie within these bounds")
        return Bounds(tuple(lower), tuple(upper)) if len(self.mistakes) == before else None

    def _bound(self, fact: Fact, value: object, path: tuple[str | int, ...]) -> Fraction | AsMade | None:
        if isinstance(value, dict):
            return self._as_made_bound(fact, value, path)
        try:
            read = self._value(value, fact)
        except FactError as error:
            self._mistake(path, str(error))
            return None
        if isinstance(read, datetime.date):
            return Fraction(read.toordinal())
        assert isinstance(read, Fraction)
        return read

    def _as_made_bound(self, fact: Fact, table: dict[str, Any], path: tuple[str | int, ...]) -> AsMade | None:
        for key in table:
            if key not in ("as_made", "plus"):
                hint = did_you_mean(key, ("as_made", "plus"))
                self._mistake((*path, key), f'unknown key "{key}" in a bound', hint, key=True)
                return None
        if "as_made" not in table:
            self._mistake(path, 'a bound that is a table names a fact, such as { as_made = "track_front" }')
            return None
        other = self.fact_known(table["as_made"], (*path, "as_made"))
        if other is None:
            return None
        if other.type != fact.type or fact.type in ("date", "money"):
            self._mistake((*path, "as_made"), f"{fact.id} cannot be bounded by {other.id}: they are not of one measure")
            return None
        plus = Fraction(0)
        if "plus" in table:
            try:
                if fact.type in QUANTITY_TYPES:
                    plus = read_quantity(table["plus"], fact.type, self._units, signed=True).value
                elif isinstance(table["plus"], (int, Decimal)) and not isinstance(table["plus"], bool):
                    plus = Fraction(table["plus"])
                else:
                    raise QuantityError("plus is a plain number here")
            except QuantityError as error:
                self._mistake((*path, "plus"), str(error))
                return None
        return AsMade(other.id, plus)
