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
    else:
        yield "  No mistakes."
    if proof.rules is None:
        yield wrapped("It cannot be read as it stands, so that its examples were not run.", "  ")
        return
    if proof.left_out:
        entries = "The entry with a mistake was" if len(proof.left_out) == 1 else "The entries with mistakes were"
        yield wrapped(f"{entries} left out of what follows.", "  ")
    yield from _examples(proof)
    yield from _coverage(proof, wanted)


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
    if not proof.examples:
        yield wrapped("It has no examples of its own: [[example]] would show that its rules decide as meant.", "  ")
        return
    run, failed = len(proof.examples), len(proof.failures)
    yield wrapped(f"{_counted(run, 'example')} run, {failed if failed else 'none'} failed.", "  ")
    for each in proof.failures[:_MOST_FAILURES]:
        yield _entry("failed", f'"{each.title}": {each.sentence} [{each.file}:{each.line}]')
    if failed > _MOST_FAILURES:
        yield f"  and {failed - _MOST_FAILURES:,} more."


def _counted(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _coverage(proof: Proof, wanted: Fraction | None) -> Iterator[str]:
    found = proof.coverage
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
    together = Coverage(
        sum(proof.coverage.exercised for proof in proofs.editions),
        sum(proof.coverage.total for proof in proofs.editions),
        tuple(item for proof in proofs.editions for item in proof.coverage.unexercised),
    )
    examples = [result for proof in proofs.editions for result in proof.examples]
    return {
        "format": PROOFREAD_FORMAT,
        **_document(mistakes, examples, together),
        "editions": [
            {
                "book": None if proof.rules is None else proof.rules.id,
                "edition": None if proof.rules is None else proof.rules.edition,
                "bulletins": [] if proof.rules is None else [each.number for each in proof.rules.bulletins],
                "file": proof.name,
                "left_out": len(proof.left_out),
                **_document(proof.mistakes, proof.examples, proof.coverage),
            }
            for proof in proofs.editions
        ],
    }


def _document(mistakes: Iterable[Blemish], examples: Iterable[ExampleResult], coverage: Coverage) -> dict[str, Any]:
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
        "failures": [
            {
                "title": each.title,
                "sentence": each.sentence,
                "source": {"file": each.file, "line": each.line, "column": each.column},
            }
            for each in failed
        ],
        "coverage": {
            "exercised": coverage.exercised,
            "total": coverage.total,
            "percent": _percent(coverage),
        },
        "unexercised": list(dict.fromkeys(item.text for item in coverage.unexercised)),
    }
