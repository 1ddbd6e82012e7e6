"""What the schemas of the files are made of: plain 2020-12 that editors understand, with a description of every key."""

import json
from collections.abc import Iterator
from typing import Any

import jsonschema_rs
import pytest
from jsonschema import Draft202012Validator

from schemas.shipped import SORTS
from tarebook.facts import BUILTIN
from tarebook.rules.conditions import COMBINERS, EVENTS
from tarebook.show.schemas import file_schema

BOUNDS = {"minimum", "maximum", "exclusiveMinimum", "minItems", "maxItems", "minLength", "minProperties"}
WORDS = {
    *("$defs", "$ref", "const", "enum", "oneOf", "additionalProperties", "type", "format", "description"),
    *("examples", "default", "required", "properties", "items"),
    *BOUNDS,
}

Schema = dict[str, Any]


@pytest.fixture(scope="module", params=SORTS)
def schema(request: pytest.FixtureRequest) -> Schema:
    return file_schema(request.param)


def parts(schema: Schema, path: str = "#") -> Iterator[tuple[str, Schema]]:
    """A schema and all schemas within it, each with its place."""
    yield path, schema
    for word in ("properties", "$defs"):
        for name, each in schema.get(word, {}).items():
            yield from parts(each, f"{path}/{word}/{name}")
    for index, each in enumerate(schema.get("oneOf", ())):
        yield from parts(each, f"{path}/oneOf/{index}")
    for word in ("items", "additionalProperties"):
        if isinstance(schema.get(word), dict):
            yield from parts(schema[word], f"{path}/{word}")


def definition(schema: Schema, *names: str) -> Schema:
    here: Schema = schema["$defs"][names[0]]
    for name in names[1:]:
        here = here["properties"][name]
    return here


def test_the_schema_is_one(schema: Schema) -> None:
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(schema)
    assert jsonschema_rs.meta.is_valid(schema)


def test_only_plain_words_are_used(schema: Schema) -> None:
    whole, *within = parts(schema)
    assert set(whole[1]) - WORDS == {"$schema", "title"}
    assert {path: set(part) - WORDS for path, part in within if set(part) - WORDS} == {}
    assert "null" not in {part.get("type") for _, part in within if not isinstance(part.get("type"), list)}
    assert [path for path, part in within if isinstance(part.get("type"), list)] == []


def test_every_key_of_every_table_has_a_description(schema: Schema) -> None:
    described = {
        f"{path}/{key}": of.get("description", "") for path, part in parts(schema) for key, of in keys_of(part)
    }
    assert len(described) > 30
    assert {path: said for path, said in described.items() if not said.endswith(".") or "\n" in said} == {}


def keys_of(part: Schema) -> Iterator[tuple[str, Schema]]:
    yield from part.get("properties", {}).items()


def test_a_description_stands_beside_each_reference_of_a_key(schema: Schema) -> None:
    references = [of for _, part in parts(schema) for _, of in keys_of(part) if "$ref" in of]
    assert references
    assert [of for of in references if "description" not in of] == []


def test_every_definition_is_there_and_is_referred_to(schema: Schema) -> None:
    named = {part["$ref"] for _, part in parts(schema) if "$ref" in part}
    assert named == {f"#/$defs/{name}" for name in schema["$defs"]}


def test_tables_are_closed_but_where_names_are_open(schema: Schema) -> None:
    tables = {path: part for path, part in parts(schema) if part.get("type") == "object"}
    assert [path for path, part in tables.items() if "additionalProperties" not in part] == []
    opened = {path.rpartition("/")[2] for path, part in tables.items() if part["additionalProperties"] is True}
    assert opened <= {"Condition", "Facts", "set"}


def test_every_value_has_a_form(schema: Schema) -> None:
    forms = {"$ref", "type", "const", "enum", "oneOf", "required"}
    assert [path for path, part in parts(schema) if not forms & set(part)] == []


def test_examples_and_defaults_are_valid(schema: Schema) -> None:
    given = [
        (path, part, value)
        for path, part in parts(schema)
        for value in (*part.get("examples", ()), *((part["default"],) if "default" in part else ()))
    ]
    assert len(given) > 20
    for path, part, value in given:
        assert Draft202012Validator({**part, "$defs": schema["$defs"]}).is_valid(value), f"{path}: {value}"


def test_the_schema_is_small_enough_for_editors(schema: Schema) -> None:
    assert len(json.dumps(schema, indent=1, ensure_ascii=False).encode()) < 200_000


def test_dates_are_dates() -> None:
    day = {"type": "string", "format": "date"}
    assert definition(file_schema("car"), "Weighing", "date") == {**day, "description": "The day."}
    assert definition(file_schema("rules"), "InForce", "from") == {**day, "description": "The first day."}
    assert definition(file_schema("rules"), "DateValue") == day


def test_choices_are_enumerated_and_kinds_are_not() -> None:
    part = definition(file_schema("car"), "Part")["properties"]
    assert part["origin"] == {
        "enum": ["factory", "aftermarket"],
        "description": "Who made it.",
        "default": "factory",
    }
    assert part["kind"] == {
        "type": "string",
        "description": "What it is: a kind, of the tree or declared.",
        "examples": ["interior.floor.carpet"],
    }
    assert definition(file_schema("rules"), "Strip", "kinds") == {
        "type": "array",
        "items": {"type": "string", "examples": ["stowage.loose", "wheels.cover"]},
        "minItems": 1,
        "description": "What must not be on the car: none of them.",
    }


def test_words_for_the_form_of_a_value_follow_its_meaning() -> None:
    assert definition(file_schema("car"), "Estimate", "mass")["description"] == (
        'The likeliest mass: a quantity with its unit, such as "13.4 lb", or a bare number in the unit of [units].'
    )
    assert definition(file_schema("car"), "Tank", "density")["description"] == (
        "What a litre of your fuel weighs, always with its unit."
    )


def test_facts_of_the_dictionary_are_listed_with_their_meaning() -> None:
    stated = definition(file_schema("car"), "Facts")["properties"]
    assert set(stated) == set(BUILTIN) - {"model_year"}  # a car file states that one under [car]
    assert stated["aspiration"] == {
        "enum": ["natural", "turbo", "supercharged", "twin-charged"],
        "description": BUILTIN["aspiration"].meaning,
    }
    assert {name: of["description"] for name, of in stated.items()} == {name: BUILTIN[name].meaning for name in stated}
    assert set(definition(file_schema("rules"), "Facts")["properties"]) == set(BUILTIN)


@pytest.mark.parametrize("sort", ["rules", "bulletin"])
def test_conditions_list_their_words_and_the_facts(sort: str) -> None:
    condition = definition(file_schema(sort), "Condition")
    assert set(condition["properties"]) == {*EVENTS, *COMBINERS, *BUILTIN}
    assert condition["properties"]["not"] == {
        "$ref": "#/$defs/Condition",
        "description": "This table does not hold.",
    }
    assert condition["properties"]["power"] == {
        "$ref": "#/$defs/PowerTest",
        "description": BUILTIN["power"].meaning,
    }


def test_what_a_bulletin_adds_need_not_repeat_the_clause() -> None:
    bulletin, rules = file_schema("bulletin"), file_schema("rules")
    assert definition(rules, "Need")["required"] == ["clause", "kinds"]
    assert definition(bulletin, "AddedNeed")["required"] == ["kinds"]
    assert set(definition(bulletin, "Amend", "add")["properties"]) == {
        *("limit", "counts", "enter", "require", "allow", "ban", "need", "strip", "finish", "ask", "adjust")
    }
