"""Hands a program to the solver, to a gap of nothing, and reads back which jobs it chose."""

import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, NamedTuple

from tarebook.route.program import INFINITE, Form, Program, Row


class Chosen(NamedTuple):
    """A choice of jobs, and the values of all columns."""

    jobs: frozenset[str]
    values: list[float]


class TimeUp(Exception):
    """The solver came to no proven end in the time that it has; `best` is the best choice it had by then, if any."""

    def __init__(self, best: Chosen | None = None) -> None:
        super().__init__("the time is up")
        self.best = best


def solve(
    program: Program,
    objective: Form,
    more: list[Row],
    holds: Callable[[str], bool],
    seconds: float,
    gap: float = 0.0,
    *,
    presolve: bool = True,
) -> Chosen | None:
    """The choice that makes the objective least; None if none keeps the rows whose demand holds. Raises TimeUp.

    With a `gap`, one that is less than so much from the least: enough to be the least where the values that the
    objective can take lie that far apart. `presolve` is about how fast it is, nothing else.
    """
    if seconds <= 0:
        raise TimeUp
    with _quiet():
        rows = [row for row in (*program.rows, *more) if holds(row.demand)]
        values, proven = _run(program, objective, rows, seconds, gap, presolve)
    if values is None:
        if proven:
            return None
        raise TimeUp
    jobs = frozenset(job for job in program.jobs if values[program.column_of[job]] > 0.5)
    chosen = Chosen(jobs, values)
    if not proven:
        raise TimeUp(chosen)
    return chosen


def _run(
    program: Program, objective: Form, rows: list[Row], seconds: float, gap: float, presolve: bool
) -> tuple[list[float] | None, bool]:
    """The values of the columns, if there are any; and whether nothing better is left.

    The solver is given no choice to start from: with one, it has called a choice the best that was not.
    """
    import highspy

    columns = len(program.lows)
    lp: Any = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = columns, len(rows)
    costs = [0.0] * columns
    for column, weight in objective.terms.items():
        costs[column] = weight
    lp.col_cost_ = costs
    lp.col_lower_, lp.col_upper_ = program.lows, program.highs
    lp.row_lower_ = [row.low - row.form.constant for row in rows]
    lp.row_upper_ = [row.high - row.form.constant for row in rows]
    starts, index, value = [0], list[int](), list[float]()
    for row in rows:
        index.extend(row.form.terms)
        value.extend(row.form.terms.values())
        starts.append(len(index))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = starts, index
    lp.a_matrix_.value_ = value
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in program.whole]
    make: Any = highspy.Highs
    solver = make()
    for name, setting in (
        ("output_flag", False),
        ("presolve", "choose" if presolve else "off"),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", gap),
        ("mip_feasibility_tolerance", 1e-9),
        ("primal_feasibility_tolerance", 1e-9),
        ("threads", 1),
        ("random_seed", 2),
        ("time_limit", min(seconds, INFINITE)),
    ):
        solver.setOptionValue(name, setting)
    solver.passModel(lp)
    solver.run()
    status = solver.getModelStatus()
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return None, True
    if status == highspy.HighsModelStatus.kOptimal:
        return list(solver.getSolution().col_value), True
    feasible = solver.getInfo().primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
    return (list(solver.getSolution().col_value) if feasible else None), False


@contextmanager
def _quiet() -> Iterator[None]:
    """The solver writes to descriptor 1 even when told not to, so that leads nowhere meanwhile."""
    sys.stdout.flush()
    kept = os.dup(1)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(nowhere)
        os.close(kept)
