"""Files against the schemas, by two validators that know nothing of each other: they agree on every file.

Shipped files and the examples of the pages are valid. Files that one small edit breaks are refused, just where they
are broken, and the program refuses them too.
"""

from collections.abc import Callable
from functools import cache
from typing import Any

import jsonschema_rs
import pytest
from jsonschema import Draft202012Validator

from schemas.broken_bulletins import BROKEN_BULLETINS
from schemas.broken_cars import BROKEN_CARS
from schemas.broken_rules import BROKEN_RULES
from schemas.shipped import SORTS, Broken, as_json, read, shipped_files, sort_of, text_of
from tarebook.show.schemas import file_schema
from tarebook.toml_source import MistakesFound
from test_docs import CAR_FRAGMENT, EXAMPLES, MINIMAL_CAR, MINIMAL_RULES, RULES_FRAGMENT, Block

BROKEN = [*BROKEN_CARS, *BROKEN_RULES, *BROKEN_BULLETINS]


@cache
def first_validator(sort: str) -> Draft202012Validator:
    return Draft202012Validator(file_schema(sort))


@cache
def second_validator(sort: str) -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(file_schema(sort))


def by_the_first(sort: str, data: Any) -> set[str]:
    """The places at which a file breaks its schema, dotted; "" is the whole file."""
    return {dotted(error.absolute_path) for error in first_validator(sort).iter_errors(data)}


def by_the_second(sort: str, data: Any) -> set[str]:
    return {dotted(error.instance_path) for error in second_validator(sort).iter_errors(data)}


def dotted(path: Any) -> str:
    return ".".join(str(step) for step in path)


VALIDATORS = [pytest.param(by_the_first, id="jsonschema"), pytest.param(by_the_second, id="jsonschema-rs")]
Validator = Callable[[str, Any], set[str]]


def test_every_sort_of_file_is_shipped() -> None:
    assert {sort_of(text_of(file)) for file in shipped_files()} == set(SORTS)


@pytest.mark.parametrize("validate", VALIDATORS)
@pytest.mark.parametrize("file", shipped_files())
def test_shipped_files_are_valid(validate: Validator, file: str) -> None:
    text = text_of(file)
    assert validate(sort_of(text), as_json(text)) == set()


@pytest.mark.parametrize("file", sorted({broken.file for broken in BROKEN}))
def test_the_program_reads_the_files_that_are_broken_below(file: str) -> None:
    try:
        read(file, text_of(file))
    except MistakesFound as found:
        pytest.fail(str(found))


@pytest.mark.parametrize("validate", VALIDATORS)
@pytest.mark.parametrize("block", EXAMPLES, ids=lambda block: f"{block.page.name}:{block.line}")
def test_the_examples_of_the_pages_are_valid(validate: Validator, block: Block) -> None:
    text = {CAR_FRAGMENT: MINIMAL_CAR, RULES_FRAGMENT: MINIMAL_RULES}.get(block.first_line, "") + block.text
    assert validate(sort_of(text), as_json(text)) == set()


@pytest.mark.parametrize("validate", VALIDATORS)
@pytest.mark.parametrize("broken", BROKEN, ids=lambda broken: broken.what)
def test_broken_files_are_refused_where_they_are_broken(validate: Validator, broken: Broken) -> None:
    assert validate(sort_of(text_of(broken.file)), as_json(broken.text)) == {broken.place}


@pytest.mark.parametrize("broken", BROKEN, ids=lambda broken: broken.what)
def test_the_program_refuses_broken_files_too(broken: Broken) -> None:
    with pytest.raises(MistakesFound):
        read(broken.file, broken.text)
