"""Kinds that a class lets out and the ledger does not list: on the car by the word of the tree alone."""

import pytest

from support import DAY, car, rules
from tarebook.api import check
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.prepared import prepare_class
from tarebook.kinds import builtin
from tarebook.route.letting_out import Unlisting, find_unlisted

FLOOR = 'allow = [{ clause = "5.1", kinds = ["interior.floor"], does = ["remove"] }]'
FLOOR_THINGS = {kind for kind in builtin().things_under("interior.floor") if builtin().get(kind).factory == "always"}


def unlisted(builder, by, build="now"):
    before = CarBeforeBook(builder, by)
    found = find_unlisted(prepare_class(by, "club"), Unlisting(before, before.situation(build, DAY)))
    return {each.kind: each for each in found}


def test_every_kind_that_a_clause_lets_out():
    found = unlisted(car(), rules(FLOOR))
    assert found.keys() == FLOOR_THINGS
    carpet = found["interior.floor.carpet"]
    assert (carpet.removal.group, carpet.removal.clauses, carpet.by_silence) == ("may", ("5.1",), False)
    low, high = builtin().get("interior.floor.carpet").mass_range
    assert carpet.range_kg == (float(low), float(high))


def test_a_kind_with_a_part_is_no_news():
    listed = car('part = [{ id = "mat", kind = "interior.floor.carpet" }]')
    assert unlisted(listed, rules(FLOOR)).keys() == FLOOR_THINGS - {"interior.floor.carpet"}
    # The part is not on the car any more, and still it is known.
    off = car(
        'part = [{ id = "mat", kind = "interior.floor.carpet" }]\njob = [{ id = "j", state = "done", off = ["mat"] }]'
    )
    assert unlisted(off, rules(FLOOR)).keys() == FLOOR_THINGS - {"interior.floor.carpet"}


def test_a_branch_part_stands_for_all_that_is_under_it():
    assert unlisted(car('part = [{ id = "floor", kind = "interior.floor" }]'), rules(FLOOR)) == {}


def test_what_the_car_never_had_or_had_for_sure():
    sunroof = 'allow = [{ clause = "5.1", kinds = ["body.roof.sunroof"], does = ["remove"] }]'
    assert unlisted(car(present=("body.roof.sunroof",)), rules(sunroof)).keys() == {"body.roof.sunroof"}
    assert unlisted(car(), rules(sunroof)) == {}  # nobody has said whether it has one
    assert unlisted(car(absent=("body.roof.sunroof",)), rules(sunroof)) == {}


def test_a_kind_that_was_replaced_is_gone():
    stock = "interior.seat.front.driver"
    seat = f'{{ id = "light", kind = "{stock}", origin = "aftermarket", replaces = "{stock}" }}'
    by = rules(f'allow = [{{ clause = "5.1", kinds = ["{stock}"], does = ["remove", "swap"] }}]')
    assert stock in unlisted(car(), by)
    assert stock not in unlisted(car(f"part = [{seat}]"), by)


def test_what_silence_lets_out_is_told_apart():
    found = unlisted(car(), rules(FLOOR, silence="permits"))
    assert {kind for kind, each in found.items() if not each.by_silence} == FLOOR_THINGS
    assert found["interior.headliner"].by_silence
    assert found["interior.headliner"].removal.clauses == ("1.1",)


def test_a_need_keeps_a_kind_on_and_a_duty_comes_with_it():
    need = 'need = [{ clause = "5.5", kinds = ["interior.floor.carpet"] }]'
    assert "interior.floor.carpet" not in unlisted(car(), rules(f"{FLOOR}\n{need}"))
    finish = (
        'allow = [{ clause = "5.1", kinds = ["interior.floor.carpet"], does = ["remove"], finish = ["bare"] }]\n'
        'finish = [{ id = "bare", clause = "5.6", area = "interior.floor", by = ["painted"] }]'
    )
    (carpet,) = unlisted(car(), rules(finish)).values()
    assert carpet.removal.group == "may-with-duty"
    assert carpet.removal.duties == ["A finish is then owed at interior.floor (floor coverings): painted."]


EVERYTHING = '{{ clause = "5.9", kinds = ["everything"], does = ["remove"]{} }}'


@pytest.mark.parametrize(
    ("more", "group", "told"),
    [
        ("", "may", (False, True)),
        (", if = { seats = 5 }", "undecided", (False, True)),
        (', finish = ["bare"]', "may-with-duty", (False, True)),
    ],
)
def test_what_a_rule_on_everything_lets_out_is_told_apart(more, group, told):
    finish = 'finish = [{ id = "bare", clause = "5.6", area = "interior", by = ["painted"] }]'
    by = rules(f"{FLOOR[:-1]}, {EVERYTHING.format(more)}]\n{finish}")
    found = unlisted(car(), by)
    named = {kind for kind, each in found.items() if not each.by_everything}
    assert named == FLOOR_THINGS
    lining = found["interior.headliner"]
    assert (lining.removal.group, lining.removal.decided_by) == (group, ("5.9",))
    assert (lining.by_silence, lining.by_everything) == told


def test_a_rule_that_names_a_kind_beside_everything_names_it():
    by = rules('allow = [{ clause = "5.9", kinds = ["everything", "interior.floor"], does = ["remove"] }]')
    assert not unlisted(car(), by)["interior.floor.carpet"].by_everything


def test_a_duty_of_its_own_is_not_let_out_with_everything_else():
    need = 'need = [{ clause = "5.7", kinds = ["safety.extinguisher"], if = { removed = "interior.headliner" } }]'
    found = unlisted(car(), rules(f"allow = [{EVERYTHING.format('')}]\n{need}"))
    assert (found["interior.headliner"].removal.group, found["interior.headliner"].by_everything) == (
        "may-with-duty",
        False,
    )
    assert found["interior.floor.carpet"].by_everything


def test_what_is_open_is_not_let_out_by_silence():
    by = rules('allow = [{ clause = "5.1", kinds = ["interior.headliner"], does = ["remove"], if = { seats = 5 } }]')
    lining = unlisted(car(), by)["interior.headliner"]
    assert (lining.by_silence, lining.by_everything) == (False, False)


def test_an_open_question_names_its_facts():
    by = rules('allow = [{ clause = "5.1", kinds = ["interior.headliner"], does = ["remove"], if = { seats = 5 } }]')
    (lining,) = unlisted(car(), by).values()
    assert (lining.removal.group, lining.removal.facts_to_find) == ("undecided", ("seats",))
    assert unlisted(car(seats=5), by)["interior.headliner"].removal.group == "may"
    assert unlisted(car(seats=4), by) == {}


def test_cautions_come_with_a_kind():
    by = rules('allow = [{ clause = "5.1", kinds = ["safety.airbag.driver"], does = ["remove"] }]')
    found = unlisted(car(present=("safety.airbag.driver",)), by)
    assert any("explosive charge" in caution for caution in found["safety.airbag.driver"].removal.cautions)


@pytest.mark.parametrize("kind", sorted(FLOOR_THINGS))
def test_listing_the_kind_gives_the_same_answer(kind):
    """As if it were in the ledger all along: the part, taken off by a job, is allowed by the same clause."""
    builder = car(
        f'part = [{{ id = "it", kind = "{kind}" }}]\njob = [{{ id = "off", state = "planned", off = ["it"] }}]'
    )
    (row,) = check(builder, rules(FLOOR), on=DAY, build="planned").rows
    assert [(each.result, each.clause) for each in row.findings] == [("allowed", "5.1")]
    assert kind in unlisted(car(), rules(FLOOR))
