"""Rows of a spreadsheet as new entries of a car file: nothing is written, and nothing that is there is changed."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from tarebook.car.editing import AddEntries, Edited, EditRefused, edited
from tarebook.car.models import Part
from tarebook.car.plausible import questions
from tarebook.car.reading import Car
from tarebook.car.spreadsheet.cells import numbers_in, unguarded, value_of, with_points
from tarebook.car.spreadsheet.columns import Column, Path
from tarebook.car.spreadsheet.kind_guesses import MOST_GUESSES, KindGuesses
from tarebook.car.spreadsheet.recognising import Table
from tarebook.car.spreadsheet.refusals import CellError, SpreadsheetRefused
from tarebook.car.spreadsheet.sameness import differences
from tarebook.car.spreadsheet.stand_ins import ID, stand_in
from tarebook.kinds import KindTree, builtin
from tarebook.toml_source import Mistake, MistakesFound


@dataclass
class NewEntry:
    """An entry that a row makes. `guessed_from` is the text that its kind was guessed from, if it was."""

    table: Table
    row: int
    data: dict[str, Any] = field(default_factory=dict)
    guessed_from: str = ""
    open_kind: bool = False
    wrong: set[Path] = field(default_factory=set)  # what has a mistake of the spreadsheet's own

    @property
    def id(self) -> str:
        return str(self.data.get("id", ""))


@dataclass(frozen=True)
class Plan:
    """What an import would do: the entries that are new, those that are there already, and the car file afterwards."""

    tables: tuple[Table, ...]
    new: tuple[NewEntry, ...]
    there: tuple[NewEntry, ...]
    edited: Edited

    def doubts(self) -> list[tuple[NewEntry, str]]:
        """What to ask about masses of new parts that look like a slip, such as pounds taken for kilograms."""
        tree = builtin().extended(self.edited.car.own_kinds)
        parts = self.edited.car.inventory.parts
        found = []
        for entry in self.new:
            if entry.table.which == "part":
                part = parts[entry.id]
                asked = questions(
                    part.kind, part.mass or part.mass_together or part.mass_each or [], tree, pieces=_pieces(part)
                )
                found += [(entry, question) for question in asked]
        return found

    @property
    def guesses(self) -> list[NewEntry]:
        """The new entries with a guessed kind."""
        return [each for each in self.new if each.guessed_from]


def plan_import(car: Car, tables: Sequence[Table], kinds: Mapping[int, str] | None = None) -> Plan:
    """What the tables add to a car file; `kinds` are kinds of parts that were chosen by hand, by row.

    Raises MistakesFound with every mistake in any cell, SpreadsheetRefused where the car file cannot take the entries.
    """
    planning = _Planning(car, kinds or {})
    for table in tables:
        planning.read(table)
    return planning.plan(tuple(tables))


class _Planning:
    def __init__(self, car: Car, kinds: Mapping[int, str]) -> None:
        self.car = car
        self.kinds = kinds
        self.mistakes: list[Mistake] = []
        self.new: dict[str, list[NewEntry]] = {}
        self.there: list[NewEntry] = []

    def read(self, table: Table) -> None:
        entries = [self._entry(table, row, cells) for row, cells in table.rows.items()]
        self._name(entries, table)
        new = self.new.setdefault(table.which, [])
        before = {each["id"]: index for index, each in enumerate(self.car.source.data.get(table.which, []))}
        seen: dict[str, int] = {}
        for entry in entries:
            if entry.id in seen:
                self._note(entry, "id", f'the {table.which} "{entry.id}" is in row {seen[entry.id]} already')
            elif entry.id in before:
                self._compare(entry, before[entry.id])
                continue
            if table.which == "part":
                self._settle_kind(entry)
            if entry.id:
                seen.setdefault(entry.id, entry.row)
            new.append(entry)

    def plan(self, tables: tuple[Table, ...]) -> Plan:
        try:
            after = self._edited()
        except EditRefused as refused:
            raise MistakesFound(self.mistakes) if self.mistakes else SpreadsheetRefused(str(refused)) from None
        except MistakesFound as found:
            self.mistakes += self._in_cells(found.mistakes)
            self._look_again()
        if self.mistakes:
            raise MistakesFound(self.mistakes)
        return Plan(tables, tuple(each for new in self.new.values() for each in new), tuple(self.there), after)

    def _edited(self) -> Edited:
        changes = [AddEntries(which, [each.data for each in new]) for which, new in self.new.items() if new]
        return edited(self.car.source, changes)

    def _look_again(self) -> None:
        """Find what hid behind the mistakes so far: a car file is looked through as a whole only if each value is one.

        Cells with mistakes get values that nothing is wrong with, and only what is wrong with other cells is noted.
        """
        for new in self.new.values():
            for entry in new:
                stand_in(entry.data, entry.table.which, entry.wrong, entry.row)
        try:
            self._edited()
        except EditRefused:
            return
        except MistakesFound as found:
            self.mistakes += self._in_cells(found.mistakes, only=True)

    # --- Rows to entries

    def _entry(self, table: Table, row: int, cells: list[str]) -> NewEntry:
        entry = NewEntry(table, row)
        for place, column in table.columns.items():
            cell = cells[place]
            if not cell or (column.form != "text" and not cell.strip()):
                continue
            try:
                value = self._value(cell, column, table)
                _put(entry.data, column, value)
            except CellError as error:
                self.mistakes.append(table.mistake(row, place, str(error), error.hint))
                entry.wrong.add(column.path)
                with suppress(CellError):  # left in as it is, so that what else is wrong is found as well
                    _put(entry.data, column, cell[:100])
        return entry

    def _value(self, cell: str, column: Column, table: Table) -> Any:
        if cell.startswith("="):
            raise CellError(
                "this is a formula, not what it comes to", "save the values; put ' before a text that begins with ="
            )
        cell = unguarded(cell)
        if table.decimal_comma:
            for number in numbers_in(cell, column):
                if "." in number and "," not in number:
                    raise CellError(
                        "the other numbers have decimal commas, so the point here could part thousands",
                        f"write {number.replace('.', ',')} or {number.replace('.', '')}",
                    )
            cell = with_points(cell, column)
        return value_of(cell, column, self.car.units.get(column.dimension or ""))

    def _name(self, entries: list[NewEntry], table: Table) -> None:
        """Names for the entries that have none, made from their titles; no two alike."""
        taken = {each.id for each in entries}
        for entry in entries:
            if "id" in entry.data:
                continue
            base = name_from(str(entry.data.get("title", "")))
            if not base:
                self._note(entry, "id", "there is no id here, and no title to make one from")
                continue
            name, count = base, 1
            while name in taken:
                count += 1
                name = f"{base}-{count}"
            taken.add(name)
            entry.data = {"id": name, **entry.data}

    # --- Kinds

    @cached_property
    def _tree(self) -> KindTree:
        return builtin().extended(self.car.own_kinds)

    @cached_property
    def _guesses(self) -> KindGuesses:
        return KindGuesses(self._tree)

    def _settle_kind(self, entry: NewEntry) -> None:
        """Guess a kind that is missing or cannot be one; a name that a rule set could declare is left as it is."""
        given, title = str(entry.data.get("kind", "")), str(entry.data.get("title", ""))
        if entry.row in self.kinds:
            entry.data["kind"] = self.kinds[entry.row]
        elif given in self._tree or ("kind",) in entry.wrong:
            return
        elif any(branch in self._tree for branch in self._tree.parents(given)):
            entry.open_kind = True
        else:
            source = next((each for each in (given, title) if each and self._guesses.guess(each)), "")
            if source:
                entry.data["kind"] = self._guesses.guess(source)
                entry.guessed_from = source
            elif given:
                self._note(entry, "kind", f'there is no kind "{given}"', "tarebook kinds WORD looks for one")
            else:
                none = f"more than {MOST_GUESSES} others lack one too" if self._guesses.full else "none fits the title"
                message = f"there is no kind here, and {none}"
                self._note(entry, "kind", message, "tarebook kinds WORD looks for one")
        entry.data = {key: entry.data[key] for key in ("id", "kind") if key in entry.data} | entry.data

    # --- Entries that are there already

    def _compare(self, entry: NewEntry, index: int) -> None:
        which = entry.table.which
        there = self.car.source.data[which][index]
        asked = {column.path for column in entry.table.columns.values()}
        if "kind" not in entry.data:
            asked.discard(("kind",))  # it would have been guessed
        found = [each for each in differences(which, there, entry.data, self.car.units) if each.path in asked]
        if not found:
            self.there.append(entry)
        elif not entry.wrong:
            line = self.car.source.line((which, index))
            shown = "; ".join(f"{'.'.join(each.path)} is {each.there} there and {each.here} here" for each in found)
            message = f'the {which} "{entry.id}" is in {self.car.source.name}, line {line}, and differs: {shown}'
            self._note(entry, "id", message, "change it there by hand, or give this one an id of its own")

    # --- Mistakes

    def _note(self, entry: NewEntry, key: str, message: str, hint: str = "") -> None:
        entry.wrong.add((key,))
        self.mistakes.append(entry.table.mistake(entry.row, _place(entry.table, (key,)), message, hint))

    def _in_cells(self, mistakes: Iterable[Mistake], *, only: bool = False) -> list[Mistake]:
        """Mistakes that the car file would have, at the cells that they come from.

        Others stay where they are, or are left out if it is cells `only`.
        """
        placed: list[Mistake] = []
        found: list[tuple[NewEntry, Path]] = []
        for each in mistakes:
            which, index, *inner = each.path or ("", 0)
            new = self.new.get(str(which), [])
            old = len(self.car.source.data.get(str(which), []))
            if not (isinstance(index, int) and old <= index < old + len(new)):
                placed += [] if only else [each]
                continue
            entry = new[index - old]
            path = tuple(str(step) for step in inner)
            if any(path[: len(wrong)] == wrong[: len(path)] for wrong in entry.wrong):
                continue  # said of the cell already
            hint = "" if only and ID in each.hint else each.hint  # nobody knows a name that stands in
            placed.append(entry.table.mistake(entry.row, _place(entry.table, path), each.message, hint))
            found.append((entry, path))
        for entry, path in found:
            entry.wrong.add(path)
        return placed


def _pieces(part: Part) -> int:
    """Of how many pieces each reading of a part is one."""
    return part.count if part.mass_each is not None and part.count is not None else 1


def _put(data: dict[str, Any], column: Column, value: Any) -> None:
    """Put a value in its place. Raises CellError where another cell of the row has put something else there."""
    *above, last = column.path
    here = data
    for step in above:
        here = here.setdefault(step, {})
        if not isinstance(here, dict):
            break
    if not isinstance(here, dict) or last in here:
        raise CellError(f"{column.key} is stated by another cell of this row too")
    here[last] = value


def _place(table: Table, path: Path) -> int | None:
    """The column that a path of an entry comes from: the nearest, as a path may lead into a cell."""
    places = {column.path: place for place, column in table.columns.items()}
    for length in range(len(path), 0, -1):
        if path[:length] in places:
            return places[path[:length]]
    within = [place for column, place in places.items() if path and column[0] == path[0]]
    return within[0] if within else None


def name_from(title: str) -> str:
    """A name made of the Latin letters and digits of a title, or "" if it has none."""
    plain = unicodedata.normalize("NFKD", title).encode("ascii", "ignore").decode().lower().replace("'", "")
    return re.sub(r"[^a-z0-9]+", "-", plain)[:60].strip("-")
