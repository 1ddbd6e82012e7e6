"""Which class to choose: every class of every book side by side, ranked by an order that is said."""

import datetime
import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import Row, Verdict
from tarebook.judge.judging import CONFIDENCE, judge
from tarebook.judge.prepared import PreparedBook, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.kinds import Kind
from tarebook.route.reaching import Asked, Reaches, find_reaches, find_undoing
from tarebook.rules.reading import RuleSet
from tarebook.weight.ledger import Ledger

Key = tuple[str, str]  # a book and a class of it
Place = float | str | tuple[float, int]
Standing = Literal["eligible", "within-reach", "not-known", "by-undoing", "shut"]
SortKey = Literal["now", "planned", "cost", "hours", "over-minimum", "ballast", "lightest", "facts", "name"]
ORDER: tuple[SortKey, ...] = ("now", "cost", "over-minimum", "facts")  # unless the builder wants another
SORT_KEYS: tuple[SortKey, ...] = (
    "now",
    "planned",
    "cost",
    "hours",
    "over-minimum",
    "ballast",
    "lightest",
    "facts",
    "name",
)


@dataclass(slots=True)
class Choice:
    """One class, and what it would take to be in it.

    Attributes:
        rows: the judge's answer for each build that was asked about, by its name; "now" and "planned" among them.
        reaches: what can be reached with the jobs of the car file.
        facts_to_find: what "now" or "planned" hangs on, and what would open the class where nothing else does.
    """

    rules: RuleSet
    prepared: PreparedClass
    rows: dict[str, Row]
    reaches: Reaches
    facts_to_find: tuple[str, ...]

    @property
    def key(self) -> Key:
        return self.rules.id, self.prepared.id

    @property
    def title(self) -> str:
        return self.prepared.full.title

    def hangs_on(self, facts: Iterable[str]) -> None:
        """Add to the facts to find."""
        self.facts_to_find = tuple(sorted({*self.facts_to_find, *facts}))

    @property
    def may_open_as_it_is(self) -> bool:
        """Whether something to be found out may open the class with all done jobs kept."""
        builds = [self.rows[build] for build in ("now", "planned") if build in self.rows]
        return self.reaches.perhaps is not None or any(row.facts_to_find for row in builds)

    @property
    def not_known(self) -> tuple[str, ...]:
        """Why it is not known whether jobs open the class, where that is no fact to find: a mass, mostly."""
        ways = (self.reaches.perhaps, self.reaches.perhaps_undone)
        return tuple(dict.fromkeys(reason for way in ways if way is not None for reason in way.reasons))

    @property
    def to_find(self) -> int:
        """How many things are to be found out: facts, and masses."""
        return len(self.facts_to_find) + len(self.not_known)

    def verdict(self, build: str) -> Verdict | None:
        """None where the edition in force on the build's day has no such class."""
        return self.rows[build].verdict if build in self.rows else None

    @property
    def cost(self) -> float | None:
        """Of the cheapest jobs that make the car eligible; None where none do."""
        return None if self.reaches.eligible is None else self.reaches.eligible.cost

    @property
    def hours(self) -> float | None:
        return None if self.reaches.eligible is None else self.reaches.eligible.hours

    @property
    def lightest_kg(self) -> float | None:
        """Of the lightest legal build, as the class weighs it, ballast and all."""
        return None if self.reaches.lightest is None else self.reaches.lightest.mass_kg

    @property
    def over_minimum_kg(self) -> float | None:
        """How far that build stays over the minimum: the weight that it gives away. None without a minimum."""
        return None if self.reaches.lightest is None else self.reaches.lightest.over_minimum_kg

    @property
    def has_minimum(self) -> bool:
        """Whether the class asks for a minimum, known or not, of the car as it stands."""
        return any(limit.which == "minimum" for limit in self.rows["now"].limits)

    @property
    def ballast_kg(self) -> float | None:
        """What the build owes in which jobs leave the least car."""
        return None if self.reaches.barest is None else self.reaches.barest.ballast_kg


class Setting:
    """What a choice is made from: a car, the editions in force, and what is asked.

    `days` has the day of each build, "now" and "planned" among them; `editions` the editions in force on each of these
    days. Classes are those of the day of "now", and what can be reached is judged on it. `adopted` are the kinds that
    books add to the tree of others.
    """

    def __init__(
        self,
        car: Car,
        editions: Mapping[datetime.date, Sequence[RuleSet]],
        adopted: tuple[Kind, ...],
        days: Mapping[str, datetime.date],
        confidence: float = CONFIDENCE,
        budget: Fraction | None = None,
    ) -> None:
        self.car = car
        self.editions = editions
        self.adopted = adopted
        self.days = days
        self.on = days["now"]
        self.confidence = confidence
        self.budget = budget
        self._books = {rules: PreparedBook(rules) for chosen in editions.values() for rules in chosen}
        self._prepared: dict[tuple[datetime.date, Key], PreparedClass] = {}

    @property
    def keys(self) -> list[Key]:
        """The classes, in the order of the books."""
        return [(rules.id, class_id) for rules in self.editions[self.on] for class_id in rules.class_ids]

    def prepared(self, key: Key, day: datetime.date) -> PreparedClass | None:
        """A class as it is on a day; None where there is none of that name then."""
        if (day, key) not in self._prepared:
            for rules in self.editions[day]:
                if rules.id == key[0] and key[1] in rules.class_ids:
                    self._prepared[day, key] = self._books[rules].prepare(key[1])
        return self._prepared.get((day, key))


def choose(setting: Setting) -> list[Choice]:
    """Every class, in the order of the books.

    Raises MistakesFound for a value that does not fit a book's own fact.
    """
    chooser = Chooser(setting, setting.car)
    choices = [chooser.choice(key) for key in setting.keys]
    for choice in choices:
        chooser.look_at_undoing(choice)
    return choices


class Chooser:
    """Chooses for one car: the setting's own, or the same with something found out.

    `before` are the choices for the car as it was before that. A verdict that was decided then stays: it is the one
    that all values of what is unknown share.
    """

    def __init__(self, setting: Setting, car: Car, before: Mapping[Key, Choice] | None = None) -> None:
        self.setting = setting
        self.car = car
        self._earlier = before or {}
        self._ledger = Ledger(car.inventory)
        self._before: dict[RuleSet, CarBeforeBook] = {}

    def choice(self, key: Key) -> Choice:
        """One class, with its verdicts and what can be reached in it, undoing left aside.

        Raises KeyError for a class that there is not, MistakesFound.
        """
        setting = self.setting
        prepared = setting.prepared(key, setting.on)
        if prepared is None:
            raise KeyError(key)
        rows = {build: row for build in setting.days if (row := self._row(key, build)) is not None}
        reaches = find_reaches(self._asked(prepared), rows["now"])
        choice = Choice(prepared.rules, prepared, rows, reaches, ())
        for build in ("now", "planned"):
            if build in rows:
                choice.hangs_on(rows[build].facts_to_find)
        if reaches.perhaps is not None:
            choice.hangs_on(reaches.perhaps.facts)
        choice.hangs_on(reaches.hangs_on)
        return choice

    def look_at_undoing(self, choice: Choice) -> None:
        """Where no jobs open a class: whether undoing done ones does, or might."""
        if choice.reaches.eligible is None and choice.reaches.in_time:
            undoing, perhaps = find_undoing(self._asked(choice.prepared))
            choice.reaches = choice.reaches._replace(by_undoing=undoing, perhaps_undone=perhaps)
            if perhaps is not None:
                choice.hangs_on(perhaps.facts)
            choice.hangs_on(choice.reaches.hangs_on)

    def _asked(self, prepared: PreparedClass) -> Asked:
        setting = self.setting
        return Asked(self.car, prepared, setting.adopted, setting.on, setting.confidence, setting.budget)

    def _row(self, key: Key, build: str) -> Row | None:
        prepared = self.setting.prepared(key, self.setting.days[build])
        if prepared is None:
            return None
        earlier = self._earlier[key].rows.get(build) if key in self._earlier else None
        if earlier is not None and earlier.verdict != "undecided":
            return earlier
        situation = self.situation(prepared, build)
        return judge(prepared, situation, confidence=self.setting.confidence)

    def situation(self, prepared: PreparedClass, build: str) -> Situation:
        """A build before the book of a class. Raises MistakesFound."""
        return self.before(prepared.rules).situation(build, self.setting.days[build])

    def before(self, rules: RuleSet) -> CarBeforeBook:
        """The car before a book. Raises MistakesFound."""
        if rules not in self._before:
            self._before[rules] = CarBeforeBook(self.car, rules, self.setting.adopted, self._ledger)
        return self._before[rules]


def ranked(choices: Sequence[Choice], order: Sequence[SortKey] = ORDER) -> list[Choice]:
    """By each key in turn; what is alike in all of them stays as it is in the books."""
    return sorted(choices, key=lambda choice: [_PLACES[key](choice) for key in order])


def whole_order(asked: Sequence[SortKey]) -> tuple[SortKey, ...]:
    """The keys asked for, and after them the usual ones."""
    return tuple(dict.fromkeys((*asked, *ORDER)))


def places(in_order: Sequence[Choice], order: Sequence[SortKey]) -> dict[Key, int]:
    """The place of each class, from 1; classes that the order does not tell apart share one."""
    found: dict[Key, int] = {}
    before: list[Place] = []
    for number, choice in enumerate(in_order, start=1):
        values = [_PLACES[key](choice) for key in order]
        same = number > 1 and values == before
        found[choice.key] = found[in_order[number - 2].key] if same else number
        before = values
    return found


def _least(value: float | None) -> float:
    """The least first; last what is not known or cannot be reached."""
    return math.inf if value is None else round(value, 6)


def _reached(choice: Choice, value: float | None) -> tuple[float, int]:
    """The least first; then what is beyond the budget, what a fact would open, what undoing would, and what nothing."""
    reach = choice.reaches.eligible
    if reach is not None:
        return (math.inf, 0) if reach.beyond_budget else (_least(value), 0)
    return math.inf, _CLOSED[standing(choice)]


def standing(choice: Choice) -> Standing:
    """How open a class is to the car: now, by jobs of the car file, by finding something out, by undoing jobs."""
    if choice.verdict("now") == "eligible":
        return "eligible"
    if choice.reaches.eligible is not None:
        return "within-reach"
    if choice.reaches.by_undoing is not None and not choice.may_open_as_it_is:
        return "by-undoing"
    return "not-known" if choice.facts_to_find or choice.not_known else "shut"


_VERDICTS: dict[Verdict | None, int] = {"eligible": 0, "too-close": 1, "undecided": 2, "not-eligible": 3, None: 4}
_CLOSED: dict[Standing, int] = {"eligible": 0, "within-reach": 0, "not-known": 1, "by-undoing": 2, "shut": 3}
_PLACES: dict[SortKey, Callable[[Choice], Place]] = {
    "now": lambda choice: choice.verdict("now") != "eligible",
    "planned": lambda choice: _VERDICTS[choice.verdict("planned")],
    "cost": lambda choice: _reached(choice, choice.cost),
    "hours": lambda choice: _reached(choice, choice.hours),
    "over-minimum": lambda choice: _least(choice.over_minimum_kg),
    "ballast": lambda choice: _least(choice.ballast_kg),
    "lightest": lambda choice: _least(choice.lightest_kg),
    "facts": lambda choice: choice.to_find,
    "name": lambda choice: choice.title.casefold(),
}


class Move(NamedTuple):
    """A class whose answer or place proposals would change. None where it is not there."""

    key: Key
    was: int | None
    becomes: int | None
    before: Choice | None
    after: Choice | None


def moves(now: Sequence[Choice], proposed: Sequence[Choice], order: Sequence[SortKey]) -> list[Move]:
    """What proposals would move: every class whose place, verdict, cost or mass is another with them."""
    before, after = ({choice.key: choice for choice in each} for each in (now, proposed))
    was, becomes = places(ranked(now, order), order), places(ranked(proposed, order), order)
    found = []
    for key in dict.fromkeys((*before, *after)):
        one, other = before.get(key), after.get(key)
        if one is None or other is None or substance(one) != substance(other) or was[key] != becomes[key]:
            found.append(Move(key, was.get(key), becomes.get(key), one, other))
    return sorted(found, key=lambda move: (move.becomes is None, move.becomes, move.was, move.key))


def substance(choice: Choice) -> tuple[object, ...]:
    """What a choice says, but for its place."""
    verdicts = tuple((build, row.verdict) for build, row in choice.rows.items())
    figures = (choice.cost, choice.hours, choice.lightest_kg, choice.over_minimum_kg, choice.ballast_kg)
    known = tuple(None if each is None else round(each, 6) for each in figures)
    undoing = choice.reaches.by_undoing
    return verdicts, known, choice.facts_to_find, undoing and (undoing.undo, undoing.jobs)
