"""Reads rule sets: a file or a folder of them, with every mistake of a file in one go."""

import datetime
from collections.abc import Iterable
from functools import cached_property
from pathlib import Path

from tarebook.facts import BUILTIN, Fact
from tarebook.file_checks import check_units, extend_tree
from tarebook.kinds import Kind, KindTree, builtin
from tarebook.rules.checks import RuleChecks
from tarebook.rules.classes import ClassInFull, in_full
from tarebook.rules.conditions import Node
from tarebook.rules.limits import LimitSpec
from tarebook.rules.models import RulesFile
from tarebook.tables import read_file
from tarebook.toml_source import Mistake, MistakesFound, Source, parse_source, read_source

PathInFile = tuple[str | int, ...]


class RuleSet:
    """One edition of one book, read and checked.

    Attributes:
        facts: the facts that its rules may ask about: the dictionary, and the book's own.
        tree: the kinds that its rules may name.
    """

    def __init__(self, file: RulesFile, source: Source, tree: KindTree, checks: RuleChecks) -> None:
        self.file = file
        self.source = source
        self.tree = tree
        self.facts: dict[str, Fact] = checks.facts
        self.nodes: dict[PathInFile, Node] = checks.nodes
        self.limits: dict[PathInFile, LimitSpec] = checks.limits
        self.currencies = checks.currencies
        self._full: dict[str, ClassInFull] = {}

    @property
    def id(self) -> str:
        return self.file.book.id

    @property
    def edition(self) -> str:
        return self.file.book.edition

    @cached_property
    def class_ids(self) -> tuple[str, ...]:
        return tuple(each.id for each in self.file.class_)

    @property
    def own_kinds(self) -> tuple[Kind, ...]:
        return tuple(Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in self.file.kind)

    @property
    def own_facts(self) -> tuple[str, ...]:
        return tuple(fact for fact in self.facts if fact not in BUILTIN)

    def class_in_full(self, class_id: str) -> ClassInFull:
        """A class with all that it has by `like` and from groups. Raises KeyError for an unknown class."""
        if class_id not in self._full:
            if class_id not in self.class_ids:
                raise KeyError(class_id)
            self._full[class_id] = in_full(self.file, class_id)
        return self._full[class_id]

    def covers(self, day: datetime.date) -> bool:
        """Whether this edition is in force on a day; both ends count."""
        in_force = self.file.book.in_force
        return in_force.from_ <= day and (in_force.until is None or day <= in_force.until)

    def days(self) -> str:
        """Its days in words: "2026-01-01 to 2026-12-31"."""
        in_force = self.file.book.in_force
        return f"{in_force.from_} to {in_force.until}" if in_force.until else f"{in_force.from_} onward"


class NotInForce(ValueError):
    """No edition of a book covers the day asked about, or several do; the text says which there are."""


def load_rules(path: str | Path) -> list[RuleSet]:
    """Read one rule-set file, or every rule set in a folder (not in folders within it).

    Other files of this program in the folder are passed over. Raises MistakesFound with the mistakes of all
    files together, also where a folder holds no rule set.
    """
    root = Path(path)
    if not root.is_dir():
        return [rules_from(read_source(root))]
    found: list[RuleSet] = []
    mistakes: list[Mistake] = []
    for each in sorted(root.glob("*.toml")):
        try:
            source = read_source(each)
            if _of_another_sort(source):
                continue
            found.append(rules_from(source))
        except MistakesFound as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise MistakesFound(tuple(mistakes))
    if not found:
        raise MistakesFound(
            (
                Mistake(
                    "this folder holds no rule set",
                    "tarebook demo writes three to look at",
                    str(path),
                    1,
                    1,
                    1,
                    "",
                ),
            )
        )
    return found


def _of_another_sort(source: Source) -> bool:
    stated = source.data.get("format")
    return isinstance(stated, str) and stated.startswith("tarebook-") and not stated.startswith("tarebook-rules/")


def parse_rules(text: str, name: str = "rules") -> RuleSet:
    """As `load_rules` for one file, from a text; `name` stands for the file in mistakes."""
    return rules_from(parse_source(text.encode(), name))


def rules_from(source: Source) -> RuleSet:
    units, mistakes = check_units(source)
    file, found = read_file(RulesFile, source, units)
    mistakes += found
    if file is None or mistakes:
        raise MistakesFound(tuple(mistakes))
    own = [Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in file.kind]
    tree = extend_tree(builtin(), own, source, mistakes)
    checks = RuleChecks(file, source, tree, units)
    mistakes += checks.run()
    if mistakes:
        raise MistakesFound(tuple(mistakes))
    return RuleSet(file, source, tree, checks)


def in_force(editions: Iterable[RuleSet], day: datetime.date) -> list[RuleSet]:
    """Of each book, the edition that covers the day. Raises NotInForce where none does, or more than one."""
    books: dict[str, list[RuleSet]] = {}
    for edition in editions:
        books.setdefault(edition.id, []).append(edition)
    chosen = []
    for book, known in books.items():
        covering = [edition for edition in known if edition.covers(day)]
        if len(covering) == 1:
            chosen.append(covering[0])
            continue
        named = covering or sorted(known, key=lambda edition: edition.file.book.in_force.from_)
        listed = "; ".join(f"edition {edition.edition}, {edition.days()} ({edition.source.name})" for edition in named)
        problem = "more than one edition covers" if covering else "no edition covers"
        raise NotInForce(f'book "{book}": {problem} {day}. There are: {listed}.')
    return chosen
