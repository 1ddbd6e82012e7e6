"""A route for a terminal: what to take to the garage."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from tarebook.car.reading import Car
from tarebook.judge.limits import WHICH_NAMES
from tarebook.judge.wording import listed
from tarebook.quantities import format_quantity
from tarebook.route.answering import Answer, Route
from tarebook.route.ballast import GRAM
from tarebook.route.clauses import OPEN, Breach, is_open
from tarebook.route.conflicts import Nearest
from tarebook.route.explaining import Step
from tarebook.route.figures import Room
from tarebook.route.planning import Plan, least_margin
from tarebook.route.search import Search
from tarebook.route.taking_off import currency_of
from tarebook.route.workshop import Plate
from tarebook.show.editions import edition_text
from tarebook.show.text import margin, mass, mass_up, wrapped

MOST_TOLD = 3  # sentences on one clause
LAST = "This is a preparation. The official at the event decides, by the club's own book."


def route_lines(answer: Answer, car: Car) -> Iterator[str]:
    """The answer, jobs in working order, cautions once at the end."""
    yield from _Lines(answer, car).all()


class _Lines:
    def __init__(self, answer: Answer, car: Car) -> None:
        self.answer = answer
        self.search = answer.search
        self.car = car
        self.unit = car.units.get("mass") or "kg"
        self.currency = currency_of(car.inventory)
        self.cautions: dict[str, int] = {}

    def all(self) -> Iterator[str]:
        workshop = self.search.workshop
        full, rules = workshop.prepared.full, workshop.prepared.rules
        when = workshop.on.isoformat()
        yield wrapped(f"{self.car.name} in {full.id}: {full.title} ({edition_text(rules)}), on {when}")
        if self.answer.points:
            yield from self._points()
        elif self.answer.route is not None:
            yield from self._route(self.answer.route)
        elif self.answer.outcome == "impossible" or self.answer.conflict is not None:
            yield from self._impossible()
        else:
            yield ""
            yield wrapped("No route was found in the time given, and none was ruled out. Give it more: --seconds.")
        if workshop.wants_heavier_pieces:
            yield ""
            yield wrapped("Ballast is left aside: the class takes it in heavy pieces alone, and a route plans none.")
        if self.answer.left_aside:
            yield ""
            yield "Left aside, whatever they would save:"
            for job, sentence in self.answer.left_aside:
                yield wrapped(f"{job}: {sentence}", "  - ", "    ")
        if self.cautions:
            yield ""
            yield "Cautions"
            for caution, number in self.cautions.items():
                yield wrapped(caution, f"  ({number}) ")
        yield ""
        yield wrapped(LAST)

    # --- One route

    def _route(self, route: Route) -> Iterator[str]:
        plan = route.plan
        yield ""
        yield wrapped(self._headline(plan))
        yield ""
        start = self.search.workshop.resting
        now, short = self.search.mass_of(start), self.search.margin_of(start)
        if now is not None:
            beside = f", {self._to_minimum(short)}" if short is not None else ""
            yield wrapped(f"Now: {mass(float(now), self.unit)} as the class weighs it{beside}.")
        if not route.steps:
            yield "No job needs to be done, only ballast added." if plan.load.mass else "Nothing needs to be done."
        for number, step in enumerate(route.steps, 1):
            yield from self._step(number, step)
        yield from self._sum(route)

    def _headline(self, plan: Plan) -> str:
        sure = "" if plan.proven else " The time ran out before it was proven that there is no better one."
        if plan.cheapest and plan.reached is None:
            best = "The cheapest set of jobs that makes the car eligible"
        elif plan.cheapest:
            best = "The cheapest legal set of jobs that reaches the target"
        else:
            whole = ", as weighed with its ballast," if plan.load.mass and self.search.demands.target is None else ""
            best = f"The lightest legal build{whole} that the jobs allow"
        if not plan.cheapest and plan.reached is False:
            over = self.search.over_target(plan.jobs)
            bare = "before ballast " if plan.load.mass else ""
            best += " (none reaches the target"
            best += f": {bare}it stays {mass(float(over), self.unit)} over)" if over is not None else ")"
        proof = ", proven." if plan.proven else ", as far as was found."
        return f"{best}{proof}{sure}"

    def _step(self, number: int, step: Step) -> Iterator[str]:
        marks = "".join(f" ({self.cautions.setdefault(each, len(self.cautions) + 1)})" for each in step.cautions)
        undo = "Undo: " if step.undo else ""
        yield wrapped(f"{undo}{step.title} [{step.job}]{marks}", f"{number:3}. ")
        told = []
        if step.saves is not None and step.saves:
            told.append(f"{mass(abs(float(step.saves)), self.unit, 2)} {'lighter' if step.saves > 0 else 'heavier'}")
        told.append("no cost stated, counted as nothing" if step.unpriced else self._money(step.cost))
        if step.hours:
            told.append(_hours(step.hours))
        if step.mass is not None:
            told.append(f"then {mass(float(step.mass), self.unit)}")
        if step.margin is not None:
            told.append(self._to_minimum(step.margin))
        room = step.closest
        if room is not None and room.which != "minimum" and (step.margin is None or room.margin < step.margin):
            told.append(self._room(room))
        yield wrapped("; ".join(told) + ".", "     ")
        if step.reason:
            yield wrapped(f"Why: {step.reason.removesuffix('.')}.", "     ")

    def _room(self, room: Room) -> str:
        limit = limit_text(room.clause, room.which)
        if room.margin >= 0:
            return f"{mass(float(room.margin), self.unit)} to spare at {limit}"
        return f"{mass(-float(room.margin), self.unit)} wanting at {limit}"

    def _to_minimum(self, kilograms: Fraction) -> str:
        return f"{mass(abs(float(kilograms)), self.unit)} {'over' if kilograms >= 0 else 'under'} the minimum"

    def _sum(self, route: Route) -> Iterator[str]:
        plan = route.plan
        yield ""
        yield wrapped(f"Together: {self._money(plan.cost)}, {_hours(plan.hours)}.")
        unpriced = [step.job for step in route.steps if step.unpriced]
        if unpriced:
            yield wrapped(f"Without a stated cost, so counted as nothing: {listed(unpriced)}.")
        if plan.load.mass:
            yield wrapped(self._ballast(plan))
        sure = self.search.guard_of_minimum(plan.jobs)
        if sure is not None and (plan.load.mass or plan.reached is not None):
            share = f"{100 * self.search.demands.confidence:g} %"
            yield wrapped(
                f"To be {share} sure of the minimum with these weighings, the car must weigh"
                f" {mass(float(sure), self.unit, 2)} over it: that counts as reaching it."
            )
        closest = least_margin(plan)
        at_least = ""
        if closest is not None:
            clause, which, room = closest
            at_least = f", {margin(room, self.unit)} at {limit_text(clause, which)}"
        weighs = "not known" if plan.total is None else mass(float(plan.total), self.unit)
        yield wrapped(f"As the class weighs it: {weighs}{at_least}.")
        for each in plan.at_worst:
            limit = mass(float(each.limit), self.unit)
            text = limit_text(each.clause, each.which)
            yield wrapped(
                f"Find out first: {listed(each.facts)}. On that hangs {text}, and {limit} is counted here, the worst"
                " that it can be: the best route may be another."
            )
        if route.binds:
            yield wrapped(f"What holds it back: {'; '.join(demand_text(each, self.search) for each in route.binds)}.")
        if plan.row.to_ask:
            clauses = plan.row.to_ask
            yield wrapped(f"{clauses} clause{'s' * (clauses > 1)} a person must judge: see tarebook why.")

    def _ballast(self, plan: Plan) -> str:
        ballast = self.search.workshop.prepared.full.weight.get("ballast")
        places = ballast.value.places if ballast is not None and ballast.value.places else []
        where = f", {self._place(plan.at)} behind the front axle" if plan.at is not None else ""
        where += f" (the class has it in {listed(places, 'or')})" if places else ""
        if plan.load.mass <= GRAM:
            return f"Ballast to add: a piece, however light, as the class wants one aboard{where}."
        pieces = ""
        if plan.pieces > 1:
            heaviest = max(Plate(plan.load.mass, plan.at, plan.pieces).masses)
            pieces = f" in {plan.pieces} pieces of {mass_up(heaviest, self.unit)} at most, as the class bounds one"
        return f"Ballast to add: {mass_up(plan.load.mass, self.unit)}{pieces}{where}."

    def _place(self, at: Fraction) -> str:
        decimals = 0 if at == round(at) else 1
        return format_quantity(at, self._length, "length", decimals + {"mm": 0, "cm": 1, "m": 3}.get(self._length, 1))

    @property
    def _length(self) -> str:
        return self.car.units.get("length") or "mm"

    def _money(self, amount: Fraction) -> str:
        number = f"{float(abs(amount)):.2f}".removesuffix(".00")
        told = f"{number} {self.currency}".rstrip()
        return f"brings in {told}" if amount < 0 else f"costs {told}"

    # --- All trade-offs

    def _points(self) -> Iterator[str]:
        yield ""
        whole = self.answer.outcome == "proven"
        told = "All trade-offs of cost against mass, proven" if whole else "Trade-offs as far as they were found"
        yield wrapped(f"{told}: no other build is both cheaper and lighter than one of these.")
        before: set[str] = set()
        for number, point in enumerate(self.answer.points, 1):
            plan = point.plan
            yield ""
            weighs = "mass not known" if plan.mass is None else mass(float(plan.mass), self.unit)
            figures = [weighs, self._money(plan.cost), _hours(plan.hours)]
            if plan.load.mass:
                figures.append(f"{mass_up(plan.load.mass, self.unit)} of ballast to add")
            yield wrapped(f"{', '.join(figures)}{'; reaches the target' if plan.reached else ''}", f"{number:3}. ")
            jobs = [f"{'undo ' if step.undo else ''}{step.job}" for step in point.steps]
            for step in point.steps:
                for caution in step.cautions:
                    self.cautions.setdefault(caution, len(self.cautions) + 1)
            more, less = [job for job in jobs if job not in before], sorted(before - set(jobs))
            if number == 1:
                yield wrapped(f"jobs: {', '.join(jobs) or 'none'}", "     ")
            else:
                yield wrapped(f"more: {', '.join(more) or 'none'}", "     ")
                if less:
                    yield wrapped(f"no longer: {', '.join(less)}", "     ")
            before = set(jobs)
        last = self.answer.points[-1].plan
        if whole and last.reached is False:
            over = self.search.over_target(last.jobs)
            stays = f": the last stays {mass(float(over), self.unit)} over it" if over is not None else ""
            yield ""
            yield wrapped(f"None of them reaches {demand_text('target', self.search)}{stays}.")

    # --- None

    def _impossible(self) -> Iterator[str]:
        yield ""
        conflict = self.answer.conflict
        sentences = conflict_sentences(self.answer)
        if conflict is not None and conflict.undecided:
            alone = len(sentences) == 1
            yield wrapped(f"Not known yet. No choice of jobs surely keeps {'this' if alone else 'all of these'}:")
        elif sentences:
            only = "These cannot all be kept" if len(sentences) > 1 else "This cannot be kept by any choice of jobs"
            yield wrapped(f"No route. {only}:")
        elif conflict is not None:
            yield wrapped("No route: the jobs themselves do not fit together.")
        else:
            yield wrapped("No route; why could not be found out in the time given.")
        for each in sentences:
            yield wrapped(each.sentence, "  - ", "    ")
        if conflict is not None and conflict.because:
            yield wrapped(f"That is so because {listed(conflict.because)}.")
        if len(sentences) > 1 and conflict is not None and conflict.smallest:
            yield wrapped("No smaller set of demands conflicts.")
        facts = facts_to_find(self.answer)
        if facts:
            yield wrapped(f"Find out first: {listed(facts)}. What each value would open: tarebook choose.")
        if conflict is not None and conflict.demands == ("open ",):
            yield wrapped("With --just-eligible, mass is left aside where no rule asks for it.")
        if self.answer.least_cost is not None:
            yield wrapped(f"The cheapest without the budget {self._money(self.answer.least_cost)}.")
        nearest = self.answer.nearest
        if nearest is not None:
            yield wrapped(self._nearest(nearest))
        elif self.answer.undoing == "helps" or (
            self.answer.undoing == "may help" and conflict is not None and not conflict.undecided
        ):
            there = "there is one" if self.answer.undoing == "helps" else "it hangs on what is still unknown"
            yield wrapped(f"With --undo, where done jobs may be undone too, {there}.")

    def _nearest(self, nearest: Nearest) -> str:
        plan = nearest.plan
        jobs = [*plan.chosen, *(f"undoing {job}" for job in plan.undone)]
        weighs = "a mass that is not known" if plan.mass is None else mass(float(plan.mass), self.unit)
        if plan.load.mass:
            weighs += f", and {mass(float(plan.load.mass), self.unit)} of ballast that it then owes,"
        without = [aside_text(demand, self.search) for demand in nearest.aside]
        aside = f" without {listed(without)}" if without else ""
        by = listed(jobs or ["no job at all"])
        best = f"The lightest that can be reached{aside}: {weighs} by {by}. It {self._money(plan.cost)}."
        return best if plan.proven else f"{best} That is as far as was found in the time given."


class ConflictSentence(NamedTuple):
    """A demand that cannot be kept with the others.

    Attributes:
        demand: its name, "rule 8.3" or "budget".
        sentence: it and what stands against it, in the user's words.
        undecided: whether it is not known to be against the route.
        facts: what is to be found out then.
    """

    demand: str
    sentence: str
    undecided: bool
    facts: tuple[str, ...]


def conflict_sentences(answer: Answer) -> list[ConflictSentence]:
    """The demands that conflict, each with a sentence in the user's words."""
    if answer.conflict is None:
        return []
    told = answer.conflict.breaches
    return [_sentence(demand, told.get(demand, ()), answer.search) for demand in answer.conflict.demands]


def facts_to_find(answer: Answer) -> list[str]:
    """What to find out: what stands between the car and a route, or what limits hang on that were counted at worst."""
    routes = [*answer.points, *([answer.route] if answer.route is not None else [])]
    counted = {fact for route in routes for each in route.plan.at_worst for fact in each.facts}
    return sorted(counted.union(fact for each in conflict_sentences(answer) for fact in each.facts))


def _sentence(demand: str, told: Sequence[Breach], search: Search) -> ConflictSentence:
    text = demand_text(demand, search)
    if told:
        says = dict.fromkeys(f' "{breach.says}"' for breach in told if breach.says)
        text = f"{text}: {' '.join(breach.sentence for breach in told[:MOST_TOLD])}{''.join(says)}"
    elif demand.startswith("limit "):
        text = f"{text}{_where_it_lies(demand, search)}."
    elif not text.endswith("."):
        text += "."
    facts = tuple(sorted({fact for breach in told for fact in breach.facts}))
    name = f"rule {demand.partition(' ')[2]}".rstrip() if is_open(demand) else demand
    return ConflictSentence(name, text, is_open(demand), facts)


def _where_it_lies(demand: str, search: Search) -> str:
    """ " of 30 kg": the figure of a limit, as the car stands; "" where it has none then."""
    resting = search.workshop.resting
    for watch in search.watches:
        edge = watch.edge(watch.state(resting)) if watch.demand == demand else None
        if isinstance(edge, Fraction):
            return f", {mass(float(edge), search.workshop.car.units.get('mass') or 'kg')}"
    return ""


def limit_text(clause: str, which: str) -> str:
    """A limit of the class in words: "clause 6.1.2, the least load on the rear axle"."""
    return f"clause {clause}, the {WHICH_NAMES[which].format('')}"


def aside_text(demand: str, search: Search) -> str:
    """What would be left out if a demand were, after "without"."""
    sort, _, name = demand.partition(" ")
    if sort == "must":
        return f'having to do job "{name}"'
    if sort == "forbid":
        return f'leaving out job "{name}"'
    if demand == "hours":
        return "the bound on hours"
    return "the bounds on the front share" if demand == "front-share" else demand_text(demand, search)


def demand_text(demand: str, search: Search) -> str:
    """A demand in the words of whoever made it."""
    demands = search.demands
    unit = search.workshop.car.units.get("mass") or "kg"
    sort, _, name = demand.partition(" ")
    if sort in ("rule", OPEN):
        return f"clause {name}" if name else "how light the car gets"
    if sort == "limit":
        clause, _, which = name.partition(" ")
        return limit_text(clause, which)
    if sort in ("must", "forbid"):
        return f'job "{name}" is {"to be done" if sort == "must" else "not to be done"}'
    if demand == "budget" and demands.budget is not None:
        return f"the budget of {float(demands.budget):g} {currency_of(search.workshop.inventory)}".rstrip()
    if demand == "hours" and demands.hours is not None:
        return f"at most {_hours(demands.hours)}"
    if demand == "target":
        if demands.target is not None:
            return f"the target of {mass(float(demands.target), unit)}"
        return "the minimum as the target"
    ends = [
        f"at {word} {float(share) * 100:g} %"
        for word, share in (("least", demands.front_least), ("most", demands.front_most))
        if share is not None
    ]
    return f"{' and '.join(ends)} of the load on the front axle"


def _hours(hours: Fraction) -> str:
    return f"{float(hours):g} hour{'' if hours == 1 else 's'}"
