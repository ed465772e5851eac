"""A program that works, with its borders settled: what may still be changed about it for free.

The stages after the fewest events are known (least deviation, readable dates, safety repeats)
work on this: every border is one instant, every special day is known, so each event is judged by
itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from schedcomp.fit.cells import NO_ROW, Cells, Profile, profile
from schedcomp.fit.date_ranges import RangeAxis, within
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.model import Action
from schedcomp.program import EventDates, Start
from schedcomp.target import ChannelTarget

Spot = tuple[int, int]
"""A date as (position on the range axis, weekday)."""


@dataclass(frozen=True, slots=True)
class Stored:
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


@dataclass(frozen=True, slots=True)
class StoredDays:
    """Dates on which a plan runs on some channels; `days` are their axis date numbers."""

    channels: tuple[int, ...]
    plan: str
    dates: EventDates
    days: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Firing:
    """One firing of an event on one channel: its interval, the dates that decide, what it does.

    `row` is the switching it certainly covers, or NO_ROW. `harmless`: it lies in one cell of its
    action.
    """

    first: int
    last: int
    spots: tuple[Spot, ...]
    row: int
    harmless: bool


@dataclass(frozen=True, slots=True)
class Settled:
    """Channels with fixed borders, all firings, and the special days by channel.

    `rests[c]` marks the axis dates on which channel `c` (index into `channels`) has special days.
    """

    channels: tuple[ChannelTarget, ...]
    cells: tuple[Cells, ...]
    firings: tuple[Firings, ...]
    ranges: RangeAxis
    rests: tuple[Bools, ...]
    _profiles: dict[tuple[int, int, Action], Profile] = field(default_factory=dict, compare=False)

    def index(self, channel: int) -> int:
        """The index of a channel by its number; StopIteration if there is none."""
        return next(i for i, c in enumerate(self.channels) if c.channel == channel)

    def group_of(self, start: Start) -> tuple[int, int]:
        """The group of firings that has a start, and its place there; KeyError if none has."""
        for number, group in enumerate(self.firings):
            if start in group.starts:
                return number, group.starts.index(start)
        raise KeyError(start)

    def profile(self, group: int, channel: int, action: Action) -> Profile:
        """What all firings of a group do as `action` on a channel (index into `channels`)."""
        key = (group, channel, action)
        if key not in self._profiles:
            self._profiles[key] = profile(self.firings[group], self.cells[channel], action)
        return self._profiles[key]

    def of(self, start: Start, action: Action, channel: int) -> Iterator[Firing]:
        """Every firing of a start on a channel that could matter, on whatever date, in order.

        Firings on special days are left out, those that only touch one are never certain.
        """
        index = self.index(channel)
        number, place = self.group_of(start)
        group, seen = self.firings[number], self.profile(number, index, action)
        for occasion in np.flatnonzero(_matters(group, seen, place, self.cells[index])).tolist():
            days = [int(d) for d in dict.fromkeys(group.dates[place, occasion].tolist())]
            days = [d for d in days if 0 <= d < self.ranges.axis.count]
            resting = [bool(self.rests[index][d]) for d in days]
            if not days or all(resting):
                continue
            yield Firing(
                int(group.first[place, occasion]),
                int(group.last[place, occasion]),
                tuple((int(self.ranges.positions[d]), int(self.ranges.weekdays[d])) for d in days),
                NO_ROW if any(resting) else int(seen.row[place, occasion]),
                not bool(seen.never[place, occasion]),
            )

    def is_harmless(self, event: Stored) -> bool:
        """Whether no firing of a normal event does anything its cell does not ask for."""
        return all(
            firing.harmless
            for channel in event.channels
            for firing in self.of(event.start, event.action, channel)
            if any(fires_on(event, spot) for spot in firing.spots)
        )

    def covered(self, event: Stored) -> frozenset[tuple[int, int]]:
        """What a normal event covers, as (channel number, row)."""
        return frozenset(
            (channel, firing.row)
            for channel in event.channels
            for firing in self.of(event.start, event.action, channel)
            if firing.row != NO_ROW and all(fires_on(event, spot) for spot in firing.spots)
        )


def fires_on(event: Stored, spot: Spot) -> bool:
    """Whether a normal event's weekdays and dates name a date."""
    position, weekday = spot
    if not event.weekdays >> weekday & 1:
        return False
    return event.places is None or within(position, event.places)


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
