"""What a Python user imports: read a car, read rule sets, check one against the other."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from tarebook.checking import (
    AmbiguousClass,
    Car,
    NotInForce,
    Report,
    Rules,
    RuleSet,
    check,
    editions_on,
    facing,
    find_class,
    load_car,
    load_rules,
    removals,
    route,
    settle,
)

if TYPE_CHECKING:
    from tarebook.revise.effects import Days
    from tarebook.revise.revising import Revision

__all__ = [
    "AmbiguousClass",
    "Car",
    "NotInForce",
    "Report",
    "RuleSet",
    "check",
    "editions_on",
    "facing",
    "find_class",
    "load_car",
    "load_rules",
    "removals",
    "revise",
    "route",
    "settle",
]


def revise(
    old: Rules,
    new: Rules,
    *,
    car: Car | None = None,
    builds: Sequence[str] = ("now", "planned"),
    on: "Days | tuple[Days, Days] | None" = None,
) -> "Revision":
    """What changed between editions, clause by clause, and what it does to a car: see `tarebook.revise.revising`.

    Masses in the answer are in kg. Raises MistakesFound, KeyError for a build that the car does not have, ValueError
    for two editions of one book on one side.
    """
    from tarebook.revise import revising

    return revising.revise(old, new, car=car, builds=builds, on=on)
