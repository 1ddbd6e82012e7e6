"""The weight ledger: the mass of any configuration, from the newest weighing and the parts that differ."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from functools import cached_property
from typing import Literal

from tarebook.car.checks import jobs_seen
from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import MassForm, Part, Person, Weighing
from tarebook.fact_values import Value, read_value
from tarebook.facts import BUILTIN
from tarebook.quantities import Quantity
from tarebook.weight.fuel import TankFacts, fuel_terms
from tarebook.weight.measured import Measured, from_estimate, from_readings, total
from tarebook.weight.terms import (
    NEVER_WEIGHED,
    NO_AXLES,
    NO_WHEELBASE,
    Aboard,
    Axle,
    Group,
    MassAnswer,
    Missing,
    Place,
    Term,
    Terms,
    Weighed,
)

__all__ = ["Group", "Ledger", "MassAnswer", "Missing", "Place", "Term", "Terms", "Weighed", "has_axles"]

Who = Literal["driver", "co_driver"]
PEOPLE: dict[Who, str] = {"driver": "the driver", "co_driver": "the co-driver"}
Moved = Literal["along", "anyhow"] | None  # which moves of a part matter: along the car, any, none


class Ledger:
    """Masses of one car.

    `weighings` take the place of those in the car file, and `instead` the masses of things by their names (see
    `part_name`, `PEOPLE`): to see what the masses would be if something were weighed anew.
    """

    def __init__(
        self,
        inventory: Inventory,
        *,
        weighings: Sequence[Weighing] | None = None,
        instead: Mapping[str, MassForm] | None = None,
    ) -> None:
        self.inventory = inventory
        self.car = inventory.car
        self.weighings = self.car.weighing if weighings is None else weighings
        self._instead = instead or {}
        self._units = inventory.car.units.as_dict()
        self._scales = {scale.id: scale for scale in self.car.scale}
        self._masses: dict[str, Measured | None] = {}
        self._groups: dict[str, tuple[Group, ...]] = {}
        self._states: dict[str, Configuration] = {}

    def part_mass(self, part_id: str, lightened: tuple[str, MassForm] | None = None) -> Measured | None:
        """The mass of a part, all its pieces together, as it was or as lightened by a job; None if unknown."""
        name = part_name(part_id, lightened[0] if lightened else None)
        if name not in self._masses:
            form = self._instead.get(name) or (lightened[1] if lightened else None)
            self._masses[name] = self._form(form, name) if form else self._part(self.inventory.parts[part_id])
        return self._masses[name]

    def person_mass(self, who: Who) -> Measured | None:
        """The mass of a person; None if it is not stated."""
        name = PEOPLE[who]
        if name not in self._masses:
            person: Person | None = getattr(self.car, who)
            form = self._instead.get(name) or person
            self._masses[name] = self._form(form, name) if form else None
        return self._masses[name]

    def _part(self, part: Part) -> Measured | None:
        scale = self._scales.get(part.scale) if part.scale else None
        if part.mass_each is not None and part.count is not None:
            return from_readings(part.mass_each, scale, part.id).times(part.count)
        readings = part.mass or part.mass_together
        if readings is not None:
            return from_readings(readings, scale, part.id)
        return from_estimate(part.estimate, part.id) if part.estimate is not None else None

    def _form(self, form: MassForm | Person, name: str) -> Measured | None:
        if form.mass is not None:
            return from_readings(form.mass, self._scales.get(form.scale) if form.scale else None, name)
        return from_estimate(form.estimate, name) if form.estimate is not None else None

    @cached_property
    def newest(self) -> Weighing | None:
        """The newest weighing; of two on one day, the one further down the file."""
        return _newest(self.weighings)

    @cached_property
    def newest_with_axles(self) -> Weighing | None:
        """The newest weighing that has the axles or the corners apart."""
        return _newest([each for each in self.weighings if has_axles(each)])

    def weighed_groups(self, weighing: Weighing) -> tuple[Group, ...]:
        """What a weighing read, by reading group: "total", or the axles, or the corners. A mean for each, in kg."""
        if weighing.id not in self._groups:
            scale = self._scales.get(weighing.scale) if weighing.scale else None
            self._groups[weighing.id] = tuple(
                Group(name, from_readings(each, scale, weighing_name(weighing.id, name)))
                for name, each in reading_groups(weighing).items()
            )
        return self._groups[weighing.id]

    def seen(self, weighing: Weighing) -> Configuration:
        """The car as a weighing saw it."""
        if weighing.id not in self._states:
            self._states[weighing.id] = self.inventory.configuration(jobs_seen(weighing, self.car))
        return self._states[weighing.id]

    def mass(self, configuration: Configuration, weighed: Weighed, *, weighing: Weighing | None = None) -> MassAnswer:
        """The mass of a configuration as weighed, in kg, from the newest weighing or from the one named."""
        chosen = weighing or self.newest
        if chosen is None:
            return MassAnswer(None, (NEVER_WEIGHED,))
        return self._answer(chosen, None, configuration, weighed)

    def axle_mass(
        self, axle: Axle, configuration: Configuration, weighed: Weighed, *, weighing: Weighing | None = None
    ) -> MassAnswer:
        """The load of one axle, as a mass in kg: a mass m at x behind the front axle loads the rear with m*x/L.

        From the newest weighing that has the axles apart, or from the one named.
        """
        chosen = weighing or self.newest_with_axles
        if chosen is None or not has_axles(chosen):
            return MassAnswer(None, (NO_AXLES,))
        return self._answer(chosen, axle, configuration, weighed)

    def terms(
        self,
        configuration: Configuration,
        weighed: Weighed,
        *,
        weighing: Weighing | None = None,
        axle: Axle | None = None,
        moves: bool = False,
    ) -> Terms:
        """What the mass of a configuration is made of: what was weighed, and every term that differs from it.

        Without `weighing`, from the newest one (with `axle`, from the newest that has the axles apart). With `axle`,
        the base is that axle's readings alone, but each term has its whole mass: what of it an axle carries is for
        its place to say. With `axle` or `moves`, a part that only sits elsewhere than when it was weighed with the
        car is two terms, away from there and to here; they cancel in the total, and are left out without.
        """
        chosen = weighing or (self.newest if axle is None else self.newest_with_axles)
        if chosen is None or (axle is not None and not has_axles(chosen)):
            return Terms(weighing, (), (), (NEVER_WEIGHED if axle is None else NO_AXLES,))
        moved: Moved = "anyhow" if moves else None if axle is None else "along"
        parts = self._part_terms(self.seen(chosen), configuration, weighed.without, moved)
        others = self._other_terms(chosen, configuration, weighed)
        return Terms(chosen, _of_axle(self.weighed_groups(chosen), axle), (*parts, *others))

    def wheelbase(self, configuration: Configuration) -> Fraction | None:
        """The wheelbase in mm, as the configuration has it; None if it is not stated, or nothing."""
        value = self._fact("wheelbase", configuration)
        return value if isinstance(value, Fraction) and value else None

    def _answer(
        self, weighing: Weighing, axle: Axle | None, configuration: Configuration, weighed: Weighed
    ) -> MassAnswer:
        wheelbase = self.wheelbase(configuration)
        key = ("parts", weighing.id, axle, weighed.without)
        if key not in configuration.masses:  # for all the ways in which classes count fuel and people
            moved: Moved = None if axle is None else "along"
            parts = self._part_terms(self.seen(weighing), configuration, weighed.without, moved)
            base = total(group.mass for group in _of_axle(self.weighed_groups(weighing), axle))
            configuration.masses[key] = _together(base, parts, axle, wheelbase)
        so_far: MassAnswer = configuration.masses[key]
        others = self._other_terms(weighing, configuration, weighed)
        return _together(so_far.mass, others, axle, wheelbase, so_far.missing)

    def _other_terms(self, weighing: Weighing, configuration: Configuration, weighed: Weighed) -> list[Term]:
        """Fuel and people."""
        return [
            *self._fuel_terms(weighing, configuration, weighed),
            *self._person_terms("driver", weighing.driver_aboard, weighed.driver, weighed.driver_counts_as),
            *self._person_terms("co_driver", weighing.co_driver_aboard, weighed.co_driver, None),
        ]

    def _fact(self, name: str, configuration: Configuration) -> Value | None:
        """A fact of the car in a configuration, such as the tank that it then has."""
        value = configuration.sets.get(name, self.car.facts.get(name))
        return None if value is None else read_value(value, BUILTIN[name], self._units)

    def _part_terms(
        self, seen: Configuration, asked: Configuration, without: frozenset[str], moved: Moved
    ) -> list[Term]:
        found = []
        for part_id in self.inventory.parts:
            was, there = part_id in seen.on, part_id in asked.on and part_id not in without
            if not was and not there:
                continue
            before, after = seen.lightened.get(part_id), asked.lightened.get(part_id)
            same = was and there and (before and before[0]) == (after and after[0])
            if same and (moved is None or not self._moved(part_id, seen, asked, moved)):
                continue
            if was:
                found.append(self._part_term(part_id, before, self.place(part_id, seen), -1))
            if there:
                found.append(self._part_term(part_id, after, self.place(part_id, asked), 1))
        replaced_then, replaced_now = self.inventory.replaced_kinds(seen), self.inventory.replaced_kinds(asked)
        for kind in sorted(replaced_then ^ replaced_now):
            sentence = f"{kind} was replaced, but the ledger has no part with its mass"
            found.append(Term("kind", kind, 1 if kind in replaced_then else -1, None, missing=Missing(sentence)))
        return found

    def _part_term(self, part_id: str, lightened: tuple[str, MassForm] | None, place: Place, sign: int) -> Term:
        mass = self.part_mass(part_id, lightened)
        if mass is None:
            return Term("part", part_id, sign, None, *place, Missing(f'part "{part_id}" was never weighed'))
        return Term("part", part_id, sign, mass.times(sign), *place)

    def _moved(self, part_id: str, seen: Configuration, asked: Configuration, moved: Moved) -> bool:
        was, now = self.place(part_id, seen), self.place(part_id, asked)
        return was != now if moved == "anyhow" else was.at != now.at

    def place(self, part_id: str, configuration: Configuration) -> Place:
        """Where a part sits in a configuration: mm behind the front axle, and mm right of the middle."""
        part, move = self.inventory.parts[part_id], configuration.moved.get(part_id)
        at = move.at if move is not None and move.at is not None else part.at
        right = move.right if move is not None and move.right is not None else part.right
        return Place(at.value if at is not None else None, right.value if right is not None else None)

    def _fuel_terms(self, weighing: Weighing, configuration: Configuration, weighed: Weighed) -> list[Term]:
        """What fuel the scales saw, and what the class counts."""
        then = self._tank_in(self.seen(weighing))
        level = f"fuel in weighing {weighing.id}"
        was = None if weighing.fuel is None else then.holding(weighing.fuel, weighing.fuel_within, level)
        asked: Quantity | str | None = weighed.fuel
        within, level = weighed.fuel_within, "fuel counted"
        if asked == "as-raced":
            there = self.car.at_inspection
            asked, within, level = there.fuel, there.fuel_within, "fuel at inspection"
        now = None if asked is None else self._tank_in(configuration).holding(asked, within, level)
        return fuel_terms(was, now, weighing.id, self.car.tank)

    def _tank_in(self, configuration: Configuration) -> TankFacts:
        fuel, capacity = self._fact("fuel", configuration), self._fact("tank_capacity", configuration)
        return TankFacts(str(fuel) if fuel else None, capacity if isinstance(capacity, Fraction) else None)

    def _person_terms(self, who: Who, was: bool, asked: Aboard, counts_as: Fraction | None) -> Iterable[Term]:
        there = asked == "aboard"
        if was == there and counts_as is None:
            return
        person: Person | None = getattr(self.car, who)
        at = person.seat_at.value if person is not None and person.seat_at is not None else None
        right = person.seat_right.value if person is not None and person.seat_right is not None else None
        if was or (there and counts_as is None):
            sign, mass = -1 if was else 1, self.person_mass(who)
            if mass is None:
                reason = Missing(f"the mass of {PEOPLE[who]} is not stated under [{who}]")
                yield Term(who, who, sign, None, at, right, reason)
            else:
                yield Term(who, who, sign, mass.times(sign), at, right)
        if there and counts_as is not None:
            yield Term(who, who, 1, Measured(counts_as, {}), at, right)


def part_name(part_id: str, job: str | None) -> str:
    """What a part's mass goes by in the sources of uncertainty: as it was, or as lightened by a job."""
    return part_id if job is None else f"{part_id} after {job}"


def weighing_name(weighing: str, group: str) -> str:
    """What a group of readings of a weighing goes by there."""
    return f"weighing {weighing} {group}"


def has_axles(weighing: Weighing) -> bool:
    """Does it have the axles, or the corners, apart?"""
    return weighing.corners is not None or weighing.axles is not None


def reading_groups(weighing: Weighing) -> dict[str, list[Quantity]]:
    """The readings of a weighing by what stood on the scale: "total", or the axles, or the corners."""
    if weighing.total is not None:
        return {"total": weighing.total}
    form = weighing.corners or weighing.axles
    return {} if form is None else {name: getattr(form, name) for name in form.as_dict()}


def _of_axle(groups: tuple[Group, ...], axle: Axle | None) -> tuple[Group, ...]:
    return groups if axle is None else tuple(group for group in groups if group.name.startswith(axle))


def _newest(weighings: Sequence[Weighing]) -> Weighing | None:
    return sorted(weighings, key=lambda each: each.date)[-1] if weighings else None


def _together(
    base: Measured | None,
    terms: Iterable[Term],
    axle: Axle | None,
    wheelbase: Fraction | None,
    missing: tuple[Missing, ...] = (),
) -> MassAnswer:
    """A mass and what comes to it; on an axle, each term with the share that the axle carries."""
    lacking = list(missing)
    masses = [base] if base is not None else []
    for term in terms:
        if term.missing is not None:
            lacking.append(term.missing)
            if axle is not None and term.missing.fact is not None and term.at is None:
                lacking.append(_nowhere(term))  # stating the fact would not settle it
            continue
        assert term.mass is not None
        if axle is None:
            masses.append(term.mass)
        elif wheelbase is None:
            if NO_WHEELBASE not in lacking:
                lacking.append(NO_WHEELBASE)
        elif term.at is None:
            lacking.append(_nowhere(term))
        else:
            rear = term.at / wheelbase
            masses.append(term.mass.times(rear if axle == "rear" else 1 - rear))
    return MassAnswer(None, tuple(dict.fromkeys(lacking))) if lacking else MassAnswer(total(masses))


def _nowhere(term: Term) -> Missing:
    return Missing(f"it is not said where {term.name} sits")
