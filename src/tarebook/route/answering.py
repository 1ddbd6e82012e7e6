"""The whole answer about a route: the plan with its steps, or why there is none, or all trade-offs."""

from contextlib import suppress
from dataclasses import dataclass, field
from typing import Literal

from tarebook.route.conflicts import Conflict, find_conflict, lightest_reachable
from tarebook.route.explaining import Step, binding, steps_of
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
            that was found, if any was; "impossible" where no choice of jobs will do.
        conflict: where it is impossible, demands that cannot all be kept; `nearest` is then the lightest build that
            can be reached all the same, by the rules if by nothing else, or None.
        points: all trade-offs of cost against mass, where those were asked for.
    """

    outcome: Outcome
    search: Search
    route: Route | None = None
    conflict: Conflict | None = None
    nearest: Plan | None = None
    points: list[Route] = field(default_factory=list)


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
                return Answer(outcome, search, points=[Route(point, steps_of(search, point)) for point in points])
        else:
            plan = first_plan(search)
            if plan is not None:
                route = Route(plan, steps_of(search, plan), binding(search, plan))
                return Answer("proven" if plan.proven else "not-proven", search, route)
        return _impossible(search)
    except TimeUp:
        return Answer("not-proven", search)


def _impossible(search: Search) -> Answer:
    """Why; as far as the time allows."""
    search.grant(EXPLAINING)
    conflict = nearest = None
    with suppress(TimeUp):
        conflict = find_conflict(search)
        nearest = lightest_reachable(search)
    return Answer("impossible", search, conflict=conflict, nearest=nearest)
