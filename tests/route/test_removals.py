"""What may come out: each group, duties, substitutes, and what was wrong before. All decided by hand."""

import pytest

from support import DAY, car, rules
from tarebook.api import removals

FREE = (
    'allow = [{ clause = "5.1", kinds = ["interior", "stowage", "safety", "body"], does = ["remove", "fit", "swap"] }]'
)
MAT = '{ id = "mat", kind = "interior.floor.boot-carpet", title = "Boot carpet", mass = "1.5 kg" }'
RADIO = '{ id = "radio", kind = "interior.audio", title = "Radio", mass = "2.0 kg" }'
BOTTLE = '{ id = "bottle", kind = "safety.extinguisher", title = "Bottle", origin = "aftermarket" }'


def garage(*parts, jobs="", more="", **options):
    """A car with these parts and jobs."""
    return car(f"{more}\npart = [{', '.join(parts)}]\njob = [{jobs}]", **options)


def job(name, state="done", **lists):
    listed = "".join(f", {key} = {value}" for key, value in lists.items())
    return f'{{ id = "{name}", state = "{state}"{listed} }}'


def rows(builder, by, build="now"):
    return {row.part: row for row in removals(builder, by, "club", on=DAY, build=build)}


def only(builder, by, build="now"):
    (row,) = removals(builder, by, "club", on=DAY, build=build)
    return row


# ---- the groups


def test_what_a_clause_allows_may_come_out():
    row = only(garage(MAT), rules(FREE))
    assert (row.part, row.title, row.kind, row.group) == ("mat", "Boot carpet", "interior.floor.boot-carpet", "may")
    assert (row.clauses, row.duties, row.facts_to_find) == (("5.1",), [], ())
    assert [reason.sentence for reason in row.reasons] == ["Boot carpet may be removed."]


@pytest.mark.parametrize(("silence", "group"), [("permits", "may"), ("forbids", "must-stay")])
def test_silence_decides_where_no_clause_does(silence, group):
    row = only(garage(MAT), rules(silence=silence))
    assert (row.group, row.clauses) == (group, ("1.1",))


def test_what_a_clause_bans_must_stay():
    row = only(
        garage(MAT),
        rules('ban = [{ clause = "5.2", kinds = ["interior.floor"], does = ["remove"] }]', silence="permits"),
    )
    assert (row.group, row.clauses) == ("must-stay", ("5.2",))
    assert [reason.sentence for reason in row.reasons] == ["Boot carpet may not be removed."]


def test_a_ban_on_swapping_does_not_keep_a_part_on():
    by = rules('ban = [{ clause = "5.2", kinds = ["interior"], does = ["swap", "lighten"] }]', silence="permits")
    assert only(garage(MAT), by).group == "may"


def test_what_only_a_person_can_allow_may_come_out():
    by = rules('allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"], ask = "Is it loose?" }]')
    row = only(garage(MAT), by)
    assert (row.group, row.clauses) == ("may", ("5.1",))
    assert [reason.sentence for reason in row.reasons] == [
        "Boot carpet may be removed if a person agrees: Is it loose?"
    ]


def test_undecided_names_the_facts():
    both = "{ seats = 5, doors = { least = 3 } }"
    by = rules(f'allow = [{{ clause = "5.1", kinds = ["interior"], does = ["remove"], if = {both} }}]')
    row = only(garage(MAT), by)
    assert (row.group, row.facts_to_find, row.clauses) == ("undecided", ("doors", "seats"), ("1.1",))
    assert "hangs on doors and seats" in row.reasons[0].sentence
    assert only(garage(MAT, doors=3), by).facts_to_find == ("seats",)
    assert only(garage(MAT, doors=3, seats=5), by).group == "may"
    # One fact is enough to settle it the other way.
    assert (only(garage(MAT, doors=2), by).group, only(garage(MAT, doors=2), by).facts_to_find) == ("must-stay", ())


def test_undecided_names_a_kind_whose_presence_is_unknown():
    by = rules(
        'allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"], if = { fitted = "body.roof.sunroof" } }]'
    )
    row = only(garage(MAT), by)
    assert (row.group, row.facts_to_find) == ("undecided", ("body.roof.sunroof",))
    assert only(garage(MAT, present=("body.roof.sunroof",)), by).group == "may"
    assert only(garage(MAT, absent=("body.roof.sunroof",)), by).group == "must-stay"


def test_a_certain_ban_is_not_undecided():
    by = rules(
        """ban = [
            { clause = "5.2", kinds = ["interior.floor.boot-carpet"], does = ["remove"] },
            { clause = "5.3", kinds = ["interior.floor"], does = ["remove"], if = { seats = 5 } },
        ]""",
        silence="permits",
    )
    row = only(garage(MAT), by)
    assert (row.group, row.clauses, row.facts_to_find) == ("must-stay", ("5.2",), ())


def test_rows_stand_in_the_order_of_the_ledger():
    found = removals(garage(RADIO, MAT), rules(FREE), "club", on=DAY)
    assert [row.part for row in found] == ["radio", "mat"]


# ---- parts already off


def test_a_part_off_against_the_rules_is_to_be_put_back():
    by = rules('ban = [{ clause = "5.2", kinds = ["interior.floor"], does = ["remove"] }]', silence="permits")
    kept = MAT.replace("}", ', kept = "loft" }')
    gone = '{ id = "felt", kind = "interior.floor.underlay", gone = true }'
    found = rows(garage(kept, gone, RADIO, jobs=job("strip", off='["mat", "felt", "radio"]')), by)
    assert {name: row.group for name, row in found.items()} == {"mat": "put-back", "felt": "put-back"}
    assert (found["mat"].clauses, found["mat"].kept, found["mat"].gone, found["mat"].mass_kg) == (
        ("5.2",),
        "loft",
        False,
        1.5,
    )
    assert (found["felt"].gone, found["felt"].mass_kg) == (True, None)
    assert found["mat"].margin_left_kg is None


SEATS = """
allow = [{ clause = "5.1", kinds = ["interior.seat"], does = ["remove"] }]
ban = [{ clause = "5.2", kinds = ["interior.seat"], does = ["swap"] }]
"""
STOCK = '{ id = "stock", kind = "interior.seat.front.driver", title = "Stock seat" }'
LIGHT = '{ id = "light", kind = "interior.seat.front.driver", origin = "aftermarket", replaces = "stock" }'


def test_a_part_swapped_against_the_rules_is_to_be_put_back():
    found = rows(garage(STOCK, LIGHT, jobs=job("seat", fit='["light"]')), rules(SEATS))
    assert (found["stock"].group, found["stock"].clauses) == ("put-back", ("5.2",))
    assert found["stock"].reasons[0].sentence.startswith("Stock seat for light may not be swapped.")
    # The seat that is in may come out: then the stock one is removed, no longer swapped.
    assert found["light"].group == "may"


def test_a_part_that_had_replaced_another_cites_the_clause_that_lets_it_out():
    found = rows(garage(STOCK, LIGHT, jobs=job("seat", fit='["light"]')), rules(SEATS))
    assert found["light"].clauses == ("5.1",)


def test_a_swap_that_is_allowed_is_absent():
    by = rules('allow = [{ clause = "5.1", kinds = ["interior.seat"], does = ["swap"] }]')
    found = rows(garage(STOCK, LIGHT, jobs=job("seat", fit='["light"]')), by)
    assert {name: row.group for name, row in found.items()} == {"light": "must-stay"}


def test_parts_off_and_allowed_or_undecided_are_absent():
    by = rules('allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"] }]')
    assert rows(garage(MAT, RADIO, jobs=job("strip", off='["mat"]')), by).keys() == {"radio"}
    perhaps = rules('allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"], if = { seats = 5 } }]')
    assert rows(garage(MAT, RADIO, jobs=job("strip", off='["mat"]')), perhaps).keys() == {"radio"}


def test_a_part_that_is_only_in_the_inventory_is_absent():
    assert rows(garage(MAT, BOTTLE, jobs=job("bottle", "maybe", fit='["bottle"]')), rules(FREE)).keys() == {"mat"}


@pytest.mark.parametrize(("build", "expected"), [("now", {"mat", "radio"}), ("planned", {"radio"}), ("bare", set())])
def test_the_build_that_was_asked_about(build, expected):
    builder = garage(
        MAT,
        RADIO,
        jobs=", ".join([job("strip", "planned", off='["mat"]'), job("quiet", "maybe", off='["radio"]')]),
        more='build = [{ id = "bare", jobs = ["strip", "quiet"] }]',
    )
    assert rows(builder, rules(FREE), build).keys() == expected


# ---- duties

FLOOR = """
allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"], finish = ["bare"] }]
finish = [{ id = "bare", clause = "5.6", area = "interior.floor", by = ["painted", "covered"] }]
"""
PAINT = """
[[class.finish]]
id = "bare"
clause = "5.6"
area = "interior.floor"
by = ["painted"]
if = { removed = "interior.floor" }
"""


def test_a_finish_is_a_duty():
    row = only(garage(MAT), rules(FLOOR))
    assert (row.group, row.clauses) == ("may-with-duty", ("5.6",))
    assert row.duties == ["A finish is then owed at interior.floor (floor coverings): painted or covered."]


@pytest.mark.parametrize(
    ("area", "by", "group"),
    [
        ("interior.floor", "painted", "may"),
        ("interior", "covered", "may"),
        ("interior.floor.boot-carpet", "painted", "may-with-duty"),
        ("interior.floor", "welded", "may-with-duty"),
    ],
)
def test_a_finish_that_is_done_is_no_duty(area, by, group):
    painted = job("paint", finishes=f'[{{ area = "{area}", by = "{by}" }}]')
    assert only(garage(MAT, jobs=painted), rules(FLOOR)).group == group


def test_a_finish_that_is_owed_already_is_no_new_duty():
    felt = '{ id = "felt", kind = "interior.floor.underlay" }'
    row = only(garage(felt, MAT, jobs=job("strip", off='["felt"]')), rules(FLOOR))
    assert (row.part, row.group) == ("mat", "may")


def test_a_need_that_the_removal_brings_about_is_a_duty():
    need = 'need = [{ clause = "5.7", kinds = ["safety.extinguisher"], if = { removed = "interior.floor" } }]'
    row = only(garage(MAT), rules(f"{FREE}\n{need}"))
    assert (row.group, row.duties) == ("may-with-duty", ["Must then be on the car: fire extinguisher."])
    assert row.clauses == ("5.7",)
    # With the bottle aboard nothing is left to do for the mat.
    aboard = rows(garage(MAT, BOTTLE), rules(f"{FREE}\n{need}"))
    assert aboard["mat"].group == "may"


def test_a_finish_and_a_need_are_two_duties():
    need = 'need = [{ clause = "5.7", kinds = ["safety.extinguisher"], if = { removed = "interior.floor" } }]'
    row = only(garage(MAT), rules(FLOOR + need))
    assert (row.group, sorted(row.clauses), len(row.duties)) == ("may-with-duty", ["5.6", "5.7"], 2)


def test_a_requirement_that_the_removal_fails_keeps_the_part_on():
    require = 'require = [{ clause = "5.8", must = { not = { removed = "interior.floor" } } }]'
    row = only(garage(MAT), rules(f"{FREE}\n{require}"))
    assert (row.group, row.clauses) == ("must-stay", ("5.8",))


def test_a_duty_does_not_let_out_what_must_stay():
    ban = 'ban = [{ clause = "5.2", kinds = ["interior.floor.boot-carpet"], does = ["remove"] }]'
    row = only(garage(MAT), rules(f"{ban}\n{PAINT}", silence="permits"))
    assert (row.group, row.duties) == ("must-stay", [])
    assert "5.2" in row.clauses


def test_a_duty_and_an_open_question_are_both_told():
    allow = 'allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"], if = { seats = 5 } }]'
    row = only(garage(MAT), rules(f"{allow}\n{PAINT}"))
    assert (row.group, row.facts_to_find) == ("undecided", ("seats",))
    assert sorted(row.clauses) == ["1.1", "5.6"]
    assert len(row.duties) == 1


# ---- needs and substitutes

NEED = 'need = [{ clause = "5.5", kinds = ["safety.extinguisher"] }]'
SECOND = '{ id = "second", kind = "safety.extinguisher", title = "Spare bottle", origin = "aftermarket" }'
SYSTEM = '[[kind]]\nid = "safety.extinguisher.system"\ntitle = "Plumbed-in system"\nfrom_factory = "never"\n'
LATER = job("later", "maybe", fit='["second"]')


def test_a_part_that_meets_a_need_must_stay():
    row = only(garage(BOTTLE), rules(f"{FREE}\n{NEED}"))
    assert (row.group, row.clauses) == ("must-stay", ("5.5",))


def test_one_of_two_parts_that_meet_a_need_may_come_out():
    assert {row.group for row in rows(garage(BOTTLE, SECOND), rules(f"{FREE}\n{NEED}")).values()} == {"may"}


def test_at_least_so_many_of_a_need():
    kinds = '["interior.floor.boot-carpet", "interior.floor.carpet", "interior.headliner"]'
    by = rules(f'{FREE}\nneed = [{{ clause = "5.5", kinds = {kinds}, at_least = 2 }}]')
    carpet, lining = (
        '{ id = "carpet", kind = "interior.floor.carpet" }',
        '{ id = "lining", kind = "interior.headliner" }',
    )
    assert {row.group for row in rows(garage(MAT, carpet, lining), by).values()} == {"may"}
    off = job("strip", off='["lining"]')
    # The lining lies in the garage, so it can take the place of either; once it is gone, nothing can.
    left = rows(garage(MAT, carpet, lining, jobs=off), by)
    assert {name: row.group for name, row in left.items()} == {"mat": "may-with-duty", "carpet": "may-with-duty"}
    left = rows(garage(MAT, carpet, lining.replace(" }", ", gone = true }"), jobs=off), by)
    assert {name: row.group for name, row in left.items()} == {"mat": "must-stay", "carpet": "must-stay"}


def test_a_substitute_in_the_ledger_makes_it_a_duty():
    row = only(garage(BOTTLE, SECOND, jobs=LATER), rules(f"{FREE}\n{NEED}"))
    assert (row.part, row.group, row.duties) == (
        "bottle",
        "may-with-duty",
        ["Spare bottle must be fitted in its place."],
    )
    assert row.clauses == ("5.5",)


def test_a_substitute_that_is_gone_is_none():
    sold = job("sold", off='["second"]')
    for second, group in ((SECOND, "may-with-duty"), (SECOND.replace(" }", ", gone = true }"), "must-stay")):
        assert only(garage(BOTTLE, second, jobs=sold), rules(f"{FREE}\n{NEED}")).group == group


def test_a_substitute_that_may_not_be_fitted_is_none():
    # A need allows what it asks for, but at equal length a ban beats it.
    ban = 'ban = [{ clause = "5.2", kinds = ["safety.extinguisher"], does = ["fit"], if = { seats = 5 } }]'
    by = rules(f"{FREE}\n{ban}\n{NEED}")
    factory = BOTTLE.replace('"aftermarket"', '"factory"')
    assert only(garage(factory, SECOND, jobs=LATER, seats=4), by).group == "may-with-duty"
    assert only(garage(factory, SECOND, jobs=LATER, seats=5), by).group == "must-stay"


def test_a_substitute_that_would_break_another_clause_is_none():
    strip = 'strip = [{ clause = "5.3", kinds = ["safety.extinguisher.system"] }]'
    by = rules(f"{FREE}\n{NEED}\n{strip}", before=SYSTEM)
    fixed = SECOND.replace("safety.extinguisher", "safety.extinguisher.system")
    assert only(garage(BOTTLE, fixed, jobs=LATER), by).group == "must-stay"
    assert only(garage(BOTTLE, fixed, jobs=LATER), rules(f"{FREE}\n{NEED}", before=SYSTEM)).group == "may-with-duty"


def test_a_substitute_that_does_not_meet_the_bounds_is_none():
    need = 'need = [{ clause = "5.5", kinds = ["safety.extinguisher"], part = { weighs = { least = "2 kg" } } }]'
    heavy = BOTTLE.replace(" }", ', mass = "3 kg" }')
    for mass, group in (("1.5 kg", "must-stay"), ("2 kg", "may-with-duty")):
        second = SECOND.replace(" }", f', mass = "{mass}" }}')
        assert only(garage(heavy, second, jobs=LATER), rules(f"{FREE}\n{need}")).group == group, mass


def test_a_substitute_of_unknown_worth_is_none():
    need = 'need = [{ clause = "5.5", kinds = ["safety.extinguisher"], part = { weighs = { least = "2 kg" } } }]'
    heavy = BOTTLE.replace(" }", ', mass = "3 kg" }')
    assert only(garage(heavy, SECOND, jobs=LATER), rules(f"{FREE}\n{need}")).group == "must-stay"


# ---- what was wrong before


def test_a_violation_that_was_there_before_does_not_count():
    by = rules(
        """allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"] }]
        need = [{ clause = "5.5", kinds = ["safety.cage"] }]
        enter = [{ clause = "5.9", must = { doors = { least = 5 } } }]"""
    )
    console = '{ id = "console", kind = "interior.console" }'
    found = rows(garage(MAT, console, jobs=job("strip", off='["console"]'), doors=3), by)
    assert {name: row.group for name, row in found.items()} == {"mat": "may", "console": "put-back"}


def test_an_open_question_that_was_there_before_does_not_count():
    by = rules(f'{FREE}\nrequire = [{{ clause = "5.9", must = {{ seats = 5 }} }}]')
    assert only(garage(MAT), by).group == "may"


def test_the_same_clause_broken_by_another_part_does_count():
    by = rules('ban = [{ clause = "5.2", kinds = ["interior"], does = ["remove"] }]', silence="permits")
    found = rows(garage(MAT, RADIO, jobs=job("strip", off='["radio"]')), by)
    assert {name: row.group for name, row in found.items()} == {"mat": "must-stay", "radio": "put-back"}


# ---- masses and margins

SCALES = """
at_inspection = { fuel = "5 L" }
weighing = [{ id = "first", date = 2027-01-01, total = "900.0 kg", fuel = "5 L", includes = [] }]
"""


@pytest.mark.parametrize(("minimum", "margin"), [("850 kg", 48.5), ("898.5 kg", 0.0), ("950 kg", -51.5)])
def test_limits_are_left_aside_and_the_margin_shown(minimum, margin):
    by = rules(f'weight = {{ clause = "4.1", driver = "out", minimum = "{minimum}" }}\n{FREE}')
    row = only(garage(MAT, more=SCALES), by)
    assert row.group == "may"
    assert row.margin_left_kg == pytest.approx(margin, abs=1e-9)
    assert (row.mass_kg, row.mass_u_kg) == (1.5, pytest.approx(0.1 / 12**0.5))  # a reading's last digit: d / sqrt(12)


def test_the_least_margin_of_several_limits():
    by = rules(
        f"""weight = {{ clause = "4.1", driver = "out", minimum = "850 kg" }}
        limit = [{{ clause = "4.2", maximum = "900 kg" }}]
        {FREE}"""
    )
    row = only(garage(MAT, more=SCALES), by)
    assert (row.margin_left_kg, row.margin_clause) == (pytest.approx(1.5, abs=1e-9), "4.2")


def test_a_part_that_was_never_weighed():
    by = rules(f'weight = {{ clause = "4.1", driver = "out", minimum = "850 kg" }}\n{FREE}')
    row = only(garage(MAT.replace(', mass = "1.5 kg"', ""), more=SCALES), by)
    assert (row.group, row.mass_kg, row.mass_u_kg, row.margin_left_kg) == ("may", None, None, None)


def test_a_car_that_was_never_weighed():
    by = rules(f'weight = {{ clause = "4.1", driver = "out", minimum = "850 kg" }}\n{FREE}')
    row = only(garage(MAT), by)
    assert (row.group, row.mass_kg, row.margin_left_kg, row.margin_clause) == ("may", 1.5, None, "")


def test_a_part_that_was_lightened_counts_as_it_is():
    by = rules(f'weight = {{ clause = "4.1", driver = "out", minimum = "850 kg" }}\n{FREE}', silence="permits")
    builder = garage(MAT, jobs=job("cut", lightens='{ mat = "1.2 kg" }'), more=SCALES)
    row = only(builder, by)
    assert (row.group, row.mass_kg) == ("may", 1.2)
    # 900 kg before the cut, with the whole mat of 1.5 kg aboard: out altogether leaves 898.5 kg.
    assert row.margin_left_kg == pytest.approx(48.5, abs=1e-9)


def test_a_limit_on_what_was_taken_off_is_left_aside():
    by = rules(f'limit = [{{ clause = "4.5", taken_off = ["interior"], maximum = "1 kg" }}]\n{FREE}')
    row = only(garage(MAT), by)
    assert (row.group, row.margin_left_kg) == ("may", pytest.approx(-0.5, abs=1e-9))


def test_cautions_travel_with_the_row():
    airbag = '{ id = "airbag", kind = "safety.airbag" }'
    row = only(garage(airbag), rules(FREE))
    assert any("explosive charge" in caution for caution in row.cautions)
    assert only(garage('{ id = "jack", kind = "stowage.loose" }'), rules(FREE)).group == "may"


# ---- branches and swaps


def test_a_branch_part_is_held_by_what_it_stands_for():
    bench = '{ id = "bench", kind = "interior.seat.rear", title = "Rear bench" }'
    by = rules('ban = [{ clause = "5.2", kinds = ["interior.seat.rear.belts"], does = ["remove"] }]', silence="permits")
    row = only(garage(bench, present=("interior.seat.rear.belts",)), by)
    assert (row.group, row.clauses) == ("must-stay", ("5.2",))
    # Belts that are parts of their own stay where they are when the bench comes out.
    belts = '{ id = "belts", kind = "interior.seat.rear.belts" }'
    found = rows(garage(bench, belts), by)
    assert {name: each.group for name, each in found.items()} == {"bench": "may", "belts": "must-stay"}


def test_an_aftermarket_part_that_was_added_may_come_off_again():
    cage = '{ id = "cage", kind = "safety.cage", origin = "aftermarket", mass = "30 kg" }'
    by = rules('ban = [{ clause = "5.2", kinds = ["safety.cage"], does = ["remove"] }]')
    assert only(garage(cage, jobs=job("cage", fit='["cage"]')), by).group == "may"
    # What was there from the outset is removed, and that is banned.
    assert only(garage(cage), by).group == "must-stay"
