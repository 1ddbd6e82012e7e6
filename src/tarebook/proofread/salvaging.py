"""Reads rule-set files as far as they can be read, for proofreading.

A mistake of reading hides what comes after it. So an entry with a mistake is told and left out, and the rest is read
again, until it can be read or what is wrong is more than a single entry.
"""

import os
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from tarebook.proofread.findings import Blemish
from tarebook.rules.classes import RULE_LISTS
from tarebook.rules.drafts import Draft
from tarebook.rules.reading import RuleSet, load_rules, rules_from, rules_of
from tarebook.toml_source import Mistake, MistakesFound, Source, read_source

DataPath = tuple[str | int, ...]
_Entry = tuple[DataPath, int]  # a list in a file's data, and a number in it
_MOST_READINGS = 8
_MOST_LEFT_OUT = 200  # beyond that many, what is left of a rule set says little
_LISTS_OF_NAMES = ("despite", "finish", "drops", "uses")


class LeftOut(NamedTuple):
    """An entry with a mistake: the form of rule that it is, or "example", and its keys as written."""

    form: str
    entry: Any

    def names(self, key: str) -> set[str]:
        """The texts that it lists under a key."""
        listed = self.entry.get(key) if isinstance(self.entry, dict) else None
        return {each for each in listed if isinstance(each, str)} if isinstance(listed, list) else set()

    @property
    def called(self) -> set[str]:
        """What other entries may call it: its clause, each that this stands under, its id."""
        if not isinstance(self.entry, dict):
            return set()
        levels = str(self.entry.get("clause", "")).split(".")
        clauses = {".".join(levels[:count]) for count in range(1, len(levels) + 1)}
        return (clauses | {str(self.entry.get("id", ""))}) - {""}


class Reading(NamedTuple):
    """An edition as far as it could be read."""

    name: str
    rules: RuleSet | None
    mistakes: tuple[Blemish, ...] = ()
    left_out: tuple[LeftOut, ...] = ()


def read_all(paths: Iterable[str | Path]) -> tuple[list[Reading], list[Blemish]]:
    """The editions in files and folders, and what is wrong with bulletins or between files.

    Raises MistakesFound where a file is missing or is no regular file, or a folder holds no rule set.
    """
    return _read(_sources(paths))


def _sources(paths: Iterable[str | Path]) -> tuple[list[Source], list[Reading]]:
    """The files of rules and bulletins, and those that are no TOML. Raises MistakesFound for what is no file at all."""
    found: dict[Path, Source | Reading] = {}
    for path in map(Path, paths):
        folder = path.is_dir()
        held = False
        for each in sorted(path.glob("*.toml")) if folder else [path]:
            try:
                source = read_source(each)
            except MistakesFound as error:
                if not each.is_file() or not os.access(each, os.R_OK):
                    raise
                found[each.resolve()] = Reading(str(each), None, tuple(told(one) for one in error.mistakes))
                held = True
                continue
            sort = _sort(source)
            if not folder or sort in ("", "rules", "bulletin"):
                found.setdefault(each.resolve(), source)
                held = held or sort != "bulletin"
        if folder and not held:
            load_rules(path)  # says that this folder holds no rule set
    broken = [each for each in found.values() if isinstance(each, Reading)]
    return [each for each in found.values() if isinstance(each, Source)], broken


def _sort(source: Source) -> str:
    stated = source.data.get("format")
    if not isinstance(stated, str) or not stated.startswith("tarebook-"):
        return ""
    return stated.removeprefix("tarebook-").partition("/")[0]


def _read(files: tuple[list[Source], list[Reading]]) -> tuple[list[Reading], list[Blemish]]:
    """The editions, and what is wrong with bulletins or between files."""
    sources, broken = files
    try:
        return [*(Reading(rules.source.name, rules) for rules in rules_of(sources)), *broken], []
    except MistakesFound as error:
        readings = [_salvaged(source) for source in sources if _sort(source) != "bulletin"]
        known = {(each.file, each.line, each.column) for reading in readings for each in reading.mistakes}
        beside = [each for each in error.mistakes if (each.file, each.line, each.column) not in known]
        return [*readings, *broken], [told(each) for each in beside]


def _salvaged(source: Source) -> Reading:
    """A rule set without the entries that have mistakes, and those mistakes."""
    draft, text = Draft(source), source
    found: dict[Mistake, Blemish] = {}
    gone: set[str] = set()
    left_out: list[LeftOut] = []
    for _ in range(_MOST_READINGS):
        try:
            return Reading(source.name, rules_from(text), tuple(found.values()), tuple(left_out))
        except MistakesFound as error:
            out: dict[_Entry, bool] = {}  # and whether it is but a name that an entry lists
            for mistake in error.mistakes:
                misses = any(f'"{name}"' in mistake.message for name in gone)  # only what was left out before
                if not misses:
                    found.setdefault(mistake, told(mistake, draft.data))
                named = _named(mistake.path) if misses else None
                entry = named or _entry(mistake.path)
                if entry is None:
                    return Reading(source.name, None, tuple(found.values()), tuple(left_out))
                out[entry] = named is not None
        if len(left_out) + len(out) > _MOST_LEFT_OUT:
            break
        for path, number in sorted(out, key=lambda each: (len(each[0]), each[1]), reverse=True):  # the inner first
            if not out[path, number]:
                left = LeftOut(str(path[-1]), draft.at((*path, number)))
                left_out.append(left)
                gone |= left.called
            draft.remove(path, number)
        text = draft.source()
    return Reading(source.name, None, tuple(found.values()), tuple(left_out))


def _named(path: DataPath | None) -> _Entry | None:
    """The name in a list of names that a place is, such as one of `despite`; None if it is none."""
    if path is None or len(path) < 2 or not isinstance(path[-1], int) or path[-2] not in _LISTS_OF_NAMES:
        return None
    return path[:-1], path[-1]


def _entry(path: DataPath | None) -> _Entry | None:
    """The rule, correction or example that a place lies in, as its list and its number there; None if in none."""
    if path is None:
        return None
    if path[:1] == ("example",):
        depth = 1
    elif len(path) > 3 and path[2] in RULE_LISTS:
        depth = 3
    elif path[2:4] == ("weight", "adjust"):
        depth = 4
    else:
        return None
    number = path[depth] if len(path) > depth else None
    return (path[:depth], number) if isinstance(number, int) else None


def told(mistake: Mistake, data: Any = None) -> Blemish:
    """A mistake of reading as an entry of the proof, its hint joined to the sentence."""
    hint = f" {_sentence(mistake.hint)}" if mistake.hint else ""
    return Blemish(
        what=mistake.what,
        clause=_clause(mistake.path or (), data),
        sentence=_sentence(mistake.message) + hint,
        file=mistake.file,
        line=mistake.line,
        column=mistake.column,
    )


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith(("?", ".", "!")) else ".")


def _clause(path: Sequence[str | int], data: Any) -> str:
    """The clause that a place lies in: of its rule, else of its weight, class or group."""
    clause = ""
    if path and path[0] in ("class", "group"):
        for step in path:
            known = step in data if isinstance(data, dict) else isinstance(data, list) and step in range(len(data))
            if not known:
                break
            data = data[step]
            if isinstance(data, dict) and isinstance(data.get("clause"), str):
                clause = data["clause"]
    return clause
