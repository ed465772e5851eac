"""Pieces too large for an exact model: events exchanged one by one, and a bound by weights.

Choosing so many columns that every row has one near it is known as the p-median problem. One
column after the other is exchanged for the one that brings the sum of distances down most (the
interchange of Teitz and Bart, 1968). The bound is the Lagrangian one of Cornuejols, Fisher and
Nemhauser (1977): a weight for each row, and the columns that are worth most at these weights;
whatever the weights, no choice of so many columns lies below. Weights are whole seconds, so the
bound is the same on every machine.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.fit.columns import Column
from schedcomp.fit.firings import Bools, Ints
from schedcomp.records import Record

FAR = 1 << 20
"""Seconds no firing is away from what was asked: a column that does not act for a row."""

MOST_ROUNDS = 300
LAST_STEP = 0.01
SCALE = 1000
FIRST_WEIGHT_SECONDS = 60
PATIENCE = 10
"""Rounds without a better bound after which the steps of the weights are halved."""


class Interchanged(Record):
    """Columns as near as exchanges bring them; no choice of so many is nearer than the bound."""

    chosen: tuple[int, ...]
    seconds: int
    bound_seconds: int


def interchange(
    columns: Sequence[Column], own: Sequence[Column], rows: Sequence[int], count: int
) -> Interchanged | None:
    """From `own` columns on, other columns of all; None where `own` do not cover all rows.

    Numbers in the answer beyond the columns are those of `own`, which follow. The bound holds for
    `count` columns.
    """
    table = _Table.of([*columns, *own], rows)
    begin = range(len(columns), len(columns) + len(own))
    if not table.covers[list(begin)].any(axis=0).all():
        return None
    chosen = _exchanged(table, begin)
    seconds = int(table.away[list(chosen)].min(axis=0).sum())
    return Interchanged(chosen, seconds, _bound(table, count, seconds))


class _Table(Record):
    """Distances and covers of columns: [columns x rows]."""

    away: Ints
    covers: Bools

    @staticmethod
    def of(columns: Sequence[Column], rows: Sequence[int]) -> _Table:
        """The columns on these rows, in this order."""
        place = {row: number for number, row in enumerate(rows)}
        away = np.full((len(columns), len(rows)), FAR, dtype=np.int64)
        covers = np.zeros(away.shape, dtype=np.bool_)
        for number, column in enumerate(columns):
            inside = [(place[row], seconds, row) for row, seconds in column.away if row in place]
            at = [spot for spot, _, _ in inside]
            away[number, at] = [seconds for _, seconds, _ in inside]
            covers[number, at] = [bool(column.covers >> row & 1) for _, _, row in inside]
        return _Table(away, covers)


def _exchanged(table: _Table, chosen: Sequence[int]) -> tuple[int, ...]:
    """Other columns, as many, that cover all `chosen` cover, with a sum that no exchange lowers.

    Of equal sums the first column in order.
    """
    now = list(chosen)
    wanted = table.covers[now].any(axis=0)
    changed = True
    while changed:
        changed = False
        for place in range(len(now)):
            others = now[:place] + now[place + 1 :]
            near = table.away[others].min(axis=0, initial=FAR)
            missing = wanted & ~table.covers[others].any(axis=0)
            able = np.flatnonzero(table.covers[:, missing].all(axis=1))
            sums = np.minimum(table.away[able], near).sum(axis=1)
            best = int(able[int(np.argmin(sums))])
            own = int(np.minimum(table.away[now[place]], near).sum())
            if int(sums.min()) < own:
                now[place] = best
                changed = True
    return tuple(now)


def _bound(table: _Table, count: int, reached_seconds: int) -> int:
    """Seconds that no cover of `count` columns goes below; `reached_seconds` is one that is met.

    A row's first weight is for something near it, its second for something that covers it. All
    numbers are whole and far below 2**53, so floating point adds them exactly, in any order.
    """
    columns, rows = np.nonzero(table.away < FAR)
    away = table.away[columns, rows].astype(np.float64)
    covers = table.covers[columns, rows]
    sizes = table.away.shape
    floor = table.away.min(axis=0).astype(np.float64)
    near, covered = floor + FIRST_WEIGHT_SECONDS, np.zeros_like(floor)
    nearer, covering = np.zeros(floor.shape, np.int64), np.zeros(floor.shape, np.int64)
    best = int(floor.sum())
    step, idle = 1.0, 0
    for _ in range(MOST_ROUNDS):
        gain = np.minimum(away - near[rows], 0.0)
        worth = np.bincount(columns, gain - covers * covered[rows], sizes[0])
        taken = np.argsort(worth, kind="stable")[:count]
        bound = int(near.sum() + covered.sum() + worth[taken].sum())
        idle = 0 if bound > best else idle + 1
        best = max(best, bound)
        if best >= reached_seconds:
            return reached_seconds
        if idle == PATIENCE:
            step, idle = step / 2, 0
        if step < LAST_STEP:
            return best
        chosen = np.zeros(sizes[0], dtype=np.bool_)
        chosen[taken] = True
        chosen = chosen[columns]
        unserved = 1 - np.bincount(rows[chosen & (gain < 0.0)], minlength=sizes[1])
        uncovered = 1 - np.bincount(rows[chosen & covers], minlength=sizes[1])
        uncovered[(covered == 0.0) & (uncovered < 0)] = 0
        nearer, covering = _turned(nearer, unserved), _turned(covering, uncovered)
        length = int((nearer * nearer).sum() + (covering * covering).sum())
        if not length:
            return best
        pace = step * SCALE * (reached_seconds - bound) / length
        near = np.maximum(near + np.rint(nearer * pace), floor)
        covered = np.maximum(covered + np.rint(covering * pace), 0.0)
    return best


def _turned(direction: Ints, wanted: Ints) -> Ints:
    """The direction of the steps before, turned towards what is wanted now: it swings less."""
    return direction * 7 // 10 + wanted * SCALE
