"""What a record keeps: the verdicts of one day, and the texts of the car and of the rules that they stand on."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any, NamedTuple

from tarebook.judge.findings import VERDICTS, Row
from tarebook.records.strict import Fields, RecordProblem
from tarebook.toml_source import Source, parse_source

RECORD_FORMAT = "tarebook-record/1"
MOST_RULE_FILES = 1000
_BOM = "\ufeff"
_DOUBTS = ("undecided", "too-close")
_RESULTS = (("violations", "violation"), ("owed", "owed"))


class KeptFile(NamedTuple):
    """A file as it was: its name, the SHA-256 digest of its bytes in hexadecimal, and its text."""

    file: str
    sha256: str
    text: str

    @classmethod
    def of(cls, source: Source, name: str) -> "KeptFile":
        """Keeps a file that has been read, under a name."""
        digest = source.sha256
        plain = sha256(source.text.encode()).hexdigest() == digest
        return cls(name, digest, source.text if plain else _BOM + source.text)

    def source(self) -> Source:
        """Reads the text as its file was read, within the same limits. Raises MistakesFound."""
        return parse_source(self.text.encode(), f"{self.file} (as recorded)")


class Fault(NamedTuple):
    """A violation, or a finish that is owed; of an answer just given, also what is too close or undecided."""

    result: str
    clause: str
    form: str
    part: str | None
    kind: str | None
    does: str | None
    sentence: str


@dataclass(frozen=True, slots=True)
class KeptRow:
    """The answer for one class and one build.

    Attributes:
        bulletins: the numbers of those that its book was amended by.
        margin_kg: None where it could not be computed.
        doubts: what is too close to call or undecided, of an answer just given: a record does not keep it.
    """

    book: str
    edition: str
    bulletins: tuple[str, ...]
    class_id: str
    build: str
    on: datetime.date
    verdict: str
    margin_kg: float | None
    facts_to_find: tuple[str, ...]
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...] = field(default=(), compare=False)

    @property
    def key(self) -> tuple[str, str, str]:
        """What stays the same from one judging to the next: book, class and build."""
        return self.book, self.class_id, self.build

    @classmethod
    def of(cls, row: Row) -> "KeptRow":
        """Keeps a row of a report."""
        found = [
            Fault(each.result, each.clause, each.form, each.part, each.kind, each.does, each.sentence)
            for each in row.urgent
        ]
        return cls(
            book=row.book,
            edition=row.edition,
            bulletins=tuple(each.number for each in row.rules.bulletins),
            class_id=row.class_id,
            build=row.build,
            on=row.on,
            verdict=row.verdict,
            margin_kg=row.margin_kg,
            facts_to_find=row.facts_to_find,
            faults=tuple(each for each in found if each.result in ("violation", "owed")),
            doubts=tuple(each for each in found if each.result in _DOUBTS),
        )


@dataclass(frozen=True, slots=True)
class Record:
    """One judging of every build against every class.

    Attributes:
        days: the day on which each build was judged.
        builds_named: the builds that were asked for; none where all were judged.
        proposed: whether bulletins that are only proposed were counted.
        rules_named: the files and folders that were named as the rules; none where they were found by themselves.
    """

    tool_version: str
    recorded_on: datetime.date
    days: Mapping[str, datetime.date]
    builds_named: tuple[str, ...]
    proposed: bool
    car: KeptFile
    rules_named: tuple[str, ...]
    rules: tuple[KeptFile, ...]
    rows: tuple[KeptRow, ...]


def record_document(record: Record) -> dict[str, Any]:
    """The record as plain data for JSON, masses in kg."""
    return {
        "format": RECORD_FORMAT,
        "tool_version": record.tool_version,
        "recorded_on": record.recorded_on.isoformat(),
        "days": {build: day.isoformat() for build, day in record.days.items()},
        "builds_named": list(record.builds_named),
        "proposed": record.proposed,
        "car": record.car._asdict(),
        "rules_named": list(record.rules_named),
        "rules": [each._asdict() for each in record.rules],
        "rows": [_row_document(row) for row in record.rows],
    }


def _row_document(row: KeptRow) -> dict[str, Any]:
    document: dict[str, Any] = {
        "book": row.book,
        "edition": row.edition,
        "bulletins": list(row.bulletins),
        "class": row.class_id,
        "build": row.build,
        "on": row.on.isoformat(),
        "verdict": row.verdict,
        "margin_kg": row.margin_kg,
        "facts_to_find": list(row.facts_to_find),
    }
    for key, result in _RESULTS:
        document[key] = [fault_document(fault) for fault in row.faults if fault.result == result]
    return document


def fault_document(fault: Fault) -> dict[str, Any]:
    """A violation or owed finish as plain data; which of the two it is stands outside."""
    document = fault._asdict()
    del document["result"]
    return document


def record_from(data: Any) -> Record:
    """The record that plain data holds. Raises RecordProblem, with the place of what is wrong."""
    fields = Fields(data)
    if fields.text("format") != RECORD_FORMAT:
        raise RecordProblem(f'format must be "{RECORD_FORMAT}".')
    record = Record(
        tool_version=fields.text("tool_version"),
        recorded_on=fields.day("recorded_on"),
        days=fields.days("days"),
        builds_named=fields.texts("builds_named"),
        proposed=fields.flag("proposed"),
        car=_file_from(fields.table("car")),
        rules_named=fields.texts("rules_named"),
        rules=tuple(_file_from(each) for each in fields.tables("rules")),
        rows=tuple(_row_from(each) for each in fields.tables("rows")),
    )
    fields.no_more()
    if not 1 <= len(record.rules) <= MOST_RULE_FILES:
        raise RecordProblem(f"rules must hold 1 to {MOST_RULE_FILES:,} files.")
    seen: set[tuple[str, str, str]] = set()
    for index, row in enumerate(record.rows):
        if row.key in seen:
            raise RecordProblem(f"rows[{index}] is of the same book, class and build as another row.")
        seen.add(row.key)
        if record.days.get(row.build) != row.on:
            raise RecordProblem(f"rows[{index}].on must be the day that days has for its build.")
    return record


def _file_from(fields: Fields) -> KeptFile:
    file = KeptFile(fields.text("file"), fields.text("sha256"), fields.text("text"))
    fields.no_more()
    if "\0" in file.file or not file.file:
        raise RecordProblem(f"{fields.place('file')} must be the name of a file.")
    try:
        content = file.text.encode()
    except UnicodeEncodeError:
        raise RecordProblem(f"{fields.place('text')} holds half a character, which no text can.") from None
    if sha256(content).hexdigest() != file.sha256:
        raise RecordProblem(f"{fields.place('sha256')} is not the SHA-256 digest of the text beside it.")
    return file


def _row_from(fields: Fields) -> KeptRow:
    row = KeptRow(
        book=fields.text("book"),
        edition=fields.text("edition"),
        bulletins=fields.texts("bulletins"),
        class_id=fields.text("class"),
        build=fields.text("build"),
        on=fields.day("on"),
        verdict=fields.text("verdict"),
        margin_kg=fields.number_or_none("margin_kg"),
        facts_to_find=fields.texts("facts_to_find"),
        faults=tuple(_fault_from(each, result) for key, result in _RESULTS for each in fields.tables(key)),
    )
    fields.no_more()
    if row.verdict not in VERDICTS.values():
        raise RecordProblem(f"{fields.place('verdict')} must be one of {', '.join(VERDICTS.values())}.")
    return row


def _fault_from(fields: Fields, result: str) -> Fault:
    fault = Fault(
        result=result,
        clause=fields.text("clause"),
        form=fields.text("form"),
        part=fields.text_or_none("part"),
        kind=fields.text_or_none("kind"),
        does=fields.text_or_none("does"),
        sentence=fields.text("sentence"),
    )
    fields.no_more()
    return fault
