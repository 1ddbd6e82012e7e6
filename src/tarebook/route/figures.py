"""What a choice of jobs comes to: money, hours, mass, and the room that it leaves at the limits of the class."""

from fractions import Fraction
from typing import NamedTuple

from tarebook.judge.limits import Which
from tarebook.route.ballast import Load
from tarebook.route.demands import Demands
from tarebook.route.masses import Amount
from tarebook.route.program import Form, Program, combined
from tarebook.route.taking_off import net_cost
from tarebook.route.watching import BallastColumns, Watch
from tarebook.route.workshop import Workshop


class Objective(NamedTuple):
    """What a stage makes least, in the program.

    Attributes:
        scale: how many of the form's steps make one of its unit.
        apart: whether the form takes whole numbers only.
        beside: what the form leaves out, in its unit.
    """

    form: Form
    scale: Fraction
    apart: bool
    beside: Fraction = Fraction(0)


class Room(NamedTuple):
    """How far a mass is on the right side of a limit, in kg; below zero on the wrong one."""

    clause: str
    which: Which
    margin: Fraction


class Figures:
    """The figures of a choice of jobs, exact; and as forms of the program, to be made least."""

    workshop: Workshop
    demands: Demands
    program: Program
    ballast: BallastColumns
    ballast_counts: int  # 1 where added ballast stays in when the car is weighed
    watches: list[Watch]
    weight: Amount
    new: list[str]  # the jobs that may be chosen and are not done yet

    @property
    def costs(self) -> dict[str, Fraction]:
        return {job: net_cost(self.workshop.inventory.jobs[job]) for job in self.new}

    @property
    def hours(self) -> dict[str, Fraction]:
        return {job: self.workshop.inventory.jobs[job].hours for job in self.new}

    def _forms(self) -> dict[str, Objective]:
        program, workshop = self.program, self.workshop
        jobs = [job for job in workshop.free if job != workshop.ballast_job]
        changed = program.missed(workshop.resting, set(jobs) - workshop.resting)
        ballast = program.only(program.column_of[workshop.ballast_job])
        mass = program.amount(self.weight)
        bare, grains = program.in_grains(self.weight)
        return {
            "cost": Objective(*program.scaled(self.costs), apart=True),
            "hours": Objective(*program.scaled(self.hours), apart=True),
            "mass": Objective(mass, Fraction(1), apart=False)
            if bare is None
            else Objective(bare, grains, True, self.weight.first),
            "total": Objective(
                combined((1, mass), (self.ballast_counts, program.only(self.ballast.mass))), Fraction(1), apart=False
            ),
            # Fewest jobs done or undone; of those without ballast, which is no job of the builder's.
            "changes": Objective(combined((2, changed), (1, ballast)), Fraction(1), apart=True),
        }

    @property
    def only_minima_want_ballast(self) -> bool:
        """Whether nothing asks for ballast in one place rather than another."""
        return not self.demands.wants_front_share and not any(watch.by_rear for watch in self.watches)

    def value(self, stage: str, chosen: frozenset[str], load: Load) -> Fraction:
        """What a stage makes least, exactly: money, hours, kg, or a number of changes."""
        if stage == "cost":
            return sum((cost for job, cost in self.costs.items() if job in chosen), Fraction(0))
        if stage == "hours":
            return sum((hours for job, hours in self.hours.items() if job in chosen), Fraction(0))
        if stage == "changes":
            ballast = {self.workshop.ballast_job} & chosen
            return Fraction(2 * len((chosen ^ self.workshop.resting) - ballast) + len(ballast))
        added = load.mass if stage == "total" and self.ballast_counts else Fraction(0)
        return self.weight.at(chosen).value + added

    def mass_of(self, chosen: frozenset[str]) -> Fraction | None:
        """The mass as the class weighs it, in kg, without added ballast; None where it is unknown."""
        return None if self.weight.lacks(chosen) else self.weight.at(chosen).value

    def margin_of(self, chosen: frozenset[str]) -> Fraction | None:
        """The least margin over the class's minima, in kg, without added ballast; None where there is none to say."""
        margins = []
        for watch in self.watches:
            if watch.question.which == "minimum":
                edge = watch.edge(watch.state(chosen))
                if isinstance(edge, Fraction) and not watch.amount.lacks(chosen):
                    margins.append(watch.amount.at(chosen).value - edge)
        return min(margins, default=None)

    def closest_of(self, chosen: frozenset[str]) -> Room | None:
        """The limit of the class that leaves the least room, without added ballast; None where none is known.

        How much ballast there may be is left aside: the route adds only what it must.
        """
        rooms = []
        situation = self.workshop.situation(chosen)
        for watch in self.watches:
            edge, mass = watch.edge(watch.state(chosen)), watch.mass(situation)
            question = watch.question
            if question.which != "ballast" and isinstance(edge, Fraction) and mass is not None:
                rooms.append(Room(question.cite.clause, question.which, watch.sign * (mass.value - edge)))
        return min(rooms, key=lambda room: room.margin, default=None)

    def over_target(self, chosen: frozenset[str]) -> Fraction | None:
        """How far a build without added ballast stays over the target, in kg; None where it reaches it, or none is."""
        mass = self.mass_of(chosen)
        if mass is None or self.demands.just_eligible:
            return None
        if self.demands.target is not None:
            over = [mass - self.demands.target]
        else:
            situation = self.workshop.situation(chosen)
            over = []
            for watch in self.watches:
                edge, weighed = watch.edge(watch.state(chosen)), watch.mass(situation)
                if watch.question.which == "minimum" and isinstance(edge, Fraction) and weighed is not None:
                    over.append(weighed.value - edge - watch.guard_at(weighed))
        return min(over) if over and min(over) > 0 else None

    def guard_of_minimum(self, chosen: frozenset[str]) -> Fraction | None:
        """The guard margin of the class's minimum after a choice, of several the least; None where there is none."""
        situation = self.workshop.situation(chosen)
        found = []
        for watch in self.watches:
            edge, mass = watch.edge(watch.state(chosen)), watch.mass(situation)
            if watch.question.which == "minimum" and isinstance(edge, Fraction) and mass is not None:
                found.append(watch.guard_at(mass))
        return min(found, default=None)

    def is_on_target(self, chosen: frozenset[str]) -> bool:
        """Whether the build without added ballast is as light as the target, or near enough to a minimum."""
        if self.demands.target is not None:
            mass = self.mass_of(chosen)
            return mass is not None and mass <= self.demands.target
        return self.is_near(chosen)

    def is_near(self, chosen: frozenset[str]) -> bool:
        """Whether the build without added ballast is no further over one of the minima than its guard margin.

        A minimum that hangs on what is not known counts at its worst.
        """
        situation = self.workshop.situation(chosen)
        for watch in self.watches:
            edge, mass = watch.edge(watch.state(chosen)), watch.mass(situation)
            if watch.question.which != "minimum" or mass is None or not isinstance(edge, Fraction):
                continue
            if mass.value - edge <= watch.guard_at(mass):
                return True
        return False
