"""Every instant at which every event a controller could hold would fire.

Firings stand in arrays [starts x occasions]; an occasion is a controller date for clock starts and
a solar date for sun starts. Dates are numbers on one `Axis`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from schedcomp.clock import Zone, day_number
from schedcomp.controller import Controller
from schedcomp.model import DAY, MINUTE, Instant
from schedcomp.program import ClockStart, Start, SunOffset
from schedcomp.records import Record
from schedcomp.unit_sun import UnitSun, columns_of

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

NO_DATE = -1


def any_date(flags: Bools) -> Bools:
    """Whether any of the three dates of each firing is marked; `flags` [... x 3]."""
    found: Bools = flags[..., 0] | flags[..., 1] | flags[..., 2]
    return found


def all_dates(flags: Bools) -> Bools:
    """Whether all three dates of each firing are marked; `flags` [... x 3]."""
    found: Bools = flags[..., 0] & flags[..., 1] & flags[..., 2]
    return found


class Axis(Record):
    """The controller's own dates, one after the other."""

    first: date
    count: int

    @property
    def dates(self) -> list[date]:
        return [self.first + timedelta(days=i) for i in range(self.count)]

    def weekdays(self) -> Ints:
        """Weekday of each date, Monday is 0."""
        return (self.first.weekday() + np.arange(self.count)) % 7


class Firings(Record):
    """`first` and `last` bound each firing, rounded outward to the step; one array for both where
    they are always the same.

    `nominal` is when it comes if the unit's own sun times are right, to the second.
    `dates` [starts x occasions x 3] are the dates an event is tested against; where they differ,
    the event must be right whichever counts. NO_DATE marks an occasion without a firing.
    """

    starts: tuple[Start, ...]
    first: Ints
    last: Ints
    dates: Ints
    certain: Bools
    nominal: Ints

    @property
    def are_instants(self) -> bool:
        """Whether no firing has an error."""
        return self.last is self.first

    def only(self, wanted: Bools) -> Firings:
        """The firings of some of the starts."""
        first = self.first[wanted]
        return Firings(
            tuple(s for s, keep in zip(self.starts, wanted.tolist(), strict=True) if keep),
            first,
            first if self.are_instants else self.last[wanted],
            self.dates[wanted],
            self.certain[wanted],
            self.nominal[wanted],
        )


def clock_minutes(controller: Controller) -> Ints:
    """Every clock reading on the step, in minutes after 00:00."""
    return np.arange(0, 24 * 60, controller.step_minutes, dtype=np.int64)


def offset_minutes(controller: Controller) -> Ints:
    """Every offset that the controller takes."""
    limit, step = controller.offset_limit_minutes, controller.offset_step_minutes
    return np.arange(-(limit // step) * step, limit + 1, step, dtype=np.int64)


def clock_firings(
    controller: Controller, clock: Zone, axis: Axis, minutes: Ints | None = None
) -> Firings:
    """Firings of clock readings, of all where none are given, with those skipped and repeated."""
    rules = (controller.skipped_time, controller.repeated_time)
    if minutes is None:
        return _every_clock_firing(controller.step_minutes, *rules, clock, axis)
    return _clock_firings(minutes, *rules, clock, axis)


@lru_cache(maxsize=4)
def _every_clock_firing(
    step_minutes: int, skipped_time: str | None, repeated_time: str | None, clock: Zone, axis: Axis
) -> Firings:
    """The same for all sites of a zone in a year; the arrays are shared and cannot be changed."""
    minutes = np.arange(0, 24 * 60, step_minutes, dtype=np.int64)
    every = _clock_firings(minutes, skipped_time, repeated_time, clock, axis)
    for shared in (every.first, every.dates, every.certain):
        shared.flags.writeable = False
    return every


def _clock_firings(
    minutes: Ints, skipped_time: str | None, repeated_time: str | None, clock: Zone, axis: Axis
) -> Firings:
    readings = (
        day_number(axis.first) * DAY
        + np.arange(axis.count, dtype=np.int64)[None, :] * DAY
        + minutes[:, None] * MINUTE
    )
    first_pass, second_pass, skipped = _passes(clock, readings)
    dates = np.broadcast_to(np.arange(axis.count), readings.shape).copy()
    if skipped_time == "lost":
        dates[skipped] = NO_DATE
    instants = first_pass
    if repeated_time == "twice":
        again = np.flatnonzero((second_pass > first_pass).any(axis=0))
        once = second_pass[:, again] <= first_pass[:, again]
        more = np.where(once, NO_DATE, dates[:, again])
        instants = np.hstack([instants, second_pass[:, again]])
        dates = np.hstack([dates, more])
    # A jump may carry a skipped reading over midnight.
    fired = np.where(dates == NO_DATE, NO_DATE, _date(clock, instants, axis))
    return Firings(
        starts=tuple(ClockStart(int(m)) for m in minutes),
        first=instants,
        last=instants,
        dates=np.stack([dates, fired, fired], axis=2),
        certain=np.ones(instants.shape, dtype=np.bool_),
        nominal=instants,
    )


def word_firings(
    controller: Controller, clock: Zone, axis: Axis, sun: UnitSun, word: str, offsets: Ints
) -> Firings:
    """Firings of one sun word with these offsets in minutes."""
    times = columns_of(sun.of(word))
    earliest, latest, certain = times.earliest, times.latest, times.certain
    grid_seconds = controller.step_minutes * MINUTE
    shift = offsets[:, None] * MINUTE
    first = _down(clock, earliest[None, :] + shift, grid_seconds)
    last = -_down(clock, -(latest[None, :] + shift), grid_seconds, negative=True)
    solar = times.days - day_number(axis.first)
    dates = _dates_tested(
        controller.sun_date,
        fires=(_date(clock, first, axis), _date(clock, last, axis)),
        event=(_date(clock, earliest, axis), _date(clock, latest, axis)),
        solar=solar,
    )
    return Firings(
        starts=tuple(SunOffset(word, int(o)) for o in offsets),
        first=first,
        last=last,
        dates=dates,
        certain=np.broadcast_to(certain, first.shape).copy(),
        nominal=times.nominal[None, :] + shift,
    )


def _dates_tested(
    sun_date: str | None, *, fires: tuple[Ints, Ints], event: tuple[Ints, Ints], solar: Ints
) -> Ints:
    """The dates a sun firing may be tested against, three a firing (repeated where fewer)."""
    shape = fires[0].shape
    event_first, event_last = (np.broadcast_to(e, shape) for e in event)
    evening = np.broadcast_to(solar, shape)
    if sun_date == "fires on":
        three = (fires[0], fires[1], fires[1])
    elif sun_date == "event on":
        three = (event_first, event_last, event_last)
    elif sun_date == "evening":
        three = (evening, evening, evening)
    else:
        # Of five candidates at most three differ: neighbours around the evening's own date.
        five = np.sort(np.stack([*fires, event_first, event_last, evening]), axis=0)
        three = (five[0], five[2], five[4])
    return np.stack(three, axis=2)


def _passes(clock: Zone, readings: Ints) -> tuple[Ints, Ints, Bools]:
    """First and last pass of clock readings (seconds), and which readings are skipped."""
    first = readings - _offsets(clock, readings)
    last = first.copy()
    skipped = np.zeros(readings.shape, dtype=np.bool_)
    changes = np.array([change.instant for change in clock.changes()], dtype=np.int64)
    # A clock is never a day off, so two days away from a change nothing is skipped or repeated.
    if not readings.size:
        return first, last, skipped
    before, after = readings.min(axis=0) - 2 * DAY, readings.max(axis=0) + 2 * DAY
    near = np.searchsorted(changes, before) < np.searchsorted(changes, after, side="right")
    first[:, near], last[:, near], skipped[:, near] = _passes_near(clock, readings[:, near])
    return first, last, skipped


def _passes_near(clock: Zone, readings: Ints) -> tuple[Ints, Ints, Bools]:
    """As `_passes`, where the clock changes."""
    first = np.full(readings.shape, np.iinfo(np.int64).max)
    last = np.full(readings.shape, np.iinfo(np.int64).min)
    for start, end, offset in _segments(clock):
        instants = readings - offset
        inside = (start <= instants) & (instants < end)
        first = np.where(inside, np.minimum(first, instants), first)
        last = np.where(inside, np.maximum(last, instants), last)
    skipped = first > last
    for change in clock.changes():
        hit = (
            skipped
            & (change.instant + change.before <= readings)
            & (readings < change.instant + change.after)
        )
        first[hit] = last[hit] = change.instant
    return first, last, skipped


def _segments(clock: Zone) -> Iterator[tuple[Instant, Instant, int]]:
    ends = [*clock.starts[1:], np.iinfo(np.int64).max]
    yield from zip(clock.starts, ends, clock.offsets, strict=True)


def _offsets(clock: Zone, instants: Ints) -> Ints:
    found = np.searchsorted(np.array(clock.starts), instants, side="right") - 1
    return np.array(clock.offsets, dtype=np.int64)[np.maximum(found, 0)]


def _down(clock: Zone, instants: Ints, seconds: int, *, negative: bool = False) -> Ints:
    """Rounded down to the step of the clock; `negative`: the instants were negated to round up."""
    offsets = _offsets(clock, -instants if negative else instants)
    return instants - (instants + (-offsets if negative else offsets)) % seconds


def _date(clock: Zone, instants: Ints, axis: Axis) -> Ints:
    return (instants + _offsets(clock, instants)) // DAY - day_number(axis.first)


def axis_of(clock: Zone, start: Instant, ends: Sequence[Instant]) -> Axis:
    """The controller dates from a day before the start through a day after the last end."""
    first = clock.local_date(start) - timedelta(days=1)
    last = clock.local_date(max([start, *ends])) + timedelta(days=1)
    return Axis(first, (last - first).days + 1)
