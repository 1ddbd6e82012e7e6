"""Conditions, part bounds and limits in words."""

from fractions import Fraction

import pytest

from support import rules
from tarebook.meaning.words import amount_text, condition_text, limit_text, number_text, part_text, units_of

HEAD = '[units]\nmass = "lb"\nmoney = "EUR"\n[[fact]]\nid = "spent"\ntype = "money"\ntitle = "What was spent"\n'


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (
            "{ displacement = { over = '1400 cm3', up_to = '1600 cm3' }, fitted = 'safety.cage' }",
            "displacement over 1400 cm3 and up to 1600 cm3, and roll cage fitted",
        ),
        ("{ displacement = { least = '1.4 L', under = '2 L' } }", "displacement at least 1400 cm3 and under 2000 cm3"),
        ("{ seats = { least = 4, most = 4 } }", "seats 4"),
        ("{ seats = [2, 4] }", "seats 2 or 4"),
        ("{ aspiration = ['turbo', 'twin-charged', 'natural'] }", "aspiration turbo, twin-charged or natural"),
        ("{ open_top = true }", "open top: yes"),
        ("{ not = { open_top = false } }", "not (open top: no)"),
        (
            "{ any = [{ seats = 4 }, { seats = 2, doors = 3 }] }",
            "seats 4, or (seats 2, and doors 3)",
        ),
        ("{ as_made = { seats = { least = 4 } } }", "as made (seats at least 4)"),
        ("{ first_registered = { under = 2000-01-01 } }", "first registered under 2000-01-01"),
        ("{ first_registered = { age = { over = 25 } } }", "first registered over 25 years ago"),
        ("{ removed = ['body.bonnet', 'interior.dash'] }", "bonnet or dashboard removed"),
        ("{ off = 'everything' }", "everything removed or swapped"),
        ("{ from_factory = 'body.bonnet' }", "bonnet there from the factory"),
        ("{ track_rear = { up_to = { as_made = 'track_front' } } }", "rear track up to front track as made"),
        (
            "{ track_rear = { up_to = { as_made = 'track_front', plus = '-5 mm' } } }",
            "rear track up to front track as made less 5 mm",
        ),
        (
            "{ rim_width = { over = { as_made = 'rim_width', plus = '1 in' } } }",
            "rim width over rim width as made plus 1 in",
        ),
        ("{ spent = { most = '300 EUR' } }", "what was spent up to 300 EUR"),
        ("{ noise = { most = 98.5 } }", "noise up to 98.5 dB(A)"),
    ],
)
def test_conditions_in_words(written, words):
    read = rules(f'[[class.enter]]\nclause = "2"\nmust = {written}', before=HEAD)
    node = read.nodes["class", 0, "enter", 0, "must"]
    assert condition_text(node, read.facts, read.tree, units_of(read)) == words


def test_no_condition_in_words():
    read = rules()
    assert condition_text(None, read.facts, read.tree, units_of(read)) == "always"


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("{ weighs = { least = '5 lb' }, material_not = ['magnesium'] }", "of at least 5 lb, not of magnesium"),
        ("{ share_of_original = { least = 0.5 } }", "of at least 0.5 of the original's mass"),
        ("{ share_removed = { most = 0.15 } }", "with up to 0.15 of its mass taken off"),
        ("{ weight_removed = { over = '1 lb', up_to = '2 lb' } }", "with over 1 lb and up to 2 lb taken off"),
        ("{ thickness = { least = '3 mm' }, material = ['glass', 'steel'] }", "at least 3 mm thick, of glass or steel"),
        ("{ material = 'as-original', origin = 'factory' }", "from the factory, of the original's material"),
        (
            "{ origin = 'aftermarket', approval = ['one', 'two'], years = 'model_year' }",
            "from the aftermarket, made for the car's model year, approved to one or two",
        ),
        (
            "{ at = { over = '-1 m' }, behind = 'driver', within = 'wheelbase', place = 'stowage.jack' }",
            "over -1000 mm behind the front axle, behind the driver, within the wheelbase, in jack",
        ),
    ],
)
def test_part_bounds_in_words(written, words):
    read = rules(f'[[class.ban]]\nclause = "2"\nkinds = ["body"]\ndoes = "anything"\npart = {written}', before=HEAD)
    assert part_text(read.file.class_[0].ban[0].part, read.tree, units_of(read)) == words


def test_no_part_bounds_in_words():
    read = rules()
    assert part_text(None, read.tree, units_of(read)) == ""


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ("'930 kg'", "930 kg"),
        ("'2050.5 lb'", "2050.5 lb"),
        (
            "{ by = 'displacement', over_up_to = "
            "[['0 L', '1.4 L', '840 lb'], ['1.4 L', '1.6 L', '900 lb'], ['1.6 L', '990 lb']] }",
            "by displacement: up to 1400 cm3 840 lb, over 1400 cm3 and up to 1600 cm3 900 lb, over 1600 cm3 990 lb",
        ),
        (
            "{ by = 'driven_wheels', cases = { front = '900 lb' }, otherwise = '990 lb' }",
            "by driven wheels: front 900 lb, otherwise 990 lb",
        ),
        ("{ per = 'power', rate = '11 kg/kW', least = '1500 lb' }", "11 kg/kW of power, and at least 1500 lb"),
        ("{ per = 'displacement', rate = '500 kg/L' }", "500 kg/L of displacement"),
        ("{ fact = 'kerb_mass', times = 0.95, plus = '-20 lb' }", "0.95 of listed kerb mass less 20 lb"),
        ("{ fact = 'kerb_mass', plus = '20 lb' }", "listed kerb mass plus 20 lb"),
    ],
)
def test_limits_in_words(written, words):
    read = rules(f"[class.weight]\nclause = '2'\ndriver = 'out'\nminimum = {written}", before=HEAD)
    spec = read.limits["class", 0, "weight", "minimum"]
    assert limit_text(spec, read.facts, units_of(read)) == words


def test_the_sum_of_the_axle_limits_in_words():
    read = rules(
        "[class.weight]\nclause = '2'\ndriver = 'out'\nminimum = { axles = true }\n"
        "front_axle = { least = '500 lb' }\nrear_axle = { least = '400 lb' }",
        before=HEAD,
    )
    spec = read.limits["class", 0, "weight", "minimum"]
    assert limit_text(spec, read.facts, units_of(read)) == "the sum of the axle limits"


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(0), "0"),
        (Fraction(-5, 2), "-2.5"),
        (Fraction(1, 1000), "0.001"),
        (Fraction(100), "100"),
        (Fraction(1, 3), "about 0.333333"),
        (Fraction(-1, 8), "-0.125"),
    ],
)
def test_numbers_in_words(value, text):
    assert number_text(value) == text


def test_an_amount_that_its_unit_cannot_write_out_is_told_in_the_base_unit():
    assert amount_text(Fraction(930), "mass", "lb") == "930 kg"
    assert amount_text(Fraction("0.45359237") * 3, "mass", "lb") == "3 lb"
    assert amount_text(Fraction(1), "volume", "cc") == "1000 cm3"
    assert amount_text(Fraction(5), "money", None) == "5"
