"""Proofreads rule-set files: what is wrong in each edition, how its examples come out, which rules they leave out."""

import datetime
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tarebook.proofread.coverage import Coverage, coverage
from tarebook.proofread.examples import ExampleResult, run_examples
from tarebook.proofread.findings import Blemish, blemish
from tarebook.proofread.gathering import read_all
from tarebook.proofread.proofreading import blemishes
from tarebook.proofread.salvaging import LeftOut, Reading
from tarebook.proofread.telling import told
from tarebook.rules.classes import references
from tarebook.rules.editions import NotInForce, between, in_force
from tarebook.rules.reading import RuleSet
from tarebook.rules.referring import missing_books
from tarebook.toml_source import MistakesFound


@dataclass(frozen=True, slots=True)
class Proof:
    """What proofreading one edition found.

    Attributes:
        name: the file of the edition.
        rules: the edition; None where it could not be read, even without the entries that have mistakes.
        left_out: the entries with mistakes that were left out of the examples, the coverage and the further checks.
        examples: those that were run.
        not_run: how many were not: they have mistakes, or ask for what has, or the edition could not be read.
        wants_book: the edition has classes from another book that could not be read, or is not there.
        coverage: None where the edition could not be read.
    """

    name: str
    rules: RuleSet | None
    mistakes: tuple[Blemish, ...]
    left_out: tuple[LeftOut, ...]
    examples: tuple[ExampleResult, ...]
    not_run: int
    wants_book: bool
    coverage: Coverage | None

    @property
    def failures(self) -> list[ExampleResult]:
        return [result for result in self.examples if not result.passed]


@dataclass(frozen=True, slots=True)
class Proofs:
    """What proofreading some files found: each edition by itself, and what belongs to no one edition.

    `on` is the day whose editions and bulletins were asked for; None for every edition as printed.
    """

    editions: tuple[Proof, ...]
    beside: tuple[Blemish, ...]
    on: datetime.date | None

    @property
    def sound(self) -> bool:
        """No mistake, and every example came out as expected."""
        return not self.beside and not any(proof.mistakes or proof.failures for proof in self.editions)


def proofread(paths: Iterable[str | Path], *, on: datetime.date | None = None, proposed: bool = False) -> Proofs:
    """Proofread rule-set files and folders of them, edition by edition.

    With a day, of each book only the edition in force then, with its bulletins (and with `proposed`, the proposed
    ones); without one, every edition as printed, and the days that lie between editions.

    Raises:
        MistakesFound: a file is missing or is no regular file, or a folder holds no rule set.
        NotInForce: no edition of a book, or more than one, covers the day.
    """
    readings, beside = read_all(paths)
    whole = [reading.rules for reading in readings if reading.rules is not None]
    if on is None:
        for seam in between(whole):
            what = "gap-between-editions" if seam.gap else "overlapping-editions"
            beside.append(blemish(seam.after.source, ("book", "in_force"), what, None, seam.sentence))
        readings = [_complete(reading, whole) for reading in readings]
    else:
        readings, more = _on_the_day(readings, whole, on, proposed, bool(beside))
        beside += more
    return Proofs(tuple(_proof(each, whole, on, proposed) for each in readings), tuple(beside), on)


def _complete(reading: Reading, whole: list[RuleSet]) -> Reading:
    """An edition with what it has from other books, as these are printed on its first day."""
    rules = reading.rules
    if rules is None or not references(rules.file):
        return reading
    first = rules.file.book.in_force.from_
    if missing_books(rules, whole):
        return reading._replace(rules=None, wants_book=True)  # that is told beside the editions
    try:
        return reading._replace(rules=rules.complete(each for each in whole if each.covers(first)))
    except MistakesFound as found:
        mistakes = [told(each, rules.source.data) for each in found.mistakes]
        return reading._replace(rules=None, mistakes=(*reading.mistakes, *mistakes), wants_book=True)


def _proof(reading: Reading, whole: list[RuleSet], on: datetime.date | None, proposed: bool) -> Proof:
    rules = reading.rules
    mistakes = sorted(
        (*reading.mistakes, *_blemishes(reading)),
        key=lambda each: (each.file != reading.name, each.file, each.line, each.column),
    )
    results = [] if rules is None else run_examples(rules, on=on, others=whole, proposed=proposed)
    return Proof(
        name=reading.name,
        rules=rules,
        mistakes=tuple(mistakes),
        left_out=reading.left_out,
        examples=tuple(results),
        not_run=reading.examples - len(results),
        wants_book=reading.wants_book,
        coverage=None if rules is None else coverage(rules, results),
    )


def _blemishes(reading: Reading) -> list[Blemish]:
    """The mistakes of sense in an edition, or in what could be read of it."""
    rules = reading.rules or reading.remains
    if rules is None or (reading.rules is None and references(rules.file)):
        return []
    found = blemishes(rules, whole=reading.rules is not None)
    return [each for each in found if each.file in rules.files and not _for_want_of(each, reading.left_out)]


def _for_want_of(found: Blemish, left_out: Iterable[LeftOut]) -> bool:
    """Whether a blemish is one only because an entry was left out that would have met it."""
    for each in left_out:
        if found.what == "finish-never-owed" and any(f'"{name}"' in found.sentence for name in each.names("finish")):
            return True
        if found.what == "drops-nothing" and any(f" clause {name}," in found.sentence for name in each.called):
            return True
        if found.what in ("gap-in-bands", "missing-case") and each.form in ("enter", "require"):
            return True
    return False


def _on_the_day(
    readings: list[Reading], whole: list[RuleSet], on: datetime.date, proposed: bool, flawed: bool
) -> tuple[list[Reading], list[Blemish]]:
    """The editions in force on a day, as amended; those that could not be read stay, as nobody knows their days."""
    beside: list[Blemish] = []
    complete, chosen = [each for each in whole if not missing_books(each, whole)], []
    try:
        try:
            chosen = in_force(complete, on, proposed=proposed)
        except MistakesFound as found:
            beside = [told(each) for each in found.mistakes]
            with suppress(MistakesFound):
                chosen = in_force(complete, on)
    except NotInForce:
        if not flawed and not any(reading.mistakes for reading in readings):
            raise
    amended = {rules.edition_as_printed: rules for rules in chosen}
    kept = []
    for reading in readings:
        if reading.rules is None:
            kept.append(reading)
        elif reading.rules in amended:
            kept.append(reading._replace(rules=amended[reading.rules]))
        elif reading.rules.covers(on) and references(reading.rules.file):
            kept.append(reading._replace(rules=None, wants_book=True))
    return kept, beside
