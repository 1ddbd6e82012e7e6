"""What the engine answers: plain data, so that a check costs little and every view of it can be made later."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import TYPE_CHECKING, Literal, NamedTuple, Protocol

if TYPE_CHECKING:
    from tarebook.rules.reading import RuleSet

Verdict = Literal["eligible", "not-eligible", "too-close", "undecided"]
Result = Literal["violation", "undecided", "owed", "allowed", "met", "ask", "too-close"]
Path = tuple[str | int, ...]

# How bad a result is; the worst one is the verdict.
FINE, CLOSE, OPEN, BAD = 0, 1, 2, 3
VERDICTS: dict[int, Verdict] = {FINE: "eligible", CLOSE: "too-close", OPEN: "undecided", BAD: "not-eligible"}


@dataclass(slots=True)
class Finding:
    """One thing found about a class and a build.

    Attributes:
        clause: the clause that decided; `clauses` holds them all where several did, or could.
        form: the form of rule: allow, ban, need, strip, enter, require, finish, ask, limit, ballast or silence.
        part: the ledger's part that it is about, if one; `kind` and `does` likewise; `about` names a change.
        says: the book's own words for the rule.
        sentence: what was found, in one plain sentence.
        facts: the facts that the deciding rules looked at, as text.
        contested: clauses of allowances that lost only because a ban beats them at a tie.
        path: where the rule stands in the file of the book.
        unknown: the facts, kinds and particulars on which an undecided result hangs.
    """

    result: Result
    clause: str
    form: str
    sentence: str
    path: Path
    part: str | None = None
    kind: str | None = None
    does: str | None = None
    about: str = ""
    says: str = ""
    clauses: tuple[str, ...] = ()
    contested: tuple[str, ...] = ()
    facts: dict[str, str] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()
    duties: tuple[str, ...] = ()


class LimitAnswer(NamedTuple):
    """One limit of a class, in kg; None where something cannot be computed.

    `margin_kg` is positive on the legal side; `margin_low_kg` to `margin_high_kg` is its 95 % interval, and
    `chance` the chance that the limit is kept. `confidence` is what `eligible` asks of that chance.
    """

    clause: str
    which: str
    limit_kg: float | None
    mass_kg: float | None
    mass_u_kg: float | None
    margin_kg: float | None
    margin_low_kg: float | None
    margin_high_kg: float | None
    chance: float | None
    verdict: Verdict
    path: Path = ()


@dataclass
class Row:
    """The answer for one class and one build.

    `rules` is the text by which it was judged, bulletins included. `without` names the bulletins without which the
    answer would be another one, each with the verdict then (None: without it there is no such class).

    `findings` are put into words when they are first asked for: most rows of a large check are never read so far.
    """

    book: str
    edition: str
    class_id: str
    title: str
    build: str
    on: date
    verdict: Verdict
    to_ask: int
    facts_to_find: tuple[str, ...]
    limits: list[LimitAnswer]
    put_into_words: Callable[[bool], list[Finding]] = field(repr=False, compare=False)
    rules: "RuleSet" = field(repr=False, compare=False)
    without: tuple[tuple[str, Verdict | None], ...] = ()

    @property
    def margin_kg(self) -> float | None:
        """The least margin of the weight limits, in kg; None where there is none, or one is not known."""
        margins = [limit.margin_kg for limit in self.limits if limit.which not in ("taken_off", "ballast")]
        known = [each for each in margins if each is not None]
        return min(known) if known and len(known) == len(margins) else None

    @cached_property
    def findings(self) -> list[Finding]:
        """What was found, the most urgent first."""
        return self.put_into_words(False)

    @cached_property
    def urgent(self) -> list[Finding]:
        """The findings that are not in order, or that a person must judge."""
        return self.put_into_words(True)


class FileUsed(Protocol):
    """A file that a report stands on: its name, and the SHA-256 digest of its bytes in hexadecimal."""

    name: str

    @property
    def sha256(self) -> str: ...


class BulletinUsed(NamedTuple):
    """A bulletin that a report counts."""

    number: str
    proposed: bool
    file: FileUsed


class BookUsed(NamedTuple):
    """Which edition of which book a report stands on, with which bulletins."""

    book: str
    title: str
    edition: str
    file: FileUsed
    bulletins: tuple[BulletinUsed, ...] = ()


class Receipt(NamedTuple):
    """What a report was made from, so that it can be made again."""

    tool_version: str
    report_format: str
    car: str
    car_file: FileUsed
    books: tuple[BookUsed, ...]


@dataclass(slots=True)
class Report:
    """The answers to a check, and what they were made from.

    `alone_kg` is the mass of each build without anybody in it, with the fuel of `at_inspection`; None if unknown.
    """

    receipt: Receipt
    rows: list[Row]
    alone_kg: dict[str, float | None] = field(default_factory=dict)
