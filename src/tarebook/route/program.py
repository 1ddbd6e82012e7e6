"""The choice of jobs as a mixed-integer linear program: columns, rows, and what each row stands for."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, NamedTuple

from tarebook.route.clauses import Clause
from tarebook.route.flows import Flow
from tarebook.route.masses import Amount
from tarebook.weight.measured import Measured

INFINITE = float("inf")
MOST_GRAINS = 100_000  # to a kilogram
LOOSE = 1e-7  # kg: rows of masses give way by so much, as the exact check comes after


class Form(NamedTuple):
    """A constant plus a sum over columns."""

    constant: float
    terms: dict[int, float]

    def at(self, values: Sequence[float]) -> float:
        return self.constant + sum(weight * values[column] for column, weight in self.terms.items())


def combined(*parts: tuple[float, Form]) -> Form:
    """A weighted sum of forms."""
    constant, terms = 0.0, dict[int, float]()
    for weight, form in parts:
        constant += weight * form.constant
        for column, each in form.terms.items():
            terms[column] = terms.get(column, 0.0) + weight * each
    return Form(constant, {column: each for column, each in terms.items() if each})


def plain(constant: float) -> Form:
    return Form(constant, {})


class Row(NamedTuple):
    """`low` <= form <= `high`. `demand` names what asks for it; "" is never put aside."""

    form: Form
    low: float
    high: float
    demand: str


@dataclass(slots=True)
class Program:
    """Columns and rows. Columns of jobs are 0 or 1."""

    jobs: tuple[str, ...]
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    column_of: dict[str, int] = field(default_factory=dict)
    _arcs: dict[int, list[int]] = field(default_factory=dict)
    _kept: list[object] = field(default_factory=list)  # flows stay alive while their identity is a key
    _clauses: set[tuple[frozenset[str], frozenset[str], str]] = field(default_factory=set)

    def __post_init__(self) -> None:
        for job in self.jobs:
            self.column_of[job] = self.column(0.0, 1.0, whole=True)

    def column(self, low: float, high: float, *, whole: bool = False) -> int:
        self.lows.append(low)
        self.highs.append(high)
        self.whole.append(whole)
        return len(self.lows) - 1

    def only(self, column: int) -> Form:
        return Form(0.0, {column: 1.0})

    def row(self, form: Form, low: float = -INFINITE, high: float = INFINITE, demand: str = "") -> None:
        self.rows.append(Row(form, low, high, demand))

    def clause(self, clause: Clause, demand: str) -> bool:
        """Rule a combination out; False where that was done before."""
        key = (clause.chosen, clause.left, demand)
        if key in self._clauses:
            return False
        self._clauses.add(key)
        self.row(self.missed(clause.chosen, clause.left), low=1.0, demand=demand)
        return True

    def is_out(self, job: str) -> bool:
        """Whether a job is ruled out by itself."""
        return any(chosen == {job} and not left for chosen, left, _ in self._clauses)

    def missed(self, chosen: Iterable[str], left: Iterable[str]) -> Form:
        """By how many jobs a choice differs from having these chosen and those left."""
        terms: dict[int, float] = {}
        constant = 0.0
        for job in chosen:
            terms[self.column_of[job]] = -1.0
            constant += 1.0
        for job in left:
            terms[self.column_of[job]] = 1.0
        return Form(constant, terms)

    def ends(self, flow: Flow[Any], node: int) -> Form:
        """1 where the flow ends at a node, else 0."""
        if not flow.jobs:
            return plain(1.0)
        if len(flow.jobs) == 1:
            column = self.column_of[flow.jobs[0]]
            done, left = flow.next[(0, True)] == node, flow.next[(0, False)] == node
            if done and left:
                return plain(1.0)
            return Form(0.0, {column: 1.0}) if done else Form(1.0, {column: -1.0})
        arcs = self._arcs_of(flow)
        into = [column for arc, column in zip(flow.arcs, arcs, strict=True) if arc.after == node]
        return Form(0.0, dict.fromkeys(into, 1.0))

    def _arcs_of(self, flow: Flow[Any]) -> list[int]:
        """A column for each arc, with the rows that make a unit of flow take the way of the chosen jobs."""
        if id(flow) in self._arcs:
            return self._arcs[id(flow)]
        columns = [self.column(0.0, 1.0) for _ in flow.arcs]
        self._arcs[id(flow)] = columns
        self._kept.append(flow)
        balance: dict[int, dict[int, float]] = {}
        for arc, column in zip(flow.arcs, columns, strict=True):
            balance.setdefault(arc.before, {})[column] = 1.0
            balance.setdefault(arc.after, {})[column] = -1.0
        for node, terms in balance.items():
            if node not in flow.ends:
                out = 1.0 if node == 0 else 0.0
                self.row(Form(0.0, terms), out, out)
        for index, job in enumerate(flow.jobs):
            taken = {c: 1.0 for arc, c in zip(flow.arcs, columns, strict=True) if arc.job == index and arc.done}
            self.row(Form(0.0, {**taken, self.column_of[job]: -1.0}), 0.0, 0.0)
        return columns

    def amount(self, amount: Amount) -> Form:
        """A mass in kg."""
        return self._sum(amount, float(amount.constant.value), lambda mass: float(mass.value))

    def unknown(self, amount: Amount) -> Form:
        """1 or more after choices with which a mass is not known, else 0."""
        if amount.lacking is not None:
            return plain(1.0)
        lacking = [(block.flow, node) for block in amount.blocks for node in block.lacking]
        return combined(*((1, self.ends(flow, node)) for flow, node in lacking))

    def along(self, amount: Amount, constant: float, direction: Mapping[str, float]) -> Form:
        """What the sources of a mass's uncertainty add along a direction."""

        def projected(mass: Measured) -> float:
            return sum(share.u * direction[name] for name, share in mass.shares.items() if name in direction)

        return self._sum(amount, constant, projected)

    def _sum(self, amount: Amount, constant: float, read: Callable[[Measured], float]) -> Form:
        parts: list[tuple[float, Form]] = [(1.0, plain(constant))]
        for block in amount.blocks:
            for node, mass in block.brings.items():
                weight = read(mass)
                if weight:
                    parts.append((weight, self.ends(block.flow, node)))
        return combined(*parts)

    def scaled(self, weights: Mapping[str, Fraction]) -> tuple[Form, Fraction]:
        """A sum over chosen jobs in whole numbers, and how many of them make one."""
        factor = Fraction(1)
        for weight in weights.values():
            factor = Fraction(math.lcm(factor.numerator, weight.denominator))
        terms = {self.column_of[job]: float(weight * factor) for job, weight in weights.items() if weight}
        return Form(0.0, terms), factor

    def in_grains(self, amount: Amount) -> tuple[Form | None, Fraction]:
        """A mass, its constant left out, in units so small that every end brings a whole number of them; and how many
        of them make a kilogram. None where they would be too small for the solver."""
        grains = 1
        for block in amount.blocks:
            values = [mass.value for mass in block.brings.values()]
            for value in values:
                grains = math.lcm(grains, (value - values[0]).denominator)
        if grains > MOST_GRAINS:
            return None, Fraction(1)
        parts: list[tuple[float, Form]] = []
        for block in amount.blocks:
            first = next(iter(block.brings.values())).value
            for node, mass in block.brings.items():
                if mass.value != first:
                    parts.append((float((mass.value - first) * grains), self.ends(block.flow, node)))
        return Form(0.0, combined(*parts).terms), Fraction(grains)
