"""Routes without any rule are knapsacks: against dynamic programming over the mass that is saved."""

import random
from fractions import Fraction

import pytest

import support
from tarebook import api
from tarebook.route.demands import Demands

FREE = 'silence = "permits"\nweight = { clause = "7", driver = "out", minimum = "100 kg" }'
Value = tuple[int, int, int]  # cost, hours, hectograms left


def knapsack(items: list[tuple[int, int, int]], needed: int) -> Value | None:
    """The least cost, then hours, then mass left, that saves so many hectograms: items are (saves, cost, hours)."""
    best: dict[int, tuple[int, int]] = {0: (0, 0)}
    for saves, cost, hours in items:
        for saved, (before, long) in list(best.items()):
            reached = (before + cost, long + hours)
            if reached < best.get(saved + saves, (10**9, 0)):
                best[saved + saves] = reached
    return min(((cost, hours, -saved) for saved, (cost, hours) in best.items() if saved >= needed), default=None)


@pytest.mark.parametrize("seed", range(12))
def test_the_cheapest_way_to_a_target(seed: int) -> None:
    rng = random.Random(seed)
    items = [(rng.randint(3, 120), rng.randint(0, 40) * 5, rng.randint(0, 12)) for _ in range(rng.randint(10, 28))]
    total = sum(saves for saves, _, _ in items)
    needed = int(total * rng.uniform(0.2, 0.9))
    parts = "".join(
        f'[[part]]\nid = "p{index}"\nkind = "stowage.loose"\n'
        f'estimate = {{ mass = "{saves / 10:.1f} kg", within = "0 kg" }}\n'
        f'[[job]]\nid = "j{index}"\nstate = "maybe"\noff = ["p{index}"]\ncost = "{cost} EUR"\nhours = {hours}\n'
        for index, (saves, cost, hours) in enumerate(items)
    )
    car = support.car(
        '[[weighing]]\nid = "w"\ndate = 2026-04-01\nfuel = "empty"\nincludes = []\ntotal = "950.0 kg"\n'
        f'[at_inspection]\nfuel = "empty"\n{parts}'
    )
    target = 950 - Fraction(needed, 10)
    answer = api.route(car, support.rules(FREE), "club", on=support.DAY, demands=Demands(target=target))
    wanted = knapsack(items, needed)
    assert wanted is not None and answer.route is not None
    plan = answer.route.plan
    assert (plan.cost, plan.hours, (plan.mass - 950) * 10) == wanted
    assert answer.outcome == "proven"


def test_none_reaches_more_than_everything() -> None:
    assert knapsack([(3, 5, 1)], 4) is None
    assert knapsack([(3, 5, 1), (3, 2, 9)], 3) == (2, 9, -3)
