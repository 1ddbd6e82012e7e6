"""`check`: the matrix, the exit status, which builds, classes, days and rule files it takes."""

import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from tarebook.cli.status import ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG

SCREEN = """\
Wren (car.toml), judged on 2026-11-25

         now                        planned                    spring
Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml)
  free   eligible     +82.0 kg      eligible     +80.4 kg      not eligible +78.0 kg
  heavy  not eligible -68.0 kg   1? not eligible -69.6 kg   1? not eligible -72.0 kg   1?
  brink  too close    +0.0 kg       not eligible -1.6 kg       not eligible -4.0 kg
  sheet  undecided    +82.0 kg      undecided    +80.4 kg      not eligible +78.0 kg

free: Free
  now, planned: eligible
  spring: not eligible
    against    1.1     No clause speaks of removing centre console, and what this book does not
                       allow it forbids. (spring) [rulesets/2026.toml:8]

heavy: Heavy
  now, planned, spring: not eligible
    against    4.2     Spare wheel may not be removed. "The spare wheel stays." (now, planned,
                       spring) [rulesets/2026.toml:31]
    against    4.1     882 kg is 68 kg under the minimum of 950 kg. (now) [rulesets/2026.toml:30]
    against    4.1     880.4 kg is 69.6 kg under the minimum of 950 kg. (planned)
                       [rulesets/2026.toml:30]
    against    1.1     No clause speaks of removing centre console, and what this book does not
                       allow it forbids. (spring) [rulesets/2026.toml:8]
    against    4.1     878 kg is 72 kg under the minimum of 950 kg. (spring) [rulesets/2026.toml:30]
    a person judges clause 4.9

brink: Brink
  now: too close
  planned, spring: not eligible
    against    5.1     880.4 kg is 1.6 kg under the minimum of 882 kg. (planned)
                       [rulesets/2026.toml:45]
    against    1.1     No clause speaks of removing centre console, and what this book does not
                       allow it forbids. (spring) [rulesets/2026.toml:8]
    against    5.1     878 kg is 4 kg under the minimum of 882 kg. (spring) [rulesets/2026.toml:45]
    too close  5.1     882 kg is 0 kg over the minimum of 882 kg: too close to call, as the mass is
                       uncertain by 0.5 kg. (now) [rulesets/2026.toml:45]

sheet: Sheet
  now, planned: undecided; find out: seats
  spring: not eligible
    against    1.1     No clause speaks of removing centre console, and what this book does not
                       allow it forbids. (spring) [rulesets/2026.toml:8]
    undecided  6.2     Whether the car is as it must be by clause 6.2 hangs on seats. At worst: The
                       car is not as it must be by clause 6.2. "Four seats." (now, planned, spring)
                       [rulesets/2026.toml:53]

Your goal is 850.0 kg without driver: now 32.0 kg over, planned 30.4 kg over, spring 28.0 kg over.
2? means that a person still judges 2 clauses; --full prints them, and all that is in order.
This is a preparation. The official at the event decides, by the club's own book.
"""
FULL = """\
Wren (car.toml), judged on 2026-11-25

         now
Tern Moor Motor Circle, edition 2026 (rulesets/2026.toml)
  free   eligible     +82.0 kg
  heavy  not eligible -68.0 kg   1?

free: Free
  now: eligible
    allowed    2.1     Cabin carpet and spare wheel may be removed. "Carpets and stowage may come
                       out." [rulesets/2026.toml:12]
    met        3.1     882 kg is 82 kg over the minimum of 800 kg. [rulesets/2026.toml:23]

heavy: Heavy
  now: not eligible
    against    4.2     Spare wheel may not be removed. "The spare wheel stays."
                       [rulesets/2026.toml:31]
    against    4.1     882 kg is 68 kg under the minimum of 950 kg. [rulesets/2026.toml:30]
    ask        4.9     A person must judge: The car looks tidy. [rulesets/2026.toml:36]
    allowed    2.1     Cabin carpet may be removed. "Carpets and stowage may come out."
                       [rulesets/2026.toml:12]

Your goal is 850.0 kg without driver: now 32.0 kg over.
2? means that a person still judges 2 clauses; --full prints them, and all that is in order.
This is a preparation. The official at the event decides, by the club's own book.
"""
ROW_KEYS = {"book", "edition", "class", "build", "on", "verdict", "to_ask", "facts_to_find", "limits", "findings"}
LIMIT_KEYS = {
    "clause",
    "which",
    "limit_kg",
    "mass_kg",
    "mass_u_kg",
    "margin_kg",
    "margin_low_kg",
    "margin_high_kg",
    "chance",
    "verdict",
}
FINDING_KEYS = {"result", "clause", "form", "part", "kind", "does", "says", "sentence", "facts", "source"}


def parsed(text):
    """The one document of a text; NaN and infinities are refused, as JSON has none."""

    def refuse(constant):
        raise AssertionError(f"{constant} is not JSON")

    return json.loads(text, parse_constant=refuse)


def verdicts(answer):
    return {(row["class"], row["build"]): row["verdict"] for row in parsed(answer.out)["rows"]}


def test_the_whole_screen(club):
    answer = club.check()
    assert answer.out == SCREEN
    assert (answer.status, answer.err) == (NOT_ELIGIBLE, "")


def test_full_prints_also_what_is_in_order(club):
    answer = club.check("--full", "--class", "heavy", "--class", "free", "--build", "now")
    assert answer.out == FULL


@pytest.mark.parametrize(
    ("classes", "build", "status"),
    [
        (["free"], "now", ELIGIBLE),
        (["heavy"], "now", NOT_ELIGIBLE),
        (["brink"], "now", UNDECIDED),
        (["sheet"], "now", UNDECIDED),
        (["free", "sheet"], "now", UNDECIDED),
        (["free", "brink"], "now", UNDECIDED),
        (["heavy", "sheet"], "now", NOT_ELIGIBLE),
        (["free"], "planned", ELIGIBLE),
        (["free"], "spring", NOT_ELIGIBLE),
    ],
)
def test_status_of_what_was_asked(club, classes, build, status):
    asked = [word for each in classes for word in ("--class", each)]
    answer = club.check(*asked, "--build", build)
    assert answer.status == status
    assert club.check(*asked, "--build", build, "--json").status == status


def test_matrix_shows_only_the_classes_and_builds_asked_for(club):
    answer = club.check("--class", "brink", "-b", "planned", "-b", "now", "--json")
    assert list(verdicts(answer)) == [("brink", "planned"), ("brink", "now")]


def test_the_same_build_or_class_twice_is_asked_once(club):
    once = club.check("--build", "now", "--class", "heavy")
    twice = club.check("--build", "now", "--build", "now", "--class", "heavy", "--class", "heavy")
    assert twice == once


def test_now_and_planned_are_both_there_where_they_are_alike(club):
    car = (club.folder / "car.toml").read_text().replace('state = "planned"', 'state = "maybe"')
    club.write("car.toml", car)
    rows = parsed(club.check("--json", "--class", "free").out)["rows"]
    assert [row["build"] for row in rows] == ["now", "planned", "spring"]
    now, planned, _ = rows
    assert now | {"build": ""} == planned | {"build": ""}
    shown = club.check("--class", "free").out
    assert shown.split("\n")[2].split() == ["now", "planned", "spring"]
    assert shown.split("\n")[4].split() == ["free", *["eligible", "+82.0", "kg"] * 2, "not", "eligible", "+78.0", "kg"]


# ---- days


def test_without_a_day_a_builds_own_date_picks_the_edition(club):
    rows = parsed(club.ask("check", "car.toml", "--build", "spring", "--json").out)["rows"]
    assert {(row["edition"], row["on"]) for row in rows} == {("2027", "2027-04-10")}
    # The console may come out by the 2027 edition only.
    assert {row["class"]: row["verdict"] for row in rows}["free"] == "eligible"


def test_a_day_overrides_a_builds_own_date(club):
    rows = parsed(club.check("--build", "spring", "--json", on="2026-12-31").out)["rows"]
    assert {(row["edition"], row["on"]) for row in rows} == {("2026", "2026-12-31")}


@pytest.mark.parametrize(("day", "edition"), [("2020-01-01", "2026"), ("2026-12-31", "2026"), ("2027-01-01", "2027")])
def test_the_edition_in_force_judges(club, day, edition):
    rows = parsed(club.check("--json", on=day).out)["rows"]
    assert {row["edition"] for row in rows} == {edition}


def test_a_day_that_no_edition_covers(club):
    answer = club.check(on="2019-12-31")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == (
        'book "tern-moor": no edition covers 2019-12-31. There are: edition 2026, 2020-01-01 to 2026-12-31 '
        "(rulesets/2026.toml); edition 2027, 2027-01-01 onward (rulesets/2027.toml).\n"
    )


@pytest.mark.parametrize("day", ["soon", "2026-13-01", "2026-02-30", "10.4.2027", ""])
def test_what_is_no_date(club, day):
    answer = club.check(on=day)
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == f'"{day}" is not a date: write year, month and day, such as 2027-04-10.\n'


def test_a_class_that_the_edition_of_that_day_lacks(club):
    # Nothing would be judged, and nothing judged must not read as eligible.
    answer = club.check("--class", "verge", on="2026-06-01")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == 'No edition in force on 2026-06-01 has a class "verge". Name another day: --on DATE.\n'


@pytest.mark.parametrize("command", [["removals"], ["why"]])
def test_removals_and_why_say_so_too(club, command):
    answer = club.ask(*command, "car.toml", "brink", "--on", "2027-06-01")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == 'No edition in force on 2027-06-01 has a class "brink". Name another day: --on DATE.\n'


# ---- names


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["--class", "hevy"], 'There is no class "hevy". Did you mean "heavy"?'),
        (["--class", "x"], 'There is no class "x". There are: free, heavy, brink, sheet, verge.'),
        (["--build", "sprng"], 'There is no build "sprng". Did you mean "spring"?'),
        (["--build", "x"], 'There is no build "x". There are: now, planned, spring.'),
    ],
)
def test_unknown_names(club, arguments, message):
    answer = club.check(*arguments)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")


# ---- which rules


def test_rules_are_found_beside_the_car(club, monkeypatch):
    elsewhere = club.folder / "elsewhere"
    elsewhere.mkdir()
    monkeypatch.chdir(elsewhere)
    rows = parsed(club.ask("check", "../car.toml", "--on", "2026-06-01", "--json").out)["rows"]
    assert {row["book"] for row in rows} == {"tern-moor"}


def test_rules_are_found_in_the_folder_at_hand(club):
    (club.folder / "cars").mkdir()
    (club.folder / "car.toml").rename(club.folder / "cars" / "wren.toml")
    assert club.ask("check", "cars/wren.toml", "--on", "2026-06-01", "--class", "free", "-b", "now").status == ELIGIBLE


def test_rules_beside_the_car_come_first(club):
    nearer = (club.folder / "rulesets/2026.toml").read_text().replace("tern-moor", "tern-dale")
    club.write("cars/rulesets/own.toml", nearer)
    (club.folder / "car.toml").rename(club.folder / "cars" / "wren.toml")
    rows = parsed(club.ask("check", "cars/wren.toml", "--on", "2026-06-01", "--json").out)["rows"]
    assert {row["book"] for row in rows} == {"tern-dale"}


@pytest.mark.parametrize(
    "rules",
    [
        ["rulesets"],
        ["rulesets/2026.toml", "rulesets/2027.toml"],
        ["rulesets/2027.toml", "rulesets/2026.toml"],
        ["rulesets", "rulesets/2026.toml"],
        ["rulesets/2026.toml", "rulesets/../rulesets/2026.toml", "rulesets/2027.toml"],
        ["rulesets", "rulesets"],
    ],
)
def test_rules_named_in_several_ways_are_each_taken_once(club, rules):
    asked = [word for path in rules for word in ("--rules", path)]
    assert verdicts(club.check("--json", *asked)) == verdicts(club.check("--json"))


def test_a_link_to_a_rule_set_is_the_same_rule_set(club):
    (club.folder / "link.toml").symlink_to(club.folder / "rulesets" / "2026.toml")
    answer = club.check("--json", "--rules", "rulesets", "--rules", "link.toml")
    assert verdicts(answer) == verdicts(club.check("--json"))


def test_two_books_stand_side_by_side(club):
    other = (club.folder / "rulesets/2026.toml").read_text()
    club.write("other.toml", other.replace("tern-moor", "tern-dale").replace("Tern Moor", "Tern Dale"))
    document = parsed(club.check("--json", "--rules", "rulesets", "--rules", "other.toml").out)
    assert [row["book"] for row in document["rows"]] == ["tern-moor"] * 12 + ["tern-dale"] * 12
    assert [book["book"] for book in document["receipt"]["rules"]] == ["tern-moor", "tern-dale"]
    for command in ("removals", "why"):
        answer = club.ask(command, "car.toml", "free", "--on", "2026-06-01", "-r", "rulesets", "-r", "other.toml")
        assert (answer.status, answer.out) == (WRONG, "")
        assert answer.err == ('Several books have a class "free": say "tern-moor/free" or "tern-dale/free".\n')


def test_no_rules_at_hand(club):
    (club.folder / "rulesets").rename(club.folder / "books")
    answer = club.check()
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == "Which rules? Name a rule-set file or a folder of them: --rules PATH.\n"


def test_a_folder_without_rules(club):
    (club.folder / "empty").mkdir()
    answer = club.check("--rules", "empty")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith("empty:1:1: ")
    assert "holds no rule set" in answer.err


# ---- mistakes in files


def test_a_car_that_is_not_there_is_said_even_without_rules(ask):
    answer = ask("check", "nosuch.toml")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith("nosuch.toml:1:1: ")
    assert "no such file" in answer.err


def test_mistakes_of_all_files_come_at_once(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace('state = "planned"', 'state = "someday"').replace("doors = 3", 'dors = "3"'))
    book = (club.folder / "rulesets/2026.toml").read_text()
    club.write("rulesets/2026.toml", book.replace('does = ["remove"]', 'does = ["burn"]', 1))
    answer = club.check()
    assert (answer.status, answer.out) == (WRONG, "")
    places = [line.split(": ")[0] for line in answer.err.split("\n") if line.startswith(("car", "rulesets"))]
    assert places == ["car.toml:48:9", "rulesets/2026.toml:15:9"]
    assert '\n  state = "someday"\n          ^^^^^^^^^\n' in answer.err
    assert '\n  does = ["burn"]\n          ^^^^^^\n' in answer.err


@pytest.mark.parametrize("name", ["car.toml/under", "a" * 300, "a" * 300 + "/car.toml"])
def test_impossible_paths_are_wrong_requests(club, name):
    for arguments in (["check", name], ["check", "car.toml", "--rules", name], ["new", "car", name]):
        answer = club.ask(*arguments)
        assert (answer.status, answer.out) == (WRONG, ""), arguments
        assert name.partition("/")[0] in answer.err


# ---- JSON


def test_json_validates_against_its_own_schema(club):
    schema = parsed(club.ask("schema", "report").out)
    Draft202012Validator.check_schema(schema)
    document = parsed(club.check("--json").out)
    assert list(Draft202012Validator(schema).iter_errors(document)) == []
    assert len(document["rows"]) == 12
    document["rows"][0]["verdict"] = "maybe"
    assert [error.message for error in Draft202012Validator(schema).iter_errors(document)] != []


def test_json_of_the_demo_validates(club):
    club.ask("demo", "demo")
    answer = club.ask("check", "demo/car.toml", "--on", "2026-11-25", "--json")
    schema = parsed(club.ask("schema", "report").out)
    assert list(Draft202012Validator(schema).iter_errors(parsed(answer.out))) == []


def test_json_has_the_keys_of_the_format(club):
    document = parsed(club.check("--json").out)
    assert document["format"] == "tarebook-report/1"
    assert set(document) >= {"format", "receipt", "rows"}
    for row in document["rows"]:
        assert set(row) >= ROW_KEYS
        assert all(set(limit) >= LIMIT_KEYS for limit in row["limits"])
        assert all(set(finding) >= FINDING_KEYS for finding in row["findings"])
        assert all(set(finding["source"]) == {"file", "line"} for finding in row["findings"])
        assert row["limits"] and row["findings"]


def test_json_findings_of_a_row(club):
    (row,) = parsed(club.check("--json", "--class", "heavy", "--build", "now").out)["rows"]
    assert (row["verdict"], row["to_ask"], row["facts_to_find"]) == ("not-eligible", 1, [])
    found = [(each["result"], each["clause"], each["form"], each["part"], each["does"]) for each in row["findings"]]
    assert found == [
        ("violation", "4.2", "ban", "spare-wheel", "remove"),
        ("violation", "4.1", "limit", None, None),
        ("ask", "4.9", "ask", None, None),
        ("allowed", "2.1", "allow", "carpet", "remove"),
    ]
    assert row["findings"][0]["says"] == "The spare wheel stays."
    assert row["findings"][0]["source"] == {"file": "rulesets/2026.toml", "line": 31}
    (sheet,) = parsed(club.check("--json", "--class", "sheet", "--build", "now").out)["rows"]
    assert (sheet["verdict"], sheet["facts_to_find"]) == ("undecided", ["seats"])


def test_json_masses_are_kilograms_whatever_the_car_file_counts_in(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace("[facts]", '[units]\nmass = "lb"\n[facts]'))
    shown = club.check("--class", "heavy", "--build", "now")
    # 68 kg are 149.9 lb, at 0.45359237 kg to the pound (the 1959 agreement).
    assert "not eligible -149.9 lb" in shown.out
    (row,) = parsed(club.check("--json", "--class", "heavy", "--build", "now").out)["rows"]
    (limit,) = row["limits"]
    assert limit["limit_kg"] == 950.0
    assert limit["mass_kg"] == pytest.approx(882.0, abs=1e-9)
    assert limit["margin_kg"] == pytest.approx(-68.0, abs=1e-9)
    assert limit["margin_low_kg"] < limit["margin_kg"] < limit["margin_high_kg"]
    assert limit["chance"] == pytest.approx(0.0, abs=1e-6)


def test_json_says_null_where_a_mass_cannot_be_computed(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace('mass = "4.00 kg"\n', ""))
    (row,) = parsed(club.check("--json", "--class", "free", "--build", "now").out)["rows"]
    (limit,) = row["limits"]
    assert row["verdict"] == "undecided"
    assert {limit[key] for key in ("mass_kg", "margin_kg", "margin_low_kg", "margin_high_kg", "chance")} == {None}
    assert [finding["result"] for finding in row["findings"] if finding["form"] == "limit"] == ["undecided"]
    assert '"carpet" was never weighed' in next(each["sentence"] for each in row["findings"] if each["form"] == "limit")


def test_json_receipt_names_what_it_was_made_from(club):
    from hashlib import sha256

    from tarebook import __version__

    receipt = parsed(club.check("--json").out)["receipt"]
    digest = {name: sha256(Path(name).read_bytes()).hexdigest() for name in ("car.toml", "rulesets/2026.toml")}
    assert receipt["tool_version"] == __version__
    assert receipt["on"] == ["2026-11-25"]
    assert receipt["car"] == {"name": "Wren", "file": "car.toml", "sha256": digest["car.toml"]}
    (book,) = receipt["rules"]
    assert (book["edition"], book["file"], book["sha256"]) == (
        "2026",
        "rulesets/2026.toml",
        digest["rulesets/2026.toml"],
    )


def test_the_same_question_twice_gives_the_same_bytes(club):
    assert club.check("--json") == club.check("--json")
    assert club.check() == club.check()


def test_the_confidence_that_eligible_asks_for(club):
    def brink(*options):
        return verdicts(club.check("--class", "brink", "--build", "now", "--json", *options))[("brink", "now")]

    assert (brink(), brink("--confidence", "97.5%"), brink("--confidence", "0.5")) == (
        "too-close",
        "too-close",
        "eligible",
    )
    wrong = club.check("--confidence", "120%")
    assert (wrong.status, wrong.out) == (WRONG, "")
    assert wrong.err.startswith('"120%" is no such chance: ')
