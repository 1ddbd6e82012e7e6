"""What it takes to get a part off the car, or back on, and what that does to the axles: by the car file's jobs."""

from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cached_property
from itertools import product
from typing import NamedTuple

from tarebook.car.configurations import Configuration, Inventory
from tarebook.car.models import Job
from tarebook.weight.balance import Balance
from tarebook.weight.differences import differences
from tarebook.weight.effects import Effect, effects_of_parts
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured, total


class JobOff(NamedTuple):
    """A job that takes a part off, swaps it or puts it back, with the jobs that it still needs.

    Attributes:
        first: the jobs that it needs and that the build lacks, in the order in which they are done; of a swap that
            takes two jobs, also the one that takes the part off.
        cost: cost less returns of all of them together; a job that states neither counts nothing, and is among
            `unpriced`.
        hours: likewise together.
        off_kg: the mass that they take off the car, less what they fit, in kg; None where a part was never weighed.
        others: the other parts that come off with it.
        fitted: the other parts that go on with it.
        takes_off: whether the part is off the car after it: not so where it puts the part back, or only fits the
            substitute.
    """

    id: str
    state: str
    first: tuple[str, ...]
    cost: float
    unpriced: tuple[str, ...]
    hours: float
    off_kg: float | None
    others: tuple[str, ...]
    fitted: tuple[str, ...] = ()
    takes_off: bool = True

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


class _Done(NamedTuple):
    """Jobs with all that they need, the car once they are done, and how much lighter it is (None: not known)."""

    jobs: tuple[str, ...]
    after: Configuration
    off_kg: float | None


class TakingOff:
    """Asked about parts of one configuration: which jobs take them off or put them on, and what axles then carry."""

    def __init__(self, ledger: Ledger, configuration: Configuration) -> None:
        self._ledger = ledger
        self._inventory = ledger.inventory
        self._configuration = configuration
        self._after: dict[tuple[str, ...], _Done] = {}

    def jobs(self, part_id: str) -> tuple[JobOff, ...]:
        """The jobs that take a part off and put nothing in its place, the cheapest first, then the quickest.

        Of a part on the car, those that can be done from this configuration; of one off it, the one that took it off.
        """
        if part_id not in self._configuration.on:
            return self._took_off(part_id)
        taking = (job for job in self._left() if part_id in job.off and not self._replaces(job, part_id))
        return self._cheapest_first(self._possible(part_id, job.id) for job in taking)

    def swaps(self, part_id: str, substitute: str) -> tuple[JobOff, ...]:
        """The jobs that take a part off and fit a substitute, the cheapest first.

        Where none fits it in the part's place, those that fit it beside a job that takes the part off; where none
        does that either, those that only fit it.
        """
        parts = frozenset((part_id, substitute))
        fitting = [job.id for job in self._left() if substitute in job.fit]
        taking = [job.id for job in self._left() if part_id in job.off]
        found = [self._swap(parts, part_id, job) for job in dict.fromkeys([*fitting, *taking])]
        if not any(found):
            alone = [job.id for job in self.jobs(part_id)]
            found = [self._swap(parts, part_id, *pair) for pair in product(alone, fitting)]
        if not any(found):
            found = [self._possible(part_id, job, besides=parts) for job in fitting]
        return self._cheapest_first(found)

    def put_back_by(self, part_id: str) -> tuple[str, ...]:
        """The jobs, not in this configuration, that fit a part."""
        return tuple(job.id for job in self._left() if part_id in job.fit)

    def putting_back(self, part_id: str) -> tuple[JobOff, ...]:
        """Those of them that can be done from this configuration, the cheapest first."""
        return self._cheapest_first(self._possible(part_id, job) for job in self.put_back_by(part_id))

    def hindrances(self, part_id: str) -> tuple[str, ...]:
        """Why the others that would put a part back cannot be done from this configuration."""
        tried = (self._done(job).after.problems for job in self.put_back_by(part_id))
        return tuple(problems[0].sentence for problems in tried if problems)

    def cheapest_swap_first(self, part_id: str, substitutes: Iterable[str]) -> list[str]:
        """Substitutes by the cost of their cheapest swap; those that no job fits come last, as they stand."""
        swaps = {each: self.swaps(part_id, each) for each in substitutes}
        return sorted(swaps, key=lambda each: (not swaps[each], swaps[each][0].cost if swaps[each] else 0.0))

    def mass(self, part_id: str) -> Measured | None:
        """The mass of a part as it is in this configuration, in kg; None if it was never weighed."""
        return self._ledger.part_mass(part_id, self._configuration.lightened.get(part_id))

    def exchange(self, part_ids: Iterable[str]) -> tuple[Measured | None, Measured | None, Measured | None]:
        """What car, front and rear axle gain, in kg, where each part on the car comes off and each other goes on.

        None where it is not known. A part that is gone has a mass, and no place.
        """
        parts = list(part_ids)
        masses = [self.mass(each) for each in parts]
        signed = [
            mass.times(-1 if each in self._configuration.on else 1)
            for each, mass in zip(parts, masses, strict=True)
            if mass is not None
        ]
        effects = [self._effects.get(each) for each in parts]
        fronts = [each.front for each in effects if each is not None and each.front is not None]
        rears = [each.rear for each in effects if each is not None and each.rear is not None]
        return (
            total(signed) if len(signed) == len(parts) else None,
            total(fronts) if len(fronts) == len(parts) else None,
            total(rears) if len(rears) == len(parts) else None,
        )

    @cached_property
    def _effects(self) -> dict[str, Effect]:
        balance = Balance(wheelbase=self._ledger.wheelbase(self._configuration))
        return {each.id: each for each in effects_of_parts(self._ledger, self._configuration, balance)}

    def _left(self) -> Iterator[Job]:
        """The jobs that this configuration lacks, in the order in which they act."""
        for job_id in self._inventory.order:
            if job_id not in self._configuration.jobs:
                yield self._inventory.jobs[job_id]

    def _cheapest_first(self, found: Iterable[JobOff | None]) -> tuple[JobOff, ...]:
        return tuple(sorted((job for job in found if job is not None), key=lambda each: (each.cost, each.hours)))

    def _replaces(self, job: Job, part_id: str) -> bool:
        return any(self._inventory.parts[fitted].replaces == part_id for fitted in job.fit)

    def _took_off(self, part_id: str) -> tuple[JobOff, ...]:
        jobs = self._inventory.jobs
        for index in range(len(self._configuration.jobs) - 1, -1, -1):
            job = jobs[self._configuration.jobs[index]]
            if part_id in job.off or self._replaces(job, part_id):
                before = self._inventory.configuration(self._configuration.jobs[:index])
                after = self._inventory.configuration(self._configuration.jobs[: index + 1])
                done = _Done((job.id,), after, self._lighter(before, after))
                return (self._job_off(done, before, frozenset((part_id,))),)
        return ()

    def _swap(self, parts: frozenset[str], part_id: str, *job_ids: str) -> JobOff | None:
        """Jobs done together, if they leave of these two parts only the substitute on the car."""
        done = self._done(*job_ids)
        return self._possible(part_id, *job_ids, besides=parts) if parts & done.after.on == parts - {part_id} else None

    def _possible(self, part_id: str, *job_ids: str, besides: frozenset[str] = frozenset()) -> JobOff | None:
        """Jobs done together, as the last of them with others first; None where they cannot be done from here."""
        done = self._done(*job_ids)
        if done.after.problems:
            return None
        job = self._job_off(done, self._configuration, besides | {part_id})
        return job._replace(takes_off=part_id not in done.after.on)

    def _done(self, *job_ids: str) -> _Done:
        if job_ids not in self._after:
            before = set(self._configuration.jobs)
            chosen, waiting = set(job_ids), list(job_ids)
            while waiting:
                for needed in self._inventory.jobs[waiting.pop()].needs:
                    if needed not in before and needed not in chosen:
                        chosen.add(needed)
                        waiting.append(needed)
            after = self._inventory.configuration(before | chosen)
            # Last of all the job itself, whatever the order in which independent jobs act.
            ordered = (*(each for each in after.jobs if each in chosen and each != job_ids[-1]), job_ids[-1])
            off_kg = None if after.problems else self._lighter(self._configuration, after)
            self._after[job_ids] = _Done(ordered, after, off_kg)
        return self._after[job_ids]

    def _lighter(self, before: Configuration, after: Configuration) -> float | None:
        lighter = Fraction(0)
        for change in differences(self._ledger, before, after):
            for load, sign in ((change.off, 1), (change.on, -1)):
                if load is not None:
                    if load.mass is None:
                        return None
                    lighter += sign * load.mass.value
        return float(lighter)

    def _job_off(self, done: _Done, before: Configuration, besides: frozenset[str]) -> JobOff:
        """The jobs as one; `besides` are the parts that they are asked about, not to be named again."""
        made = [self._inventory.jobs[each] for each in done.jobs]
        replaced = (self._inventory.parts[fitted].replaces for job in made for fitted in job.fit)
        off = dict.fromkeys([*(other for job in made for other in job.off), *replaced])
        fitted = dict.fromkeys(each for job in made for each in job.fit)
        parts, on = self._inventory.parts, done.after.on
        return JobOff(
            id=made[-1].id,
            state=made[-1].state,
            first=done.jobs[:-1],
            cost=float(sum(map(net_cost, made), Fraction(0))),
            unpriced=tuple(job.id for job in made if is_unpriced(job)),
            hours=float(sum((job.hours for job in made), Fraction(0))),
            off_kg=done.off_kg,
            others=tuple(each for each in off if each in parts and each not in besides and each not in on),
            fitted=tuple(each for each in fitted if each not in besides and each in on and each not in before.on),
        )
