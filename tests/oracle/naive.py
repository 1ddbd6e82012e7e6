"""A second judge, written from `docs/how-verdicts-are-made.md` alone, plainly; speed is no object.

It tries every completion of what is unknown, decides each one with everything known by scanning all rules,
and then compares all pairs of completions that differ in one unknown. The numbers in the comments are the
points of that page. Where the page leaves a question open that the case at hand raises, `Unspecified` says
which: such a case proves nothing about another implementation.
"""

import datetime
import itertools
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache, cached_property
from math import ceil, floor, sqrt
from typing import Any

from tarebook.car.models import CarFile, Estimate, Job, Part
from tarebook.facts import BUILTIN
from tarebook.fields import read_quantity
from tarebook.kinds import Kind, KindTree, builtin
from tarebook.quantities import Quantity, parse_quantity
from tarebook.rules.models import (
    Adjust,
    Allow,
    Ballast,
    Ban,
    Class,
    LimitForm,
    Need,
    PartBounds,
    Rules,
    RulesFile,
    Strip,
)

MOST_COMPLETIONS = 20_000
QUANTITIES = ("mass", "length", "volume", "power", "money")
NUMBERS = (*QUANTITIES, "number", "count")
BOUND_KEYS = ("least", "most", "over", "under", "up_to")
DEFAULT_DENSITY = {  # kg/L, and half the width of its rectangle
    "petrol": (Fraction("0.7475"), Fraction("0.0275")),
    "diesel": (Fraction("0.8325"), Fraction("0.0125")),
}
CONFIDENCE = 0.975

Name = tuple[str, ...]  # ("fact", id), ("kind", path) or ("part", id, particular)
Values = dict[Name, Any]


class Mistake(Exception):
    """The car file or the rule set is not valid."""


class Unspecified(Exception):
    """The specification does not say what holds here."""


class TooMany(Exception):
    """More completions than this judge is willing to try."""


class Asked(Exception):
    """No error: an unknown that the completion at hand does not hold yet."""

    def __init__(self, name: Name) -> None:
        self.name = name


@dataclass(frozen=True)
class Answer:
    """The verdict, and what to find out, sorted: facts by id, kinds by path, and "PART.material"."""

    verdict: str
    facts_to_find: tuple[str, ...]


def decide(car: CarFile, rules: RulesFile, class_id: str, build: str, on: datetime.date) -> Answer:
    """Judge one build of a car against one class on one day."""
    return Judge(car, rules, class_id, build, on).answer()


def covers(kind: str, other: str) -> bool:  # 1
    return kind == "everything" or other == kind or other.startswith(kind + ".")


def levels(kind: str) -> int:
    return 0 if kind == "everything" else kind.count(".") + 1


def related(one: str, other: str) -> bool:
    return covers(one, other) or covers(other, one)


def clause_covers(clause: str, other: str | None) -> bool:  # 1
    return other is not None and (other == clause or other.startswith(clause + "."))


# --- Jobs and builds (5, 6, 11)


def jobs_in_order(car: CarFile) -> list[Job]:  # 5
    """By date, undated ones last; of one day by `needs`, then as in the file."""
    ordered: list[Job] = []
    days = {job.date or datetime.date.max for job in car.job}
    for day in sorted(days):
        waiting = [job for job in car.job if (job.date or datetime.date.max) == day]
        while waiting:
            ids = {job.id for job in waiting}
            ready = [job for job in waiting if not ids & set(job.needs) - {job.id}]
            if not ready:
                raise Mistake("jobs need each other in a circle")
            ordered.append(ready[0])
            waiting.remove(ready[0])
    return ordered


def outset_of(car: CarFile) -> frozenset[str]:  # 5
    parts = {part.id: part for part in car.part}
    first: dict[str, str] = {}
    for job in jobs_in_order(car):
        for part in job.off:
            first.setdefault(part, "off")
        for part in job.fit:
            first.setdefault(part, "fit")
        for part in job.fit:
            if parts[part].replaces in parts:
                first.setdefault(str(parts[part].replaces), "replaced")
    there = {part for part in parts if first.get(part) != "fit"}
    return frozenset(there - {parts[part].replaces for part in there})


def jobs_of_build(car: CarFile, build: str) -> list[Job]:  # 11
    states = {"now": {"done"}, "planned": {"done", "planned"}}
    if build in states:
        chosen = {job.id for job in car.job if job.state in states[build]}
    else:
        named = next(one for one in car.build if one.id == build)
        chosen = {job.id for job in car.job if job.state == "done"} | set(named.jobs)
        chosen -= set(named.undo)
    jobs = [job for job in jobs_in_order(car) if job.id in chosen]
    for job in jobs:
        if set(job.needs) - chosen:
            raise Mistake(f"{job.id} lacks what it needs in {build}")
        if set(job.not_with) & chosen:
            raise Mistake(f"{job.id} is in {build} with what excludes it")
    return jobs


@dataclass
class State:
    """A car after some jobs: which parts are on, and what was done to them."""

    on: set[str]
    lightened: dict[str, str] = field(default_factory=dict)  # part -> the job that did it last
    places: dict[str, dict[str, Any]] = field(default_factory=dict)  # part -> at, right, place


def after(car: CarFile, jobs: Iterable[Job]) -> State:  # 11
    parts = {part.id: part for part in car.part}
    state = State(set(outset_of(car)))
    for part in car.part:
        state.places[part.id] = {
            "at": part.at and part.at.value,
            "right": part.right and part.right.value,
            "place": part.place,
        }
    for job in jobs:
        for part in job.off:
            if part not in state.on:
                raise Mistake(f"{job.id} takes off {part}, which is not on")
            state.on.remove(part)
        for part in job.fit:
            if part in state.on:
                raise Mistake(f"{job.id} fits {part}, which is on")
            state.on.add(part)
            state.on.discard(str(parts[part].replaces))
        for part in job.lightens:
            state.lightened[part] = job.id
        for part, move in job.moves.items():
            if move.at is not None:
                state.places[part]["at"] = move.at.value
            if move.right is not None:
                state.places[part]["right"] = move.right.value
            if move.place is not None:
                state.places[part]["place"] = move.place
    return state


# --- Masses and their uncertainty (25)


@dataclass
class Measured:
    """A mass in kg: its mean, its own independent sources (u, degrees of freedom), and how much of each
    common source (a scale's check) it carries, as the number of readings of it that add up."""

    mean: Fraction
    own: list[tuple[float, float]]
    common: Counter[str] = field(default_factory=Counter)


INFINITE = float("inf")


def measure(
    car: CarFile,
    readings: list[Quantity] | None,
    scale_id: str | None,
    estimate: Estimate | None,
    times: int = 1,
) -> Measured | None:
    """The mass of `times` pieces of which one was read or estimated; None where nothing was stated."""
    if estimate is not None:
        return Measured(times * estimate.mass.value, [(times * float(estimate.within.value) / sqrt(3), INFINITE)])
    if not readings:
        return None
    values = [reading.value for reading in readings]
    mean = sum(values, Fraction(0)) / len(values)
    own: list[tuple[float, float]] = []
    common: Counter[str] = Counter()
    if len(values) > 1:
        spread = sqrt(sum(float(value - mean) ** 2 for value in values) / (len(values) - 1))
        own.append((times * spread / sqrt(len(values)), len(values) - 1))
    if scale_id is None:
        steps = {reading.step for reading in readings}
        if len(steps) > 1:
            raise Unspecified("readings without a scale, written to different digits")
        resolution = steps.pop()
    else:
        scale = next(one for one in car.scale if one.id == scale_id)
        resolution = scale.resolution.value
        if scale.check is not None:
            mean += scale.check.known.value - scale.check.read.value
            common[scale_id] = times
    own.append((times * float(resolution) / sqrt(12), INFINITE))
    return Measured(times * mean, own, common)


def measure_part(car: CarFile, part: Part, lightened_by: str | None) -> Measured | None:
    if lightened_by is not None:
        form = next(job for job in car.job if job.id == lightened_by).lightens[part.id]
        return measure(car, form.mass, form.scale, form.estimate)
    if part.mass_each is not None:
        return measure(car, part.mass_each, part.scale, None, part.count or 1)
    return measure(car, part.mass or part.mass_together, part.scale, part.estimate)


@dataclass
class Mass:
    """A sum of masses, in kg; `unknown` says why there is none."""

    mean: Fraction = Fraction(0)
    u: float = 0.0
    dof: float = INFINITE
    unknown: frozenset[str] = frozenset()


def add_up(car: CarFile, terms: list[tuple[Fraction, Measured]], other: Iterable[float] = ()) -> Mass:
    """Each term is a factor and a mass; `other` are further independent sources, exactly known ones."""
    mean = sum((factor * mass.mean for factor, mass in terms), Fraction(0))
    sources = [(u, INFINITE) for u in other]
    common: dict[str, Fraction] = {}
    for factor, mass in terms:
        sources += [(abs(float(factor)) * u, dof) for u, dof in mass.own]
        for scale, count in mass.common.items():
            common[scale] = common.get(scale, Fraction(0)) + factor * count
    for scale_id, count in common.items():
        check = next(one for one in car.scale if one.id == scale_id).check
        assert check is not None
        sources.append((abs(float(count)) * float(check.u.value), INFINITE))
    u = sqrt(sum(one * one for one, _ in sources))
    below = sum(one**4 / dof for one, dof in sources)
    return Mass(mean, u, u**4 / below if below else INFINITE)


@cache
def quantile(dof: float) -> float:
    """How many standard uncertainties of margin give the confidence asked."""
    from scipy import stats

    return float(stats.norm.ppf(CONFIDENCE) if dof == INFINITE else stats.t.ppf(CONFIDENCE, dof))


def limit_verdict(margin: Fraction, mass: Mass) -> str:  # 26
    """By the margin that is left: the chance that the limit is kept grows with margin / u."""
    if mass.u == 0:
        return "eligible" if margin >= 0 else "not-eligible"
    ratio, enough = float(margin) / mass.u, quantile(mass.dof)
    if ratio >= enough:
        return "eligible"
    return "not-eligible" if ratio < -enough else "too-close"


# --- What a class says (18.2)

FORMS = ("limit", "counts", "enter", "require", "allow", "ban", "need", "strip", "finish", "ask")


@dataclass(frozen=True)
class Entry:
    """One entry of a list of rules, as a class has it. A lower `tier` wins."""

    form: str
    rule: Any
    tier: tuple[int, int]
    prevails: bool


def entries_of(where: Rules, tier: tuple[int, int], prevails: bool) -> list[Entry]:
    return [Entry(form, rule, tier, prevails) for form in FORMS for rule in getattr(where, form)]


def class_named(rules: RulesFile, class_id: str) -> Class:
    return next(one for one in rules.class_ if one.id == class_id)


def entries_by_like(rules: RulesFile, class_id: str, depth: int) -> list[Entry]:
    one = class_named(rules, class_id)
    borrowed: list[Entry] = []
    if one.like is not None:
        borrowed += entries_by_like(rules, one.like, depth + 1)
    for group in rules.group:
        if group.id in one.uses:
            borrowed += entries_of(group, (1, depth), group.prevails)
    kept = [entry for entry in borrowed if not any(clause_covers(drop, entry.rule.clause) for drop in one.drops)]
    return entries_of(one, (0, depth), False) + kept


def entries_of_class(rules: RulesFile, class_id: str) -> list[Entry]:
    entries = entries_by_like(rules, class_id, 0)
    for group in rules.group:
        if group.everywhere:
            entries += entries_of(group, (1, 0), group.prevails)
    nearest: dict[int, Entry] = {}
    for entry in sorted(entries, key=lambda entry: entry.tier):
        nearest.setdefault(id(entry.rule), entry)
    return list(nearest.values())


LIMIT_TAKES = ("driver", "driver_counts_as", "co_driver", "fuel", "without", "allowance")
WEIGHT_KEYS = (*LIMIT_TAKES, "minimum", "maximum", "front_axle", "rear_axle", "adjust", "ballast", "clause")


def like_chain(rules: RulesFile, class_id: str) -> list[Class]:
    chain = [class_named(rules, class_id)]
    while chain[-1].like is not None:
        chain.append(class_named(rules, chain[-1].like))
    return chain


# --- Changes (12)


@dataclass(frozen=True)
class Change:
    """One change: decided for `kind`, and for those of `things` (and groupings of them) that a rule names."""

    action: str
    kind: str
    things: frozenset[str]
    old: str | None = None
    new: tuple[str, ...] = ()

    @property
    def subject(self) -> str | None:
        """The part that others may belong to."""
        return self.old or (self.new[0] if self.action == "fit" else None)


@dataclass(frozen=True)
class Decider:
    """A rule that may decide a change (15)."""

    clause: str | None
    kinds: tuple[str, ...]
    does: tuple[str, ...]
    allows: bool
    tier: tuple[int, int]
    prevails: bool
    if_: dict[str, Any] | None = None
    part: PartBounds | None = None
    only: bool = False
    fixings: bool = False
    despite: tuple[str, ...] = ()
    finish: tuple[str, ...] = ()


class Judge:
    """One build of a car against one class on one day. `w` is always a completion."""

    def __init__(self, car: CarFile, rules: RulesFile, class_id: str, build: str, on: datetime.date) -> None:
        self.car, self.rules, self.on = car, rules, on
        self.most_completions = MOST_COMPLETIONS
        own = [Kind(one.id, one.title, one.from_factory) for one in (*rules.kind, *car.kind)]
        self.tree: KindTree = builtin().extended(own)
        self.parts = {part.id: part for part in car.part}
        self.outset = outset_of(car)
        self.jobs = jobs_of_build(car, build)
        self.state = after(car, self.jobs)
        self.before = after(car, [])
        self.entries = entries_of_class(rules, class_id)
        self.chain = like_chain(rules, class_id)
        self._masses: dict[Any, Mass] = {}
        self._words: dict[str, frozenset[str] | None] = {}
        self._stands: dict[str, frozenset[str]] = {}
        self.units = {"car": car.units.as_dict(), "rules": rules.units.as_dict()}
        self.facts: dict[str, Any] = {**BUILTIN, **{one.id: one for one in rules.fact}}
        if any(
            part.replaces in self.parts and self.parts[part.replaces].replaces in self.replaced_kinds
            for part in car.part
        ):
            raise Unspecified("a chain of parts that ends in a replaced kind")

    def form(self, name: str) -> list[Any]:
        return [entry.rule for entry in self.entries if entry.form == name]

    # --- Kinds and presence (3 to 10)

    @cached_property
    def originals(self) -> frozenset[str]:  # 6
        found = set(self.outset)
        for part in self.outset:
            while (replaced := self.parts[part].replaces) in self.parts:
                part = str(replaced)
                found.add(part)
        return frozenset(found)

    @cached_property
    def replaced_kinds(self) -> frozenset[str]:
        """The kinds that some part of the ledger names in `replaces`."""
        return frozenset(p.replaces for p in self.car.part if p.replaces and p.replaces not in self.parts)

    def ledger_says(self, kind: str) -> bool | None:  # 4
        parts = [part for part in self.car.part if covers(kind, part.kind)]
        named = [replaced for replaced in self.replaced_kinds if covers(kind, replaced)]
        if not parts and not named:
            return None
        return bool(named) or any(part.origin == "factory" and part.id in self.originals for part in parts)

    def word(self, kind: str) -> frozenset[str] | None:  # 3
        """None: not there. Else there if all of these kinds are present."""
        if kind not in self._words:
            self._words[kind] = self._word(kind)
        return self._words[kind]

    def _word(self, kind: str) -> frozenset[str] | None:
        there, hangs_on = True, set()
        steps = kind.split(".")
        for path in (".".join(steps[: n + 1]) for n in range(len(steps))):
            label = self.tree.get(path).factory
            if path in self.car.car.absent:
                there = False
            elif path in self.car.car.present:
                there, hangs_on = True, set()
            elif label == "never":
                there = False
            elif label == "sometimes" and there:
                said = self.ledger_says(path)
                if said is None:
                    hangs_on.add(path)
                else:
                    there = said
        return frozenset(hangs_on) if there else None

    def is_thing(self, kind: str) -> bool:  # 2
        return kind in self.tree.things_under(kind)

    def stands_for(self, kind: str) -> frozenset[str]:  # 7
        """The things that a part of this kind stands for."""
        if kind not in self._stands:
            found = set()
            for thing in self.tree.things_under(kind):
                nearer = any(
                    levels(self.parts[part].kind) > levels(kind) and covers(self.parts[part].kind, thing)
                    for part in self.originals
                )
                if thing == kind or (self.word(thing) == frozenset() and not nearer):
                    found.add(thing)
            self._stands[kind] = frozenset(found)
        return self._stands[kind]

    def by_word(self, w: Values, thing: str) -> bool:
        hangs_on = self.word(thing)
        return hangs_on is not None and all(ask(w, ("kind", kind)) for kind in sorted(hangs_on))

    def thing_on(self, w: Values, thing: str) -> bool:  # 8
        on = [self.parts[part] for part in self.state.on]
        displaced = any(part.replaces in self.replaced_kinds and thing in self.stands_for(part.replaces) for part in on)
        if displaced:
            return any(
                part.kind == thing
                or (thing in self.stands_for(part.kind) and (part.id not in self.originals or part.replaces))
                for part in on
            )
        if any(thing in self.stands_for(part.kind) for part in on):
            return True
        if any(thing in self.stands_for(self.parts[part].kind) for part in self.originals):
            return False
        return self.by_word(w, thing)

    def fitted(self, w: Values, kind: str) -> bool:  # 9
        if any(covers(kind, self.parts[part].kind) for part in self.state.on):
            return True
        return any(self.thing_on(w, thing) for thing in self.tree.things_under(kind))

    def from_factory(self, w: Values, kind: str) -> bool:  # 10
        for original in (self.parts[part] for part in self.originals):
            if original.origin == "factory" and (
                covers(kind, original.kind) or any(covers(kind, thing) for thing in self.stands_for(original.kind))
            ):
                return True
        things = self.tree.things_under(kind)
        if any(thing in self.stands_for(replaced) for replaced in self.replaced_kinds for thing in things):
            return True
        return any(self.by_word(w, thing) for thing in things)

    # --- Changes (12, 13)

    @cached_property
    def put_back(self) -> dict[str, str]:
        """12, last: an aftermarket part of the outset that came off -> what it had replaced, on again."""
        found = {}
        for part in self.outset - self.state.on:
            replaced = self.parts[part].replaces
            if self.parts[part].origin == "aftermarket" and replaced in self.state.on:
                if self.parts[str(replaced)].origin == "aftermarket":
                    raise Unspecified("an aftermarket part put back for another one of the outset")
                if any(self.parts[other].replaces == part for other in self.state.on):
                    raise Unspecified("a part of the outset both undone and replaced")
                if str(replaced) in self.state.lightened or self.moved(str(replaced)):
                    raise Unspecified("a part put back, but not as it was")
                found[part] = str(replaced)
        return found

    @cached_property
    def came_off(self) -> set[str]:
        return self.outset - self.state.on - set(self.put_back)

    def moved(self, part: str) -> bool:
        return self.state.places[part] != self.before.places[part]

    def place_taken(self, newcomer: str) -> str | None:
        """The part or kind whose place a newcomer took, or None."""
        was_there, part = newcomer in self.outset, newcomer
        while True:
            replaced = self.parts[part].replaces
            if replaced is None:
                return None
            if replaced not in self.parts:
                if part != newcomer:
                    raise Unspecified("a chain of replacements that ends in a kind")
                return replaced
            if replaced in self.outset or (was_there and part == newcomer):
                return None if replaced in self.state.on else replaced
            if replaced in self.state.on:
                raise Unspecified("a newcomer beside the newcomer that it replaces")
            part = replaced

    @cached_property
    def changes(self) -> list[Change]:
        found: list[Change] = []
        on = self.state.on
        newcomers = on - self.outset - set(self.put_back.values())
        newcomers |= {part for part in on & self.outset if self.parts[part].origin == "aftermarket"}
        by_place: dict[str, list[str]] = {}
        for part in sorted(newcomers):
            place = self.place_taken(part)
            if place is None:
                found.append(self.addition(part))
            else:
                by_place.setdefault(place, []).append(part)
        for place, parts in by_place.items():
            found += self.replacement(place, parts)
        for part in sorted(self.came_off - set(by_place)):
            kind = self.parts[part].kind
            found.append(Change("remove", kind, self.stands_for(kind), part))
        for part in sorted(on & self.outset):
            kind = self.parts[part].kind
            if part in self.state.lightened:
                found.append(Change("lighten", kind, self.stands_for(kind), part, (part,)))
            if self.moved(part):
                found.append(Change("move", kind, self.stands_for(kind), part, (part,)))
        return found

    def addition(self, part: str) -> Change:
        kind = self.parts[part].kind
        return Change("fit", kind, self.stands_for(kind), None, (part,))

    def replacement(self, place: str, newcomers: list[str]) -> Iterator[Change]:
        old = place if place in self.parts else None
        kind = self.parts[place].kind if old else place
        kinds = {part: self.parts[part].kind for part in newcomers}
        near = [part for part in newcomers if related(kinds[part], kind)]
        yield from (self.addition(part) for part in newcomers if part not in near)
        stood_for = self.stands_for(kind)
        if not near:
            yield Change("remove", kind, stood_for, old)
        elif stood_for and all(kinds[part] != kind and covers(kind, kinds[part]) for part in near):
            rest = set(stood_for)
            for below in sorted({kinds[part] for part in near}):
                under = frozenset(thing for thing in stood_for if covers(below, thing))
                rest -= under
                yield Change("swap", below, under, old, tuple(part for part in near if kinds[part] == below))
            for thing in sorted(rest):
                yield Change("remove", thing, frozenset({thing}), old)
        else:
            yield Change("swap", kind, stood_for, old, tuple(near))

    def changed(self, action: str, kind: str) -> bool:  # 13
        return any(
            change.action == action and (covers(kind, change.kind) or any(covers(kind, t) for t in change.things))
            for change in self.changes
        )

    # --- Facts and conditions (14)

    def read(self, value: object, fact: str, whose: str) -> Any:
        """A value of that fact as a file writes it, in base units."""
        kind = self.facts[fact].type
        if kind in QUANTITIES:
            return read_quantity(value, kind, self.units[whose], signed=True).value
        if kind in ("number", "count"):
            assert not isinstance(value, str | bool)
            return Fraction(value)  # type: ignore[arg-type]
        return value

    def stated(self, fact: str, as_made: bool) -> Any:
        """What the files say of a fact; None where they are silent."""
        if fact == "model_year":
            year = self.car.car.model_year
            return None if year is None else Fraction(year)
        value = self.read(self.car.facts[fact], fact, "car") if fact in self.car.facts else None
        if not as_made:
            for job in self.jobs:
                if fact in job.sets:
                    value = self.read(job.sets[fact], fact, "car")
        default = getattr(self.facts[fact], "default", None)
        return self.read(default, fact, "rules") if value is None and default is not None else value

    def value(self, w: Values, fact: str, as_made: bool = False) -> Any:
        value = self.stated(fact, as_made)
        return ask(w, ("fact", fact)) if value is None else value

    def figure(self, w: Values, fact: str, as_made: bool = False) -> Any:
        """The value as the class reads it: times what its `counts` say."""
        value = self.value(w, fact, as_made)
        for counts in self.form("counts"):
            if counts.fact == fact:
                holds = self.holds(w, counts.if_, stated=True)
                if as_made and holds != self.holds(w, counts.if_, stated=True, as_made=True):
                    raise Unspecified("a `counts` whose `if` holds now but not as made, or the other way round")
                if holds:
                    value *= counts.times
        return value

    def holds(self, w: Values, condition: dict[str, Any] | None, stated: bool = False, as_made: bool = False) -> bool:
        """`stated`: reads figures without `counts`."""
        return all(self._entry_holds(w, key, asked, stated, as_made) for key, asked in (condition or {}).items())

    def _entry_holds(self, w: Values, key: str, asked: Any, stated: bool, as_made: bool) -> bool:
        if key == "any":
            return any(self.holds(w, one, stated, as_made) for one in asked)
        if key == "all":
            return all(self.holds(w, one, stated, as_made) for one in asked)
        if key == "not":
            return not self.holds(w, asked, stated, as_made)
        if key == "as_made":
            return self.holds(w, asked, stated, True)
        kinds = [asked] if isinstance(asked, str) else asked
        if key == "fitted":
            return any(self.fitted(w, kind) for kind in kinds)
        if key == "from_factory":
            return any(self.from_factory(w, kind) for kind in kinds)
        actions = {"removed": ["remove"], "swapped": ["swap"], "lightened": ["lighten"], "moved": ["move"]}
        actions["off"] = ["remove", "swap"]
        if key in actions:
            return any(self.changed(action, kind) for action in actions[key] for kind in kinds)
        value = self.value(w, key, as_made) if stated else self.figure(w, key, as_made)
        if not isinstance(asked, dict):
            wanted = asked if isinstance(asked, list) else [asked]
            return value in [self.read(one, key, "rules") for one in wanted]
        if "age" in asked:
            years = self.on.year - value.year - ((self.on.month, self.on.day) < (value.month, value.day))
            return within(Fraction(years), {name: Fraction(bound) for name, bound in asked["age"].items()})
        return within(value, {name: self._bound(w, key, bound, stated) for name, bound in asked.items()})

    def _bound(self, w: Values, fact: str, bound: Any, stated: bool) -> Any:
        if not isinstance(bound, dict):
            return self.read(bound, fact, "rules")
        other = bound["as_made"]
        value = self.value(w, other, True) if stated else self.figure(w, other, True)
        return value + self.read(bound["plus"], fact, "rules") if "plus" in bound else value

    # --- A part and its bounds (20)

    def says(self, w: Values, part: str, particular: str, changed: bool = True) -> Any:
        """A particular of a part: as the build has it, or as it was at the outset."""
        if particular in ("at", "place"):
            value = (self.state if changed else self.before).places[part][particular]
        else:
            value = getattr(self.parts[part], particular)
        if isinstance(value, Quantity):
            value = value.value
        return ask(w, ("part", part, particular)) if value is None else value

    def mass_now(self, part: str, changed: bool = True) -> Fraction | None:
        mass = measure_part(self.car, self.parts[part], self.state.lightened.get(part) if changed else None)
        return mass and mass.mean

    def change_keeps(self, w: Values, bounds: PartBounds | None, change: Change) -> bool:
        """Whether the part of a change is within the bounds."""
        if bounds is None:
            return True
        if change.action == "remove":
            if change.old is None:
                raise Unspecified("bounds on a removed kind without a part")
            if change.old in self.state.lightened or self.moved(change.old):
                raise Unspecified("bounds on a part that was lightened or moved and then came off")
            part = change.old
        elif len(change.new) > 1:
            raise Unspecified("bounds on one place taken by several parts")
        else:
            part = change.new[0]
        return self.part_keeps(w, bounds, part, change) and self._compared(w, bounds, part, change)

    def part_keeps(self, w: Values, bounds: PartBounds, part: str, change: Change | None = None) -> bool:
        """The bounds that look at the part alone."""
        changed = change is None or change.action != "remove"

        def said(particular: str) -> Any:
            return self.says(w, part, particular, changed)

        if bounds.weighs is not None:
            mass = self.mass_now(part, changed)
            if not within(ask(w, ("part", part, "mass")) if mass is None else mass, table(bounds.weighs)):
                return False
        if bounds.origin is not None and self.parts[part].origin != bounds.origin:
            return False
        if isinstance(bounds.material, list) and said("material") not in bounds.material:
            return False
        if bounds.material_not is not None and said("material") in bounds.material_not:
            return False
        if bounds.thickness is not None and not within(said("thickness"), table(bounds.thickness)):
            return False
        if bounds.years is not None:
            years, year = said("years"), self.figure(w, "model_year")
            if isinstance(years, list) and year not in years and min(years) < year < max(years):
                raise Unspecified("a model year between the years that a part lists")
            if year not in years:
                return False
        if bounds.approval is not None:
            approvals, asked = set(said("approval")), set(bounds.approval)
            if approvals & asked and not asked <= approvals:
                raise Unspecified("a part with some of the approvals asked")
            if not approvals & asked:
                return False
        if bounds.at is not None and not within(said("at"), table(bounds.at)):
            return False
        if bounds.behind is not None:
            if self.car.driver is None or self.car.driver.seat_at is None:
                raise Unspecified("behind a driver whose seat has no place")
            if not said("at") > self.car.driver.seat_at.value:
                return False
        if bounds.within is not None and not 0 <= said("at") <= self.figure(w, "wheelbase"):
            return False
        return bounds.place is None or any(covers(place, said("place")) for place in bounds.place)

    def _compared(self, w: Values, bounds: PartBounds, part: str, change: Change) -> bool:
        """The bounds that compare the part with the one that was there before."""
        old = change.old
        if bounds.material == "as-original":
            if old is None or change.action == "remove":
                raise Unspecified("`as-original` where nothing was there before, or nothing is there now")
            if self.says(w, part, "material") != self.says(w, old, "material", False):
                return False
        shares = (bounds.share_of_original, bounds.share_removed)
        if change.action == "fit":
            if bounds.weight_removed is not None:
                raise Unspecified("`weight_removed` of an addition")
            return not any(shares)
        if not any(shares) and bounds.weight_removed is None:
            return True
        if old is None:
            raise Unspecified("a share of a kind without a part")
        was, now = self.mass_now(old, False), self.mass_now(part)
        if change.action == "remove":
            if not within(Fraction(0), table(bounds.share_of_original)):
                return False
            if not within(Fraction(1), table(bounds.share_removed)):
                return False
            if bounds.weight_removed is None:
                return True
            return within(ask(w, ("part", old, "mass")) if was is None else was, table(bounds.weight_removed))
        if was is None or now is None or was == 0:
            raise Unspecified("a share of an unknown mass")
        return (
            within(now / was, table(bounds.share_of_original))
            and within(was - now, table(bounds.weight_removed))
            and within((was - now) / was, table(bounds.share_removed))
        )

    # --- Which rule decides a change (15 to 19)

    @cached_property
    def deciders(self) -> list[Decider]:  # 15
        found = []
        for entry in self.entries:
            rule = entry.rule
            if not isinstance(rule, Allow | Ban | Strip | Need):
                continue
            decider = Decider(
                clause=rule.clause,
                kinds=tuple(rule.kinds),
                does=("remove",) if isinstance(rule, Strip) else ("fit",),
                allows=not isinstance(rule, Ban),
                tier=entry.tier,
                prevails=entry.prevails,
                if_=rule.if_,
                part=None if isinstance(rule, Strip) else rule.part,
                despite=tuple(rule.despite),
            )
            if isinstance(rule, Allow | Ban):
                decider = replace(decider, does=tuple(rule.does), fixings=rule.fixings)
            if isinstance(rule, Allow):
                decider = replace(decider, only=rule.only, finish=tuple(rule.finish))
            found.append(decider)
        for depth, one in enumerate(self.chain):
            if one.weight is not None and one.weight.ballast is not None:
                found.append(self._ballast_decider(one.weight.ballast, depth))
                break
        return found

    def _ballast_decider(self, ballast: Ballast, depth: int) -> Decider:
        """With places an allowance only there, else an allowance or a ban of all ballast."""
        bounded = ballast.allowed and ballast.places is not None
        return Decider(
            clause=ballast.clause or self.weight["clause"],
            kinds=("ballast",),
            does=("fit",),
            allows=ballast.allowed,
            tier=(0, depth),
            prevails=False,
            part=PartBounds(place=ballast.places) if bounded else None,
            only=bounded,
        )

    def length(self, rule: Decider, change: Change, kind: str) -> int | None:  # 16
        """How long the kind is by which a rule matches a change, or None."""
        if change.action not in rule.does:
            return None
        direct = [levels(one) for one in rule.kinds if covers(one, kind)]
        owner = self.parts[change.subject].belongs_to if change.subject else None
        by_owner = []
        if rule.fixings and owner is not None:
            for other in self.changes:
                if other.action == change.action and other.subject == owner:
                    by_owner += [levels(one) for one in rule.kinds if covers(one, other.kind)]
                    below = [one for one in rule.kinds for thing in other.things if covers(one, thing)]
                    if below and not by_owner:
                        raise Unspecified("fixings of a branch of which a rule names only something under it")
                    if not by_owner and self.parts[owner].belongs_to is not None:
                        raise Unspecified("fixings of fixings")
        if direct and by_owner and max(direct) != max(by_owner):
            raise Unspecified("a fixing that a rule covers in two ways")
        return max(direct or by_owner, default=None)

    def applying(self, w: Values, change: Change, kind: str) -> list[tuple[Decider, int, bool]]:  # 17
        """The rules that apply, each with its length and whether it allows."""
        found = []
        for rule in self.deciders:
            length = self.length(rule, change, kind)
            if length is None:
                continue
            if self.holds(w, rule.if_) and self.change_keeps(w, rule.part, change):
                found.append((rule, length, rule.allows))
            elif rule.only:
                found.append((rule, length, False))
        return found

    def decide_kind(self, w: Values, change: Change, kind: str) -> tuple[bool, set[str]]:  # 18
        """Whether the change is allowed, and the finish duties that the allowances refer to."""
        rules = self.applying(w, change, kind)
        left = [
            one
            for one in rules
            if not any(
                clause_covers(named, one[0].clause) for other in rules if other is not one for named in other[0].despite
            )
        ]
        if any(rule.prevails for rule, _, _ in left):
            left = [one for one in left if one[0].prevails]
        if not left:
            silence = next((one.silence for one in self.chain if one.silence is not None), self.rules.book.silence)
            return getattr(silence, change.action) == "permits", set()
        longest = max(length for _, length, _ in left)
        left = [one for one in left if one[1] == longest]
        nearest = min(rule.tier for rule, _, _ in left)
        left = [one for one in left if one[0].tier == nearest]
        if any(not allows for _, _, allows in left):
            return False, set()
        return True, {duty for rule, _, _ in left for duty in rule.finish}

    def decide_change(self, w: Values, change: Change) -> tuple[bool, set[str]]:  # 19
        named = {kind for rule in self.deciders for kind in rule.kinds}
        kinds = {change.kind}
        for kind in named:
            if covers(change.kind, kind) and any(covers(kind, thing) for thing in change.things):
                kinds.add(kind)
        results = [self.decide_kind(w, change, kind) for kind in kinds]
        return all(allowed for allowed, _ in results), {duty for _, duties in results for duty in duties}

    # --- The build as a whole (21, 22)

    def need_met(self, w: Values, need: Need) -> bool:
        met = [self._kind_given(w, need, kind) for kind in need.kinds]
        return sum(met) >= need.at_least if need.at_least is not None else all(met)

    def _kind_given(self, w: Values, need: Need, kind: str) -> bool:
        if need.part is not None:
            if need.whole:
                raise Unspecified("a need with both `whole` and `part`")
            if need.part.material == "as-original" or any(
                (need.part.share_of_original, need.part.share_removed, need.part.weight_removed)
            ):
                raise Unspecified("a need that compares a part with an earlier one")
            parts = [part for part in sorted(self.state.on) if covers(kind, self.parts[part].kind)]
            if any(self.part_keeps(w, need.part, part) for part in parts):
                return True
            covered = {thing for part in parts for thing in self.stands_for(self.parts[part].kind)}
            covered |= {self.parts[part].kind for part in parts}
            loose = [
                thing for thing in self.tree.things_under(kind) if thing not in covered and self.thing_on(w, thing)
            ]
            return any(ask(w, ("part", thing, "particulars")) for thing in loose)
        if need.whole:
            given = [thing for thing in self.tree.things_under(kind) if self.from_factory(w, thing)]
            if not given and not self.fitted(w, kind):
                raise Unspecified("the whole of a kind of which the factory gave nothing")
            return all(self.thing_on(w, thing) for thing in given)
        return self.fitted(w, kind)

    def violated(self, w: Values) -> bool:
        """Whether a change is against the rules, a requirement is not met, or a finish is owed."""
        referred: set[str] = set()
        for change in self.changes:
            allowed, duties = self.decide_change(w, change)
            if not allowed:
                return True
            referred |= duties
        for must in (*self.form("enter"), *self.form("require")):
            if self.holds(w, must.if_) and not self.holds(w, must.must):
                return True
        for need in self.form("need"):
            if self.holds(w, need.if_) and not self.need_met(w, need):
                return True
        for strip in self.form("strip"):
            if self.holds(w, strip.if_) and any(self.fitted(w, kind) for kind in strip.kinds):
                return True
        done = [finish for job in self.jobs for finish in job.finishes]
        for duty in self.form("finish"):
            if self.holds(w, duty.if_) if duty.if_ is not None else duty.id in referred:  # noqa: SIM102
                if not any(covers(finish.area, duty.area) and finish.by in duty.by for finish in done):
                    return True
        return False

    # --- Weight (23)

    @cached_property
    def weight(self) -> dict[str, Any]:
        """The class's own keys over those it has by `like`."""
        merged: dict[str, Any] = dict.fromkeys(WEIGHT_KEYS)
        for one in reversed(self.chain):
            if one.weight is not None:
                stated = {key: getattr(one.weight, key) for key in merged}
                merged |= {key: value for key, value in stated.items() if value is not None}
        return merged

    def newest_weighing(self, with_axles: bool) -> Any:
        found = [one for one in self.car.weighing if one.corners or one.axles or not with_axles]
        return max(found, key=lambda one: one.date, default=None)

    def jobs_seen(self, weighing: Any) -> list[Job]:
        """The jobs that a weighing saw."""
        done = [job for job in jobs_in_order(self.car) if job.state == "done"]
        if weighing.includes is not None:
            return [job for job in jobs_in_order(self.car) if job.id in weighing.includes]
        for job in done:
            if job.date is None or job.date == weighing.date:
                raise Mistake("a done job that may or may not have been done at the weighing")
        return [job for job in done if job.date is not None and job.date < weighing.date]

    def aboard(self, state: State, left_out: Iterable[str]) -> Counter[tuple[Any, ...]]:
        """The parts on a car as ("part", id, the job that lightened it, place), and the kinds replaced."""
        found: Counter[tuple[Any, ...]] = Counter()
        for part in state.on:
            if not any(covers(kind, self.parts[part].kind) for kind in left_out):
                found["part", part, state.lightened.get(part), state.places[part]["at"]] += 1
            if self.parts[part].replaces in self.replaced_kinds:
                found["kind", self.parts[part].replaces, None, None] = 1
        return found

    def readings(self, weighing: Any, which: str) -> list[Measured]:
        if weighing.corners is not None:
            sides = {"front": ["front_left", "front_right"], "rear": ["rear_left", "rear_right"]}
            names = sides["front"] + sides["rear"] if which == "total" else sides[which]
            read = [getattr(weighing.corners, name) for name in names]
        elif weighing.axles is not None:
            read = [getattr(weighing.axles, name) for name in (["front", "rear"] if which == "total" else [which])]
        else:
            read = [weighing.total]
        return [mass for one in read if (mass := measure(self.car, one, weighing.scale, None)) is not None]

    def mass(self, w: Values, terms: dict[str, Any], which: str) -> Mass:
        """The mass as these terms weigh it: `which` is "total", "front" or "rear"."""
        # Of what is unknown it depends on the presence of kinds alone.
        kinds = frozenset((name, value) for name, value in w.items() if name[0] == "kind")
        key = (which, repr([terms[term] for term in LIMIT_TAKES]), kinds)
        if key not in self._masses or not w:
            self._masses[key] = self._mass(w, terms, which)
        return self._masses[key]

    def _mass(self, w: Values, terms: dict[str, Any], which: str) -> Mass:
        weighing = self.newest_weighing(with_axles=which != "total")
        if weighing is None:
            return Mass(unknown=frozenset({"never weighed"}))
        unknown: set[str] = set()
        left_out = terms["without"] or []
        differ = self.aboard(self.state, left_out)
        differ.subtract(self.aboard(after(self.car, self.jobs_seen(weighing)), []))
        for kind in left_out:
            if self.on_unlisted(w, kind):
                unknown.add(f"{kind} is not listed as a part")
        self._people(differ, terms, weighing)

        sums: list[tuple[Fraction, Measured]] = [(Fraction(1), one) for one in self.readings(weighing, which)]
        factors: dict[tuple[Any, ...], Fraction] = {}
        for (what, name, lightened, at), count in differ.items():
            if count == 0:
                continue
            lever = self.lever(w, at, which)
            if lever is None:
                unknown.add(f"{name} has no place")
            else:
                source = (what, name, lightened)
                factors[source] = factors.get(source, Fraction(0)) + count * lever
        for (what, name, lightened), factor in factors.items():
            if factor == 0:  # it only sits elsewhere
                continue
            measured = self._measured(what, name, lightened)
            if measured is None:
                unknown.add(f"{name} has no mass")
            else:
                sums.append((factor, measured))

        volume = self._fuel_difference(terms, weighing, unknown)
        fuel_u = 0.0
        if volume != 0:  # None, an unknown volume, too: then nothing else about the fuel may be unknown
            lever = self.lever(w, self.car.tank.at and self.car.tank.at.value, which)
            density = self._density(unknown)
            if lever is None:
                unknown.add("the tank has no place")
            elif density is not None and volume is not None:
                sums.append((lever * volume * density[0], Measured(Fraction(1), [])))
                fuel_u = abs(float(lever * volume * density[1])) / sqrt(3)
        return Mass(unknown=frozenset(unknown)) if unknown else add_up(self.car, sums, [fuel_u])

    def on_unlisted(self, w: Values, kind: str) -> bool:
        """Whether a kind that is weighed without is on other than through a part of it or under it."""
        listed = [self.parts[part].kind for part in self.state.on if covers(kind, self.parts[part].kind)]
        loose = [
            thing
            for thing in self.tree.things_under(kind)
            if not any(thing in self.stands_for(one) for one in listed) and self.thing_on(w, thing)
        ]
        if loose and listed:
            raise Unspecified("a kind weighed without, of which the ledger lists only something")
        return bool(loose)

    def _people(self, differ: Counter[tuple[Any, ...]], terms: dict[str, Any], weighing: Any) -> None:
        for who, aboard in (("driver", weighing.driver_aboard), ("co_driver", weighing.co_driver_aboard)):
            person = getattr(self.car, who)
            at = person.seat_at.value if person and person.seat_at else None
            if terms[who] == "aboard":
                fixed = terms["driver_counts_as"] if who == "driver" else None
                differ[("fixed", fixed.value, None, at) if fixed else ("person", who, None, at)] += 1
            if aboard:
                differ["person", who, None, at] -= 1

    def lever(self, w: Values, at: Fraction | None, which: str) -> Fraction | None:
        """The share of a mass at that place that an axle carries; None where the place is unknown."""
        if which == "total":
            return Fraction(1)
        if self.stated("wheelbase", False) is None:
            raise Unspecified("axle limits of a car without a wheelbase")
        if at is None:
            return None
        rear = at / self.value(w, "wheelbase")
        return rear if which == "rear" else 1 - rear

    def _measured(self, what: str, name: Any, lightened: str | None) -> Measured | None:
        if what == "part":
            return measure_part(self.car, self.parts[name], lightened)
        if what == "fixed":
            return Measured(name, [])
        if what == "kind":
            return None
        person = getattr(self.car, name)
        return person and measure(self.car, person.mass, person.scale, person.estimate)

    def _fuel_difference(self, terms: dict[str, Any], weighing: Any, unknown: set[str]) -> Fraction | None:
        """Litres that the class counts, less those at the weighing; None where that is unknown."""
        counted = terms["fuel"] or "as-raced"
        if counted == "as-raced":
            counted = self.car.at_inspection.fuel
        litres: list[Fraction] = []
        if counted is not None and counted == weighing.fuel == "full":
            return Fraction(0)
        for amount in (counted, weighing.fuel):
            if amount is None:
                unknown.add("an amount of fuel is not stated")
            elif amount == "full":
                size = self.stated("tank_capacity", False)
                if size is None:
                    unknown.add("tank_capacity")
                else:
                    litres.append(size)
            else:
                litres.append(Fraction(0) if amount == "empty" else amount.value)
        return litres[0] - litres[1] if len(litres) == 2 else None

    def _density(self, unknown: set[str]) -> tuple[Fraction, Fraction] | None:
        if self.car.tank.density is not None:
            return self.car.tank.density.value, Fraction(0)
        fuel = self.stated("fuel", False)
        if fuel is None:
            unknown.add("fuel")
        elif fuel not in DEFAULT_DENSITY:
            unknown.add("the density of this fuel is not stated")
        return DEFAULT_DENSITY.get(fuel)

    # --- Limits (24, 26)

    def amount(self, w: Values, form: LimitForm, target: str, terms: dict[str, Any]) -> Fraction | None:
        """The limit before its allowance, in kg; None where the book does not say."""
        added, rate_change = Fraction(0), Fraction(0)
        for adjust in terms["adjust"] or []:
            if adjust.of == target and self.holds(w, adjust.if_):
                if adjust.add.fact is not None:
                    figure = self.figure(w, adjust.add.fact)
                    added += figure if adjust.add.most is None else min(figure, adjust.add.most.value)
                elif adjust.add.amount.dimension == "mass":
                    added += adjust.add.amount.value
                else:
                    rate_change += adjust.add.amount.value
        base = self._form_amount(w, form, target, terms, rate_change)
        if base is None:
            return None
        return base + added if form.least is None else max(base + added, form.least.value)

    def _form_amount(
        self, w: Values, form: LimitForm, target: str, terms: dict[str, Any], rate_change: Fraction
    ) -> Fraction | None:
        if form.amount is not None:
            return form.amount.value
        if form.per is not None:
            dimension = f"mass/{self.facts[form.per].type}"
            return (parse_quantity(form.rate, dimension).value + rate_change) * self.figure(w, form.per)
        if form.fact is not None:
            times = Fraction(1) if form.times is None else form.times
            return self.figure(w, form.fact) * times + (form.plus.value if form.plus else 0)
        if form.axles:
            key = "least" if target == "minimum" else "most"
            both = [(getattr(terms[axle], key), axle) for axle in ("front_axle", "rear_axle")]
            amounts = [self.amount(w, one, axle, terms) for one, axle in both]
            return None if None in amounts else sum(amounts, Fraction(0))  # type: ignore[arg-type]
        assert form.by is not None
        figure, otherwise = self.figure(w, form.by), form.otherwise and form.otherwise.value
        if form.cases is not None:
            return form.cases[figure].value if figure in form.cases else otherwise
        for row in form.over_up_to or []:
            over, amount = self.read(row[0], form.by, "rules"), row[-1]
            up_to = self.read(row[1], form.by, "rules") if len(row) == 3 else None
            from_zero = figure == over == 0 and self.stated(form.by, False) is None  # nobody's figure is zero
            if (figure > over or from_zero) and (up_to is None or figure <= up_to):
                return read_quantity(amount, "mass", self.units["rules"]).value
        return otherwise

    def limits(self, w: Values) -> list[tuple[str | None, frozenset[str]]]:
        """Of each limit of the class its verdict, or None where it does not hold, and what it lacks.

        The list has the same entries in every completion.
        """
        found = self._limits_of(w, self.weight)
        ballast = self.weight["ballast"]
        if ballast is not None and ballast.most is not None:
            parts = [part for part in sorted(self.state.on) if covers("ballast", self.parts[part].kind)]
            carried = self._sum_of([(Fraction(1), part, self.state.lightened.get(part)) for part in parts])
            found.append(self._plain_maximum(carried, ballast.most.value, self.weight["allowance"]))
        for limit in self.form("limit"):
            taken = {key: getattr(limit, key) for key in LIMIT_TAKES if getattr(limit, key) is not None}
            terms = self.weight | {
                "minimum": limit.minimum,
                "maximum": limit.maximum,
                "front_axle": limit.front_axle,
                "rear_axle": limit.rear_axle,
                "adjust": limit.adjust,
                **taken,
            }
            holds = self.holds(w, limit.if_)
            if limit.taken_off is not None:
                if limit.minimum is not None or limit.maximum is None:
                    raise Unspecified("a `taken_off` without a maximum, or with a minimum")
                most = self.amount(w, limit.maximum, "maximum", terms) if holds else None
                if not holds:
                    found.append((None, frozenset()))
                elif most is None:
                    found.append(("undecided", frozenset({"the book does not say"})))
                else:
                    found.append(self._plain_maximum(self._taken_off(limit.taken_off), most, terms["allowance"]))
            else:
                found += self._limits_of(w, terms) if holds else [(None, frozenset())] * self._count(terms)
        return found

    def _named_limits(self, terms: dict[str, Any]) -> list[tuple[str, str, str, LimitForm]]:
        """Target of adjusting, which mass, "least" or "most", and the form."""
        found = [
            ("minimum", "total", "least", terms["minimum"]),
            ("maximum", "total", "most", terms["maximum"]),
        ]
        for axle, which in (("front_axle", "front"), ("rear_axle", "rear")):
            if terms[axle] is not None:
                if terms[axle].least and terms[axle].most and any(a.of == axle for a in terms["adjust"] or []):
                    raise Unspecified("an adjustment of an axle with two limits")
                found += [(axle, which, "least", terms[axle].least), (axle, which, "most", terms[axle].most)]
        return [one for one in found if one[3] is not None]

    def _count(self, terms: dict[str, Any]) -> int:
        return len(self._named_limits(terms))

    def _limits_of(self, w: Values, terms: dict[str, Any]) -> list[tuple[str | None, frozenset[str]]]:
        found: list[tuple[str | None, frozenset[str]]] = []
        allowance = terms["allowance"].value if terms["allowance"] else Fraction(0)
        for target, which, side, form in self._named_limits(terms):
            mass = self.mass(w, terms, which)
            limit = self.amount(w, form, target, terms)
            lacks = mass.unknown | (frozenset({"the book does not say"}) if limit is None else frozenset())
            if limit is None or lacks:
                found.append(("undecided", lacks))
            elif side == "least":
                found.append((limit_verdict(mass.mean - (limit - allowance), mass), lacks))
            else:
                found.append((limit_verdict(limit + allowance - mass.mean, mass), lacks))
        return found

    def _sum_of(self, parts: list[tuple[Fraction, str, str | None]]) -> Mass:
        terms = []
        for factor, part, lightened in parts:
            measured = measure_part(self.car, self.parts[part], lightened)
            if measured is None:
                return Mass(unknown=frozenset({f"{part} has no mass"}))
            terms.append((factor, measured))
        return add_up(self.car, terms)

    def _taken_off(self, kinds: list[str]) -> Mass:  # 26
        parts: list[tuple[Fraction, str, str | None]] = []

        def inside(kind: str) -> bool:
            return any(covers(one, kind) for one in kinds)

        def partly(kind: str) -> bool:
            return any(inside(thing) for thing in self.stands_for(kind))

        if any(inside(self.parts[a].kind) or inside(self.parts[b].kind) for a, b in self.put_back.items()):
            raise Unspecified("the mass taken off by an aftermarket part of the outset that made way again")
        for part in self.originals - self.outset:
            if inside(self.parts[part].kind) or partly(self.parts[part].kind):
                raise Unspecified("the mass taken off by what was replaced before the outset")
        for part in sorted(self.outset - self.state.on):
            if inside(self.parts[part].kind):
                parts.append((Fraction(1), part, None))
            elif partly(self.parts[part].kind):
                return Mass(unknown=frozenset({f"{part} came off with something of them"}))
        for part in sorted(self.state.on):
            replaced = self.parts[part].replaces
            newcomer = part not in self.outset or self.parts[part].origin == "aftermarket"
            if newcomer and replaced in self.replaced_kinds and (inside(replaced) or partly(replaced)):
                return Mass(unknown=frozenset({f"{replaced} has no part of its own"}))
            if part in self.outset and part in self.state.lightened:
                if inside(self.parts[part].kind):
                    parts += [(Fraction(1), part, None), (Fraction(-1), part, self.state.lightened[part])]
                elif partly(self.parts[part].kind):
                    raise Unspecified("the mass taken off by lightening a branch above")
        return self._sum_of(parts)

    def _plain_maximum(self, mass: Mass, most: Fraction, allowance: Quantity | None) -> tuple[str, frozenset[str]]:
        if mass.unknown:
            return "undecided", mass.unknown
        verdict = limit_verdict(most - mass.mean, mass)
        if allowance is not None and verdict != limit_verdict(most + allowance.value - mass.mean, mass):
            raise Unspecified("whether the allowance is added to a limit on ballast or on the mass taken off")
        return verdict, frozenset()

    # --- The verdict (27 to 29)

    def verdict(self, w: Values) -> tuple[str, frozenset[str]]:  # 27
        """With everything known; also the tank or fuel if nothing else leaves a mass unknown."""
        if self.violated(w):
            return "not-eligible", frozenset()
        limits = self.limits(w)
        verdicts = [verdict for verdict, _ in limits]
        if "not-eligible" in verdicts:
            return "not-eligible", frozenset()
        if "undecided" in verdicts:
            named: frozenset[str] = frozenset()
            for _, lacks in limits:
                if lacks and lacks <= {"tank_capacity", "fuel"}:
                    named |= lacks
                elif lacks & {"tank_capacity", "fuel"} and "the book does not say" in lacks:
                    raise Unspecified("a tank or fuel to find where the book does not say either")
            if len({lacks <= {"tank_capacity", "fuel"} for _, lacks in limits if lacks}) > 1 and named:
                raise Unspecified("a tank or fuel to find for one limit, while another lacks something else")
            return "undecided", named
        return ("too-close" if "too-close" in verdicts else "eligible"), frozenset()

    def answer(self) -> Answer:  # 28, 29
        names, grids = self.unknowns()
        verdicts: dict[tuple[Any, ...], str] = {}
        blamed: set[str] = set()
        for values in itertools.product(*(grids[name] for name in names)):
            verdicts[values], fuel = self.verdict(dict(zip(names, values, strict=True)))
            blamed |= fuel
        if blamed & {name[1] for name in names}:
            raise Unspecified("a tank or fuel that rules ask about and that leaves the mass unknown too")
        shared = set(verdicts.values())
        verdict = shared.pop() if len(shared) == 1 else "undecided"
        find = set(blamed)
        for place, name in enumerate(names):
            alike: dict[tuple[Any, ...], set[str]] = {}
            for values, one in verdicts.items():
                alike.setdefault(values[:place] + values[place + 1 :], set()).add(one)
            if any(len(seen) > 1 for seen in alike.values()):
                find.add(".".join(name[1:]))
        return Answer(verdict, tuple(sorted(find)))

    def unknowns(self) -> tuple[list[Name], dict[Name, list[Any]]]:
        """Every unknown that some completion asks for, and the values to try for each."""
        grids: dict[Name, list[Any]] = {}

        def discover(look: Callable[[Values], object]) -> None:
            while True:
                names = list(grids)
                try:
                    for values in self.products(grids, names):
                        look(dict(zip(names, values, strict=True)))
                except Asked as asked:
                    grids[asked.name] = self.grid(asked.name, grids)
                else:
                    return

        discover(self.verdict)
        linear = [name for name in grids if name[0] == "fact" and name[1] in self.limit_figures]
        if linear:
            discover(self.limits)
            for _ in range(2 if len(linear) > 1 else 1):
                for name in linear:
                    grids[name] = self.with_turning_points(name, grids)
            asked_of_limits, grids = grids, {}
            discover(self.verdict)
            grids = {name: asked_of_limits[name] for name in grids}
        for name in self.compared_unknowns(grids):
            grids[name] = self.grid(name, grids)
        discover(self.verdict)  # the new values may lead to questions that no earlier one led to
        names = list(grids)
        self.completions = 1
        for _ in self.products(grids, names):
            self.completions += 1
        return names, grids

    def products(self, grids: dict[Name, list[Any]], names: list[Name]) -> Iterable[tuple[Any, ...]]:
        size = 1
        for name in names:
            size *= len(grids[name])
        if size > self.most_completions:
            raise TooMany(f"{size} completions")
        return itertools.product(*(grids[name] for name in names))

    # --- Values to try

    @cached_property
    def conditions(self) -> list[dict[str, Any]]:
        found = [entry.rule.if_ for entry in self.entries if getattr(entry.rule, "if_", None)]
        found += [entry.rule.must for entry in self.entries if entry.form in ("enter", "require")]
        return found + [adjust.if_ for adjust in self.adjusts if adjust.if_]

    @cached_property
    def adjusts(self) -> list[Adjust]:
        holders = [self.weight["adjust"], *(limit.adjust for limit in self.form("limit"))]
        return [adjust for adjusts in holders for adjust in adjusts or []]

    @cached_property
    def forms_of_limits(self) -> list[LimitForm]:
        found = []
        for minimum, maximum, front, rear in [
            tuple(self.weight[key] for key in ("minimum", "maximum", "front_axle", "rear_axle")),
            *((limit.minimum, limit.maximum, limit.front_axle, limit.rear_axle) for limit in self.form("limit")),
        ]:
            found += [minimum, maximum]
            found += [form for axle in (front, rear) if axle for form in (axle.least, axle.most)]
        return [form for form in found if form is not None]

    @cached_property
    def limit_figures(self) -> set[str]:
        """The facts in which a limit is linear."""
        added = [adjust.add.fact for adjust in self.adjusts if adjust.add.fact is not None]
        forms = [fact for form in self.forms_of_limits for fact in (form.per, form.fact) if fact]
        return {*added, *forms}

    def mentions(self, fact: str) -> list[Any]:
        """Everything that conditions hold beside the name of a fact."""
        found: list[Any] = []

        def walk(condition: dict[str, Any]) -> None:
            for key, asked in condition.items():
                if key in ("any", "all"):
                    for one in asked:
                        walk(one)
                elif key in ("not", "as_made"):
                    walk(asked)
                elif key == fact:
                    found.append(asked)

        for condition in self.conditions:
            walk(condition)
        return found

    def comparisons(self) -> list[tuple[str, str, Fraction]]:
        """Every bound that a fact's figure has in another fact as it was made: fact, other, plus."""
        found = []
        for fact in self.facts:
            for asked in self.mentions(fact):
                if isinstance(asked, dict) and "age" not in asked:
                    for bound in asked.values():
                        if isinstance(bound, dict):
                            plus = self.read(bound["plus"], fact, "rules") if "plus" in bound else Fraction(0)
                            found.append((fact, bound["as_made"], plus))
        return found

    def products_of_counts(self, fact: str) -> set[Fraction]:
        factors = [counts.times for counts in self.form("counts") if counts.fact == fact]
        found = {Fraction(1)}
        for factor in factors:
            found |= {factor * one for one in found}
        return found

    def grid(self, name: Name, grids: dict[Name, list[Any]]) -> list[Any]:
        if name[0] == "kind":
            return [True, False]
        if name[2:] == ("particulars",):
            return [True, False]
        if name[0] == "part":
            return self.particular_grid(name[2])
        fact = name[1]
        kind = self.facts[fact].type
        if kind == "yes-no":
            return [True, False]
        if kind == "date":
            return self.date_grid(fact)
        if kind in NUMBERS:
            return (
                whole_grid(self.thresholds(fact, grids)) if kind == "count" else real_grid(self.thresholds(fact, grids))
            )
        mentioned = {one for asked in self.mentions(fact) for one in (asked if isinstance(asked, list) else [asked])}
        mentioned |= {case for form in self.forms_of_limits if form.by == fact for case in form.cases or {}}
        if kind == "text":
            return [*sorted(mentioned), "something else"]
        choices = self.facts[fact].choices
        others = [choice for choice in choices if choice not in mentioned]
        return [choice for choice in choices if choice in mentioned] + others[:1]

    def thresholds(self, fact: str, grids: dict[Name, list[Any]]) -> set[Fraction]:
        """The raw values of a numeric fact at which something may turn."""
        figures: set[Fraction] = set()
        for asked in self.mentions(fact):
            if isinstance(asked, dict):
                figures |= {self.read(one, fact, "rules") for one in asked.values() if not isinstance(one, dict)}
            else:
                wanted = asked if isinstance(asked, list) else [asked]
                figures |= {self.read(one, fact, "rules") for one in wanted}
        for form in self.forms_of_limits:
            if form.by == fact and form.over_up_to:
                figures |= {self.read(end, fact, "rules") for row in form.over_up_to for end in row[:-1]}
            if form.least is not None and fact in (form.per, form.fact):
                figures |= self._figure_at_least(form)
        for adjust in self.adjusts:
            if adjust.add.fact == fact and adjust.add.most:
                figures.add(adjust.add.most.value)
        if fact == "model_year":
            figures |= {Fraction(year) for part in self.car.part for year in part.years or []}
        if fact == "wheelbase":
            figures |= self.places_known
        factors = self.products_of_counts(fact)
        found = {figure / factor for figure in figures for factor in factors}
        for one, other, plus in self.comparisons():
            ones, others = self.products_of_counts(one), self.products_of_counts(other)
            if other == fact:
                found |= {(value * a - plus) / b for value in self.values_of(one, grids) for a in ones for b in others}
            if one == fact:
                found |= {
                    (value * b + plus) / a for value in self.values_of(other, grids) for a in ones for b in others
                }
        return found

    def _figure_at_least(self, form: LimitForm) -> set[Fraction]:
        """Where a linear form reaches its `least`, changes of it left aside: one more point does no harm."""
        assert form.least is not None
        if form.per is not None:
            return {form.least.value / parse_quantity(form.rate, f"mass/{self.facts[form.per].type}").value}
        times = Fraction(1) if form.times is None else form.times
        return {(form.least.value - (form.plus.value if form.plus else 0)) / times} if times else set()

    def values_of(self, fact: str, grids: dict[Name, list[Any]]) -> set[Fraction]:
        """Every value that a fact may have here: stated now, as made, or tried."""
        stated = {self.stated(fact, as_made) for as_made in (False, True)} - {None}
        return stated | set(grids.get(("fact", fact), []))

    def compared_unknowns(self, grids: dict[Name, list[Any]]) -> list[Name]:
        """Unknown facts that are compared with other unknown facts: their points depend on each other's."""
        found = []
        for one, other, _ in self.comparisons():
            pair = [("fact", one), ("fact", other)]
            if one != other and all(name in grids for name in pair):
                found += [name for name in pair if name not in found]
        if any(name[1] in self.limit_figures for name in found):
            raise Unspecified("an unknown figure both compared and in a limit: more than the grid of this judge covers")
        return found

    def date_grid(self, fact: str) -> list[datetime.date]:
        days: set[datetime.date] = set()
        for asked in self.mentions(fact):
            if isinstance(asked, dict) and "age" in asked:
                for years in asked["age"].values():
                    for turned in (int(years), int(years) + 1):
                        days.add(self.on.replace(year=self.on.year - turned))
            elif isinstance(asked, dict):
                days |= set(asked.values())
            else:
                days |= set(asked if isinstance(asked, list) else [asked])
        day = datetime.timedelta(days=1)
        return sorted({around for one in days for around in (one - day, one, one + day)})

    @cached_property
    def places_known(self) -> set[Fraction]:
        found = {places["at"] for state in (self.state, self.before) for places in state.places.values()}
        return {place for place in found if place is not None}

    @cached_property
    def all_bounds(self) -> list[PartBounds]:
        found = [entry.rule.part for entry in self.entries if getattr(entry.rule, "part", None)]
        ballast = self.weight["ballast"]
        return found + ([PartBounds(place=ballast.places)] if ballast and ballast.places else [])

    def particular_grid(self, particular: str) -> list[Any]:
        bounds = self.all_bounds
        if particular == "mass":
            return real_grid(limits_in(one for b in bounds for one in (b.weighs, b.weight_removed)))
        if particular == "thickness":
            return real_grid(limits_in(b.thickness for b in bounds))
        if particular == "at":
            points = limits_in(b.at for b in bounds)
            if self.car.driver and self.car.driver.seat_at:
                points.add(self.car.driver.seat_at.value)
            if any(b.within for b in bounds):
                wheelbases = {self.stated("wheelbase", as_made) for as_made in (False, True)}
                if None in wheelbases:
                    raise Unspecified("a place and a wheelbase both unknown: more than this judge's grid covers")
                points |= {Fraction(0), *wheelbases}
            ordered = sorted(points)
            inside = [(low + high) / 2 for low, high in itertools.pairwise(ordered)]
            return sorted([ordered[0] - 1, *ordered, *inside, ordered[-1] + 1])
        if particular == "material":
            named = {one for b in bounds if isinstance(b.material, list) for one in b.material}
            named |= {one for b in bounds for one in b.material_not or []}
            named |= {part.material for part in self.car.part if part.material}
            return [*sorted(named), "something else", "something else again"]
        if particular == "place":
            named = {one for b in bounds for one in b.place or []}
            return [*sorted(named), "elsewhere"]
        if particular == "approval":
            marks = sorted({one for b in bounds for one in b.approval or []})
            return [frozenset(some) for n in range(len(marks) + 1) for some in itertools.combinations(marks, n)]
        assert particular == "years"
        years = self.values_of("model_year", {}) or set(self.grid(("fact", "model_year"), {}))
        return [
            frozenset(),
            frozenset(years),
            *(frozenset({year}) for year in sorted(years) if len(years) > 1),
        ]

    def with_turning_points(self, name: Name, grids: dict[Name, list[Any]]) -> list[Fraction]:
        """The grid of a figure with the values at which the verdict of a limit turns, for any other values."""
        others = [other for other in grids if other != name]
        base = sorted(grids[name])
        probes = close_grid({point for point in base if point >= 0})
        probes.append(max(Fraction(100_000), 100 * probes[-1]))
        turning: set[Fraction] = set()
        for values in self.products(grids, others):
            w = dict(zip(others, values, strict=True))

            def verdicts(figure: Fraction, w: Values = w) -> list[str | None]:
                return [verdict for verdict, _ in self.limits({**w, name: figure})]

            for low, high in itertools.pairwise(probes):
                turning |= set(turns(verdicts, low, high))
        return real_grid({*base, *turning}, refine=True)


def ask(w: Values, name: Name) -> Any:
    if name not in w:
        raise Asked(name)
    return w[name]


def table(bounds: Any) -> dict[str, Fraction]:
    """The stated bounds of a range, in base units."""
    if bounds is None:
        return {}
    stated = {key: getattr(bounds, key) for key in BOUND_KEYS}
    return {
        key: value.value if isinstance(value, Quantity) else value for key, value in stated.items() if value is not None
    }


def within(value: Any, bounds: dict[str, Any]) -> bool:
    tests: dict[str, Callable[[Any], bool]] = {
        "least": lambda bound: value >= bound,
        "most": lambda bound: value <= bound,
        "over": lambda bound: value > bound,
        "under": lambda bound: value < bound,
        "up_to": lambda bound: value <= bound,
    }
    return all(tests[key](bound) for key, bound in bounds.items())


def limits_in(ranges: Iterable[Any]) -> set[Fraction]:
    return {bound for one in ranges for bound in table(one).values()}


def real_grid(thresholds: set[Fraction], refine: bool = False) -> list[Fraction]:
    """Zero, each threshold, a value within each gap, and one beyond. With `refine`, points that are next to
    alike count as one: a turning point found by halving is never exact."""
    points = sorted({point for point in thresholds if point >= 0} | {Fraction(0)})
    if refine:
        kept: list[Fraction] = []
        for point in points:
            if not kept or point - kept[-1] > Fraction(1, 10**9) * (1 + point):
                kept.append(point)
        points = kept
    inside = [(low + high) / 2 for low, high in itertools.pairwise(points)]
    return sorted([*points, *inside, 2 * points[-1] + 1])


def close_grid(points: set[Fraction]) -> list[Fraction]:
    """The points, and in each gap one value close to either end and one in the middle."""
    ordered = sorted(points)
    found = set(ordered)
    for low, high in itertools.pairwise(ordered):
        found |= {low + (high - low) * share for share in (Fraction(1, 1000), Fraction(1, 2), Fraction(999, 1000))}
    return sorted(found | {ordered[-1] + Fraction(1, 1000)})


def whole_grid(thresholds: set[Fraction]) -> list[Fraction]:
    found = {Fraction(0)}
    for point in thresholds:
        found |= {
            Fraction(floor(point) - 1),
            Fraction(floor(point)),
            Fraction(ceil(point)),
            Fraction(ceil(point) + 1),
        }
        found.add(Fraction(floor(point) + 1))
    return sorted(point for point in found if point >= 0)


def turns(verdicts: Callable[[Fraction], list[str | None]], low: Fraction, high: Fraction) -> Iterator[Fraction]:
    """By halving, where some verdict changes between two points: all such places."""
    at_low, at_high = verdicts(low), verdicts(high)
    if at_low == at_high:
        return
    if high - low <= Fraction(1, 10**7) * (1 + low):
        yield high
        return
    middle = (low + high) / 2
    yield from turns(verdicts, low, middle)
    yield from turns(verdicts, middle, high)
