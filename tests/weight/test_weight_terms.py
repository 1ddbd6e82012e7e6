"""The terms of a mass: what was weighed, what differs, with which sign, from which weighing, and why one is unknown."""

from fractions import Fraction

import pytest

from support import OnScales, car
from tarebook.weight.ledger import Ledger, Weighed
from tarebook.weight.measured import total

BODY = """
[[weighing]]
id = "total"
date = 2027-01-01
total = "900 kg"
fuel = "20 L"
includes = []
[[weighing]]
id = "corners"
date = 2027-02-01
corners = { front_left = "250 kg", front_right = "240 kg", rear_left = "200 kg", rear_right = "190 kg" }
fuel = "20 L"
driver_aboard = true
includes = ["strip"]
[[weighing]]
id = "newest"
date = 2027-03-01
axles = { front = "470 kg", rear = "380 kg" }
fuel = "8 L"
includes = ["strip", "swap"]
[driver]
mass = "80 kg"
seat_at = "1200 mm"
seat_right = "-350 mm"
[co_driver]
seat_at = "1200 mm"
[tank]
at = "2000 mm"
right = "100 mm"
density = "0.75 kg/L"
[at_inspection]
fuel = "5 L"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "6.0 kg"
at = "1100 mm"
right = "0 mm"
[[part]]
id = "battery"
kind = "electrical.battery"
mass = "14.0 kg"
at = "-300 mm"
right = "-400 mm"
[[part]]
id = "small-battery"
kind = "electrical.battery"
mass = "6.5 kg"
at = "-300 mm"
right = "-400 mm"
origin = "aftermarket"
replaces = "battery"
[[part]]
id = "tailgate"
kind = "body.boot-lid"
mass = "16.0 kg"
at = "2900 mm"
[[part]]
id = "guess"
kind = "stowage.loose"
at = "2600 mm"
[[job]]
id = "strip"
state = "done"
date = 2027-01-15
off = ["carpet"]
[[job]]
id = "swap"
state = "done"
date = 2027-02-15
fit = ["small-battery"]
[[job]]
id = "aft"
state = "planned"
moves = { small-battery = { at = "2650 mm", right = "300 mm" } }
[[job]]
id = "thin"
state = "planned"
lightens = { tailgate = "12.5 kg" }
[[job]]
id = "guess"
state = "maybe"
off = ["guess"]
[[build]]
id = "guessed"
jobs = ["guess"]
"""


@pytest.fixture(scope="module")
def scales() -> OnScales:
    return OnScales(car(BODY, wheelbase="2400 mm", fuel="petrol"))


def terms(scales, build="now", weighing=None, weighed=None, **more):
    ledger = scales.ledger
    chosen = next((each for each in ledger.car.weighing if each.id == weighing), None)
    made = ledger.terms(ledger.inventory.build(build), weighed or Weighed(), weighing=chosen, **more)
    return made, [
        (each.what, each.id, each.sign, each.mass and float(each.mass.value), each.at, each.right)
        for each in made.differing
    ]


def test_from_the_newest_weighing_only_the_fuel_differs_now(scales):
    made, differing = terms(scales)
    assert made.weighing is not None and made.weighing.id == "newest"
    assert [(group.name, float(group.mass.value)) for group in made.base] == [("front", 470.0), ("rear", 380.0)]
    assert differing == [("fuel", "fuel", -1, -6.0, 2000, 100), ("fuel", "fuel", 1, 3.75, 2000, 100)]


def test_from_an_older_weighing_the_jobs_since_and_the_driver_aboard_differ(scales):
    made, differing = terms(scales, weighing="corners")
    assert [group.name for group in made.base] == ["front_left", "front_right", "rear_left", "rear_right"]
    assert differing == [
        ("part", "battery", -1, -14.0, -300, -400),
        ("part", "small-battery", 1, 6.5, -300, -400),
        ("fuel", "fuel", -1, -15.0, 2000, 100),
        ("fuel", "fuel", 1, 3.75, 2000, 100),
        ("driver", "driver", -1, -80.0, 1200, -350),
    ]


def test_a_lightened_part_leaves_as_it_was_and_comes_as_it_is(scales):
    _, differing = terms(scales, "planned")
    assert differing[:2] == [
        ("part", "tailgate", -1, -16.0, 2900, None),
        ("part", "tailgate", 1, 12.5, 2900, None),
    ]


def test_a_moved_part_is_two_terms_where_its_place_matters_and_none_where_not(scales):
    moved = [("part", "small-battery", -1, -6.5, -300, -400), ("part", "small-battery", 1, 6.5, 2650, 300)]
    assert moved[0] not in terms(scales, "planned")[1]
    assert terms(scales, "planned", moves=True)[1][:2] == moved
    made, differing = terms(scales, "planned", axle="front")
    assert differing[:2] == moved
    assert [group.name for group in made.base] == ["front"]


def test_what_is_unknown_says_why(scales):
    made, differing = terms(scales, "guessed")
    assert differing[0] == ("part", "guess", -1, None, 2600, None)
    assert made.differing[0].missing is not None
    assert made.differing[0].missing.sentence == 'part "guess" was never weighed'
    made, differing = terms(scales, weighed=Weighed(co_driver="aboard"))
    assert differing[-1] == ("co_driver", "co_driver", 1, None, 1200, None)
    assert made.differing[-1].missing is not None
    assert made.differing[-1].missing.sentence == "the mass of the co-driver is not stated under [co_driver]"


def test_a_weighing_without_axles_has_no_terms_of_an_axle(scales):
    made, differing = terms(scales, weighing="total", axle="rear")
    assert (made.base, differing) == ((), [])
    assert [missing.sentence for missing in made.missing] == ["no weighing has the axles apart"]


def test_a_car_that_was_never_weighed():
    bare = car()
    made = Ledger(bare.inventory).terms(bare.inventory.build("now"), Weighed())
    assert (made.weighing, made.base, made.differing) == (None, (), ())
    assert [missing.sentence for missing in made.missing] == ["the car was never weighed"]


@pytest.mark.parametrize("build", ["now", "planned"])
@pytest.mark.parametrize("weighing", [None, "total", "corners"])
@pytest.mark.parametrize("weighed", [Weighed(), Weighed(driver="aboard"), Weighed(without=frozenset({"tailgate"}))])
def test_the_terms_add_up_to_the_mass(scales, build, weighing, weighed):
    ledger = scales.ledger
    made, _ = terms(scales, build, weighing, weighed)
    mass = ledger.mass(ledger.inventory.build(build), weighed, weighing=made.weighing).mass
    both = total([*(group.mass for group in made.base), *(term.mass for term in made.differing)])
    assert mass is not None
    assert (both.value, both.u) == (mass.value, pytest.approx(mass.u, rel=1e-12))


@pytest.mark.parametrize("axle", ["front", "rear"])
def test_the_terms_add_up_to_the_load_of_an_axle_by_their_places(scales, axle):
    ledger = scales.ledger
    made, _ = terms(scales, "planned", axle=axle)
    loads = [group.mass.value for group in made.base]
    for term in made.differing:
        rear = term.at / Fraction(2400)
        loads.append(term.mass.value * (rear if axle == "rear" else 1 - rear))
    assert ledger.axle_mass(axle, ledger.inventory.build("planned"), Weighed()).mass.value == sum(loads)
