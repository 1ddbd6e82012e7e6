"""Ballast for a share on the front axle or a least load of an axle: exact, and impossible where it is."""

import math
import random
from fractions import Fraction

import pytest

from tarebook.weight.ballasting import Ballast, Wish, ballast_at, for_axle, for_share, place_for
from tarebook.weight.measured import Measured, Share

WHEELBASE = Fraction(2400)


def kg(value, **sources: float) -> Measured:
    return Measured(Fraction(value), {name: Share(u) for name, u in sources.items()})


def share_wish(front, rear, share) -> Wish:
    return for_share(kg(front), kg(front + rear), Fraction(share))


def solved(ballast: Ballast) -> tuple[Fraction, Fraction]:
    assert ballast.trouble is None
    assert ballast.mass is not None and ballast.at is not None
    return ballast.mass.value, ballast.at.value


def test_how_much_at_a_place():
    # 500 + 500 kg; over the front axle B brings (500 + B) / (1000 + B) = 3/5 with B = 250.
    assert solved(ballast_at(share_wish(500, 500, "3/5"), Fraction(0), WHEELBASE)) == (250, 0)


def test_where_for_a_mass():
    # 100 kg more must bring 60 % of 1100, 660 kg, to the front: 160 kg of load by 100 kg, 0.6 wheelbases ahead.
    assert solved(place_for(share_wish(500, 500, "3/5"), Fraction(100), WHEELBASE)) == (100, -1440)


@pytest.mark.parametrize("seed", range(50))
def test_with_the_ballast_the_share_is_the_one_wished_for(seed):
    pick = random.Random(seed)
    front, rear = Fraction(pick.randint(3000, 7000), 10), Fraction(pick.randint(3000, 7000), 10)
    share = Fraction(pick.randint(300, 700), 1000)
    for ballast in (
        ballast_at(share_wish(front, rear, share), Fraction(pick.randint(-800, 3200)), WHEELBASE),
        place_for(share_wish(front, rear, share), Fraction(pick.randint(1, 300)), WHEELBASE),
    ):
        if ballast.trouble is None:
            mass, at = solved(ballast)
            assert mass >= 0
            assert front + mass * (1 - at / WHEELBASE) == share * (front + rear + mass)


def test_wrong_side():
    wish = share_wish(500, 500, "3/5")
    assert ballast_at(wish, Fraction(2400), WHEELBASE).trouble == "wrong-side"
    assert ballast_at(share_wish(700, 300, "3/5"), Fraction(0), WHEELBASE).trouble == "wrong-side"
    assert solved(ballast_at(share_wish(700, 300, "3/5"), WHEELBASE, WHEELBASE)) == (Fraction(500, 3), 2400)


def test_no_effect_where_the_centre_is_to_be():
    # At 40 % of the wheelbase, ballast adds 60 % of itself to the front: it never reaches that share.
    assert ballast_at(share_wish(500, 500, "3/5"), Fraction(960), WHEELBASE).trouble == "no-effect"


def test_already_there():
    ballast = ballast_at(share_wish(600, 400, "3/5"), Fraction(0), WHEELBASE)
    assert ballast.met
    assert solved(ballast) == (0, 0)


def test_no_mass_reaches_nothing():
    assert place_for(share_wish(500, 500, "3/5"), Fraction(0), WHEELBASE).trouble == "no-mass"


def test_least_load_of_the_front_axle():
    wish = for_axle("front", kg(440), Fraction(450))
    assert solved(ballast_at(wish, Fraction(600), WHEELBASE)) == (Fraction(40, 3), 600)  # three quarters of it in front
    assert solved(place_for(wish, Fraction(20), WHEELBASE)) == (20, 1200)  # no further back
    assert ballast_at(wish, Fraction(2400), WHEELBASE).trouble == "no-effect"
    assert ballast_at(wish, Fraction(2700), WHEELBASE).trouble == "wrong-side"


def test_least_load_of_the_rear_axle():
    wish = for_axle("rear", kg(390), Fraction(400))
    assert solved(ballast_at(wish, Fraction(3000), WHEELBASE)) == (8, 3000)
    assert solved(place_for(wish, Fraction(20), WHEELBASE)) == (20, 1200)  # no further forward
    assert ballast_at(wish, Fraction(-100), WHEELBASE).trouble == "wrong-side"


def test_a_least_load_that_is_kept_needs_none():
    wish = for_axle("front", kg(460), Fraction(450))
    assert ballast_at(wish, Fraction(2700), WHEELBASE).met
    kept = place_for(wish, Fraction(20), WHEELBASE)
    assert kept.met
    assert solved(kept) == (20, 3600)  # even there it takes no more than the 10 kg that are over
    assert place_for(wish, Fraction(0), WHEELBASE).met


def test_what_the_loads_leave_unsure_goes_along():
    front = kg(500, front=0.3)
    whole = kg(1000, front=0.3, rear=0.4)
    wish = for_share(front, whole, Fraction(3, 5))
    # B = (s R - (1 - s) F) / (1 - s): dB = (0.6 dR - 0.4 dF) / 0.4.
    mass = ballast_at(wish, Fraction(0), WHEELBASE).mass
    assert mass is not None
    assert mass.u == pytest.approx(math.hypot(0.6 * 0.4, 0.4 * 0.3) / 0.4)
    at = place_for(wish, Fraction(100), WHEELBASE).at
    assert at is not None
    assert at.u == pytest.approx(24 * math.hypot(0.6 * 0.4, 0.4 * 0.3))
