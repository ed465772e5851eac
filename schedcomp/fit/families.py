"""Switchings of one channel and action in families that share no start.

Told from the bands alone, with rather too many starts for each than too few.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from schedcomp.clock import EPOCH_ORDINAL
from schedcomp.clock_columns import offsets_at
from schedcomp.fit.firings import Bools, Ints
from schedcomp.fit.in_time import InTime
from schedcomp.fit.special_days import is_quiet
from schedcomp.fit.timetable import Choice, Timetable
from schedcomp.model import DAY, Action
from schedcomp.records import Record
from schedcomp.target import ChannelTarget


class Family(Record, eq=False):
    """Switchings (`rows` of a channel) of one action; no start could do one of them and another.

    `every` are the starts that could do any of them, `able` those that could do all. A program in
    which one event does all of them has one of the starts `worthwhile`. `restless` marks the
    channel's switchings with a border worth choosing.
    """

    target: ChannelTarget
    action: Action
    rows: Ints
    every: Choice
    able: Choice
    worthwhile: Choice
    restless: Bools


def families(target: ChannelTarget, timetable: Timetable) -> Iterator[Family]:
    """All families of a channel, of which no band may be empty.

    `able` has no start where one event is not known to save slots: where borders are worth
    choosing, or where special days could do all of it.
    """
    bands = _Bands.of(target, timetable)
    restless = bands.restless()
    for action in Action:
        for rows in bands.apart(bands.turns_on == (action is Action.ON)):
            every = able = worthwhile = bands.starts(rows)
            firm = rows & ~bands.near
            if firm.any() and not (rows & restless).any() and bands.keep_dates(rows):
                able = bands.starts_of_all(rows)
                worthwhile = tuple(
                    some | all_firm
                    for some, all_firm in zip(
                        bands.starts(rows & bands.near), bands.starts_of_all(firm), strict=True
                    )
                )
            else:
                able = timetable.none()
            numbers = np.flatnonzero(rows)
            yield Family(target, action, numbers, every, able, worthwhile, restless)


class _Bands(Record, eq=False):
    """The bands of a channel with the starts that could do each, group by group.

    `near` marks switchings that a special day or its plan could do instead.
    """

    target: ChannelTarget
    timetable: Timetable
    low: Ints
    high: Ints
    turns_on: Bools
    in_time: tuple[InTime, ...]
    near: Bools

    @staticmethod
    def of(target: ChannelTarget, timetable: Timetable) -> _Bands:
        low = np.array([s.earliest for s in target.switchings], dtype=np.int64)
        high = np.array([s.latest for s in target.switchings], dtype=np.int64)
        turns_on = np.array([s.action is Action.ON for s in target.switchings], dtype=np.bool_)
        in_time = timetable.in_time(low, high)
        near = _near_special_days(target, timetable, low, high)
        return _Bands(target, timetable, low, high, turns_on, in_time, near)

    def starts(self, rows: Bools) -> Choice:
        """The starts that could do any of some rows."""
        return tuple(held > 0 for held in self._held(rows))

    def starts_of_all(self, rows: Bools) -> Choice:
        """The starts that could do all of some rows."""
        return tuple(held >= int(rows.sum()) for held in self._held(rows))

    def _held(self, rows: Bools) -> Iterator[Ints]:
        for runs, size in zip(self.in_time, self.timetable.sizes(), strict=True):
            yield runs.of_rows(rows).held(size)

    def restless(self) -> Bools:
        """The rows in whose band an event of the other action could fire, or a special day switch;
        with those whose bands overlap one of theirs.
        """
        found = np.zeros(len(self.low), dtype=np.bool_)
        touched = self.timetable.in_time(self.low, self.high, ending=True)
        for turns_on in (self.turns_on, ~self.turns_on):
            others = self.starts(~turns_on)
            for runs, starts in zip(touched, others, strict=True):
                found[runs.of_rows(turns_on).rows_meeting(starts)] = True
        if not is_quiet(self.timetable.controller):
            found |= self.near
        # An instant is no choice.
        found &= self.low < self.high
        overlap = self.low[1:] <= self.high[:-1]
        while True:
            wider = found.copy()
            wider[1:] |= found[:-1] & overlap
            wider[:-1] |= found[1:] & overlap
            if (wider == found).all():
                return found
            found = wider

    def keep_dates(self, rows: Bools) -> bool:
        """Whether all that could do one of these rows names the same date, where that matters."""
        if not self.near.any():
            return True
        clock = self.timetable.clock
        first = (self.low[rows] + offsets_at(clock, self.low[rows])) // DAY
        last = (self.high[rows] + offsets_at(clock, self.high[rows])) // DAY
        names_it = self.timetable.controller.sun_date in (None, "fires on")
        return names_it and bool((first == last).all())

    def apart(self, rows: Bools) -> Iterator[Bools]:
        """Some rows in families: those that a chain of starts joins are in one."""
        family = np.arange(len(self.low))
        joined = list(self._joined(rows))
        while True:
            before = family.copy()
            for members, blocks in joined:
                least = np.full(int(blocks.max(initial=-1)) + 1, len(family))
                np.minimum.at(least, blocks, family[members])
                np.minimum.at(family, members, least[blocks])
            if (family == before).all():
                break
        for number in np.unique(family[rows]).tolist():
            yield rows & (family == number)

    def _joined(self, rows: Bools) -> Iterator[tuple[Ints, Ints]]:
        """For each group rows, and the number of the block of overlapping runs each is in."""
        for every in self.in_time:
            runs = every.of_rows(rows)
            order = np.argsort(runs.first, kind="stable")
            reached = np.maximum.accumulate(runs.last[order])
            begins = np.concatenate([[True], runs.first[order][1:] > reached[:-1]])
            yield runs.rows[order], np.cumsum(begins[: len(order)]) - 1


def _near_special_days(
    target: ChannelTarget, timetable: Timetable, low: Ints, high: Ints
) -> Bools:
    """A special day may be one of those wanted or the day after, and a sun event may count for the
    date before or after its own.
    """
    if not timetable.controller.exceptions.slots or not target.special:
        return np.zeros(len(low), dtype=np.bool_)
    special = np.sort([day.toordinal() - EPOCH_ORDINAL for day in target.special])
    first = (low + offsets_at(timetable.clock, low)) // DAY
    last = (high + offsets_at(timetable.clock, high)) // DAY
    near: Bools = special.searchsorted(first - 2) < special.searchsorted(last + 1, "right")
    return near
