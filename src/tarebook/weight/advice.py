"""What could be weighed again, and what the masses would be then.

Each re-weighing is tried as if it had been done: with readings about the mass known so far, spread as the readings on
that scale were spread before. Whether that settles a verdict is for the judge to say.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import Literal

from tarebook.car.configurations import NOW, Configuration
from tarebook.car.models import Axles, Corners, MassForm, Scale, Weighing
from tarebook.quantities import Quantity
from tarebook.weight.budget import contributors
from tarebook.weight.ledger import PEOPLE, Ledger, Who, part_name, reading_groups
from tarebook.weight.measured import Measured
from tarebook.weight.terms import Axle, Weighed

MOST_THINGS = 12  # that are tried, the largest contributors: smaller ones settle nothing
MOST_SCALES = 8  # that each is tried on, the finest that can hold it
READINGS_TRIED = (3, 5, 10)
Form = Literal["total", "axles", "corners"]
_FORMS: dict[Form, tuple[str, ...]] = {
    "total": ("total",),
    "axles": ("front", "rear"),
    "corners": ("front_left", "front_right", "rear_left", "rear_right"),
}
AGAIN = "again"


@dataclass(frozen=True, slots=True)
class Reweighing:
    """Something to weigh again: so many times, each time off the scale and on again.

    Attributes:
        what: "car" is the whole car as it stands now, with the fuel and the people that the limit counts.
        id: the part; else the same as `what`.
        job: the job that made the part lighter, where the lighter part is meant.
        form: of the car: how it is put on the scale.
    """

    what: Literal["part", "driver", "co_driver", "car"]
    id: str
    scale: str
    readings: int
    job: str | None = None
    form: Form | None = None


class Reweighings:
    """What may be weighed again to make one mass surer.

    `mass` is what a limit is compared with, for `configuration` as `weighed`; with `axle` it is the load of that axle.
    Without `weighed` no car is on the scale: only parts matter.
    """

    def __init__(
        self,
        ledger: Ledger,
        mass: Measured,
        configuration: Configuration,
        weighed: Weighed | None,
        axle: Axle | None = None,
    ) -> None:
        self._ledger = ledger
        self._weighed = None if weighed is None else as_put_on_the_scale(weighed)
        self._axle = axle
        self._things = [name for name, _ in contributors(mass)[:MOST_THINGS]]
        self._configuration = configuration
        self._spread = spread_by_scale(ledger)
        self._scales = sorted(ledger.car.scale, key=lambda scale: scale.resolution.value)

    def of(self, readings: int) -> Iterator[tuple[Reweighing, Ledger]]:
        """Each thing on each scale that can hold it, with the ledger as it would be; parts before the car."""
        named = self._parts()
        for thing in self._things:
            what = named.get(thing)
            if what is None:
                continue
            kind, name, job, mass = what
            for scale in self._fine_scales(mass.value):
                form = MassForm(mass=self._readings(mass.value, scale, readings), scale=scale.id)
                instead = Ledger(self._ledger.inventory, weighings=self._ledger.weighings, instead={thing: form})
                yield Reweighing(kind, name, scale.id, readings, job), instead
        if self._weighed is not None and any(thing.startswith("weighing ") for thing in self._things):
            trials = (each for scale in self._scales for each in self._car(scale, readings))
            yield from islice(trials, MOST_SCALES)

    def _fine_scales(self, mass: Fraction) -> list[Scale]:
        """The finest scales that can weigh that much."""
        return [scale for scale in self._scales if holds(scale, mass)][:MOST_SCALES]

    def _parts(self) -> dict[str, tuple[Literal["part", "driver", "co_driver"], str, str | None, Measured]]:
        """Parts and people with a known mass, by the names that their sources have."""
        found: dict[str, tuple[Literal["part", "driver", "co_driver"], str, str | None, Measured]] = {}
        weighings = (self._ledger.newest, self._ledger.newest_with_axles)
        states = [self._configuration, *(self._ledger.seen(each) for each in weighings if each is not None)]
        for part_id in self._ledger.inventory.parts:
            forms = [None, *(state.lightened.get(part_id) for state in states)]
            for form in forms:
                job = form[0] if form else None
                mass = self._ledger.part_mass(part_id, form) if part_name(part_id, job) in self._things else None
                if mass is not None:
                    found[part_name(part_id, job)] = ("part", part_id, job, mass)
        who: Who
        for who in PEOPLE:
            mass = self._ledger.person_mass(who) if PEOPLE[who] in self._things else None
            if mass is not None:
                found[PEOPLE[who]] = (who, who, None, mass)
        return found

    def _readings(self, mass: Fraction, scale: Scale, count: int) -> list[Quantity]:
        """So many readings whose mean stands for that mass, and which are spread as they were on that scale."""
        if scale.check is not None:
            mass += scale.check.read.value - scale.check.known.value
        apart = self._spread.get(scale.id, 0.0)
        if count % 2 == 0:
            apart *= math.sqrt((count - 1) / count)
        offsets = [Fraction(0)] * (count % 2) + [Fraction(apart), Fraction(-apart)] * (count // 2)
        return [Quantity("mass", mass + offset, "kg", scale.resolution.value) for offset in offsets]

    def _car(self, scale: Scale, readings: int) -> Iterator[tuple[Reweighing, Ledger]]:
        assert self._weighed is not None
        for form in self._forms(scale):
            loads = self._loads(form)
            if loads is None or not all(holds(scale, load) for load in loads.values()):
                continue
            groups = {name: self._readings(load, scale, readings) for name, load in loads.items()}
            weighing = self._weighing(form, groups, scale)
            ledger = Ledger(self._ledger.inventory, weighings=[*self._ledger.weighings, weighing])
            yield Reweighing("car", "car", scale.id, readings, form=form), ledger
            return

    def _forms(self, scale: Scale) -> list[Form]:
        """How the car may stand on a scale: as it did before; else anyhow, if it is said what the scale can hold."""
        forms: list[Form] = ["axles", "corners"] if self._axle else ["total", "axles", "corners"]
        used = {form_of(weighing) for weighing in self._ledger.weighings if weighing.scale == scale.id}
        if used:
            return [form for form in forms if form in used]
        return forms if scale.capacity is not None else []

    def _loads(self, form: Form) -> dict[str, Fraction] | None:
        """What each reading would be of, in kg; None where it cannot be said."""
        assert self._weighed is not None
        now = self._ledger.inventory.build(NOW)
        if self._axle is not None:
            return self._axle_loads(form, now)
        mass = self._ledger.mass(now, self._weighed).mass
        if mass is None:
            return None
        if form == "total":
            return {"total": mass.value}
        base = self._base(form)
        whole = sum(base.values(), Fraction(0))
        return {name: mass.value * load / whole for name, load in base.items()} if whole else None

    def _axle_loads(self, form: Form, now: Configuration) -> dict[str, Fraction] | None:
        assert self._weighed is not None
        base = self._base(form)
        found: dict[str, Fraction] = {}
        axle: Axle
        for axle in ("front", "rear"):
            mass = self._ledger.axle_mass(axle, now, self._weighed).mass
            mine = {name: load for name, load in base.items() if name.startswith(axle)}
            whole = sum(mine.values(), Fraction(0))
            if mass is None or not whole:
                return None
            found |= {name: mass.value * load / whole for name, load in mine.items()}
        return found

    def _base(self, form: Form) -> dict[str, Fraction]:
        """What the newest weighing that tells these loads apart had on them."""
        for weighing in sorted(self._ledger.weighings, key=lambda each: each.date, reverse=True):
            groups = {group.name: group.mass.value for group in self._ledger.weighed_groups(weighing)}
            if form == "axles" and "front_left" in groups:
                groups = {axle: groups[f"{axle}_left"] + groups[f"{axle}_right"] for axle in ("front", "rear")}
            if tuple(groups) == _FORMS[form]:
                return groups
        return {}

    def _weighing(self, form: Form, groups: dict[str, list[Quantity]], scale: Scale) -> Weighing:
        assert self._weighed is not None
        asked = self._weighed
        fuel = self._ledger.car.at_inspection.fuel if asked.fuel == "as-raced" else asked.fuel
        ids = {weighing.id for weighing in self._ledger.weighings}
        name = next(each for each in (AGAIN + "-" * count for count in range(len(ids) + 1)) if each not in ids)
        return Weighing(
            id=name,
            date=max(weighing.date for weighing in self._ledger.weighings),
            scale=scale.id,
            total=groups["total"] if form == "total" else None,
            axles=Axles(**groups) if form == "axles" else None,
            corners=Corners(**groups) if form == "corners" else None,
            fuel=fuel,
            driver_aboard=asked.driver == "aboard",
            co_driver_aboard=asked.co_driver == "aboard",
            includes=sorted(self._ledger.inventory.done),
        )


def as_put_on_the_scale(weighed: Weighed) -> Weighed:
    """The same at home: a driver who counts as a fixed mass need not sit in, and no part need come out."""
    return Weighed(
        "out" if weighed.driver_counts_as is not None else weighed.driver, None, weighed.co_driver, weighed.fuel
    )


def form_of(weighing: Weighing) -> Form:
    """How the car stood on the scale."""
    return "total" if weighing.total is not None else "axles" if weighing.axles is not None else "corners"


def holds(scale: Scale, mass: Fraction) -> bool:
    """Whether a scale can weigh that much."""
    return scale.capacity is None or mass <= scale.capacity.value


def spread_by_scale(ledger: Ledger) -> dict[str, float]:
    """How far apart readings of one thing lie on each scale: their standard deviation in kg, pooled over all things
    that were weighed on it more than once. A scale on which nothing was is left out.
    """
    squares: dict[str, Fraction] = {}
    degrees: dict[str, int] = {}
    for scale, readings in _readings(ledger):
        if scale is not None and len(readings) > 1:
            mean = sum((each.value for each in readings), Fraction(0)) / len(readings)
            spread = sum(((each.value - mean) ** 2 for each in readings), Fraction(0))
            squares[scale] = squares.get(scale, Fraction(0)) + spread
            degrees[scale] = degrees.get(scale, 0) + len(readings) - 1
    return {scale: math.sqrt(squares[scale] / degrees[scale]) for scale in squares}


def _readings(ledger: Ledger) -> Iterator[tuple[str | None, list[Quantity]]]:
    """All readings of one thing that the car file has, with their scale."""
    car = ledger.car
    for part in car.part:
        yield part.scale, part.mass or part.mass_each or part.mass_together or []
    for form in (*(form for job in car.job for form in job.lightens.values()), car.driver, car.co_driver):
        if form is not None:
            yield form.scale, form.mass or []
    for weighing in car.weighing:
        for readings in reading_groups(weighing).values():
            yield weighing.scale, readings
