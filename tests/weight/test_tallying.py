"""What came off and went on, row by row: exact sums that add up to what the builds differ by. Every car is invented."""

import random
from fractions import Fraction
from pathlib import Path

import pytest

import tarebook
from support import car, decimal
from tarebook.api import load_car
from tarebook.car.reading import Car, parse_car
from tarebook.show.tally import fixed
from tarebook.weight.ledger import Ledger, Weighed
from tarebook.weight.tallying import Progress, Tally, progress_of, tally

DEMO = Path(tarebook.__file__).parent / "demo" / "car.toml"


def tallied(made: Car, by="zone", build="now", depth=1) -> Tally:
    return tally(Ledger(made.inventory), made.inventory.build(build), by, depth=depth)


def figures(made: Car, by="zone", build="now", depth=1) -> dict[str, tuple[Fraction, Fraction, Fraction, Fraction]]:
    """Off, on, cost and hours of each row."""
    return {row.id: (row.off.value, row.on.value, row.cost, row.hours) for row in tallied(made, by, build, depth).rows}


ZONES = """
[[zone]]
id = "nose"
from = "-800 mm"
to = "500 mm"
[[zone]]
id = "cabin"
title = "Cabin"
from = "500 mm"
to = "2000 mm"
"""
PARTS = """
[[part]]
id = "battery"
kind = "electrical.battery"
mass = "14 kg"
at = "-300 mm"
[[part]]
id = "small-battery"
kind = "electrical.battery"
mass = "6 kg"
at = "600 mm"
origin = "aftermarket"
replaces = "battery"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "5 kg"
at = "500 mm"
[[part]]
id = "spare"
kind = "stowage.spare-wheel"
mass = "12 kg"
at = "2000 mm"
[[part]]
id = "mats"
kind = "stowage.loose"
mass = "2 kg"
[[part]]
id = "hatch"
kind = "body.boot-lid"
mass = "15 kg"
at = "1900 mm"
"""
JOBS = """
[[job]]
id = "battery"
state = "done"
date = 2027-01-20
fit = ["small-battery"]
cost = "90 EUR"
returns = "20 EUR"
hours = 1
[[job]]
id = "strip"
state = "done"
date = 2027-02-03
off = ["carpet", "spare", "mats"]
hours = 2.5
[[job]]
id = "drill"
state = "done"
date = 2027-02-24
lightens = { hatch = "11.5 kg" }
cost = "5 EUR"
hours = 4
[[job]]
id = "paint"
state = "done"
cost = "30 EUR"
hours = 3
"""
WORKED = car(ZONES + PARTS + JOBS)


def test_by_zone():
    # A swap's old part counts off where it sat, the new one on where it sits; a zone ends before its `to`.
    assert figures(WORKED) == {
        "nose": (14, 0, 0, 0),
        "cabin": (5 + Fraction("3.5"), 6, 5, 4),
        "no zone": (12, 0, 0, 0),
        "no place": (2, 0, 0, 0),
        "several rows": (0, 0, 70, Fraction("3.5")),
        "no part": (0, 0, 30, 3),
    }


def test_by_job():
    assert figures(WORKED, "job") == {
        "battery": (14, 6, 70, 1),
        "strip": (19, 0, 0, Fraction("2.5")),
        "drill": (Fraction("3.5"), 0, 5, 4),
        "paint": (0, 0, 30, 3),
    }


def test_by_month_undated_jobs_last():
    rows = figures(WORKED, "month")
    assert rows == {
        "2027-01": (14, 6, 70, 1),
        "2027-02": (Fraction("22.5"), 0, 5, Fraction("6.5")),
        "no date": (0, 0, 30, 3),
    }
    assert list(rows) == ["2027-01", "2027-02", "no date"]


def test_by_kind_to_any_depth():
    assert figures(WORKED, "kind") == {
        "body": (Fraction("3.5"), 0, 5, 4),
        "electrical": (14, 6, 70, 1),
        "interior": (5, 0, 0, 0),
        "stowage": (14, 0, 0, 0),
        "several rows": (0, 0, 0, Fraction("2.5")),
        "no part": (0, 0, 30, 3),
    }
    assert list(figures(WORKED, "kind", depth=2)) == [
        "body.boot-lid",
        "electrical.battery",
        "interior.floor",
        "stowage.loose",
        "stowage.spare-wheel",
        "several rows",
        "no part",
    ]


def test_the_total():
    whole = tallied(WORKED).total
    assert (whole.off.value, whole.on.value, whole.net.value) == (Fraction("36.5"), 6, Fraction("-30.5"))
    assert (whole.cost, whole.hours) == (105, Fraction("10.5"))
    assert (whole.cost_per_kg, whole.hours_per_kg) == (105 / Fraction("30.5"), Fraction("10.5") / Fraction("30.5"))
    assert whole.uncosted == ["strip"]
    assert tallied(WORKED).currency == "EUR"


def test_nothing_per_mass_where_the_car_did_not_get_lighter():
    fitted = car(
        '[[part]]\nid = "cage"\nkind = "safety.cage"\nmass = "30 kg"\norigin = "aftermarket"\n'
        '[[job]]\nid = "cage"\nstate = "done"\nfit = ["cage"]\ncost = "900 EUR"\nhours = 20\n'
    )
    (row,) = tallied(fitted, "job").rows
    assert (row.net.value, row.cost_per_kg, row.hours_per_kg) == (30, None, None)


def test_totals_are_sums_of_exact_figures_rounded_once():
    # Each of the three rounds to 0.01 kg; their sum, 0.0429 kg, to 0.04 and not to 0.03.
    parts = "".join(
        f'[[part]]\nid = "p{n}"\nkind = "stowage.loose"\nmass = "0.0143 kg"\nat = "{1000 * n} mm"\n' for n in range(3)
    )
    zones = "".join(f'[[zone]]\nid = "z{n}"\nfrom = "{1000 * n} mm"\nto = "{1000 * n + 500} mm"\n' for n in range(3))
    made = tallied(car(zones + parts + '[[job]]\nid = "j"\nstate = "done"\noff = ["p0", "p1", "p2"]\n'))
    rows = [fixed(row.off.value, 2) for row in made.rows if row.came_off]
    assert rows == ["0.01", "0.01", "0.01"]
    assert made.total.off.value == Fraction("0.0429")
    assert fixed(made.total.off.value, 2) == "0.04"


def test_thirds_stay_exact():
    three = '[[part]]\nid = "p"\nkind = "stowage.loose"\nmass = ["1.0 kg", "1.0 kg", "1.1 kg"]\n'
    made = tallied(car(three + '[[job]]\nid = "j"\nstate = "done"\noff = ["p"]\n'))
    assert made.total.off.value == Fraction(31, 30)


@pytest.mark.parametrize(
    ("figure", "places", "text"),
    [
        (Fraction(1, 3), 2, "0.33"),
        (Fraction(-1, 1000), 2, "0.00"),
        (Fraction("0.125"), 2, "0.12"),
        (Fraction(-5, 2), 1, "-2.5"),
    ],
)
def test_a_figure_is_rounded_once_half_to_even(figure, places, text):
    assert fixed(figure, places) == text


def test_what_was_never_weighed_is_named_and_not_guessed():
    parts = PARTS.replace(
        'id = "spare"\nkind = "stowage.spare-wheel"\nmass = "12 kg"', 'id = "spare"\nkind = "stowage.spare-wheel"'
    )
    made = tallied(car(ZONES + parts + JOBS))
    (beside,) = [row for row in made.rows if row.id == "no zone"]
    assert (beside.off.value, beside.unweighed) == (0, ["spare"])
    assert made.total.unweighed == ["spare"]
    assert made.total.off.value == Fraction("24.5")


def test_a_replaced_kind_without_a_part_is_named():
    made = car(
        '[[part]]\nid = "shell"\nkind = "interior.seat.front.driver"\nmass = "6 kg"\norigin = "aftermarket"\n'
        'replaces = "interior.seat.front.driver"\n'
        '[[job]]\nid = "seat"\nstate = "done"\ndate = 2027-01-01\nfit = ["shell"]\n'
    )
    for by, row_id in (("job", "seat"), ("kind", "interior"), ("month", "2027-01"), ("zone", "no place")):
        (row,) = [row for row in tallied(made, by).rows if row.unweighed]
        assert (row.id, row.on.value, row.unweighed) == (row_id, 6, ["interior.seat.front.driver"])


CHAIN = """
[[part]]
id = "seat-3"
kind = "interior.seat.front.driver"
mass = "5 kg"
origin = "aftermarket"
replaces = "seat-2"
[[part]]
id = "seat-2"
kind = "interior.seat.front.driver"
mass = "7 kg"
origin = "aftermarket"
replaces = "interior.seat.front.driver"
[[job]]
id = "second"
state = "maybe"
fit = ["seat-2"]
[[job]]
id = "third"
state = "planned"
fit = ["seat-3"]
"""


def test_a_kind_replaced_at_the_end_of_a_chain_is_counted_with_the_job_that_did_it():
    (row,) = tallied(car(CHAIN), "job", "planned").rows
    assert (row.id, row.on.value, row.unweighed) == ("third", 5, ["interior.seat.front.driver"])


def test_off_and_on_again_is_no_change_but_its_work_counts():
    back = (
        JOBS
        + '[[job]]\nid = "back"\nstate = "done"\ndate = 2027-03-01\nfit = ["carpet"]\nhours = 1.5\ncost = "1 EUR"\n'
    )
    made = car(ZONES + PARTS + back)
    assert figures(made, "job")["strip"] == (14, 0, 0, Fraction("2.5"))
    assert figures(made, "job")["back"] == (0, 0, 1, Fraction("1.5"))
    assert tallied(made).total.off.value == Fraction("31.5")
    assert tallied(made).total.hours == 12


def test_a_part_taken_off_twice_counts_with_the_last_job():
    again = (
        JOBS
        + '[[job]]\nid = "back"\nstate = "done"\ndate = 2027-03-01\nfit = ["carpet"]\n'
        + '[[job]]\nid = "out"\nstate = "done"\ndate = 2027-03-08\noff = ["carpet"]\n'
    )
    rows = figures(car(ZONES + PARTS + again), "job")
    assert (rows["strip"][0], rows["back"][0], rows["out"][0]) == (14, 0, 5)


def test_a_part_that_was_made_heavier_counts_on():
    made = car(PARTS + JOBS.replace('"11.5 kg"', '"16 kg"'))
    assert figures(made, "job")["drill"][:2] == (0, 1)


def test_a_moved_part_is_no_mass():
    moved = '[[job]]\nid = "aft"\nstate = "done"\nmoves = { battery = { at = "2500 mm" } }\nhours = 2\n'
    assert figures(car(ZONES + PARTS + moved)) == {
        "nose": (0, 0, 0, 0),
        "cabin": (0, 0, 0, 0),
        "no part": (0, 0, 0, 2),
    }


def test_a_car_without_jobs():
    made = tallied(car(), "kind")
    assert (made.rows, made.currency, made.total.net.value, made.total.net.u) == ((), None, 0, 0.0)


@pytest.mark.parametrize("by", ["zone", "job", "kind", "month"])
@pytest.mark.parametrize("build", ["now", "planned", "winter", "club-day"])
def test_rows_add_up_to_what_the_builds_differ_by(by, build):
    made = load_car(DEMO)
    ledger = Ledger(made.inventory)
    found = tally(ledger, made.inventory.build(build), by, depth=3)
    there = ledger.mass(made.inventory.build(build), Weighed()).mass
    outset = ledger.mass(made.inventory.configuration(()), Weighed()).mass
    assert there is not None and outset is not None
    assert sum(row.net.value for row in found.rows) == found.total.net.value == there.value - outset.value
    for name in ("cost", "hours"):
        jobs = [made.inventory.jobs[job] for job in made.inventory.build(build).jobs]
        stated = [
            (job.cost.value - (job.returns.value if job.returns else 0)) if name == "cost" else job.hours
            for job in jobs
        ]
        assert sum(getattr(row, name) for row in found.rows) == getattr(found.total, name) == sum(stated)


@pytest.mark.parametrize("seed", range(30))
def test_rows_add_up_on_random_cars(seed):
    pick = random.Random(seed)
    parts, jobs = [], []
    on = [f"p{n}" for n in range(12)]
    for name in on:
        readings = ", ".join(f'"{decimal(Fraction(pick.randint(100, 9999), 1000))} kg"' for _ in range(3))
        place = f'at = "{pick.randint(-500, 3000)} mm"\n' if pick.random() < 0.8 else ""
        parts.append(f'[[part]]\nid = "{name}"\nkind = "stowage.loose"\nmass = [{readings}]\n{place}')
    there, gone = list(on), []
    for number in range(10):
        off = pick.sample(there, min(len(there), pick.randint(0, 3)))
        fit = pick.sample(gone, min(len(gone), pick.randint(0, 1)))
        there = [name for name in there if name not in off] + fit
        gone = [name for name in gone if name not in fit] + off
        lightened = pick.choice(there) if there else None
        light = f'lightens = {{ {lightened} = "{pick.randint(10, 90)} g" }}\n' if lightened else ""
        date = f"date = 2027-{number + 1:02}-05\n"
        jobs.append(
            f'[[job]]\nid = "j{number}"\nstate = "done"\n{date}off = {off}\nfit = {fit}\n{light}'.replace("'", '"')
        )
    weighed = (
        '[[weighing]]\nid = "w"\ndate = 2028-01-01\ntotal = "900 kg"\nfuel = "empty"\n[at_inspection]\nfuel = "empty"\n'
    )
    made = car(ZONES + "".join(parts) + "".join(jobs) + weighed)
    ledger = Ledger(made.inventory)
    now, outset = (
        ledger.mass(state, Weighed()).mass for state in (made.inventory.build("now"), made.inventory.configuration(()))
    )
    assert now is not None and outset is not None
    for by in ("zone", "job", "kind", "month"):
        found = tally(ledger, made.inventory.build("now"), by)
        assert sum(row.net.value for row in found.rows) == now.value - outset.value
        assert found.total.net.value == now.value - outset.value


def progress(body: str, **facts: object) -> Progress:
    made = car(body, **facts)
    return progress_of(Ledger(made.inventory), made.inventory.build("now"))


WEIGHED = """
[[weighing]]
id = "w"
date = 2028-01-01
total = "900.0 kg"
fuel = "5 L"
includes = ["battery", "strip", "drill", "paint"]
[at_inspection]
fuel = "5 L"
"""


def test_progress_to_the_goal():
    goal = load_car_with_goal("885 kg")
    found = progress_of(Ledger(goal.inventory), goal.inventory.build("now"))
    assert found.outset.mass is not None and found.here.mass is not None and found.to_go is not None
    assert (found.here.mass.value, found.outset.mass.value) == (900, Fraction("930.5"))
    assert found.to_go.value == 15
    assert found.share_done == pytest.approx(30.5 / 45.5)
    above = load_car_with_goal("950 kg")
    found = progress_of(Ledger(above.inventory), above.inventory.build("now"))
    assert found.to_go is not None and found.to_go.value == -50
    assert found.share_done is None


def load_car_with_goal(mass: str) -> Car:
    return parse_car(
        f'format = "tarebook-car/1"\n[car]\nname = "Wren"\ngoal = {{ mass = "{mass}" }}\n'
        + ZONES
        + PARTS
        + JOBS
        + WEIGHED
    )


def test_beside_the_listed_kerb_mass():
    found = progress(ZONES + PARTS + JOBS + WEIGHED, kerb_mass="950 kg")
    assert found.over_listed is not None and found.over_listed.value == -50
    assert found.to_go is None and found.share_done is None
    assert progress(ZONES + PARTS + JOBS + WEIGHED).over_listed is None


def test_an_outset_that_cannot_be_known_leaves_what_is_to_go():
    text = PARTS.replace('kind = "stowage.spare-wheel"\nmass = "12 kg"', 'kind = "stowage.spare-wheel"')
    found = progress(text + JOBS + WEIGHED, kerb_mass="950 kg")
    assert found.outset.mass is None
    assert found.here.mass is not None and found.here.mass.value == 900
