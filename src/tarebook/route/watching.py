"""One limit of a class in the program: its rows, and the cuts that the guard margin of a choice asks for."""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from tarebook.judge.findings import FINE
from tarebook.judge.limits import WHICH_NAMES, LimitQuestion, Which, judge_margin
from tarebook.judge.situation import Situation
from tarebook.judge.view import View
from tarebook.judge.wording import listed, mass_text
from tarebook.route.ballast import Demand, Load
from tarebook.route.certificates import Certificates
from tarebook.route.clauses import Breach, Clause, open_demand
from tarebook.route.edges import edge_of, hangs_on
from tarebook.route.guard import Guard, guard_of
from tarebook.route.masses import Amount
from tarebook.route.program import INFINITE, LOOSE, Form, Program, Row, combined, plain
from tarebook.route.reads import Reads
from tarebook.route.states import State, cover, literals_of
from tarebook.route.tables import Tables
from tarebook.route.workshop import Workshop
from tarebook.weight.measured import Measured

MOST_EAGER = 6  # jobs that a limit's value may hang on for all of its values to be written out at once
CLEAR = 1e-6  # kg: by how much a cut must clear what it cuts off


class AtWorst(NamedTuple):
    """A limit in kg that hangs on what is not known, at the worst that it can be, and the margin that is left then."""

    clause: str
    which: Which
    limit: Fraction
    margin: Fraction
    facts: tuple[str, ...]


@dataclass(slots=True, eq=False)
class Watch:
    """A limit, the amount that it is about, and what added ballast does to that amount.

    Attributes:
        jobs: the jobs that the limit itself hangs on: whether it applies, and where it lies.
        by_ballast, by_rear: how much of a kilogram of added ballast counts, and of a kilogram of it on the rear axle.
        for_sure, of_worst: a limit that hangs on what is not known is watched twice: for what it asks for sure, and at
            the worst that it can be, which is not decided.
        unknown: forms of the program, above 0 after choices with which the mass is not known for what the amount does
            not tell.
        blind: the amount is too tangled to be a sum; `jobs` are then all that it hangs on, and nothing else is cut.
    """

    question: LimitQuestion
    amount: Amount
    guard: Guard
    jobs: tuple[str, ...]
    workshop: Workshop
    by_ballast: int
    by_rear: int
    confidence: float
    reads: Reads
    certificates: Certificates
    blind: bool = False
    for_sure: bool = False
    of_worst: bool = False
    unknown: list[Form] = field(default_factory=list)
    _edges: dict[State, Fraction | Breach | None] = field(default_factory=dict)

    @property
    def sign(self) -> int:
        return 1 if self.question.lower else -1

    @property
    def demand(self) -> str:
        if self.of_worst:
            return open_demand(self.question.cite.clause)
        return f"limit {self.question.cite.clause} {self.question.which}"

    def state(self, chosen: frozenset[str]) -> State:
        return tuple(job in chosen for job in self.jobs)

    def edge(self, state: State) -> Fraction | Breach | None:
        """Where the limit lies in a state of its jobs: see `edge_of`."""
        if state not in self._edges:
            chosen = {job for job, done in zip(self.jobs, state, strict=True) if done}
            rest = self.workshop.resting - set(self.jobs)
            situation = self.workshop.situation(rest | chosen)
            self._edges[state] = edge_of(self.question, situation, strict=not self.for_sure)
        return self._edges[state]

    def breach(self, situation: Situation) -> frozenset[Breach]:
        """What keeps the limit from being said, if anything does."""
        edge = self.edge(self.state(frozenset(situation.configuration.jobs)))
        return frozenset((edge,)) if isinstance(edge, Breach) else frozenset()

    def at_worst(self, chosen: frozenset[str], load: Load, rear: Fraction) -> AtWorst | None:
        """The limit as it was counted where it lies hangs on what is not known, ballast and all; else None."""
        if self.for_sure:
            return None
        situation = self.workshop.situation(chosen)
        facts = hangs_on(self.question, situation)
        edge, mass = self.edge(self.state(chosen)), self.mass(situation)
        if not facts or not isinstance(edge, Fraction) or mass is None:
            return None
        weighs = mass.value + self.by_ballast * load.mass + self.by_rear * rear
        return AtWorst(self.question.cite.clause, self.question.which, edge, self.sign * (weighs - edge), facts)

    def against(self, chosen: frozenset[str]) -> list[Breach]:
        """How a choice misses the limit, added ballast left aside."""
        situation = self.workshop.situation(chosen)
        outcome = self.question.outcome(View(situation, self.question.prepared.counts, {}))
        cite = self.question.cite
        if outcome is not None:
            sentence = self.question.sentence(outcome, situation)
            return [] if outcome.bad == FINE else [Breach(cite.clause, sentence, cite.says)]
        edge, facts = self.edge(self.state(chosen)), hangs_on(self.question, situation)
        if not facts or not isinstance(edge, Fraction):
            return []
        limit = mass_text(float(edge), self.workshop.car.file.units.mass)
        sentence = (
            f"Where the {WHICH_NAMES[self.question.which].format('')} lies hangs on {listed(facts)}, which the car file"
            f" does not state; at worst it is {limit}."
        )
        return [Breach(cite.clause, sentence, cite.says, undecided=self.of_worst, facts=facts)]

    def mass(self, situation: Situation) -> Measured | None:
        """The mass that the limit is compared with, added ballast left aside; None where it is unknown."""
        answer = self.question.mass(View(situation, self.question.prepared.counts, {}))
        return None if answer is None else answer.mass

    def margin(self, program: Program, edge: Fraction, ballast: "BallastColumns") -> Form:
        """By how much the limit is kept, in kg."""
        return combined(
            (self.sign, program.amount(self.amount)),
            (self.sign * self.by_ballast, program.only(ballast.mass)),
            (self.sign * self.by_rear, program.only(ballast.rear)),
            (-self.sign, plain(float(edge))),
        )

    def _worst(self, edge: Fraction, ballast: "BallastColumns") -> float:
        """A bound below on that margin."""
        low, high = self.amount.span()
        if self.sign > 0:
            return float(low - edge)
        return float(edge - high) - (ballast.most if self.by_ballast or self.by_rear else 0.0)

    def values(self, tables: Tables, *, looser: bool = False) -> list[tuple[Fraction, frozenset[str], frozenset[str]]]:
        """The values of the limit, each with jobs chosen and left that bring it about, or a stricter one (a looser)."""
        if len(self.jobs) > MOST_EAGER:
            return []
        states = {state: self.edge(state) for state in tables.states(self.jobs)}
        found = []
        for edge in sorted({each for each in states.values() if isinstance(each, Fraction)}):
            mine = [state for state, each in states.items() if each == edge]

            def may_hold(state: State, edge: Fraction = edge) -> bool:
                if state not in states:
                    return True
                other = states[state]
                if other is None:
                    return looser
                return isinstance(other, Breach) or self.sign * (other - edge) * (-1 if looser else 1) >= 0

            found += [(edge, *self.literals(cube)) for cube in cover(mine, may_hold)]
        return found

    def silent(self, tables: Tables) -> list[tuple[frozenset[str], frozenset[str]]]:
        """Jobs chosen and left after which the limit does not apply."""
        if len(self.jobs) > MOST_EAGER:
            return []
        states = {state: self.edge(state) for state in tables.states(self.jobs)}
        cubes = cover((each for each, edge in states.items() if edge is None), lambda state: states.get(state) is None)
        return [self.literals(cube) for cube in cubes]

    def literals(self, cube: tuple[bool | None, ...]) -> tuple[frozenset[str], frozenset[str]]:
        return literals_of(self.jobs, cube)

    def safe(self, program: Program, ballast: "BallastColumns", tables: Tables) -> list[Row]:
        """A minimum at its strictest, with the most guard of all choices: whatever keeps this keeps the limit."""
        edges = [edge for edge, _, _ in self.values(tables)]
        if self.question.which != "minimum" or not edges:
            return []
        margin = self.margin(program, max(edges), ballast)
        return [Row(margin, self.guard.most + CLEAR, INFINITE, self.demand)]

    def settling(self, chosen: frozenset[str]) -> tuple[frozenset[str], frozenset[str]]:
        """Jobs chosen and left, of a choice, that leave the limit where it is."""
        if len(self.jobs) <= MOST_EAGER:
            return self.literals(self.state(chosen))
        return self.certificates.literals(self.reads, self.workshop.situation(chosen))

    def add_row(
        self,
        program: Program,
        ballast: "BallastColumns",
        edge: Fraction,
        literals: tuple[frozenset[str], frozenset[str]],
        guard: Form | None = None,
    ) -> None:
        """The limit at one of its values, with the least guard of all choices or with another bound below on it.

        After choices with which the mass is not known it says nothing: clauses of their own rule those out.
        """
        asked = plain(self.guard.least) if guard is None else guard
        margin = self.margin(program, edge, ballast)
        away = max(0.0, (self.guard.least if guard is None else self.guard.most) - self._worst(edge, ballast)) + 1.0
        missed, unknown = program.missed(*literals), self._unknown(program)
        program.row(combined((1, margin), (-1, asked), (away, missed), (away, unknown)), low=-LOOSE, demand=self.demand)

    def _unknown(self, program: Program) -> Form:
        """Above 0 after choices with which the mass is not known."""
        return combined((1, program.unknown(self.amount)), *((1, form) for form in self.unknown))

    def cut(self, program: Program, ballast: "BallastColumns", chosen: frozenset[str], values: list[float]) -> bool:
        """Cut off a choice, with the ballast that it was given, that is too close to the limit. False if nothing is
        gained by that: the choice is too close by less than the solver can tell."""
        state = self.state(chosen)
        edge = self.edge(state)
        assert isinstance(edge, Fraction)
        literals = self.settling(chosen)
        if self.blind:
            return program.clause(Clause(*literals, Breach(self.question.cite.clause, "The limit fails.")), self.demand)
        margin = self.margin(program, edge, ballast).at(values)
        return any(
            [
                self._tangent(program, ballast, chosen, edge, literals, margin),
                self._steps(program, ballast, chosen, edge, literals, margin),
            ]
        )

    def _tangent(
        self,
        program: Program,
        ballast: "BallastColumns",
        chosen: frozenset[str],
        edge: Fraction,
        literals: tuple[frozenset[str], frozenset[str]],
        margin: float,
    ) -> bool:
        """u is convex in the shares, so its tangent bounds it from below everywhere."""
        shares = self.guard.shares_at(chosen)
        u = sum(share * share for share in shares.values()) ** 0.5
        least = self.guard.least_point()
        if least * u <= margin + CLEAR or u <= 0.0:
            return False
        direction = {name: least * share / u for name, share in shares.items()}
        along = program.along(self.amount, self.guard.constant_along(direction), direction)
        self.add_row(program, ballast, edge, literals, along)
        return True

    def _steps(
        self,
        program: Program,
        ballast: "BallastColumns",
        chosen: frozenset[str],
        edge: Fraction,
        literals: tuple[frozenset[str], frozenset[str]],
        margin: float,
    ) -> bool:
        """With some flows fixed as they are, the guard is at least so much: as few flows as that takes."""
        order = self.guard.blocks_by_influence()
        fixed = _fewest(order, lambda few: self.guard.least_with(few, chosen) > margin + CLEAR)
        if fixed is None:
            return False
        least = self.guard.least_with(fixed, chosen)
        missed = self._missed(program, fixed, chosen)
        guard = combined((1, plain(least)), (-(least - self.guard.least), missed))
        self.add_row(program, ballast, edge, literals, guard)
        return True

    def _missed(self, program: Program, fixed: list[int], chosen: frozenset[str]) -> Form:
        """How many of these blocks end otherwise than a choice has them."""
        ends = [(block.flow, block.flow.end(chosen)) for block in (self.amount.blocks[index] for index in fixed)]
        return combined((len(ends), plain(1.0)), *((-1, program.ends(flow, end)) for flow, end in ends))

    def add_near_row(
        self,
        program: Program,
        near: int,
        edge: Fraction,
        literals: tuple[frozenset[str], frozenset[str]],
        bound: Form | None = None,
    ) -> None:
        """Where the column `near` is 1, the margin without added ballast is at most the guard."""
        margin = combined((1, program.amount(self.amount)), (-1, plain(float(edge))))
        most = plain(self.guard.most) if bound is None else bound
        away = max(0.0, float(self.amount.span()[1] - edge) - self.guard.least) + 1.0
        apart = combined((1, program.missed(*literals)), (1, plain(1.0)), (-1, program.only(near)))
        unknown = self._unknown(program)
        program.row(combined((1, margin), (-1, most), (-away, apart), (-away, unknown)), high=LOOSE, demand="target")

    def not_near(self, program: Program, near: int, literals: tuple[frozenset[str], frozenset[str]]) -> None:
        """After these jobs the limit does not apply, so there is nothing to be near to."""
        apart = combined((1, program.missed(*literals)), (1, plain(1.0)), (-1, program.only(near)))
        program.row(apart, low=1.0, demand="target")

    def cut_near(self, program: Program, near: int, chosen: frozenset[str], margin: float) -> bool:
        """Cut off a choice that is not as near to the minimum as it makes out: see `cut`."""
        order = self.guard.blocks_by_influence()
        fixed = _fewest(order, lambda few: self.guard.most_with(few, chosen) < margin - CLEAR)
        edge = self.edge(self.state(chosen))
        if fixed is None or not isinstance(edge, Fraction):
            return False
        most = self.guard.most_with(fixed, chosen)
        bound = combined((1, plain(most)), (self.guard.most - most, self._missed(program, fixed, chosen)))
        self.add_near_row(program, near, edge, self.settling(chosen), bound)
        return True

    def kept(self, mass: Measured, edge: Fraction) -> bool:
        """Whether the judge finds that a mass keeps the limit."""
        margin = self.sign * (mass.value - edge)
        return judge_margin(margin, mass.u, mass.degrees, self.confidence)[0] == FINE

    def ballast_demand(self, mass: Measured, edge: Fraction) -> Demand:
        """What the limit asks of ballast after a choice that weighs so much without it."""
        margin, guard = self.sign * (mass.value - edge), self.guard_at(mass)
        if self.kept(mass, edge):
            guard = min(guard, margin)
        return Demand(Fraction(self.sign * self.by_ballast), Fraction(self.sign * self.by_rear), guard - margin)

    def guard_at(self, mass: Measured) -> Fraction:
        """The guard that a mass needs, rounded up by less than the solver can tell."""
        guard = guard_of(mass, self.confidence)
        return Fraction(guard + abs(guard) * 1e-9)


@dataclass(frozen=True, slots=True)
class BallastColumns:
    """The columns of added ballast: whether, how much, what of it the rear axle carries; and how much at most."""

    job: int
    mass: int
    rear: int
    most: float


def _fewest(order: list[int], enough: Callable[[list[int]], bool]) -> list[int] | None:
    """The shortest beginning of a list that is enough; None where not even the whole is."""
    if not enough(order):
        return None
    low, high = 0, len(order)
    while low < high:
        middle = (low + high) // 2
        if enough(order[:middle]):
            high = middle
        else:
            low = middle + 1
    return order[:low]
