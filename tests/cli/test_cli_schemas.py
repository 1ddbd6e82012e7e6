"""The JSON Schemas that `schema` prints: they accept every shipped file and refuse broken ones."""

import copy
import datetime
import json
from pathlib import Path

import pytest
import tomli
from jsonschema import Draft202012Validator

from tarebook.car.reading import parse_car
from tarebook.cli.status import WRONG
from tarebook.rules.reading import parse_rules
from tarebook.toml_source import MistakesFound

ROOT = Path(__file__).parents[2]
SOURCES = ROOT / "src" / "tarebook"
CARS = [SOURCES / "demo/car.toml", SOURCES / "starters/car.toml"]
BOOKS = [SOURCES / "starters/rules.toml", *sorted((ROOT / "rulesets").glob("*.toml"))]


def as_json(value):
    """TOML data as an editor sees it: dates as ISO text."""
    if isinstance(value, dict):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, list):
        return [as_json(each) for each in value]
    return value.isoformat() if isinstance(value, (datetime.date, datetime.time)) else value


def toml(value):
    """JSON data as TOML again, inline, with ISO text as the dates that it stands for."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{json.dumps(key)} = {toml(each)}" for key, each in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    if isinstance(value, str) and len(value) == 10 and value[4:8:3] == "--":
        return value
    return json.dumps(value)


def document(data):
    return "".join(f"{key} = {toml(value)}\n" for key, value in data.items())


@pytest.fixture
def schema_of(ask):
    def give(which):
        answer = ask("schema", which)
        assert (answer.status, answer.err) == (0, "")
        return json.loads(answer.out)

    return give


@pytest.mark.parametrize("which", ["car", "rules", "bulletin", "report"])
def test_a_schema_is_one(schema_of, which):
    schema = schema_of(which)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)


@pytest.mark.parametrize("which", ["car", "rules"])
def test_a_schema_is_plain_enough_for_editors(schema_of, which):
    text = json.dumps(schema_of(which))
    assert '"anyOf"' not in text
    assert '"null"' not in text
    assert text.count('"title":') == text.count('"title": {') + 1 + text.count('"title": "A tarebook') - 1


@pytest.mark.parametrize("path", [*CARS, *BOOKS], ids=lambda path: f"{path.parent.name}/{path.name}")
def test_shipped_files_validate(schema_of, path):
    schema = schema_of("car" if path in CARS else "rules")
    data = as_json(tomli.loads(path.read_text(encoding="utf-8")))
    errors = [(list(error.path), error.message) for error in Draft202012Validator(schema).iter_errors(data)]
    assert errors == []


def changed(data, path, value):
    """The data with one value put at a path, or taken away where the value is None."""
    made = copy.deepcopy(data)
    *way, last = path
    here = made
    for step in way:
        here = here[step]
    if value is None:
        del here[last]
    else:
        here[last] = value
    return made


CAR = {
    "format": "tarebook-car/1",
    "car": {"name": "Wren", "model_year": 1998},
    "driver": {"mass": "80 kg", "seat_at": "1300 mm"},
    "scale": [{"id": "kitchen", "resolution": "1 g"}],
    "weighing": [{"id": "first", "date": "2026-03-01", "axles": {"front": "540 kg", "rear": "340 kg"}, "fuel": "5 L"}],
    "part": [{"id": "mat", "kind": "interior.floor.boot-carpet", "estimate": {"mass": "2 kg", "within": "1 kg"}}],
    "job": [
        {"id": "strip", "state": "planned", "off": ["mat"], "finishes": [{"area": "interior.floor", "by": "painted"}]}
    ],
    "build": [{"id": "spring", "jobs": ["strip"], "date": "2027-04-10"}],
}
RULES = {
    "format": "tarebook-rules/1",
    "book": {
        "id": "tern-moor",
        "title": "Tern Moor",
        "edition": "2026",
        "in_force": {"from": "2026-01-01"},
        "silence": "forbids",
    },
    "class": [
        {
            "id": "free",
            "title": "Free",
            "weight": {
                "clause": "1",
                "driver": "out",
                "minimum": "800 kg",
                "adjust": [{"add": "5 kg", "clause": "1.1"}],
            },
            "enter": [{"clause": "2", "must": {"doors": 3}}],
            "allow": [{"clause": "3", "kinds": ["interior"], "does": ["remove"], "part": {"origin": "factory"}}],
            "need": [{"clause": "4", "kinds": ["safety.cage"], "at_least": 1}],
            "finish": [{"id": "bare", "clause": "5", "area": "interior.floor", "by": ["painted"]}],
            "counts": [{"clause": "6", "fact": "displacement", "times": 1.7}],
            "ask": [{"clause": "7", "says": "Tidy."}],
        }
    ],
}
BROKEN_CARS = [
    (["format"], "tarebook-car/9"),
    (["car"], None),
    (["car", "name"], None),
    (["car", "name"], 3),
    (["car", "model_year"], "1998"),
    (["car", "model_year"], 98),
    (["cars"], {}),
    (["driver", "weight"], "80 kg"),
    (["driver", "mass"], []),
    (["scale", 0, "resolution"], None),
    (["weighing", 0, "date"], None),
    (["weighing", 0, "axles", "rear"], None),
    (["weighing", 0, "driver_aboard"], "no"),
    (["part", 0, "kind"], None),
    (["part", 0, "origin"], "somewhere"),
    (["part", 0, "count"], 0),
    (["part", 0, "estimate", "within"], None),
    (["part", 0, "gone"], 1),
    (["job", 0, "state"], "someday"),
    (["job", 0, "off"], "mat"),
    (["job", 0, "finishes", 0, "by"], "polished"),
    (["job", 0, "hours"], -1),
    (["build", 0, "jobs", 0], 1),
]
BROKEN_RULES = [
    (["format"], "tarebook-rules/9"),
    (["book"], None),
    (["book", "silence"], "shrugs"),
    (["book", "silence"], {"remove": "forbids"}),
    (["book", "in_force", "from"], None),
    (["book", "editions"], "2026"),
    (["class", 0, "title"], None),
    (["class", 0, "weight", "driver"], "beside"),
    (["class", 0, "weight", "minimum"], True),
    (["class", 0, "weight", "minimum"], {"amounts": "800 kg"}),
    (["class", 0, "weight", "adjust", 0, "of"], "everything"),
    (["class", 0, "weight", "adjust", 0, "add"], {"fakt": "success_mass"}),
    (["class", 0, "enter", 0, "must"], None),
    (["class", 0, "allow", 0, "clause"], 4.1),
    (["class", 0, "allow", 0, "kinds"], []),
    (["class", 0, "allow", 0, "does"], ["burn"]),
    (["class", 0, "allow", 0, "does"], None),
    (["class", 0, "allow", 0, "part", "origin"], "somewhere"),
    (["class", 0, "allow", 0, "unless"], {}),
    (["class", 0, "need", 0, "at_least"], 0),
    (["class", 0, "finish", 0, "by"], ["polished"]),
    (["class", 0, "counts", 0, "times"], 0),
    (["class", 0, "ask", 0, "says"], ""),
]


@pytest.mark.parametrize(("which", "data"), [("car", CAR), ("rules", RULES)])
def test_the_files_to_be_broken_are_sound(schema_of, which, data):
    assert list(Draft202012Validator(schema_of(which)).iter_errors(data)) == []
    {"car": parse_car, "rules": parse_rules}[which](document(data))


CASES = [
    pytest.param(which, whole, path, value, id=f"{which} {'.'.join(map(str, path))} {value!r}")
    for which, whole, broken in (("car", CAR, BROKEN_CARS), ("rules", RULES, BROKEN_RULES))
    for path, value in broken
]


@pytest.mark.parametrize(("which", "whole", "path", "value"), CASES)
def test_broken_files_do_not_validate(schema_of, which, whole, path, value):
    errors = list(Draft202012Validator(schema_of(which)).iter_errors(changed(whole, path, value)))
    assert errors
    # The error is at the place or inside it, or at the table that lacks or must not have the key.
    places = [list(error.absolute_path) for error in errors]
    assert all(place == path[: len(place)] or place[: len(path)] == path for place in places), places


@pytest.mark.parametrize(("which", "whole", "path", "value"), CASES)
def test_what_the_schema_refuses_the_reader_refuses_too(which, whole, path, value):
    text = document(changed(whole, path, value))
    with pytest.raises(MistakesFound):
        {"car": parse_car, "rules": parse_rules}[which](text)


def test_a_schema_of_something_else(ask):
    answer = ask("schema", "boat")
    assert (answer.status, answer.out) == (WRONG, "")
    assert "'boat' is not one of 'car', 'rules', 'bulletin', 'report'" in answer.err
