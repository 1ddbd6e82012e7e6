"""Reads rule sets: a file or a folder of them, with every mistake of a file in one go."""

import datetime
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from tarebook.facts import BUILTIN, Fact
from tarebook.file_checks import check_units, extend_tree
from tarebook.kinds import Kind, KindTree, builtin
from tarebook.rules.checks import RuleChecks
from tarebook.rules.classes import ClassInFull, in_full, line_of_classes, references
from tarebook.rules.conditions import Node
from tarebook.rules.limits import LimitSpec
from tarebook.rules.models import RulesFile
from tarebook.tables import read_file
from tarebook.toml_source import Mistake, MistakesFound, Source, parse_source, read_source

if TYPE_CHECKING:
    from tarebook.rules.bulletins import Bulletin

PathInFile = tuple[str | int, ...]


class RuleSet:
    """One edition of one book, read and checked.

    Attributes:
        facts: the facts that its rules may ask about: the dictionary, and the book's own.
        tree: the kinds that its rules may name.
        bulletins: those that are worked into its text, in the order in which they apply.
        bulletins_known: all that amend this edition, proposals included.
        edition_as_printed: the same edition without any bulletin.
    """

    bulletins: "tuple[Bulletin, ...]" = ()

    taken_in: frozenset[str] = frozenset()

    def __init__(self, file: RulesFile, source: Source, tree: KindTree, checks: RuleChecks) -> None:
        self.file = file
        self.source = source
        self.tree = tree
        self.facts: dict[str, Fact] = checks.facts
        self.nodes: dict[PathInFile, Node] = checks.nodes
        self.limits: dict[PathInFile, LimitSpec] = checks.limits
        self.currencies = checks.currencies
        self._full: dict[str, ClassInFull] = {}
        self.bulletins_known: list[Bulletin] = []
        self.edition_as_printed: RuleSet = self
        self._amended: dict[tuple[Bulletin, ...], RuleSet] = {}
        self._complete: dict[tuple[RuleSet, ...], RuleSet] = {}

    @property
    def id(self) -> str:
        return self.file.book.id

    @property
    def edition(self) -> str:
        return self.file.book.edition

    @cached_property
    def class_ids(self) -> tuple[str, ...]:
        """Its own classes; those that it has taken in from other books are none."""
        return tuple(each.id for each in self.file.class_ if each.id not in self.taken_in)

    @property
    def own_kinds(self) -> tuple[Kind, ...]:
        return tuple(Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in self.file.kind)

    @property
    def own_facts(self) -> tuple[str, ...]:
        return tuple(fact for fact in self.facts if fact not in BUILTIN)

    def class_in_full(self, class_id: str) -> ClassInFull:
        """A class with all that it has by `like` and from groups. Raises KeyError for an unknown class."""
        if class_id not in self._full:
            if class_id not in self.class_ids and class_id not in self.taken_in:
                raise KeyError(class_id)
            last = line_of_classes(self.file, class_id)[-1]
            if "/" in (last[1].like or ""):
                said = "this class stands on a class of another book, which is not at hand"
                raise MistakesFound([self.source.mistake(("class", last[0], "like"), said, "name its rule set too")])
            self._full[class_id] = in_full(self.file, class_id)
        return self._full[class_id]

    def covers(self, day: datetime.date) -> bool:
        """Whether this edition is in force on a day; both ends count."""
        in_force = self.file.book.in_force
        return in_force.from_ <= day and (in_force.until is None or day <= in_force.until)

    def amended(self, day: datetime.date, *, proposed: bool = False) -> "RuleSet":
        """The text as it holds on a day: with the bulletins in force then; with `proposed`, proposals too.

        Raises MistakesFound where a proposal does not fit.
        """
        return self.with_bulletins(
            tuple(each for each in self.bulletins_known if each.covers(day) and (proposed or not each.proposed))
        )

    def with_bulletins(self, bulletins: "tuple[Bulletin, ...]") -> "RuleSet":
        """The text with these bulletins, applied in their order. Raises MistakesFound where one does not fit."""
        if not bulletins:
            return self
        if bulletins not in self._amended:
            from tarebook.rules.amending import amended_source

            before = self.with_bulletins(bulletins[:-1])
            try:
                after = rules_from(amended_source(before.source, bulletins[-1]), examples_known=True)
            except MistakesFound as found:
                raise MistakesFound(_due_to(bulletins[-1], found.mistakes)) from None
            after.bulletins, after.bulletins_known = bulletins, self.bulletins_known
            after.edition_as_printed = self
            self._amended[bulletins] = after
        return self._amended[bulletins]

    def complete(self, others: "Iterable[RuleSet]") -> "RuleSet":
        """The text with all that its classes have from other books, as these stand on the same day.

        Raises MistakesFound where a book, or a class of it, is not there, or where books are like one another in a
        circle.
        """
        return self._completed(list(others), ())

    def _completed(self, others: "list[RuleSet]", asking: tuple[str, ...]) -> "RuleSet":
        wanted = references(self.file)
        if not wanted:
            return self
        asking = (*asking, self.id)
        used: dict[str, RuleSet] = {}
        for path, (book, _) in wanted.items():
            if book in asking:
                way = " is like ".join(f'"{name}"' for name in (*asking, book))
                raise MistakesFound([self.source.mistake(path, f"these books are like one another in a circle: {way}")])
            for other in others:
                if other.id == book and book not in used:
                    used[book] = other._completed(others, asking)
        key = tuple(used.values())
        if key not in self._complete:
            from tarebook.rules.referring import with_references

            source, taken = with_references(self, used)
            whole = rules_from(source, examples_known=True)
            whole.bulletins, whole.bulletins_known = self.bulletins, self.bulletins_known
            whole.edition_as_printed, whole.taken_in = self.edition_as_printed, taken
            self._complete[key] = whole
        return self._complete[key]

    def try_bulletins(self) -> None:
        """Apply the bulletins as they come into force and end. Raises MistakesFound where one does not fit."""
        first = self.file.book.in_force.from_
        turns = {first}
        for each in self.bulletins_known:
            if each.file.in_force is not None and not each.proposed:
                turns.add(each.file.in_force.from_)
                if each.file.in_force.until is not None:
                    turns.add(each.file.in_force.until + datetime.timedelta(days=1))
        for day in sorted(turns):
            if self.covers(day):
                self.amended(day)

    @property
    def files(self) -> frozenset[str]:
        """The names of its own file and of those of its bulletins; not of books that it refers to."""
        return frozenset((self.source.name, *(each.source.name for each in self.bulletins)))

    def writers(self, path: PathInFile) -> tuple[str, ...]:
        """The numbers of the bulletins that wrote the piece at a path, or something within it."""
        from tarebook.rules.drafts import AmendedSource

        if not isinstance(self.source, AmendedSource):
            return ()
        files = self.source.writers(path)
        return tuple(each.number for each in self.bulletins if each.source in files)

    def days(self) -> str:
        """Its days in words: "2026-01-01 to 2026-12-31"."""
        in_force = self.file.book.in_force
        return f"{in_force.from_} to {in_force.until}" if in_force.until else f"{in_force.from_} onward"


def load_rules(*paths: str | Path) -> list[RuleSet]:
    """Read rule-set files, and every rule set and bulletin in folders (not in folders within them).

    Other files of this program in a folder are passed over, and a file that is named twice is read once. Raises
    MistakesFound with the mistakes of all files together, also where a folder holds no rule set, or where a bulletin
    does not fit the edition that it amends.
    """
    sources: dict[Path, Source] = {}
    mistakes: list[Mistake] = []
    for path in map(Path, paths):
        whole_folder = path.is_dir()
        held = False
        for each in sorted(path.glob("*.toml")) if whole_folder else [path]:
            place = each.resolve()
            try:
                source = sources[place] if place in sources else read_source(each)
            except MistakesFound as error:
                mistakes.extend(error.mistakes)
                held = True
                continue
            if not whole_folder or _sort(source) in ("rules", "bulletin", None):
                sources[place] = source
                held = held or _sort(source) != "bulletin"
        if whole_folder and not held:
            mistakes.append(Mistake("this folder holds no rule set", _where_else(path), str(path), 1, 1, 1, ""))
    try:
        found = rules_of(sources.values())
    except MistakesFound as error:
        mistakes.extend(error.mistakes)
    if mistakes:
        raise MistakesFound(mistakes)
    return found


def rules_of(sources: Iterable[Source]) -> list[RuleSet]:
    """As `load_rules`, of files that are read already."""
    editions: list[RuleSet] = []
    bulletins: list[Bulletin] = []
    mistakes: list[Mistake] = []
    for source in sources:
        try:
            if _sort(source) == "bulletin":
                from tarebook.rules.bulletins import bulletin_from

                bulletins.append(bulletin_from(source))
            else:
                editions.append(rules_from(source))
        except MistakesFound as error:
            mistakes.extend(error.mistakes)
    if not mistakes:
        mistakes = hand_out(bulletins, editions)
    if mistakes:
        raise MistakesFound(mistakes)
    return editions


def _where_else(folder: Path) -> str:
    """What to do about a folder without rule sets."""
    from tarebook.rules.folders import inner_folders

    holding = [str(each.path) for each in inner_folders([folder])]
    if not holding:
        return "tarebook demo writes some to look at"
    return f"{' and '.join(holding[:3])} within it hold{'s' * (len(holding) == 1)} some, and must be named"


def _meets(bulletin: "Bulletin", edition: RuleSet) -> bool:
    """Whether some day of the edition is one of the bulletin's."""
    mine, theirs = bulletin.file.in_force, edition.file.book.in_force
    if mine is None:
        return True
    begins_in_time = theirs.until is None or mine.from_ <= theirs.until
    return begins_in_time and (mine.until is None or theirs.from_ <= mine.until)


def _due_to(bulletin: "Bulletin", mistakes: Iterable[Mistake]) -> Iterator[Mistake]:
    """Mistakes that a bulletin brings; where they stand in the book, they say which bulletin brings them."""
    for each in mistakes:
        if each.file == bulletin.source.name:
            yield each
        else:
            named = f"once bulletin {bulletin.number} ({bulletin.source.name}) is worked in: {each.message}"
            yield replace(each, message=named, hint="mend the bulletin, not the book")


def _sort(source: Source) -> str | None:
    """What sort of file of this program it says it is: "rules", "bulletin", "car" ...; None if it does not say."""
    stated = source.data.get("format")
    if not isinstance(stated, str) or not stated.startswith("tarebook-"):
        return None
    return stated.removeprefix("tarebook-").partition("/")[0]


def hand_out(bulletins: "list[Bulletin]", editions: list[RuleSet]) -> list[Mistake]:
    """Give each bulletin to the edition that it amends; what is wrong with that comes back."""
    mistakes: list[Mistake] = []
    numbers: dict[tuple[str, str, str], Bulletin] = {}
    for bulletin in bulletins:
        file = bulletin.file
        of_book = [each for each in editions if each.id == file.amends]
        amended = [each for each in of_book if each.edition == file.edition]
        if not amended:
            known = sorted({each.edition if of_book else each.id for each in of_book or editions})
            what = f'edition "{file.edition}" of "{file.amends}"' if of_book else f'book "{file.amends}"'
            hint = f"there are {', '.join(known)}" if known else "name its rule set too"
            said = f"there is no {what} among the rule sets read"
            where, sort = ("edition", "unknown-edition") if of_book else ("amends", "unknown-book")
            mistakes.append(bulletin.source.mistake((where,), said, hint, what=sort))
        key = (file.amends, file.edition, file.number)
        if key in numbers:
            other = numbers[key].source.name
            said = f"bulletin {file.number} is written twice"
            mistakes.append(bulletin.source.mistake(("number",), said, f"also in {other}", what="written-twice"))
        numbers.setdefault(key, bulletin)
        for edition in amended:
            edition.bulletins_known.append(bulletin)
            if not _meets(bulletin, edition):
                hint = f"the edition holds {edition.days()}"
                said = "the edition holds on none of these days"
                mistakes.append(bulletin.source.mistake(("in_force",), said, hint, what="out-of-its-days"))
    for edition in editions:
        if references(edition.file):
            from tarebook.rules.referring import missing_books

            mistakes += missing_books(edition, editions)
        edition.bulletins_known.sort(key=lambda bulletin: bulletin.order)
        try:
            edition.try_bulletins()
        except MistakesFound as error:
            mistakes.extend(error.mistakes)
    return mistakes


def parse_rules(text: str, name: str = "rules") -> RuleSet:
    """As `load_rules` for one file, from a text; `name` stands for the file in mistakes."""
    return rules_from(parse_source(text.encode(), name))


def rules_from(source: Source, *, examples_known: bool = False) -> RuleSet:
    """The edition in a source. Raises MistakesFound.

    With `examples_known` its examples, checked in the printed text already, are not checked again: a bulletin may have
    withdrawn what they speak of, which is for proofreading to tell.
    """
    units, mistakes = check_units(source)
    file, found = read_file(RulesFile, source, units)
    mistakes += found
    if file is None or mistakes:
        raise MistakesFound(tuple(mistakes))
    own = [Kind(kind.id, kind.title, kind.from_factory, own=True) for kind in file.kind]
    tree = extend_tree(builtin(), own, source, mistakes)
    checks = RuleChecks(file, source, tree, units)
    mistakes += checks.run(examples=not examples_known)
    if mistakes:
        raise MistakesFound(tuple(mistakes))
    return RuleSet(file, source, tree, checks)
