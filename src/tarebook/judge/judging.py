"""The engine: one class, one build, one day in; one row of the report out. It opens no file and reads no clock."""

from collections.abc import Callable, Iterable

from tarebook.judge.completing import MOST_CASES, Answered, Completions
from tarebook.judge.components import Outcome, questions
from tarebook.judge.decision_diagrams import Diagram, TooMany, results, support
from tarebook.judge.findings import BAD, FINE, VERDICTS, Finding, LimitAnswer, Result, Row, Verdict
from tarebook.judge.limits import LimitQuestion, limit_questions
from tarebook.judge.prepared import Cited, PreparedClass, WholeRule
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import facts_text, listed

CONFIDENCE = 0.975
_URGENCY = {"violation": 0, "owed": 1, "undecided": 2, "too-close": 3, "ask": 4, "allowed": 5, "met": 6}


def judge(prepared: PreparedClass, situation: Situation, *, confidence: float = CONFIDENCE) -> Row:
    """Judge a build against a class.

    `confidence` is the chance of keeping each limit that `eligible` asks for; `not-eligible` is below one minus it.
    """
    completions = Completions(prepared, situation)
    components = [*questions(prepared, situation), *limit_questions(prepared, situation, confidence)]
    asks = [rule for rule in prepared.whole["ask"] if rule.test(View(situation, prepared.counts, {})) is not False]
    answered, too_many = completions.answer_each(components)
    verdict: Verdict = "undecided"
    to_find: set[str] = set()
    if any(each.diagram == BAD for each in answered):
        verdict = VERDICTS[BAD]  # whatever else is unknown
    elif not too_many:
        try:
            verdict, to_find = _decided(answered, completions)
        except TooMany:
            too_many = True
    limits = [
        answer
        for each in answered
        if isinstance(each.component, LimitQuestion) and (answer := _limit_answer(each)) is not None
    ]
    asked = len(asks) + sum(_settled_result(each) == "ask" for each in answered)

    def put_into_words(urgent: bool) -> list[Finding]:
        found = [
            *_findings(answered, completions, prepared, situation, urgent),
            *(_asked(rule, prepared, situation) for rule in asks),
            *([_too_many(prepared)] if too_many else ()),
        ]
        return sorted(found, key=lambda finding: _URGENCY[finding.result])

    return _row(prepared, situation, verdict, tuple(sorted(to_find)), limits, asked, put_into_words)


def _decided(answered: list[Answered], completions: Completions) -> tuple[Verdict, set[str]]:
    """The verdict that all completions share, and the facts on which it hangs. Raises TooMany."""
    overall: Diagram = FINE
    for each in answered:
        overall = completions.diagrams.worst(overall, each.diagram)
    shared = results(overall)
    verdict: Verdict = VERDICTS[shared.pop()] if len(shared) == 1 else "undecided"
    to_find = set(completions.names(support(overall)))
    if verdict == "undecided":
        to_find |= completions.lacking(answered)
    return verdict, to_find


def _row(
    prepared: PreparedClass,
    situation: Situation,
    verdict: Verdict,
    to_find: tuple[str, ...],
    limits: list[LimitAnswer],
    asked: int,
    put_into_words: Callable[[bool], list[Finding]],
) -> Row:
    book = prepared.rules.file.book
    return Row(
        book=book.id,
        edition=book.edition,
        class_id=prepared.id,
        title=prepared.full.title,
        build=situation.configuration.name,
        on=situation.on,
        verdict=verdict,
        to_ask=asked,
        facts_to_find=to_find,
        limits=limits,
        put_into_words=put_into_words,
        rules=prepared.rules,
    )


def _too_many(prepared: PreparedClass) -> Finding:
    clause = prepared.full.clause or prepared.silence.clause
    sentence = f"More than {MOST_CASES:,} cases of what is unknown would have to be tried: state more of the facts."
    return Finding("undecided", clause, "class", sentence, prepared.full.path)


def _settled_result(answered: Answered) -> Result | None:
    """The result that every completion shares, the most urgent where they differ but are equally bad."""
    if not isinstance(answered.diagram, int):
        return None
    if len(answered.cases) == 1:
        return answered.cases[0][0].result
    found = [
        outcome.result
        for outcome in answered.outcomes
        if outcome.result is not None and outcome.bad == answered.diagram
    ]
    return min(found, key=lambda result: _URGENCY[result], default=None)


def _findings(
    answered: list[Answered], completions: Completions, prepared: PreparedClass, situation: Situation, urgent: bool
) -> Iterable[Finding]:
    for each in answered:
        if urgent and each.diagram == FINE and _settled_result(each) != "ask":
            continue
        shown = [outcome for outcome in each.outcomes if outcome.result is not None]
        if not shown:
            continue
        if isinstance(each.diagram, int):
            worst = [outcome for outcome in shown if outcome.bad == each.diagram]
            if worst:
                yield _settled(each, worst, prepared, situation)
        else:
            yield _unsettled(each, shown, completions.names(support(each.diagram)), prepared, situation)


def _settled(answered: Answered, outcomes: list[Outcome], prepared: PreparedClass, situation: Situation) -> Finding:
    """Every completion comes out alike; where the rules differ between them, one finding cites them all."""
    first = min(outcomes, key=lambda outcome: _URGENCY[outcome.result or "met"])
    finding = _finding(answered, first, prepared, situation)
    others = [outcome for outcome in outcomes if outcome is not first]
    cited = _cited(outcomes)
    finding.clauses = tuple(dict.fromkeys(cite.clause for cite in cited))
    if others and len(finding.clauses) > 1 and finding.result in ("violation", "owed"):
        finding.sentence += (
            f" Whatever is still unknown, one of these clauses says so: {listed(finding.clauses, 'or')}."
        )
    finding.duties = tuple(sorted({duty for outcome in outcomes for duty in outcome.duties}))
    return finding


def _unsettled(
    answered: Answered,
    outcomes: list[Outcome],
    unknown: tuple[str, ...],
    prepared: PreparedClass,
    situation: Situation,
) -> Finding:
    worst = max(outcomes, key=lambda outcome: outcome.bad)
    finding = _finding(answered, worst, prepared, situation)
    finding.result = "undecided"
    finding.unknown = unknown
    finding.clauses = tuple(dict.fromkeys(cite.clause for cite in _cited(outcomes)))
    question = answered.component.open_question(situation)
    finding.sentence = f"{question} hangs on {listed(unknown)}. At worst: {finding.sentence}"
    finding.duties = tuple(sorted({duty for outcome in outcomes for duty in outcome.duties}))
    finding.facts |= {name: "not stated" for name in unknown if name in prepared.facts}
    return finding


def _finding(answered: Answered, outcome: Outcome, prepared: PreparedClass, situation: Situation) -> Finding:
    component = answered.component
    assert outcome.result is not None
    cite = outcome.cited[0]
    names = dict.fromkeys(name for each in outcome.cited for name in each.facts)
    if isinstance(component, LimitQuestion):
        names.update(dict.fromkeys(component.value.facts))
    return Finding(
        result=outcome.result,
        clause=cite.clause,
        form=cite.form if component.form == "change" else component.form,
        sentence=component.sentence(outcome, situation),
        path=cite.path,
        part=component.part,
        kind=outcome.kind or component.kind,
        does=component.does,
        about=component.about(outcome, situation),
        says=cite.says,
        clauses=tuple(dict.fromkeys(each.clause for each in outcome.cited)),
        contested=tuple(dict.fromkeys(each.clause for each in outcome.contested)),
        facts=facts_text(names, situation, prepared.facts),
        duties=tuple(sorted(outcome.duties)),
    )


def _cited(outcomes: list[Outcome]) -> list[Cited]:
    return list(dict.fromkeys(cite for outcome in outcomes for cite in outcome.cited))


def _asked(rule: WholeRule, prepared: PreparedClass, situation: Situation) -> Finding:
    """A clause for a person: listed unless its condition surely does not hold."""
    view = View(situation, prepared.counts, {})
    holds = rule.test(view)
    unknown = () if holds else tuple(sorted({each.name for each in view.met}))
    perhaps = f" (if it applies, which hangs on {listed(unknown)})" if unknown else ""
    return Finding(
        "ask",
        rule.clause,
        "ask",
        f"A person must judge: {rule.says}{perhaps}",
        rule.path,
        says=rule.says,
        clauses=(rule.clause,),
        facts=facts_text(rule.facts, situation, prepared.facts),
        unknown=unknown,
    )


def _limit_answer(answered: Answered) -> LimitAnswer | None:
    """The limit of a question; where it differs between completions, only what they share."""
    limits = [outcome.limit for outcome in answered.outcomes if outcome.limit is not None]
    if not limits:
        return None
    first, *others = limits
    if not others:
        return first if isinstance(answered.diagram, int) else first._replace(verdict="undecided")

    def shared(name: str) -> float | None:
        value: float | None = getattr(first, name)
        return value if all(getattr(other, name) == value for other in others) else None

    verdict = VERDICTS[answered.diagram] if isinstance(answered.diagram, int) else "undecided"
    return LimitAnswer(
        first.clause,
        first.which,
        shared("limit_kg"),
        shared("mass_kg"),
        shared("mass_u_kg"),
        shared("margin_kg"),
        shared("margin_low_kg"),
        shared("margin_high_kg"),
        shared("chance"),
        verdict,
        first.path,
    )
