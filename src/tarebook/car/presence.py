"""Which kinds are on a car: through a part of the ledger, or by the word of the tree and of the car file.

A part stands for its own kind and for the kinds under it that this car surely has, unless an original part of its
own, or of a nearer branch, stands for them. Kinds that some cars have and this file does not speak of are unknown;
an unknown is named by the kind whose presence decides it.
"""

from tarebook.car.configurations import Configuration, Inventory
from tarebook.kinds import KindTree, covers

Unknowns = tuple[str, ...]  # kinds that all have to be present; () is "surely there"


class Presence:
    """What the tree, the car file's `present` and `absent`, and the ledger say of each kind.

    A *thing* is a kind with a presence of its own; a grouping is there if something under it is.
    """

    def __init__(self, inventory: Inventory, tree: KindTree) -> None:
        self.inventory = inventory
        self.tree = tree
        self._absent = frozenset(inventory.car.car.absent)
        self._present = frozenset(inventory.car.car.present)
        self._original_kinds = {inventory.parts[part].kind for part in inventory.originals}
        self._replaced_kinds = {
            part.replaces for part in inventory.car.part if part.replaces and part.replaces not in inventory.parts
        }
        self._listed: dict[str, bool] = self._listed_kinds()
        self._words: dict[str, Unknowns | None] = {}
        self._stands: dict[str, frozenset[str]] = {}
        self._parts_for: dict[str, tuple[str, ...]] | None = None

    def _listed_kinds(self) -> dict[str, bool]:
        """Kinds that the ledger speaks of -> whether the factory fitted them."""
        listed: dict[str, bool] = {}
        for part in self.inventory.car.part:
            from_factory = part.id in self.inventory.originals and part.origin == "factory"
            for kind in (part.kind, *self.tree.parents(part.kind)):
                listed[kind] = listed.get(kind, False) or from_factory
        for replaced in self._replaced_kinds:
            for kind in (replaced, *self.tree.parents(replaced)):
                listed[kind] = True
        return listed

    def word(self, kind: str) -> Unknowns | None:
        """What the tree and the car file say of a kind: None is "not there"; else the kinds it hangs on."""
        if kind not in self._words:
            self._words[kind] = self._find_word(kind)
        return self._words[kind]

    def _find_word(self, kind: str) -> Unknowns | None:
        above = self.tree.parents(kind)
        before = self.word(above[0]) if above else ()
        if kind in self._absent:
            return None
        if kind in self._present:
            return ()
        if before is None:
            return None
        label = self.tree.get(kind).factory
        if label == "always":
            return before
        if label == "never":
            return None
        if kind in self._listed:
            return () if self._listed[kind] else None
        return (*before, kind)

    def stands(self, part_id: str) -> frozenset[str]:
        """The things that a part puts on the car while it is on."""
        if part_id not in self._stands:
            kind = self.inventory.parts[part_id].kind
            self._stands[part_id] = self.within(kind)
        return self._stands[part_id]

    def within(self, kind: str) -> frozenset[str]:
        """The things that an original of this kind stands for: itself, and what is surely there under it and
        has no original part of its own or of a nearer branch."""
        found = set()
        for thing in self.tree.things_under(kind):
            if thing == kind or (self.word(thing) == () and not self._nearer_original(thing, kind)):
                found.add(thing)
        return frozenset(found)

    def _nearer_original(self, thing: str, than: str) -> bool:
        return any(
            len(kind) > len(than) and kind in self._original_kinds for kind in (thing, *self.tree.parents(thing))
        )

    def parts_for(self, thing: str) -> tuple[str, ...]:
        """The parts of the ledger that stand for a thing, on the car or not."""
        if self._parts_for is None:
            table: dict[str, list[str]] = {}
            for part in self.inventory.car.part:
                for each in {part.kind, *self.stands(part.id)}:
                    table.setdefault(each, []).append(part.id)
            self._parts_for = {each: tuple(parts) for each, parts in table.items()}
        return self._parts_for.get(thing, ())

    def gone(self, configuration: Configuration) -> frozenset[str]:
        """Things without a part of the ledger that a part on the car has replaced."""
        found: set[str] = set()
        for replaced in self.inventory.replaced_kinds(configuration):
            found |= self.within(replaced)
        return frozenset(found)

    def on(self, thing: str, configuration: Configuration, gone: frozenset[str]) -> Unknowns | None:
        """Whether a thing is on the car: None is "no"; else the kinds whose presence it hangs on."""
        parts = self.parts_for(thing)
        on = configuration.on
        if thing in gone:
            new = any(
                part in on and (self.inventory.parts[part].kind == thing or self._came_later(part)) for part in parts
            )
            return () if new else None
        if any(part in on for part in parts):
            return ()
        if any(part in self.inventory.originals for part in parts):
            return None
        return self.word(thing)

    def _came_later(self, part_id: str) -> bool:
        return part_id not in self.inventory.originals or self.inventory.parts[part_id].replaces is not None

    def from_factory(self, kind: str) -> list[Unknowns]:
        """Alternatives: the kind was there from the factory if any of these holds; an empty one surely does."""
        inventory = self.inventory
        for part_id in inventory.originals:
            part = inventory.parts[part_id]
            if part.origin == "factory" and (
                covers(kind, part.kind) or any(covers(kind, thing) for thing in self.stands(part_id))
            ):
                return [()]
        found: list[Unknowns] = []
        replaced = set().union(*(self.within(each) for each in self._replaced_kinds)) if self._replaced_kinds else set()
        for thing in self.tree.things_under(kind):
            word = () if thing in replaced else self.word(thing)
            if word == ():
                return [()]
            if word is not None:
                found.append(word)
        return found
