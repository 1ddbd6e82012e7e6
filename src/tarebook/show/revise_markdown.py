"""What a new edition changes, as Markdown for a club's web page.

Whatever comes from a file is text there and nothing else: no markup, no link, no cell of its own.
"""

from collections.abc import Iterator

from tarebook.revise.comparing import Change
from tarebook.revise.effects import Effect
from tarebook.revise.revising import BookPair, Revision
from tarebook.show.revise import DISCLAIMER, NO_CHANGE, Told, class_titles, count_of, title_of, told_once, turn_word
from tarebook.show.text import VERDICT_WORDS, margin, mass
from tarebook.toml_source import show_plain

_ENTITIES = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}
_MARKS = "\\`*_[]|#~$"


def plain(text: str) -> str:
    """Text that Markdown shows as it stands; addresses are broken by a space, so that nothing makes a link of them."""
    for start in ("://", "www.", "@"):
        text = text.replace(start, f"{start[:-1]} {start[-1]}" if len(start) > 1 else f" {start} ")
    return "".join(_ENTITIES.get(each, f"\\{each}" if each in _MARKS else each) for each in show_plain(text))


def revision_markdown(revision: Revision) -> Iterator[str]:
    """The lines of the page: each book, the changes by class, then the car."""
    for index, pair in enumerate(revision.books):
        if index:
            yield ""
        changes = [each for each in revision.changes if each.book == pair.either.id]
        yield from _book(pair, changes)
    if revision.car is not None:
        yield ""
        yield from _car(revision)


def _book(pair: BookPair, changes: list[Change]) -> Iterator[str]:
    yield f"# {plain(title_of(pair))}"
    yield ""
    told = told_once(changes)
    if not told:
        yield NO_CHANGE
        return
    yield f"{count_of(told)}."
    titles = class_titles(pair, changes)
    shared = [each for each in told if len(each.classes) == len(titles) > 1]
    if shared:
        yield from _table("Every class", shared)
    for class_id, title in titles.items():
        own = [each for each in told if class_id in each.classes and each not in shared]
        if own:
            yield from _table(f"{title} ({class_id})", own)


def _table(heading: str, told: list[Told]) -> Iterator[str]:
    yield ""
    yield f"## {plain(heading)}"
    yield ""
    yield "| Clause | | Change |"
    yield "|---|---|---|"
    for each in told:
        change = each.change
        was = f" (was {change.was_clause})" if change.was_clause is not None else ""
        yield f"| {plain(change.clause + was)} | {change.what} | {plain(change.sentence)} |"


def _car(revision: Revision) -> Iterator[str]:
    assert revision.car is not None
    unit = revision.car.units.get("mass") or "kg"
    yield f"# {plain(revision.car.name)}"
    yield ""
    yield "| Class | Build | Was | Now | Margin was | Margin now |"
    yield "|---|---|---|---|---|---|"
    for effect in revision.effects:
        verdicts = ["-" if each is None else VERDICT_WORDS[each] for each in (effect.was, effect.now)]
        margins = ["-" if each is None else margin(each, unit) for each in (effect.margin_was_kg, effect.margin_now_kg)]
        yield f"| {' | '.join(map(plain, (effect.class_id, effect.build, *verdicts, *margins)))} |"
    for effect in revision.effects:
        yield from _details(effect, unit)
    yield ""
    yield DISCLAIMER


def _details(effect: Effect, unit: str) -> Iterator[str]:
    if not (effect.parts or effect.newly_owed or effect.no_longer_owed):
        return
    yield ""
    yield f"## {plain(f'{effect.class_id}, build {effect.build}')}"
    yield ""
    for part in effect.parts:
        weighed = "not weighed" if part.mass_kg is None else mass(part.mass_kg, unit, 2)
        yield f"- {turn_word(part)}: {plain(f'{part.title}, {weighed}. {part.sentence} Clause {part.clause}.')}"
    for duty in effect.newly_owed:
        yield f"- owed now: {plain(f'{duty.sentence} Clause {duty.clause}.')}"
    for duty in effect.no_longer_owed:
        yield f"- owed no more: {plain(f'the finish {duty.id}. Clause {duty.clause}.')}"
    if effect.undone:
        gain = "an unknown mass" if effect.undone_kg is None else mass(effect.undone_kg, unit)
        yield f"- undoing that work, the car gains {plain(gain)}"
