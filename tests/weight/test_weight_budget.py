"""The budget of a mass: its lines, what of the variance each brings, and all weighings together."""

import math
from fractions import Fraction

import pytest
from ledgers import car_of, random_ledger

from support import OnScales, car
from tarebook.weight.budget import budget_of, contributors
from tarebook.weight.build_mass import build_mass
from tarebook.weight.combined import agree, best_weights, combine
from tarebook.weight.ledger import Weighed
from tarebook.weight.measured import Measured, Share, total

ROOT_3, ROOT_12 = math.sqrt(3), math.sqrt(12)
TWO_PARTS = """
[[weighing]]
id = "w"
date = 2027-01-01
total = "900 kg"
fuel = "10 L"
[at_inspection]
fuel = "10 L"
[[part]]
id = "mat"
kind = "interior.floor.underlay"
estimate = { mass = "8 kg", within = "1.5 kg" }
[[part]]
id = "seat"
kind = "interior.seat.front.passenger"
mass = "15.2 kg"
[[part]]
id = "unweighed"
kind = "stowage.loose"
[[job]]
id = "strip"
state = "done"
date = 2027-02-01
off = ["mat", "seat"]
[[job]]
id = "more"
state = "planned"
off = ["unweighed"]
"""


def budget(body, build="now"):
    scales = OnScales(car(body), build)
    return budget_of(scales.ledger, scales.configuration)


def test_lines_come_by_their_share_of_the_variance():
    made = budget(TWO_PARTS)
    variance = (1 / ROOT_12) ** 2 + (1.5 / ROOT_3) ** 2 + (0.1 / ROOT_12) ** 2
    assert [(line.what, line.id, line.group, line.mass and float(line.mass.value)) for line in made.lines] == [
        ("part", "mat", None, -8.0),
        ("weighing", "w", "total", 900.0),
        ("part", "seat", None, -15.2),
    ]
    shares = [(1.5 / ROOT_3) ** 2, (1 / ROOT_12) ** 2, (0.1 / ROOT_12) ** 2]
    assert [line.share for line in made.lines] == pytest.approx([each / variance for each in shares], rel=1e-12)
    assert made.interval == pytest.approx(
        (876.8 - 1.959964 * math.sqrt(variance), 876.8 + 1.959964 * math.sqrt(variance)), abs=1e-6
    )


def test_an_unknown_line_leaves_the_mass_and_the_shares_unknown():
    made = budget(TWO_PARTS, "planned")
    assert (made.mass, made.interval, made.sources) == (None, None, [])
    assert [missing.sentence for missing in made.missing] == ['part "unweighed" was never weighed']
    assert {line.share for line in made.lines} == {None}
    assert [line.id for line in made.lines] == ["w", "mat", "seat", "unweighed"]


def test_what_makes_up_for_another_line_has_a_share_below_zero():
    body = TWO_PARTS.replace('fuel = "10 L"\n[at', 'fuel = "30 L"\n[at').replace('within = "1.5 kg"', 'within = "0 kg"')
    made = OnScales(car(body, fuel="petrol"))
    lines = {line.mass and line.mass.value: line.share for line in budget_of(made.ledger, made.configuration).lines}
    then, now = lines[-30 * Fraction("0.7475")], lines[10 * Fraction("0.7475")]
    # Both hang on one density: -30 and +10 parts of it, of which -20 are left.
    assert then is not None and now is not None
    assert (now < 0 < then, now / then) == (True, pytest.approx(-1 / 3, rel=1e-12))


@pytest.mark.parametrize("seed", range(0, 200, 5))
def test_the_shares_make_one(seed):
    scales = OnScales(car_of(random_ledger(seed)))
    made = budget_of(scales.ledger, scales.configuration)
    assert math.fsum(line.share or 0.0 for line in made.lines) == pytest.approx(1, abs=1e-9)
    assert math.fsum(source.share for source in made.sources) == pytest.approx(1, abs=1e-9)
    assert made.mass is not None
    assert math.fsum(share for _, share in contributors(made.mass)) == pytest.approx(1, abs=1e-9)


def test_contributors_are_things_with_all_their_sources():
    mass = Measured(
        Fraction(1),
        {
            "readings of weighing w front": Share(3.0, 2),
            "resolution of weighing w rear": Share(4.0),
            "readings of p": Share(2.0, 1),
            "resolution of p": Share(1.0),
            "estimate of p after thin": Share(5.0),
            "density of petrol": Share(-3.0),
            "scale s": Share(0.0),
        },
    )
    assert [(name, round(64 * share)) for name, share in contributors(mass)] == [
        ("p after thin", 25),
        ("weighing w", 25),
        ("density of petrol", 9),
        ("p", 5),
    ]


# ---- Weighings together ------------------------------------------------------------------------------------


def test_independent_weighings_are_weighted_by_their_variances():
    masses = [Measured(Fraction(900), {"a": Share(0.5)}), Measured(Fraction(902), {"b": Share(1.0)})]
    weights = best_weights(masses)
    assert weights == [Fraction(4, 5), Fraction(1, 5)]
    both = total(mass.times(weight) for mass, weight in zip(masses, weights, strict=True))
    assert both.value == Fraction("900.4")
    assert both.u == pytest.approx(1 / math.sqrt(1 / 0.5**2 + 1 / 1.0**2), rel=1e-12)


def test_what_weighings_have_in_common_is_not_averaged_away():
    masses = [Measured(Fraction(900), {name: Share(0.3), "scale": Share(0.4)}) for name in "abc"]
    weights = best_weights(masses)
    assert weights == [Fraction(1, 3)] * 3
    both = total(mass.times(weight) for mass, weight in zip(masses, weights, strict=True))
    assert both.u == pytest.approx(math.sqrt(0.3**2 / 3 + 0.4**2), rel=1e-12)


def test_weights_against_the_general_formula():
    numpy = pytest.importorskip("numpy")
    generator = numpy.random.default_rng(11)
    for _ in range(20):
        effects = generator.normal(size=(4, 6))
        masses = [
            Measured(Fraction(0), {f"s{index}": Share(float(each)) for index, each in enumerate(row)})
            for row in effects
        ]
        covariance = effects @ effects.T
        raw = numpy.linalg.solve(covariance, numpy.ones(4))
        weights = best_weights(masses)
        assert weights is not None and sum(weights) == 1
        assert [float(each) for each in weights] == pytest.approx(list(raw / raw.sum()), rel=1e-6)


def test_where_no_weights_are_best_there_are_none():
    sure = Measured(Fraction(900), {})
    assert best_weights([sure, sure]) is None
    same = Measured(Fraction(900), {"a": Share(0.5)})
    assert best_weights([same, same]) is None


def test_agreement_leaves_out_what_is_common():
    one = Measured(Fraction(900), {"scale": Share(5.0), "a": Share(0.3)})
    other = Measured(Fraction(901), {"scale": Share(5.0), "b": Share(0.4)})
    assert not agree(one, other)  # 1 kg apart, of which the readings explain 1.96 x 0.5 kg
    assert agree(one, total([other, Measured(Fraction("-0.05"), {})]))


def weighings(*readings):
    body = '[at_inspection]\nfuel = "empty"\n'
    for index, reading in enumerate(readings, 1):
        body += f'[[weighing]]\nid = "w{index}"\ndate = 2027-01-0{index}\nfuel = "empty"\ntotal = "{reading} kg"\n'
    made = OnScales(car(body))
    return combine(made.ledger, made.configuration, Weighed())


def test_weighings_that_agree_are_combined_from_the_newest_back():
    both = weighings("900", "950", "900.4")
    assert both is not None
    assert list(both.weights) == ["w3", "w1"]
    assert both.weights == pytest.approx({"w3": 100 / 101, "w1": 1 / 101})  # resolutions of 0.1 and 1 kg
    assert both.apart == ("w2",)
    assert float(both.mass.value) == pytest.approx(900 + 0.4 * 100 / 101, rel=1e-12)


@pytest.mark.parametrize("readings", [(), ("900.0",), ("900.0", "905.0")])
def test_fewer_than_two_that_agree_are_not(readings):
    assert weighings(*readings) is None


def test_a_build_has_its_budget_balance_and_weighings_together():
    body = TWO_PARTS + '[[weighing]]\nid = "later"\ndate = 2027-03-01\ntotal = "877 kg"\nfuel = "10 L"\n'
    made = build_mass(OnScales(car(body)).ledger, "now")
    assert made.budget.mass is not None and made.budget.mass.value == 877
    assert made.combined is not None and list(made.combined.weights) == ["later", "w"]
    assert made.balance.front_share is None
    with pytest.raises(KeyError):
        build_mass(OnScales(car(body)).ledger, "winter")
