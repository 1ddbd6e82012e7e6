"""What the work took off and put on so far, by zone, job, kind or month: exact sums, never of rounded figures.

What counts is how a build differs from the car at the outset: what is off and on again is no change.
The part that another replaced counts off and the other on; what a job lightened counts off by the difference.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.configurations import Configuration
from tarebook.fact_values import read_value
from tarebook.facts import BUILTIN
from tarebook.weight.differences import Difference, differences
from tarebook.weight.ledger import Ledger, MassAnswer, Weighed
from tarebook.weight.measured import Measured, total

By = Literal["zone", "job", "kind", "month"]
# Rows beside those that the car file names: no name of a file has a space, so none can be mistaken for one of these.
NO_ZONE, NO_PLACE, NO_DATE = "no zone", "no place", "no date"
SEVERAL, NO_PART = "several rows", "no part"


@dataclass(slots=True)
class TallyRow:
    """One row, or the total.

    Attributes:
        id: the zone, job, kind or month ("2027-04"); or one of the rows beside them.
        came_off: the masses that came off, one by one, in kg and above zero; `went_on` likewise.
        cost: cost less returns, in the car's one currency.
        unweighed: the parts and kinds that came off or went on and have no mass.
        uncosted: the jobs of the row that state no cost; they count as nothing.
    """

    id: str
    title: str = ""
    came_off: list[Measured] = field(default_factory=list)
    went_on: list[Measured] = field(default_factory=list)
    cost: Fraction = Fraction(0)
    hours: Fraction = Fraction(0)
    unweighed: list[str] = field(default_factory=list)
    uncosted: list[str] = field(default_factory=list)

    @property
    def off(self) -> Measured:
        """What came off, in kg, above zero; only what has a mass is in it."""
        return total(self.came_off)

    @property
    def on(self) -> Measured:
        """What went on, in kg, likewise."""
        return total(self.went_on)

    @property
    def net(self) -> Measured:
        """What the car gained, in kg: below zero where it got lighter."""
        return total([*self.went_on, *(each.times(-1) for each in self.came_off)])

    @property
    def cost_per_kg(self) -> Fraction | None:
        """Cost of each kg that the car got lighter by; None where it did not."""
        net = self.net.value
        return self.cost / -net if net < 0 else None

    @property
    def hours_per_kg(self) -> Fraction | None:
        """Hours for each kg that the car got lighter by; None where it did not."""
        net = self.net.value
        return self.hours / -net if net < 0 else None


@dataclass(frozen=True, slots=True)
class Tally:
    """All rows of one build, and their sum. `currency` is None where no job states money."""

    by: By
    build: str
    rows: tuple[TallyRow, ...]
    total: TallyRow
    currency: str | None


class _Change(NamedTuple):
    """One difference from the outset, with the row that its mass falls in and the job that did it."""

    difference: Difference
    row: str
    job: str


def tally(ledger: Ledger, configuration: Configuration, by: By, *, depth: int = 1) -> Tally:
    """What the jobs of a build took off and put on. `depth` is how many levels of a kind's name make a row of it.

    A job's cost and hours stand in the row that everything it changed falls in. Where that is more than one row, they
    cannot be told apart: they have a row of their own, as have those of jobs that changed no mass.
    """
    sorter = _Sorter(ledger, configuration, by, depth)
    rows = {row.id: row for row in sorter.rows()}
    changes = [sorter.change(each) for each in sorter.differences]
    of_job: dict[str, set[str]] = {}
    for change in changes:
        _count(change.difference, _row(rows, change.row))
        of_job.setdefault(change.job, set()).add(change.row)
    whole = TallyRow("total", "Total")
    for change in changes:
        _count(change.difference, whole)
    for job_id in configuration.jobs:
        job = ledger.inventory.jobs[job_id]
        money = [(1, job.cost), (-1, job.returns)]
        cost = sum((sign * each.value for sign, each in money if each is not None), Fraction(0))
        for row in (_row(rows, sorter.row_of_job(job_id, of_job.get(job_id, set()))), whole):
            row.cost += cost
            row.hours += job.hours
            if job.cost is None:
                row.uncosted.append(job_id)
    currencies = (each.unit for job in ledger.car.job for each in (job.cost, job.returns) if each is not None)
    return Tally(by, configuration.name, tuple(sorter.in_order(rows)), whole, next(currencies, None))


def _row(rows: dict[str, TallyRow], row_id: str) -> TallyRow:
    return rows.setdefault(row_id, TallyRow(row_id))


def _count(change: Difference, row: TallyRow) -> None:
    off = change.off.mass if change.off is not None else None
    on = change.on.mass if change.on is not None else None
    if (change.off is not None and off is None) or (change.on is not None and on is None):
        row.unweighed.append(change.id)
        return
    if off is not None and on is not None:
        lighter = total([off, on.times(-1)])
        off, on = (lighter, None) if lighter.value >= 0 else (None, lighter.times(-1))
    if off is not None:
        row.came_off.append(off)
    if on is not None:
        row.went_on.append(on)


class _Sorter:
    """Says in which row each difference and each job of a build stands."""

    def __init__(self, ledger: Ledger, configuration: Configuration, by: By, depth: int) -> None:
        self.ledger = ledger
        self.configuration = configuration
        self.by = by
        self.depth = depth
        outset = ledger.inventory.configuration(())
        self.differences = [each for each in differences(ledger, outset, configuration) if not _only_moved(each)]
        self._jobs = _last_to_touch(ledger, configuration)

    def rows(self) -> Iterable[TallyRow]:
        """The rows that are there whether or not anything falls in them."""
        if self.by == "zone":
            return [TallyRow(zone.id, zone.title) for zone in self.ledger.car.zone]
        if self.by == "job":
            return [TallyRow(job, self.ledger.inventory.jobs[job].title) for job in self.configuration.jobs]
        return []

    def in_order(self, rows: dict[str, TallyRow]) -> list[TallyRow]:
        """By zone and job as the file and the work have them, kinds and months by name; what is beside them last."""
        beside = (NO_ZONE, NO_PLACE, NO_DATE, SEVERAL, NO_PART)
        named = [row for row in rows.values() if row.id not in beside]
        if self.by in ("kind", "month"):
            named.sort(key=lambda row: row.id)
        return [*named, *(rows[each] for each in beside if each in rows)]

    def change(self, difference: Difference) -> _Change:
        job = self._jobs[difference.id]
        if self.by == "job":
            return _Change(difference, job, job)
        if self.by == "month":
            return _Change(difference, self._month(job), job)
        if self.by == "kind":
            kind = self.ledger.inventory.parts[difference.id].kind if difference.is_part else difference.id
            return _Change(difference, ".".join(kind.split(".")[: self.depth]), job)
        return _Change(difference, self._zone(difference), job)

    def row_of_job(self, job_id: str, rows: set[str]) -> str:
        """Where its cost and hours stand, given the rows that its changes fall in."""
        if self.by == "job":
            return job_id
        if self.by == "month":
            return self._month(job_id)
        return next(iter(rows)) if len(rows) == 1 else SEVERAL if rows else NO_PART

    def _month(self, job_id: str) -> str:
        date = self.ledger.inventory.jobs[job_id].date
        return NO_DATE if date is None else f"{date:%Y-%m}"

    def _zone(self, difference: Difference) -> str:
        load = difference.on or difference.off
        assert load is not None
        if load.place.at is None:
            return NO_PLACE
        for zone in self.ledger.car.zone:
            if zone.from_.value <= load.place.at < zone.to.value:
                return zone.id
        return NO_ZONE


def _only_moved(difference: Difference) -> bool:
    return difference.off is not None and difference.on is not None and difference.off.mass is difference.on.mass


def _last_to_touch(ledger: Ledger, configuration: Configuration) -> dict[str, str]:
    """For each part, and each kind that a part replaced, the job of the build that left it as it is."""
    inventory = ledger.inventory
    parts = inventory.parts
    found: dict[str, str] = {}
    for job_id in configuration.jobs:
        job = inventory.jobs[job_id]
        replaced = [parts[fitted].replaces for fitted in job.fit]
        for name in (*job.off, *job.fit, *job.lightens, *replaced):
            if name is not None:
                found[name] = job_id
    order = {job_id: place for place, job_id in enumerate(configuration.jobs)}
    for part_id in parts:
        if part_id not in found or (part_id in configuration.on) == (part_id in inventory.outset):
            continue
        kind = _replaced_at_the_bottom(part_id, ledger)
        if kind is not None and order[found.get(kind, found[part_id])] <= order[found[part_id]]:
            found[kind] = found[part_id]
    return found


def _replaced_at_the_bottom(part_id: str, ledger: Ledger) -> str | None:
    """The kind without a part of its own that a part, or one that it replaced, took the place of."""
    parts = ledger.inventory.parts
    below = parts[part_id].replaces
    while below in parts:
        below = parts[below].replaces
    return below


class Progress(NamedTuple):
    """A build on its way: the car alone, nobody aboard, with the fuel of the inspection; masses in kg.

    Attributes:
        outset: before any job; unknown where a job changed a part without a mass.
        goal: the builder's own target; `listed` the kerb mass that the facts state. None where not stated.
    """

    outset: MassAnswer
    here: MassAnswer
    goal: Fraction | None
    listed: Fraction | None

    @property
    def to_go(self) -> Measured | None:
        """What is still over the goal; below zero beyond it."""
        if self.here.mass is None or self.goal is None:
            return None
        return total([self.here.mass, Measured(-self.goal, {})])

    @property
    def share_done(self) -> float | None:
        """How much of the way from the outset to the goal is done: 1 at the goal. None for a goal above the outset."""
        if self.outset.mass is None or self.here.mass is None or self.goal is None:
            return None
        way = self.outset.mass.value - self.goal
        return float((self.outset.mass.value - self.here.mass.value) / way) if way > 0 else None

    @property
    def over_listed(self) -> Measured | None:
        """What the car weighs more than its listed kerb mass; below zero where it is lighter."""
        if self.here.mass is None or self.listed is None:
            return None
        return total([self.here.mass, Measured(-self.listed, {})])


def progress_of(ledger: Ledger, configuration: Configuration) -> Progress:
    """How far a build has come from the outset to the goal, and beside the listed kerb mass."""
    car, alone = ledger.car, Weighed()
    stated = car.facts.get("kerb_mass")
    listed = None if stated is None else read_value(stated, BUILTIN["kerb_mass"], car.units.as_dict())
    return Progress(
        ledger.mass(ledger.inventory.configuration(()), alone),
        ledger.mass(configuration, alone),
        car.car.goal.mass.value if car.car.goal is not None else None,
        listed if isinstance(listed, Fraction) else None,
    )
