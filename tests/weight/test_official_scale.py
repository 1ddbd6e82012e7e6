"""The official's scale: one more independent source of every mass of the car that a limit is compared with."""

import math

import pytest

from support import book, car, judged, limit, rules
from tarebook.proofread.examples import run_examples
from tarebook.toml_source import MistakesFound

ROOT_12 = math.sqrt(12)
HALF = "1.7320508075688772935 kg"  # a resolution d has u = d / sqrt(12): this one 0.5 kg


def weighed_car(reading="1001 kg", official="", more=""):
    return car(
        f'[[scale]]\nid = "s"\nresolution = "{HALF}"\n'
        f'[[weighing]]\nid = "w"\ndate = 2027-01-01\nscale = "s"\nfuel = "empty"\n{_readings(reading)}\n'
        f'[at_inspection]\nfuel = "empty"\n{official}\n{more}',
        wheelbase="2400 mm",
    )


def _readings(reading):
    return reading if "=" in reading else f'total = "{reading}"'


def weight(more="", keys='minimum = "1000 kg"'):
    return rules(f'[class.weight]\nclause = "2"\ndriver = "out"\n{keys}\n{more}', silence="permits")


CAR_STATES = 'official_scale = "1.2 kg"'
CLASS_STATES = 'scale_u = "0.3 kg"'


@pytest.mark.parametrize(
    ("of_the_car", "of_the_class", "u"),
    [
        ("", "", 0.5),
        (CAR_STATES, "", math.hypot(0.5, 1.2)),
        ("", CLASS_STATES, math.hypot(0.5, 0.3)),
        (CAR_STATES, CLASS_STATES, math.hypot(0.5, 0.3)),  # the class's wins
        (CAR_STATES, 'scale_u = "0 kg"', 0.5),
    ],
)
def test_it_adds_to_the_mass_in_quadrature(of_the_car, of_the_class, u):
    answer = limit(judged(weighed_car(official=of_the_car), weight(of_the_class)))
    assert answer.mass_u_kg == pytest.approx(u, abs=1e-12)
    assert (answer.mass_kg, answer.limit_kg, answer.margin_kg) == (1001, 1000, 1)


def test_it_can_make_a_sure_margin_too_close_and_the_finding_says_so():
    row = judged(weighed_car(), weight(CLASS_STATES))
    assert (judged(weighed_car(), weight()).verdict, row.verdict) == ("eligible", "too-close")
    (finding,) = [each for each in row.findings if each.result == "too-close"]
    assert finding.sentence == (
        "1001 kg is 1 kg over the minimum of 1000 kg: too close to call, as the mass is uncertain by 1.1 kg"
        " with the official's scale."
    )


def test_an_allowance_moves_the_limit_and_leaves_the_uncertainty():
    plain, allowed = (
        limit(judged(weighed_car(), weight(f"{CLASS_STATES}\n{more}"))) for more in ("", 'allowance = "2 kg"')
    )
    assert (plain.limit_kg, allowed.limit_kg) == (1000, 998)
    assert plain.mass_u_kg == allowed.mass_u_kg


def test_each_axle_stands_on_it_too():
    axles = weighed_car('axles = { front = "600 kg", rear = "400 kg" }', CAR_STATES)
    row = judged(axles, weight(keys='minimum = "900 kg"\nfront_axle = { least = "500 kg" }'))
    assert limit(row, "front_axle").mass_u_kg == pytest.approx(math.hypot(0.5, 1.2), abs=1e-12)
    assert limit(row, "minimum").mass_u_kg == pytest.approx(math.sqrt(0.5**2 + 0.5**2 + 1.2**2), abs=1e-12)


def test_a_further_limit_takes_it_from_the_weight_and_may_state_its_own():
    further = (
        '\n[[class.limit]]\nclause = "3"\nmaximum = "1100 kg"\n'
        '[[class.limit]]\nclause = "4"\nmaximum = "1200 kg"\nscale_u = "2 kg"\n'
    )
    row = judged(weighed_car(), weight(CLASS_STATES + further))
    assert limit(row, "maximum", "3").mass_u_kg == pytest.approx(math.hypot(0.5, 0.3), abs=1e-12)
    assert limit(row, "maximum", "4").mass_u_kg == pytest.approx(math.hypot(0.5, 2), abs=1e-12)


def test_a_class_like_another_takes_it_or_states_its_own():
    head = '\n[[class]]\nid = "other"\ntitle = "Other"\nlike = "club"\n'
    for own, u in (("", 0.3), ('[class.weight]\nscale_u = "0.4 kg"\n', 0.4)):
        text = book(
            '[[class]]\nid = "club"\ntitle = "Club"\n[class.weight]\nclause = "2"\ndriver = "out"\n'
            f'minimum = "1000 kg"\n{CLASS_STATES}\n{head}{own}',
            silence="permits",
        )
        answer = limit(judged(weighed_car(), text, class_id="other"))
        assert answer.mass_u_kg == pytest.approx(math.hypot(0.5, u), abs=1e-12)


def test_parts_are_not_put_on_it():
    stripped = weighed_car(
        official=CAR_STATES,
        more='[[part]]\nid = "p"\nkind = "interior.floor.carpet"\nmass = "6.0 kg"\n'
        '[[job]]\nid = "out"\nstate = "done"\ndate = 2027-02-01\noff = ["p"]\n',
    )
    taken_off = '\n[[class.limit]]\nclause = "3"\ntaken_off = ["interior"]\nmaximum = "10 kg"\n'
    answer = limit(judged(stripped, weight(CLASS_STATES + taken_off)), "taken_off")
    assert answer.mass_u_kg == pytest.approx(0.1 / ROOT_12, abs=1e-12)
    close = judged(stripped, weight(CLASS_STATES + taken_off.replace("10 kg", "6 kg")))
    (finding,) = [each for each in close.findings if each.result == "too-close"]
    assert finding.sentence == (
        "6 kg is 0 kg under the limit of 6 kg on what came off: too close to call, as the mass is uncertain by 0.1 kg."
    )


def test_it_does_not_go_with_a_limit_on_what_came_off():
    with pytest.raises(MistakesFound) as found:
        weight(f'\n[[class.limit]]\nclause = "3"\ntaken_off = ["interior"]\nmaximum = "10 kg"\n{CLASS_STATES}\n')
    assert [each.message for each in found.value.mistakes] == [
        '"scale_u" does not go with taken_off: nothing is put on a scale'
    ]


def test_a_mass_that_an_example_states_is_what_that_scale_reads():
    text = (
        f'[[class]]\nid = "club"\ntitle = "Club"\n[class.weight]\nclause = "2"\ndriver = "out"\n{CLASS_STATES}\n'
        'minimum = "1000 kg"\n[[example]]\ntitle = "Just enough"\nclass = "club"\nmass = "1000 kg"\n'
        'expect = "met"\nclause = "2"\n'
    )
    (result,) = run_examples(book(text, silence="permits"))
    assert (result.passed, result.sentence) == (True, "")
