"""What changed since a record, row by row, and which of car, rules, date and this program it is due to.

Whose doing a change is shows when the old things are judged again with some of them exchanged for the new ones.
"""

import datetime
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations
from typing import Literal, NamedTuple

from tarebook.car.reading import Car, car_from
from tarebook.records.answering import Answers, Key, answers, rule_sources
from tarebook.records.differences import GONE, Difference, State, differ, difference, is_worse
from tarebook.records.record import KeptFile, Record
from tarebook.records.strict import RecordProblem
from tarebook.rules.reading import RuleSet, rules_of
from tarebook.toml_source import MistakesFound
from tarebook.version import __version__

Thing = Literal["car", "rules", "date", "tool_version"]
Cause = tuple[Thing, ...]  # one thing, or several that only together make the change
_EXCHANGED: tuple[Thing, ...] = ("car", "rules", "date")


class RuleFileChange(NamedTuple):
    """A rule file or bulletin that is not as it was; `book` is the id of the book that it is of, if it says."""

    file: str
    what: Literal["changed", "new", "gone"]
    book: str | None


class RowChange(NamedTuple):
    """One class and build whose answer is another one now. `because` are the causes; each alone is enough."""

    key: Key
    was: State
    now: State
    difference: Difference
    because: tuple[Cause, ...]
    worse: bool


class Recheck(NamedTuple):
    """What changed since a record.

    Attributes:
        car_changed: the car file's name, if it is not as it was.
        rules_changed: the rule files that are not as they were.
        proposed_changed: whether proposed bulletins are counted now, and were not, or the reverse.
        date_changed: by build, the day then and the day now, where they differ.
        compared: how many rows the record has of the builds asked about.
        rows: those that changed.
    """

    record: Record
    car_changed: str | None
    rules_changed: tuple[RuleFileChange, ...]
    proposed_changed: bool
    date_changed: dict[str, tuple[datetime.date, datetime.date]]
    tool_version: str
    compared: int
    rows: tuple[RowChange, ...]

    @property
    def worse(self) -> bool:
        return any(row.worse for row in self.rows)


def recheck(
    record: Record,
    car: Car,
    rules: Iterable[RuleSet],
    names: Mapping[str, str],
    days: Mapping[str, datetime.date],
    *,
    proposed: bool = False,
    tool_version: str = __version__,
) -> Recheck:
    """Judge again and compare with a record.

    `days` says which builds, of the car or of the record, are asked about, and on which day each is judged now.
    `names` are the names of the rule files now as the record would keep them, by the names of their sources.

    Raises:
        MistakesFound, NotInForce: as `check` does, for the car and the rules as they are now.
        RecordProblem: the texts of the record cannot be judged.
    """
    editions = list(rules)
    now_files = [KeptFile.of(source, names[source.name]) for source in rule_sources(editions)]
    then = {build: record.days.get(build, day) for build, day in days.items()}
    car_changed = record.car.sha256 != car.source.sha256
    rules_changed = tuple(_rule_files(record.rules, now_files))
    proposed_changed = proposed != record.proposed
    moved = {build: (then[build], day) for build, day in days.items() if then[build] != day}
    changed: list[Thing] = [
        thing
        for thing, is_so in zip(_EXCHANGED, (car_changed, rules_changed or proposed_changed, moved), strict=True)
        if is_so
    ]
    try:
        old_car = car_from(record.car.source()) if car_changed else car
        old_rules = rules_of(each.source() for each in record.rules) if rules_changed else editions
    except MistakesFound as found:
        raise _useless(record, found) from None
    trials = _Trials((old_car, car), ((old_rules, record.proposed), (editions, proposed)), (then, days), changed)
    kept = {row.key: row for row in record.rows if row.build in days}
    rows = []
    for key in dict.fromkeys([*kept, *trials.new.rows]):
        was: State = kept.get(key, GONE)
        now = trials.new.state(key)
        if differ(was, now):
            because = tuple(_causes(key, was, now, trials, record))
            rows.append(RowChange(key, was, now, difference(was, now), because, is_worse(was, now)))
    return Recheck(
        record=record,
        car_changed=record.car.file if car_changed else None,
        rules_changed=rules_changed,
        proposed_changed=proposed_changed,
        date_changed=moved,
        tool_version=tool_version,
        compared=len(kept),
        rows=tuple(rows),
    )


class _Trials:
    """The old things judged, with any of them exchanged for new ones; each trial is made when it is first needed."""

    def __init__(
        self,
        cars: tuple[Car, Car],
        rules: tuple[tuple[list[RuleSet], bool], tuple[list[RuleSet], bool]],
        days: tuple[Mapping[str, datetime.date], Mapping[str, datetime.date]],
        changed: list[Thing],
    ) -> None:
        self._cars, self._rules, self._days = cars, rules, days
        self.changed = changed
        self._made: dict[frozenset[Thing], Answers | None] = {}
        editions, proposed = rules[1]
        self.new = answers(cars[1], editions, days[1], proposed=proposed)
        self._made[frozenset(changed)] = self.new

    def with_new(self, *things: Thing) -> Answers | None:
        """The answers with these things new and the others old; None where they do not fit each other."""
        key = frozenset(things)
        if key not in self._made:
            try:
                self._made[key] = self._judge(key)
            except MistakesFound:
                self._made[key] = None
        return self._made[key]

    def all_old(self, record: Record) -> Answers:
        """The answers with nothing new. Raises RecordProblem where the old things do not fit each other."""
        found = self.with_new()
        if found is None:
            try:
                self._judge(frozenset())
            except MistakesFound as mistakes:
                raise _useless(record, mistakes) from None
        assert found is not None
        return found

    def _judge(self, new: frozenset[Thing]) -> Answers:
        editions, proposed = self._rules["rules" in new]
        car, days = self._cars["car" in new], self._days["date" in new]
        return answers(car, editions, days, proposed=proposed, one_each=False)


def _causes(key: Key, was: State, now: State, trials: _Trials, record: Record) -> Iterator[Cause]:
    """What a changed row is due to: this program, and the smallest sets of things that make it what it is now.

    Where only all of them together do, each is named by itself if each makes a difference by itself.
    """
    old = trials.all_old(record).state(key)
    if differ(was, old):
        yield ("tool_version",)
    if not differ(old, now):
        return

    def tried(things: Cause) -> State:
        answers = trials.with_new(*things)
        return old if answers is None else answers.state(key)

    for size in range(1, len(trials.changed)):
        found = [things for things in combinations(trials.changed, size) if not differ(tried(things), now)]
        if found:
            yield from found
            return
    singles = [(thing,) for thing in trials.changed]
    apart = len(singles) == 1 or all(differ(old, tried(single)) for single in singles)
    yield from singles if apart else [tuple(trials.changed)]


def _rule_files(then: Iterable[KeptFile], now: Iterable[KeptFile]) -> Iterator[RuleFileChange]:
    """The files that only one side has, by their content; the same name on both is one that changed."""
    before, after = list(then), list(now)
    common = {each.sha256 for each in before} & {each.sha256 for each in after}
    before = [each for each in before if each.sha256 not in common]
    after = [each for each in after if each.sha256 not in common]
    names = {each.file for each in before}
    for each in after:
        yield RuleFileChange(each.file, "changed" if each.file in names else "new", _book(each))
    names = {each.file for each in after}
    for each in before:
        if each.file not in names:
            yield RuleFileChange(each.file, "gone", _book(each))


def _book(file: KeptFile) -> str | None:
    """The book that a rule file is, or that a bulletin amends."""
    try:
        data = file.source().data
    except MistakesFound:
        return None
    book = data.get("book")
    stated = book.get("id") if isinstance(book, dict) else data.get("amends")
    return stated if isinstance(stated, str) else None


def _useless(record: Record, found: MistakesFound) -> RecordProblem:
    first = str(found).splitlines()[0]
    return RecordProblem(
        f"The texts in the record, which version {record.tool_version} of tarebook made, cannot be judged: {first} "
        "Make a new record: tarebook record."
    )
