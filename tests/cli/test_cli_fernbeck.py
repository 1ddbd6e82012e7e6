"""The shipped book that changes: four days give four explained answers, and each change is put down to its cause."""

import json
from pathlib import Path

import pytest

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED

ROOT = Path(__file__).parents[2]


@pytest.fixture
def demo(ask):
    ask("demo", "d")
    return ["d/car.toml", "--rules", "d/rulesets/fernbeck", "--build", "now", "--class", "sunday"]


@pytest.mark.parametrize(
    ("day", "status", "edition", "said"),
    [
        ("2026-04-15", NOT_ELIGIBLE, "edition 2026 (", "No clause speaks of swapping standard lead battery"),
        ("2026-07-01", ELIGIBLE, "edition 2026 with bulletin 1 (", "bulletin 1 counts here; without it: not eligible"),
        (
            "2026-10-01",
            UNDECIDED,
            "edition 2026 with bulletins 1 and 2 (",
            "bulletin 2 counts here; without it: eligible",
        ),
        ("2027-05-15", NOT_ELIGIBLE, "edition 2027 (", "No clause allows removing rear-seat base"),
    ],
)
def test_four_days_give_four_explained_answers(ask, demo, day, status, edition, said):
    answer = ask("check", *demo, "--on", day)
    assert answer.status == status
    assert edition in answer.out
    assert said in " ".join(answer.out.split())


def test_the_json_names_the_bulletins_and_what_each_decided(ask, demo):
    document = json.loads(ask("check", *demo, "--on", "2026-10-01", "--json").out)
    (book,) = document["receipt"]["rules"]
    assert (book["edition"], book["bulletins"]) == ("2026", ["1", "2"])
    (row,) = document["rows"]
    assert row["without_bulletin"] == [
        {"number": "1", "verdict": "not-eligible"},
        {"number": "2", "verdict": "eligible"},
    ]
    (close,) = [each for each in row["findings"] if each["result"] == "too-close"]
    assert (close["bulletins"], close["source"]["file"]) == (["2"], "d/rulesets/fernbeck/bulletin-2026-2.toml")


def test_a_proposal_counts_where_it_is_asked_for(ask, demo):
    quiet = json.loads(ask("check", *demo, "--on", "2027-05-15", "--json").out)
    asked = json.loads(ask("check", *demo, "--on", "2027-05-15", "--proposed", "--json").out)
    assert [book["bulletins"] for each in (quiet, asked) for book in each["receipt"]["rules"]] == [[], ["1"]]
    assert asked["receipt"]["rules"][0]["bulletin_files"][0]["proposed"] is True


def test_revise_names_a_removal_that_turns_illegal_with_clause_and_mass(ask, demo):
    rules = ["fernbeck@2026", "fernbeck@2027", "--rules", "d/rulesets/fernbeck", "--car", "d/car.toml"]
    document = json.loads(ask("revise", *rules, "--build", "now", "--json").out)
    (row,) = [each for each in document["car"] if each["class"] == "sunday"]
    assert "rear-belts" in row["newly_illegal"]
    (part,) = [each for each in row["parts"] if each["part"] == "rear-belts"]
    assert (part["clause"], part["already_done"], round(part["mass_kg"], 2)) == ("1.2", True, 2.87)
    assert row["newly_owed"] == ["cabin-floor"]


def recheck(ask, *more):
    answer = ask("recheck", "d/car.toml", "--build", "now", "--json", *more)
    return answer.status, {row["class"]: row["because"] for row in json.loads(answer.out)["rows"]}


def test_recheck_puts_three_staged_changes_down_to_their_causes(ask, tmp_path):
    ask("demo", "d")
    ask("record", "d/car.toml", "--rules", "d/rulesets/fernbeck", "--build", "now", "--on", "2026-07-01")
    assert recheck(ask, "--on", "2026-07-01") == (ELIGIBLE, {})
    # The date: bulletin 2 is in force by then.
    assert recheck(ask, "--on", "2026-10-01") == (NOT_ELIGIBLE, {"sunday": ["date"]})
    # The rules: the minimum rises.
    book = tmp_path / "d/rulesets/fernbeck/2026.toml"
    text = book.read_text()
    book.write_text(text.replace('"1600 cm3", "840 kg"', '"1600 cm3", "880 kg"'))
    assert recheck(ask, "--on", "2026-07-01") == (NOT_ELIGIBLE, {"sunday": ["rules"]})
    book.write_text(text)
    # The car: the console is out as well.
    car = tmp_path / "d/car.toml"
    car.write_text(
        car.read_text().replace('off = ["head-unit", "speakers"]', 'off = ["head-unit", "speakers", "console"]')
    )
    assert recheck(ask, "--on", "2026-07-01") == (NOT_ELIGIBLE, {"sunday": ["car"], "sunday-free": ["car"]})
