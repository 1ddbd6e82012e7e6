"""`revise` end to end: what OLD and NEW may be, what is printed, and the exit status."""

import json

import pytest
from club_files import BOOK_2026, BOOK_2027

BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "tern-moor"
edition = "2027"
number = "{number}"
status = "{status}"
in_force = {{ from = {day} }}
[[amend]]
clause = "3.1"
class = "free"
set = {{ "weight.minimum" = "{minimum} kg" }}
"""
OLD, NEW = "rulesets/2026.toml", "rulesets/2027.toml"


@pytest.fixture
def amended(club):
    club.write("rulesets/b1.toml", BULLETIN.format(number=1, status="in-force", day="2027-06-01", minimum=810))
    club.write("rulesets/b2.toml", BULLETIN.format(number=2, status="proposed", day="2027-06-01", minimum=820))
    return club


def asked(club, *arguments):
    answer = club.ask("revise", *arguments, "--json")
    assert answer.err == ""
    return json.loads(answer.out)


def sentences(document):
    return list(dict.fromkeys(change["sentence"] for change in document["changes"]))


CHANGED = (
    "Removing the floor coverings or the things carried, not bolted to the car for good: now also the centre console."
)
MOVED = "Class brink is now verge; it means the same."


# ---- what is printed


def test_two_files(club):
    answer = club.ask("revise", OLD, NEW)
    assert (answer.status, answer.err) == (0, "")
    assert (
        answer.out
        == """\
Tern Moor Motor Circle, from edition 2026 to edition 2027
  old: rulesets/2026.toml
  new: rulesets/2027.toml
2 changes: 1 changed, 1 moved.
  moved     1.1     Class brink is now verge; it means the same. [rulesets/2027.toml:39, was
                    rulesets/2026.toml:39]
  changed   2.1     Removing the floor coverings or the things carried, not bolted to the car for
                    good: now also the centre console. (every class) [rulesets/2027.toml:12, was
                    rulesets/2026.toml:12]
"""
    )


def test_the_document(club):
    document = asked(club, OLD, NEW)
    assert (document["format"], document["car"]) == ("tarebook-revise/1", [])
    assert document["books"] == [
        {
            "book": "tern-moor",
            "title": "Tern Moor Motor Circle",
            "old": {"edition": "2026", "file": OLD, "bulletins": []},
            "new": {"edition": "2027", "file": NEW, "bulletins": []},
        }
    ]
    assert document["changes"][0] == {
        "book": "tern-moor",
        "class": "free",
        "was_class": None,
        "clause": "2.1",
        "was_clause": None,
        "what": "changed",
        "form": "allow",
        "sentence": CHANGED,
        "source": {"file": NEW, "line": 12},
        "was_source": {"file": OLD, "line": 12},
    }
    assert sentences(document) == [CHANGED, MOVED]


def test_a_clause_that_moved_has_the_one_before(club):
    club.write("rulesets/2027.toml", BOOK_2026.replace('"2026"', '"2027"').replace('"4.9"', '"4.10"'))
    (change,) = asked(club, OLD, NEW)["changes"]
    assert (change["clause"], change["was_clause"], change["what"]) == ("4.10", "4.9", "moved")


def test_with_a_car(club):
    document = asked(club, OLD, NEW, "--car", "car.toml", "--on", "2027-04-01")
    rows = {(row["class"], row["build"]): row for row in document["car"]}
    assert list(rows) == [(name, build) for name in ("free", "heavy", "verge", "sheet") for build in ("now", "planned")]
    row = rows["free", "now"]
    assert {key: row[key] for key in ("was", "now", "newly_illegal", "newly_legal", "newly_owed")} == {
        "was": "eligible",
        "now": "eligible",
        "newly_illegal": [],
        "newly_legal": ["console"],
        "newly_owed": [],
    }
    assert row["margin_was_kg"] == row["margin_now_kg"] == pytest.approx(82.0)
    assert row["parts"] == [
        {
            "part": "console",
            "kind": "interior.console",
            "what": "newly-legal",
            "does": "remove",
            "already_done": False,
            "clause": "2.1",
            "mass_kg": pytest.approx(2.4),
            "gains_kg": None,
            "sentence": "Centre console may be removed.",
            "source": {"file": NEW, "line": 12},
        }
    ]
    assert rows["verge", "now"]["was_class"] == "brink"


def test_named_builds(club):
    document = asked(club, OLD, NEW, "--car", "car.toml", "--build", "spring")
    assert {row["build"] for row in document["car"]} == {"spring"}
    free = document["car"][0]
    assert (free["was"], free["now"], free["newly_legal"]) == ("not-eligible", "eligible", ["console"])


def test_each_side_is_judged_on_its_day(club):
    aged = BOOK_2026 + (
        '[[class.enter]]\nclause = "6.9"\nmust = { first_registered = { age = { least = 25 } } }\nsays = "Old."\n'
    )
    club.write("aged.toml", aged.replace("seats = { least = 4 }", "doors = 3"))
    text = (club.folder / "car.toml").read_text()
    club.write("car.toml", text.replace("doors = 3\n", "doors = 3\nfirst_registered = 2002-05-01\n"))

    def verdicts(*days):
        rows = asked(club, "aged.toml", "aged.toml", "--car", "car.toml", "--build", "now", *days)["car"]
        return [(row["was"], row["now"]) for row in rows if row["class"] == "sheet"]

    assert verdicts("--on", "2027-04-30") == [("not-eligible", "not-eligible")]
    assert verdicts("--on", "2027-05-01") == [("eligible", "eligible")]
    assert verdicts("--on", "2027-04-30", "--on", "2027-05-01") == [("not-eligible", "eligible")]


def test_markdown(club):
    answer = club.ask("revise", OLD, NEW, "--car", "car.toml", "--markdown")
    lines = answer.out.splitlines()
    assert lines[0] == "# Tern Moor Motor Circle, from edition 2026 to edition 2027"
    assert f"| 2.1 | changed | {CHANGED} |" in lines
    assert "# Wren" in lines


# ---- the exit status


def test_a_verdict_that_is_worse_exits_1(club):
    club.write("rulesets/2027.toml", BOOK_2027.replace('minimum = "800 kg"', 'minimum = "960 kg"', 1))
    assert club.ask("revise", OLD, NEW).status == 0
    assert club.ask("revise", OLD, NEW, "--car", "car.toml").status == 1
    assert club.ask("revise", NEW, OLD, "--car", "car.toml").status == 0
    assert club.ask("revise", OLD, OLD, "--car", "car.toml").status == 0


# ---- what OLD and NEW may be


def test_book_at_edition(club):
    assert sentences(asked(club, "tern-moor@2026", "tern-moor@2027")) == [CHANGED, MOVED]
    club.write("elsewhere/2026.toml", BOOK_2026)
    document = asked(club, "tern-moor@2026", NEW, "--rules", "elsewhere")
    assert document["books"][0]["old"]["file"] == "elsewhere/2026.toml"


def test_book_at_edition_is_looked_up_beside_the_car(club):
    club.write("garage/car.toml", (club.folder / "car.toml").read_text())
    club.write("garage/rulesets/2026.toml", BOOK_2026)
    document = asked(club, "tern-moor@2026", NEW, "--car", "garage/car.toml")
    assert document["books"][0]["old"]["file"] == "garage/rulesets/2026.toml"


def test_a_folder_as_it_holds_on_two_days(club):
    assert sentences(asked(club, "rulesets", "rulesets", "--on", "2026-11-25", "--on", "2027-02-01")) == [
        CHANGED,
        MOVED,
    ]
    assert sentences(asked(club, "rulesets", "rulesets", "--on", "2026-11-25")) == []


def test_a_folder_with_one_edition_needs_no_day(club):
    club.write("old/2026.toml", BOOK_2026)
    assert sentences(asked(club, "old", NEW)) == [CHANGED, MOVED]


def test_a_folder_with_bulletins(amended):
    rises = "The minimum rises from {} kg to {} kg."
    days = ("--on", "2027-05-31", "--on", "2027-06-01")
    assert sentences(asked(amended, "rulesets", "rulesets", *days)) == [rises.format(800, 810)]
    assert sentences(asked(amended, "rulesets", "rulesets", *days, "--proposed")) == [rises.format(800, 820)]
    proposal = asked(amended, "rulesets", "rulesets", "--on", "2027-06-01", "--proposed")
    assert sentences(proposal) == [rises.format(810, 820)]
    assert proposal["books"][0]["new"]["bulletins"] == ["1", "2"]
    assert proposal["changes"][0]["source"] == {"file": "rulesets/b2.toml", "line": 10}
    assert proposal["changes"][0]["was_source"] == {"file": "rulesets/b1.toml", "line": 10}


def test_book_at_edition_as_printed_or_on_a_day(amended):
    assert sentences(asked(amended, "tern-moor@2027", "tern-moor@2027")) == []
    days = ("--on", "2027-05-31", "--on", "2027-06-01")
    document = asked(amended, "tern-moor@2027", "tern-moor@2027", *days)
    assert sentences(document) == ["The minimum rises from 800 kg to 810 kg."]
    assert document["books"][0]["old"]["bulletins"] == []
    proposed = asked(amended, NEW, "tern-moor@2027", "--on", "2027-06-01", "--proposed")
    assert sentences(proposed) == ["The minimum rises from 800 kg to 820 kg."]


def test_several_books(club):
    other = BOOK_2026.replace('"tern-moor"', '"other"').replace("Tern Moor Motor Circle", "Other Circle")
    club.write("both/a.toml", BOOK_2026)
    club.write("both/b.toml", other)
    answer = club.ask("revise", "both", NEW)
    assert "Other Circle, edition 2026: only in the old rules" in answer.out
    assert "  withdrawn 1.1     Class free (Free) is gone. [was both/b.toml:17]" in answer.out
    assert CHANGED.split(":")[1].split()[0] in answer.out


# ---- what is refused


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((OLD,), "Missing argument 'NEW'"),
        ((OLD, "rulesets/2031.toml"), "rulesets/2031.toml"),
        ((OLD, "tern-moor@2031"), 'There is no edition "tern-moor@2031".'),
        (("rulesets", NEW), "rulesets has several editions of tern-moor. Name the day that counts: --on DATE."),
        (("rulesets", NEW, "--on", "1999-01-01"), 'book "tern-moor": no edition covers 1999-01-01.'),
        ((OLD, NEW, "--on", "1.4.2027"), '"1.4.2027" is not a date'),
        ((OLD, NEW, *("--on", "2027-01-01") * 3), "--on is given once for both, or twice"),
        ((OLD, NEW, "--build", "now"), "--build says which builds of a car to judge: name the car, --car CAR."),
        ((OLD, NEW, "--car", "car.toml", "--build", "sprung"), 'There is no build "sprung". Did you mean "spring"?'),
        ((OLD, NEW, "--json", "--markdown"), "Choose one of --json and --markdown."),
        ((OLD, NEW, "--proposed"), "rulesets/2027.toml is one file, without bulletins"),
        ((OLD, "tern-moor@2027", "--proposed"), "--proposed needs a day"),
        ((OLD, "rulesets", "--proposed"), "--proposed needs a day"),
        ((OLD, NEW, "--car", "no-car.toml"), "no-car.toml"),
    ],
)
def test_wrong_use(club, arguments, said):
    answer = club.ask("revise", *arguments)
    assert (answer.status, answer.out) == (2, "")
    assert said in answer.err


def test_no_rule_sets_to_look_in(ask):
    answer = ask("revise", "tern-moor@2026", "tern-moor@2027")
    assert (answer.status, answer.err) == (
        2,
        "Where is tern-moor@2026? Name a rule-set file or a folder of them: --rules PATH.\n",
    )


def test_the_same_edition_twice_in_a_folder(club):
    club.write("twice/a.toml", BOOK_2026)
    club.write("twice/b.toml", BOOK_2026)
    answer = club.ask("revise", "tern-moor@2026", NEW, "--rules", "twice")
    assert answer.status == 2
    assert "tern-moor@2026 is there more than once: twice/a.toml and twice/b.toml." in answer.err


def test_the_mistakes_of_all_files_come_at_once(club):
    club.write("broken-old.toml", BOOK_2026.replace('does = ["remove"]', 'does = ["eat"]', 1))
    club.write("broken-new.toml", BOOK_2027.replace('silence = "forbids"', 'silence = "maybe"'))
    club.write("broken-car.toml", "format = 1\n")
    answer = club.ask("revise", "broken-old.toml", "broken-new.toml", "--car", "broken-car.toml")
    assert answer.status == 2
    assert all(name in answer.err for name in ("broken-old.toml:", "broken-new.toml:", "broken-car.toml:"))
