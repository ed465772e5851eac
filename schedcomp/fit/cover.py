"""Exact minimum set cover, with a canonical choice among equal optima.

Columns are given in canonical order as bit sets of rows. What reductions leave over is solved by
HiGHS piece by piece, with gap 0, one thread and a fixed seed; the lexicographically first optimum
is then fixed column by column under the same proven bound, so the answer does not depend on the
solver's version, seed or order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from schedcomp.fit.solver import Model, Row, solve


@dataclass(frozen=True, slots=True)
class Cover:
    """Chosen columns in order, and a proven lower bound on how many any cover needs."""

    chosen: tuple[int, ...]
    bound: int


@dataclass(frozen=True, slots=True)
class _Table:
    """Columns still in play as {column: rows}; every row of `rows` is covered by one of them."""

    columns: dict[int, int]
    rows: int


def minimum_cover(rows: int, columns: Sequence[int], *, canonical: bool = True) -> Cover:
    """The fewest columns that cover all `rows` (a bit set, as each column is).

    Every row must be covered by some column. `canonical` False: any optimum, for asking only how
    many.
    """
    table, chosen = _reduced(_Table(dict(enumerate(columns)), rows))
    bound = len(chosen)
    for piece in _pieces(table):
        part = _solved(piece, canonical)
        chosen += part.chosen
        bound += part.bound
    return Cover(tuple(sorted(chosen)), bound)


def _reduced(table: _Table) -> tuple[_Table, list[int]]:
    """Without columns and rows that do not matter; columns that every cover needs are chosen.

    A column dies if another in play covers its rows too (of equal ones the first stays); a row
    dies if every column that covers some other row covers it as well.
    """
    chosen: list[int] = []
    while True:
        columns = _without_dominated({c: r & table.rows for c, r in table.columns.items()})
        by_row = _by_row(columns, table.rows)
        essential = sorted({cs.bit_length() - 1 for cs in by_row.values() if cs.bit_count() == 1})
        if essential:
            chosen += essential
            left = table.rows
            for column in essential:
                left &= ~columns.pop(column)
            table = _Table(columns, left)
            continue
        needed = _needed_rows(by_row)
        if needed == table.rows and columns == table.columns:
            return table, chosen
        table = _Table(columns, needed)


def _without_dominated(columns: dict[int, int]) -> dict[int, int]:
    """The columns no other column contains."""
    kept: dict[int, int] = {}
    by_row: dict[int, list[int]] = {}
    for column, rows in sorted(columns.items(), key=lambda item: (-item[1].bit_count(), item[0])):
        if not rows:
            continue
        rivals = min((by_row.get(row, []) for row in _bits(rows)), key=len)
        if any(rows & ~kept[rival] == 0 for rival in rivals):
            continue
        kept[column] = rows
        for row in _bits(rows):
            by_row.setdefault(row, []).append(column)
    return dict(sorted(kept.items()))


def _by_row(columns: dict[int, int], rows: int) -> dict[int, int]:
    """For each row the bit set of columns that cover it."""
    found = dict.fromkeys(_bits(rows), 0)
    for column, covered in columns.items():
        for row in _bits(covered & rows):
            found[row] |= 1 << column
    return found


def _needed_rows(by_row: dict[int, int]) -> int:
    """Rows not implied by another one; of rows with equal columns the first stays."""
    needed = 0
    kept: list[int] = []
    for row, columns in sorted(by_row.items(), key=lambda item: (item[1].bit_count(), item[0])):
        if not any(other & ~columns == 0 for other in kept):
            kept.append(columns)
            needed |= 1 << row
    return needed


def _pieces(table: _Table) -> Iterator[_Table]:
    """Parts that share no row, each solved on its own."""
    left = dict(table.columns)
    while left:
        first, rows = next(iter(left.items()))
        members = {first}
        grown = True
        while grown:
            grown = False
            for column, covered in left.items():
                if column not in members and covered & rows:
                    members.add(column)
                    rows |= covered
                    grown = True
        yield _Table({c: left[c] for c in sorted(members)}, rows)
        for column in members:
            del left[column]


def _solved(piece: _Table, canonical: bool) -> Cover:
    names = list(piece.columns)
    by_row = _by_row({i: piece.columns[name] for i, name in enumerate(names)}, piece.rows)
    cover_rows = tuple(
        Row(tuple((i, 1.0) for i in _bits(columns)), lower=1.0) for columns in by_row.values()
    )
    model = Model(costs=(1.0,) * len(names), rows=cover_rows)
    found = solve(model)
    assert found is not None, "every row is covered by some column"
    chosen = [i for i, value in enumerate(found.values) if value > 0.5]
    if canonical and found.bound == len(chosen):
        chosen = first_in_order(model, len(names), chosen)
    return Cover(tuple(names[i] for i in chosen), found.bound)


def first_in_order(model: Model, columns: int, chosen: list[int]) -> list[int]:
    """The lexicographically first optimum among the first `columns` variables of a model.

    `chosen` is any optimum. Ask again and again whether some optimum has a column before the next
    one of the optimum at hand; each answer fixes a column or brings an earlier optimum.
    """
    best = sorted(chosen)
    fixed: list[int] = []
    undecided = 0
    while len(fixed) < len(chosen):
        target = best[len(fixed)]
        better = None
        if target > undecided:
            better = _optimum_with(model, columns, len(chosen), fixed, undecided, target)
        if better is None:
            fixed.append(target)
            undecided = target + 1
        else:
            best = better
    return fixed


def _optimum_with(
    model: Model, columns: int, count: int, fixed: list[int], undecided: int, target: int
) -> list[int] | None:
    """An optimum with the fixed columns, no other one before `undecided`, one before `target`."""
    one_earlier = Row(tuple((c, 1.0) for c in range(undecided, target)), lower=1.0)
    as_few = Row(tuple((c, 1.0) for c in range(columns)), lower=float(count), upper=float(count))
    values = {c: 1.0 if c in fixed else 0.0 for c in range(undecided)}
    rest = len(model.costs) - columns
    weights = (*(float(c) for c in range(columns)), *(0.0 for _ in range(rest)))
    found = solve(Model(costs=weights, rows=(*model.rows, one_earlier, as_few), fixed=values))
    if found is None:
        return None
    return [c for c in range(columns) if found.values[c] > 0.5]


def _bits(value: int) -> Iterator[int]:
    while value:
        low = value & -value
        yield low.bit_length() - 1
        value ^= low
