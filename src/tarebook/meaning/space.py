"""The finite space of cases that some conditions can tell apart, and conditions as decision diagrams over it.

Nothing is sampled: each figure counts by the pieces into which the bounds cut its line, each choice by its choices.
Two conditions mean the same exactly if they have the same diagram object; one can hold exactly if its diagram is
not 0. What happens to kinds is no exception: `removed = K` holds wherever something under K was removed, and so
stands in the diagrams as "something of K, and of no longer kind that is named, or of one of those": those may be
so or not as they like.
"""

from collections.abc import Callable, Container, Iterable
from fractions import Fraction
from typing import ParamSpec, TypeVar

from tarebook.facts import Fact
from tarebook.judge.bounds import read_range
from tarebook.judge.decision_diagrams import Diagram, Diagrams, TooMany, support
from tarebook.kinds import covers
from tarebook.meaning.needed import (
    MATERIAL,
    MEASURES,
    ORIGINAL,
    PLACE,
    SHARES,
    Needed,
    age_key,
    as_number,
    difference,
    events,
    fact_key,
    yes_no_particulars,
)
from tarebook.meaning.variables import Case, Key, by_tree, inside, nearest
from tarebook.rules.conditions import Aged, All, AnyOf, AsMade, Bounds, Happened, IsOneOf, Node, Not, ReadAsMade
from tarebook.rules.models import PartBounds

__all__ = ["Diagram", "Space", "TooMany"]

MOST_WORK = 2_000_000  # nodes, each counted by its branches and some more
NO_SHARE = None  # of an addition: there is nothing that it could be a share of
P = ParamSpec("P")
T = TypeVar("T")


class Space:
    """The cases that these conditions and part bounds can tell apart. It answers for no others (ValueError).

    A part under bounds is a single part. `facts` are the facts of the book; `counted` those that some class counts
    with a factor, so that even a count may be a fraction. Every method raises TooMany where the answer would take
    more than `most_work`: say nothing then.
    """

    def __init__(
        self,
        facts: dict[str, Fact],
        nodes: Iterable[Node | None],
        bounds: Iterable[PartBounds | None] = (),
        counted: Container[str] = (),
        most_work: int = MOST_WORK,
    ) -> None:
        needed = Needed(facts, counted)
        for node in nodes:
            if node is not None:
                needed.condition(node)
        for each in bounds:
            if each is not None:
                needed.part(each)
        self._lay_out(needed, most_work)
        self._negations: dict[int, Diagram] = {}
        self._held: dict[tuple[int, bool], tuple[Node, Diagram]] = {}
        self._kept: dict[int, tuple[PartBounds, Diagram]] = {}

    def _lay_out(self, needed: Needed, most_work: int) -> None:
        cases: dict[Key, tuple[Case, ...]] = {}
        for key, (line, cuts) in needed.lines.items():
            none: tuple[Case, ...] = (NO_SHARE,) if key[-1] in SHARES and key[0] == "part" else ()
            cases[key] = (*line.pieces(cuts), *none)
        for key, named in needed.named.items():
            cases[key] = tuple(named)
        self._cases = {key: cases[key] for key in sorted(cases)}
        self._cuts = {key: frozenset(cuts) for key, (_, cuts) in needed.lines.items()}
        self._kinds = {event: sorted(kinds, key=by_tree) for event, kinds in needed.kinds.items()}
        pairs = sorted((by_tree(kind), event, kind) for event, kinds in self._kinds.items() for kind in kinds)
        self._cases.update((("event", event, kind), (False, True)) for _, event, kind in pairs)
        self._order = {key: place for place, key in enumerate(self._cases)}
        widest = max(map(len, self._cases.values()), default=1)
        self._diagrams = Diagrams(most_work // (20 + widest))

    def holds(self, node: Node | None) -> Diagram:
        """Where a condition holds; no condition holds everywhere."""
        return 1 if node is None else _bounded(self._holds, node, False)

    def keeps(self, bounds: PartBounds | None) -> Diagram:
        """Where a part keeps its bounds; without bounds, everywhere."""
        if bounds is None:
            return 1
        known = self._kept.get(id(bounds))
        if known is None:
            known = self._kept[id(bounds)] = (bounds, _bounded(self._keeps, bounds))
        return known[1]

    def both(self, *diagrams: Diagram) -> Diagram:
        """Where all of them hold."""
        if 0 in diagrams:
            return 0
        open_ones = [each for each in diagrams if each != 1]
        if len(open_ones) < 2:
            return open_ones[0] if open_ones else 1
        return self.negated(self.either(*(self.negated(each) for each in open_ones)))

    def either(self, *diagrams: Diagram) -> Diagram:
        """Where one of them holds."""
        return _bounded(self._either, diagrams)

    def negated(self, diagram: Diagram) -> Diagram:
        """Where it does not hold."""
        if isinstance(diagram, int):
            return 1 - diagram
        known = self._negations.get(id(diagram))
        if known is None:
            known = self._negations[id(diagram)] = _bounded(self._diagrams.relabelled, diagram, _other)
            self._negations[id(known)] = diagram
        return known

    def possible(self, diagram: Diagram) -> bool:
        """Whether it holds in some case."""
        return diagram != 0

    def certain(self, diagram: Diagram) -> bool:
        """Whether it holds in every case."""
        return diagram == 1

    def has_happened(self, event: str, kind: str) -> Diagram:
        """Where an event (not "off") is sure to have happened to this kind, named or not, and so to all above it."""
        within = nearest(kind, self._kinds.get(event, ()))
        return 1 if within is None else _bounded(self._happened, event, within)

    def is_added(self, added: bool) -> Diagram:
        """Where the part came to the car without taking a place, or (False) took one."""
        found: Diagram = 1
        for measure in SHARES:
            key: Key = ("part", measure)
            if key in self._cases:
                found = self.both(found, self._where(key, lambda case: (case is NO_SHARE) == added))
        if added and ORIGINAL in self._cases:
            found = self.both(found, self._where(ORIGINAL, lambda case: not case))
        return found

    def depends_on(self, diagram: Diagram) -> list[Key]:
        """The variables on which it depends: ("fact", name, "" or "as made"), ("event", event, kind) and others."""
        keys = list(self._order)
        return [keys[order] for order in sorted(support(diagram))]

    def _where(self, key: Key, test: Callable[[Case], bool]) -> Diagram:
        return self._diagrams.choice(self._order[key], [int(test(case)) for case in self._cases[key]])

    def _either(self, diagrams: Iterable[Diagram]) -> Diagram:
        found: Diagram = 0
        for each in diagrams:
            found = self._diagrams.worst(found, each)
        return found

    def _holds(self, node: Node, made: bool) -> Diagram:
        known = self._held.get((id(node), made))
        if known is None:
            known = self._held[id(node), made] = (node, self._found(node, made))
        return known[1]

    def _found(self, node: Node, made: bool) -> Diagram:
        if isinstance(node, All):
            return self.both(*(self._holds(part, made) for part in node.parts))
        if isinstance(node, AnyOf):
            return self.either(*(self._holds(part, made) for part in node.parts))
        if isinstance(node, Not):
            return self.negated(self._holds(node.part, made))
        if isinstance(node, ReadAsMade):
            return self._holds(node.part, True)
        if isinstance(node, Happened):
            return self._either(self._happened(event, kind) for event in events(node.event) for kind in node.kinds)
        if isinstance(node, IsOneOf):
            return self._is_one_of(node, made)
        if isinstance(node, Aged):
            return self._within(age_key(node.fact, made), node.bounds)
        return self._within_bounds(node.fact, node.bounds, made)

    def _happened(self, event: str, kind: str) -> Diagram:
        known = self._kinds.get(event, [])
        if kind not in known:
            raise ValueError(f"{event} {kind} is not among what this space was made for")
        found: Diagram = 0
        for each in reversed([each for each in known if covers(kind, each)]):
            found = self._diagrams.choice(self._order["event", event, each], [found, 1])
        return found

    def _is_one_of(self, node: IsOneOf, made: bool) -> Diagram:
        key = fact_key(node.fact, made)
        values: set[Case] = set()
        for value in node.values:
            values.add(value if isinstance(value, (str, bool)) else as_number(value))
        self._must_know(key, values)
        return self._where(key, lambda case: case in values)

    def _within_bounds(self, fact: str, bounds: Bounds, made: bool) -> Diagram:
        plain = Bounds(
            tuple(each for each in bounds.lower if isinstance(each[0], Fraction)),
            tuple(each for each in bounds.upper if isinstance(each[0], Fraction)),
        )
        found = self._within(fact_key(fact, made), plain)
        for side, lower in ((bounds.lower, True), (bounds.upper, False)):
            for edge, strict in side:
                if isinstance(edge, AsMade):
                    found = self.both(found, self._against(fact, made, edge, strict, lower))
        return found

    def _against(self, fact: str, made: bool, edge: AsMade, strict: bool, lower: bool) -> Diagram:
        if made and fact == edge.fact:
            own = ((edge.plus, strict),)
            return int(inside(Fraction(0), own if lower else (), () if lower else own))
        apart = difference(fact, made, edge.fact)
        bound = ((apart.plus(edge.plus), strict),)
        return self._within(apart.key, Bounds(bound, ()) if lower != apart.turned else Bounds((), bound))

    def _within(self, key: Key, bounds: Bounds) -> Diagram:
        lower = tuple((edge, strict) for edge, strict in bounds.lower if isinstance(edge, Fraction))
        upper = tuple((edge, strict) for edge, strict in bounds.upper if isinstance(edge, Fraction))
        self._must_know(key, {edge for edge, _ in (*lower, *upper)})
        return self._where(key, lambda case: isinstance(case, Fraction) and inside(case, lower, upper))

    def _keeps(self, bounds: PartBounds) -> Diagram:
        found: list[Diagram] = []
        for measure in MEASURES:
            limits = getattr(bounds, measure)
            if limits is not None:
                found.append(self._within(("part", measure), Bounds(*read_range(limits))))
        if bounds.origin is not None:
            found.append(self._named(("part", "origin"), (bounds.origin,)))
        if bounds.material == "as-original":
            found.append(self._where(ORIGINAL, bool))
        elif bounds.material is not None:
            found.append(self._named(MATERIAL, bounds.material))
        if bounds.material_not is not None:
            found.append(self.negated(self._named(MATERIAL, bounds.material_not)))
        particulars = yes_no_particulars(bounds)
        found.extend(self._where(key, bool) for key in particulars if key[0] == "part")
        if bounds.approval is not None:
            found.append(self.either(*(self._where(key, bool) for key in particulars if key[0] == "approval")))
        if bounds.place is not None:
            self._must_know(PLACE, set(bounds.place))
            found.append(self._in_one_of(bounds.place))
        return self.both(*found)

    def _in_one_of(self, places: Iterable[str]) -> Diagram:
        return self._where(PLACE, lambda case: any(covers(kind, _text(case)) for kind in places))

    def _named(self, key: Key, names: Iterable[str]) -> Diagram:
        values = {each.casefold() for each in names}
        self._must_know(key, values)
        return self._where(key, lambda case: case in values)

    def _must_know(self, key: Key, values: Iterable[object]) -> None:
        known = self._cuts[key] if key in self._cuts else frozenset(self._cases.get(key, ()))
        if key not in self._cases or not known.issuperset(values):
            raise ValueError(f"{' '.join(key)} is not cut here in this space")


def _text(case: Case) -> str:
    return case if isinstance(case, str) else ""


def _other(leaf: int) -> int:
    return 1 - leaf


def _bounded(work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """What nests or chains too deep is too much work as well."""
    try:
        return work(*args, **kwargs)
    except RecursionError:
        raise TooMany from None
