"""What a class lets out of a car that its ledger does not list: kinds on the car by the word of the tree alone."""

import copy
from dataclasses import dataclass, replace

from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import Part
from tarebook.car.presence import Presence
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.route.removals import ClassTrials, Removal
from tarebook.route.trials import Trials, with_parts
from tarebook.weight.ledger import Ledger


@dataclass(slots=True)
class Unlisted:
    """A kind that is on the car, has no part in the ledger, and may come out, or perhaps may.

    `range_kg` is what the tree of kinds holds plausible for a road car, in kg: from memory, never for a verdict.
    `by_silence` is True where no rule of the book speaks of it, `by_everything` where only rules on "everything" do.
    """

    removal: Removal
    range_kg: tuple[float, float] | None
    by_silence: bool
    by_everything: bool

    @property
    def kind(self) -> str:
        return self.removal.kind


class Unlisting:
    """The kinds of one build that the ledger does not list, as one book sees them: the same for all its classes.

    A kind counts that is surely on the car, and that no part of the ledger stands for. It is judged as if the ledger
    had it as a factory part.
    """

    def __init__(self, before: CarBeforeBook, situation: Situation) -> None:
        presence = situation.presence
        self.kinds = tuple(
            thing
            for thing in presence.tree.things_under("everything")
            if not presence.parts_for(thing)
            and situation.thing_on(thing) == ()
            and thing not in situation.inventory.parts
        )
        inventory = _with_parts_for(self.kinds, presence)
        known, ledger = Presence(inventory, presence.tree), Ledger(inventory)

        def situation_of(configuration: Configuration) -> Situation:
            found = before.situation_of(configuration, situation.on)
            return replace(found, presence=known, ledger=ledger)

        configuration = situation.configuration
        with_all = with_parts(configuration, configuration.on | set(self.kinds))
        self.trials = Trials(situation_of(with_all), situation_of)


def _with_parts_for(kinds: tuple[str, ...], presence: Presence) -> Inventory:
    """The ledger with a part for each of these kinds, by the kind's name."""
    file = copy.copy(presence.inventory.car)
    titles = {kind: presence.tree.get(kind).title for kind in kinds}
    file.part = [*file.part, *(Part(id=kind, kind=kind, title=titles[kind]) for kind in kinds)]
    return Inventory(file)


def find_unlisted(prepared: PreparedClass, unlisting: Unlisting) -> list[Unlisted]:
    """The unlisted kinds that a class lets out, or perhaps lets out, in the order of the tree."""
    tree = unlisting.trials.now.presence.tree
    found = []
    for row in ClassTrials(prepared, unlisting.trials).of_parts(unlisting.kinds):
        if row.group in ("may", "may-with-duty", "undecided"):
            mass_range = tree.get(row.kind).mass_range
            known = None if mass_range is None else (float(mass_range[0]), float(mass_range[1]))
            by_silence = row.group == "may" and bool(row.reasons) and all(reason.silence for reason in row.reasons)
            found.append(Unlisted(row, known, by_silence, row.unnamed and not by_silence))
    return found
