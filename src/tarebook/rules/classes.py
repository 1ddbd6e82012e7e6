"""A class in full: its own rules, those it has by `like`, and those of groups, each with its rank."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Generic, NamedTuple, TypeVar

from tarebook.rules.conditions import Node
from tarebook.rules.models import Class, Group, Rules, RulesFile, SilenceByAction

T = TypeVar("T")
Path = tuple[str | int, ...]
RULE_LISTS = ("limit", "counts", "enter", "require", "allow", "ban", "need", "strip", "finish", "ask")


class Rank(NamedTuple):
    """Where a rule came from: the class itself before `like`, nearer classes before farther ones, groups last."""

    by_group: bool
    distance: int  # 0 for the class itself, 1 for what it is like, and so on

    @property
    def order(self) -> tuple[bool, int]:
        return (self.by_group, self.distance)


class Placed(NamedTuple, Generic[T]):
    """A rule where it stands in the file, and as it counts for one class."""

    rule: T
    form: str
    path: Path
    rank: Rank
    origin: str  # such as "class street-trim" or "group tidy-cabin"
    prevails: bool = False


class WeightKey(NamedTuple):
    """One key of `weight`, with the clause under which it was stated."""

    value: Any
    clause: str | None
    path: Path
    rank: Rank
    origin: str
    prevails: bool = False


@dataclass(slots=True)
class ClassInFull:
    """Everything that holds in one class."""

    id: str
    title: str
    clause: str | None
    path: Path
    silence: SilenceByAction
    silence_clause: str
    silence_path: Path
    rules: dict[str, list[Placed[Any]]]
    weight: dict[str, WeightKey]
    dropped_finishes: frozenset[str]


def clause_covers(clause: str, other: str) -> bool:
    """7.4 covers 7.4 and 7.4.1, not 7.40."""
    return other == clause or other.startswith(clause + ".")


@lru_cache(maxsize=8)
def _classes_of(file: RulesFile) -> dict[str, tuple[int, Class]]:
    return {each.id: (index, each) for index, each in enumerate(file.class_)}


def line_of_classes(file: RulesFile, class_id: str) -> list[tuple[int, Class]]:
    """The class, the one it is like, and so on; with the place of each in the file. Circles end where they close."""
    by_id = _classes_of(file)
    found: list[tuple[int, Class]] = []
    seen: set[str] = set()
    at: str | None = class_id
    while at is not None and at in by_id and at not in seen:
        seen.add(at)
        found.append(by_id[at])
        at = by_id[at][1].like
    return found


def references(file: RulesFile) -> dict[Path, tuple[str, str]]:
    """The classes that are like another book's: the place of each `like`, with the book and the class."""
    found: dict[Path, tuple[str, str]] = {}
    for index, each in enumerate(file.class_):
        if each.like is not None and "/" in each.like:
            book, _, name = each.like.partition("/")
            found[("class", index, "like")] = (book, name)
    return found


def in_full(file: RulesFile, class_id: str) -> ClassInFull:
    """Lay the class over what it is like and what it uses. `like` must not run in a circle."""
    line = line_of_classes(file, class_id)
    index, own = line[0]
    rules: dict[str, list[Placed[Any]]] = {form: [] for form in RULE_LISTS}
    weight: dict[str, WeightKey] = {}
    dropped: set[str] = set()
    drops: list[str] = []  # of the nearer classes: they strike what comes from farther away
    groups: list[tuple[int, Group, Rank, tuple[str, ...]]] = []
    used: set[str] = set()
    for distance, (place, each) in enumerate(line):
        rank = Rank(by_group=False, distance=distance)
        _lay(each, ("class", place), rank, f"class {each.id}", False, tuple(drops), rules, weight, dropped)
        drops.extend(each.drops)
        for group_place, group in enumerate(file.group):
            taken = group.id in each.uses or (group.everywhere and distance == 0)
            if taken and group.id not in used:
                used.add(group.id)
                groups.append((group_place, group, Rank(by_group=True, distance=distance), tuple(drops)))
    for group_place, group, rank, struck in groups:
        _lay(
            group,
            ("group", group_place),
            rank,
            f"group {group.id}",
            group.prevails,
            struck,
            rules,
            weight,
            dropped,
        )
    silent = next(((place, each) for place, each in line if each.silence is not None), None)
    silence = silent[1].silence if silent and silent[1].silence else file.book.silence
    return ClassInFull(
        id=own.id,
        title=own.title,
        clause=own.clause,
        path=("class", index),
        silence=silence,
        silence_clause=(silent[1].clause if silent and silent[1].clause else file.book.clause),
        silence_path=("class", silent[0], "silence") if silent else ("book", "silence"),
        rules=rules,
        weight=weight,
        dropped_finishes=frozenset(dropped),
    )


def _lay(
    source: Rules,
    path: Path,
    rank: Rank,
    origin: str,
    prevails: bool,
    drops: tuple[str, ...],
    rules: dict[str, list[Placed[Any]]],
    weight: dict[str, WeightKey],
    dropped: set[str],
) -> None:
    def struck(clause: str | None) -> bool:
        return clause is not None and any(clause_covers(drop, clause) for drop in drops)

    for form in RULE_LISTS:
        for index, rule in enumerate(getattr(source, form)):
            if struck(rule.clause):
                if form == "finish":
                    dropped.add(rule.id)
                continue
            rules[form].append(Placed(rule, form, (*path, form, index), rank, origin, prevails))
    if source.weight is None:
        return
    for key in sorted(source.weight.stated):
        value = getattr(source.weight, key)
        clause = source.weight.clause
        if key in ("ballast", "front_axle", "rear_axle"):
            clause = value.clause or clause
        if key == "adjust":
            value = [
                (adjust, (*path, "weight", "adjust", index))
                for index, adjust in enumerate(value)
                if not struck(adjust.clause)
            ]
        if key not in weight and not struck(clause):
            weight[key] = WeightKey(value, clause, (*path, "weight", key), rank, origin, prevails)


def all_rules(file: RulesFile) -> Iterator[tuple[str, Any, Path]]:
    """Every rule of the file that has a clause of its own: its form, itself, its place."""
    for where, holders in (("group", file.group), ("class", file.class_)):
        for number, holder in enumerate(holders):
            assert isinstance(holder, Rules)
            for form in RULE_LISTS:
                for index, rule in enumerate(getattr(holder, form)):
                    yield form, rule, (where, number, form, index)


def all_clauses(file: RulesFile) -> set[str]:
    """Every clause that the book names anywhere."""
    found = {file.book.clause}
    for _, rule, _ in all_rules(file):
        found.add(rule.clause)
        found.update(adjust.clause for adjust in getattr(rule, "adjust", None) or () if adjust.clause)
    holders: list[Group | Class] = [*file.group, *file.class_]
    for holder in holders:
        if holder.clause:
            found.add(holder.clause)
        weight = holder.weight
        if weight is not None:
            inner = (weight, weight.ballast, weight.front_axle, weight.rear_axle, *(weight.adjust or ()))
            found.update(each.clause for each in inner if each is not None and each.clause)
    return found


Conditions = dict[Path, Node]
