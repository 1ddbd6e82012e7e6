"""What it takes to get a part off the car, and what that does to the axles: by the jobs and places of the car file."""

from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import Job
from tarebook.weight.balance import Balance
from tarebook.weight.differences import differences
from tarebook.weight.effects import Effect, effects_of_parts
from tarebook.weight.ledger import Ledger


class JobOff(NamedTuple):
    """A job that takes a part off and puts nothing in its place, with the jobs that it still needs.

    Attributes:
        first: the jobs that it needs and that the build lacks, in the order in which they are done.
        cost: cost less returns of all of them together; a job that states neither counts nothing, and is among
            `unpriced`.
        hours: likewise together.
        off_kg: the mass that they take off the car, less what they fit, in kg; None where a part was never weighed.
        others: the other parts that come off with it.
    """

    id: str
    state: str
    first: tuple[str, ...]
    cost: float
    unpriced: tuple[str, ...]
    hours: float
    off_kg: float | None
    others: tuple[str, ...]

    @property
    def cost_per_kg(self) -> float | None:
        """Money for each kg that leaves the car; None where none leaves it, or the mass is unknown."""
        return self.cost / self.off_kg if self.off_kg is not None and self.off_kg > 0 else None


def net_cost(job: Job) -> Fraction:
    """Cost less returns; nothing for what is not stated."""
    cost, returns = (Fraction(0) if each is None else each.value for each in (job.cost, job.returns))
    return cost - returns


def is_unpriced(job: Job) -> bool:
    return job.cost is None and job.returns is None


def currency_of(inventory: Inventory) -> str:
    """The currency of the car file's money; "" where it states none."""
    for job in inventory.jobs.values():
        for money in (job.cost, job.returns):
            if money is not None:
                return money.unit
    return inventory.car.units.money or ""


class TakingOff:
    """Asked about parts of one configuration: which jobs take them off, and what that puts on the axles."""

    def __init__(self, ledger: Ledger, configuration: Configuration) -> None:
        self._ledger = ledger
        self._inventory = ledger.inventory
        self._configuration = configuration
        self._after: dict[str, tuple[tuple[str, ...], Configuration, float | None] | None] = {}

    def jobs(self, part_id: str) -> tuple[JobOff, ...]:
        """The jobs that take a part off, the cheapest first, then the quickest.

        Of a part on the car, those that can be done from this configuration; of one off it, the one that took it off.
        """
        if part_id not in self._configuration.on:
            return self._took_off(part_id)
        found = []
        for job_id in self._inventory.order:
            job = self._inventory.jobs[job_id]
            if job_id not in self._configuration.jobs and part_id in job.off and not self._replaces(job, part_id):
                done = self._done(job_id)
                if done is not None:
                    found.append(self._job_off(part_id, *done))
        return tuple(sorted(found, key=lambda each: (each.cost, each.hours)))

    def put_back_by(self, part_id: str) -> tuple[str, ...]:
        """The jobs, not in this configuration, that fit a part."""
        jobs = self._inventory.jobs
        return tuple(
            job for job in self._inventory.order if job not in self._configuration.jobs and part_id in jobs[job].fit
        )

    def effect(self, part_id: str) -> Effect | None:
        """What taking a part off the car, or putting it back on, does to the axles; None for one that is gone."""
        return self._effects.get(part_id)

    @cached_property
    def _effects(self) -> dict[str, Effect]:
        balance = Balance(wheelbase=self._ledger.wheelbase(self._configuration))
        return {each.id: each for each in effects_of_parts(self._ledger, self._configuration, balance)}

    def _replaces(self, job: Job, part_id: str) -> bool:
        return any(self._inventory.parts[fitted].replaces == part_id for fitted in job.fit)

    def _took_off(self, part_id: str) -> tuple[JobOff, ...]:
        jobs = self._inventory.jobs
        for index in range(len(self._configuration.jobs) - 1, -1, -1):
            job = jobs[self._configuration.jobs[index]]
            if part_id in job.off or self._replaces(job, part_id):
                before = self._inventory.configuration(self._configuration.jobs[:index])
                after = self._inventory.configuration(self._configuration.jobs[: index + 1])
                return (self._job_off(part_id, (job.id,), after, self._lighter(before, after)),)
        return ()

    def _done(self, job_id: str) -> tuple[tuple[str, ...], Configuration, float | None] | None:
        """A job with what it needs, the car once they are done, and how much lighter that is; None if they cannot."""
        if job_id not in self._after:
            before = set(self._configuration.jobs)
            chosen, waiting = {job_id}, [job_id]
            while waiting:
                for needed in self._inventory.jobs[waiting.pop()].needs:
                    if needed not in before and needed not in chosen:
                        chosen.add(needed)
                        waiting.append(needed)
            after = self._inventory.configuration(before | chosen)
            # Last of all the job itself, whatever the order in which independent jobs act.
            ordered = (*(each for each in after.jobs if each in chosen and each != job_id), job_id)
            possible = not after.problems
            self._after[job_id] = (ordered, after, self._lighter(self._configuration, after)) if possible else None
        return self._after[job_id]

    def _lighter(self, before: Configuration, after: Configuration) -> float | None:
        lighter = Fraction(0)
        for change in differences(self._ledger, before, after):
            for load, sign in ((change.off, 1), (change.on, -1)):
                if load is not None:
                    if load.mass is None:
                        return None
                    lighter += sign * load.mass.value
        return float(lighter)

    def _job_off(self, part_id: str, jobs: tuple[str, ...], after: Configuration, off_kg: float | None) -> JobOff:
        made = [self._inventory.jobs[each] for each in jobs]
        replaced = (self._inventory.parts[fitted].replaces for job in made for fitted in job.fit)
        off = dict.fromkeys([*(other for job in made for other in job.off), *replaced])
        parts = self._inventory.parts
        return JobOff(
            id=made[-1].id,
            state=made[-1].state,
            first=jobs[:-1],
            cost=float(sum(map(net_cost, made), Fraction(0))),
            unpriced=tuple(job.id for job in made if is_unpriced(job)),
            hours=float(sum((job.hours for job in made), Fraction(0))),
            off_kg=off_kg,
            others=tuple(other for other in off if other in parts and other != part_id and other not in after.on),
        )
