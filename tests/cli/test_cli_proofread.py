"""`proofread`: the screen, the JSON document, the exit status, what it reads and what it leaves out.

Every car, club and class here is invented.
"""

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tarebook.cli.status import WRONG

Ask = Callable[..., Any]  # the exit status, standard output and standard error
SOUND, FLAWED = 0, 1

HEAD = """\
format = "tarebook-rules/1"
[book]
id = "tern-moor"
title = "Tern Moor Motor Circle"
edition = "2027"
clause = "1.1"
in_force = { from = 2027-01-01, until = 2027-12-31 }
silence = "forbids"
"""
CLASS = """\
[[class]]
id = "club"
title = "Club"
[[class.enter]]
clause = "3.1"
must = { seats = { least = 4 } }
[[class.ban]]
clause = "3.2"
kinds = ["interior.dash"]
does = ["remove"]
[[class.allow]]
clause = "3.3"
kinds = ["interior.floor"]
does = ["remove"]
despite = ["3.2"]
"""
CARPET = """\
[[example]]
title = "A carpet out"
class = "club"
facts = { seats = 4 }
removed = ["interior.floor.carpet"]
expect = "eligible"
because = ["3.3"]
"""
DASH = """\
[[example]]
title = "The dash out"
class = "club"
facts = { seats = 4 }
removed = ["interior.dash"]
expect = "not-eligible"
because = ["3.2"]
"""
RIM = """\
[[example]]
title = "Other rims"
class = "club"
facts = { seats = 4 }
swapped = ["wheels.rim"]
clause = "1.1"
expect = "violation"
"""
WHOLE = HEAD + CLASS + CARPET + DASH + RIM
TERN = "Tern Moor Motor Circle, edition 2027"


@pytest.fixture
def write(tmp_path: Path) -> Callable[[str, str], str]:
    def put(name: str, text: str) -> str:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return name

    return put


Write = Callable[[str, str], str]


def document(ask: Ask, *arguments: str, status: int) -> dict[str, Any]:
    answer = ask("proofread", *arguments, "--json")
    assert (answer.status, answer.err) == (status, "")
    found: dict[str, Any] = json.loads(answer.out)
    return found


def test_a_sound_book(ask: Ask, write: Write) -> None:
    assert ask("proofread", write("book.toml", WHOLE)) == (
        SOUND,
        f"{TERN} (book.toml)\n"
        "  No mistakes.\n"
        "  3 examples run, none failed.\n"
        "  The examples exercise 4 of 4 rules, bands and cases (100.0 %).\n",
        "",
    )


def test_a_sound_book_as_a_document(ask: Ask, write: Write) -> None:
    found = document(ask, write("book.toml", WHOLE), status=SOUND)
    alone = {
        "mistakes": [],
        "examples": {"run": 3, "failed": 0},
        "not_run": 0,
        "failures": [],
        "coverage": {"exercised": 4, "total": 4, "percent": 100.0},
        "unexercised": [],
    }
    which = {"book": "tern-moor", "edition": "2027", "bulletins": [], "file": "book.toml", "left_out": 0}
    assert found == {"format": "tarebook-proofread/1", **alone, "editions": [which | alone]}


FLAWS = (
    HEAD
    + CLASS.replace('clause = "3.2"\nkinds = ["interior.dash"]', 'clause = "3.2"\nkinds = ["interior.dashh"]')
    + CARPET.replace("seats = 4", "seats = 2")
)


def test_mistakes_failures_and_what_no_example_exercises(ask: Ask, write: Write) -> None:
    assert ask("proofread", write("book.toml", FLAWS)) == (
        FLAWED,
        f"{TERN} (book.toml)\n"
        '  3.2     There is no kind "interior.dashh". Did you mean "interior.dash" or "interior.dash-beam"?\n'
        "          [book.toml:17]\n"
        "  The entry with a mistake was left out of what follows; an example may fail for want of it.\n"
        "  1 example run, 1 failed.\n"
        '  failed  "A carpet out": Expected eligible, came out not-eligible. Clause 3.1: The car may not\n'
        "          enter by clause 3.1. [book.toml:24]\n"
        "  The examples exercise 2 of 3 rules, bands and cases (66.6 %).\n"
        "  No example exercises\n"
        "  1.1     what silence means [book.toml:8]\n",
        "",
    )


def test_the_same_as_a_document(ask: Ask, write: Write) -> None:
    found = document(ask, write("book.toml", FLAWS), status=FLAWED)
    assert found["mistakes"] == [
        {
            "what": "unknown-kind",
            "clause": "3.2",
            "sentence": 'There is no kind "interior.dashh". Did you mean "interior.dash" or "interior.dash-beam"?',
            "beaten_by": None,
            "source": {"file": "book.toml", "line": 17, "column": 10},
        }
    ]
    assert found["examples"] == {"run": 1, "failed": 1}
    assert found["failures"] == [
        {
            "title": "A carpet out",
            "sentence": "Expected eligible, came out not-eligible. Clause 3.1: The car may not enter by clause 3.1.",
            "holds_as_printed": False,
            "source": {"file": "book.toml", "line": 24, "column": 1},
        }
    ]
    assert found["unexercised"] == ["1.1"]
    assert found["coverage"] == {"exercised": 2, "total": 3, "percent": 66.6}
    assert found["editions"][0]["left_out"] == 1


def test_a_book_without_examples(ask: Ask, write: Write) -> None:
    assert ask("proofread", write("book.toml", HEAD + CLASS)) == (
        SOUND,
        f"{TERN} (book.toml)\n"
        "  No mistakes.\n"
        "  It has no examples of its own: [[example]] would show that its rules decide as meant.\n"
        "  The examples exercise 0 of 4 rules, bands and cases (0.0 %).\n",
        "",
    )
    found = document(ask, "book.toml", status=SOUND)
    assert (found["examples"], found["unexercised"]) == ({"run": 0, "failed": 0}, ["1.1", "3.1", "3.2", "3.3"])


def test_a_mistake_of_sense_alone(ask: Ask, write: Write) -> None:
    unused = '[[group]]\nid = "cabin"\n[[group.need]]\nclause = "2.1"\nkinds = ["interior.dash"]\n'
    found = document(ask, write("book.toml", HEAD + unused + CLASS), status=FLAWED)
    assert [(each["what"], each["source"]["line"]) for each in found["mistakes"]] == [("unused-group", 10)]
    assert "cabin" in ask("proofread", "book.toml").out


def test_many_rules_that_no_example_exercises(ask: Ask, write: Write) -> None:
    more = "".join(
        f'[[class.ask]]\nclause = "4.{number}"\nsays = "Tidy."\nif = {{ doors = 3 }}\n' for number in range(1, 31)
    )
    lines = ask("proofread", write("book.toml", HEAD + CLASS + more + CARPET)).out.splitlines()
    start = lines.index("  No example exercises")
    assert len(lines) - start == 22
    assert lines[start + 1] == "  1.1     what silence means [book.toml:8]"
    assert lines[start + 20] == "  4.18    ask [book.toml:92]"
    assert lines[start + 21] == "  and 12 more."
    assert len(document(ask, "book.toml", status=SOUND)["unexercised"]) == 32


@pytest.mark.parametrize(
    ("percent", "status"), [("50", SOUND), ("75", SOUND), ("75%", SOUND), ("75.1", FLAWED), ("100", FLAWED)]
)
def test_coverage_that_is_asked_for(ask: Ask, write: Write, percent: str, status: int) -> None:
    answer = ask("proofread", write("book.toml", HEAD + CLASS + CARPET + DASH), "--require-coverage", percent)
    assert answer.status == status
    assert "exercise 3 of 4 rules, bands and cases (75.0 %)." in answer.out
    line = f"That is under the {percent} % asked for."
    assert (line in answer.out) is (status == FLAWED)


@pytest.mark.parametrize("percent", ["most", "-1", "100.5", "nan", "1e9", "", "٥٠"])
def test_a_percentage_that_is_none(ask: Ask, write: Write, percent: str) -> None:
    answer = ask("proofread", write("book.toml", WHOLE), "--require-coverage", percent)
    assert (answer.status, answer.out) == (WRONG, "")
    assert "percentage" in answer.err


def test_wrong_use(ask: Ask, write: Write) -> None:
    write("book.toml", WHOLE)
    answer = ask("proofread", "book.toml", "--on", "soon")
    assert answer == (WRONG, "", '"soon" is not a date: write year, month and day, such as 2027-04-10.\n')
    assert ask("proofread").status == WRONG
    assert ask("proofread", "book.toml", "--colour").status == WRONG


def test_files_that_cannot_be_read_at_all(ask: Ask, write: Write, tmp_path: Path) -> None:
    missing = ask("proofread", "no-such.toml")
    assert missing.status == WRONG
    assert missing.err.startswith("no-such.toml:1:1: there is no such file\n")
    (tmp_path / "empty").mkdir()
    empty = ask("proofread", "empty")
    assert empty.status == WRONG
    assert empty.err.startswith("empty:1:1: this folder holds no rule set\n")
    write("cars/car.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n')
    assert ask("proofread", "cars").err.startswith("cars:1:1: this folder holds no rule set\n")
    assert ask("proofread", write("book.toml", WHOLE), "no-such.toml") == missing


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_is_not_waited_for(ask: Ask, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    answer = ask("proofread", "pipe.toml")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith("pipe.toml:1:1: this is not a regular file")


def test_a_slip_in_the_form_of_the_file_is_a_mistake(ask: Ask, write: Write) -> None:
    answer = ask("proofread", write("book.toml", WHOLE.replace("[book]", "[book")))
    assert answer.status == FLAWED
    assert answer.out.startswith("book.toml\n  ")
    assert answer.out.endswith("[book.toml:2]\n  It cannot be read as it stands, so that its examples were not run.\n")
    found = document(ask, "book.toml", status=FLAWED)
    assert [(each["what"], each["clause"], each["source"]["line"]) for each in found["mistakes"]] == [
        ("unreadable", "", 2)
    ]
    assert found["editions"][0]["book"] is None
    assert found["examples"] == {"run": 0, "failed": 0}


def test_beside_a_broken_file_the_others_are_read(ask: Ask, write: Write) -> None:
    write("set/a.toml", "= 1\n")
    write("set/b.toml", WHOLE)
    found = document(ask, "set", status=FLAWED)
    assert [(each["file"], each["examples"]["run"]) for each in found["editions"]] == [
        ("set/b.toml", 3),
        ("set/a.toml", 0),
    ]
    assert [each["source"]["file"] for each in found["mistakes"]] == ["set/a.toml"]


def test_mistakes_that_hide_one_another_are_all_told(ask: Ask, write: Write) -> None:
    """Keys that are wrong, names that are unknown, and what is wrong in a class as a whole: each hides the next."""
    text = (
        HEAD
        + CLASS.replace('does = ["remove"]\ndespite', 'does = ["removing"]\ndespite')
        + '[[class.ban]]\nclause = "3.4"\nkinds = ["wheels.rimz"]\ndoes = ["swap"]\n'
        + '[[class.allow]]\nclause = "3.5"\nkinds = ["interior.trim"]\ndoes = ["remove"]\nfinish = ["none"]\n'
        + CARPET.replace("seats", "seets")
        + DASH
    )
    found = document(ask, write("book.toml", text), status=FLAWED)
    assert [(each["what"], each["clause"], each["sentence"].partition(".")[0]) for each in found["mistakes"]] == [
        ("wrong-value", "3.3", 'One of "remove", "swap", "fit", "lighten", "move" is expected'),
        ("unknown-kind", "3.4", 'There is no kind "wheels'),
        ("unknown-finish", "3.5", 'There is no finish "none" in class "club"'),
        ("unknown-fact", "", 'There is no fact "seets"'),
    ]
    assert found["examples"] == {"run": 1, "failed": 0}
    assert found["editions"][0]["left_out"] == 4


def test_a_great_many_mistakes(ask: Ask, write: Write) -> None:
    """Of a few, the rest is read; of a great many, the first are printed and all are in the document."""
    wrong = '[[class.ban]]\nclause = "4.1"\nkinds = ["wheels.rimz"]\ndoes = ["swap"]\n'
    for count, run in ((51, 1), (201, 0)):
        write("book.toml", HEAD + CLASS + wrong * count + DASH)
        lines = ask("proofread", "book.toml").out.splitlines()
        assert len([line for line in lines if line.startswith("  4.1 ")]) == 50
        assert f"  and {count - 50:,} more." in lines
        found = document(ask, "book.toml", status=FLAWED)
        assert (len(found["mistakes"]), found["examples"]["run"]) == (count, run)


def test_a_great_many_failures(ask: Ask, write: Write) -> None:
    failing = DASH.replace('"not-eligible"', '"eligible"')
    out = ask("proofread", write("book.toml", HEAD + CLASS + failing * 61)).out
    assert out.count('failed  "The dash out"') == 50
    assert "\n  and 11 more.\n" in out


def test_what_only_misses_an_entry_that_was_left_out_is_no_mistake(ask: Ask, write: Write) -> None:
    floor = 'clause = "3.3"\nkinds = ["interior.floor"]\ndoes = ["remove"]\n'
    finish = '[[class.finish]]\nid = "bare"\nclause = "3.4"\narea = "interior.floor"\nby = ["painted"]\n'
    allowance = CLASS.replace(floor, floor + 'finish = ["bare"]\n')
    write("finish.toml", HEAD + allowance + finish.replace("painted", "waxed") + DASH)
    found = document(ask, "finish.toml", status=FLAWED)
    assert [each["clause"] for each in found["mistakes"]] == ["3.4"]
    assert (found["examples"], found["editions"][0]["left_out"]) == ({"run": 1, "failed": 0}, 1)
    assert found["unexercised"] == ["1.1", "3.3"]
    write("allowance.toml", HEAD + allowance.replace("interior.floor", "interior.flor") + finish)
    found = document(ask, "allowance.toml", status=FLAWED)
    assert [each["clause"] for each in found["mistakes"]] == ["3.3"]
    write("beaten.toml", HEAD + CLASS.replace("interior.dash", "interior.dashh") + CARPET)
    found = document(ask, "beaten.toml", status=FLAWED)
    assert [each["clause"] for each in found["mistakes"]] == ["3.2"]
    assert (found["examples"], found["editions"][0]["left_out"]) == ({"run": 1, "failed": 0}, 1)
    inheriting = '[[class]]\nid = "other"\ntitle = "Other"\nlike = "club"\ndrops = ["3.2"]\n'
    write("dropped.toml", HEAD + CLASS.replace("interior.dash", "interior.dashh") + inheriting)
    found = document(ask, "dropped.toml", status=FLAWED)
    assert [each["clause"] for each in found["mistakes"]] == ["3.2"]


def test_a_mistake_that_is_no_single_entry(ask: Ask, write: Write) -> None:
    write("book.toml", HEAD + CLASS.replace('title = "Club"', 'title = "Club"\nlike = "clubb"') + DASH)
    found = document(ask, "book.toml", status=FLAWED)
    assert [each["sentence"] for each in found["mistakes"]] == [
        'There is no class "clubb". Did you mean "club"?',
    ]
    assert (found["editions"][0]["edition"], found["examples"]) == (None, {"run": 0, "failed": 0})


NEXT = WHOLE.replace('"2027"', '"2028"').replace(
    "{ from = 2027-01-01, until = 2027-12-31 }", "{ from = 2028-01-01, until = 2028-12-31 }"
)


def test_each_edition_has_its_heading(ask: Ask, write: Write) -> None:
    write("set/2027.toml", WHOLE)
    write("set/2028.toml", NEXT.replace('expect = "eligible"', 'expect = "not-eligible"'))
    write("set/car.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n')
    assert ask("proofread", "set", "set/2027.toml") == (
        FLAWED,
        f"{TERN} (set/2027.toml)\n"
        "  No mistakes.\n"
        "  3 examples run, none failed.\n"
        "  The examples exercise 4 of 4 rules, bands and cases (100.0 %).\n"
        "\n"
        "Tern Moor Motor Circle, edition 2028 (set/2028.toml)\n"
        "  No mistakes.\n"
        "  3 examples run, 1 failed.\n"
        '  failed  "A carpet out": Expected not-eligible, came out eligible. Nothing speaks against it.\n'
        "          [set/2028.toml:24]\n"
        "  The examples exercise 4 of 4 rules, bands and cases (100.0 %).\n",
        "",
    )


def test_of_a_day_only_the_edition_in_force(ask: Ask, write: Write) -> None:
    write("set/2027.toml", WHOLE)
    write("set/2028.toml", NEXT.replace('expect = "eligible"', 'expect = "not-eligible"'))
    first = ask("proofread", "set", "--on", "2027-06-01")
    assert (first.status, first.out.splitlines()[0]) == (SOUND, f"{TERN} (set/2027.toml)")
    assert "2028" not in first.out
    assert ask("proofread", "set", "--on", "2028-06-01").status == FLAWED
    none = ask("proofread", "set", "--on", "2029-06-01")
    assert (none.status, none.out) == (WRONG, "")
    assert none.err.startswith('book "tern-moor": no edition covers 2029-06-01.')


def test_days_between_editions(ask: Ask, write: Write) -> None:
    write("gap/2027.toml", WHOLE.replace("2027-12-31", "2027-12-30"))
    write("gap/2028.toml", NEXT)
    assert ask("proofread", "gap").out.endswith(
        "\n"
        "Beside the rules of any one edition\n"
        "  No edition covers 2027-12-31, between edition 2027 (gap/2027.toml) and edition 2028.\n"
        "    [gap/2028.toml:7]\n"
    )
    write("both/2027.toml", WHOLE.replace("2027-12-31", "2028-01-31"))
    write("both/2028.toml", NEXT)
    for folder, what in (("gap", "gap-between-editions"), ("both", "overlapping-editions")):
        found = document(ask, folder, status=FLAWED)
        assert [(each["what"], each["source"]["file"], each["source"]["line"]) for each in found["mistakes"]] == [
            (what, f"{folder}/2028.toml", 7)
        ]
        assert [each["mistakes"] for each in found["editions"]] == [[], []]


BULLETIN = """\
format = "tarebook-bulletin/1"
amends = "tern-moor"
edition = "2027"
number = "1"
status = "in-force"
in_force = { from = 2027-06-01 }
[[amend]]
class = "club"
clause = "3.3"
set = { kinds = ["interior.headliner"] }
"""


def test_bulletins_count_on_a_day(ask: Ask, write: Write) -> None:
    write("set/2027.toml", WHOLE)
    write("set/one.toml", BULLETIN)
    printed = ask("proofread", "set")
    told = "  As printed: name a day, --on DATE, to count the bulletins in force on it.\n"
    assert (printed.status, printed.out.partition("\n")[2][: len(told)]) == (SOUND, told)
    before = ask("proofread", "set", "--on", "2027-05-31")
    assert (before.status, told in before.out) == (SOUND, False)
    later = ask("proofread", "set", "--on", "2027-06-01")
    assert later.status == FLAWED
    assert later.out.startswith(f"{TERN} with bulletin 1 (set/2027.toml)\n")
    assert '"A carpet out": Expected eligible, came out not-eligible. Clause 1.1' in later.out
    found = document(ask, "set", "--on", "2027-06-01", status=FLAWED)
    assert (found["editions"][0]["bulletins"], found["examples"]["failed"]) == (["1"], 1)


def test_proposals_count_where_they_are_asked_for(ask: Ask, write: Write) -> None:
    write("set/2027.toml", WHOLE.replace("from = 2027-01-01, until = 2027-12-31", "from = 2026-01-01"))
    write(
        "set/one.toml", BULLETIN.replace('"in-force"', '"proposed"').replace("in_force = { from = 2027-06-01 }\n", "")
    )
    assert ask("proofread", "set", "--on", "2027-06-01").status == SOUND
    assert ask("proofread", "set", "--on", "2027-06-01", "--proposed").status == FLAWED
    assert document(ask, "set", "--proposed", status=FLAWED)["editions"][0]["bulletins"] == ["1"]


def test_a_bulletin_that_does_not_fit(ask: Ask, write: Write) -> None:
    write("set/2027.toml", WHOLE)
    write("set/one.toml", BULLETIN.replace('clause = "3.3"', 'clause = "9.9"'))
    found = document(ask, "set", status=FLAWED)
    assert [each["source"]["file"] for each in found["mistakes"]] == ["set/one.toml"]
    assert (found["examples"], found["editions"][0]["mistakes"]) == ({"run": 3, "failed": 0}, [])
    out = ask("proofread", "set").out
    assert "\nBeside the rules of any one edition\n" in out
    write("set/one.toml", BULLETIN.replace('clause = "3.3"', 'clause = "9.9"').replace("in-force", "proposed"))
    assert ask("proofread", "set", "--on", "2027-07-01").status == SOUND
    found = document(ask, "set", "--on", "2027-07-01", "--proposed", status=FLAWED)
    assert [each["source"]["file"] for each in found["mistakes"]] == ["set/one.toml"]
    assert found["examples"] == {"run": 3, "failed": 0}


def test_a_car_file_of_an_example_stands_beside_the_rule_set(ask: Ask, write: Write, tmp_path: Path) -> None:
    """Beside the rule set, wherever the command is given; and a link out of the folder is not followed."""
    write("away.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n[facts]\nseats = 4\n')
    write("set/wren.toml", 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n[facts]\nseats = 4\n')
    case = '[[example]]\ntitle = "Wren"\nclass = "club"\ncar = "wren.toml"\nexpect = "eligible"\n'
    write("set/book.toml", WHOLE + case)
    assert document(ask, "set", status=SOUND)["examples"] == {"run": 4, "failed": 0}
    (tmp_path / "set" / "wren.toml").unlink()
    (tmp_path / "set" / "wren.toml").symlink_to(tmp_path / "away.toml")
    found = document(ask, "set/book.toml", status=FLAWED)
    assert [each["sentence"] for each in found["failures"]] == [
        'It cannot be run: "wren.toml" leads out of the folder of the rule set, and is not read.'
    ]


def test_nothing_unprintable_gets_through(ask: Ask, write: Write) -> None:
    escape = "\\u001b[31m\\u202e"
    text = WHOLE.replace("A carpet out", f"A{escape}").replace('["3.3"]', '["3.2"]').replace("Tern Moor", escape)
    answer = ask("proofread", write("book.toml", text))
    assert answer.status == FLAWED
    assert "\x1b" not in answer.out and "\u202e" not in answer.out
    assert '"A\\x1b[31m\\u202e": Came out eligible' in answer.out
    assert ask("proofread", "book.toml", "--json").out.isascii()
