"""Which competition classes may this car enter, now and as planned.

import datetime
import tarebook

car = tarebook.load_car("heron.toml")
rules = tarebook.load_rules("rulesets")
report = tarebook.check(car, rules, on=datetime.date(2026, 11, 25), build="planned")
for row in report.rows:
    print(row.class_id, row.verdict)
"""

from typing import TYPE_CHECKING, Any

from tarebook.version import __version__

if TYPE_CHECKING:
    from tarebook.api import Car, NotInForce, Removal, Report, RuleSet, check, load_car, load_rules, removals
    from tarebook.toml_source import Mistake, MistakesFound

__all__ = [
    "Car",
    "Mistake",
    "MistakesFound",
    "NotInForce",
    "Removal",
    "Report",
    "RuleSet",
    "__version__",
    "check",
    "load_car",
    "load_rules",
    "removals",
]


def __getattr__(name: str) -> Any:
    # Loaded when first asked for: the command line must not wait for what a command does not use.
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    if name in ("Mistake", "MistakesFound"):
        from tarebook import toml_source

        return getattr(toml_source, name)
    from tarebook import api

    return getattr(api, name)
