"""A route in working order: what each job does to mass, margin, money and time, and what to take care of."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from tarebook.car.models import Job
from tarebook.judge.wording import part_title
from tarebook.route.planning import CHEAPEST, Plan, lightest_stages
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp
from tarebook.route.taking_off import is_unpriced, net_cost
from tarebook.route.workshop import Workshop

BINDING = 1.0  # seconds, for what binds


@dataclass(frozen=True, slots=True)
class Step:
    """One job of a route.

    Attributes:
        undo: whether a done job is undone; that costs and returns nothing.
        unpriced: it states neither cost nor returns, and counts nothing.
        saves: what the car is lighter by, in kg; `mass` and `margin` stand after it. None where that is unknown.
        margin: the least margin of the class's minima, ballast left aside; None where there is none.
        cautions: of the kinds that it touches, whole sentences.
        parts: titles of the parts that it touches.
    """

    job: str
    title: str
    undo: bool
    cost: Fraction
    unpriced: bool
    hours: Fraction
    saves: Fraction | None
    mass: Fraction | None
    margin: Fraction | None
    cautions: tuple[str, ...]
    parts: tuple[str, ...]


def steps_of(search: Search, plan: Plan) -> list[Step]:
    """The jobs of a plan: what others need first, then what takes off the most mass for the least money."""
    workshop = search.workshop
    done = frozenset(workshop.resting)
    found: list[Step] = []
    for job_id in reversed(plan.undone):
        after = done - {job_id}
        found.append(_step(search, job_id, done, after, undo=True))
        done = after
    waiting = list(plan.chosen)
    while waiting:
        ready = [job for job in waiting if not _before(workshop, job, waiting)]
        job_id = min(ready or waiting, key=lambda job: (_dearness(search, job, done), plan.chosen.index(job)))
        found.append(_step(search, job_id, done, done | {job_id}, undo=False))
        done |= {job_id}
        waiting.remove(job_id)
    return found


def _before(workshop: Workshop, job_id: str, waiting: Iterable[str]) -> bool:
    """Whether another job has to come first: one that it needs, or one that acts before it on the same part."""
    inventory = workshop.inventory
    place = workshop.places_in_order
    mine = _touched(workshop, inventory.jobs[job_id])
    return any(
        other in inventory.jobs[job_id].needs
        or (place[other] < place[job_id] and mine & _touched(workshop, inventory.jobs[other]))
        for other in waiting
        if other != job_id
    )


def _touched(workshop: Workshop, job: Job) -> set[str]:
    parts = workshop.inventory.parts
    found = {*job.off, *job.fit, *job.lightens, *job.moves}
    return found | {parts[part].replaces or "" for part in job.fit} - {""}


def _dearness(search: Search, job_id: str, done: frozenset[str]) -> tuple[int, Fraction]:
    """The lower, the earlier: money for each kg that it saves; jobs that save nothing come last."""
    saves = search.weight.saved_by(job_id, done) or Fraction(0)
    if saves <= 0:
        return 1, Fraction(0)
    return 0, net_cost(search.workshop.inventory.jobs[job_id]) / saves


def _step(search: Search, job_id: str, before: frozenset[str], after: frozenset[str], *, undo: bool) -> Step:
    workshop = search.workshop
    inventory, tree = workshop.inventory, workshop.before.presence.tree
    job = inventory.jobs[job_id]
    was, now = search.mass_of(before), search.mass_of(after)
    touched = _touched(workshop, job)
    parts = [part for part in inventory.parts if part in touched]
    kinds = [inventory.parts[part].kind for part in parts]
    kinds += sorted(name for name in touched if name not in inventory.parts and name in tree)
    cautions = dict.fromkeys(caution for kind in kinds for caution in tree.get(kind).cautions)
    return Step(
        job=job_id,
        title=job.title or job_id,
        undo=undo,
        cost=Fraction(0) if undo else net_cost(job),
        unpriced=not undo and is_unpriced(job),
        hours=Fraction(0) if undo else job.hours,
        saves=was - now if was is not None and now is not None else None,
        mass=now,
        margin=search.margin_of(after),
        cautions=tuple(cautions),
        parts=tuple(part_title(part, inventory) for part in parts),
    )


def binding(search: Search, plan: Plan) -> list[str]:
    """The demands without any one of which a better build could be had: cheaper, or lighter if that is what counts.

    Rules of the class are left out of this: only limits, and what was asked for. Nothing where time runs out.
    """
    stages = CHEAPEST if plan.cheapest else lightest_stages(search)
    now = search.value(stages[0], plan.jobs, plan.load)
    asked = {row.demand for row in search.program.rows if row.demand and not row.demand.startswith("rule ")}
    if not plan.cheapest:
        asked -= {"target"}
    found = []
    search.hurry(BINDING)
    for demand in sorted(asked):
        try:
            other = search.best(
                stages[:1],
                lambda each, demand=demand: each != demand and (plan.cheapest or each != "target"),  # type: ignore[misc]
            )
        except TimeUp:
            return []
        slack = Fraction(1, 1000) if stages[0] == "total" else Fraction(0)
        if other is not None and other.values[0] < now - slack:
            found.append(demand)
    return found
