"""A small car and the books of a small club, written to a folder, and the command line to ask about them.

Car, club and classes are invented.
"""

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from club_files import BOOK_2026, BOOK_2027, CAR

from tarebook.cli.app import run


class Answer(NamedTuple):
    status: int
    out: str
    err: str


class Club:
    """The folder with the car and the books, and the command line asked in it."""

    def __init__(self, folder: Path, ask: Callable[..., Answer]) -> None:
        self.folder = folder
        self.ask = ask
        self.write("car.toml", CAR)
        self.write("rulesets/2026.toml", BOOK_2026)
        self.write("rulesets/2027.toml", BOOK_2027)

    def write(self, name: str, text: str) -> str:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return name

    def check(self, *more: str, on: str = "2026-11-25") -> Answer:
        return self.ask("check", "car.toml", "--on", on, *more)


@pytest.fixture
def ask(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Callable[..., Answer]:
    """Gives arguments to the command line, in an empty folder and on a terminal of 100 columns."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")

    def give(*arguments: str) -> Answer:
        capsys.readouterr()
        status = run(list(arguments))
        shown = capsys.readouterr()
        return Answer(status, shown.out, shown.err)

    return give


@pytest.fixture
def club(tmp_path: Path, ask: Callable[..., Answer]) -> Club:
    return Club(tmp_path, ask)
