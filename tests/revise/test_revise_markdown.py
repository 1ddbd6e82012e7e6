"""The page for a club's site: its shape, and that nothing from a file is anything but text in it."""

import re

import pytest

from support import DAY, book, car, parse_rules, rules
from tarebook.api import revise
from tarebook.show.revise_markdown import plain, revision_markdown

CLASSES = """
[[class]]
id = "road"
title = "Road"
[class.weight]
clause = "3.1"
driver = "out"
minimum = "{road} kg"
[[class]]
id = "track"
title = "Track"
like = "road"
[[class.ask]]
clause = "9.1"
says = "{says}"
"""


def page(old, new, **more):
    return "\n".join(revision_markdown(revise(old, new, **more)))


def test_the_whole_page():
    old = book(CLASSES.format(road=930, says="It is tidy."))
    new = book(CLASSES.format(road=925, says="It is clean."))
    assert (
        page(old, new)
        == """\
# Made-Up Motor Circle, from edition 2027 to edition 2027

2 changes: 2 changed.

## Every class

| Clause | | Change |
|---|---|---|
| 3.1 | changed | The minimum falls from 930 kg to 925 kg. |

## Track (track)

| Clause | | Change |
|---|---|---|
| 9.1 | changed | What a person judges: now "It is clean." (before, "It is tidy."). |"""
    )


def test_no_change_is_said():
    old = book(CLASSES.format(road=930, says="It is tidy."))
    assert page(old, old).splitlines()[2:] == ["No rule means anything else than it did."]


def test_a_clause_that_moved_names_the_one_before():
    ask = 'ask = [{{ clause = "{}", says = "It is tidy." }}]'
    lines = page(rules(ask.format("9.1")), rules(ask.format("9.2"))).splitlines()
    assert lines[-1] == "| 9.2 (was 9.1) | moved | Clause 9.1 is now 9.2; it means the same. |"
    assert lines[4] == "## Club (club)"


def test_with_a_car():
    builder = car(
        'part = [{ id = "carpet", kind = "interior.floor.carpet", mass = "4 kg" }]\n'
        'job = [{ id = "strip", state = "done", off = ["carpet"] }]'
    )
    ban = 'silence = "permits"\nban = [{ clause = "5.2", kinds = ["interior.floor"], does = ["remove"] }]'
    lines = page(rules('silence = "permits"'), rules(ban), car=builder, builds=("now",), on=DAY).splitlines()
    assert lines[lines.index("# Plover") :] == [
        "# Plover",
        "",
        "| Class | Build | Was | Now | Margin was | Margin now |",
        "|---|---|---|---|---|---|",
        "| club | now | eligible | not eligible | - | - |",
        "",
        "## club, build now",
        "",
        "- undo: carpet, 4.00 kg. carpet may not be removed. Clause 5.2.",
        "- undoing that work, the car gains 4.0 kg",
        "",
        "This is a preparation. The official at the event decides, by the club's own book.",
    ]


# ---- nothing from a file is markup

HOSTILE = [
    "<script>alert(1)</script>",
    "[press](javascript:alert(1))",
    "![x](http://made-up.example/x.png)",
    "a | b | c",
    "# Heading",
    "*loud* _low_ `code` ~~gone~~ $x$",
    "&lt;b&gt; &amp;",
    "line\nbreak\r\n\n## new",
    "back\\slash \\| \\<b>",
    "www.made-up.example and me@made-up.example and https://made-up.example",
    "right\u202eto left \x1b[31mred",
]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_shown_and_does_nothing(text):
    safe = plain(text)
    assert safe.isprintable()
    assert "<" not in safe
    assert ">" not in safe
    assert not re.search(r"(?<!\\)(?:\\\\)*[|`*_\[\]#~$]", safe)  # each of these is escaped
    assert not re.search(r"&(?!amp;|lt;|gt;)", safe)
    assert not re.search(r"://|www\.|\S@\S", safe)


def test_text_is_kept_readable():
    assert plain("5 kg of <b> & \\ | [x]") == "5 kg of &lt;b&gt; &amp; \\\\ \\| \\[x\\]"
    assert plain("https://made-up.example, www.made-up.example, a@b") == (
        "https:/ /made-up.example, www .made-up.example, a @ b"
    )
    assert plain("a\nb\u202e") == "a\\\\nb\\\\u202e"


def test_every_place_of_the_page_is_safe():
    wild = "<i>|](x)*_`#\\\\"
    text = f"""format = "tarebook-rules/1"
[book]
id = "made-up"
title = "{wild}"
edition = "{wild}"
clause = "1.1"
in_force = {{ from = 2027-01-01 }}
silence = "permits"
[[class]]
id = "road"
title = "{wild}"
[[class.ask]]
clause = "9.1"
says = "{wild} one"
[[class]]
id = "track"
title = "{wild}"
"""
    builder = car(
        f'part = [{{ id = "carpet", kind = "interior.floor.carpet", title = "{wild}", mass = "4 kg" }}]\n'
        'job = [{ id = "strip", state = "done", off = ["carpet"] }]'
    )
    ban = '[[class.ban]]\nclause = "5.2"\nkinds = ["interior.floor"]\ndoes = ["remove"]\n'
    old, new = parse_rules(text), parse_rules(text.replace(" one", " two") + ban)
    shown = page(old, new, car=builder, on=DAY)
    assert shown.count("&lt;i&gt;") >= 8
    assert "<" not in shown
    for line in shown.splitlines():
        if line.startswith("|"):
            assert len(re.findall(r"(?<!\\)\|", line)) in (4, 7)
        assert not re.search(r"(?<!\\)[\]`*]", line)
