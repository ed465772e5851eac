"""A simulated unit: when its stored events fire, by its own clock, calendar and sun times.

In a run every firing has one instant; on intervals it has all the instants it may come at,
rounded outward to the unit's step. A firing that is not certain may also not come at all.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from zlib import crc32

import numpy as np

from schedcomp.audit.unit_clock import (
    DAY_SECONDS,
    MINUTE_SECONDS,
    Bools,
    Ints,
    UnitClock,
    UnitDates,
    following_clock,
    standard_clock,
    unit_dates,
)
from schedcomp.controller import Controller
from schedcomp.model import Action, Instant
from schedcomp.program import ClockStart, Event, SunOffset
from schedcomp.records import Record
from schedcomp.unit_sun import SunColumns, UnitSun, columns_of

# Sun events lie within a day of their date and offsets within some hours.
_MARGIN_DAYS = 4
_MORE_THAN_SLOTS = 1 << 20


class SunRun(Enum):
    """Where in its error every sun time lies in a run."""

    EXACT = "sun exact"
    EARLY = "sun early"
    LATE = "sun late"
    JITTERING = "sun jittering"


class Firings(Record):
    """Firings of events, each at one instant of [start, end].

    Slots count from 1; 0 is what the unit does by itself where special days begin or end.
    """

    starts: Ints
    ends: Ints
    certain: Bools
    on: Bools
    slots: Ints

    def only(self, chosen: Bools | Ints) -> Firings:
        return Firings(
            self.starts[chosen],
            self.ends[chosen],
            self.certain[chosen],
            self.on[chosen],
            self.slots[chosen],
        )

    def same_as(self, other: Firings) -> bool:
        """Whether both hold the same firings in the same order."""
        return self is other or all(
            np.array_equal(mine, theirs)
            for mine, theirs in (
                (self.starts, other.starts),
                (self.on, other.on),
                (self.slots, other.slots),
            )
        )

    def by_start(self, first: Instant | None = None, last: Instant | None = None) -> Firings:
        """In order of start, OFF before ON, then slot; only those that may come from `first`
        through `last`.
        """
        # One key instead of three: joined parts are in order already and are only merged.
        keys = (self.starts * 2 + self.on) * _MORE_THAN_SLOTS + self.slots
        order = np.argsort(keys, kind="stable")
        if first is not None:
            order = order[self.ends[order] >= first]
        if last is not None:
            order = order[self.starts[order] <= last]
        return self.only(order)


class Duty(Record):
    """A stored event, and on which of the unit's dates it fires."""

    event: Event
    dates: Bools


class Unit(Record):
    """A unit at a place, over the days of a target and a few on either side."""

    controller: Controller
    clock: UnitClock
    dates: UnitDates
    sun: tuple[tuple[str, SunColumns], ...]

    def clock_firings(self, duties: Iterable[Duty]) -> Firings:
        """Every firing of the clock events among them, the same in every run.

        A firing counts on the date it fires on; a jump over midnight makes that two dates.
        """
        events, dates, minutes = [], [], []
        for duty in duties:
            if isinstance(duty.event.start, ClockStart):
                events.append(duty.event)
                dates.append(duty.dates)
                minutes.append(duty.event.start.minutes)
        if not events:
            return joined([])
        named = np.stack(dates)
        number, place = np.nonzero(_or_beside(named))
        instants, which = self.clock.firings(
            self.dates.first_day + place,
            np.array(minutes, np.int64)[number],
            lost=self.controller.skipped_time == "lost",
            twice=self.controller.repeated_time == "twice",
        )
        number, place = number[which], place[which]
        by_reading = named[number, place]
        fired_on = self.clock.days(instants) - self.dates.first_day
        inside = (fired_on >= 0) & (fired_on < named.shape[1])
        by_firing = inside & named[number, np.where(inside, fired_on, 0)]
        fires = by_reading | by_firing
        instants, number = instants[fires], number[fires]
        return Firings(
            instants,
            instants,
            (by_reading & by_firing)[fires],
            np.array([event.action is Action.ON for event in events])[number],
            np.array([event.slot for event in events], np.int64)[number],
        ).by_start()

    def sun_firings(self, duties: Iterable[Duty], run: SunRun | None) -> list[Firings]:
        """Every firing of each sun event among them; `run` None: all instants it may come at.

        Raises KeyError for a sun word the unit does not know.
        """
        found = []
        for duty in duties:
            start = duty.event.start
            if isinstance(start, SunOffset):
                times = dict(self.sun)[start.word]
                if run is None:
                    fires = self._spread_of_sun(start, times, duty.dates)
                else:
                    fires = self._run_of_sun(start, times, duty.dates, run)
                found.append(_firings(duty.event, *fires))
        return found

    def complete_from(self, duties: Iterable[Duty]) -> int:
        """The instant from which every firing is among those found: sun times begin somewhere."""
        known = dict(self.sun)
        begins = [(self.dates.first_day + 2) * DAY_SECONDS]
        for duty in duties:
            start = duty.event.start
            if isinstance(start, SunOffset) and len(known[start.word].days):
                first = int(known[start.word].latest[0])
                begins.append(first + start.offset_minutes * MINUTE_SECONDS)
        return max(begins)

    def midnights(self, days: Ints) -> Ints:
        """When the clock first shows 00:00 of dates, or the jump that skips it, in any order."""
        minutes = np.zeros_like(days)
        instants, _ = self.clock.firings(days, minutes, lost=False, twice=False)
        return instants

    def _run_of_sun(
        self, start: SunOffset, times: SunColumns, named: Bools, run: SunRun
    ) -> tuple[Ints, Ints, Bools]:
        event_at = _sun_in_run(times, run, start.word)
        fires_at = event_at + start.offset_minutes * MINUTE_SECONDS
        if named.all():
            return fires_at, fires_at, times.certain
        if self._all_on(times.days, event_at, fires_at):
            fires = self.dates.look_up(named, times.days)
            return fires_at[fires], fires_at[fires], times.certain[fires]
        tested = {
            "fires on": self.clock.days(fires_at),
            "event on": self.clock.days(event_at),
            "evening": times.days,
        }
        verdicts = [self.dates.look_up(named, tested[r]) for r in self._readings()]
        fires = np.logical_or.reduce(verdicts)
        certain = np.logical_and.reduce([times.certain, *verdicts])
        return fires_at[fires], fires_at[fires], certain[fires]

    def _spread_of_sun(
        self, start: SunOffset, times: SunColumns, named: Bools
    ) -> tuple[Ints, Ints, Bools]:
        offset = start.offset_minutes * MINUTE_SECONDS
        first, last = self._outward(times.earliest + offset, times.latest + offset)
        if named.all():
            return first, last, times.certain
        if self._all_on(times.days, times.earliest, times.latest, first, last):
            fires = self.dates.look_up(named, times.days)
            return first[fires], last[fires], times.certain[fires]
        certain = times.certain
        parts = []
        for reading in self._readings():
            if reading == "evening":
                some = whole = self.dates.look_up(named, times.days)
                begin, end = first, last
            elif reading == "event on":
                event = times.earliest, times.latest
                begin, end, some, whole = self._on_named_dates(*event, named)
                begin, end = self._outward(begin + offset, end + offset)
            else:
                begin, end, some, whole = self._on_named_dates(first, last, named)
                begin, end = self._outward(begin, end)
            certain = certain & whole
            parts.append((np.maximum(begin, first), np.minimum(end, last), some))
        return _hull(parts, certain)

    def _all_on(self, days: Ints, *instants: Ints) -> bool:
        """Whether all instants are on these dates: then every reading tests against the same."""
        return all((self.clock.days(each) == days).all() for each in instants)

    def _on_named_dates(
        self, starts: Ints, ends: Ints, named: Bools
    ) -> tuple[Ints, Ints, Bools, Bools]:
        """The part of each interval on dates that are named: start, end, some of it, all of it."""
        first_day, last_day = self.clock.days(starts), self.clock.days(ends)
        whole = self.dates.look_up(named, first_day)
        some, starts, ends = whole.copy(), starts.copy(), ends.copy()
        for i in np.flatnonzero(first_day != last_day):
            parts = self._by_date(int(starts[i]), int(ends[i]))
            kept = [p for p in parts if self.dates.look_up(named, p[2]).all()]
            some[i], whole[i] = bool(kept), len(kept) == len(parts)
            if kept:
                starts[i], ends[i] = kept[0][0], kept[-1][1]
        return starts, ends, some, whole

    def _by_date(self, start: int, end: int) -> list[tuple[int, int, Ints]]:
        """An interval cut where the date of the clock changes."""
        minutes = np.append(np.arange(start, end, MINUTE_SECONDS, dtype=np.int64), end)
        days = self.clock.days(minutes)
        changes = np.flatnonzero(np.diff(days)) + 1
        begins = [start, *minutes[changes].tolist()]
        return list(
            zip(
                begins,
                [*(begin - 1 for begin in begins[1:]), end],
                [days[i : i + 1] for i in (0, *changes.tolist())],
                strict=True,
            )
        )

    def _outward(self, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
        """Widened to whole steps of the unit's clock."""
        step = self.controller.step_minutes * MINUTE_SECONDS
        return self.clock.round_down(starts, step), self.clock.round_up(ends, step)

    def _readings(self) -> tuple[str, ...]:
        """The dates a sun event may be tested against; not given: all of them."""
        given = self.controller.sun_date
        return (given,) if given is not None else ("fires on", "event on", "evening")


def unit_for(
    controller: Controller,
    period: tuple[Instant, Instant],
    last: Instant,
    unit_sun: UnitSun,
    zone_name: str,
    look_back_days: int = 0,
) -> Unit:
    """A unit at a place, from `look_back_days` before a period to some days after `last`.

    Raises `zoneinfo.ZoneInfoNotFoundError` for a name that tzdata does not have.
    """
    first_day = period[0] // DAY_SECONDS - _MARGIN_DAYS - look_back_days
    last_day = last // DAY_SECONDS + _MARGIN_DAYS
    sun = tuple((word, columns_of(times)) for word, times in unit_sun.times)
    clock = following_clock(zone_name, first_day, last_day)
    if controller.clock == "standard":
        ends = clock.days(np.array([period[0], period[1] - 1], np.int64))
        years = ends.astype("datetime64[D]").astype("datetime64[Y]").astype(np.int64) + 1970
        clock = standard_clock(zone_name, range(int(years[0]), int(years[1]) + 1))
    return Unit(controller, clock, unit_dates(first_day, last_day), sun)


def coming(firings: Firings, run: SunRun) -> Firings:
    """Those that come in a run: the certain ones, and of the others some where times jitter."""
    come = firings.certain
    if run is SunRun.JITTERING:
        come = come | coin(firings)
    return firings.only(come)


def coin(firings: Firings) -> Bools:
    """For each firing one of two sides, the same on every machine."""
    sides: Bools = _scattered(firings.starts, 2) % 2 == 0
    return sides


def _sun_in_run(times: SunColumns, run: SunRun, word: str) -> Ints:
    """The instant of every sun event in a run; all events of a word share it."""
    if run is SunRun.EXACT:
        return times.nominal
    if run is SunRun.EARLY:
        return times.earliest
    if run is SunRun.LATE:
        return times.latest
    width = times.latest - times.earliest + 1
    return times.earliest + _scattered(times.days, crc32(word.encode())) % width


def _firings(event: Event, starts: Ints, ends: Ints, certain: Bools) -> Firings:
    on = np.full(len(starts), event.action is Action.ON)
    return Firings(starts, ends, certain, on, np.full(len(starts), event.slot, np.int64))


def _or_beside(named: Bools) -> Bools:
    """Dates that are named, and those before and after them."""
    found = named.copy()
    found[:, 1:] |= named[:, :-1]
    found[:, :-1] |= named[:, 1:]
    return found


def joined(
    firings: list[Firings], first: Instant | None = None, last: Instant | None = None
) -> Firings:
    """All of them in order of start, as in `Firings.by_start`."""
    firings = [f for f in firings if len(f.starts)]
    if not firings:
        nowhere, nothing = np.empty(0, np.int64), np.empty(0, np.bool_)
        return Firings(nowhere, nowhere, nothing, nothing, nowhere)
    return Firings(
        np.concatenate([f.starts for f in firings]),
        np.concatenate([f.ends for f in firings]),
        np.concatenate([f.certain for f in firings]),
        np.concatenate([f.on for f in firings]),
        np.concatenate([f.slots for f in firings]),
    ).by_start(first, last)


def _hull(parts: list[tuple[Ints, Ints, Bools]], certain: Bools) -> tuple[Ints, Ints, Bools]:
    """From the earliest start to the latest end of the parts that exist, where any does."""
    never = np.iinfo(np.int64).max
    starts = np.minimum.reduce([np.where(some, start, never) for start, _, some in parts])
    ends = np.maximum.reduce([np.where(some, end, -never) for _, end, some in parts])
    fires = np.logical_or.reduce([some for _, _, some in parts])
    return starts[fires], ends[fires], certain[fires]


def _scattered(numbers: Ints, salt: int) -> Ints:
    """Numbers from 0 to 2**31 - 1 that look random and depend on nothing but the input.

    The finishing steps of the splitmix64 generator (public domain).
    """
    mixed = numbers.astype(np.uint64) + np.uint64(salt << 32)
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    return (mixed >> np.uint64(33)).astype(np.int64)
