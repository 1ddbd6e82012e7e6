"""Conditions that hang on many jobs: events have columns, so that few clauses say all there is to say."""

import random

import pytest

import support
from tarebook import api

KINDS = ("interior.trim", "interior.console", "interior.audio", "stowage.loose", "body.bumper.front", "glass.rear")
RULES = """
[class.weight]
clause = "7"
driver = "out"
minimum = "%s kg"
adjust = [
  { add = "-9 kg", if = { removed = "interior" } },
  { add = "4 kg", if = { swapped = "body" } },
]
ballast = { allowed = true, most = "20 kg", clause = "7.5" }
[[class.allow]]
clause = "8"
kinds = ["everything"]
does = "anything"
if = { removed = "interior" }
[[class.allow]]
clause = "8.1"
kinds = ["interior"]
does = "anything"
if = { not = { swapped = "glass" } }
[[class.need]]
clause = "8.2"
kinds = ["interior.console", "interior.audio", "body.bumper.front"]
at_least = 2
[[class.finish]]
clause = "8.3"
id = "tidy"
area = "interior"
by = ["painted", "covered"]
if = { removed = "interior.trim" }
"""


def many(count: int) -> api.Car:
    """A car with many jobs: most take off a part, some swap one, a few finish what is left."""
    rng = random.Random(count)
    text = [
        '[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\ntotal = ["950.1 kg", "950.4 kg"]\n'
        '[at_inspection]\nfuel = "empty"\n'
    ]
    for index in range(count):
        mass, kind = rng.uniform(0.5, 9.0), rng.choice(KINDS)
        text.append(f'[[part]]\nid = "p{index}"\nkind = "{kind}"\nmass = "{mass:.2f} kg"\n')
        does = f'off = ["p{index}"]'
        if rng.random() < 0.3:
            text.append(
                f'[[part]]\nid = "q{index}"\nkind = "{kind}"\norigin = "aftermarket"\nreplaces = "p{index}"\n'
                f'mass = "{mass / 2:.2f} kg"\n'
            )
            does = f'fit = ["q{index}"]'
        done = 'finishes = [{ area = "interior", by = "covered" }]\n' if index % 12 == 5 else ""
        text.append(
            f'[[job]]\nid = "j{index}"\nstate = "maybe"\n{does}\ncost = "{rng.randrange(200)} EUR"\nhours = 1\n{done}'
        )
    return support.car("".join(text))


@pytest.mark.parametrize("count", [24, 60])
def test_few_solves_for_conditions_on_many_jobs(count: int) -> None:
    found = api.route(many(count), support.rules(RULES % (950 - count)), "club", on=support.DAY)
    assert found.outcome == "proven" and found.route is not None and found.route.plan.reached
    assert found.search.solves <= 40
    events = [name for name in found.search.program.column_of if " " in name]
    assert "removed interior" in events


@pytest.mark.parametrize("fitted", [3, 14])
def test_a_part_that_many_jobs_replace(fitted: int) -> None:
    seats = "".join(
        f'[[part]]\nid = "seat{index}"\nkind = "interior.seat.front.driver"\norigin = "aftermarket"\n'
        f'replaces = "stock"\nmass = "{12 - index / 2:.1f} kg"\n'
        f'[[job]]\nid = "seat{index}"\nstate = "maybe"\nfit = ["seat{index}"]\ncost = "{40 + 30 * index} EUR"\n'
        f"not_with = {support.toml([f'seat{other}' for other in range(index)])}\n"
        for index in range(fitted)
    )
    car = support.car(
        '[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\ntotal = "950.0 kg"\n'
        '[at_inspection]\nfuel = "empty"\n[[part]]\nid = "stock"\nkind = "interior.seat.front.driver"\n'
        f'mass = "20.0 kg"\n{seats}'
    )
    rules = support.rules(
        'silence = "permits"\nweight = { clause = "7", driver = "out", minimum = "941.2 kg", '
        'ballast = { allowed = true, clause = "7.5" } }\n'
        '[[class.need]]\nclause = "8"\nkinds = ["interior.seat.front.driver"]\n'
    )
    found = api.route(car, rules, "club", on=support.DAY)
    assert found.route is not None and found.outcome == "proven"
    assert found.route.plan.chosen == ("seat2",)
    assert (found.route.plan.mass, found.route.plan.cost) == (941, 100)
