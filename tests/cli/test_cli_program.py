"""The program as a whole: help and version, what becomes of an error, where words go, and what is left untouched."""

import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from tarebook import __version__
from tarebook.cli import app as application
from tarebook.cli.status import BROKEN, ELIGIBLE, NOT_ELIGIBLE, UNDECIDED, WRONG

SOURCES = Path(__file__).parents[2] / "src"
COMMANDS = [
    "demo",
    "check",
    "why",
    "removals",
    "route",
    "choose",
    "mass",
    "reconcile",
    "tally",
    "weigh",
    "revise",
    "record",
    "recheck",
    "proofread",
    "new",
    "kinds",
    "facts",
    "schema",
    "log",
    "parts",
]


def program(*arguments, folder, **options):
    """The program in a process of its own, as `python -m tarebook`."""
    own = {"PYTHONPATH": str(SOURCES), "PYTHONUNBUFFERED": "", "COLUMNS": "100"}
    environment = {**os.environ, **own, **options.pop("environment", {})}
    command = [sys.executable, "-m", "tarebook", *arguments]
    settings = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, **options}
    return subprocess.run(command, cwd=folder, env=environment, check=False, timeout=60, **settings)


# ---- help and version


def test_version(ask):
    assert ask("--version") == (ELIGIBLE, f"tarebook {__version__}\n", "")


@pytest.mark.parametrize("option", ["--help", "-h"])
def test_help_lists_the_commands(ask, option):
    answer = ask(option)
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    listed = answer.out.partition("Commands:\n")[2]
    assert [line.split()[0] for line in listed.splitlines() if line] == COMMANDS


@pytest.mark.parametrize("command", COMMANDS)
def test_help_of_a_command_keeps_its_brackets(ask, command):
    answer = ask(command, "--help")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert answer.out.startswith(f"Usage: tarebook {command} ")
    expected = {"demo": "[DIR]", "new": "[FILE]", "kinds": "[WORD]", "facts": "[WORD]", "why": "[PART or CLAUSE]"}
    assert expected.get(command, "[OPTIONS]") in answer.out
    if command in ("check", "removals", "why"):
        assert "[default: today]" in answer.out


def test_no_arguments_print_the_help(ask):
    answer = ask()
    assert answer.status == WRONG
    assert (answer.out + answer.err).startswith("Usage: tarebook [OPTIONS] COMMAND [ARGS]...\n")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["chek"], "No such command 'chek'. Did you mean 'check'"),
        (["check"], "Missing argument 'CAR'"),
        (["check", "car.toml", "--jsn"], "No such option: --jsn"),
        (["why", "car.toml"], "Missing argument 'CLASS'"),
        (["check", "car.toml", "more.toml"], "unexpected extra argument"),
        (["check", "car.toml", "--on"], "Option '--on' requires an argument"),
    ],
)
def test_wrong_use(ask, arguments, message):
    answer = ask(*arguments)
    assert (answer.status, answer.out) == (WRONG, "")
    assert message in answer.err


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_script(tmp_path, shell):
    # As the installed command asks for it: the variable goes by the program's name.
    environment = {"_TAREBOOK_COMPLETE": f"source_{shell}"}
    code = "import sys; sys.argv[0] = 'tarebook'; from tarebook.cli import main; main()"
    answer = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(SOURCES), **environment},
        capture_output=True,
        text=True,
        cwd=tmp_path,
        timeout=60,
        check=False,
    )
    assert (answer.returncode, answer.stderr) == (0, "")
    assert f"_TAREBOOK_COMPLETE=complete_{shell}" in answer.stdout


def test_completion_of_a_command(tmp_path):
    environment = {"_TAREBOOK_COMPLETE": "complete_bash", "COMP_WORDS": "tarebook re", "COMP_CWORD": "1"}
    answer = program(folder=tmp_path, environment=environment, text=True)
    assert (answer.returncode, answer.stdout.split()) == (0, ["removals", "reconcile", "revise", "record", "recheck"])


# ---- the statuses, in a process of its own


@pytest.mark.parametrize(
    ("arguments", "status"),
    [
        (["--class", "free"], ELIGIBLE),
        (["--class", "heavy"], NOT_ELIGIBLE),
        (["--class", "nosuch"], WRONG),
        (["--class", "sheet"], UNDECIDED),
    ],
)
def test_status_of_the_process(club, arguments, status):
    asked = ["check", "car.toml", "--on", "2026-11-25", "--build", "now", *arguments]
    answer = program(*asked, folder=club.folder, text=True)
    assert answer.returncode == status
    assert bool(answer.stdout) == (status != WRONG)
    assert bool(answer.stderr) == (status == WRONG)
    assert (answer.returncode, answer.stdout, answer.stderr) == club.ask(*asked)


# ---- defects of the program


def test_a_defect_gives_one_line_and_no_traceback(club, monkeypatch):
    def broken(*_arguments, **_options):
        raise RuntimeError("secret\nsecond line")

    monkeypatch.setattr("tarebook.api.check", broken)
    answer = club.check()
    assert (answer.status, answer.out) == (BROKEN, "")
    assert answer.err.startswith(f"tarebook: a defect of this program, not of your files: RuntimeError at {__name__}:")
    assert answer.err.count("\n") == 1
    assert answer.err.endswith("Please report it with the command that you gave.\n")
    assert "Traceback" not in answer.err and "secret" not in answer.err


@pytest.mark.parametrize("kind", [KeyError, AssertionError, RecursionError, TypeError, StopIteration])
def test_no_defect_reads_as_a_verdict(club, monkeypatch, kind):
    def broken(*_arguments, **_options):
        raise kind("x")

    monkeypatch.setattr("tarebook.api.facing", broken)
    answer = club.ask("why", "car.toml", "free", "--on", "2026-11-25")
    assert (answer.status, answer.out) == (BROKEN, "")
    assert kind.__name__ in answer.err


def test_an_interruption_is_no_verdict(club, monkeypatch):
    def interrupted(*_arguments, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr("tarebook.api.check", interrupted)
    assert club.check() == (application.INTERRUPTED, "", "")


# ---- a reader that leaves, a disk that is full


@pytest.mark.parametrize("asked", [["facts"], ["kinds", "sunroof"], ["--version"], ["schema", "car"]])
def test_a_reader_that_leaves_is_no_defect_and_no_verdict(tmp_path, asked):
    reading, writing = os.pipe()
    os.close(reading)
    try:
        answer = program(*asked, folder=tmp_path, stdout=writing)
    finally:
        os.close(writing)
    assert (answer.returncode, answer.stderr) == (application.BROKEN_PIPE, b"")


def test_a_reader_that_leaves_the_messages_changes_no_status(tmp_path):
    reading, writing = os.pipe()
    os.close(reading)
    try:
        answer = program("check", "nosuch.toml", folder=tmp_path, stderr=writing)
    finally:
        os.close(writing)
    assert (answer.returncode, answer.stdout) == (WRONG, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
@pytest.mark.parametrize("asked", [["facts"], ["kinds", "sunroof"]], ids=["much", "little"])
def test_a_full_disk_is_no_verdict(tmp_path, asked):
    with Path("/dev/full").open("wb") as full:
        answer = program(*asked, folder=tmp_path, stdout=full, text=True)
    assert answer.returncode == WRONG
    assert answer.stderr == "the output cannot be used: No space left on device. Name another place.\n"


def test_letters_that_the_readers_encoding_lacks_stop_nothing(club):
    car = (club.folder / "car.toml").read_text()
    club.write("car.toml", car.replace('"Wren"', '"Zaunkönig"').replace('"Cabin carpet"', '"Läufer"'))
    asked = ["check", "car.toml", "--on", "2026-11-25", "--class", "free", "--build", "now"]
    for more in ([], ["--full"], ["--json"]):
        answer = program(*asked, *more, folder=club.folder, environment={"PYTHONIOENCODING": "ascii"})
        assert (answer.returncode, answer.stderr) == (ELIGIBLE, b"")
        assert answer.stdout.isascii()
    shown = program(*asked, folder=club.folder, environment={"PYTHONIOENCODING": "utf-8"})
    assert shown.stdout.decode("utf-8").startswith("Zaunkönig (car.toml)")


# ---- nothing that a terminal would act on

NASTY = "\x1b[31mred\x1b]0;x\x07\u202eright\u2066\u200b\u2028\x9b2J"
ESCAPED = "".join(each if each.isascii() and each.isprintable() else f"\\u{ord(each):04x}" for each in NASTY)


def bad_characters(text):
    return sorted(
        {
            f"U+{ord(character):04X}"
            for character in text
            if character != "\n" and unicodedata.category(character) in ("Cc", "Cf", "Zl", "Zp", "Cs")
        }
    )


@pytest.fixture
def nasty(club):
    """The car and the books, every free text of theirs ending in what a terminal would act on."""
    for name in ("car.toml", "rulesets/2026.toml", "rulesets/2027.toml"):
        lines = (club.folder / name).read_text().split("\n")
        for number, line in enumerate(lines):
            key = line.partition(" = ")[0]
            if key in ("name", "title", "says", "kept", "edition"):
                lines[number] = line.removesuffix('"') + ESCAPED + '"'
        club.write(name, "\n".join(lines))
    book = (club.folder / "rulesets/2026.toml").read_text()
    own = f'[[fact]]\nid = "tyre_list"\ntype = "text"\ntitle = "x{ESCAPED}"\ndefault = "y{ESCAPED}"\n[[group]]'
    needs = '[[group.require]]\nclause = "2.9"\nmust = { tyre_list = "z" }\nsays = "s' + ESCAPED + '"\n[[class]]'
    book = book.replace("[[group]]", own, 1).replace("[[class]]", needs, 1)
    club.write("rulesets/2026.toml", book)
    (club.folder / "car.toml").rename(club.folder / f"car{NASTY}.toml")
    return club


@pytest.mark.parametrize(
    "arguments",
    [
        ["check"],
        ["check", "--full"],
        ["check", "--json"],
        ["removals", "heavy"],
        ["removals", "heavy", "--json"],
        ["removals", "sheet"],
        ["why", "heavy"],
        ["why", "heavy", "spare-wheel"],
        ["why", "sheet", "audio"],
        ["why", "heavy", "2"],
        ["why", "heavy", "nosuch"],
        ["why", "heavy", f"no{NASTY}"],
        ["check", "--class", f"no{NASTY}"],
        ["check", "--build", f"no{NASTY}"],
        ["check", "--on", f"no{NASTY}"],
        ["check", "--on", "2019-01-01"],
        ["check", "--rules", f"no{NASTY}"],
    ],
    ids=lambda arguments: " ".join(arguments).replace(NASTY, "-nasty"),
)
def test_no_output_steers_the_terminal(nasty, arguments):
    command, *rest = arguments
    days = [] if "--on" in rest else ["--on", "2026-11-25"]
    answer = nasty.ask(command, f"car{NASTY}.toml", *rest, *days)
    assert answer.status != BROKEN, answer.err
    assert answer.out or answer.err
    assert bad_characters(answer.out) == []
    assert bad_characters(answer.err) == []


def test_texts_are_shown_with_what_was_in_them_spelled_out(nasty):
    shown = nasty.ask("check", f"car{NASTY}.toml", "--on", "2026-11-25", "--full").out
    joined = " ".join(shown.split())
    assert "Wren\\x1b[31mred\\x1b]0;x\\x07\\u202eright\\u2066\\u200b\\u2028\\x9b2J" in joined


@pytest.mark.parametrize(
    "arguments", [["demo", f"d{NASTY}"], ["new", "car", f"c{NASTY}.toml"], ["kinds", NASTY], ["facts", NASTY]]
)
def test_names_given_by_the_user_do_not_steer_the_terminal(ask, arguments):
    for _ in range(2):
        answer = ask(*arguments)
        assert answer.status in (ELIGIBLE, WRONG)
        assert bad_characters(answer.out + answer.err) == []


def test_mistakes_in_a_file_do_not_steer_the_terminal(club):
    club.write("car.toml", 'format = "tarebook-car/1"\nbogus = "\u202e\u2066\u200b"\ncar = { name = "Wren" }\n')
    answer = club.check()
    assert answer.status == WRONG
    assert "\\u202e" in answer.err
    assert bad_characters(answer.err) == []


# ---- nothing of the user's is touched


def test_files_are_left_as_they_were(club):
    def state():
        return {
            path.relative_to(club.folder).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
            for path in club.folder.rglob("*")
            if path.is_file()
        }

    club.write("broken.toml", "format = \n")
    before = state()
    day = ["--on", "2026-11-25"]
    for arguments in (
        ["check", "car.toml", *day],
        ["check", "car.toml", "--json", "--full", *day],
        ["check", "broken.toml"],
        ["removals", "car.toml", "heavy", *day],
        ["why", "car.toml", "heavy", *day],
        ["why", "car.toml", "heavy", "spare-wheel", *day],
        ["new", "car", "car.toml"],
        ["new", "rules", "rulesets/2026.toml"],
        ["schema", "car"],
        ["kinds"],
        ["facts"],
    ):
        assert club.ask(*arguments).status != BROKEN
    assert state() == before


# ---- results and messages


def test_results_and_messages_do_not_mix(club):
    for arguments in (["check", "car.toml", "--on", "2026-11-25"], ["schema", "report"], ["kinds", "cage"], ["--help"]):
        answer = club.ask(*arguments)
        assert answer.out and not answer.err, arguments
    for arguments in (["check", "nosuch.toml"], ["why", "car.toml", "nosuch"], ["kinds", "qqqq"], ["schema", "boat"]):
        answer = club.ask(*arguments)
        assert answer.err and not answer.out, arguments
