"""What changed since a record, for a terminal and as JSON."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from tarebook.judge.wording import listed
from tarebook.records.differences import GONE, NO_EDITION, State, same_margin
from tarebook.records.rechecking import Cause, Recheck, RowChange, RuleFileChange
from tarebook.records.record import Fault, fault_document
from tarebook.show.text import VERDICT_WORDS, margin, wrapped

RECHECK_FORMAT = "tarebook-recheck/1"
_MOST_FILES = 3  # of changed rule files that a line names
_FAULT_WORDS = {"violation": "against", "owed": "owed", "too-close": "close", "undecided": "open"}
_MOST_DOUBTS = 3  # of a verdict that turned: one limit or two, seldom more


def recheck_document(found: Recheck) -> dict[str, Any]:
    """What changed as plain data, margins in kg. `now` is null for what is gone, and `was` for what is new."""
    return {
        "format": RECHECK_FORMAT,
        "recorded_on": found.record.recorded_on.isoformat(),
        "worse": found.worse,
        "changed": {
            "car": found.car_changed is not None,
            "rules": [each.file for each in found.rules_changed],
            "proposed": found.proposed_changed,
            "date": bool(found.date_changed),
            "tool_version": found.tool_version != found.record.tool_version,
        },
        "compared": found.compared,
        "rows": [_row_document(row) for row in found.rows],
    }


def _row_document(row: RowChange) -> dict[str, Any]:
    book, class_id, build = row.key
    return {
        "book": book,
        "class": class_id,
        "build": build,
        "was": _verdict(row.was),
        "now": _verdict(row.now),
        "margin_was_kg": _margin(row.was),
        "margin_now_kg": _margin(row.now),
        "because": [_together(cause) for cause in row.because],
        "worse": row.worse,
        "came": [_fault_document(fault) for fault in row.difference.came],
        "went": [_fault_document(fault) for fault in row.difference.went],
        "doubts": [_fault_document(fault) for fault in _doubts(row)],
        "newly_to_find": list(row.difference.newly_to_find),
        "no_longer_to_find": list(row.difference.no_longer_to_find),
    }


def _verdict(state: State) -> str | None:
    if state == GONE:
        return None
    return state if isinstance(state, str) else state.verdict


def _margin(state: State) -> float | None:
    return None if isinstance(state, str) else state.margin_kg


def _together(cause: Cause) -> str:
    return f"{listed(cause)} together" if len(cause) > 1 else cause[0]


def _fault_document(fault: Fault) -> dict[str, Any]:
    return {"result": fault.result, **fault_document(fault)}


def recheck_lines(found: Recheck, unit: str) -> Iterator[str]:
    """What changed, in a few lines; margins in a unit of mass."""
    since = f"the record of {found.record.recorded_on} ({found.compared} verdict{'s' * (found.compared != 1)})"
    if not found.rows:
        but = _without_effect(found)
        yield wrapped(f"No change since {since}{but}.")
        return
    changes = f"{len(found.rows)} change{'s' * (len(found.rows) != 1)}"
    yield wrapped(f"{changes} since {since}, {sum(row.worse for row in found.rows) or 'none'} for the worse:")
    books = Counter(class_id for _, class_id in {row.key[:2] for row in found.rows})
    for row in found.rows:
        book, class_id, build = row.key
        name = f"{book}/{class_id}" if books[class_id] > 1 else class_id
        yield wrapped(f"{name}, {build}: {_turn(row)}: because of {_because(row, found)}", "", "  ")
        yield from _details(row, unit)


def _without_effect(found: Recheck) -> str:
    """What is not as it was although no answer changed."""
    things = [_files(found.rules_changed)] if found.rules_changed else []
    things += [f"{found.car_changed} changed"] if found.car_changed else []
    things += ["proposed bulletins"] if found.proposed_changed else []
    things += ["another day"] if found.date_changed else []
    return f", in spite of {listed(things)}" if things else ""


def _turn(row: RowChange) -> str:
    if row.was == GONE:
        return f"new: {_words(row.now)}"
    if _verdict(row.was) == _verdict(row.now):
        return f"still {_words(row.now)}"
    return f"{_words(row.was)} -> {_words(row.now)}"


def _words(state: State) -> str:
    if isinstance(state, str):
        return {GONE: "gone", NO_EDITION: "no edition in force"}[state]
    return VERDICT_WORDS[state.verdict]


def _because(row: RowChange, found: Recheck) -> str:
    return " and of ".join(_cause(cause, row, found) for cause in row.because)


def _cause(cause: Cause, row: RowChange, found: Recheck) -> str:
    if cause == ("tool_version",):
        was, now = found.record.tool_version, found.tool_version
        if was != now:
            return f"the version of tarebook ({now}, was {was})"
        return f"tarebook itself (by version {now}, the old car and rules do not give what the record says)"
    what = [_evidence(thing, row, found) for thing in cause]
    if len(cause) == 1:
        return f"the {cause[0]} ({what[0]})"
    return f"{listed(f'the {thing}' for thing in cause)} together ({'; '.join(what)})"


def _evidence(thing: str, row: RowChange, found: Recheck) -> str:
    book, _, build = row.key
    if thing == "car":
        return f"{found.car_changed} changed"
    if thing == "date":
        was, now = found.date_changed.get(build) or next(iter(found.date_changed.values()))
        return f"{now}, was {was}"
    changes = [each for each in found.rules_changed if each.book == book] or found.rules_changed
    told = [_files(changes)] if changes else []
    if found.proposed_changed:
        told.append(f"proposed bulletins {'no longer ' * found.record.proposed}counted")
    return ", ".join(told)


def _files(changes: Sequence[RuleFileChange]) -> str:
    told = [f"{each.file} {each.what}" for each in changes[:_MOST_FILES]]
    more = len(changes) - len(told)
    return ", ".join([*told, f"and {more} more"] if more else told)


def _details(row: RowChange, unit: str) -> Iterator[str]:
    if not isinstance(row.was, str) and not isinstance(row.now, str) and not same_margin(row.was, row.now):
        yield wrapped(f"margin {_kilograms(row.was, unit)} -> {_kilograms(row.now, unit)}", "  ")
    doubts = _doubts(row)
    came, more = (*row.difference.came, *doubts[:_MOST_DOUBTS]), len(doubts) - _MOST_DOUBTS
    for word, faults in (("came", came), ("went", row.difference.went)):
        for fault in faults:
            what = f"{_FAULT_WORDS[fault.result]:8}{fault.clause:7} {fault.sentence}"
            yield wrapped(f"{word}: {what}", "  ", " " * 24)
    if more > 0:
        yield f"  and {more} more that cannot be decided"
    for word, names in (
        ("find out now", row.difference.newly_to_find),
        ("no longer to find out", row.difference.no_longer_to_find),
    ):
        if names:
            yield wrapped(f"{word}: {', '.join(names)}", "  ", "    ")


def _doubts(row: RowChange) -> tuple[Fault, ...]:
    """What left a verdict open that was none of that sort before: too close to call, or undecided."""
    if isinstance(row.now, str) or _verdict(row.was) == row.now.verdict:
        return ()
    return tuple(each for each in row.now.doubts if each.result == row.now.verdict)


def _kilograms(state: State, unit: str) -> str:
    known = _margin(state)
    return "unknown" if known is None else margin(known, unit)
