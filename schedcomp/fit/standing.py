"""What the stored events of a settled program do, firing by firing, and when it is surely done.

A firing moves nothing if it lies in a cell of its own action and the switching of that cell is
surely done when it comes: it can then never be the first of its cell.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from schedcomp.fit.date_ranges import all_within
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.fit.settled import Settled, Stored
from schedcomp.model import Action
from schedcomp.program import Start, SunOffset
from schedcomp.records import Record, replace

NEVER = int(np.iinfo(np.int64).max)
_ALWAYS = int(np.iinfo(np.int64).min)
NO_CELL = -1


class Fires(Record):
    """Every firing of one start as one action on one channel that could matter, as columns.

    `cell` is where a firing begins; `right`: it lies in that cell, and the cell has its action.
    `dates_known`, `positions` and `weekdays` [firings x 3] are the dates that decide about it.
    `certain`: it comes wherever all of them are named, and none is a special day.
    """

    occasion: Ints
    first: Ints
    last: Ints
    cell: Ints
    right: Bools
    certain: Bools
    dates_known: Bools
    positions: Ints
    weekdays: Ints

    def may(self, event: Stored) -> Bools:
        """Which firings come on some date the event names."""
        may: Bools = np.logical_or.reduce(self._named(event), axis=1)
        return may

    def surely(self, event: Stored) -> Bools:
        """Which firings come whatever the dates that decide."""
        named: Bools = np.logical_and.reduce(self._named(event), axis=1)
        return self.certain & named

    def _named(self, event: Stored) -> Bools:
        on_weekday = (event.weekdays >> self.weekdays & 1).astype(np.bool_)
        if event.places is None:
            return self.dates_known & on_weekday
        return self.dates_known & on_weekday & all_within(self.positions, event.places)


class Held(Record):
    """A normal event on one channel (index): `ends[k]` is when it has surely fired in cell `k`.

    NEVER where it may not. `sure_cell` is, for every occasion of its start, the cell in which it
    surely fires.
    """

    event: Stored
    channel: int
    ends: Ints
    sure_cell: Ints


class Standing(Record):
    """A settled program with the normal events it holds, in order.

    `done[c][k]` is the instant by which the switching that begins cell `k` of channel `c` is
    surely done, under every error and whoever does it.
    """

    settled: Settled
    held: tuple[Held, ...]
    done: tuple[Ints, ...]

    def knows(self, start: Start) -> bool:
        """Whether the firings of a start are at hand."""
        return self.settled.knows(start)

    def occasions(self, start: Start) -> int:
        """How many occasions a start has: dates, for all clock starts the same."""
        number, _ = self.settled.group_of(start)
        return int(self.settled.firings[number].first.shape[1])

    def fires(self, start: Start, action: Action, channel: int) -> Fires:
        """What a start does on a channel (index); KeyError if no firings of it are known."""
        settled = self.settled
        number, place = settled.group_of(start)
        group, cells = settled.firings[number], settled.cells[channel]
        days = group.dates[place]
        known = (days >= 0) & (days < settled.ranges.axis.count)
        days = np.where(known, days, 0)
        resting = known & settled.rests[channel][days]
        matters = (group.last[place] >= cells.origin) & (group.first[place] <= cells.end)
        matters &= (known & ~resting).any(axis=1)
        at = np.flatnonzero(matters)
        seen = settled.profile(number, channel, action)
        first = group.first[place, at]
        return Fires(
            occasion=at,
            first=first,
            last=group.last[place, at],
            cell=np.searchsorted(cells.low, first, side="right"),
            right=~(seen.never | seen.depends)[place, at],
            certain=group.certain[place, at] & ~resting[at].any(axis=1),
            dates_known=known[at],
            positions=settled.ranges.positions[days[at]],
            weekdays=settled.ranges.weekdays[days[at]],
        )

    def moves_nothing(self, event: Stored, channel: int, fires: Fires) -> Bools:
        """Which firings of an event on a channel (index) change nothing while all goes well.

        Of two events with one sun word the one with the smaller offset comes first on each date,
        whatever the error.
        """
        done = fires.first >= self.done[channel][fires.cell]
        for held in self.held:
            if held.channel == channel and _goes_before(held.event, event):
                done |= held.sure_cell[fires.occasion] == fires.cell
        nothing: Bools = fires.right & done
        return nothing

    def holding(self, event: Stored) -> Standing:
        """With one more normal event, which moves nothing."""
        return replace(self, held=(*self.held, *self._held(event)))

    def _held(self, event: Stored) -> Iterable[Held]:
        for number in event.channels:
            channel = self.settled.index(number)
            fires = self.fires(event.start, event.action, channel)
            sure = fires.right & fires.surely(event)
            ends = np.full(len(self.settled.cells[channel].low) + 1, NEVER)
            np.minimum.at(ends, fires.cell[sure], fires.last[sure])
            sure_cell = np.full(self.occasions(event.start), NO_CELL)
            sure_cell[fires.occasion[sure]] = fires.cell[sure]
            yield Held(event, channel, ends, sure_cell)


def standing_of(settled: Settled, events: Sequence[Stored], starts: Iterable[Start]) -> Standing:
    """The normal ones of `events`, with the firings of `starts` at hand besides their own."""
    normal = [e for e in events if not e.plan]
    wanted = {*starts, *(e.start for e in normal)}
    narrow = Settled(
        settled.channels,
        settled.cells,
        tuple(_only(group, wanted) for group in settled.firings),
        settled.ranges,
        settled.rests,
    )
    standing = Standing(narrow, (), ())
    for event in normal:
        standing = standing.holding(event)
    done = tuple(_done(standing, channel) for channel in range(len(narrow.channels)))
    return replace(standing, done=done)


def _only(group: Firings, wanted: set[Start]) -> Firings:
    return group.only(np.array([s in wanted for s in group.starts], dtype=np.bool_))


def _done(standing: Standing, channel: int) -> Ints:
    """A program that works has done each switching by the end of its band."""
    ends = [h.ends[1:] for h in standing.held if h.channel == channel]
    by_row = np.minimum.reduce([standing.settled.cells[channel].high, *ends])
    return np.concatenate([[_ALWAYS], by_row])


def _goes_before(one: Stored, other: Stored) -> bool:
    return (
        isinstance(one.start, SunOffset)
        and isinstance(other.start, SunOffset)
        and one.start.word == other.start.word
        and one.start.offset_minutes <= other.start.offset_minutes
    )
