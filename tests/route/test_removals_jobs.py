"""What taking a part off costs, and what it does to the axles: by hand, on small cars."""

import pytest

from support import DAY, car, rules
from tarebook.api import removals

FREE = 'allow = [{ clause = "5.1", kinds = ["interior", "stowage", "electrical"], does = ["remove", "fit", "swap"] }]'
MAT = '{ id = "mat", kind = "interior.floor.boot-carpet", mass = "2 kg", at = "3000 mm" }'
FELT = '{ id = "felt", kind = "interior.floor.underlay", mass = "6 kg", at = "1200 mm" }'
JACK = '{ id = "jack", kind = "stowage.jack" }'
BATTERY = '{ id = "battery", kind = "electrical.battery", mass = "14 kg" }'
SMALL = '{ id = "small", kind = "electrical.battery", mass = "6 kg", origin = "aftermarket", replaces = "battery" }'


def rows(*parts, jobs="", by=None, **facts):
    builder = car(f"part = [{', '.join(parts)}]\njob = [{jobs}]", **facts)
    return {row.part: row for row in removals(builder, by or rules(FREE), "club", on=DAY)}


def job(name, state="maybe", **lists):
    listed = "".join(f", {key} = {value}" for key, value in lists.items())
    return f'{{ id = "{name}", state = "{state}"{listed} }}'


def test_no_job_takes_it_off():
    row = rows(MAT)["mat"]
    assert (row.jobs, row.cost, row.hours, row.cost_per_kg) == ((), None, None, None)


def test_cost_is_less_what_it_returns():
    row = rows(MAT, jobs=job("strip", off='["mat"]', cost='"30 EUR"', returns='"6 EUR"', hours=2.5))["mat"]
    assert (row.cost, row.hours, row.cost_per_kg) == (24.0, 2.5, 12.0)
    assert (row.jobs[0].first, row.jobs[0].others, row.jobs[0].unpriced) == ((), (), ())


def test_a_job_counts_with_what_it_still_needs():
    needs = ", ".join(
        [
            job("lift", off='["felt"]', cost='"10 EUR"', hours=1),
            job("brush", cost='"3 EUR"', hours=0.5, needs='["lift"]'),
            job("strip", off='["mat"]', cost='"5 EUR"', hours=2, needs='["brush"]'),
        ]
    )
    row = rows(MAT, FELT, jobs=needs)["mat"]
    # 18 EUR take off the mat of 2 kg and the felt of 6 kg.
    assert (row.cost, row.hours, row.cost_per_kg) == (18.0, 3.5, 2.25)
    assert (row.jobs[0].id, row.jobs[0].first, row.jobs[0].others) == ("strip", ("lift", "brush"), ("felt",))


def test_what_is_done_already_costs_nothing_more():
    jobs = ", ".join(
        [job("paint", "done", cost='"50 EUR"'), job("strip", off='["mat"]', cost='"5 EUR"', needs='["paint"]')]
    )
    row = rows(MAT, jobs=jobs)["mat"]
    assert (row.cost, row.jobs[0].first) == (5.0, ())


def test_the_cheapest_of_several_jobs_comes_first():
    jobs = ", ".join([job("shop", off='["mat"]', cost='"40 EUR"'), job("home", off='["mat"]', cost='"0 EUR"', hours=3)])
    row = rows(MAT, jobs=jobs)["mat"]
    assert [each.id for each in row.jobs] == ["home", "shop"]
    assert (row.cost, row.hours) == (0.0, 3.0)


def test_a_job_without_a_price_counts_nothing_and_is_named():
    row = rows(MAT, jobs=job("strip", off='["mat"]'))["mat"]
    assert (row.cost, row.jobs[0].unpriced) == (0.0, ("strip",))


def test_cost_per_mass_is_unknown_where_a_mass_is():
    row = rows(JACK, jobs=job("strip", off='["jack"]', cost='"4 EUR"'))["jack"]
    assert (row.cost, row.cost_per_kg, row.jobs[0].off_kg) == (4.0, None, None)


def test_a_swap_takes_nothing_out():
    row = rows(BATTERY, SMALL, jobs=job("swap", fit='["small"]', cost='"90 EUR"'))["battery"]
    assert row.jobs == ()
    row = rows(BATTERY, SMALL, jobs=job("swap", off='["battery"]', fit='["small"]', cost='"90 EUR"'))["battery"]
    assert row.jobs == ()


def test_what_a_job_fits_counts_against_what_it_takes_off():
    jobs = job("all", off='["mat"]', fit='["small"]', cost='"90 EUR"')
    row = rows(MAT, BATTERY, SMALL, jobs=jobs)["mat"]
    # Mat 2 kg and battery 14 kg off, battery 6 kg on: 10 kg for 90 EUR.
    assert (row.jobs[0].off_kg, row.cost_per_kg, row.jobs[0].others) == (10.0, 9.0, ("battery",))


def test_a_job_that_cannot_be_done_from_this_build_is_left_out():
    jobs = ", ".join([job("paint", "done"), job("strip", off='["mat"]', not_with='["paint"]')])
    assert rows(MAT, jobs=jobs)["mat"].jobs == ()


def test_a_part_off_names_the_job_that_took_it_off():
    by = rules('ban = [{ clause = "5.2", kinds = ["interior"], does = ["remove"] }]', silence="permits")
    jobs = ", ".join(
        [
            job("strip", "done", off='["mat", "felt"]', cost='"12 EUR"', hours=2),
            job("back", fit='["mat"]', cost='"1 EUR"', needs='["strip"]'),
        ]
    )
    row = rows(MAT, FELT, jobs=jobs, by=by, wheelbase="2400 mm")["mat"]
    assert (row.group, row.put_back_by) == ("put-back", ("back",))
    assert [(each.id, each.state, each.cost, each.hours, each.others) for each in row.jobs] == [
        ("strip", "done", 12.0, 2.0, ("felt",))
    ]
    # Put back on, 2 kg at 3000 mm load the rear axle with 2 * 3000 / 2400.
    assert (row.front_kg, row.rear_kg) == (-0.5, 2.5)


@pytest.mark.parametrize(("part", "front", "rear"), [("mat", 0.5, -2.5), ("felt", -3.0, -3.0)])
def test_what_it_does_to_the_axles(part, front, rear):
    """A part behind the rear axle comes off: the front axle carries more. 2 * 3000 / 2400 and 6 * 1200 / 2400."""
    row = rows(MAT, FELT, wheelbase="2400 mm")[part]
    assert (row.front_kg, row.rear_kg) == (front, rear)


def test_axles_unknown():
    assert rows(MAT)["mat"].rear_kg is None  # no wheelbase
    assert rows(JACK, wheelbase="2400 mm")["jack"].rear_kg is None  # no mass
    nowhere = MAT.replace(', at = "3000 mm"', "")
    assert rows(nowhere, wheelbase="2400 mm")["mat"].rear_kg is None
