"""The weight ledger: the mass of any configuration, from the newest weighing and the parts that differ."""

from collections.abc import Iterable
from fractions import Fraction
from functools import cached_property
from typing import Literal, NamedTuple

from tarebook.car.checks import jobs_seen
from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import MassForm, Part, Person, Weighing
from tarebook.fact_values import Value, read_value
from tarebook.facts import BUILTIN
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


class Tankful(NamedTuple):
    """Fuel in the tank: how much, if the tank's size is known, and which."""

    litres: Fraction | None
    fuel: str | None


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
        self._units = inventory.car.units.as_dict()
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
                readings = {name: getattr(form, name) for name in form.as_dict()}
        if weighing.total is not None:
            readings = {"total": weighing.total}
        return total(
            from_readings(each, scale, f"weighing {weighing.id} {name}")
            for name, each in readings.items()
            if axle is None or name.startswith(axle)
        )

    def mass(self, configuration: Configuration, weighed: Weighed) -> MassAnswer:
        """The mass of a configuration as weighed, in kg."""
        if self.newest is None:
            return MassAnswer(None, (Missing("the car was never weighed"),))
        return self._answer(self.newest, None, configuration, weighed)

    def axle_mass(self, axle: Axle, configuration: Configuration, weighed: Weighed) -> MassAnswer:
        """The load of one axle, as a mass in kg: a mass m at x behind the front axle loads the rear with m*x/L."""
        if self.newest_with_axles is None:
            return MassAnswer(None, (Missing("no weighing has the axles apart"),))
        return self._answer(self.newest_with_axles, axle, configuration, weighed)

    def _answer(
        self, weighing: Weighing, axle: Axle | None, configuration: Configuration, weighed: Weighed
    ) -> MassAnswer:
        seen = self._seen(weighing)
        wheelbase = self._fact("wheelbase", configuration)
        key = ("parts", weighing.id, axle, weighed.without)
        if key not in configuration.masses:
            parts = self._part_terms(seen, configuration, weighed.without, axle is not None)
            configuration.masses[key] = _together(self._base(weighing, axle), parts, axle, wheelbase)
        so_far: MassAnswer = configuration.masses[key]
        others = [
            *self._fuel_terms(weighing, seen, configuration, weighed),
            *self._person_terms("driver", weighing.driver_aboard, weighed.driver, weighed.driver_counts_as),
            *self._person_terms("co_driver", weighing.co_driver_aboard, weighed.co_driver, None),
        ]
        return _together(so_far.mass, others, axle, wheelbase, so_far.missing)

    def _fact(self, name: str, configuration: Configuration) -> Value | None:
        """A fact of the car in a configuration, such as the tank that it then has."""
        value = configuration.sets.get(name, self.car.facts.get(name))
        return None if value is None else read_value(value, BUILTIN[name], self._units)

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

    def _fuel_terms(
        self, weighing: Weighing, seen: Configuration, configuration: Configuration, weighed: Weighed
    ) -> Iterable[Term]:
        """What fuel the scales saw, and what the class counts; one fuel of one amount cancels, known or not."""
        asked = weighed.fuel if weighed.fuel != "as-raced" else self.car.at_inspection.fuel
        was, now = self._tankful(weighing.fuel, seen), self._tankful(asked, configuration)
        if weighing.fuel is not None and asked is not None and was == now:
            return
        if weighing.fuel is None:
            yield Term("fuel", None, None, Missing(f'weighing "{weighing.id}" does not say how much fuel was in'))
        if asked is None:
            yield Term("fuel", None, None, Missing("fuel under [at_inspection] is not stated"))
        if weighing.fuel is None or asked is None:
            return
        at = self.car.tank.at.value if self.car.tank.at is not None else None
        lacking = {reason: None for tankful in (was, now) for reason in self._lacking(tankful)}
        yield from (Term("fuel", None, at, reason) for reason in lacking)
        if not lacking:
            yield from (self._fuel_term(tankful, at, sign) for tankful, sign in ((was, -1), (now, 1)) if tankful.litres)

    def _tankful(self, amount: Quantity | str | None, configuration: Configuration) -> Tankful:
        fuel = self._fact("fuel", configuration)
        if amount == "full":
            capacity = self._fact("tank_capacity", configuration)
            return Tankful(capacity if isinstance(capacity, Fraction) else None, str(fuel) if fuel else None)
        return Tankful(amount.value if isinstance(amount, Quantity) else Fraction(0), str(fuel) if fuel else None)

    def _lacking(self, tankful: Tankful) -> list[Missing]:
        if tankful.litres is None:
            found = [Missing("tank_capacity is not stated", "tank_capacity")]
        elif not tankful.litres:
            return []
        else:
            found = []
        if self.car.tank.density is None and tankful.fuel not in FUEL_DENSITIES:
            if tankful.fuel is None:
                found.append(Missing("fuel is not stated, so its density is unknown", "fuel"))
            else:
                found.append(Missing(f"the density of {tankful.fuel} is not stated under [tank]"))
        return found

    def _fuel_term(self, tankful: Tankful, at: Fraction | None, sign: int) -> Term:
        assert tankful.litres is not None
        litres = tankful.litres * sign
        if self.car.tank.density is not None:
            return Term("fuel", Measured(litres * self.car.tank.density.value, {}), at)
        density, half_width = FUEL_DENSITIES[tankful.fuel or ""]
        share = Share(float(litres) * float(half_width) / SQRT_3)
        return Term("fuel", Measured(litres * density, {f"density of {tankful.fuel}": share}), at)

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
    return MassAnswer(None, tuple(dict.fromkeys(lacking))) if lacking else MassAnswer(total(masses))
