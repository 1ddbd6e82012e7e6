"""Why no route exists: a smallest set of demands that cannot all be kept; and the lightest build within reach."""

import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import comb
from types import MappingProxyType
from typing import Literal, NamedTuple

from tarebook.judge.wording import listed
from tarebook.route.clauses import OPEN, Breach, is_open, without_sentence
from tarebook.route.planning import LIGHTEST_BARE, NEAR, Plan, settled, target_is_hard
from tarebook.route.search import Search
from tarebook.route.solving import TimeUp

MOST_NAMED = 4  # jobs
MOST_TRIED = 300  # sets of demands that are tried to prove that none smaller conflicts
# Of what conflicts, what is first left out of the explanation if the rest conflicts anyway.
_ORDER = (OPEN, "rule", "limit", "target", "forbid", "must", "front-share", "hours", "budget")


Undoing = Literal["helps", "may help", "no help"]


class Conflict(NamedTuple):
    """Demands that cannot all be kept; `smallest` where no smaller set of demands conflicts, which was proven.

    Clauses that are not decided are among them only where what is certain does not conflict by itself.

    Attributes:
        because: what jobs that were asked for, or not wanted, ask of one another.
        breaches: by demand, what stands against the car that keeps all the other ones.
        exact: the demands as the program has them: each thing that a clause asks is one.
    """

    demands: tuple[str, ...]
    smallest: bool
    because: tuple[str, ...] = ()
    breaches: Mapping[str, Sequence[Breach]] = MappingProxyType({})
    exact: tuple[str, ...] = ()

    @property
    def undecided(self) -> bool:
        """Whether it hangs on what is not known."""
        return any(is_open(demand) for demand in self.demands)


def find_conflict(search: Search) -> Conflict:
    """A set of demands that conflict, none of which can be left out of it. Raises TimeUp."""
    found = _conflict(search)
    breaches: dict[str, list[Breach]] = {}
    for demand in found.demands:
        breaches.setdefault(without_sentence(demand), []).extend(_breaches(search, demand, found.demands))
    return found._replace(
        demands=tuple(breaches), because=_because(search, found.demands), breaches=breaches, exact=found.demands
    )


def _breaches(search: Search, demand: str, demands: Iterable[str]) -> list[Breach]:
    kept = {"", *demands} - {demand}
    found = search.best(("changes",), lambda each: each in kept)
    if found is None:
        return []
    breaches = search.breaches(found.chosen, demand)
    if not demand.startswith("limit "):
        return breaches
    build = _build_in_words(search, found.chosen)
    return [replace(breach, sentence=f"{build}, {breach.sentence}") for breach in breaches]


def _build_in_words(search: Search, chosen: frozenset[str]) -> str:
    """Of which build a figure is: "As the car stands", "With radio and seat done"."""
    workshop = search.workshop
    done = [job for job in workshop.free if job in chosen - workshop.resting and job != workshop.ballast_job]
    undone = [job for job in workshop.free if job in workshop.resting - chosen]
    if len(done) + len(undone) > MOST_NAMED:
        return f"With {len(done) + len(undone)} jobs done or undone"
    told = [f"{listed(done)} done"] if done else []
    told += [f"{listed(undone)} undone"] if undone else []
    return f"With {' and '.join(told)}" if told else "As the car stands"


def _because(search: Search, demands: Iterable[str]) -> tuple[str, ...]:
    """What the jobs of these demands ask of one another."""
    workshop = search.workshop
    named = [demand.partition(" ") for demand in demands]
    must = [job for sort, _, job in named if sort == "must"]
    forbidden = [job for sort, _, job in named if sort == "forbid"]
    needing = [(job, other) for job in must for other in forbidden if other in workshop.with_needs(job)]
    together = workshop.configuration(workshop.resting.union(*(workshop.with_needs(job) for job in must)))
    problems = [] if needing or not must else [each.sentence for each in together.problems]
    return (*(f'job "{job}" needs job "{other}"' for job, other in needing), *problems)


def _conflict(search: Search) -> Conflict:
    soft = {""} if target_is_hard(search.demands) else {"", "target"}
    known = sorted({row.demand for row in search.program.rows} - soft, key=lambda demand: (_rank(demand), demand))
    certain = [demand for demand in known if not is_open(demand)]
    if not _possible(search, certain):
        known = certain
    left = list(known)
    without_rules = [demand for demand in known if not demand.startswith("rule ")]
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


def undoing(search: Search) -> Undoing:
    """Whether there would be a route if done jobs might be undone; "no help" too where time ran out."""
    workshop, demands = search.workshop, search.demands
    if demands.undo or not workshop.inventory.done:
        return "no help"
    soft = "" if target_is_hard(demands) else "target"
    other = Search(workshop.with_demands(replace(demands, undo=True)), search.ends_at - time.monotonic())
    try:
        if other.best(("changes",), lambda demand: demand != soft) is not None:
            return "helps"
        if other.best(("changes",), lambda demand: demand != soft and not is_open(demand)) is not None:
            return "may help"
    except TimeUp:
        pass
    return "no help"


def least_cost(search: Search) -> Fraction | None:
    """What it takes at least to keep all that was asked for but the budget; None where nothing does. Raises TimeUp."""
    soft = {"budget"} if target_is_hard(search.demands) else {"budget", "target"}
    found = search.best(("cost",), lambda demand: demand not in soft)
    return None if found is None else found.values[0]


class Nearest(NamedTuple):
    """The lightest eligible build, before ballast is added, if some of what was asked for is left aside."""

    plan: Plan
    aside: tuple[str, ...]


def lightest_reachable(search: Search, conflict: Conflict) -> Nearest | None:
    """The lightest that can be reached all the same, to within `NEAR`: with all that was asked for but the target; else
    but what conflicts; else by the rules alone. None where there is none, or time runs out."""
    mine = tuple(demand for demand in conflict.demands if not by_the_rules(demand))
    every = {row.demand for row in search.program.rows}
    asked = tuple(sorted(demand for demand in every if demand != "target" and not by_the_rules(demand)))
    for aside in dict.fromkeys(((), mine, asked)):

        def holds(demand: str, aside: tuple[str, ...] = aside) -> bool:
            return demand != "target" and demand not in aside

        try:
            found = search.best(LIGHTEST_BARE, holds, within=NEAR)
        except TimeUp:
            return None
        if found is not None:
            plan = settled(search, found, search.reaches(found))
            return None if plan is None else Nearest(plan, tuple(demand for demand in aside if demand != "target"))
    return None


def by_the_rules(demand: str) -> bool:
    """Only the book's own demands hold, and what jobs say of one another."""
    return demand == "" or is_open(demand) or demand.startswith(("rule ", "limit "))
