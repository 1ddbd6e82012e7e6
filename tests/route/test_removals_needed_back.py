"""Parts off the car that a `need` of the class wants back on: by hand, on small cars."""

import pytest

from support import DAY, car, rules
from tarebook.api import check, removals

FREE = 'allow = [{ clause = "5.1", kinds = ["everything"], does = "anything" }]'
SPARE = '{ id = "spare", kind = "stowage.spare-wheel", title = "Spare wheel", mass = "14 kg", kept = "loft" }'
SAVER = '{ id = "saver", kind = "stowage.spare-wheel", title = "Space saver", mass = "9 kg", origin = "aftermarket" }'
JACK = '{ id = "jack", kind = "stowage.jack", title = "Jack" }'
BRACE = '{ id = "brace", kind = "stowage.wheel-brace", title = "Brace" }'
WANTS_SPARE = '{ clause = "5.5", kinds = ["stowage.spare-wheel"] }'


def job(name, state="done", **lists):
    listed = "".join(f", {key} = {value}" for key, value in lists.items())
    return f'{{ id = "{name}", state = "{state}"{listed} }}'


def book(*needs, more=""):
    return rules(f"{FREE}\nneed = [{', '.join(needs)}]\n{more}")


def off(*parts, jobs, by, build="now", more="", **facts):
    """The rows of parts that are off the car."""
    builder = car(f"{more}\npart = [{', '.join(parts)}]\njob = [{', '.join(jobs)}]", **facts)
    return {row.part: row for row in removals(builder, by, "club", on=DAY, build=build) if row.already_off}


def test_a_part_that_may_come_out_and_that_a_need_wants_on():
    out = job("out", off='["spare"]')
    rows = off(SPARE, jobs=[out, job("in", "maybe", fit='["spare"]', cost='"2 EUR"')], by=book(WANTS_SPARE))
    assert rows.keys() == {"spare"}
    spare = rows["spare"]
    assert (spare.group, spare.clauses, spare.kept, spare.gone) == ("put-back", ("5.5",), "loft", False)
    assert [reason.sentence for reason in spare.reasons] == ["Must be on the car: spare wheel."]
    assert (spare.mass_kg, spare.net_kg) == (14.0, 14.0)
    assert ([each.id for each in spare.jobs], [each.id for each in spare.put_back_jobs]) == (["out"], ["in"])
    assert spare.cost == 2.0
    # The judge says the same of the build.
    (row,) = check(car(f"part = [{SPARE}]\njob = [{out}]"), book(WANTS_SPARE), on=DAY, build="now").rows
    assert ("violation", "5.5") in [(each.result, each.clause) for each in row.findings]


def test_a_part_that_is_gone_is_told_to_be():
    gone = SPARE.replace('kept = "loft"', "gone = true")
    spare = off(gone, jobs=[job("out", off='["spare"]')], by=book(WANTS_SPARE))["spare"]
    assert (spare.group, spare.gone, spare.kept) == ("put-back", True, "")


@pytest.mark.parametrize(("build", "expected"), [("now", set()), ("planned", {"spare"})])
def test_a_part_off_as_the_build_has_it(build, expected):
    rows = off(SPARE, jobs=[job("out", "planned", off='["spare"]')], by=book(WANTS_SPARE), build=build)
    assert rows.keys() == expected


def test_where_no_need_wants_it_there_is_nothing_to_put_back():
    assert off(SPARE, JACK, jobs=[job("out", off='["spare"]')], by=book('{ clause = "5.5", kinds = ["body"] }')) == {}


def test_a_part_of_the_trade_that_was_never_fitted_is_not_put_back():
    rows = off(
        SPARE, SAVER, jobs=[job("out", off='["spare"]'), job("buy", "maybe", fit='["saver"]')], by=book(WANTS_SPARE)
    )
    assert rows.keys() == {"spare"}
    assert rows["spare"].reasons[0].one_of == ()


def test_another_part_on_the_car_that_meets_the_need():
    done = [job("out", off='["spare"]'), job("buy", fit='["saver"]')]
    assert off(SPARE, SAVER, jobs=done, by=book(WANTS_SPARE)) == {}
    # Where the clause asks for more than the other part has, the one from the factory goes back.
    heavy = '{ clause = "5.5", kinds = ["stowage.spare-wheel"], part = { weighs = { least = "10 kg" } } }'
    assert off(SPARE, SAVER, jobs=done, by=book(heavy)).keys() == {"spare"}


def test_what_took_its_place_comes_off_for_it():
    heavy = '{ clause = "5.5", kinds = ["stowage.spare-wheel"], part = { weighs = { least = "10 kg" } } }'
    instead = SAVER.replace(" }", ', replaces = "spare" }')
    spare = off(SPARE, instead, jobs=[job("buy", fit='["saver"]')], by=book(heavy))["spare"]
    assert (spare.group, spare.clauses, spare.instead, spare.net_kg) == ("put-back", ("5.5",), ("saver",), 5.0)


def test_a_part_that_would_not_meet_the_need_is_absent():
    heavy = '{ clause = "5.5", kinds = ["stowage.spare-wheel"], part = { weighs = { least = "15 kg" } } }'
    assert off(SPARE, jobs=[job("out", off='["spare"]')], by=book(heavy)) == {}


def test_a_part_that_another_clause_wants_off_is_absent():
    strip = 'strip = [{ clause = "5.7", kinds = ["stowage.spare-wheel"] }]'
    assert off(SPARE, jobs=[job("out", off='["spare"]')], by=book(WANTS_SPARE, more=strip)) == {}


def test_a_ban_and_a_need_are_two_reasons_of_one_row():
    ban = 'ban = [{ clause = "5.2", kinds = ["stowage.spare-wheel"], does = ["remove"] }]'
    rows = off(SPARE, jobs=[job("out", off='["spare"]')], by=book(WANTS_SPARE, more=ban))
    assert (rows["spare"].group, rows["spare"].clauses) == ("put-back", ("5.2", "5.5"))


# ---- facts that are not stated


def test_a_need_that_hangs_on_a_fact():
    need = WANTS_SPARE.replace(" }", ", if = { seats = 5 } }")
    out = job("out", off='["spare"]')
    spare = off(SPARE, jobs=[out], by=book(need))["spare"]
    assert (spare.group, spare.facts_to_find, spare.clauses) == ("undecided", ("seats",), ("5.5",))
    assert spare.reasons[0].sentence == (
        "Whether the car has what it must, spare wheel, hangs on seats. At worst: Must be on the car: spare wheel."
    )
    assert off(SPARE, jobs=[out], by=book(need), seats=5)["spare"].group == "put-back"
    assert off(SPARE, jobs=[out], by=book(need), seats=4) == {}


def test_a_part_of_which_it_is_not_known_whether_it_would_do():
    need = '{ clause = "5.5", kinds = ["stowage.spare-wheel"], part = { weighs = { least = "10 kg" } } }'
    spare = off(SPARE.replace(' mass = "14 kg",', ""), jobs=[job("out", off='["spare"]')], by=book(need))["spare"]
    assert (spare.group, spare.clauses) == ("undecided", ("5.5",))


# ---- several parts for one need


def test_of_two_parts_one_is_enough():
    second = SPARE.replace('"spare"', '"second"')
    rows = off(SPARE, second, jobs=[job("out", off='["spare", "second"]')], by=book(WANTS_SPARE))
    told = {name: (row.group, row.reasons[0].one_of, row.reasons[0].enough) for name, row in rows.items()}
    both = ("put-back", ("spare", "second"), 1)
    assert told == {"spare": both, "second": both}


TOOLS = '{{ clause = "5.5", kinds = ["stowage.spare-wheel", "stowage.jack", "stowage.wheel-brace"], at_least = {} }}'


@pytest.mark.parametrize(
    ("least", "expected", "enough"),
    [
        (
            1,
            {
                "spare": ("spare", "jack", "brace"),
                "jack": ("spare", "jack", "brace"),
                "brace": ("spare", "jack", "brace"),
            },
            1,
        ),
        (
            2,
            {
                "spare": ("spare", "jack", "brace"),
                "jack": ("spare", "jack", "brace"),
                "brace": ("spare", "jack", "brace"),
            },
            2,
        ),
        (3, {"spare": (), "jack": (), "brace": ()}, 0),
    ],
)
def test_so_many_of_several_kinds(least, expected, enough):
    out = job("out", off='["spare", "jack", "brace"]')
    rows = off(SPARE, JACK, BRACE, jobs=[out], by=book(TOOLS.format(least)))
    assert {name: row.reasons[0].one_of for name, row in rows.items()} == expected
    assert {row.reasons[0].enough for row in rows.values()} == {enough}


def test_what_is_on_counts_towards_so_many():
    rows = off(SPARE, JACK, BRACE, jobs=[job("out", off='["spare", "jack"]')], by=book(TOOLS.format(2)))
    assert {name: row.reasons[0].enough for name, row in rows.items()} == {"spare": 1, "jack": 1}
    assert off(SPARE, JACK, BRACE, jobs=[job("out", off='["spare"]')], by=book(TOOLS.format(2))) == {}


def test_of_what_must_be_complete_each_part_goes_back():
    base, back = (f'{{ id = "{each}", kind = "interior.seat.rear.{each}" }}' for each in ("base", "back"))
    whole = '{ clause = "5.5", kinds = ["interior.seat.rear"], whole = true }'
    rows = off(base, back, jobs=[job("out", off='["base", "back"]')], by=book(whole))
    assert {name: (row.group, row.reasons[0].one_of) for name, row in rows.items()} == {
        "base": ("put-back", ()),
        "back": ("put-back", ()),
    }
    # As a branch, the need is met by what is still on: the belts, by the word of the tree.
    assert (
        off(base, back, jobs=[job("out", off='["base", "back"]')], by=book(whole.replace(", whole = true", ""))) == {}
    )
