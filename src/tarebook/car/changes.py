"""Changes: how a configuration differs from the car at the outset, one entry for each thing a rule decides."""

from typing import Literal, NamedTuple

from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.presence import Presence
from tarebook.kinds import covers

Action = Literal["remove", "swap", "fit", "lighten", "move"]


class Change(NamedTuple):
    """One change.

    Attributes:
        part: the ledger's part that it is a change of; where a kind without a part was replaced, the part that did.
        kind: the kind that it is decided for.
        things: the things that change with it; rules that name one of them decide too.
        whole: False where only the `things` change, because a part of the branch was replaced and the rest came off.
        old: the part that was there before, if the ledger has it.
        new: the parts there now.
    """

    action: Action
    kind: str
    part: str
    things: frozenset[str]
    whole: bool = True
    old: str | None = None
    new: tuple[str, ...] = ()

    def concerns(self, kind: str) -> bool:
        """Whether this is a change of something of `kind`."""
        return (self.whole and covers(kind, self.kind)) or any(covers(kind, thing) for thing in self.things)


def related(kind: str, other: str) -> bool:
    """One of the two is the other or stands under it."""
    return covers(kind, other) or covers(other, kind)


def find_changes(configuration: Configuration, presence: Presence) -> list[Change]:
    """All changes of a configuration, in the order of the ledger."""
    inventory = presence.inventory
    on, outset, parts = configuration.on, inventory.outset, inventory.parts
    restored = {
        part_id
        for part_id in outset - on
        if parts[part_id].origin == "aftermarket" and parts[part_id].replaces in on - outset
    }
    back = {parts[part_id].replaces for part_id in restored}
    added: set[str] = set()
    replacing: dict[str, list[str]] = {}
    for part_id in inventory.parts:
        if part_id not in on or part_id in back:
            continue
        if part_id in outset and parts[part_id].origin == "factory":
            continue
        target = _target(part_id, configuration, inventory)
        if target is None:
            added.add(part_id)
        else:
            replacing.setdefault(target, []).append(part_id)
    found: list[Change] = []
    for target, new in replacing.items():
        old_kind = parts[target].kind if target in parts else target
        found.extend(_replacement(target, old_kind, new, presence))
        added.update(part_id for part_id in new if not related(parts[part_id].kind, old_kind))
    for part_id, part in parts.items():
        if part_id in outset and part_id not in on:
            if part_id not in replacing and part_id not in restored:
                found.append(Change("remove", part.kind, part_id, presence.stands(part_id), old=part_id))
        elif part_id in added:
            found.append(Change("fit", part.kind, part_id, presence.stands(part_id), new=(part_id,)))
        if part_id in outset and part_id in on:
            stands = presence.stands(part_id)
            if part_id in configuration.lightened:
                found.append(Change("lighten", part.kind, part_id, stands, old=part_id, new=(part_id,)))
            if part_id in configuration.moved and _elsewhere(part_id, configuration, inventory):
                found.append(Change("move", part.kind, part_id, stands, old=part_id, new=(part_id,)))
    index = inventory.part_index
    found.sort(key=lambda change: index[change.part])
    return found


def _target(part_id: str, configuration: Configuration, inventory: Inventory) -> str | None:
    """What a part on the car took the place of: a part on at the outset, a kind, or nothing."""
    parts, outset = inventory.parts, inventory.outset
    below = parts[part_id].replaces
    seen = {part_id}
    while below in parts and below not in seen:
        seen.add(below)
        if below in configuration.on:
            return None
        if below in outset or part_id in outset:
            return below
        below = parts[below].replaces
    return None if below in parts else below


def _replacement(target: str, old_kind: str, new: list[str], presence: Presence) -> list[Change]:
    parts = presence.inventory.parts
    old = target if target in parts else None
    part = old or new[0]
    stands = presence.stands(old) if old else presence.within(old_kind)
    successors = tuple(part_id for part_id in new if related(parts[part_id].kind, old_kind))
    if not successors:
        return [Change("remove", old_kind, part, stands, old=old)]
    kinds = {parts[part_id].kind for part_id in successors}
    if not stands or not all(kind != old_kind and covers(old_kind, kind) for kind in kinds):
        return [Change("swap", old_kind, part, stands, old=old, new=successors)]
    found = []
    for kind in sorted(kinds):
        things = frozenset(thing for thing in stands if covers(kind, thing))
        taking = tuple(part_id for part_id in successors if parts[part_id].kind == kind)
        found.append(Change("swap", kind, part, things, old=old, new=taking))
    rest = frozenset(thing for thing in stands if not any(covers(kind, thing) for kind in kinds))
    if rest:
        found.append(Change("remove", old_kind, part, rest, whole=False, old=old))
    return found


def _elsewhere(part_id: str, configuration: Configuration, inventory: Inventory) -> bool:
    move, part = configuration.moved[part_id], inventory.parts[part_id]
    return any(
        new is not None and (old is None or new != old)
        for new, old in (
            (move.at and move.at.value, part.at and part.at.value),
            (move.right and move.right.value, part.right and part.right.value),
            (move.place, part.place),
        )
    )
