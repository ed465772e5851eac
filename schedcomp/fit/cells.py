"""Where a firing may fall: cells between borders, what is never allowed, what covers a switching.

Between opposite switchings lies one border somewhere in the later one's band. Cell k begins with
the border of switching k (cell 0 precedes the first). A firing is harmless where it lies wholly in
one cell of its own action, and covers that cell's switching if it certainly comes inside the band.

Only where an event of the other action might fire inside a band is the border worth choosing
there; such a switching is contested. Everywhere else it is the band's first instant.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from schedcomp.fit.firings import NO_DATE, Bools, Firings, Ints, any_date
from schedcomp.model import Action, Instant
from schedcomp.records import Record
from schedcomp.target import ChannelTarget

NO_ROW = -1
_EARLIEST, _LATEST = np.iinfo(np.int64).min, np.iinfo(np.int64).max


class Cells(Record):
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


class Condition(Record):
    """One cell a firing may lie in: row of its switching (NO_ROW for cell 0), and what it asks.

    `after` are rows whose border must be at or before `first`, `before` rows whose border must
    come after `last`.
    """

    row: int
    after: int
    before: int


class Profile(Record):
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
    columns = target.columns
    low, high = columns.earliest, columns.latest
    top = low.copy()
    top[list(contested)] = high[list(contested)]
    return Cells(
        min([target.start, *low[:1].tolist()]),
        target.start,
        target.end,
        low,
        columns.asked,
        high,
        top,
        columns.turns_on,
        target.lit_at_start,
    )


def counted(firings: Firings, cells: Cells) -> Bools:
    """Firings that exist and lie in the time the program answers for."""
    exists = any_date(firings.dates != NO_DATE)
    exists &= (firings.last >= cells.origin) & (firings.first <= cells.end)
    return exists


def profile(firings: Firings, cells: Cells, action: Action) -> Profile:
    """Every firing as `action`, with the borders of contested switchings free."""
    first, last = firings.first, firings.last
    cell = np.searchsorted(cells.low, first, side="right")
    next_low, next_top = np.append(cells.low, _LATEST), np.append(cells.top, _LATEST)
    own_top, own_high = np.append(_EARLIEST, cells.top), np.append(_EARLIEST, cells.high)
    own_action = cells.is_on(np.arange(len(cells.low) + 1)) == (action is Action.ON)
    row = np.full(first.shape, NO_ROW, dtype=np.int64)
    other_row = row
    possible = np.zeros(first.shape, dtype=np.bool_)
    sure = possible
    for back in range(cells.reach):
        k = np.maximum(cell - back, 0) if back else cell
        here = own_action[k]
        if back:
            here &= cell >= back
        if back or not firings.are_instants:
            here &= last < next_top[k]
        covers = here & firings.certain & (last <= own_high[k])
        if cells.reach == 1:
            possible = sure = here
            row = np.where(covers, k - 1, NO_ROW)
            break
        several = here & possible
        possible = possible | here
        settled = here & (first >= own_top[k]) & (last < next_low[k])
        sure = (sure | settled) & ~several
        other_row = np.where(covers & several, k - 1, other_row)
        row = np.where(covers & (row == NO_ROW), k - 1, row)
    exists = counted(firings, cells)
    return Profile(
        row=np.where(exists, row, NO_ROW),
        other_row=np.where(exists, other_row, NO_ROW),
        never=exists & ~possible,
        depends=exists & possible & ~sure,
    )


def useful_starts(firings: Firings, target: ChannelTarget) -> dict[Action, Bools]:
    """For each action which starts certainly fire inside some band of it, wherever borders are."""
    free = cells_of(target, range(len(target.switchings)))
    found = {action: np.zeros(len(firings.starts), dtype=np.bool_) for action in Action}
    if not target.switchings:
        return found
    newest = np.searchsorted(free.low, firings.first, side="right") - 1
    certain = firings.certain & any_date(firings.dates != NO_DATE)
    for back in range(free.reach):
        row = np.maximum(newest - back, 0)
        inside = certain & (newest >= back) & (firings.last <= free.high[row])
        starts, occasions = np.nonzero(inside)
        turns_on = free.turns_on[row[starts, occasions]]
        found[Action.ON][starts[turns_on]] = True
        found[Action.OFF][starts[~turns_on]] = True
    return found


def useful_firings(
    firings: Sequence[Firings], target: ChannelTarget
) -> dict[Action, tuple[Firings, ...]]:
    """For each action the firings of the starts that are useful for it."""
    useful = [useful_starts(group, target) for group in firings]
    return {
        action: tuple(g.only(starts[action]) for g, starts in zip(firings, useful, strict=True))
        for action in Action
    }


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
    useful: Mapping[Action, Sequence[Firings]],
    target: ChannelTarget,
    more: Mapping[Action, Sequence[Instant]] | None = None,
) -> tuple[int, ...]:
    """Switchings in whose band an event of the other action, useful somewhere, could fire.

    `useful` are the firings of `useful_firings`, `more` instants at which the unit could act by
    itself. With one whose band overlaps a neighbour's the neighbour's border must be free to move
    too.
    """
    free = cells_of(target, range(len(target.switchings)))
    found: set[int] = set()
    for action, groups in useful.items():
        for group in groups:
            found |= _rows_hit(group.last[counted(group, free)], free, action)
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
        row = np.maximum(newest - back, 0)
        hit = (newest >= back) & (last < free.high[row])
        hit &= free.turns_on[row] != (action is Action.ON)
        hits |= set(row[hit].tolist())
    return hits
