"""A car in one build, as one book sees it: what the rules of all its classes look at."""

import datetime
from dataclasses import dataclass, field
from functools import cached_property

from tarebook.car.changes import Change, find_changes
from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.presence import Presence, Unknowns
from tarebook.fact_values import Value
from tarebook.kinds import covers
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured

EVENT_ACTIONS = {
    "removed": ("remove",),
    "swapped": ("swap",),
    "lightened": ("lighten",),
    "moved": ("move",),
    "off": ("remove", "swap"),
}


@dataclass
class Situation:
    """One build of a car on one day, before any class looks at it.

    Attributes:
        made: the facts as the car was made, typed for the book; `facts` with the `sets` of the build's jobs.
        assumed: the facts that are a default of the book.
        stated_mass: what the scales say as the class's `weight` weighs the car, where that is stated outright, as a
            book's own example does; the ledger is not asked then.
    """

    configuration: Configuration
    presence: Presence
    ledger: Ledger
    made: dict[str, Value]
    facts: dict[str, Value]
    assumed: frozenset[str]
    on: datetime.date
    stated_mass: Measured | None = None
    _fitted: dict[str, tuple[Unknowns, ...]] = field(default_factory=dict)
    _events: dict[tuple[str, str], bool] = field(default_factory=dict)
    _factory: dict[str, tuple[Unknowns, ...]] = field(default_factory=dict)

    @property
    def inventory(self) -> Inventory:
        return self.presence.inventory

    @cached_property
    def changes(self) -> list[Change]:
        return find_changes(self.configuration, self.presence)

    @cached_property
    def has_ballast(self) -> bool:
        parts = self.inventory.parts
        return any(covers("ballast", parts[part_id].kind) for part_id in self.configuration.on)

    @cached_property
    def _gone(self) -> frozenset[str]:
        return self.presence.gone(self.configuration)

    def thing_on(self, thing: str) -> Unknowns | None:
        """Whether a thing is on the car: None is "no"; else the kinds whose presence it hangs on."""
        return self.presence.on(thing, self.configuration, self._gone)

    def fitted(self, kind: str) -> tuple[Unknowns, ...]:
        """Alternatives, of which one must hold for something of the kind to be on: () is "no", an empty one "yes"."""
        if kind not in self._fitted:
            self._fitted[kind] = self._find_fitted(kind)
        return self._fitted[kind]

    def _find_fitted(self, kind: str) -> tuple[Unknowns, ...]:
        parts = self.inventory.parts
        if any(covers(kind, parts[part_id].kind) for part_id in self.configuration.on):
            return ((),)
        found: list[Unknowns] = []
        for thing in self.presence.tree.things_under(kind):
            on = self.thing_on(thing)
            if on == ():
                return ((),)
            if on is not None:
                found.append(on)
        return tuple(found)

    def from_factory(self, kind: str) -> tuple[Unknowns, ...]:
        """Alternatives for the kind to have been there from the factory."""
        if kind not in self._factory:
            self._factory[kind] = tuple(self.presence.from_factory(kind))
        return self._factory[kind]

    def happened(self, event: str, kind: str) -> bool:
        """Whether something of the kind was removed, swapped, lightened, moved, or came off."""
        key = (event, kind)
        if key not in self._events:
            actions = EVENT_ACTIONS[event]
            self._events[key] = any(change.action in actions and change.concerns(kind) for change in self.changes)
        return self._events[key]
