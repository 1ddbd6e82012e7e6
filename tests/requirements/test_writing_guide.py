"""docs/writing-a-rule-set.md: what the page builds is sound, and what it shows was printed. All in it is invented."""

import os
import re
from collections.abc import Iterator
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from requirements.guide import FINISHED, PAGE, Block, Told, blocks, changed, tables, told
from support import by_clause, judged, limit
from tarebook.car.reading import parse_car
from tarebook.proofread.coverage import coverage
from tarebook.proofread.examples import run_examples
from tarebook.proofread.proofreading import blemishes
from tarebook.rules.classes import all_clauses, all_rules
from tarebook.rules.reading import RuleSet, parse_rules
from tarebook.show.text import width

TEXT = PAGE.read_text(encoding="utf-8")
STORY = blocks(TEXT)
MAY = date(2027, 5, 1)


def whole(name: str) -> str:
    (only,) = [block.text for block in STORY if block.whole == name]
    return only


@cache
def finished() -> RuleSet:
    return parse_rules(whole(FINISHED), FINISHED)


def test_the_finished_file_is_sound_and_its_examples_exercise_all_of_it() -> None:
    assert blemishes(finished()) == []
    results = run_examples(finished())
    assert len(results) == 12
    assert [(result.title, result.sentence) for result in results if not result.passed] == []
    assert coverage(finished(), results).unexercised == ()


# ---- The page and the file say the same

PIECES = [block for block in STORY if block.piece_of == FINISHED]


@pytest.mark.parametrize("block", PIECES, ids=lambda block: block.heading)
def test_each_piece_is_part_of_the_finished_file(block: Block) -> None:
    assert block.rest.startswith("[")
    assert f"\n{block.rest}" in whole(FINISHED)


def test_the_pieces_are_the_whole_file_but_for_some_examples() -> None:
    shown = {key for block in PIECES for key in tables(block.rest)}
    head, *missing = [key for key in tables(whole(FINISHED)) if key not in shown]
    assert head == "" and len(missing) == 9 and all(key.startswith("[[example]]") for key in missing)
    first = 'format = "tarebook-rules/1"'
    assert f"`{first}`" in TEXT and first in tables(whole(FINISHED))[""].table.split("\n")
    assert sum(key.startswith("[[example]]") for key in shown) == 3


def test_every_toml_block_belongs_to_a_file() -> None:
    kinds = [bool(block.whole) + bool(block.piece_of) + bool(block.draft_of) for block in STORY]
    assert [block for block, kind in zip(STORY, kinds, strict=True) if block.language == "toml" and kind != 1] == []
    assert {block.language for block in STORY} == {"toml", "text"}


def printed_clauses() -> set[str]:
    (page,) = [block.text for block in STORY if block.heading == "The printed page"]
    return set(re.findall(r"^(\d+(?:\.\d+)*) ", page, flags=re.MULTILINE))


def test_the_file_has_every_clause_of_the_printed_page_and_no_others() -> None:
    assert len(printed_clauses()) == 19
    assert all_clauses(finished().file) == printed_clauses() | {"2"}  # of chapter 2 the page prints a clause alone


def test_the_table_of_sentences_names_the_form_of_each_clause() -> None:
    written: dict[str, set[str]] = {"silence": {"1.4"}, "weight": {"6.1", "6.1.1"}}
    for form, rule, _ in all_rules(finished().file):
        key = "only" if getattr(rule, "only", False) else form
        written.setdefault(key, set()).add(rule.clause)
    lines = TEXT.split("\n")
    told_of: dict[str, set[str]] = {}
    for line in lines[lines.index("| the sentence says ... | write | here |") + 2 :]:
        if not line.startswith("|"):
            break
        _, words, clauses = line.strip("| ").split(" | ")
        told_of[re.findall(r"`(\w+)`", words)[-1]] = set(clauses.split(", "))
    assert told_of == written


# ---- What the commands print


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[Told]]:
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path_factory.mktemp("guide"))
        patch.setattr("shutil.get_terminal_size", lambda fallback: os.terminal_size((100, 24)))
        width.cache_clear()
        yield list(told(TEXT))
    width.cache_clear()


def test_every_output_on_the_page_was_really_printed(answers: list[Told]) -> None:
    assert [(each.command, each.printed) for each in answers] == [(each.command, each.shown) for each in answers]
    assert len(answers) == sum(block.is_command for block in STORY) == 10


def test_what_each_command_says_by_its_exit_status(answers: list[Told]) -> None:
    assert [(each.command.split()[2], each.status) for each in answers] == [
        ("kinds", 0),
        ("facts", 0),
        ("proofread", 1),  # the draft
        ("proofread", 0),
        ("check", 1),  # the floor is not painted now
        ("why", 0),
        ("check", 1),  # too light by the bulletin
        ("proofread", 1),  # an answer that no longer holds
        ("revise", 1),  # the next edition does harm to the car
        ("proofread", 0),
    ]


def test_the_next_edition_is_the_page_before_with_its_tables_changed() -> None:
    (pieces,) = [block.rest for block in STORY if block.piece_of == "ottersholm/2028.toml"]
    before, after = tables(whole(FINISHED)), tables(changed(whole(FINISHED), pieces))
    assert [key for key in after if key not in before] == ['[[class.allow]] clause = "6.10"']
    assert [key for key in before if after[key].table != before[key].table] == [
        "[book]",
        "[class.weight.minimum]",
        '[[class.allow]] clause = "6.5"',
        '[[example]] title = "1400 cm3 is still in the first band"',
        '[[example]] title = "door cards out, and no cage"',
    ]
    assert changed(whole(FINISHED), "") == whole(FINISHED)


# ---- A car by the finished file


@pytest.mark.parametrize(
    ("displacement", "more", "margin", "verdict"),
    [
        # 812.5 of the car and 74 of its driver: 886.5, against 870, 940 and 1010.
        ("1390 cm3", "", 16.5, "eligible"),
        ("1400 cm3", "", 16.5, "eligible"),
        ("1401 cm3", "", -53.5, "not-eligible"),
        ("1601 cm3", "", -123.5, "not-eligible"),
        # 870 and 20 for the gearbox: 890. And 1.7 x 823 = 1399.1, 1.7 x 824 = 1400.8.
        ("1390 cm3", "sequential", -3.5, "not-eligible"),
        ("823 cm3", "turbo", 16.5, "eligible"),
        ("824 cm3", "turbo", -53.5, "not-eligible"),
    ],
)
def test_the_car_of_the_page_by_the_bands(displacement: str, more: str, margin: float, verdict: str) -> None:
    text = whole("car.toml").replace("1390 cm3", displacement)
    text = text.replace('"manual"', '"sequential"') if more == "sequential" else text
    text = text.replace('"natural"', '"turbo"') if more == "turbo" else text
    row = judged(parse_car(text), finished(), "planned", class_id="road-trim", on=MAY)
    assert limit(row).margin_kg == pytest.approx(margin)
    assert (row.verdict, row.to_ask) == (verdict, 1)


def test_the_car_of_the_page_owes_its_finish_until_the_floor_is_painted() -> None:
    car = parse_car(whole("car.toml"))
    now, planned = (judged(car, finished(), build, class_id="road-trim", on=MAY) for build in ("now", "planned"))
    assert (now.verdict, by_clause(now, "6.3.1")) == ("not-eligible", ["owed"])
    assert (planned.verdict, by_clause(planned, "6.3.1")) == ("eligible", ["met"])


def test_links_lead_somewhere() -> None:
    links = re.findall(r"\]\(([^)#]*)(?:#([^)]*))?\)", TEXT)
    assert len(links) > 5
    for target, anchor in links:
        page = (PAGE.parent / target) if target else PAGE
        headings = re.findall(r"^#+ (.*)$", Path(page).read_text(encoding="utf-8"), flags=re.MULTILINE)
        anchors = {re.sub(r"[^\w -]", "", heading.casefold()).replace(" ", "-") for heading in headings}
        assert not anchor or anchor in anchors, f"{target}#{anchor}"
