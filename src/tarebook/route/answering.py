"""The whole answer about a route: the plan with its steps, or why there is none, or all trade-offs."""

from contextlib import suppress
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from tarebook.route.conflicts import Conflict, Nearest, Undoing, find_conflict, least_cost, lightest_reachable, undoing
from tarebook.route.explaining import LeftAside, Step, binding, left_aside, steps_of
from tarebook.route.frontier import frontier
from tarebook.route.planning import Plan, first_plan
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp
from tarebook.route.workshop import Workshop

Outcome = Literal["proven", "not-proven", "impossible"]
SECONDS = 20.0
EXPLAINING = 10.0  # seconds, to say why there is no route


@dataclass(slots=True)
class Route:
    """A plan, its jobs as steps in working order, and the demands that bind."""

    plan: Plan
    steps: list[Step]
    binds: list[str] = field(default_factory=list)


@dataclass(slots=True)
class Answer:
    """What came of asking for a route.

    Attributes:
        outcome: "proven" where the route is the best there is; "not-proven" where time ran out, and `route` is the best
            that was found, if any was, or where there is none as far as is known, and `conflict` names what it hangs
            on; "impossible" where no choice of jobs will do, whatever is still unknown.
        conflict: where there is none, demands that cannot all be kept; `least_cost` is then what it takes at least, if
            it is the budget that conflicts, `nearest` the lightest build that can be reached all the same, or None;
            `undoing` tells whether undoing done jobs would help.
        points: all trade-offs of cost against mass, where those were asked for.
        left_aside: jobs that no route could have, as a mass would not be known with them.
    """

    outcome: Outcome
    search: Search
    route: Route | None = None
    conflict: Conflict | None = None
    least_cost: Fraction | None = None
    nearest: Nearest | None = None
    undoing: Undoing = "no help"
    points: list[Route] = field(default_factory=list)
    left_aside: list[LeftAside] = field(default_factory=list)


def answer(workshop: Workshop, *, trade_offs: bool = False, seconds: float = SECONDS) -> Answer:
    """The best route, or with `trade_offs` all of them; `seconds` is how long the solver may take in all.

    Raises Disagreement, a defect of ours, if the judge does not accept what was found.
    """
    search = Search(workshop, seconds)
    try:
        if trade_offs:
            points, whole = frontier(search)
            if points:
                outcome: Outcome = "proven" if whole else "not-proven"
                routes = [Route(point, steps_of(search, point)) for point in points]
                return Answer(outcome, search, points=routes, left_aside=left_aside(search, points[-1].jobs))
        else:
            plan = first_plan(search)
            if plan is not None:
                route = Route(plan, steps_of(search, plan), binding(search, plan))
                outcome = "proven" if plan.proven else "not-proven"
                return Answer(outcome, search, route, left_aside=left_aside(search, plan.jobs))
        return _impossible(search)
    except TimeUp:
        return Answer("not-proven", search)


def _impossible(search: Search) -> Answer:
    """Why; as far as the time allows."""
    search.grant(EXPLAINING)
    found = Answer("impossible", search)
    with suppress(TimeUp):
        found.conflict = find_conflict(search)
        if found.conflict.undecided:
            found.outcome = "not-proven"
        if "budget" in found.conflict.demands:
            found.least_cost = least_cost(search)
        found.nearest = lightest_reachable(search, found.conflict)
        if found.nearest is None:
            found.undoing = undoing(search)
    return found
