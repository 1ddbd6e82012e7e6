"""The cheapest legal set of jobs that reaches the minimum, or the lightest that the demands leave."""

from dataclasses import dataclass
from fractions import Fraction

from tarebook.judge.findings import Row
from tarebook.judge.judging import judge
from tarebook.route.ballast import Load, places_for
from tarebook.route.demands import Demands
from tarebook.route.search import Found, Search
from tarebook.route.watching import AtWorst
from tarebook.route.workshop import Plate

CHEAPEST = ("cost", "hours", "mass", "changes")
LIGHTEST = ("total", "cost", "hours", "changes")
LIGHTEST_BARE = ("mass", "cost", "hours", "changes")
NEAR = 0.05  # kg: half of what masses are shown to; near enough where grams are not worth the time that they take


class Disagreement(RuntimeError):
    """The judge does not accept what the search found: a defect of ours."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A choice of jobs, judged.

    Attributes:
        jobs: all the free jobs that are done in the end, adding ballast among them.
        chosen: the jobs to do, in the order in which they act; `undone` those to undo.
        load: the ballast to add, and `at` a place for it, in mm behind the front axle, where that can be said; in as
            many `pieces` as the class takes it in.
        cost: cost less returns; `hours` likewise for the chosen jobs.
        mass: as the class weighs it, in kg, without added ballast; `total` with it. None where that is not known.
        at_worst: limits that hang on what is not known, as they were counted.
        row: what the judge says of the build, ballast and all.
        reached: whether it reaches the target; None where there is none.
        cheapest: whether cost was made least, rather than mass.
    """

    jobs: frozenset[str]
    chosen: tuple[str, ...]
    undone: tuple[str, ...]
    load: Load
    at: Fraction | None
    pieces: int
    cost: Fraction
    hours: Fraction
    mass: Fraction | None
    total: Fraction | None
    row: Row
    at_worst: tuple[AtWorst, ...]
    reached: bool | None
    proven: bool
    cheapest: bool


def least_margin(plan: Plan) -> tuple[str, str, float] | None:
    """The limit on what the car weighs that leaves the least room: its clause, what it is about, the room in kg."""
    rooms = [(each.clause, each.which, each.margin_kg) for each in plan.row.limits if each.margin_kg is not None]
    rooms += [(each.clause, str(each.which), float(each.margin)) for each in plan.at_worst]
    weighed = [room for room in rooms if room[1] not in ("taken_off", "ballast")]
    return min(weighed, key=lambda room: room[2], default=None)


def every(demand: str) -> bool:
    """All demands hold."""
    return True


def but_target(demand: str) -> bool:
    return demand != "target"


def first_plan(search: Search) -> Plan | None:
    """The best plan; None if no choice of jobs makes the build eligible as demanded. Raises TimeUp, Disagreement."""
    demands = search.demands
    if demands.just_eligible:
        return settled(search, search.best(CHEAPEST, every), None, cheapest=True)
    if demands.target is not None or (search.near and not search.ballast_banned):
        found = search.best(CHEAPEST, every)
        if found is not None:
            return settled(search, found, True, cheapest=True)
        if target_is_hard(demands):
            return None
    return lightest_plan(search)


def target_is_hard(demands: Demands) -> bool:
    """Whether there is no route where the target is not reached; else the lightest build is the answer then."""
    return demands.target is not None and demands.budget is None and demands.hours is None


def lightest_plan(search: Search) -> Plan | None:
    """The lightest eligible build, whatever the target."""
    found = search.best(lightest_stages(search), but_target)
    return settled(search, found, None if found is None else search.reaches(found))


def lightest_stages(search: Search) -> tuple[str, ...]:
    """What "lightest" means: as the class weighs the build; where a target was named, before ballast is added."""
    if search.demands.target is None and not search.only_minima_want_ballast:
        return LIGHTEST
    # Where no build within the demands is as light as the minimum, nothing asks for ballast, so it is all the same.
    return LIGHTEST_BARE


def settled(search: Search, found: Found | None, reached: bool | None, *, cheapest: bool = False) -> Plan | None:
    """What was found, put before the judge. Raises Disagreement."""
    if found is None:
        return None
    workshop = search.workshop
    jobs = found.chosen
    wheelbase = search.amounts.ledger.wheelbase(workshop.configuration(jobs))
    plate, row = _judged(search, jobs, found.load, places_for(found.load, wheelbase))
    mass = search.mass_of(jobs)
    rear = found.load.mass * plate.at / wheelbase if plate.at is not None and wheelbase else Fraction(0)
    return Plan(
        jobs=jobs,
        chosen=tuple(job for job in workshop.free if job in jobs - workshop.resting and job != workshop.ballast_job),
        undone=tuple(job for job in workshop.free if job in workshop.resting - jobs),
        load=found.load,
        at=plate.at,
        pieces=plate.pieces,
        cost=search.value("cost", jobs, found.load),
        hours=search.value("hours", jobs, found.load),
        mass=mass,
        total=None if mass is None else mass + (found.load.mass if search.ballast_counts else 0),
        row=row,
        at_worst=tuple(
            each for watch in search.watches if (each := watch.at_worst(jobs, found.load, rear)) is not None
        ),
        reached=reached,
        proven=found.proven,
        cheapest=cheapest,
    )


def _judged(search: Search, jobs: frozenset[str], load: Load, places: list[Fraction | None]) -> tuple[Plate, Row]:
    """What the judge says of the build with its ballast at the first place that he accepts. Raises Disagreement."""
    workshop = search.workshop
    told = ""
    for at in places:
        plate = Plate(load.mass, at, workshop.pieces(workshop.stay | jobs, load.mass, at) if load.mass else 1)
        situation = workshop.loaded(jobs, plate)
        row = judge(workshop.prepared, situation, confidence=search.demands.confidence)
        if row.verdict == "eligible" and not situation.configuration.problems:
            return plate, row
        told = told or "; ".join(f"{each.clause} {each.sentence}" for each in row.urgent)
    raise Disagreement(f"the judge does not find {sorted(jobs)} eligible: {told}")
