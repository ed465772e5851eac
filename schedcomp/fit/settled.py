"""A program that works, with its borders settled: what may still be changed about it for free.

The stages after the fewest events are known (least deviation, readable dates, safety repeats)
work on this: every border is one instant, every special day is known, so each event is judged by
itself.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.fit.bit_sets import as_sets
from schedcomp.fit.cells import NO_ROW, Cells, Profile, profile
from schedcomp.fit.date_ranges import RangeAxis, all_within
from schedcomp.fit.firings import Bools, Firings, Ints, all_dates, any_date
from schedcomp.model import Action
from schedcomp.program import EventDates, Start
from schedcomp.records import Record, field, replace
from schedcomp.target import ChannelTarget

Spot = tuple[int, int]
"""A date as (position on the range axis, weekday)."""


class Stored(Record):
    """One event as a unit would hold it, before slots are numbered.

    `weekdays` is a bit set, Monday is bit 0; `places` are the positions its range spans on the
    range axis (first, last; wraps where last comes first), None for every date. An event of a
    `plan` fires on the dates of that plan, whatever its weekdays and places.
    """

    channels: tuple[int, ...]
    action: Action
    start: Start
    weekdays: int
    places: tuple[int, int] | None
    plan: str = ""


class StoredDays(Record):
    """Dates on which a plan runs on some channels; `days` are their axis date numbers."""

    channels: tuple[int, ...]
    plan: str
    dates: EventDates
    days: tuple[int, ...]


class Settled(Record, eq=False):
    """Channels with fixed borders, all firings, and the special days by channel.

    `rests[c]` marks the axis dates on which channel `c` (index into `channels`) has special days.
    """

    channels: tuple[ChannelTarget, ...]
    cells: tuple[Cells, ...]
    firings: tuple[Firings, ...]
    ranges: RangeAxis
    rests: tuple[Bools, ...]
    _profiles: dict[tuple[int, int, Action], Profile] = field(default_factory=dict)
    _harmful: dict[tuple[Start, Action, int], tuple[int, ...]] = field(default_factory=dict)
    _places: dict[Start, tuple[int, int]] = field(default_factory=dict)

    def with_firings(self, firings: tuple[Firings, ...]) -> Settled:
        """The same with the firings of other starts."""
        return replace(self, firings=firings, _profiles={}, _places={})

    def index(self, channel: int) -> int:
        """The index of a channel by its number; StopIteration if there is none."""
        return next(i for i, c in enumerate(self.channels) if c.channel == channel)

    def group_of(self, start: Start) -> tuple[int, int]:
        """The group of firings that has a start, and its place there; KeyError if none has."""
        if not self._places:
            for number, group in enumerate(self.firings):
                for place, known in enumerate(group.starts):
                    self._places.setdefault(known, (number, place))
        return self._places[start]

    def knows(self, start: Start) -> bool:
        """Whether the firings of a start are at hand."""
        return start in self._places or any(start in group.starts for group in self.firings)

    def profile(self, group: int, channel: int, action: Action) -> Profile:
        """What all firings of a group do as `action` on a channel (index into `channels`)."""
        key = (group, channel, action)
        if key not in self._profiles:
            self._profiles[key] = profile(self.firings[group], self.cells[channel], action)
        return self._profiles[key]

    def is_harmless(self, event: Stored) -> bool:
        """Whether no firing of a normal event does anything its cell does not ask for."""
        named = self.ranges.named(event.places)
        return not any(
            harm & named
            for channel in event.channels
            for day, harm in enumerate(self.harmful(event.start, event.action, channel))
            if event.weekdays >> day & 1
        )

    def harmful(self, start: Start, action: Action, channel: int) -> tuple[int, ...]:
        """For each weekday the positions at which a start does on a channel what its cell does not
        ask for, as bit sets.

        Firings on special days are left out.
        """
        key = (start, action, channel)
        if key not in self._harmful:
            looked = self._looked_at(start, action, channel)
            harm = looked.never & looked.matters
            days = looked.inside[harm][looked.known[harm]]
            marked = np.zeros((7, self.ranges.count), dtype=np.bool_)
            marked[self.ranges.weekdays[days], self.ranges.positions[days]] = True
            self._harmful[key] = tuple(as_sets(marked))
        return self._harmful[key]

    def covered(self, event: Stored) -> frozenset[tuple[int, int]]:
        """What a normal event covers, as (channel number, row); no firing that only touches a
        special day.
        """
        found: set[tuple[int, int]] = set()
        for channel in event.channels:
            looked = self._looked_at(event.start, event.action, channel)
            sure = looked.matters & (looked.row != NO_ROW) & ~looked.touches_rest
            named = all_dates(self._named(event)[looked.inside] | ~looked.known)[sure]
            found |= {(channel, row) for row in looked.row[sure][named].tolist()}
        return frozenset(found)

    def as_if_always(self, event: Stored) -> tuple[Ints, Ints, Bools]:
        """The firings of a normal event were there no special days: first, last, certain."""
        number, place = self.group_of(event.start)
        group = self.firings[number]
        days = group.dates[place]
        known = (days >= 0) & (days < self.ranges.axis.count)
        named = known & self._named(event)[np.where(known, days, 0)]
        fires = any_date(named)
        certain = group.certain[place] & all_dates(named)
        return group.first[place][fires], group.last[place][fires], certain[fires]

    def _named(self, event: Stored) -> Bools:
        """Which axis dates the weekdays and the range of an event name."""
        named: Bools = (event.weekdays >> self.ranges.weekdays & 1).astype(np.bool_)
        if event.places is not None:
            named &= all_within(self.ranges.positions, event.places)
        return named

    def _looked_at(self, start: Start, action: Action, channel: int) -> _LookedAt:
        index = self.index(channel)
        number, place = self.group_of(start)
        group, seen = self.firings[number], self.profile(number, index, action)
        days = group.dates[place]
        known = (days >= 0) & (days < self.ranges.axis.count)
        inside = np.where(known, days, 0)
        rests = self.rests[index][inside]
        counts = _matters(group, seen, place, self.cells[index])
        counts &= any_date(known) & ~all_dates(rests | ~known)
        return _LookedAt(
            days, known, inside, counts, any_date(rests & known), seen.row[place], seen.never[place]
        )


class _LookedAt(Record):
    """The firings of one start on one channel: [occasions], and [occasions x 3] for their dates.

    `inside` are the dates with 0 for those that are not `known`; `matters` marks firings that are
    not on special days with all their dates.
    """

    days: Ints
    known: Bools
    inside: Ints
    matters: Bools
    touches_rest: Bools
    row: Ints
    never: Bools


def with_borders(cells: Cells, borders: Ints) -> Cells:
    """Cells whose borders are these instants, one for each switching."""
    return replace(cells, low=borders, top=borders)


def no_rests(channels: Sequence[ChannelTarget], ranges: RangeAxis) -> tuple[Bools, ...]:
    """No special days on any channel."""
    return tuple(np.zeros(ranges.axis.count, dtype=np.bool_) for _ in channels)


def _matters(group: Firings, seen: Profile, place: int, cells: Cells) -> Bools:
    exists = (group.last[place] >= cells.origin) & (group.first[place] <= cells.end)
    matters: Bools = exists | (seen.row[place] != NO_ROW)
    return matters
