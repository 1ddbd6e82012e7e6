"""The requirements on weight: each example of the page judges cars on either side of it. Masses in kg."""

import pytest

from requirements.cars import outcome, row, small_car
from requirements.registry import requirement
from support import by_clause, limit

ELIGIBLE = ("eligible",)
LIMIT = "5.1"


def bad(*clauses: str) -> tuple[str, ...]:
    return ("not-eligible", *clauses)


@requirement("a minimum without the driver")
def minimum_without_driver(example: str) -> None:
    # The driver's 80 kg would lift either car far over 790 kg.
    assert outcome(example, small_car(total="790.1 kg", driver="80 kg")) == ELIGIBLE
    assert outcome(example, small_car(total="789.9 kg", driver="80 kg")) == bad(LIMIT)


@requirement("a minimum with the driver")
def minimum_with_driver(example: str) -> None:
    # 785 + 80.2 = 865.2, and 785 + 79.8 = 864.8, against 865.
    assert outcome(example, small_car(total="785 kg", driver="80.2 kg")) == ELIGIBLE
    assert outcome(example, small_car(total="785 kg", driver="79.8 kg")) == bad(LIMIT)
    assert outcome(example, small_car(total="785 kg")) == ("undecided", LIMIT)


@requirement("both minima at once")
def both_minima(example: str) -> None:
    # The car alone against 790, and with its driver against 865.
    assert outcome(example, small_car(total="791 kg", driver="75.0 kg")) == ELIGIBLE
    assert outcome(example, small_car(total="791 kg", driver="73.0 kg")) == bad("5.2")
    assert outcome(example, small_car(total="789 kg", driver="77.0 kg")) == bad("5.1")
    assert outcome(example, small_car(total="789 kg", driver="75.0 kg")) == bad("5.1", "5.2")


@requirement("a maximum too")
def maximum_too(example: str) -> None:
    for total, verdict in (("790.1 kg", "eligible"), ("999.9 kg", "eligible"), ("789.9 kg", "not-eligible")):
        answer = row(example, small_car(total=total))
        assert (answer.verdict, limit(answer, "maximum").verdict) == (verdict, "eligible")
    answer = row(example, small_car(total="1000.1 kg"))
    assert (answer.verdict, limit(answer).verdict) == ("not-eligible", "eligible")
    assert limit(answer, "maximum").verdict == "not-eligible"


@requirement("a limit that holds at any time")
def at_any_time(example: str) -> None:
    # Weighed dry. In its lightest state the car has 6 L of petrol aboard: 6 x 0.7475 = 4.485 kg.
    for total, tank, verdict, mass in (
        ("786.5 kg", "6 L", "eligible", 790.985),
        ("784.5 kg", "6 L", "not-eligible", 788.985),
        ("786.5 kg", "empty", "not-eligible", 786.5),
    ):
        answer = row(example, small_car(total=total, tank=tank, fuel="petrol"))
        assert (answer.verdict, limit(answer).mass_kg) == (verdict, pytest.approx(mass))


@requirement("a limit for a certain run or heat")
def for_a_certain_run(example: str) -> None:
    # 790 in every run, and 810 in the final.
    assert outcome(example, small_car(total="789.9 kg", run="heat")) == bad("5.1")
    assert outcome(example, small_car(total="790.1 kg", run="heat")) == ELIGIBLE
    assert outcome(example, small_car(total="800 kg", run="final")) == bad("5.2")
    assert outcome(example, small_car(total="811 kg", run="final")) == ELIGIBLE
    answer = row(example, small_car(total="800 kg"))
    assert (answer.verdict, answer.facts_to_find) == ("undecided", ("run",))
    assert outcome(example, small_car(total="811 kg")) == ELIGIBLE


@requirement("taken out before weighing")
def taken_out_before_weighing(example: str) -> None:
    # The spare wheel of 15 kg and the jack of 2 kg are on: 807.1 - 17 = 790.1, and 806.9 - 17 = 789.9.
    aboard = (
        'id = "spare", kind = "stowage.spare-wheel", mass = "15.000 kg"',
        'id = "jack", kind = "stowage.jack", mass = "2.000 kg"',
    )
    assert outcome(example, small_car(*aboard, total="807.1 kg")) == ELIGIBLE
    answer = row(example, small_car(*aboard, total="806.9 kg"))
    assert (answer.verdict, limit(answer).mass_kg) == ("not-eligible", pytest.approx(789.9))


@requirement("a fixed mass for any driver")
def fixed_mass_of_driver(example: str) -> None:
    # Whoever drives counts as 75 kg: 790.1 + 75 = 865.1, and 789.9 + 75 = 864.9, against 865.
    assert outcome(example, small_car(total="790.1 kg", driver="55 kg")) == ELIGIBLE
    assert outcome(example, small_car(total="789.9 kg", driver="120 kg")) == bad(LIMIT)
    assert outcome(example, small_car(total="790.1 kg")) == ELIGIBLE


# ---- Limits by the car


def limits(example: str, which: str, *cases: tuple[dict[str, object], float]) -> None:
    """The limit that each car gets; one 0.1 kg on the right side of it is eligible, and on the wrong side not."""
    inward = 0.1 if which == "minimum" else -0.1
    for facts, expected in cases:
        answer = row(example, small_car(total=f"{expected + inward:.1f} kg", **facts))
        assert limit(answer, which).limit_kg == pytest.approx(expected), facts
        assert limit(answer, which).verdict == "eligible", facts
        wrong = row(example, small_car(total=f"{expected - inward:.1f} kg", **facts))
        assert limit(wrong, which).verdict == "not-eligible" == wrong.verdict, facts


@requirement('bands of capacity, "over a, up to b"')
def bands(example: str) -> None:
    limits(
        example,
        "minimum",
        ({"displacement": "1399 cm3"}, 820),
        ({"displacement": "1400 cm3"}, 820),
        ({"displacement": "1401 cm3"}, 900),
        ({"displacement": "1600 cm3"}, 900),
        ({"displacement": "1601 cm3"}, 960),
    )
    answer = row(example, small_car(total="899 kg"))
    assert (answer.verdict, answer.facts_to_find) == ("undecided", ("displacement",))


@requirement("a minimum by an attribute")
def by_an_attribute(example: str) -> None:
    limits(
        example,
        "minimum",
        ({"driven_wheels": "front"}, 860),
        ({"driven_wheels": "rear"}, 880),
        ({"driven_wheels": "all"}, 950),
    )


@requirement("weight for power")
def weight_for_power(example: str) -> None:
    # 9.5 x 90 = 855; 9.5 x 64 = 608; 9.5 x 60 = 570, but never under 600.
    limits(example, "minimum", ({"power": "90 kW"}, 855), ({"power": "64 kW"}, 608), ({"power": "60 kW"}, 600))


@requirement("corrections that add up")
def corrections(example: str) -> None:
    # 820, + 20 for the gearbox, + 15 for tyres over 205 mm, - 10 for driven front wheels.
    plain = {"gearbox": "manual", "tyre_width": "205 mm", "driven_wheels": "rear"}
    limits(
        example,
        "minimum",
        (plain, 820),
        (plain | {"gearbox": "dual-clutch"}, 840),
        (plain | {"tyre_width": "206 mm"}, 835),
        (plain | {"driven_wheels": "front"}, 810),
        ({"gearbox": "sequential", "tyre_width": "225 mm", "driven_wheels": "front"}, 845),
    )


@requirement("handicap mass from results, capped")
def handicap_mass(example: str) -> None:
    # 820, and what the results oblige to carry, but never more than 40.
    limits(
        example,
        "minimum",
        ({"success_mass": "0 kg"}, 820),
        ({"success_mass": "25 kg"}, 845),
        ({"success_mass": "40 kg"}, 860),
        ({"success_mass": "60 kg"}, 860),
    )
    assert outcome(example, small_car(total="860.1 kg")) == ELIGIBLE  # heavy enough whatever the results
    answer = row(example, small_car(total="850 kg"))
    assert (answer.verdict, answer.facts_to_find) == ("undecided", ("success_mass",))


@requirement("a change bounded against a listed weight")
def against_a_listed_weight(example: str) -> None:
    # Listed at 1000: from 0.95 x 1000 = 950 to 1000 + 80 = 1080. Listed at 900: from 855 to 980.
    listed = ({"kerb_mass": "1000 kg"}, {"kerb_mass": "900 kg"})
    limits(example, "minimum", (listed[0], 950), (listed[1], 855))
    limits(example, "maximum", (listed[0], 1080), (listed[1], 980))


# ---- Axles, ballast and the driver


@requirement("minima for each axle")
def minima_for_each_axle(example: str) -> None:
    for front, rear, expected in (
        ("545.1", "330.1", ELIGIBLE),
        ("544.9", "400.0", bad("6.1.1")),
        ("600.0", "329.9", bad("6.1.2")),
        ("544.9", "329.9", bad("6.1.1", "6.1.2")),
    ):
        axles = f'axles = {{ front = "{front} kg", rear = "{rear} kg" }}'
        assert outcome(example, small_car(weighing=axles)) == expected


def ballast(mass: str = "20.0 kg", place: str = "interior.floor") -> str:
    return f'id = "lead", kind = "ballast", mass = "{mass}", place = "{place}", origin = "aftermarket"'


@requirement("ballast forbidden")
def ballast_forbidden(example: str) -> None:
    assert outcome(example, small_car()) == ELIGIBLE
    assert outcome(example, small_car(ballast(), fit=("lead",))) == bad("6.2")


@requirement("ballast capped")
def ballast_capped(example: str) -> None:
    assert outcome(example, small_car()) == ELIGIBLE
    assert outcome(example, small_car(ballast("29.9 kg"), fit=("lead",))) == ELIGIBLE
    answer = row(example, small_car(ballast("30.1 kg"), fit=("lead",)))
    assert (answer.verdict, by_clause(answer, "6.2")) == ("not-eligible", ["allowed", "violation"])
    # Two pieces are counted together: 16 + 16 = 32.
    two = tuple(ballast("16.0 kg").replace('"lead"', f'"{name}"') for name in ("left", "right"))
    assert outcome(example, small_car(*two, fit=("left", "right"))) == bad("6.2")


@requirement("ballast only at a place")
def ballast_at_a_place(example: str) -> None:
    assert outcome(example, small_car(ballast(), fit=("lead",))) == ELIGIBLE
    assert outcome(example, small_car(ballast(place="stowage"), fit=("lead",))) == bad("6.2")
    nowhere = 'id = "lead", kind = "ballast", mass = "20.0 kg", origin = "aftermarket"'
    assert outcome(example, small_car(nowhere, fit=("lead",))) == ("undecided", "6.2")


@requirement("a least driver's mass, made up by ballast at a place")
def least_mass_of_driver(example: str) -> None:
    heavy = {"driver_in_kit": "78 kg", "driver_with_ballast": "78 kg"}
    answer = row(example, small_car(**heavy))
    assert (answer.verdict, answer.to_ask, by_clause(answer, "6.4")) == ("eligible", 0, ["met"])
    # A driver of 70 kg takes 8 kg along, on the seat: allowed by the same clause, and a person looks at the seal.
    light = {"driver_in_kit": "70 kg", "driver_with_ballast": "78 kg"}
    seat, floor = ballast("8.0 kg", "interior.seat.front.driver"), ballast("8.0 kg", "interior.floor")
    answer = row(example, small_car(seat, fit=("lead",), **light))
    assert (answer.verdict, answer.to_ask) == ("eligible", 1)
    assert (by_clause(answer, "6.4.1"), by_clause(answer, "6.4.2")) == (["allowed", "met"], ["ask"])
    # On the floor it is neither what the clause asks for nor what it allows (the book is closed: 1.1).
    assert outcome(example, small_car(floor, fit=("lead",), **light)) == bad("1.1", "6.4.1")
    assert outcome(example, small_car(**light)) == bad("6.4.1")
    # 6 kg are too few: 70 + 6 = 76.
    few = small_car(seat, fit=("lead",), driver_in_kit="70 kg", driver_with_ballast="76 kg")
    assert outcome(example, few) == bad("6.4")
