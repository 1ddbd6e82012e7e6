"""What to weigh again: what is tried, what settles a limit, and that doing so does settle it."""

import datetime
import math
from fractions import Fraction
from pathlib import Path

import pytest

from support import DAY, car, decimal, rules
from tarebook.api import check, facing, load_rules
from tarebook.car.reading import parse_car
from tarebook.judge.settling import close_limits
from tarebook.weight.advice import Reweighing, Reweighings, spread_by_scale
from tarebook.weight.ledger import Ledger, Weighed

ROOT = Path(__file__).parents[2]
DEMO = (ROOT / "src" / "tarebook" / "demo" / "car.toml").read_text(encoding="utf-8")
RULES = load_rules(ROOT / "rulesets")
TODAY = datetime.date(2026, 11, 25)


def close(judged_car, editions, class_id, build="now", on=TODAY, confidence=0.975):
    prepared, _, situation = facing(judged_car, editions, class_id, on=on, build=build)
    return close_limits(prepared, situation, confidence)


def verdict(text, class_id, build="now"):
    (row,) = check(parse_car(text), RULES, on=TODAY, build=build, classes=[class_id]).rows
    return row.verdict, [limit.verdict for limit in row.limits if limit.which == "minimum"]


# ---- The demonstration car ---------------------------------------------------------------------------------


def test_demo_names_what_decides_and_what_would_settle_it():
    (limit,) = close(parse_car(DEMO), RULES, "open-cabin")
    (largest, share), *_ = limit.contributors
    assert (largest, round(share, 1)) == ("weighing autumn", 0.8)
    assert limit.advice is not None
    assert limit.advice.reweighing == Reweighing("car", "car", "pads", 10, form="corners")
    assert (limit.limit.verdict, limit.advice.limit.verdict) == ("too-close", "eligible")
    assert limit.advice.limit.margin_kg == limit.limit.margin_kg
    assert limit.weighed == Weighed(driver="aboard", fuel="as-raced")


def corner_weighing(readings: int) -> str:
    """The demo car on its pads again: driver in, 5 L, about what the ledger expects, spread as it was before."""
    ledger = Ledger(parse_car(DEMO).inventory)
    asked = Weighed(driver="aboard")
    mass = ledger.mass(ledger.inventory.build("now"), asked).mass
    autumn = ledger.weighed_groups(ledger.newest)
    assert mass is not None
    spread = Fraction(spread_by_scale(ledger)["pads"]).limit_denominator(10**6)
    lines = []
    for group in autumn:
        load = mass.value * group.mass.value / sum(each.mass.value for each in autumn)
        apart = [Fraction((-1) ** index) for index in range(readings)]
        factor = math.sqrt((readings - 1) / sum((each - sum(apart) / readings) ** 2 for each in apart))
        each = [load + (one - sum(apart) / readings) * spread * Fraction(factor) for one in apart]
        shown = ", ".join(f'"{decimal(Fraction(round(reading * 10**6), 10**6))} kg"' for reading in each)
        lines.append(f"{group.name} = [{shown}]")
    return (
        '[[weighing]]\nid = "again"\ndate = 2026-11-20\nscale = "pads"\nfuel = "5 L"\ndriver_aboard = true\n'
        "[weighing.corners]\n" + "\n".join(lines) + "\n"
    )


def test_demo_settles_once_the_advised_readings_are_in_the_file():
    assert verdict(DEMO, "open-cabin") == ("too-close", ["too-close"])
    assert verdict(DEMO + corner_weighing(10), "open-cabin") == ("eligible", ["eligible"])


def test_demo_does_not_settle_with_fewer_readings():
    assert verdict(DEMO + corner_weighing(5), "open-cabin") == ("too-close", ["too-close"])


def test_demo_a_guessed_part_is_better_weighed_than_the_car():
    (limit,) = close(parse_car(DEMO), RULES, "improved", "planned")
    assert limit.contributors[0][0] == "deadening"
    assert limit.advice is not None and limit.advice.settles
    assert limit.advice.reweighing == Reweighing("part", "deadening", "kitchen", 3)
    weighed = DEMO.replace(
        'estimate = { mass = "7.5 kg", within = "1.5 kg" }',
        'mass = ["7.498 kg", "7.500 kg", "7.502 kg"]\nscale = "kitchen"',
    )
    assert [verdict(text, "improved", "planned")[1][-1:] for text in (DEMO, weighed)] == [
        ["too-close"],
        ["not-eligible"],
    ]


def test_demo_where_nothing_alone_settles_it_the_best_is_named():
    (limit,) = close(parse_car(DEMO), RULES, "crew-of-two", "planned")
    assert limit.advice is not None and not limit.advice.settles
    assert limit.advice.reweighing == Reweighing("car", "car", "pads", 10, form="corners")
    assert limit.advice.reach_kg < limit.limit.margin_high_kg - limit.limit.margin_kg


# ---- Small cars --------------------------------------------------------------------------------------------

MINIMUM = rules('weight = { clause = "2", driver = "out", minimum = "890 kg" }', silence="permits")
SCALES = """
[[scale]]
id = "kitchen"
resolution = "1 g"
capacity = "10 kg"
[[scale]]
id = "weighbridge"
resolution = "0.1 kg"
capacity = "3000 kg"
"""


def small(scales=SCALES, weighing='total = "900 kg"', seat='estimate = { mass = "9 kg", within = "2 kg" }'):
    return car(
        f"""{scales}
        [[weighing]]
        id = "w"
        date = 2027-01-01
        fuel = "empty"
        {weighing}
        [at_inspection]
        fuel = "empty"
        [[part]]
        id = "seat"
        kind = "interior.seat.front.passenger"
        {seat}
        [[job]]
        id = "out"
        state = "done"
        date = 2027-02-01
        off = ["seat"]
        """
    )


def advice(judged_car, by=MINIMUM, **more):
    (limit,) = close(judged_car, by, "club", on=DAY, **more)
    return limit.advice


def test_a_part_comes_before_the_car_where_both_settle_it():
    found = advice(small())
    assert found is not None and found.settles
    assert found.reweighing == Reweighing("part", "seat", "kitchen", 3)


def test_a_part_too_heavy_for_the_fine_scale_goes_on_the_other():
    found = advice(
        small(seat='estimate = { mass = "11 kg", within = "3 kg" }'),
        rules('weight = { clause = "2", driver = "out", minimum = "888 kg" }', silence="permits"),
    )
    assert found is not None
    assert found.reweighing == Reweighing("part", "seat", "weighbridge", 3)


def test_the_car_goes_whole_on_a_scale_that_can_hold_it():
    found = advice(small(seat='mass = "9.5 kg"'))
    assert found is not None and found.settles
    assert found.reweighing == Reweighing("car", "car", "weighbridge", 3, form="total")


def test_a_scale_of_unknown_capacity_weighs_the_car_only_as_it_did_before():
    unknown = '[[scale]]\nid = "pads"\nresolution = "0.1 kg"\n'
    coarse = 'corners = { front_left = "225 kg", front_right = "225 kg", rear_left = "225 kg", rear_right = "225 kg" }'
    tight = rules('weight = { clause = "2", driver = "out", minimum = "890.4 kg" }', silence="permits")
    assert advice(small(unknown, coarse, 'mass = "9.0 kg"'), tight) is None
    older = (
        f'{coarse}\n[[weighing]]\nid = "v"\ndate = 2026-01-01\nfuel = "empty"\nscale = "pads"\nincludes = []\n{coarse}'
    )
    found = advice(small(unknown, older, 'mass = "9.0 kg"'), tight)
    assert found is not None
    assert found.reweighing == Reweighing("car", "car", "pads", 3, form="corners")


def test_the_car_is_weighed_again_with_what_the_limit_counts_but_for_a_driver_of_a_fixed_mass():
    made = small(seat='mass = "9.0 kg"')
    ledger = Ledger(made.inventory)
    now = ledger.inventory.build("now")
    fixed = Weighed("aboard", Fraction(75), fuel="empty", without=frozenset({"seat"}))
    mass = ledger.mass(now, fixed).mass
    assert mass is not None and mass.value == 966
    trials = [trial for reweighing, trial in Reweighings(ledger, mass, now, fixed).of(3) if reweighing.what == "car"]
    assert len(trials) == 1
    weighing = trials[0].newest
    assert weighing is not None and weighing.total is not None
    assert (weighing.id, weighing.scale, weighing.driver_aboard, weighing.fuel) == (
        "again",
        "weighbridge",
        False,
        "empty",
    )
    assert (weighing.includes, {reading.value for reading in weighing.total}) == (["out"], {Fraction(891)})
    again = trials[0].mass(now, fixed).mass
    assert again is not None and again.value == 966
    assert again.u < mass.u


def test_without_a_scale_there_is_nothing_to_advise():
    assert advice(small(scales="")) is None


def test_a_limit_that_is_sure_is_not_spoken_of():
    assert close(small(), rules('weight = { clause = "2", driver = "out", minimum = "880 kg" }'), "club", on=DAY) == []


def test_parts_alone_are_weighed_for_a_limit_on_what_came_off():
    taken_off = rules(
        'weight = { driver = "out" }\n[[class.limit]]\nclause = "3"\ntaken_off = ["interior"]\nmaximum = "9.5 kg"\n',
        silence="permits",
    )
    (limit,) = close(small(), taken_off, "club", on=DAY)
    assert limit.weighed is None
    assert limit.contributors == [("seat", pytest.approx(1))]
    assert limit.advice is not None and limit.advice.reweighing == Reweighing("part", "seat", "kitchen", 3)


def test_readings_tried_have_the_mean_and_the_spread_that_they_stand_for():
    body = small(
        SCALES.replace(
            'capacity = "10 kg"', 'capacity = "10 kg"\ncheck = { known = "5 kg", read = "5.1 kg", u = "1 g" }'
        ),
        seat='scale = "kitchen"\nmass = ["9.10 kg", "9.14 kg", "9.12 kg"]',
    )
    ledger = Ledger(body.inventory)
    before = ledger.part_mass("seat")
    now = ledger.inventory.build("now")
    mass = ledger.mass(now, Weighed()).mass
    assert before is not None and mass is not None and before.value == Fraction("9.02")
    assert spread_by_scale(ledger)["kitchen"] == pytest.approx(0.02)
    for count in (3, 5, 10):
        tried = {
            reweighing.scale: trial.part_mass("seat")
            for reweighing, trial in Reweighings(ledger, mass, now, Weighed()).of(count)
            if reweighing.what == "part"
        }
        after = tried["kitchen"]
        assert after.value == before.value
        assert after.shares["readings of seat"].u == pytest.approx(0.02 / math.sqrt(count))
        assert after.shares["readings of seat"].degrees == count - 1
        assert "readings of seat" not in tried["weighbridge"].shares  # nothing says how its readings spread


def test_the_spread_of_a_scale_is_pooled_over_all_that_it_weighed():
    readings = [["9.10 kg", "9.14 kg", "9.12 kg"], ["2.00 kg", "2.06 kg"], ["3.00 kg"]]
    parts = "".join(
        f'[[part]]\nid = "p{index}"\nkind = "stowage.loose"\nscale = "s"\nmass = {each}\n'
        for index, each in enumerate(readings)
    ).replace("'", '"')
    made = car(f'[[scale]]\nid = "s"\nresolution = "1 g"\n[[scale]]\nid = "t"\nresolution = "1 g"\n{parts}')
    ledger = Ledger(made.inventory)
    # (0.02^2 x 2 + 0.03^2 x 2) over 2 + 1 degrees of freedom.
    assert spread_by_scale(ledger) == {"s": pytest.approx(math.sqrt((0.0008 + 0.0018) / 3))}
