"""A mistake of reading as an entry of the proof: its sort, its clause, and its hint joined to the sentence."""

from collections.abc import Sequence
from typing import Any

from tarebook.proofread.findings import Blemish
from tarebook.toml_source import Mistake

_UNSORTED = "mistake"
# What the reading of tables says is told apart by its first words; all else is about a value.
_SORTS = (('unknown key "', "unknown-key"), ('the key "', "missing-key"))


def told(mistake: Mistake, data: Any = None) -> Blemish:
    """A mistake as proofreading tells it; `data` is that of its file, where its clause is looked up."""
    hint = f" {_sentence(mistake.hint)}" if mistake.hint else ""
    return Blemish(
        what=_sort(mistake),
        clause=_clause(mistake.path or (), data),
        sentence=_sentence(mistake.message) + hint,
        file=mistake.file,
        line=mistake.line,
        column=mistake.column,
    )


def _sort(mistake: Mistake) -> str:
    if mistake.what != _UNSORTED:
        return mistake.what
    if mistake.path is None:
        return "unreadable"
    return next((sort for start, sort in _SORTS if mistake.message.startswith(start)), "wrong-value")


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}" + ("" if text.endswith(("?", ".", "!")) else ".")


def _clause(path: Sequence[str | int], data: Any) -> str:
    """The clause that the nearest table around a place states: of a rule, else of its weight, class or group.

    That of the book is the clause of its silence, and of nothing else.
    """
    clause = ""
    if path[:1] == ("book",) and path[:2] != ("book", "silence"):
        return clause
    for step in path:
        known = step in data if isinstance(data, dict) else isinstance(data, list) and step in range(len(data))
        if not known:
            break
        data = data[step]
        if isinstance(data, dict) and isinstance(data.get("clause"), str):
            clause = data["clause"]
    return clause
