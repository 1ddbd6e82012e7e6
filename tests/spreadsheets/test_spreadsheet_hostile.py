"""CSV files as nobody should write them: each is refused in a sentence, and none takes long."""

import os
import re
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spreadsheets.sheets import car, exported, plan, refused
from tarebook.car.reading import parse_car
from tarebook.car.spreadsheet import SpreadsheetRefused, export_csv, read_csv
from tarebook.toml_source import Mistake, MistakesFound

HEAD = "id,kind,title,mass\n"
MANY = ",".join(f"c{place}" for place in range(100_000))


@pytest.mark.parametrize(
    ("content", "place", "message", "hint"),
    [
        (b"", "1:1", "the file is empty", "a first row with names of columns"),
        (b"\n  \n,,\n", "1:1", "the file is empty", "a first row with names of columns"),
        (b"x" * (1024 * 1024 + 1), "1:1", "the file is larger than 1 MiB, the most that is read", "split it"),
        (
            "id,kind\na,ballast\n".encode("utf-16"),
            "1:1",
            "the file is in UTF-16, which is not read",
            "save it as CSV in UTF-8",
        ),
        (b"id,kind\na,ballast\nb,\xe9\n", "3:1", "this line is not in UTF-8", "save it as CSV in UTF-8"),
        (
            b"id,kind\na,bal\0last\n",
            "2:6",
            "there is a NUL character here, which no CSV file has",
            "if this is the right file, save it as CSV in UTF-8",
        ),
        (
            b"id,kind,title\na,ballast,\x1b[2J\n",
            "2:11",
            "there is a control character here, which cannot be seen",
            "take it out",
        ),
        (
            HEAD + 'a,ballast,"x,1 kg\nb,ballast,y,1 kg\n',
            "2:11",
            "row 2: this cell begins with a quote and has no end",
            "close it with a quote",
        ),
        (
            HEAD + 'a,ballast,"x"y,1 kg\n',
            "2:11",
            "row 2: something follows the quote that ends this cell",
            "write a quote within a cell twice",
        ),
        (f"{MANY}\n", "1:1", "row 1 has more than 1,000 cells", "leave some out"),
        (HEAD + f"a,ballast,x{',' * 100_000}\n", "1:1", "row 2 has more than 1,000 cells", "leave some out"),
        ("id,kind\n" + "\n" * 20_000, "1:1", "there are more than 20,000 rows", "split the file"),
        (HEAD + f"a,ballast,{'x' * 1_000_000},\n", "2:11", "row 2: this cell is too long to be one", "shorten it"),
        (HEAD + f'a,ballast,"{"x" * 1_000_000}",\n', "2:11", "row 2: this cell is too long to be one", "shorten it"),
        (
            HEAD + f"a,ballast,{'x' * 4_001},\n",
            "2:11",
            'row 2, column "title": this text is longer than 4,000 characters',
            "shorten it",
        ),
        (
            HEAD + "a,ballast,x\n",
            "2:1",
            "row 2: there are 3 cells here, but 4 in the header",
            "leave no cell of a row out",
        ),
        (
            HEAD + "a,ballast,x,1 kg,\n",
            "2:1",
            "row 2: there are 5 cells here, but 4 in the header",
            "put quotes around a cell that holds the separator",
        ),
        (
            HEAD + "a,ballast,=HYPERLINK(1),\n",
            "2:11",
            'row 2, column "title": this is a formula, not what it comes to',
            "save the values; put ' before a text that begins with =",
        ),
        (
            HEAD + "a,ballast,x,=1+1\n",
            "2:13",
            'row 2, column "mass": this is a formula, not what it comes to',
            "save the values; put ' before a text that begins with =",
        ),
        (
            HEAD + 'a,ballast,x,"\'=1+1"\n',
            "2:13",
            'row 2, column "mass": a number and then a unit are expected, such as "12.5 kg"',
            "",
        ),
        (
            HEAD + "a,ballast,x,#REF!\n",
            "2:13",
            'row 2, column "mass": a mass is expected, such as "12.5 kg", not "#REF!"',
            "",
        ),
        (
            HEAD + f"a,ballast,x,{'9' * 5_000} kg\n",
            "2:13",
            'row 2, column "mass": this text is longer than 4,000 characters',
            "shorten it",
        ),
        (
            HEAD + "a,ballast,x,1e400 kg\n",
            "2:13",
            'row 2, column "mass": a number without an exponent is expected: write "1e400 kg" out in digits',
            "",
        ),
        (
            HEAD + "a,ballast,x,nan kg\n",
            "2:13",
            'row 2, column "mass": a finite number is expected, such as "12.5 kg"',
            "",
        ),
    ],
)
def test_each_is_refused_in_a_sentence(content, place, message, hint):
    began = time.monotonic()
    assert refused(content) == [f"sheet.csv:{place}: {message}" + (f" | {hint}" if hint else "")]
    assert time.monotonic() - began < 10


@pytest.mark.parametrize("cell", ["1e9999999999999999999", "9" * 5_000, "1/2", "1.2.3", "--1", "+"])
def test_numbers_that_are_none(cell):
    assert refused(f"id,state,hours\na,maybe,{cell}\n", which="job") == [
        'sheet.csv:2:9: row 2, column "hours": a plain number is expected here, such as 1.5'
    ]


KEYS = ["id", "kind", "title", "mass", "state", "sets.", "sets.x", "moves.", "moves.a.at", "lightens.a", "estimate"]
CELLS = ["ballast", "mass (", "mass ()", "mass [kg]", "cost [EUR]", "years", "at", "done", "{}", "1 kg", "1,5", "-1 mm"]
SIGNS = [
    ",",
    ";",
    "\n",
    "\r\n",
    "\r",
    '"',
    '""',
    "'",
    "=",
    "/",
    " / ",
    "\\",
    "\t",
    " ",
    "\0",
    "\x85",
    "\u2028",
    "٣",
    "²",
    "−",
]
PIECES = st.sampled_from([*KEYS, *CELLS, *SIGNS])


def mistakes_in(content: str | bytes, which: str = "part") -> tuple[Mistake, ...]:
    try:
        plan(content, which=which)
    except MistakesFound as found:
        return found.mistakes
    return ()


@settings(max_examples=400, deadline=None)
@given(st.lists(PIECES, max_size=30).map("".join) | st.lists(PIECES, max_size=20).map("id,kind,state,mass\n{}".format))
def test_whatever_is_in_a_file_it_is_taken_or_refused_at_a_place(text):
    lines = re.split("\r\n|\r|\n", text)
    for each in mistakes_in(text) + mistakes_in(text, "job"):
        assert each.source_line in ("", lines[each.line - 1])
        assert 1 <= each.column <= max(1, len(lines[each.line - 1]))


@given(st.binary(max_size=60))
def test_whatever_bytes_are_in_a_file_they_are_taken_or_refused(content):
    assert {each.file for each in mistakes_in(content)} <= {"sheet.csv"}


def test_thousands_of_mistakes_are_found_soon():
    began = time.monotonic()
    assert len(refused("id,kind,mass\n" + "".join(f"p{each},ballast,zz\n" for each in range(5_000)))) == 5_000
    assert time.monotonic() - began < 20


def test_too_many_entries_are_refused_as_the_car_file_would_be():
    rows = "".join(f"a-rather-long-name-{each},interior.floor.boot-carpet\n" for each in range(18_000))
    assert refused("id,kind\n" + rows) == [
        "car.toml (with the change):1:1: the file is larger than 1 MiB, the most that is read | check that this is the "
        "file you meant, or split it"
    ]


def test_what_is_no_file_is_refused(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    for name, said in (
        ("none.csv", "there is no such file"),
        ("pipe.csv", "this is not a regular file"),
        (".", "this is not a regular file"),
    ):
        with pytest.raises(MistakesFound) as found:
            read_csv(tmp_path / name)
        assert [each.message for each in found.value.mistakes] == [said]


# --- Export


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\\t", "\\r", "\\u0000"])
def test_a_text_that_a_table_would_run_is_disarmed(start):
    text = exported(f'[[part]]\nid = "a"\nkind = "ballast"\ntitle = "{start}cmd|\'/C x\'!A0"\n')
    cell = text.split("\r\n", 1)[1].removeprefix("a,ballast,")
    assert cell.removeprefix('"').startswith("'")


def test_a_negative_number_stays_a_number_and_a_negative_text_does_not():
    body = '[[part]]\nid = "a"\nkind = "ballast"\nat = -350\nright = "-350 mm"\n'
    assert exported(body) == "id,kind,at [mm],right\r\na,ballast,-350,'-350 mm\r\n"


def test_what_no_fact_can_have_is_not_exported():
    with pytest.raises(SpreadsheetRefused) as refusal:
        exported('[[job]]\nid = "a"\nstate = "maybe"\nsets = { own = [1] }\n', "job")
    assert str(refusal.value) == (
        'The job "a" cannot be exported: sets.own is given a value that no fact can have: put that right first.'
    )


def test_a_car_without_parts_gives_a_header():
    assert export_csv(car(), "part") == "id,kind\r\n"
    assert export_csv(parse_car(car().source.text), "job", semicolon=True) == "id;state\r\n"
