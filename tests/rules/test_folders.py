"""Folders within a folder of rule sets: not read with it, but told, and looked into for an edition that is named.

The clubs are invented.
"""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from tarebook.cli.app import run
from tarebook.rules.folders import InnerFolder, inner_folders
from tarebook.rules.reading import load_rules
from tarebook.toml_source import MistakesFound

BOOK = """\
format = "tarebook-rules/1"
[book]
id = "{book}"
title = "Club {book}"
edition = "{edition}"
in_force = {{ from = {edition}-01-01, until = {edition}-12-31 }}
silence = "forbids"
[[class]]
id = "open"
title = "Open"
[[class.ask]]
clause = "2"
says = "It is tidy in {edition}."
"""
OTHER = 'format = "tarebook-car/1"\n[car]\nname = "Wren"\n'


class Answer(NamedTuple):
    status: int
    out: str
    err: str


Ask = Callable[..., Answer]


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Ask:
    """The command line, in a folder with rule sets: `all` has one book, and folders with more of them within it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    for name, text in {
        "all/lapwing.toml": BOOK.format(book="lapwing", edition="2026"),
        "all/dunlin/2026.toml": BOOK.format(book="dunlin", edition="2026"),
        "all/dunlin/2027.toml": BOOK.format(book="dunlin", edition="2027"),
        "all/dunlin/broken.toml": "= 1\n",
        "all/cars/wren.toml": OTHER,
        "all/deep/er/2026.toml": BOOK.format(book="knot", edition="2026"),
    }.items():
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")

    def give(*arguments: str) -> Answer:
        capsys.readouterr()
        status = run(list(arguments))
        shown = capsys.readouterr()
        return Answer(status, shown.out, shown.err)

    return give


def test_what_the_folders_within_hold(ask: Ask) -> None:
    held = (("dunlin", "2026"), ("dunlin", "2027"))
    assert inner_folders([Path("all"), Path("all/lapwing.toml"), Path("none")]) == [
        InnerFolder(Path("all/dunlin"), held)
    ]


def test_a_folder_without_rule_sets_names_those_within_it_that_have_some(ask: Ask, tmp_path: Path) -> None:
    (tmp_path / "all" / "lapwing.toml").unlink()
    with pytest.raises(MistakesFound) as found:
        load_rules("all")
    (mistake,) = found.value.mistakes
    assert (mistake.message, mistake.hint) == (
        "this folder holds no rule set",
        "all/dunlin within it holds some, and must be named",
    )


def test_proofread_says_which_folders_it_did_not_read(ask: Ask) -> None:
    said = "all/dunlin holds rule sets, too, which were not read: name that folder to proofread them.\n"
    answer = ask("proofread", "all")
    assert (answer.status, answer.err) == (0, said)
    assert "dunlin" not in answer.out
    assert ask("proofread", "all", "all/dunlin").err == ""
    assert ask("proofread", "all/lapwing.toml").err == ""


def test_revise_finds_an_edition_in_a_folder_within(ask: Ask, tmp_path: Path) -> None:
    (tmp_path / "all/dunlin/broken.toml").unlink()
    answer = ask("revise", "dunlin@2026", "dunlin@2027", "--rules", "all")
    assert (answer.status, answer.err) == (0, "")
    assert answer.out.startswith("Club dunlin, from edition 2026 to edition 2027\n  old: all/dunlin/2026.toml\n")
    dated = ask("revise", "dunlin@2026", "dunlin@2027", "--rules", "all", "--on", "2026-05-01", "--on", "2027-05-01")
    assert dated.out == answer.out


def test_revise_suggests_an_edition_in_a_folder_within(ask: Ask) -> None:
    answer = ask("revise", "dunlim@2026", "dunlin@2027", "--rules", "all")
    assert answer.status == 2
    assert 'There is no edition "dunlim@2026". Did you mean "dunlin@2026"' in answer.err


def test_revise_tells_a_mistake_in_the_folder_that_it_needs(ask: Ask) -> None:
    answer = ask("revise", "dunlin@2026", "dunlin@2027", "--rules", "all")
    assert answer.status == 2
    assert answer.err.startswith("all/dunlin/broken.toml:1:1: ")


def test_revise_does_not_look_into_folders_where_the_edition_is_found(ask: Ask) -> None:
    answer = ask("revise", "lapwing@2026", "lapwing@2026", "--rules", "all")
    assert (answer.status, answer.err) == (0, "")
