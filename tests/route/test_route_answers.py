"""What a route says: its steps in working order, what binds, why there is none; and that a car file may be told."""

import datetime
import json
import re
from fractions import Fraction

import pytest
from instances import Instance, sound_instances, workshop_of

import support
from tarebook import api
from tarebook.judge import judging
from tarebook.judge.prepared import prepare_class
from tarebook.route import planning
from tarebook.route.answering import Answer, answer
from tarebook.route.clauses import Breach
from tarebook.route.conflicts import Conflict
from tarebook.route.demands import Demands
from tarebook.route.planning import Disagreement, first_plan
from tarebook.route.probes import Probe
from tarebook.route.reads import Reads
from tarebook.route.search import Search
from tarebook.route.workshop import Workshop
from tarebook.show.route_json import route_document

CAR = """
[[weighing]]
id = "w"
date = 2026-04-01
fuel = "empty"
includes = ["old"]
total = "950.0 kg"
[at_inspection]
fuel = "empty"
[[part]]
id = "carpet"
kind = "interior.floor.carpet"
mass = "6.0 kg"
[[part]]
id = "audio"
kind = "interior.audio"
title = "Radio"
mass = "4.0 kg"
[[part]]
id = "console"
kind = "interior.console"
mass = "3.0 kg"
[[part]]
id = "wheel"
kind = "stowage.spare-wheel"
mass = "14.0 kg"
[[part]]
id = "liner"
kind = "interior.headliner"
mass = "2.0 kg"
gone = true
[[job]]
id = "old"
state = "done"
date = 2026-01-01
off = ["liner"]
[[job]]
id = "paint"
title = "Paint the floor"
state = "maybe"
finishes = [{ area = "interior.floor", by = "painted" }]
needs = ["strip"]
hours = 6
[[job]]
id = "strip"
state = "maybe"
off = ["carpet"]
cost = "10 EUR"
hours = 2
[[job]]
id = "radio"
state = "planned"
off = ["audio"]
cost = "0 EUR"
returns = "30 EUR"
hours = 1
[[job]]
id = "console"
state = "maybe"
off = ["console"]
needs = ["radio"]
cost = "90 EUR"
hours = 3
[[job]]
id = "wheel"
state = "maybe"
off = ["wheel"]
cost = "0 EUR"
not_with = ["console"]
"""
RULES = """
[class.weight]
clause = "7"
driver = "out"
minimum = "%s kg"
ballast = { allowed = true, most = "8 kg", clause = "7.5" }
[[class.allow]]
clause = "8"
kinds = ["interior", "stowage"]
does = ["remove"]
[[class.allow]]
clause = "8.1"
kinds = ["interior.floor"]
does = ["remove"]
finish = ["tidy"]
[[class.finish]]
clause = "8.2"
id = "tidy"
area = "interior.floor"
by = ["painted"]
"""


def asked(minimum: float = 935.0, body: str = "", **demands: object) -> Answer:
    rules = support.rules(RULES % minimum + body)
    return api.route(support.car(CAR), rules, "club", on=support.DAY, demands=Demands(**demands))  # type: ignore[arg-type]


def steps(found: Answer) -> list[str]:
    assert found.route is not None
    return [step.job for step in found.route.steps]


def test_the_cheapest_set_that_reaches_the_minimum() -> None:
    found = asked()
    assert found.outcome == "proven" and found.route is not None
    plan = found.route.plan
    # With the wheel at nothing and the radio, which brings in 30: 18 kg lighter, the rest made up by ballast.
    assert (steps(found), plan.cost, plan.mass, plan.reached) == (["radio", "wheel"], -30, 932, True)
    assert 3.0 < float(plan.load.mass) < 3.2
    assert plan.row.verdict == "eligible"


def test_steps_have_what_others_need_first_then_most_mass_for_the_money() -> None:
    found = asked(928.0)
    assert found.route is not None
    assert steps(found) == ["radio", "wheel", "strip", "paint"]
    saved = [(step.saves, step.mass) for step in found.route.steps]
    assert saved == [(4, 946), (14, 932), (6, 926), (0, 926)]
    assert [step.margin for step in found.route.steps] == [18, 4, -2, -2]
    assert [step.unpriced for step in found.route.steps] == [False, False, False, True]


def test_what_binds() -> None:
    assert asked(928.0, budget=Fraction(-25)).route.binds == ["budget"]  # type: ignore[union-attr]
    found = asked(928.0)
    assert found.route is not None and found.route.binds == ["target"]


def test_a_budget_that_does_not_reach_gives_the_lightest_within_it() -> None:
    found = asked(900.0, budget=Fraction(-25))
    assert found.route is not None
    assert (steps(found), found.route.plan.reached, found.route.plan.cheapest) == (["radio", "wheel"], False, False)
    assert found.search.over_target(found.route.plan.jobs) == pytest.approx(32.0, abs=0.3)


def test_hours_and_jobs_that_must_and_must_not() -> None:
    assert steps(asked(just_eligible=True, must=frozenset({"console"}))) == ["radio", "console"]
    assert steps(asked(just_eligible=True, hours=Fraction(0))) == ["wheel"]
    assert steps(asked(forbid=frozenset({"wheel"}), target=Fraction(944))) == ["radio", "strip", "paint"]


def test_without_ballast_the_lightest() -> None:
    found = asked(
        900.0, '[[class.ban]]\nclause = "6"\nkinds = ["ballast"]\ndoes = ["fit"]\nif = { removed = "interior.audio" }\n'
    )
    assert found.route is not None and found.route.plan.load.mass == 0
    assert found.route.plan.mass == 926


def test_undoing_never_brings_back_what_is_gone() -> None:
    needs_liner = '[[class.need]]\nclause = "9"\nkinds = ["interior.headliner"]\n'
    assert asked(body=needs_liner).outcome == "impossible"
    assert asked(body=needs_liner, undo=True).outcome == "impossible"
    kept = support.car(CAR.replace("gone = true\n", ""))
    found = api.route(
        kept, support.rules(RULES % 935 + needs_liner), "club", on=support.DAY, demands=Demands(undo=True)
    )
    assert found.route is not None
    assert (found.route.plan.undone, found.route.steps[0].undo, found.route.steps[0].saves) == (("old",), True, -2)
    assert found.route.plan.cost == -30


@pytest.mark.parametrize(
    ("demands", "conflict"),
    [
        ({"must": {"wheel", "console"}}, ("must console", "must wheel")),
        ({"must": {"paint"}, "forbid": {"strip"}}, ("forbid strip", "must paint")),
        ({"must": {"console"}, "budget": Fraction(50)}, ("must console", "budget")),
        ({"target": Fraction(900)}, ("target",)),
    ],
)
def test_why_there_is_none(demands: dict[str, object], conflict: tuple[str, ...]) -> None:
    named = {key: frozenset(each) if isinstance(each, set) else each for key, each in demands.items()}
    found = asked(**named)  # type: ignore[arg-type]
    assert (found.outcome, found.route) == ("impossible", None)
    assert found.conflict == Conflict(conflict, smallest=True)
    assert found.nearest is not None and found.nearest.row.verdict == "eligible"
    assert found.nearest.mass == (930 if conflict == ("target",) else 932)


def test_a_rule_that_no_job_can_meet() -> None:
    found = asked(body='[[class.need]]\nclause = "9"\nkinds = ["safety.cage"]\n')
    assert found.conflict == Conflict(("rule 9",), smallest=True)
    assert found.search.told["rule 9"][0].sentence == "Not on the car, and must be: roll cage."
    assert found.nearest is None


def test_a_rule_against_a_demand() -> None:
    ban = '[[class.ban]]\nclause = "9"\nkinds = ["stowage.spare-wheel"]\ndoes = ["remove"]\n'
    assert asked(body=ban, must=frozenset({"wheel"})).conflict == Conflict(("rule 9", "must wheel"), smallest=True)


def test_no_time_proves_nothing() -> None:
    rules = support.rules(RULES % 935)
    found = api.route(support.car(CAR), rules, "club", on=support.DAY, seconds=0.0)
    assert (found.outcome, found.route, found.points) == ("not-proven", None, [])


def test_jobs_that_may_not_be_chosen_are_refused() -> None:
    with pytest.raises(KeyError, match="old"):
        asked(must=frozenset({"old"}))
    with pytest.raises(KeyError, match="nonsense"):
        asked(forbid=frozenset({"nonsense"}))
    with pytest.raises(ValueError, match="confidence"):
        asked(confidence=0.4)


def test_a_judge_who_disagrees_is_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    def stricter(*arguments: object, **named: object) -> object:
        row = judging.judge(*arguments, **named)  # type: ignore[arg-type]
        row.verdict = "not-eligible"
        return row

    monkeypatch.setattr(planning, "judge", stricter)
    with pytest.raises(Disagreement, match="radio"):
        asked()


def told(text: str, jobs: tuple[str, ...], ballast: Fraction, at: Fraction | None) -> str:
    """A car file in which these jobs are done and the ballast is fitted."""
    for job in jobs:
        text, count = re.subn(rf'(\[\[job\]\]\nid = "{job}"\n(?:title = .*\n)?state = )"\w+"', r'\1"done"', text)
        assert count == 1, job
    if ballast:
        place = "" if at is None else f'at = "{support.decimal(at)} mm"\n'
        text += (
            f'\n[[part]]\nid = "plate"\nkind = "ballast"\norigin = "aftermarket"\nplace = "interior.floor"\n{place}'
            f'estimate = {{ mass = "{support.decimal(ballast)} kg", within = "0 kg" }}\n'
            '[[job]]\nid = "fit-plate"\nstate = "done"\nfit = ["plate"]\n'
        )
    return text


def test_a_route_that_is_done_is_eligible_by_the_car_file() -> None:
    found = asked()
    assert found.route is not None
    plan = found.route.plan
    car = support.car(told(CAR, plan.chosen, plan.load.mass, plan.at))
    row = support.judged(car, support.rules(RULES % 935))
    assert row.verdict == "eligible"
    assert support.limit(row, clause="7").mass_kg == pytest.approx(float(plan.total))


def test_random_routes_that_are_done_are_eligible_by_the_car_file() -> None:
    judged = 0
    for seed, made in sound_instances(700, 60, most_jobs=8):
        plan = None if made.demands.undo else first_plan(Search(workshop_of(made), 60))
        if plan is None:
            continue
        car = Instance(told(made.car_text, plan.chosen, plan.load.mass, plan.at), "", made.demands, None).car
        assert support.judged(car, made.rules).verdict == "eligible", seed
        judged += 1
    assert judged >= 15


def test_the_same_answer_every_time() -> None:
    for seed, made in sound_instances(800, 8, most_jobs=8):
        documents = [json.dumps(route_document(answer(workshop_of(made)), frontier=False)) for _ in range(2)]
        assert documents[0] == documents[1], seed


def test_a_day_without_an_edition() -> None:
    rules = support.rules(RULES % 935)
    with pytest.raises(api.NotInForce):
        api.route(support.car(CAR), rules, "club", on=datetime.date(2020, 1, 1))


def test_answers_of_one_question_are_never_taken_for_those_of_another() -> None:
    workshop = Workshop(support.car(CAR), prepare_class(support.rules(RULES % 935), "club"), (), support.DAY, Demands())
    tables = Search(workshop, 60).tables
    for number in range(50):  # each is forgotten before the next is made
        breach = Breach(str(number), "")
        probe = Probe("made up", (), lambda situation, breach=breach: frozenset((breach,)), Reads())
        assert tables.ask(probe, ()) == {breach}
