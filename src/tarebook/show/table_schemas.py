"""JSON Schemas of the files that people write, made of the annotations of their tables."""

import datetime
import types
import typing
from collections.abc import Collection, Iterator, Mapping
from typing import Any, Literal

from tarebook.show.key_meanings import KeyMeanings
from tarebook.tables import Between, Field, NotEmpty, Read, Schema, Table, Written, fields_of

_PLAIN: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    datetime.date: {"type": "string", "format": "date"},
}
# Tables that state just one of these keys.
_JUST_ONE: dict[str, tuple[str, ...]] = {
    "Weighing": ("corners", "axles", "total"),
    "LimitForm": ("amount", "over_up_to", "cases", "per", "fact", "axles"),
    "AddForm": ("amount", "fact"),
    "Amend": ("set", "add", "withdraw"),
}
ByHand = Mapping[tuple[str, str], Schema]


class TableSchemas:
    """Makes the schemas of one file's tables, each of them once.

    `by_hand` has the schemas of keys whose annotation says nothing of their value, by class of tables and key;
    `ready` has definitions that they refer to.
    """

    def __init__(self, meanings: KeyMeanings, by_hand: ByHand, ready: Mapping[str, Schema]) -> None:
        self._meanings = meanings
        self._by_hand = dict(by_hand)
        self._definitions: dict[str, Schema] = dict(ready)

    def write_by_hand(self, table: str, key: str, schema: Schema) -> None:
        """Give the schema of one more key whose annotation says nothing of its value."""
        self._by_hand[table, key] = schema

    def whole(self, table: type[Table]) -> Schema:
        """The schema of a whole file; the tables within it stand under `$defs`."""
        schema = self._of_table(table)
        needed: set[str] = set()
        waiting = [schema]
        while waiting:
            new = set(_references(waiting.pop())) - needed
            needed |= new
            waiting += [self._definitions[name] for name in new]
        return {**schema, "$defs": {name: self._definitions[name] for name in sorted(needed)}}

    def reference(self, table: type[Table], name: str = "", *, optional: Collection[str] = ()) -> Schema:
        """Refers to the schema of a table; under a name of its own, keys that must be there may be left out."""
        name = name or table.__name__
        if name not in self._definitions:
            self._definitions[name] = {}  # in case it holds itself
            self._definitions[name] = self._of_table(table, optional)
        return {"$ref": f"#/$defs/{name}"}

    def describe(self, schema: Schema, table: type[Table], key: str) -> Schema:
        """A schema with the meaning of a key; words for the form of its value go with it where it wants them."""
        meaning = self._meanings.of(_names(table), key)
        schema = {**schema, "description": meaning.sentence(schema.get("description", ""))}
        if meaning.examples:
            if schema.get("type") == "array":
                schema["items"] = {**schema["items"], "examples": list(meaning.examples)}
            else:
                schema["examples"] = list(meaning.examples)
        return schema

    def _of_table(self, table: type[Table], optional: Collection[str] = ()) -> Schema:
        fields = fields_of(table)
        schema: Schema = {
            "type": "object",
            "properties": {field.key: self._of_field(table, field) for field in fields},
            "additionalProperties": False,
        }
        required = [field.key for field in fields if field.required and field.key not in optional]
        if required:
            schema["required"] = required
        if table.__name__ in _JUST_ONE:
            schema["oneOf"] = [{"required": [key]} for key in _JUST_ONE[table.__name__]]
        return schema

    def _of_field(self, table: type[Table], field: Field) -> Schema:
        by_hand = (self._by_hand.get((name, field.key)) for name in _names(table))
        schema = next((each for each in by_hand if each is not None), None) or self._of(field.annotation)
        schema = self.describe(schema, table, field.key)
        if isinstance(field.default, (str, bool, int)) and not field.required:
            schema["default"] = field.default
        return schema

    def _of(self, annotation: Any) -> Schema:
        origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
        if origin is typing.Annotated:
            return self._marked(arguments[0], arguments[1:])
        if origin in (typing.Union, types.UnionType):
            (inner,) = (each for each in arguments if each is not types.NoneType)
            return self._of(inner)
        if origin is Literal:
            return {"const": arguments[0]} if len(arguments) == 1 else {"enum": list(arguments)}
        if origin is list:
            return {"type": "array", "items": self._of(arguments[0])}
        if origin is dict:
            return {"type": "object", "additionalProperties": self._of(arguments[1])}
        if isinstance(annotation, type) and issubclass(annotation, Table):
            return self.reference(annotation)
        return dict(_PLAIN[annotation])

    def _marked(self, annotation: Any, marks: tuple[Any, ...]) -> Schema:
        for mark in marks:
            if isinstance(mark, Read):
                return dict(mark.schema)
        schema = self._of(annotation)
        for mark in marks:
            if isinstance(mark, Between):
                schema |= {"minimum": mark.least, **({} if mark.most is None else {"maximum": mark.most})}
            elif isinstance(mark, NotEmpty):
                schema |= {"minItems": 1} if schema.get("type") == "array" else {"minLength": 1}
            elif isinstance(mark, Written):
                schema = {"oneOf": [schema, *mark.forms], "description": mark.description}
        return schema


def _names(table: type[Table]) -> tuple[str, ...]:
    return tuple(each.__name__ for each in table.__mro__)


def _references(schema: Any) -> Iterator[str]:
    """The names of the definitions that a schema refers to itself."""
    if isinstance(schema, dict):
        if isinstance(schema.get("$ref"), str):
            yield schema["$ref"].removeprefix("#/$defs/")
        for each in schema.values():
            yield from _references(each)
    elif isinstance(schema, list):
        for each in schema:
            yield from _references(each)
