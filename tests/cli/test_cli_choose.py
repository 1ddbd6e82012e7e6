"""`choose`: classes side by side, from files to the answer. Car, club and classes are invented (conftest.py)."""

import json

import pytest

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG

WHOLE = """\
Wren (car.toml), every class side by side, on 2026-11-25
Ranked by: eligible now first, then least cost to be eligible, then least weight over the minimum,
then fewest facts to find; --sort changes it.

           now           planned         to be eligible  lightest over min.  ballast find
 1  free   eligible      eligible         nothing to do  880.4 kg   80.4 kg
 2  sheet  undecided     undecided            not known                                 1
 3  brink  too close     not eligible        by undoing
 4  heavy  not eligible  not eligible        none found

Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml): free, sheet, brink, heavy

free: Free
  lightest legal build: 880.4 kg, 80.4 kg over the minimum: strip-boot (0+, 0 h); no cost stated for
    strip-boot
sheet: Sheet
  as far as is known, no set of the car file's jobs, done ones undone or not, surely opens it.
  find out: seats
brink: Brink
  only by undoing strip-cabin
  too close to call now; what to weigh again: tarebook mass car.toml --class brink
heavy: Heavy
  no set of the car file's jobs, done ones undone or not, surely opens it. Now it stands against
    clause 4.2 and 4.1.

What it is worth to find out
  seats: sheet hangs on it, and so does the ranking
    at most 3: shuts sheet, now not eligible instead of undecided, planned not eligible instead of
      undecided, place 3 instead of 2
    at least 4: opens sheet as the car stands, now eligible instead of undecided, planned eligible
      instead of undecided, to be eligible nothing to do instead of not known, lightest 880.4 kg
      instead of not known, over the minimum 80.4 kg instead of not known, place 1 instead of 2

What this cannot know: how competitive a class is. It says nothing of who enters there, how quick
they are and what they spend. Cost and hours are as the car file states them, and jobs that it does
not list are left out.
This is a preparation. The official at the event decides, by the club's own book.
"""
PROPOSAL = """\
format = "tarebook-bulletin/1"
amends = "tern-moor"
edition = "2026"
number = "7"
status = "proposed"
[[amend]]
clause = "4.1"
class = "heavy"
set = { "weight.minimum" = "850 kg" }
[[amend]]
clause = "4.2"
class = "heavy"
withdraw = true
"""
MOVES = """\
Proposed, and not counted above: Tern Moor Motor Circle, bulletin 7
  heavy: place 1 instead of 4, now eligible instead of not eligible, planned eligible instead of not
    eligible, to be eligible nothing to do instead of none found, lightest 880.4 kg instead of not
    known, over the minimum 30.4 kg instead of not known
  moved by that alone: free (to place 2), sheet (to place 3) and brink (to place 4)
"""
ROW_KEYS = {
    "book",
    "class",
    "now",
    "planned",
    "lightest_kg",
    "over_minimum_kg",
    "ballast_kg",
    "cost",
    "hours",
    "facts_to_find",
}
DAY = ("--on", "2026-11-25")


def choose(club, *more):
    return club.ask("choose", "car.toml", *DAY, *more)


def rows(club, *more):
    return {row["class"]: row for row in json.loads(choose(club, *more, "--json").out)["rows"]}


def change(club, before, after):
    text = (club.folder / "car.toml").read_text()
    assert before in text
    club.write("car.toml", text.replace(before, after))


def test_the_whole_answer(club):
    answer = choose(club)
    assert answer.out == WHOLE
    assert (answer.status, answer.err) == (ELIGIBLE, "")


def test_twice_the_same(club):
    assert choose(club, "--json") == choose(club, "--json")


def test_json_has_the_keys_of_the_format(club):
    document = json.loads(choose(club, "--json").out)
    assert document["format"] == "tarebook-choose/1"
    assert [row["class"] for row in document["rows"]] == ["free", "sheet", "brink", "heavy"]
    assert all(set(row) >= ROW_KEYS for row in document["rows"])
    free, sheet, brink, heavy = document["rows"]
    assert (free["now"], free["planned"], free["cost"], free["hours"]) == ("eligible", "eligible", 0.0, 0.0)
    assert free["lightest_kg"] == pytest.approx(880.4, abs=1e-9)
    assert free["over_minimum_kg"] == pytest.approx(80.4, abs=1e-9)
    assert (free["ballast_kg"], free["lightest"]["jobs"]) == (0.0, ["strip-boot"])
    assert free["lightest"]["unpriced"] == ["strip-boot"]
    assert (sheet["facts_to_find"], sheet["cost"], sheet["standing"]) == (["seats"], None, "not-known")
    assert (brink["now"], brink["by_undoing"]["undo"]) == ("too-close", ["strip-cabin"])
    assert (heavy["standing"], heavy["lightest_kg"]) == ("shut", None)
    assert document["order"] == ["now", "cost", "over-minimum", "facts"]


def test_what_a_fact_is_worth_as_json(club):
    (worth,) = json.loads(choose(club, "--json").out)["worth"]
    assert (worth["what"], worth["reorders"]) == ("seats", True)
    assert worth["classes"] == [{"book": "tern-moor", "class": "sheet"}]
    few, many = worth["values"]
    assert (few["low"], few["high"], few["high_left_out"]) == (None, 3.0, False)
    assert (many["low"], many["low_left_out"], many["high"]) == (4.0, False, None)
    assert [(each["now"], each["standing"], each["place"]) for each in few["classes"]] == [("not-eligible", "shut", 3)]
    assert [(each["now"], each["standing"], each["place"]) for each in many["classes"]] == [("eligible", "eligible", 1)]


def test_a_fact_that_was_found_out(club):
    change(club, "doors = 3", "doors = 3\nseats = 5")
    found = rows(club)
    assert (found["sheet"]["now"], found["sheet"]["facts_to_find"]) == ("eligible", [])
    # With five seats the radio may come out of it too, but no job of the car file takes it out.
    assert found["sheet"]["lightest"]["jobs"] == ["strip-boot"]
    assert json.loads(choose(club, "--json").out)["worth"] == []


def test_noise_in_words(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    require = '[[class.require]]\nclause = "3.9"\nmust = { noise = { most = 98 } }\n'
    club.write("rulesets/2026.toml", book.replace('[[class]]\nid = "heavy"', require + '[[class]]\nid = "heavy"'))
    shown = choose(club).out
    assert "    at most 98 dB(A): opens free as the car stands, now eligible instead of undecided," in shown
    assert "    over 98 dB(A): shuts free, now not eligible instead of undecided," in shown


def test_costs_and_hours(club):
    change(club, 'state = "planned"', 'state = "planned"\ncost = "30 EUR"\nreturns = "4 EUR"\nhours = 2.5')
    shown = choose(club).out
    assert "  lightest legal build: 880.4 kg, 80.4 kg over the minimum: strip-boot (26 EUR, 2.5 h)\n" in shown
    document = json.loads(choose(club, "--json").out)
    assert (document["currency"], document["rows"][0]["lightest"]["cost"]) == ("EUR", 26.0)


NEED = '[[class.need]]\nclause = "3.8"\nkinds = ["safety.extinguisher"]\n'
BOTTLE = """\
[[part]]
id = "bottle"
kind = "safety.extinguisher"
origin = "aftermarket"
mass = "4.00 kg"
[[job]]
id = "bottle-in"
state = "maybe"
fit = ["bottle"]
cost = "60 EUR"
hours = 3
[[build]]
"""


@pytest.fixture
def needy(club):
    """Nothing is eligible now; a bottle for 60 EUR opens "free"."""
    book = (club.folder / "rulesets/2026.toml").read_text()
    fit = '[[class.allow]]\nclause = "3.7"\nkinds = ["safety"]\ndoes = ["fit"]\n'
    club.write("rulesets/2026.toml", book.replace('[[class]]\nid = "heavy"', NEED + fit + '[[class]]\nid = "heavy"'))
    change(club, "[[build]]\n", BOTTLE)
    return club


def test_what_it_takes(needy):
    found = rows(needy)["free"]
    assert (found["now"], found["cost"], found["hours"]) == ("not-eligible", 60.0, 3.0)
    assert found["eligible"]["jobs"] == ["bottle-in"]
    shown = choose(needy).out
    assert "  to be eligible: bottle-in (60 EUR, 3 h)\n" in shown


@pytest.mark.parametrize(("budget", "beyond"), [("60", False), ("60 EUR", False), ("59.99 EUR", True)])
def test_the_budget(needy, budget, beyond):
    found = rows(needy, "--budget", budget)["free"]
    assert (found["cost"], found["beyond_budget"], found["lightest"] is None) == (60.0, beyond, beyond)
    shown = choose(needy, "--budget", budget).out
    assert ("60 EUR, 3 h*" in shown) == beyond == ("*: over the budget." in shown)
    assert ("  lightest legal build: none within the budget\n" in shown) == beyond


def test_sorting(club):
    assert list(rows(club, "--sort", "name")) == ["brink", "free", "heavy", "sheet"]
    shown = choose(club, "--sort", "facts", "--sort", "name").out
    assert "Ranked by: fewest facts to find, then name, then eligible now first," in shown
    assert list(rows(club, "--sort", "facts", "--sort", "name")) == ["brink", "free", "heavy", "sheet"]


def test_the_confidence_that_is_asked_for(club):
    # 882.0 kg against a minimum of 882 kg: the chance of keeping it is a half.
    assert rows(club, "--confidence", "50%")["brink"]["now"] == "eligible"
    assert rows(club, "--confidence", "0.975")["brink"]["now"] == "too-close"


def test_further_builds(club):
    found = rows(club, "--build", "spring")["free"]["builds"]
    assert found == {"now": "eligible", "planned": "eligible", "spring": "not-eligible"}
    # On its own day, spring is judged by the edition of 2027, which has no class "brink".
    answer = club.ask("choose", "car.toml", "--build", "spring", "--json")
    if json.loads(answer.out)["rows"][0]["edition"] == "2026":
        builds = {row["class"]: row["builds"] for row in json.loads(answer.out)["rows"]}
        assert "spring" not in builds["brink"] and builds["free"]["spring"] == "eligible"


def test_proposals_that_would_change_the_order(club):
    club.write("rulesets/proposal.toml", PROPOSAL)
    answer = choose(club)
    assert answer.out == WHOLE.replace("\nWhat this cannot know", f"\n{MOVES}\nWhat this cannot know")
    document = json.loads(choose(club, "--json").out)
    assert document["proposed"] == ["Tern Moor Motor Circle, bulletin 7"]
    moved = {move["class"]: (move["place_was"], move["place_becomes"]) for move in document["moves"]}
    assert moved == {"heavy": (4, 1), "free": (1, 2), "sheet": (2, 3), "brink": (3, 4)}
    counted = rows(club, "--proposed")
    assert (counted["heavy"]["now"], counted["heavy"]["place"]) == ("eligible", 1)
    assert "Proposed, and not counted above" not in choose(club, "--proposed").out


def test_two_books_with_a_class_of_one_name(club):
    other = (club.folder / "rulesets/2026.toml").read_text().replace('id = "tern-moor"', 'id = "knot-wood"')
    club.write("rulesets/other.toml", other)
    shown = choose(club).out
    assert "\n 1  knot-wood/free   eligible " in shown and "\n 1  tern-moor/free   eligible " in shown
    assert "  seats: tern-moor/sheet and knot-wood/sheet hang on it, and so does the ranking\n" in shown


def test_nothing_eligible_but_something_open(club):
    book = (club.folder / "rulesets/2026.toml").read_text()
    begin, end = book.index('[[class]]\nid = "free"'), book.index('[[class]]\nid = "brink"')
    club.write("rulesets/2026.toml", book[:begin] + book[end:])
    assert choose(club).status == UNDECIDED
    begin, end = book.index('[[class]]\nid = "free"'), book.index('[[class]]\nid = "heavy"')
    club.write("rulesets/2026.toml", book[:begin] + book[end : book.index('[[class]]\nid = "brink"')])
    assert choose(club).status == NOT_ELIGIBLE


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--sort", "cst"], 'There is no order "cst". Did you mean "cost"?'),
        (["--budget", "much"], '--budget: an amount of money is expected, such as "140 EUR", not "much".'),
        (["--budget=3 kg"], "--budget: an amount of money is expected, but kg is a mass."),
        (
            ["--confidence", "40%"],
            '"40%" is no such chance: write one of at least 50 % and under 100 %, such as 97.5%.',
        ),
        (
            ["--confidence", "sure"],
            '"sure" is no such chance: write one of at least 50 % and under 100 %, such as 97.5%.',
        ),
        (["--build", "sprng"], 'There is no build "sprng". Did you mean "spring"?'),
    ],
)
def test_requests_that_make_no_sense(club, arguments, message):
    answer = choose(club, *arguments)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")


def test_money_in_another_currency(needy):
    answer = choose(needy, "--budget", "50 USD")
    assert (answer.status, answer.err) == (WRONG, "--budget: the car file counts in EUR, not in USD.\n")
