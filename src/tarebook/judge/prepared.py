"""A class made ready to judge: compiled once, then asked about any number of builds."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from tarebook.car.changes import Action, Change
from tarebook.facts import Fact
from tarebook.judge.bounds import Bound, PlaceBound, prepare_bounds
from tarebook.judge.conditions import always, prepare
from tarebook.judge.view import Test
from tarebook.kinds import covers
from tarebook.rules.classes import ClassInFull, Path, Placed, clause_covers
from tarebook.rules.conditions import Happened, Node, Within, walk
from tarebook.rules.models import Ballast
from tarebook.rules.reading import RuleSet


@dataclass(slots=True, eq=False)
class Cited:
    """What a finding says of a rule: where it stands, its own words, its condition."""

    clause: str
    form: str
    path: Path
    origin: str
    says: str = ""
    nodes: tuple[Node, ...] = ()

    @property
    def facts(self) -> tuple[str, ...]:
        """The facts that its conditions look at."""
        found: dict[str, None] = {}
        for node in self.nodes:
            for each in walk(node):
                if hasattr(each, "fact"):
                    found[each.fact] = None
                if isinstance(each, Within):
                    edges = (*each.bounds.lower, *each.bounds.upper)
                    found.update({edge.fact: None for edge, _ in edges if not isinstance(edge, Fraction)})
        return tuple(found)

    @property
    def kinds(self) -> tuple[str, ...]:
        """The kinds whose presence or changes its conditions look at."""
        return tuple(
            kind for node in self.nodes for each in walk(node) if isinstance(each, Happened) for kind in each.kinds
        )


@dataclass(slots=True, eq=False)
class DecidingRule(Cited):
    """A rule that may decide a change."""

    kinds_named: tuple[str, ...] = ()
    does: frozenset[Action] = frozenset()
    test: Test = always
    bounds: tuple[Bound, ...] = ()
    ban: bool = False
    only: bool = False
    ask: str | None = None
    finish: tuple[str, ...] = ()
    fixings: bool = False
    despite: tuple[str, ...] = ()
    order: tuple[bool, int] = (False, 0)
    prevails: bool = False

    def length(self, kind: str) -> int | None:
        """The number of levels of the longest of its kinds that covers `kind`; None if none does."""
        lengths = [levels(each) for each in self.kinds_named if covers(each, kind)]
        return max(lengths, default=None)

    def beats_by_despite(self, other: "DecidingRule") -> bool:
        return self is not other and any(clause_covers(clause, other.clause) for clause in self.despite)


def levels(kind: str) -> int:
    return 0 if kind == "everything" else kind.count(".") + 1


@dataclass(slots=True, eq=False)
class WholeRule(Cited):
    """A rule that is decided for the build as a whole, with its condition and itself as written."""

    test: Test = always
    must: Test = always
    bounds: tuple[Bound, ...] = ()
    rule: Any = None


@dataclass(slots=True)
class PreparedClass:
    """One class of one edition, ready to judge. Build it with `prepare_class`."""

    rules: RuleSet
    full: ClassInFull
    deciding: tuple[DecidingRule, ...]
    whole: dict[str, list[WholeRule]]
    counts: dict[str, list[tuple[Fraction, Test, Test]]]
    counts_cited: list[Cited]
    silence: Cited
    named_kinds: frozenset[str]
    has_fixings: bool
    nodes: tuple[tuple[Node, bool], ...]  # every condition of the class, and whether it reads counted figures
    _decided: dict[tuple[str, frozenset[str], bool], tuple[str, ...]] = field(default_factory=dict)
    _matching: dict[tuple[Action, str], tuple[tuple[DecidingRule, int], ...]] = field(default_factory=dict)

    @property
    def id(self) -> str:
        return self.full.id

    @property
    def facts(self) -> dict[str, Fact]:
        return self.rules.facts

    def silence_permits(self, action: Action) -> bool:
        return bool(getattr(self.full.silence, action) == "permits")

    def matching(self, action: Action, kind: str) -> tuple[tuple[DecidingRule, int], ...]:
        """The rules that speak of this action on this kind, each with its length."""
        key = (action, kind)
        found = self._matching.get(key)
        if found is None:
            found = self._matching[key] = tuple(
                (rule, length)
                for rule in self.deciding
                if action in rule.does and (length := rule.length(kind)) is not None
            )
        return found

    def decided_kinds(self, change: Change) -> tuple[str, ...]:
        """The kinds that a change is decided for, its own first: see point 19 of the specification."""
        key = (change.kind, change.things, change.whole)
        found = self._decided.get(key)
        if found is None:
            found = self._decided[key] = tuple(self._find_decided(change))
        return found

    def _find_decided(self, change: Change) -> list[str]:
        if not change.whole:
            return sorted(change.things)
        kind = change.kind
        within = sorted(each for each in self.named_kinds if each != kind and covers(kind, each))
        return [kind, *(each for each in within if any(covers(each, thing) for thing in change.things))]


def prepare_class(rules: RuleSet, class_id: str) -> PreparedClass:
    """Compile a class. Raises KeyError for a class that the rule set does not have."""
    full = rules.class_in_full(class_id)
    nodes: list[tuple[Node, bool]] = []

    def node_at(path: Path, key: str, *, counted: bool = True) -> Node | None:
        node = rules.nodes.get((*path, key))
        if node is not None:
            nodes.append((node, counted))
        return node

    deciding: list[DecidingRule] = []
    whole: dict[str, list[WholeRule]] = {form: [] for form in ("enter", "require", "need", "strip", "finish", "ask")}
    for form in ("allow", "ban", "need", "strip"):
        for placed in full.rules[form]:
            deciding.append(_deciding(placed, node_at(placed.path, "if")))
    if "ballast" in full.weight:
        deciding.append(_ballast(full))
    for form, collected in whole.items():
        for placed in full.rules[form]:
            condition, must = node_at(placed.path, "if"), node_at(placed.path, "must")
            collected.append(
                WholeRule(
                    clause=placed.rule.clause,
                    form=form,
                    path=placed.path,
                    origin=placed.origin,
                    says=placed.rule.says,
                    nodes=tuple(node for node in (condition, must) if node is not None),
                    test=prepare(condition),
                    must=prepare(must),
                    bounds=prepare_bounds(getattr(placed.rule, "part", None)),
                    rule=placed.rule,
                )
            )
    counts: dict[str, list[tuple[Fraction, Test, Test]]] = {}
    counts_cited = []
    for placed in full.rules["counts"]:
        node = node_at(placed.path, "if", counted=False)
        now, as_made = prepare(node, counted=False), prepare(node, made=True, counted=False)
        counts.setdefault(placed.rule.fact, []).append((placed.rule.times, now, as_made))
        cited = (node,) if node is not None else ()
        counts_cited.append(Cited(placed.rule.clause, "counts", placed.path, placed.origin, placed.rule.says, cited))
    return PreparedClass(
        rules=rules,
        full=full,
        deciding=tuple(deciding),
        whole=whole,
        counts=counts,
        counts_cited=counts_cited,
        silence=Cited(full.silence_clause, "silence", full.silence_path, "silence"),
        has_fixings=any(rule.fixings for rule in deciding),
        named_kinds=frozenset(kind for rule in deciding for kind in rule.kinds_named),
        nodes=tuple(nodes),
    )


def _deciding(placed: Placed[Any], node: Node | None) -> DecidingRule:
    rule, form = placed.rule, placed.form
    does: tuple[Action, ...] = ("fit",) if form == "need" else ("remove",) if form == "strip" else tuple(rule.does)
    return DecidingRule(
        clause=rule.clause,
        form=form,
        path=placed.path,
        origin=placed.origin,
        says=rule.says,
        nodes=(node,) if node is not None else (),
        kinds_named=tuple(rule.kinds),
        does=frozenset(does),
        test=prepare(node),
        bounds=prepare_bounds(getattr(rule, "part", None)),
        ban=form == "ban",
        only=getattr(rule, "only", False),
        ask=getattr(rule, "ask", None),
        finish=tuple(getattr(rule, "finish", ())),
        fixings=getattr(rule, "fixings", False),
        despite=tuple(rule.despite),
        order=placed.rank.order,
        prevails=placed.prevails,
    )


def _ballast(full: ClassInFull) -> DecidingRule:
    key = full.weight["ballast"]
    ballast: Ballast = key.value
    places = tuple(ballast.places or ())
    return DecidingRule(
        clause=key.clause or "",
        form="ballast",
        path=key.path,
        origin=key.origin,
        kinds_named=("ballast",),
        does=frozenset(("fit",)),
        bounds=(PlaceBound(places),) if places else (),
        ban=not ballast.allowed,
        only=bool(places),
        order=key.rank.order,
        prevails=key.prevails,
    )
