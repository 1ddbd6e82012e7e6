"""What can be reached in one class with the jobs of the car file: eligible, at the minimum, as light as may be."""

import datetime
from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.findings import Row
from tarebook.judge.judging import CONFIDENCE
from tarebook.judge.prepared import PreparedClass
from tarebook.kinds import Kind
from tarebook.route.demands import Demands
from tarebook.route.planning import CHEAPEST, Plan, but_target, every, lightest_plan, settled
from tarebook.route.probes import Breach, Probes
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp
from tarebook.route.taking_off import is_unpriced
from tarebook.route.touching import Touching
from tarebook.route.workshop import Workshop

FEWEST = ("cost", "hours", "changes", "mass")
BAREST = ("mass", "cost", "hours", "changes")  # as weighed without the ballast that the build then owes
SECONDS = 10.0  # that the search of one class may take


class Asked(NamedTuple):
    """A car before one class, on a day; `adopted` are kinds that other books declare. `budget` in the car's money."""

    car: Car
    prepared: PreparedClass
    adopted: tuple[Kind, ...]
    on: datetime.date
    confidence: float = CONFIDENCE
    budget: Fraction | None = None


class Reach(NamedTuple):
    """A build that the judge finds eligible, and what leads to it.

    Attributes:
        jobs: the jobs to do, in the order in which they act; `undo` those to undo.
        cost: cost less returns, in the car's money; `unpriced` names the jobs that state neither and count nothing.
        mass_kg: as the class weighs it, with the ballast; None where that was not asked.
        over_minimum_kg: its least margin over a minimum of the class; None without one, or where it hangs on what is
            not stated.
        ballast_kg: what to add; `ballast_at_mm` is a place for it behind the front axle, where that can be said.
        proven: whether nothing better is left.
        beyond_budget: whether it costs more than the budget.
    """

    jobs: tuple[str, ...]
    cost: float
    hours: float
    mass_kg: float | None = None
    over_minimum_kg: float | None = None
    ballast_kg: float = 0.0
    ballast_at_mm: float | None = None
    undo: tuple[str, ...] = ()
    unpriced: tuple[str, ...] = ()
    proven: bool = True
    beyond_budget: bool = False


class Reaches(NamedTuple):
    """What can be reached; None for what cannot.

    Attributes:
        eligible: for the least cost, then hours, then jobs; nothing to do for a car that is eligible now.
        at_minimum: for the least cost at the class's minimum with its guard margin, within the budget.
        barest: the jobs that leave the least car, within the budget, and the ballast that it then owes.
        lightest: the lightest legal build within the budget, ballast and all. Where the minimum is reached, the
            cheapest build at it: what that is over it is the margin that the uncertainty asks for.
        by_undoing: for the least cost where nothing but undoing done jobs makes the car eligible.
        in_time: False where the search came to no end in its time, and None may mean just that.
        whatever: True where the class stays shut to every choice of jobs, done ones kept, whatever is still unknown.
    """

    eligible: Reach | None = None
    at_minimum: Reach | None = None
    barest: Reach | None = None
    lightest: Reach | None = None
    by_undoing: Reach | None = None
    in_time: bool = True
    whatever: bool = False


def find_reaches(asked: Asked, now: Row) -> Reaches:
    """What can be reached in a class, `now` being the judge's answer for the jobs done; undoing is left aside.

    Raises Disagreement where the judge does not accept what the search found.
    """
    if any(finding.form == "class" for finding in now.urgent):
        return Reaches(in_time=False)  # too many cases of what is unknown for one build: let alone for all of them
    workshop = _workshop(asked, Demands(budget=asked.budget, confidence=asked.confidence))
    nothing = Reach((), 0.0, 0.0) if now.verdict == "eligible" else None
    barred = nothing is None and _is_barred(workshop)
    try:
        search = None if barred else Search(workshop, SECONDS)
        eligible = nothing if search is None or nothing is not None else _eligible(search, asked)
        if search is None or eligible is None:
            return Reaches(whatever=barred and _for_sure(workshop, now))
    except TimeUp:
        return Reaches(in_time=False)
    found = Reaches(eligible)
    try:
        if search.near:
            found = found._replace(at_minimum=_reach(settled(search, search.best(CHEAPEST, every), True), asked))
        lightest = found.at_minimum or _reach(lightest_plan(search), asked)
        found = found._replace(lightest=lightest)
        found = found._replace(barest=_reach(settled(search, search.best(BAREST, but_target), None), asked))
    except TimeUp:
        return found._replace(in_time=False)
    return found


def _workshop(asked: Asked, demands: Demands) -> Workshop:
    return Workshop(asked.car, asked.prepared, asked.adopted, asked.on, demands)


def find_undoing(asked: Asked) -> Reach | None:
    """The cheapest way to be eligible if done jobs may be undone too, whatever the budget. Raises Disagreement."""
    workshop = _workshop(asked, Demands(undo=True, confidence=asked.confidence))
    try:
        return None if _is_barred(workshop) else _eligible(Search(workshop, SECONDS), asked)
    except TimeUp:
        return None


def _is_barred(workshop: Workshop) -> bool:
    """Whether something is wrong, or open, that no job makes a difference to: then nothing need be searched."""
    return any(_unchanging(workshop))


def _for_sure(workshop: Workshop, now: Row) -> bool:
    """Whether that is so whatever is still unknown: the judge calls it a violation as the car stands."""
    certain = {finding.sentence for finding in now.urgent if finding.result in ("violation", "owed")}
    return any(breach.sentence in certain for breaches in _unchanging(workshop) for breach in breaches)


def _unchanging(workshop: Workshop) -> Iterator[frozenset[Breach]]:
    """What is wrong with the car as it stands, by each question that hangs on no job."""
    situation = workshop.situation(workshop.resting)
    for probe in Probes(workshop, Touching(workshop)).all():
        if not probe.jobs:
            yield probe.answer(situation)


def _eligible(search: Search, asked: Asked) -> Reach | None:
    """The cheapest eligible build, whatever the budget."""
    found = search.best(FEWEST, lambda demand: demand not in ("target", "budget"))
    return _reach(settled(search, found, None), asked)


def _reach(plan: Plan | None, asked: Asked) -> Reach | None:
    if plan is None:
        return None
    margins = [limit.margin_kg for limit in plan.row.limits if limit.which == "minimum" and limit.margin_kg is not None]
    return Reach(
        jobs=plan.chosen,
        cost=float(plan.cost),
        hours=float(plan.hours),
        mass_kg=float(plan.total),
        over_minimum_kg=min(margins, default=None),
        ballast_kg=float(plan.load.mass),
        ballast_at_mm=None if plan.at is None else float(plan.at),
        undo=plan.undone,
        unpriced=tuple(job for job in plan.chosen if is_unpriced(asked.car.inventory.jobs[job])),
        proven=plan.proven,
        beyond_budget=asked.budget is not None and plan.cost > asked.budget,
    )
