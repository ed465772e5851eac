"""Where a firing may fall: cells between borders, what is never allowed, what covers a switching.

Between opposite switchings lies one border somewhere in the later one's band. Cell k begins with
the border of switching k (cell 0 precedes the first). A firing is harmless where it lies wholly in
one cell of its own action, and covers that cell's switching if it certainly comes inside the band.

Only where an event of the other action might fire inside a band is the border worth choosing
there; such a switching is contested. Everywhere else it is the band's first instant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from schedcomp.fit.firings import NO_DATE, Bools, Firings, Ints, any_date
from schedcomp.model import Action, Instant
from schedcomp.target import ChannelTarget

NO_ROW = -1


@dataclass(frozen=True, slots=True)
class Cells:
    """Bands of one channel as arrays; `top` is the last instant a border may take.

    From `origin` on firings count: the period's start, or the first band if it begins before.
    """

    origin: int
    start: int
    end: int
    low: Ints
    asked: Ints
    high: Ints
    top: Ints
    turns_on: Bools
    first_cell_on: bool

    @property
    def reach(self) -> int:
        """How many cells may reach one instant: more only where bands leave borders free.

        Where bands of neighbours overlap, two steps back the action is the same again; further
        back nothing reaches, as borders keep their order.
        """
        if (self.top == self.low).all():
            return 1
        return 3 if (self.top[:-1] >= self.low[1:]).any() else 2

    def is_on(self, cells: Ints) -> Bools:
        """Whether each cell is one in which the lamps are lit."""
        known = np.concatenate([[self.first_cell_on], self.turns_on])
        lit: Bools = known[cells]
        return lit


@dataclass(frozen=True, slots=True)
class Condition:
    """One cell a firing may lie in: row of its switching (NO_ROW for cell 0), and what it asks.

    `after` are rows whose border must be at or before `first`, `before` rows whose border must
    come after `last`.
    """

    row: int
    after: int
    before: int


@dataclass(frozen=True, slots=True)
class Profile:
    """What firings of each start do as one action: [starts x occasions].

    `row` is the switching covered, or NO_ROW; `other_row` a second one that a different choice of
    borders would make it cover. `never` marks firings no choice of borders allows; `depends` those
    that some choice allows and some does not.
    """

    row: Ints
    other_row: Ints
    never: Bools
    depends: Bools


def cells_of(target: ChannelTarget, contested: Sequence[int] = ()) -> Cells:
    """The cells of a channel; borders of `contested` rows are free inside their bands."""
    low = np.array([s.earliest for s in target.switchings], dtype=np.int64)
    high = np.array([s.latest for s in target.switchings], dtype=np.int64)
    top = low.copy()
    top[list(contested)] = high[list(contested)]
    turns_on = np.array([s.action is Action.ON for s in target.switchings], dtype=np.bool_)
    asked = np.array([s.instant for s in target.switchings], dtype=np.int64)
    origin = min([target.start, *low[:1].tolist()])
    return Cells(
        origin, target.start, target.end, low, asked, high, top, turns_on, target.lit_at_start
    )


def counted(firings: Firings, cells: Cells) -> Bools:
    """Firings that exist and lie in the time the program answers for."""
    exists = any_date(firings.dates != NO_DATE)
    exists &= (firings.last >= cells.origin) & (firings.first <= cells.end)
    return exists


def profile(firings: Firings, cells: Cells, action: Action) -> Profile:
    """Every firing as `action`, with the borders of contested switchings free."""
    first = firings.first
    cell = np.searchsorted(cells.low, first, side="right")
    row = np.full(first.shape, NO_ROW, dtype=np.int64)
    other_row = row.copy()
    possible = np.zeros(first.shape, dtype=np.bool_)
    sure = np.zeros(first.shape, dtype=np.bool_)
    wanted_on = action is Action.ON
    for back in range(cells.reach):
        k = cell - back
        here = (
            (k >= 0)
            & (cells.is_on(np.maximum(k, 0)) == wanted_on)
            & (firings.last < _at(cells.top, k, np.iinfo(np.int64).max))
        )
        several = here & possible
        possible |= here
        settled = (first >= _at(cells.top, k - 1, np.iinfo(np.int64).min)) & (
            firings.last < _at(cells.low, k, np.iinfo(np.int64).max)
        )
        sure = np.where(several, False, sure | (here & settled))
        covers = here & firings.certain & (k >= 1)
        covers &= firings.last <= _at(cells.high, k - 1, np.iinfo(np.int64).min)
        other_row = np.where(covers & several, k - 1, other_row)
        row = np.where(covers & (row == NO_ROW), k - 1, row)
    exists = counted(firings, cells)
    return Profile(
        row=np.where(exists, row, NO_ROW),
        other_row=np.where(exists, other_row, NO_ROW),
        never=exists & ~possible,
        depends=exists & possible & ~sure,
    )


def covers_anything(firings: Firings, channels: Sequence[Cells]) -> Bools:
    """Which starts certainly fire inside some band of some channel."""
    found = np.zeros(len(firings.starts), dtype=np.bool_)
    for cells in channels:
        newest = np.searchsorted(cells.low, firings.first, side="right") - 1
        inside = np.zeros(newest.shape, dtype=np.bool_)
        for back in range(cells.reach):
            row = newest - back
            inside |= (row >= 0) & (firings.last <= cells.high[np.maximum(row, 0)])
        found |= (inside & firings.certain).any(axis=1)
    return found


def conditions(first: int, last: int, cells: Cells, action: Action) -> Iterator[Condition]:
    """Every cell of `action` the firing [first, last] may lie in, under some choice of borders."""
    count = len(cells.low)
    k = int(np.searchsorted(cells.low, first, side="right"))
    while k >= 0 and (k == count or last < cells.top[k]):
        on = cells.first_cell_on if k == 0 else bool(cells.turns_on[k - 1])
        if on == (action is Action.ON):
            after = k - 1 if k >= 1 and first < cells.top[k - 1] else NO_ROW
            before = k if k < count and last >= cells.low[k] else NO_ROW
            yield Condition(k - 1 if k >= 1 else NO_ROW, after, before)
        k -= 1


def contested_rows(
    firings: Sequence[Firings],
    target: ChannelTarget,
    more: Mapping[Action, Sequence[Instant]] | None = None,
) -> tuple[int, ...]:
    """Switchings in whose band an event of the other action, useful somewhere, could fire.

    `more` are instants at which the unit could act by itself. With one whose band overlaps a
    neighbour's the neighbour's border must be free to move too.
    """
    free = cells_of(target, range(len(target.switchings)))
    found: set[int] = set()
    for action in Action:
        for group in firings:
            useful = (profile(group, free, action).row != NO_ROW).any(axis=1)
            exists = counted(group, free)[useful]
            found |= _rows_hit(group.last[useful][exists], free, action)
    for action, instants in (more or {}).items():
        found |= _rows_hit(np.array(instants, dtype=np.int64), free, action)
    while True:
        overlapping = {
            row
            for known in found
            for row in (known - 1, known + 1)
            if 0 <= row < len(free.low) and free.low[max(row, known)] <= free.high[min(row, known)]
        }
        if overlapping <= found:
            return tuple(sorted(found))
        found |= overlapping


def _rows_hit(last: Ints, free: Cells, action: Action) -> set[int]:
    """Rows of the other action in whose band a firing ends early enough to come before it."""
    hits: set[int] = set()
    if not len(free.low):
        return hits
    newest = np.searchsorted(free.low, last, side="right") - 1
    for back in range(3):
        row = newest - back
        hit = (row >= 0) & (last < _at(free.high, row, np.iinfo(np.int64).min))
        hit &= free.turns_on[np.maximum(row, 0)] != (action is Action.ON)
        hits |= set(row[hit].tolist())
    return hits


def _at(values: Ints, index: Ints, beyond: int) -> Ints:
    """values[index], and `beyond` where the index is outside."""
    inside = (index >= 0) & (index < len(values))
    if not len(values):
        return np.full(index.shape, beyond, dtype=np.int64)
    return np.where(inside, values[np.clip(index, 0, len(values) - 1)], beyond)
