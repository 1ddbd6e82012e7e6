"""Why: every rule that was considered for a change, and how far it came."""

from dataclasses import dataclass

from tarebook.car.changes import Change
from tarebook.fact_values import Value
from tarebook.judge.bounds import keeps, subject_of
from tarebook.judge.completing import Completions
from tarebook.judge.components import ChangeQuestion, Outcome
from tarebook.judge.deciding import Decision, decide_kind, matching_rules
from tarebook.judge.decision_diagrams import support
from tarebook.judge.prepared import DecidingRule, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Unknown
from tarebook.judge.view import Answer, View, both


@dataclass(slots=True)
class OpenRule:
    """A rule that speaks of a change which is not decided: whether its `if` and `part` hold, if known."""

    rule: DecidingRule
    length: int
    holds: Answer
    unknown: tuple[str, ...]


@dataclass(slots=True)
class KindTrace:
    """The decision for one kind; where it is not decided, the rules that speak of it."""

    kind: str
    decision: Decision | None
    open_rules: tuple[OpenRule, ...] = ()


@dataclass(slots=True)
class Case:
    """One outcome of an undecided change, with values of the unknowns that give it."""

    outcome: Outcome
    sentence: str
    values: tuple[tuple[str, Value], ...]


@dataclass(slots=True)
class ChangeTrace:
    """How a change is decided, kind by kind.

    `unknown` names what an undecided change hangs on; `cases` shows an example of each outcome.
    """

    change: Change
    kinds: tuple[KindTrace, ...]
    cases: tuple[Case, ...]
    unknown: tuple[str, ...]
    bad: int | None


def trace_change(change: Change, prepared: PreparedClass, situation: Situation) -> ChangeTrace:
    """Trace one change. Raises TooMany."""
    view = View(situation, prepared.counts, {})
    kinds = tuple(_trace_kind(change, kind, prepared, view) for kind in prepared.decided_kinds(change))
    completions = Completions(prepared, situation)
    question = ChangeQuestion(part=change.part, kind=change.kind, does=change.action, change=change, prepared=prepared)
    (answered,) = completions.answer_all([question])
    matters = support(answered.diagram)
    unknown = completions.names(matters)
    cases = []
    for outcome, trial in answered.cases:
        values = tuple((each.name, value) for each, value in trial.items() if _named(each, unknown))
        cases.append(Case(outcome, question.sentence(outcome, situation), values))
    bad = answered.diagram if isinstance(answered.diagram, int) else None
    return ChangeTrace(change, kinds, tuple(cases), unknown, bad)


def _named(unknown: Unknown, names: tuple[str, ...]) -> bool:
    return unknown.name in names


def _trace_kind(change: Change, kind: str, prepared: PreparedClass, view: View) -> KindTrace:
    decision = decide_kind(change, kind, prepared, view)
    if decision is not None:
        return KindTrace(kind, decision)
    found = []
    for rule, length in matching_rules(change, kind, prepared, view):
        probe = View(view.situation, prepared.counts, {})
        holds = both(rule.test(probe), keeps(rule.bounds, probe, subject_of(change)))
        unknown = tuple(sorted({each.name for each in probe.met})) if holds is None else ()
        found.append(OpenRule(rule, length, holds, unknown))
    found.sort(key=lambda each: -each.length)
    return KindTrace(kind, None, tuple(found))
