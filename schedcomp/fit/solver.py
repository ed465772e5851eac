"""The one door to the integer solver: a small model in, proven values and bound out."""

from __future__ import annotations

import math
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np

from schedcomp.records import Record, field

SEED = 1
MOST_NODES = 2000
ROUNDING = 1e-6
PRICE_ERROR = 1e-4
"""More than the solver's prices and costs can be off by; costs are whole numbers."""
PRIMAL = 4
"""The simplex method that starts from values that are allowed; of both the quicker one here."""


class Row(Record):
    """lower <= sum of coefficient * variable <= upper."""

    terms: tuple[tuple[int, float], ...]
    lower: float = -math.inf
    upper: float = math.inf


class Model(Record):
    """Minimise the costs over variables that are 0 or 1, or whole numbers up to `uppers`.

    `fixed` gives some of them a value.
    """

    costs: tuple[float, ...]
    rows: tuple[Row, ...]
    uppers: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))
    fixed: Mapping[int, float] = field(default_factory=lambda: MappingProxyType({}))


class Solution(Record):
    """Values of the variables, and the proven lower bound on the cost, rounded up."""

    values: tuple[float, ...]
    bound: int

    def cost(self, model: Model) -> int:
        """What the values cost in their model, whose costs are whole numbers."""
        return round(sum(c * v for c, v in zip(model.costs, self.values, strict=True)))


class Unsolved(Record):
    """No values: none satisfy the model (`impossible`), or none were found in time."""

    impossible: bool


class Relaxed(Record):
    """Values of the variables between their limits, and what they cost."""

    values: tuple[float, ...]
    cost: float


def solve(model: Model) -> Solution | Unsolved:
    """The optimum of a model.

    Gap 0, one thread, fixed seed. A model that needs more than MOST_NODES branchings comes back
    with the best values found by then and a bound below their cost; so the answer depends on no
    clock.
    """
    import highspy

    if not model.costs:
        holds = all(row.lower <= 0.0 <= row.upper for row in model.rows)
        return Solution((), 0) if holds else Unsolved(impossible=True)
    solver = _solver()
    solver.passModel(_lp(model))
    solver.run()
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Unsolved(impossible=True)
    stopped = status == highspy.HighsModelStatus.kSolutionLimit
    if not stopped and status != highspy.HighsModelStatus.kOptimal:
        raise RuntimeError(f"the solver stopped with {solver.modelStatusToString(status)}")
    if solver.getInfo().primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Unsolved(impossible=False)
    bound = math.ceil(solver.getInfo().mip_dual_bound - ROUNDING)
    return Solution(tuple(solver.getSolution().col_value), bound)


def relax(model: Model) -> Relaxed | None:
    """The optimum where variables need not be whole, None if there is none.

    Nothing whole costs less.
    """
    import highspy

    solver = _relaxation(model)
    status = solver.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return None
    if status != highspy.HighsModelStatus.kOptimal:
        raise RuntimeError(f"the solver stopped with {solver.modelStatusToString(status)}")
    cost = float(solver.getInfo().objective_function_value)
    return Relaxed(tuple(solver.getSolution().col_value), cost)


def least_cost(model: Model) -> int:
    """A whole number that no solution costs less than, sooner than `solve` tells; 0 if there is
    none at all.
    """
    found = relax(model)
    return 0 if found is None else math.ceil(found.cost - ROUNDING)


def decided(model: Model, most: float) -> dict[int, float]:
    """Variables that have the same value in every solution that costs at most `most`.

    The reduced cost of a variable in the relaxation is what leaving its limit costs at least, for
    each whole step away from it.
    """
    import highspy

    solver = _relaxation(model)
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return {}
    room = most - float(solver.getInfo().objective_function_value) + PRICE_ERROR
    solution = solver.getSolution()
    prices, values = np.array(solution.col_dual), np.array(solution.col_value)
    beyond = np.abs(prices) > room
    return {v: float(round(values[v])) for v in np.flatnonzero(beyond).tolist()}


def _relaxation(model: Model) -> Any:
    """The solver after the model without whole numbers."""
    solver = _solver()
    solver.setOptionValue("simplex_strategy", PRIMAL)
    lp = _lp(model)
    lp.integrality_ = []
    solver.passModel(lp)
    solver.run()
    return solver


def _solver() -> Any:  # highspy's own types do not cover its options
    import highspy

    solver: Any = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, value in (
        ("output_flag", False),
        ("log_to_console", False),
        ("threads", 1),
        ("random_seed", SEED),
        ("mip_rel_gap", 0.0),
        ("mip_abs_gap", 0.0),
        ("mip_max_nodes", MOST_NODES),
    ):
        solver.setOptionValue(option, value)
    return solver


def _lp(model: Model) -> Any:  # highspy's own types do not cover its fields
    import highspy

    columns = len(model.costs)
    lp: Any = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = columns, len(model.rows)
    lp.col_cost_ = np.array(model.costs)
    lower, upper = np.zeros(columns), np.ones(columns)
    for column, value in model.uppers.items():
        upper[column] = value
    for column, value in model.fixed.items():
        lower[column] = upper[column] = value
    lp.col_lower_, lp.col_upper_ = lower, upper
    lp.row_lower_ = np.array([row.lower for row in model.rows])
    lp.row_upper_ = np.array([row.upper for row in model.rows])
    lp.integrality_ = [highspy.HighsVarType.kInteger] * columns
    matrix = lp.a_matrix_
    matrix.format_ = highspy.MatrixFormat.kRowwise
    matrix.start_ = np.cumsum([0, *(len(row.terms) for row in model.rows)])
    matrix.index_ = np.array([c for row in model.rows for c, _ in row.terms], dtype=np.int32)
    matrix.value_ = np.array([v for row in model.rows for _, v in row.terms])
    return lp
