"""Ballast against published figures: how much, and where between the axles.

F10 and F11: FAA-H-8083-30B, chapter 6 (read). M1 and M2: published motor-sport figures (second hand). Pounds and
inches are computed as if they were kilograms and millimetres: ratios alone matter.
"""

from fractions import Fraction

import pytest

import support
from tarebook import api
from tarebook.route.ballast import GRAM, Demand, Load, least_load, places_for
from tarebook.route.demands import Demands
from tarebook.route.planning import Plan
from tarebook.route.workshop import Plate

ALLOWED = 'weight = { clause = "7", driver = "out", ballast = { allowed = true, clause = "7.5" }%s }'
INSPECTION = '[at_inspection]\nfuel = "empty"\n'


def plan(
    front: str, rear: str, wheelbase: str, weight: str, demands: Demands, rest: str = "", rules_rest: str = ""
) -> Plan:
    """The plan for a car without any job, weighed on its axles."""
    car = support.car(
        f'[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\n'
        f'axles = {{ front = "{front} kg", rear = "{rear} kg" }}\n{INSPECTION}{rest}',
        wheelbase=f"{wheelbase} mm",
    )
    answer = api.route(car, support.rules(ALLOWED % weight + rules_rest), "club", on=support.DAY, demands=demands)
    assert answer.route is not None, answer.outcome
    return answer.route.plan


def test_f10_ballast_brings_the_centre_of_gravity_forward() -> None:
    # 3034 lb at 99.6; limit 99, ballast at 60, which here is the front axle; the rear one is 100 behind it.
    rear = Fraction(3034) * Fraction("39.6") / 100
    found = plan(support.decimal(3034 - rear), support.decimal(rear), "100", "", Demands(front_least=Fraction(61, 100)))
    assert float(found.load.mass) == pytest.approx(46.68, abs=0.005)
    assert found.at == 0


def test_f10_once_more_the_whole_then_stands_at_the_limit() -> None:
    rear = Fraction(3034) * Fraction("39.6") / 100
    load = least_load([Demand(Fraction(39, 100), Fraction(-1), rear - 3034 * Fraction(39, 100))], Fraction(1000))
    assert load == Load(Fraction("46.677"), Fraction(0), Fraction("46.677") * Fraction(39, 100) - Fraction("18.204"))
    assert float(60 + 100 * rear / (3034 + load.mass)) == pytest.approx(99.0, abs=0.0005)


def test_f11_ballast_at_the_rear() -> None:
    # 1876 lb, 32.2 to 33.0; the ballast station 228 is the rear axle, the front one stands at nothing.
    rear = Fraction(1876) * Fraction("32.2") / 228
    front = round(1876 - rear, 9)
    found = plan(
        support.decimal(front), support.decimal(1876 - front), "228", "", Demands(front_most=Fraction(195, 228))
    )
    assert float(found.load.mass) == pytest.approx(7.7, abs=0.05)
    assert float(found.load.mass) == pytest.approx(7.69641, abs=0.001)
    assert float(found.at or 0) == pytest.approx(228.0, abs=0.05)


LIMITS = (
    ', minimum = "728 kg", front_axle = { least = "331 kg", clause = "7.2" }, '
    'rear_axle = { least = "390 kg", clause = "7.3" }'
)


@pytest.mark.parametrize(
    ("front", "rear", "ballast", "where"),
    [
        ("331.0000", "390.0000", 7.0, (0.0, 2500.0)),  # free to sit anywhere: 7 kg between the two least loads
        ("326.0000", "390.0000", 12.0, (0.0, 2500.0 * 7 / 12)),
        ("338.0000", "384.0000", 6.0, (2500.0, 2500.0)),
    ],
)
def test_m1_two_axle_minima_and_a_total(front: str, rear: str, ballast: float, where: tuple[float, float]) -> None:
    found = plan(front, rear, "2500", LIMITS, Demands())
    assert float(found.load.mass) == pytest.approx(ballast, abs=0.002)
    low, high = (float(each * 2500 / found.load.mass) for each in (found.load.rear_least, found.load.rear_most))
    assert (low, high) == pytest.approx(where, abs=1.0)


@pytest.mark.parametrize(("driver", "ballast"), [("70.0000", 10.0), ("75.0000", 5.0)])
def test_m2_a_light_driver_is_made_up_for(driver: str, ballast: float) -> None:
    rules = support.rules(
        'weight = { clause = "7", driver = "aboard", minimum = "740 kg", '
        'ballast = { allowed = true, most = "20 kg", places = ["interior.seat.front.driver"], clause = "7.5" } }'
    )
    car = support.car(
        '[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\ntotal = "660.0000 kg"\n'
        f'[driver]\nmass = "{driver} kg"\n{INSPECTION}'
    )
    answer = api.route(car, rules, "club", on=support.DAY)
    assert answer.route is not None
    assert float(answer.route.plan.load.mass) == pytest.approx(ballast, abs=0.002)
    assert answer.route.plan.at is None  # no wheelbase, no place


def test_no_more_than_the_class_allows() -> None:
    demands = [Demand(Fraction(1), Fraction(0), Fraction("10.0005"))]
    assert least_load(demands, Fraction(10)) is None
    assert least_load(demands, Fraction("10.0005")) == Load(Fraction("10.0005"), Fraction(0), Fraction("10.0005"))
    assert least_load(demands, Fraction(11)) == Load(Fraction("10.001"), Fraction(0), Fraction("10.001"))


def test_demands_that_pull_both_ways_add_up() -> None:
    front, rear = Demand(Fraction(1), Fraction(-1), Fraction(4)), Demand(Fraction(0), Fraction(1), Fraction(3))
    load = least_load([front, rear], Fraction(20))
    assert load == Load(Fraction(7), Fraction(3), Fraction(3))
    assert places_for(load, Fraction(2100)) == [Fraction(900)]


def test_no_ballast_where_none_is_needed() -> None:
    assert least_load([], Fraction(0)) == Load(Fraction(0), Fraction(0), Fraction(0))
    assert places_for(Load(GRAM, Fraction(0), GRAM), None) == [None]


PIECES = '\n[[class.ban]]\nclause = "7.6"\nkinds = ["ballast"]\ndoes = ["fit"]\npart = { weighs = { %s } }\n'


@pytest.mark.parametrize(("bound", "pieces"), [('over = "8 kg"', 1), ('over = "4 kg"', 2), ('over = "3 kg"', 3)])
def test_ballast_in_pieces_where_the_class_bounds_one(bound: str, pieces: int) -> None:
    found = plan("331.0000", "390.0000", "2500", LIMITS, Demands(), rules_rest=PIECES % bound)
    assert float(found.load.mass) == pytest.approx(7.0, abs=0.002)
    masses = Plate(found.load.mass, found.at, found.pieces).masses
    assert (found.pieces, sum(masses), found.row.verdict) == (pieces, found.load.mass, "eligible")
    assert max(masses) - min(masses) <= GRAM


def test_a_class_that_takes_only_heavy_pieces() -> None:
    car = support.car(
        f'[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\ntotal = "700.0 kg"\n{INSPECTION}'
    )
    for bound, heavy in (('under = "5 kg"', True), ('over = "5 kg"', False)):
        rules = support.rules(ALLOWED % ', minimum = "650 kg"' + PIECES % bound)
        answer = api.route(car, rules, "club", on=support.DAY)
        assert answer.search.workshop.wants_heavier_pieces == heavy
