"""Moments and windows on many dates at once, as `moments.py` tells them date by date.

Dates are days since 1970-01-01, and every column has one row a date.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cached_property, reduce
from itertools import compress, repeat
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.clock import Zone, day_number
from schedcomp.clock_columns import first_readings, last_readings
from schedcomp.hours import OpeningHours
from schedcomp.model import DAY, HOUR, MINUTE, ONE_DAY, Half, Instant
from schedcomp.moments import Clockwork, settled
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
    Window,
)
from schedcomp.records import Record, replace
from schedcomp.sun import CROSSES, STAYS_ABOVE
from schedcomp.year import Bound

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]

NONE = int(np.iinfo(np.int64).min)
"""Stands where there is no instant."""


class Member(Record):
    """A moment without a choice: `known` where it happens, `never_comes` as in `Missing`."""

    at: Ints
    is_sun: Bools
    known: Bools
    never_comes: Bools


class Bounds(Record):
    """As `year.Bound`: of two members that one counts which is earlier, or later."""

    members: tuple[Member, ...]
    which: Which | None = None

    def moved(self, sun_seconds: int) -> Ints:
        """The instants if every sun time came so much later; what is not known never decides."""
        pick = np.minimum if self.which is Which.EARLIER else np.maximum
        never = np.iinfo(np.int64).max if self.which is Which.EARLIER else NONE
        each = (
            np.where(member.known, member.at + member.is_sun * sun_seconds, never)
            for member in self.members
        )
        return reduce(pick, each)

    def with_clocks(self, put: Callable[[Ints], Ints]) -> Bounds:
        """With every clock time where it is put."""
        members = (
            m if m.is_sun.all() else replace(m, at=np.where(m.is_sun, m.at, put(m.at)))
            for m in self.members
        )
        return Bounds(tuple(members), self.which)

    @property
    def has_sun(self) -> Bools:
        found: Bools = np.logical_or.reduce([m.is_sun & m.known for m in self.members])
        return found

    @property
    def known(self) -> Bools:
        found: Bools = np.logical_or.reduce([m.known for m in self.members])
        return found

    def each(self) -> Iterator[Bound]:
        """One by one, as `Clockwork` gives them."""
        each = (zip(m.at.tolist(), m.is_sun.tolist(), strict=True) for m in self.members)
        rows = zip(*each, strict=True)
        known = [m.known for m in self.members]
        if np.logical_and.reduce(known).all():
            return map(Bound, rows, repeat(self.which))
        happens = zip(*(column.tolist() for column in known), strict=True)
        return map(Bound, map(tuple, map(compress, rows, happens)), repeat(self.which))

    def only(self, chosen: Bools) -> Bounds:
        members = (
            Member(m.at[chosen], m.is_sun[chosen], m.known[chosen], m.never_comes[chosen])
            for m in self.members
        )
        return Bounds(tuple(members), self.which)

    def limited(self, beyond: Bools, at: Ints) -> Bounds:
        """Where `beyond`, a sun time at `at` instead."""
        first, *others = self.members
        put = Member(
            np.where(beyond, at, first.at),
            first.is_sun | beyond,
            first.known | beyond,
            first.never_comes,
        )
        rest = (Member(m.at, m.is_sun, m.known & ~beyond, m.never_comes) for m in others)
        return Bounds((put, *rest), self.which)


class Openings(Record):
    """A window on the dates on which it lights something, as `moments.Opening`.

    `empty` are the other dates; `all_without_start`: they have no start, and for the same reason.
    """

    days: Ints
    start: Bounds
    end: Bounds
    start_at: Ints
    end_at: Ints
    empty: Ints
    all_without_start: bool


class ClockworkColumns:
    """A clockwork that is asked for many dates at once; never a strict one."""

    def __init__(self, clockwork: Clockwork) -> None:
        assert not clockwork.strict
        self._clockwork = clockwork
        self._zone: Zone = clockwork.zone
        self._sun = clockwork.sun

    def starts_in(self, window: Window, half: Half, days: Ints) -> Bools:
        """Whether the window starts on this side of each date."""
        fixed = settled(window).start_half
        if fixed is not None:
            return np.full(days.shape, fixed is half)
        evening = self._evening(window.start, days)
        return evening if half is Half.EVENING else ~evening

    def openings(self, window: Window, days: Ints, *, hold: bool = False) -> Openings:
        """The windows that start on these dates; KeyError outside those of the sun."""
        kind = settled(window)
        start, no_start = self._start(window.start, days)
        missing = no_start
        start_at = start.moved(0)
        start_at = np.where(missing, 0, start_at)
        after = start_at if kind.starts_at_closing else None
        end = self._moment(window.end, self._end_days(window, days), after, hold)
        missing = missing | ~end.known
        wished = np.where(missing, 0, end.moved(0))
        end_at = wished
        if kind.has_sun:
            end_at = np.minimum(wished, self._longest(start_at, days))
            beyond = end_at < wished
            if beyond.any():
                end = end.limited(beyond, end_at)
        lit = ~missing & (end_at > start_at)
        alike = not isinstance(window.start, Pair) and bool(no_start[~lit].all())
        lit_columns = (days[lit], start.only(lit), end.only(lit), start_at[lit], end_at[lit])
        return Openings(*lit_columns, days[~lit], alike)

    def _start(self, moment: Moment, days: Ints) -> tuple[Bounds, Bools]:
        """The start and where there is none: of a pair, also where the later one never comes."""
        start = self._moment(moment, days, None, hold=False)
        missing = ~start.known
        if start.which is Which.LATER:
            for member in start.members:
                missing |= member.never_comes & ~member.known
        return start, missing

    def _moment(self, moment: Moment, days: Ints, after: Ints | None, hold: bool) -> Bounds:
        if not isinstance(moment, Pair):
            return Bounds((self._plain(moment, days, after, hold),))
        evening = self._evening(moment, days)
        members = (
            self._plain(member, self._member_days(member, days, evening), after, hold)
            for member in (moment.first, moment.second)
        )
        return Bounds(tuple(members), moment.which)

    def _member_days(self, member: Plain, days: Ints, evening: Bools) -> Ints:
        """In a pair with an evening side, morning clocks and morning sun are the next date's."""
        if isinstance(member, HoursMoment):
            return days
        return days + (evening & ~self._evening(member, days))

    def _plain(self, moment: Plain, days: Ints, after: Ints | None, hold: bool) -> Member:
        if isinstance(moment, Clock):
            return _certain(self._clock(moment, days, hold), is_sun=False)
        if isinstance(moment, SunMoment):
            return self._sun_moment(moment, days)
        return self._hours_moment(moment, days, after, hold)

    def _clock(self, clock: Clock, days: Ints, hold: bool) -> Ints:
        read = last_readings if hold else first_readings
        return read(self._zone, days * DAY + clock.minutes * MINUTE)

    def _sun_moment(self, moment: SunMoment, days: Ints) -> Member:
        places = self._sun.places(days)
        offset = moment.offset_minutes * MINUTE
        if moment.word is SunWord.NIGHT_MIDDLE:
            return _certain(self._sun.lower_after[places] + offset, is_sun=True)
        level_degrees, offset_minutes = self._clockwork.definition(moment.word)
        found = self._sun.crossings(moment.word.half, level_degrees)
        status = found.status[places]
        moved = np.where(status == CROSSES, offset + offset_minutes * MINUTE, 0)
        above = status == STAYS_ABOVE
        evening = moment.word.half is Half.EVENING
        return Member(
            found.instants[places] + moved,
            np.ones(days.shape, np.bool_),
            ~above,
            above if evening else np.zeros_like(above),
        )

    def _hours_moment(
        self, moment: HoursMoment, days: Ints, after: Ints | None, hold: bool
    ) -> Member:
        hours = self._hours
        at = np.full(days.shape, NONE)
        ends_at_opening = moment.word.is_opening and after is not None and moment.fallback is None
        if hours is not None and ends_at_opening:
            assert after is not None
            at = hours.next_opening(moment.word, after)
        elif hours is not None:
            at = hours.of(moment.word, days)
        known = at != NONE
        at = np.where(known, at + moment.offset_minutes * MINUTE, 0)
        if hours is not None and ends_at_opening:
            # Closed for as long as hours are known.
            at = np.where(known, at, hours.known_until)
            known = np.ones_like(known)
        elif moment.fallback is not None:
            late = not moment.word.is_opening and moment.fallback.half is Half.MORNING
            at = np.where(known, at, self._clock(moment.fallback, days + late, hold))
            known = np.ones_like(known)
        nowhere = np.zeros(days.shape, np.bool_)
        return Member(at, nowhere, known, nowhere)

    def _end_days(self, window: Window, days: Ints) -> Ints:
        """The date the end is read on; two pure clocks are compared as written."""
        kind = settled(window)
        if kind.start_half is not None and kind.end_half is not None:
            start_half, end_half = kind.start_half, kind.end_half
            overnight = start_half is Half.EVENING and end_half is Half.MORNING
            return days + (overnight or (kind.ends_before and start_half is end_half))
        start = self._evening(window.start, days)
        end = self._evening(window.end, days + start)
        next_date: Bools = (start & ~end) | (kind.ends_before & (start == end))
        return days + next_date

    def _evening(self, moment: Moment, days: Ints) -> Bools:
        """Whether the moment stands on the evening side of each date."""
        if isinstance(moment, Pair):
            return self._evening(moment.first, days) | self._evening(moment.second, days)
        if isinstance(moment, Clock):
            return np.full(days.shape, moment.half is Half.EVENING)
        if isinstance(moment, SunMoment):
            return np.full(days.shape, moment.word.half is Half.EVENING)
        if not moment.word.is_opening:
            return np.ones(days.shape, np.bool_)
        fallback = moment.fallback is not None and moment.fallback.half is Half.EVENING
        unknown = np.full(days.shape, fallback)
        if self._hours is None:
            return unknown
        opens = self._hours.of(moment.word, days)
        noons = first_readings(self._zone, days * DAY + 12 * HOUR)
        return np.where(opens == NONE, unknown, opens >= noons)

    def _longest(self, start_at: Ints, days: Ints) -> Ints:
        """No window with a sun moment passes the second following transit."""
        transits = self._sun.transits
        first = np.where(start_at < transits[self._sun.places(days)], days, days + 1)
        return transits[self._sun.places(first + 1)]

    @cached_property
    def _hours(self) -> _HoursColumns | None:
        hours = self._clockwork.hours
        return None if hours is None or not hours.days else _HoursColumns(hours, self._zone)


class _HoursColumns:
    """Opening hours of dates in a row."""

    def __init__(self, hours: OpeningHours, zone: Zone) -> None:
        self._first = day_number(hours.days[0].day)
        self._opening = _column(day.opening for day in hours.days)
        self._closing = _column(day.closing for day in hours.days)
        self._openings = np.array(hours.openings, np.int64)
        self._before = hours.staff_before_seconds
        self._after = hours.staff_after_seconds
        self.known_until: Instant = zone.first_pass(hours.days[-1].day + ONE_DAY, 0)

    def of(self, word: HoursWord, days: Ints) -> Ints:
        """The moment of each date, NONE without one."""
        column = self._opening if word.is_opening else self._closing
        places = days - self._first
        inside = (places >= 0) & (places < len(column))
        at = np.where(inside, column[np.clip(places, 0, len(column) - 1)], NONE)
        return np.where(at == NONE, NONE, at + self._staff(word))

    def next_opening(self, word: HoursWord, after: Ints) -> Ints:
        """The next such moment later than each instant, NONE if none is known."""
        staff = self._staff(word)
        places = self._openings.searchsorted(after - staff, "right")
        return np.append(self._openings + staff, NONE)[places]

    def _staff(self, word: HoursWord) -> int:
        return {HoursWord.ARRIVE: -self._before, HoursWord.LEAVE: self._after}.get(word, 0)


def _column(instants: Iterable[Instant | None]) -> Ints:
    return np.array([NONE if at is None else at for at in instants], np.int64)


def _certain(at: Ints, *, is_sun: bool) -> Member:
    nowhere = np.zeros(at.shape, np.bool_)
    return Member(at, np.full(at.shape, is_sun), np.ones(at.shape, np.bool_), nowhere)
