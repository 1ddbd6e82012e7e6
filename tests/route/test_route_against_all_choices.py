"""Routes against an exhaustive search: every choice of jobs judged, on random cars and classes."""

import pytest
from every_choice import Exhaustive
from instances import Instance, sound_instances, workshop_of

from tarebook.route import search as searching
from tarebook.route import watching
from tarebook.route.answering import answer
from tarebook.route.frontier import frontier
from tarebook.route.planning import first_plan
from tarebook.route.search import Search

GRAM = 0.0011  # kg: added ballast is rounded up to a gram


def differs(given: Instance) -> str:
    """How the route differs from the best of all choices; "" where it does not."""
    tried = Exhaustive(given)
    outcome, best = tried.best()
    plan = first_plan(Search(workshop_of(given), 60))
    if best is None or plan is None:
        return "" if best is None and plan is None else f"{outcome}: {best} but {plan}"
    wanted, got = (best.cost, best.hours), (plan.cost, plan.hours)
    whole = outcome == "lightest" and given.demands.target is None
    mass, weighs = (best.total, plan.total) if whole else (best.mass, plan.mass)
    near = abs(float(weighs) - mass) < (GRAM if outcome == "lightest" else 1e-6)
    ballast = abs(float(plan.load.mass) - best.ballast) < GRAM
    reached = outcome != "reached" or plan.reached
    if wanted == got and near and ballast and plan.proven and reached:
        return ""
    return f"{outcome}: {best} but {sorted(plan.jobs)} {got} {float(weighs)} ballast {float(plan.load.mass)}"


@pytest.mark.parametrize("batch", range(25))
def test_the_route_is_the_best_of_all_choices(batch: int) -> None:
    """500 instances in all, of 4 to 14 jobs."""
    found = {seed: differs(made) for seed, made in sound_instances(1000 + batch * 25, 20, most_jobs=14)}
    assert {seed: told for seed, told in found.items() if told} == {}
    assert len(found) == 20 and max(found) < 1000 + (batch + 1) * 25


@pytest.mark.parametrize("seed", [1313, 1437])
def test_where_the_solver_was_misled_by_a_choice_to_start_from(seed: int) -> None:
    ((_, made),) = sound_instances(seed, 1, most_jobs=14)
    assert differs(made) == ""


@pytest.mark.parametrize("batch", range(2))
def test_it_is_when_clauses_are_learnt_one_by_one(batch: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tarebook.route.modelling.EAGER", 0)
    monkeypatch.setattr(searching, "ASKED", 0)
    monkeypatch.setattr(watching, "MOST_EAGER", 0)
    found = {seed: differs(made) for seed, made in sound_instances(200 + batch * 20, 15, most_jobs=7)}
    assert {seed: told for seed, told in found.items() if told} == {}
    assert len(found) == 15


@pytest.mark.parametrize("batch", range(2))
def test_the_trade_offs_are_all_that_none_beats(batch: int) -> None:
    lengths = []
    for seed, made in sound_instances(300 + batch * 25, 20, most_jobs=7):
        points, whole = frontier(Search(workshop_of(made), 60))
        wanted = [(each.cost, round(each.mass, 5)) for each in Exhaustive(made).trade_offs()]
        assert ([(each.cost, round(float(each.mass), 5)) for each in points], whole) == (wanted, True), seed
        lengths.append(len(points))
    assert max(lengths) > 2


def test_the_instances_are_of_every_sort() -> None:
    outcomes = [Exhaustive(made).best()[0] for _, made in sound_instances(0, 60, most_jobs=6)]
    assert set(outcomes) == {"reached", "lightest", "just", "impossible"}


@pytest.mark.parametrize("batch", range(3))
def test_what_is_not_known_is_told_from_what_cannot_be(batch: int) -> None:
    """Where no choice is eligible for sure: is there one against which nothing stands for sure?"""
    outcomes = set()
    for seed, made in sound_instances(3000 + batch * 40, 30, most_jobs=6, unknown=True):
        assert differs(made) == "", seed
        if Exhaustive(made).best()[1] is not None:
            outcomes.add("found")
            continue
        perhaps = Exhaustive(made, open_too=True).best()[1]
        found = answer(workshop_of(made))
        wanted = "impossible" if perhaps is None else "not-proven"
        assert (found.route, found.outcome) == (None, wanted), (seed, found.conflict)
        assert found.conflict is not None and found.conflict.undecided == (perhaps is not None), seed
        outcomes.add(wanted)
    assert outcomes == {"found", "impossible", "not-proven"}
