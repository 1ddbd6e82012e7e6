"""`demo` and `new` write files to begin with, `schema` describes them; `kinds` and `facts` list the names to use."""

import json
from pathlib import Path

import pytest

from tarebook.cli.status import ELIGIBLE, UNDECIDED, WRONG
from tarebook.facts import BUILTIN
from tarebook.kinds import builtin

ROOT = Path(__file__).parents[2]


def test_demo_writes_and_checks(ask, tmp_path):
    answer = ask("demo")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    written = {path.relative_to(tmp_path).as_posix() for path in tmp_path.rglob("*") if path.is_file()}
    shipped = ROOT / "rulesets"
    books = {f"tarebook-demo/rulesets/{each.relative_to(shipped).as_posix()}" for each in shipped.rglob("*.toml")}
    assert len([each for each in books if each.count("/") == 2]) == 3  # what a check finds by itself
    assert len([each for each in books if "/fernbeck/" in each]) == 5
    assert written == {"tarebook-demo/car.toml", *books}
    assert (tmp_path / "tarebook-demo/car.toml").read_bytes() == (ROOT / "src/tarebook/demo/car.toml").read_bytes()
    assert answer.out.startswith("Written: tarebook-demo/car.toml and tarebook-demo/rulesets: ")


def test_demo_ends_with_a_matrix_of_all_four_verdicts(ask):
    answer = ask("demo", "here")
    matrix = answer.out.partition("judged on")[2]
    for verdict in ("eligible", "not eligible", "too close", "undecided"):
        assert any(line.startswith("  ") and f" {verdict} " in line for line in matrix.split("\n")), verdict
    # It ends with the matrix, as `check` of the same files prints it.
    checked = ask("check", "here/car.toml").out
    assert checked.startswith(answer.out[answer.out.index("Heron") :])


def test_demo_overwrites_nothing(ask, tmp_path):
    (tmp_path / "here/rulesets").mkdir(parents=True)
    mine = tmp_path / "here/rulesets/saltmarsh.toml"
    mine.write_bytes(b"mine")
    answer = ask("demo", "here")
    assert (answer.status, answer.out) == (WRONG, "")
    assert (
        answer.err == "here/rulesets/saltmarsh.toml is there already, and nothing is overwritten: name another place.\n"
    )
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [mine]
    assert mine.read_bytes() == b"mine"


def test_demo_twice(ask):
    assert ask("demo").status == ELIGIBLE
    again = ask("demo")
    assert (again.status, again.out) == (WRONG, "")
    assert again.err == "tarebook-demo/car.toml is there already, and nothing is overwritten: name another place.\n"


def test_demo_where_a_file_stands_in_the_way(ask, tmp_path):
    (tmp_path / "here").write_bytes(b"mine")
    answer = ask("demo", "here")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err.startswith("here cannot be written: ")
    assert (tmp_path / "here").read_bytes() == b"mine"


def test_demo_commands_that_it_names_work(ask):
    shown = ask("demo").out
    commands = [line.split()[1:] for line in shown.split("\n") if line.startswith("  tarebook ")]
    assert [command[0] for command in commands] == ["check", "removals", "revise"]
    for command in commands:
        assert ask(*command).out


def test_new_files_pass_their_own_check(ask):
    for which in ("car", "rules"):
        answer = ask("new", which)
        assert (answer.status, answer.err) == (ELIGIBLE, "")
        assert answer.out == f"Written: {which}.toml. Its comments say what to fill in.\n"
    answer = ask("check", "car.toml", "--rules", "rules.toml", "--on", "2026-06-01", "--json")
    assert answer.err == ""
    rows = json.loads(answer.out)["rows"]
    assert [(row["class"], row["build"]) for row in rows] == [
        (name, build) for name in ("standard", "modified") for build in ("now", "planned")
    ]
    assert {row["verdict"] for row in rows if row["build"] == "now"} == {"undecided"}
    assert ask("check", "car.toml", "--rules", "rules.toml", "--on", "2026-06-01", "-b", "now").status == UNDECIDED


@pytest.mark.parametrize("which", ["car", "rules"])
def test_new_overwrites_nothing(ask, tmp_path, which):
    (tmp_path / "mine.toml").write_bytes(b"mine")
    answer = ask("new", which, "mine.toml")
    assert (answer.status, answer.out) == (WRONG, "")
    assert answer.err == "mine.toml is there already, and nothing is overwritten: name another place.\n"
    assert (tmp_path / "mine.toml").read_bytes() == b"mine"
    (tmp_path / "dangling.toml").symlink_to("nowhere")
    assert ask("new", which, "dangling.toml").status == WRONG
    assert not (tmp_path / "nowhere").exists()


def test_new_makes_the_folder(ask, tmp_path):
    assert ask("new", "car", "a/b/mine.toml").status == ELIGIBLE
    assert (tmp_path / "a/b/mine.toml").read_bytes() == (ROOT / "src/tarebook/starters/car.toml").read_bytes()


def test_new_of_something_else(ask):
    answer = ask("new", "boat")
    assert (answer.status, answer.out) == (WRONG, "")
    assert "'boat' is not one of 'car', 'rules'" in answer.err


# ---- names


def test_kinds_lists_the_whole_tree(ask):
    answer = ask("kinds")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert [line.split()[0] for line in answer.out.splitlines()] == list(builtin().paths())


def test_kinds_with_a_word(ask):
    answer = ask("kinds", "sunroof")
    assert answer.out.splitlines()[0].split() == ["body.roof.sunroof", "sometimes", "Sunroof"]
    assert "usually " in answer.out and "never used for a verdict" in answer.out
    assert "Caution: " in answer.out
    assert {line.split()[0] for line in ask("kinds", "interior.seat").out.splitlines() if not line.startswith(" ")} >= {
        "interior.seat.front.driver",
        "interior.seat.rear.back",
    }


def test_facts_lists_the_dictionary(ask):
    answer = ask("facts")
    assert (answer.status, answer.err) == (ELIGIBLE, "")
    assert [line.split()[0] for line in answer.out.splitlines() if not line.startswith(" ")] == list(BUILTIN)


def test_facts_with_a_word(ask):
    shown = ask("facts", "wheelbase").out
    assert shown.split()[0] == "wheelbase"
    assert "in mm" in shown and shown.rstrip().endswith("(length)")
    aspiration = " ".join(ask("facts", "aspiration").out.split())
    assert f"(choice: {', '.join(BUILTIN['aspiration'].choices)})" in aspiration


@pytest.mark.parametrize(
    ("command", "word", "message"),
    [
        ("kinds", "qqqq", 'No kind is called "qqqq".'),
        ("facts", "qqqq", 'No fact is called "qqqq".'),
        ("facts", "displacment", 'No fact is called "displacment". Did you mean "displacement"?'),
    ],
)
def test_unknown_words(ask, command, word, message):
    answer = ask(command, word)
    assert (answer.status, answer.out, answer.err) == (WRONG, "", message + "\n")


def test_kinds_suggests_the_nearest(ask):
    answer = ask("kinds", "carpit")
    assert answer.err.startswith('No kind is called "carpit". Did you mean "interior.floor.carpet"')
