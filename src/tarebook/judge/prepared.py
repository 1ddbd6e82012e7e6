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
from tarebook.rules.conditions import Aged, AsMade, Happened, IsOneOf, Node, Within, walk
from tarebook.rules.models import Ballast
from tarebook.rules.reading import RuleSet

FactTest = IsOneOf | Within | Aged
WHOLE_FORMS = ("enter", "require", "need", "strip", "finish", "ask")


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
        return tuple(dict.fromkeys(fact for node in self.nodes for _, facts in fact_tests(node) for fact in facts))

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

    def beats_by_despite(self, other: "DecidingRule") -> bool:
        return self is not other and any(clause_covers(clause, other.clause) for clause in self.despite)


def parents(kind: str) -> list[str]:
    """The branches above a kind, nearest first."""
    names = kind.split(".")
    return [".".join(names[:length]) for length in range(len(names) - 1, 0, -1)]


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

    book: "PreparedBook"
    rules: RuleSet
    full: ClassInFull
    deciding: tuple[DecidingRule, ...]
    whole: dict[str, list[WholeRule]]
    counts: dict[str, list[tuple[Fraction, Test, Test]]]
    counts_cited: list[Cited]
    silence: Cited
    named_kinds: frozenset[str]
    has_fixings: bool
    fact_tests: dict[str, list[tuple[FactTest, bool]]]  # by fact; and whether the test reads counted figures
    _rules_naming: dict[tuple[Action, str], list[DecidingRule]]
    _named_below: dict[str, list[str]]  # by branch, the kinds under it that a rule names
    settled: dict[object, object] = field(default_factory=dict)  # decisions that are the same in every build
    standing: dict[object, object] = field(default_factory=dict)  # questions that are the same for every build
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
            named: dict[DecidingRule, int] = {}
            for each in (kind, *parents(kind), "everything"):
                for rule in self._rules_naming.get((action, each), ()):
                    named.setdefault(rule, levels(each))
            found = self._matching[key] = tuple(named.items())
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
        within = sorted(self._named_below.get(change.kind, ()))
        return [change.kind, *(each for each in within if any(covers(each, thing) for thing in change.things))]


def prepare_class(rules: RuleSet, class_id: str) -> PreparedClass:
    """Compile a class. Raises KeyError for a class that the rule set does not have."""
    return PreparedBook(rules).prepare(class_id)


class PreparedBook:
    """Compiles the classes of one edition; what they share is compiled once."""

    def __init__(self, rules: RuleSet) -> None:
        self.rules = rules
        self._tests: dict[tuple[Path, str, bool, bool], Test] = {}
        self._bounds: dict[Path, tuple[Bound, ...]] = {}

    def test(self, path: Path, key: str = "if", *, made: bool = False, counted: bool = True) -> Test:
        """The condition of an entry of the file, ready to evaluate; one that it does not have always holds."""
        node = self.rules.nodes.get((*path, key))
        if node is None:
            return always
        at = (path, key, made, counted)
        if at not in self._tests:
            self._tests[at] = prepare(node, made=made, counted=counted)
        return self._tests[at]

    def bounds(self, placed: Placed[Any]) -> tuple[Bound, ...]:
        if placed.path not in self._bounds:
            self._bounds[placed.path] = prepare_bounds(getattr(placed.rule, "part", None))
        return self._bounds[placed.path]

    def prepare(self, class_id: str) -> PreparedClass:
        """Compile a class. Raises KeyError for a class that the rule set does not have."""
        full = self.rules.class_in_full(class_id)
        deciding = [self._deciding(placed) for form in ("allow", "ban", "need", "strip") for placed in full.rules[form]]
        if "ballast" in full.weight:
            deciding.append(_ballast(full))
        counts: dict[str, list[tuple[Fraction, Test, Test]]] = {}
        for placed in full.rules["counts"]:
            now = self.test(placed.path, counted=False)
            as_made = self.test(placed.path, made=True, counted=False)
            counts.setdefault(placed.rule.fact, []).append((placed.rule.times, now, as_made))
        naming: dict[tuple[Action, str], list[DecidingRule]] = {}
        for rule in deciding:
            for kind in dict.fromkeys(rule.kinds_named):
                for action in rule.does:
                    naming.setdefault((action, kind), []).append(rule)
        named = frozenset(kind for rule in deciding for kind in rule.kinds_named)
        below: dict[str, list[str]] = {}
        for kind in named:
            for branch in parents(kind):
                below.setdefault(branch, []).append(kind)
        return PreparedClass(
            book=self,
            rules=self.rules,
            full=full,
            deciding=tuple(deciding),
            whole={form: [self._whole(placed) for placed in full.rules[form]] for form in WHOLE_FORMS},
            counts=counts,
            counts_cited=[self._cited(placed) for placed in full.rules["counts"]],
            silence=Cited(full.silence_clause, "silence", full.silence_path, "silence"),
            has_fixings=any(rule.fixings for rule in deciding),
            named_kinds=named,
            fact_tests=self._fact_tests(full),
            _rules_naming=naming,
            _named_below=below,
        )

    def _nodes(self, path: Path) -> tuple[Node, ...]:
        nodes = self.rules.nodes
        return tuple(nodes[(*path, key)] for key in ("if", "must") if (*path, key) in nodes)

    def _cited(self, placed: Placed[Any]) -> Cited:
        rule = placed.rule
        return Cited(rule.clause, placed.form, placed.path, placed.origin, rule.says, self._nodes(placed.path))

    def _whole(self, placed: Placed[Any]) -> WholeRule:
        return WholeRule(
            clause=placed.rule.clause,
            form=placed.form,
            path=placed.path,
            origin=placed.origin,
            says=placed.rule.says,
            nodes=self._nodes(placed.path),
            test=self.test(placed.path),
            must=self.test(placed.path, "must"),
            bounds=self.bounds(placed),
            rule=placed.rule,
        )

    def _fact_tests(self, full: ClassInFull) -> dict[str, list[tuple[FactTest, bool]]]:
        paths = [placed.path for placed_rules in full.rules.values() for placed in placed_rules]
        for placed in full.rules["limit"]:
            paths.extend((*placed.path, "adjust", index) for index in range(len(placed.rule.adjust or ())))
        paths.extend(path for _, path in (full.weight["adjust"].value if "adjust" in full.weight else ()))
        found: dict[str, list[tuple[FactTest, bool]]] = {}
        for path in paths:
            for node in self._nodes(path):
                for test, facts in fact_tests(node):
                    for fact in facts:
                        found.setdefault(fact, []).append((test, path[-2] != "counts"))
        return found

    def _deciding(self, placed: Placed[Any]) -> DecidingRule:
        rule, form = placed.rule, placed.form
        does: tuple[Action, ...] = ("fit",) if form == "need" else ("remove",) if form == "strip" else tuple(rule.does)
        return DecidingRule(
            clause=rule.clause,
            form=form,
            path=placed.path,
            origin=placed.origin,
            says=rule.says,
            nodes=self._nodes(placed.path),
            kinds_named=tuple(rule.kinds),
            does=frozenset(does),
            test=self.test(placed.path),
            bounds=self.bounds(placed),
            ban=form == "ban",
            only=getattr(rule, "only", False),
            ask=getattr(rule, "ask", None),
            finish=tuple(getattr(rule, "finish", ())),
            fixings=getattr(rule, "fixings", False),
            despite=tuple(rule.despite),
            order=placed.rank.order,
            prevails=placed.prevails,
        )


def fact_tests(node: Node) -> list[tuple[FactTest, tuple[str, ...]]]:
    """The tests of facts within a condition, each with the facts that it reads."""
    found: list[tuple[FactTest, tuple[str, ...]]] = []
    for each in walk(node):
        if isinstance(each, Within):
            edges = (*each.bounds.lower, *each.bounds.upper)
            others = tuple(edge.fact for edge, _ in edges if isinstance(edge, AsMade))
            found.append((each, (each.fact, *others)))
        elif isinstance(each, (IsOneOf, Aged)):
            found.append((each, (each.fact,)))
    return found


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
