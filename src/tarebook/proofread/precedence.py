"""Rules that never come to anything: others always come before them, or silence says the same without them."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from tarebook.car.changes import Action
from tarebook.judge.decision_diagrams import Diagram
from tarebook.judge.prepared import DecidingRule, PreparedClass
from tarebook.judge.wording import listed
from tarebook.kinds import covers
from tarebook.meaning.space import Space
from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import Path, all_rules
from tarebook.rules.conditions import Node
from tarebook.rules.models import PartBounds

BY_SILENCE = "does-nothing"  # the sort of blemish of a rule that says what silence says without it
MOST_NAMED = 3
MOST_RULES = 1000  # that decide in one class; of more, nothing is said
MOST_CONTESTANTS = 200  # for one change
HAPPENED: dict[Action, tuple[str, ...]] = {
    "remove": ("removed",),
    "swap": ("swapped",),
    "fit": ("fitted",),
    "lighten": ("lightened", "fitted"),
    "move": ("moved", "fitted"),
}


class Here(NamedTuple):
    """A rule in one class; `named` are the kinds that the rules of the class name anywhere, in order."""

    prepared: PreparedClass
    rule: DecidingRule
    named: list[str]


def rules_that_come_to_nothing(study: Study) -> Iterator[Blemish]:
    by_path: dict[Path, list[Here]] = {}
    for prepared in study.prepared:
        if len(prepared.deciding) > MOST_RULES:
            return
        conditions = {kind for each in prepared.deciding for kind in each.kinds}
        named = sorted((prepared.named_kinds | conditions) - {"everything"})
        for deciding in prepared.deciding:
            by_path.setdefault(deciding.path, []).append(Here(prepared, deciding, named))
    for form, rule, path in all_rules(study.file):
        if form not in ("allow", "ban") or path not in by_path or study.never_holds(study.node(path), rule.part):
            continue
        blemish = _never_decides(study, rule, path, by_path[path])
        if blemish is None and _does_nothing(rule, by_path[path]):
            sentence = (
                f"The allowance of clause {rule.clause} does nothing: what it does not allow is permitted anyway,"
                ' as the book is silent; add "only = true" if it is meant to forbid the rest.'
            )
            blemish = study.blemish(path, BY_SILENCE, rule.clause, sentence)
        if blemish is not None:
            yield blemish


# --- Always beaten


def _never_decides(study: Study, rule: Any, path: Path, where: list[Here]) -> Blemish | None:
    if rule.fixings:  # it may decide about fixings of parts that other rules decide about
        return None
    winners: dict[Path, DecidingRule] = {}
    for here in where:
        for action, kind in _cases(here):
            beaten = _beaten(study, here, action, kind)
            if beaten is None:
                return None
            winners.update((each.path, each) for each in beaten)
    first = next(iter(winners.values()), None)
    if first is None:
        sentence = f"Clause {rule.clause} can never decide: its condition cannot hold where such a change is made."
    else:
        names = [study.cited(each.clause, each.path) for each in list(winners.values())[:MOST_NAMED]]
        if len(winners) > MOST_NAMED:
            names.append(f"{len(winners) - MOST_NAMED} more")
        word, comes = ("clause", "comes") if len(winners) == 1 else ("clauses", "come")
        sentence = (
            f"Clause {rule.clause} can never decide: wherever it applies, {word} {listed(names)} {comes} before it."
        )
    return study.blemish(path, "never-decides", rule.clause, sentence, first.clause if first else None)


def _cases(here: Here) -> Iterator[tuple[Action, str]]:
    """The changes that may be decided differently: kinds that nothing names go with the branch that is named."""
    prepared, rule, named = here
    kinds: dict[str, None] = {}
    for kind in rule.kinds_named:
        tops = (path for path in prepared.rules.tree.paths() if "." not in path)
        kinds.update(dict.fromkeys(tops if kind == "everything" else [kind]))
    for kind in rule.kinds_named:
        kinds.update(dict.fromkeys(each for each in named if covers(kind, each)))
    for kind in kinds:
        for action in sorted(rule.does):
            yield action, kind


def _beaten(study: Study, here: Here, action: Action, kind: str) -> list[DecidingRule] | None:
    """The rules that between them always come before this one for such a change; None if it may decide."""
    rule = here.rule
    speaking = here.prepared.matching(action, kind)
    if len(speaking) > MOST_CONTESTANTS:
        return None
    matching = _contestants(rule, dict(speaking))
    if len(matching) == 1 and not rule.nodes and not rule.bounds:
        return None
    nodes = {each: study.node(each.path) for each in matching}
    parts = {each: _part(study, each) for each in matching}

    def question(space: Space) -> list[DecidingRule] | None:
        return _Contest(space, rule, matching, nodes, parts).winners(action, kind)

    return study.ask(nodes.values(), parts.values(), question)


def _contestants(rule: DecidingRule, matching: dict[DecidingRule, int]) -> dict[DecidingRule, int]:
    """The rule, those that may come before it, and those that may put one of these out."""
    mine = (-matching[rule], rule.order)

    def rivals(other: DecidingRule, length: int) -> bool:
        if other is rule or other.beats_by_despite(rule):
            return True
        if other.prevails != rule.prevails:
            return other.prevails
        return (-length, other.order) <= mine

    near = [other for other, length in matching.items() if rivals(other, length)]
    return {
        other: length
        for other, length in matching.items()
        if other in near or (other.despite and any(other.beats_by_despite(each) for each in near))
    }


def _part(study: Study, rule: DecidingRule) -> PartBounds | None:
    holder: Any = study.file
    if rule.form == "ballast":
        where, number = rule.path[0], rule.path[1]
        assert isinstance(number, int)
        places = (holder.group if where == "group" else holder.class_)[number].weight.ballast.places
        return PartBounds(place=list(places)) if places else None
    where, number, form, index = rule.path
    written = getattr((holder.group if where == "group" else holder.class_)[number], str(form))[index]
    bounds: PartBounds | None = getattr(written, "part", None)
    return bounds


class _Contest:
    """All rules that speak of one change, and the cases in which each comes before `rule`."""

    def __init__(
        self,
        space: Space,
        rule: DecidingRule,
        matching: dict[DecidingRule, int],
        nodes: dict[DecidingRule, Node | None],
        parts: dict[DecidingRule, PartBounds | None],
    ) -> None:
        self._space = space
        self._rule = rule
        self._length = matching
        holds = {each: space.both(space.holds(nodes[each]), space.keeps(parts[each])) for each in matching}
        self._applies: dict[DecidingRule, Diagram] = {each: 1 if each.only else holds[each] for each in matching}
        self._bans: dict[DecidingRule, Diagram] = {
            each: 1 if each.ban else (space.negated(holds[each]) if each.only else 0) for each in matching
        }
        left = {each: self._without(self._applies[each], self._despite(each)) for each in matching}
        self._prevailing = {each: left[each] for each in matching if each.prevails}
        self._left = {
            each: left[each] if each.prevails else self._without(left[each], list(self._prevailing.values()))
            for each in matching
        }

    def winners(self, action: Action, kind: str) -> list[DecidingRule] | None:
        space = self._space
        sure = [space.has_happened(event, kind) for event in HAPPENED[action]]
        open_cases = space.both(self._applies[self._rule], *sure, space.is_added(action == "fit"))
        before = {each: self._before(each) for each in self._length if each is not self._rule}
        for each, cases in before.items():
            if cases != 0 and self._without(open_cases, [cases]) == 0 and open_cases != 0:
                return [each]
        found = []
        for each, cases in before.items():
            rest = self._without(open_cases, [cases])
            if rest is not open_cases:
                found.append(each)
                open_cases = rest
        return found if open_cases == 0 else None

    def _before(self, other: DecidingRule) -> Diagram:
        """Where another rule puts this one out."""
        rule, space = self._rule, self._space
        if other.beats_by_despite(rule):
            return self._applies[other]
        if other.prevails and not rule.prevails:
            return self._prevailing[other]
        mine = (-self._length[rule], rule.order)
        its = (-self._length[other], other.order)
        if its < mine:
            return self._left[other]
        if its == mine:
            return self._without(space.both(self._left[other], self._bans[other]), [self._bans[rule]])
        return 0

    def _despite(self, rule: DecidingRule) -> list[Diagram]:
        return [self._applies[each] for each in self._length if each.beats_by_despite(rule)]

    def _without(self, cases: Diagram, others: list[Diagram]) -> Diagram:
        return self._space.both(cases, *(self._space.negated(each) for each in others))


# --- Permitted anyway


def _does_nothing(rule: Any, where: list[Here]) -> bool:
    conditional = rule.if_ is not None or rule.part is not None
    if where[0].rule.ban or not conditional or rule.only or rule.ask is not None or rule.finish:
        return False
    return all(_permitted_anyway(here) for here in where)


def _permitted_anyway(here: Here) -> bool:
    prepared, rule, _ = here
    if not all(prepared.silence_permits(action) for action in rule.does):
        return False
    strict = (each for each in prepared.deciding if each.ban or each.only or each.ask is not None or each.finish)
    return not any(_may_come_before(rule, each) for each in strict if each.does & rule.does)


def _may_come_before(rule: DecidingRule, other: DecidingRule) -> bool:
    """Whether there is a kind for which the rule beats the other."""
    if rule.fixings or other.fixings:
        return True
    for kind in (*rule.kinds_named, *other.kinds_named):
        mine, its = _length(rule, kind), _length(other, kind)
        if mine is None or its is None or other.beats_by_despite(rule):
            continue
        if rule.beats_by_despite(other) or (rule.prevails and not other.prevails):
            return True
        if rule.prevails == other.prevails and (-mine, rule.order) < (-its, other.order):
            return True
    return False


def _length(rule: DecidingRule, kind: str) -> int | None:
    lengths = [0 if each == "everything" else each.count(".") + 1 for each in rule.kinds_named if covers(each, kind)]
    return max(lengths, default=None)
