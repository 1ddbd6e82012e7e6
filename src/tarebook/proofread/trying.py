"""Makes the car of an example, sets it before its class, and judges it."""

from pathlib import Path
from typing import NamedTuple

from tarebook.car.checks import CarChecks
from tarebook.car.models import CarFile, CarTable, FinishDone, Job, MassForm, Move, Part
from tarebook.car.reading import Car, car_from
from tarebook.checking import settle
from tarebook.facts import BUILTIN
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import Row
from tarebook.judge.judging import judge
from tarebook.judge.prepared import PreparedBook, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.proofread.texts import TextOfDay, Texts
from tarebook.quantities import parse_quantity
from tarebook.rules.classes import all_clauses, clause_covers, references
from tarebook.rules.examples import EVENT_KEYS, name_problem
from tarebook.rules.models import Example
from tarebook.rules.reading import RuleSet
from tarebook.toml_source import Mistake, MistakesFound, read_source
from tarebook.weight.measured import Measured

# A sideways move: no rule can bound it, so that it says nothing but that the part was moved.
_ASIDE = Move(right=parse_quantity("1 mm", "length"))


class CannotTry(ValueError):
    """The car of an example cannot be made; the text says why, as the end of a sentence."""


class Tried(NamedTuple):
    """An example's car before its class, by which text, and how it was judged."""

    text: TextOfDay
    prepared: PreparedClass
    situation: Situation
    row: Row


class Trying:
    """Tries the examples of one edition. What several examples share is made once."""

    def __init__(self, texts: Texts) -> None:
        self._texts = texts
        self._rules = texts.asked.rules
        self._books: dict[RuleSet, PreparedBook] = {}
        self._classes: dict[tuple[RuleSet, str], PreparedClass] = {}
        self._cars: dict[Path, Car] = {}

    def run(self, index: int) -> Tried:
        """Judge the example of that place in the file by the text of its day. Raises CannotTry."""
        example = self._rules.file.example[index]
        try:
            text = self._texts.of(example)
        except MistakesFound as found:
            raise CannotTry(_told(found.mistakes)) from None
        self._known_on_its_day(example, text)
        return self.by(text, index)

    def by(self, text: TextOfDay, index: int) -> Tried:
        """Judge the example of that place in the file by a text. Raises CannotTry."""
        rules = text.rules
        example = rules.file.example[index]
        if example.class_ not in rules.class_ids:
            raise CannotTry(f'the book has no class "{example.class_}" on {text.day}')
        car = described_car(example, rules) if example.car is None else self._car_file(example.car, index)
        if example.build not in car.inventory.build_names():
            there = ", ".join(car.inventory.build_names())
            raise CannotTry(f'{example.car} has no build "{example.build}": there are {there}')
        try:
            before = CarBeforeBook(car, rules, settle(car, [rules]))
        except MistakesFound as found:
            raise CannotTry(_told(found.mistakes)) from None
        situation = before.situation(example.build, text.day)
        if example.mass is not None:
            situation.stated_mass = Measured(example.mass.value, {})
        prepared = self._prepared(rules, example.class_)
        return Tried(text, prepared, situation, judge(prepared, situation))

    def _prepared(self, rules: RuleSet, class_id: str) -> PreparedClass:
        if rules not in self._books:
            self._books[rules] = PreparedBook(rules)
        if (rules, class_id) not in self._classes:
            self._classes[rules, class_id] = self._books[rules].prepare(class_id)
        return self._classes[rules, class_id]

    def _known_on_its_day(self, example: Example, text: TextOfDay) -> None:
        """Of an example without a day that was seen to when the file was read."""
        if example.on is None:
            return
        printed = self._rules.edition_as_printed
        known = all_clauses(text.rules.file) | all_clauses(printed.file)  # a withdrawn clause is not in play
        others = {book for book, _ in references(printed.file).values()}
        for clause in (example.clause, *example.because):
            if clause is None or any(clause_covers(book, clause) for book in others):
                continue
            if not any(clause_covers(clause, each) for each in known):
                alone = "" if printed.bulletins_known else "; no bulletin was read with it"
                raise CannotTry(f'the book has no clause "{clause}" on {text.day}, {text.words}{alone}')

    def _car_file(self, name: str, index: int) -> Car:
        """The car file of that name, within the folder of the rule set and nowhere else."""
        problem = name_problem(name)
        if problem:
            raise CannotTry(problem)
        folder = Path(self._rules.source.where(("example", index, "car"))[0]).parent
        try:
            target = (folder / name).resolve(strict=True)
            inside = target.is_relative_to(folder.resolve(strict=True))
        except (OSError, RuntimeError):  # RuntimeError: links that lead to one another
            raise CannotTry(f'there is no car file "{name}" beside the rule set') from None
        if not inside:
            raise CannotTry(f'"{name}" leads out of the folder of the rule set, and is not read')
        if target not in self._cars:
            try:
                self._cars[target] = car_from(read_source(target, str(folder / name)))
            except MistakesFound as found:
                raise CannotTry(_told(found.mistakes)) from None
        return self._cars[target]


def _told(mistakes: tuple[Mistake, ...]) -> str:
    first, more = mistakes[0], len(mistakes) - 1
    return f"{first.file}:{first.line}: {first.message}" + (f" (and {more} more like it)" if more else "")


def described_car(example: Example, rules: RuleSet) -> Car:
    """The car that an example describes: its facts, and one part for each kind that was changed.

    All changes are made by one done job. What these parts weigh, are made of and where they sit is not known.
    """
    title = {kind: rules.tree.get(kind).title for key in EVENT_KEYS for kind in getattr(example, key)}
    there = [*example.removed, *example.swapped, *dict.fromkeys((*example.lightened, *example.moved))]
    parts = [Part(id=kind, kind=kind, title=title[kind]) for kind in there]
    for kind in example.swapped:
        new = Part(id=f"new {kind}", kind=kind, title="another one", origin="aftermarket", replaces=kind)
        parts.append(new)
    parts.extend(Part(id=kind, kind=kind, title=title[kind], origin="aftermarket") for kind in example.fitted)
    job = Job(
        id="work",
        state="done",
        off=list(example.removed),
        fit=[*(f"new {kind}" for kind in example.swapped), *example.fitted],
        lightens={kind: MassForm() for kind in example.lightened},
        moves=dict.fromkeys(example.moved, _ASIDE),
        finishes=[FinishDone(area=finish.area, by=finish.by) for finish in example.finishes],
    )
    facts = dict(example.facts)
    year = facts.pop("model_year", None)
    file = CarFile(
        format="tarebook-car/1",
        car=CarTable(
            name=example.title,
            model_year=None if year is None else int(year),
            present=list(example.present),
            absent=list(example.absent),
        ),
        units=rules.file.units,
        facts=facts,
        part=parts,
        job=[job],
    )
    return Car(file, rules.source, CarChecks(file, rules.source, rules.tree, BUILTIN))
