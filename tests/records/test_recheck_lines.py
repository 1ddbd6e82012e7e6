"""How a recheck is told: names, causes and margins that the command line's own tests do not meet."""

import pytest
from kept import BOOK, CAR, NEXT_YEAR, SPRING, again, recorded

from tarebook.show.recheck import recheck_document, recheck_lines

HEAVIER = BOOK.replace('minimum = "800 kg"', 'minimum = "899 kg"', 1)
PROPOSAL = """\
format = "tarebook-bulletin/1"
amends = "saltpan"
edition = "2027"
number = "4"
status = "proposed"
[[amend]]
clause = "3.1"
class = "open"
set = { "weight.minimum" = "899 kg" }
"""


@pytest.fixture(autouse=True)
def _wide(monkeypatch):
    monkeypatch.setattr("tarebook.show.text.width", lambda: 300)


def lines(found, unit="kg"):
    return list(recheck_lines(found, unit))


def test_margins_are_in_the_cars_unit():
    assert lines(again(recorded(), CAR, HEAVIER), "lb")[2] == "  margin +211.6 lb -> -6.6 lb"


def test_a_margin_that_is_not_known_any_more():
    unweighed = CAR[: CAR.index("[[weighing]]")] + CAR[CAR.index("[at_inspection]") :]
    found = again(recorded(), unweighed)
    assert lines(found)[1:3] == [
        "open, now: eligible -> undecided: because of the car (car.toml changed)",
        "  margin +96.0 kg -> unknown",
    ]
    assert recheck_document(found)["rows"][0]["margin_now_kg"] is None


def test_classes_of_one_name_are_told_apart_by_their_books():
    other = BOOK.replace('"saltpan"', '"kiln-lane"')
    heavier = HEAVIER.replace('"saltpan"', '"kiln-lane"')
    told = lines(again(recorded(CAR, BOOK, other), CAR, HEAVIER, heavier))
    assert [line for line in told if not line.startswith(" ")][1:] == [
        "saltpan/open, now: eligible -> not eligible: because of the rules (book.toml changed)",
        "kiln-lane/open, now: eligible -> not eligible: because of the rules (more.toml changed)",
    ]


def test_of_many_rule_files_only_a_few_are_named():
    names = tuple(f"{number}.toml" for number in range(5))
    bulletins = [PROPOSAL.replace('number = "4"', f'number = "{number}"') for number in range(4)]
    found = again(recorded(), CAR, HEAVIER, *bulletins, names=names)
    assert lines(found)[1] == (
        "open, now: eligible -> not eligible: because of the rules (0.toml new, 1.toml new, 2.toml new, and 3 more)"
    )


def test_proposals_that_count_no_longer():
    found = again(recorded(CAR, BOOK, PROPOSAL, proposed=True), CAR, BOOK, PROPOSAL)
    assert lines(found)[1] == (
        "open, now: not eligible -> eligible: because of the rules (proposed bulletins no longer counted)"
    )


def test_the_day_of_another_build():
    found = again(recorded(), CAR, HEAVIER)
    found = found._replace(
        rows=(found.rows[0]._replace(because=(("rules", "date"),)),), date_changed={"planned": (SPRING, NEXT_YEAR)}
    )
    assert lines(found)[1] == (
        "open, now: eligible -> not eligible: because of the rules and the date together "
        "(book.toml changed; 2028-04-10, was 2027-04-10)"
    )


def test_a_verdict_that_falls_to_too_close_says_which_limit_is():
    found = again(recorded(), CAR, BOOK.replace('minimum = "800 kg"', 'minimum = "896 kg"', 1))
    assert lines(found)[1:4] == [
        "open, now: eligible -> too close: because of the rules (book.toml changed)",
        "  margin +96.0 kg -> +0.0 kg",
        "  came: close   3.1     896 kg is 0 kg over the minimum of 896 kg: too close to call, as the mass is uncertain"
        " by 0.1 kg.",
    ]
    (row,) = [each for each in recheck_document(found)["rows"] if each["build"] == "now"]
    assert [(each["result"], each["clause"]) for each in row["doubts"]] == [("too-close", "3.1")]


def test_a_verdict_that_falls_to_undecided_says_what_cannot_be_told():
    unweighed = CAR[: CAR.index("[[weighing]]")] + CAR[CAR.index("[at_inspection]") :]
    found = again(recorded(), unweighed)
    assert lines(found)[3] == "  came: open    3.1     The minimum cannot be checked: the car was never weighed."


def test_a_verdict_that_stays_tells_no_doubts():
    close = BOOK.replace('minimum = "800 kg"', 'minimum = "896 kg"', 1)
    found = again(recorded(CAR, close), CAR, close.replace("896 kg", "896.001 kg"))
    assert [each["doubts"] for each in recheck_document(found)["rows"]] == [[]]
    assert not any("close " in line for line in lines(found) if line.startswith("  came"))
