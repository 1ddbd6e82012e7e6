"""`parts export` and `parts import`: what they print, write and refuse, and their exit status."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tarebook.cli.status import WRONG

OWN = """\
Item;Weight (lb);Colour;Notes
Old boot carpet;3,5;grey;"torn; still good"
Rear bench;24;;
"""
PREVIEW = """\
own.csv: 2 rows below the header, a semicolon between cells, decimal commas.
Columns: "Item" as title; "Weight (lb)" as mass, in lb; "Notes" as note.
Left out, as it is not known what they mean: "Colour".

New in car.toml: 2 parts.
  row 2    old-boot-carpet: interior.floor.boot-carpet (guessed from "Old boot carpet")
           title Old boot carpet; mass 3.5 lb; note torn; still good
  row 3    rear-bench: interior.seat.rear (guessed from "Rear bench")
           title Rear bench; mass 24 lb
"""
ADDED = """\
[[part]]
id = "old-boot-carpet"
kind = "interior.floor.boot-carpet"
title = "Old boot carpet"
mass = "3.5 lb"
note = "torn; still good"
[[part]]
id = "rear-bench"
kind = "interior.seat.rear"
title = "Rear bench"
mass = "24 lb"
"""
BARE = 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n'


class Terminal(io.StringIO):
    """Somebody who types these lines."""

    def isatty(self) -> bool:
        return True


@pytest.fixture
def typed(monkeypatch):
    return lambda *lines: monkeypatch.setattr("sys.stdin", Terminal("".join(f"{line}\n" for line in lines)))


@pytest.fixture
def own(club):
    club.write("own.csv", OWN)
    return club


def text_of(club, name="car.toml"):
    return (club.folder / name).read_bytes().decode()


# --- Export ---


def test_export_prints_the_parts(club):
    answer = club.ask("parts", "export", "car.toml")
    assert answer == (
        0,
        "id,kind,title,mass,kept\r\n"
        "carpet,interior.floor.carpet,Cabin carpet,4.00 kg,\r\n"
        "boot-carpet,interior.floor.boot-carpet,Boot carpet,1.60 kg,\r\n"
        "console,interior.console,Centre console,2.40 kg,\r\n"
        "audio,interior.audio,Radio,2.00 kg,\r\n"
        "spare-wheel,stowage.spare-wheel,Spare wheel,14.00 kg,loft\r\n",
        "",
    )


def test_export_prints_the_jobs_with_semicolons(club):
    answer = club.ask("parts", "export", "car.toml", "--jobs", "--semicolon")
    assert answer.out == (
        "id;state;date;off\r\nstrip-cabin;done;2026-03-10;carpet / spare-wheel\r\n"
        "strip-boot;planned;;boot-carpet\r\nstrip-console;maybe;;console\r\n"
    )


def test_export_writes_a_new_file_and_overwrites_none(club):
    answer = club.ask("parts", "export", "car.toml", "parts.csv", "--decimal-comma")
    assert answer == (0, "Written: parts.csv, with 5 parts.\n", "")
    written = text_of(club, "parts.csv")
    assert written.startswith("id;kind;title;mass;kept\r\ncarpet;interior.floor.carpet;Cabin carpet;4,00 kg;\r\n")
    again = club.ask("parts", "export", "car.toml", "parts.csv")
    assert again == (WRONG, "", "parts.csv is there already, and nothing is overwritten: name another place.\n")
    assert text_of(club, "parts.csv") == written
    nowhere = club.ask("parts", "export", "car.toml", "none/parts.csv")
    assert nowhere == (WRONG, "", "none/parts.csv cannot be written: No such file or directory.\n")


def test_what_is_exported_cannot_act_on_a_terminal(club, monkeypatch):
    club.write(
        "car.toml", BARE + '[[part]]\nid = "a"\nkind = "ballast"\ntitle = "\\u001b[2Jx\\u202e"\nnote = "a\\r\\nb"\n'
    )
    piped = club.ask("parts", "export", "car.toml").out
    assert piped == 'id,kind,title,note\r\na,ballast,\x1b[2Jx\u202e,"a\r\nb"\r\n'
    monkeypatch.setattr("tarebook.cli.spreadsheets._on_a_terminal", lambda: True)
    assert club.ask("parts", "export", "car.toml").out == ('id,kind,title,note\na,ballast,\\x1b[2Jx\\u202e,"a\nb"\n')


def test_export_of_a_broken_car(club):
    club.write("car.toml", "format =")
    answer = club.ask("parts", "export", "car.toml", "parts.csv")
    assert answer.status == WRONG and answer.err.startswith("car.toml:1:")
    assert not (club.folder / "parts.csv").exists()


# --- Import ---


def test_preview_shows_and_writes_nothing(own):
    before = text_of(own)
    assert own.ask("parts", "import", "car.toml", "own.csv", "--preview") == (0, PREVIEW, "")
    assert text_of(own) == before


def test_nothing_is_written_unasked(own):
    before = text_of(own)
    answer = own.ask("parts", "import", "car.toml", "own.csv")
    assert answer == (
        WRONG,
        PREVIEW,
        "Nothing was written. Add --yes to write this, or --preview only to look at it.\n",
    )
    assert text_of(own) == before


def test_yes_writes_it_and_nothing_else_changes(own):
    before = text_of(own)
    answer = own.ask("parts", "import", "car.toml", "own.csv", "--yes")
    line = before[: before.index("[[job]]")].count("\n") + 1
    assert answer == (0, f"{PREVIEW}\nWritten: car.toml:{line}: 2 parts.\n", "")
    head, job, tail = before.partition("[[job]]")
    assert text_of(own) == head + ADDED + job + tail
    again = own.ask("parts", "import", "car.toml", "own.csv", "--yes")
    assert again.status == 0
    assert again.out.endswith(
        "In car.toml already, and left alone: 2 parts (old-boot-carpet, rear-bench).\n\nNothing to add.\n"
    )


def test_each_guess_is_asked_about_and_may_be_replaced(own, typed):
    typed("", "bench", "interior.seat.rear.base", "yes")
    answer = own.ask("parts", "import", "car.toml", "own.csv")
    assert answer.status == 0
    assert answer.err == (
        'Row 2, "Old boot carpet": interior.floor.boot-carpet? (Enter takes it, or write another kind) '
        'Row 3, "Rear bench": interior.seat.rear? (Enter takes it, or write another kind) '
        "  There are: interior.seat.rear.base, interior.seat.rear.\n"
        'Row 3, "Rear bench": interior.seat.rear? (Enter takes it, or write another kind) '
        "Write this? (yes or no) "
    )
    assert ADDED.replace("interior.seat.rear", "interior.seat.rear.base") in text_of(own)


def test_kinds_from_titles_asks_only_once(own, typed):
    typed("y")
    answer = own.ask("parts", "import", "car.toml", "own.csv", "--kinds-from-titles")
    assert (answer.status, answer.err) == (0, "Write this? (yes or no) ")
    assert ADDED in text_of(own)


@pytest.mark.parametrize(
    ("lines", "status", "said"),
    [
        (("", "", "no"), 0, "Nothing was written.\n"),
        (("",), WRONG, "The answers ended before the last question, so nothing was written.\n"),
    ],
)
def test_no_writes_nothing(own, typed, lines, status, said):
    before = text_of(own)
    typed(*lines)
    answer = own.ask("parts", "import", "car.toml", "own.csv")
    assert answer.status == status
    assert answer.err.endswith(said)
    assert text_of(own) == before


def test_all_mistakes_are_shown_at_their_cells_and_nothing_is_written(club):
    before = text_of(club)
    club.write(
        "bad.csv",
        "id,kind,mass,scale\nnew,ballast,1 kgg,\ncarpet,interior.floor.carpet,5 kg,\nlead,ballast,2 kg,pads\n",
    )
    answer = club.ask("parts", "import", "car.toml", "bad.csv", "--yes")
    assert answer == (
        WRONG,
        "",
        'bad.csv:2:13: row 2, column "mass": "kgg" is no unit of mass: did you mean "kg"?\n'
        "  new,ballast,1 kgg,\n"
        "              ^^^^^\n"
        'bad.csv:3:1: row 3, column "id": the part "carpet" is in car.toml, line 15, and differs: mass is 4.00 kg '
        "there and 5 kg here\n"
        "  carpet,interior.floor.carpet,5 kg,\n"
        "  ^^^^^^\n"
        "  change it there by hand, or give this one an id of its own\n"
        'bad.csv:4:19: row 4, column "scale": there is no scale "pads"\n'
        "  lead,ballast,2 kg,pads\n"
        "                    ^^^^\n"
        "  list the scale first\n",
    )
    assert text_of(club) == before


def test_masses_that_look_like_a_slip_are_named(club):
    club.write("own.csv", "id,kind,mass\nmat,interior.floor.carpet,5000 kg\n")
    answer = club.ask("parts", "import", "car.toml", "own.csv", "--preview")
    assert (
        'Please look at these masses again:\n  row 2    mat: "5000 kg" is much for interior.floor.carpet' in answer.out
    )


def test_parts_and_jobs_move_to_another_car(club):
    for more in ((), ("--jobs",)):
        name = "jobs.csv" if more else "parts.csv"
        assert club.ask("parts", "export", "car.toml", name, *more, "--decimal-comma").status == 0
    club.write("other.toml", BARE)
    answer = club.ask("parts", "import", "other.toml", "parts.csv", "--with-jobs", "jobs.csv", "--yes")
    assert answer.status == 0
    assert answer.out.endswith("\nWritten: other.toml:4: 5 parts.\nWritten: other.toml:30: 3 jobs.\n")
    for more in ((), ("--jobs",)):
        one, other = (club.ask("parts", "export", each, *more).out for each in ("car.toml", "other.toml"))
        assert one == other
    alone = club.ask("parts", "import", "other.toml", "jobs.csv", "--jobs", "--yes")
    assert alone.out.endswith("left alone: 3 jobs (strip-cabin, strip-boot, strip-console).\n\nNothing to add.\n")


def test_mistakes_of_both_files_come_at_once(club):
    club.write("a.csv", "colour\nred\n")
    club.write("b.csv", "id,title\n1,2\n")
    answer = club.ask("parts", "import", "car.toml", "a.csv", "--with-jobs", "b.csv")
    assert answer.status == WRONG
    assert [line.split(" | ")[0] for line in answer.err.splitlines() if ".csv:" in line] == [
        "a.csv:1:1: row 1: there is no column id or title",
        "a.csv:1:1: row 1: there is no column kind or title",
        "b.csv:1:1: row 1: there is no column state",
    ]


def test_jobs_are_not_named_twice(club):
    club.write("a.csv", "id,state\n")
    answer = club.ask("parts", "import", "car.toml", "a.csv", "--jobs", "--with-jobs", "a.csv")
    assert answer == (WRONG, "", "Either --jobs, where FILE holds jobs, or --with-jobs and a second file.\n")


def test_what_a_spreadsheet_says_cannot_act_on_the_terminal(club):
    club.write("own.csv", "id,kind,title,\u202ehue\nlead,ballast,\u2066Lead\u2028,1\n")
    answer = club.ask("parts", "import", "car.toml", "own.csv", "--preview")
    assert answer.status == 0
    assert not set(answer.out) & set("\u202e\u2066\u2028")
    assert "title \\u2066Lead\\u2028" in answer.out and 'they mean: "\\u202ehue"' in answer.out


def test_an_empty_table_adds_nothing(club):
    club.write("own.csv", "id,kind\n")
    answer = club.ask("parts", "import", "car.toml", "own.csv")
    assert answer == (
        0,
        "own.csv: 0 rows below the header, a comma between cells, decimal points.\nColumns: id; kind.\n\n"
        "There is nothing below the header.\n\nNothing to add.\n",
        "",
    )


def test_a_check_loads_nothing_of_spreadsheets(club):
    code = (
        "import sys; from tarebook.cli.app import run; run(['check', 'car.toml', '--on', '2026-11-25']); "
        "print(*[name for name in sys.modules if name.startswith(('csv', 'tarebook.car.spreadsheet'))])"
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
