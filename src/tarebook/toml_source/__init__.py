"""TOML with positions: every mistake in a file names its line and column and shows the line."""

from tarebook.toml_source.mistakes import Mistake, MistakesFound, render, show_plain
from tarebook.toml_source.reading import Source, parse_source, read_source

__all__ = [
    "Mistake",
    "MistakesFound",
    "Source",
    "parse_source",
    "read_source",
    "render",
    "show_plain",
]
