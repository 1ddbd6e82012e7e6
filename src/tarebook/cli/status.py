"""Exit statuses, and how a command refuses a request."""

from collections.abc import Iterable

ELIGIBLE, NOT_ELIGIBLE, WRONG, UNDECIDED, BROKEN = 0, 1, 2, 3, 70


class Refused(Exception):
    """The request is wrong; the text says what is, and what to do."""


def of_verdicts(verdicts: Iterable[str]) -> int:
    """The exit status for a set of verdicts."""
    found = set(verdicts)
    if "not-eligible" in found:
        return NOT_ELIGIBLE
    return UNDECIDED if found & {"undecided", "too-close"} else ELIGIBLE
