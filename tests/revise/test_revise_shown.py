"""The answer for a terminal, line by line. Clubs, classes and figures are invented."""

import pytest

from support import DAY, book, car, rules
from tarebook.api import revise
from tarebook.show import text
from tarebook.show.revise import revision_lines


@pytest.fixture(autouse=True)
def _columns(monkeypatch):
    monkeypatch.setenv("COLUMNS", "100")
    text.width.cache_clear()
    yield
    text.width.cache_clear()


def shown(old, new, **more):
    return list(revision_lines(revise(old, new, **more)))


CLASSES = """
[[class]]
id = "road"
title = "Road"
[[class.ask]]
clause = "9.1"
says = "It is tidy."
[[class]]
id = "track"
title = "Track"
like = "road"
[[class]]
id = "free"
title = "Free"
"""


def test_a_change_of_several_classes_is_told_once():
    lines = shown(book(CLASSES), book(CLASSES.replace("tidy", "clean")))
    assert lines == [
        "Made-Up Motor Circle, from edition 2027 to edition 2027",
        "  old: rules",
        "  new: rules",
        "1 change: 1 changed.",
        '  changed   9.1     What a person judges: now "It is clean." (before, "It is tidy."). (road, track)\n'
        "                    [rules:13, was rules:13]",
    ]


def test_a_change_of_all_classes_says_so():
    lines = shown(
        book(CLASSES),
        book(CLASSES, silence={"remove": "permits"} | dict.fromkeys(("swap", "fit", "lighten", "move"), "forbids")),
    )
    assert lines[4:] == [
        "  changed   1.1     Where the book is silent, removing is now permitted; before, it was forbidden.\n"
        "                    (every class) [rules:8, was rules:8]"
    ]


def test_no_change():
    assert shown(book(CLASSES), book(CLASSES))[3:] == ["No rule means anything else than it did."]


def test_a_book_of_one_side_is_said():
    lines = shown([book(CLASSES), book(CLASSES, book_id="gone")], book(CLASSES))
    assert lines[5:] == [
        "Made-Up Motor Circle, edition 2027: only in the old rules",
        "  old: rules",
        "3 changes: 3 withdrawn.",
        "  withdrawn 1.1     Class road (Road) is gone. [was rules:10]",
        "  withdrawn 1.1     Class track (Track) is gone. [was rules:16]",
        "  withdrawn 1.1     Class free (Free) is gone. [was rules:20]",
    ]


def test_a_rule_that_changed_and_moved_names_its_clause_before():
    old = 'ban = [{ clause = "5.2", kinds = ["interior.dash"], does = ["remove"] }]'
    new = 'ban = [{ clause = "5.3", kinds = ["interior.dash"], does = ["remove"], if = { seats = 2 } }]'
    assert shown(rules(old), rules(new))[-1] == (
        "  changed   5.3     The ban on removing the dashboard: now where seats 2. Before, it was clause 5.2.\n"
        "                    (club) [rules:13, was rules:13]"
    )


BUILDER = """
part = [
    { id = "carpet", kind = "interior.floor.carpet", title = "Carpet", mass = "4 kg" },
    { id = "felt", kind = "interior.floor.underlay", title = "Felt", mass = "3 kg" },
    { id = "console", kind = "interior.console", title = "Console", mass = "2.4 kg" },
]
job = [
    { id = "strip", state = "done", off = ["carpet", "felt"] },
    { id = "more", state = "planned", off = ["console"] },
]
"""
PERMITS = 'silence = "permits"\n'
BAN = 'ban = [{ clause = "5.2", kinds = ["interior.floor", "interior.console"], does = ["remove"] }]'


def test_what_it_does_to_a_car():
    lines = shown(rules(PERMITS), rules(PERMITS + BAN), car=car(BUILDER), on=DAY)
    assert lines[lines.index("What this does to Plover (car)") :] == [
        "What this does to Plover (car)",
        "  club",
        "    now: eligible -> not eligible",
        "    planned: eligible -> not eligible",
        "      undo         5.2     Removing Carpet [carpet, 4.00 kg] and Felt [felt, 3.00 kg]. [rules:14]",
        "      must stay    5.2     Console may not be removed. console, 2.40 kg. [rules:14] (now)",
        "      undo         5.2     Console may not be removed. console, 2.40 kg. [rules:14] (planned)",
        "      To undo: 2 changes; the car gains 7.0 kg. (now)",
        "      To undo: 3 changes; the car gains 9.4 kg. (planned)",
        "",
        "This is a preparation. The official at the event decides, by the club's own book.",
    ]


def test_what_is_legal_now_what_is_owed_and_what_to_find_out():
    allow = (
        'allow = [{ clause = "5.1", kinds = ["interior"], does = ["remove"], finish = ["bare"] }]\n'
        'finish = [{ id = "bare", clause = "5.9", area = "interior.floor", by = ["painted"] }]\n'
        'enter = [{ clause = "4.1", must = { seats = 4 } }]'
    )
    lines = shown(rules(), rules(allow), car=car(BUILDER), builds=("now",), on=DAY)
    assert lines[lines.index("  club") : -2] == [
        "  club",
        "    now: still not eligible",
        "      legal now    5.1     Removing Carpet [carpet, 4.00 kg] and Felt [felt, 3.00 kg]. [rules:13]",
        "      may come out 5.1     Console may be removed. console, 2.40 kg. [rules:13]",
        "      owed now     5.9     A finish is still owed at interior.floor (floor coverings): painted.\n"
        "                           [rules:14]",
    ]
    back = shown(rules(allow), rules(PERMITS), car=car(BUILDER, seats=4), builds=("now",), on=DAY)
    assert back[-3] == "      owed no more 5.9     The finish bare is not owed any more. [rules:14]"
    doubtful = shown(rules(PERMITS), rules(PERMITS + allow.splitlines()[-1]), car=car(BUILDER), builds=("now",), on=DAY)
    assert doubtful[-4:-2] == ["    now: eligible -> undecided", "      Find out: seats."]


def test_classes_of_one_side():
    lines = shown(
        book(CLASSES),
        book(CLASSES.replace('"free"', '"open"').replace("silence", "") + 'silence = "permits"\n'),
        car=car(BUILDER),
        builds=("now",),
        on=DAY,
    )
    assert "    now: new: eligible" in lines
    assert "    now: not eligible -> gone" in lines


def test_control_characters_are_shown():
    lines = shown(rules(), rules('ask = [{ clause = "9.1", says = "a\\u001b[31mb\\u202e" }]'))
    assert "a\\x1b[31mb\\u202e" in lines[-1]
    assert all(line.replace("\n", "").isprintable() for line in lines)
