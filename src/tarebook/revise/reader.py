"""What reading any provision of a class takes: its place, its condition, its kinds in words."""

from collections.abc import Hashable
from typing import Any

from tarebook.meaning.words import condition_text, units_of
from tarebook.revise.aspects import Aspect, Phrase, Several
from tarebook.revise.meanings import Meanings
from tarebook.revise.provision import Provision, the_kind
from tarebook.revise.redundant import covered_kinds
from tarebook.rules.classes import ClassInFull, Path
from tarebook.rules.conditions import Node
from tarebook.rules.reading import RuleSet


class Reader:
    """Reads provisions of one class of one of two editions whose meanings are `meanings`."""

    def __init__(self, rules: RuleSet, full: ClassInFull, meanings: Meanings) -> None:
        self.rules = rules
        self.full = full
        self.meanings = meanings
        self.units = units_of(rules)

    def provision(
        self, form: str, clause: str, path: Path, subject: frozenset[Hashable], aspects: dict[str, Aspect], **more: Any
    ) -> Provision:
        return Provision(form, clause, path, self.rules.source.where(path), subject, aspects, self.rules.tree, **more)

    def case(self, path: Path, only: bool = False) -> Phrase:
        """The `if` of an entry: "where a cage is fitted"."""
        node = self.rules.nodes.get((*path, "if"))
        meaning = self.meanings.condition(self.rules, path)
        words = "" if meaning == 1 or node is None else f"{'only ' if only else ''}where {self.condition(node)}"
        return Phrase(meaning, words, "in every case")

    def condition(self, node: Node) -> str:
        return condition_text(node, self.rules.facts, self.rules.tree, self.units)

    def all_of(self, kinds: list[str]) -> Several:
        """Kinds that count together: one under another of them adds nothing."""
        covered = covered_kinds(kinds)
        return self.kinds([kind for kind in kinds if kind not in covered])

    def kinds(self, kinds: list[str]) -> Several:
        return Several(frozenset(kinds), {kind: the_kind(kind, self.rules.tree) for kind in dict.fromkeys(kinds)})
