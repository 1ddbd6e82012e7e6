"""The weight ledger: the mass of any configuration, from the newest weighing and the parts that differ."""

from collections.abc import Iterable
from fractions import Fraction
from functools import cached_property
from typing import Literal, NamedTuple

from tarebook.car.checks import jobs_seen
from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import MassForm, Part, Person, Weighing
from tarebook.fact_values import Value
from tarebook.quantities import Quantity
from tarebook.weight.measured import SQRT_3, Measured, Share, from_estimate, from_readings, total

# Densities at 15 C in kg/L and their half-widths: petrol by EN 228, diesel by EN 590 (from memory).
FUEL_DENSITIES = {
    "petrol": (Fraction("0.7475"), Fraction("0.0275")),
    "diesel": (Fraction("0.8325"), Fraction("0.0125")),
}
Aboard = Literal["aboard", "out"]
Axle = Literal["front", "rear"]


class Weighed(NamedTuple):
    """What a class puts on the scale besides the car."""

    driver: Aboard = "out"
    driver_counts_as: Fraction | None = None
    co_driver: Aboard = "out"
    fuel: Quantity | Literal["full", "empty", "as-raced"] = "as-raced"
    without: frozenset[str] = frozenset()  # parts taken out before weighing


class Missing(NamedTuple):
    """Why a mass is unknown; `fact` where stating that fact of the car would settle it."""

    sentence: str
    fact: str | None = None


NO_WHEELBASE = Missing("the wheelbase is not stated", "wheelbase")


class Term(NamedTuple):
    """Something that differs between the weighing and what is asked: its mass, with sign, and its place."""

    what: str
    mass: Measured | None
    at: Fraction | None  # mm behind the front axle
    missing: Missing | None = None


class MassAnswer(NamedTuple):
    """A mass, or why it cannot be said."""

    mass: Measured | None
    missing: tuple[Missing, ...] = ()


class Ledger:
    """Masses of one car."""

    def __init__(self, inventory: Inventory) -> None:
        self.inventory = inventory
        self.car = inventory.car
        self._scales = {scale.id: scale for scale in self.car.scale}
        self._parts: dict[tuple[str, str | None], Measured | None] = {}
        self._states: dict[str, Configuration] = {}

    def part_mass(self, part_id: str, lightened: tuple[str, MassForm] | None = None) -> Measured | None:
        """The mass of a part, all its pieces together, as it was or as lightened by a job; None if unknown."""
        key = (part_id, lightened[0] if lightened else None)
        if key not in self._parts:
            part = self.inventory.parts[part_id]
            self._parts[key] = (
                self._form(lightened[1], f"{part_id} after {lightened[0]}") if lightened else self._part(part)
            )
        return self._parts[key]

    def _part(self, part: Part) -> Measured | None:
        scale = self._scales.get(part.scale) if part.scale else None
        if part.mass_each is not None and part.count is not None:
            return from_readings(part.mass_each, scale, part.id).times(part.count)
        readings = part.mass or part.mass_together
        if readings is not None:
            return from_readings(readings, scale, part.id)
        return from_estimate(part.estimate, part.id) if part.estimate is not None else None

    def _form(self, form: MassForm | Person, what: str) -> Measured | None:
        if form.mass is not None:
            return from_readings(form.mass, self._scales.get(form.scale) if form.scale else None, what)
        return from_estimate(form.estimate, what) if form.estimate is not None else None

    @cached_property
    def newest(self) -> Weighing | None:
        """The newest weighing; of two on one day, the one further down the file."""
        return _newest(self.car.weighing)

    @cached_property
    def newest_with_axles(self) -> Weighing | None:
        return _newest([each for each in self.car.weighing if each.corners is not None or each.axles is not None])

    def _base(self, weighing: Weighing, axle: Literal["front", "rear"] | None) -> Measured:
        scale = self._scales.get(weighing.scale) if weighing.scale else None
        readings: dict[str, list[Quantity]] = {}
        for form in (weighing.corners, weighing.axles):
            if form is not None:
                readings = {name: getattr(form, name) for name in type(form).model_fields}
        if weighing.total is not None:
            readings = {"total": weighing.total}
        return total(
            from_readings(each, scale, f"weighing {weighing.id} {name}")
            for name, each in readings.items()
            if axle is None or name.startswith(axle)
        )

    def mass(self, configuration: Configuration, weighed: Weighed, facts: dict[str, Value]) -> MassAnswer:
        """The mass of a configuration as weighed, in kg. `facts` are the car's, for its tank and fuel."""
        if self.newest is None:
            return MassAnswer(None, (Missing("the car was never weighed"),))
        return self._answer(self.newest, None, configuration, weighed, facts)

    def axle_mass(
        self, axle: Axle, configuration: Configuration, weighed: Weighed, facts: dict[str, Value]
    ) -> MassAnswer:
        """The load of one axle, as a mass in kg: a mass m at x behind the front axle loads the rear with m*x/L."""
        if self.newest_with_axles is None:
            return MassAnswer(None, (Missing("no weighing has the axles apart"),))
        return self._answer(self.newest_with_axles, axle, configuration, weighed, facts)

    def _answer(
        self,
        weighing: Weighing,
        axle: Axle | None,
        configuration: Configuration,
        weighed: Weighed,
        facts: dict[str, Value],
    ) -> MassAnswer:
        key = ("parts", weighing.id, axle, weighed.without)
        if key not in configuration.masses:
            parts = self._part_terms(self._seen(weighing), configuration, weighed.without, axle is not None)
            base = self._base(weighing, axle)
            configuration.masses[key] = _together(base, parts, axle, facts.get("wheelbase"))
        so_far: MassAnswer = configuration.masses[key]
        return _together(
            so_far.mass, self._other_terms(weighing, weighed, facts), axle, facts.get("wheelbase"), so_far.missing
        )

    def _other_terms(self, weighing: Weighing, weighed: Weighed, facts: dict[str, Value]) -> list[Term]:
        return [
            *self._fuel_terms(weighing, weighed, facts),
            *self._person_terms("driver", weighing.driver_aboard, weighed.driver, weighed.driver_counts_as),
            *self._person_terms("co_driver", weighing.co_driver_aboard, weighed.co_driver, None),
        ]

    def _seen(self, weighing: Weighing) -> Configuration:
        if weighing.id not in self._states:
            self._states[weighing.id] = self.inventory.configuration(jobs_seen(weighing, self.car))
        return self._states[weighing.id]

    def _part_terms(
        self, seen: Configuration, asked: Configuration, without: frozenset[str], moves: bool
    ) -> list[Term]:
        found = []
        for part_id in self.inventory.parts:
            was, there = part_id in seen.on, part_id in asked.on and part_id not in without
            if not was and not there:
                continue
            before, after = seen.lightened.get(part_id), asked.lightened.get(part_id)
            same = was and there and (before and before[0]) == (after and after[0])
            if same and not (moves and self._at(part_id, seen) != self._at(part_id, asked)):
                continue
            if was:
                found.append(self._part_term(part_id, before, self._at(part_id, seen), -1))
            if there:
                found.append(self._part_term(part_id, after, self._at(part_id, asked), 1))
        for kind in sorted(self.inventory.replaced_kinds(seen) ^ self.inventory.replaced_kinds(asked)):
            sentence = f"{kind} was replaced, but the ledger has no part with its mass"
            found.append(Term(kind, None, None, Missing(sentence)))
        return found

    def _part_term(self, part_id: str, lightened: tuple[str, MassForm] | None, at: Fraction | None, sign: int) -> Term:
        mass = self.part_mass(part_id, lightened)
        if mass is None:
            return Term(part_id, None, at, Missing(f'part "{part_id}" was never weighed'))
        return Term(part_id, mass.times(sign), at)

    def _at(self, part_id: str, configuration: Configuration) -> Fraction | None:
        move = configuration.moved.get(part_id)
        at = move.at if move is not None and move.at is not None else self.inventory.parts[part_id].at
        return at.value if at is not None else None

    def _fuel_terms(self, weighing: Weighing, weighed: Weighed, facts: dict[str, Value]) -> Iterable[Term]:
        asked = weighed.fuel if weighed.fuel != "as-raced" else self.car.at_inspection.fuel
        if weighing.fuel is not None and weighing.fuel == asked:
            return
        if weighing.fuel is None:
            yield Term("fuel", None, None, Missing(f'weighing "{weighing.id}" does not say how much fuel was in'))
        if asked is None:
            yield Term("fuel", None, None, Missing("fuel under [at_inspection] is not stated"))
        if weighing.fuel is None or asked is None:
            return
        missing = []
        volumes = []
        for amount in (weighing.fuel, asked):
            litres = facts.get("tank_capacity") if amount == "full" else Fraction(0)
            volumes.append(amount.value if isinstance(amount, Quantity) else litres)
        was, now = volumes
        if not isinstance(was, Fraction) or not isinstance(now, Fraction):
            missing.append(Missing("tank_capacity is not stated", "tank_capacity"))
        elif was == now:
            return
        density, half_width = self._density(facts)
        if density is None:
            fuel = facts.get("fuel")
            if fuel is None:
                missing.append(Missing("fuel is not stated, so its density is unknown", "fuel"))
            else:
                missing.append(Missing(f"the density of {fuel} is not stated under [tank]"))
        at = self.car.tank.at.value if self.car.tank.at is not None else None
        yield from (Term("fuel", None, at, reason) for reason in missing)
        if density is not None and isinstance(was, Fraction) and isinstance(now, Fraction):
            litres = now - was
            shares = {"density of fuel": Share(float(litres) * float(half_width) / SQRT_3)} if half_width else {}
            yield Term("fuel", Measured(litres * density, shares), at)

    def _density(self, facts: dict[str, Value]) -> tuple[Fraction | None, Fraction]:
        if self.car.tank.density is not None:
            return self.car.tank.density.value, Fraction(0)
        fuel = facts.get("fuel")
        if isinstance(fuel, str) and fuel in FUEL_DENSITIES:
            return FUEL_DENSITIES[fuel]
        return None, Fraction(0)

    def _person_terms(
        self, who: Literal["driver", "co_driver"], was: bool, asked: Aboard, counts_as: Fraction | None
    ) -> Iterable[Term]:
        there = asked == "aboard"
        if was == there and counts_as is None:
            return
        person: Person | None = getattr(self.car, who)
        at = person.seat_at.value if person is not None and person.seat_at is not None else None
        title = who.replace("_", "-")
        if was or (there and counts_as is None):
            mass = self._form(person, title) if person is not None else None
            if mass is None:
                yield Term(title, None, at, Missing(f"the mass of the {title} is not stated under [{who}]"))
            else:
                yield Term(title, mass.times(-1 if was else 1), at)
        if there and counts_as is not None:
            yield Term(title, Measured(counts_as, {}), at)


def _newest(weighings: list[Weighing]) -> Weighing | None:
    return sorted(weighings, key=lambda each: each.date)[-1] if weighings else None


def _together(
    base: Measured | None,
    terms: Iterable[Term],
    axle: Axle | None,
    wheelbase: Value | None,
    missing: tuple[Missing, ...] = (),
) -> MassAnswer:
    """A mass and what comes to it; on an axle, each term with the share that the axle carries."""
    lacking = list(missing)
    masses = [base] if base is not None else []
    for term in terms:
        if term.missing is not None:
            lacking.append(term.missing)
            continue
        assert term.mass is not None
        if axle is None:
            masses.append(term.mass)
        elif not isinstance(wheelbase, Fraction) or not wheelbase:
            if NO_WHEELBASE not in lacking:
                lacking.append(NO_WHEELBASE)
        elif term.at is None:
            lacking.append(Missing(f"it is not said where {term.what} sits"))
        else:
            rear = term.at / wheelbase
            masses.append(term.mass.times(rear if axle == "rear" else 1 - rear))
    return MassAnswer(None, tuple(lacking)) if lacking else MassAnswer(total(masses))
