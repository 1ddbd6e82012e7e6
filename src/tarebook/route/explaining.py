"""A route in working order: what each job does to mass, margin, money and time, and what to take care of."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.models import Job
from tarebook.judge.judging import judge
from tarebook.judge.wording import listed, part_title
from tarebook.route.ballast import places_for
from tarebook.route.clauses import Breach, open_demand
from tarebook.route.figures import Room
from tarebook.route.planning import CHEAPEST, Plan, lightest_stages
from tarebook.route.search import Holds, Search
from tarebook.route.solving import TimeUp
from tarebook.route.taking_off import is_unpriced, net_cost
from tarebook.route.workshop import Plate, Workshop

BINDING = 1.0  # seconds, for what binds
MOST_REASONS = 2
WRONG = ("violation", "owed", "undecided", "too-close")


@dataclass(frozen=True, slots=True)
class Step:
    """One job of a route.

    Attributes:
        undo: whether a done job is undone; that costs and returns nothing.
        unpriced: it states neither cost nor returns, and counts nothing.
        saves: what the car is lighter by, in kg; `mass` and `margin` stand after it. None where that is unknown.
        margin: the least margin of the class's minima, ballast left aside; None where there is none.
        closest: the limit that leaves the least room then, whichever it is; None where none is known.
        reason: of a job that saves nothing, why it is among the others; "" where that is plain.
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
    closest: Room | None
    reason: str
    cautions: tuple[str, ...]
    parts: tuple[str, ...]


class LeftAside(NamedTuple):
    """A job that was not weighed up, as a mass is not known with it; `sentence` says which."""

    job: str
    sentence: str


def steps_of(search: Search, plan: Plan) -> list[Step]:
    """The jobs of a plan: what others need first, then what takes off the most mass for the least money.

    A job counts together with those that must come before it: paint that a bare floor needs is done when the floor's
    turn has come.
    """
    workshop = search.workshop
    done = frozenset(workshop.resting)
    found: list[Step] = []
    for job_id in reversed(plan.undone):
        after = done - {job_id}
        found.append(_step(search, plan, job_id, done, after, undo=True))
        done = after
    first = _what_comes_before(workshop, plan.chosen)
    waiting = sorted(plan.chosen, key=lambda job: len(first[job]))  # so that what comes before one is before it
    while waiting:
        together = [[*(each for each in waiting if each in first[job]), job] for job in waiting]
        for job_id in min(together, key=lambda jobs: (_dearness(search, frozenset(jobs), done), len(jobs))):
            found.append(_step(search, plan, job_id, done, done | {job_id}, undo=False))
            done |= {job_id}
            waiting.remove(job_id)
    return found


def _what_comes_before(workshop: Workshop, chosen: Sequence[str]) -> dict[str, set[str]]:
    """For each job, all others that have to come first."""
    mine = {job: [other for other in chosen if other != job and _comes_before(workshop, other, job)] for job in chosen}
    found: dict[str, set[str]] = {}
    for job in chosen:
        found[job], added = set(mine[job]), list(mine[job])
        while added:
            more = [other for other in mine[added.pop()] if other not in found[job]]
            found[job].update(more)
            added += more
    return found


def _comes_before(workshop: Workshop, other: str, job_id: str) -> bool:
    """Whether a job has to come before one: it is needed, or acts before it on the same part."""
    inventory = workshop.inventory
    place = workshop.places_in_order
    job = inventory.jobs[job_id]
    if other in job.needs:
        return True
    return place[other] < place[job_id] and bool(_touched(workshop, job) & _touched(workshop, inventory.jobs[other]))


def _touched(workshop: Workshop, job: Job) -> set[str]:
    parts = workshop.inventory.parts
    found = {*job.off, *job.fit, *job.lightens, *job.moves}
    return found | {parts[part].replaces or "" for part in job.fit} - {""}


def _dearness(search: Search, jobs: frozenset[str], done: frozenset[str]) -> tuple[int, Fraction, Fraction]:
    """The lower, the earlier: of jobs that cost nothing, together, what saves most; then what saves most for the money;
    last what saves nothing. Of those alike, the quickest."""
    made = [search.workshop.inventory.jobs[job] for job in jobs]
    cost, hours = sum(map(net_cost, made), Fraction(0)), sum((job.hours for job in made), Fraction(0))
    saved = search.weight.saved_by(jobs, done)
    if saved is None or saved <= 0:
        return 2, Fraction(0), hours
    return (0, -saved, hours) if cost <= 0 else (1, cost / saved, hours)


def _step(
    search: Search, plan: Plan, job_id: str, before: frozenset[str], after: frozenset[str], *, undo: bool
) -> Step:
    workshop = search.workshop
    inventory, tree = workshop.inventory, workshop.before.presence.tree
    job = inventory.jobs[job_id]
    was, now = search.mass_of(before), search.mass_of(after)
    saves = was - now if was is not None and now is not None else None
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
        saves=saves,
        mass=now,
        margin=search.margin_of(after),
        closest=search.closest_of(after),
        reason="" if saves is not None and saves > 0 else _reason(search, plan, job_id, undo=undo),
        cautions=tuple(cautions),
        parts=tuple(part_title(part, inventory) for part in parts),
    )


def _reason(search: Search, plan: Plan, job_id: str, *, undo: bool) -> str:
    """Why a plan has a job that makes the car no lighter: what would be wrong without it."""
    workshop = search.workshop
    jobs = workshop.inventory.jobs
    if job_id in search.demands.must:
        return "as you asked"
    needing = [] if undo else [other for other in plan.chosen if job_id in jobs[other].needs]
    found = [f"needed by {listed(needing)}"] if needing else []
    dependent = {other for other in plan.chosen if job_id in workshop.with_needs(other)} - {job_id}
    without = (plan.jobs ^ {job_id}) - (frozenset() if undo else dependent)
    situation = workshop.loaded(*_with_its_own_ballast(search, plan, without))
    if situation.configuration.problems:
        return "; ".join([*found, situation.configuration.problems[0].sentence])
    row = judge(workshop.prepared, situation, confidence=search.demands.confidence)
    # A job that others need is there for their sake; beside that, only what rules ask is worth a word.
    wrong = [each for each in row.urgent if each.result in WRONG and not (needing and each.form == "limit")]
    told = dict.fromkeys(f"without it, clause {each.clause}: {each.sentence}" for each in wrong)
    found += list(told)[:MOST_REASONS]
    if not found and plan.reached and not search.is_on_target(without):
        found.append("without it, the target is not reached")
    elif not found and (search.over_target(without) or 0) > (search.over_target(plan.jobs) or 0):
        found.append("without it, the car stays further over the target")
    elif not found and not undo and net_cost(jobs[job_id]) < 0:
        found.append("it brings in money")
    return "; ".join(each.removesuffix(".") for each in found)


def _with_its_own_ballast(search: Search, plan: Plan, jobs: frozenset[str]) -> tuple[frozenset[str], Plate]:
    """Jobs with the ballast that they need, so that none is missed which more ballast makes up for; else the plan's."""
    workshop = search.workshop
    load = search.load_for(jobs)
    if load is None:
        return jobs, Plate(plan.load.mass, plan.at, plan.pieces)
    jobs = (jobs | {workshop.ballast_job}) if load.mass else jobs - {workshop.ballast_job}
    at = places_for(load, search.amounts.ledger.wheelbase(workshop.configuration(jobs)))[0]
    return jobs, Plate(load.mass, at, workshop.pieces(workshop.stay | jobs, load.mass, at) if load.mass else 1)


def left_aside(search: Search, chosen: frozenset[str]) -> list[LeftAside]:
    """The jobs that a choice has not, and could not have: with them, a mass would not be known."""
    found = []
    lacking = _unknown(search, chosen)
    for job_id in search.new:
        if job_id in chosen or job_id in search.demands.forbid:
            continue
        with_it = chosen | search.workshop.with_needs(job_id)
        unknown = sorted(_unknown(search, with_it) - lacking)
        if unknown:
            found.append(LeftAside(job_id, unknown[0].sentence))
    return found


def _unknown(search: Search, chosen: frozenset[str]) -> frozenset[Breach]:
    """Why masses are not known after a choice of jobs."""
    asked = (search.tables.ask(probe, tuple(job in chosen for job in probe.jobs)) for probe in search.weighings)
    nothing: frozenset[Breach] = frozenset()
    return nothing.union(*asked)


def _without(demand: str) -> set[str]:
    """A demand, and for a limit what it asks at its worst."""
    sort, _, name = demand.partition(" ")
    return {demand, open_demand(name.partition(" ")[0])} if sort == "limit" else {demand}


def _all_but(aside: set[str]) -> Holds:
    return lambda demand: demand not in aside


def binding(search: Search, plan: Plan) -> list[str]:
    """The demands without any one of which a better build could be had: cheaper, or lighter if that is what counts.

    Rules of the class are left out of this: only limits, and what was asked for. Nothing where time runs out.
    """
    stages = CHEAPEST if plan.cheapest else lightest_stages(search)
    now = search.value(stages[0], plan.jobs, plan.load)
    asked = {row.demand for row in search.program.rows if row.demand and not row.demand.startswith(("rule ", "open "))}
    if not plan.cheapest:
        asked -= {"target"}
    found = []
    search.hurry(BINDING)
    for demand in sorted(asked):
        try:
            other = search.best(
                stages[:1], _all_but(_without(demand) if plan.cheapest else {*_without(demand), "target"})
            )
        except TimeUp:
            return []
        slack = Fraction(1, 1000) if stages[0] == "total" else Fraction(0)
        if other is not None and other.values[0] < now - slack:
            found.append(demand)
    return found
