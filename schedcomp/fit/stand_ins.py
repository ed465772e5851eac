"""Starts that programs of fewest events can do without: another could stand in everywhere.

A start stands in for another where it covers the same switchings and perhaps more, on the same
dates, and may do harm only on dates on which the other surely does. Whatever dates an event names
and whatever special days there are, it could then have that start as well. Only sun starts are
tried in place of others: each does for all clock readings near it, while a reading covers little.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from schedcomp.clock import day_number
from schedcomp.clock_columns import offsets_at
from schedcomp.fit.bit_sets import as_sets
from schedcomp.fit.cells import NO_ROW, Cells, profile
from schedcomp.fit.firings import Bools, Firings, Ints, any_date
from schedcomp.fit.free_borders import free_cells
from schedcomp.fit.timetable import Timetable
from schedcomp.model import DAY, Action, Instant
from schedcomp.program import SunOffset
from schedcomp.records import Record
from schedcomp.target import ChannelTarget


def without_stand_ins(
    firings: Sequence[Firings], channels: Sequence[ChannelTarget], timetable: Timetable
) -> tuple[Firings, ...]:
    """The firings of those starts only for which no other could stand in."""
    if not timetable.controller.sun_starts:
        return tuple(firings)
    needed = tuple(np.zeros(len(group.starts), dtype=np.bool_) for group in firings)
    controller, clock, axis = timetable.controller, timetable.clock, timetable.axis
    for cells in free_cells(channels, firings, controller, clock, axis):
        for action in Action if len(cells.low) else ():
            for group, start in _needed(firings, cells, action, timetable):
                needed[group][start] = True
    return tuple(group.only(some) for group, some in zip(firings, needed, strict=True))


class _Start(Record):
    """What a start does as one action of a channel: sets of rows and of axis dates, as bits.

    `moved` are the rows whose border could be moved, with the date and the earliest instant at
    which the start covers each. `harms` are dates of what else may be wrong, `surely_harms` those
    of what is. `dependable`: each of these hangs on one date; `simple`: what it does hangs on the
    date one would say.
    """

    group: int
    number: int
    rows: int
    moved: Mapping[int, tuple[int, Instant]]
    harms: int
    surely_harms: int
    dependable: bool
    simple: bool


def _needed(
    firings: Sequence[Firings], cells: Cells, action: Action, timetable: Timetable
) -> Iterator[tuple[int, int]]:
    """Group and number of the starts that cover something and for which none stands in."""
    kept: list[_Start] = []
    for number, group in enumerate(firings):
        for start in _starts(number, group, cells, action, timetable):
            if not any(_stands_in(other, start) for other in kept):
                yield start.group, start.number
                if start.dependable:
                    kept.append(start)


def _stands_in(other: _Start, start: _Start) -> bool:
    if not start.simple or start.rows & ~other.rows or other.harms & ~start.surely_harms:
        return False
    # A border lies no later than the start it was moved for, so none too late for a later one.
    return all(
        first >= start.moved[row][1] if row in start.moved else start.surely_harms >> day & 1
        for row, (day, first) in other.moved.items()
    )


def _starts(
    number: int, group: Firings, cells: Cells, action: Action, timetable: Timetable
) -> Iterator[_Start]:
    """Those that cover something, the most rows first, then the nearest to the wish."""
    seen = profile(group, cells, action)
    covering, rows = seen.row != NO_ROW, np.maximum(seen.row, 0)
    dates = group.dates
    one_date = (dates[:, :, 0] == dates[:, :, 1]) & (dates[:, :, 0] == dates[:, :, 2])
    named = any_date(dates == _dates_of(cells.asked, timetable)[rows][:, :, None])
    odd = covering & (~named | _overlapping(cells)[rows] | (seen.other_row != NO_ROW))
    moving = covering & (cells.low < cells.top)[rows]
    harmful = (seen.never | seen.depends) & ~moving
    spread = (covering | harmful) & ~one_date
    count = timetable.axis.count
    covered = as_sets(_numbers(covering, rows, len(cells.low)))
    harms = as_sets(_numbers(harmful, dates, count))
    surely_harms = as_sets(_numbers(seen.never, dates, count))
    simple = ~odd.any(axis=1)
    dependable = simple & ~spread.any(axis=1)
    away = np.where(covering, np.abs(group.nominal - cells.asked[rows]), 0).sum(axis=1)
    many = covering.sum(axis=1)
    for start in np.lexsort((away, -many))[: np.count_nonzero(many)].tolist():
        at = np.flatnonzero(moving[start])
        moved = zip(
            rows[start, at].tolist(),
            dates[start, at, 0].tolist(),
            group.first[start, at].tolist(),
            strict=True,
        )
        yield _Start(
            number,
            start,
            covered[start],
            {row: (day, first) for row, day, first in moved},
            harms[start],
            surely_harms[start],
            bool(dependable[start]) and isinstance(group.starts[start], SunOffset),
            bool(simple[start]),
        )


def _overlapping(cells: Cells) -> Bools:
    """The rows whose band has an instant in common with a neighbour's free one."""
    overlap = cells.top[:-1] >= cells.low[1:]
    found: Bools = np.append(overlap, np.False_) | np.insert(overlap, 0, np.False_)
    return found


def _dates_of(instants: Ints, timetable: Timetable) -> Ints:
    """The date of each instant by its number on the axis."""
    dates: Ints = (instants + offsets_at(timetable.clock, instants)) // DAY
    return dates - day_number(timetable.axis.first)


def _numbers(marked: Bools, numbers: Ints, count: int) -> Bools:
    """For each start which numbers below `count` its marked firings have, each one or several; the
    last place is for all others.
    """
    table = np.zeros((len(marked), count + 1), dtype=np.bool_)
    starts, occasions = np.nonzero(marked)
    listed = numbers[starts, occasions]
    listed = np.where((listed >= 0) & (listed < count), listed, count)
    table[starts if listed.ndim == 1 else starts[:, None], listed] = True
    return table
