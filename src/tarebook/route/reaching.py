"""What can be reached in one class with the jobs of the car file: eligible, at the minimum, as light as may be."""

import datetime
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.findings import Row
from tarebook.judge.judging import CONFIDENCE, judge
from tarebook.judge.prepared import PreparedClass
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.kinds import Kind
from tarebook.route.clauses import is_open, open_demand
from tarebook.route.demands import Demands
from tarebook.route.explaining import LeftAside, left_aside
from tarebook.route.planning import CHEAPEST, LIGHTEST, NEAR, Plan, but_target, every, lightest_plan, settled
from tarebook.route.probes import Probes
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp
from tarebook.route.taking_off import is_unpriced
from tarebook.route.workshop import Plate, Workshop

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
        over_minimum_kg: its least margin over a minimum of the class, at the worst that this can be; None without one.
        hangs_on: what is not known on which it hangs where limits lie.
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
    hangs_on: tuple[str, ...] = ()


class Perhaps(NamedTuple):
    """A build that is eligible but for what is not known.

    Attributes:
        jobs: the jobs to do, in the order in which they act; `undo` those to undo.
        facts: what the judge's verdict on it hangs on.
        reasons: what else is not known, such as a mass, each told once.
        may_open: each that by itself may open the class by being known, as other open clauses do not stand in its way.
    """

    jobs: tuple[str, ...]
    undo: tuple[str, ...]
    facts: tuple[str, ...]
    reasons: tuple[str, ...]
    may_open: frozenset[str]


class Reaches(NamedTuple):
    """What can be reached; None for what cannot.

    Attributes:
        eligible: for the least cost, then hours, then jobs; nothing to do for a car that is eligible now.
        at_minimum: for the least cost at the class's minimum with its guard margin, within the budget.
        barest: the jobs that leave the least car, to within `NEAR` and the budget, and the ballast that it then owes.
        lightest: the lightest legal build within the budget, ballast and all.
        by_undoing: for the least cost where nothing but undoing done jobs makes the car eligible.
        perhaps: where nothing makes it eligible for sure, done jobs kept, what might; None where the class is shut
            whatever is still unknown. `perhaps_undone` likewise with undoing, where that opens nothing for sure either,
            or where less would have to be undone than by `by_undoing`.
        left_aside: jobs that the lightest build could not have, as a mass would not be known with them.
        in_time: False where the search came to no end in its time, and None may mean just that.
    """

    eligible: Reach | None = None
    at_minimum: Reach | None = None
    barest: Reach | None = None
    lightest: Reach | None = None
    by_undoing: Reach | None = None
    perhaps: Perhaps | None = None
    perhaps_undone: Perhaps | None = None
    left_aside: tuple[LeftAside, ...] = ()
    in_time: bool = True

    @property
    def hangs_on(self) -> frozenset[str]:
        """What limits of the builds hang on that is not known: with it, the figures would be others."""
        ways = (self.eligible, self.at_minimum, self.lightest, self.barest, self.by_undoing)
        return frozenset(fact for way in ways if way is not None for fact in way.hangs_on)

    @property
    def shut(self) -> bool:
        """Whether the class is shut, done jobs undone or not, whatever is still unknown."""
        ways = (self.eligible, self.by_undoing, self.perhaps, self.perhaps_undone)
        return self.in_time and all(way is None for way in ways)


def find_reaches(asked: Asked, now: Row) -> Reaches:
    """What can be reached in a class, `now` being the judge's answer for the jobs done; undoing is left aside.

    Raises Disagreement where the judge does not accept what the search found.
    """
    if any(finding.form == "class" for finding in now.urgent):
        return Reaches(in_time=False)  # too many cases of what is unknown for one build: let alone for all of them
    workshop = _workshop(asked, Demands(budget=asked.budget, confidence=asked.confidence))
    over = asked.budget is not None and asked.budget < 0
    nothing = Reach((), 0.0, 0.0, beyond_budget=over) if now.verdict == "eligible" else None
    probes = Probes(workshop)
    if nothing is None and probes.is_barred():
        return Reaches()
    try:
        search = Search(workshop, SECONDS, probes)
        eligible = nothing or _eligible(search, asked)
        if eligible is None:
            return Reaches(perhaps=_perhaps(search, None))
    except TimeUp:
        return Reaches(in_time=False)
    found = Reaches(eligible)
    try:
        if search.near:
            found = found._replace(at_minimum=_reach(settled(search, search.best(CHEAPEST, every), True), asked))
        lightest = _lightest(search, asked, found.at_minimum)
        aside = () if lightest is None else tuple(left_aside(search, frozenset(lightest.jobs)))
        found = found._replace(lightest=lightest, left_aside=aside)
        found = found._replace(
            barest=_reach(settled(search, search.best(BAREST, but_target, within=NEAR), None), asked)
        )
    except TimeUp:
        return found._replace(in_time=False)
    return found


def find_undoing(asked: Asked) -> tuple[Reach | None, Perhaps | None]:
    """The cheapest way to be eligible if done jobs may be undone too, whatever the budget; and what might be one.

    The latter is told where there is no way for sure, or where less would have to be undone. Raises Disagreement.
    """
    workshop = _workshop(asked, Demands(undo=True, confidence=asked.confidence))
    probes = Probes(workshop)
    if probes.is_barred():
        return None, None
    try:
        search = Search(workshop, SECONDS, probes)
        found = _eligible(search, asked)
        perhaps = _perhaps(search, found)
        if found is not None and perhaps is not None:
            told = perhaps.facts or perhaps.reasons
            perhaps = perhaps if told and len(perhaps.undo) < len(found.undo) else None
        return found, perhaps
    except TimeUp:
        return None, None


def _workshop(asked: Asked, demands: Demands) -> Workshop:
    return Workshop(asked.car, asked.prepared, asked.adopted, asked.on, demands)


def _lightest(search: Search, asked: Asked, at_minimum: Reach | None) -> Reach | None:
    """The lightest build; near a minimum to within `NEAR`, and then the cheapest that is found there.

    Builds at a minimum differ by grams, as their uncertainty does: what is at it for the least cost is light enough.
    """
    if at_minimum is None or at_minimum.mass_kg is None:
        return _reach(lightest_plan(search), asked)
    lighter = search.lighter(at_minimum.mass_kg - NEAR)
    found = search.best(LIGHTEST, but_target, [lighter], within=NEAR)
    return at_minimum if found is None else _reach(settled(search, found, None), asked)


def _what_is_missing(search: Search, chosen: frozenset[str], situation: Situation, row: Row) -> tuple[str, ...]:
    """What beside facts is not known: masses, each told once whatever limits they are missing in; then the rest."""
    view = View(situation, search.workshop.prepared.counts, {})
    applying = [watch for watch in search.watches if watch.edge(watch.state(chosen)) is not None]
    answers = [watch.question.mass(view) for watch in applying]
    missing = [each.sentence for answer in answers if answer is not None for each in answer.missing if not each.fact]
    open_otherwise = [
        each.sentence for each in row.urgent if each.result == "undecided" and not each.unknown and each.form != "limit"
    ]
    return tuple(dict.fromkeys((*missing, *open_otherwise)))


def _may_open(search: Search) -> frozenset[str]:
    """What limits read, and what open clauses hang on if some choice breaks none but these."""
    read = {
        name for watch in search.watches for name in (*watch.reads.facts, *(kind for _, kind in watch.reads.events))
    }
    told = {fact for breaches in search.told.values() for breach in breaches for fact in breach.facts}

    def opens(name: str) -> bool:
        def holds(demand: str) -> bool:
            if is_open(demand):
                return not any(name in breach.facts for breach in search.told.get(demand, ()))
            return demand not in ("target", "budget")

        return search.best(("changes",), holds) is not None

    return frozenset(read | {name for name in told - read if opens(name)})


def _perhaps(search: Search, known: Reach | None) -> Perhaps | None:
    """A build against which nothing stands for sure; None where something stands against every one.

    Of those the one for the least cost, or where one is known that is eligible, the one that changes least.
    """
    stages = ("cost", "changes") if known is None else ("changes", "cost")
    found = search.best(stages, lambda demand: demand not in ("target", "budget") and not is_open(demand))
    if found is None:
        return None
    workshop = search.workshop
    situation = workshop.loaded(found.chosen, Plate(found.load.mass))
    row = judge(workshop.prepared, situation, confidence=search.demands.confidence)
    jobs = found.chosen - {workshop.ballast_job}
    return Perhaps(
        jobs=tuple(job for job in workshop.free if job in jobs - workshop.resting),
        undo=tuple(job for job in workshop.free if job in workshop.resting - jobs),
        facts=row.facts_to_find,
        reasons=_what_is_missing(search, found.chosen, situation, row),
        may_open=_may_open(search),
    )


def _eligible(search: Search, asked: Asked) -> Reach | None:
    """The cheapest eligible build, whatever the budget."""
    found = search.best(FEWEST, lambda demand: demand not in ("target", "budget", open_demand("")))
    return _reach(settled(search, found, None), asked)


def _reach(plan: Plan | None, asked: Asked) -> Reach | None:
    if plan is None:
        return None
    margins = [limit.margin_kg for limit in plan.row.limits if limit.which == "minimum" and limit.margin_kg is not None]
    margins += [float(each.margin) for each in plan.at_worst if each.which == "minimum"]
    return Reach(
        jobs=plan.chosen,
        cost=float(plan.cost),
        hours=float(plan.hours),
        mass_kg=None if plan.total is None else float(plan.total),
        over_minimum_kg=min(margins, default=None),
        ballast_kg=float(plan.load.mass),
        ballast_at_mm=None if plan.at is None else float(plan.at),
        undo=plan.undone,
        unpriced=tuple(job for job in plan.chosen if is_unpriced(asked.car.inventory.jobs[job])),
        proven=plan.proven,
        beyond_budget=asked.budget is not None and plan.cost > asked.budget,
        hangs_on=tuple(sorted({fact for each in plan.at_worst for fact in each.facts})),
    )
