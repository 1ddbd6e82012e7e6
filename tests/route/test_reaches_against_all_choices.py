"""What `choose` says can be reached, against every choice of jobs judged, on random cars and classes."""

from dataclasses import replace
from fractions import Fraction

import pytest
from every_choice import Exhaustive
from instances import Instance, sound_instances

import support
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.judging import judge
from tarebook.judge.prepared import prepare_class
from tarebook.route.demands import Demands
from tarebook.route.reaching import NEAR, Asked, find_reaches, find_undoing

GRAM = 0.0011  # kg: added ballast is rounded up to a gram


def asked_of(given: Instance) -> Asked:
    demands = given.demands
    return Asked(given.car, prepare_class(given.rules, "club"), (), support.DAY, demands.confidence, demands.budget)


@pytest.mark.parametrize("batch", range(3))
def test_reaches_are_those_of_all_choices(batch: int) -> None:
    met = set()
    for seed, made in sound_instances(2000 + batch * 30, 20, most_jobs=6):
        given = replace(made, demands=Demands(budget=made.demands.budget, confidence=made.demands.confidence))
        asked = asked_of(given)
        now = judge(
            asked.prepared,
            CarBeforeBook(given.car, given.rules).situation("now", support.DAY),
            confidence=asked.confidence,
        )
        reaches = find_reaches(asked, now)
        legal = Exhaustive(given).choices
        inside = [each for each in legal if each.within]
        assert reaches.in_time, seed
        if now.verdict == "eligible":
            assert reaches.eligible is not None and reaches.eligible.jobs == (), seed
        elif not legal:
            assert reaches.eligible is None, seed
            continue
        else:
            assert reaches.eligible is not None, seed
            wanted = min((each.cost, each.hours) for each in legal)
            assert (reaches.eligible.cost, reaches.eligible.hours) == tuple(map(float, wanted)), seed
        near = [each for each in inside if each.near] if made.ballast_most is not None else []
        assert (reaches.at_minimum is not None) == any(each.near for each in inside), seed
        if near:
            assert reaches.at_minimum is not None
            assert reaches.at_minimum.cost == float(min(each.cost for each in near)), seed
        if not inside:
            assert (reaches.lightest, reaches.barest) == (None, None), seed
            continue
        assert reaches.lightest is not None and reaches.lightest.mass_kg is not None, seed
        least = min(each.total for each in inside)
        allowed = GRAM if reaches.at_minimum is None else NEAR + GRAM
        assert least - 1e-6 <= reaches.lightest.mass_kg <= least + allowed, seed
        assert reaches.barest is not None and reaches.barest.mass_kg is not None, seed
        bare = reaches.barest.mass_kg - reaches.barest.ballast_kg
        assert bare == pytest.approx(min(each.mass for each in inside), abs=1e-6), seed
        met.add(reaches.at_minimum is not None)
    assert met == {True, False}


def test_undoing_is_that_of_all_choices() -> None:
    opened = 0
    for seed, made in sound_instances(2200, 40, most_jobs=6):
        given = replace(made, demands=Demands(undo=True, confidence=made.demands.confidence))
        reach, perhaps = find_undoing(asked_of(given))
        legal = Exhaustive(given).choices
        assert (reach is not None) == bool(legal), seed
        if reach is not None:
            assert perhaps is None or len(perhaps.undo) < len(reach.undo)
            assert Fraction(reach.cost).limit_denominator(100) == min(each.cost for each in legal), seed
            opened += 1
    assert opened >= 10
