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
    from tarebook.api import Car, NotInForce, Report, RuleSet, check, load_car, load_rules, removals
    from tarebook.route.removals import Removal
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
    from importlib import import_module

    module = {"Mistake": "toml_source", "MistakesFound": "toml_source", "Removal": "route.removals"}.get(name, "api")
    return getattr(import_module(f"tarebook.{module}"), name)
