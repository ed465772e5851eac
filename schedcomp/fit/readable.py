"""Dates one reads at a glance: every day where that does the same, whole months, dates others have.

Only the dates of events change, one event after the other, and only where nothing gets worse: all
is harmless and covered as before, and the lamps switch no further from the wish.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence, Set

from schedcomp.fit.acting import Act
from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import MONTH_DAYS, Places, RangeAxis
from schedcomp.fit.settled import Settled, Stored
from schedcomp.fit.trimming import Freedom, Table
from schedcomp.records import Record, replace

_EndTest = Callable[[int, RangeAxis], bool]

NEAR = 45
"""Days by which an end of a range may move to the end of a month."""


def readable(
    events: Sequence[Stored],
    acts: Sequence[Sequence[Act]],
    weights: Sequence[int],
    settled: Settled,
    freedom: Freedom,
    *,
    any_weekdays: bool,
) -> tuple[Stored, ...]:
    """The events on plainer dates. `any_weekdays`: more weekdays take no more slots."""
    table = Table.of(events, acts, weights)
    for number, event in enumerate(events):
        if event.plan:
            continue
        reader = _Reader(table.events, number, freedom, any_weekdays)
        harm = _harm(event, settled)
        for weekdays, places in reader.plainer():
            if _does_harm(weekdays, places, harm, freedom.ranges):
                continue
            plainer = replace(event, weekdays=weekdays, places=places)
            if table.replaced(number, plainer, at_most_same=True):
                break
    return tuple(table.events)


def _harm(event: Stored, settled: Settled) -> list[int]:
    """For each weekday the positions at which this start would do harm, as bit sets."""
    found = [0] * 7
    for channel in event.channels:
        for spots in settled.harmful(event.start, event.action, channel):
            for position, weekday in spots:
                found[weekday] |= 1 << position
    return found


def _does_harm(
    weekdays: int, places: Places | None, harm: Sequence[int], ranges: RangeAxis
) -> bool:
    named = (1 << ranges.count) - 1
    if places is not None:
        first, last = places
        inside = (1 << last + 1) - 1
        before = (1 << first) - 1
        named = inside & ~before if first <= last else inside | (named & ~before)
    return any(harm[day] & named for day in range(7) if weekdays >> day & 1)


class _Reader(Record):
    """One event among others, and which dates would read better."""

    events: Sequence[Stored]
    number: int
    freedom: Freedom
    any_weekdays: bool

    def plainer(self) -> Iterator[tuple[int, Places | None]]:
        """Weekdays and ranges that read better, the best first."""
        own = self.events[self.number]
        others = [e for n, e in enumerate(self.events) if n != self.number and not e.plan]
        weekdays, places = {e.weekdays for e in others}, {e.places for e in others}
        by_weekdays = {days: self._rank_of_weekdays(days, weekdays) for days in self._weekdays(own)}
        by_places = {dates: self._rank_of_places(dates, places) for dates in self._places(own)}
        now = (
            self._rank_of_weekdays(own.weekdays, weekdays),
            self._rank_of_places(own.places, places),
        )
        options = [(days, dates) for days in by_weekdays for dates in by_places]
        ranks = ((by_weekdays[days], by_places[dates]) for days, dates in options)
        better = sorted(
            (rank, self._moved(own.places, options[n][1]), n)
            for n, rank in enumerate(ranks)
            if _is_better(rank, now)
        )
        return (options[n] for _, _, n in better)

    def _weekdays(self, own: Stored) -> list[int]:
        if not self.any_weekdays:
            return [own.weekdays]
        known = self.freedom.weekday_sets
        others = [event.weekdays for event in self.events if not event.plan]
        found = dict.fromkeys([ALL_WEEKDAYS, own.weekdays, *others])
        return [days for days in found if known is None or days in known]

    def _places(self, own: Stored) -> list[Places | None]:
        found: dict[Places | None, None] = {None: None, own.places: None}
        if own.places is not None:
            ranges = self.freedom.ranges
            first, last = own.places
            firsts = [first, *_near(first, ranges, _begins_month)]
            lasts = [last, *_near(last, ranges, _ends_month)]
            found |= dict.fromkeys((a, b) for a in firsts for b in lasts)
            found |= dict.fromkeys(e.places for e in self.events if not e.plan)
            if not ranges.circular:
                found = {p: None for p in found if p is None or p[0] <= p[1]}
        return list(found)

    def _rank_of_weekdays(self, days: int, known: Set[int]) -> int:
        """How weekdays read, beside those of others; less is plainer."""
        if days == ALL_WEEKDAYS:
            return 0
        return 1 if days in known else 2

    def _rank_of_places(self, places: Places | None, known: Set[Places | None]) -> int:
        """How a range reads, beside those of others; less is plainer."""
        if places is None:
            return 0
        ranges = self.freedom.ranges
        first, last = places
        round_ends = _begins_month(first, ranges) + _ends_month(last, ranges)
        return 1 if round_ends == 2 else 2 if places in known else 3 if round_ends else 4

    def _moved(self, own: Places | None, other: Places | None) -> int:
        """By how many days the ends of a range moved."""
        if own is None or other is None:
            return 0
        count = self.freedom.ranges.count
        away = ((b - a) % count for a, b in zip(own, other, strict=True))
        return sum(min(days, count - days) for days in away)


def _is_better(rank: tuple[int, int], now: tuple[int, int]) -> bool:
    return rank != now and rank[0] <= now[0] and rank[1] <= now[1]


def _near(place: int, ranges: RangeAxis, wanted: _EndTest) -> list[int]:
    near = range(place - NEAR, place + NEAR + 1)
    if ranges.circular:
        return [p % ranges.count for p in near if wanted(p % ranges.count, ranges)]
    return [p for p in near if 0 <= p < ranges.count and wanted(p, ranges)]


def _month_day(place: int, ranges: RangeAxis) -> tuple[int, int]:
    if ranges.with_year:
        day = ranges.axis.dates[place]
        return day.month, day.day
    return MONTH_DAYS[place]


def _begins_month(place: int, ranges: RangeAxis) -> bool:
    return _month_day(place, ranges)[1] == 1


def _ends_month(place: int, ranges: RangeAxis) -> bool:
    after = place + 1
    return after == ranges.count or _begins_month(after, ranges)
