"""JSON Schemas of what hangs on the dictionary of facts: the facts of a car, and conditions (`if`, `must`).

Facts and kinds that a book declares itself are not known here, so other names are let through.
"""

from collections.abc import Iterable, Iterator

from tarebook.facts import BUILTIN, Fact
from tarebook.rules.conditions import BOUND_WORDS, COMBINERS, EVENTS
from tarebook.show.key_meanings import KeyMeanings
from tarebook.tables import Schema

_QUANTITIES = {"mass": "920 kg", "length": "2445 mm", "volume": "1598 cm3", "power": "85 kW", "money": "140 EUR"}
_VALUES: dict[str, Schema] = {
    "yes-no": {"type": "boolean"},
    "number": {"type": "number", "minimum": 0},
    "count": {"type": "integer", "minimum": 0},
    "text": {"type": "string"},
    "date": {"type": "string", "format": "date"},
    **{
        name: {"oneOf": [{"type": "string", "examples": [example]}, {"type": "number", "minimum": 0}]}
        for name, example in _QUANTITIES.items()
    },
}
_OF_THE_CAR = ("number", "count", "mass", "length", "volume", "power")  # may be bounded by another figure of the car
_NAMES: Schema = {"oneOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}, "minItems": 1}]}
_CONDITION: Schema = {"$ref": "#/$defs/Condition"}


def facts_schema(facts: Iterable[Fact]) -> Schema:
    """A table of facts and their values."""
    properties = {fact.id: {**_value(fact), "description": fact.meaning} for fact in facts}
    return {"type": "object", "properties": properties, "additionalProperties": True}


def definitions(meanings: KeyMeanings) -> dict[str, Schema]:
    """What stands under `$defs`: the values of facts by type, the tests and bounds on them, and a condition."""
    found = {_called("Value", type_): schema for type_, schema in _VALUES.items()}
    for type_ in _VALUES:
        found[_called("Test", type_)] = {"oneOf": list(_tests(type_))}
        if type_ in (*_OF_THE_CAR, "money", "date"):
            found[_called("Bounds", type_)] = _bounds(type_, meanings)
    found["Age"] = _closed({"age": {**_reference("Bounds", "age"), **_described(meanings, "Bounds", "age")}}, ["age"])
    found[_called("Bounds", "age")] = _bounds("count", meanings, of_the_car=False)
    for type_ in _OF_THE_CAR:
        found[_called("Figure", type_)] = _figure(type_, meanings)
    found["Condition"] = _condition(meanings)
    return found


def _called(what: str, type_: str) -> str:
    return type_.title().replace("-", "") + what


def _reference(what: str, type_: str) -> Schema:
    return {"$ref": f"#/$defs/{_called(what, type_)}"}


def _value(fact: Fact) -> Schema:
    return {"enum": list(fact.choices)} if fact.type == "choice" else _reference("Value", fact.type)


def _described(meanings: KeyMeanings, table: str, key: str) -> Schema:
    meaning = meanings.of((table,), key)
    return {"description": meaning.says, **({"examples": list(meaning.examples)} if meaning.examples else {})}


def _closed(properties: dict[str, Schema], required: list[str]) -> Schema:
    return {"type": "object", "properties": properties, "additionalProperties": False, "required": required}


def _list_of(value: Schema) -> Schema:
    return {"type": "array", "items": value, "minItems": 1}


def _tests(type_: str) -> Iterator[Schema]:
    """What a fact may be compared with: a value, a list of values, and bounds if it has a size."""
    value = _reference("Value", type_)
    yield value
    yield _list_of(value)
    if type_ in (*_OF_THE_CAR, "money", "date"):
        yield _reference("Bounds", type_)
    if type_ == "date":
        yield {"$ref": "#/$defs/Age"}


def _bounds(type_: str, meanings: KeyMeanings, *, of_the_car: bool = True) -> Schema:
    value = _reference("Value", type_)
    if of_the_car and type_ in _OF_THE_CAR:
        value = {"oneOf": [value, _reference("Figure", type_)]}
    properties = {word: {**value, **_described(meanings, "Bounds", word)} for word in BOUND_WORDS}
    return {"type": "object", "properties": properties, "additionalProperties": False, "minProperties": 1}


def _figure(type_: str, meanings: KeyMeanings) -> Schema:
    """A bound that is another figure of the car as it was made."""
    number: Schema = {"type": "number"}
    plus = {"oneOf": [{"type": "string"}, number]} if type_ in _QUANTITIES else number
    properties: dict[str, Schema] = {"as_made": {"type": "string"}, "plus": plus}
    described = {key: {**schema, **_described(meanings, "BoundOfTheCar", key)} for key, schema in properties.items()}
    return _closed(described, ["as_made"])


def _condition(meanings: KeyMeanings) -> Schema:
    combined = {key: _list_of(_CONDITION) if key in ("any", "all") else _CONDITION for key in COMBINERS}
    words = {**combined, **dict.fromkeys(EVENTS, _NAMES)}
    properties = {key: {**schema, **_described(meanings, "Condition", key)} for key, schema in words.items()}
    properties |= {fact.id: {**_test(fact), "description": fact.meaning} for fact in BUILTIN.values()}
    return {"type": "object", "properties": properties, "additionalProperties": True, "minProperties": 1}


def _test(fact: Fact) -> Schema:
    if fact.type == "choice":
        return {"oneOf": [_value(fact), _list_of(_value(fact))]}
    return _reference("Test", fact.type)
