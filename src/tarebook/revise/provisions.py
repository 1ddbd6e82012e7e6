"""The provisions of a class: all that its rules, its weight and its silence say, each by what it means.

What a provision is called, where it stands, and its own words for itself are no part of its meaning; what pairs it
with its like in another edition is its subject.
"""

from collections.abc import Hashable, Iterator
from dataclasses import replace
from typing import Any

from tarebook.judge.wording import GERUND
from tarebook.meaning.words import inside, number_text, part_text
from tarebook.revise.aspects import Aspect, Demand, Flag, Phrase, Several
from tarebook.revise.declared import declared_provisions
from tarebook.revise.meanings import Meanings
from tarebook.revise.provision import BROUGHT, DECIDING, MOST_BONDS, Provision, compete, the_kind
from tarebook.revise.reader import Reader
from tarebook.revise.redundant import without_redundant_kinds
from tarebook.revise.weights import weight_provisions
from tarebook.rules.classes import Placed, clause_covers
from tarebook.rules.conditions import Aged, Happened, IsOneOf, Node, Within, walk
from tarebook.rules.models import ACTIONS
from tarebook.rules.reading import RuleSet


def provisions(rules: RuleSet, class_id: str, meanings: Meanings) -> list[Provision]:
    """All provisions of a class of one of the two editions whose `meanings` these are."""
    reader = _Rules(rules, rules.class_in_full(class_id), meanings)
    found = without_redundant_kinds(_merged(list(reader.run())))
    _link(found)
    return found


class _Rules(Reader):
    """Reads the rules of each form, and the silence."""

    def run(self) -> Iterator[Provision]:
        full = self.full
        yield from self._silence()
        yield from weight_provisions(self)
        for form, read in (
            ("counts", self._counts),
            ("enter", self._demand),
            ("require", self._demand),
            ("allow", self._change),
            ("ban", self._change),
            ("need", self._need),
            ("strip", self._strip),
            ("finish", self._finish),
            ("ask", self._ask),
        ):
            for placed in full.rules[form]:
                yield read(placed)
        yield from declared_provisions(self)

    def _part(self, placed: Placed[Any], only: bool = False) -> Phrase:
        bounds = placed.rule.part
        meaning = self.meanings.part(bounds) if bounds is not None else 1
        text = part_text(bounds, self.rules.tree, self.units)
        return Phrase(meaning, f"{'only ' if only else ''}with a part {text}" if text else "", "with any part")

    def _of(
        self, placed: Placed[Any], aspects: dict[str, Aspect], subject: frozenset[Hashable], **more: Any
    ) -> Provision:
        if placed.form in DECIDING:
            more.update(
                order=placed.rank.order, prevails=placed.prevails, despite=tuple(dict.fromkeys(placed.rule.despite))
            )
        return self.provision(placed.form, placed.rule.clause, placed.path, subject, aspects, **more)

    def _silence(self) -> Iterator[Provision]:
        full = self.full
        for action in ACTIONS:
            permits = getattr(full.silence, action) == "permits"
            words = "permitted" if permits else "forbidden"
            yield self.provision(
                "silence",
                full.silence_clause,
                full.silence_path,
                frozenset((action,)),
                {action: Phrase(permits, words)},
            )

    def _counts(self, placed: Placed[Any]) -> Provision:
        rule = placed.rule
        times = Phrase(rule.times, f"{number_text(rule.times)} times as much")
        aspects: dict[str, Aspect] = {
            "fact": Phrase(rule.fact, inside(self.rules.facts[rule.fact].title)),
            "times": times,
            "if": self.case(placed.path),
        }
        return self._of(placed, aspects, frozenset((rule.fact,)))

    def _demand(self, placed: Placed[Any]) -> Provision:
        path = placed.path
        parts = tuple((meaning, self.condition(node)) for meaning, node in self.meanings.demand_parts(self.rules, path))
        node = self.rules.nodes.get((*path, "if"))
        case = (self.meanings.condition(self.rules, path), "" if node is None else self.condition(node))
        demand = Demand(self.meanings.demand(self.rules, path), parts, case)
        return self._of(placed, {"must": demand}, asked_about(self.rules.nodes[(*path, "must")]))

    def _change(self, placed: Placed[Any]) -> Provision:
        rule = placed.rule
        only = placed.form == "allow" and rule.only
        aspects: dict[str, Aspect] = {
            "does": Several(frozenset(rule.does), {each: GERUND[each] for each in dict.fromkeys(rule.does)}),
            "kinds": self.kinds(rule.kinds),
            "if": self.case(placed.path, only),
            "part": self._part(placed, only),
            "fixings": Flag(
                rule.fixings, "now also for what belongs to such a part", "no longer for what belongs to such a part"
            ),
        }
        if placed.form == "allow":
            aspects["only"] = Flag(only, "now forbidden in any other case", "no longer forbidden in any other case")
            asks = f'if a person agrees: "{rule.ask}"' if rule.ask is not None else ""
            aspects["ask"] = Phrase(rule.ask, asks, "without asking a person")
        return self._of(
            placed,
            aspects,
            frozenset((kind, action) for kind in rule.kinds for action in rule.does),
            kinds=tuple(dict.fromkeys(rule.kinds)),
            does=tuple(dict.fromkeys(rule.does)),
            finish=tuple(getattr(rule, "finish", ())),
        )

    def _need(self, placed: Placed[Any]) -> Provision:
        rule = placed.rule
        each = rule.at_least is None or rule.at_least == len(set(rule.kinds))
        aspects: dict[str, Aspect] = {
            "at_least": Phrase(
                "each" if each else rule.at_least, "each of them" if each else f"at least {rule.at_least} of them"
            ),
            "kinds": self.kinds(rule.kinds),
            "if": self.case(placed.path),
            "part": self._part(placed),
            "whole": Flag(rule.whole, "now complete, as the factory gave it", "no longer complete"),
        }
        return self._of(placed, aspects, frozenset(rule.kinds), kinds=tuple(dict.fromkeys(rule.kinds)), does=("fit",))

    def _strip(self, placed: Placed[Any]) -> Provision:
        kinds = placed.rule.kinds
        aspects: dict[str, Aspect] = {"kinds": self.kinds(kinds), "if": self.case(placed.path)}
        return self._of(placed, aspects, frozenset(kinds), kinds=tuple(dict.fromkeys(kinds)), does=("remove",))

    def _finish(self, placed: Placed[Any]) -> Provision:
        rule = placed.rule
        aspects: dict[str, Aspect] = {
            "area": Phrase(rule.area, the_kind(rule.area, self.rules.tree)),
            "by": Several(frozenset(rule.by), {each: each for each in rule.by}),
            # Without a condition it holds only through the allowances that refer to it.
            "if": Phrase("brought", BROUGHT) if rule.if_ is None else self.case(placed.path),
        }
        return self._of(placed, aspects, frozenset((rule.area,)), id=rule.id)

    def _ask(self, placed: Placed[Any]) -> Provision:
        says = placed.rule.says
        aspects: dict[str, Aspect] = {"says": Phrase(says, f'"{says}"'), "if": self.case(placed.path)}
        return self._of(placed, aspects, frozenset())


def asked_about(node: Node) -> frozenset[Hashable]:
    """The facts and kinds that a condition speaks of."""
    found: set[Hashable] = set()
    for each in walk(node):
        if isinstance(each, Happened):
            found.update(each.kinds)
        elif isinstance(each, (IsOneOf, Within, Aged)):
            found.add(each.fact)
    return frozenset(found)


def _merged(found: list[Provision]) -> list[Provision]:
    """Rules of one clause that differ only in their kinds, or only in their actions, are one rule."""
    for name in ("kinds", "does"):
        merged: dict[Hashable, Provision] = {}
        for place, each in enumerate(found):
            key = _all_but(name, each) if name in each.aspects and _adds_up(each) else place
            merged[key] = _joined(merged[key], each, name) if key in merged else each
        found = list(merged.values())
    return found


def _adds_up(provision: Provision) -> bool:
    each = provision.aspects.get("at_least")
    return provision.decides and (each is None or each.meaning == "each")


def _all_but(name: str, provision: Provision) -> Hashable:
    rest = frozenset((key, aspect.meaning) for key, aspect in provision.aspects.items() if key != name)
    links = (frozenset(provision.despite), frozenset(provision.finish))
    return (provision.form, provision.clause, provision.order, provision.prevails, rest, links)


def _joined(one: Provision, other: Provision, name: str) -> Provision:
    mine, theirs = one.aspects[name], other.aspects[name]
    assert isinstance(mine, Several)
    assert isinstance(theirs, Several)
    both = Several(mine.meaning | theirs.meaning, {**mine.names, **theirs.names})
    return replace(
        one,
        aspects={**one.aspects, name: both},
        subject=one.subject | other.subject,
        kinds=tuple(dict.fromkeys((*one.kinds, *other.kinds))),
        does=tuple(dict.fromkeys((*one.does, *other.does))),
    )


def _link(found: list[Provision]) -> None:
    duties = {each.id: each for each in found if each.form == "finish" and each.brought}
    for each in found:
        if each.finish:
            each.links["finish"] = tuple(duties[name] for name in dict.fromkeys(each.finish) if name in duties)
    deciding = [each for each in found if each.decides]
    beating = [each for each in deciding if each.despite]
    if len(beating) * len(deciding) > MOST_BONDS:
        return
    for each in beating:
        each.links["despite"] = tuple(
            other
            for other in deciding
            if any(clause_covers(clause, other.clause) for clause in each.despite) and compete(each, other)
        )
