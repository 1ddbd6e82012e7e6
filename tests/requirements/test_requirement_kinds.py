"""Each kind of requirement that real books state: the page shows how to write it, and what it shows decides right.

The table on docs/rule-sets.md is read. For each of its rows, the page's own example becomes a rule set, and small
cars on either side of the requirement are judged by it. Clubs, classes, cars and figures are invented.
"""

import pytest

from requirements import changes, classes, entering, weights
from requirements.page import Row, fragment, fragments, rows
from requirements.registry import CASES

MODULES = (weights, entering, changes, classes)  # they fill CASES
NAMES = sorted({row.requirement for row in rows()} | set(CASES))


@pytest.mark.parametrize("name", NAMES)
def test_requirement(name: str) -> None:
    assert [row.requirement for row in rows()].count(name) == 1, "no row of the table, or more than one"
    assert name in CASES, "no case judges cars by this row"
    CASES[name](fragment(name).text)


@pytest.mark.parametrize("row", rows(), ids=lambda row: row.requirement)
def test_a_row_leads_to_its_example_and_names_its_keys(row: Row) -> None:
    example = fragment(row.requirement)
    assert example.heading == row.heading
    assert row.keys
    assert [key for key in row.keys if key not in example.text] == []


def test_every_example_below_the_table_belongs_to_a_row() -> None:
    assert [each.requirement for each in fragments()] == [row.requirement for row in rows()]
