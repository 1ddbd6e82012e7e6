"""What a part or a job does to the balance: how much it puts on each axle, or takes off it.

A part behind the rear axle loads the rear with more than its mass and lifts the front: taking it out loads the front.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import Literal, NamedTuple

from tarebook.car.configurations import Configuration
from tarebook.weight.balance import Balance
from tarebook.weight.differences import Difference, Load, differences
from tarebook.weight.ledger import Ledger
from tarebook.weight.measured import Measured, total
from tarebook.weight.terms import NO_WHEELBASE, Missing


class Effect(NamedTuple):
    """What taking off or fitting one part, or one job, does.

    Attributes:
        does: "off" and "on" of a part; "did" of a job that the build has, "would" of one that it has not.
        mass: what comes to the car, in kg, below zero for what leaves it; `front` and `rear` likewise, by axle.
        share_change: by how much the front share of the build changes, "did" counting from the build without the job.
        missing: why `front` and `rear`, or the mass too, cannot be said.
    """

    what: Literal["part", "job"]
    id: str
    does: Literal["off", "on", "did", "would"]
    mass: Measured | None
    front: Measured | None
    rear: Measured | None
    share_change: float | None
    missing: tuple[Missing, ...] = ()


def effects_of_parts(ledger: Ledger, configuration: Configuration, balance: Balance) -> list[Effect]:
    """What taking off each part on the car, and fitting each part off it, does; none for a part that is gone."""
    found = []
    for part_id, part in ledger.inventory.parts.items():
        on = part_id in configuration.on
        if part.gone and not on:
            continue
        load = Load(
            ledger.part_mass(part_id, configuration.lightened.get(part_id)), ledger.place(part_id, configuration)
        )
        change = Difference(part_id, load, None) if on else Difference(part_id, None, load)
        found.append(_effect("part", part_id, "off" if on else "on", [change], balance))
    return found


def effects_of_jobs(ledger: Ledger, configuration: Configuration, balance: Balance) -> list[Effect]:
    """What each job does: one of the build, to the state before it; any other, to the build and what the job needs."""
    inventory = ledger.inventory
    found = []
    for job_id in inventory.order:
        if job_id in configuration.jobs:
            before = set(configuration.jobs[: configuration.jobs.index(job_id)])
        else:
            before = _with_needs(job_id, set(configuration.jobs), ledger)
        changes = differences(ledger, inventory.configuration(before), inventory.configuration(before | {job_id}))
        if changes:
            does: Literal["did", "would"] = "did" if job_id in configuration.jobs else "would"
            found.append(_effect("job", job_id, does, changes, balance))
    return found


def _with_needs(job_id: str, jobs: set[str], ledger: Ledger) -> set[str]:
    waiting = list(ledger.inventory.jobs[job_id].needs)
    while waiting:
        needed = waiting.pop()
        if needed not in jobs:
            jobs.add(needed)
            waiting.extend(ledger.inventory.jobs[needed].needs)
    return jobs


def _effect(
    what: Literal["part", "job"],
    name: str,
    does: Literal["off", "on", "did", "would"],
    changes: Iterable[Difference],
    balance: Balance,
) -> Effect:
    lacking: dict[Missing, None] = {}
    masses: list[Measured] = []
    rears: list[Measured] = []
    for change in changes:
        for load, sign in ((change.off, -1), (change.on, 1)):
            if load is None:
                continue
            if load.mass is None:
                lacking[Missing(f'part "{change.id}" was never weighed')] = None
                continue
            masses.append(load.mass.times(sign))
            if balance.wheelbase is None:
                lacking[NO_WHEELBASE] = None
            elif load.place.at is None:
                lacking[Missing(f"it is not said where {change.id} sits")] = None
            else:
                rears.append(load.mass.times(sign * load.place.at / balance.wheelbase))
    unweighed = any(load is not None and load.mass is None for change in changes for load in (change.off, change.on))
    mass = None if unweighed else total(masses)
    if lacking or mass is None:
        return Effect(what, name, does, mass, None, None, None, tuple(lacking))
    rear = total(rears)
    front = total([mass, rear.times(-1)])
    return Effect(what, name, does, mass, front, rear, _share_change(front, mass, balance, done=does == "did"))


def _share_change(front: Measured, mass: Measured, balance: Balance, *, done: bool) -> float | None:
    if balance.front is None or balance.total is None or balance.total.value <= 0:
        return None
    sign = -1 if done else 1
    other = balance.total.value + sign * mass.value
    if other <= 0:
        return None
    change: Fraction = (balance.front.value + sign * front.value) / other - balance.front.value / balance.total.value
    return float(sign * change)
