"""What changed between two editions of a book, clause by clause: provisions are paired by meaning, never by text."""

import re
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass
from itertools import product
from typing import Literal, NamedTuple

from tarebook.revise.aspects import same
from tarebook.revise.meanings import Meanings
from tarebook.revise.precedence import Bonds, Pair
from tarebook.revise.provision import Provision
from tarebook.revise.provisions import provisions
from tarebook.revise.wording import added, changed, statement, stopped, withdrawn
from tarebook.rules.classes import ClassInFull
from tarebook.rules.reading import RuleSet

What = Literal["added", "withdrawn", "changed", "moved"]
Place = tuple[str, int]
MOST_TRIED = 100_000  # pairs of one clause and form; beyond, they pair in the order of the book


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is other in the new edition.

    Attributes:
        class_id: the class, by its name in the new edition, or in the old one if it is gone; `was_class` is its
            name in the old edition where that differs.
        clause: where it stands now, or stood if it is gone; `was_clause` where it stood, if that differs.
        what: "moved" means that only its clause, or the name of its class, is another.
        form: the form of rule, "weight." with a key of `weight`, or "class" for a class as a whole.
        place, was_place: file and line in the new and in the old edition.
    """

    book: str
    class_id: str
    clause: str
    was_clause: str | None
    what: What
    sentence: str
    form: str
    place: Place | None
    was_place: Place | None
    was_class: str | None = None


class Compared(NamedTuple):
    """All changes of one book: class by class as the new edition has them, then by clause.

    `renamed` has the classes that only changed their names: by the new one, the old one.
    """

    changes: list[Change]
    renamed: dict[str, str]


def compare(old: RuleSet, new: RuleSet) -> list[Change]:
    """All changes between two editions of one book."""
    return compare_books(old, new).changes


def compare_books(old: RuleSet | None, new: RuleSet | None) -> Compared:
    """All changes of one book; None for an edition stands for a book that is not there: its classes are new or gone."""
    if old is not None and new is not None:
        comparison = _Comparison(old, new)
        changes = [change for class_id in comparison.class_ids for change in comparison.of_class(class_id)]
        return Compared(changes, comparison.renamed)
    if new is not None:
        return Compared([_whole(new, class_id, "added") for class_id in new.class_ids], {})
    assert old is not None
    return Compared([_whole(old, class_id, "withdrawn") for class_id in old.class_ids], {})


class _Comparison:
    def __init__(self, old: RuleSet, new: RuleSet) -> None:
        self.old = old
        self.new = new
        self.meanings = Meanings(old, new)
        self._provisions: dict[tuple[bool, str], list[Provision]] = {}
        self.renamed = self._find_renamed()
        gone = [each for each in old.class_ids if each not in new.class_ids and each not in self.renamed.values()]
        self.class_ids = (*new.class_ids, *gone)

    def _of(self, side: RuleSet, class_id: str) -> list[Provision]:
        key = (side is self.new, class_id)
        if key not in self._provisions:
            self._provisions[key] = provisions(side, class_id, self.meanings)
        return self._provisions[key]

    def _find_renamed(self) -> dict[str, str]:
        """New names of classes with their old ones: first those that are the same, then those that changed in
        nothing but what changed in other classes too."""
        gone = [each for each in self.old.class_ids if each not in self.new.class_ids]
        fresh = [each for each in self.new.class_ids if each not in self.old.class_ids]
        found: dict[str, str] = {}
        shared: set[Hashable] = set()
        if gone and fresh:
            kept = [each for each in self.new.class_ids if each in self.old.class_ids]
            shared = {_alike(change) for each in kept for change in self._within(each, each)}
        for also in (set(), shared):
            for now in fresh:
                was = next((each for each in gone if each not in found.values() and self._same(each, now, also)), None)
                if now not in found and was is not None:
                    found[now] = was
        return found

    def _same(self, was: str, now: str, but_for: set[Hashable]) -> bool:
        return all(change.what == "moved" or _alike(change) in but_for for change in self._within(was, now))

    def of_class(self, class_id: str) -> Iterator[Change]:
        was = self.renamed.get(class_id, class_id)
        if was not in self.old.class_ids:
            yield _whole(self.new, class_id, "added")
        elif class_id not in self.new.class_ids:
            yield _whole(self.old, class_id, "withdrawn")
        else:
            if was != class_id:
                yield self._under_another_name(was, class_id)
            yield from self._within(was, class_id)

    def _under_another_name(self, was: str, now: str) -> Change:
        old, new = self.old.class_in_full(was), self.new.class_in_full(now)
        sentence = f"Class {was} is now {now}; it means the same."
        before, after = _clause(old), _clause(new)
        return Change(
            self.new.id,
            now,
            after,
            before if before != after else None,
            "moved",
            sentence,
            "class",
            self.new.source.where(new.path),
            self.old.source.where(old.path),
            was,
        )

    def _within(self, was: str, now: str) -> list[Change]:
        old, new = self._of(self.old, was), self._of(self.new, now)
        pairs, gone, fresh = _paired(old, new, self.meanings)
        bonds = Bonds(pairs)
        whole_moves = _whole_moves(old, pairs)
        was_class = was if was != now else None
        found: dict[Hashable, Change] = {}

        def note(what: What, sentence: str, old: Provision | None, new: Provision | None) -> None:
            one = new or old
            assert one is not None
            before = old.clause if old is not None and old.clause != one.clause else None
            change = Change(
                self.new.id,
                now,
                one.clause,
                before,
                what,
                sentence,
                one.form,
                new.place if new else None,
                old.place if old else None,
                was_class,
            )
            found.setdefault((what, one.clause, before, sentence), change)

        for before, after in pairs:
            differing = [name for name in after.aspects if not same(before.aspects[name], after.aspects[name])]
            notes = bonds.notes(before, after)
            if differing or notes:
                note("changed", changed(before, after, differing, notes), before, after)
            elif before.clause != after.clause:
                note("moved", _moved(before, after, whole_moves), before, after)
        for each in gone:
            note("withdrawn", withdrawn(each), each, None)
        for each in fresh:
            note("added", added(each), None, each)
        return sorted(found.values(), key=lambda change: clause_order(change.clause))


def _alike(change: Change) -> Hashable:
    """Equal for changes that are the same in several classes."""
    return (change.what, change.clause, change.was_clause, change.sentence)


def _whole(side: RuleSet, class_id: str, what: Literal["added", "withdrawn"]) -> Change:
    """A class that is new or gone."""
    full = side.class_in_full(class_id)
    place = side.source.where(full.path)
    sentence = f"Class {class_id} ({full.title}) is {'new' if what == 'added' else 'gone'}."
    places = (place, None) if what == "added" else (None, place)
    return Change(side.id, class_id, _clause(full), None, what, sentence, "class", *places)


def _clause(full: ClassInFull) -> str:
    return full.clause or full.silence_clause


def clause_order(clause: str) -> list[tuple[int, int, str]]:
    """Sorts clauses as a book prints them: 7.9 before 7.10."""
    pieces = re.findall(r"[0-9]+|[^0-9.]+", clause)
    return [(0, int(piece), "") if piece.isdigit() else (1, 0, piece) for piece in pieces]


def _moved(old: Provision, new: Provision, whole: set[tuple[str, str]]) -> str:
    if old.form == "silence":
        return f"What silence means now stands in clause {new.clause}, no longer in {old.clause}; it means the same."
    if (old.clause, new.clause) in whole:
        return f"Clause {old.clause} is now {new.clause}; it means the same."
    return stopped(f"Now in clause {new.clause}, no longer in {old.clause}, and it means the same: {statement(new)}")


def _whole_moves(old: list[Provision], pairs: list[Pair]) -> set[tuple[str, str]]:
    """The clauses all of whose provisions (in this class) went to one other clause: old number, new number."""
    goes = {id(before): after.clause for before, after in pairs}
    found: dict[str, set[str | None]] = {}
    for each in old:
        found.setdefault(each.clause, set()).add(goes.get(id(each)))
    return {(clause, to) for clause, all_to in found.items() for to in all_to if to is not None and len(all_to) == 1}


# ---- pairing


def _paired(
    old: list[Provision], new: list[Provision], meanings: Meanings
) -> tuple[list[Pair], list[Provision], list[Provision]]:
    """The provisions in pairs, and those that are left of either side. Equal ones first, then like ones."""
    pairs: list[Pair] = []

    def by(key: Callable[[Provision], Hashable]) -> None:
        nonlocal old, new
        waiting: dict[Hashable, list[Provision]] = {}
        for each in new:
            waiting.setdefault(key(each), []).append(each)
        found = [(each, waiting[key(each)].pop(0)) for each in old if waiting.get(key(each))]
        pairs.extend(found)
        old, new = _left(old, (one for one, _ in found)), _left(new, (other for _, other in found))

    by(lambda each: (each.clause, each.full_meaning))
    by(lambda each: (each.clause, each.meaning))
    old, new = _without_equal_demands(old, new, meanings)
    by(lambda each: each.full_meaning)
    by(lambda each: each.meaning)
    best = _best_in_clause(old, new, least=1)
    pairs.extend(best)
    old, new = _left(old, (one for one, _ in best)), _left(new, (other for _, other in best))
    by(lambda each: (each.form, each.subject) if each.subject else each)
    best = _best_in_clause(old, new, least=0)
    pairs.extend(best)
    return pairs, _left(old, (one for one, _ in best)), _left(new, (other for _, other in best))


def _left(provisions: list[Provision], taken: Iterable[Provision]) -> list[Provision]:
    gone = {id(each) for each in taken}
    return [each for each in provisions if id(each) not in gone]


def _best_in_clause(old: list[Provision], new: list[Provision], least: int) -> list[Pair]:
    """Pairs of one clause and form that share at least so much of their subjects, those that share most first."""
    alike: dict[Hashable, list[Provision]] = {}
    for each in new:
        alike.setdefault((each.clause, each.form), []).append(each)
    waiting: dict[Hashable, list[Provision]] = {}
    for each in old:
        waiting.setdefault((each.clause, each.form), []).append(each)
    shared: list[tuple[int, Provision, Provision]] = []
    for key, mine in waiting.items():
        theirs = alike.get(key, [])
        tried = product(mine, theirs) if len(mine) * len(theirs) <= MOST_TRIED else zip(mine, theirs, strict=False)
        shared.extend((len(one.subject & other.subject), one, other) for one, other in tried)
    shared.sort(key=lambda each: -each[0])  # a stable sort: equals keep the order of the book
    found: list[Pair] = []
    taken: set[int] = set()
    for score, one, other in shared:
        if score >= least and not {id(one), id(other)} & taken:
            taken |= {id(one), id(other)}
            found.append((one, other))
    return found


def _without_equal_demands(
    old: list[Provision], new: list[Provision], meanings: Meanings
) -> tuple[list[Provision], list[Provision]]:
    """A clause may ask for the same in one entry or in several: such entries are no change."""
    for form in ("enter", "require"):
        for clause in dict.fromkeys(each.clause for each in old if each.form == form):
            mine = [each for each in new if (each.form, each.clause) == (form, clause)]
            theirs = [each for each in old if (each.form, each.clause) == (form, clause)]
            demands = [[each.aspects["must"].meaning for each in side] for side in (mine, theirs)]
            if mine and meanings.together(demands[0]) == meanings.together(demands[1]):
                old, new = _left(old, theirs), _left(new, mine)
    return old, new
