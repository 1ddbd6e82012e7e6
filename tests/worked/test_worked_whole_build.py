"""What a class asks of a build as a whole: need, strip, finish, enter, counts, figures as made. Decided by hand."""

import datetime

import pytest

from support import by_clause, car, judged, limit, result, rules, ruling

OPEN = {"silence": "permits"}


def held(judged_car, condition, **options):
    """Whether a condition holds of a car: True, False, or "undecided"."""
    row = judged(judged_car, rules(f'require = [{{ clause = "4.1", must = {condition} }}]', **OPEN), **options)
    return {"met": True, "violation": False}.get(result(row, "4.1"), "undecided")


# ---- need

CARPETS = '"interior.floor.carpet", "interior.floor.boot-carpet", "interior.headliner"'


def stripped(*kinds, **options):
    """A car that lists a part of each of these kinds, all of them off."""
    listed = ", ".join(f'{{ id = "p{index}", kind = "{kind}" }}' for index, kind in enumerate(kinds))
    off = ", ".join(f'"p{index}"' for index in range(len(kinds)))
    return car(f'part = [{listed}]\njob = [{{ id = "strip", state = "done", off = [{off}] }}]', **options)


@pytest.mark.parametrize(
    ("off", "each_of_them", "two_of_them"),
    [
        ((), "eligible", "eligible"),
        (("interior.headliner",), "not-eligible", "eligible"),
        (("interior.headliner", "interior.floor.carpet"), "not-eligible", "not-eligible"),
    ],
)
def test_need_each_or_so_many(off, each_of_them, two_of_them):
    need = f'need = [{{ clause = "5.1", kinds = [{CARPETS}]'
    assert judged(stripped(*off), rules(need + " }]", **OPEN)).verdict == each_of_them
    assert judged(stripped(*off), rules(need + ", at_least = 2 }]", **OPEN)).verdict == two_of_them


@pytest.mark.parametrize(
    ("off", "anything_under_it", "whole"),
    [
        ((), "eligible", "eligible"),
        (("interior.seat.rear.base",), "eligible", "not-eligible"),
        (
            ("interior.seat.rear.base", "interior.seat.rear.back", "interior.seat.rear.belts"),
            "not-eligible",
            "not-eligible",
        ),
        (("interior.seat.rear",), "not-eligible", "not-eligible"),
    ],
)
def test_need_of_a_branch_and_of_the_whole_of_it(off, anything_under_it, whole):
    # What no car of this sort has from the factory is not asked for.
    gone = ("interior.seat.rear.head-restraints", "interior.seat.rear.latches")
    bench = stripped(*off, absent=gone)
    need = 'need = [{ clause = "5.1", kinds = ["interior.seat.rear"]'
    assert judged(bench, rules(need + " }]", **OPEN)).verdict == anything_under_it
    assert judged(bench, rules(need + ", whole = true }]", **OPEN)).verdict == whole


def test_need_whole_asks_only_for_what_the_factory_gave():
    by = rules('need = [{ clause = "5.1", kinds = ["interior.seat.rear"], whole = true }]', **OPEN)
    belts_never_there = stripped(absent=("interior.seat.rear.belts", "interior.seat.rear.head-restraints"))
    assert judged(belts_never_there, by).verdict == "eligible"
    # Head restraints: if this car had them, they are still on; so they cannot matter.
    assert judged(stripped(), by).verdict == "eligible"
    # Listed and taken off: they were there.
    row = judged(stripped("interior.seat.rear.head-restraints"), by)
    assert (row.verdict, by_clause(row, "5.1")) == ("not-eligible", ["violation"])


BOTTLE = """part = [{{ id = "bottle", kind = "safety.extinguisher", mass = "{mass}", origin = "aftermarket" {more} }}]
job = [{{ id = "fit", state = "{state}", fit = ["bottle"] }}]
"""


@pytest.mark.parametrize(
    ("mass", "state", "more", "verdict"),
    [
        ("2.0 kg", "done", ', approval = ["EN 3"]', "eligible"),
        ("1.9 kg", "done", ', approval = ["EN 3"]', "not-eligible"),
        ("2.0 kg", "done", ', approval = ["other"]', "not-eligible"),
        ("2.0 kg", "maybe", ', approval = ["EN 3"]', "not-eligible"),
        ("2.0 kg", "done", "", "undecided"),
    ],
)
def test_need_with_bounds_on_the_part(mass, state, more, verdict):
    by = rules(
        """[[class.need]]
        clause = "5.2"
        kinds = ["safety.extinguisher"]
        part = { weighs = { least = "2 kg" }, approval = ["EN 3"] }
        """,
        **OPEN,
    )
    row = judged(car(BOTTLE.format(mass=mass, state=state, more=more)), by)
    assert row.verdict == verdict
    assert row.facts_to_find == (("bottle.approval",) if verdict == "undecided" else ())


def test_of_several_parts_one_that_meets_the_bounds_is_enough():
    by = rules(
        'need = [{ clause = "5.2", kinds = ["safety.extinguisher"], part = { weighs = { least = "2 kg" } } }]', **OPEN
    )
    row = judged(
        car(
            """part = [
                { id = "small", kind = "safety.extinguisher", mass = "1 kg", origin = "aftermarket" },
                { id = "big", kind = "safety.extinguisher", mass = "2 kg", origin = "aftermarket" },
            ]"""
        ),
        by,
    )
    assert row.verdict == "eligible"


@pytest.mark.parametrize(("open_top", "verdict"), [("true", "not-eligible"), ("false", "eligible")])
def test_need_only_while_its_condition_holds(open_top, verdict):
    by = rules('need = [{ clause = "5.3", kinds = ["safety.cage"], if = { open_top = true } }]', **OPEN)
    assert judged(car(open_top=open_top == "true"), by).verdict == verdict


# ---- strip


def test_strip():
    by = rules('strip = [{ clause = "5.5", kinds = ["interior.floor.carpet", "body.roof.sunroof"] }]', **OPEN)
    row = judged(stripped("interior.floor.carpet", absent=("body.roof.sunroof",)), by)
    assert (row.verdict, by_clause(row, "5.5")) == ("eligible", ["allowed", "met", "met"])
    row = judged(stripped(absent=("body.roof.sunroof",)), by)
    assert (row.verdict, by_clause(row, "5.5")) == ("not-eligible", ["met", "violation"])
    row = judged(stripped("interior.floor.carpet", present=("body.roof.sunroof",)), by)
    assert row.verdict == "not-eligible"


def test_strip_of_a_branch_leaves_nothing_under_it():
    by = rules('strip = [{ clause = "5.5", kinds = ["interior.seat.rear"] }]', **OPEN)
    bench = ("interior.seat.rear.base", "interior.seat.rear.back")
    gone = ("interior.seat.rear.head-restraints", "interior.seat.rear.latches")
    assert judged(stripped(*bench, absent=gone), by).verdict == "not-eligible"  # the belts are still there
    assert judged(stripped(*bench, "interior.seat.rear.belts", absent=gone), by).verdict == "eligible"


# ---- finish

FLOOR_OUT = """part = [{{ id = "carpet", kind = "interior.floor.carpet" }}]
job = [
    {{ id = "strip", state = "done", off = ["carpet"] }},
    {{ id = "finish", state = "{state}", finishes = [{{ area = "{area}", by = "{by}" }}] }},
]
"""
PAINTED = rules(
    """allow = [{ clause = "2.1", kinds = ["interior.floor"], does = ["remove"], finish = ["bare"] }]
    finish = [{ id = "bare", clause = "6.1", area = "interior.floor", by = ["painted", "covered"] }]"""
)


@pytest.mark.parametrize(
    ("state", "area", "by", "expected"),
    [
        ("done", "interior.floor", "painted", "met"),
        ("done", "interior.floor", "covered", "met"),
        ("done", "interior", "painted", "met"),  # the area's own branch includes it
        ("done", "interior.floor", "sealed", "owed"),
        ("done", "interior.floor.carpet", "painted", "owed"),  # only a piece of the area
        ("done", "body", "painted", "owed"),
        ("planned", "interior.floor", "painted", "owed"),  # not done in this build
    ],
)
def test_a_finish_is_owed_until_it_is_done(state, area, by, expected):
    row = judged(car(FLOOR_OUT.format(state=state, area=area, by=by)), PAINTED)
    assert ruling(row, "carpet") == ("allowed", ("2.1",))
    assert result(row, "6.1") == expected
    assert row.verdict == ("eligible" if expected == "met" else "not-eligible")
    if state == "planned":
        planned = judged(car(FLOOR_OUT.format(state=state, area=area, by=by)), PAINTED, "planned")
        assert (result(planned, "6.1"), planned.verdict) == ("met", "eligible")


def test_a_finish_that_no_deciding_rule_refers_to_is_not_owed():
    nothing_done = judged(car(), PAINTED)
    assert (by_clause(nothing_done, "6.1"), nothing_done.verdict) == ([], "eligible")
    # 2.1 refers to the finish, but 2.2 decides.
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], finish = ["bare"] },
            { clause = "2.2", kinds = ["interior.floor"], does = ["remove"] },
        ]
        finish = [{ id = "bare", clause = "6.1", area = "interior.floor", by = ["painted"] }]"""
    )
    row = judged(stripped("interior.floor.carpet"), by)
    assert (by_clause(row, "6.1"), row.verdict) == ([], "eligible")


def test_a_finish_with_a_condition_holds_wherever_that_does():
    # No allowance refers to it: its condition alone brings it about.
    by = rules(
        """finish = [
            { id = "holes", clause = "6.2", area = "body", by = ["capped"], if = { removed = "body.aerial" } },
        ]""",
        **OPEN,
    )
    assert result(judged(stripped("body.aerial"), by), "6.2") == "owed"
    assert by_clause(judged(stripped("body.badge"), by), "6.2") == []
    # Referred to as well: where the condition does not hold, the reference brings nothing about.
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["body"], does = ["remove"], finish = ["holes"] }]
        finish = [
            { id = "holes", clause = "6.2", area = "body", by = ["capped"], if = { removed = "body.aerial" } },
        ]"""
    )
    assert by_clause(judged(stripped("body.badge"), by), "6.2") == []
    assert result(judged(stripped("body.aerial"), by), "6.2") == "owed"


def test_a_finish_may_hang_on_something_unknown():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], finish = ["bare"] },
            { clause = "2.2", kinds = ["interior.floor"], does = ["remove"], if = { road_registered = true } },
        ]
        finish = [{ id = "bare", clause = "6.1", area = "interior.floor", by = ["painted"] }]"""
    )
    row = judged(car(FLOOR_OUT.format(state="planned", area="interior", by="painted")), by)
    assert (row.verdict, row.facts_to_find, result(row, "6.1")) == ("undecided", ("road_registered",), "undecided")
    # Once it is done, nothing hangs on that fact any more.
    row = judged(car(FLOOR_OUT.format(state="done", area="interior", by="painted")), by)
    assert (row.verdict, row.facts_to_find) == ("eligible", ())


# ---- enter, require, and what conditions say

TOURER = {"displacement": "1598 cm3", "seats": 5, "aspiration": "natural", "driven_wheels": "front", "open_top": False}


@pytest.mark.parametrize(
    ("condition", "expected"),
    [
        ("{ seats = 5, open_top = false }", True),
        ("{ seats = 5, open_top = true }", False),
        ('{ driven_wheels = ["rear", "front"] }', True),
        ('{ displacement = { over = "1598 cm3" } }', False),
        ('{ displacement = { least = "1598 cm3", up_to = "1.598 L" } }', True),
        ('{ displacement = { under = "1598 cm3" } }', False),
        ('{ displacement = { most = "1598 cm3" } }', True),
        ("{ any = [{ seats = 2 }, { open_top = false }] }", True),
        ("{ any = [{ seats = 2 }, { open_top = true }] }", False),
        ("{ all = [{ seats = { least = 4 } }, { seats = { most = 5 } }] }", True),
        ("{ not = { seats = 5, open_top = true } }", True),
        ("{ not = { seats = 5 } }", False),
        ("{ doors = 5 }", "undecided"),
        ("{ doors = 5, open_top = true }", False),  # Kleene: false and unknown is false
        ("{ any = [{ doors = 5 }, { seats = 5 }] }", True),
        ("{ any = [{ doors = { least = 3 } }, { doors = { under = 3 } }] }", True),  # whatever it is
        ('{ fitted = "interior.floor.carpet" }', True),
        ('{ fitted = "safety.cage" }', False),
        ('{ fitted = "body.roof.sunroof" }', "undecided"),
        ('{ fitted = ["safety.cage", "interior"] }', True),
        ('{ from_factory = "glass.windscreen" }', True),
        ('{ from_factory = "safety.harness" }', False),
    ],
)
def test_conditions(condition, expected):
    assert held(car(**TOURER), condition) == expected


SWAPPED_ENGINE = 'job = [{ id = "engine", state = "planned", sets = { displacement = "1998 cm3", seats = 2 } }]'


def test_figures_as_made_and_as_they_are():
    tourer = car(SWAPPED_ENGINE, **TOURER)
    for condition, now, planned in (
        ('{ displacement = { up_to = "1600 cm3" } }', True, False),
        ('{ as_made = { displacement = { up_to = "1600 cm3" } } }', True, True),
        ("{ as_made = { seats = { least = 4 } }, seats = 2 }", False, True),
        ('{ displacement = { most = { as_made = "displacement", plus = "400 cm3" } } }', True, True),
        ('{ displacement = { most = { as_made = "displacement", plus = "399 cm3" } } }', True, False),
        ('{ displacement = { most = { as_made = "displacement" } } }', True, False),
    ):
        assert (held(tourer, condition), held(tourer, condition, build="planned")) == (now, planned), condition


def test_an_engine_swap_moves_the_car_to_another_band():
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        minimum = { by = "displacement", over_up_to = [["0 cm3", "1600 cm3", "850 kg"], ["1600 cm3", "950 kg"]] }
        """,
        **OPEN,
    )
    tourer = car(
        SWAPPED_ENGINE + '\nweighing = [{ id = "w", date = 2027-01-01, fuel = "empty", total = "900 kg" }]\n'
        'at_inspection = { fuel = "empty" }',
        **TOURER,
    )
    now, planned = judged(tourer, by), judged(tourer, by, "planned")
    assert (limit(now).limit_kg, now.verdict) == (850.0, "eligible")
    assert (limit(planned).limit_kg, planned.verdict) == (950.0, "not-eligible")


@pytest.mark.parametrize(
    ("first_registered", "over_25", "least_25"),
    [
        # On 2027-05-01: 25 whole years are reached on the anniversary itself.
        (datetime.date(2002, 5, 1), False, True),
        (datetime.date(2002, 5, 2), False, False),
        (datetime.date(2001, 5, 1), True, True),
        (datetime.date(2001, 5, 2), False, True),
    ],
)
def test_age_in_whole_years(first_registered, over_25, least_25):
    old = car(first_registered=first_registered)
    assert held(old, "{ first_registered = { age = { over = 25 } } }") == over_25
    assert held(old, "{ first_registered = { age = { least = 25 } } }") == least_25


def test_a_car_born_on_a_leap_day_is_a_year_older_on_the_first_of_march():
    born = car(first_registered=datetime.date(2000, 2, 29))
    condition = "{ first_registered = { age = { least = 27 } } }"
    assert held(born, condition, on=datetime.date(2027, 2, 28)) is False
    assert held(born, condition, on=datetime.date(2027, 3, 1)) is True


@pytest.mark.parametrize(("day", "expected"), [("1993-12-31", False), ("1994-01-01", True), ("1994-01-02", True)])
def test_dates_are_bounded_like_figures(day, expected):
    made = car(production_from=datetime.date.fromisoformat(day))
    assert held(made, "{ production_from = { least = 1994-01-01 } }") == expected


# ---- counts

COUNTS = """counts = [
    { clause = "2.1", fact = "displacement", times = 1.7, if = { aspiration = "turbo" } },
    { clause = "2.2", fact = "displacement", times = 1.5, if = { displacement = { over = "1000 cm3" } } },
    { clause = "2.3", fact = "displacement", times = 2, if = { as_made = { seats = 2 } } },
]
"""


@pytest.mark.parametrize(
    ("facts", "at_most"),
    [
        ({"displacement": "1000 cm3", "aspiration": "natural", "seats": 4}, 1000),
        ({"displacement": "1000 cm3", "aspiration": "turbo", "seats": 4}, 1700),  # 2.2 reads the stated 1000
        ({"displacement": "1100 cm3", "aspiration": "turbo", "seats": 4}, 2805),  # 1100 x 1.7 x 1.5
        ({"displacement": "1000 cm3", "aspiration": "natural", "seats": 2}, 2000),
    ],
)
def test_counts_multiply_and_read_stated_figures(facts, at_most):
    for bound, expected in ((at_most, "eligible"), (at_most - 1, "not-eligible")):
        enter = f'enter = [{{ clause = "3.1", must = {{ displacement = {{ up_to = "{bound} cm3" }} }} }}]'
        assert judged(car(**facts), rules(COUNTS + enter)).verdict == expected


def test_counts_hold_for_as_made_too():
    body = (
        COUNTS
        + """enter = [
        { clause = "3.1", must = { displacement = { most = { as_made = "displacement", plus = "850 cm3" } } } },
    ]"""
    )
    # Counted 1.7 times on both sides: 1500 x 1.7 = 2550, 1000 x 1.7 + 850 = 2550.
    swap = 'job = [{{ id = "engine", state = "done", sets = {{ displacement = "{to} cm3" }} }}]'
    facts = {"displacement": "500 cm3", "aspiration": "turbo", "seats": 4}
    assert judged(car(swap.format(to=1000), **facts), rules(body)).verdict == "eligible"  # 1700 <= 850 + 850
    assert judged(car(swap.format(to=1001), **facts), rules(body)).verdict == "not-eligible"


# ---- what is on the car


def test_always_never_and_sometimes():
    kinds = {"interior.dash": True, "safety.cage": False, "body.roof.sunroof": "undecided"}
    for kind, expected in kinds.items():
        assert held(car(), f'{{ fitted = "{kind}" }}') == expected
        assert held(car(absent=(kind,)), f'{{ fitted = "{kind}" }}') is False
        assert held(car(present=(kind,)), f'{{ fitted = "{kind}" }}') is True


def test_the_ledger_speaks_of_a_sometimes_kind():
    listed = 'part = [{{ id = "p", kind = "body.roof.sunroof", origin = "{origin}" }}]\n{job}'
    off = 'job = [{ id = "j", state = "done", off = ["p"] }]'
    later = 'job = [{ id = "j", state = "maybe", fit = ["p"] }]'
    for origin, job, fitted, from_factory in (
        ("factory", "", True, True),
        ("factory", off, False, True),
        ("aftermarket", "", True, False),
        ("aftermarket", off, False, False),
        ("aftermarket", later, False, False),  # an addition: the factory gave none
    ):
        roof = car(listed.format(origin=origin, job=job))
        assert held(roof, '{ fitted = "body.roof.sunroof" }') == fitted, (origin, job)
        assert held(roof, '{ from_factory = "body.roof.sunroof" }') == from_factory, (origin, job)


def test_a_branch_absent_takes_all_under_it_and_present_brings_one_back():
    bare = car(absent=("interior.audio",), present=("interior.audio.speakers",))
    assert held(bare, '{ fitted = "interior.audio.head-unit" }') is False
    assert held(bare, '{ fitted = "interior.audio.speakers" }') is True
    assert held(bare, '{ fitted = "interior.audio" }') is True


def test_a_part_of_one_thing_under_a_branch_leaves_the_rest_by_the_trees_word():
    # The rear seat's base is listed and off; back and belts are there by the tree's word.
    bench = stripped("interior.seat.rear.base")
    assert held(bench, '{ fitted = "interior.seat.rear.base" }') is False
    assert held(bench, '{ fitted = "interior.seat.rear" }') is True
    assert held(bench, '{ removed = "interior.seat.rear" }') is True


def test_a_kind_of_the_books_own_is_unknown_until_the_car_speaks_of_it():
    own = '[[kind]]\nid = "interior.dash.clock"\ntitle = "Dash clock"\nfrom_factory = "sometimes"'
    by = rules('need = [{ clause = "5.1", kinds = ["interior.dash.clock"] }]', before=own, **OPEN)
    row = judged(car(), by)
    assert (row.verdict, row.facts_to_find) == ("undecided", ("interior.dash.clock",))
    assert judged(car(present=("interior.dash.clock",)), by).verdict == "eligible"
    assert judged(car(absent=("interior.dash",)), by).verdict == "not-eligible"


def test_a_default_is_assumed_and_a_job_may_still_change_it():
    fact = '[[fact]]\nid = "tyre_list"\ntype = "choice"\nchoices = ["a", "b"]\ntitle = "Which list"\ndefault = "a"'
    by = rules('require = [{ clause = "4.1", must = { tyre_list = "a" } }]', before=fact, **OPEN)
    row = judged(car(), by)
    assert row.verdict == "eligible"
    (finding,) = [each for each in row.findings if each.clause == "4.1"]
    assert "assumed" in finding.facts["tyre_list"]
    assert judged(car(tyre_list="b"), by).verdict == "not-eligible"
    swap = car('job = [{ id = "tyres", state = "done", sets = { tyre_list = "b" } }]')
    assert judged(swap, by).verdict == "not-eligible"
