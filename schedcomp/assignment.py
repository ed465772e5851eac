"""Who takes which place: the assignment of least total cost, exactly."""

from __future__ import annotations

from collections.abc import Sequence

_FAR = 1 << 62


def least_cost_assignment(costs: Sequence[Sequence[int]]) -> tuple[int, ...]:
    """A column of its own for every row, with the least sum of `costs[row][column]`.

    There must be as many columns as rows or more. The shortest augmenting path with potentials:
    row after row finds its place, and those placed before move where that costs least.
    """
    rows, columns = len(costs), len(costs[0]) if costs else 0
    if rows > columns:
        raise ValueError("fewer places than there are to be placed")
    # Column 0 is where a row waits that has no place yet; rows count from 1, 0 is nobody.
    of_row, of_column = [0] * (rows + 1), [0] * (columns + 1)
    taken_by = [0] * (columns + 1)
    for row in range(1, rows + 1):
        taken_by[0] = row
        came_from = _path(costs, of_row, of_column, taken_by)
        column = next(c for c in came_from if not taken_by[c])
        while column:
            before = came_from[column]
            taken_by[column] = taken_by[before]
            column = before
    places = {row: column - 1 for column, row in enumerate(taken_by) if row and column}
    return tuple(places[row] for row in range(1, rows + 1))


def _path(
    costs: Sequence[Sequence[int]], of_row: list[int], of_column: list[int], taken_by: list[int]
) -> dict[int, int]:
    """For every column reached the one before it, ending in a free one; potentials are updated."""
    columns = len(of_column) - 1
    nearest = [_FAR] * (columns + 1)
    before = [0] * (columns + 1)
    visited = [0]
    open_columns = list(range(1, columns + 1))
    came_from: dict[int, int] = {}
    at = 0
    while taken_by[at]:
        row = taken_by[at]
        for column in open_columns:
            slack = costs[row - 1][column - 1] - of_row[row] - of_column[column]
            if slack < nearest[column]:
                nearest[column], before[column] = slack, at
        following = min(open_columns, key=lambda c: (nearest[c], c))
        step = nearest[following]
        for column in visited:
            of_row[taken_by[column]] += step
            of_column[column] -= step
        for column in open_columns:
            nearest[column] -= step
        open_columns.remove(following)
        visited.append(following)
        came_from[following] = before[following]
        at = following
    return came_from
