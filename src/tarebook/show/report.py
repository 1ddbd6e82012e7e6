"""The answer to a check, for a terminal: the matrix first, then the findings of each class that needs attention."""

from collections.abc import Iterator

from tarebook.car.reading import Car
from tarebook.judge.components import inside
from tarebook.judge.findings import Finding, Report, Row
from tarebook.judge.wording import GERUND, PAST, listed
from tarebook.rules.reading import RuleSet
from tarebook.show.editions import edition_text
from tarebook.show.text import VERDICT_WORDS, margin, mass, width, wrapped
from tarebook.toml_source import show_plain

_CELL = 27
_URGENT = ("violation", "owed", "undecided", "too-close", "ask")
_RESULT_WORDS = {"violation": "against", "too-close": "too close"}


class TextReport:
    """Writes one report as text. Masses are in the car file's unit."""

    def __init__(self, report: Report, car: Car, *, full: bool = False) -> None:
        self.report = report
        self.car = car
        self.full = full
        self.unit = car.units.get("mass") or "kg"
        self.builds = list(dict.fromkeys(row.build for row in report.rows))

    def lines(self) -> Iterator[str]:
        """The whole answer."""
        yield from self.matrix()
        yield from self._attention()
        yield from self._foot()

    def matrix(self) -> Iterator[str]:
        """Class by build: the verdict, the least margin, and how many clauses a person still judges."""
        yield from self._head()
        yield from self._table()

    def _head(self) -> Iterator[str]:
        days: dict[str, dict[str, None]] = {}
        for row in self.report.rows:
            days.setdefault(row.on.isoformat(), {})[row.build] = None
        when = [f"{day} ({', '.join(builds)})" if len(days) > 1 else day for day, builds in days.items()]
        yield wrapped(f"{self.car.name} ({self.car.source.name}), judged on {', '.join(when)}")

    def _table(self) -> Iterator[str]:
        first = max((len(row.class_id) for row in self.report.rows), default=0) + 4
        per_block = max(1, (width() - first) // _CELL)
        for start in range(0, len(self.builds), per_block):
            builds = self.builds[start : start + per_block]
            yield ""
            yield (" " * first + "".join(f"{show_plain(build):{_CELL}}" for build in builds)).rstrip()
            book: RuleSet | None = None
            for rows in self._by_class():
                if rows[0].rules is not book:
                    book = rows[0].rules
                    yield wrapped(f"{edition_text(book)} ({book.source.name})")
                cells = {row.build: self._cell(row) for row in rows}
                line = "".join(f"{cells.get(build, ''):{_CELL}}" for build in builds)
                yield f"  {show_plain(rows[0].class_id):{first - 2}}{line}".rstrip()

    def _by_class(self) -> list[list[Row]]:
        found: dict[tuple[int, str], list[Row]] = {}
        for row in self.report.rows:
            found.setdefault((id(row.rules), row.class_id), []).append(row)
        return list(found.values())

    def _cell(self, row: Row) -> str:
        shown = "" if row.margin_kg is None else margin(row.margin_kg, self.unit)
        asked = f"{row.to_ask}?" if row.to_ask else ""
        return f"{VERDICT_WORDS[row.verdict]:13}{shown:11}{asked}"

    def _attention(self) -> Iterator[str]:
        for rows in self._by_class():
            if self.full or any(row.verdict != "eligible" or row.without for row in rows):
                yield ""
                yield wrapped(f"{rows[0].class_id}: {rows[0].title}")
                yield from self._class(rows)

    def _class(self, rows: list[Row]) -> Iterator[str]:
        by_verdict: dict[tuple[str, tuple[str, ...]], list[str]] = {}
        for row in rows:
            by_verdict.setdefault((row.verdict, row.facts_to_find), []).append(row.build)
        for (verdict, to_find), builds in by_verdict.items():
            tail = f"; find out: {', '.join(to_find)}" if to_find else ""
            yield wrapped(f"{', '.join(builds)}: {VERDICT_WORDS[verdict]}{tail}", "  ", "    ")
        yield from self._bulletins(rows)
        for (said, where), names in self._grouped(rows).items():
            yield from self._finding(rows[0], said.finding, names, where if len(rows) > 1 else ())
        asks = [
            finding.clause
            for row in rows
            for finding in row.urgent
            if finding.result == "ask" and finding.form == "ask"
        ]
        if asks and not self.full:
            yield wrapped(f"a person judges clause {', '.join(dict.fromkeys(asks))}", "    ")

    def _bulletins(self, rows: list[Row]) -> Iterator[str]:
        """Which bulletins the answers owe something to, and what they would be without."""
        builds: dict[tuple[str, str], list[str]] = {}
        for row in rows:
            for number, verdict in row.without:
                if verdict is None:
                    words = "there is no such class"
                elif verdict == row.verdict:
                    words = f"also {VERDICT_WORDS[verdict]}, but not for the same reasons"
                else:
                    words = VERDICT_WORDS[verdict]
                builds.setdefault((number, words), []).append(row.build)
        for (number, words), names in builds.items():
            where = f" ({', '.join(names)})" if len(names) < len(rows) else ""
            yield wrapped(f"bulletin {number} counts here; without it: {words}{where}", "    ", "      ")

    def _grouped(self, rows: list[Row]) -> "dict[tuple[_Said, tuple[str, ...]], list[str]]":
        """What is said of several builds once, and of several parts alike together."""
        builds: dict[tuple[_Said, str], list[str]] = {}
        for row in rows:
            for finding in row.findings if self.full else row.urgent:
                if self.full or (finding.result in _URGENT and finding.form != "ask"):
                    builds.setdefault((_Said(finding), finding.about), []).append(row.build)
        found: dict[tuple[_Said, tuple[str, ...]], list[str]] = {}
        for (said, about), where in builds.items():
            found.setdefault((said, tuple(where)), []).append(about)
        return dict(sorted(found.items(), key=lambda item: _ORDER.index(item[0][0].finding.result)))

    def _finding(self, row: Row, finding: Finding, names: list[str], builds: tuple[str, ...]) -> Iterator[str]:
        word = _RESULT_WORDS.get(finding.result, finding.result)
        clause = " or ".join(finding.clauses) if finding.result == "violation" else finding.clause
        says = f' "{finding.says}"' if finding.says and finding.form != "ask" else ""
        where = f" ({', '.join(builds)})" if builds else ""
        file, line = row.rules.source.where(finding.path)
        place = f" [{file}:{line}]"
        sentence = _together(finding, names) if len(names) > 1 else finding.sentence
        yield wrapped(f"{word:10} {clause:7} {sentence}{says}{where}{place}", "    ", " " * 23)

    def _foot(self) -> Iterator[str]:
        yield ""
        goal = self.car.file.car.goal
        if goal is not None:
            yield from self._goal(float(goal.mass.value))
        if any(row.to_ask for row in self.report.rows):
            yield wrapped(
                "2? means that a person still judges 2 clauses; --full prints them, and all that is in order."
            )
        yield wrapped("This is a preparation. The official at the event decides, by the club's own book.")

    def _goal(self, goal: float) -> Iterator[str]:
        parts = []
        for build, alone in self.report.alone_kg.items():
            if alone is not None:
                side = "over" if alone > goal else "under"
                parts.append(f"{build} {mass(abs(alone - goal), self.unit)} {side}")
        if parts:
            yield wrapped(f"Your goal is {mass(goal, self.unit)} without driver: {', '.join(parts)}.")


_ORDER = ("violation", "owed", "undecided", "too-close", "ask", "allowed", "met")


class _Said:
    """A finding, equal to another that says the same of another build or of another part."""

    def __init__(self, finding: Finding) -> None:
        self.finding = finding
        alike = finding.about and finding.result in ("violation", "allowed") and not finding.contested
        about = (finding.does, finding.form) if alike else finding.sentence
        self._key = (finding.result, finding.clauses, finding.path, about)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Said) and self._key == other._key

    def __hash__(self) -> int:
        return hash(self._key)


def _together(finding: Finding, names: list[str]) -> str:
    assert finding.does is not None
    inner = listed(inside(name) for name in names)
    if finding.form == "silence":
        if finding.result == "violation":
            return f"No clause allows {GERUND[finding.does]} {inner}."
        return f"No clause forbids {GERUND[finding.does]} {inner}."
    word = "may not be" if finding.result == "violation" else "may be"
    return f"{inner[0].upper()}{inner[1:]} {word} {PAST[finding.does]}."
