"""Limits: what a class asks of a mass, what the mass is, and how sure it is that the limit is kept."""

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import product
from typing import Any, Literal

from tarebook.car.configurations import Inventory
from tarebook.judge.components import NOT_IN_PLAY, Component, Outcome
from tarebook.judge.conditions import always
from tarebook.judge.cutting import factors
from tarebook.judge.findings import BAD, CLOSE, FINE, OPEN, VERDICTS, LimitAnswer, Result
from tarebook.judge.prepared import Cited, PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.unknowns import Cuts, Unknown
from tarebook.judge.view import Test, View
from tarebook.judge.wording import kind_title, mass_text
from tarebook.kinds import covers
from tarebook.quantities import Quantity
from tarebook.rules.classes import Placed
from tarebook.rules.limits import Amount, Banded, ByCase, LimitSpec, Linear, SumOfAxles
from tarebook.rules.models import Adjust, FurtherLimit
from tarebook.weight.ledger import MassAnswer, Missing, Weighed
from tarebook.weight.measured import Measured, Share, total
from tarebook.weight.student import chance_below, quantile

Path = tuple[str | int, ...]
Which = Literal[
    "minimum",
    "maximum",
    "front_axle",
    "front_axle_most",
    "rear_axle",
    "rear_axle_most",
    "taken_off",
    "ballast",
]
_RESULTS: dict[int, Result] = {FINE: "met", CLOSE: "too-close", BAD: "violation"}
CAR_ALONE = Weighed()
WEIGHED_KEYS = ("minimum", "maximum", "front_axle", "rear_axle")
AXLES: tuple[tuple[str, Which, Which], ...] = (
    ("front_axle", "front_axle", "front_axle_most"),
    ("rear_axle", "rear_axle", "rear_axle_most"),
)
MOST_TRIALS = 2000
NOT_COVERED = "not covered"
OFFICIAL_SCALE = "official's scale"


@dataclass(slots=True, eq=False)
class PreparedAdjust:
    """A change of a limit: an amount in kg, a change of the rate in kg/kW, or a fact in kg, capped."""

    test: Test
    amount: Fraction
    rate: bool
    fact: str | None
    most: Fraction | None


@dataclass(slots=True, eq=False)
class Value:
    """A limit's value: a form, the changes of it, and a floor."""

    spec: LimitSpec
    adjusts: tuple[PreparedAdjust, ...] = ()
    axles: "tuple[Value, ...]" = ()
    cases: dict[object, Fraction] | None = None

    def __post_init__(self) -> None:
        if isinstance(self.spec.form, ByCase):
            self.cases = dict(self.spec.form.cases)

    @property
    def facts(self) -> tuple[str, ...]:
        form = self.spec.form
        own = (form.fact,) if isinstance(form, (Banded, ByCase, Linear)) else ()
        added = tuple(adjust.fact for adjust in self.adjusts if adjust.fact is not None)
        return (*own, *added, *(fact for axle in self.axles for fact in axle.facts))


@dataclass(slots=True)
class Affine:
    """A limit in kg as a function of figures still unknown: what is known, and for each such figure its rate, with a
    cap on what it adds."""

    known: Fraction
    terms: tuple[tuple[str, Fraction, Fraction | None], ...] = ()


def evaluate(value: Value, view: View, *, affine: bool = False) -> Affine | str | None:
    """The limit; None while something unknown has no value; NOT_COVERED where the book does not say.

    With `affine`, figures that enter linearly may stay unknown.
    """
    rate_change, added = Fraction(0), Fraction(0)
    view.work += 5 * len(value.adjusts)  # sums of exact numbers cost more than readings
    terms: list[tuple[str, Fraction, Fraction | None]] = []
    known = True
    for adjust in value.adjusts:
        holds = adjust.test(view)
        if holds is None:
            known = False
        if not holds:
            continue
        if adjust.fact is not None:
            figure = _figure(adjust.fact, view, affine)
            if figure is None:
                known = False
            elif isinstance(figure, tuple):
                terms.append((adjust.fact, figure[0], adjust.most))
            else:
                added += figure if adjust.most is None else min(figure, adjust.most)
        elif adjust.rate:
            rate_change += adjust.amount
        else:
            added += adjust.amount
    base = _base(value, view, rate_change, affine)
    if base is None or not known:
        return None
    if isinstance(base, str):
        return base
    base.known += added
    base.terms = (*base.terms, *terms)
    if value.spec.least is not None and not base.terms:
        base.known = max(base.known, value.spec.least)
    return base


def _figure(fact: str, view: View, affine: bool) -> Fraction | tuple[Fraction] | None:
    """A figure; in affine mode, for one that is unknown itself, its rate as stated (the class may yet count it)."""
    if affine and fact not in view.situation.facts:
        return (Fraction(1),)
    figure = view.figure(fact, False)
    assert figure is None or isinstance(figure, Fraction)
    return figure


def _base(value: Value, view: View, rate_change: Fraction, affine: bool) -> Affine | str | None:
    form = value.spec.form
    if isinstance(form, Amount):
        return Affine(form.value)
    if isinstance(form, SumOfAxles):
        parts = [evaluate(axle, view, affine=affine) for axle in value.axles]
        if None in parts:
            return None
        if NOT_COVERED in parts:
            return NOT_COVERED
        sums = [part for part in parts if isinstance(part, Affine)]
        return Affine(
            sum((part.known for part in sums), Fraction(0)),
            tuple(term for part in sums for term in part.terms),
        )
    if isinstance(form, Linear):
        rate = form.rate + rate_change
        linear = _figure(form.fact, view, affine)
        if isinstance(linear, tuple):
            return Affine(form.plus, ((form.fact, rate * linear[0], None),))
        return None if linear is None else Affine(form.plus + rate * linear)
    figure = view.figure(form.fact, False)
    if figure is None:
        return None
    if isinstance(form, Banded):
        assert isinstance(figure, Fraction)
        # A figure that is not stated could fall in any band: tried at nothing, it falls in the one over nothing.
        least_tried = None if form.fact in view.situation.facts else Fraction(0)
        view.work += len(form.bands) // 10
        for band in form.bands:
            if (figure > band.over or figure == band.over == least_tried) and (
                band.up_to is None or figure <= band.up_to
            ):
                return Affine(band.value)
    else:
        assert value.cases is not None
        if figure in value.cases:
            return Affine(value.cases[figure])
    return NOT_COVERED if form.otherwise is None else Affine(form.otherwise)


@dataclass(slots=True)
class LimitQuestion(Component):
    """Is a limit kept?

    `lower` is True for a minimum. `weighed` is what the class puts on the scale, but for the parts that `without`
    takes out; `kinds` are those of a limit on what came off. `by_weight` is True where all that is as in the class's
    `weight`. `scale_u` is the standard uncertainty of the official's scale in kg, where the class states it.
    """

    which: Which = field(kw_only=True)
    cite: Cited = field(kw_only=True)
    value: Value = field(kw_only=True)
    lower: bool = field(kw_only=True)
    prepared: PreparedClass = field(kw_only=True)
    confidence: float = field(kw_only=True)
    test: Test = field(kw_only=True)
    weighed: Weighed = CAR_ALONE
    without: tuple[str, ...] = ()
    allowance: Fraction = Fraction(0)
    scale_u: Fraction | None = None
    kinds: tuple[str, ...] = ()
    by_weight: bool = True

    def outcome(self, view: View) -> Outcome | None:
        applies = self.test(view)
        if applies is False:
            return NOT_IN_PLAY
        limit = evaluate(self.value, view)
        answer = self.mass(view)
        if applies is None or limit is None or answer is None:
            return None
        return self._judged(limit, answer)

    def _judged(self, limit: Affine | str, answer: MassAnswer) -> Outcome:
        edge = None
        if isinstance(limit, Affine):
            edge = limit.known - self.allowance if self.lower else limit.known + self.allowance
        mass = answer.mass
        if edge is not None and mass is not None:
            return self._compared(edge, mass)
        reasons = [missing.sentence for missing in answer.missing]
        if edge is None:
            reasons.append("the book does not say what the limit is for this car")
        found = LimitAnswer(
            clause=self.cite.clause,
            which=self.which,
            limit_kg=None if edge is None else float(edge),
            mass_kg=None if mass is None else float(mass.value),
            mass_u_kg=None if mass is None else mass.u,
            margin_kg=None,
            margin_low_kg=None,
            margin_high_kg=None,
            chance=None,
            verdict="undecided",
            path=self.cite.path,
        )
        facts = tuple(missing.fact for missing in answer.missing if missing.fact is not None)
        settled = edge is not None and len(facts) == len(answer.missing)
        return Outcome(
            OPEN,
            "undecided",
            (self.cite,),
            limit=found,
            to_find=facts if settled else (),
            reasons=tuple(reasons),
        )

    def _compared(self, edge: Fraction, mass: Measured) -> Outcome:
        margin = mass.value - edge if self.lower else edge - mass.value
        u, degrees = mass.u, mass.degrees
        bad, chance = judge_margin(margin, u, degrees, self.confidence)
        reach = quantile(0.975, degrees) * u if u else 0.0
        found = LimitAnswer(
            clause=self.cite.clause,
            which=self.which,
            limit_kg=float(edge),
            mass_kg=float(mass.value),
            mass_u_kg=u,
            margin_kg=float(margin),
            margin_low_kg=float(margin) - reach,
            margin_high_kg=float(margin) + reach,
            chance=chance,
            verdict=VERDICTS[bad],
            path=self.cite.path,
        )
        return Outcome(bad, _RESULTS[bad], (self.cite,), limit=found)

    def sentence(self, outcome: Outcome, situation: Situation) -> str:
        found, name = outcome.limit, WHICH_NAMES[self.which]
        assert found is not None
        if found.margin_kg is None or found.mass_kg is None or found.limit_kg is None:
            return f"The {name.format('')} cannot be checked: {'; '.join(outcome.reasons)}."
        unit = situation.inventory.car.units.mass
        side = "over" if (found.margin_kg >= 0) == self.lower else "under"
        sentence = (
            f"{mass_text(found.mass_kg, unit)} is {mass_text(abs(found.margin_kg), unit)} {side} the "
            + name.format(f" of {mass_text(found.limit_kg, unit)}")
        )
        if outcome.bad == CLOSE:
            reach = (found.margin_high_kg or 0.0) - found.margin_kg
            sentence += f": too close to call, as the mass is uncertain by {mass_text(reach, unit)}"
            if self.official_scale(situation):
                sentence += " with the official's scale"
        return sentence + "."

    def official_scale(self, situation: Situation) -> Fraction:
        """The standard uncertainty in kg of the scale that decides: as the class states it, else as the car does.

        Nothing where neither does, and for limits on parts alone. A mass that is stated outright is what it read.
        """
        if self.which in ("taken_off", "ballast"):
            return Fraction(0)
        if self.scale_u is not None:
            return self.scale_u
        of_the_car = situation.inventory.car.at_inspection.official_scale
        return of_the_car.value if of_the_car is not None else Fraction(0)

    def mass(self, view: View) -> MassAnswer | None:
        """The mass that the limit is compared with, in kg; None while it is not known what is on."""
        situation = view.situation
        if self.which == "taken_off":
            return mass_taken_off(self.kinds, situation)
        if self.which == "ballast":
            return _ballast_on(situation)
        if situation.stated_mass is not None:
            if self.by_weight and self.which in ("minimum", "maximum"):
                return MassAnswer(situation.stated_mass)
            return MassAnswer(None, (Missing("the mass is stated only as the class's weight weighs the car"),))
        out = without_parts(self.without, view)
        if out is None:
            return None
        parts, missing = out
        if missing:
            return MassAnswer(None, missing)
        scale_u = self.official_scale(situation)
        whole = self.which in ("minimum", "maximum")
        key = ("mass", "total" if whole else self.which.partition("_most")[0], self.weighed, parts, scale_u)
        if key not in situation.configuration.masses:
            weighed = self.weighed._replace(without=parts)
            ledger, configuration = situation.ledger, situation.configuration
            if whole:
                answer = ledger.mass(configuration, weighed)
            else:
                axle: Literal["front", "rear"] = "front" if self.which.startswith("front") else "rear"
                answer = ledger.axle_mass(axle, configuration, weighed)
            if answer.mass is not None and scale_u:
                answer = MassAnswer(
                    total((answer.mass, Measured(Fraction(0), {OFFICIAL_SCALE: Share(float(scale_u))})))
                )
            situation.configuration.masses[key] = answer
        known: MassAnswer = situation.configuration.masses[key]
        return known

    def open_question(self, situation: Situation) -> str:
        return f"Whether the {WHICH_NAMES[self.which].format('')} is kept"

    def sources(self, situation: Situation) -> tuple[Cited, ...]:
        return (self.cite,)

    def cut(self, situation: Situation, cuts: Cuts) -> None:
        """Where a figure enters the limit linearly, note at which values the verdict changes."""
        for adjust in self.value.adjusts:
            if adjust.fact is not None and adjust.most is not None:
                scales = factors(adjust.fact, True, self.prepared)
                cuts.at(Unknown("fact", adjust.fact), (adjust.most / scale for scale in scales))
        unknown = [fact for fact in self.value.facts if fact not in situation.facts]
        if not unknown:
            return
        answer = self.mass(View(situation, self.prepared.counts, {}))
        mass = answer.mass if answer is not None else self._mass_without_unknown_parts(situation)
        if mass is None:
            return
        reach = Fraction(quantile(self.confidence, mass.degrees) * mass.u) if mass.u else Fraction(0)
        shift = self.allowance if self.lower else -self.allowance
        edges = [mass.value + shift - reach, mass.value + shift + reach, mass.value + shift]
        for affine in self._affines(situation, cuts):
            for fact, at in _crossings(affine, edges):
                cuts.at(Unknown("fact", fact), (at / factor for factor in factors(fact, True, self.prepared)))

    def _mass_without_unknown_parts(self, situation: Situation) -> Measured | None:
        """The mass where the kinds that are only perhaps on are not: the one completion in which it is known."""
        absent = View(situation, self.prepared.counts, {})
        while True:
            answer = self.mass(absent)
            if answer is not None:
                return answer.mass
            absent = View(situation, self.prepared.counts, {**absent.trial, **dict.fromkeys(absent.met, False)})

    def _affines(self, situation: Situation, cuts: Cuts) -> list[Affine]:
        """The limit, for every combination of the unknowns that do not enter it linearly."""
        found: list[Affine] = []
        waiting: list[dict[Unknown, Any]] = [{}]
        tried = 0
        while waiting and tried < MOST_TRIALS:
            trial = waiting.pop()
            tried += 1
            view = View(situation, self.prepared.counts, trial)
            limit = evaluate(self.value, view, affine=True)
            if isinstance(limit, Affine):
                found.append(limit)
            elif limit is None:
                unknown = next(iter(view.met))
                values = cuts.provisional(unknown, self.prepared.facts)
                waiting.extend({**trial, unknown: value} for value in values)
        return found


def _crossings(affine: Affine, edges: list[Fraction]) -> list[tuple[str, Fraction]]:
    """Values of each figure at which the limit reaches an edge, the other figures at the ends of what they add."""
    found: list[tuple[str, Fraction]] = []
    for fact in dict.fromkeys(fact for fact, _, _ in affine.terms):
        own = sum((rate for name, rate, _ in affine.terms if name == fact), Fraction(0))
        ends = [
            (Fraction(0), cap) if cap is not None else (Fraction(0),) for name, _, cap in affine.terms if name != fact
        ]
        if not own:
            continue
        for others in product(*ends):
            for edge in edges:
                at = (edge - affine.known - sum(others, Fraction(0))) / own
                if at > 0:
                    found.append((fact, at))
    return found


def judge_margin(margin: Fraction, u: float, degrees: float, confidence: float) -> tuple[int, float]:
    """How bad a margin is, and the chance that the limit is kept (JCGM 106, guard band on both sides)."""
    chance = chance_below(float(margin) / u, degrees) if u else float(margin >= 0)
    if chance >= confidence:
        return FINE, chance
    return (BAD if chance < 1 - confidence else CLOSE), chance


WHICH_NAMES: dict[str, str] = {
    "minimum": "minimum{}",
    "maximum": "maximum{}",
    "front_axle": "least load{} on the front axle",
    "front_axle_most": "greatest load{} on the front axle",
    "rear_axle": "least load{} on the rear axle",
    "rear_axle_most": "greatest load{} on the rear axle",
    "taken_off": "limit{} on what came off",
    "ballast": "limit{} on ballast",
}


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def without_parts(kinds: tuple[str, ...], view: View) -> tuple[frozenset[str], tuple[Missing, ...]] | None:
    """The parts on the car that come out before weighing, and the kinds that are on but are no parts of their own.
    None while it is not known what is on."""
    situation = view.situation
    inventory, tree = situation.inventory, situation.presence.tree
    out: set[str] = set()
    missing: list[Missing] = []
    known = True
    for kind in kinds:
        mine = {part for part in situation.configuration.on if covers(kind, inventory.parts[part].kind)}
        out |= mine
        for thing in tree.things_under(kind):
            on = situation.thing_on(thing)
            if on is None or any(part in mine for part in situation.presence.parts_for(thing)):
                continue
            there = view.present(on)
            if there is None:
                known = False
            elif there:
                missing.append(
                    Missing(f"{kind_title(thing, tree).lower()} comes out before weighing: list it as a part")
                )
    return (frozenset(out), tuple(missing)) if known else None


def mass_taken_off(kinds: tuple[str, ...], situation: Situation) -> MassAnswer:
    """What came off of these kinds: parts removed or replaced, and what lightening took."""
    ledger, inventory = situation.ledger, situation.inventory
    masses: list[Measured] = []
    missing: list[Missing] = []
    seen: set[str] = set()
    for change in situation.changes:
        if change.action not in ("remove", "swap", "lighten"):
            continue
        if change.old is not None and change.old not in inventory.outset:
            continue  # it had come off before the ledger began
        whole = _replaced_kind(change.part, inventory) if change.old is None else inventory.parts[change.old].kind
        stands = situation.presence.within(whole) if change.old is None else situation.presence.stands(change.old)
        if change.old is None or not any(covers(kind, whole) for kind in kinds):
            if any(covers(kind, each) for kind in kinds for each in (whole, *stands)):
                missing.append(Missing(f"what came off with {whole} has no mass of its own in the ledger"))
            continue
        if change.old in seen:
            continue
        before = ledger.part_mass(change.old)
        after = Measured(Fraction(0), {})
        if change.action == "lighten":
            lighter = ledger.part_mass(change.old, situation.configuration.lightened[change.old])
            if lighter is None:
                before = None
            else:
                after = lighter
        else:
            seen.add(change.old)
        if before is None:
            missing.append(Missing(f'part "{change.old}" was never weighed'))
        else:
            masses.append(total((before, after.times(-1))))
    return MassAnswer(None, tuple(missing)) if missing else MassAnswer(total(masses))


def _replaced_kind(part_id: str, inventory: Inventory) -> str:
    """The kind that a part took the place of, where the ledger has no part for it."""
    below = inventory.parts[part_id].replaces
    while below in inventory.parts:
        below = inventory.parts[below].replaces
    assert below is not None
    return below


def _ballast_on(situation: Situation) -> MassAnswer:
    ledger, parts = situation.ledger, situation.inventory.parts
    masses: list[Measured] = []
    missing: list[Missing] = []
    for part_id in sorted(situation.configuration.on):
        if covers("ballast", parts[part_id].kind):
            mass = ledger.part_mass(part_id, situation.configuration.lightened.get(part_id))
            if mass is None:
                missing.append(Missing(f'part "{part_id}" was never weighed'))
            else:
                masses.append(mass)
    return MassAnswer(None, tuple(missing)) if missing else MassAnswer(total(masses))


def limit_questions(prepared: PreparedClass, situation: Situation, confidence: float) -> list[LimitQuestion]:
    """The limits of a class about a build."""
    key = ("limits", confidence)
    if key not in prepared.standing:
        prepared.standing[key] = _Limits(prepared, confidence).all()
    standing = prepared.standing[key]
    assert isinstance(standing, list)
    return [question for question in standing if question.which != "ballast" or situation.has_ballast]


class _Limits:
    def __init__(self, prepared: PreparedClass, confidence: float) -> None:
        self.prepared = prepared
        self.confidence = confidence
        self.weight = prepared.full.weight
        self.nodes = prepared.rules.nodes
        self.specs = prepared.rules.limits

    def all(self) -> list[LimitQuestion]:
        stated = {key: entry.value for key, entry in self.weight.items()}
        terms = {
            key: (entry.value, entry.path, entry.clause or "", entry.origin)
            for key, entry in self.weight.items()
            if key in WEIGHED_KEYS
        }
        found = self._of_terms(terms, stated.get("adjust") or [], stated, stated.get("says") or "")
        ballast = self.weight.get("ballast")
        if ballast is not None and ballast.value.most is not None:
            cite = Cited(ballast.clause or "", "ballast", ballast.path, ballast.origin)
            value = Value(LimitSpec(Amount(ballast.value.most.value), None))
            found.append(self._question("ballast", cite, value, lower=False, stated={}))
        for placed in self.prepared.full.rules["limit"]:
            found.extend(self._further(placed, stated))
        return found

    def _further(self, placed: Placed[FurtherLimit], stated: dict[str, Any]) -> list[LimitQuestion]:
        limit = placed.rule
        own = {name: getattr(limit, name) for name in limit.stated if getattr(limit, name) is not None}
        taken = ("driver", "driver_counts_as", "co_driver", "fuel", "without", "allowance", "scale_u")
        over = {key: own.get(key, stated.get(key)) for key in taken}
        if own.get("driver") == "out":
            over["driver_counts_as"] = None
        if limit.taken_off is not None:
            over = {"allowance": limit.allowance}
        terms = {
            key: (own[key], (*placed.path, key), limit.clause, placed.origin) for key in WEIGHED_KEYS if key in own
        }
        adjusts = [(adjust, (*placed.path, "adjust", index)) for index, adjust in enumerate(limit.adjust or ())]
        found = self._of_terms(terms, adjusts, over, limit.says)
        node = self.nodes.get((*placed.path, "if"))
        for question in found:
            question.test = self.prepared.book.test(placed.path)
            if node is not None:
                question.cite.nodes = (node, *question.cite.nodes)
            if limit.taken_off is not None:
                question.which = "taken_off"
                question.kinds = tuple(limit.taken_off)
        return found

    def _of_terms(
        self,
        terms: dict[str, tuple[Any, Path, str, str]],
        adjusts: list[tuple[Adjust, Path]],
        stated: dict[str, Any],
        says: str,
    ) -> list[LimitQuestion]:
        values: dict[Which, Value] = {}
        paths: dict[Which, Path] = {}
        for key, least, most in AXLES:
            if key in terms:
                for name, word in ((least, "least"), (most, "most")):
                    if getattr(terms[key][0], word) is not None:
                        paths[name] = (*terms[key][1], word)
                        values[name] = Value(self.specs[paths[name]], self._adjusts(adjusts, name))
        for whole in ("minimum", "maximum"):
            if whole in terms:
                name = "minimum" if whole == "minimum" else "maximum"
                paths[name] = terms[whole][1]
                spec = self.specs[paths[name]]
                both = tuple(least if whole == "minimum" else most for _, least, most in AXLES)
                axles = tuple(values[axle] for axle in both) if isinstance(spec.form, SumOfAxles) else ()
                values[name] = Value(spec, self._adjusts(adjusts, name), axles)
        found = []
        for which, value in values.items():
            _, _, clause, origin = terms[which.removesuffix("_most")]
            mine = [(adjust, path) for adjust, path in adjusts if adjust.of == which]
            nodes = tuple(self.nodes[(*path, "if")] for _, path in mine if (*path, "if") in self.nodes)
            words = " ".join(each for each in (says, *(adjust.says for adjust, _ in mine)) if each)
            cite = Cited(clause, "limit", paths[which], origin, words, nodes)
            lower = which in ("minimum", "front_axle", "rear_axle")
            found.append(self._question(which, cite, value, lower=lower, stated=stated))
        return found

    def _adjusts(self, adjusts: list[tuple[Adjust, Path]], of: str) -> tuple[PreparedAdjust, ...]:
        found = []
        for adjust, path in adjusts:
            if adjust.of != of:
                continue
            test = self.prepared.book.test(path)
            added = adjust.add
            if added.amount is not None:
                found.append(PreparedAdjust(test, added.amount.value, added.amount.dimension != "mass", None, None))
            else:
                most = added.most.value if added.most is not None else None
                found.append(PreparedAdjust(test, Fraction(0), False, added.fact, most))
        return tuple(found)

    def _question(
        self, which: Which, cite: Cited, value: Value, *, lower: bool, stated: dict[str, Any]
    ) -> LimitQuestion:
        allowance: Quantity | None = stated.get("allowance")
        scale_u: Quantity | None = stated.get("scale_u")
        whole = {key: entry.value for key, entry in self.weight.items()}
        return LimitQuestion(
            "limit",
            which=which,
            cite=cite,
            value=value,
            lower=lower,
            prepared=self.prepared,
            confidence=self.confidence,
            test=always,
            weighed=_weighed(stated),
            without=tuple(stated.get("without") or ()),
            by_weight=_weighed(stated) == _weighed(whole) and stated.get("without") == whole.get("without"),
            allowance=allowance.value if allowance is not None else Fraction(0),
            scale_u=scale_u.value if scale_u is not None else None,
        )


def _weighed(stated: dict[str, Any]) -> Weighed:
    """What is put on the scale by the keys of `weight` or of a further limit."""
    counts_as: Quantity | None = stated.get("driver_counts_as")
    return Weighed(
        stated.get("driver") or "out",
        counts_as.value if counts_as is not None else None,
        stated.get("co_driver") or "out",
        stated.get("fuel") or "as-raced",
    )
