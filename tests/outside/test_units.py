"""Units against the independent library pint, and against published conversion values."""

from fractions import Fraction

import pint
import pytest

from tarebook.quantities import factor, parse_quantity, units

BASE = {"mass": "kilogram", "length": "millimeter", "volume": "liter", "power": "kilowatt"}
# Where pint's own name of the unit differs from ours.
PINT_NAMES = {
    "kg": "kilogram",
    "g": "gram",
    "mg": "milligram",
    "lb": "pound",
    "oz": "ounce",
    "st": "stone",
    "t": "metric_ton",
    "mm": "millimeter",
    "cm": "centimeter",
    "m": "meter",
    "in": "inch",
    "ft": "foot",
    "L": "liter",
    "mL": "milliliter",
    "cm3": "centimeter ** 3",
    "m3": "meter ** 3",
    "in3": "inch ** 3",
    "US gal": "gallon",
    "imp gal": "imperial_gallon",
    "kW": "kilowatt",
    "W": "watt",
    "hp": "horsepower",
    "PS": "metric_horsepower",
}
SIMPLE = [(unit, dimension) for dimension in BASE for unit in units(dimension)]
RATIOS = [(unit, ratio) for ratio in ("mass/power", "mass/volume") for unit in units(ratio)]


def pint_unit(unit):
    return " / ".join(f"({PINT_NAMES[part]})" for part in unit.split("/"))


def pint_base(dimension):
    return " / ".join(BASE[part] for part in dimension.split("/"))


@pytest.fixture(scope="module")
def floating():
    return pint.UnitRegistry(cache_folder=None)


@pytest.fixture(scope="module")
def exact():
    return pint.UnitRegistry(cache_folder=None, non_int_type=Fraction)


def test_the_table_of_names_covers_every_unit():
    assert set(PINT_NAMES) == {unit for unit, _ in SIMPLE}


@pytest.mark.parametrize(("unit", "dimension"), SIMPLE + RATIOS)
def test_factor_agrees_with_pint(floating, unit, dimension):
    expected = floating.Quantity(1.0, pint_unit(unit)).to(pint_base(dimension)).magnitude
    assert float(factor(unit, dimension)) == pytest.approx(expected, rel=1e-12, abs=0)


@pytest.mark.parametrize(("unit", "dimension"), SIMPLE + RATIOS)
def test_factor_is_exactly_that_of_pint_in_fractions(exact, unit, dimension):
    expected = exact.Quantity(Fraction(1), pint_unit(unit)).to(pint_base(dimension)).magnitude
    assert isinstance(expected, Fraction | int)
    assert factor(unit, dimension) == expected


# NIST SP 811 (2008), appendix B, and the yard-and-pound agreement of 1959. The values are from memory; each
# is exact by definition, and the tests above confirm it with pint.
PUBLISHED = [
    ("1 lb", "mass", "0.45359237"),
    ("1 oz", "mass", "0.028349523125"),
    ("1 st", "mass", "6.35029318"),
    ("1 in", "length", "25.4"),
    ("1 ft", "length", "304.8"),
    ("1 in3", "volume", "0.016387064"),
    ("1 US gal", "volume", "3.785411784"),
    ("1 imp gal", "volume", "4.54609"),
    ("1 hp", "power", "0.74569987158227022"),
    ("1 PS", "power", "0.73549875"),
]


@pytest.mark.parametrize(("text", "dimension", "printed"), PUBLISHED)
def test_published_conversions_hold_exactly(text, dimension, printed):
    assert parse_quantity(text, dimension).value == Fraction(printed)


def test_horsepowers_follow_from_their_definitions():
    # 550 foot-pounds-force and 75 kilogram-force metres in a second (common practice), with the standard
    # gravity 9.80665 m/s2 of the 3rd CGPM (1901).
    gravity = Fraction("9.80665")
    assert factor("hp", "power") * 1000 == 550 * Fraction("0.3048") * Fraction("0.45359237") * gravity
    assert factor("PS", "power") * 1000 == 75 * gravity


# EN 590 (diesel, at 15 C; as quoted in secondary sources) and EN 228 (petrol; from memory).
@pytest.mark.parametrize(
    ("text", "kilograms_per_litre"),
    [("820 kg/m3", "0.820"), ("845 kg/m3", "0.845"), ("720 kg/m3", "0.720"), ("775 kg/m3", "0.775")],
)
def test_fuel_densities_in_kilograms_per_litre(text, kilograms_per_litre):
    assert parse_quantity(text, "mass/volume").value == Fraction(kilograms_per_litre)


def test_thirty_us_gallons_of_avgas():
    # FAA-H-8083-30B, chapter 6: 30 gal of fuel at 5.9 lb/gal, printed as 177 lb.
    fuel = parse_quantity("30 US gal", "volume").value * parse_quantity("5.9 lb/US gal", "mass/volume").value
    assert fuel == parse_quantity("177 lb", "mass").value
