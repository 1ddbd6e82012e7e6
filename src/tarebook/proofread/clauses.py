"""Numbering: clauses that stand outside the clause of their class or group, and clauses that are used twice."""

from collections.abc import Iterator
from typing import Any, NamedTuple

from tarebook.proofread.findings import Blemish
from tarebook.proofread.study import Study
from tarebook.rules.classes import RULE_LISTS, Path, clause_covers

MOST_COMPARED = 200  # entries of one clause
OWN_CLAUSES = ("ballast", "front_axle", "rear_axle")


class Numbered(NamedTuple):
    """Something with a clause of its own. `within` is the path of the weight or limit whose adjustment it is."""

    clause: str
    path: Path
    word: str
    within: Path | None = None


def clauses_outside_their_holder(study: Study) -> Iterator[Blemish]:
    for path, holder in _holders(study):
        if not holder.clause:
            continue
        for each in (*_weights(holder, path), *_entries(holder, path)):
            if not clause_covers(holder.clause, each.clause):
                sentence = (
                    f'Clause {each.clause} stands in {path[0]} "{holder.id}", which is clause {holder.clause}:'
                    f" a number under {holder.clause} is expected."
                )
                yield study.blemish((*each.path, "clause"), "outside-its-clause", each.clause, sentence)


def clauses_used_twice(study: Study) -> Iterator[Blemish]:
    by_clause: dict[str, list[Numbered]] = {}
    for path, holder in _holders(study):
        for each in _entries(holder, path):
            by_clause.setdefault(each.clause, []).append(each)
    for entries in by_clause.values():
        entries.sort(key=lambda each: study.written_at(each.path))
        for index, each in enumerate(entries):
            earlier = entries[: min(index, MOST_COMPARED)]
            first = next((other for other in earlier if _a_pair(study, other, each)), None)
            if first is not None:
                sentence = (
                    f"Clause {each.clause} is used twice: {first.word} at {study.place(first.path)} has it as well as"
                    f" this {each.word.partition(' ')[2]}."
                )
                yield study.blemish((*each.path, "clause"), "clause-used-twice", each.clause, sentence, first.clause)


def _holders(study: Study) -> Iterator[tuple[Path, Any]]:
    for index, group in enumerate(study.file.group):
        yield ("group", index), group
    for index, each in enumerate(study.file.class_):
        yield ("class", index), each


def _weights(holder: Any, path: Path) -> Iterator[Numbered]:
    if holder.weight is None:
        return
    where: Path = (*path, "weight")
    if holder.weight.clause:
        yield Numbered(holder.weight.clause, where, "a weight")
    for key in OWN_CLAUSES:
        terms = getattr(holder.weight, key)
        if terms is not None and terms.clause:
            yield Numbered(terms.clause, (*where, key), f"a {key.replace('_', ' ')}")


def _entries(holder: Any, path: Path) -> Iterator[Numbered]:
    if holder.weight is not None:
        yield from _adjusts(holder.weight, (*path, "weight"))
    for form in RULE_LISTS:
        for index, rule in enumerate(getattr(holder, form)):
            where: Path = (*path, form, index)
            yield Numbered(rule.clause, where, f"{'an' if form[0] in 'ae' else 'a'} {form}")
            if form == "limit":
                yield from _adjusts(rule, where)


def _adjusts(terms: Any, path: Path) -> Iterator[Numbered]:
    for index, adjust in enumerate(terms.adjust or ()):
        if adjust.clause:
            yield Numbered(adjust.clause, (*path, "adjust", index), "an adjust", path)


def _a_pair(study: Study, one: Numbered, other: Numbered) -> bool:
    """Whether two entries should not share a clause: adjustments of one limit may, and rules of unrelated classes."""
    if one.within is not None and one.within in (other.within, other.path):
        return False
    if other.within is not None and other.within == one.path:
        return False
    if one.path[0] != "class" or other.path[0] != "class" or one.path[1] == other.path[1]:
        return True
    places = [each.path[1] for each in (one, other)]
    assert isinstance(places[0], int) and isinstance(places[1], int)
    return places[0] in study.lines[places[1]] or places[1] in study.lines[places[0]]
