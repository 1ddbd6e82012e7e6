"""The car with every job that a route may choose, and a plate of ballast: what it would be like after any of them."""

import copy
import datetime
from collections.abc import Iterable
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from tarebook.car.changes import Change
from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import Estimate, Job, Part
from tarebook.car.reading import Car
from tarebook.judge.components import ChangeQuestion
from tarebook.judge.facing import CarBeforeBook
from tarebook.judge.findings import FINE
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.kinds import Kind
from tarebook.quantities import Quantity
from tarebook.route.ballast import GRAM
from tarebook.route.demands import Demands
from tarebook.weight.ledger import Ledger
from tarebook.weight.terms import Weighed

NOTHING = Fraction(0)


MOST_PIECES = 60
HEAVIER = (1, 2, 5, 10, 20, 50)  # kg: pieces of ballast that a class might allow where it allows no lighter one


class Plate(NamedTuple):
    """Ballast that the route adds: so many kg in all, a place in mm behind the front axle (None: not said), in pieces
    of about the same mass."""

    mass: Fraction
    at: Fraction | None = None
    pieces: int = 1

    @property
    def masses(self) -> list[Fraction]:
        """Of each piece, to the gram but for what is left over."""
        each = self.mass / self.pieces // GRAM * GRAM
        over = self.mass - each * self.pieces
        return [each + min(GRAM, max(NOTHING, over - GRAM * index)) for index in range(self.pieces)]


class Workshop:
    """One car, one class, one day, and the jobs that may be chosen.

    Raises KeyError for a job asked for that may not be chosen, ValueError for a confidence that is out of range.

    Attributes:
        before: the car before its book, with a plate of ballast that weighs nothing yet.
        free: the jobs that may be chosen, in the order in which they act; `ballast_job` is among them.
        stay: the done jobs that stay.
    """

    def __init__(
        self,
        car: Car,
        prepared: PreparedClass,
        adopted: tuple[Kind, ...],
        on: datetime.date,
        demands: Demands,
    ) -> None:
        self.car = car
        self.prepared = prepared
        self.demands = demands
        self.on = on
        self._adopted = adopted
        self.car_ledger = Ledger(car.inventory)
        self.ballast_part = _unused("added-ballast", car.inventory.parts)
        self.ballast_job = _unused("add-ballast", car.inventory.jobs)
        self.before = self._with_plate(Plate(NOTHING, self._tried_place()))
        self.inventory = self.before.car.inventory
        done = self.inventory.done
        self.free: tuple[str, ...] = tuple(job for job in self.inventory.order if demands.undo or job not in done)
        self.stay: frozenset[str] = frozenset() if demands.undo else done
        for job in sorted(demands.must | demands.forbid):
            if job not in self.free or job == self.ballast_job:
                raise KeyError(job)
        if not 0.5 <= demands.confidence < 1.0:
            raise ValueError("the confidence is one half or more, and less than one")
        self._situations: dict[frozenset[str], Situation] = {}

    def with_demands(self, demands: Demands) -> "Workshop":
        """The same, asked for something else."""
        return Workshop(self.car, self.prepared, self._adopted, self.on, demands)

    def _tried_place(self) -> Fraction:
        """A place for ballast, in mm behind the front axle, to which the class has no objection, if there is one."""
        places = self.places(self.car.inventory.done)
        done = self.car.inventory.done
        return next((at for at in places if self.allows(done, Plate(NOTHING, at))), places[0])

    @cached_property
    def wants_heavier_pieces(self) -> bool:
        """Whether the class takes ballast only in pieces heavier than some mass: no route makes use of it then."""
        done, places = self.car.inventory.done, self.places(self.car.inventory.done)
        if any(self.allows(done, Plate(NOTHING, at)) for at in places):
            return False
        return any(self.allows(done, Plate(Fraction(mass), at)) for mass in HEAVIER for at in places)

    def pieces(self, jobs: frozenset[str], mass: Fraction, at: Fraction | None) -> int:
        """In how many pieces the class takes so much ballast at a place; one where no number will do."""
        numbers = range(1, MOST_PIECES + 1)
        return next((number for number in numbers if self.allows(jobs, Plate(mass, at, number))), 1)

    def allows(self, jobs: frozenset[str], plate: Plate) -> bool:
        """Whether the class lets this ballast be fitted once jobs are done."""
        before = self._with_plate(plate)
        inventory = before.car.inventory
        situation = before.situation_of(inventory.configuration(jobs | {self.ballast_job}), self.on)
        return not any(self._objects(change, situation) for change in situation.changes)

    def _objects(self, change: Change, situation: Situation) -> bool:
        """Whether the class may not have ballast that was added."""
        if all(part in self.car.inventory.parts for part in change.new):
            return False
        question = ChangeQuestion(part=change.part, change=change, prepared=self.prepared)
        outcome = question.outcome(View(situation, self.prepared.counts, {}))
        return outcome is None or outcome.bad != FINE

    def places(self, jobs: Iterable[str]) -> list[Fraction]:
        """Places between the axles, in mm behind the front axle: the middle, then the quarters, then the axles."""
        wheelbase = self.car_ledger.wheelbase(self.car.inventory.configuration(jobs)) or NOTHING
        return list(dict.fromkeys(wheelbase * quarter / 4 for quarter in (2, 3, 1, 4, 0)))

    def _with_plate(self, plate: Plate) -> CarBeforeBook:
        """The car as its book sees it, with the ballast part and its job."""
        file = copy.copy(self.car.file)
        none = Quantity("mass", NOTHING, "kg", NOTHING)
        ballast = self.prepared.full.weight.get("ballast")
        places = ballast.value.places if ballast is not None and ballast.value.places else [None]
        added: list[Part] = []
        for mass in plate.masses:
            part = Part(
                id=_unused(self.ballast_part, [*self.car.inventory.parts, *(each.id for each in added)]),
                kind="ballast",
                title="Added ballast",
                origin="aftermarket",
                estimate=Estimate(mass=Quantity("mass", mass, "kg", NOTHING), within=none),
                at=None if plate.at is None else Quantity("length", plate.at, "mm", NOTHING),
                place=places[0],
            )
            added.append(part)
        job = Job(id=self.ballast_job, title="Add ballast", state="maybe", fit=[part.id for part in added])
        file.part = [*file.part, *added]
        file.job = [*file.job, job]
        car = copy.copy(self.car)
        car.file = file
        car.inventory = Inventory(file, self.car.source)
        return CarBeforeBook(car, self.prepared.rules, self._adopted)

    def situation(self, chosen: Iterable[str]) -> Situation:
        """The car once these of the free jobs are done; ballast, where chosen, weighs nothing yet."""
        jobs = self.stay | frozenset(chosen)
        if jobs not in self._situations:
            self._situations[jobs] = self.before.situation_of(self.inventory.configuration(jobs), self.on)
        return self._situations[jobs]

    def configuration(self, chosen: Iterable[str]) -> Configuration:
        return self.situation(chosen).configuration

    def loaded(self, chosen: Iterable[str], plate: Plate) -> Situation:
        """The same with the ballast as it is: what the judge sees."""
        before = self._with_plate(plate)
        jobs = self.stay | frozenset(chosen)
        return before.situation_of(before.car.inventory.configuration(jobs), self.on)

    def with_needs(self, job_id: str) -> frozenset[str]:
        """A job, and the free jobs that it needs, and what those need."""
        found, waiting = {job_id}, [job_id]
        while waiting:
            for need in self.inventory.jobs[waiting.pop()].needs:
                if need in self.free and need not in found:
                    found.add(need)
                    waiting.append(need)
        return frozenset(found)

    @cached_property
    def places_in_order(self) -> dict[str, int]:
        """Each job's place in the order in which jobs act."""
        return {job: index for index, job in enumerate(self.inventory.order)}

    @cached_property
    def resting(self) -> frozenset[str]:
        """Of the free jobs, those that are done already: what is chosen where nothing else is said."""
        return self.inventory.done - self.stay


def as_weighed(prepared: PreparedClass) -> tuple[Weighed, tuple[str, ...]]:
    """What the class's `weight` puts on the scale, and the kinds that come out first."""
    stated = {key: entry.value for key, entry in prepared.full.weight.items()}
    counts_as: Quantity | None = stated.get("driver_counts_as")
    weighed = Weighed(
        stated.get("driver") or "out",
        counts_as.value if counts_as is not None else None,
        stated.get("co_driver") or "out",
        stated.get("fuel") or "as-raced",
    )
    return weighed, tuple(stated.get("without") or ())


def _unused(name: str, taken: Iterable[str]) -> str:
    names = set(taken)
    while name in names:
        name += "-x"
    return name
