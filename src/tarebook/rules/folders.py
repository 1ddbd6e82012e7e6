"""Folders within a folder of rule sets: they are not read with it, but what they hold can be told."""

from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from tarebook.toml_source import MistakesFound, read_source

_MOST_FOLDERS = 50
_MOST_FILES = 200  # that are looked into, of one folder


class InnerFolder(NamedTuple):
    """A folder that holds rule sets: which editions, by the ids of their books, as far as they say."""

    path: Path
    editions: tuple[tuple[str, str], ...]


def inner_folders(folders: Iterable[Path]) -> list[InnerFolder]:
    """The folders right within some folders that hold rule sets, by name. What is no folder has none."""
    found = []
    for folder in folders:
        within = sorted(each for each in folder.iterdir() if each.is_dir()) if folder.is_dir() else []
        for each in within[:_MOST_FOLDERS]:
            editions = tuple(_editions(each))
            if editions:
                found.append(InnerFolder(each, editions))
    return found


def _editions(folder: Path) -> list[tuple[str, str]]:
    found = []
    with suppress(OSError):
        for path in sorted(folder.glob("*.toml"))[:_MOST_FILES]:
            with suppress(MistakesFound):
                data = read_source(path).data
                book = data.get("book")
                if str(data.get("format")).startswith("tarebook-rules/") and isinstance(book, dict):
                    found.append((str(book.get("id", "")), str(book.get("edition", ""))))
    return found
