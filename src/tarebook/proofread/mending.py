"""What is left out, or stood in for, so that the rest of a rule set with a mistake can be read.

The smallest thing goes: a name that a list has, a rule, a correction, an example. Where the mistake is in no such
thing, a key goes, a stand-in takes the place of what must be there, or a table gets the brackets that were meant. What
is read after that is no longer the whole edition.
"""

import datetime
import re
from collections.abc import Iterable
from typing import Any, NamedTuple

from tarebook.rules.classes import RULE_LISTS
from tarebook.rules.drafts import Draft

DataPath = tuple[str | int, ...]
_LISTS_OF_NAMES = ("despite", "finish", "drops", "uses")
_NAMES_OF_A_CLASS = ("drops", "uses")
WORDS = ("says", "note")
_LISTS = ("fact", "kind", "group", "class", "example")
_IDENTIFIER, _CLAUSE = r"[a-z0-9][a-z0-9_.-]*", r"[A-Za-z0-9()§-]+(\.[A-Za-z0-9()§-]+)*"
_BOOK: dict[str, Any] = {
    "id": "unknown",
    "title": "",
    "edition": "",
    "in_force": {"from": datetime.date.min},
    "silence": "forbids",
}
_FILE: dict[str, Any] = {"format": "tarebook-rules/1", "book": _BOOK}


class Entry(NamedTuple):
    """Leave an entry out of the list at a path; `name` marks one that is but a name."""

    path: DataPath
    number: int
    name: bool = False


class Key(NamedTuple):
    """Leave a key out of its table."""

    path: DataPath


class StandIn(NamedTuple):
    """Put a value in the place of one that is missing or wrong."""

    path: DataPath
    value: Any


class Brackets(NamedTuple):
    """Make a list of one table, or a table of such a list: single brackets for double ones, or the other way."""

    path: DataPath


Step = Entry | Key | StandIn | Brackets


def steps_for(data: dict[str, Any], path: DataPath | None, *, misses: bool) -> list[Step]:
    """What to do about a mistake at a place; nothing where no step helps. `misses`: it only misses what went before."""
    if path is None:
        return []
    step = _name(path, misses) or _words(path) or _entry(path)
    if step is not None:
        return [step]
    if len(path) < 2:
        return _at_the_top(data, path)
    top, second = path[:2]
    if top == "book":
        return [StandIn(path[:2], _BOOK[second]) if second in _BOOK else Key(path[:2])]
    if top in ("class", "group") and isinstance(second, int):
        return _in_a_holder(data[top][second], path)
    if top in _LISTS and isinstance(second, int):
        return [Entry((top,), second)]
    return [Key(path[:2] if top == "units" else path[:1])]


def _name(path: DataPath, misses: bool) -> Entry | None:
    """The name in a list of names that a place is, such as one of `despite`; None if it is none.

    A rule that names something wrong goes as a whole, but not where what it names went before.
    """
    if len(path) < 2 or not isinstance(path[-1], int) or path[-2] not in _LISTS_OF_NAMES:
        return None
    return Entry(path[:-1], path[-1], name=True) if misses or path[-2] in _NAMES_OF_A_CLASS else None


def _words(path: DataPath) -> Key | None:
    """The words or the note of a rule that a place is, without which the rule decides as before; None if neither."""
    in_a_rule = len(path) == 5 and path[2] in RULE_LISTS and path[2] != "ask"
    return Key(path) if in_a_rule and path[-1] in WORDS else None


def _entry(path: DataPath) -> Entry | None:
    """The rule, correction or example that a place lies in; None if in none."""
    if path[:1] == ("example",):
        depth = 1
    elif len(path) > 3 and path[2] in RULE_LISTS:
        depth = 3
    elif path[2:4] == ("weight", "adjust"):
        depth = 4
    else:
        return None
    number = path[depth] if len(path) > depth else None
    return Entry(path[:depth], number) if isinstance(number, int) else None


def _at_the_top(data: dict[str, Any], path: DataPath) -> list[Step]:
    if not path:
        return _stand_ins(data, path, _FILE)
    (top,) = path
    value = data.get(str(top))
    if (top in _LISTS and isinstance(value, dict)) or (top in ("book", "units") and _is_one_table(value)):
        return [Brackets(path)]
    if top == "book" and isinstance(value, dict):
        return _stand_ins(value, path, _BOOK)
    return [StandIn(path, _FILE[str(top)]) if top in _FILE else Key(path)]


def _stand_ins(table: dict[str, Any], path: DataPath, required: dict[str, Any]) -> list[Step]:
    return [StandIn((*path, key), value) for key, value in required.items() if key not in table]


def _in_a_holder(holder: Any, path: DataPath) -> list[Step]:
    """Within a class or a group."""
    top, number = path[:2]
    assert isinstance(number, int)
    whole = Entry((top,), number)
    if not isinstance(holder, dict):
        return [whole]
    required = {"id": _as_a_name(holder.get("id"), f"{top}-{number + 1}")} | ({"title": ""} if top == "class" else {})
    if len(path) == 2:
        return _stand_ins(holder, path, required) or [whole]
    key = path[2]
    if key in required:
        return [StandIn(path[:3], required[str(key)])]
    value = holder.get(str(key))
    if len(path) == 3:
        listed, single = key in RULE_LISTS and isinstance(value, dict), key == "weight" and _is_one_table(value)
        return [Brackets(path) if listed or single else Key(path)]
    if key != "weight" or not isinstance(value, dict):
        return [Key(path[:3])]
    listed = path[3:] == ("adjust",) and isinstance(value.get("adjust"), dict)
    return [Brackets(path) if listed else Key(path[:4])]


def _as_a_name(written: Any, otherwise: str) -> str:
    """The name that was probably meant; `otherwise` for none, and for one that is in order but written twice."""
    name = re.sub("[^a-z0-9_-]+", "-", written.casefold()).strip("-") if isinstance(written, str) else ""
    return name if name and name != written else otherwise


def _is_one_table(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 1 and isinstance(value[0], dict)


def nameless(form: str, entry: Any) -> set[str]:
    """The sorts of mistakes that an entry without a name causes where others name it."""
    found = set()
    if isinstance(entry, dict) and form != "example":
        if form in RULE_LISTS and not _is_a(entry.get("clause"), _CLAUSE):
            found |= {"unknown-clause", "bulletin-does-not-fit"}
        if form in ("finish", *_LISTS) and not _is_a(entry.get("id"), _IDENTIFIER):
            found.add(f"unknown-{form}")
    return found


def is_an_identifier(value: Any) -> bool:
    """Whether something may be the id of a book, a class or a group."""
    return _is_a(value, _IDENTIFIER)


def _is_a(value: Any, pattern: str) -> bool:
    return isinstance(value, str) and re.fullmatch(pattern, value) is not None


def take(draft: Draft, steps: Iterable[Step]) -> None:
    """Take steps, which may be of several mistakes; those that leave out entries of lists last."""
    once = list(dict.fromkeys(each for each in steps if not isinstance(each, StandIn)))
    stand_ins = {each.path: each for each in steps if isinstance(each, StandIn)}
    for path, stand_in in stand_ins.items():
        draft.put(path, stand_in.value, *draft.origin(path))
    for step in once:
        if isinstance(step, Key) and draft.at(step.path) is not None:
            draft.drop(step.path)
        elif isinstance(step, Brackets):
            _change_brackets(draft, step.path)
    entries = [each for each in once if isinstance(each, Entry)]
    for each in sorted(entries, key=lambda each: (len(each.path), each.number), reverse=True):  # the inner first
        draft.remove(each.path, each.number)


def _change_brackets(draft: Draft, path: DataPath) -> None:
    value = draft.at(path)
    if isinstance(value, dict):
        source, place = draft.origin(path)
        draft.put(path, [], source, place)
        draft.put((*path, 0), value, source, place)
    elif _is_one_table(value):
        source, place = draft.origin((*path, 0))
        draft.put(path, value[0], source, place)
