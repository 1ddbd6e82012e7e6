"""What differs between two states of one car, part by part, whatever the scales have seen."""

from typing import NamedTuple

from tarebook.car.configurations import Configuration
from tarebook.car.models import MassForm
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured
from tarebook.weight.terms import Place


class Load(NamedTuple):
    """What a part weighs, in kg (None: it was never weighed), and where it sits."""

    mass: Measured | None
    place: Place


class Difference(NamedTuple):
    """One part, or one kind without a part of its own, that two states do not have alike.

    `off` is what the first state has and the second has not, `on` the reverse; a part that was lightened or moved
    has both. `is_part` is False for a kind.
    """

    id: str
    off: Load | None
    on: Load | None
    is_part: bool = True


def differences(ledger: Ledger, was: Configuration, now: Configuration) -> list[Difference]:
    """Everything that differs from one state to another, in the ledger's order, then kinds without a part."""
    inventory = ledger.inventory
    found = []
    for part_id in inventory.parts:
        before = _state(ledger, part_id, was)
        after = _state(ledger, part_id, now)
        if before == after:
            continue
        off = _load(ledger, part_id, before) if before is not None else None
        on = _load(ledger, part_id, after) if after is not None else None
        found.append(Difference(part_id, off, on))
    unknown = Load(None, Place(None, None))
    then, later = inventory.replaced_kinds(was), inventory.replaced_kinds(now)
    for kind in sorted(then ^ later):
        put_back = kind in then
        found.append(Difference(kind, None if put_back else unknown, unknown if put_back else None, is_part=False))
    return found


class _State(NamedTuple):
    lightened_by: str | None
    place: Place
    form: MassForm | None


def _state(ledger: Ledger, part_id: str, configuration: Configuration) -> _State | None:
    if part_id not in configuration.on:
        return None
    job, form = configuration.lightened.get(part_id, (None, None))
    return _State(job, ledger.place(part_id, configuration), form)


def _load(ledger: Ledger, part_id: str, state: _State) -> Load:
    lightened = None
    if state.lightened_by is not None and state.form is not None:
        lightened = (state.lightened_by, state.form)
    return Load(ledger.part_mass(part_id, lightened), state.place)
