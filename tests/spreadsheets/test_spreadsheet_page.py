"""The page on spreadsheets: what it shows is what comes out."""

import re
from pathlib import Path

import pytest

from spreadsheets.sheets import car, table
from tarebook.car.spreadsheet import plan_import
from tarebook.show.spreadsheet import preview_lines
from tarebook.show.text import width
from tarebook.toml_source import MistakesFound, render

PAGE = (Path(__file__).parents[2] / "docs" / "spreadsheets.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```csv\n(.*?)```", PAGE, re.DOTALL)


@pytest.fixture(autouse=True)
def columns_of_100(monkeypatch):
    width.cache_clear()
    monkeypatch.setenv("COLUMNS", "100")
    yield
    width.cache_clear()


def test_the_broken_example_is_refused_as_shown():
    with pytest.raises(MistakesFound) as found:
        table(BLOCKS[0], name="own.csv")
    (mistake,) = found.value.mistakes
    assert f"```text\n{render(mistake)}\n```" in PAGE


def test_the_example_is_read_as_shown():
    plan = plan_import(car(), [table(BLOCKS[1], name="own.csv")])
    shown = "\n".join(preview_lines(plan))
    assert f"```text\n{shown}\n```" in PAGE


def test_the_jobs_are_taken_with_the_parts():
    plan = plan_import(car(), [table(BLOCKS[1]), table(BLOCKS[2], "job")])
    assert len(BLOCKS) == 3
    strip, seats = plan.edited.after.data["job"]
    assert strip["off"] == ["old-boot-carpet", "spare-wheel"]
    assert (strip["id"], strip["cost"]) == ("strip-the-tail", 0)
    assert (seats["sets"], seats["cost"]) == ({"seats": 2}, 140)
