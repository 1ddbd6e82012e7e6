"""What a scale does to a mass: its check and its gain, common to all weighed on it; doubtful fuel; mistakes in them."""

import math
from fractions import Fraction

import pytest

from support import OnScales, car
from tarebook.toml_source import MistakesFound
from tarebook.weight.ledger import Weighed

ROOT_3 = math.sqrt(3)


def mass_of(body, build="now", **facts):
    scales = OnScales(car(body, **facts), build)
    answer = scales.ledger.mass(scales.configuration, Weighed())
    assert answer.mass is not None, answer.missing
    return answer.mass


def stripped(scale, *, mass="100 kg", on="one", fuel='fuel = "empty"'):
    """A car of 1000 kg on the scale "one", with a part of 100 kg off since, weighed on the scale `on`."""
    return (
        "".join(f'[[scale]]\nid = "{name}"\nresolution = "1 mg"\n{scale}\n' for name in ("one", "other"))
        + f'[[weighing]]\nid = "w"\ndate = 2027-01-01\nscale = "one"\ntotal = "1000 kg"\n{fuel}\n'
        + '[at_inspection]\nfuel = "empty"\n'
        + f'[[part]]\nid = "p"\nkind = "stowage.loose"\nscale = "{on}"\nmass = {mass if "[" in mass else repr(mass)}\n'
        + '[[job]]\nid = "out"\nstate = "done"\ndate = 2027-02-01\noff = ["p"]\n'
    )


GAIN = "gain = { within = 0.003 }"


def test_a_gain_error_is_in_proportion_to_what_is_left_on_one_scale():
    # (1000 - 100) kg x 0.003 / sqrt(3): the same unknown share of both readings.
    assert mass_of(stripped(GAIN)).u == pytest.approx(900 * 0.003 / ROOT_3, rel=1e-6)


def test_gain_errors_of_two_scales_are_independent():
    apart = mass_of(stripped(GAIN, on="other"))
    assert apart.u == pytest.approx(math.hypot(1000, 100) * 0.003 / ROOT_3, rel=1e-6)
    assert apart.degrees == math.inf


def test_a_gain_error_counts_each_piece_and_is_no_smaller_for_many_readings():
    pieces = '[[scale]]\nid = "s"\nresolution = "1 mg"\n' + GAIN + '\n[[part]]\nid = "p"\nkind = "stowage.loose"\n'
    each = OnScales(car(pieces + 'scale = "s"\ncount = 4\nmass_each = ["7 kg", "7 kg", "7 kg"]\n'))
    mass = each.ledger.part_mass("p")
    assert mass is not None
    assert mass.u == pytest.approx(28 * 0.003 / ROOT_3, rel=1e-6)


def test_a_check_moves_every_reading_and_leaves_the_gain_as_stated():
    check = 'check = { known = "5.000 kg", read = "5.020 kg", u = "0.010 kg" }'
    both = mass_of(stripped(f"{check}\n{GAIN}"))
    # The car and the part were each read 0.02 kg too heavy: nothing is left of that, nor of its uncertainty.
    assert both.value == 900
    assert both.u == pytest.approx(900 * 0.003 / ROOT_3, rel=1e-6)
    other = mass_of(stripped(check, on="other"))
    assert other.value == 900
    assert other.u == pytest.approx(math.hypot(0.01, 0.01), rel=1e-4)
    only_the_car = mass_of(stripped(check).replace('off = ["p"]', "off = []"))
    assert only_the_car.value == Fraction("999.98")


def test_few_readings_keep_their_degrees_beside_a_gain():
    mass = mass_of(stripped(GAIN, mass='["99 kg", "100 kg", "101 kg"]'))
    spread = 1 / ROOT_3
    gain = 900 * 0.003 / ROOT_3
    assert mass.u == pytest.approx(math.hypot(spread, gain), rel=1e-6)
    assert mass.degrees == pytest.approx((spread**2 + gain**2) ** 2 / (spread**4 / 2), rel=1e-6)


def fuelled(then, now, tank="", **facts):
    return mass_of(
        '[[scale]]\nid = "s"\nresolution = "1 mg"\n'
        f'[[weighing]]\nid = "w"\ndate = 2027-01-01\nscale = "s"\ntotal = "900 kg"\n{then}\n'
        f"[at_inspection]\n{now}\n[tank]\n{tank}\n",
        **{"fuel": "petrol", **facts},
    )


def test_a_doubtful_level_when_weighed_and_one_at_inspection_are_independent():
    tank = 'density = "0.75 kg/L"'
    mass = fuelled('fuel = "22 L"\nfuel_within = "2 L"', 'fuel = "6 L"\nfuel_within = "1 L"', tank)
    assert mass.value == 900 - 16 * Fraction("0.75")
    assert mass.u == pytest.approx(math.hypot(2, 1) * 0.75 / ROOT_3, rel=1e-6)


def test_equal_amounts_of_doubtful_fuel_do_not_cancel():
    tank = 'density = "0.75 kg/L"'
    mass = fuelled('fuel = "10 L"\nfuel_within = "1 L"', 'fuel = "10 L"', tank)
    assert mass.value == 900
    assert mass.u == pytest.approx(0.75 / ROOT_3, rel=1e-6)
    assert fuelled('fuel = "10 L"\nfuel_within = "0 L"', 'fuel = "10 L"', tank).u < 1e-5


def test_a_density_with_a_range_is_common_to_both_amounts():
    mass = fuelled(
        'fuel = "5 L"', 'fuel = "45 L"', 'density = "0.78 kg/L"\ndensity_within = "0.01 kg/L"', fuel="ethanol"
    )
    assert mass.value == 900 + 40 * Fraction("0.78")
    assert mass.u == pytest.approx(40 * 0.01 / ROOT_3, rel=1e-6)


def test_an_empty_tank_that_may_hold_some_needs_a_density():
    body = (
        '[[weighing]]\nid = "w"\ndate = 2027-01-01\ntotal = "900 kg"\nfuel = "10 L"\nfuel_within = "1 L"\n'
        '[at_inspection]\nfuel = "10 L"\n'
    )
    scales = OnScales(car(body))
    answer = scales.ledger.mass(scales.configuration, Weighed())
    assert [missing.sentence for missing in answer.missing] == ["fuel is not stated, so its density is unknown"]


def test_a_part_named_driver_is_not_the_driver():
    body = (
        '[[weighing]]\nid = "w"\ndate = 2027-01-01\ntotal = "900.0000 kg"\nfuel = "empty"\ndriver_aboard = true\n'
        '[driver]\nestimate = { mass = "80 kg", within = "3 kg" }\n[at_inspection]\nfuel = "empty"\n'
        '[[part]]\nid = "driver"\nkind = "stowage.loose"\nestimate = { mass = "9 kg", within = "4 kg" }\n'
        '[[job]]\nid = "out"\nstate = "done"\ndate = 2027-02-01\noff = ["driver"]\n'
    )
    mass = mass_of(body)
    assert mass.value == 811
    assert mass.u == pytest.approx(5 / ROOT_3, rel=1e-6)


WEIGHING = '[[weighing]]\nid = "w"\ndate = 2027-01-01\ntotal = "900 kg"\n'


@pytest.mark.parametrize(
    ("body", "line", "message"),
    [
        (
            '[[scale]]\nid = "s"\nresolution = "1 g"\ngain = { within = 1 }\n',
            6,
            "this is a share of the reading, from 0 to below 1: 0.002 is 0.2 percent",
        ),
        (
            '[[scale]]\nid = "s"\nresolution = "1 g"\ngain = { within = -0.1 }\n',
            6,
            "this is a share of the reading, from 0 to below 1: 0.002 is 0.2 percent",
        ),
        (
            '[[scale]]\nid = "s"\nresolution = "1 g"\ncapacity = "5 kg"\n'
            'check = { known = "5 kg", read = "5.001 kg", u = "1 g" }\n',
            7,
            'this is more than the scale "s" can weigh',
        ),
        (
            '[[scale]]\nid = "s"\nresolution = "1 g"\ncapacity = "5 kg"\n'
            '[[part]]\nid = "p"\nkind = "ballast"\nscale = "s"\nmass = ["4 kg", "5.001 kg"]\n',
            11,
            'this is more than the scale "s" can weigh',
        ),
        (
            f'{WEIGHING}fuel = "full"\nfuel_within = "1 L"\n',
            8,
            'this needs an amount of fuel that it can be off, and "full" is none',
        ),
        (f'{WEIGHING}fuel_within = "1 L"\n', 7, "this needs an amount of fuel that it can be off"),
        (
            '[at_inspection]\nfuel = "1 L"\nfuel_within = "2 L"\n',
            5,
            "this is more than the fuel itself, which cannot fall below zero",
        ),
        ('[tank]\ndensity_within = "0.01 kg/L"\n', 4, "this needs a density that it can be off: density = .."),
        (
            '[tank]\ndensity = "0.7 kg/L"\ndensity_within = "0.7 kg/L"\n',
            5,
            "this is as much as the density itself, which stays above zero",
        ),
    ],
)
def test_mistakes(body, line, message):
    with pytest.raises(MistakesFound) as found:
        car(body)
    assert [(each.line, each.message) for each in found.value.mistakes] == [(line, message)]
