"""Exact minimum set cover, with a canonical choice among equal optima.

Columns are given in canonical order as bit sets of rows. What reductions leave over is solved by
HiGHS piece by piece, with gap 0, one thread and a fixed seed; the lexicographically first optimum
is then looked for under the same proven bound, so the answer does not depend on the solver's
version, seed or order.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

import numpy as np

from schedcomp.fit.bit_sets import bits, needed_rows, row_bits
from schedcomp.fit.in_order import first_in_order
from schedcomp.fit.solver import Model, Row, Solution, least_cost, solve
from schedcomp.records import Record

FEW_RIVALS = 8
"""Columns that are quicker looked at one by one than narrowed down by further rows."""


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

    def floor(self) -> int:
        """A lower bound on how many columns any cover needs, which comes sooner."""
        return len(self.needed) + sum(least_cost(_model(piece)) for piece in self.pieces)


def minimum_cover(rows: int, columns: Sequence[int], *, canonical: bool = True) -> Cover:
    """The fewest columns that cover all `rows` (a bit set, as each column is)."""
    return Reduced.of(rows, columns).minimum(canonical=canonical)


def _reduced(table: _Table) -> tuple[_Table, list[int]]:
    """Without columns and rows that do not matter; columns that every cover needs are chosen.

    A column dies if another in play covers its rows too (of equal ones the first stays); a row
    dies if every column that covers some other row covers it as well.
    """
    chosen: list[int] = []
    columns = {c: rows & table.rows for c, rows in table.columns.items() if rows & table.rows}
    by_row = _by_row(columns, table.rows)
    cut: Iterable[int] = tuple(columns)
    while True:
        for column in _dominated(columns, by_row, cut):
            del columns[column]
        in_play = row_bits(columns)
        by_row = {row: covering & in_play for row, covering in by_row.items()}
        needed = sorted({cs.bit_length() - 1 for cs in by_row.values() if cs.bit_count() == 1})
        if needed:
            chosen += needed
            left = row_bits(by_row)
            for column in needed:
                left &= ~columns.pop(column)
        else:
            left = needed_rows(by_row)
            if left.bit_count() == len(by_row):
                return _Table(columns, left), chosen
        by_row = {row: covering for row, covering in by_row.items() if left >> row & 1}
        cut = tuple(c for c, rows in columns.items() if rows & ~left)
        columns = {c: rows & left for c, rows in columns.items() if rows & left}


def _dominated(
    columns: Mapping[int, int], by_row: Mapping[int, int], cut: Iterable[int]
) -> list[int]:
    """The columns that another one contains; only those that lost rows (`cut`) can have become
    such.
    """
    found = []
    for column in cut:
        rows = columns.get(column, 0)
        if rows and _is_dominated(column, rows, columns, by_row):
            found.append(column)
    return found


def _is_dominated(
    column: int, rows: int, columns: Mapping[int, int], by_row: Mapping[int, int]
) -> bool:
    """Whether another column covers these rows too, and more or comes first."""
    own = 1 << column
    rivals = by_row[rows.bit_length() - 1] & ~own
    for row in bits(rows):
        rivals &= by_row[row]
        if rivals.bit_count() <= FEW_RIVALS:
            break
    return any(
        not rows & ~columns[rival] and (rival < column or columns[rival] != rows)
        for rival in bits(rivals)
    )


def _by_row(columns: Mapping[int, int], rows: int) -> dict[int, int]:
    """For each row the bit set of columns that cover it."""
    if not columns:
        return dict.fromkeys(bits(rows), 0)
    size = rows.bit_length() + 7 >> 3
    wide = max(columns) + 1
    packed = np.zeros((wide, size), dtype=np.uint8)
    listed = b"".join((covered & rows).to_bytes(size, "little") for covered in columns.values())
    packed[list(columns)] = np.frombuffer(listed, dtype=np.uint8).reshape(-1, size)
    turned = np.unpackbits(packed, axis=1, bitorder="little").T
    across = np.packbits(turned, axis=1, bitorder="little")
    return {row: int.from_bytes(across[row].tobytes(), "little") for row in bits(rows)}


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
    model = _model(piece)
    found = solve(model)
    assert isinstance(found, Solution), "every row is covered by some column"
    values = found.values
    if canonical and found.bound == found.cost(model):
        values = first_in_order(model, range(len(names)), values)
    chosen = tuple(name for name, value in zip(names, values, strict=True) if value > 0.5)
    return Cover(chosen, found.bound)


def _model(piece: _Table) -> Model:
    """Its variables are the columns in order."""
    numbered = dict(enumerate(piece.columns.values()))
    rows = tuple(
        Row(tuple((i, 1.0) for i in bits(columns)), lower=1.0)
        for columns in _by_row(numbered, piece.rows).values()
    )
    return Model(costs=(1.0,) * len(numbered), rows=rows)
