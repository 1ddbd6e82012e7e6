"""JSON Schemas of the files that people write, made of the annotations of their tables."""

import datetime
import types
import typing
from typing import Any, Literal

from tarebook.tables import Between, Field, NotEmpty, Read, Schema, Table, Written, fields_of

_PLAIN: dict[Any, Schema] = {
    str: {"type": "string"},
    int: {"type": "integer"},
    bool: {"type": "boolean"},
    datetime.date: {"type": "string", "format": "date"},
    Any: {},
}


def table_schema(table: type[Table]) -> Schema:
    """The schema of a whole file; the tables within it stand under `$defs`."""
    definitions: dict[str, Schema] = {}
    whole = _of_table(table, definitions)
    return {**whole, "$defs": {name: definitions[name] for name in sorted(definitions)}}


def _of_table(table: type[Table], definitions: dict[str, Schema]) -> Schema:
    fields = fields_of(table)
    schema: Schema = {
        "type": "object",
        "properties": {field.key: _of_field(field, definitions) for field in fields},
        "additionalProperties": False,
    }
    required = [field.key for field in fields if field.required]
    return {**schema, "required": required} if required else schema


def _of_field(field: Field, definitions: dict[str, Schema]) -> Schema:
    schema = _of(field.annotation, definitions)
    plain = isinstance(field.default, (str, bool, int)) and not field.required
    return {**schema, "default": field.default} if plain and "$ref" not in schema else schema


def _of(annotation: Any, definitions: dict[str, Schema]) -> Schema:
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return _marked(arguments[0], arguments[1:], definitions)
    if origin in (typing.Union, types.UnionType):
        (inner,) = (each for each in arguments if each is not types.NoneType)
        return _of(inner, definitions)
    if origin is Literal:
        return {"const": arguments[0]} if len(arguments) == 1 else {"enum": list(arguments)}
    if origin is list:
        return {"type": "array", "items": _of(arguments[0], definitions)}
    if origin is dict:
        return {"type": "object", "additionalProperties": _of(arguments[1], definitions)}
    if isinstance(annotation, type) and issubclass(annotation, Table):
        if annotation.__name__ not in definitions:
            definitions[annotation.__name__] = {}  # in case it holds itself
            definitions[annotation.__name__] = _of_table(annotation, definitions)
        return {"$ref": f"#/$defs/{annotation.__name__}"}
    return dict(_PLAIN[annotation])


def _marked(annotation: Any, marks: tuple[Any, ...], definitions: dict[str, Schema]) -> Schema:
    for mark in marks:
        if isinstance(mark, Read):
            return mark.schema
    schema = _of(annotation, definitions)
    for mark in marks:
        if isinstance(mark, Between):
            schema |= {"minimum": mark.least, **({} if mark.most is None else {"maximum": mark.most})}
        elif isinstance(mark, NotEmpty):
            schema |= {"minItems": 1} if schema.get("type") == "array" else {"minLength": 1}
        elif isinstance(mark, Written):
            schema = {"oneOf": [schema, *mark.forms], "description": mark.description}
    return schema
