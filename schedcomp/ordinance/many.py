"""Stretches of many dates at once, for those whose moments keep to one side of the date.

The same instants as `Clockwork` gives date by date; a test compares the two.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from schedcomp.clock import Zone, day_number
from schedcomp.model import DAY, HOUR, MINUTE, ONE_DAY, Half, Instant
from schedcomp.moments import Clockwork
from schedcomp.ordinance.intervals import Interval
from schedcomp.ordinance.model import Stretch
from schedcomp.phrases.tree import (
    Clock,
    HoursMoment,
    HoursWord,
    Moment,
    Pair,
    Plain,
    SunMoment,
    SunWord,
    Which,
)
from schedcomp.records import Record
from schedcomp.sun import STAYS_ABOVE, STAYS_BELOW

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
_NEVER = np.iinfo(np.int64).max


class _Read(Record):
    """Instants of one moment on many dates, and where there is one."""

    at: Ints
    given: Bools


def fits(stretch: Stretch, clock: Clockwork) -> bool:
    """Whether every moment stands on the same side on all dates: openings in the morning."""
    assert stretch.end is not None
    opening = [
        m
        for moment in (stretch.start, stretch.end)
        for m in _members(moment)
        if isinstance(m, HoursMoment) and m.word.is_opening
    ]
    if any(m.fallback is not None and m.fallback.half is Half.EVENING for m in opening):
        return False
    return not opening or _opens_in_the_morning(clock)


def _opens_in_the_morning(clock: Clockwork) -> bool:
    hours = clock.hours
    if hours is None or not hours.days:
        return True
    first = day_number(hours.days[0].day)
    noons = readings(clock.zone, first + np.arange(len(hours.days)), 12 * HOUR, hold=False)
    openings = _instants([day.opening for day in hours.days])
    return bool(np.all((openings == _NEVER) | (openings < noons)))


def _instants(found: Sequence[Instant | None]) -> Ints:
    return np.array([_NEVER if instant is None else instant for instant in found], np.int64)


def _members(moment: Moment) -> tuple[Plain, ...]:
    return (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)


def _half(moment: Moment) -> Half:
    halves = {_plain_half(m) for m in _members(moment)}
    return Half.EVENING if Half.EVENING in halves else Half.MORNING


def _plain_half(moment: Plain) -> Half:
    if isinstance(moment, Clock):
        return moment.half
    if isinstance(moment, SunMoment):
        return moment.word.half
    return Half.MORNING if moment.word.is_opening else Half.EVENING


def has_sun(moment: Moment) -> bool:
    return any(isinstance(m, SunMoment) for m in _members(moment))


class _Reader(Record):
    """Reads moments on the dates of `days`, as numbers of days since 1970."""

    clock: Clockwork
    days: Ints

    def moment(self, moment: Moment, shift: int, *, hold: bool, after: Ints | None = None) -> _Read:
        """The moment of the dates `shift` days later; an opening is the next one `after`."""
        if not isinstance(moment, Pair):
            return self._plain(moment, shift, hold, after)
        evening = _half(moment) is Half.EVENING
        read = [
            self._plain(m, shift + self._later(m, evening), hold, after)
            for m in (moment.first, moment.second)
        ]
        given = read[0].given | read[1].given
        if moment.which is Which.EARLIER:
            both = [np.where(r.given, r.at, _NEVER) for r in read]
            return _Read(np.minimum(*both), given)
        both = [np.where(r.given, r.at, -_NEVER) for r in read]
        return _Read(np.maximum(*both), given)

    def _later(self, member: Plain, evening: bool) -> int:
        """In a pair with an evening side, morning clocks and morning sun are the next date's."""
        moves = evening and not isinstance(member, HoursMoment)
        return 1 if moves and _plain_half(member) is Half.MORNING else 0

    def _plain(self, moment: Plain, shift: int, hold: bool, after: Ints | None) -> _Read:
        days = self.days + shift
        if isinstance(moment, Clock):
            return self._always(readings(self.clock.zone, days, moment.minutes * MINUTE, hold=hold))
        if isinstance(moment, SunMoment):
            return self._always(self._sun(moment, days))
        if moment.word.is_opening and after is not None and moment.fallback is None:
            return self._next_opening(moment, after)
        return self._hours(moment, days, hold)

    def _always(self, at: Ints) -> _Read:
        return _Read(at, np.ones(at.shape, np.bool_))

    def _sun(self, moment: SunMoment, days: Ints) -> Ints:
        sun = self.clock.sun
        place = days - day_number(sun.first)
        offset = moment.offset_minutes * MINUTE
        if moment.word is SunWord.NIGHT_MIDDLE:
            return sun.lower_after[place] + offset
        level, base_minutes = self.clock.definition(moment.word)
        half = moment.word.half
        found = sun.crossings(half, level)
        status = found.status[place]
        turned = sun.lower_after if half is Half.EVENING else sun.lower_before
        at = found.instants[place] + offset + base_minutes * MINUTE
        at = np.where(status == STAYS_ABOVE, turned[place], at)
        return np.where(status == STAYS_BELOW, sun.transits[place], at)

    def _next_opening(self, moment: HoursMoment, after: Ints) -> _Read:
        """Closed for as long as hours are known: the end of them."""
        hours = self.clock.hours
        if hours is None or not hours.days:
            return _Read(np.zeros(after.shape, np.int64), np.zeros(after.shape, np.bool_))
        before = hours.staff_before_seconds if moment.word is HoursWord.ARRIVE else 0
        moved = moment.offset_minutes * MINUTE - before
        known = [opening + moved for opening in hours.openings]
        end = self.clock.zone.first_pass(hours.days[-1].day + ONE_DAY, 0)
        instants = np.array([*known, end], np.int64)
        openings = np.array(hours.openings, np.int64)
        return self._always(instants[np.searchsorted(openings, after + before, side="right")])

    def _hours(self, moment: HoursMoment, days: Ints, hold: bool) -> _Read:
        hours, is_opening = self.clock.hours, moment.word.is_opening
        at = np.zeros(days.shape, np.int64)
        given = np.zeros(days.shape, np.bool_)
        if hours is not None and hours.days:
            staff = {
                HoursWord.ARRIVE: -hours.staff_before_seconds,
                HoursWord.LEAVE: hours.staff_after_seconds,
            }.get(moment.word, 0)
            known = _instants([d.opening if is_opening else d.closing for d in hours.days])
            place = days - day_number(hours.days[0].day)
            inside = (place >= 0) & (place < len(known))
            found = known[np.where(inside, place, 0)]
            given = inside & (found != _NEVER)
            at = np.where(given, found + staff + moment.offset_minutes * MINUTE, 0)
        if moment.fallback is None:
            return _Read(at, given)
        late = 1 if not is_opening and moment.fallback.half is Half.MORNING else 0
        seconds = moment.fallback.minutes * MINUTE
        instead = readings(self.clock.zone, days + late, seconds, hold=hold)
        return self._always(np.where(given, at, instead))


def readings(zone: Zone, days: Ints, seconds: int, *, hold: bool) -> Ints:
    """The instants of a clock reading; near a clock change each by itself."""
    reading = days * DAY + seconds
    starts, offsets = np.array(zone.starts), np.array(zone.offsets)
    place = np.maximum(np.searchsorted(starts, reading - DAY, side="right") - 1, 0)
    last = np.maximum(np.searchsorted(starts, reading + DAY, side="right") - 1, 0)
    found = reading - offsets[place]
    read = zone.last_reading if hold else zone.first_reading
    for index in np.flatnonzero(place != last):
        found[index] = read(int(reading[index]))
    return np.asarray(found, np.int64)


def many_intervals(
    stretch: Stretch,
    clock: Clockwork,
    days: Ints,
    *,
    last_closed: Ints | None = None,
    next_evening: bool = True,
) -> list[Interval | None]:
    """The stretch on each evening date, as `Clockwork.opening` with `hold`; None where empty.

    `last_closed` is for each date the last of the closed dates right after it, itself where there
    is none: the stretch goes on to the end that belongs to it. `next_evening`: an evening end at
    the sun that is not after the start is the next date's.
    """
    assert stretch.end is not None
    start_half, end_half = _half(stretch.start), _half(stretch.end)
    on = 0 if start_half is Half.EVENING else 1
    reader = _Reader(clock, days)
    start = reader.moment(stretch.start, on, hold=False)
    after = start.at if _has_closing(stretch.start) else None
    end_on = on + _end_shift(stretch, start_half, end_half)
    end = reader.moment(stretch.end, end_on, hold=True, after=after)
    given = start.given & end.given
    ends = np.where(given, end.at, 0)
    if has_sun(stretch.start) or has_sun(stretch.end):
        ends = np.minimum(ends, _longest(clock, start.at, days + on))
    empty = ~given | (ends <= start.at)
    if last_closed is not None:
        closed = _Reader(clock, last_closed).moment(stretch.end, end_on, hold=True, after=after)
        longer = ~empty & closed.given & (last_closed != days)
        ends = np.where(longer, np.maximum(ends, closed.at), ends)
    if next_evening and end_half is Half.EVENING and has_sun(stretch.end) and bool(np.any(empty)):
        later = reader.moment(stretch.end, on + 1, hold=True)
        fits_later = empty & start.given & later.given & (later.at > start.at)
        ends = np.where(fits_later, later.at, ends)
        empty &= ~fits_later
    return [
        None if nothing else (begin, end_at)
        for begin, end_at, nothing in zip(
            start.at.tolist(), ends.tolist(), empty.tolist(), strict=True
        )
    ]


def _has_closing(moment: Moment) -> bool:
    return any(isinstance(m, HoursMoment) and not m.word.is_opening for m in _members(moment))


def _end_shift(stretch: Stretch, start_half: Half, end_half: Half) -> int:
    """How many dates after the start's the end is read; pure clocks are compared as written."""
    assert stretch.end is not None
    if start_half is Half.EVENING and end_half is Half.MORNING:
        return 1
    first, last = _pure_reading(stretch.start), _pure_reading(stretch.end)
    if first is None or last is None or start_half is not end_half:
        return 0
    return 1 if last <= first else 0


def _pure_reading(moment: Moment) -> int | None:
    """Minutes on the clock where a moment is clocks only, in the order of its side."""
    clocks = [m for m in _members(moment) if isinstance(m, Clock)]
    if len(clocks) != len(_members(moment)):
        return None
    if not isinstance(moment, Pair):
        return clocks[0].minutes
    night = _half(moment) is Half.EVENING
    minutes = [
        c.minutes + (DAY // MINUTE if night and c.half is Half.MORNING else 0) for c in clocks
    ]
    return min(minutes) if moment.which is Which.EARLIER else max(minutes)


def _longest(clock: Clockwork, starts: Ints, days: Ints) -> Ints:
    """No stretch with a sun moment passes the second following transit."""
    sun = clock.sun
    place = days - day_number(sun.first)
    first = place + (starts >= sun.transits[place])
    return sun.transits[first + 1]
