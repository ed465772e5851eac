"""When a clause holds: its stretches on every night as intervals of time.

Clock times are read as a requirement reads them: a repeated hour counts whole, a skipped one at
the jump. A closed day takes nothing away: where only a closing begins a stretch, it goes on
through the closed days that follow, to the end that belongs to the last of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from functools import lru_cache

import numpy as np

from schedcomp.clock import day_number
from schedcomp.hours import OpeningHours
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Half, Instant
from schedcomp.moments import Clockwork, Missing, Opening
from schedcomp.ordinance import many
from schedcomp.ordinance.intervals import Interval, Intervals, common, merged, rest_of
from schedcomp.ordinance.model import Condition, Dating, HoursTest, Stretch, SunUp, Times, While
from schedcomp.ordinance.nights import Nights
from schedcomp.phrases.tree import (
    Clock,
    HoursMoment,
    Moment,
    Pair,
    Plain,
    SunMoment,
    SunWord,
    Which,
    Window,
)
from schedcomp.records import Record


class Facts(Record, eq=False):
    """What stretches are read against: `clock` may keep another time than the place.

    `days` are the dates looked at, one after the other and more than the nights judged; `whole` is
    the time they cover.
    """

    clock: Clockwork
    days: tuple[date, ...]
    whole: Interval

    @property
    def hours(self) -> OpeningHours | None:
        return self.clock.hours

    @property
    def numbers(self) -> many.Ints:
        """The dates as numbers of days since 1970."""
        first = day_number(self.days[0])
        return np.arange(first, first + len(self.days), dtype=np.int64)


class Named(Record):
    """The nights a clause is for, and those whose hours are as it asks."""

    nights: Nights
    days: frozenset[date]
    tested: frozenset[date]
    by: Dating


def times_intervals(
    times: Times, facts: Facts, named: Named, *, next_evening: bool = True
) -> Intervals:
    """When `times` hold on the nights that are named.

    Dated by evening a stretch belongs whole to its night; dated by calendar it is cut at 00:00.
    `next_evening` as for `stretch_by_night`.
    """
    days = named.days & named.tested
    if not times.stretches:
        found = nights_whole(named.nights, days)
    elif named.by is Dating.EVENING:
        found = _stretches(times, facts, days, next_evening)
    else:
        whole = nights_whole(named.nights, named.days)
        found = common(_stretches(times, facts, named.tested, next_evening), whole)
    for condition in times.whiles:
        found = common(found, condition_intervals(condition, facts))
    return found


@lru_cache(maxsize=64)
def _stretches(times: Times, facts: Facts, days: frozenset[date], next_evening: bool) -> Intervals:
    return merged(
        interval
        for stretch in times.stretches
        for _, interval in stretch_by_night(stretch, facts, days, next_evening=next_evening)
    )


def nights_whole(nights: Nights, named: Iterable[date]) -> Intervals:
    """The named nights from end to end."""
    inside = set(nights.days)
    return merged(nights.of(day) for day in named if day in inside)


def stretch_by_night(
    stretch: Stretch, facts: Facts, named: frozenset[date], *, next_evening: bool = True
) -> Iterator[tuple[date, Interval]]:
    """The stretch on every named night that has one, in order of nights.

    Morning stretches stand on the date after the evening. `next_evening`: `from 23:00 until
    sunset` goes on to the sunset of the next date, as darkness does and light does not.
    """
    assert stretch.end is not None
    closed = closed_reach(stretch, facts)
    made: Sequence[Interval | None]
    if many.fits(stretch, facts.clock):
        made = _at_once(stretch, facts, closed, next_evening)
    else:
        window = Window(stretch.start, stretch.end)
        made = list(_one_by_one(window, facts, named, closed, next_evening))
    for day, interval in zip(facts.days, made, strict=True):
        asked = day in named and interval is not None
        if asked and not _open_through(stretch.start, day, facts.hours):
            assert interval is not None
            yield day, interval


def _at_once(
    stretch: Stretch, facts: Facts, closed: ClosedReach | None, next_evening: bool
) -> list[Interval | None]:
    """For every date looked at its stretch, by arrays."""
    numbers = facts.numbers
    if closed is None:
        return many.many_intervals(stretch, facts.clock, numbers, next_evening=next_evening)
    last = np.array([day_number(closed.last_closed.get(day, day)) for day in facts.days])
    made = many.many_intervals(
        stretch, facts.clock, numbers, last_closed=last, next_evening=next_evening
    )
    if closed.leading is not None:
        assert stretch.end is not None
        before = (closed.leading - facts.days[0]).days + 1
        first = _leading(Window(stretch.start, stretch.end), facts, closed.leading)
        made[:before] = [first, *[None] * (before - 1)]
    return made


def _one_by_one(
    window: Window,
    facts: Facts,
    named: frozenset[date],
    closed: ClosedReach | None,
    next_evening: bool,
) -> Iterator[Interval | None]:
    """For every date looked at its stretch, in full generality."""
    for day in facts.days:
        if day not in named:
            yield None
            continue
        half = facts.clock.start_half(window, day)
        on = day if half is Half.EVENING else day + ONE_DAY
        found = facts.clock.opening(window, on, hold=True)
        if closed is not None and closed.leading is not None and day <= closed.leading:
            yield _leading(window, facts, closed.leading) if day == facts.days[0] else None
        elif not isinstance(found, Missing):
            yield _through_closed(window, on, found, facts, closed)
        elif next_evening and many.has_sun(window.end):
            yield _next_evening(window, on, facts)
        else:
            yield None


def _next_evening(window: Window, day: date, facts: Facts) -> Interval | None:
    """`dark from 23:00 until sunset`: the end is an evening later than the start."""
    clock = facts.clock
    start = clock.instant(window.start, day)
    if isinstance(start, Missing) or clock.half(window.end, day + ONE_DAY) is not Half.EVENING:
        return None
    end = clock.instant(window.end, day + ONE_DAY, hold=True)
    return None if isinstance(end, Missing) or end <= start else (start, end)


# Closed days


class ClosedReach(Record):
    """For each date the last of the closed dates right after it; `leading` the last of those
    that the dates looked at begin with.
    """

    last_closed: Mapping[date, date]
    leading: date | None


def closed_reach(stretch: Stretch, facts: Facts) -> ClosedReach | None:
    """Closed dates that a stretch goes on through; None where a clock or the sun may begin it."""
    if facts.hours is None or facts.hours.never_closes or not only_closing(stretch.start):
        return None
    reach: list[tuple[date, date]] = []
    before: date | None = None
    last: date | None = None
    leading: date | None = None
    for day in facts.days:
        if is_closed(facts.hours, day):
            last = day
            continue
        if last is not None:
            reach += [(before, last)] if before is not None else []
            leading = last if before is None else leading
        before, last = day, None
    if last is not None:
        reach += [(before, last)] if before is not None else []
        leading = last if before is None else leading
    return ClosedReach(dict(reach), leading)


def is_closed(hours: OpeningHours, day: date) -> bool:
    return not hours.periods(day)


def only_closing(moment: Moment) -> bool:
    """Whether nothing but a closing (or leaving) begins here."""
    return all(
        isinstance(m, HoursMoment) and not m.word.is_opening and m.fallback is None
        for m in members(moment)
    )


def members(moment: Moment) -> tuple[Plain, ...]:
    return (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)


def _through_closed(
    window: Window, day: date, found: Opening, facts: Facts, closed: ClosedReach | None
) -> Interval:
    end_at = found.end_at
    last = closed.last_closed.get(day) if closed is not None else None
    if last is not None:
        end = facts.clock.end_instant(window, last, found.start_at)
        if not isinstance(end, Missing):
            end_at = max(end_at, end)
    return found.start_at, end_at


def _leading(window: Window, facts: Facts, last: date) -> Interval | None:
    """Closed since before the dates looked at: dark from the beginning of them."""
    end = facts.clock.end_instant(window, last, facts.whole[0])
    if isinstance(end, Missing) or end <= facts.whole[0]:
        return None
    return facts.whole[0], end


def _open_through(start: Moment, day: date, hours: OpeningHours | None) -> bool:
    """Whether `the later of 23:00 and close` never comes, since the place stays open."""
    if hours is None or not isinstance(start, Pair) or start.which is not Which.LATER:
        return False
    closing = [m for m in members(start) if isinstance(m, HoursMoment) and not m.word.is_opening]
    return bool(closing) and not is_closed(hours, day) and hours.closing(day) is None


# States of the place and the sky


@lru_cache(maxsize=64)
def condition_intervals(condition: Condition, facts: Facts) -> Intervals:
    """When the place or the sky is as a clause waits for; needs opening hours for the place."""
    if isinstance(condition, SunUp):
        return _sun_up(condition, facts)
    if condition is While.DARK:
        return dark_sky(facts)
    staff = condition in (While.PEOPLE, While.NOBODY)
    there = open_intervals(facts.hours, staff=staff)
    if condition in (While.OPEN, While.PEOPLE):
        return there
    return rest_of(there, facts.whole)


def open_intervals(hours: OpeningHours | None, *, staff: bool) -> Intervals:
    """When the place is open; with `staff` from arriving until leaving."""
    if hours is None:
        return ()
    before = hours.staff_before_seconds if staff else 0
    after = hours.staff_after_seconds if staff else 0
    runs = merged((p.start, p.end) for p in hours.all_periods)
    return merged((start - before, end + after) for start, end in runs)


def dark_sky(facts: Facts) -> Intervals:
    """From dusk until dawn of every night."""
    return _night_sky(facts, SunWord.DUSK, SunWord.DAWN, 0, 0)


def _sun_up(condition: SunUp, facts: Facts) -> Intervals:
    night = _night_sky(
        facts,
        SunWord.SUNSET,
        SunWord.SUNRISE,
        -condition.before_sunset_minutes,
        condition.after_sunrise_minutes,
    )
    return rest_of(night, facts.whole)


def _night_sky(
    facts: Facts, evening: SunWord, morning: SunWord, evening_minutes: int, morning_minutes: int
) -> Intervals:
    night = Stretch(SunMoment(evening, evening_minutes), SunMoment(morning, morning_minutes))
    found = many.many_intervals(night, facts.clock, facts.numbers[:-1])
    return merged(interval for interval in found if interval is not None)


# Tests of hours


def passes_test(test: HoursTest, day: date, facts: Facts) -> bool:
    """Whether closing and next opening of the night of `day` are as the clause asks."""
    return _met(test, day, facts) is not test.negated


def _met(test: HoursTest, day: date, facts: Facts) -> bool:
    hours = facts.hours
    if hours is None:
        return False
    if test.first is None:
        return _closed_by(test.last, day, facts, hours)
    asked = [hours.closing(day)] if test.of_close else []
    asked += [hours.opening(day + ONE_DAY)] if test.of_open else []
    return any(
        instant is not None and _between(test.first, test.last, instant, facts) for instant in asked
    )


def _between(first: Clock, last: Clock, instant: Instant, facts: Facts) -> bool:
    shown = facts.clock.zone.local(instant)
    minutes = shown.hour * 60 + shown.minute
    low, high = first.minutes, last.minutes
    return low <= minutes <= high if low <= high else minutes >= low or minutes <= high


def _closed_by(last: Clock, day: date, facts: Facts, hours: OpeningHours) -> bool:
    closing = hours.closing(day)
    if closing is None:
        return is_closed(hours, day)
    on = day + ONE_DAY if last.half is Half.MORNING else day
    return closing <= facts.clock.zone.last_pass(on, last.minutes * MINUTE)


def first_noon(clock: Clockwork, days: Sequence[date]) -> Interval:
    """The time that some dates cover, from the first one's noon to the last one's."""
    zone = clock.zone
    return zone.first_pass(days[0], 12 * HOUR), zone.first_pass(days[-1], 12 * HOUR)
