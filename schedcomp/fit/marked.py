"""What one start does for each event that could have it: on a channel, on the dates it names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.fit.candidates import Candidate
from schedcomp.fit.date_ranges import RangeAxis, all_within
from schedcomp.fit.firings import Bools, Firings, Ints, all_dates, any_date
from schedcomp.fit.model import Firing
from schedcomp.records import Record, field

Done = tuple[list[Firing], list[int]]
"""The firings of a candidate on a channel that depend on something, and the rows it surely covers
there.
"""


class Marked(Record):
    """One start: the occasions that depend on something, and those that surely cover a row.

    A firing is one object for all events that have it.
    """

    group: Firings
    number: int
    occasions: Ints
    free: Ints
    rows: Ints
    _made: dict[tuple[int, bool], Firing] = field(default_factory=dict)

    def done_by(
        self, candidates: Sequence[Candidate], channel: int, ranges: RangeAxis
    ) -> Iterator[Done]:
        """What each of some candidates with this start does on a channel."""
        every = np.concatenate([self.occasions, self.free])
        some, whole = _named_by(candidates, self.group.dates[self.number, every], ranges)
        count = len(self.occasions)
        rows = self.rows[self.number, self.free]
        for may, surely in zip(some, whole, strict=True):
            certain: list[bool] = surely.tolist()
            firings = []
            for place in np.flatnonzero(may[:count]).tolist():
                key = place, certain[place]
                if key not in self._made:
                    self._made[key] = self._firing(place, certain[place], channel, ranges)
                firings.append(self._made[key])
            yield firings, rows[surely[count:]].tolist()

    def _firing(self, place: int, whole: bool, channel: int, ranges: RangeAxis) -> Firing:
        group, number, occasion = self.group, self.number, int(self.occasions[place])
        days = dict.fromkeys(group.dates[number, occasion].tolist())
        return Firing(
            channel,
            int(group.first[number, occasion]),
            int(group.last[number, occasion]),
            bool(group.certain[number, occasion]) and whole,
            tuple(day for day in days if 0 <= day < ranges.axis.count),
        )


def _named_by(
    candidates: Sequence[Candidate], days: Ints, ranges: RangeAxis
) -> tuple[Bools, Bools]:
    """For each candidate which occasions have a date it names, and which have no others.

    `days` [occasions x 3] are their dates.
    """
    known = (days >= 0) & (days < ranges.axis.count)
    days = np.where(known, days, 0)
    positions = ranges.positions[days]
    every = (0, ranges.count - 1)
    weekdays = np.array([c.weekdays for c in candidates])[:, None, None]
    ends = np.array([c.places or every for c in candidates])
    first, last = ends[:, 0, None, None], ends[:, 1, None, None]
    after, before = positions >= first, positions <= last
    inside = known & np.where(first <= last, after & before, after | before)
    inside &= (weekdays >> ranges.weekdays[days] & 1).astype(np.bool_)
    return any_date(inside), all_dates(inside)


def named_dates(
    candidate: Candidate,
    group: Firings,
    number: int,
    occasions: Ints,
    ranges: RangeAxis,
) -> Bools:
    """For each of three dates of some occasions of a start whether the candidate names it."""
    days = group.dates[number, occasions]
    known = (days >= 0) & (days < ranges.axis.count)
    days = np.where(known, days, 0)
    inside: Bools = known & (candidate.weekdays >> ranges.weekdays[days] & 1).astype(np.bool_)
    if candidate.places is not None:
        inside &= all_within(ranges.positions[days], candidate.places)
    return inside
