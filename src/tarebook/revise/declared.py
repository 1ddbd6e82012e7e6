"""A book's own facts and kinds, where both editions declare them: how they are declared is part of the rules."""

from collections.abc import Iterator

from tarebook.facts import Fact
from tarebook.meaning.words import figure_text
from tarebook.revise.aspects import Aspect, Phrase
from tarebook.revise.provision import Provision
from tarebook.revise.reader import Reader
from tarebook.rules.classes import Path
from tarebook.rules.conditions import Aged, AsMade, IsOneOf, Within, walk
from tarebook.rules.limits import Banded, ByCase, Linear


def declared_provisions(reader: Reader) -> Iterator[Provision]:
    """The facts that the class asks for, and the kinds; with the clause of the book."""
    old, new, rules = reader.meanings.old, reader.meanings.new, reader.rules
    clause = rules.file.book.clause
    asked = _facts_asked(reader)
    for index, own in enumerate(rules.file.fact):
        if own.id in asked and own.id in old.facts and own.id in new.facts:
            fact = rules.facts[own.id]
            default = fact.default
            # The default is a value of the fact's type, as `read_value` made it: `Fact` cannot say so.
            spoken = "" if default is None else figure_text(default, fact, reader.units)  # type: ignore[arg-type]
            aspects: dict[str, Aspect] = {
                "type": Phrase((fact.type, frozenset(fact.choices)), _type_words(fact)),
                "default": Phrase(
                    default,
                    f"{spoken} where the car is silent" if spoken else "",
                    "unknown where the car is silent",
                ),
            }
            yield reader.provision("fact", clause, ("fact", index), frozenset((own.id,)), aspects, id=own.id)
    both = {kind.id for kind in old.file.kind} & {kind.id for kind in new.file.kind}
    for index, kind in enumerate(rules.file.kind):
        if kind.id in both:
            words = f"{kind.from_factory} there from the factory"
            given: dict[str, Aspect] = {"from_factory": Phrase(kind.from_factory, words)}
            yield reader.provision("kind", clause, ("kind", index), frozenset((kind.id,)), given, id=kind.id)


def _type_words(fact: Fact) -> str:
    return f"one of {', '.join(sorted(fact.choices))}" if fact.choices else f"of type {fact.type}"


def _facts_asked(reader: Reader) -> set[str]:
    """The facts that the rules and limits of the class ask for."""
    full, rules = reader.full, reader.rules
    held: set[Path] = {placed.path for each in full.rules.values() for placed in each}
    held |= {key.path for key in full.weight.values()}

    def in_class(path: Path) -> bool:
        return any(path[:length] in held for length in range(1, len(path) + 1))

    found: set[str] = {placed.rule.fact for placed in full.rules["counts"]}
    for path, node in rules.nodes.items():
        if in_class(path):
            for each in walk(node):
                if isinstance(each, (IsOneOf, Within, Aged)):
                    found.add(each.fact)
                if isinstance(each, Within):
                    edges = (*each.bounds.lower, *each.bounds.upper)
                    found.update(edge.fact for edge, _ in edges if isinstance(edge, AsMade))
    for path, spec in rules.limits.items():
        if in_class(path) and isinstance(spec.form, (Banded, ByCase, Linear)):
            found.add(spec.form.fact)
    adjusts = [adjust for adjust, _ in full.weight["adjust"].value] if "adjust" in full.weight else []
    adjusts += [adjust for placed in full.rules["limit"] for adjust in placed.rule.adjust or ()]
    return found | {adjust.add.fact for adjust in adjusts if adjust.add.fact is not None}
