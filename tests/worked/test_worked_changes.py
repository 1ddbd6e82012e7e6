"""What counts as a change: swaps, chains, parts off and on again, branches partly replaced. Decided by hand."""

import pytest

from support import by_clause, car, change, judged, limit, result, rules, ruling

# A book that says which action a change was: each action has its clause, swap 2.2 and so on.
NAMES_THE_ACTION = rules(
    "allow = ["
    + ", ".join(
        f'{{ clause = "2.{index}", kinds = ["everything"], does = ["{action}"] }}'
        for index, action in enumerate(["remove", "swap", "fit", "lighten", "move"], start=1)
    )
    + "]"
)


def changes(of, build="now"):
    """Every change as (part, action, kind)."""
    row = judged(of, NAMES_THE_ACTION, build)
    return {(finding.part, finding.does, finding.kind) for finding in row.findings if finding.does}


def parts(*rows):
    return "part = [" + ", ".join(f"{{ {row} }}" for row in rows) + "]\n"


SEAT, DRIVER = 'id = "seat", kind = "interior.seat.front.driver"', "interior.seat.front.driver"


@pytest.mark.parametrize(
    ("new_kind", "expected"),
    [
        # The same kind, one above, one under: a swap, decided for the old part's kind or, under it, for that.
        (DRIVER, {("seat", "swap", DRIVER)}),
        ("interior.seat.front", {("seat", "swap", DRIVER)}),
        ("interior.seat", {("seat", "swap", DRIVER)}),
        # Beside it: what came off was removed, and what came on was added.
        (
            "interior.seat.front.passenger",
            {("seat", "remove", DRIVER), ("new", "fit", "interior.seat.front.passenger")},
        ),
        ("safety.cage", {("seat", "remove", DRIVER), ("new", "fit", "safety.cage")}),
    ],
)
def test_a_replacement_is_a_swap_only_between_related_kinds(new_kind, expected):
    swapped = car(
        parts(SEAT, f'id = "new", kind = "{new_kind}", replaces = "seat", origin = "aftermarket"')
        + 'job = [{ id = "fit", state = "done", fit = ["new"] }]'
    )
    assert changes(swapped) == expected


def test_off_repeats_what_a_replacement_says_already():
    body = parts(SEAT, f'id = "new", kind = "{DRIVER}", replaces = "seat", origin = "aftermarket"')
    for off in ("", 'off = ["seat"], '):
        assert changes(car(body + f'job = [{{ id = "fit", state = "done", {off}fit = ["new"] }}]')) == {
            ("seat", "swap", DRIVER)
        }


def test_removed_and_off_tell_a_swap_from_a_removal():
    asks = rules(
        """require = [
            { clause = "4.1", must = { removed = "interior.seat.front.driver" } },
            { clause = "4.2", must = { swapped = "interior.seat.front.driver" } },
            { clause = "4.3", must = { off = "interior.seat.front.driver" } },
        ]""",
        silence="permits",
    )

    def held(new_kind):
        body = parts(SEAT, f'id = "new", kind = "{new_kind}", replaces = "seat", origin = "aftermarket"')
        row = judged(car(body + 'job = [{ id = "fit", state = "done", fit = ["new"] }]'), asks)
        return [result(row, clause) == "met" for clause in ("4.1", "4.2", "4.3")]

    assert held(DRIVER) == [False, True, True]
    assert held("safety.cage") == [True, False, True]


CHAIN = parts(
    SEAT,
    f'id = "second", kind = "{DRIVER}", replaces = "seat", origin = "aftermarket"',
    f'id = "third", kind = "{DRIVER}", replaces = "second", origin = "aftermarket"',
)


def test_a_chain_of_replacements_is_one_swap_of_the_first():
    body = (
        CHAIN
        + """job = [
        { id = "one", state = "done", date = 2027-01-01, fit = ["second"] },
        { id = "two", state = "planned", date = 2027-02-01, fit = ["third"] },
    ]"""
    )
    assert changes(car(body)) == {("seat", "swap", DRIVER)}
    assert changes(car(body), "planned") == {("seat", "swap", DRIVER)}
    light = rules(
        'allow = [{ clause = "2.1", kinds = ["interior.seat"], does = ["swap"], part = { origin = "aftermarket" } }]'
    )
    (finding,) = [each for each in judged(car(body), light, "planned").findings if each.does]
    assert (finding.part, finding.result) == ("seat", "allowed")


def test_a_chain_that_ends_with_the_first_one_back_is_no_change():
    body = (
        CHAIN
        + """job = [
        { id = "one", state = "done", date = 2027-01-01, fit = ["second"] },
        { id = "two", state = "done", date = 2027-02-01, fit = ["third"] },
        { id = "three", state = "planned", date = 2027-02-01, off = ["third"], fit = ["seat"] },
    ]"""
    )
    assert changes(car(body)) == {("seat", "swap", DRIVER)}
    assert changes(car(body), "planned") == set()


def test_off_and_on_again_is_no_change():
    body = (
        parts('id = "carpet", kind = "interior.floor.carpet"')
        + """job = [
        { id = "out", state = "done", date = 2027-01-01, off = ["carpet"] },
        { id = "back", state = "planned", date = 2027-02-01, fit = ["carpet"] },
    ]"""
    )
    assert changes(car(body)) == {("carpet", "remove", "interior.floor.carpet")}
    assert changes(car(body), "planned") == set()


def test_a_part_only_in_the_inventory_is_no_change():
    body = (
        parts('id = "cage", kind = "safety.cage", origin = "aftermarket"')
        + """job = [
        { id = "perhaps", state = "maybe", fit = ["cage"] },
    ]
    build = [{ id = "caged", jobs = ["perhaps"] }]"""
    )
    assert changes(car(body)) == changes(car(body), "planned") == set()
    assert changes(car(body), "caged") == {("cage", "fit", "safety.cage")}


def test_an_aftermarket_part_from_the_outset_is_a_change():
    addition = parts('id = "cage", kind = "safety.cage", origin = "aftermarket"')
    assert changes(car(addition)) == {("cage", "fit", "safety.cage")}
    swap = parts(SEAT, f'id = "bucket", kind = "{DRIVER}", replaces = "seat", origin = "aftermarket"')
    assert changes(car(swap)) == {("seat", "swap", DRIVER)}
    of_a_kind = parts(f'id = "bucket", kind = "{DRIVER}", replaces = "{DRIVER}", origin = "aftermarket"')
    assert changes(car(of_a_kind)) == {("bucket", "swap", DRIVER)}
    assert changes(car(parts('id = "carpet", kind = "interior.floor.carpet", origin = "factory"'))) == set()


def test_the_old_part_put_back_for_an_aftermarket_one_is_no_change():
    body = parts(SEAT, f'id = "bucket", kind = "{DRIVER}", replaces = "seat", origin = "aftermarket"')
    body += 'job = [{ id = "back", state = "planned", off = ["bucket"], fit = ["seat"] }]'
    assert changes(car(body)) == {("seat", "swap", DRIVER)}
    assert changes(car(body), "planned") == set()


def test_an_aftermarket_part_from_the_outset_that_comes_off_leaves_the_old_one_removed_or_itself():
    # An addition that came off: it was on at the outset and is not now.
    body = parts('id = "cage", kind = "safety.cage", origin = "aftermarket"')
    body += 'job = [{ id = "out", state = "done", off = ["cage"] }]'
    assert changes(car(body)) == {("cage", "remove", "safety.cage")}


def test_a_kind_without_a_part_may_be_replaced():
    body = parts(
        'id = "lid", kind = "body.bonnet", replaces = "body.bonnet", material = "composite", origin = "aftermarket"'
    )
    body += 'job = [{ id = "fit", state = "planned", fit = ["lid"] }]'
    assert changes(car(body)) == set()
    assert changes(car(body), "planned") == {("lid", "swap", "body.bonnet")}
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["body.bonnet"], does = ["swap"], part = { material_not = ["composite"] } },
        ]
        need = [{ clause = "4.1", kinds = ["body.bonnet"] }]"""
    )
    row = judged(car(body), by, "planned")
    assert ruling(row, "lid") == ("violation", ("1.1",))
    assert result(row, "4.1") == "met"


BENCH_HALVED = (
    parts(
        'id = "bench", kind = "interior.seat.rear"',
        'id = "light-back", kind = "interior.seat.rear.back", replaces = "bench", origin = "aftermarket"',
    )
    + 'job = [{ id = "halve", state = "done", fit = ["light-back"] }]'
)


def test_a_branch_partly_replaced_is_swapped_there_and_removed_elsewhere():
    # The bench stands for base, back and belts; a new back takes its place: back swapped, base and belts removed.
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior.seat.rear.back"], does = ["swap"] }]
        require = [
            { clause = "4.1", must = { swapped = "interior.seat.rear.back" } },
            { clause = "4.2", must = { removed = "interior.seat.rear.base" } },
            { clause = "4.3", must = { not = { removed = "interior.seat.rear.back" } } },
            { clause = "4.4", must = { fitted = "interior.seat.rear.back" } },
            { clause = "4.5", must = { not = { fitted = "interior.seat.rear.belts" } } },
        ]"""
    )
    row = judged(car(BENCH_HALVED), by)
    assert ruling(row, "bench", "swap") == ("allowed", ("2.1",))
    assert ruling(row, "bench", "remove") == ("violation", ("1.1",))
    assert [result(row, f"4.{index}") for index in range(1, 6)] == ["met"] * 5


@pytest.mark.parametrize(
    ("banned", "expected"),
    [("interior.seat.rear.belts", "violation"), ("interior.seat.rear.back", "allowed")],
)
def test_the_rest_of_a_partly_replaced_branch_is_decided_by_itself(banned, expected):
    by = rules(
        f"""allow = [{{ clause = "2.1", kinds = ["interior.seat"], does = ["remove", "swap"] }}]
        ban = [{{ clause = "3.1", kinds = ["{banned}"], does = ["remove"] }}]"""
    )
    assert change(judged(car(BENCH_HALVED), by), "bench", "remove").result == expected


def test_two_parts_may_take_the_place_of_one():
    body = (
        parts(
            'id = "bench", kind = "interior.seat.rear"',
            'id = "back", kind = "interior.seat.rear.back", replaces = "bench", origin = "aftermarket"',
            'id = "base", kind = "interior.seat.rear.base", replaces = "bench", origin = "aftermarket"',
            'id = "plate", kind = "interior.floor.foot-plate", replaces = "bench", origin = "aftermarket"',
        )
        + 'job = [{ id = "rebuild", state = "done", fit = ["back", "base", "plate"] }]'
    )
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior.seat.rear.back"], does = ["swap"] },
            { clause = "2.2", kinds = ["interior.seat.rear.base"], does = ["swap"] },
            { clause = "2.3", kinds = ["interior.floor"], does = ["fit"] },
        ]"""
    )
    found = {(each.part, each.does, each.kind): each.result for each in judged(car(body), by).findings if each.does}
    # The belts have no successor: the branch's rest is removed, and no rule allows that.
    assert found.pop(("bench", "swap", "interior.seat.rear.back")) == "allowed"
    assert found.pop(("bench", "swap", "interior.seat.rear.base")) == "allowed"
    assert found.pop(("plate", "fit", "interior.floor.foot-plate")) == "allowed"
    assert [(part, does, outcome) for (part, does, _), outcome in found.items()] == [("bench", "remove", "violation")]


def test_a_part_over_a_branch_replaces_all_of_it():
    body = (
        parts(
            'id = "bench", kind = "interior.seat.rear"',
            'id = "new", kind = "interior.seat.rear", replaces = "bench", origin = "aftermarket"',
        )
        + 'job = [{ id = "swap", state = "done", fit = ["new"] }]'
    )
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior.seat"], does = ["swap"] }]
        ban = [{ clause = "3.1", kinds = ["interior.seat.rear.belts"], does = ["swap"] }]"""
    )
    assert ruling(judged(car(body), by), "bench") == ("violation", ("3.1",))


def test_moved_and_back_again_is_no_change():
    body = (
        parts('id = "battery", kind = "electrical.battery", at = -200')
        + """job = [
        { id = "aft", state = "done", date = 2027-01-01, moves = { battery = { at = 2500 } } },
        { id = "fore", state = "planned", date = 2027-02-01, moves = { battery = { at = "-0.2 m" } } },
    ]"""
    )
    assert changes(car(body)) == {("battery", "move", "electrical.battery")}
    assert changes(car(body), "planned") == set()


def test_a_part_that_is_lightened_and_then_comes_off_is_only_removed():
    body = (
        parts('id = "bonnet", kind = "body.bonnet", mass = "15 kg"')
        + """job = [
        { id = "drill", state = "done", date = 2027-01-01, lightens = { bonnet = "12 kg" } },
        { id = "out", state = "planned", date = 2027-02-01, off = ["bonnet"] },
    ]"""
    )
    assert changes(car(body)) == {("bonnet", "lighten", "body.bonnet")}
    assert changes(car(body), "planned") == {("bonnet", "remove", "body.bonnet")}


# ---- What jobs may and may not do together


def test_jobs_act_by_date_and_undated_ones_last():
    body = """job = [
        { id = "later", state = "done", sets = { doors = 5 } },
        { id = "third", state = "done", date = 2027-03-01, sets = { doors = 4, seats = 3 } },
        { id = "first", state = "done", date = 2027-01-01, sets = { seats = 2 } },
    ]"""
    by = rules('require = [{ clause = "4.1", must = { doors = 5, seats = 3 } }]')
    assert judged(car(body, doors=3, seats=5), by).verdict == "eligible"


def test_a_named_build_holds_the_done_jobs_and_its_own_without_what_it_undoes():
    body = """job = [
        { id = "a", state = "done", sets = { seats = 2 } },
        { id = "b", state = "planned", sets = { doors = 2 } },
        { id = "c", state = "maybe", sets = { gears = 6 } },
    ]
    build = [{ id = "track", jobs = ["c"], undo = ["a"] }]"""
    every = rules(
        """require = [
            { clause = "4.1", must = { seats = 2 } },
            { clause = "4.2", must = { doors = 2 } },
            { clause = "4.3", must = { gears = 6 } },
        ]"""
    )

    def held(build):
        row = judged(car(body, seats=4, doors=4, gears=5), every, build)
        return [result(row, f"4.{index}") == "met" for index in (1, 2, 3)]

    assert held("now") == [True, False, False]
    assert held("planned") == [True, True, False]
    assert held("track") == [False, False, True]


# ---- Bounds on the part as it ends up

BUCKET = f"""part = [
    {{{{ id = "seat", kind = "{DRIVER}", mass = "14.0 kg", material = "steel" }}}},
    {{{{ id = "bucket", kind = "{DRIVER}", replaces = "seat", origin = "aftermarket", {{more}} }}}},
]
job = [{{{{ id = "fit", state = "done", fit = ["bucket"] }}}}]
"""


@pytest.mark.parametrize(
    ("bound", "more", "expected"),
    [
        ('weighs = { least = "7 kg" }', 'mass = "7 kg"', "allowed"),
        ('weighs = { least = "7 kg" }', 'mass = "6.9 kg"', "violation"),
        ("share_of_original = { least = 0.5 }", 'mass = "7 kg"', "allowed"),
        ("share_of_original = { least = 0.5 }", 'mass = "6.9 kg"', "violation"),
        ('weight_removed = { most = "7 kg" }', 'mass = "7 kg"', "allowed"),
        ('weight_removed = { most = "7 kg" }', 'mass = "6.9 kg"', "violation"),
        ("share_removed = { under = 0.5 }", 'mass = "7.0 kg"', "violation"),
        ("share_removed = { under = 0.5 }", 'mass = "7.1 kg"', "allowed"),
        ('material_not = ["Magnesium"]', 'material = "magnesium"', "violation"),
        ('material_not = ["magnesium"]', 'material = "steel"', "allowed"),
        ('material = "as-original"', 'material = "Steel"', "allowed"),
        ('material = "as-original"', 'material = "composite"', "violation"),
        ('origin = "aftermarket"', "count = 1", "allowed"),
        ('origin = "factory"', "count = 1", "violation"),
        ('thickness = { least = "3 mm" }', 'thickness = "3.0 mm"', "allowed"),
        ('thickness = { over = "3 mm" }', 'thickness = "3.0 mm"', "violation"),
        ('approval = ["A1", "B2"]', 'approval = ["B2"]', "allowed"),
        ('approval = ["A1", "B2"]', "approval = []", "violation"),
        ('at = { least = "1 m", most = "1.5 m" }', "at = 1200", "allowed"),
        ('at = { least = "1 m", most = "1.5 m" }', "at = -1200", "violation"),
        ('place = ["interior"]', 'place = "interior.floor"', "allowed"),
        ('place = ["interior"]', 'place = "stowage"', "violation"),
        ('within = "wheelbase"', "at = 2500", "allowed"),
        ('within = "wheelbase"', "at = 2501", "violation"),
        ('within = "wheelbase"', "at = -1", "violation"),
        ('behind = "driver"', "at = 1301", "allowed"),
        ('behind = "driver"', "at = 1300", "violation"),
    ],
)
def test_bounds_on_a_swapped_part(bound, more, expected):
    by = rules(f'allow = [{{ clause = "2.1", kinds = ["interior"], does = ["swap"], part = {{ {bound} }} }}]')
    swapped = car(BUCKET.format(more=more) + 'driver = { mass = "80 kg", seat_at = 1300 }', wheelbase="2500 mm")
    assert change(judged(swapped, by), "seat").result == expected


def test_what_a_part_does_not_say_is_unknown():
    for bound, particular in (
        ('weighs = { least = "7 kg" }', "mass"),
        ('material_not = ["magnesium"]', "material"),
        ('thickness = { least = "3 mm" }', "thickness"),
        ('place = ["interior"]', "place"),
        ("at = { least = 1000 }", "at"),
    ):
        by = rules(f'allow = [{{ clause = "2.1", kinds = ["interior"], does = ["swap"], part = {{ {bound} }} }}]')
        row = judged(car(BUCKET.format(more="count = 1")), by)
        assert (row.verdict, row.facts_to_find) == ("undecided", (f"bucket.{particular}",))


@pytest.mark.parametrize(
    ("year", "expected"), [(1998, "violation"), (1999, "allowed"), (2001, "allowed"), (2002, "violation")]
)
def test_two_years_are_the_first_and_the_last(year, expected):
    by = rules('allow = [{ clause = "2.1", kinds = ["interior"], does = ["swap"], part = { years = "model_year" } }]')
    dated = car(BUCKET.format(more="years = [1999, 2001]"), model_year=year)
    assert change(judged(dated, by), "seat").result == expected


LIGHTENED = """part = [{{ id = "bonnet", kind = "body.bonnet", mass = "15.00 kg" }}]
job = [{{ id = "drill", state = "done", lightens = {{ bonnet = "{to} kg" }} }}]
"""


@pytest.mark.parametrize(
    ("bound", "to", "expected"),
    [
        ('weight_removed = { most = "3 kg" }', "12.00", "allowed"),
        ('weight_removed = { most = "3 kg" }', "11.99", "violation"),
        ("share_removed = { most = 0.2 }", "12.00", "allowed"),
        ("share_removed = { most = 0.2 }", "11.99", "violation"),
        ("share_of_original = { over = 0.8 }", "12.00", "violation"),
        ('weighs = { least = "12 kg" }', "11.99", "violation"),
    ],
)
def test_a_lightening_quota(bound, to, expected):
    by = rules(f'allow = [{{ clause = "2.1", kinds = ["body"], does = ["lighten"], part = {{ {bound} }} }}]')
    assert change(judged(car(LIGHTENED.format(to=to)), by), "bonnet").result == expected


def test_nothing_is_left_of_a_part_that_came_off():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], part = { weight_removed = { most = "2 kg" } } },
            { clause = "2.2", kinds = ["stowage"], does = ["remove"], part = { share_of_original = { least = 0.01 } } },
            { clause = "2.3", kinds = ["glass"], does = ["remove"], part = { share_removed = { least = 1 } } },
        ]"""
    )
    stripped = car(
        """part = [
            { id = "carpet", kind = "interior.floor.carpet", mass = "2.0 kg" },
            { id = "boot-carpet", kind = "interior.floor.boot-carpet", mass = "2.1 kg" },
            { id = "jack", kind = "stowage.jack", mass = "3 kg" },
            { id = "quarter", kind = "glass.quarter" },
        ]
        job = [{ id = "strip", state = "done", off = ["carpet", "boot-carpet", "jack", "quarter"] }]"""
    )
    row = judged(stripped, by)
    assert {part: change(row, part).result for part in ("carpet", "boot-carpet", "jack", "quarter")} == {
        "carpet": "allowed",
        "boot-carpet": "violation",
        "jack": "violation",
        "quarter": "allowed",
    }


def test_share_of_original_never_holds_for_an_addition():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["safety"], does = ["fit"], part = { share_of_original = { least = 0 } } },
        ]"""
    )
    caged = car('part = [{ id = "cage", kind = "safety.cage", mass = "30 kg", origin = "aftermarket" }]')
    assert ruling(judged(caged, by), "cage") == ("violation", ("1.1",))


# ---- taken_off: a limit on what came off

QUOTA = rules(
    'limit = [{ clause = "7.2", taken_off = ["interior"], maximum = "10 kg", allowance = "0.5 kg" }]', silence="permits"
)
FITTINGS = """part = [
    {{ id = "carpet", kind = "interior.floor.carpet", mass = "{carpet} kg" }},
    {{ id = "seat", kind = "interior.seat.front.driver", mass = "14.00 kg" }},
    {{ id = "bucket", kind = "interior.seat.front", mass = "6.00 kg", replaces = "seat", origin = "aftermarket" }},
    {{ id = "dash", kind = "interior.dash", mass = "9.00 kg" }},
    {{ id = "jack", kind = "stowage.jack", mass = "50.00 kg" }},
]
job = [{{ id = "strip", state = "done", {work} }}, {{ id = "later", state = "maybe", fit = ["bucket"] }}]
"""


@pytest.mark.parametrize(
    ("carpet", "work", "mass", "verdict"),
    [
        ("10.40", 'off = ["carpet", "jack"]', 10.4, "eligible"),  # the jack is no interior; 10.5 with the allowance
        ("10.60", 'off = ["carpet"]', 10.6, "not-eligible"),
        ("5.00", 'off = ["carpet"], lightens = { dash = "4.00 kg" }', 10.0, "eligible"),
        ("5.00", 'off = ["carpet"], lightens = { dash = "3.00 kg" }', 11.0, "not-eligible"),
        ("5.00", 'fit = ["bucket"]', 14.0, "not-eligible"),  # replaced or not, all of the old part came off
        ("5.00", 'off = ["jack"]', 0.0, "eligible"),
    ],
)
def test_a_limit_on_what_came_off(carpet, work, mass, verdict):
    row = judged(car(FITTINGS.format(carpet=carpet, work=work)), QUOTA)
    assert (limit(row, "taken_off").mass_kg, row.verdict) == (pytest.approx(mass), verdict)


def test_what_came_off_within_a_branch_above_has_no_mass_of_its_own():
    by = rules(
        'limit = [{ clause = "7.2", taken_off = ["interior.seat.rear.belts"], maximum = "1 kg" }]', silence="permits"
    )
    bench = car(
        'part = [{ id = "bench", kind = "interior.seat.rear", mass = "12 kg" }]\n'
        'job = [{ id = "strip", state = "done", off = ["bench"] }]'
    )
    row = judged(bench, by)
    assert (row.verdict, limit(row, "taken_off").mass_kg, row.facts_to_find) == ("undecided", None, ())
    assert by_clause(row, "7.2") == ["undecided"]


def test_an_unweighed_part_that_came_off_leaves_the_quota_open():
    row = judged(
        car(
            """part = [{ id = "carpet", kind = "interior.floor.carpet" }]
            job = [{ id = "strip", state = "done", off = ["carpet"] }]"""
        ),
        QUOTA,
    )
    assert (row.verdict, row.facts_to_find) == ("undecided", ())


def test_a_replaced_branch_without_a_part_takes_off_only_what_it_stood_for():
    by = rules('limit = [{ clause = "7.2", taken_off = ["wheels.cover"], maximum = "3 kg" }]', silence="permits")
    new = '{ id = "new", kind = "wheels.cover", mass = "1 kg", replaces = "wheels", origin = "aftermarket" }'
    covers = '{ id = "covers", kind = "wheels.cover", mass = "2 kg" }'
    # Where the covers are a part of their own, what took the place of the rest of the wheels took no covers off.
    row = judged(car(f"part = [{covers}, {new}]", present=("wheels.cover",)), by)
    assert (row.verdict, limit(row, "taken_off").mass_kg) == ("eligible", 0.0)
    job = '\njob = [{ id = "j", state = "done", fit = ["new"] }]'
    row = judged(car(f"part = [{new}]{job}", present=("wheels.cover",)), by)
    assert (row.verdict, limit(row, "taken_off").mass_kg) == ("undecided", None)
