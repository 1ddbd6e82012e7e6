"""The engine: one class, one build, one day in; one row of the report out. It opens no file and reads no clock."""

from collections.abc import Iterable
from dataclasses import replace

from tarebook.judge.completing import MOST_CASES, Answered, Completions
from tarebook.judge.components import Outcome, questions
from tarebook.judge.decision_diagrams import Diagram, TooMany, results, support
from tarebook.judge.findings import BAD, FINE, OPEN, VERDICTS, Finding, LimitAnswer, Row
from tarebook.judge.limits import LimitQuestion, limit_questions
from tarebook.judge.prepared import Cited, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import facts_text, listed

CONFIDENCE = 0.975
_URGENCY = {"violation": 0, "owed": 1, "undecided": 2, "too-close": 3, "ask": 4, "allowed": 5, "met": 6}


def judge(prepared: PreparedClass, situation: Situation, *, confidence: float = CONFIDENCE) -> Row:
    """Judge a build against a class.

    `confidence` is the chance of keeping each limit that `eligible` asks for; `not-eligible` is below one minus it.
    """
    limits = limit_questions(prepared, situation, confidence)
    completions = Completions(prepared, situation)
    book = prepared.rules.file.book
    row = Row(
        book.id,
        book.edition,
        prepared.id,
        prepared.full.title,
        situation.configuration.name,
        situation.on,
        "undecided",
        0,
        (),
        [],
        [],
    )
    try:
        answered = completions.answer_all([*questions(prepared, situation), *limits])
        overall: Diagram = FINE
        for each in answered:
            overall = completions.diagrams.worst(overall, each.diagram)
    except TooMany:
        row.findings.append(
            Finding(
                "undecided",
                prepared.full.clause or prepared.silence.clause,
                "class",
                f"More than {MOST_CASES:,} cases of what is unknown would have to be tried: state more of the facts.",
                prepared.full.path,
            )
        )
        return row
    shared = results(overall)
    row.verdict = VERDICTS[shared.pop()] if len(shared) == 1 else "undecided"
    to_find = set(completions.names(support(overall)))
    if row.verdict == "undecided":
        to_find.update(_only_unstated(answered))
    row.facts_to_find = tuple(sorted(to_find))
    asks = _asks(prepared, situation)
    row.findings = sorted(
        (*_findings(answered, completions, prepared, situation), *asks),
        key=lambda finding: _URGENCY[finding.result],
    )
    row.to_ask = sum(finding.result == "ask" for finding in row.findings)
    row.limits = [answer for each in answered if (answer := _limit_answer(each, situation)) is not None]
    return row


def _only_unstated(answered: list[Answered]) -> set[str]:
    """Facts that would settle the masses, if nothing else leaves a mass or a limit open."""
    found: set[str] = set()
    for each in answered:
        for outcome in each.outcomes:
            if outcome.bad == OPEN:
                if not outcome.to_find:
                    return set()
                found.update(outcome.to_find)
    return found


def _findings(
    answered: list[Answered], completions: Completions, prepared: PreparedClass, situation: Situation
) -> Iterable[Finding]:
    for each in answered:
        shown = [outcome for outcome in each.outcomes if outcome.result is not None]
        if not shown:
            continue
        if isinstance(each.diagram, int):
            worst = [outcome for outcome in shown if outcome.bad == each.diagram]
            if worst:
                yield _settled(each, worst, prepared, situation)
        else:
            yield _unsettled(each, shown, completions.names(support(each.diagram)), prepared, situation)


def _settled(
    answered: Answered, outcomes: list[Outcome], prepared: PreparedClass, situation: Situation
) -> Finding:
    """Every completion comes out alike; where the rules differ between them, one finding cites them all."""
    first = min(outcomes, key=lambda outcome: _URGENCY[outcome.result or "met"])
    finding = _finding(answered, first, prepared, situation)
    others = [
        outcome.sentence
        for outcome in outcomes
        if outcome is not first and outcome.sentence != first.sentence
    ]
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
    bad = (
        worst.sentence[:1].lower() + worst.sentence[1:]
        if worst.bad == BAD and worst.sentence[1:2].islower()
        else worst.sentence
    )
    finding.sentence = (
        f"{answered.component.open_question(situation)} hangs on {listed(unknown)}; at worst, {bad}"
    )
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
        sentence=outcome.sentence,
        path=cite.path,
        part=component.part,
        kind=outcome.kind or component.kind,
        does=component.does,
        says=cite.says,
        clauses=tuple(dict.fromkeys(each.clause for each in outcome.cited)),
        contested=tuple(dict.fromkeys(each.clause for each in outcome.contested)),
        facts=facts_text(names, situation, prepared.facts),
        duties=outcome.duties,
    )


def _cited(outcomes: list[Outcome]) -> list[Cited]:
    return list(dict.fromkeys(cite for outcome in outcomes for cite in outcome.cited))


def _asks(prepared: PreparedClass, situation: Situation) -> Iterable[Finding]:
    """Clauses for a person: listed unless their condition surely does not hold."""
    for rule in prepared.whole["ask"]:
        view = View(situation, prepared.counts, {})
        holds = rule.test(view)
        if holds is not False:
            unknown = () if holds else tuple(sorted({each.name for each in view.met}))
            perhaps = f" (if it applies, which hangs on {listed(unknown)})" if unknown else ""
            yield Finding(
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


def _limit_answer(answered: Answered, situation: Situation) -> LimitAnswer | None:
    """The limit of a question; where it differs between completions, only what they share."""
    limits = [outcome.limit for outcome in answered.outcomes if outcome.limit is not None]
    if not limits:
        return None
    first, *others = limits
    if not others:
        return first if isinstance(answered.diagram, int) else replace(first, verdict="undecided")

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
