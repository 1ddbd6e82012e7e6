"""Which rule decides a change: precedence, step by step (docs/how-verdicts-are-made.md, 15 to 20)."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Literal

from tarebook.car.changes import Change
from tarebook.judge.bounds import keeps, subject_of
from tarebook.judge.conditions import always
from tarebook.judge.prepared import DecidingRule, PreparedClass
from tarebook.judge.view import Answer, View, both

Step = Literal["does not apply", "despite", "prevails", "longer kind", "nearer", "ban at a tie", "decides"]
Ruling = Literal["violation", "ask", "allowed"]
STRICTNESS: dict[Ruling, int] = {"violation": 2, "ask": 1, "allowed": 0}


@dataclass(slots=True)
class Considered:
    """A rule that speaks of the change, and how far it came."""

    rule: DecidingRule
    length: int
    ban: bool
    step: Step = "decides"
    by: DecidingRule | None = None  # the rule that it lost to


@dataclass(slots=True)
class Decision:
    """How a change is decided for one kind; with no deciding rule, silence decided."""

    kind: str
    ruling: Ruling
    deciding: tuple[DecidingRule, ...]
    considered: tuple[Considered, ...]
    contested: tuple[DecidingRule, ...] = ()
    questions: tuple[str, ...] = ()


@dataclass(slots=True)
class Decided:
    """How a change is decided for all its kinds: the strictest decision stands, the duties add up."""

    standing: Decision
    duties: frozenset[str]
    outcome: object = None  # what the question about the change makes of it


def decide_change(change: Change, prepared: PreparedClass, view: View) -> Decided | None:
    """The decision on a change; None if it hangs on something unknown that the view has no value for."""
    parts = view.situation.inventory.parts
    if not prepared.has_fixings or parts[change.part].belongs_to is None:
        sort = (change.action, change.kind, change.things, change.whole)
        if sort not in prepared.settled:
            prepared.settled[sort] = _settle(change, prepared, view)
        settled = prepared.settled[sort]
        if settled is not None:
            assert isinstance(settled, Decided)
            return settled
    key = ("change", id(change))
    if key in view.memo:
        known = view.memo[key]
        assert known is None or isinstance(known, Decided)
        return known
    answer = view.memo[key] = _decide(change, prepared, view)
    return answer


def _settle(change: Change, prepared: PreparedClass, view: View) -> Decided | None:
    """The decision, where no rule that speaks of such a change has a condition: it is the same in every build."""
    for kind in prepared.decided_kinds(change):
        for rule, _ in prepared.matching(change.action, kind):
            if rule.test is not always or rule.bounds:
                return None
    return _decide(change, prepared, view)


def _decide(change: Change, prepared: PreparedClass, view: View) -> Decided | None:
    decisions = [decide_kind(change, kind, prepared, view) for kind in prepared.decided_kinds(change)]
    sound = [decision for decision in decisions if decision is not None]
    if len(sound) != len(decisions):
        return None
    standing = max(sound, key=lambda decision: STRICTNESS[decision.ruling])
    duties = frozenset(name for decision in sound for rule in decision.deciding if not rule.ban for name in rule.finish)
    return Decided(standing, duties)


def decide_kind(change: Change, kind: str, prepared: PreparedClass, view: View) -> Decision | None:
    """The decision on a change for one kind."""
    considered: list[Considered] = []
    known = True
    for rule, length in matching_rules(change, kind, prepared, view):
        holds = _applies(rule, change, view)
        if holds is None:
            known = False
        elif holds or rule.only:
            considered.append(Considered(rule, length, rule.ban or not holds))
        else:
            considered.append(Considered(rule, length, rule.ban, "does not apply"))
    if not known:
        return None
    left = _beaten_despite([each for each in considered if each.step == "decides"])
    left = _longest(left)
    left = _nearest(left)
    left, contested = _bans_first(left)
    deciding = tuple(each.rule for each in left)
    questions: tuple[str, ...] = ()
    ruling: Ruling
    if not left:
        ruling = "allowed" if prepared.silence_permits(change.action) else "violation"
    elif left[0].ban:
        ruling = "violation"
    else:
        questions = tuple(rule.ask for rule in deciding if rule.ask is not None)
        ruling = "ask" if questions else "allowed"
    considered.sort(key=lambda each: (_REACHED[each.step], -each.length))
    return Decision(kind, ruling, deciding, tuple(considered), contested, questions)


_REACHED: dict[Step, int] = {
    "decides": 0,
    "ban at a tie": 1,
    "nearer": 2,
    "longer kind": 3,
    "prevails": 4,
    "despite": 5,
    "does not apply": 6,
}


def matching_rules(
    change: Change, kind: str, prepared: PreparedClass, view: View
) -> Iterable[tuple[DecidingRule, int]]:
    """The rules that speak of the change: by its kind, or because it belongs to a part changed likewise."""
    matching = prepared.matching(change.action, kind)
    owners = _owners(change, view) if prepared.has_fixings else ()
    if not owners:
        return matching
    found = {id(rule): (rule, length) for rule, length in matching}
    for owner in owners:
        for rule, length in prepared.matching(change.action, owner.kind):
            if rule.fixings and (id(rule) not in found or found[id(rule)][1] < length):
                found[id(rule)] = (rule, length)
    return found.values()


def _owners(change: Change, view: View) -> list[Change]:
    """The changes, by the same action, of the parts that this change's part belongs to, directly or not."""
    parts = view.situation.inventory.parts
    found: list[Change] = []
    part = parts.get(change.part)
    while part is not None and part.belongs_to is not None:
        owner = part.belongs_to
        likewise = [
            other
            for other in view.situation.changes
            if other.action == change.action and (owner in (other.part, other.old) or owner in other.new)
        ]
        if not likewise:
            break
        found.extend(likewise)
        part = parts.get(owner)
    return found


def _applies(rule: DecidingRule, change: Change, view: View) -> Answer:
    holds = rule.test(view)
    if holds is False or not rule.bounds:
        return holds
    return both(holds, keeps(rule.bounds, view, subject_of(change)))


def _beaten_despite(left: list[Considered]) -> list[Considered]:
    standing = []
    exceptions = [each.rule for each in left if each.rule.despite]
    for each in left:
        winner = next((rule for rule in exceptions if rule.beats_by_despite(each.rule)), None)
        if winner is None:
            standing.append(each)
        else:
            each.step, each.by = "despite", winner
    prevailing = [each for each in standing if each.rule.prevails]
    if not prevailing:
        return standing
    for each in standing:
        if not each.rule.prevails:
            each.step, each.by = "prevails", prevailing[0].rule
    return prevailing


def _longest(left: list[Considered]) -> list[Considered]:
    most = max((each.length for each in left), default=0)
    return _split(left, lambda each: each.length == most, "longer kind")


def _nearest(left: list[Considered]) -> list[Considered]:
    first = min((each.rule.order for each in left), default=(False, 0))
    return _split(left, lambda each: each.rule.order == first, "nearer")


def _bans_first(left: list[Considered]) -> tuple[list[Considered], tuple[DecidingRule, ...]]:
    if not any(each.ban for each in left):
        return left, ()
    bans = _split(left, lambda each: each.ban, "ban at a tie")
    clauses = {each.rule.clause for each in bans}
    lost = tuple(each.rule for each in left if not each.ban and each.rule.clause not in clauses)
    return bans, lost


def _split(left: list[Considered], stays: Callable[[Considered], bool], step: Step) -> list[Considered]:
    standing = [each for each in left if stays(each)]
    for each in left:
        if not stays(each):
            each.step, each.by = step, standing[0].rule
    return standing
