"""Switchings of one channel and action in families that share no start.

Told from the bands alone, with rather too many starts for each than too few.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.clock import day_number
from schedcomp.clock_columns import offsets_at
from schedcomp.fit.firings import Bools, Ints
from schedcomp.fit.in_time import InTime
from schedcomp.fit.special_days import domains_of, first_days, is_quiet
from schedcomp.fit.timetable import Choice, Timetable
from schedcomp.model import DAY, Action
from schedcomp.records import Record
from schedcomp.target import ChannelTarget


class Family(Record, eq=False):
    """Switchings (`rows` of a channel) of one action; no start could do one of them and another.

    Those that are `firm` can be done by nothing but normal events: they are not near a special day.
    `every` are the starts that could do any of the rows, `near` any that is not firm, `able` those
    that could do all rows, `able_for_firm` all that are firm. `restless` marks the channel's
    switchings with a border worth choosing, `steady`: nothing about borders or dates keeps one
    event from standing in for several.
    """

    target: ChannelTarget
    action: Action
    rows: Ints
    firm: Ints
    every: Choice
    near: Choice
    able: Choice
    able_for_firm: Choice
    restless: Bools
    steady: bool


def families(target: ChannelTarget, timetable: Timetable) -> Iterator[Family]:
    """All families of a channel, of which no band may be empty."""
    bands = _Bands.of(target, timetable)
    restless = bands.restless()
    for action in Action:
        for rows in bands.apart(bands.turns_on == (action is Action.ON)):
            firm = rows & ~bands.near
            yield Family(
                target=target,
                action=action,
                rows=np.flatnonzero(rows),
                firm=np.flatnonzero(firm),
                every=bands.starts(rows),
                near=bands.starts(rows & bands.near),
                able=bands.starts_of_all(rows),
                able_for_firm=bands.starts_of_all(firm),
                restless=restless,
                steady=not (rows & restless).any() and bands.keep_dates(rows),
            )


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
        columns = target.columns
        low, high = columns.earliest, columns.latest
        in_time = timetable.in_time(low, high)
        near = _near_special_days(target, timetable, in_time, low, high)
        return _Bands(target, timetable, low, high, columns.turns_on, in_time, near)

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
        for number in sorted(set(family[rows].tolist())):
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
    target: ChannelTarget, timetable: Timetable, in_time: Sequence[InTime], low: Ints, high: Ints
) -> Bools:
    """Rows with some part of the band on a date that may be a special day, or where some end, or
    with an event that could be tested against one.
    """
    controller, clock, axis = timetable.controller, timetable.clock, timetable.axis
    domains = domains_of([target], controller, clock, axis)
    special = np.sort([day for domain in domains for days in domain.days for day in days])
    special = special.astype(np.int64) + day_number(axis.first)
    near = np.zeros(len(low), dtype=np.bool_)
    if special.size:
        begin = first_days(controller.exceptions, clock, low)
        end = (high + offsets_at(clock, high)) // DAY
        near = special.searchsorted(begin) < special.searchsorted(end, "right")
        for runs in in_time:
            touched = special.searchsorted(runs.date_from) < special.searchsorted(
                runs.date_to, "right"
            )
            near[runs.rows[touched]] = True
    return near
