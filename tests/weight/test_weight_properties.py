"""What must hold for any ledger: undoing cancels, splitting changes nothing, nor do the order and the units."""

import math
import random
import re
from fractions import Fraction

import pytest
from ledgers import Estimated, Part, car_of, random_ledger, text_of

from support import OnScales, car
from tarebook.weight.ledger import Weighed
from tarebook.weight.measured import Measured

SEEDS = range(40)


def mass_of(text_or_car, build="now") -> Measured:
    made = car(text_or_car, fuel="petrol", wheelbase="2400 mm") if isinstance(text_or_car, str) else text_or_car
    scales = OnScales(made, build)
    answer = scales.ledger.mass(scales.configuration, Weighed())
    assert answer.mass is not None, answer.missing
    return answer.mass


@pytest.mark.parametrize("seed", SEEDS)
def test_what_comes_off_and_goes_back_on_is_no_change(seed):
    ledger = random_ledger(seed)
    names = ", ".join(f'"{part.mass.name}"' for part in ledger.parts if not part.off)
    # `fit` put them on; one job more takes them off, another puts them back.
    undone = (
        f'[[job]]\nid = "away"\nstate = "planned"\noff = [{names}]\n'
        f'[[job]]\nid = "back"\nstate = "planned"\nneeds = ["away"]\nfit = [{names}]\n'
        f'[[build]]\nid = "undone"\nundo = ["fit", "off"]\n'
    )
    text = text_of(ledger) + undone
    now, there_and_back, undone_mass = (mass_of(text, build) for build in ("now", "planned", "undone"))
    assert (there_and_back.value, there_and_back.u, there_and_back.degrees) == (now.value, now.u, now.degrees)
    # Without any job, what is left is the weighing, the fuel and the driver: no part is in it.
    assert not any(re.search(r" of p\d", name) for name in undone_mass.shares)


@pytest.mark.parametrize("seed", SEEDS)
def test_readings_come_in_any_order(seed):
    ledger = random_ledger(seed)
    draw = random.Random(seed)
    for weighed in (*ledger.base, ledger.driver, *(part.mass for part in ledger.parts)):
        if not isinstance(weighed, Estimated):
            draw.shuffle(weighed.readings)
    shuffled, before = mass_of(car_of(ledger)), mass_of(car_of(random_ledger(seed)))
    assert (shuffled.value, shuffled.u, shuffled.degrees) == (before.value, before.u, before.degrees)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_order_of_parts_changes_nothing(seed):
    ledger = random_ledger(seed)
    before = mass_of(car_of(ledger))
    ledger.parts.reverse()
    after = mass_of(car_of(ledger))
    assert after.value == before.value
    assert (after.u, after.degrees) == (pytest.approx(before.u, rel=1e-12), pytest.approx(before.degrees, rel=1e-9))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_same_masses_written_in_tonnes_change_nothing(seed):
    text = text_of(random_ledger(seed))
    before, after = mass_of(text), mass_of(re.sub(r'"([0-9.]+) kg"', lambda found: _tonnes(found[1]), text))
    assert (after.value, after.u, after.degrees) == (before.value, before.u, before.degrees)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("unit", "kilograms"), [("lb", "0.45359237"), ("oz", "0.028349523125"), ("st", "6.35029318")])
def test_the_same_digits_in_another_unit_are_as_much_and_as_unsure_in_that_unit(seed, unit, kilograms):
    text = _without_fuel(text_of(random_ledger(seed)))  # litres would not scale along
    before, after = mass_of(text), mass_of(re.sub(r' kg"', f' {unit}"', text))
    assert after.value == before.value * Fraction(kilograms)
    assert after.u == pytest.approx(before.u * float(kilograms), rel=1e-12)
    assert after.degrees == pytest.approx(before.degrees, rel=1e-9)


def _tonnes(kilograms: str) -> str:
    """The same mass with the same last digit."""
    whole, _, decimals = kilograms.partition(".")
    padded = f"{int(whole):04d}"
    return f'"{padded[:-3]}.{padded[-3:]}{decimals} t"'


def _without_fuel(text: str) -> str:
    return (
        re.sub(r"^(fuel|fuel_within) = .*\n", "", text, flags=re.MULTILINE)
        .replace("[at_inspection]\n", '[at_inspection]\nfuel = "empty"\n')
        .replace("[[weighing]]\n", '[[weighing]]\nfuel = "empty"\n')
    )


# ---- Splitting a part in two -------------------------------------------------------------------------------


def stripped(*parts: str, job: str = "off") -> Measured:
    body = (
        '[[scale]]\nid = "s"\nresolution = "1 g"\ncheck = { known = "5.000 kg", read = "5.000 kg", u = "2 g" }\n'
        "gain = { within = 0.004 }\n"
        '[[weighing]]\nid = "w"\ndate = 2027-01-01\ntotal = "900.000 kg"\nfuel = "empty"\n'
        '[at_inspection]\nfuel = "empty"\n'
    )
    for index, part in enumerate(parts):
        body += f'[[part]]\nid = "p{index}"\nkind = "stowage.loose"\n{part}\n'
    names = ", ".join(f'"p{index}"' for index in range(len(parts)))
    return mass_of(body + f'[[job]]\nid = "j"\nstate = "done"\ndate = 2027-02-01\n{job} = [{names}]\n')


def _u(mass: Measured, start: str) -> float:
    return sum(share.u for name, share in mass.shares.items() if name.startswith(start))


def test_two_halves_weighed_on_one_scale_are_the_whole_but_for_a_second_zero_and_last_digit():
    whole = stripped('scale = "s"\nmass = "8.000 kg"')
    halves = stripped('scale = "s"\nmass = "5.000 kg"', 'scale = "s"\nmass = "3.000 kg"')
    assert halves.value == whole.value
    # In proportion to the mass: exactly the same. The zero error counts for each weighing, the last digit too.
    assert _u(halves, "gain of scale s") == pytest.approx(_u(whole, "gain of scale s"), rel=1e-12)
    assert _u(halves, "scale s") == pytest.approx(2 * _u(whole, "scale s"), rel=1e-12)
    digit = 0.001 / math.sqrt(12)
    for mass, digits in ((whole, 1), (halves, 2)):
        own = [share.u for name, share in mass.shares.items() if name.startswith("resolution of p")]
        assert own == pytest.approx([-digit] * digits, rel=1e-12)


def test_two_halves_of_an_estimate_are_taken_for_independent_guesses():
    # Exact is the mass. The uncertainty is smaller, 0.5 sqrt(2) for 1: two guesses seldom err alike. A single guess
    # shared out among parts is better stated as one part.
    whole = stripped('estimate = { mass = "8 kg", within = "1 kg" }')
    halves = stripped(*['estimate = { mass = "4 kg", within = "0.5 kg" }'] * 2)
    assert halves.value == whole.value
    assert math.hypot(*(share.u for name, share in halves.shares.items() if name.startswith("estimate"))) == (
        pytest.approx(_u(whole, "estimate") * -1 / math.sqrt(2), rel=1e-12)
    )


def test_pieces_that_are_one_part_each_weighed_err_alike():
    # `count` pieces of one weighed mass: that reading's errors count for each piece, so linearly.
    one, four = stripped('scale = "s"\nmass = "2.000 kg"'), stripped('scale = "s"\ncount = 4\nmass_each = "2.000 kg"')
    assert four.value == 900 - 4 * (900 - one.value)
    for source in ("resolution of p0", "gain of scale s", "scale s"):
        assert _u(four, source) == pytest.approx(4 * _u(one, source), rel=1e-12)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_part_split_in_proportion_without_steps_changes_nothing(seed):
    """Where the spread is nil and the scale has only a gain error, a part in two is the part in one, exactly."""
    draw = random.Random(seed)
    grams = draw.randint(2000, 9000)
    cut = draw.randint(1, grams - 1)
    gain_alone = [
        mass.shares["gain of scale s"].u
        for mass in (
            stripped(f'scale = "s"\nmass = "{grams} g"'),
            stripped(f'scale = "s"\nmass = "{cut} g"', f'scale = "s"\nmass = "{grams - cut} g"'),
        )
    ]
    assert gain_alone[0] == pytest.approx(gain_alone[1], rel=1e-12)
    assert gain_alone[0] == pytest.approx(-grams / 1000 * 0.004 / math.sqrt(3), rel=1e-12)


def test_the_random_ledgers_have_parts_that_came_off_and_parts_that_went_on():
    parts: list[Part] = [part for seed in SEEDS for part in random_ledger(seed).parts]
    assert {part.off for part in parts} == {True, False}
    assert {part.count for part in parts} == {1, 2, 4}
