"""One provision of a class of one edition: what it is about, what it says, and what it is bound to."""

from collections.abc import Hashable
from dataclasses import dataclass, field

from tarebook.judge.wording import kind_title
from tarebook.kinds import KindTree, covers
from tarebook.meaning.words import inside
from tarebook.revise.aspects import Aspect
from tarebook.rules.classes import Path

BROUGHT = "where a change brings it"
MOST_BONDS = 300_000  # pairs of rules of one class that are looked at for who beats whom
DECIDING = ("allow", "ban", "need", "strip", "weight.ballast")


@dataclass(slots=True, eq=False)
class Provision:
    """One thing that a class of one edition says.

    Attributes:
        form: the form of rule; "weight." and its key for what `weight` states; "adjust", "silence", "fact", "kind".
        subject: what it is about; it pairs the provision with its like in another edition.
        aspects: what it says, by names that are the same for every provision of the form.
        kinds, does: of a rule that may decide changes: which changes it speaks of.
        order, prevails: of such a rule: its rank, the lower the nearer, and whether its group prevails.
        despite, finish: the clauses that it beats, and the ids of the duties that it brings, as written.
        links: the provisions that these come to (no "despite" where that were too many), and the limit that an
            adjustment belongs to.
    """

    form: str
    clause: str
    path: Path
    place: tuple[str, int]
    subject: frozenset[Hashable]
    aspects: dict[str, Aspect]
    tree: KindTree
    kinds: tuple[str, ...] = ()
    does: tuple[str, ...] = ()
    order: tuple[bool, int] = (False, 0)
    prevails: bool = False
    despite: tuple[str, ...] = ()
    finish: tuple[str, ...] = ()
    id: str = ""
    links: dict[str, tuple["Provision", ...]] = field(default_factory=dict)
    _meaning: Hashable = field(default=None, init=False)

    @property
    def meaning(self) -> Hashable:
        """What it says by itself: equal for two provisions that say the same."""
        if self._meaning is None:
            self._meaning = (self.form, frozenset((name, aspect.meaning) for name, aspect in self.aspects.items()))
        return self._meaning

    @property
    def full_meaning(self) -> Hashable:
        """Its meaning with its rank, and with what it is linked to."""
        linked = frozenset((name, frozenset(each.meaning for each in links)) for name, links in self.links.items())
        return (self.meaning, self.order, self.prevails, linked)

    @property
    def brought(self) -> bool:
        """Of a duty: whether it holds only where an allowance that decided a change refers to it."""
        return self.aspects["if"].meaning == "brought"

    @property
    def decides(self) -> bool:
        return self.form in DECIDING


def compete(one: Provision, other: Provision) -> bool:
    """Whether both could speak of one change."""
    if one is other or not set(one.does) & set(other.does):
        return False
    if _for_fixings(one) or _for_fixings(other):
        return True
    return any(covers(kind, own) or covers(own, kind) for kind in one.kinds for own in other.kinds)


def _for_fixings(provision: Provision) -> bool:
    return "fixings" in provision.aspects and bool(provision.aspects["fixings"].meaning)


def the_kind(kind: str, tree: KindTree) -> str:
    """A kind inside a sentence: "the battery"."""
    if kind == "everything":
        return kind
    return f"the {inside(kind_title(kind, tree).partition(': ')[0])}"  # some titles explain themselves after a colon
