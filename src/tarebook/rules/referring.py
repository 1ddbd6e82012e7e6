"""A class that is like a class of another book: the other book's text is taken in, its clauses named after the book."""

from collections.abc import Iterable
from copy import deepcopy
from typing import TYPE_CHECKING, Any

from tarebook.names import did_you_mean
from tarebook.rules.classes import RULE_LISTS, references
from tarebook.rules.drafts import Draft
from tarebook.tables import fields_of
from tarebook.toml_source import Mistake, MistakesFound, Source

if TYPE_CHECKING:
    from tarebook.rules.reading import RuleSet

Path = tuple[str | int, ...]
BETWEEN = "--"  # between the book and the name that a class, group or finish has there


def missing_books(rules: "RuleSet", editions: Iterable["RuleSet"]) -> list[Mistake]:
    """References to books and classes that no edition among those read has."""
    known: dict[str, set[str]] = {}
    for edition in editions:
        known.setdefault(edition.id, set()).update(edition.class_ids)
    found = []
    for path, (book, name) in references(rules.file).items():
        if book not in known:
            hint = did_you_mean(book, known) or "name its rule set too: --rules PATH"
            said = f'the book "{book}" is not among the rule sets read'
            found.append(rules.source.mistake(path, said, hint, what="unknown-book"))
        elif name not in known[book]:
            hint = did_you_mean(name, known[book]) or f"there are {', '.join(sorted(known[book])[:8])}"
            said = f'the book "{book}" has no class "{name}"'
            found.append(rules.source.mistake(path, said, hint, what="unknown-class"))
    return found


def with_references(rules: "RuleSet", others: dict[str, "RuleSet"]) -> tuple[Source, frozenset[str]]:
    """The text with all that its classes have from other books, and the names of the classes taken in.

    `others` are the texts of the other books on the same day, themselves complete. Raises MistakesFound.
    """
    draft = Draft(rules.source)
    taking = _Taking(rules, draft)
    for path, (book, name) in references(rules.file).items():
        other = others.get(book)
        if other is None or name not in other.class_ids:
            said = f'the book "{book}" has no class "{name}" on that day'
            taking.mistakes.append(rules.source.mistake(path, said, "ask for another day, or amend this class"))
            continue
        taking.take(path, other, name)
    if taking.mistakes:
        raise MistakesFound(taking.mistakes)
    return draft.source(), frozenset(taking.taken)


class _Taking:
    def __init__(self, rules: "RuleSet", draft: Draft) -> None:
        self.rules = rules
        self.draft = draft
        self.mistakes: list[Mistake] = []
        self.taken: dict[str, None] = {}
        self._groups: set[str] = set()

    def take(self, path: Path, other: "RuleSet", name: str) -> None:
        """Take in a class of another book, what it is like and what it uses; `path` is the `like` that asks for it."""
        if not self._same_units(path, other):
            return
        self._declared(path, other, "fact", self.rules.facts)
        self._declared(path, other, "kind", self.rules.tree)
        self._class(other, name, used_everywhere=True)
        source, place = self.draft.origin(path)
        self.draft.put(path, _named(other.id, name), source, place)

    def _same_units(self, path: Path, other: "RuleSet") -> bool:
        mine, theirs = self.rules.file.units, other.file.units
        for field in fields_of(type(mine)):
            if getattr(mine, field.name) != getattr(theirs, field.name):
                said = f'the book "{other.id}" writes bare numbers in other units: its {field.key} is in '
                said += str(getattr(theirs, field.name))
                self.mistakes.append(self.rules.source.mistake(path, said, "give both books the same [units]"))
                return False
        return True

    def _declared(self, path: Path, other: "RuleSet", table: str, known: Any) -> None:
        """Facts and kinds that the other book declares are declared here too, unless they are alike already."""
        mine = {each["id"]: each for each in self.draft.data.get(table, ())}
        for index, each in enumerate(other.source.data.get(table, ())):
            if each["id"] in mine:
                if _meaning(mine[each["id"]]) != _meaning(each):
                    said = f'the {table} "{each["id"]}" is declared otherwise in the book "{other.id}"'
                    self.mistakes.append(self.rules.source.mistake(path, said, "declare it alike in both"))
            elif each["id"] not in known:
                self._append((table,), each, other.source, (table, index))

    def _append(self, path: Path, entry: dict[str, Any], source: Source, place: Path) -> None:
        if self.draft.at(path) is None:
            self.draft.put(path, [], source, place[:-1])
        self.draft.put((*path, len(self.draft.at(path))), entry, source, place)

    def _class(self, other: "RuleSet", name: str, *, used_everywhere: bool = False) -> None:
        full_name = _named(other.id, name)
        if full_name in self.taken:
            return
        self.taken[full_name] = None
        classes = other.source.data["class"]
        index = next(place for place, each in enumerate(classes) if each["id"] == name)
        entry = _qualified(classes[index], other.id)
        uses = list(classes[index].get("uses", ()))
        if used_everywhere:
            uses += [group.id for group in other.file.group if group.everywhere]
        entry["uses"] = [_named(other.id, group) for group in uses]
        for group in uses:
            self._group(other, group)
        like = classes[index].get("like")
        if like is None:
            entry["like"] = self._itself(other)
        else:
            self._class(other, like)
            entry["like"] = _named(other.id, like)
        self._append(("class",), entry, other.source, ("class", index))

    def _group(self, other: "RuleSet", name: str) -> None:
        if _named(other.id, name) in self._groups:
            return
        self._groups.add(_named(other.id, name))
        groups = other.source.data["group"]
        index = next(place for place, each in enumerate(groups) if each["id"] == name)
        entry = _qualified(groups[index], other.id)
        entry.pop("everywhere", None)
        self._append(("group",), entry, other.source, ("group", index))

    def _itself(self, other: "RuleSet") -> str:
        """The other book's silence, as a class that its classes are like."""
        name = _named(other.id, "silence")
        if name not in self.taken:
            self.taken[name] = None
            book = other.file.book
            silence = {action: getattr(book.silence, action) for action in ("remove", "swap", "fit", "lighten", "move")}
            entry = {"id": name, "title": book.title, "clause": f"{other.id}.{book.clause}", "silence": silence}
            self._append(("class",), entry, other.source, ("book", "silence"))
        return name


def _named(book: str, name: str) -> str:
    return f"{book}{BETWEEN}{name}"


def _meaning(entry: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in entry.items() if key not in ("title", "note")}


def _qualified(holder: dict[str, Any], book: str) -> dict[str, Any]:
    """A class or group with its name, its finishes and every clause in it named after the book."""
    entry = deepcopy(holder)
    entry["id"] = _named(book, entry["id"])
    _name_clauses(entry, book)
    for form in RULE_LISTS:
        for rule in entry.get(form, ()):
            _name_clauses(rule, book)
            for adjust in rule.get("adjust", ()):
                _name_clauses(adjust, book)
            if form == "finish":
                rule["id"] = _named(book, rule["id"])
            elif form == "allow" and "finish" in rule:
                rule["finish"] = [_named(book, each) for each in rule["finish"]]
    weight = entry.get("weight", {})
    inner = [weight, *(weight.get(key) for key in ("ballast", "front_axle", "rear_axle")), *weight.get("adjust", ())]
    for table in inner:
        if isinstance(table, dict):
            _name_clauses(table, book)
    return entry


def _name_clauses(table: dict[str, Any], book: str) -> None:
    if "clause" in table:
        table["clause"] = f"{book}.{table['clause']}"
    for key in ("despite", "drops"):
        if key in table:
            table[key] = [f"{book}.{clause}" for clause in table[key]]
