"""Exact minimum set cover, with a canonical choice among equal optima.

Columns are given in canonical order as bit sets of rows. What reductions leave over is solved by
HiGHS piece by piece, with gap 0, one thread and a fixed seed; the lexicographically first optimum
is then fixed column by column under the same proven bound, so the answer does not depend on the
solver's version, seed or order.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set

from schedcomp.fit.solver import Model, Row, Solution, decided, solve
from schedcomp.records import Record, replace


class Cover(Record):
    """Chosen columns in order, and a proven lower bound on how many any cover needs."""

    chosen: tuple[int, ...]
    bound: int


class _Table(Record):
    """Columns still in play as {column: rows}; every row of `rows` is covered by one of them."""

    columns: dict[int, int]
    rows: int


class Reduced(Record):
    """A cover to find: columns that any one needs, and the parts that are left to be solved."""

    needed: tuple[int, ...]
    pieces: tuple[_Table, ...]

    @staticmethod
    def of(rows: int, columns: Sequence[int]) -> Reduced:
        """Every row of `rows` must be covered by some column (bit sets)."""
        table, needed = _reduced(_Table(dict(enumerate(columns)), rows))
        return Reduced(tuple(needed), tuple(_pieces(table)))

    def minimum(self, *, canonical: bool) -> Cover:
        """The fewest columns; `canonical` False: any optimum, for asking only how many."""
        parts = [_solved(piece, canonical) for piece in self.pieces]
        chosen = [*self.needed, *(column for part in parts for column in part.chosen)]
        return Cover(tuple(sorted(chosen)), len(self.needed) + sum(part.bound for part in parts))


def minimum_cover(rows: int, columns: Sequence[int], *, canonical: bool = True) -> Cover:
    """The fewest columns that cover all `rows` (a bit set, as each column is)."""
    return Reduced.of(rows, columns).minimum(canonical=canonical)


def _reduced(table: _Table) -> tuple[_Table, list[int]]:
    """Without columns and rows that do not matter; columns that every cover needs are chosen.

    A column dies if another in play covers its rows too (of equal ones the first stays); a row
    dies if every column that covers some other row covers it as well.
    """
    chosen: list[int] = []
    cut = set(table.columns)
    while True:
        columns = _without_dominated({c: r & table.rows for c, r in table.columns.items()}, cut)
        by_row = _by_row(columns, table.rows)
        essential = sorted({cs.bit_length() - 1 for cs in by_row.values() if cs.bit_count() == 1})
        if essential:
            chosen += essential
            left = table.rows
            for column in essential:
                left &= ~columns.pop(column)
            cut = {c for c, rows in columns.items() if rows & ~left}
            table = _Table(columns, left)
            continue
        needed = _needed_rows(by_row)
        if needed == table.rows and columns == table.columns:
            return table, chosen
        cut = {c for c, rows in columns.items() if rows & ~needed}
        table = _Table(columns, needed)


def _without_dominated(columns: dict[int, int], cut: Set[int]) -> dict[int, int]:
    """The columns no other column contains; only those that lost rows (`cut`) can have become
    such.
    """
    kept: dict[int, int] = {}
    by_row: dict[int, list[int]] = {}
    for column, rows in sorted(columns.items(), key=lambda item: (-item[1].bit_count(), item[0])):
        if not rows:
            continue
        if column in cut:
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
    by_first: dict[int, list[int]] = {}
    for row, columns in sorted(by_row.items(), key=lambda item: (item[1].bit_count(), item[0])):
        kept = (other for first in _bits(columns) for other in by_first.get(first, ()))
        if not any(other & ~columns == 0 for other in kept):
            by_first.setdefault((columns & -columns).bit_length() - 1, []).append(columns)
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
    assert isinstance(found, Solution), "every row is covered by some column"
    values = found.values
    if canonical and found.bound == found.cost(model):
        values = first_in_order(model, range(len(names)), values)
    chosen = tuple(name for name, value in zip(names, values, strict=True) if value > 0.5)
    return Cover(chosen, found.bound)


def first_in_order(
    model: Model, order: Sequence[int], values: tuple[float, ...]
) -> tuple[float, ...]:
    """Of all solutions that cost no more the one that has variables of `order` at 1 earliest.

    `values` are any such solution. Ask again and again whether another has a variable at 1 before
    the next one of the solution at hand; each answer settles variables or brings a better one.
    """
    limit = sum(c * v for c, v in zip(model.costs, values, strict=True))
    spent = Row(tuple((v, c) for v, c in enumerate(model.costs) if c), upper=limit + 0.5)
    model = replace(model, rows=(*model.rows, spent))
    all_cost = all(model.costs[variable] for variable in order)
    settled = {**model.fixed, **decided(model, limit)}
    undecided = 0
    while undecided < len(order):
        ahead = (i for i in range(undecided, len(order)) if values[order[i]] > 0.5)
        target = next(ahead, len(order))
        better = _earlier(model, order, settled, undecided, target)
        if better is not None:
            values = better
            continue
        settled |= {order[i]: 0.0 for i in range(undecided, target)}
        if target < len(order):
            settled[order[target]] = 1.0
        undecided = target + 1
        if all_cost and sum(model.costs[v] for v, value in settled.items() if value) >= limit:
            break
    return values


def _earlier(
    model: Model, order: Sequence[int], settled: dict[int, float], undecided: int, target: int
) -> tuple[float, ...] | None:
    """A solution with the settled values and some variable at 1 before `target`."""
    open_ones = [v for v in order[undecided:target] if settled.get(v) != 0.0]
    if not open_ones:
        return None
    one_earlier = Row(tuple((v, 1.0) for v in open_ones), lower=1.0)
    weights = [0.0] * len(model.costs)
    for number, variable in enumerate(order):
        weights[variable] = float(number)
    found = solve(
        replace(model, costs=tuple(weights), rows=(*model.rows, one_earlier), fixed=settled)
    )
    return found.values if isinstance(found, Solution) else None


def _bits(value: int) -> Iterator[int]:
    while value:
        low = value & -value
        yield low.bit_length() - 1
        value ^= low
