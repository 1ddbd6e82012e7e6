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
from tarebook.route.demands import Demands
from tarebook.route.explaining import LeftAside
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


def conflict_of(found: Answer) -> tuple[tuple[str, ...], bool, tuple[str, ...]]:
    """The demands, whether none fewer conflict, and what jobs ask of one another."""
    assert found.conflict is not None
    return found.conflict.demands, found.conflict.smallest, found.conflict.because


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
    assert (steps(found), plan.cost, plan.mass, plan.reached) == (["wheel", "radio"], -30, 932, True)
    assert 3.0 < float(plan.load.mass) < 3.2
    assert plan.row.verdict == "eligible"


def test_steps_have_what_others_need_first_then_most_mass_for_the_money() -> None:
    found = asked(928.0)
    assert found.route is not None
    # Wheel and radio cost nothing: the heavier first. Then the carpet, for 10 EUR.
    assert steps(found) == ["wheel", "radio", "strip", "paint"]
    saved = [(step.saves, step.mass) for step in found.route.steps]
    assert saved == [(14, 936), (4, 932), (6, 926), (0, 926)]
    assert [step.margin for step in found.route.steps] == [8, 4, -2, -2]
    assert [step.unpriced for step in found.route.steps] == [False, False, False, True]


def test_a_job_counts_with_what_must_come_before_it() -> None:
    """Paint that a bare floor needs is not done first: with it, the floor is the dearest of all."""
    before = CAR.replace('needs = ["strip"]\nhours = 6\n', 'hours = 6\ncost = "90 EUR"\n')
    before = before.replace('off = ["carpet"]\ncost', 'off = ["carpet"]\nneeds = ["paint"]\ncost')
    found = api.route(support.car(before), support.rules(RULES % 928), "club", on=support.DAY, demands=Demands())
    assert steps(found) == ["wheel", "radio", "paint", "strip"]


def test_why_a_job_that_saves_nothing_is_there() -> None:
    found = asked(928.0)
    assert found.route is not None
    assert [step.reason for step in found.route.steps] == [
        "",
        "",
        "",
        "without it, clause 8.2: A finish is still owed at interior.floor (floor coverings): painted",
    ]
    wanted = asked(928.0, must=frozenset({"paint"}))
    assert wanted.route is not None and wanted.route.steps[-1].reason == "as you asked"
    # Of a job that others need, what a rule asks of it besides is told too.
    needed = CAR.replace('needs = ["strip"]\nhours = 6\n', "hours = 6\n")
    needed = needed.replace('off = ["carpet"]\ncost', 'off = ["carpet"]\nneeds = ["paint"]\ncost')
    other = api.route(support.car(needed), support.rules(RULES % 928), "club", on=support.DAY, demands=Demands())
    assert other.route is not None
    assert {step.job: step.reason for step in other.route.steps}["paint"] == "needed by strip"


def test_of_what_costs_nothing_the_heaviest_then_the_quickest_first() -> None:
    jobs = "".join(
        f'[[part]]\nid = "{name}"\nkind = "stowage.loose"\nmass = "{mass} kg"\n'
        f'[[job]]\nid = "{name}-out"\nstate = "maybe"\noff = ["{name}"]\ncost = "{cost} EUR"\nhours = {hours}\n'
        for name, mass, cost, hours in (("a", "1.0", 0, 5), ("b", "1.0", 0, 1), ("c", "8.0", 0, 3), ("d", "2.0", 4, 1))
    )
    car = support.car(CAR.split("[[part]]")[0] + '[[job]]\nid = "old"\nstate = "done"\ndate = 2026-01-01\n' + jobs)
    rules = support.rules('weight = { clause = "7", driver = "out", minimum = "900 kg" }\n', silence="permits")
    assert steps(api.route(car, rules, "club", on=support.DAY)) == ["c-out", "b-out", "a-out", "d-out"]


def test_a_worst_that_no_ballast_meets_is_not_known_to_be_impossible() -> None:
    """Were the car a three-door, 935 kg would do; as it may be a five-door, 990 kg might be asked for."""
    case = 'minimum = { by = "doors", over_up_to = [[0, 4, "935 kg"], [4, "990 kg"]] }\n'
    rules = support.rules((RULES % 935).replace('minimum = "935 kg"\n', case))
    found = api.route(support.car(CAR), rules, "club", on=support.DAY)
    assert (found.outcome, found.route) == ("not-proven", None)
    assert conflict_of(found)[0] == ("open 7", "limit 7.5 ballast")
    assert found.conflict is not None
    (told,) = found.conflict.breaches["open 7"]
    assert told.sentence == (
        "Where the minimum lies hangs on doors, which the car file does not state; at worst it is 990 kg."
    )
    assert route_document(found, frontier=False)["facts_to_find"] == ["doors"]
    assert api.route(support.car(CAR, doors=3), rules, "club", on=support.DAY).outcome == "proven"
    assert api.route(support.car(CAR, doors=5), rules, "club", on=support.DAY).outcome == "impossible"


def test_ballast_that_makes_up_for_a_job_is_no_reason_for_it() -> None:
    """A spare wheel that must be on: it is there for the rule, as ballast alone would bring the mass back."""
    off = CAR.replace('includes = ["old"]', 'includes = ["old", "spare-out"]').replace(
        '[[job]]\nid = "wheel"\nstate = "maybe"\noff = ["wheel"]\ncost = "0 EUR"\nnot_with = ["console"]\n',
        '[[job]]\nid = "spare-out"\nstate = "done"\ndate = 2026-02-01\noff = ["wheel"]\n'
        '[[job]]\nid = "spare-back"\nstate = "maybe"\nfit = ["wheel"]\ncost = "0 EUR"\n',
    )
    needs = '[[class.need]]\nclause = "9"\nkinds = ["stowage.spare-wheel"]\n'
    rules = support.rules((RULES % 955).replace('most = "8 kg", ', "") + needs)
    found = api.route(support.car(off), rules, "club", on=support.DAY, demands=Demands(forbid=frozenset({"radio"})))
    assert found.route is not None
    reasons = {step.job: step.reason for step in found.route.steps}
    assert reasons["spare-back"] == "without it, clause 9: Not on the car, and must be: spare wheel"


def test_what_binds() -> None:
    assert asked(928.0, budget=Fraction(-25)).route.binds == ["budget"]  # type: ignore[union-attr]
    found = asked(928.0)
    assert found.route is not None and found.route.binds == ["target"]


def test_a_budget_that_does_not_reach_gives_the_lightest_within_it() -> None:
    found = asked(900.0, budget=Fraction(-25))
    assert found.route is not None
    assert (steps(found), found.route.plan.reached, found.route.plan.cheapest) == (["wheel", "radio"], False, False)
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
        (
            {"must": {"wheel", "console"}},
            (("must console", "must wheel"), True, ('job "wheel" cannot stand in one build with "console"',)),
        ),
        (
            {"must": {"paint"}, "forbid": {"strip"}},
            (("forbid strip", "must paint"), True, ('job "paint" needs job "strip"',)),
        ),
        ({"must": {"console"}, "budget": Fraction(50)}, (("must console", "budget"), True, ())),
        ({"target": Fraction(900)}, (("target",), True, ())),
    ],
)
def test_why_there_is_none(demands: dict[str, object], conflict: tuple[tuple[str, ...], bool, tuple[str, ...]]) -> None:
    named = {key: frozenset(each) if isinstance(each, set) else each for key, each in demands.items()}
    found = asked(**named)  # type: ignore[arg-type]
    assert (found.outcome, found.route) == ("impossible", None)
    assert conflict_of(found) == conflict
    assert found.nearest is not None and found.nearest.plan.row.verdict == "eligible"
    # Wheel and carpet out, and the floor painted: 930, and 5 kg of ballast. With the radio out too it would be 926,
    # and 8 kg of ballast do not bring that back to 935. What conflicts is left aside; the target is no demand then.
    assert found.nearest.plan.mass == 930
    assert found.nearest.aside == (() if conflict[0] == ("target",) else conflict[0])


def test_a_rule_that_no_job_can_meet() -> None:
    found = asked(body='[[class.need]]\nclause = "9"\nkinds = ["safety.cage"]\n')
    assert conflict_of(found) == (("rule 9",), True, ())
    assert found.conflict is not None
    assert found.conflict.breaches["rule 9"][0].sentence == "Not on the car, and must be: roll cage."
    assert found.nearest is None


NOISE = '[[class.require]]\nclause = "9"\nsays = "At most 98 dB(A)."\nmust = { noise = { most = 98 } }\n'


def test_a_rule_that_is_not_decided_is_no_certain_no() -> None:
    found = asked(body=NOISE)
    assert (found.outcome, found.route, found.nearest) == ("not-proven", None, None)
    assert conflict_of(found) == (("open 9",), True, ())
    assert found.conflict is not None
    (told,) = found.conflict.breaches["open 9"]
    assert (told.facts, told.says) == (("noise",), "At most 98 dB(A).")
    assert "hangs on noise" in told.sentence
    document = route_document(found, frontier=False)
    assert document["facts_to_find"] == ["noise"]
    assert [(each["demand"], each["undecided"], each["facts_to_find"]) for each in document["conflict"]] == [
        ("rule 9", True, ["noise"])
    ]


def test_what_is_certain_goes_before_what_is_not_decided() -> None:
    found = asked(body=NOISE + '[[class.need]]\nclause = "10"\nkinds = ["safety.cage"]\n')
    assert (found.outcome, conflict_of(found)) == ("impossible", (("rule 10",), True, ()))
    # Two certain demands rather than one clause that is not decided.
    pair = asked(body=NOISE, must=frozenset({"paint"}), forbid=frozenset({"strip"}))
    assert pair.conflict is not None and pair.conflict.demands == ("forbid strip", "must paint")


def test_a_clause_that_is_shut_whatever_is_unknown_is_certain() -> None:
    both = '[[class.require]]\nclause = "9"\nmust = { noise = { most = 98 }, doors = 9 }\n'
    car = support.car(CAR, doors=3)
    found = api.route(car, support.rules(RULES % 935 + both), "club", on=support.DAY, demands=Demands())
    assert (found.outcome, conflict_of(found)) == ("impossible", (("rule 9",), True, ()))


def test_a_car_that_was_never_weighed() -> None:
    car = support.car(re.sub(r"\[\[weighing\]\](?:\n[^\[].*)*", "", CAR))
    found = api.route(car, support.rules(RULES % 935), "club", on=support.DAY, demands=Demands())
    assert (found.outcome, conflict_of(found)) == ("not-proven", (("open 7",), True, ()))
    assert found.conflict is not None
    assert found.conflict.breaches["open 7"][0].sentence == "The mass is not known: the car was never weighed."
    # A class without limits: it cannot be said how light the car gets, but what makes it eligible can.
    without = support.rules("", silence="permits")
    asked_mass = api.route(car, without, "club", on=support.DAY, demands=Demands())
    assert (asked_mass.outcome, asked_mass.route) == ("not-proven", None)
    assert asked_mass.conflict is not None
    assert asked_mass.conflict.breaches["open "][0].sentence == (
        "The mass of the build is not known: the car was never weighed."
    )
    eligible = api.route(car, without, "club", on=support.DAY, demands=Demands(just_eligible=True))
    assert eligible.route is not None
    assert (eligible.outcome, eligible.route.plan.mass, steps(eligible)) == ("proven", None, ["radio"])


def test_a_job_with_a_part_that_was_never_weighed_is_left_aside_aloud() -> None:
    car = support.car(CAR.replace('kind = "stowage.spare-wheel"\nmass = "14.0 kg"\n', 'kind = "stowage.spare-wheel"\n'))
    found = api.route(car, support.rules(RULES % 928), "club", on=support.DAY, demands=Demands())
    assert found.route is not None and steps(found) == ["radio", "strip", "console", "paint"]
    assert found.left_aside == [
        LeftAside("wheel", 'The mass of the build is not known: part "wheel" was never weighed.')
    ]
    assert asked(928.0).left_aside == []


def test_whether_undoing_would_help() -> None:
    kept = support.car(CAR.replace("gone = true\n", ""))
    needs_liner = '[[class.need]]\nclause = "9"\nkinds = ["interior.headliner"]\n'

    def undoing(body: str) -> str:
        found = api.route(kept, support.rules(RULES % 935 + body), "club", on=support.DAY, demands=Demands())
        assert found.route is None
        return found.undoing

    assert undoing(needs_liner) == "helps"
    assert undoing(needs_liner + NOISE.replace('"9"', '"10"')) == "may help"
    assert undoing(needs_liner + '[[class.need]]\nclause = "10"\nkinds = ["safety.cage"]\n') == "no help"
    assert asked(body=needs_liner).undoing == "no help"  # the liner is gone


def test_a_rule_against_a_demand() -> None:
    ban = '[[class.ban]]\nclause = "9"\nkinds = ["stowage.spare-wheel"]\ndoes = ["remove"]\n'
    assert conflict_of(asked(body=ban, must=frozenset({"wheel"}))) == (("rule 9", "must wheel"), True, ())


def test_the_nearest_keeps_what_does_not_conflict() -> None:
    """The carpet stays, as asked; only the budget, which nothing keeps, is left aside."""
    found = asked(budget=Fraction(-100), forbid=frozenset({"strip"}))
    assert conflict_of(found) == (("budget",), True, ())
    assert found.nearest is not None
    assert (found.nearest.aside, found.nearest.plan.mass) == (("budget",), 932)  # wheel and radio


def test_ballast_that_is_too_much_is_part_of_what_conflicts() -> None:
    # At most 8 kg: to 935.1 the build must weigh 927.1 or more without it, and 926 is asked for.
    found = asked(target=Fraction(926))
    assert conflict_of(found) == (("limit 7 minimum", "limit 7.5 ballast", "target"), True, ())
    assert asked(target=Fraction(930)).outcome == "proven"


def test_a_conflict_names_the_change_that_it_is_about() -> None:
    """The book is silent on consoles and on ballast; only the latter stands in the way."""
    silent = """
[class.weight]
clause = "7"
driver = "out"
minimum = "955 kg"
ballast = { allowed = true, clause = "7.5" }
[[class.ban]]
clause = "8"
kinds = ["ballast", "interior.console"]
does = ["fit", "remove"]
"""
    found = api.route(support.car(CAR), support.rules(silent, silence="permits"), "club", on=support.DAY)
    assert conflict_of(found) == (("rule 8", "limit 7 minimum"), True, ())
    assert found.conflict is not None
    assert [each.sentence for each in found.conflict.breaches["rule 8"]] == [
        "Added ballast may not be fitted. Clause 7.5 would allow it; at a tie the ban stands."
    ]


def test_undoing_is_a_job_and_ballast_is_none() -> None:
    """A job done that made the car lighter by what ballast can bring back: it stays."""
    done = CAR.replace('id = "radio"\nstate = "planned"', 'id = "radio"\nstate = "done"\ndate = 2026-05-01')
    found = api.route(
        support.car(done),
        support.rules(RULES % 948),
        "club",
        on=support.DAY,
        demands=Demands(undo=True, just_eligible=True),
    )
    assert found.route is not None
    assert (found.route.plan.undone, found.route.plan.chosen) == ((), ())
    assert float(found.route.plan.load.mass) == pytest.approx(2.1, abs=0.05)  # 946 to 948.1


def test_a_limit_that_hangs_on_what_is_not_stated_is_told() -> None:
    case = 'minimum = { by = "doors", over_up_to = [[0, 2, "935 kg"], [2, "940 kg"]] }\n'
    rules = support.rules((RULES % 935).replace('minimum = "935 kg"\n', case))
    found = api.route(support.car(CAR), rules, "club", on=support.DAY)
    assert found.route is not None
    (worst,) = found.route.plan.at_worst
    assert (worst.clause, worst.which, worst.limit, worst.facts) == ("7", "minimum", 940, ("doors",))
    assert float(worst.margin) == pytest.approx(0.1, abs=0.05)
    document = route_document(found, frontier=False)
    assert document["margin_kg"] == pytest.approx(float(worst.margin))
    assert document["facts_to_find"] == ["doors"]
    stated = api.route(support.car(CAR, doors=3), rules, "club", on=support.DAY)
    assert stated.route is not None and stated.route.plan.at_worst == ()


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
