from dataclasses import FrozenInstanceError, replace
from unicodedata import category

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tarebook.toml_source.mistakes import Mistake, MistakesFound, mistake_at, render, show_plain

PLAIN = Mistake("a text needs quotes", 'write "steel"', "car.toml", 3, 8, 5, "skin = steel")


def test_render_shows_the_place_the_line_the_mark_and_the_hint():
    assert render(PLAIN) == (
        "car.toml:3:8: a text needs quotes\n"
        "  skin = steel\n"
        "         ^^^^^\n"
        '  write "steel"'
    )  # fmt: skip


def test_render_leaves_out_what_is_empty():
    assert render(replace(PLAIN, hint="")).splitlines()[-1] == "         ^^^^^"
    assert render(replace(PLAIN, source_line="", line=1, column=1, length=1)) == (
        'car.toml:1:1: a text needs quotes\n  write "steel"'
    )


def test_render_turns_each_tab_into_one_space_so_that_the_mark_lines_up():
    shown = render(replace(PLAIN, source_line="\tskin\t= steel", column=9)).splitlines()
    assert shown[1:3] == ["   skin = steel", "          ^^^^^"]


def test_render_spells_out_control_characters_and_marks_beyond_them():
    shown = render(
        Mistake("no \x1b[31m", "not\nthis", "a\u202eb.toml", 1, 6, 2, 'a = "\x1bx" # \u2028')
    )  # fmt: skip
    assert shown == (
        "a\\u202eb.toml:1:6: no \\x1b[31m\n"
        '  a = "\\x1bx" # \\u2028\n'
        "       ^^^^^\n"
        "  not\\nthis"
    )  # fmt: skip


def test_render_lines_the_mark_up_below_wide_and_combining_characters():
    shown = render(Mistake("m", "", "f", 1, 7, 1, "車 = e\u0301x")).splitlines()
    assert shown[2] == " " * 2 + " " * 6 + "^"
    assert render(Mistake("m", "", "f", 1, 1, 2, "車Ａ = 1")).splitlines()[2] == "  ^^^^"


@pytest.mark.parametrize(
    ("column", "shown_column", "begins", "ends"),
    [
        (1, 1, "0123456789", "890123456789…"),
        (500, 42, "…9012345678", "8…"),
        (1000, 111, "…0123456789", "0123456789"),
    ],
)
def test_render_cuts_a_long_line_around_the_mark(column, shown_column, begins, ends):
    line = "0123456789" * 100
    source, mark = render(Mistake("m", "", "f", 1, column, 1, line)).splitlines()[1:3]
    assert len(source) <= 2 + 110 + 2
    assert source[2:].startswith(begins)
    assert source.endswith(ends)
    assert mark == "  " + " " * (shown_column - 1) + "^"
    assert source[len(mark) - 1] == line[column - 1]


def test_render_keeps_to_the_width_when_every_character_is_spelled_out():
    shown = render(Mistake("m", "", "f", 1, 300, 400, "\U000e0001" * 1000)).splitlines()
    assert len(shown[1]) <= 2 + 110 + 2
    assert shown[1].count("\\U000e0001") == 11
    assert shown[2].strip() == "^" * 10 * shown[1].count("\\U000e0001")


@given(
    line=st.text(max_size=300),
    column=st.integers(1, 320),
    length=st.integers(1, 300),
    hint=st.text(max_size=9),
)
def test_render_never_lets_a_character_through_that_a_terminal_acts_on(line, column, length, hint):
    shown = render(Mistake("m", hint, line[:3], 1, column, length, line))
    assert len(shown.split("\n")) <= 4
    assert not {category(c) for c in shown.replace("\n", "")} & {"Cc", "Cf", "Zl", "Zp", "Cs"}


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Größe – 12 kg “ok” 車", "Größe – 12 kg “ok” 車"),
        ("\x1b[0m", "\\x1b[0m"),
        ("\u202e", "\\u202e"),
        ("a\nb\tc\r", "a\\nb\\tc\\r"),
        ("\u2028\u2029\x9b\x7f\x00", "\\u2028\\u2029\\x9b\\x7f\\x00"),
        ("\ud800", "\\ud800"),
        ("\U000e0001", "\\U000e0001"),
        ("\xa0", "\xa0"),
    ],
)
def test_show_plain(text, plain):
    assert show_plain(text) == plain


def test_mistakes_found_sorts_and_lists():
    late = replace(PLAIN, line=10, hint="")
    other = replace(PLAIN, file="another.toml", line=12)
    right = replace(PLAIN, column=11)
    found = MistakesFound([late, right, PLAIN, other])
    assert found.mistakes == (other, PLAIN, right, late)
    assert str(found) == (
        'another.toml:12:8: a text needs quotes (write "steel")\n'
        'car.toml:3:8: a text needs quotes (write "steel")\n'
        'car.toml:3:11: a text needs quotes (write "steel")\n'
        "car.toml:10:8: a text needs quotes"
    )


def test_a_listing_is_plain_too():
    assert str(MistakesFound([replace(PLAIN, hint="\x1b")])) == "car.toml:3:8: a text needs quotes (\\x1b)"


def test_a_mistake_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        PLAIN.line = 4  # type: ignore[misc]


@pytest.mark.parametrize(
    ("start", "end", "place"),
    [
        (0, 2, (1, 1, 2, "ab c")),
        (3, 9, (1, 4, 1, "ab c")),  # of several lines: to the end of the first
        (4, 5, (1, 4, 1, "ab c")),  # the carriage return before a line end
        (5, 6, (1, 4, 1, "ab c")),  # a line end
        (6, 7, (2, 1, 1, "")),  # an empty line
        (7, 8, (3, 1, 1, "de ")),
        (12, 12, (3, 2, 1, "de ")),  # the end of the text
    ],
)
def test_mistake_at(start, end, place):
    found = mistake_at("ab c\r\n\nde \n\n", start, end, "m", "h", file="f")
    assert found == Mistake("m", "h", "f", *place)


def test_mistake_at_in_an_empty_text():
    assert mistake_at("", 0, 1, "m", file="f") == Mistake("m", "", "f", 1, 1, 1, "")
