"""The clock and the calendar of a simulated unit, straight from the zone rules.

A second path on purpose: nothing here is shared with the clock that the wishes are read against.
Instants are seconds since 1970-01-01T00:00:00Z; days are numbered from 1970-01-01.
"""

from __future__ import annotations

import zoneinfo
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import TypeAlias
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from schedcomp.program import Event, EventDates
from schedcomp.records import Record

Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]

DAY_SECONDS = 86400
MINUTE_SECONDS = 60
# No zone changes its clock twice within it from 2001 to 2099: the closest two changes are 6.9 days
# apart (Asia/Gaza in autumn 2040).
_LOOK_EVERY_DAYS = 5
_NEVER = np.iinfo(np.int64).max
_EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (a reading of the unit's own clock has no zone)

# The tzdata package alone decides; the operating system's rules may be years old.
zoneinfo.reset_tzpath(to=())


class UnitClock(Record):
    """What the unit's clock shows between two UTC days.

    `offsets_shown` are its offsets from UTC in seconds, each until the instant in `changes` at
    the same place; the last one stays.
    """

    zone: ZoneInfo
    changes: Ints
    offsets_shown: Ints

    def offsets(self, instants: Ints) -> Ints:
        """Seconds by which the clock is ahead of UTC at each instant."""
        return self.offsets_shown[self.changes.searchsorted(instants, "right")]

    def days(self, instants: Ints) -> Ints:
        """Number of the date the clock shows at each instant."""
        shown: Ints = (instants + self.offsets(instants)) // DAY_SECONDS
        return shown

    def round_down(self, instants: Ints, step_seconds: int) -> Ints:
        """The last whole step of the clock at or before each instant."""
        rounded: Ints = instants - (instants + self.offsets(instants)) % step_seconds
        return rounded

    def round_up(self, instants: Ints, step_seconds: int) -> Ints:
        """The first whole step of the clock at or after each instant."""
        rounded: Ints = instants + -(instants + self.offsets(instants)) % step_seconds
        return rounded

    def firings(self, days: Ints, minutes: Ints, lost: bool, twice: bool) -> tuple[Ints, Ints]:
        """Instants at which readings fire, and the place of each one's reading among those given.

        A reading in the spring gap fires at the jump or is `lost`; a repeated one fires on its
        first pass, or on both (`twice`).
        """
        readings = days * DAY_SECONDS + minutes * MINUTE_SECONDS
        both = (self.changes + self.offsets_shown[:-1], self.changes + self.offsets_shown[1:])
        changed = np.maximum(*both).searchsorted(readings, "right")
        # What the clock skips or repeats begins at the lower of both readings of a change.
        calm = readings < np.append(np.minimum(*both), _NEVER)[changed]
        passes: list[int] = []
        places: list[int] = []
        for i in np.flatnonzero(~calm).tolist():
            instants = _passes(self.zone, int(readings[i]), lost, twice)
            passes += instants
            places += [i] * len(instants)
        return (
            np.append((readings - self.offsets_shown[changed])[calm], np.array(passes, np.int64)),
            np.append(np.flatnonzero(calm), np.array(places, np.int64)),
        )


class UnitDates(Record):
    """Every date from `first_day` on, as a unit compares it with the dates of an event."""

    first_day: int
    weekday: Ints
    month_day: Ints
    year: Ints

    def named_by(self, event: Event) -> Bools:
        """Whether each date is one of the event's weekdays and in its dates."""
        on_weekday = np.zeros(7, np.bool_)
        on_weekday[list(event.weekdays)] = True
        named = on_weekday[self.weekday]
        return named if event.dates is None else named & self.within(event.dates)

    def look_up(self, named: Bools, days: Ints) -> Bools:
        """`named` at days given by number; a day outside the table is none of them."""
        index = days - self.first_day
        inside = (index >= 0) & (index < len(named))
        found: Bools = inside & named[np.where(inside, index, 0)]
        return found

    def within(self, dates: EventDates) -> Bools:
        """Whether each date lies in a range of dates."""
        first = dates.first[0] * 100 + dates.first[1]
        last = dates.last[0] * 100 + dates.last[1]
        here = self.month_day
        if dates.years is not None:
            here = here + self.year * 10000
            first += dates.years[0] * 10000
            last += dates.years[1] * 10000
        from_first, to_last = here >= first, here <= last
        wraps = dates.years is None and first > last
        return from_first | to_last if wraps else from_first & to_last


def following_clock(zone_name: str, first_day: int, last_day: int) -> UnitClock:
    """A clock that follows every change, for the UTC days numbered first through last.

    Raises `zoneinfo.ZoneInfoNotFoundError` for a name that tzdata does not have.
    """
    return UnitClock(ZoneInfo(zone_name), *_changes(zone_name, first_day - 3, last_day + 5))


def standard_clock(zone_name: str, years: range) -> UnitClock:
    """A clock that follows no change: it stands at the smallest offset the zone uses in `years`.

    Raises `zoneinfo.ZoneInfoNotFoundError` for a name that tzdata does not have.
    """
    zone = ZoneInfo(zone_name)
    begin, end = (int(datetime(y, 1, 1, tzinfo=zone).timestamp()) for y in (years[0], years.stop))
    follows = following_clock(zone_name, begin // DAY_SECONDS, end // DAY_SECONDS)
    smallest = int(follows.offsets(np.arange(begin, end, DAY_SECONDS, dtype=np.int64)).min())
    return UnitClock(zone, np.empty(0, np.int64), np.array([smallest], np.int64))


def unit_dates(first_day: int, last_day: int) -> UnitDates:
    """The dates from one day number through another."""
    number = np.arange(first_day, last_day + 1, dtype=np.int64)
    day = number.astype("datetime64[D]")
    month, year = day.astype("datetime64[M]"), day.astype("datetime64[Y]")
    of_month = (day - month.astype("datetime64[D]")).astype(np.int64) + 1
    of_year = (month - year.astype("datetime64[M]")).astype(np.int64) + 1
    # Day 0, 1970-01-01, was a Thursday.
    return UnitDates(
        first_day, (number + 3) % 7, of_year * 100 + of_month, year.astype(np.int64) + 1970
    )


@lru_cache(maxsize=1 << 12)
def _passes(zone: ZoneInfo, reading: int, lost: bool, twice: bool) -> tuple[int, ...]:
    """PEP 495: fold 0 and 1 give a repeated reading its passes and a skipped one a gap."""
    wall = (_EPOCH + timedelta(seconds=reading)).replace(tzinfo=zone)
    first = reading - _seconds(wall)
    second = reading - _seconds(wall.replace(fold=1))
    if second < first:
        return () if lost else (_change_between(zone, second, first),)
    return (first, second) if twice and second > first else (first,)


def _change_between(zone: ZoneInfo, before: int, after: int) -> int:
    old = offset_at(zone, before)
    while after - before > 1:
        middle = (before + after) // 2
        if offset_at(zone, middle) == old:
            before = middle
        else:
            after = middle
    return after


def offset_at(zone: ZoneInfo, instant: int) -> int:
    """Seconds by which a zone's clock is ahead of UTC."""
    return _seconds(datetime.fromtimestamp(instant, UTC).astimezone(zone))


@lru_cache(maxsize=256)
def _changes(zone_name: str, first_day: int, end_day: int) -> tuple[Ints, Ints]:
    """Every change of a zone's offset between two UTC midnights, and the offsets around them."""
    zone = ZoneInfo(zone_name)
    days = [*range(first_day, end_day, _LOOK_EVERY_DAYS), end_day]
    looked = [offset_at(zone, day * DAY_SECONDS) for day in days]
    changed = np.flatnonzero(np.diff(looked)).tolist()
    instants = [
        _change_between(zone, days[i] * DAY_SECONDS, days[i + 1] * DAY_SECONDS) for i in changed
    ]
    found = np.array(instants, np.int64), np.array(looked, np.int64)[[0, *(i + 1 for i in changed)]]
    for shared in found:
        shared.flags.writeable = False
    return found


def _seconds(shown: datetime) -> int:
    shift = shown.utcoffset()
    assert shift is not None
    return int(shift.total_seconds())
