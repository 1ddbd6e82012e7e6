"""Why no route exists: a smallest set of demands that cannot all be kept; and the lightest build within reach."""

from collections.abc import Iterable
from itertools import combinations
from math import comb
from typing import NamedTuple

from tarebook.route.planning import LIGHTEST, LIGHTEST_BARE, Plan, but_target, settled
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp

MOST_TRIED = 60  # sets of demands that are tried to prove that none smaller conflicts
# Of what conflicts, what is first left out of the explanation if the rest conflicts anyway.
_ORDER = ("rule", "limit", "target", "forbid", "must", "front-share", "hours", "budget")


class Conflict(NamedTuple):
    """Demands that cannot all be kept; `smallest` where no smaller set of demands conflicts, which was proven."""

    demands: tuple[str, ...]
    smallest: bool


def find_conflict(search: Search) -> Conflict:
    """A set of demands that conflict, none of which can be left out of it. Raises TimeUp."""
    demands = search.demands
    soft = {""}
    if demands.target is None or demands.budget is not None or demands.hours is not None:
        soft.add("target")  # where it cannot be reached, the lightest build is the answer
    known = sorted({row.demand for row in search.program.rows} - soft, key=lambda demand: (_rank(demand), demand))
    left = list(known)
    rules = [demand for demand in known if demand.startswith("rule ")]
    without_rules = [demand for demand in left if demand not in rules]
    if not _possible(search, without_rules):
        left = without_rules
    for demand in list(left):
        fewer = [each for each in left if each != demand]
        if not _possible(search, fewer):
            left = fewer
    for size in range(1, len(left)):
        if comb(len(known), size) > MOST_TRIED:
            return Conflict(tuple(left), smallest=False)
        for some in combinations(known, size):
            if not _possible(search, some):
                return Conflict(some, smallest=True)
    return Conflict(tuple(left), smallest=True)


def _rank(demand: str) -> int:
    return _ORDER.index(demand.partition(" ")[0])


def _possible(search: Search, demands: Iterable[str]) -> bool:
    kept = {"", *demands}
    return search.best(("changes",), lambda demand: demand in kept) is not None


def lightest_reachable(search: Search) -> Plan | None:
    """The lightest eligible build that keeps what was asked for but the target; else one by the rules alone."""
    stages = LIGHTEST if search.demands.target is None else LIGHTEST_BARE
    for holds in (but_target, by_the_rules):
        try:
            found = search.best(stages, holds)
        except TimeUp:
            return None
        if found is not None:
            return settled(search, found, search.reaches(found))
    return None


def by_the_rules(demand: str) -> bool:
    """Only the book's own demands hold, and what jobs say of one another."""
    return demand == "" or demand.startswith(("rule ", "limit "))
