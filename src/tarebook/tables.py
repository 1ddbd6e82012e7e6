"""Tables of a file read into plain classes, by their annotations: strict, with no unknown keys, all mistakes at once.

A class of tables derives from `Table` and annotates its keys, as in `count: Annotated[int, Between(1, 99)] | None`. An
annotation may be text, a whole number, yes or no, a date, a choice, a list, a table, tables by name, or one of these
with marks: `Between`, `NotEmpty`, `Read` (a function of ours reads the value) and `Written` (other forms in which it
may be written). A trailing underscore keeps a key off Python's own words: `if_` is the key `if`.

The general validation library takes longer to load, and to prepare some forty classes, than a whole check may take; it
serves where programs talk to programs, in `tarebook.show`.
"""

import datetime
import types
import typing
from collections.abc import Callable, Iterator
from typing import Any, ClassVar, Literal, NamedTuple, TypeVar

from tarebook.names import did_you_mean
from tarebook.toml_source import Mistake, Source

Path = tuple[str | int, ...]
Units = dict[str, str | None]
Schema = dict[str, Any]
T = TypeVar("T", bound="Table")
MOST_HINTS = 100  # mistakes of a file that get a suggestion: more take time, and nobody reads them
WRONG: Any = object()  # stands for a value that could not be read
# What people call a key that goes by another name here.
_OTHER_WORDS = {"weight": "mass", "name": "title", "type": "kind"}


class FieldError(ValueError):
    """What is wrong with a value, in one sentence; `path` leads to the wrong element within it."""

    def __init__(self, sentence: str, path: Path = ()) -> None:
        super().__init__(sentence)
        self.path = path


class Reading:
    """One reading of a file: its units, and the mistakes found so far."""

    def __init__(self, source: Source, units: Units) -> None:
        self.source = source
        self.units = units
        self.mistakes: dict[tuple[int, int, str], Mistake] = {}

    def note(self, path: Path, message: str, hint: str = "", *, key: bool = False) -> Any:
        """Note a mistake at a value, or at a key; WRONG comes back.

        Of a value's path, elements that the file does not have are dropped: another way of writing it lacks them.
        """
        if not key:
            path = self._in_the_file(path)
        mistake = self.source.mistake(path, message, hint, key=key)
        self.mistakes.setdefault((mistake.line, mistake.column, mistake.message), mistake)
        return WRONG

    def _in_the_file(self, path: Path) -> Path:
        here: Any = self.source.data
        for length, step in enumerate(path):
            known = step in here if isinstance(here, dict) else isinstance(here, list) and step in range(len(here))
            if not known:
                return path[:length]
            here = here[step]
        return path

    def suggest(self, given: object, known: list[str]) -> str:
        """The nearest of the known words, as a question; "" if none is near."""
        if not isinstance(given, str) or len(self.mistakes) >= MOST_HINTS:
            return ""
        return did_you_mean(given, known)


class Between(NamedTuple):
    """Marks a whole number that has bounds, both included."""

    least: int
    most: int | None = None


class NotEmpty:
    """Marks a list or a text that may not be empty."""


class Read:
    """Marks a value that `read` makes of what the file has, given the file's units; it raises FieldError."""

    def __init__(self, read: Callable[[Any, Units], object], schema: Schema) -> None:
        self.read = read
        self.schema = schema


class Written:
    """Marks a value that may also be written in other forms: `first` brings them into the form of the annotation.

    It raises FieldError. `forms` and `description` are for the JSON Schema.
    """

    def __init__(self, first: Callable[[Any], object], *forms: Schema, description: str) -> None:
        self.first = first
        self.forms = forms
        self.description = description


class Field(NamedTuple):
    """One key of a table. `read` gives the value, or WRONG with mistakes noted."""

    name: str
    key: str
    read: Callable[[Any, Path, Reading], Any]
    annotation: Any
    required: bool
    default: Any


class Table:
    """Base of every table. `stated` holds the names of the keys that the file states."""

    stated: frozenset[str]
    _fields: ClassVar[tuple[Field, ...]]

    def __init__(self, **values: Any) -> None:
        for field in fields_of(type(self)):
            setattr(self, field.name, values.get(field.name, field.default))
        self.stated = frozenset(values)

    def as_dict(self) -> dict[str, Any]:
        """The values by name."""
        return {field.name: getattr(self, field.name) for field in fields_of(type(self))}


def fields_of(table: type[Table]) -> tuple[Field, ...]:
    """The keys of a class of tables, in order; made out of its annotations when first asked for."""
    if "_fields" not in table.__dict__:
        table._fields = tuple(_fields(table))
    return table._fields


def _fields(table: type[Table]) -> Iterator[Field]:
    found: dict[str, tuple[Any, Any]] = {}
    for each in reversed(table.__mro__):
        if issubclass(each, Table) and each is not Table:
            own = vars(each)
            found |= {
                name: (annotation, own.get(name, WRONG)) for name, annotation in own.get("__annotations__", {}).items()
            }
    for name, (annotation, default) in found.items():
        yield Field(name, name.rstrip("_"), _reader(annotation), annotation, default is WRONG, default)


def read_file(table: type[T], source: Source, units: Units) -> tuple[T | None, list[Mistake]]:
    """Read a file's data; all of its mistakes come at once, and then no table."""
    reading = Reading(source, units)
    read = _read_table(table, source.data, (), reading)
    if read is WRONG or reading.mistakes:
        return None, list(reading.mistakes.values())
    return read, []


def _read_table(table: type[T], data: Any, path: Path, reading: Reading) -> T:
    if not isinstance(data, dict):
        return typing.cast(T, reading.note(path, "a table is expected", _one_table(data, path)))
    fields = fields_of(table)
    made = table.__new__(table)
    values = made.__dict__
    sound = True
    stated = []
    for field in fields:
        if field.key in data:
            value = values[field.name] = field.read(data[field.key], (*path, field.key), reading)
            sound = sound and value is not WRONG
            stated.append(field.name)
        elif field.required:
            reading.note(path, f'the key "{field.key}" is missing{_where(path)}', key=True)
            sound = False
        else:
            values[field.name] = field.default
    if len(stated) < len(data):
        known = sorted(field.key for field in fields)
        for key in data:
            if key not in known:
                _note_unknown(key, known, path, reading)
                sound = False
    made.stated = frozenset(stated)
    return made if sound else typing.cast(T, WRONG)


def _note_unknown(key: str, known: list[str], path: Path, reading: Reading) -> None:
    meant = _OTHER_WORDS.get(key, "")
    hint = f'did you mean "{meant}"?' if meant in known else reading.suggest(key, known)
    hint = hint or f"the keys here are {', '.join(known)}"
    reading.note((*path, key), f'unknown key "{key}"{_where(path)}', hint, key=True)


def _where(path: Path) -> str:
    names = [str(step) for step in path if isinstance(step, str)]
    if not names:
        return ""
    return f" in [[{'.'.join(names)}]]" if isinstance(path[-1], int) else f" in {'.'.join(names)}"


def _header(path: Path) -> str:
    return ".".join(str(step) for step in path if isinstance(step, str))


def _one_table(given: Any, path: Path) -> str:
    """How to write the header of a table that is the only one, where the file has a list of tables."""
    listed = isinstance(given, list) and given and isinstance(given[0], dict)
    return f"write [{_header(path)}], as there is only one" if listed else ""


# --- Readers, made of annotations

Reader = Callable[[Any, Path, Reading], Any]


def _reader(annotation: Any) -> Reader:
    origin, arguments = typing.get_origin(annotation), typing.get_args(annotation)
    if origin is typing.Annotated:
        return _marked(arguments[0], arguments[1:])
    if origin in (typing.Union, types.UnionType):
        (inner,) = (each for each in arguments if each is not types.NoneType)
        return _reader(inner)
    if origin is Literal:
        return _choice(arguments)
    if origin is list:
        return _list(_reader(arguments[0]))
    if origin is dict:
        return _by_name(_reader(arguments[1]))
    if isinstance(annotation, type) and issubclass(annotation, Table):
        return lambda value, path, reading: _read_table(annotation, value, path, reading)
    return _PLAIN[annotation]


def _marked(annotation: Any, marks: tuple[Any, ...]) -> Reader:
    for mark in marks:
        if isinstance(mark, Read):
            return _custom(mark.read)
    reader = _reader(annotation)
    for mark in marks:
        if isinstance(mark, Between):
            reader = _between(reader, mark)
        elif isinstance(mark, NotEmpty):
            reader = _not_empty(reader)
        elif isinstance(mark, Written):
            reader = _written(mark.first, reader)
    return reader


def _custom(read: Callable[[Any, Units], object]) -> Reader:
    def custom(value: Any, path: Path, reading: Reading) -> Any:
        try:
            return read(value, reading.units)
        except FieldError as error:
            return reading.note((*path, *error.path), str(error))

    return custom


def _written(first: Callable[[Any], object], reader: Reader) -> Reader:
    def written(value: Any, path: Path, reading: Reading) -> Any:
        try:
            value = first(value)
        except FieldError as error:
            return reading.note((*path, *error.path), str(error))
        return reader(value, path, reading)

    return written


def _between(reader: Reader, bounds: Between) -> Reader:
    def between(value: Any, path: Path, reading: Reading) -> Any:
        read = reader(value, path, reading)
        if read is WRONG:
            return WRONG
        if read < bounds.least:
            return reading.note(path, f"this number must be at least {bounds.least}")
        if bounds.most is not None and read > bounds.most:
            return reading.note(path, f"this number must be at most {bounds.most}")
        return read

    return between


def _not_empty(reader: Reader) -> Reader:
    def not_empty(value: Any, path: Path, reading: Reading) -> Any:
        read = reader(value, path, reading)
        return reading.note(path, "this may not be empty") if read is not WRONG and not read else read

    return not_empty


def _choice(choices: tuple[Any, ...]) -> Reader:
    known = frozenset(choices)
    shown = ", ".join("true" if choice is True else f'"{choice}"' for choice in choices)
    expected = f"{shown} is expected" if len(choices) == 1 else f"one of {shown} is expected"
    words = [choice for choice in choices if isinstance(choice, str)] if len(choices) > 1 else []

    def choice(value: Any, path: Path, reading: Reading) -> Any:
        if isinstance(value, (str, bool)) and value in known:
            return value
        return reading.note(path, expected, reading.suggest(value, words))

    return choice


def _list(reader: Reader) -> Reader:
    def listed(value: Any, path: Path, reading: Reading) -> Any:
        if not isinstance(value, list):
            hint = f"write [[{_header(path)}]], as there may be several" if isinstance(value, dict) else ""
            return reading.note(path, "a list in [square brackets] is expected", hint)
        read = [reader(each, (*path, index), reading) for index, each in enumerate(value)]
        return WRONG if any(each is WRONG for each in read) else read

    return listed


def _by_name(reader: Reader) -> Reader:
    def by_name(value: Any, path: Path, reading: Reading) -> Any:
        if not isinstance(value, dict):
            return reading.note(path, "a table is expected", _one_table(value, path))
        read = {name: reader(each, (*path, name), reading) for name, each in value.items()}
        return WRONG if any(each is WRONG for each in read.values()) else read

    return by_name


def _plain(kind: type, expected: str) -> Reader:
    def plain(value: Any, path: Path, reading: Reading) -> Any:
        return value if type(value) is kind else reading.note(path, expected)

    return plain


_PLAIN: dict[Any, Reader] = {
    str: _plain(str, "a text in quotes is expected"),
    int: _plain(int, "a whole number is expected"),
    bool: _plain(bool, "true or false is expected"),
    datetime.date: _plain(datetime.date, "a date such as 2026-04-05 is expected, without quotes"),
    Any: lambda value, path, reading: value,
}
