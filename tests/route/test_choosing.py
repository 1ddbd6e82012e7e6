"""Classes side by side: what each takes, and their order. Small cars and books, decided by hand; all invented."""

import itertools
from fractions import Fraction

import pytest

from support import DAY, book, car
from tarebook.api import check, settle
from tarebook.car.reading import parse_car
from tarebook.route.choosing import ORDER, Setting, choose, moves, places, ranked, standing, whole_order

SCALES = """
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "first"
date = 2027-01-01
fuel = "5 L"
total = "900.0 kg"
includes = []
"""
MAT = '{ id = "mat", kind = "interior.floor.boot-carpet", mass = "10.0 kg" }'
SEAT = '{ id = "seat", kind = "interior.seat.rear", mass = "25.0 kg" }'
RADIO = '{ id = "radio", kind = "interior.audio", mass = "3.0 kg" }'
BOTTLE = '{ id = "bottle", kind = "safety.extinguisher", mass = "4.0 kg", origin = "aftermarket" }'
JOBS = """[
    { id = "mat-out", state = "maybe", off = ["mat"], cost = "5 EUR", hours = 1 },
    { id = "seat-out", state = "planned", off = ["seat"], cost = "20 EUR", hours = 2 },
    { id = "radio-out", state = "maybe", off = ["radio"], cost = "1 EUR", hours = 0.5 },
    { id = "bottle-in", state = "planned", fit = ["bottle"], cost = "60 EUR", hours = 3 },
]"""
FREE = '[[class.allow]]\nclause = "9.1"\nkinds = ["interior", "safety"]\ndoes = ["remove", "fit"]\n'
NO_BALLAST = "ballast = { allowed = false }"


def garage(jobs=JOBS, more=SCALES, **facts):
    facts = {"doors": 3} | facts
    return car(f"part = [{MAT}, {SEAT}, {RADIO}, {BOTTLE}]\njob = {jobs}\n{more}", **facts)


def a_class(name, minimum=None, extra="", ballast=NO_BALLAST):
    weight = f'[class.weight]\nclause = "7.1"\ndriver = "out"\nminimum = "{minimum} kg"\n{ballast}\n' if minimum else ""
    return f'[[class]]\nid = "{name}"\ntitle = "{name.title()}"\n{weight}{FREE}{extra}'


NEED = '[[class.need]]\nclause = "7.5"\nkinds = ["safety.extinguisher"]\n'
NEVER = '[[class.enter]]\nclause = "7.2"\nmust = { doors = { least = 5 } }\n'


def setting(builder, *classes, budget=None, confidence=0.975):
    by = book("".join(classes))
    days = {"now": DAY, "planned": DAY}
    return Setting(builder, {DAY: [by]}, settle(builder, [by]), days, confidence, budget)


def chosen(builder, *classes, **more):
    return {choice.prepared.id: choice for choice in choose(setting(builder, *classes, **more))}


# ---- one class


def test_eligible_now_and_how_light_it_gets():
    (choice,) = chosen(garage(), a_class("light", 800)).values()
    assert (choice.verdict("now"), choice.verdict("planned"), standing(choice)) == ("eligible", "eligible", "eligible")
    assert (choice.cost, choice.hours, choice.reaches.eligible.jobs) == (0.0, 0.0, ())
    # 900 less mat, seat and radio, for 26 EUR and 3.5 hours; nothing is left to reach the 800 with.
    lightest = choice.reaches.lightest
    assert lightest.jobs == ("mat-out", "seat-out", "radio-out")
    assert (lightest.cost, lightest.hours) == (26.0, 3.5)
    assert (choice.lightest_kg, choice.over_minimum_kg, choice.ballast_kg) == (862.0, 62.0, 0.0)
    assert choice.reaches.at_minimum is None


def test_what_it_takes_to_be_eligible():
    (choice,) = chosen(garage(), a_class("bottled", 800, NEED)).values()
    assert (choice.verdict("now"), choice.verdict("planned")) == ("not-eligible", "eligible")
    assert (choice.cost, choice.hours, choice.reaches.eligible.jobs) == (60.0, 3.0, ("bottle-in",))
    assert standing(choice) == "within-reach"
    assert choice.lightest_kg == 866.0


def test_the_cheapest_way_to_the_minimum():
    (choice,) = chosen(garage(), a_class("brink", 886)).values()
    # Seat out alone leaves 875; mat and radio leave 887, and the scales leave 0.1 kg / sqrt(12) unsure at 900 kg.
    assert choice.reaches.at_minimum is None or choice.reaches.at_minimum.mass_kg < 886.2
    assert choice.reaches.lightest.jobs == ("mat-out", "radio-out")
    assert (choice.lightest_kg, choice.over_minimum_kg) == (887.0, 1.0)
    with_ballast = chosen(garage(), a_class("brink", 886, ballast="ballast = { allowed = true }"))["brink"]
    at_minimum = with_ballast.reaches.at_minimum
    # 6 EUR for mat and radio leave it 1 kg too heavy; the seat alone costs 20 and ballast makes up the rest.
    assert at_minimum.jobs == ("seat-out",)
    assert at_minimum.ballast_kg == pytest.approx(11.0, abs=0.2)
    assert with_ballast.over_minimum_kg == pytest.approx(0.08, abs=0.05)
    # All out leaves 862, which owes some 24 kg.
    assert with_ballast.ballast_kg == pytest.approx(24.0, abs=0.2)


def test_a_class_without_a_minimum():
    (choice,) = chosen(garage(), a_class("open")).values()
    assert (choice.lightest_kg, choice.over_minimum_kg, choice.has_minimum) == (862.0, None, False)


def test_a_class_that_nothing_opens():
    (choice,) = chosen(garage(), a_class("five-door", 800, NEVER)).values()
    assert (choice.cost, choice.hours, choice.lightest_kg, choice.ballast_kg) == (None, None, None, None)
    assert (standing(choice), choice.reaches.shut, choice.reaches.by_undoing) == ("shut", True, None)


def test_a_class_that_only_undoing_opens():
    kept = '[[class.need]]\nclause = "7.6"\nkinds = ["interior.floor.boot-carpet"]\n'
    done = JOBS.replace('id = "mat-out", state = "maybe"', 'id = "mat-out", state = "done", date = 2027-02-01')
    (choice,) = chosen(garage(done), a_class("carpeted", 800, kept)).values()
    assert (choice.cost, standing(choice)) == (None, "by-undoing")
    assert (choice.reaches.by_undoing.undo, choice.reaches.by_undoing.cost) == (("mat-out",), 0.0)


def test_a_part_that_is_gone_cannot_come_back():
    kept = '[[class.need]]\nclause = "7.6"\nkinds = ["interior.floor.boot-carpet"]\n'
    done = JOBS.replace('id = "mat-out", state = "maybe"', 'id = "mat-out", state = "done", date = 2027-02-01')
    gone = MAT.replace(" }", ", gone = true }")
    builder = car(f"part = [{gone}, {SEAT}, {RADIO}, {BOTTLE}]\njob = {done}\n{SCALES}", doors=3)
    (choice,) = chosen(builder, a_class("carpeted", 800, kept)).values()
    assert (standing(choice), choice.reaches.by_undoing) == ("shut", None)


def test_a_car_that_was_never_weighed():
    found = chosen(garage(more=""), a_class("light", 800), a_class("open"))
    assert (found["light"].verdict("now"), found["light"].cost) == ("undecided", None)
    assert (found["open"].verdict("now"), found["open"].cost) == ("eligible", 0.0)
    assert (standing(found["light"]), found["light"].facts_to_find) == ("not-known", ())
    (reason,) = found["light"].not_known
    assert reason == "the car was never weighed"


def test_a_class_that_is_shut_whatever_the_car_weighs():
    (choice,) = chosen(garage(more=""), a_class("five-door", 800, NEVER)).values()
    assert (standing(choice), choice.not_known) == ("shut", ())


def test_the_lightest_build_where_the_minimum_hangs_on_jobs():
    """With the mat out the minimum is 30 kg lower: what is lightest there is no build at the higher minimum."""
    lower = (
        'minimum = "890 kg"\nadjust = [{ add = "-30 kg", if = { removed = "interior.floor.boot-carpet" }, '
        'clause = "7.3" }]\n'
    )
    text = a_class("eased", 890, ballast="ballast = { allowed = true }").replace('minimum = "890 kg"\n', lower)
    (choice,) = chosen(garage(), text).values()
    # The cheapest at a minimum is the seat out: 875 and 15 of ballast, for 890. Mat, seat and radio out leave 862.
    assert choice.reaches.at_minimum.jobs == ("seat-out",)
    assert choice.reaches.at_minimum.mass_kg == pytest.approx(890.1, abs=0.05)
    assert choice.reaches.lightest.jobs == ("mat-out", "seat-out", "radio-out")
    assert (choice.lightest_kg, choice.over_minimum_kg) == (862.0, 2.0)


def test_a_car_without_jobs():
    bare = car(f"part = [{MAT}]\n{SCALES}", doors=3)
    found = chosen(bare, a_class("light", 800), a_class("bottled", 800, NEED))
    assert (found["light"].cost, found["light"].lightest_kg) == (0.0, 900.0)
    assert (found["bottled"].cost, standing(found["bottled"])) == (None, "shut")


def test_the_budget():
    found = chosen(garage(), a_class("bottled", 800, NEED), budget=Fraction(64))["bottled"]
    assert (found.cost, found.reaches.eligible.beyond_budget) == (60.0, False)
    assert found.reaches.lightest.jobs == ("radio-out", "bottle-in")  # the mat would make it 65 or 66 EUR
    assert found.lightest_kg == 901.0
    beyond = chosen(garage(), a_class("bottled", 800, NEED), budget=Fraction(59))["bottled"]
    assert (beyond.cost, beyond.reaches.eligible.beyond_budget, beyond.reaches.lightest) == (60.0, True, None)


def test_the_confidence():
    # Readings of 0.1 kg: u is 0.029 kg, and 0.03 kg over is kept with a chance of 85 %.
    by = a_class("close", "899.97")
    assert chosen(garage(), by)["close"].verdict("now") == "too-close"
    assert chosen(garage(), by, confidence=0.8)["close"].verdict("now") == "eligible"


# ---- against every set of jobs


@pytest.mark.parametrize("minimum", [800, 862, 870, 886, 899, 903, 950])
@pytest.mark.parametrize("extra", ["", NEED])
def test_against_every_set_of_jobs(minimum, extra):
    builder, by = garage(), a_class("tried", minimum, extra)
    jobs = list(builder.inventory.jobs)
    legal = []
    for size in range(len(jobs) + 1):
        for some in itertools.combinations(jobs, size):
            builds = f'[[build]]\nid = "tried"\njobs = [{", ".join(map(repr, some))}]\n'
            (row,) = check(garage(more=SCALES + builds), book(by), on=DAY, build="tried").rows
            if row.verdict == "eligible":
                cost = sum(float(builder.inventory.jobs[job].cost.value) for job in some)
                legal.append((row.limits[0].mass_kg, cost))
    (choice,) = chosen(builder, by).values()
    if not legal:
        assert choice.cost is None and choice.lightest_kg is None
        return
    assert choice.cost == min(cost for _, cost in legal)
    if choice.reaches.at_minimum is None:
        assert choice.lightest_kg == min(mass for mass, _ in legal)
    else:
        assert choice.reaches.at_minimum.cost == min(cost for mass, cost in legal if mass < minimum + 0.1)


# ---- the order

CLASSES = (
    a_class("shut", 800, NEVER),
    a_class("bottled", 800, NEED),
    a_class("heavy", 850),
    a_class("light", 800),
    a_class("dear", 800, NEED + '[[class.require]]\nclause = "7.7"\nmust = { off = "interior.audio" }\n'),
)


def names(builder, *asked, classes=CLASSES):
    order = whole_order(asked)
    return [choice.prepared.id for choice in ranked(choose(setting(builder, *classes)), order)]


def test_eligible_now_then_cost_then_weight_given_away():
    # heavy gives away 12 kg, light 62; bottled costs 60 EUR, dear 61; nothing opens the last.
    assert names(garage()) == ["heavy", "light", "bottled", "dear", "shut"]


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        (["name"], ["bottled", "dear", "heavy", "light", "shut"]),
        (["lightest"], ["heavy", "light", "bottled", "dear", "shut"]),
        (["over-minimum"], ["heavy", "light", "bottled", "dear", "shut"]),
        (["hours"], ["heavy", "light", "bottled", "dear", "shut"]),
        (["planned"], ["heavy", "light", "bottled", "dear", "shut"]),
        (["facts", "name"], ["bottled", "dear", "heavy", "light", "shut"]),
    ],
)
def test_other_orders(asked, expected):
    assert names(garage(), *asked) == expected


def test_keys_that_are_asked_for_come_first():
    assert whole_order([]) == ORDER == ("now", "cost", "over-minimum", "facts")
    assert whole_order(["hours", "cost"]) == ("hours", "cost", "now", "over-minimum", "facts")


def test_what_facts_open_comes_before_what_undoing_opens():
    open_one = a_class("loud", 800, '[[class.require]]\nclause = "7.8"\nmust = { noise = { most = 90 } }\n')
    kept = a_class("carpeted", 800, '[[class.need]]\nclause = "7.6"\nkinds = ["interior.floor.boot-carpet"]\n')
    done = JOBS.replace('id = "mat-out", state = "maybe"', 'id = "mat-out", state = "done", date = 2027-02-01')
    classes = (a_class("shut", 800, NEVER), kept, open_one, a_class("light", 800))
    assert names(garage(done), classes=classes) == ["light", "loud", "carpeted", "shut"]


def test_classes_that_nothing_tells_apart_share_a_place():
    alike = (a_class("one", 800), a_class("two", 800), a_class("three", 800, NEVER))
    in_order = ranked(choose(setting(garage(), *alike)))
    assert places(in_order, ORDER) == {("made-up", "one"): 1, ("made-up", "two"): 1, ("made-up", "three"): 3}


def test_what_proposals_move():
    before = choose(setting(garage(), a_class("one", 800), a_class("two", 850), a_class("old", 800)))
    after = choose(setting(garage(), a_class("one", 855), a_class("two", 850), a_class("new", 800)))
    found = {move.key[1]: (move.was, move.becomes) for move in moves(before, after, ORDER)}
    # "one" now gives away 7 kg and "two" 12; before, 62 and 12.
    assert found == {"one": (2, 1), "two": (1, 2), "old": (2, None), "new": (None, 3)}


def test_proposals_that_move_nothing():
    same = [choose(setting(garage(), a_class("one", 800))) for _ in range(2)]
    assert moves(*same, ORDER) == []


def test_twice_the_same():
    one, other = (choose(setting(garage(), *CLASSES)) for _ in range(2))
    assert [choice.reaches for choice in one] == [choice.reaches for choice in other]


def test_a_build_on_another_day_is_judged_by_the_edition_of_that_day():
    text = 'format = "tarebook-car/1"\ncar = { name = "Plover" }\n[facts]\ndoors = 3\n'
    builder = parse_car(text + '[[build]]\nid = "later"\n')
    first = book(a_class("kept") + a_class("gone"))
    second = book(a_class("kept", extra=NEVER))
    later = DAY.replace(year=2028)
    days = {"now": DAY, "planned": DAY, "later": later}
    found = choose(Setting(builder, {DAY: [first], later: [second]}, (), days))
    assert {choice.prepared.id: choice.verdict("later") for choice in found} == {"kept": "not-eligible", "gone": None}
    assert [choice.verdict("now") for choice in found] == ["eligible", "eligible"]
