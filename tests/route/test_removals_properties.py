"""Removals against the judge: a job that takes the part off is added to the file, and the whole build is checked.

The cars and rule sets are the demonstration's, and random ones that are made to be nasty; all invented.
"""

import datetime
from pathlib import Path

import pytest

from oracle.generate import case
from tarebook.api import check, load_rules, removals
from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "src/tarebook/demo/car.toml").read_text(encoding="utf-8")
SEEDS = range(40)


def try_each(text, on_now):
    """The car file with a job for each part on the car, and a build in which that job alone is done besides."""
    for index, part in enumerate(on_now):
        text += f'\n[[job]]\nid = "try-{index}"\nstate = "maybe"\noff = ["{part}"]\n'
        text += f'[[build]]\nid = "tried-{index}"\njobs = ["try-{index}"]\n'
    return parse_car(text)


def wrong(row, results=("violation", "owed")):
    """What is wrong with a build, its limits aside. Silence and clauses speak of the same part alike."""
    return {
        (finding.form == "finish", finding.clause, finding.part or finding.kind, finding.does)
        for finding in row.findings
        if finding.result in results and finding.form not in ("limit", "class")
    }


def compare(text, rules, day):
    """How many rows of each group were compared with the judge's own word on the build without the part."""
    before = parse_car(text)
    on_now = [part for part in before.inventory.parts if part in before.inventory.build("now").on]
    after = try_each(text, on_now)
    builds = {part: f"tried-{index}" for index, part in enumerate(on_now)}
    rows = {
        (row.book, row.class_id, row.build): row
        for row in check(after, rules, on=day, build=["now", *builds.values()]).rows
    }
    compared = {"may": 0, "may-with-duty": 0, "must-stay": 0, "undecided": 0}
    for book, class_id, build in rows:
        if build != "now":
            continue
        now = rows[book, class_id, "now"]
        found = {row.part: row for row in removals(before, rules, f"{book}/{class_id}", on=day)}
        assert [part for part in found if not found[part].already_off] == on_now
        against = {finding.clause for finding in now.findings if finding.result == "violation"}
        back = [row for row in found.values() if row.already_off]
        assert {row.group for row in back} <= {"put-back", "undecided"}
        assert {clause for row in back if row.group == "put-back" for clause in row.clauses} <= against
        for part in on_now:
            then, group = rows[book, class_id, builds[part]], found[part].group
            new = wrong(then) - wrong(now)
            if group == "may":
                assert not new, (class_id, part, new)
                assert not wrong(then, ("undecided",)) - wrong(now, ("undecided", "violation", "owed"))
            else:
                assert new or wrong(then, ("undecided",)) - wrong(now, ("undecided",)), (class_id, part, group)
            if group == "must-stay":
                assert new, (class_id, part)
            compared[group] += 1
    return compared


def test_the_demonstration_car_in_every_class():
    compared = compare(DEMO, load_rules(ROOT / "rulesets"), datetime.date(2026, 11, 25))
    assert all(compared.values()), compared
    assert sum(compared.values()) == 16 * 30


@pytest.mark.parametrize("start", range(0, len(SEEDS), 20))
def test_random_cars_and_rules(start):
    total = dict.fromkeys(("may", "may-with-duty", "must-stay", "undecided"), 0)
    for seed in SEEDS[start : start + 20]:
        made = case(seed)
        for group, count in compare(made.car_toml, [parse_rules(made.rules_toml)], made.on).items():
            total[group] += count
    assert total["may"] > 20 and total["must-stay"] > 20 and total["undecided"] > 0, total


def test_twice_the_same():
    car, rules = parse_car(DEMO), load_rules(ROOT / "rulesets")
    day = datetime.date(2026, 11, 25)
    assert removals(car, rules, "improved", on=day) == removals(car, rules, "improved", on=day)
