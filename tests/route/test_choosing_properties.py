"""Every build that `choose` speaks of is written into the car file, ballast and all, and checked: it is eligible."""

import datetime
from pathlib import Path

import pytest

from tarebook.api import check, editions_on, load_rules, settle
from tarebook.car.reading import parse_car
from tarebook.route.choosing import ORDER, Setting, choose, ranked, standing
from tarebook.route.worth import find_worth

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "src/tarebook/demo/car.toml").read_text(encoding="utf-8")
DAY = datetime.date(2026, 11, 25)
DAYS = {"now": DAY, "planned": DAY}


def written(reach, rules, class_id, number):
    """The car file's lines for a build: its jobs, what is undone, and the ballast as a part of its own."""
    jobs, lines = list(reach.jobs), ""
    if reach.ballast_kg:
        ballast = rules.class_in_full(class_id).weight.get("ballast")
        places = ballast.value.places if ballast is not None else None
        place = f'place = "{places[0]}"\n' if places else ""
        at = "" if reach.ballast_at_mm is None else f'at = "{reach.ballast_at_mm} mm"\n'
        lines += (
            f'[[part]]\nid = "lead-{number}"\nkind = "ballast"\norigin = "aftermarket"\n{place}{at}'
            f'estimate = {{ mass = "{reach.ballast_kg} kg", within = "0 kg" }}\n'
            f'[[job]]\nid = "load-{number}"\nstate = "maybe"\nfit = ["lead-{number}"]\n'
        )
        jobs.append(f"load-{number}")
    quoted = ", ".join(f'"{job}"' for job in jobs), ", ".join(f'"{job}"' for job in reach.undo)
    return lines + f'[[build]]\nid = "reach-{number}"\njobs = [{quoted[0]}]\nundo = [{quoted[1]}]\n'


@pytest.fixture(scope="module")
def demo():
    car, editions = parse_car(DEMO), editions_on(load_rules(ROOT / "rulesets"), DAY)
    setting = Setting(car, {DAY: editions}, settle(car, editions), DAYS)
    return editions, setting, choose(setting)


def reaches_of(choices):
    for choice in choices:
        for name, reach in choice.reaches._asdict().items():
            if name in ("eligible", "at_minimum", "barest", "lightest", "by_undoing") and reach is not None:
                yield choice, name, reach


def test_check_accepts_every_build(demo):
    editions, _, choices = demo
    asked = list(reaches_of(choices))
    assert {name for _, name, _ in asked} == {"eligible", "at_minimum", "barest", "lightest", "by_undoing"}
    text = DEMO + "".join(
        written(reach, choice.rules, choice.prepared.id, number) for number, (choice, _, reach) in enumerate(asked)
    )
    car = parse_car(text)
    for number, (choice, name, reach) in enumerate(asked):
        report = check(car, editions, on=DAY, build=f"reach-{number}", classes=[choice.prepared.id])
        (row,) = [each for each in report.rows if each.book == choice.rules.id]
        assert row.verdict == "eligible", (choice.key, name, [each.sentence for each in row.urgent])
        jobs = [car.inventory.jobs[job] for job in reach.jobs]
        priced = [
            float(job.cost.value if job.cost else 0) - float(job.returns.value if job.returns else 0) for job in jobs
        ]
        assert reach.cost == pytest.approx(sum(priced)) and reach.hours == float(sum(job.hours for job in jobs))
        if reach.over_minimum_kg is not None:
            minima = [limit.margin_kg for limit in row.limits if limit.which == "minimum"]
            if reach.hangs_on:
                assert None in minima  # it lies in several places; the worst of them was counted
            else:
                assert min(minima) == pytest.approx(reach.over_minimum_kg, abs=1e-9)


def test_the_verdicts_are_those_of_check(demo):
    editions, _, choices = demo
    rows = check(parse_car(DEMO), editions, on=DAY, build=["now", "planned"]).rows
    told = {(row.book, row.class_id, row.build): row.verdict for row in rows}
    assert told == {(*choice.key, build): choice.verdict(build) for choice in choices for build in DAYS}
    assert [choice.key for choice in choices] == list(dict.fromkeys((row.book, row.class_id) for row in rows))


def test_no_build_is_better_than_what_is_called_best(demo):
    _, _, choices = demo
    for choice in choices:
        reaches = choice.reaches
        found = [each for each in (reaches.at_minimum, reaches.barest, reaches.lightest) if each is not None]
        if choice.verdict("now") != "eligible":
            assert all(reaches.eligible.cost <= each.cost for each in found)
        if reaches.barest is not None:
            bare = reaches.barest.mass_kg - reaches.barest.ballast_kg
            assert all(bare <= each.mass_kg - each.ballast_kg + 1e-9 for each in found)
            assert reaches.lightest.mass_kg <= reaches.barest.mass_kg + 1e-9


def test_jobs_that_open_nothing_are_not_promised(demo):
    """A class with no way in: no build of the car file is eligible in it either, done jobs kept."""
    editions, _, choices = demo
    shut = [choice for choice in choices if choice.reaches.eligible is None]
    assert len(shut) > 3
    rows = check(parse_car(DEMO), editions, on=DAY, build=["now", "planned", "winter"]).rows
    verdicts = {(row.book, row.class_id): set() for row in rows}
    for row in rows:
        verdicts[row.book, row.class_id].add(row.verdict)
    assert all("eligible" not in verdicts[choice.key] for choice in shut)


def test_what_facts_are_worth_in_the_demonstration(demo):
    _, setting, _ = demo
    choices = choose(setting)
    worth = {each.name: each for each in find_worth(setting, choices, ORDER)}
    assert worth.keys() == {
        "noise",
        "tyre_list",
        "body.door.beam",
        "build_cost",
        "tyre_treadwear",
        "alloy-rims.years",  # with it, less might have to be undone in one class
    }
    assert worth["noise"].classes == (("saltmarsh", "open-bench"),)
    quiet, loud = worth["noise"].values
    assert (quiet.stretch.low, quiet.stretch.high, loud.stretch.low, loud.stretch.high) == (
        None,
        (98, False),
        (98, True),
        None,
    )
    assert quiet.classes[0].choice.cost == 1528.0 and loud.classes[0].choice.cost is None
    # The newcomers' class wants the belts and seats back, and a tyre of grade 180: neither opens it alone.
    soft, hard = worth["tyre_treadwear"].values
    assert (soft.stretch.high, hard.stretch.low) == ((179, False), (180, False))
    assert [value.classes[0].choice.prepared.id for value in (soft, hard)] == ["newcomers"] * 2
    assert [standing(value.classes[0].choice) for value in (soft, hard)] == ["shut", "by-undoing"]
    ranks = [choice.key for choice in ranked(choices)]
    assert (
        ranks.index(("saltmarsh", "open-bench")) == 11
    )  # before all that only undoing opens, with the other two that a fact may open
