"""`record` and `recheck`: what they write and say, their exit status, and which rules, builds and days they take."""

import datetime
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tarebook.cli.status import WRONG
from tarebook.version import __version__

TODAY = datetime.date.today().isoformat()
ON = ("--on", "2026-11-25")
BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "tern-moor"
edition = "2026"
number = "1"
status = "in-force"
in_force = { from = 2026-01-01 }
[[amend]]
clause = "3.1"
class = "free"
set = { "weight.minimum" = "890 kg" }
"""


@pytest.fixture
def kept(club):
    """The folder of the club, with a record of the car."""
    assert club.ask("record", "car.toml", *ON).status == 0
    return club


def replace(club, name, old, new):
    text = (club.folder / name).read_text(encoding="utf-8")
    assert old in text
    club.write(name, text.replace(old, new))


def raise_minimum(club):
    replace(club, "rulesets/2026.toml", '"800 kg"\n[[class]]\nid = "heavy"', '"881 kg"\n[[class]]\nid = "heavy"')


def document(answer):
    return json.loads(answer.out)


def told(answer):
    """By class and build: the verdicts, what they are due to, and whether it is worse."""
    return {
        (row["class"], row["build"]): (row["was"], row["now"], row["because"], row["worse"])
        for row in document(answer)["rows"]
    }


# --- record ---


def test_record_says_where_and_how_many(club):
    answer = club.ask("record", "car.toml", *ON)
    assert answer == (
        0,
        "Written: car.record.json, with 12 verdicts. tarebook recheck car.toml says later what changed.\n",
        "",
    )
    assert sorted(each.name for each in club.folder.iterdir()) == ["car.record.json", "car.toml", "rulesets"]


def test_record_says_it_to_a_program(club):
    answer = club.ask("record", "car.toml", *ON, "--build", "now", "--json")
    assert document(answer) == {
        "format": "tarebook-recorded/1",
        "record": "car.record.json",
        "verdicts": 4,
        "no_longer_kept": 0,
    }


def test_the_record_agrees_with_the_check(kept):
    checked = document(kept.check("--json"))["rows"]
    record = json.loads((kept.folder / "car.record.json").read_text(encoding="utf-8"))
    assert [(row["class"], row["build"], row["verdict"]) for row in record["rows"]] == [
        (row["class"], row["build"], row["verdict"]) for row in checked
    ]
    for ours, theirs in zip(record["rows"], checked, strict=True):
        for key, result in (("violations", "violation"), ("owed", "owed")):
            wanted = [each["sentence"] for each in theirs["findings"] if each["result"] == result]
            assert [each["sentence"] for each in ours[key]] == wanted
    assert [each["file"] for each in record["rules"]] == ["rulesets/2026.toml", "rulesets/2027.toml"]
    assert (record["recorded_on"], record["rules_named"]) == (TODAY, [])
    assert str(kept.folder) not in json.dumps(record)


def test_no_name_in_a_record_is_absolute(club, ask):
    elsewhere = club.folder / "elsewhere"
    elsewhere.mkdir()
    (club.folder / "car.toml").rename(elsewhere / "car.toml")
    answer = ask("record", str(elsewhere / "car.toml"), "--rules", str(club.folder / "rulesets"), *ON)
    assert answer.status == 0
    record = json.loads((elsewhere / "car.record.json").read_text(encoding="utf-8"))
    assert record["rules_named"] == ["../rulesets"]
    assert [each["file"] for each in record["rules"]] == ["../rulesets/2026.toml", "../rulesets/2027.toml"]
    assert record["car"]["file"] == "car.toml"


def test_record_again_replaces_the_record(kept):
    raise_minimum(kept)
    assert kept.ask("recheck", "car.toml", *ON).status == 1
    assert kept.ask("record", "car.toml", *ON).status == 0
    assert kept.ask("recheck", "car.toml", *ON).status == 0


def test_what_is_no_record_is_not_written_over(club):
    club.write("car.record.json", "lap times\n")
    answer = club.ask("record", "car.toml", *ON)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == (
        "car.record.json is not a record that can be used: it is not JSON (line 1, column 1). "
        "It is not written over: move it away.\n"
    )
    assert (club.folder / "car.record.json").read_text(encoding="utf-8") == "lap times\n"


@pytest.mark.parametrize(
    "more", [("--on", "2019-04-10"), ("--build", "autumn"), ("--on", "soon"), ("--rules", "none.toml")]
)
def test_a_wrong_request_writes_nothing(club, more):
    answer = club.ask("record", "car.toml", *more)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err
    assert not (club.folder / "car.record.json").exists()


# --- recheck ---


def test_one_line_where_nothing_changed(kept):
    assert kept.ask("recheck", "car.toml", *ON) == (0, f"No change since the record of {TODAY} (12 verdicts).\n", "")


def test_what_changed_without_effect_is_named(kept):
    replace(kept, "car.toml", 'title = "Radio"', 'title = "Wireless"')
    replace(kept, "rulesets/2027.toml", "Tern Moor Motor Circle", "Tern Moor Motoring Circle")
    answer = kept.ask("recheck", "car.toml", "--on", "2026-11-26")
    expected = (
        f"No change since the record of {TODAY} (12 verdicts), in spite of rulesets/2027.toml changed,\n"
        "car.toml changed and another day.\n"
    )
    assert answer == (0, expected, "")


SCREEN = f"""\
6 changes since the record of {TODAY} (8 verdicts), 3 for the worse:
free, now: still eligible: because of the rules (rulesets/2026.toml changed)
  margin +82.0 kg -> +1.0 kg
free, planned: eligible -> not eligible: because of the car (car.toml changed) and of the rules
  (rulesets/2026.toml changed)
  margin +80.4 kg -> -2.6 kg
  came: against 1.1     No clause speaks of removing radio, and what this book does not allow it
                        forbids.
  came: against 3.1     878.4 kg is 2.6 kg under the minimum of 881 kg.
heavy, planned: still not eligible: because of the car (car.toml changed)
  margin -69.6 kg -> -71.6 kg
  came: against 1.1     No clause speaks of removing radio, and what this book does not allow it
                        forbids.
brink, now: too close -> eligible: because of the rules (rulesets/2026.toml changed)
  margin +0.0 kg -> +12.0 kg
brink, planned: still not eligible: because of the car (car.toml changed) and of the rules
  (rulesets/2026.toml changed)
  margin -1.6 kg -> +8.4 kg
  came: against 1.1     No clause speaks of removing radio, and what this book does not allow it
                        forbids.
  went: against 5.1     880.4 kg is 1.6 kg under the minimum of 882 kg.
sheet, planned: still undecided: because of the car (car.toml changed)
  margin +80.4 kg -> +78.4 kg
"""


def test_the_whole_screen(kept):
    raise_minimum(kept)
    replace(kept, "rulesets/2026.toml", '"882 kg"', '"870 kg"')
    replace(kept, "car.toml", 'off = ["boot-carpet"]', 'off = ["boot-carpet", "audio"]')
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "now", "--build", "planned")
    assert answer == (1, SCREEN, "")


def test_the_whole_document(kept):
    raise_minimum(kept)
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "planned", "--json")
    assert answer.status == 1
    assert document(answer) == {
        "format": "tarebook-recheck/1",
        "recorded_on": TODAY,
        "worse": True,
        "changed": {
            "car": False,
            "rules": ["rulesets/2026.toml"],
            "proposed": False,
            "date": False,
            "tool_version": False,
        },
        "compared": 4,
        "rows": [
            {
                "book": "tern-moor",
                "class": "free",
                "build": "planned",
                "was": "eligible",
                "now": "not-eligible",
                "margin_was_kg": 80.4,
                "margin_now_kg": -0.6,
                "because": ["rules"],
                "worse": True,
                "came": [
                    {
                        "result": "violation",
                        "clause": "3.1",
                        "form": "limit",
                        "part": None,
                        "kind": None,
                        "does": None,
                        "sentence": "880.4 kg is 0.6 kg under the minimum of 881 kg.",
                    }
                ],
                "went": [],
                "doubts": [],
                "newly_to_find": [],
                "no_longer_to_find": [],
            }
        ],
    }


def test_a_job_undone_is_the_cars_doing(kept):
    replace(kept, "car.toml", 'state = "done"\ndate = 2026-03-10', 'state = "planned"')
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "now", "--json")
    assert answer.status == 0
    # The spare wheel is back on: heavy loses a violation, and every class weighs 18 kg more.
    assert told(answer) == {
        ("free", "now"): ("eligible", "eligible", ["car"], False),
        ("heavy", "now"): ("not-eligible", "not-eligible", ["car"], False),
        ("brink", "now"): ("too-close", "eligible", ["car"], False),
        ("sheet", "now"): ("undecided", "undecided", ["car"], False),
    }
    (heavy,) = [row for row in document(answer)["rows"] if row["class"] == "heavy"]
    assert [each["clause"] for each in heavy["went"]] == ["4.2"]


def test_the_next_edition_comes_with_the_date(kept):
    answer = kept.ask("recheck", "car.toml", "--on", "2027-04-10", "--json")
    assert answer.status == 1
    assert told(answer) == {
        ("free", "spring"): ("not-eligible", "eligible", ["date"], False),
        ("heavy", "spring"): ("not-eligible", "not-eligible", ["date"], False),
        ("brink", "now"): ("too-close", None, ["date"], True),
        ("brink", "planned"): ("not-eligible", None, ["date"], True),
        ("brink", "spring"): ("not-eligible", None, ["date"], True),
        ("sheet", "spring"): ("not-eligible", "undecided", ["date"], False),
        ("verge", "now"): (None, "too-close", ["date"], False),
        ("verge", "planned"): (None, "not-eligible", ["date"], False),
        ("verge", "spring"): (None, "not-eligible", ["date"], False),
    }


def test_a_day_that_no_edition_covers_is_an_answer(kept):
    answer = kept.ask("recheck", "car.toml", "--on", "2019-04-10", "--build", "now")
    assert (answer.status, answer.err) == (1, "")
    assert answer.out == "\n".join(
        [
            f"4 changes since the record of {TODAY} (4 verdicts), 4 for the worse:",
            *(
                f"{name}, now: {was} -> no edition in force: because of the date (2019-04-10, was 2026-11-25)"
                for name, was in (
                    ("free", "eligible"),
                    ("heavy", "not eligible"),
                    ("brink", "too close"),
                    ("sheet", "undecided"),
                )
            ),
            "",
        ]
    )


def edit(club, change):
    """Rewrite the record with its data changed."""
    path = club.folder / "car.record.json"
    data = json.loads(path.read_text(encoding="utf-8"))
    change(data)
    path.write_text(json.dumps(data), encoding="utf-8")


def test_another_version_is_named(kept):
    def older(data):
        data["tool_version"] = "0.0.9"
        data["rows"][0]["verdict"] = "undecided"

    edit(kept, older)
    answer = kept.ask("recheck", "car.toml", *ON)
    assert answer.status == 0
    assert answer.out == (
        f"1 change since the record of {TODAY} (12 verdicts), none for the worse:\n"
        f"free, now: undecided -> eligible: because of the version of tarebook ({__version__}, was 0.0.9)\n"
    )
    assert document(kept.ask("recheck", "car.toml", *ON, "--json"))["changed"]["tool_version"] is True


def test_a_record_that_this_version_made_and_that_does_not_agree(kept):
    edit(kept, lambda data: data["rows"][0].update(verdict="undecided"))
    answer = kept.ask("recheck", "car.toml", *ON)
    assert "because of tarebook itself (by version" in answer.out
    assert told(kept.ask("recheck", "car.toml", *ON, "--json")) == {
        ("free", "now"): ("undecided", "eligible", ["tool_version"], False)
    }


def test_car_and_rules_together(kept):
    rule = '[[class.ban]]\nclause = "3.4"\nkinds = ["interior.floor"]\ndoes = ["remove"]\nif = { doors = 5 }\n'
    replace(kept, "rulesets/2026.toml", '[[class]]\nid = "heavy"', rule + '[[class]]\nid = "heavy"')
    replace(kept, "car.toml", "doors = 3", "doors = 5")
    asked = ("recheck", "car.toml", *ON, "--build", "now")
    assert told(kept.ask(*asked, "--json")) == {
        ("free", "now"): ("eligible", "not-eligible", ["car and rules together"], True)
    }
    assert " ".join(kept.ask(*asked).out.split("\n")[1:3]) == (
        "free, now: eligible -> not eligible: because of the car and the rules together (car.toml changed;"
        "   rulesets/2026.toml changed)"
    )


# --- Which rules, builds and proposals ---


def test_a_bulletin_put_beside_the_rules_is_seen(kept):
    kept.write("rulesets/bulletin-1.toml", BULLETIN)
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "now")
    assert answer.status == 1
    assert answer.out.splitlines()[1] == (
        "free, now: eligible -> not eligible: because of the rules (rulesets/bulletin-1.toml new)"
    )


def test_proposals_count_where_asked_for_or_recorded(kept):
    proposal = BULLETIN.replace('"in-force"', '"proposed"')
    kept.write("rulesets/bulletin-1.toml", proposal)
    assert kept.ask("recheck", "car.toml", *ON).status == 0
    answer = kept.ask("recheck", "car.toml", *ON, "--proposed", "--build", "now")
    assert answer.status == 1
    assert "(rulesets/bulletin-1.toml new, proposed bulletins counted)" in " ".join(answer.out.split())
    assert kept.ask("record", "car.toml", *ON, "--proposed").status == 0
    assert kept.ask("recheck", "car.toml", *ON).out.startswith("No change since")


def test_a_record_of_some_builds_is_compared_with_those(club):
    assert club.ask("record", "car.toml", *ON, "--build", "planned").status == 0
    assert club.ask("recheck", "car.toml", *ON).out == f"No change since the record of {TODAY} (4 verdicts).\n"
    answer = club.ask("recheck", "car.toml", *ON, "--build", "now")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == 'There is no build in the record "now". There are: planned.\n'


def test_a_build_that_is_gone_may_be_asked_for(kept):
    text = (kept.folder / "car.toml").read_text(encoding="utf-8")
    kept.write("car.toml", text[: text.index("[[build]]")])
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "spring", "--json")
    assert answer.status == 1
    assert {row["now"] for row in document(answer)["rows"]} == {None}
    assert {tuple(row["because"]) for row in document(answer)["rows"]} == {("car",)}
    answer = kept.ask("recheck", "car.toml", *ON, "--build", "autumn")
    assert (answer.status, answer.err) == (WRONG, 'There is no build "autumn". There are: now, planned, spring.\n')


def test_the_rules_named_for_the_record_are_taken_again(club, ask):
    club.write("other/2026.toml", (club.folder / "rulesets/2026.toml").read_text(encoding="utf-8"))
    assert ask("record", "car.toml", "--rules", "other", *ON).status == 0
    replace(club, "rulesets/2026.toml", '"882 kg"', '"870 kg"')
    assert ask("recheck", "car.toml", *ON).out.startswith("No change since")
    answer = ask("recheck", "car.toml", *ON, "--rules", "rulesets/2026.toml", "--build", "now")
    assert (answer.status, answer.out.splitlines()[1]) == (
        0,
        "brink, now: too close -> eligible: because of the rules (rulesets/2026.toml new, other/2026.toml",
    )


def test_rules_from_elsewhere_must_be_named_again(club, ask):
    garage = club.folder / "garage"
    garage.mkdir()
    (club.folder / "car.toml").rename(garage / "car.toml")
    assert ask("record", "garage/car.toml", "--rules", "rulesets", *ON).status == 0
    answer = ask("recheck", "garage/car.toml", *ON)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == (
        "The record's rules are not in the car's folder but at ../rulesets: name them, --rules PATH.\n"
    )
    assert ask("recheck", "garage/car.toml", *ON, "--rules", "rulesets").out.startswith("No change since")


def test_rules_found_by_themselves_are_found_so_again(club, ask):
    garage = club.folder / "garage"
    garage.mkdir()
    (club.folder / "car.toml").rename(garage / "car.toml")
    assert ask("record", "garage/car.toml", *ON).status == 0
    assert ask("recheck", "garage/car.toml", *ON).out.startswith("No change since")


def test_rules_beside_the_car_are_found_from_anywhere(kept, ask, monkeypatch, tmp_path_factory):
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert ask("recheck", str(kept.folder / "car.toml"), *ON).out.startswith("No change since")


# --- What is wrong ---


def test_without_a_record(club):
    answer = club.ask("recheck", "car.toml")
    assert answer == (WRONG, "", "There is no record at car.record.json yet: tarebook record makes one.\n")


@pytest.mark.parametrize(
    ("content", "why"),
    [
        ('{"format": "tarebook-record/1"}', "tool_version is missing."),
        ('{"format": NaN}', "NaN is no number."),
        ("[" * 100_000, "it is beyond what is read of JSON."),
    ],
)
def test_a_record_that_cannot_be_used(kept, content, why):
    kept.write("car.record.json", content)
    answer = kept.ask("recheck", "car.toml", *ON)
    assert answer == (WRONG, "", f"car.record.json is not a record that can be used: {why}\n")


def test_a_broken_car_is_not_judged(kept):
    kept.write("car.toml", "format =")
    answer = kept.ask("recheck", "car.toml", *ON)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith("car.toml:1:")


def test_what_a_record_says_cannot_act_on_the_terminal(kept):
    def hostile(data):
        fault = {"clause": "\x1b]0;x\x07", "form": "ban", "part": None, "kind": None, "does": None}
        data["rows"][0]["violations"] = [fault | {"sentence": "\x1b[2Jgone\n\u202e!"}]
        data["rows"][0]["facts_to_find"] = ["\x9b31m"]

    edit(kept, hostile)
    answer = kept.ask("recheck", "car.toml", *ON)
    assert answer.status == 0
    assert not set(answer.out) & set("\x1b\x07\x9b\u202e")
    assert "\\x1b[2Jgone\\n\\u202e!" in answer.out
    assert "no longer to find out: \\x9b31m" in answer.out


def test_a_check_loads_nothing_of_records(club):
    code = (
        "import sys; from tarebook.cli.app import run; run(['check', 'car.toml', '--on', '2026-11-25']); "
        "print(*[name for name in sys.modules if name.startswith(('tarebook.records', 'tarebook.show.recheck'))])"
    )
    answer = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2] / "src")},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert "Wren (car.toml)" in answer.stdout
    assert answer.stdout.splitlines()[-1] == ""
