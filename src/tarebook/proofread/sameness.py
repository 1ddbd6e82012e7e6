"""What rules and terms of weight mean, in a form that is equal exactly where they mean the same."""

from collections import Counter
from collections.abc import Hashable
from typing import Any

from tarebook.meaning.space import Space
from tarebook.quantities import Quantity
from tarebook.rules.classes import Path, Placed
from tarebook.rules.limits import Band, Banded, ByCase, LimitSpec
from tarebook.rules.models import FurtherLimit
from tarebook.rules.reading import RuleSet

LIMITS = ("minimum", "maximum")
AXLES = ("front_axle", "rear_axle")
NOT_MEANT = frozenset(("clause", "says", "if_"))


def likeness(placed: Placed[Any]) -> Hashable:
    """Equal for rules that may mean the same; a first look that costs little."""
    rule = placed.rule
    kinds = frozenset(getattr(rule, "kinds", ()))
    return placed.form, kinds, frozenset(getattr(rule, "does", ())), frozenset(getattr(rule, "finish", ()))


class Sameness:
    """Gives the meanings of one rule set, over a space made for all the conditions compared."""

    def __init__(self, rules: RuleSet, space: Space) -> None:
        self._rules = rules
        self._space = space

    def of_rule(self, placed: Placed[Any]) -> Hashable:
        """The meaning of a rule of a list, other than `counts`."""
        rule, form, space = placed.rule, placed.form, self._space
        holds = space.holds(self._node(placed.path))
        if form in ("enter", "require"):
            must = space.holds(self._rules.nodes[(*placed.path, "must")])
            return form, space.either(space.negated(holds), must)
        if form == "ask":
            return form, rule.says, holds
        if form == "finish":
            return form, rule.area, frozenset(rule.by), holds, rule.id if rule.if_ is None else ""
        if form == "limit":
            return form, holds, self._further_limit(rule, placed.path)
        common = (form, frozenset(rule.kinds), frozenset(rule.despite))
        if form == "strip":
            return *common, holds
        applies = space.both(holds, space.keeps(rule.part))
        if form == "need":
            wanted = rule.at_least or len(rule.kinds)
            return *common, holds, applies, wanted, rule.whole
        settled = tuple(getattr(rule, name, None) for name in ("only", "ask", "fixings"))
        return *common, frozenset(rule.does), applies, settled, frozenset(getattr(rule, "finish", ()))

    def of_term(self, key: str, value: Any, path: Path) -> Hashable:
        """The meaning of a key of `weight`, or of a further limit, other than its clause and its words."""
        if key in LIMITS:
            return _limit(self._rules.limits[path])
        if key in AXLES:
            limits = self._rules.limits
            ends = ((*path, end) for end in ("least", "most"))
            return tuple(_limit(limits[end]) if end in limits else None for end in ends)
        if key == "adjust":
            return frozenset(Counter(self._adjust(adjust, at) for adjust, at in value).items())
        if key == "ballast":
            most = value.most.value if value.most is not None else None
            return value.allowed, most, frozenset(value.places or ())
        if isinstance(value, Quantity):
            return value.value
        return frozenset(value) if isinstance(value, list) else value

    def _further_limit(self, limit: FurtherLimit, path: Path) -> Hashable:
        terms: dict[str, Hashable] = {}
        for key in limit.stated - NOT_MEANT:
            value = getattr(limit, key)
            if key == "adjust":
                value = [(adjust, (*path, key, index)) for index, adjust in enumerate(value)]
            terms[key] = self.of_term(key, value, (*path, key))
        return frozenset(terms.items())

    def _adjust(self, adjust: Any, path: Path) -> Hashable:
        added = adjust.add
        amount = (added.amount.dimension, added.amount.value) if added.amount is not None else None
        most = added.most.value if added.most is not None else None
        return adjust.of, amount, added.fact, most, self._space.holds(self._node(path))

    def _node(self, path: Path) -> Any:
        return self._rules.nodes.get((*path, "if"))


def _limit(spec: LimitSpec) -> Hashable:
    form = spec.form
    if isinstance(form, Banded):
        merged: list[Band] = []
        for band in sorted(form.bands, key=lambda band: band.over):
            if merged and merged[-1].up_to == band.over and merged[-1].value == band.value:
                band = Band(merged.pop().over, band.up_to, band.value)
            merged.append(band)
        return "bands", form.fact, tuple(merged), form.otherwise, spec.least
    if isinstance(form, ByCase):
        return "cases", form.fact, frozenset(form.cases), form.otherwise, spec.least
    return type(form).__name__, form, spec.least
