"""Unknown is not false: what all completions share, and exactly which facts are asked for. Decided by hand."""

import pytest

from support import by_clause, car, change, judged, limit, result, rules, ruling

OPEN = {"silence": "permits"}


def asked(row):
    return row.verdict, row.facts_to_find


def strip(*kinds, body="", **options):
    listed = ", ".join(f'{{ id = "p{index}", kind = "{kind}" }}' for index, kind in enumerate(kinds))
    off = ", ".join(f'"p{index}"' for index in range(len(kinds)))
    return car(f'part = [{listed}]\njob = [{{ id = "strip", state = "done", off = [{off}] }}]\n{body}', **options)


NO_CARPET = "interior.floor.carpet"


# ---- One unknown that several rules ask about


@pytest.mark.parametrize(
    ("forms", "expected"),
    [
        # Banned if it holds and banned if not: a violation, whatever it is.
        (("ban", "ban"), ("not-eligible", ())),
        (("allow", "allow"), ("eligible", ())),
        (("allow", "ban"), ("undecided", ("road_registered",))),
    ],
)
def test_if_a_and_if_not_a_cannot_both_fail(forms, expected):
    one, other = forms
    text = "".join(
        f'[[class.{form}]]\nclause = "2.{index}"\nkinds = ["interior"]\ndoes = ["remove"]\n'
        f"if = {{ road_registered = {value} }}\n"
        for index, (form, value) in enumerate(((one, "true"), (other, "false")), start=1)
    )
    assert asked(judged(strip(NO_CARPET), rules(text))) == expected


def test_differing_violations_are_cited_together():
    by = rules(
        """ban = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], if = { road_registered = true } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"], if = { road_registered = false } },
        ]""",
        **OPEN,
    )
    row = judged(strip(NO_CARPET), by)
    assert asked(row) == ("not-eligible", ())
    assert ruling(row, "p0") == ("violation", ("2.1", "2.2"))


def test_two_changes_that_fail_in_opposite_cases():
    # Each of the two is undecided by itself; in every completion one of them is a violation.
    by = rules(
        """ban = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], if = { road_registered = true } },
            { clause = "2.2", kinds = ["stowage"], does = ["remove"], if = { road_registered = false } },
        ]""",
        **OPEN,
    )
    row = judged(strip(NO_CARPET, "stowage.tools"), by)
    assert asked(row) == ("not-eligible", ())
    assert {change(row, part).result for part in ("p0", "p1")} == {"undecided"}
    assert change(row, "p0").unknown == ("road_registered",)


def test_a_change_and_a_need_that_hang_on_one_fact():
    by = rules(
        """ban = [{ clause = "2.1", kinds = ["interior"], does = ["remove"], if = { open_top = false } }]
        need = [{ clause = "5.1", kinds = ["safety.cage"], if = { open_top = true } }]""",
        **OPEN,
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("not-eligible", ())


# ---- Bounds cut a number into intervals


@pytest.mark.parametrize(
    ("second", "expected"),
    [
        ('over = "1600 cm3"', ("not-eligible", ())),  # up to 1600 or over 1600: nothing else
        ('least = "1600 cm3"', ("not-eligible", ())),
        ('over = "1600.1 cm3"', ("undecided", ("displacement",))),  # 1600.05 cm3 escapes
    ],
)
def test_bounds_that_leave_no_gap(second, expected):
    first = 'up_to = "1600 cm3"'
    by = rules(
        f"""ban = [
            {{ clause = "2.1", kinds = ["interior"], does = ["remove"], if = {{ displacement = {{ {first} }} }} }},
            {{ clause = "2.2", kinds = ["interior"], does = ["remove"], if = {{ displacement = {{ {second} }} }} }},
        ]""",
        **OPEN,
    )
    assert asked(judged(strip(NO_CARPET), by)) == expected


def test_a_count_is_a_whole_number():
    # Over 4 and under 5: no whole number. For a length there is one.
    for fact, low, high, expected in (
        ("seats", "4", "5", ("eligible", ())),
        ("width", "4", "5", ("undecided", ("width",))),
        ("seats", "4", "6", ("undecided", ("seats",))),
    ):
        by = rules(
            f"""[[class.ban]]
            clause = "2.1"
            kinds = ["interior"]
            does = ["remove"]
            if = {{ {fact} = {{ over = {low}, under = {high} }} }}
            """,
            **OPEN,
        )
        assert asked(judged(strip(NO_CARPET), by)) == expected, fact


def test_quantities_are_zero_or_more():
    by = rules('require = [{ clause = "4.1", must = { noise = { least = 0 } } }]', **OPEN)
    assert asked(judged(car(), by)) == ("eligible", ())
    by = rules('require = [{ clause = "4.1", must = { noise = { over = 0 } } }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("noise",))


def test_choices_complete_to_their_list():
    every = '["front", "rear", "all"]'
    by = rules(f'require = [{{ clause = "4.1", must = {{ driven_wheels = {every} }} }}]', **OPEN)
    assert asked(judged(car(), by)) == ("eligible", ())
    by = rules('require = [{ clause = "4.1", must = { driven_wheels = ["front", "rear"] } }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("driven_wheels",))


def test_a_text_may_be_anything():
    by = rules('require = [{ clause = "4.1", must = { not = { engine_code = ["A1", "B2"] } } }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("engine_code",))
    # Two texts cannot both be the engine code.
    by = rules(
        'require = [{ clause = "4.1", must = { not = { all = [{ engine_code = "A1" }, { engine_code = "B2" }] } } }]'
    )
    assert asked(judged(car(), by)) == ("eligible", ())


def test_a_date_and_its_age_are_one_unknown():
    # 30 years old on 2027-05-01 and made after 2000 cannot both be.
    by = rules(
        """require = [
            { clause = "4.1", must = { not = { all = [
              { first_registered = { age = { least = 30 } } }, { first_registered = { over = 2000-01-01 } } ] } } },
        ]""".replace("\n              ", " ")
    )
    assert asked(judged(car(), by)) == ("eligible", ())


def test_two_unknown_figures_compared_with_each_other():
    by = rules(
        """require = [
            { clause = "4.1", must = { any = [
              { track_front = { most = { as_made = "track_rear" } } },
              { track_rear = { under = { as_made = "track_front" } } } ] } },
        ]""".replace("\n              ", " ")
    )
    assert asked(judged(car(), by)) == ("eligible", ())
    by = rules(
        """require = [
            { clause = "4.1", must = { track_front = { most = { as_made = "track_rear", plus = "25 mm" } } } },
        ]"""
    )
    assert asked(judged(car(), by)) == ("undecided", ("track_front", "track_rear"))
    assert asked(judged(car(track_front="25 mm"), by)) == ("eligible", ())
    assert asked(judged(car(track_front="26 mm"), by)) == ("undecided", ("track_rear",))


def test_a_figure_as_made_is_its_own_unknown_once_a_job_sets_it():
    widened = 'job = [{ id = "wide", state = "done", sets = { track_front = "1500 mm" } }]'
    by = rules(
        """require = [
            { clause = "4.1", must = { track_front = { most = { as_made = "track_front", plus = "25 mm" } } } },
        ]"""
    )
    assert asked(judged(car(), by)) == ("eligible", ())  # unchanged, whatever it was
    assert asked(judged(car(widened), by)) == ("undecided", ("track_front",))
    assert asked(judged(car(widened, track_front="1475 mm"), by)) == ("eligible", ())
    assert asked(judged(car(widened, track_front="1474 mm"), by)) == ("not-eligible", ())


# ---- Precedence with unknowns


EXCEPTION = """allow = [
    {{ clause = "2.1", kinds = ["interior.floor"], does = ["remove"], if = {{ road_registered = true }} }},
]
{form} = [{{ clause = "3.1", kinds = ["interior"], does = ["remove"] }}]
"""


def test_an_unknown_exception_over_a_known_rule():
    # The exception 2.1 may beat the ban 3.1 by its longer kind.
    by = rules(EXCEPTION.format(form="ban"))
    assert asked(judged(strip(NO_CARPET), by)) == ("undecided", ("road_registered",))
    assert asked(judged(strip(NO_CARPET, road_registered=True), by)) == ("eligible", ())
    assert asked(judged(strip(NO_CARPET, road_registered=False), by)) == ("not-eligible", ())


def test_an_unknown_exception_that_changes_nothing_is_not_asked_for():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior.floor"], does = ["remove"], if = { road_registered = true } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"] },
        ]"""
    )
    row = judged(strip(NO_CARPET), by)
    assert asked(row) == ("eligible", ())
    assert ruling(row, "p0") == ("allowed", ("2.1", "2.2"))


def test_an_unknown_rule_of_a_shorter_kind_is_not_asked_for():
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior.floor"], does = ["remove"] }]
        ban = [{ clause = "3.1", kinds = ["interior"], does = ["remove"], if = { road_registered = true } }]"""
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("eligible", ())
    # Unless it has a `despite`, or prevails.
    by = rules(
        """allow = [{ clause = "2.1", kinds = ["interior.floor"], does = ["remove"] }]
        ban = [
            { clause = "3.1", kinds = ["interior"], does = ["remove"], despite = ["2"], if = { abs = true } },
        ]"""
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("undecided", ("abs",))


def test_an_unknown_despite_that_is_itself_beaten():
    # 4.1 always beats 3.1 by `despite`; 3.1 perhaps beats 2.1 (also when it is out itself).
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior.floor"], does = ["remove"] },
            { clause = "4.1", kinds = ["interior"], does = ["remove"], despite = ["3"] },
        ]
        ban = [
            { clause = "3.1", kinds = ["interior"], does = ["remove"], despite = ["2"], if = { abs = true } },
        ]"""
    )
    row = judged(strip(NO_CARPET), by)
    assert asked(row) == ("eligible", ())
    assert ruling(row, "p0") == ("allowed", ("2.1", "4.1"))


def test_only_with_an_unknown_condition_is_undecided_either_way():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], only = true, if = { road_registered = true } },
        ]""",
        **OPEN,
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("undecided", ("road_registered",))


# ---- Exactly the facts that can matter


def test_a_violation_elsewhere_makes_every_unknown_idle():
    by = rules(
        """ban = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"] },
            { clause = "2.2", kinds = ["stowage"], does = ["remove"], if = { road_registered = true } },
        ]""",
        **OPEN,
    )
    row = judged(strip(NO_CARPET, "stowage.tools"), by)
    assert asked(row) == ("not-eligible", ())
    assert result(row, "2.2") == "undecided"


def test_a_fact_that_another_fact_silences_is_asked_for_too():
    # doors = 5 matters only while seats < 4 is possible: with seats unknown, both do.
    by = rules('require = [{ clause = "4.1", must = { any = [{ seats = { least = 4 } }, { doors = 5 }] } }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("doors", "seats"))
    assert asked(judged(car(seats=4), by)) == ("eligible", ())
    assert asked(judged(car(seats=2), by)) == ("undecided", ("doors",))


def test_a_fact_whose_two_effects_cancel_is_not_asked_for():
    # insured decides which of two clauses applies, and both ask for the same.
    by = rules(
        """require = [
            { clause = "4.1", must = { seats = 4 }, if = { insured = true } },
            { clause = "4.2", must = { seats = 4 }, if = { insured = false } },
        ]""",
        **OPEN,
    )
    row = judged(car(), by)
    assert asked(row) == ("undecided", ("seats",))
    assert asked(judged(car(seats=4), by)) == ("eligible", ())
    assert asked(judged(car(seats=5), by)) == ("not-eligible", ())


def test_unknown_applicability_of_what_holds_anyway():
    by = rules('enter = [{ clause = "4.1", must = { seats = 4 }, if = { insured = true } }]', **OPEN)
    assert asked(judged(car(seats=4), by)) == ("eligible", ())
    assert asked(judged(car(seats=5), by)) == ("undecided", ("insured",))


# ---- Kinds that some cars have


def test_the_presence_of_a_sometimes_kind_is_asked_for():
    by = rules('strip = [{ clause = "5.1", kinds = ["body.roof.sunroof"] }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("body.roof.sunroof",))
    assert asked(judged(car(absent=("body.roof.sunroof",)), by)) == ("eligible", ())


def test_an_unknown_is_named_by_the_kind_that_decides_it():
    # A head unit is always there where a car has audio at all: what to find out is the audio.
    by = rules('strip = [{ clause = "5.1", kinds = ["interior.audio.head-unit"] }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("interior.audio",))
    # An amplifier hangs on both.
    by = rules('strip = [{ clause = "5.1", kinds = ["interior.audio.amplifier"] }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("interior.audio", "interior.audio.amplifier"))


def test_fitted_and_not_fitted_are_one_unknown():
    by = rules(
        """ban = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], if = { fitted = "stowage.jack" } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"], if = { not = { fitted = "stowage.jack" } } },
        ]""",
        **OPEN,
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("not-eligible", ())


def test_a_need_met_whatever_is_present():
    by = rules('need = [{ clause = "5.1", kinds = ["stowage.jack", "stowage.tools"], at_least = 1 }]', **OPEN)
    assert asked(judged(car(), by)) == ("eligible", ())  # the tools are always there
    by = rules('need = [{ clause = "5.1", kinds = ["stowage.jack", "stowage.tools"], at_least = 2 }]', **OPEN)
    assert asked(judged(car(), by)) == ("undecided", ("stowage.jack",))


def test_a_duty_that_hangs_on_a_kind():
    by = rules(
        """need = [{ clause = "5.1", kinds = ["safety.cage"], if = { fitted = "body.roof.folding-top" } }]
        strip = [{ clause = "5.2", kinds = ["body.roof.folding-top"] }]""",
        **OPEN,
    )
    # With a folding top both clauses fail, without one neither does.
    assert asked(judged(car(), by)) == ("undecided", ("body.roof.folding-top",))


# ---- Limits that hang on an unknown

WEIGHED = """scale = [{{ id = "fine", resolution = "10 g" }}]
weighing = [{{ id = "w", date = 2027-01-01, scale = "fine", fuel = "empty", total = "{total} kg" }}]
at_inspection = {{ fuel = "empty" }}
"""
BANDS = rules(
    """[class.weight]
    clause = "7.1"
    driver = "out"
    [class.weight.minimum]
    by = "displacement"
    over_up_to = [["0 cm3", "1400 cm3", "840 kg"], ["1400 cm3", "1600 cm3", "930 kg"], ["1600 cm3", "990 kg"]]
    """
)


def test_a_car_that_clears_every_band_it_could_fall_in_clears():
    # The bands begin over 0 cm3; an engine of 0 cm3 is no reason to ask.
    assert asked(judged(car(WEIGHED.format(total="991")), BANDS)) == ("eligible", ())


@pytest.mark.parametrize("total", ["960", "850"])
def test_a_car_that_clears_only_some_bands_is_undecided(total):
    assert asked(judged(car(WEIGHED.format(total=total)), BANDS)) == ("undecided", ("displacement",))


def test_bands_that_leave_nothing_out():
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        [class.weight.minimum]
        by = "displacement"
        over_up_to = [["0 cm3", "1400 cm3", "840 kg"], ["1400 cm3", "990 kg"]]
        otherwise = "800 kg"
        """
    )
    for total, expected in (
        ("991", ("eligible", ())),
        ("960", ("undecided", ("displacement",))),
        ("799", ("not-eligible", ())),
    ):
        assert asked(judged(car(WEIGHED.format(total=total)), by)) == expected, total


def test_a_limit_by_cases_of_an_unknown():
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        minimum = { by = "driven_wheels", cases = { front = "850 kg", rear = "900 kg" }, otherwise = "950 kg" }
        """
    )
    for total, expected in (
        ("951", ("eligible", ())),
        ("920", ("undecided", ("driven_wheels",))),
        ("849", ("not-eligible", ())),
    ):
        assert asked(judged(car(WEIGHED.format(total=total)), by)) == expected, total


def test_a_case_that_the_book_leaves_out_is_undecided_with_nothing_to_find():
    by = rules(
        'weight = { clause = "7.1", driver = "out", minimum = { by = "driven_wheels", cases = { front = "850 kg" } } }'
    )
    row = judged(car(WEIGHED.format(total="900"), driven_wheels="rear"), by)
    assert asked(row) == ("undecided", ())
    assert limit(row).limit_kg is None


def test_an_unknown_adjustment():
    text = """[class.weight]
    clause = "7.1"
    driver = "out"
    minimum = "900 kg"
    adjust = [
        {{ add = "25 kg", if = {{ gearbox = "sequential" }} }},
        {{ add = "{second}", if = {{ not = {{ gearbox = "sequential" }} }} }},
    ]
    """
    scales = car(WEIGHED.format(total="926"))
    assert asked(judged(scales, rules(text.format(second="25 kg")))) == ("eligible", ())
    assert asked(judged(scales, rules(text.format(second="30 kg")))) == ("undecided", ("gearbox",))
    assert asked(judged(scales, rules(text.format(second="20 kg")))) == ("eligible", ())


def test_an_unknown_figure_that_only_an_adjustment_asks_about():
    # 880 kg, or 900 kg from 80 kW: the car of 899 kg passes the one and fails the other.
    adjust = 'add = "20 kg", if = { power = { least = "80 kW" } }'
    by = rules(f'weight = {{ clause = "7.1", driver = "out", minimum = "880 kg", adjust = [{{ {adjust} }}] }}')
    assert asked(judged(car(WEIGHED.format(total="899")), by)) == ("undecided", ("power",))
    assert asked(judged(car(WEIGHED.format(total="901")), by)) == ("eligible", ())
    assert asked(judged(car(WEIGHED.format(total="899"), power="79.9 kW"), by)) == ("eligible", ())
    assert asked(judged(car(WEIGHED.format(total="899"), power="80 kW"), by)) == ("not-eligible", ())


def test_an_unknown_success_mass_capped():
    by = rules(
        """[class.weight]
        clause = "7.1"
        driver = "out"
        minimum = "900 kg"
        adjust = [{ add = { fact = "success_mass", most = "40 kg" } }]
        """
    )
    assert asked(judged(car(WEIGHED.format(total="941")), by)) == ("eligible", ())  # clears the cap
    assert asked(judged(car(WEIGHED.format(total="939")), by)) == ("undecided", ("success_mass",))
    assert asked(judged(car(WEIGHED.format(total="899")), by)) == ("not-eligible", ())
    answer = limit(judged(car(WEIGHED.format(total="941"), success_mass="60 kg"), by))
    assert answer.limit_kg == 940.0


def test_an_unknown_power_enters_linearly():
    by = rules(
        """enter = [{ clause = "3.1", must = { power = { up_to = "80 kW" } } }]
        weight = { clause = "7.1", driver = "out", minimum = { per = "power", rate = "10 kg/kW" } }"""
    )
    # Up to 80 kW: at most 800 kg. Over 80 kW it may not enter.
    assert asked(judged(car(WEIGHED.format(total="801")), by)) == ("undecided", ("power",))
    by = rules(
        'weight = { clause = "7.1", driver = "out", minimum = { per = "power", rate = "10 kg/kW", least = "800 kg" } }'
    )
    assert asked(judged(car(WEIGHED.format(total="799")), by)) == ("not-eligible", ())  # the floor alone is too much
    assert asked(judged(car(WEIGHED.format(total="801")), by)) == ("undecided", ("power",))


def test_an_unknown_weighing_is_named_in_a_finding_and_not_asked_for():
    by = rules('weight = { clause = "7.1", driver = "out", minimum = "900 kg" }')
    row = judged(car(), by)
    assert asked(row) == ("undecided", ())
    assert by_clause(row, "7.1") == ["undecided"]
    assert limit(row).mass_kg is None


def test_an_unknown_tank_is_asked_for_where_nothing_else_is_missing():
    by = rules('weight = { clause = "7.1", driver = "out", fuel = "full", minimum = "900 kg" }')
    text = WEIGHED.format(total="920")
    assert asked(judged(car(text, fuel="petrol"), by)) == ("undecided", ("tank_capacity",))
    assert asked(judged(car(text, tank_capacity="40 L"), by)) == ("undecided", ("fuel",))
    assert asked(judged(car(text, tank_capacity="40 L", fuel="petrol"), by)) == ("eligible", ())
    # With a part of unknown mass in the way as well, no fact settles it.
    unweighed = (
        'part = [{ id = "p", kind = "interior.headliner" }]\njob = [{ id = "j", state = "planned", off = ["p"] }]\n'
    )
    by = rules('weight = { clause = "7.1", driver = "out", fuel = "full", minimum = "900 kg" }', **OPEN)
    assert asked(judged(car(unweighed + text, fuel="petrol"), by, "planned")) == ("undecided", ())


def test_a_condition_of_a_limit_may_be_unknown():
    by = rules(
        """weight = { clause = "7.1", driver = "out" }
        limit = [{ clause = "7.2", minimum = "950 kg", if = { insured = true } }]"""
    )
    assert asked(judged(car(WEIGHED.format(total="951")), by)) == ("eligible", ())
    assert asked(judged(car(WEIGHED.format(total="949")), by)) == ("undecided", ("insured",))


def test_too_close_and_unknown_together():
    # Too close if insured, eligible if not: two verdicts, so undecided.
    by = rules(
        """weight = { clause = "7.1", driver = "out", minimum = "900 kg" }
        limit = [{ clause = "7.2", minimum = "920 kg", if = { insured = true } }]"""
    )
    near = WEIGHED.format(total="920").replace("10 g", "2 kg")
    assert asked(judged(car(near), by)) == ("undecided", ("insured",))
    assert asked(judged(car(near, insured=True), by)) == ("too-close", ())
    assert asked(judged(car(near, insured=False), by)) == ("eligible", ())


def test_an_unknown_part_in_the_chain_of_a_bound():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], part = { weighs = { most = "5 kg" } } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"], part = { weighs = { over = "5 kg" } } },
        ]"""
    )
    # Whatever it weighs, one of the two allows it.
    assert asked(judged(strip(NO_CARPET), by)) == ("eligible", ())
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], part = { weighs = { most = "5 kg" } } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"], part = { weighs = { over = "6 kg" } } },
        ]"""
    )
    assert asked(judged(strip(NO_CARPET), by)) == ("undecided", ("p0.mass",))


def test_asks_of_the_engine_never_hide_behind_an_unknown():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior"], does = ["remove"], ask = "Is it tidy?", if = { insured = true } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"], ask = "Is it clean?", if = { insured = false } },
        ]"""
    )
    row = judged(strip(NO_CARPET), by)
    assert asked(row) == ("eligible", ())
    assert ruling(row, "p0") == ("ask", ("2.1", "2.2"))
    assert row.to_ask == 1


def test_an_ask_in_only_some_completions_is_not_lost():
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior.floor"], does = ["remove"], ask = "Tidy?", if = { insured = true } },
            { clause = "2.2", kinds = ["interior"], does = ["remove"] },
        ]"""
    )
    row = judged(strip(NO_CARPET), by)
    assert asked(row) == ("eligible", ())
    assert (change(row, "p0").result, row.to_ask) == ("ask", 1)


def test_more_cases_than_may_be_tried_are_undecided_and_said_to_be():
    # Two figures, each cut at 180 places by clauses that can play no part, and every pair of values tells.
    idle = "".join(
        f'[[class.ban]]\nclause = "2.1"\nkinds = ["interior.dash"]\ndoes = ["remove"]\n'
        f"if = {{ {fact} = {{ over = {edge} }} }}\n"
        for edge in range(1, 181)
        for fact in ("track_front", "track_rear")
    )
    over = '{ over = { as_made = "track_rear" } }'
    pair = f"{{ any = [{{ track_front = {over} }}, {{ height = {over} }}] }}"
    row = judged(car(), rules(f'require = [{{ clause = "4.1", must = {pair} }}]\n{idle}', **OPEN))
    assert row.verdict == "undecided"
    assert ["100,000" in finding.sentence for finding in row.findings] == [True]


def test_a_material_as_original_may_be_any_that_another_rule_names():
    # Steel for anything else is forbidden; steel for steel is allowed. So the old one's material matters, too.
    by = rules(
        """allow = [
            { clause = "2.1", kinds = ["interior.dash"], does = ["swap"], part = { material_not = ["steel"] } },
            { clause = "2.2", kinds = ["interior.dash"], does = ["swap"], part = { material = "as-original" } },
        ]"""
    )
    parts = """part = [
        { id = "old", kind = "interior.dash"%s },
        { id = "new", kind = "interior.dash", replaces = "old", origin = "aftermarket"%s },
    ]
    job = [{ id = "j", state = "done", fit = ["new"] }]"""
    steel = ', material = "steel"'
    row = judged(car(parts % ("", "")), by)
    assert (row.verdict, row.facts_to_find) == ("undecided", ("new.material", "old.material"))
    assert judged(car(parts % (steel, steel)), by).verdict == "eligible"
    assert judged(car(parts % (', material = "oak"', steel)), by).verdict == "not-eligible"
