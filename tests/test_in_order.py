"""Of all optimal solutions the first in order, against all solutions of small models."""

from __future__ import annotations

import random
from itertools import product

import pytest

from schedcomp.fit import in_order
from schedcomp.fit.in_order import first_in_order
from schedcomp.fit.solver import Model, Row, Solution, Unsolved, solve
from schedcomp.records import replace


def cover(seed: int) -> tuple[Model, list[int]]:
    """A small cover in which some columns cost nothing, some two, and some exclude each other."""
    chance = random.Random(seed)
    count = chance.randint(4, 9)
    costs = tuple(float(chance.choice((0, 1, 1, 1, 2))) for _ in range(count))
    rows = []
    for _ in range(chance.randint(2, 7)):
        members = chance.sample(range(count), chance.randint(1, 4))
        rows.append(Row(tuple((v, 1.0) for v in members), lower=1.0))
    one, other = chance.sample(range(count), 2)
    rows.append(Row(((one, 1.0), (other, 1.0)), upper=1.0))
    order = list(range(count))
    chance.shuffle(order)
    return Model(costs, tuple(rows)), order[: chance.randint(2, count)]


def solutions(model: Model) -> list[tuple[int, ...]]:
    """All solutions of least cost, one by one."""
    found = [
        values
        for values in product((0, 1), repeat=len(model.costs))
        if all(r.lower <= sum(c * values[v] for v, c in r.terms) <= r.upper for r in model.rows)
    ]
    cost = {
        values: sum(c * v for c, v in zip(model.costs, values, strict=True)) for values in found
    }
    return [values for values in found if cost[values] == min(cost.values())]


def stopped(model: Model) -> Solution | Unsolved:
    """As a solver that has to stop: the true bound, with the dearest values there are."""
    best = solve(model)
    dearest = solve(replace(model, costs=tuple(-cost for cost in model.costs)))
    if not isinstance(best, Solution) or not isinstance(dearest, Solution):
        return best
    return Solution(dearest.values, best.bound)


def test_what_a_stopped_solver_found_settles_only_what_its_bound_proves(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(in_order, "solve", stopped)
    for seed in range(60):
        check_first(seed)


@pytest.mark.parametrize("most", [None, 1])
def test_the_first_of_all_solutions_is_found(
    most: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`most` 1: the solver gives up on every question about more than one stretch at once."""

    def patient(model: Model) -> Solution | Unsolved:
        links = len(model.costs) - columns
        return solve(model) if most is None or not links else Unsolved(impossible=False)

    monkeypatch.setattr(in_order, "solve", patient)
    for seed in range(60):
        columns = len(cover(seed)[0].costs)
        check_first(seed)


def check_first(seed: int) -> None:
    model, order = cover(seed)
    every = solutions(model)
    found = solve(model)
    if not every:
        assert isinstance(found, Unsolved)
        return
    assert isinstance(found, Solution)
    first = first_in_order(model, order, found.values)
    best = max(tuple(values[v] for v in order) for values in every)
    assert tuple(round(first[v]) for v in order) == best, seed
