"""What an undecided fact is worth: which of its values would change which class, and by how much."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from tarebook.car.reading import Car
from tarebook.fact_values import Value
from tarebook.facts import Fact
from tarebook.judge.decision_diagrams import TooMany
from tarebook.judge.limits import limit_questions
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Unknown
from tarebook.route.choosing import Choice, Chooser, Key, Setting, SortKey, places, ranked, substance
from tarebook.route.stating import TEXTS, with_fact, with_kind, with_text
from tarebook.route.stretches import OTHER_TEXT, NotedCuts, Piece, Stretch, merged, note_cuts, pieces_of
from tarebook.rules.limits import Linear
from tarebook.toml_source import MistakesFound

# Beyond these, what a class hangs on is only named: the values of one thing settle little then, and take long to try.
MOST_PIECES = 60  # of one fact
MOST_TOGETHER = 3  # things that a class hangs on
MOST_OPENING = 12  # things not stated that a class asks about which nothing opens
MOST_TRIALS = 100  # classes judged anew, in all


class Then(NamedTuple):
    """One class with the fact found out: what it would be, and its place among all."""

    choice: Choice
    place: int


class ValueWorth(NamedTuple):
    """What follows from the fact being in this stretch, for each class that hangs on it, in the order of the books."""

    stretch: Stretch
    classes: tuple[Then, ...]


class FactWorth(NamedTuple):
    """What finding out one thing is worth.

    Attributes:
        name: a fact, a kind whose presence is unknown, or a particular of a part ("door-cards.material").
        fact: what the dictionary says of it, where it is a fact.
        classes: the classes that hang on it, in the order of the books.
        values: what each of its values would come to; empty where that is not told value by value, as by itself it
            settles nothing, or can be stated in too many ways.
        reorders: whether one of its values would change the ranking.
        graded: whether a limit grows with it. Masses, costs and places then differ within a stretch; the verdicts on
            the builds that were asked about do not.
    """

    name: str
    fact: Fact | None
    classes: tuple[Key, ...]
    values: tuple[ValueWorth, ...]
    reorders: bool
    graded: bool = False


def find_worth(setting: Setting, choices: Sequence[Choice], order: Sequence[SortKey]) -> list[FactWorth]:
    """What each thing that some class hangs on is worth: first those on which most classes hang.

    A class hangs on it if a verdict of its choice does, or if no jobs open the class while it is not known, and one
    of its values would. It is then added to the `facts_to_find` of that choice.
    """
    return _Worth(setting, choices, order).find()


class Case(NamedTuple):
    """One value, and what the classes that may hang on it are then."""

    piece: Piece
    choices: dict[Key, Choice]


class _Worth:
    def __init__(self, setting: Setting, choices: Sequence[Choice], order: Sequence[SortKey]) -> None:
        self.setting = setting
        self.choices = {choice.key: choice for choice in choices}
        self.order = order
        self.chooser = Chooser(setting, setting.car)
        self._trials = 0
        self._opening: dict[Key, set[str]] = {}  # what would open a class that nothing else opens

    def find(self) -> list[FactWorth]:
        sure, perhaps = self._candidates()
        answers = {}
        for name in sorted({**sure, **perhaps}, key=lambda name: (-len(sure.get(name, ())), name)):
            tried = [key for key in sure.get(name, ()) if self._settles(key)] + perhaps.get(name, [])
            answers[name] = self._answers(name, tried) if tried else []
        hanging = {name: self._hanging(name, sure.get(name, []), found) for name, found in answers.items()}
        for name, keys in hanging.items():
            for key in keys:
                self.choices[key].hangs_on((name,))
        before = self._places(self.choices)
        found = [self._worth(name, keys, answers[name], before) for name, keys in hanging.items() if keys]
        return sorted(found, key=lambda worth: (-len(worth.classes), worth.name))

    def _candidates(self) -> tuple[dict[str, list[Key]], dict[str, list[Key]]]:
        """By name, the classes that hang on it; and those that it may open, as nothing else opens them."""
        sure: dict[str, list[Key]] = {}
        perhaps: dict[str, list[Key]] = {}
        for key, choice in self.choices.items():
            ways = [way for way in (choice.reaches.perhaps, choice.reaches.perhaps_undone) if way is not None]
            names = dict.fromkeys(name for row in choice.rows.values() for name in row.facts_to_find)
            names |= dict.fromkeys(name for way in ways for name in way.facts)
            names |= dict.fromkeys(sorted(choice.reaches.hangs_on))
            for name in names:
                sure.setdefault(name, []).append(key)
            if ways and not _is_beyond_facts(choice):
                may_open = frozenset[str]().union(*(way.may_open for way in ways)) - names.keys()
                opening = [name for name in dict.fromkeys(self._unstated(choice.prepared)) if name in may_open]
                for name in opening if len(opening) <= MOST_OPENING else ():
                    perhaps.setdefault(name, []).append(key)
        return sure, perhaps

    def _settles(self, key: Key) -> bool:
        """Whether one thing more may settle something in a class: few others are open in each build."""
        return all(len(row.facts_to_find) <= MOST_TOGETHER for row in self.choices[key].rows.values())

    def _unstated(self, prepared: PreparedClass) -> Iterator[str]:
        """Facts that a class asks about and the car file does not state, and kinds whose presence is unknown."""
        situation = self.chooser.situation(prepared, "now")
        limits = limit_questions(prepared, situation, self.setting.confidence)
        for fact in dict.fromkeys((*prepared.fact_tests, *(each for limit in limits for each in limit.value.facts))):
            if fact not in situation.made:
                yield fact
        rules = (*prepared.deciding, *(rule for form in prepared.whole.values() for rule in form))
        asked = [kind for rule in rules for kind in rule.kinds]
        asked += [kind for form in ("need", "strip") for rule in prepared.whole[form] for kind in rule.rule.kinds]
        for kind in dict.fromkeys(asked):
            for unknowns in situation.fitted(kind):
                yield from unknowns

    def _hanging(self, name: str, sure: Sequence[Key], answers: Sequence[Case]) -> tuple[Key, ...]:
        """The classes that hang on it, in the order of the books."""
        found = []
        for key, choice in self.choices.items():
            opens = any(key in case.choices and _is_open(case.choices[key]) for case in answers)
            if key in sure:
                found.append(key)
            elif opens and not _is_open(choice):
                self._opening.setdefault(key, set()).add(name)
                found.append(key)
        return tuple(found)

    def _answers(self, name: str, keys: Sequence[Key]) -> list[Case]:
        """The choices of these classes with each value of it; none where that would take too many trials."""
        found: list[Case] = []
        pieces = self._pieces(name, keys)
        self._trials += len(pieces) * len(keys)
        if self._trials > MOST_TRIALS:
            return []
        for piece in pieces:
            car = self._car_with(name, keys, piece.value)
            if car is None:
                continue
            chooser = Chooser(self.setting, car, self.choices)
            try:
                choices = {key: chooser.choice(key) for key in keys}
            except MistakesFound:
                return []  # books that declare a fact of one name in two ways
            for key, choice in choices.items():
                if not self.choices[key].reaches.shut and not choice.facts_to_find:
                    chooser.look_at_undoing(choice)
            found.append(Case(piece, choices))
        return found

    def _pieces(self, name: str, keys: Sequence[Key]) -> list[Piece]:
        """Its values as these classes tell them apart; none where there are too many."""
        first = self.choices[keys[0]].prepared
        if name not in first.facts and name in first.rules.tree:
            return [Piece(value, Stretch(values=(value,))) for value in (True, False)]
        cuts = NotedCuts()
        try:
            for key in keys:
                prepared = self.choices[key].prepared
                for situation in self._situations(prepared):
                    note_cuts(prepared, situation, self.setting.confidence, cuts)
        except TooMany:
            return []
        if name in first.facts:
            pieces = pieces_of(first.facts[name], cuts, [self.choices[key].prepared for key in keys])
        else:
            words = sorted(cuts.words.get(Unknown("part", name), ()))
            pieces = [Piece(each, Stretch(values=(each,))) for each in words] + [Piece(OTHER_TEXT, Stretch(rest=True))]
        return pieces if len(pieces) <= MOST_PIECES else []

    def _situations(self, prepared: PreparedClass) -> Iterator[Situation]:
        """The builds that are judged by this text of the class."""
        for build, day in self.setting.days.items():
            if prepared.rules in self.setting.editions[day]:
                yield self.chooser.situation(prepared, build)

    def _car_with(self, name: str, keys: Sequence[Key], value: Value) -> Car | None:
        """The car with that found out; None where no file can say so."""
        first, car = self.choices[keys[0]].prepared, self.setting.car
        if name in first.facts:
            try:
                return with_fact(car, first.facts[name], value)
            except ValueError:
                return None
        if name in first.rules.tree:
            return with_kind(car, name, there=value is True)
        part_id, _, particular = name.rpartition(".")
        if part_id in car.inventory.parts and particular in TEXTS and isinstance(value, str):
            return with_text(car, part_id, particular, value)
        return None

    def _worth(self, name: str, keys: tuple[Key, ...], answers: list[Case], before: Mapping[Key, int]) -> FactWorth:
        """What it comes to, told of those classes that were tried with each of its values."""
        fact = self.choices[keys[0]].prepared.facts.get(name)
        tried = [key for key in keys if answers and key in answers[0].choices]
        mine = [(case.piece, self._completed(name, case, tried)) for case in answers]
        graded = any(self._grows_with(name, self.choices[key].prepared) for key in keys)
        same = _same_verdicts if graded else _same
        together = merged(mine, same)
        if len(together) < 2:
            return FactWorth(name, fact, keys, (), reorders=False, graded=graded)
        values, reorders = [], False
        for stretch, then in together:
            after = self._places({**self.choices, **then})
            reorders = reorders or _sequence(after) != _sequence(before)
            values.append(ValueWorth(stretch, tuple(Then(choice, after[key]) for key, choice in then.items())))
        return FactWorth(name, fact, keys, tuple(values), reorders, graded)

    def _grows_with(self, name: str, prepared: PreparedClass) -> bool:
        """Whether a limit of the class is in proportion to a fact, or has it added."""
        for limit in limit_questions(prepared, self.chooser.situation(prepared, "now"), self.setting.confidence):
            for value in (limit.value, *limit.value.axles):
                form = value.spec.form
                if (isinstance(form, Linear) and form.fact == name) or any(each.fact == name for each in value.adjusts):
                    return True
        return False

    def _completed(self, name: str, case: Case, keys: Sequence[Key]) -> dict[Key, Choice]:
        """With what else would open a class that stays shut."""
        then = {key: case.choices[key] for key in keys}
        for key, choice in then.items():
            if choice.reaches.eligible is None:
                rest = self._opening.get(key, set()) - {name}
                choice.hangs_on(rest)
        return then

    def _places(self, choices: Mapping[Key, Choice]) -> dict[Key, int]:
        in_order = ranked(list(choices.values()), self.order)
        return places(in_order, self.order)


def _is_beyond_facts(choice: Choice) -> bool:
    """Whether some build is undecided, and on no fact: a part was never weighed, or there are too many cases to try."""
    return any(row.verdict == "undecided" and not row.facts_to_find for row in choice.rows.values())


def _is_open(choice: Choice) -> bool:
    """Whether jobs open the class, done or undone."""
    return choice.reaches.eligible is not None or choice.reaches.by_undoing is not None


def _same(one: dict[Key, Choice], other: dict[Key, Choice]) -> bool:
    return [*map(substance, one.values())] == [*map(substance, other.values())]


def _same_verdicts(one: dict[Key, Choice], other: dict[Key, Choice]) -> bool:
    verdicts = ([substance(choice)[0] for choice in choices.values()] for choices in (one, other))
    return next(verdicts) == next(verdicts)


def _sequence(places: Mapping[Key, int]) -> list[Key]:
    return list(places)
