"""A record takes the place of the one before as a whole, and says what it no longer has. All invented."""

import json
from pathlib import Path

import pytest
from kept import BOOK, CAR

from tarebook.cli.app import run

OTHER = BOOK.replace('"saltpan"', '"kiln-lane"')


@pytest.fixture
def record(capsys, monkeypatch, tmp_path: Path):
    monkeypatch.chdir(tmp_path)
    Path("car.toml").write_text(CAR, encoding="utf-8")
    Path("rulesets").mkdir()
    Path("rulesets/a.toml").write_text(BOOK, encoding="utf-8")
    Path("rulesets/b.toml").write_text(OTHER, encoding="utf-8")

    def give(*more: str) -> tuple[str, str]:
        capsys.readouterr()
        assert run(["record", "car.toml", "--on", "2027-04-10", *more]) == 0
        shown = capsys.readouterr()
        return shown.out, shown.err

    return give


def kept() -> set[tuple[str, str, str]]:
    rows = json.loads(Path("car.record.json").read_text(encoding="utf-8"))["rows"]
    return {(row["book"], row["class"], row["build"]) for row in rows}


def test_what_a_narrower_record_no_longer_has_is_said(record):
    assert record()[1] == ""
    whole = kept()
    assert record()[1] == ""
    out, said = record("--build", "now", "--rules", "rulesets/a.toml")
    lost = whole - kept()
    assert kept() == {each for each in whole if each[0] == "saltpan" and each[2] == "now"}
    assert len(lost) > 3
    assert said.startswith("The record before it also had ")
    assert said.endswith(f", and {len(lost) - 3} more: the new one takes its place as a whole.\n")
    assert out.startswith("Written: car.record.json, with ")


def test_a_few_are_named(record):
    record("--rules", "rulesets/a.toml", "--build", "now", "--build", "planned")
    one, other = sorted({each[1] for each in kept()})
    assert record("--rules", "rulesets/a.toml", "--build", "now")[1] == (
        f"The record before it also had {one} (planned) and {other} (planned):"
        " the new one takes its place as a whole.\n"
    )


def test_a_program_is_told_how_many(record):
    record()
    before = kept()
    out, _ = record("--build", "now", "--json")
    assert json.loads(out)["no_longer_kept"] == len(before - kept()) > 0


def test_a_record_that_cannot_be_read_is_no_reason_to_say_anything(record):
    Path("car.record.json").write_text('{"format": "tarebook-record/1"}', encoding="utf-8")
    assert record()[1] == ""
