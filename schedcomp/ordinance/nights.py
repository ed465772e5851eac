"""Which nights a clause is for, and where each night begins and ends."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from datetime import date, timedelta

import numpy as np

from schedcomp.clock import Zone, day_number
from schedcomp.date_rules import days_between
from schedcomp.days import dates_of
from schedcomp.holiday_list import HolidayList
from schedcomp.model import HOUR, ONE_DAY, Instant, Period
from schedcomp.ordinance.intervals import Interval
from schedcomp.ordinance.many import readings
from schedcomp.ordinance.model import Between, Dating, Season
from schedcomp.phrases.tree import Dates
from schedcomp.records import Record

_LONGEST_RANGE_DAYS = 370


class Nights(Record):
    """The nights of a period in order; night i is [borders[i], borders[i + 1]).

    By evening they go from noon to noon, by calendar date from 00:00 to 24:00.
    """

    days: tuple[date, ...]
    borders: tuple[Instant, ...]

    @property
    def whole(self) -> Interval:
        return self.borders[0], self.borders[-1]

    def of(self, day: date) -> Interval:
        place = (day - self.days[0]).days
        return self.borders[place], self.borders[place + 1]

    def day_at(self, instant: Instant) -> date:
        """The night that holds an instant; the first or last one outside all of them."""
        place = bisect_right(self.borders, instant) - 1
        return self.days[min(max(place, 0), len(self.days) - 1)]


def nights_of(period: Period, zone: Zone, by: Dating, beyond: int = 0) -> Nights:
    """Every night whose date lies in the period; `beyond` further dates on both sides."""
    days = tuple(period.dates(before=beyond, after=beyond))
    reading = 12 * HOUR if by is Dating.EVENING else 0
    first = day_number(days[0])
    numbers = np.arange(first, first + len(days) + 1, dtype=np.int64)
    return Nights(days, tuple(readings(zone, numbers, reading, hold=False).tolist()))


def dates_in(season: Season, days: Sequence[date], holidays: HolidayList) -> frozenset[date]:
    """Those of `days`, which follow one another, that a season names."""
    return _any_of(season.parts, days, holidays) - _any_of(season.removed, days, holidays)


def _any_of(
    parts: Sequence[Dates | Between], days: Sequence[date], holidays: HolidayList
) -> frozenset[date]:
    found: frozenset[date] = frozenset()
    for part in parts:
        if isinstance(part, Between):
            found |= _between(part, days, holidays)
        else:
            found |= dates_of(part, days, holidays)
    return found


def _between(part: Between, days: Sequence[date], holidays: HolidayList) -> frozenset[date]:
    """Each date of the first kind begins a range that the next of the other kind ends."""
    reach = timedelta(days=_LONGEST_RANGE_DAYS)
    wide = days_between(days[0] - reach, days[-1] + reach)
    starts = sorted(dates_of(part.first, wide, holidays))
    ends = sorted(dates_of(part.last, wide, holidays))
    found: set[date] = set()
    for start in starts:
        place = bisect_right(ends, start - ONE_DAY)
        end = ends[place] if place < len(ends) else days[-1]
        found.update(days_between(start, end))
    return frozenset(found.intersection(days))
