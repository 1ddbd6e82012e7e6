"""Questions about masses that look like a slip."""

from fractions import Fraction

import pytest

from tarebook.car.plausible import against_earlier, questions
from tarebook.kinds import Kind, builtin
from tarebook.quantities import parse_quantity

MAT = "interior.floor.boot-carpet"  # 0.8 to 4 kg in the tree
MUCH = f"is much for {MAT}, which as a whole mostly weighs 0.8 to 4 kg: "
LITTLE = f"is little for {MAT}, which as a whole mostly weighs 0.8 to 4 kg: "


def asked(*texts, kind=MAT, tree=None, pieces=1):
    return questions(kind, [parse_quantity(text, "mass") for text in texts], tree or builtin(), pieces=pieces)


@pytest.mark.parametrize("text", ["0.8 kg", "4 kg", "0.4 kg", "8 kg", "3.5 lb", "1660 g", "1.66 kg"])
def test_what_is_in_range_or_near_is_not_questioned(text):
    assert asked(text) == []


@pytest.mark.parametrize(
    ("text", "question"),
    [
        ("16.6 kg", f'"16.6 kg" {MUCH}did you mean "1.66 kg" (a decimal point slipped)?'),
        ("166 kg", f'"166 kg" {MUCH}did you mean "1.66 kg" (a decimal point slipped)?'),
        (
            "8.5 kg",
            f'"8.5 kg" {MUCH}did you mean "8.5 lb" (another unit) or "0.85 kg" (a decimal point slipped)?',
        ),
        ("1660 kg", f'"1660 kg" {MUCH}did you mean "1660 g" (another unit)?'),
        ("0.166 kg", f'"0.166 kg" {LITTLE}did you mean "1.66 kg" (a decimal point slipped)?'),
        ("1.66 g", f'"1.66 g" {LITTLE}did you mean "1.66 kg" (another unit)?'),
        ("0.86 lb", f'"0.86 lb" {LITTLE}did you mean "0.86 kg" (another unit) or "8.6 lb" (a decimal point slipped)?'),
        ("60 kg", f'"60 kg" {MUCH}is it right?'),
        ("0 kg", f'"0 kg" {LITTLE}is it right?'),
    ],
)
def test_what_is_far_outside_is_questioned_with_the_likely_cause(text, question):
    assert asked(text) == [question]


def test_one_question_about_the_range_is_enough():
    assert len(asked("16.6 kg", "16.7 kg")) == 1


def test_pieces_are_counted_together():
    assert asked("1 kg", pieces=4) == []
    assert asked("0.15 kg", pieces=2) == [
        f'"0.15 kg" for each of them {LITTLE}did you mean "1.5 kg" (a decimal point slipped)?'
    ]


@pytest.mark.parametrize(
    ("texts", "question"),
    [
        (
            ("1.66 kg", "16.6 kg"),
            '"1.66 kg" and "16.6 kg" differ tenfold, as if a decimal point had slipped: are both right?',
        ),
        (
            ("166 kg", "1.68 kg"),
            '"1.68 kg" and "166 kg" differ a hundredfold, as if a decimal point had slipped: are both right?',
        ),
        (
            ("1.66 kg", "1.66 g"),
            '"1.66 g" and "1.66 kg" differ a thousandfold, as grams and kilograms do: are both right?',
        ),
        (("1.66 kg", "3.66 kg"), '"1.66 kg" and "3.66 kg" differ as pounds and kilograms do: are both right?'),
        (("1 kg", "4 kg"), '"1 kg" and "4 kg" differ a great deal: are both right?'),
        (("0 kg", "4 kg"), '"0 kg" and "4 kg" differ a great deal: are both right?'),
    ],
)
def test_readings_of_one_thing_that_are_far_apart_are_questioned(texts, question):
    assert asked(*texts, kind="") == [question]


def test_readings_that_agree_are_not_questioned():
    assert asked("1 kg", "2 kg", kind="") == []
    assert asked("3.66 lb", "1.66 kg", kind="") == []
    assert asked(kind="") == [] == asked()


def test_a_kind_without_a_range_is_not_questioned():
    own = Kind("interior.dash.clock", "Clock", "always", own=True)
    assert asked("900 kg", kind=own.path, tree=builtin().extended([own])) == []
    assert asked("900 kg", kind="no.such.kind") == []


def test_a_whole_car_is_compared_with_what_it_weighed():
    before = [Fraction(900), Fraction(860)]
    assert against_earlier(Fraction(850), before) == []
    assert against_earlier(Fraction(850), []) == []
    assert against_earlier(Fraction(1900), before) == [
        "the car would weigh 1900.0 kg in all, and weighed 860.0 kg before: is it right?"
    ]
    assert against_earlier(Fraction(390), before) == [
        "the car would weigh 390.0 kg in all, and weighed 860.0 kg before: is it right?"
    ]


def test_every_range_of_the_tree_is_free_of_questions():
    tree = builtin()
    ranged = [kind for kind in map(tree.get, tree.paths()) if kind.mass_range is not None]
    assert len(ranged) > 100
    for kind in ranged:
        for grams in kind.mass_range:
            assert asked(f"{grams * 1000} g", kind=kind.path) == []
