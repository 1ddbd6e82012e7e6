"""What changed since a record and what it is due to: each cause by itself, several together, and none."""

import datetime
from dataclasses import replace

import pytest
from kept import BOOK, CAR, NEXT_YEAR, SECOND, SPRING, again, changed, recorded, row

from tarebook.api import NotInForce
from tarebook.records import rechecking
from tarebook.records.differences import GONE, NO_EDITION
from tarebook.records.record import KeptFile
from tarebook.records.strict import RecordProblem
from tarebook.toml_source import MistakesFound

HEAVIER = BOOK.replace('minimum = "800 kg"', 'minimum = "899 kg"', 1)
UNPAINTED = CAR.replace('finishes = [{ area = "interior.floor", by = "painted" }]\n', "")
UNDONE = CAR.replace('state = "done"', 'state = "planned"').replace("date = 2026-03-10\n", "")
OPEN_ENDED = BOOK.replace("{ from = 2027-01-01, until = 2027-12-31 }", "{ from = 2020-01-01 }")


def in_class(text: str, more: str, book: str = BOOK) -> str:
    """The book with more keys of one class: before its `[class.weight]` is no place, so after its title."""
    head = f'title = "{text}"\n[class.weight]\n'
    assert head in book
    before, _, after = book.partition(head)
    weight, rest, tail = after.partition("[[class.")
    return before + head + weight + more + rest + tail


def car_with(facts: str, text: str = CAR) -> str:
    return text.replace("[facts]\n", f"[facts]\n{facts}\n")


def clauses(faults):
    return [(fault.result, fault.clause) for fault in faults]


def test_nothing_changed():
    found = again(recorded())
    assert (found.rows, found.worse, found.compared) == ((), False, 2)
    assert (found.car_changed, found.rules_changed, found.date_changed) == (None, (), {})


def test_a_raised_minimum_is_the_rules_doing():
    found = again(recorded(), CAR, HEAVIER)
    assert changed(found) == {"open": (("rules",),)}
    only = row(found, "open")
    assert (only.was.verdict, only.now.verdict, only.worse, found.worse) == ("eligible", "not-eligible", True, True)
    assert (only.was.margin_kg, only.now.margin_kg) == (96.0, -3.0)
    assert [fault.sentence for fault in only.difference.came] == ["896 kg is 3 kg under the minimum of 899 kg."]
    assert only.difference.went == ()
    assert [(each.file, each.what, each.book) for each in found.rules_changed] == [("book.toml", "changed", "saltpan")]
    assert found.car_changed is None


def test_a_finish_undone_is_the_cars_doing():
    found = again(recorded(), UNPAINTED)
    assert changed(found) == {"open": (("car",),)}
    only = row(found, "open")
    assert (only.was.verdict, only.now.verdict, only.worse) == ("eligible", "not-eligible", True)
    assert clauses(only.difference.came) == [("owed", "3.3")]
    assert (found.car_changed, found.rules_changed) == ("car.toml", ())


def test_what_got_better_is_told_and_is_not_worse():
    found = again(recorded(), UNDONE)
    assert changed(found) == {"open": (("car",),), "shut": (("car",),)}
    only = row(found, "shut")
    assert (only.was.verdict, only.now.verdict) == ("not-eligible", "eligible")
    assert clauses(only.difference.went) == [("violation", "4.2")]
    assert (only.worse, found.worse) == (False, False)


def test_a_day_past_the_last_edition_is_the_dates_doing():
    found = again(recorded(), on=NEXT_YEAR)
    assert changed(found) == {"open": (("date",),), "shut": (("date",),)}
    assert {(each.now, each.worse) for each in found.rows} == {(NO_EDITION, True)}
    assert found.date_changed == {"now": (SPRING, NEXT_YEAR)}


AGED = in_class(
    "Open",
    '[[class.enter]]\nclause = "3.9"\nmust = { production_until = { age = { least = 25 } } }\n',
    OPEN_ENDED,
)


def test_a_birthday_is_the_dates_doing_on_its_very_day():
    kept = recorded(CAR, AGED)
    assert again(kept, CAR, AGED, on=datetime.date(2028, 2, 29)).rows == ()
    only = row(again(kept, CAR, AGED, on=datetime.date(2028, 3, 1)), "open")
    assert (only.was.verdict, only.now.verdict, only.because) == ("not-eligible", "eligible", (("date",),))
    assert clauses(only.difference.went) == [("violation", "3.9")]


def edited(record, **changes):
    """The record as if another version had found something else for class "open"."""
    rows = [replace(each, **changes) if each.class_id == "open" else each for each in record.rows]
    return replace(record, tool_version="0.0.9", rows=tuple(rows))


def test_what_the_old_things_do_not_give_is_the_tool_versions_doing():
    found = again(edited(recorded(), verdict="undecided"))
    assert changed(found) == {"open": (("tool_version",),)}
    assert (row(found, "open").worse, found.worse) == (False, False)
    worse = again(edited(recorded(CAR, HEAVIER), verdict="eligible"), CAR, HEAVIER)
    assert changed(worse) == {"open": (("tool_version",),)}
    assert worse.worse


def test_the_tool_version_and_the_rules_both():
    found = again(edited(recorded(), margin_kg=90.0), CAR, HEAVIER)
    assert changed(found) == {"open": (("tool_version",), ("rules",))}


def test_what_cancels_out_is_no_cause():
    # A kilogram more on the scales, and one more in the book: each alone would change the margin.
    heavier, raised = CAR.replace("900.0 kg", "901.0 kg"), BOOK.replace('minimum = "800 kg"', 'minimum = "801 kg"')
    assert again(recorded(), heavier, raised).rows == ()
    found = again(edited(recorded(), verdict="undecided"), heavier, raised)
    assert changed(found) == {"open": (("tool_version",),)}


def test_what_rules_changed_is_not_laid_on_a_car_that_changed_too():
    found = again(recorded(), car_with("doors = 3"), HEAVIER)
    assert changed(found) == {"open": (("rules",),)}
    assert found.car_changed == "car.toml"


def test_car_and_rules_each_alone():
    found = again(recorded(), UNPAINTED, HEAVIER)
    assert changed(found) == {"open": (("car",), ("rules",))}
    assert clauses(row(found, "open").difference.came) == [("violation", "3.1"), ("owed", "3.3")]


def require(condition: str) -> str:
    return in_class(
        "Open",
        f'[[class.ban]]\nclause = "3.8"\nkinds = ["interior.floor.carpet"]\ndoes = ["remove"]\nif = {condition}\n',
        OPEN_ENDED,
    )


FIVE_DOORS, THREE_DOORS = car_with("doors = 5"), car_with("doors = 3")


def test_car_and_rules_only_together():
    found = again(recorded(FIVE_DOORS, OPEN_ENDED), THREE_DOORS, require("{ doors = 3 }"))
    assert changed(found) == {"open": (("car", "rules"),)}
    assert clauses(row(found, "open").difference.came) == [("violation", "3.8")]


def test_rules_and_date_only_together():
    aged = require("{ production_until = { age = { least = 25 } } }")
    found = again(recorded(CAR, OPEN_ENDED), CAR, aged, on=NEXT_YEAR)
    assert changed(found) == {"open": (("rules", "date"),)}


def test_all_three_only_together():
    all_three = require("{ doors = 3, production_until = { age = { least = 25 } } }")
    found = again(recorded(FIVE_DOORS, OPEN_ENDED), THREE_DOORS, all_three, on=NEXT_YEAR)
    assert changed(found) == {"open": (("car", "rules", "date"),)}


def test_two_pairs_that_each_suffice():
    either = require("{ any = [{ doors = 3 }, { production_until = { age = { least = 25 } } }] }")
    found = again(recorded(FIVE_DOORS, OPEN_ENDED), THREE_DOORS, either, on=NEXT_YEAR)
    assert changed(found) == {"open": (("car", "rules"), ("rules", "date"))}


NEXT_EDITION = HEAVIER.replace('"2027"', '"2028"').replace("2027-01-01, until = 2027-12-31", "2028-01-01")


def test_an_edition_that_follows_comes_with_its_file_and_the_date_together():
    found = again(recorded(), CAR, BOOK, NEXT_EDITION, on=NEXT_YEAR)
    assert changed(found) == {"open": (("rules", "date"),)}
    both = recorded(CAR, BOOK, NEXT_EDITION)
    assert changed(again(both, CAR, BOOK, NEXT_EDITION, on=NEXT_YEAR)) == {"open": (("date",),)}
    found = again(recorded(), CAR, BOOK, NEXT_EDITION, on=NEXT_YEAR)
    assert row(found, "open").now.edition == "2028"


def test_an_edition_that_took_the_others_place_comes_with_rules_and_date():
    found = again(recorded(), CAR, NEXT_EDITION, on=NEXT_YEAR)
    assert changed(found) == {"open": (("rules",), ("date",))}


OWN_FACT = in_class("Open", '[[class.require]]\nclause = "3.7"\nmust = { tyre_list = "a" }\n').replace(
    "[[class]]", '[[fact]]\nid = "tyre_list"\ntype = "choice"\nchoices = ["a", "b"]\ntitle = "Tyre list"\n[[class]]', 1
)


def test_what_only_both_together_make_is_due_to_both():
    # The old rules do not know the fact that the new car states; the new rules alone leave the class undecided.
    found = again(recorded(), car_with('tyre_list = "b"'), OWN_FACT)
    assert changed(found) == {"open": (("car", "rules"),)}
    assert row(found, "open").now.verdict == "not-eligible"


def test_a_class_that_is_gone_is_worse_and_a_new_one_is_not():
    found = again(recorded(), CAR, BOOK.replace('"open"', '"wide"'))
    assert changed(found) == {"open": (("rules",),), "wide": (("rules",),)}
    assert (row(found, "open").now, row(found, "open").worse) == (GONE, True)
    assert (row(found, "wide").was, row(found, "wide").worse) == (GONE, False)


def test_a_book_that_is_gone():
    found = again(recorded(CAR, BOOK, SECOND))
    assert changed(found) == {"guest": (("rules",),), "host": (("rules",),)}
    assert {each.now for each in found.rows} == {GONE}
    assert [(each.file, each.what, each.book) for each in found.rules_changed] == [("more.toml", "gone", "kiln-lane")]


def test_builds_that_are_new_and_gone():
    summer, winter = (f'{CAR}[[build]]\nid = "{name}"\njobs = []\n' for name in ("summer", "winter"))
    found = again(recorded(summer), winter, builds=("now", "planned", "winter", "summer"))
    told = {each.key: (each.was == GONE, each.now == GONE, each.because, each.worse) for each in found.rows}
    assert told == {
        ("saltpan", "open", "summer"): (False, True, (("car",),), True),
        ("saltpan", "shut", "summer"): (False, True, (("car",),), True),
        ("saltpan", "open", "winter"): (True, False, (("car",),), False),
        ("saltpan", "shut", "winter"): (True, False, (("car",),), False),
    }


def test_only_the_builds_asked_about_are_compared():
    found = again(recorded(), UNPAINTED, builds=("planned",))
    assert [each.key for each in found.rows] == [("saltpan", "open", "planned")]
    assert found.compared == 2


def test_a_fact_newly_to_find():
    seats = in_class("Open", '[[class.require]]\nclause = "3.7"\nmust = { seats = { least = 4 } }\n')
    unsaid = CAR.replace("seats = 5\n", "")
    found = again(recorded(CAR, seats), unsaid, seats)
    only = row(found, "open")
    assert (only.now.verdict, only.difference.newly_to_find, only.worse) == ("undecided", ("seats",), True)
    back = row(again(recorded(unsaid, seats), CAR, seats), "open")
    assert (back.difference.no_longer_to_find, back.worse) == (("seats",), False)


def test_a_margin_that_shrank_is_told_but_is_not_worse():
    found = again(recorded(), CAR, BOOK.replace('minimum = "800 kg"', 'minimum = "850 kg"', 1))
    only = row(found, "open")
    assert (only.was.margin_kg, only.now.margin_kg, any(only.difference), only.worse) == (96.0, 46.0, False, False)


def test_other_figures_of_a_limit_that_fails_are_no_new_violation():
    found = again(recorded(CAR, HEAVIER), CAR, HEAVIER.replace("899 kg", "910.5 kg"))
    only = row(found, "open")
    assert (only.now.margin_kg, any(only.difference), only.worse) == (-14.5, False, False)


def test_a_maximum_that_fails_in_a_minimums_stead_is_a_new_violation():
    lighter = HEAVIER.replace('minimum = "899 kg"', 'maximum = "850 kg"')
    only = row(again(recorded(CAR, HEAVIER), CAR, lighter), "open")
    assert (only.was.verdict, only.now.verdict, only.worse) == ("not-eligible", "not-eligible", True)
    assert [fault.sentence for fault in only.difference.came] == ["896 kg is 46 kg over the maximum of 850 kg."]
    assert [fault.sentence for fault in only.difference.went] == ["896 kg is 3 kg under the minimum of 899 kg."]


def test_a_part_by_another_title_is_the_same_violation():
    assert again(recorded(), CAR.replace('title = "Carpet"', 'title = "Cabin carpet"')).rows == ()


def test_a_second_kind_lacking_under_one_clause_is_a_new_violation():
    strip = '[[class.strip]]\nclause = "3.7"\nkinds = ["interior.console"{}]\n'
    one, two = (in_class("Open", strip.format(more)) for more in ("", ', "interior.headliner"'))
    only = row(again(recorded(CAR, one), CAR, two), "open")
    assert [fault.kind for fault in only.difference.came] == ["interior.headliner"]
    assert (only.difference.went, only.worse) == ((), True)
    other = row(again(recorded(CAR, one), CAR, one.replace("interior.console", "interior.headliner")), "open")
    assert [fault.kind for fault in other.difference.came] == ["interior.headliner"]
    assert [fault.kind for fault in other.difference.went] == ["interior.console"]


def test_a_second_condition_failing_under_one_clause_is_a_new_violation():
    entry = '[[class.enter]]\nclause = "3.7"\nmust = {{ seats = {{ least = {} }} }}\n'
    one, two = (in_class("Open", entry.format(6) + entry.format(seats)) for seats in (5, 7))
    only = row(again(recorded(CAR, one), CAR, two), "open")
    assert (clauses(only.difference.came), only.worse) == ([("violation", "3.7")], True)


BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "saltpan"
edition = "2027"
number = "4"
status = "in-force"
in_force = { from = 2027-06-01 }
[[amend]]
clause = "3.1"
class = "open"
set = { "weight.minimum" = "899 kg" }
"""


def test_a_bulletin_that_came_is_the_rules_doing():
    june = datetime.date(2027, 6, 1)
    found = again(recorded(on=june), CAR, BOOK, BULLETIN, on=june)
    assert changed(found) == {"open": (("rules",),)}
    assert row(found, "open").now.bulletins == ("4",)
    assert [(each.file, each.what, each.book) for each in found.rules_changed] == [("more.toml", "new", "saltpan")]


def test_a_bulletin_that_came_into_force_is_the_dates_doing():
    found = again(recorded(CAR, BOOK, BULLETIN), CAR, BOOK, BULLETIN, on=datetime.date(2027, 6, 1))
    assert changed(found) == {"open": (("date",),)}
    assert found.rules_changed == ()


def test_counting_proposals_is_the_rules_doing():
    proposal = BULLETIN.replace('"in-force"', '"proposed"').replace("in_force = { from = 2027-06-01 }\n", "")
    kept = recorded(CAR, BOOK, proposal)
    assert again(kept, CAR, BOOK, proposal).rows == ()
    found = again(kept, CAR, BOOK, proposal, proposed=True)
    assert changed(found) == {"open": (("rules",),)}
    assert (found.proposed_changed, found.rules_changed) == (True, ())


def test_a_rule_file_by_another_name_has_not_changed():
    found = again(recorded(), CAR, BOOK, names=("renamed.toml",))
    assert (found.rows, found.rules_changed) == ((), ())


def test_two_editions_on_one_day_now_are_an_error():
    overlapping = NEXT_EDITION.replace("2028-01-01", "2027-02-01")
    with pytest.raises(NotInForce, match="more than one edition covers 2027-04-10"):
        again(recorded(), CAR, BOOK, overlapping)


def test_two_editions_on_one_day_in_a_trial_are_as_good_as_none():
    overlapping = NEXT_EDITION.replace("2028-01-01", "2027-12-01")
    # The new rules on the old day are sound; the old rules have none on the new day.
    found = again(recorded(), CAR, BOOK, overlapping, on=NEXT_YEAR)
    assert changed(found) == {"open": (("rules", "date"),)}
    # The new rules on the old day have two.
    december = datetime.date(2027, 12, 15)
    found = again(recorded(on=december), CAR, BOOK, overlapping, on=NEXT_YEAR)
    assert changed(found) == {"open": (("rules",), ("date",))}


def test_mistakes_in_the_files_now_are_raised():
    with pytest.raises(MistakesFound, match='there is no fact "tyre_list"'):
        again(recorded(), car_with('tyre_list = "b"'))


@pytest.mark.parametrize("what", ["not TOML", 'format = "tarebook-car/1"\n'])
def test_recorded_texts_that_cannot_be_judged(what):
    digest = "0" * 64
    kept = replace(recorded(), tool_version="0.0.9", car=KeptFile("car.toml", digest, what))
    with pytest.raises(RecordProblem) as raised:
        again(kept)
    assert str(raised.value).startswith(
        "The texts in the record, which version 0.0.9 of tarebook made, cannot be judged: car.toml (as recorded):1:"
    )
    assert str(raised.value).endswith("Make a new record: tarebook record.")


def test_recorded_texts_that_do_not_fit_each_other():
    # The old car states a fact that the old rules do not declare.
    odd = car_with('tyre_list = "b"')
    kept = replace(recorded(), car=KeptFile("car.toml", "0" * 64, odd))
    with pytest.raises(RecordProblem, match='there is no fact "tyre_list"'):
        again(kept, CAR, HEAVIER)


@pytest.fixture
def trials(monkeypatch):
    """How often everything is judged."""
    made = []

    def counting(*arguments, **more):
        made.append(arguments)
        return original(*arguments, **more)

    original = rechecking.answers
    monkeypatch.setattr(rechecking, "answers", counting)
    return made


@pytest.mark.parametrize(
    ("car", "book", "day", "times"),
    [
        (CAR, OPEN_ENDED, SPRING, 1),
        (car_with("doors = 3"), OPEN_ENDED, SPRING, 1),  # another car, but nothing to explain
        (UNPAINTED, OPEN_ENDED, SPRING, 2),  # all old, and all new
        (UNPAINTED, OPEN_ENDED, NEXT_YEAR, 4),  # and each of two alone
        (UNPAINTED, HEAVIER.replace("2027-12-31", "2029-12-31"), NEXT_YEAR, 8),
    ],
)
def test_what_has_not_changed_is_not_tried(trials, car, book, day, times):
    kept = recorded(CAR, OPEN_ENDED)
    again(kept, car, book, on=day)
    assert len(trials) == times
