"""A changeable copy of a rule file's data, in which every piece remembers where it was written."""

from collections.abc import Sequence
from copy import deepcopy
from dataclasses import replace
from typing import Any

from tarebook.toml_source import Mistake, Source

_RULE = 4  # steps that lead to a rule or to a key of weight
Path = tuple[str | int, ...]
Origin = tuple[Source, Path]


class Draft:
    """Starts as the data of a file; what is put into it comes from other files, or from other places of this one."""

    def __init__(self, source: Source) -> None:
        self._base = source
        self._origins: dict[Path, Origin] = {}
        self.data: dict[str, Any] = deepcopy(source.data)

    def at(self, path: Path) -> Any:
        """The value at a path; None if there is none."""
        here: Any = self.data
        for step in path:
            known = step in here if isinstance(here, dict) else isinstance(here, list) and step in range(len(here))
            if not known:
                return None
            here = here[step]
        return here

    def origin(self, path: Sequence[str | int]) -> Origin:
        """The file in which a piece was written, and its place there."""
        whole = tuple(path)
        for length in range(len(whole), 0, -1):
            if whole[:length] in self._origins:
                source, place = self._origins[whole[:length]]
                return source, (*place, *whole[length:])
        return self._base, whole

    def put(self, path: Path, value: Any, source: Source, place: Path) -> None:
        """Set the value at a path, or add it where the path is the next of a list; the tables above must be there."""
        holder, last = self.at(path[:-1]), path[-1]
        self._forget(path)
        if isinstance(holder, list) and last == len(holder):
            holder.append(deepcopy(value))
        else:
            holder[last] = deepcopy(value)
        self._origins[path] = (source, place)

    def remove(self, path: Path, index: int) -> None:
        """Take an entry out of the list at a path."""
        entries = self.at(path)
        origins = [self.origin((*path, number)) for number in range(len(entries))]
        within: dict[Path, Origin] = {}
        for each in self._under(path):
            number = each[len(path)]
            assert isinstance(number, int)
            if number != index:
                moved = number - (number > index)
                within[(*path, moved, *each[len(path) + 1 :])] = self._origins[each]
        self._forget(path, keep=True)
        del entries[index], origins[index]
        self._origins |= {(*path, number): origin for number, origin in enumerate(origins)}
        self._origins |= within

    def drop(self, path: Path) -> None:
        """Take a key out of its table."""
        self._forget(path)
        del self.at(path[:-1])[path[-1]]

    def source(self) -> Source:
        """The data as it is now, with the places where its pieces were written."""
        return AmendedSource(self._base, deepcopy(self.data), dict(self._origins))

    def _under(self, path: Path) -> list[Path]:
        return [each for each in self._origins if len(each) > len(path) and each[: len(path)] == path]

    def _forget(self, path: Path, *, keep: bool = False) -> None:
        for each in self._under(path):
            del self._origins[each]
        if not keep:
            self._origins.pop(path, None)


class AmendedSource(Source):
    """A file with pieces that other files wrote; its name and digest are those of the file itself."""

    def __init__(self, base: Source, data: dict[str, Any], origins: dict[Path, Origin]) -> None:
        super().__init__(base.name, base.content, base.text, data)
        self._base = base
        self._file: Source = base._file if isinstance(base, AmendedSource) else base
        self._origins = origins

    def place(self, path: Sequence[str | int], *, key: bool = False) -> tuple[int, int, int, str]:
        """As of a single file: line, column, length and source line, in the file that wrote the piece."""
        source, place = self._origin(path)
        return source.place(place, key=key)

    def where(self, path: Sequence[str | int]) -> tuple[str, int]:
        whole = tuple(path)
        if len(whole) >= _RULE and self._origin(whole)[0] is self._base:
            within = [each for each in self._origins if len(each) > len(whole) and each[: len(whole)] == whole]
            if within:
                whole = within[0]  # what was changed in a rule is what makes it read as it does
        source, place = self._origin(whole)
        return source.where(place)

    def mistake(
        self, path: Sequence[str | int], message: str, hint: str = "", *, key: bool = False, what: str = "mistake"
    ) -> Mistake:
        source, place = self._origin(path)
        return replace(source.mistake(place, message, hint, key=key, what=what), path=tuple(path))

    def origin(self, path: Sequence[str | int]) -> Origin:
        """The very file in which a piece was written, and its place there."""
        source, place = self._origin(path)
        return source.origin(place) if isinstance(source, AmendedSource) else (source, place)

    def writers(self, path: Sequence[str | int]) -> list[Source]:
        """The other files that wrote the piece at a path, or something within it."""
        whole = tuple(path)
        length = len(whole)
        within = [origin for each, origin in self._origins.items() if len(each) > length and each[:length] == whole]
        found: dict[Source, None] = {}
        for source, place in (self._origin(whole), *within):
            found |= dict.fromkeys(source.writers(place) if isinstance(source, AmendedSource) else (source,))
        found.pop(self._file, None)
        return list(found)

    def _origin(self, path: Sequence[str | int]) -> Origin:
        whole = tuple(path)
        for length in range(len(whole), 0, -1):
            if whole[:length] in self._origins:
                source, place = self._origins[whole[:length]]
                return source, (*place, *whole[length:])
        return self._base, whole
