"""Gathers what is to be proofread: the files named, each edition as far as it can be read, and the bulletins on it."""

import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from tarebook.proofread.findings import Blemish
from tarebook.proofread.mending import is_an_identifier
from tarebook.proofread.salvaging import Reading, salvaged
from tarebook.proofread.telling import told
from tarebook.rules.bulletins import Bulletin, bulletin_from
from tarebook.rules.reading import RuleSet, hand_out, load_rules
from tarebook.toml_source import Mistake, MistakesFound, Source, read_source


def read_all(paths: Iterable[str | Path]) -> tuple[list[Reading], list[Blemish]]:
    """The editions in files and folders, and what is wrong with bulletins or between files.

    Raises MistakesFound where a file is missing or is no regular file, or a folder holds no rule set.
    """
    sources, broken = _sources(paths)
    readings = [salvaged(source) for source in sources if _sort(source) != "bulletin"]
    every = [*readings, *broken]
    return every, _beside([each for each in sources if _sort(each) == "bulletin"], sources, every)


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


def _beside(written: Iterable[Source], sources: Sequence[Source], readings: Sequence[Reading]) -> list[Blemish]:
    """Hand the bulletins out to the editions that could be read; what is wrong with them, and between files."""
    mistakes: list[Mistake] = []
    bulletins: list[Bulletin] = []
    for source in written:
        try:
            bulletins.append(bulletin_from(source))
        except MistakesFound as error:
            mistakes += error.mistakes
    editions = [reading.rules for reading in readings if reading.rules is not None]
    found = hand_out(bulletins, editions)
    for edition in editions:
        found += _keep_what_fits(edition)
    data = {source.name: source.data for source in sources}
    mistakes += [each for each in dict.fromkeys(found) if not _for_want_of(each, readings, data)]
    return [told(each, data.get(each.file)) for each in mistakes]


def _for_want_of(mistake: Mistake, readings: Sequence[Reading], data: Mapping[str, Any]) -> bool:
    """Whether a mistake only misses an edition that could not be read, or something that was left out of one."""
    for left in (left for each in readings for left in each.left_out):
        if mistake.what in left.nameless or any(f'"{name}"' in mistake.message for name in left.called):
            return True
    unread = [each.name for each in readings if each.rules is None]
    if not unread or mistake.what not in ("unknown-book", "unknown-edition"):
        return False
    books = [data.get(name, {}).get("book") for name in unread]
    names = [book.get("id") if isinstance(book, dict) else None for book in books]
    return any(not is_an_identifier(name) or f'"{name}"' in mistake.message for name in names)


def _keep_what_fits(edition: RuleSet) -> list[Mistake]:
    """Take out the bulletins in force that do not fit the edition, and say why.

    A proposal that does not fit shows where proposals are asked for.
    """
    mistakes: list[Mistake] = []
    fitting: list[Bulletin] = []
    for each in edition.bulletins_known:
        days = each.file.in_force
        if each.proposed or days is None:
            fitting.append(each)
            continue
        before = [one for one in fitting if not one.proposed and one.covers(days.from_)]
        try:
            edition.with_bulletins((*before, each))
        except MistakesFound as error:
            mistakes += error.mistakes
        else:
            fitting.append(each)
    edition.bulletins_known[:] = fitting
    return mistakes
