"""What proofreading found, for a terminal and as one JSON document."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from typing import Any

from tarebook.proofread.coverage import Coverage
from tarebook.proofread.examples import ExampleResult
from tarebook.proofread.findings import Blemish
from tarebook.proofread.proofs import Proof, Proofs
from tarebook.show.editions import edition_text
from tarebook.show.text import wrapped

PROOFREAD_FORMAT = "tarebook-proofread/1"
_MOST_LISTED = 20  # rules that no example exercises: beyond these, the count says enough
_MOST_MISTAKES = 50
_MOST_FAILURES = 50
_CLAUSE = 8
_CANNOT_BE_READ = "It cannot be read as it stands"


def proof_lines(proofs: Proofs, wanted: Fraction | None = None) -> Iterator[str]:
    """The whole answer; `wanted` is the coverage in percent that was asked for."""
    for number, proof in enumerate(proofs.editions):
        if number:
            yield ""
        yield from _edition(proof, wanted, as_printed=proofs.on is None)
    if proofs.beside:
        yield ""
        yield "Beside the rules of any one edition"
        yield from _mistakes(proofs.beside)


def _edition(proof: Proof, wanted: Fraction | None, *, as_printed: bool) -> Iterator[str]:
    yield wrapped(proof.name if proof.rules is None else f"{edition_text(proof.rules)} ({proof.name})")
    if as_printed and proof.rules is not None and proof.rules.bulletins_known:
        yield wrapped("As printed: name a day, --on DATE, to count the bulletins in force on it.", "  ")
    if proof.mistakes:
        yield from _mistakes(proof.mistakes)
    elif not proof.wants_book:
        yield "  No mistakes."
    if proof.rules is None:
        why = "The other book that it has classes from is not there" if proof.wants_book else _CANNOT_BE_READ
        yield wrapped(f"{why}, so that its examples were not run.", "  ")
        return
    rules = [each for each in proof.left_out if each.form != "example"]
    if rules:
        entries = "The entry with a mistake was" if len(rules) == 1 else "The entries with mistakes were"
        so = f"; an example may fail for want of {'it' if len(rules) == 1 else 'them'}" if proof.failures else ""
        yield wrapped(f"{entries} left out of what follows{so}.", "  ")
    yield from _examples(proof)
    if proof.coverage is not None:
        yield from _coverage(proof, proof.coverage, wanted)


def _mistakes(mistakes: Sequence[Blemish]) -> Iterator[str]:
    for each in mistakes[:_MOST_MISTAKES]:
        yield _entry(each.clause, f"{each.sentence} [{each.file}:{each.line}]")
    more = len(mistakes) - _MOST_MISTAKES
    if more > 0:
        yield f"  and {more:,} more."


def _entry(clause: str, text: str) -> str:
    if not clause:
        return wrapped(text, "  ", "    ")
    return wrapped(f"{clause:{_CLAUSE}}{text}", "  ", " " * (_CLAUSE + 2))


def _examples(proof: Proof) -> Iterator[str]:
    if not proof.examples and not proof.not_run:
        yield wrapped("It has no examples of its own: [[example]] would show that its rules decide as meant.", "  ")
        return
    run, failed = len(proof.examples), len(proof.failures)
    if run:
        yield wrapped(f"{_counted(run, 'example')} run, {failed if failed else 'none'} failed.", "  ")
    if proof.not_run:
        yield wrapped(f"{_counted(proof.not_run, 'example')} not run: {_why_not(proof)}.", "  ")
    for each in proof.failures[:_MOST_FAILURES]:
        yield _entry("failed", f'"{each.title}": {each.sentence} [{each.file}:{each.line}]')
    if failed > _MOST_FAILURES:
        yield f"  and {failed - _MOST_FAILURES:,} more."
    as_printed = sum(each.as_printed for each in proof.failures)
    if as_printed:
        which = "That one holds" if failed == 1 else f"Of these, {as_printed:,} hold{'s' * (as_printed == 1)}"
        yield wrapped(
            f"{which} by the text as printed. Where the bulletins mean it so, let it say for which day it is meant"
            ' ("on"), and write another one for the days since.',
            "  ",
        )


def _why_not(proof: Proof) -> str:
    """Why some examples were not run, though the edition could be read."""
    following = sum(each.follows for each in proof.left_out if each.form == "example")
    they, have, ask = ("it", "has a mistake", "asks") if proof.not_run == 1 else ("they", "have mistakes", "ask")
    if following == proof.not_run:
        return f"{they} {ask} for what was left out"
    return f"{they} {have}" + (f", or {ask} for what was left out" if following else "")


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _coverage(proof: Proof, found: Coverage, wanted: Fraction | None) -> Iterator[str]:
    share = f"{found.exercised} of {found.total} rules, bands and cases ({_percent(found)} %)"
    yield wrapped(f"The examples exercise {share}.", "  ")
    if wanted is not None and found.percent < wanted:
        yield wrapped(f"That is under the {float(wanted):g} % asked for.", "  ")
    if not proof.examples or not found.unexercised:
        return
    yield "  No example exercises"
    for item in found.unexercised[:_MOST_LISTED]:
        yield _entry(item.clause, f"{item.words} [{item.file}:{item.line}]")
    more = len(found.unexercised) - _MOST_LISTED
    if more > 0:
        yield f"  and {more} more."


def _percent(found: Coverage) -> float:
    """With one decimal, rounded down: what is not whole never reads as 100."""
    return int(found.percent * 10) / 10


def proof_document(proofs: Proofs) -> dict[str, Any]:
    """The whole answer as plain data: all editions together, and each by itself."""
    mistakes = [each for proof in proofs.editions for each in proof.mistakes] + list(proofs.beside)
    covered = [proof.coverage for proof in proofs.editions if proof.coverage is not None]
    together = Coverage(
        sum(each.exercised for each in covered),
        sum(each.total for each in covered),
        tuple(item for each in covered for item in each.unexercised),
    )
    examples = [result for proof in proofs.editions for result in proof.examples]
    not_run = sum(proof.not_run for proof in proofs.editions)
    return {
        "format": PROOFREAD_FORMAT,
        **_document(mistakes, examples, not_run, together if covered else None),
        "editions": [
            {
                "book": None if proof.rules is None else proof.rules.id,
                "edition": None if proof.rules is None else proof.rules.edition,
                "bulletins": [] if proof.rules is None else [each.number for each in proof.rules.bulletins],
                "file": proof.name,
                "left_out": len(proof.left_out),
                **_document(proof.mistakes, proof.examples, proof.not_run, proof.coverage),
            }
            for proof in proofs.editions
        ],
    }


def _document(
    mistakes: Iterable[Blemish], examples: Iterable[ExampleResult], not_run: int, coverage: Coverage | None
) -> dict[str, Any]:
    """`coverage` is None, and left out, where nothing could be read."""
    run = list(examples)
    failed = [result for result in run if not result.passed]
    return {
        "mistakes": [
            {
                "what": each.what,
                "clause": each.clause,
                "sentence": each.sentence,
                "beaten_by": each.beaten_by,
                "source": {"file": each.file, "line": each.line, "column": each.column},
            }
            for each in mistakes
        ],
        "examples": {"run": len(run), "failed": len(failed)},
        "not_run": not_run,
        "failures": [
            {
                "title": each.title,
                "sentence": each.sentence,
                "holds_as_printed": each.as_printed,
                "source": {"file": each.file, "line": each.line, "column": each.column},
            }
            for each in failed
        ],
        **({} if coverage is None else _covered(coverage)),
    }


def _covered(coverage: Coverage) -> dict[str, Any]:
    return {
        "coverage": {
            "exercised": coverage.exercised,
            "total": coverage.total,
            "percent": _percent(coverage),
        },
        "unexercised": list(dict.fromkeys(item.text for item in coverage.unexercised)),
    }
