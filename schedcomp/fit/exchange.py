"""As few columns as before, as near as can be: which events to store in place of others.

Every row must be covered by a chosen column, and counts with the distance of the nearest chosen
one. For each row and each distance at which a further column comes into reach, one variable says
that none nearer was chosen. Parts that share no row are solved by themselves.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from schedcomp.fit.bit_sets import bits
from schedcomp.fit.columns import Column
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.interchange import interchange
from schedcomp.fit.solver import ROUNDING, Model, Row, Solution, relax, solve
from schedcomp.records import Record

MOST_TERMS = 1_000
"""Pairs of row and column beyond which an exact model takes too long."""

LARGEST_TIE = 2.0**28
"""Costs above this, times the seconds of a year, would leave no digits for telling ties apart."""


class Piece(Record, eq=False):
    """Columns that share rows with each other and with no others; `rows` must be covered."""

    columns: tuple[Column, ...]
    rows: int

    @property
    def small(self) -> bool:
        """Whether the exact model of this piece is worth its time."""
        return sum(len(column.away) for column in self.columns) <= MOST_TERMS


class Nearest(Record):
    """The columns with the least sum of distances, None if not found; the sum is no less."""

    chosen: tuple[Column, ...] | None
    bound_seconds: int


def pieces(columns: Sequence[Column], rows: int) -> list[Piece]:
    """The columns that act for some of `rows`, parted, in canonical order."""
    found: list[tuple[int, list[int]]] = []
    for number, column in enumerate(columns):
        reached = sum(1 << row for row, _ in column.away) & rows
        if not reached:
            continue
        members = [number]
        apart = []
        for other, numbers in found:
            if other & reached:
                reached |= other
                members += numbers
            else:
                apart.append((other, numbers))
        found = [*apart, (reached, members)]
    return [
        Piece(tuple(columns[n] for n in sorted(numbers)), reached & rows)
        for reached, numbers in sorted(found, key=lambda part: min(part[1]))
    ]


def least_distance(piece: Piece) -> int:
    """The sum over all rows of the distance at which the nearest column lies."""
    return sum(min(away for away, _ in near) for near in _by_row(piece).values())


def nearest_columns(piece: Piece, own: Sequence[Column], count: int) -> Nearest:
    """At most `count` columns that cover everything with the least sum of distances.

    Of equal sums the one whose columns come first: the squares of their numbers add up to least.
    A large piece gets columns as near as exchanges from `own` on bring them.
    """
    return _exact(piece, count) if piece.small else _exchanged(piece, own, count)


def _exchanged(piece: Piece, own: Sequence[Column], count: int) -> Nearest:
    found = interchange(piece.columns, own, list(bits(piece.rows)), count)
    if found is None:
        return Nearest(None, least_distance(piece))
    every = (*piece.columns, *own)
    return Nearest(tuple(every[n] for n in found.chosen), found.bound_seconds)


def _exact(piece: Piece, count: int) -> Nearest:
    draft = _draft(piece, count)
    found = relax(draft.model)
    if found is None:
        return Nearest(None, least_distance(piece))
    chosen = draft.whole(found.values)
    if chosen is None or draft.cost(chosen) > found.cost + 0.5:
        solved = solve(draft.model)
        if isinstance(solved, Solution) and solved.bound == solved.cost(draft.model):
            chosen = draft.whole(solved.values)
        else:
            chosen = None
    if chosen is None:
        return Nearest(None, draft.seconds_within(found.cost))
    return Nearest(tuple(piece.columns[n] for n in chosen), draft.seconds(chosen))


def least_count(piece: Piece, known: int) -> int:
    """How many columns any cover needs, where `known` do; perhaps less, never more."""
    by_row = _covering(piece)
    if _apart(by_row) >= known:
        return known
    rows = tuple(Row(_terms(mask), lower=1.0) for mask in sorted(by_row.values()))
    found = relax(Model((1.0,) * len(piece.columns), rows))
    assert found is not None, "every row is covered by some column"
    if found.cost > known - 1 + ROUNDING:
        return known
    return minimum_cover(piece.rows, [c.covers for c in piece.columns], canonical=False).bound


def _apart(by_row: Mapping[int, int]) -> int:
    """A number of rows of which no two share a column."""
    taken, count = 0, 0
    for mask in sorted(by_row.values(), key=lambda m: (m.bit_length(), m)):
        if not mask & taken:
            taken |= mask
            count += 1
    return count


class _Draft(Record):
    """The model of a piece: its costs are seconds times `unit`, plus the ties of columns."""

    piece: Piece
    model: Model
    ties: tuple[int, ...]
    unit: int
    count: int
    nearest_seconds: int

    def whole(self, values: Sequence[float]) -> tuple[int, ...] | None:
        """The columns chosen, None if some are chosen in part, or not all is covered."""
        own = values[: len(self.ties)]
        if any(ROUNDING < value < 1 - ROUNDING for value in own):
            return None
        chosen = tuple(n for n, value in enumerate(own) if value > 0.5)
        covered = 0
        for number in chosen:
            covered |= self.piece.columns[number].covers
        complete = len(chosen) <= self.count and not self.piece.rows & ~covered
        return chosen if complete else None

    def seconds(self, chosen: Sequence[int]) -> int:
        """The sum of distances to the nearest of some columns."""
        nearest: dict[int, int] = {}
        for number in chosen:
            for row, away in self.piece.columns[number].away:
                nearest[row] = min(away, nearest.get(row, away))
        return sum(away for row, away in nearest.items() if self.piece.rows >> row & 1)

    def cost(self, chosen: Sequence[int]) -> int:
        """What some columns cost in the model."""
        seconds = self.seconds(chosen) - self.nearest_seconds
        return seconds * self.unit + sum(self.ties[n] for n in chosen)

    def seconds_within(self, cost: float) -> int:
        """The seconds that nothing of at least this cost goes below."""
        seconds = math.ceil((cost - self.unit + 1) / self.unit - ROUNDING)
        return self.nearest_seconds + max(0, seconds)


def _draft(piece: Piece, count: int) -> _Draft:
    columns = len(piece.columns)
    ties = [number**2 for number in range(columns)]
    if count * columns**2 > LARGEST_TIE:
        ties = list(range(columns))
    unit = count * ties[-1] + 1
    beyond, nearest = _beyond(piece)
    rows = [Row(_terms(mask), lower=1.0) for mask in sorted(set(_covering(piece).values()))]
    costs = [float(tie) for tie in ties]
    for mask, seconds in sorted(beyond.items()):
        rows.append(Row((*_terms(mask), (len(costs), 1.0)), lower=1.0))
        costs.append(float(seconds * unit))
    rows.append(Row(tuple((n, 1.0) for n in range(columns)), upper=float(count)))
    model = Model(tuple(costs), tuple(rows))
    return _Draft(piece, model, tuple(ties), unit, count, nearest)


def _beyond(piece: Piece) -> tuple[dict[int, int], int]:
    """For sets of columns the seconds that all rows lose if none of the set is chosen.

    With it comes the sum of distances with all columns chosen.
    """
    covering = _covering(piece)
    seconds: dict[int, int] = {}
    nearest = 0
    for row, near in _by_row(piece).items():
        near.sort()
        nearest += near[0][0]
        reached, last = 0, near[0][0]
        for away, number in near:
            if away > last:
                if not covering[row] & ~reached:
                    break
                seconds[reached] = seconds.get(reached, 0) + away - last
                last = away
            reached |= 1 << number
    return seconds, nearest


def _by_row(piece: Piece) -> dict[int, list[tuple[int, int]]]:
    """For every row the columns that act for it, as (distance, number)."""
    found: dict[int, list[tuple[int, int]]] = {}
    for number, column in enumerate(piece.columns):
        for row, away in column.away:
            if piece.rows >> row & 1:
                found.setdefault(row, []).append((away, number))
    return found


def _covering(piece: Piece) -> dict[int, int]:
    """For every row the columns that cover it, as a bit set."""
    found = dict.fromkeys(bits(piece.rows), 0)
    for number, column in enumerate(piece.columns):
        for row, _ in column.away:
            if (column.covers & piece.rows) >> row & 1:
                found[row] |= 1 << number
    return found


def _terms(mask: int) -> tuple[tuple[int, float], ...]:
    return tuple((bit, 1.0) for bit in bits(mask))
