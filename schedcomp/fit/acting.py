"""When the lamps switch while the sun keeps its time: the first firing in each cell.

A firing acts if it certainly comes and falls into a cell of its own action, not after the band in
which that cell's switching is covered: later ones never come first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import compress, repeat

import numpy as np

from schedcomp.fit.cells import NO_ROW, Cells, Profile, counted
from schedcomp.fit.date_ranges import within
from schedcomp.fit.firings import Bools, Firings, Ints, all_dates, any_date
from schedcomp.fit.settled import Settled, Spot, Stored, StoredDays
from schedcomp.model import Action, Instant
from schedcomp.records import Record, field

_LAST = int(np.iinfo(np.int64).max)


class Reach(Record):
    """What the firings of a group do as one action on a channel: [starts x occasions].

    `row` is the switching for which a firing acts, or NO_ROW, `other_row` a second one where
    borders are free. `seen` says the same of covering, which is stricter: in time under every
    error.
    """

    seen: Profile
    row: Ints
    other_row: Ints


def reach(firings: Firings, cells: Cells, seen: Profile, action: Action) -> Reach:
    """For which switchings every firing of a group acts."""
    if (firings.first == firings.last).all():
        return Reach(seen, seen.row, seen.other_row)
    row = np.full(firings.first.shape, NO_ROW, dtype=np.int64)
    other_row = row.copy()
    sure = firings.certain & counted(firings, cells)
    cell = np.searchsorted(cells.low, firings.first, side="right")
    tops, highs = np.append(cells.top, _LAST), np.append(cells.high, _LAST)
    for back in range(cells.reach):
        k = cell - back
        inside = sure & (k >= 1) & (cells.is_on(np.maximum(k, 0)) == (action is Action.ON))
        inside &= firings.last < tops[np.maximum(k, 0)]
        inside &= firings.nominal <= highs[np.maximum(k - 1, 0)]
        other_row = np.where(inside & (row != NO_ROW), k - 1, other_row)
        row = np.where(inside & (row == NO_ROW), k - 1, row)
    return Reach(seen, row, other_row)


class Act(Record):
    """One firing that acts: for which switching of which channel (index), and how far from asked.

    `covers`: it is in time under every error. It comes on the dates of which all are named; none
    at all for events of a plan, which come whatever their weekdays and range.
    """

    channel: int
    row: int
    nominal: Instant
    away_seconds: int
    covers: bool
    spots: tuple[Spot, ...]


class Stage(Record, eq=False):
    """A settled program's channels, with everything that can act on them.

    `days` are the special days, for the events of plans.
    """

    settled: Settled
    days: tuple[StoredDays, ...] = ()
    _reaches: dict[tuple[int, int, Action], Reach] = field(default_factory=dict)
    _known: dict[tuple[object, ...], tuple[Act, ...]] = field(default_factory=dict)

    def reach(self, group: int, channel: int, action: Action) -> Reach:
        """What a group of firings does on a channel (index)."""
        key = (group, channel, action)
        if key not in self._reaches:
            settled = self.settled
            seen = settled.profile(group, channel, action)
            cells = settled.cells[channel]
            self._reaches[key] = reach(settled.firings[group], cells, seen, action)
        return self._reaches[key]

    def acts(self, event: Stored) -> tuple[Act, ...]:
        """Every firing of an event's start that acts on one of its channels, on whatever date.

        KeyError if no firings of its start are known.
        """
        key = (event.start, event.action, event.channels, event.plan)
        if key not in self._known:
            number, place = self.settled.group_of(event.start)
            self._known[key] = tuple(
                act
                for channel in event.channels
                for act in self._acts(event, number, place, self.settled.index(channel))
            )
        return self._known[key]

    def _acts(self, event: Stored, number: int, place: int, channel: int) -> Iterator[Act]:
        group, asked = self.settled.firings[number], self.settled.cells[channel].asked
        found = self.reach(number, channel, event.action)
        rows = found.row[place]
        days, known = self._dates(number, place)
        comes = (rows != NO_ROW) & self._comes(days, known, self._days_of(event, channel), channel)
        at = np.flatnonzero(comes)
        rows, nominal = rows[at], group.nominal[place, at]
        spots: Iterable[tuple[Spot, ...]] = repeat((), len(at))
        if not event.plan:
            spots = self._spots(days[at], known[at])
        columns = (
            rows.tolist(),
            nominal.tolist(),
            np.abs(nominal - asked[rows]).tolist(),
            (found.seen.row[place, at] == rows).tolist(),
        )
        for row, instant, away, covers, where in zip(*columns, spots, strict=True):
            yield Act(channel, row, instant, away, covers, where)

    def _dates(self, number: int, place: int) -> tuple[Ints, Bools]:
        """The three dates that decide each firing, and which of them are on the axis."""
        days = self.settled.firings[number].dates[place]
        known = (days >= 0) & (days < self.settled.ranges.axis.count)
        return np.where(known, days, 0), known

    def _days_of(self, event: Stored, channel: int) -> frozenset[int] | None:
        """The dates of an event's plan on a channel, None for a normal event."""
        if not event.plan:
            return None
        number = self.settled.channels[channel].channel
        entries = [d for d in self.days if d.plan == event.plan and number in d.channels]
        return frozenset(day for entry in entries for day in entry.days)

    def _comes(
        self, days: Ints, known: Bools, of_plan: frozenset[int] | None, channel: int
    ) -> Bools:
        """Which firings come for certain where all dates that decide them are named."""
        if of_plan is None:
            named = ~self.settled.rests[channel]
        else:
            named = np.zeros(self.settled.ranges.axis.count, dtype=np.bool_)
            named[list(of_plan)] = True
        certain: Bools = any_date(known) & all_dates(named[days] | ~known)
        return certain

    def _spots(self, days: Ints, known: Bools) -> Iterator[tuple[Spot, ...]]:
        """The dates of each firing as position and weekday, each once."""
        ranges = self.settled.ranges
        positions, weekdays = ranges.positions[days], ranges.weekdays[days]
        firsts = zip(positions[:, 0].tolist(), weekdays[:, 0].tolist(), strict=True)
        alone = known.all(axis=1) & (days == days[:, :1]).all(axis=1)
        for number, (first, is_alone) in enumerate(zip(firsts, alone.tolist(), strict=True)):
            if is_alone:
                yield (first,)
            else:
                every = zip(positions[number].tolist(), weekdays[number].tolist(), strict=True)
                yield tuple(dict.fromkeys(compress(every, known[number].tolist())))


def comes(event: Stored, act: Act) -> bool:
    """Whether a firing certainly comes with the weekdays and the range an event has."""
    weekdays, places = event.weekdays, event.places
    for position, weekday in act.spots:
        if not weekdays >> weekday & 1 or (places is not None and not within(position, places)):
            return False
    return True


ChannelRow = tuple[int, int]
"""Index of a channel and of one of its switchings."""


def first_acts(events: Sequence[Stored], acts: Sequence[Sequence[Act]]) -> Mapping[ChannelRow, Act]:
    """For every switching that some of the events do the firing that does it."""
    first: dict[ChannelRow, Act] = {}
    for event, own in zip(events, acts, strict=True):
        for act in own:
            key = (act.channel, act.row)
            if comes(event, act) and (key not in first or act.nominal < first[key].nominal):
                first[key] = act
    return first


def away_by_channel(first: Mapping[ChannelRow, Act], channels: int) -> tuple[int, ...]:
    """Seconds between what happens and what was asked, summed for every channel."""
    found = [0] * channels
    for act in first.values():
        found[act.channel] += act.away_seconds
    return tuple(found)
