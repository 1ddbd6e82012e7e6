"""Cross-references of a rule set: what it names must exist, and what it says must be complete."""

import re
from collections.abc import Iterable, Iterator
from typing import Any

from tarebook.fact_values import NUMERIC_TYPES, FactError, read_value
from tarebook.facts import BUILTIN, Fact
from tarebook.file_checks import circles, way_round
from tarebook.kinds import KindTree
from tarebook.names import did_you_mean
from tarebook.rules.classes import (
    ClassInFull,
    Placed,
    all_clauses,
    clause_covers,
    in_full,
    line_of_classes,
    references,
)
from tarebook.rules.conditions import RESERVED, ConditionReader, Node
from tarebook.rules.limits import LimitReader, LimitSpec, SumOfAxles
from tarebook.rules.models import Adjust, LimitForm, Rules, RulesFile, WeightTerms
from tarebook.rules.weight_checks import WEIGHED_KEYS, WeightChecks
from tarebook.tables import MOST_HINTS
from tarebook.toml_source import Mistake, Source

Path = tuple[str | int, ...]
NO_CLASS, UNKNOWN_FINISH = "no-class", "unknown-finish"  # sorts of mistakes that show only in a class as a whole


class RuleChecks:
    """Checks one rule-set file, and reads its conditions and limits on the way.

    Attributes:
        nodes: each condition, by its path.
        limits: each limit form, by its path.
    """

    def __init__(self, file: RulesFile, source: Source, tree: KindTree, units: dict[str, str | None]) -> None:
        self.file = file
        self.source = source
        self.tree = tree
        self.mistakes: list[Mistake] = []
        self._told: set[Mistake] = set()
        self._classes = {each.id: each for each in file.class_}
        self._groups = {group.id: group for group in file.group}
        self._clauses = sorted(all_clauses(file))
        self._other_books = {book for book, _ in references(file).values()}
        self._covering = {cover for clause in self._clauses for cover in _covering(clause)}
        self.facts: dict[str, Fact] = dict(BUILTIN)
        self._units = units
        self._own_facts()
        self._conditions = ConditionReader(source, self.facts, tree, units)
        self._limits = LimitReader(source, self._conditions, units)
        self.currencies = self._conditions.currencies
        self.nodes: dict[Path, Node] = {}
        self.limits: dict[Path, LimitSpec] = {}

    def run(self, *, examples: bool = True) -> list[Mistake]:
        """All mistakes of the file; those of its own examples only where they are asked for."""
        book = self.file.book
        if book.in_force.until is not None and book.in_force.until < book.in_force.from_:
            self._note(("book", "in_force"), "this edition ends before it begins")
        if not self.file.class_:
            self._note((), "a rule set describes at least one class: [[class]]", what=NO_CLASS)
        self._no_duplicates("group", self.file.group)
        self._no_duplicates("class", self.file.class_)
        for place, group in enumerate(self.file.group):
            self._holder(group, ("group", place))
        for place, each in enumerate(self.file.class_):
            self._holder(each, ("class", place))
            self._class_links(place)
        if examples and self.file.example:
            from tarebook.rules.examples import ExampleChecks

            checks = ExampleChecks(self.file, self.source, self._conditions, self._units, self._covering)
            self.mistakes += checks.run()
        sound = not self.mistakes and not self._conditions.mistakes and not self._limits.mistakes
        if sound:
            for each in self.file.class_:
                if not self._waits(each.id):
                    self._in_full(in_full(self.file, each.id))
        return [*self.mistakes, *self._conditions.mistakes, *self._limits.mistakes]

    def _waits(self, class_id: str) -> bool:
        """Whether the class has something from another book, which is not there yet."""
        return "/" in (line_of_classes(self.file, class_id)[-1][1].like or "")

    def _note(self, path: Path, message: str, hint: str = "", *, key: bool = False, what: str = "wrong-value") -> None:
        mistake = self.source.mistake(path, message, hint, key=key, what=what)
        if mistake not in self._told:
            self._told.add(mistake)
            self.mistakes.append(mistake)

    def _unknown(self, path: Path, what: str, name: str, known: Iterable[str]) -> None:
        listed = list(known)
        near = did_you_mean(name, listed) if len(self.mistakes) < MOST_HINTS else ""
        hint = near or (f"there are {', '.join(listed[:8])}" if listed else f"there is no {what} yet")
        self._note(path, f'there is no {what} "{name}"', hint, what=f"unknown-{what}")

    def _no_duplicates(self, table: str, entries: Iterable[Any]) -> None:
        seen: dict[str, int] = {}
        for index, entry in enumerate(entries):
            if entry.id in seen:
                line = self.source.line((table, seen[entry.id], "id"))
                said = f'the {table} "{entry.id}" is written twice, first on line {line}'
                self._note((table, index, "id"), said, what="written-twice")
            seen.setdefault(entry.id, index)

    def _own_facts(self) -> None:
        for index, own in enumerate(self.file.fact):
            path: Path = ("fact", index)
            if not re.fullmatch(r"[a-z][a-z0-9_]*", own.id):
                self._note(
                    (*path, "id"),
                    f'"{own.id}" is not a fact name: use lower-case letters, digits and underscores',
                )
            elif own.id in RESERVED:
                self._note((*path, "id"), f'"{own.id}" is a word of conditions: choose another name')
            elif own.id in self.facts:
                where = "in the dictionary" if own.id in BUILTIN else "in this file"
                self._note((*path, "id"), f'there is a fact "{own.id}" already, {where}', what="written-twice")
                continue
            if own.type == "choice" and len(own.choices) < 2:
                self._note(path, f'the fact "{own.id}" is a choice: list its choices', 'choices = ["a", "b"]')
            elif own.type != "choice" and own.choices:
                self._note(
                    (*path, "choices"),
                    f'the fact "{own.id}" is of type {own.type}, so it has no choices',
                    key=True,
                )
            listed: set[str] = set()
            for place, choice in enumerate(own.choices):
                if choice in listed:
                    self._note((*path, "choices", place), f'the choice "{choice}" is listed twice')
                listed.add(choice)
            fact = Fact(own.id, own.type, own.title, own.title, choices=tuple(own.choices))
            if own.default is not None:
                try:
                    fact = Fact(
                        own.id,
                        own.type,
                        own.title,
                        own.title,
                        fact.choices,
                        default=read_value(own.default, fact, self._units),
                    )
                except FactError as error:
                    self._note((*path, "default"), str(error))
            self.facts[own.id] = fact

    def _kinds(self, kinds: Iterable[str] | None, path: Path) -> None:
        for index, kind in enumerate(kinds or ()):
            self._conditions.kind_known(kind, (*path, index))

    def _condition(self, rule: Any, path: Path, key: str = "if") -> None:
        table = getattr(rule, "if_" if key == "if" else key)
        if table is not None:
            self.nodes[(*path, key)] = self._conditions.read(table, (*path, key))

    def _holder(self, holder: Rules, path: Path) -> None:
        for form in ("limit", "counts", "enter", "require", "allow", "ban", "need", "strip", "finish", "ask"):
            for index, rule in enumerate(getattr(holder, form)):
                where = (*path, form, index)
                self._condition(rule, where)
                if form in ("enter", "require"):
                    self._condition(rule, where, "must")
                if form in ("allow", "ban", "need", "strip"):
                    self._change_rule(form, rule, where)
                elif form == "finish":
                    self._conditions.kind_known(rule.area, (*where, "area"))
                elif form == "counts":
                    fact = self._conditions.fact_known(rule.fact, (*where, "fact"))
                    if fact is not None and fact.type not in NUMERIC_TYPES:
                        self._note((*where, "fact"), f"{fact.id} has no size, so it cannot count as more or less")
                elif form == "limit":
                    self._weight_terms(rule, where)
                    self._further_limit(rule, where)
        if holder.weight is not None:
            self._weight_terms(holder.weight, (*path, "weight"))
            if holder.weight.ballast is not None:
                self._kinds(holder.weight.ballast.places, (*path, "weight", "ballast", "places"))
                if not holder.weight.ballast.allowed and holder.weight.ballast.stated & {
                    "most",
                    "places",
                }:
                    self._note((*path, "weight", "ballast"), "ballast that is not allowed has no places and no most")

    def _change_rule(self, form: str, rule: Any, path: Path) -> None:
        self._kinds(rule.kinds, (*path, "kinds"))
        part = getattr(rule, "part", None)
        places = part.place if part is not None and part.place else []
        for index, kind in enumerate(places):
            where: Path = (*path, "part", "place")
            self._conditions.kind_known(kind, (*where, index) if len(places) > 1 else where)
        if form == "need" and rule.at_least is not None and rule.at_least > len(rule.kinds):
            self._note(
                (*path, "at_least"),
                f"at_least asks for {rule.at_least} of {len(rule.kinds)}: list more kinds, or ask for fewer",
            )
        for index, clause in enumerate(rule.despite):
            self._clause_known(clause, (*path, "despite", index))
        if getattr(rule, "only", False) and rule.if_ is None and part is None:
            self._note(
                (*path, "only"), "only has no effect here: it forbids where `if` or `part` fails, and there is neither"
            )
        if isinstance(getattr(rule, "ask", None), str) and not rule.ask.strip():
            self._note((*path, "ask"), "ask is a question for a person, and may not be empty")

    def _weight_terms(self, terms: WeightTerms, path: Path) -> None:
        self._kinds(terms.without, (*path, "without"))
        for key in ("minimum", "maximum"):
            self._limit(getattr(terms, key), (*path, key))
        for axle in ("front_axle", "rear_axle"):
            limits = getattr(terms, axle)
            if limits is not None:
                if limits.least is None and limits.most is None:
                    self._note((*path, axle), "an axle limit states least or most")
                for key in ("least", "most"):
                    self._limit(getattr(limits, key), (*path, axle, key), axle=True)
        for index, adjust in enumerate(terms.adjust or ()):
            self._adjust(adjust, (*path, "adjust", index))
        if terms.driver == "out" and terms.driver_counts_as is not None:
            self._note((*path, "driver_counts_as"), "a driver who is out of the car counts as nothing")

    def _limit(self, limit: LimitForm | None, path: Path, *, axle: bool = False) -> None:
        if limit is None:
            return
        spec = self._limits.read(limit, path)
        if spec is not None:
            self.limits[path] = spec
            if axle and isinstance(spec.form, SumOfAxles):
                self._note(path, "the sum of the axle limits cannot be an axle limit")

    def _adjust(self, adjust: Adjust, path: Path) -> None:
        self._condition(adjust, path)
        added = adjust.add
        if (added.amount is None) == (added.fact is None):
            self._note((*path, "add"), 'add is an amount, or names a fact: add = { fact = "success_mass" }')
        if added.most is not None and added.fact is None:
            self._note((*path, "add", "most"), "most caps what a fact adds; an amount needs none", key=True)
        if added.fact is not None:
            fact = self._conditions.fact_known(added.fact, (*path, "add", "fact"))
            if fact is not None and fact.type != "mass":
                self._note((*path, "add", "fact"), f"{fact.id} is not a mass, so it cannot be added to a limit")

    def _further_limit(self, limit: Any, path: Path) -> None:
        self._kinds(limit.taken_off, (*path, "taken_off"))
        stated = [key for key in WEIGHED_KEYS if getattr(limit, key) is not None]
        if not stated:
            self._note(path, "a limit states minimum, maximum, front_axle or rear_axle")
        if limit.taken_off is not None:
            weighed = sorted(
                limit.stated
                & {"driver", "driver_counts_as", "co_driver", "fuel", "without", "scale_u", "front_axle", "rear_axle"}
            )
            if weighed:
                self._note(
                    (*path, weighed[0]),
                    f'"{weighed[0]}" does not go with taken_off: nothing is put on a scale',
                    key=True,
                )

    def _clause_known(self, clause: str, path: Path) -> None:
        if clause not in self._covering and not any(clause_covers(book, clause) for book in self._other_books):
            self._unknown(path, "clause", clause, self._clauses)

    def _class_links(self, place: int) -> None:
        each = self.file.class_[place]
        path: Path = ("class", place)
        if each.like is not None:
            if "/" in each.like:
                book, _, name = each.like.partition("/")
                if book == self.file.book.id:
                    self._note((*path, "like"), f'a class of this very book is named alone: like = "{name}"')
                elif not book or not name or "/" in name:
                    self._note((*path, "like"), 'a class of another book is named by both: like = "other-book/class"')
            elif each.like not in self._classes:
                self._unknown((*path, "like"), "class", each.like, self._classes)
            else:
                line = line_of_classes(self.file, each.id)
                last = line[-1][1]
                if last.like == each.id and place == min(index for index, _ in line):  # told once for each circle
                    way = way_round([f'"{one.id}"' for _, one in line], "is like")
                    said = f"these classes are like one another in a circle: {way}"
                    self._note((*path, "like"), said, what="circle")
        for index, name in enumerate(each.uses):
            if name not in self._groups:
                self._unknown((*path, "uses", index), "group", name, self._groups)
            elif self._groups[name].everywhere:
                self._note((*path, "uses", index), f'the group "{name}" is everywhere, so it need not be used')
            elif name in each.uses[:index]:
                self._note((*path, "uses", index), f'the group "{name}" is used twice')
        for index, clause in enumerate(each.drops):
            self._clause_known(clause, (*path, "drops", index))

    def _in_full(self, full: ClassInFull) -> None:
        finishes: dict[str, Placed[Any]] = {}
        for duty in full.rules["finish"]:
            if duty.rule.id in finishes:
                said = f'class "{full.id}" has two finishes with the id "{duty.rule.id}"'
                self._note((*duty.path, "id"), said, what="written-twice")
            finishes[duty.rule.id] = duty
        for rule in full.rules["allow"]:
            for index, name in enumerate(rule.rule.finish):
                if name not in finishes and name not in full.dropped_finishes:
                    near = did_you_mean(name, finishes) if len(self.mistakes) < MOST_HINTS else ""
                    hint = near or "write it as [[class.finish]] or [[group.finish]]"
                    self._note(
                        (*rule.path, "finish", index),
                        f'there is no finish "{name}" in class "{full.id}"',
                        hint,
                        what=UNKNOWN_FINISH,
                    )
        self._despite_circles(full)
        WeightChecks(self._note, self.limits).run(full)

    def _despite_circles(self, full: ClassInFull) -> None:
        rules = [rule for form in ("allow", "ban", "need", "strip") for rule in full.rules[form] if rule.rule.despite]
        under: dict[str, list[int]] = {}
        for index, rule in enumerate(rules):
            for clause in _covering(rule.rule.clause):
                under.setdefault(clause, []).append(index)

        def beaten(index: int) -> Iterator[int]:
            for clause in rules[index].rule.despite:
                yield from (other for other in under.get(clause, ()) if other != index)

        for circle in circles(range(len(rules)), beaten):
            way = way_round([rules[index].rule.clause for index in circle], "despite")
            path = (*rules[circle[0]].path, "despite")
            self._note(path, f"these clauses beat one another in a circle: {way}", what="circle")


def _covering(clause: str) -> list[str]:
    """The clause, and each that it stands under: 7.4.1, 7.4, 7."""
    levels = clause.split(".")
    return [".".join(levels[:count]) for count in range(1, len(levels) + 1)]
