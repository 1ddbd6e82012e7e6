"""Cost against mass: every choice of jobs that no other beats in both."""

from tarebook.route.planning import Plan, but_target, settled
from tarebook.route.program import Row
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp

STAGES = ("cost", "mass", "hours", "changes")
MOST_POINTS = 200


def frontier(search: Search) -> tuple[list[Plan], bool]:
    """From the cheapest eligible build to the first that reaches the target, or to the lightest; and whether it is all.

    Each point is the cheapest of all builds lighter than the point before it, and the lightest at that cost. Budget,
    hours and the other demands hold for every point. Raises TimeUp where not even the first point was found.
    """
    points: list[Plan] = []
    rows: list[Row] = []
    while len(points) < MOST_POINTS:
        try:
            found = search.best(STAGES, but_target, rows)
        except TimeUp:
            if not points:
                raise
            return points, False
        if found is None:
            return points, True
        point = settled(search, found, search.reaches(found))
        assert point is not None
        points.append(point)
        if point.reached or not point.proven:
            return points, point.proven
        rows = [search.at_most("mass", found, -0.5)]
    return points, False
