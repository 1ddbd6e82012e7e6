"""The meanings of keys: one line for each key of the models and none left over, in the words of the pages."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tarebook.car.models import CarFile
from tarebook.kinds import EVERYTHING, builtin
from tarebook.rules.bulletins import BulletinFile
from tarebook.rules.conditions import BOUND_WORDS, COMBINERS, EVENTS
from tarebook.rules.models import RulesFile
from tarebook.show.key_meanings import KeyMeanings, read_meanings
from tarebook.tables import Table
from test_docs import (
    BULLETIN_SECTIONS,
    BULLETINS_PAGE,
    CAR_PAGE,
    CAR_SECTIONS,
    RULES_PAGE,
    RULES_SECTIONS,
    code_spans,
    keys,
    models_in,
    prose,
    reachable,
)

MODELS = sorted(
    {model for root in (CarFile, RulesFile, BulletinFile) for model in reachable(root)},
    key=lambda model: (model.__module__, model.__name__),
)
CONDITIONS = {
    "Condition": {*EVENTS, *COMBINERS},
    "Bounds": {*BOUND_WORDS, "age"},
    "BoundOfTheCar": {"as_made", "plus"},
}
# Keys whose values are kinds; of `replaces`, a kind or a part.
KIND_KEYS = {
    "CarTable": ("absent", "present"),
    "Part": ("kind", "place"),
    "Move": ("place",),
    "FinishDone": ("area",),
    "FinishShown": ("area",),
    "FinishDuty": ("area",),
    "Change": ("kinds",),
    "Need": ("kinds",),
    "Strip": ("kinds",),
    "PartBounds": ("place",),
    "WeightTerms": ("without",),
    "FurtherLimit": ("taken_off",),
    "Ballast": ("places",),
    "Example": ("present", "absent", "removed", "swapped", "fitted", "lightened", "moved"),
    "Condition": EVENTS,
}


@pytest.fixture(scope="module")
def meanings() -> KeyMeanings:
    return read_meanings()


def names(model: type[Table]) -> tuple[str, ...]:
    return tuple(each.__name__ for each in model.__mro__)


@pytest.mark.parametrize("model", MODELS, ids=lambda model: f"{model.__module__}.{model.__name__}")
def test_every_key_has_a_meaning(meanings: KeyMeanings, model: type[Table]) -> None:
    for key in keys(model):
        assert len(meanings.of(names(model), key).says) > 5, key


def test_no_meaning_is_left_over(meanings: KeyMeanings) -> None:
    used = {(meanings.place(names(model), key), key) for model in MODELS for key in keys(model)}
    used |= {(table, key) for table, words in CONDITIONS.items() for key in words}
    assert {(table, key) for table, held in meanings.tables.items() for key in held} == used


def test_meanings_are_one_plain_line_each(meanings: KeyMeanings) -> None:
    for table, held in meanings.tables.items():
        for key, meaning in held.items():
            line = meaning.sentence("what is written")
            assert re.fullmatch(r"[A-Z`].*\.", line), f"{table}.{key}: {line}"
            assert "\n" not in line and len(line) < 160, f"{table}.{key}: {line}"
            assert not re.search(r"[:.]\.$", line), f"{table}.{key}: {line}"


def test_a_key_without_a_meaning_is_noticed(meanings: KeyMeanings) -> None:
    with pytest.raises(KeyError, match=r"Part\.colour has no meaning"):
        meanings.of(("Part", "Table"), "colour")


@pytest.mark.parametrize(("table", "held"), KIND_KEYS.items(), ids=KIND_KEYS)
def test_examples_of_kinds_are_in_the_tree(meanings: KeyMeanings, table: str, held: tuple[str, ...]) -> None:
    for key in held:
        examples = meanings.tables[table][key].examples
        assert examples, key
        assert [kind for kind in examples if kind != EVERYTHING and kind not in builtin()] == [], key


class Row:
    """A row of a page's table of keys: the model and key that it explains, and the words that it does so in."""

    def __init__(self, page: Path, model: type[Table], key: str, words: str) -> None:
        self.page = page
        self.model = model
        self.key = key
        self.words = words

    def __str__(self) -> str:
        return f"{self.page.name} {self.model.__name__}.{self.key}"


def rows() -> Iterator[Row]:
    pages = ((CAR_PAGE, CAR_SECTIONS), (RULES_PAGE, RULES_SECTIONS), (BULLETINS_PAGE, BULLETIN_SECTIONS))
    for page, sections in pages:
        heading, wanted = "", False
        for line in prose(page):
            if line.startswith("#"):
                heading, wanted = line.lstrip("# "), False
            elif not line.startswith("|"):
                wanted = False
            elif line.startswith("| key |"):
                wanted = True
            elif wanted and not line.startswith("|-"):
                cells = line.strip("| ").split(" | ")
                for span in code_spans(cells[0]):
                    outer, _, inner = span.partition(".")
                    for model in sections[heading]:
                        if outer in keys(model):
                            yield from explained(page, model, outer, inner, cells[-1])


def explained(page: Path, model: type[Table], outer: str, inner: str, words: str) -> Iterator[Row]:
    within = [each for each in models_in(keys(model)[outer]) if inner in keys(each)]
    yield Row(page, within[0] if inner else model, inner or outer, words)


def plain(words: str) -> str:
    """The words of a row without links to elsewhere, and without what goes for the page alone."""
    words = re.sub(r":? ?\[[^\]]*\]\([^)]*\)", "", words)
    return re.sub(r"^`\w+` alone[:;] |; must be there$|: see below$", "", words).casefold().rstrip(".")


@pytest.mark.parametrize("row", list(rows()), ids=str)
def test_meanings_are_in_the_words_of_the_pages(meanings: KeyMeanings, row: Row) -> None:
    said = meanings.of(names(row.model), row.key).sentence("")
    assert plain(row.words) in said.casefold()
