"""The pages under docs: every example in them loads, and the two format pages explain every key of the models."""

import datetime
import re
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

import pytest

from tarebook.car import models as car_models
from tarebook.car.models import CarFile
from tarebook.car.reading import Car, parse_car
from tarebook.facts import TYPES
from tarebook.fields import Units
from tarebook.rules import models as rule_models
from tarebook.rules.bulletins import Amend, Bulletin, BulletinFile, bulletin_from
from tarebook.rules.conditions import BOUND_WORDS, COMBINERS, EVENTS, Happened, walk
from tarebook.rules.limits import Form, Linear
from tarebook.rules.models import ACTIONS, RulesFile
from tarebook.rules.reading import RuleSet, load_rules, parse_rules, rules_of
from tarebook.tables import Table, fields_of
from tarebook.toml_source import MistakesFound, parse_source, read_source

ROOT = Path(__file__).parents[1]
CAR_PAGE = ROOT / "docs" / "car-file.md"
RULES_PAGE = ROOT / "docs" / "rule-sets.md"
BULLETINS_PAGE = ROOT / "docs" / "bulletins.md"
PAGES = [*sorted((ROOT / "docs").glob("*.md")), *ROOT.glob("README.md")]

CAR_FRAGMENT = "# part of a car file"
RULES_FRAGMENT = "# part of a rule set"
MINIMAL_CAR = """\
format = "tarebook-car/1"
[car]
name = "Heron 1.6"
"""
MINIMAL_RULES = """\
format = "tarebook-rules/1"
[book]
id = "harrow-hills"
title = "Harrow Hills Sprint League"
edition = "2026"
in_force = { from = 2026-01-01 }
silence = "forbids"
[[class]]
id = "street-trim"
title = "Street Trim"
"""


@dataclass(frozen=True)
class Block:
    """A TOML example of a page, with the line on which it begins and the heading that it stands under."""

    page: Path
    line: int
    heading: str
    text: str

    @property
    def format(self) -> str | None:
        found = re.search(r'^format = "(.*)"', self.text, re.MULTILINE)
        return found[1] if found else None

    @property
    def first_line(self) -> str:
        return self.text.partition("\n")[0]

    @property
    def is_example(self) -> bool:
        return self.format is not None or self.first_line in (CAR_FRAGMENT, RULES_FRAGMENT)

    def load(self) -> Car | RuleSet | Bulletin:
        """Read the example; a fragment is appended to the smallest sound file of its sort."""
        if self.first_line == CAR_FRAGMENT:
            return parse_car(MINIMAL_CAR + self.text)
        if self.first_line == RULES_FRAGMENT:
            return parse_rules(MINIMAL_RULES + self.text)
        if self.format == "tarebook-car/1":
            return parse_car(self.text)
        if self.format == "tarebook-bulletin/1":
            return bulletin_from(parse_source(self.text.encode(), self.page.name))
        assert self.format == "tarebook-rules/1", f"{self.page.name}:{self.line}: no file begins so"
        return parse_rules(self.text)


@cache
def blocks(page: Path) -> tuple[Block, ...]:
    found: list[Block] = []
    heading, language, start, held = "", None, 0, list[str]()
    for number, line in enumerate(page.read_text(encoding="utf-8").split("\n"), 1):
        if line.startswith("```"):
            if language is None:
                language, start, held = line.removeprefix("```"), number, []
            else:
                if language == "toml":
                    found.append(Block(page, start, heading, "\n".join(held) + "\n"))
                language = None
        elif language is not None:
            held.append(line)
        elif line.startswith("#"):
            heading = line.lstrip("# ")
    assert language is None, f"{page.name}: the block that begins on line {start} has no end"
    return tuple(found)


def prose(page: Path) -> list[str]:
    """The lines of a page that are outside fenced blocks."""
    text = re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    return text.split("\n")


def code_spans(text: str) -> list[str]:
    return re.findall(r"`([^`\n]+)`", text)


EXAMPLES = [block for page in PAGES for block in blocks(page) if block.is_example]


@pytest.mark.parametrize("block", EXAMPLES, ids=lambda block: f"{block.page.name}:{block.line}")
def test_every_example_loads(block: Block) -> None:
    try:
        loaded = block.load()
        if isinstance(loaded, Car):
            known = load_rules(ROOT / "rulesets")
            loaded.settle(
                (kind.path for book in known for kind in book.own_kinds),
                (fact for book in known for fact in book.own_facts),
            )
    except MistakesFound as found:
        pytest.fail(f"{block.page.name}, example on line {block.line}: {found}")


@pytest.mark.parametrize("page", [CAR_PAGE, RULES_PAGE], ids=lambda page: page.name)
def test_every_block_of_the_format_pages_is_an_example(page: Path) -> None:
    assert len(blocks(page)) > 10
    assert [block.line for block in blocks(page) if not block.is_example] == []


def test_rule_examples_show_every_form_of_limit_and_every_event() -> None:
    books = [loaded for block in blocks(RULES_PAGE) if isinstance(loaded := block.load(), RuleSet)]
    forms = [limit.form for book in books for limit in book.limits.values()]
    assert {type(form) for form in forms} == set(typing.get_args(Form))
    assert {bool(form.rate_of) for form in forms if isinstance(form, Linear)} == {True, False}
    nodes = [node for book in books for top in book.nodes.values() for node in walk(top)]
    assert {node.event for node in nodes if isinstance(node, Happened)} == set(EVENTS)


# Which heading of a page explains which models. A model without a heading of its own is explained by rows such as
# `goal.mass`, beside the key that holds it.
CAR_SECTIONS: dict[str, tuple[type[Table], ...]] = {
    "The tables of the file": (CarFile,),
    "The car: `[car]`": (car_models.CarTable,),
    "Units: `[units]`": (Units,),
    "Who sits in the car: `[driver]` and `[co_driver]`": (car_models.Person,),
    "The state at inspection: `[at_inspection]`": (car_models.AtInspection,),
    "The tank: `[tank]`": (car_models.Tank,),
    "Kinds of your own: `[[kind]]`": (car_models.OwnKind,),
    "Scales: `[[scale]]`": (car_models.Scale,),
    "Weighings of the whole car: `[[weighing]]`": (car_models.Weighing,),
    "Areas of the car: `[[zone]]`": (car_models.Zone,),
    "Parts: `[[part]]`": (car_models.Part,),
    "Jobs: `[[job]]`": (car_models.Job,),
    "Where a part goes: `moves`": (car_models.Move,),
    "A mass afterwards: `lightens`": (car_models.MassForm,),
    "Builds: `[[build]]`": (car_models.Build,),
}
RULES_SECTIONS: dict[str, tuple[type[Table], ...]] = {
    "The tables of the file": (RulesFile,),
    "The book: `[book]`": (rule_models.Book,),
    "Units: `[units]`": (Units,),
    "Facts of the book's own: `[[fact]]`": (rule_models.OwnFact,),
    "Kinds of the book's own: `[[kind]]`": (rule_models.OwnKind,),
    "Classes: `[[class]]`": (rule_models.Class,),
    "Groups: `[[group]]`": (rule_models.Group,),
    "The forms of rule": (rule_models.Rules,),
    "Allowing and banning changes: `[[class.allow]]` and `[[class.ban]]`": (rule_models.Allow, rule_models.Ban),
    "Bounds on the part: `part`": (rule_models.PartBounds,),
    "Bounds": (rule_models.NumberRange, rule_models.MassRange, rule_models.LengthRange),
    "Who may enter, and what the car must be like: `[[class.enter]]` and `[[class.require]]`": (rule_models.Must,),
    "What must be on the car: `[[class.need]]`": (rule_models.Need,),
    "What must not be on the car: `[[class.strip]]`": (rule_models.Strip,),
    "Finishing work that is owed: `[[class.finish]]`": (rule_models.FinishDuty,),
    "What only a person can judge: `[[class.ask]]`": (rule_models.Ask,),
    "Figures that count as more or less: `[[class.counts]]`": (rule_models.Counts,),
    "Weight and further limits: `[class.weight]` and `[[class.limit]]`": (
        rule_models.Weight,
        rule_models.FurtherLimit,
    ),
    "The keys of a limit": (rule_models.LimitForm,),
    "Corrections: `adjust`": (rule_models.Adjust,),
    "Examples: `[[example]]`": (rule_models.Example,),
}
BULLETIN_SECTIONS: dict[str, tuple[type[Table], ...]] = {
    "The tables of the file": (BulletinFile,),
    "Changes of the text: `[[amend]]`": (Amend,),
}
FORMATS = [
    pytest.param(BULLETINS_PAGE, BulletinFile, BULLETIN_SECTIONS, id="bulletins.md"),
    pytest.param(CAR_PAGE, CarFile, CAR_SECTIONS, id="car-file.md"),
    pytest.param(RULES_PAGE, RulesFile, RULES_SECTIONS, id="rule-sets.md"),
]


def within(annotation: Any) -> Iterator[Any]:
    """An annotation and everything that it is made of."""
    yield annotation
    if typing.get_origin(annotation) is not Literal:
        for inner in typing.get_args(annotation):
            yield from within(inner)


def models_in(annotation: Any) -> list[type[Table]]:
    return [each for each in within(annotation) if isinstance(each, type) and issubclass(each, Table)]


def keys(model: type[Table]) -> dict[str, Any]:
    """Each key as a file writes it, with its annotation."""
    return {field.key: field.annotation for field in fields_of(model)}


def reachable(model: type[Table]) -> set[type[Table]]:
    found, waiting = set[type[Table]](), [model]
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting += [inner for annotation in keys(here).values() for inner in models_in(annotation)]
    return found


def tables(page: Path, first_column: str) -> dict[str, list[str]]:
    """By heading, the code spans of the first column of those of its tables whose first column is headed so."""
    found: dict[str, list[str]] = {}
    heading, wanted = "", False
    for line in prose(page):
        if line.startswith("#"):
            heading, wanted = line.lstrip("# "), False
        elif not line.startswith("|"):
            wanted = False
        elif line.startswith(f"| {first_column} |"):
            wanted = True
        elif wanted and not line.startswith("|-"):
            found.setdefault(heading, []).extend(code_spans(line.split("|")[1]))
    return found


@pytest.mark.parametrize(("page", "root", "sections"), FORMATS)
def test_tables_hold_the_keys_of_the_models_and_no_others(
    page: Path, root: type[Table], sections: dict[str, tuple[type[Table], ...]]
) -> None:
    documented = tables(page, "key")
    assert set(documented) == set(sections)
    explained = {model for models in sections.values() for model in models}
    for heading, models in sections.items():
        expected: dict[str, Any] = {}
        for model in models:
            inherited = {key for base in model.__mro__[1:] if base in explained for key in keys(base)}
            expected |= {key: annotation for key, annotation in keys(model).items() if key not in inherited}
        rows = documented[heading]
        assert len(rows) == len(set(rows)), heading
        assert {row for row in rows if "." not in row} == set(expected), heading
        for key in {row.partition(".")[0] for row in rows if "." in row}:
            inside = {row.partition(".")[2] for row in rows if row.startswith(f"{key}.")}
            nested = [model for model in models_in(expected[key]) if set(keys(model)) == inside]
            assert nested, f"{heading}: {key}"
            explained.update(nested)
    assert reachable(root) - explained == set()


@pytest.mark.parametrize(("page", "root", "sections"), FORMATS)
def test_every_key_and_every_fixed_word_is_mentioned(
    page: Path, root: type[Table], sections: dict[str, tuple[type[Table], ...]]
) -> None:
    spans = {part.strip() for line in prose(page) for span in code_spans(line) for part in span.split(".")}
    quoted = {span.strip('"') for line in prose(page) for span in code_spans(line) if " " not in span}
    annotations = {key: annotation for model in reachable(root) for key, annotation in keys(model).items()}
    assert {key for key in annotations if key not in spans} == set()
    words = {
        word
        for model in reachable(root)
        for annotation in keys(model).values()
        for each in within(annotation)
        if typing.get_origin(each) is Literal
        for word in typing.get_args(each)
        if isinstance(word, str)
    }
    assert len(words) > 1
    assert {word for word in words if word not in quoted} == set()


def test_tables_of_words_hold_the_words_that_rules_use() -> None:
    conditions = tables(RULES_PAGE, "entry")["Conditions: `if` and `must`"]
    assert {word for word in conditions if " " not in word} == {*EVENTS, *COMBINERS, "age"}
    assert {*tables(RULES_PAGE, "action")["How the file is written"]} == set(ACTIONS)
    assert set(tables(RULES_PAGE, "key")["Bounds"]) == set(BOUND_WORDS)
    forms = tables(RULES_PAGE, "form")["Limits that depend on the car"]
    assert forms == ["amount", "over_up_to", "cases", "per", "fact", "axles"]


@pytest.mark.parametrize("word", [*TYPES, "plus", "anything", "everything", "as-original"])
def test_other_words_of_rules_are_mentioned(word: str) -> None:
    assert word in {span.strip('"') for line in prose(RULES_PAGE) for span in code_spans(line)}


def slug(heading: str) -> str:
    """The anchor that a heading gets on a page."""
    return re.sub(r"[^\w -]", "", heading.casefold()).replace(" ", "-")


def test_the_bulletin_of_the_page_fits_the_shipped_book() -> None:
    (block,) = blocks(BULLETINS_PAGE)
    text = block.text.replace('number = "1"', 'number = "page"')
    books = [path for path in (ROOT / "rulesets" / "fernbeck").glob("*.toml") if path.name.startswith("20")]
    sources = [parse_source(text.encode(), "page"), *map(read_source, books)]
    (edition,) = [each for each in rules_of(sources) if each.edition == "2026"]
    amended = edition.amended(datetime.date(2026, 6, 1)).class_in_full("sunday")
    assert [placed.rule.clause for placed in amended.rules["allow"]][-2:] == ["3.9", "2.1"]
    assert amended.weight["allowance"].value.value == 1
    assert amended.rules["strip"] == []


@pytest.mark.parametrize("page", [CAR_PAGE, RULES_PAGE, BULLETINS_PAGE], ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#]*)(?:#([^)]*))?\)", "\n".join(prose(page)))
    assert links
    for target, anchor in links:
        to = page.parent / target if target else page
        assert to.is_file(), target
        anchors = {slug(line.lstrip("# ")) for line in prose(to) if line.startswith("#")}
        assert not anchor or anchor in anchors, f"{target}#{anchor}"


def requirements() -> list[tuple[str, list[str], str]]:
    """The rows of the table of requirements: the requirement, its keys, the anchor of its example."""
    lines = prose(RULES_PAGE)
    start = lines.index("| requirement | keys | example |") + 2
    found = []
    for line in lines[start:]:
        if not line.startswith("|"):
            break
        _, requirement, named, example, _ = line.split("|")
        link = re.search(r"\(#(.*)\)", example)
        assert link, line
        found.append((requirement.strip(), code_spans(named), link[1]))
    return found


@pytest.mark.parametrize(("requirement", "named", "anchor"), requirements(), ids=lambda value: str(value)[:40])
def test_each_requirement_is_shown_by_the_example_it_names(requirement: str, named: list[str], anchor: str) -> None:
    shown = [block for block in blocks(RULES_PAGE) if slug(block.heading) == anchor]
    assert named
    assert any(all(span in block.text for span in named) for block in shown), requirement
