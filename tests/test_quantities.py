import re
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tarebook.quantities import (
    Quantity,
    QuantityError,
    canonical_unit,
    factor,
    format_quantity,
    from_number,
    in_unit,
    parse_quantity,
    units,
)

DIMENSIONS = ("mass", "length", "volume", "power", "money", "mass/power", "mass/volume")


def said_by(call, *arguments):
    with pytest.raises(QuantityError) as raised:
        call(*arguments)
    return str(raised.value)


# Hand-computed: 13.4 * 0.45359237 = 6.078137758; 10 st = 140 lb; 12 * 3.785411784 = 45.424941408. A
# horsepower is 550 lbf ft/s, so 1 lb/hp is 1000/(550 * 0.3048 * 9.80665) kg/kW,
# that is 500000000/821993403.
@pytest.mark.parametrize(
    ("text", "dimension", "value", "unit", "step"),
    [
        ("1.660 kg", "mass", "1.66", "kg", "0.001"),
        ("5 lb", "mass", "2.26796185", "lb", "0.45359237"),
        ("13.4 lb", "mass", "6.078137758", "lb", "0.045359237"),
        ("10 st", "mass", "63.5029318", "st", "6.35029318"),
        ("1 oz", "mass", "0.028349523125", "oz", "0.028349523125"),
        ("1 g", "mass", "0.001", "g", "0.001"),
        ("250 mg", "mass", "0.00025", "mg", "0.000001"),
        ("1.05 t", "mass", "1050", "t", "10"),
        ("2100 mm", "length", "2100", "mm", "1"),
        ("2.45 m", "length", "2450", "m", "10"),
        ("15 in", "length", "381", "in", "25.4"),
        ("8 ft", "length", "2438.4", "ft", "304.8"),
        ("10.5 cm", "length", "105", "cm", "1"),
        ("12 L", "volume", "12", "L", "1"),
        ("1598 cm3", "volume", "1.598", "cm3", "0.001"),
        ("100 in3", "volume", "1.6387064", "in3", "0.016387064"),
        ("12 US gal", "volume", "45.424941408", "US gal", "3.785411784"),
        ("10 imp gal", "volume", "45.4609", "imp gal", "4.54609"),
        ("0.002 m3", "volume", "2", "m3", "1"),
        ("85 kW", "power", "85", "kW", "1"),
        ("500 W", "power", "0.5", "W", "0.001"),
        ("100 PS", "power", "73.549875", "PS", "0.73549875"),
        ("100 hp", "power", "74.569987158227022", "hp", "0.74569987158227022"),
        ("140 EUR", "money", "140", "EUR", "1"),
        ("99.95 GBP", "money", "99.95", "GBP", "0.01"),
        ("11 kg/kW", "mass/power", "11", "kg/kW", "1"),
        ("8 lb/hp", "mass/power", "4000000000/821993403", "lb/hp", "500000000/821993403"),
        ("0.745 kg/L", "mass/volume", "0.745", "kg/L", "0.001"),
        ("750 kg/m3", "mass/volume", "0.75", "kg/m3", "0.001"),
        ("1 g/cm3", "mass/volume", "1", "g/cm3", "1"),
    ],
)
def test_values_and_steps_by_hand(text, dimension, value, unit, step):
    assert parse_quantity(text, dimension) == Quantity(dimension, Fraction(value), unit, Fraction(step))


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("-20 kg", -20),
        ("−20 kg", -20),
        ("+20 kg", 20),
        ("-0 kg", 0),
        ("0.5 kg", Fraction(1, 2)),
        (".5 kg", Fraction(1, 2)),
        ("-.5 kg", Fraction(-1, 2)),
        ("0007 kg", 7),
        ("7kg", 7),
        ("7    kg", 7),
        ("  7 kg ", 7),
        ("7\u00a0kg", 7),
        ("7\u202fkg", 7),
        ("7\u2009kg", 7),
        ("1234567890123456789012345 kg", 1234567890123456789012345),
        ("1.234567890123456789012345 kg", Fraction(1234567890123456789012345, 10**24)),
    ],
)
def test_forms_of_a_number(text, value):
    assert parse_quantity(text, "mass").value == value


def test_forty_characters_are_read():
    text = "1" + " " * 37 + "kg"
    assert len(text) == 40
    assert parse_quantity(text, "mass").value == 1


@pytest.mark.parametrize(
    ("written", "dimension", "canonical"),
    [
        ("cc", "volume", "cm3"),
        ("cm³", "volume", "cm3"),
        ("m³", "volume", "m3"),
        ("in³", "volume", "in3"),
        ("l", "volume", "L"),
        ("ml", "volume", "mL"),
        ("kg/m³", "mass/volume", "kg/m3"),
        ("g/cc", "mass/volume", "g/cm3"),
        ("lb/US gal", "mass/volume", "lb/US gal"),
    ],
)
def test_other_spellings_become_the_canonical_unit(written, dimension, canonical):
    assert canonical_unit(written, dimension) == canonical
    assert parse_quantity(f"3 {written}", dimension) == parse_quantity(f"3 {canonical}", dimension)
    assert parse_quantity(f"3 {written}", dimension).unit == canonical


def test_spaces_inside_a_unit():
    assert parse_quantity("5 US  gal", "volume") == parse_quantity("5 US gal", "volume")
    assert parse_quantity("5\u00a0US\u00a0gal", "volume") == parse_quantity("5 US gal", "volume")


@st.composite
def written_amounts(draw):
    dimension = draw(st.sampled_from(DIMENSIONS))
    unit = draw(st.sampled_from(units(dimension)))
    whole = draw(st.text("0123456789", max_size=12))
    decimals = draw(st.text("0123456789", min_size=0 if whole else 1, max_size=10))
    sign = draw(st.sampled_from(("", "-", "+")))
    return f"{sign}{whole}{'.' if decimals else ''}{decimals}", len(decimals), unit, dimension


@given(written_amounts(), st.sampled_from(("", " ", "  ")))
def test_what_was_written_comes_back_exactly(written, space):
    number, decimals, unit, dimension = written
    parsed = parse_quantity(f"{number}{space}{unit}", dimension)
    assert in_unit(parsed.value, unit, dimension) == Fraction(Decimal(number))
    assert in_unit(parsed.step, unit, dimension) == Fraction(1, 10**decimals)
    assert (parsed.dimension, parsed.unit) == (dimension, unit)
    again = parse_quantity(format_quantity(parsed.value, unit, dimension, decimals), dimension)
    assert again == parsed


@given(written_amounts())
def test_a_bare_number_is_as_exact_as_text(written):
    number, decimals, unit, dimension = written
    plain = Decimal(number) if decimals else int(number)
    assert from_number(plain, unit, dimension) == parse_quantity(f"{number} {unit}", dimension)


NEARLY = st.lists(
    st.sampled_from(
        [
            *"0123456789.,' +-−eE_/",
            "12",
            "4.5",
            "kg",
            "lb",
            "/hp",
            "EUR",
            "US gal",
            "gal",
            "nan",
            "cm³",
            "٣",
            "\t",
        ]
    ),
    max_size=12,
).map("".join)


def plainly_an_amount(text, dimension):
    """The written form, said once more and without a thought for speed."""
    found = re.fullmatch(r"[+\-−]?([0-9]+|[0-9]*\.[0-9]+) ?([^0-9.].*)", " ".join(text.split()))
    if found is None or len(text) > 40:
        return False
    unit = found[2].replace("³", "3")
    known = unit in units(dimension) or (dimension == "volume" and unit in ("l", "ml", "cc"))
    return known and len(found[1].replace(".", "")) <= 25


@given(st.text(max_size=45) | NEARLY, st.sampled_from(DIMENSIONS))
def test_what_has_the_written_form_is_read_and_all_else_refused(text, dimension):
    if plainly_an_amount(text, dimension):
        parsed = parse_quantity(text, dimension)
        number = re.match(r"[+\-−]?[0-9.]+", text.strip())[0].replace("−", "-")
        assert in_unit(parsed.value, parsed.unit, dimension) == Fraction(number)
        assert (parsed.value / parsed.step).denominator == 1
    else:
        assert re.search("is expected|are expected|is no |either gallon", said_by(parse_quantity, text, dimension))


REFUSALS = [
    # decimal commas
    ("12,5 kg", "mass", 'a decimal point is expected, not a comma: write "12.5 kg"'),
    ("-12,5kg", "mass", 'a decimal point is expected, not a comma: write "-12.5kg"'),
    ("0,125 kg", "mass", 'a decimal point is expected, not a comma: write "0.125 kg"'),
    ("1,5", "mass", 'a decimal point is expected, not a comma: write "1.5"'),
    (
        "1,234 kg",
        "mass",
        'a number without a comma is expected, as it could mean thousands or decimals: write "1234 kg" or "1.234 kg"',
    ),
    # thousands separators
    ("1,234.5 kg", "mass", 'a number without thousands separators is expected: write "1234.5 kg"'),
    ("1.234,5 kg", "mass", 'a number without thousands separators is expected: write "1234.5 kg"'),
    ("1,234,567 kg", "mass", 'a number without thousands separators is expected: write "1234567 kg"'),
    ("1.234.567 kg", "mass", 'a number without thousands separators is expected: write "1234567 kg"'),
    ("1 234 kg", "mass", 'a number without thousands separators is expected: write "1234 kg"'),
    ("1\u202f234 kg", "mass", 'a number without thousands separators is expected: write "1234 kg"'),
    ("1 234,5 kg", "mass", 'a number without thousands separators is expected: write "1234.5 kg"'),
    ("1'234 kg", "mass", 'a number without thousands separators is expected: write "1234 kg"'),
    ("1’234 kg", "mass", 'a number without thousands separators is expected: write "1234 kg"'),
    ("1_234 kg", "mass", 'a number without thousands separators is expected: write "1234 kg"'),
    # exponents
    ("1e3 kg", "mass", 'a number without an exponent is expected: write "1e3 kg" out in digits'),
    ("1.2E-3 kg", "mass", 'a number without an exponent is expected: write "1.2E-3 kg" out in digits'),
    ("1.2×10 kg", "mass", 'a number without an exponent is expected: write "1.2×10 kg" out in digits'),
    # no unit, no number, nothing
    ("12.5", "mass", 'a unit is expected after the number: write "12.5 kg", for example'),
    (" 12.5 ", "mass", 'a unit is expected after the number: write "12.5 kg", for example'),
    ("-3", "length", 'a unit is expected after the number: write "-3 mm", for example'),
    ("140", "money", 'a unit is expected after the number: write "140 EUR", for example'),
    ("kg", "mass", 'a number is expected before the unit: write "12.5 kg", for example'),
    ("- kg", "mass", 'a number is expected before the unit: write "12.5 kg", for example'),
    ("lb/hp", "mass/power", 'a number is expected before the unit: write "11 kg/kW", for example'),
    ("EUR 140", "money", 'the number is expected before its unit: write "140 EUR"'),
    ("EUR-1.50", "money", 'the number is expected before its unit: write "-1.50 EUR"'),
    ("", "mass", 'a mass is expected, such as "12.5 kg"'),
    (" \t", "volume", 'a volume is expected, such as "12 L"'),
    ("light", "mass", 'a mass is expected, such as "12.5 kg", not "light"'),
    ("cheap", "money", 'an amount of money is expected, such as "140 EUR", not "cheap"'),
    # not finite
    ("nan kg", "mass", 'a finite number is expected, such as "12.5 kg"'),
    ("-inf kg", "mass", 'a finite number is expected, such as "12.5 kg"'),
    ("Infinity", "power", 'a finite number is expected, such as "85 kW"'),
    ("∞ kg", "mass", 'a finite number is expected, such as "12.5 kg"'),
    # too long
    (
        "9" * 26 + " kg",
        "mass",
        "a number of at most 25 digits is expected, not 26 digits",
    ),
    (
        "0." + "0" * 25 + " kg",
        "mass",
        "a number of at most 25 digits is expected, not 26 digits",
    ),
    (
        "1" + " " * 38 + "kg",
        "mass",
        'a mass of at most 40 characters is expected, such as "12.5 kg", not 41 characters',
    ),
    (
        "1" * 5000,
        "mass",
        'a mass of at most 40 characters is expected, such as "12.5 kg", not 5000 characters',
    ),
    # digits of other scripts, and fractions
    ("٣ kg", "mass", 'the digits 0 to 9 are expected, such as "12.5 kg", not "٣"'),
    ("1２ kg", "mass", 'the digits 0 to 9 are expected, such as "12.5 kg", not "２"'),
    ("2½ kg", "mass", 'the digits 0 to 9 are expected, such as "12.5 kg", not "½"'),
    # an unfinished number
    ("5. kg", "mass", 'digits are expected after the decimal point: write "5 kg" or "5.0 kg"'),
    ("5.kg", "mass", 'digits are expected after the decimal point: write "5kg" or "5.0kg"'),
    ("12, kg", "mass", 'digits are expected after the decimal point: write "12 kg" or "12.0 kg"'),
    # more than one amount, or words after it
    ("5 kg or so", "mass", 'one number with one unit is expected, but "or so" follows "5 kg"'),
    ("13 lb 4 oz", "mass", 'one number with one unit is expected, but "4 oz" follows "13 lb"'),
    ("5 kg ± 1 kg", "mass", 'one number with one unit is expected, but "± 1 kg" follows "5 kg"'),
    ("5 US gal each", "volume", 'one number with one unit is expected, but "each" follows "5 US gal"'),
    # no particular mistake
    ("5 - 6 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("--5 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("- 5 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("1.2.3 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("1,234,5 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("12 5 kg", "mass", 'a number and then a unit are expected, such as "12.5 kg"'),
    ("€5", "money", 'a number and then a unit are expected, such as "140 EUR"'),
    # units
    ("5 Kg", "mass", '"Kg" is no unit of mass: did you mean "kg"?'),
    ("5 KG", "mass", '"KG" is no unit of mass: did you mean "kg"?'),
    ("5 kgs", "mass", '"kgs" is no unit of mass: did you mean "kg"?'),
    ("5 lbs", "mass", '"lbs" is no unit of mass: did you mean "lb"?'),
    ("5 inch", "length", '"inch" is no unit of length: did you mean "in"?'),
    ("5 bhp", "power", '"bhp" is no unit of power: did you mean "hp"?'),
    ("5 kw", "power", '"kw" is no unit of power: did you mean "kW"?'),
    ("5 us gal", "volume", '"us gal" is no unit of volume: did you mean "US gal"?'),
    ("5 Cm³", "volume", '"Cm³" is no unit of volume: did you mean "cm3"?'),
    ("5 foo", "mass", '"foo" is no unit of mass: use kg, g, mg, lb, oz, st or t'),
    ("5 foo", "length", '"foo" is no unit of length: use mm, cm, m, in or ft'),
    ("5 foo", "volume", '"foo" is no unit of volume: use L, mL, cm3, m3, in3, US gal or imp gal'),
    ("5 foo", "power", '"foo" is no unit of power: use kW, W, hp or PS'),
    ("5 foo", "mass/power", '"foo" is no unit of mass per power: use one such as kg/kW or lb/hp'),
    ("5 foo", "mass/volume", '"foo" is no unit of mass per volume: use one such as kg/L or kg/m3'),
    ("5 eur", "money", '"eur" is no currency code: did you mean "EUR"?'),
    ("5 €", "money", '"€" is no currency code: use the three letters of ISO 4217, such as EUR or GBP'),
    ("5 gal", "volume", '"gal" could be either gallon: write "US gal" or "imp gal"'),
    ("5 Gallons", "volume", '"Gallons" could be either gallon: write "US gal" or "imp gal"'),
    ("5 lb/gal", "mass/volume", '"gal" could be either gallon: write "US gal" or "imp gal"'),
    ("5 Kg/kW", "mass/power", '"Kg" is no unit of mass: did you mean "kg"?'),
    ("5 kg/KW", "mass/power", '"KW" is no unit of power: did you mean "kW"?'),
    # another dimension
    ("5 mm", "mass", "a mass is expected, but mm is a length"),
    ("5 kg", "length", "a length is expected, but kg is a mass"),
    ("8 oz", "volume", "a volume is expected, but oz is a mass"),
    ("5 cc", "power", "a power is expected, but cc is a volume"),
    ("5 EUR", "mass", "a mass is expected, but EUR is an amount of money"),
    ("5 kW", "money", "an amount of money is expected, but kW is a power"),
    ("5 kg", "mass/power", "a mass per power is expected, but kg is a mass"),
    ("5 kg/L", "mass/power", "a mass per power is expected, but kg/L is a mass per volume"),
    ("5 lb/hp", "mass", "a mass is expected, but lb/hp is a mass per power"),
    ("5 kg/mm", "mass/power", "a power is expected, but mm is a length"),
]


@pytest.mark.parametrize(("text", "dimension", "message"), REFUSALS)
def test_each_refusal_says_what_was_expected(text, dimension, message):
    assert said_by(parse_quantity, text, dimension) == message


def test_bare_numbers():
    assert from_number(12, "kg", "mass") == Quantity("mass", Fraction(12), "kg", Fraction(1))
    assert from_number(Decimal("12.50"), "lb", "mass") == parse_quantity("12.50 lb", "mass")
    assert from_number(-3, "cc", "volume") == Quantity("volume", Fraction(-3, 1000), "cm3", Fraction(1, 1000))
    assert from_number(10**25 - 1, "kg", "mass").value == 10**25 - 1


@pytest.mark.parametrize(
    ("number", "unit", "message"),
    [
        (Decimal("nan"), "kg", 'a finite number is expected, such as "12.5 kg"'),
        (Decimal("sNaN"), "kg", 'a finite number is expected, such as "12.5 kg"'),
        (Decimal("-inf"), "kg", 'a finite number is expected, such as "12.5 kg"'),
        (Decimal("1E+3"), "kg", "a number without an exponent is expected: write 1E+3 out in digits"),
        (Decimal("1e99999"), "kg", "a number without an exponent is expected: write 1E+99999 out in digits"),
        (Decimal("1e-999999"), "kg", "a number of at most 25 digits is expected"),
        (Decimal("1." + "0" * 25), "kg", "a number of at most 25 digits is expected"),
        (10**25, "kg", "a number of at most 25 digits is expected"),
        (-(10**25), "kg", "a number of at most 25 digits is expected"),
        (5, "Kg", '"Kg" is no unit of mass: did you mean "kg"?'),
        (5, "mm", "a mass is expected, but mm is a length"),
    ],
)
def test_bare_numbers_refused(number, unit, message):
    assert said_by(from_number, number, unit, "mass") == message


def test_a_whole_number_too_long_for_python_to_print_is_refused_too():
    assert said_by(from_number, 10**5000, "kg", "mass") == "a number of at most 25 digits is expected"


def test_the_longest_bare_decimal_is_as_long_as_the_longest_text():
    digits = "0." + "0" * 23 + "1"
    assert from_number(Decimal(digits), "kg", "mass") == parse_quantity(f"{digits} kg", "mass")
    with pytest.raises(QuantityError):
        from_number(Decimal("0." + "0" * 24 + "1"), "kg", "mass")


@pytest.mark.parametrize(("number", "name"), [(1.5, "float"), (True, "bool"), ("5", "str")])
def test_what_is_no_exact_number_is_a_type_error(number, name):
    with pytest.raises(TypeError, match=f"^an int or a Decimal is expected, not {name}$"):
        from_number(number, "kg", "mass")


def test_units_by_dimension():
    assert units("mass") == ("kg", "g", "mg", "lb", "oz", "st", "t")
    assert units("length") == ("mm", "cm", "m", "in", "ft")
    assert units("volume") == ("L", "mL", "cm3", "m3", "in3", "US gal", "imp gal")
    assert units("power") == ("kW", "W", "hp", "PS")
    assert len(units("mass/power")) == 7 * 4
    assert len(units("mass/volume")) == 7 * 7
    assert units("mass/power")[:2] == ("kg/kW", "kg/W")


def test_currency_codes_are_three_capitals_in_order_without_repeats():
    codes = units("money")
    assert list(codes) == sorted(set(codes))
    assert all(re.fullmatch("[A-Z]{3}", code) for code in codes)
    assert {"EUR", "GBP", "USD", "JPY", "CHF", "SEK", "PLN", "AUD", "NZD", "ZAR", "BRL"} <= set(codes)
    assert not {"DEM", "FRF", "ITL", "HRK", "LTL"} & set(codes)  # gave way to the euro


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_every_unit_is_canonical_positive_and_goes_both_ways(dimension):
    for unit in units(dimension):
        assert canonical_unit(unit, dimension) == unit
        assert factor(unit, dimension) > 0
        assert in_unit(7 * factor(unit, dimension), unit, dimension) == 7


def test_every_ratio_is_the_ratio_of_its_units():
    for ratio in ("mass/power", "mass/volume"):
        below = ratio.partition("/")[2]
        for unit in units(ratio):
            upper, _, lower = unit.partition("/")
            assert factor(unit, ratio) * factor(lower, below) == factor(upper, "mass")


def test_no_unit_but_money_belongs_to_two_dimensions():
    seen = [unit for dimension in DIMENSIONS for unit in units(dimension)]
    assert len(seen) == len(set(seen))


def test_conversions_refuse_like_the_reader():
    expected = "a mass is expected, but mm is a length"
    assert said_by(factor, "mm", "mass") == expected
    assert said_by(canonical_unit, "mm", "mass") == expected
    assert said_by(in_unit, Fraction(1), "mm", "mass") == expected
    assert said_by(format_quantity, Fraction(1), "mm", "mass", 1) == expected
    assert said_by(canonical_unit, "", "mass") == '"" is no unit of mass: use kg, g, mg, lb, oz, st or t'


@pytest.mark.parametrize("call", [units, lambda name: parse_quantity("5 kg", name)])
@pytest.mark.parametrize("name", ["weight", "mass/length", "money/mass", ""])
def test_a_dimension_that_does_not_exist_is_a_plain_value_error(call, name):
    with pytest.raises(ValueError, match="there is no dimension") as raised:
        call(name)
    assert str(raised.value) == (
        f'there is no dimension "{name}": use mass, length, volume, power, money, mass/power or mass/volume'
    )
    assert not isinstance(raised.value, QuantityError)


@pytest.mark.parametrize(
    ("value", "unit", "dimension", "decimals", "text"),
    [
        (Fraction("6.078137758"), "lb", "mass", 1, "13.4 lb"),
        (Fraction(905), "kg", "mass", 0, "905 kg"),
        (Fraction(905), "kg", "mass", 3, "905.000 kg"),
        (Fraction("0.125"), "kg", "mass", 2, "0.12 kg"),  # half to even, down
        (Fraction("0.375"), "kg", "mass", 2, "0.38 kg"),  # half to even, up
        (Fraction("2.5"), "kg", "mass", 0, "2 kg"),
        (Fraction("3.5"), "kg", "mass", 0, "4 kg"),
        (Fraction("-2.5"), "kg", "mass", 0, "-2 kg"),
        (Fraction("2.5000000000000000000001"), "kg", "mass", 0, "3 kg"),
        (Fraction("-0.04"), "kg", "mass", 1, "0.0 kg"),
        (Fraction("-0.05"), "kg", "mass", 1, "0.0 kg"),
        (Fraction("-0.06"), "kg", "mass", 1, "-0.1 kg"),
        (-0.0, "kg", "mass", 1, "0.0 kg"),
        (0.125, "kg", "mass", 2, "0.12 kg"),
        (0.1, "kg", "mass", 1, "0.1 kg"),
        (1e21, "kg", "mass", 0, "1000000000000000000000 kg"),
        (Fraction("1.598"), "cc", "volume", 0, "1598 cm3"),
        (Fraction(140), "EUR", "money", 2, "140.00 EUR"),
        (Fraction("0.745"), "kg/m3", "mass/volume", 0, "745 kg/m3"),
        (Fraction(4000000000, 821993403), "lb/hp", "mass/power", 2, "8.00 lb/hp"),
    ],
)
def test_formatting_by_hand(value, unit, dimension, decimals, text):
    assert format_quantity(value, unit, dimension, decimals) == text


@given(st.fractions(-(10**6), 10**6), st.integers(0, 8))
def test_formatting_is_off_by_half_a_last_digit_at_most(value, decimals):
    text = format_quantity(value, "lb", "mass", decimals)
    shown = parse_quantity(text, "mass")
    assert abs(shown.value - value) <= shown.step / 2
    assert not (shown.value == 0 and text.startswith("-"))


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_formatting_refuses_what_is_not_finite(value):
    said = said_by(format_quantity, value, "kg", "mass", 1)
    assert said == f"a finite number of kg is expected, not {value}"


def test_formatting_refuses_fewer_than_no_decimals():
    with pytest.raises(ValueError, match=r"^decimals: zero or more is expected$"):
        format_quantity(Fraction(1), "kg", "mass", -1)


def test_a_quantity_cannot_be_changed():
    quantity = parse_quantity("5 kg", "mass")
    with pytest.raises(AttributeError):
        quantity.value = Fraction(6)


def test_reading_good_amounts_never_loads_the_name_matcher():
    script = (
        "import sys; from tarebook.quantities import parse_quantity; parse_quantity('5 kg', 'mass');"
        "print('difflib' in sys.modules, 'tarebook.names' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
