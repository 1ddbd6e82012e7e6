"""What each key of the files means, for editors: read from `key_meanings.toml`, whose head says how it is written."""

from importlib import resources
from typing import NamedTuple

# Classes of tables that hold the same words, under another name in the data file.
_UNDER_ANOTHER_NAME = {"NumberRange": "Bounds", "MassRange": "Bounds", "LengthRange": "Bounds"}


class KeyMeaning(NamedTuple):
    """One key: its meaning in a line, and examples of one value of it.

    Where `continued`, the words for the form of the value follow.
    """

    says: str
    continued: bool = False
    examples: tuple[object, ...] = ()

    def sentence(self, form: str = "") -> str:
        """The whole line; `form` are the words for the form of the value."""
        return f"{self.says}: {form}." if self.continued else self.says


class KeyMeanings:
    """The meanings of all keys, by the name of the class of tables and the key."""

    def __init__(self, tables: dict[str, dict[str, KeyMeaning]]) -> None:
        self.tables = tables

    def of(self, names: tuple[str, ...], key: str) -> KeyMeaning:
        """The meaning of a key in a class, whose names go from its own to the last that it is built on.

        Raises KeyError if there is none.
        """
        return self.tables[self.place(names, key)][key]

    def place(self, names: tuple[str, ...], key: str) -> str:
        """The table of the data file that has the meaning. Raises KeyError."""
        for name in (_UNDER_ANOTHER_NAME.get(each, each) for each in names):
            if key in self.tables.get(name, {}):
                return name
        raise KeyError(f"{names[0]}.{key} has no meaning")


def read_meanings() -> KeyMeanings:
    """Read the data file."""
    import tomli

    text = resources.files("tarebook.show").joinpath("key_meanings.toml").read_text(encoding="utf-8")
    tables = tomli.loads(text)
    return KeyMeanings({name: {key: _meaning(of) for key, of in keys.items()} for name, keys in tables.items()})


def _meaning(written: str | dict[str, object]) -> KeyMeaning:
    if isinstance(written, str):
        written = {"says": written}
    says, examples = written["says"], written.get("examples", [])
    assert isinstance(says, str) and isinstance(examples, list)
    return KeyMeaning(says.removesuffix(":"), says.endswith(":"), tuple(examples))
