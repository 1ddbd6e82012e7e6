"""The conditions and part bounds of two editions in one space, so that their meanings compare exactly."""

from collections.abc import Callable, Hashable
from dataclasses import replace
from typing import Any

from tarebook.judge.bounds import prepare_bounds
from tarebook.meaning.space import Diagram, Space, TooMany
from tarebook.rules.classes import Path, all_rules
from tarebook.rules.conditions import (
    Aged,
    All,
    AnyOf,
    AsMade,
    Bounds,
    Happened,
    IsOneOf,
    Node,
    Not,
    ReadAsMade,
    Within,
)
from tarebook.rules.models import PartBounds
from tarebook.rules.reading import RuleSet

AS_WRITTEN = "as written"  # instead of a diagram where one would grow too large


class Meanings:
    """What the conditions of two editions mean. A fact that they declare unlike each other is two facts."""

    def __init__(self, old: RuleSet, new: RuleSet) -> None:
        self.old = old
        self.new = new
        self._renamed = {name: f"{name} before" for name in old.facts if _unlike(name, old, new)}
        facts = dict(new.facts)
        for name, fact in old.facts.items():
            known = facts.get(name)
            if name in self._renamed:
                facts[self._renamed[name]] = fact
            elif known is None or known.choices != fact.choices:
                choices = tuple(dict.fromkeys((*fact.choices, *(known.choices if known else ()))))
                facts[name] = replace(fact, choices=choices)
        nodes = {id(node): renamed(node, self._renamed) for node in old.nodes.values()}
        nodes.update({id(node): node for node in new.nodes.values()})
        self._nodes = nodes
        self._space = Space(facts, nodes.values(), [*_bounds(old), *_bounds(new)], _counted(old) | _counted(new))
        self._known: dict[Hashable, Hashable] = {}
        self._full = False

    def condition(self, rules: RuleSet, path: Path, key: str = "if") -> Hashable:
        """The meaning of a condition of one of the editions; one that it does not have always holds."""
        node = rules.nodes.get((*path, key))
        return 1 if node is None else self.of(self._nodes[id(node)])

    def demand(self, rules: RuleSet, path: Path) -> Hashable:
        """The meaning of `must`, where `if` holds."""
        case, must = self.condition(rules, path), self.condition(rules, path, "must")
        if isinstance(case, tuple) or isinstance(must, tuple):
            return (AS_WRITTEN, case, must)
        try:
            return self._space.either(self._space.negated(_diagram(case)), _diagram(must))
        except TooMany:
            return (AS_WRITTEN, case, must)

    def demand_parts(self, rules: RuleSet, path: Path) -> list[tuple[Hashable, Node]]:
        """The conditions that a `must` holds together, each with its meaning and as written."""
        node = rules.nodes[(*path, "must")]
        parts = node.parts if isinstance(node, All) else (node,)
        return [(self.of(renamed(part, self._renamed if rules is self.old else {})), part) for part in parts]

    def of(self, node: Node) -> Hashable:
        """The meaning of a condition, the facts of the old edition renamed in it."""
        return self._asked((AS_WRITTEN, as_written(node)), lambda: self._space.holds(node))

    def part(self, bounds: PartBounds | None) -> Hashable:
        """The meaning of the bounds on a part."""
        written = (AS_WRITTEN, tuple(sorted(map(repr, prepare_bounds(bounds)))))
        return self._asked(written, lambda: self._space.keeps(bounds))

    def _asked(self, written: tuple[str, Hashable], ask: Callable[[], Diagram]) -> Hashable:
        """The diagram; once one has become too large, what is still asked for is taken as it is written."""
        if written not in self._known:
            self._known[written] = written
            if not self._full:
                try:
                    self._known[written] = ask()
                except TooMany:
                    self._full = True
        return self._known[written]

    def together(self, meanings: list[Hashable]) -> Hashable:
        """Several demands that hold together."""
        if not any(isinstance(each, tuple) for each in meanings):
            try:
                return self._space.both(*map(_diagram, meanings))
            except TooMany:
                pass
        return (AS_WRITTEN, frozenset(meanings))


def _diagram(meaning: Hashable) -> Diagram:
    # A meaning is either a tuple, as written, or a diagram; `Hashable` is wider than that.
    assert not isinstance(meaning, tuple)
    return meaning  # type: ignore[return-value]


def _unlike(name: str, old: RuleSet, new: RuleSet) -> bool:
    """Whether a fact of both editions is of another type, or is compared in another currency."""
    if name not in new.facts:
        return False
    return old.facts[name].type != new.facts[name].type or (
        old.currencies.get(name) != new.currencies.get(name) and name in old.currencies and name in new.currencies
    )


def _bounds(rules: RuleSet) -> list[PartBounds]:
    parts = [getattr(rule, "part", None) for _, rule, _ in all_rules(rules.file)]
    return [each for each in parts if each is not None]


def _counted(rules: RuleSet) -> frozenset[str]:
    return frozenset(rule.fact for form, rule, _ in all_rules(rules.file) if form == "counts")


def renamed(node: Node, names: dict[str, str]) -> Node:
    """The condition with other names for some facts."""
    if not names:
        return node
    if isinstance(node, (All, AnyOf)):
        return type(node)(tuple(renamed(part, names) for part in node.parts))
    if isinstance(node, (Not, ReadAsMade)):
        return type(node)(renamed(node.part, names))
    if isinstance(node, Happened):
        return node
    fact = names.get(node.fact, node.fact)
    if isinstance(node, Within):
        sides = (
            tuple(
                (edge._replace(fact=names.get(edge.fact, edge.fact)) if isinstance(edge, AsMade) else edge, strict)
                for edge, strict in side
            )
            for side in node.bounds
        )
        return Within(fact, Bounds(*sides))
    return node._replace(fact=fact)


def as_written(node: Node) -> Hashable:
    """A condition as it is written, but for the order of its entries."""
    if isinstance(node, (All, AnyOf)):
        return (type(node).__name__, frozenset(map(as_written, node.parts)))
    if isinstance(node, (Not, ReadAsMade)):
        return (type(node).__name__, as_written(node.part))
    if isinstance(node, Happened):
        return (node.event, frozenset(node.kinds))
    if isinstance(node, IsOneOf):
        return ("is", node.fact, frozenset((type(value).__name__, value) for value in node.values))
    assert isinstance(node, Within | Aged)
    sides: tuple[Any, ...] = tuple(frozenset(side) for side in node.bounds)
    return (type(node).__name__, node.fact, sides)
