"""Turns what pydantic found wrong in a file into mistakes with positions, in plain sentences."""

import types
import typing
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from tarebook.fields import DEFAULT_UNITS, Model
from tarebook.kinds import Kind, KindTree
from tarebook.names import did_you_mean
from tarebook.quantities import QuantityError, canonical_unit
from tarebook.toml_source import Mistake, Source

M = TypeVar("M", bound=Model)
Path = tuple[str | int, ...]
MOST_HINTS = 100  # mistakes of one sort that get a suggestion: more take time, and nobody reads them

_EXPECTED = {
    "string_type": "a text in quotes is expected",
    "int_type": "a whole number is expected",
    "bool_type": "true or false is expected",
    "list_type": "a list in [square brackets] is expected",
    "dict_type": "a table is expected",
    "model_type": "a table is expected",
    "model_attributes_type": "a table is expected",
    "date_type": "a date such as 2026-04-05 is expected, without quotes",
}
# What people call a key that goes by another name here.
_OTHER_WORDS = {"weight": "mass", "name": "title", "type": "kind"}


def read_model(model: type[M], source: Source, units: dict[str, str | None]) -> tuple[M | None, list[Mistake]]:
    """Validate a file's data; all of its mistakes come at once."""
    try:
        return model.model_validate(source.data, context={"units": units}), []
    except ValidationError as error:
        mistakes: dict[tuple[int, int, str], Mistake] = {}
        for detail in error.errors(include_url=False):
            if detail["type"] == "is_instance_of":  # a table where an amount may stand too: it was meant as a table
                continue
            mistake = _mistake(model, source, detail, suggest=len(mistakes) < MOST_HINTS)
            mistakes.setdefault((mistake.line, mistake.column, mistake.message), mistake)
        return None, list(mistakes.values())


def check_units(source: Source, model: type[M]) -> tuple[dict[str, str | None], list[Mistake]]:
    """The units that a file's bare numbers are in, and what is wrong with its `[units]`.

    What is of the wrong type there is left for the file's own model to refuse.
    """
    table = source.data.get("units", {})
    units: dict[str, str | None] = dict(DEFAULT_UNITS)
    mistakes = []
    for dimension, unit in table.items() if isinstance(table, dict) else ():
        if dimension not in model.model_fields or not isinstance(unit, str):
            continue
        try:
            units[dimension] = canonical_unit(unit, dimension)
        except QuantityError as error:
            mistakes.append(source.mistake(("units", dimension), str(error)))
    return units, mistakes


def _mistake(model: type[Model], source: Source, error: Any, *, suggest: bool) -> Mistake:
    path = _data_path(source.data, error["loc"])
    kind, context = error["type"], error.get("ctx", {})
    if kind == "extra_forbidden":
        known = _known_keys(model, path[:-1])
        meant = _OTHER_WORDS.get(str(path[-1]), "")
        near = did_you_mean(str(path[-1]), known) if suggest else ""
        hint = f'did you mean "{meant}"?' if meant in known else near or f"the keys here are {', '.join(known)}"
        return source.mistake(path, f'unknown key "{path[-1]}"{_where(path[:-1])}', hint, key=True)
    if kind == "missing":
        return source.mistake(path[:-1], f'the key "{path[-1]}" is missing{_where(path[:-1])}', key=True)
    if kind == "mistake":
        return source.mistake((*path, *context.get("path", ())), context["sentence"])
    if kind == "literal_error":
        given = error["input"]
        choices = [choice.strip("'") for choice in context["expected"].replace(" or ", ", ").split(", ")]
        near = did_you_mean(given, choices) if isinstance(given, str) else ""
        shown = ", ".join(f'"{choice}"' if choice != "True" else "true" for choice in choices)
        expected = f"{shown} is expected" if len(choices) == 1 else f"one of {shown} is expected"
        return source.mistake(path, expected, near)
    if kind in ("greater_than_equal", "greater_than"):
        bound = context.get("ge", context.get("gt"))
        word = "at least" if kind == "greater_than_equal" else "more than"
        return source.mistake(path, f"this number must be {word} {bound}")
    if kind in ("less_than_equal", "less_than"):
        return source.mistake(path, f"this number must be at most {context.get('le', context.get('lt'))}")
    if kind in ("too_short", "string_too_short"):
        return source.mistake(path, "this may not be empty")
    return source.mistake(path, _EXPECTED.get(kind, str(error["msg"])), _brackets(kind, path, error["input"]))


def _brackets(kind: str, path: Path, given: object) -> str:
    """How to write the header of a table that is one of a list, or of one that is the only one."""
    header = ".".join(str(step) for step in path if isinstance(step, str))
    if kind == "list_type" and isinstance(given, dict):
        return f"write [[{header}]], as there may be several"
    if kind in ("model_type", "dict_type") and isinstance(given, list) and given and isinstance(given[0], dict):
        return f"write [{header}], as there is only one"
    return ""


def _data_path(data: object, loc: Path) -> Path:
    """The error's path without the elements that the file does not have, such as union tags; the last element
    of a missing or unknown key stays."""
    path: list[str | int] = []
    here = data
    for index, step in enumerate(loc):
        if isinstance(here, dict) and step in here:
            here = here[step]
        elif isinstance(here, list) and isinstance(step, int):
            here = here[step] if step < len(here) else None
        elif index < len(loc) - 1 or not isinstance(here, dict):
            continue
        path.append(step)
    return tuple(path)


def _where(path: Path) -> str:
    names = [str(step) for step in path if isinstance(step, str)]
    if not names:
        return ""
    listed = isinstance(path[-1], int)
    return f" in [[{'.'.join(names)}]]" if listed else f" in {'.'.join(names)}"


def _known_keys(model: type[BaseModel], path: Path) -> list[str]:
    """The keys that the table at `path` may hold."""
    here: list[Any] = [model]
    for step in path:
        here = [inner for each in here for inner in _step(each, step)]
    return sorted(
        {field.alias or name for each in here if _is_model(each) for name, field in each.model_fields.items()}
    )


def _is_model(annotation: object) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def _step(annotation: Any, step: str | int) -> list[Any]:
    if _is_model(annotation):
        for name, field in annotation.model_fields.items():
            if (field.alias or name) == step:
                return _unwrapped(field.annotation)
        return []
    inner = typing.get_args(annotation)
    if typing.get_origin(annotation) is list and isinstance(step, int):
        return _unwrapped(inner[0])
    if typing.get_origin(annotation) is dict:
        return _unwrapped(inner[1])
    return []


def _unwrapped(annotation: Any) -> list[Any]:
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        return _unwrapped(typing.get_args(annotation)[0])
    if origin in (typing.Union, types.UnionType):
        return [inner for each in typing.get_args(annotation) for inner in _unwrapped(each)]
    return [annotation]


def extend_tree(tree: KindTree, own: list[Kind], source: Source, mistakes: list[Mistake]) -> KindTree:
    """The tree with a file's own kinds; what is wrong with one of them is noted at its place."""
    if not own:
        return tree
    try:
        return tree.extended(own)
    except ValueError:
        for index, kind in sorted(enumerate(own), key=lambda each: each[1].path.count(".")):  # branches first
            try:
                tree = tree.extended([kind])
            except ValueError as error:
                mistakes.append(source.mistake(("kind", index, "id"), str(error)))
        return tree
