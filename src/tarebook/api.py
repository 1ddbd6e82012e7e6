"""What a Python user imports: read a car, read rule sets, check one against the other."""

from tarebook.checking import (
    AmbiguousClass,
    Car,
    NotInForce,
    Report,
    RuleSet,
    check,
    editions_on,
    facing,
    find_class,
    load_car,
    load_rules,
    removals,
    settle,
)

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
    "settle",
]
