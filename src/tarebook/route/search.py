"""The search for the best choice of jobs: a program is solved, checked by the engine and cut, until both agree."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from tarebook.judge.situation import Situation
from tarebook.route.ballast import GRAM, Demand, Load, least_load
from tarebook.route.clauses import Breach, demand_under, open_demand
from tarebook.route.figures import Objective
from tarebook.route.modelling import MOST_BALLAST, Model
from tarebook.route.probes import Probes
from tarebook.route.program import INFINITE, LOOSE, Row, combined
from tarebook.route.solving import Chosen, TimeUp, solve
from tarebook.route.watching import Watch
from tarebook.route.workshop import Workshop

ASKED = 6  # jobs of a question that turned out to matter whose states are all asked; else clauses are learnt singly
MOST_RETURNS = 6  # times that a choice is cut off and comes back before it is ruled out by itself
WEIGHTS = ("mass", "total")
TOGETHER = ("hours", "changes")
ABOUT = 0.1  # kg
APART = 0.999  # of the step between the values of an objective
STEP = 1e-5  # kg: the step where there is none
NEARLY = Fraction(1, 100_000)  # kg of ballast
Holds = Callable[[str], bool]


@dataclass(frozen=True, slots=True)
class Found:
    """A choice of jobs that the engine accepts, with the ballast that it needs."""

    chosen: frozenset[str]
    load: Load
    values: tuple[Fraction, ...]
    proven: bool = True


def _groups(stages: Sequence[str]) -> list[tuple[str, ...]]:
    """The stages that are solved one by one: fewest hours and then fewest changes are small numbers, solved at once."""
    if tuple(stages[-2:]) == TOGETHER:
        return [*((stage,) for stage in stages[:-2]), TOGETHER]
    return [(stage,) for stage in stages]


class Search(Model):
    """The program of one workshop, solved. Ask `best` any number of times: what was learnt stays."""

    def __init__(self, workshop: Workshop, seconds: float, probes: Probes | None = None) -> None:
        """`seconds` is how long all solving may take together."""
        super().__init__(workshop, probes)
        self.ends_at = time.monotonic() + seconds
        self.solves = 0
        self._met: dict[frozenset[str], int] = {}

    def reaches(self, found: Found) -> bool | None:
        """Whether a choice reaches the target; None where there is none."""
        if self.demands.target is None and (not self.has_minimum or self.demands.just_eligible):
            return None
        return self.is_on_target(found.chosen)

    def hurry(self, seconds: float) -> None:
        """Take no longer than this from now on."""
        self.ends_at = min(self.ends_at, time.monotonic() + seconds)

    def grant(self, seconds: float) -> None:
        """Have this much time from now on, whatever was left."""
        self.ends_at = time.monotonic() + seconds

    def best(self, stages: Sequence[str], holds: Holds, more: Sequence[Row] = (), within: float = 0.0) -> Found | None:
        """The best choice, stage after stage, of those that keep the demands that hold; None if there is none.

        `within` is how far from the least, in kg, the first stage may end where it is a mass.
        Not proven where time ran out. Raises TimeUp where it ran out before any choice was found.
        """
        rows = list(more)
        self._met = {}
        found: Found | None = None
        fixed: list[Fraction] = []
        try:
            if stages[0] in WEIGHTS and not within:
                # Masses lie close, and near a minimum each has a guard of its own: first one that is light and safe.
                safe = [row for watch in self.watches for row in watch.safe(self.program, self.ballast, self.tables)]
                found = self._stage(stages[:1], stages, fixed, [*rows, *safe], holds, gap=ABOUT)
            for group in _groups(stages):
                better = self._stage(group, stages, fixed, rows, holds, gap=0.0 if fixed else within)
                if better is None:
                    break
                found = better
                for stage in group:
                    fixed.append(found.values[len(fixed)])
                    rows.append(self.at_most(stage, found, 0.25))
        except TimeUp as up:
            found = found or self._last(up.best, stages, holds, rows)
            if found is None:
                raise
            return Found(found.chosen, found.load, found.values, proven=False)
        return found

    def _last(self, chosen: Chosen | None, stages: Sequence[str], holds: Holds, rows: list[Row]) -> Found | None:
        """What the solver had when its time was up, if the engine accepts it."""
        load = None if chosen is None else self.check(chosen, holds, rows, exact=False)
        if chosen is None or load is None:
            return None
        return Found(chosen.jobs, load, tuple(self.value(each, chosen.jobs, load) for each in stages))

    def lighter(self, kilograms: float) -> Row:
        """Builds that weigh no more than so many kg, ballast and all."""
        return Row(self.forms["total"].form, -INFINITE, kilograms, "")

    def at_most(self, stage: str, found: Found, more: float) -> Row:
        """No more of what a stage makes least than in what was found, but for so many of its steps.

        Where there are no steps, `more` only says which way to give.
        """
        objective = self.forms[stage]
        value = self.value(stage, found.chosen, found.load)
        if objective.apart:
            return Row(objective.form, -INFINITE, float((value - objective.beside) * objective.scale) + more, "")
        return Row(objective.form, -INFINITE, float(value) + (LOOSE if more > 0 else -STEP), "")

    def _stage(
        self,
        group: Sequence[str],
        stages: Sequence[str],
        fixed: list[Fraction],
        rows: list[Row],
        holds: Holds,
        *,
        gap: float = 0.0,
    ) -> Found | None:
        """The best of a stage, or of a group of them; `gap` is how far from it, in kg, is near enough."""
        objective = self._objective(group)
        near = max(gap * float(objective.scale), APART if objective.apart else 0.0)
        while True:
            self.solves += 1
            left = self.ends_at - time.monotonic()
            # With a mass held to its least, to the grain, presolving takes longer than it saves; else it saves more.
            presolve = not (fixed and stages[0] == "mass" and self.forms["mass"].apart)
            chosen = solve(self.program, objective.form, rows, holds, left, near, presolve=presolve)
            if chosen is None:
                return None
            load = self.check(chosen, holds, rows, exact="total" in stages)
            if load is None:
                times = self._met[chosen.jobs] = self._met.get(chosen.jobs, 0) + 1
                if times > MOST_RETURNS:  # the cuts are below what the solver can tell
                    rows.append(self._but(chosen.jobs))
                continue
            values = tuple(self.value(each, chosen.jobs, load) for each in stages)
            if any(value > before for value, before in zip(values, fixed, strict=False)):
                rows.append(self._but(chosen.jobs))
                continue
            return Found(chosen.jobs, load, values)

    def _objective(self, group: Sequence[str]) -> Objective:
        """What a group of stages makes least: the first, and by less than one of its steps the second."""
        first, *rest = (self.forms[stage] for stage in group)
        if not rest:
            return first
        (second,) = rest
        steps = 2 * len(self.workshop.free) + 1  # more than changes come to
        return Objective(combined((steps, first.form), (1, second.form)), Fraction(1), apart=True)

    def _but(self, chosen: frozenset[str]) -> Row:
        """Any choice but this one."""
        return Row(self.program.missed(chosen, set(self.workshop.free) - chosen), 1.0, INFINITE, "")

    # --- Checking

    def check(self, found: Chosen, holds: Holds, rows: list[Row], *, exact: bool) -> Load | None:
        """The ballast that a choice needs, if the engine accepts it; else cuts are added, and None comes back.

        `exact`: also cut where the ballast that the program gave it is less than it needs.
        """
        chosen = found.jobs
        if self._learn(chosen, holds):
            return None
        situation = self.workshop.situation(chosen)
        demands: list[Demand] = []
        short: list[Watch] = []
        given = Fraction(found.values[self.ballast.mass]), Fraction(found.values[self.ballast.rear])
        for watch in self.watches:
            edge = watch.edge(watch.state(chosen)) if holds(watch.demand) else None
            if edge is None:
                continue
            mass = watch.mass(situation)
            if mass is None or isinstance(edge, Breach):
                if not holds(open_demand(watch.question.cite.clause)):
                    continue
                rows.append(self._but(chosen))
                return None
            asked = watch.ballast_demand(mass, edge)
            demands.append(asked)
            if asked.mass * given[0] + asked.rear * given[1] < asked.least:
                short.append(watch)
        demands += self._share_demands(chosen, holds)
        most = Fraction(0)
        if self.workshop.ballast_job in chosen:
            most = MOST_BALLAST
            demands.append(Demand(Fraction(1), Fraction(0), GRAM))
        load = least_load(demands, most)
        if load is None or (exact and short and load.mass > given[0] + NEARLY):
            cuts = [watch.cut(self.program, self.ballast, chosen, found.values) for watch in short]
            if not any(cuts):
                if load is not None:
                    return load
                rows.append(self._but(chosen))
            return None
        if holds("target") and not self._on_target(found, situation, rows):
            return None
        return load

    def load_for(self, chosen: frozenset[str]) -> Load | None:
        """The least ballast with which a choice keeps every limit; None where none does, or one cannot be checked."""
        situation = self.workshop.situation(chosen)
        demands: list[Demand] = []
        for watch in self.watches:
            edge, mass = watch.edge(watch.state(chosen)), watch.mass(situation)
            if edge is None:
                continue
            if mass is None or isinstance(edge, Breach):
                return None
            demands.append(watch.ballast_demand(mass, edge))
        demands += self._share_demands(chosen, lambda demand: True)
        return least_load(demands, Fraction(0) if self.ballast_banned else MOST_BALLAST)

    def _learn(self, chosen: frozenset[str], holds: Holds) -> bool:
        """Ask the questions whose clauses are not all in the program; whether any says that the choice is out."""
        out = False
        for probe, demand in list(self.waiting):
            state = tuple(job in chosen for job in probe.jobs)
            answer = self.tables.ask(probe, state)
            if not any(holds(demand_under(breach, demand)) for breach in answer):
                continue
            out = True
            if len(probe.jobs) <= ASKED:
                self.waiting.remove((probe, demand))
                clauses = self.tables.all_clauses(probe)
            else:
                clauses = self.tables.some_clauses(probe, chosen)
            for clause in clauses:
                self.rule_out(clause, demand_under(clause.breach, demand))
        return out

    def _share_demands(self, chosen: frozenset[str], holds: Holds) -> list[Demand]:
        if self.front_demands is None or not holds("front-share"):
            return []
        found = []
        for front, whole, sign, share in self.front_demands:
            if front.lacks(chosen) or whole.lacks(chosen):
                continue
            has = front.at(chosen).value - share * whole.at(chosen).value
            counts = sign * self.ballast_counts
            found.append(Demand(counts * (1 - share), Fraction(-counts), -sign * has))
        return found

    def _on_target(self, found: Chosen, situation: Situation, rows: list[Row]) -> bool:
        """Whether the build without added ballast is light enough, or may be as far as is known; else it is cut off."""
        chosen = found.jobs
        if self.demands.target is not None:
            if self.weight.lacks(chosen) or self.weight.at(chosen).value <= self.demands.target:
                return True
            rows.append(self._but(chosen))
            return False
        if not self.near:
            return True
        if self.is_near(chosen):
            return True
        for index, column in self.near.items():
            watch = self.watches[index]
            if found.values[column] < 0.5:
                continue
            state = watch.state(chosen)
            edge, mass = watch.edge(state), watch.mass(situation)
            if edge is not None and (mass is None or not isinstance(edge, Fraction)):
                return True
            if mass is None or not isinstance(edge, Fraction):
                watch.not_near(self.program, column, watch.settling(chosen))
            elif not watch.cut_near(self.program, column, chosen, float(mass.value - edge)):
                watch.not_near(self.program, column, (chosen, frozenset(self.workshop.free) - chosen))
        return False
