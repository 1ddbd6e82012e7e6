"""Runs a rule set's own examples: does each come out as the book expects?"""

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from tarebook.judge.findings import Finding, Row
from tarebook.judge.wording import listed
from tarebook.proofread.texts import Texts
from tarebook.proofread.trying import CannotTry, Tried, Trying
from tarebook.rules.classes import clause_covers
from tarebook.rules.models import Example
from tarebook.rules.reading import RuleSet
from tarebook.toml_source import MistakesFound

AGAINST = ("violation", "owed", "undecided", "too-close")
NOT_IN_PLAY = "not-in-play"
_URGENCY = (*AGAINST, "ask", "allowed", "met")
_MOST_TOLD = 3  # findings in one sentence


@dataclass(frozen=True, slots=True)
class ExampleResult:
    """How an example came out.

    Attributes:
        sentence: what came out instead, in one plain sentence; "" where it passed.
        tried: the example's car before its class; None where it could not be made.
        as_printed: whether it fails only because of bulletins: by the text as printed it passes.
    """

    title: str
    passed: bool
    sentence: str
    file: str
    line: int
    column: int
    tried: Tried | None
    as_printed: bool = False


def run_examples(
    rules: RuleSet,
    *,
    on: datetime.date | None = None,
    others: Iterable[RuleSet] = (),
    proposed: bool = False,
) -> list[ExampleResult]:
    """Run every example of an edition, in the order of the file; car files that they name are read here.

    An example that states a day is judged by the text of that day, one that states none by `rules` as they are given,
    on the day `on`, else on the first of the edition. `others` are the editions among which the books are that its
    classes refer to; with `proposed`, proposed bulletins count on the days of examples too.
    """
    texts = Texts(rules, on=on, others=others, proposed=proposed)
    trying = Trying(texts)
    return [_run(trying, texts, index, example) for index, example in enumerate(rules.file.example)]


def _run(trying: Trying, texts: Texts, index: int, example: Example) -> ExampleResult:
    rules = texts.asked.rules
    tried: Tried | None = None
    as_printed = False
    try:
        tried = trying.run(index)
        sentence = _otherwise(example, tried.row)
        if sentence and tried.text.rules is not rules:
            sentence = f"By the text of {tried.text.day}, {tried.text.words}: {sentence}"
        elif sentence and rules.bulletins:
            as_printed = _holds_as_printed(trying, texts, index, example)
    except CannotTry as why:
        sentence = f"It cannot be run: {why}."
    file, line = rules.source.where(("example", index))
    column = rules.source.place(("example", index))[1]
    return ExampleResult(example.title, not sentence, sentence, file, line, column, tried, as_printed)


def _holds_as_printed(trying: Trying, texts: Texts, index: int, example: Example) -> bool:
    try:
        return not _otherwise(example, trying.by(texts.printed, index).row)
    except (CannotTry, MistakesFound):
        return False


def _otherwise(example: Example, row: Row) -> str:
    """What came out instead of what is expected; "" where nothing did."""
    if example.clause is not None:
        return _of_clause(example.clause, example.expect, row)
    if row.verdict != example.expect:
        return f"Expected {example.expect}, came out {row.verdict}. {_speaking(row)}"
    reasons = [finding for finding in row.findings if row.verdict == "eligible" or finding.result in AGAINST]
    missing = [clause for clause in example.because if not any(_cites(finding, clause) for finding in reasons)]
    if not missing:
        return ""
    because = f"because of clause {listed(missing)}"
    if row.verdict == "eligible":
        return f"Came out eligible, but not {because}. Nothing that was found cites it."
    return f"Came out {row.verdict}, but not {because}. {_speaking(row)}"


def _of_clause(clause: str, expect: str, row: Row) -> str:
    """As `_otherwise`, for the result of one clause: the worst of the findings that cite it, or one under it.

    Where none of them speaks against the car, each of their results will do: a clause that asks for a part is met by
    it, and also allows fitting it.
    """
    cited = [finding for finding in row.findings if _cites(finding, clause)]
    cited.sort(key=lambda finding: _URGENCY.index(finding.result))
    results: list[str] = list(dict.fromkeys(finding.result for finding in cited)) or [NOT_IN_PLAY]
    if results[0] in AGAINST:
        results = results[:1]
    if expect in results:
        return ""
    told = _sentences(cited) if cited else "Nothing that was found cites it."
    return f"Expected clause {clause} to be {expect}, came out {listed(results)}. {told}"


def _cites(finding: Finding, clause: str) -> bool:
    return any(clause_covers(clause, each) for each in (finding.clause, *finding.clauses))


def _speaking(row: Row) -> str:
    """The findings that speak against the car, and what is not known of it."""
    against = [finding for finding in row.findings if finding.result in AGAINST]
    told = _sentences(against) if against else "Nothing speaks against it."
    unknown = f" Not known: {', '.join(row.facts_to_find)}." if row.facts_to_find else ""
    return told + unknown


def _sentences(findings: Iterable[Finding]) -> str:
    told = list(dict.fromkeys(f"Clause {finding.clause}: {finding.sentence}" for finding in findings))
    more = len(told) - _MOST_TOLD
    return " ".join(told[:_MOST_TOLD]) + (f" And {more} more." if more > 0 else "")
