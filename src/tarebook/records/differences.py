"""What differs between two answers for one class and one build."""

import math
import re
from collections import Counter
from collections.abc import Iterable
from typing import Literal, NamedTuple

from tarebook.records.record import Fault, KeptRow

NoEdition = Literal["no-edition"]
Gone = Literal["gone"]
NO_EDITION: NoEdition = "no-edition"
GONE: Gone = "gone"
State = KeptRow | NoEdition | Gone  # an answer; or no edition on that day; or no such class or build

_WORSE = ("eligible", "too-close", "undecided", "not-eligible")
_SAME_KG = 1e-6  # margins nearer than this are one: a milligram, far under what any scale shows
_FIGURE = re.compile(r"\d[\d.,]*")


class Difference(NamedTuple):
    """What a second answer has that the first had not, and the reverse."""

    came: tuple[Fault, ...] = ()
    went: tuple[Fault, ...] = ()
    newly_to_find: tuple[str, ...] = ()
    no_longer_to_find: tuple[str, ...] = ()


def difference(was: State, now: State) -> Difference:
    """What came and what went. Where there is an answer on one side only, there is nothing to compare."""
    if isinstance(was, str) or isinstance(now, str):
        return Difference()
    return Difference(
        came=_beyond(now.faults, was.faults),
        went=_beyond(was.faults, now.faults),
        newly_to_find=_others(now.facts_to_find, was.facts_to_find),
        no_longer_to_find=_others(was.facts_to_find, now.facts_to_find),
    )


def differ(was: State, now: State) -> bool:
    """Whether two answers differ in their verdict, margin, violations, owed finishes or facts to find."""
    if isinstance(was, str) or isinstance(now, str):
        return was != now
    return was.verdict != now.verdict or not same_margin(was, now) or any(difference(was, now))


def same_margin(was: KeptRow, now: KeptRow) -> bool:
    """Whether the margins are the same, known or not."""
    if was.margin_kg is None or now.margin_kg is None:
        return was.margin_kg is now.margin_kg
    return math.isclose(was.margin_kg, now.margin_kg, rel_tol=0, abs_tol=_SAME_KG)


def is_worse(was: State, now: State) -> bool:
    """Whether something got worse: the verdict, a violation or owed finish that came, or an answer that is gone."""
    if isinstance(was, str):
        return False
    if isinstance(now, str):
        return True
    return _WORSE.index(now.verdict) > _WORSE.index(was.verdict) or bool(difference(was, now).came)


def _beyond(faults: Iterable[Fault], others: Iterable[Fault]) -> tuple[Fault, ...]:
    """The faults that have none like them among the others, each of which counts once."""
    left = Counter(map(_gist, others))
    found = []
    for fault in faults:
        gist = _gist(fault)
        if left[gist]:
            left[gist] -= 1
        else:
            found.append(fault)
    return tuple(found)


def _others(names: Iterable[str], known: Iterable[str]) -> tuple[str, ...]:
    among = frozenset(known)
    return tuple(name for name in names if name not in among)


def _gist(fault: Fault) -> tuple[str | None, ...]:
    """What makes a fault the same one: not its figures, and not the name that its part has now."""
    about = fault.part or fault.kind
    if fault.form in ("limit", "ballast"):
        about = _FIGURE.sub("0", fault.sentence)  # of the limits of one clause, the words say which
    return fault.result, fault.clause, fault.form, fault.does, about
