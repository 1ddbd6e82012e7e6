"""The files that the program ships, and small edits that break them."""

import datetime
from pathlib import Path
from typing import Any, NamedTuple

import tomli

from tarebook.car.reading import parse_car
from tarebook.rules.reading import parse_rules, rules_of
from tarebook.toml_source import parse_source

ROOT = Path(__file__).parents[2]
DEMO = "src/tarebook/demo/car.toml"
CAR = "src/tarebook/starters/car.toml"
RULES = "src/tarebook/starters/rules.toml"
QUARRY = "rulesets/quarry-lane.toml"
SALTMARSH = "rulesets/saltmarsh.toml"
FERNBECK = "rulesets/fernbeck/2026.toml"
BATTERIES = "rulesets/fernbeck/bulletin-2026-1.toml"
WEIGHTS = "rulesets/fernbeck/bulletin-2026-2.toml"
PROPOSAL = "rulesets/fernbeck/bulletin-2027-1.toml"
SORTS = ("car", "rules", "bulletin")


class Broken(NamedTuple):
    """A text of a shipped file, what takes its place, and the dotted place in the data that is then wrong."""

    what: str
    file: str
    old: str
    new: str
    place: str

    @property
    def text(self) -> str:
        whole = text_of(self.file)
        assert whole.count(self.old) == 1, f"{self.what}: {whole.count(self.old)} times in {self.file}"
        return whole.replace(self.old, self.new)


def shipped_files() -> list[str]:
    """All of them, by their paths within the project."""
    folders = ("src/tarebook/demo", "src/tarebook/starters", "rulesets")
    paths = [path for folder in folders for path in sorted((ROOT / folder).rglob("*.toml"))]
    return [path.relative_to(ROOT).as_posix() for path in paths]


def text_of(file: str) -> str:
    return (ROOT / file).read_text(encoding="utf-8")


def sort_of(text: str) -> str:
    """Which schema a file is for, by its format: "car", "rules" or "bulletin"."""
    (sort,) = (each for each in SORTS if f"tarebook-{each}/" in text)
    return sort


def as_json(text: str) -> Any:
    """The data of a file as an editor sees it: dates as ISO text."""
    return _plain(tomli.loads(text))


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, list):
        return [_plain(each) for each in value]
    return value.isoformat() if isinstance(value, (datetime.date, datetime.time)) else value


def read(file: str, text: str) -> None:
    """Read a text in place of a shipped file; a bulletin is applied to its edition too. Raises MistakesFound."""
    sort = sort_of(text_of(file))
    if sort == "car":
        parse_car(text)
    elif sort == "rules":
        parse_rules(text)
    else:
        editions = [parse_source(text_of(each).encode(), each) for each in _editions_beside(file)]
        for edition in rules_of([*editions, parse_source(text.encode(), file)]):
            edition.with_bulletins(tuple(edition.bulletins_known))


def _editions_beside(bulletin: str) -> list[str]:
    folder = bulletin.rpartition("/")[0]
    return [each for each in shipped_files() if each.startswith(folder) and sort_of(text_of(each)) == "rules"]
