"""Chances and verdicts near a limit against JCGM 106:2012, ILAC-G8:09/2019, tables, and an independent library.

Each figure says whether it was read (READ), read in a page that quotes it (SECOND), recalled and computed again
(MEMORY), or computed by us (DERIVED).
"""

import math
from fractions import Fraction

import numpy as np
import pytest
from scipy import stats

from support import car, decimal, judged, limit, rules
from tarebook.judge.findings import BAD, CLOSE, FINE
from tarebook.judge.limits import judge_margin
from tarebook.weight.student import chance_below, quantile

INFINITE = math.inf
# A resolution d has u = d / sqrt(12): this one has u = 0.5 kg (to 1e-17).
RESOLUTION_OF_HALF = "1.7320508075688772935 kg"
MINIMUM = rules('weight = { clause = "2", driver = "out", minimum = "1000 kg" }', silence="permits")


def on_the_scale(total, resolution=RESOLUTION_OF_HALF):
    return car(
        f"""scale = [{{ id = "s", resolution = "{resolution}" }}]
        weighing = [{{ id = "w", date = 2027-01-01, scale = "s", fuel = "empty", total = {total} }}]
        at_inspection = {{ fuel = "empty" }}"""
    )


def test_c1_upper_limit():
    # C1, JCGM 106 section 7, MEMORY: upper limit -5.40, y = -5.47, u = 0.05: printed 0.92.
    bad, chance = judge_margin(Fraction("-5.40") - Fraction("-5.47"), 0.05, INFINITE, 0.975)
    assert chance == pytest.approx(0.92, abs=0.005)
    assert chance == pytest.approx(0.919243, abs=5e-7)
    assert bad == CLOSE
    assert judge_margin(Fraction("0.07"), 0.05, INFINITE, 0.90)[0] == FINE


def test_c2_lower_limit():
    # C2, JCGM 106 section 7, MEMORY: lower limit 490, y = 509.7, u = 8.6: printed 0.99.
    bad, chance = judge_margin(Fraction("509.7") - 490, 8.6, INFINITE, 0.975)
    assert chance == pytest.approx(0.99, abs=0.005)
    assert chance == pytest.approx(0.989010, abs=5e-7)
    assert bad == FINE


def test_c1_as_a_rule_set():
    # C1 mirrored into masses (MEMORY): a maximum 0.07 kg above the reading, u = 0.05 kg.
    tenth = decimal(Fraction("1.7320508075688772935") / 10)
    row = judged(
        on_the_scale('"999.93 kg"', f"{tenth} kg"),
        rules('weight = { clause = "2", driver = "out", maximum = "1000 kg" }'),
    )
    answer = limit(row, "maximum")
    assert (answer.mass_u_kg, answer.margin_kg) == (pytest.approx(0.05, abs=1e-12), pytest.approx(0.07))
    assert answer.chance == pytest.approx(0.919243, abs=5e-7)
    assert row.verdict == "too-close"


def test_c2_as_a_rule_set_with_the_official_scale():
    # C2 mirrored into masses (MEMORY): a minimum of 490 kg, 509.7 kg, u = 8.6 kg, of which the official's scale has 8.
    own = decimal(Fraction(round(math.sqrt(8.6**2 - 8**2) * math.sqrt(12) * 10**12), 10**12))
    row = judged(
        on_the_scale('"509.7 kg"', f"{own} kg"),
        rules('weight = { clause = "2", driver = "out", minimum = "490 kg", scale_u = "8 kg" }', silence="permits"),
    )
    answer = limit(row)
    assert (answer.mass_u_kg, answer.margin_kg) == (pytest.approx(8.6, abs=1e-9), pytest.approx(19.7))
    assert answer.chance == pytest.approx(0.989010, abs=5e-7)
    assert row.verdict == "eligible"


# C7, table of the normal distribution: one-sided share and its point.
NORMAL = [
    (0.80, 0.84162),
    (0.90, 1.28155),
    (0.95, 1.64485),
    (0.975, 1.95996),
    (0.99, 2.32635),
    (0.999, 3.09023),
]


@pytest.mark.parametrize(("share", "point"), NORMAL)
def test_c7_normal_points(share, point):
    assert quantile(share, INFINITE) == pytest.approx(point, abs=5e-6)
    assert chance_below(point, INFINITE) == pytest.approx(share, abs=5e-6)


@pytest.mark.parametrize(("share", "point"), NORMAL)
def test_c7_is_where_the_verdicts_part(share, point):
    # The guard band at confidence p is z(p) u on either side of the limit.
    assert judge_margin(Fraction(point + 1e-4), 1.0, INFINITE, share)[0] == FINE
    assert judge_margin(Fraction(point - 1e-4), 1.0, INFINITE, share)[0] == CLOSE
    assert judge_margin(Fraction(-point + 1e-4), 1.0, INFINITE, share)[0] == CLOSE
    assert judge_margin(Fraction(-point - 1e-4), 1.0, INFINITE, share)[0] == BAD


@pytest.mark.parametrize(
    ("reading", "chance", "verdict"),
    [
        # C8, DERIVED: minimum 1000 kg, u = 0.5 kg. At 97.5 % confidence the band is 1.95996 u = 0.97998 kg each way.
        ("999", 0.02275, "not-eligible"),
        ("999.5", 0.15866, "too-close"),
        ("1000", 0.5, "too-close"),
        ("1000.5", 0.84134, "too-close"),
        ("1001", 0.97725, "eligible"),
    ],
)
def test_c8_verdicts_across_a_minimum(reading, chance, verdict):
    row = judged(on_the_scale(f'"{reading} kg"'), MINIMUM)
    answer = limit(row)
    assert answer.mass_u_kg == pytest.approx(0.5, abs=1e-12)
    assert answer.chance == pytest.approx(chance, abs=5e-6)
    assert (row.verdict, answer.verdict) == (verdict, verdict)


def test_c8_the_interval_printed_with_the_margin():
    # C7 and C8: margin 1 kg, 95 % interval 1 +- 1.95996 x 0.5 kg.
    answer = limit(judged(on_the_scale('"1001 kg"'), MINIMUM))
    assert answer.margin_low_kg == pytest.approx(1 - 0.97998, abs=5e-6)
    assert answer.margin_high_kg == pytest.approx(1 + 0.97998, abs=5e-6)


def test_c5_the_risk_of_a_false_pass():
    # C5, ILAC-G8:09/2019, SECOND: a guard band of U (k = 2) leaves a risk below 2.5 % (0.02275); deciding on the bare
    # reading leaves up to 50 %.
    guarded, bare = (judge_margin(Fraction(margin), 0.5, INFINITE, share) for margin, share in ((1, 0.975), (0, 0.5)))
    assert guarded[0] == FINE and 1 - guarded[1] == pytest.approx(0.02275, abs=5e-6)
    assert bare[0] == FINE and 1 - bare[1] == pytest.approx(0.5, abs=1e-12)


def test_c9_few_readings_widen_the_band():
    # C9, DERIVED: Student's t with 4 degrees of freedom at +2 u: 0.94194. Five readings about 1001 kg with
    # s / sqrt(5) = 0.5 kg; the resolution is too fine to count.
    readings = '["1002.5 kg", "999.5 kg", "1001.5 kg", "1000.5 kg", "1001.0 kg"]'
    row = judged(on_the_scale(readings, "1 mg"), MINIMUM)
    answer = limit(row)
    assert answer.mass_u_kg == pytest.approx(0.5, abs=1e-9)
    assert answer.chance == pytest.approx(0.94194, abs=5e-6)
    assert chance_below(2.0, 4) == pytest.approx(0.94194, abs=5e-6)
    assert row.verdict == "too-close"
    assert judged(on_the_scale(readings, "1 mg"), MINIMUM, confidence=0.94).verdict == "eligible"
    # One reading with the same u would have passed (C8).
    assert judged(on_the_scale('"1001 kg"'), MINIMUM).verdict == "eligible"


DEGREES = [0.5, 0.7, 1, 1.5, 2, 3, 4, 5.5, 8, 13, 16.7, 25, 50, 99, 250, 1e3, 3.3e3, 1e4, 1e5, 1e6]
POINTS = [*np.linspace(-50, 50, 101), -7.7, -2.21, -0.31, -0.01, 0.01, 0.31, 2.21, 7.7]


@pytest.mark.parametrize("degrees", DEGREES)
def test_student_distribution_against_scipy(degrees):
    for t in POINTS:
        expected = float(stats.t.cdf(t, degrees))
        assert chance_below(float(t), degrees) == pytest.approx(expected, rel=1e-7, abs=1e-12), t


@pytest.mark.parametrize("degrees", DEGREES)
def test_student_tail_against_scipy(degrees):
    # Far out, where a chance is tiny, it must still be right relative to its size.
    for t in (-50.0, -20.0, -8.0, -4.0):
        expected = float(stats.t.cdf(t, degrees))
        if expected > 1e-290:
            assert chance_below(t, degrees) == pytest.approx(expected, rel=1e-6), t


@pytest.mark.parametrize("degrees", DEGREES)
def test_student_points_against_scipy(degrees):
    for share in (0.55, 0.84, 0.9, 0.95, 0.975, 0.99, 0.995, 0.999):
        assert quantile(share, degrees) == pytest.approx(float(stats.t.ppf(share, degrees)), rel=1e-7), share


@pytest.mark.parametrize("degrees", DEGREES)
def test_student_is_symmetric_and_rises(degrees):
    chances = [chance_below(float(t), degrees) for t in sorted(POINTS)]
    assert chances == sorted(chances)
    for t in (0.01, 0.5, 2.0, 30.0):
        assert chance_below(t, degrees) + chance_below(-t, degrees) == pytest.approx(1, abs=1e-12)
    # At zero a half; where 1 + t^2 / nu rounds to 1 the chance may be that of zero, off by no more than 4e-7.
    assert chance_below(0.0, degrees) == pytest.approx(0.5, abs=1e-12)
    assert chance_below(1e-6, degrees) == pytest.approx(float(stats.t.cdf(1e-6, degrees)), abs=4e-7)
