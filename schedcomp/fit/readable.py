"""Dates one reads at a glance: every day where that does the same, whole months, dates others have.

Only the dates of events change, one event after the other, and only where nothing gets worse: all
is harmless and covered as before, and the lamps switch no further from the wish.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from operator import itemgetter

from schedcomp.fit.acting import Act
from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import MONTH_DAYS, Places, RangeAxis
from schedcomp.fit.settled import Settled, Stored
from schedcomp.fit.trimming import Freedom, Table
from schedcomp.records import Record, field, replace

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
    months = _Months.of(freedom.ranges)
    for number, event in enumerate(events):
        if event.plan:
            continue
        reader = _Reader(table.events, number, freedom, any_weekdays, months)
        harm = _Harm.of(event, settled)
        for weekdays, places in reader.plainer():
            if harm.is_done(weekdays, places):
                continue
            plainer = replace(event, weekdays=weekdays, places=places)
            if table.replaced(number, plainer, at_most_same=True):
                break
    return tuple(table.events)


class _Harm(Record, eq=False):
    """For each weekday the positions at which a start would do harm, as bit sets."""

    by_weekday: tuple[int, ...]
    ranges: RangeAxis
    _by_weekdays: dict[int, int] = field(default_factory=dict)

    @staticmethod
    def of(event: Stored, settled: Settled) -> _Harm:
        found = [0] * 7
        for channel in event.channels:
            for weekday, harm in enumerate(settled.harmful(event.start, event.action, channel)):
                found[weekday] |= harm
        return _Harm(tuple(found), settled.ranges)

    def is_done(self, weekdays: int, places: Places | None) -> bool:
        """Whether the start does harm on one of these dates."""
        if weekdays not in self._by_weekdays:
            harm = 0
            for weekday, positions in enumerate(self.by_weekday):
                harm |= positions if weekdays >> weekday & 1 else 0
            self._by_weekdays[weekdays] = harm
        harm = self._by_weekdays[weekdays]
        return bool(harm and harm & self.ranges.named(places))


class _Months(Record):
    """The positions of dates at which a month begins, and at which one ends."""

    begins: frozenset[int]
    ends: frozenset[int]

    @staticmethod
    def of(ranges: RangeAxis) -> _Months:
        begins = {place for place in range(ranges.count) if _month_day(place, ranges)[1] == 1}
        return _Months(frozenset(begins), frozenset(p - 1 for p in {*begins, ranges.count} if p))


class _Reader(Record):
    """One event among others, and which dates would read better."""

    events: Sequence[Stored]
    number: int
    freedom: Freedom
    any_weekdays: bool
    months: _Months

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
            firsts = [first, *_near(first, ranges, self.months.begins)]
            lasts = [last, *_near(last, ranges, self.months.ends)]
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
        first, last = places
        round_ends = (first in self.months.begins) + (last in self.months.ends)
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


def _near(place: int, ranges: RangeAxis, wanted: Set[int]) -> list[int]:
    """The wanted positions nearby, those before it first."""
    away = ((p, (p - place + NEAR) % ranges.count) for p in wanted)
    if not ranges.circular:
        away = ((p, p - place + NEAR) for p in wanted)
    return [p for p, behind in sorted(away, key=itemgetter(1)) if 0 <= behind <= 2 * NEAR]


def _month_day(place: int, ranges: RangeAxis) -> tuple[int, int]:
    if ranges.with_year:
        day = ranges.axis.dates[place]
        return day.month, day.day
    return MONTH_DAYS[place]
