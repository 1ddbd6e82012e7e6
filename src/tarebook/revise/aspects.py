"""What one provision says, piece by piece: each with its exact meaning, and the words for how it changed."""

from collections.abc import Hashable
from typing import NamedTuple

from tarebook.facts import Fact
from tarebook.judge.wording import listed
from tarebook.meaning.words import Units
from tarebook.revise.amounts import limit_sentences
from tarebook.rules.limits import LimitSpec


class Phrase(NamedTuple):
    """Something that is said or not, in words that follow "now": "where a cage is fitted".

    `nothing` stands for it where nothing is said: "in every case". `unsaid` marks what a further limit takes from
    the weight of its class: where both editions leave it out, it is no change of the limit.
    """

    meaning: Hashable
    words: str
    nothing: str = ""
    unsaid: bool = False

    def change_from(self, old: "Phrase") -> str:
        if not self.words:
            return f"now {self.nothing} (before, {old.words})"
        return f"now {self.words} (before, {old.words})" if old.words else f"now {self.words}"


class Several(NamedTuple):
    """A set of things in which each counts by itself; `names` has the words for each, in the order of the book."""

    meaning: frozenset[Hashable]
    names: dict[Hashable, str]
    unsaid: bool = False

    def change_from(self, old: "Several") -> str:
        more = [name for each, name in self.names.items() if each not in old.meaning]
        less = [name for each, name in old.names.items() if each not in self.meaning]
        if not self.meaning & old.meaning and more and less:
            return f"now {listed(more)} instead of {listed(less)}"
        told = [f"now also {listed(more)}"] if more else []
        return "; ".join([*told, f"no longer {listed(less)}"] if less else told)


class Flag(NamedTuple):
    """Yes or no, with the words for either after a change."""

    meaning: bool
    on: str
    off: str
    unsaid: bool = False

    def change_from(self, old: "Flag") -> str:
        return self.on if self.meaning else self.off


class Figure(NamedTuple):
    """A limit of a mass, by what it comes to; `name` is what it limits, such as "minimum"; None where there is none."""

    meaning: Hashable
    name: str
    spec: LimitSpec | None
    words: str
    facts: dict[str, Fact]
    units: Units
    unsaid: bool = False

    def change_from(self, old: "Figure") -> str:
        """One sentence or several, each with its full stop."""
        if self.spec is None:
            return f"The {self.name} is no longer stated; before, it was {old.words}."
        if old.spec is None:
            return f"The {self.name} is now {self.words}; before, there was none."
        told = limit_sentences(self.name, old.spec, self.spec, {**old.facts, **self.facts}, self.units)
        return " ".join(told) or f"The {self.name} is now {self.words}; before, it was {old.words}."


class Demand(NamedTuple):
    """What a car must be like: conditions that hold together; `meaning` has them with the case in which they count."""

    meaning: Hashable
    parts: tuple[tuple[Hashable, str], ...]
    case: tuple[Hashable, str]
    unsaid: bool = False

    @property
    def words(self) -> str:
        return self.told(self.parts)

    def told(self, parts: tuple[tuple[Hashable, str], ...]) -> str:
        where = f" where {self.case[1]}" if self.case[1] else ""
        return f"{listed(words for _, words in parts)}{where}"

    def change_from(self, old: "Demand") -> str:
        mine, theirs = self.parts, old.parts
        if self.case[0] == old.case[0]:
            mine = tuple(each for each in self.parts if each[0] not in {meaning for meaning, _ in old.parts})
            theirs = tuple(each for each in old.parts if each[0] not in {meaning for meaning, _ in self.parts})
            if not mine and theirs:
                return f"no longer {old.told(theirs)}"
            if mine and not theirs:
                return f"now also {self.told(mine)}"
        return f"now {self.told(mine or self.parts)} (before, {old.told(theirs or old.parts)})"


Aspect = Phrase | Several | Flag | Figure | Demand


def same(old: Aspect, new: Aspect) -> bool:
    return old.meaning == new.meaning or (old.unsaid and new.unsaid)
