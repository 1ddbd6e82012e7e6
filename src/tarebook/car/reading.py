"""Reads a car file: text to models, with every mistake of the file in one go."""

from collections.abc import Iterable
from functools import cached_property
from pathlib import Path

from tarebook.car.checks import CarChecks
from tarebook.car.configurations import Inventory
from tarebook.car.models import CarFile
from tarebook.facts import BUILTIN
from tarebook.file_checks import check_units, extend_tree
from tarebook.kinds import Kind, builtin
from tarebook.names import did_you_mean
from tarebook.tables import MOST_HINTS, read_file
from tarebook.toml_source import Mistake, MistakesFound, Source, parse_source, read_source


class Car:
    """A car file that has been read and checked.

    `open_kinds` and `open_facts` are names that only a rule set can declare; `settle` checks them.
    """

    def __init__(self, file: CarFile, source: Source, checks: CarChecks) -> None:
        self.file = file
        self.source = source
        self.inventory: Inventory = checks.inventory
        self.open_kinds = checks.open_kinds
        self.open_facts = checks.open_facts
        self.units: dict[str, str | None] = file.units.as_dict()

    @property
    def name(self) -> str:
        return self.file.car.name

    @cached_property
    def own_kinds(self) -> tuple[Kind, ...]:
        return tuple(Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in self.file.kind)

    def settle(self, kinds: Iterable[str], facts: Iterable[str]) -> None:
        """Check the names left open against those that the rule sets declare. Raises MistakesFound."""
        known_kinds, known_facts = set(kinds), [*facts]
        declared = set(known_facts)
        mistakes: list[Mistake] = []
        for kind, path, or_part in self.open_kinds:
            if kind not in known_kinds:
                hint = ""
                if len(mistakes) < MOST_HINTS:
                    hint = builtin().suggest(kind) or did_you_mean(kind, known_kinds)
                what = (
                    f'"{kind}" is neither a part of the ledger nor a kind' if or_part else f'there is no kind "{kind}"'
                )
                mistakes.append(self.source.mistake(path, what, hint or "tarebook kinds lists them"))
        for fact, path in self.open_facts:
            if fact not in declared:
                hint = did_you_mean(fact, [*BUILTIN, *known_facts]) if len(mistakes) < MOST_HINTS else ""
                what = f'there is no fact "{fact}"'
                mistakes.append(self.source.mistake(path, what, hint or "tarebook facts lists them", key=True))
        if mistakes:
            raise MistakesFound(tuple(mistakes))


def load_car(path: str | Path) -> Car:
    """Read a car file.

    Raises MistakesFound, with the position of each mistake, if the file is not a sound car file. Names of kinds
    and facts that only a rule set can declare are checked when the car is judged.
    """
    return car_from(read_source(Path(path)))


def parse_car(text: str, name: str = "car") -> Car:
    """As `load_car`, from a text; `name` stands for the file in mistakes."""
    return car_from(parse_source(text.encode(), name))


def car_from(source: Source) -> Car:
    units, mistakes = check_units(source)
    file, found = read_file(CarFile, source, units)
    mistakes += found
    if file is None or mistakes:
        raise MistakesFound(tuple(mistakes))
    own = [Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in file.kind]
    tree = extend_tree(builtin(), own, source, mistakes)
    checks = CarChecks(file, source, tree, BUILTIN)
    mistakes += checks.run()
    if mistakes:
        raise MistakesFound(tuple(mistakes))
    return Car(file, source, checks)
