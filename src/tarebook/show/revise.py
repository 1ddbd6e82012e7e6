"""What a new edition changes, for a terminal and as JSON: the rules first, then the car."""

from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from tarebook.judge.wording import GERUND, listed
from tarebook.revise.comparing import Change, What, clause_order
from tarebook.revise.effects import Duty, Effect, PartEffect
from tarebook.revise.revising import BookPair, Revision
from tarebook.rules.reading import RuleSet
from tarebook.show.text import VERDICT_WORDS, margin, mass, wrapped
from tarebook.version import __version__

FORMAT = "tarebook-revise/1"
NO_CHANGE = "No rule means anything else than it did."
DISCLAIMER = "This is a preparation. The official at the event decides, by the club's own book."
WHATS: tuple[What, ...] = ("added", "changed", "moved", "withdrawn")


class Told(NamedTuple):
    """A change that is told once, and the classes in which it stands."""

    change: Change
    classes: tuple[str, ...]


def told_once(changes: Iterable[Change]) -> list[Told]:
    """The changes of one book by clause, those that several classes share together."""
    found: dict[tuple[object, ...], list[Change]] = {}
    for each in changes:
        alike = (each.what, each.clause, each.was_clause, each.sentence)
        found.setdefault(alike, []).append(each)
    told = [Told(alike[0], tuple(dict.fromkeys(each.class_id for each in alike))) for alike in found.values()]
    return sorted(told, key=lambda each: clause_order(each.change.clause))


def title_of(pair: BookPair) -> str:
    """A book and its two editions: "Tern Moor Motor Circle, from edition 2026 to edition 2027"."""
    title = pair.either.file.book.title
    if pair.old is None or pair.new is None:
        return f"{title}, {edition_of(pair.either)}: only in the {'old' if pair.new is None else 'new'} rules"
    return f"{title}, from {edition_of(pair.old)} to {edition_of(pair.new)}"


def edition_of(rules: RuleSet) -> str:
    """An edition with its bulletins: "edition 2027 with bulletins 1 and 2 (proposed)"."""
    numbers = [f"{each.number} (proposed)" if each.proposed else each.number for each in rules.bulletins]
    word = "bulletin" if len(numbers) == 1 else "bulletins"
    return f"edition {rules.edition}" + (f" with {word} {listed(numbers)}" if numbers else "")


def class_titles(pair: BookPair, changes: Iterable[Change]) -> dict[str, str]:
    """The titles of the classes of both editions by their names, each class once by its newest name."""
    renamed = {each.was_class for each in changes}
    sides = [rules for rules in (pair.new, pair.old) if rules is not None]
    found: dict[str, str] = {}
    for rules in sides:
        for each in rules.file.class_:
            if rules is pair.new or each.id not in renamed:
                found.setdefault(each.id, each.title)
    return found


def count_of(changes: Iterable[Told]) -> str:
    """ "3 changes: 1 added, 2 withdrawn"."""
    whats = [each.change.what for each in changes]
    counts = [f"{whats.count(what)} {what}" for what in WHATS if what in whats]
    return f"{len(whats)} {'change' if len(whats) == 1 else 'changes'}: {', '.join(counts)}"


# ---- for a terminal


def revision_lines(revision: Revision) -> Iterator[str]:
    """The whole answer as text, masses in the car file's unit."""
    for index, pair in enumerate(revision.books):
        if index:
            yield ""
        yield from _book(pair, [each for each in revision.changes if each.book == pair.either.id])
    if revision.car is not None:
        yield ""
        yield from _CarText(revision).lines()


def _book(pair: BookPair, changes: list[Change]) -> Iterator[str]:
    yield wrapped(title_of(pair))
    for word, rules in (("old", pair.old), ("new", pair.new)):
        if rules is not None:
            files = [rules.source.name, *(each.source.name for each in rules.bulletins)]
            yield wrapped(f"{word}: {', '.join(dict.fromkeys(files))}", "  ", "       ")
    told = told_once(changes)
    if not told:
        yield NO_CHANGE
        return
    yield f"{count_of(told)}."
    number = len(class_titles(pair, changes))
    for each in told:
        yield from _change(each, number)


def _change(told: Told, classes: int) -> Iterator[str]:
    change = told.change
    all_of_them = len(told.classes) == classes > 1
    where = "every class" if all_of_them else ", ".join(told.classes)
    named = "" if change.form == "class" else f" ({where})"
    was = f" Before, it was clause {change.was_clause}." if change.what == "changed" and change.was_clause else ""
    yield wrapped(f"{change.what:9} {change.clause:7} {change.sentence}{was}{named} {_place(change)}", "  ", " " * 20)


def _place(change: Change) -> str:
    now, was = (None if each is None else f"{each[0]}:{each[1]}" for each in (change.place, change.was_place))
    return f"[{now}]" if was is None else f"[was {was}]" if now is None else f"[{now}, was {was}]"


class _CarText:
    """The effects on the car, class by class."""

    def __init__(self, revision: Revision) -> None:
        assert revision.car is not None
        self.car = revision.car
        self.effects = revision.effects
        self.several_books = len(revision.books) > 1
        self.unit = self.car.units.get("mass") or "kg"

    def lines(self) -> Iterator[str]:
        yield wrapped(f"What this does to {self.car.name} ({self.car.source.name})")
        by_class: dict[tuple[str, str], list[Effect]] = {}
        for effect in self.effects:
            by_class.setdefault((effect.book, effect.class_id), []).append(effect)
        for (book, class_id), rows in by_class.items():
            was = f" (was {rows[0].was_class})" if rows[0].was_class else ""
            yield wrapped(f"{f'{book}: ' if self.several_books else ''}{class_id}{was}", "  ", "    ")
            yield from self._class(rows)
        yield ""
        yield wrapped(DISCLAIMER)

    def _class(self, rows: list[Effect]) -> Iterator[str]:
        for row in rows:
            yield wrapped(f"{row.build}: {self.turn(row)}", "    ", "      ")
        for line, builds in [*self._parts(rows), *self._others(rows)]:
            where = f" ({', '.join(builds)})" if len(builds) < len(rows) else ""
            yield wrapped(f"{line}{where}", "      ", " " * 27)

    def _parts(self, rows: list[Effect]) -> Iterator[tuple[str, list[str]]]:
        """What is said of several builds once, and of several parts alike together; with its builds."""
        builds: dict[PartEffect, list[str]] = {}
        for row in rows:
            for part in row.parts:
                builds.setdefault(part, []).append(row.build)
        alike: dict[tuple[str, str, str, tuple[str, int], tuple[str, ...]], list[PartEffect]] = {}
        for part, where in builds.items():
            alike.setdefault((turn_word(part), part.does, part.clause, part.place, tuple(where)), []).append(part)
        for (word, does, clause, place, where_told), parts in alike.items():
            if len(parts) == 1:
                told = f"{parts[0].sentence} {parts[0].part}, {self._mass(parts[0].mass_kg)}."
            else:
                each = listed(f"{part.title} [{part.part}, {self._mass(part.mass_kg)}]" for part in parts)
                told = f"{GERUND[does].capitalize()} {each}."
            yield f"{word:12} {clause:7} {told} [{place[0]}:{place[1]}]", list(where_told)

    def _others(self, rows: list[Effect]) -> Iterator[tuple[str, list[str]]]:
        builds: dict[str, list[str]] = {}
        for row in rows:
            for line in self._details(row):
                builds.setdefault(line, []).append(row.build)
        yield from builds.items()

    def _mass(self, kilograms: float | None) -> str:
        return "not weighed" if kilograms is None else mass(kilograms, self.unit, 2)

    def turn(self, row: Effect) -> str:
        """ "eligible +16.2 kg -> not eligible -3.8 kg"."""
        was = self._verdict(row.was, row.margin_was_kg)
        now = self._verdict(row.now, row.margin_now_kg)
        if row.was is None:
            return f"new: {now}"
        if row.now is None:
            return f"{was} -> gone"
        return f"still {now}" if was == now else f"{was} -> {now}"

    def _verdict(self, verdict: str | None, margin_kg: float | None) -> str:
        if verdict is None:
            return ""
        return VERDICT_WORDS[verdict] + ("" if margin_kg is None else f" {margin(margin_kg, self.unit)}")

    def _details(self, row: Effect) -> Iterator[str]:
        for word, duties in (("owed now", row.newly_owed), ("owed no more", row.no_longer_owed)):
            for duty in duties:
                yield f"{word:12} {duty.clause:7} {_duty(word, duty)} [{duty.place[0]}:{duty.place[1]}]"
        if row.undone:
            number = f"{len(row.undone)} {'change' if len(row.undone) == 1 else 'changes'}"
            gain = row.undone_kg
            heavier = "how much that weighs is not known" if gain is None else f"the car gains {mass(gain, self.unit)}"
            yield f"To undo: {number}; {heavier}."
        if row.facts_to_find_now:
            yield f"Find out: {', '.join(row.facts_to_find_now)}."


def turn_word(part: PartEffect) -> str:
    """What a turned change comes to, in a word or two."""
    if part.turn == "newly-illegal":
        return "undo" if part.already_done else "must stay"
    return "legal now" if part.already_done else "may come out"


def _duty(word: str, duty: Duty) -> str:
    return duty.sentence if word == "owed now" else f"The finish {duty.id} is not owed any more."


# ---- for other programs


def revision_document(revision: Revision) -> dict[str, Any]:
    """The answer as plain data, masses in kg."""
    return {
        "format": FORMAT,
        "tool_version": __version__,
        "books": [
            {
                "book": pair.either.id,
                "title": pair.either.file.book.title,
                "old": _side(pair.old),
                "new": _side(pair.new),
            }
            for pair in revision.books
        ],
        "changes": [
            {
                "book": change.book,
                "class": change.class_id,
                "was_class": change.was_class,
                "clause": change.clause,
                "was_clause": change.was_clause,
                "what": change.what,
                "form": change.form,
                "sentence": change.sentence,
                "source": _source(change.place),
                "was_source": _source(change.was_place),
            }
            for change in revision.changes
        ],
        "car": [_effect(effect) for effect in revision.effects],
    }


def _side(rules: RuleSet | None) -> dict[str, Any] | None:
    if rules is None:
        return None
    return {
        "edition": rules.edition,
        "file": rules.source.name,
        "bulletins": [each.number for each in rules.bulletins],
    }


def _source(place: tuple[str, int] | None) -> dict[str, Any] | None:
    return None if place is None else {"file": place[0], "line": place[1]}


def _effect(effect: Effect) -> dict[str, Any]:
    return {
        "book": effect.book,
        "class": effect.class_id,
        "was_class": effect.was_class,
        "build": effect.build,
        "was": effect.was,
        "now": effect.now,
        "margin_was_kg": effect.margin_was_kg,
        "margin_now_kg": effect.margin_now_kg,
        "newly_illegal": list(effect.turned("newly-illegal")),
        "newly_legal": list(effect.turned("newly-legal")),
        "newly_owed": [duty.id for duty in effect.newly_owed],
        "no_longer_owed": [duty.id for duty in effect.no_longer_owed],
        "undone_kg": effect.undone_kg,
        "facts_to_find_was": list(effect.facts_to_find_was),
        "facts_to_find_now": list(effect.facts_to_find_now),
        "parts": [
            {
                "part": part.part,
                "kind": part.kind,
                "what": part.turn,
                "does": part.does,
                "already_done": part.already_done,
                "clause": part.clause,
                "mass_kg": part.mass_kg,
                "gains_kg": part.gains_kg,
                "sentence": part.sentence,
                "source": _source(part.place),
            }
            for part in effect.parts
        ],
        "duties": [
            {
                "finish": duty.id,
                "what": what,
                "clause": duty.clause,
                "sentence": duty.sentence,
                "source": _source(duty.place),
            }
            for what, duties in (("newly-owed", effect.newly_owed), ("no-longer-owed", effect.no_longer_owed))
            for duty in duties
        ],
    }
