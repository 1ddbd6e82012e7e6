"""A rule set's own examples: every key, what passes, what fails and how that is told, and what is refused on reading.

Every car, club and class here is invented.
"""

import os
from pathlib import Path

import pytest

from mistakes.files import Spoiled, mistakes_of, unmarked
from support import book, rules, toml
from tarebook.proofread.examples import ExampleResult, run_examples
from tarebook.rules.reading import RuleSet, load_rules, parse_rules

CLASS = """\
clause = "7"
[class.weight]
clause = "7.1"
driver = "out"
minimum = { by = "displacement", over_up_to = [["0 cm3", "1400 cm3", "800 kg"], ["1400 cm3", "900 kg"]] }
adjust = [{ add = "10 kg", if = { doors = 5 } }]
[[class.limit]]
clause = "7.1.2"
driver = "aboard"
minimum = "870 kg"
if = { open_top = true }
[[class.enter]]
clause = "7.2"
must = { seats = { least = 4 } }
[[class.ban]]
clause = "7.4"
kinds = ["interior.dash"]
does = "anything"
[[class.allow]]
clause = "7.5"
kinds = ["interior.floor"]
does = ["remove"]
finish = ["bare"]
[[class.finish]]
id = "bare"
clause = "7.6"
area = "interior.floor.carpet"
by = ["painted"]
[[class.allow]]
clause = "7.7"
kinds = ["body.bonnet"]
does = ["lighten", "move"]
part = { share_removed = { most = 0.2 } }
only = true
[[class.allow]]
clause = "7.8"
kinds = ["interior.seat.front.driver"]
does = ["swap"]
ask = "Is it a proper seat?"
[[class.need]]
clause = "7.9"
kinds = ["safety.cage"]
if = { open_top = true }
[[class.strip]]
clause = "7.10"
kinds = ["stowage.loose"]
if = { removed = "interior.floor" }
[[class.ask]]
clause = "7.11"
says = "The car looks tidy."
[[class.require]]
clause = "7.12"
must = { racing_list = "green" }
if = { doors = 5 }
[[class.require]]
clause = "7.13"
must = { first_registered = { age = { over = 20 } } }
if = { soft_top = true }
"""
FACTS = """\
[[fact]]
id = "racing_list"
type = "choice"
choices = ["green", "amber"]
title = "Which list"
[[fact]]
id = "soft_top"
type = "yes-no"
title = "Soft top"
default = false
"""
SOUND = {"displacement": "1400 cm3", "seats": 4, "open_top": False, "doors": 3}


def example(**keys: object) -> str:
    """An example of the class "club": the facts of a sound car and its mass, unless other keys are given."""
    whole: dict[str, object] = {"title": "Case", "class": "club", "facts": SOUND, "mass": "850 kg"} | keys
    lines = [f"{key} = {toml(value)}" for key, value in whole.items() if value is not None]
    return "\n".join(["[[example]]", *lines, ""])


def run(*examples: str) -> list[ExampleResult]:
    return run_examples(rules(CLASS, before=FACTS, after="\n".join(examples)))


def told(**keys: object) -> str:
    """What came out instead of what one example expects; "" if it passed."""
    (result,) = run(example(**keys))
    assert result.passed is (result.sentence == "")
    assert result.tried is not None
    return result.sentence


SILENT = "and what this book does not allow it forbids."
CASES = [
    # Verdicts, each with the mass, facts and changes that lead to it.
    ({"expect": "eligible"}, ""),
    ({"mass": "800 kg", "expect": "eligible"}, ""),
    (
        {"mass": "799.9 kg", "expect": "eligible"},
        "Expected eligible, came out not-eligible. Clause 7.1: 799.9 kg is 0.1 kg under the minimum of 800 kg.",
    ),
    (
        {"mass": None, "expect": "eligible"},
        "Expected eligible, came out undecided. Clause 7.1: The minimum cannot be checked: the car was never weighed.",
    ),
    ({"mass": None, "expect": "undecided", "because": ["7.1"]}, ""),
    ({"expect": "not-eligible"}, "Expected not-eligible, came out eligible. Nothing speaks against it."),
    ({"expect": "too-close"}, "Expected too-close, came out eligible. Nothing speaks against it."),
    (
        {"facts": {"displacement": "1400 cm3", "open_top": False, "doors": 3}, "expect": "eligible"},
        "Expected eligible, came out undecided. Clause 7.2: Whether the car may enter by clause 7.2 hangs on seats. "
        "At worst: The car may not enter by clause 7.2. Not known: seats.",
    ),
    # Reasons.
    ({"removed": ["interior.dash"], "expect": "not-eligible", "because": ["7.4"]}, ""),
    ({"removed": ["interior.dash"], "expect": "not-eligible", "because": ["7"]}, ""),
    (
        {"removed": ["interior.dash"], "expect": "not-eligible", "because": ["7.4", "7.6"]},
        "Came out not-eligible, but not because of clause 7.6. Clause 7.4: Dashboard may not be removed.",
    ),
    (
        {"removed": ["interior.dash"], "expect": "not-eligible", "because": ["7.5", "7.6"]},
        "Came out not-eligible, but not because of clause 7.5 and 7.6. Clause 7.4: Dashboard may not be removed.",
    ),
    ({"expect": "eligible", "because": ["7.2"]}, ""),
    (
        {"expect": "eligible", "because": ["7.4"]},
        "Came out eligible, but not because of clause 7.4. Nothing that was found cites it.",
    ),
    ({"swapped": ["wheels.rim"], "expect": "not-eligible", "because": ["1.1"]}, ""),
    # Several findings are told, then counted.
    (
        {
            "removed": ["interior.dash", "interior.floor.carpet"],
            "swapped": ["wheels.rim"],
            "mass": "700 kg",
            "expect": "eligible",
        },
        "Expected eligible, came out not-eligible. Clause 7.4: Dashboard may not be removed. Clause 1.1: No clause "
        f"speaks of swapping wheel rims for another one, {SILENT} Clause 7.1: 700 kg is 100 kg under the minimum of "
        "800 kg. And 2 more.",
    ),
    # The result of one clause.
    ({"removed": ["interior.dash"], "clause": "7.4", "expect": "violation"}, ""),
    (
        {"removed": ["interior.dash"], "clause": "7.4", "expect": "allowed"},
        "Expected clause 7.4 to be allowed, came out violation. Clause 7.4: Dashboard may not be removed.",
    ),
    ({"removed": ["interior.floor.carpet"], "clause": "7.5", "expect": "allowed"}, ""),
    ({"removed": ["interior.floor.carpet"], "clause": "7.6", "expect": "owed"}, ""),
    (
        {
            "removed": ["interior.floor.carpet"],
            "finishes": [{"area": "interior.floor", "by": "painted"}],
            "clause": "7.6",
            "expect": "met",
        },
        "",
    ),
    (
        {
            "removed": ["interior.floor.carpet"],
            "finishes": [{"area": "interior.floor", "by": "covered"}],
            "clause": "7.6",
            "expect": "met",
        },
        "Expected clause 7.6 to be met, came out owed. Clause 7.6: A finish is still owed at interior.floor.carpet "
        "(cabin carpet): painted.",
    ),
    ({"clause": "7.6", "expect": "not-in-play"}, ""),
    (
        {"clause": "7.6", "expect": "owed"},
        "Expected clause 7.6 to be owed, came out not-in-play. Nothing that was found cites it.",
    ),
    ({"clause": "7.11", "expect": "ask"}, ""),
    ({"swapped": ["interior.seat.front.driver"], "clause": "7.8", "expect": "ask"}, ""),
    ({"swapped": ["interior.seat.front.driver"], "expect": "eligible"}, ""),
    ({"clause": "7.2", "expect": "met"}, ""),
    ({"facts": SOUND | {"seats": 2}, "clause": "7.2", "expect": "violation"}, ""),
    ({"facts": {}, "clause": "7.2", "expect": "undecided"}, ""),
    ({"clause": "7.1", "expect": "met"}, ""),
    # A clause above several: the most urgent of their results.
    ({"removed": ["interior.dash"], "clause": "7", "expect": "violation"}, ""),
    # What was done to the car: a part that says nothing of itself.
    ({"lightened": ["body.bonnet"], "clause": "7.7", "expect": "undecided"}, ""),
    ({"moved": ["body.bonnet"], "clause": "7.7", "expect": "allowed"}, ""),  # nothing was taken off it
    ({"lightened": ["body.bonnet"], "moved": ["body.bonnet"], "clause": "7.7", "expect": "undecided"}, ""),
    ({"moved": ["electrical.battery"], "clause": "1.1", "expect": "violation"}, ""),
    ({"fitted": ["ballast"], "clause": "1.1", "expect": "violation"}, ""),
    ({"facts": SOUND | {"open_top": True}, "clause": "7.9", "expect": "violation"}, ""),
    ({"facts": SOUND | {"open_top": True}, "fitted": ["safety.cage"], "clause": "7.9", "expect": "met"}, ""),
    ({"facts": SOUND | {"open_top": True}, "fitted": ["safety.cage"], "clause": "7.9", "expect": "allowed"}, ""),
    (
        {"facts": SOUND | {"open_top": True}, "fitted": ["safety.cage"], "clause": "7.9", "expect": "ask"},
        "Expected clause 7.9 to be ask, came out allowed and met. Clause 7.9: Roll cage may be fitted. "
        "Clause 7.9: On the car, as it must be: roll cage.",
    ),
    ({"facts": SOUND | {"open_top": True}, "present": ["safety.cage"], "clause": "7.9", "expect": "met"}, ""),
    # The mass is as `weight` weighs the car: a limit that weighs otherwise is open.
    ({"facts": SOUND | {"open_top": True}, "mass": "900 kg", "clause": "7.1.2", "expect": "undecided"}, ""),
    ({"facts": SOUND | {"doors": 5, "racing_list": "green"}, "mass": "810 kg", "expect": "eligible"}, ""),
    # A fact of the book's own.
    ({"facts": SOUND | {"doors": 5, "racing_list": "amber"}, "clause": "7.12", "expect": "violation"}, ""),
]


@pytest.mark.parametrize(("keys", "sentence"), CASES)
def test_an_example_passes_or_says_what_came_out_instead(keys: dict[str, object], sentence: str) -> None:
    assert told(**keys) == sentence


def test_a_reason_is_a_finding_that_speaks_against_the_car() -> None:
    sentence = told(removed=["interior.dash"], expect="not-eligible", because=["7.2"])
    assert sentence.startswith("Came out not-eligible, but not because of clause 7.2. ")


def test_kinds_that_a_car_lacks() -> None:
    present = example(removed=["interior.floor.carpet"], present=["stowage.loose"], clause="7.10", expect="violation")
    absent = example(removed=["interior.floor.carpet"], absent=["stowage.loose"], clause="7.10", expect="met")
    assert [each.sentence for each in run(present, absent)] == ["", ""]


def test_the_day_is_the_first_of_the_edition_unless_one_is_stated() -> None:
    old = "first_registered = 2007-01-01, seats = 4, soft_top = true"
    day = "[[example]]\ntitle = 'A'\nclass = 'club'\nfacts = {" + old + "}\nclause = '7.13'\n"
    first, later = run(day + "expect = 'violation'", day + "expect = 'met'\non = 2028-01-01")
    assert (first.sentence, later.sentence) == ("", "")
    (early,) = run(day + "expect = 'met'\non = 2027-12-31")
    assert early.sentence == (
        "Expected clause 7.13 to be met, came out violation. Clause 7.13: The car is not as it must be by clause 7.13."
    )


def test_the_model_year_is_a_fact_like_others() -> None:
    held = rules(
        '[[class.enter]]\nclause = "2"\nmust = { model_year = { least = 1990 } }',
        after=example(facts={"model_year": 1990}, mass=None, expect="eligible")
        + example(facts={"model_year": 1989}, mass=None, expect="not-eligible"),
    )
    assert [each.sentence for each in run_examples(held)] == ["", ""]


def test_kinds_and_units_are_those_of_the_book() -> None:
    held = book(
        """
[units]
mass = "lb"
[[kind]]
id = "interior.dash.clock"
title = "Dash clock"
from_factory = "sometimes"
[[class]]
id = "club"
title = "Club"
[class.weight]
clause = "3"
driver = "out"
minimum = 1000
[[class.allow]]
clause = "4"
kinds = ["interior.dash.clock"]
does = ["remove"]
"""
        + example(facts={}, mass=1000, removed=["interior.dash.clock"], expect="eligible", because=["4"])
        + example(facts={}, mass="1000 kg", expect="eligible")
        + example(facts={}, mass=999, expect="eligible")
    )
    assert [each.sentence for each in run_examples(held)] == [
        "",
        "",
        "Expected eligible, came out not-eligible. Clause 3: 999 lb is 1 lb under the minimum of 1000 lb.",
    ]


def test_each_example_has_its_place_and_order() -> None:
    first, second = run(example(title="One", expect="eligible"), "  " + example(title="Two", expect="too-close"))
    assert (first.title, first.passed, second.title, second.passed) == ("One", True, "Two", False)
    assert (first.file, second.file) == ("rules", "rules")
    assert second.line == first.line + 7
    assert (first.column, second.column) == (1, 3)


def test_a_book_without_examples() -> None:
    assert run() == []


# --- Car files beside the rule set

CAR = """\
format = "tarebook-car/1"
[car]
name = "Siskin"
[facts]
displacement = "1300 cm3"
seats = 4
open_top = false
doors = 3
[at_inspection]
fuel = "5 L"
[[weighing]]
id = "spring"
date = 2026-04-01
total = "850.0 kg"
fuel = "5 L"
[[part]]
id = "dash"
kind = "interior.dash"
mass = "9 kg"
[[job]]
id = "bare-dash"
state = "planned"
off = ["dash"]
"""
HEAD = """\
format = "tarebook-rules/1"
[book]
id = "siskin-club"
title = "Siskin Club"
edition = "2027"
clause = "1.1"
in_force = { from = 2027-01-01 }
silence = "forbids"
"""


def with_car(folder: Path, car: str, **keys: object) -> str:
    """What the one example of a rule set in a folder says, its car a file."""
    held = example(facts=None, mass=None, car=car, **keys)
    text = HEAD + FACTS + '[[class]]\nid = "club"\ntitle = "Club"\n' + CLASS + held
    (folder / "book.toml").write_text(text, encoding="utf-8")
    (loaded,) = load_rules(folder / "book.toml")
    (result,) = run_examples(loaded)
    assert result.passed is (result.sentence == "")
    return result.sentence


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder for a rule set, with the car beside it and in a folder of its own, and a car outside."""
    inner = tmp_path / "rules"
    (inner / "cars").mkdir(parents=True)
    for place in (inner / "siskin.toml", inner / "cars" / "siskin.toml", tmp_path / "outside.toml"):
        place.write_text(CAR, encoding="utf-8")
    return inner


def test_a_car_file_with_its_builds(folder: Path) -> None:
    assert with_car(folder, "siskin.toml", expect="eligible") == ""
    assert with_car(folder, "cars/siskin.toml", build="now", expect="eligible") == ""
    assert with_car(folder, "siskin.toml", build="planned", expect="not-eligible", because=["7.4"]) == ""
    assert with_car(folder, "siskin.toml", build="planned", expect="eligible") == (
        "Expected eligible, came out not-eligible. Clause 7.4: dash may not be removed."
    )
    assert with_car(folder, "siskin.toml", build="winter", expect="eligible") == (
        'It cannot be run: siskin.toml has no build "winter": there are now, planned.'
    )


def test_a_car_file_that_is_missing_or_no_car(folder: Path) -> None:
    missing = 'It cannot be run: there is no car file "heron.toml" beside the rule set.'
    assert with_car(folder, "heron.toml", expect="eligible") == missing
    (folder / "heron.toml").mkdir()
    place = folder / "heron.toml"
    assert with_car(folder, "heron.toml", expect="eligible") == (
        f"It cannot be run: {place}:1: this is a folder, not a file."
    )
    place.rmdir()
    place.write_text(CAR.replace("seats = 4", 'seats = "four"\ncolour = "red"'), encoding="utf-8")
    assert with_car(folder, "heron.toml", expect="eligible") == (
        f"It cannot be run: {place}:6: seats is a plain number, without quotes and unit."
    )
    place.write_text(CAR.replace("seats = 4", 'seats = "four"\ndoors = "three"').replace("\ndoors = 3", ""))
    assert with_car(folder, "heron.toml", expect="eligible") == (
        f"It cannot be run: {place}:6: seats is a plain number, without quotes and unit (and 1 more like it)."
    )
    place.write_text(CAR.replace("seats = 4", 'seats = 4\ncolour = "red"'), encoding="utf-8")
    assert with_car(folder, "heron.toml", expect="eligible") == (
        f'It cannot be run: {place}:7: there is no fact "colour".'
    )
    place.write_text("[car\n", encoding="utf-8")
    assert with_car(folder, "heron.toml", expect="eligible").startswith(f"It cannot be run: {place}:1: ")


def test_links_do_not_lead_out_of_the_folder(folder: Path) -> None:
    out = '"link.toml" leads out of the folder of the rule set, and is not read'
    (folder / "link.toml").symlink_to(folder.parent / "outside.toml")
    assert with_car(folder, "link.toml", expect="eligible") == f"It cannot be run: {out}."
    (folder / "away").symlink_to(folder.parent)
    assert with_car(folder, "away/outside.toml", expect="eligible") == (
        f"It cannot be run: {out.replace('link.toml', 'away/outside.toml')}."
    )
    (folder / "within.toml").symlink_to(folder / "siskin.toml")
    assert with_car(folder, "within.toml", expect="eligible") == ""
    (folder / "round.toml").symlink_to(folder / "round.toml")
    assert with_car(folder, "round.toml", expect="eligible") == (
        'It cannot be run: there is no car file "round.toml" beside the rule set.'
    )


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(folder: Path) -> None:
    os.mkfifo(folder / "pipe.toml")
    assert with_car(folder, "pipe.toml", expect="eligible") == (
        f"It cannot be run: {folder / 'pipe.toml'}:1: this is not a regular file but a pipe or a device."
    )


# --- What is refused on reading


def spoiled(marked: str) -> Spoiled:
    """A sound rule set with one more example, «these marks» round what is complained of."""
    text = HEAD + FACTS + '[[class]]\nid = "club"\ntitle = "Club"\n' + CLASS
    return unmarked(text + '[[example]]\ntitle = "Case"\n' + marked)


BESIDE = "the car file of an example stands beside the rule set: "
NAME_IT = 'write its name within the folder of the rule set, such as car = "heron.toml"'
KNOWN = 'class = "club"\nexpect = "eligible"\n'
DATES = "in_force = { from = 2027-01-01 }"
REFUSED = [
    ('class = «"klub"»\nexpect = "eligible"', 'there is no class "klub"', 'did you mean "club"?'),
    (KNOWN + 'removed = [«"interior.dahs"»]', 'there is no kind "interior.dahs"', None),
    (KNOWN + 'absent = [«"everything"»]', '"everything" is the root of the tree: name a kind under it', ""),
    (KNOWN + 'fitted = ["ballast", «"ballast"»]', '"ballast" is listed twice', ""),
    (
        KNOWN + 'removed = ["wheels.rim"]\nswapped = [«"wheels.rim"»]',
        '"wheels.rim" is both removed and swapped: say what became of it in the end',
        "",
    ),
    (
        KNOWN + 'swapped = ["wheels.rim"]\nmoved = [«"wheels.rim"»]',
        '"wheels.rim" is both swapped and moved: say what became of it in the end',
        "",
    ),
    (
        KNOWN + 'present = ["safety.cage"]\nabsent = [«"safety.cage"»]',
        '"safety.cage" is both present and absent',
        "",
    ),
    (KNOWN + "facts = { «seets» = 4 }", 'there is no fact "seets"', 'did you mean "seats"?'),
    (KNOWN + 'facts = { seats = «"four"» }', "seats is a plain number, without quotes and unit", ""),
    (KNOWN + 'facts = { racing_list = «"red"» }', 'racing_list is one of "green", "amber"', ""),
    (KNOWN + 'finishes = [{ area = «"interior.flor"», by = "painted" }]', 'there is no kind "interior.flor"', None),
    (
        KNOWN + 'finishes = [{ area = "interior.floor", by = «"waxed"» }]',
        'one of "painted", "covered", "sealed", "capped", "welded" is expected',
        "",
    ),
    (KNOWN + "on = «2026-12-31»", "this edition is not in force on that day", ""),
    (KNOWN + "because = [«7.4»]", None, None),
    (KNOWN + 'because = ["7.4", «"9.9"»]', 'there is no clause "9.9"', None),
    (KNOWN + '«build» = "planned"', "a build is one of a car file, and no car is named", ""),
    (
        KNOWN + 'car = "heron.toml"\n«removed» = ["wheels.rim"]',
        '"removed" does not go with car: the car file says it',
        "",
    ),
    (KNOWN + 'car = "heron.toml"\n«mass» = "900 kg"', '"mass" does not go with car: the car file says it', ""),
    (KNOWN + 'car = "heron.toml"\n«facts» = {}', '"facts" does not go with car: the car file says it', ""),
    (
        'class = "club"\nclause = "7.4"\nexpect = «"eligible"»',
        '"eligible" is a verdict, and a clause has a result',
        "results are violation, owed, allowed, met, ask, undecided, too-close, not-in-play",
    ),
    (
        'class = "club"\nexpect = «"violation"»',
        '"violation" is the result of a clause, and none is named',
        'add clause = "...", or expect a verdict: eligible, not-eligible, too-close, undecided',
    ),
    ('class = "club"\nclause = «"9.9"»\nexpect = "met"', 'there is no clause "9.9"', None),
    (
        'class = "club"\nclause = "7.4"\nexpect = "met"\n«because» = ["7.4"]',
        "because goes with a verdict, not with a clause of its own",
        "",
    ),
    ('class = "club"\nexpect = «"legal"»', None, None),
    (KNOWN + '«remove» = ["wheels.rim"]', 'unknown key "remove" in [[example]]', None),
    (KNOWN + "mass = «true»", None, None),
    (KNOWN + 'car = «""»', BESIDE + "this is not the name of a file", NAME_IT),
    (KNOWN + 'car = «"/etc/passwd"»', BESIDE + "its name does not begin at the root of the disk", NAME_IT),
    (KNOWN + 'car = «"../heron.toml"»', BESIDE + "its name does not lead out of the folder", NAME_IT),
    (KNOWN + 'car = «"cars/../../heron.toml"»', BESIDE + "its name does not lead out of the folder", NAME_IT),
    (
        KNOWN + 'car = «"C:/heron.toml"»',
        BESIDE + "its name has no backslash and no colon, and it is no address",
        NAME_IT,
    ),
    (
        KNOWN + "car = «'cars\\heron.toml'»",
        BESIDE + "its name has no backslash and no colon, and it is no address",
        NAME_IT,
    ),
    (
        KNOWN + 'car = «"https://example.invalid/heron.toml"»',
        BESIDE + "its name has no backslash and no colon, and it is no address",
        NAME_IT,
    ),
    (KNOWN + 'car = «"heron.toml\\u0000.txt"»', BESIDE + "this is not the name of a file", NAME_IT),
    (KNOWN + 'car = «"heron\\u001b[2J.toml"»', BESIDE + "this is not the name of a file", NAME_IT),
]


@pytest.mark.parametrize(("marked", "message", "hint"), REFUSED)
def test_what_an_example_may_not_say(marked: str, message: str | None, hint: str | None) -> None:
    file = spoiled(marked)
    (found,) = mistakes_of(lambda: parse_rules(file.text))
    assert found[:3] == file.places[0]
    if message is not None:
        assert found[3] == message
    if hint is not None:
        assert found[4] == hint


def test_all_mistakes_of_examples_come_at_once() -> None:
    file = spoiled(
        'class = «"klub"»\nexpect = «"met"»\nfacts = { «seets» = 4 }\nremoved = [«"wheels.rims"»]\n'
        '[[example]]\ntitle = "Other"\nclass = "club"\nexpect = "eligible"\ncar = «"/heron.toml"»\n'
    )
    found = mistakes_of(lambda: parse_rules(file.text))
    assert [each[:3] for each in found] == file.places


def test_a_title_is_asked_for() -> None:
    with_none = HEAD + '[[class]]\nid = "club"\ntitle = "Club"\n[[example]]\nclass = "club"\nexpect = "eligible"\n'
    ((line, _, _, message, _),) = mistakes_of(lambda: parse_rules(with_none))
    assert (line, message) == (12, 'the key "title" is missing in [[example]]')


def test_an_example_of_a_clause_that_a_bulletin_withdraws(tmp_path: Path) -> None:
    """The book still reads, and the clause is out of play."""
    (tmp_path / "book.toml").write_text(
        HEAD
        + '[[class]]\nid = "club"\ntitle = "Club"\n[[class.ban]]\nclause = "7.4"\nkinds = ["interior.dash"]\n'
        + 'does = "anything"\n'
        + example(facts={}, mass=None, removed=["interior.dash"], clause="7.4", expect="violation"),
        encoding="utf-8",
    )
    (tmp_path / "bulletin.toml").write_text(
        'format = "tarebook-bulletin/1"\namends = "siskin-club"\nedition = "2027"\nnumber = "1"\n'
        'status = "in-force"\nin_force = { from = 2027-03-01 }\n[[amend]]\nclause = "7.4"\nwithdraw = true\n',
        encoding="utf-8",
    )
    (printed,) = load_rules(tmp_path)
    amended: RuleSet = printed.amended(printed.file.book.in_force.from_.replace(month=6))
    assert [each.sentence for each in run_examples(printed)] == [""]
    assert [each.sentence for each in run_examples(amended)] == [
        "Expected clause 7.4 to be violation, came out not-in-play. Nothing that was found cites it."
    ]
