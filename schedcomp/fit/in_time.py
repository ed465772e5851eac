"""Which starts could fire in a band, told from the band: no firing is made for it.

Rather too many than too few: a start that is named may still come a step too early or too late, or
on a date that no event names.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from schedcomp.clock import ClockChange, Zone
from schedcomp.clock_columns import offsets_at
from schedcomp.controller import Controller
from schedcomp.fit.firings import Bools, Ints
from schedcomp.model import DAY, MINUTE
from schedcomp.records import Record
from schedcomp.unit_sun import SunColumns

DAY_MINUTES = DAY // MINUTE


class InTime(Record, eq=False):
    """Runs of starts of one group, `first` to `last` by their place in it, for some rows: with one
    run for each date on which a start could fire in the band of the row.

    The dates that an event is tested against there lie from `date_from` through `date_to`, as days
    since 1970-01-01.
    """

    rows: Ints
    first: Ints
    last: Ints
    date_from: Ints
    date_to: Ints

    def of_rows(self, wanted: Bools) -> InTime:
        """The runs of some rows."""
        some = wanted[self.rows]
        return InTime(
            self.rows[some],
            self.first[some],
            self.last[some],
            self.date_from[some],
            self.date_to[some],
        )

    def held(self, count: int) -> Ints:
        """For each of `count` starts the number of runs that hold it."""
        steps = np.bincount(self.first, minlength=count + 1)
        steps -= np.bincount(self.last + 1, minlength=count + 1)
        return np.cumsum(steps)[:count]

    def rows_meeting(self, starts: Bools) -> Ints:
        """The rows of runs that hold some of these starts."""
        before = np.concatenate([[0], np.cumsum(starts)])
        return self.rows[before[self.last + 1] > before[self.first]]


def sun_in_time(
    times: SunColumns, clock: Zone, controller: Controller, low: Ints, high: Ints, *, ending: bool
) -> InTime:
    """The offsets of a sun word, by place among all, that would surely come from `low` through
    `high`; `ending`: those that could come and have come by then.
    """
    if not times.days.size:
        return InTime(*(times.days for _ in range(5)))
    step, grid = controller.offset_step_minutes * MINUTE, controller.step_minutes * MINUTE
    most = controller.offset_limit_minutes // controller.offset_step_minutes
    around = 2 + controller.offset_limit_minutes // DAY_MINUTES
    widest = int((high - low).max(initial=0)) // DAY
    days = low[:, None] // DAY + np.arange(-around, around + widest + 1)
    at = np.minimum(np.searchsorted(times.days, days), len(times.days) - 1)
    possible = times.days[at] == days
    if ending:
        first = -((times.latest[at] + grid - low[:, None]) // step)
    else:
        first = -((times.earliest[at] - low[:, None]) // step)
        possible &= times.certain[at]
    last = (high[:, None] - times.latest[at]) // step
    first, last = np.maximum(first, -most), np.minimum(last, most)
    rows, column = np.nonzero(possible & (first <= last))
    at, days = at[rows, column], days[rows, column]
    instants = (low[rows], high[rows], times.earliest[at], times.latest[at])
    dates = [_dates(clock, some) for some in instants]
    return InTime(
        rows,
        first[rows, column] + most,
        last[rows, column] + most,
        np.minimum.reduce([days, *dates]),
        np.maximum.reduce([days, *dates]),
    )


def clock_in_time(clock: Zone, controller: Controller, low: Ints, high: Ints) -> InTime:
    """The clock readings, by place among all on the step, for bands from `low` through `high`."""
    rows, begin, end = _readings(clock, low, high)
    step, count = controller.step_minutes * MINUTE, -(-DAY_MINUTES // controller.step_minutes)
    first, last = -(-(begin % DAY) // step), end % DAY // step
    days = end // DAY - begin // DAY
    after, between = np.flatnonzero(days > 0), np.flatnonzero(days > 1)
    first = np.concatenate([first, np.zeros(len(after) + len(between), dtype=np.int64)])
    last = np.concatenate(
        [np.where(days > 0, count - 1, last), last[after], count - 1 + 0 * between]
    )
    rows = np.concatenate([rows, rows[after], rows[between]])
    some = first <= last
    rows = rows[some]
    dates = _dates(clock, low)[rows], _dates(clock, high)[rows]
    return InTime(rows, first[some], last[some], *dates)


def _dates(clock: Zone, instants: Ints) -> Ints:
    return (instants + offsets_at(clock, instants)) // DAY


def _readings(clock: Zone, low: Ints, high: Ints) -> tuple[Ints, Ints, Ints]:
    """What the clock shows in each band: rows, and the first and last reading in seconds.

    A band in which the clock changes has a stretch before and one after it, and between them the
    readings that the jump skips: they count as shown at the jump.
    """
    changes = clock.changes()
    instants = np.array([change.instant for change in changes], dtype=np.int64)
    until = instants.searchsorted(high, "right")
    changing = np.flatnonzero(instants.searchsorted(low) < until)
    still = np.ones(len(low), dtype=np.bool_)
    still[changing] = False
    more = [
        (row, *stretch)
        for row in changing.tolist()
        for stretch in _around(changes[until[row] - 1], int(low[row]), int(high[row]))
    ]
    extra = np.array(more, dtype=np.int64).reshape(-1, 3)
    shift = offsets_at(clock, low[still])
    return (
        np.concatenate([np.flatnonzero(still), extra[:, 0]]),
        np.concatenate([low[still] + shift, extra[:, 1]]),
        np.concatenate([high[still] + shift, extra[:, 2]]),
    )


def _around(change: ClockChange, low: int, high: int) -> Iterator[tuple[int, int]]:
    """The readings of a band on both sides of a clock change, and those it skips."""
    if low < change.instant:
        yield low + change.before, change.instant - 1 + change.before
    yield change.instant + change.after, high + change.after
    if change.skipped > 0:
        yield change.instant + change.before, change.instant + change.after
