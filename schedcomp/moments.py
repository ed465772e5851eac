"""When a moment happens on a date: clocks, sun and hours, pairs, and windows of two moments."""

from __future__ import annotations

from datetime import date
from functools import lru_cache

from schedcomp.clock import Zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.hours import OpeningHours
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Half, Instant, NoEvent, NoEventReason
from schedcomp.phrases.printer import print_moment, print_sun_definition
from schedcomp.phrases.tree import (
    Clock,
    HoursMoment,
    HoursWord,
    Moment,
    Pair,
    Plain,
    SunDefinition,
    SunMoment,
    SunWord,
    Which,
    Window,
)
from schedcomp.records import Record
from schedcomp.sun import SiteSun
from schedcomp.year import Bound


class Missing(Record):
    """The moment does not happen on this date; `why` as in `year.EmptyWindow`.

    `never_comes`: the sun stays above the level, so this dusk never comes.
    """

    why: str
    never_comes: bool = False


SUN_TOO_HIGH = "sun never that low"
NO_SUCH_HOURS = "no such hours"
END_BEFORE_START = "end before start"
SWALLOWED = "swallowed by the clock"


class Opening(Record):
    """A window on one date, with how both of its ends came about."""

    day: date
    start: Bound
    end: Bound
    start_at: Instant
    end_at: Instant


class Clockwork(Record):
    """Everything moments are read against.

    `strict`: as a requirement reads them. A sun time that never comes because the sun stays above
    the level is then the lower transit.
    """

    zone: Zone
    sun: SiteSun
    hours: OpeningHours | None
    dusk: SunDefinition
    dawn: SunDefinition
    strict: bool = False

    def words(self, moment: Moment) -> str:
        """The moment for people, dusk and dawn with their definition."""
        text = print_moment(moment)
        for word, definition in ((SunWord.DUSK, self.dusk), (SunWord.DAWN, self.dawn)):
            if _mentions(moment, word):
                explained = f"{word.value} ({print_sun_definition(definition)})"
                text = text.replace(word.value, explained)
        return text

    def instant(self, moment: Moment, day: date, *, hold: bool = False) -> Instant | Missing:
        """The moment of `day`, read by itself."""
        if isinstance(moment, Pair):
            found = self._pair(moment, day, None, hold=hold, as_start=True)
        else:
            found = self._plain(moment, day, None, hold=hold)
        return found if isinstance(found, Missing) else found.moved(0)

    def end_instant(self, window: Window, day: date, start_at: Instant) -> Instant | Missing:
        """When the window of `day` ends that started at `start_at`, held as in `opening`."""
        found = self._end(window, settled(window), day, start_at, True)
        return found if isinstance(found, Missing) else found.moved(0)

    def half(self, moment: Moment, day: date) -> Half:
        """The side of `day` on which a moment stands."""
        return self._half(moment, day)

    def start_half(self, window: Window, day: date) -> Half:
        """The side of `day` on which the window starts."""
        return start_half_of(window) or self._half(window.start, day)

    def opening(self, window: Window, day: date, *, hold: bool = False) -> Opening | Missing:
        """The window that starts on `day`.

        `hold`: the window must hold through a repeated hour (keep-dark): its end means the last
        pass.
        """
        start = self._start(window.start, day)
        if isinstance(start, Missing):
            return start
        start_at = start.moved(0)
        kind = settled(window)
        end = self._end(window, kind, day, start_at, hold)
        if isinstance(end, Missing):
            return end
        wished = end.moved(0)
        end_at = min(wished, self._longest(kind, start_at, day))
        if end_at <= start_at:
            return Missing(self._why_empty(window, day))
        if end_at < wished:
            end = Bound(((end_at, True),))
        return Opening(day, start, end, start_at, end_at)

    def _start(self, moment: Moment, day: date) -> Bound | Missing:
        if isinstance(moment, Pair):
            return self._pair(moment, day, None, hold=False, as_start=True)
        return self._plain(moment, day, None, hold=False)

    def _end(
        self, window: Window, settled: Settled, day: date, start_at: Instant, hold: bool
    ) -> Bound | Missing:
        end_day = self._end_day(window, settled, day)
        after = start_at if settled.starts_at_closing else None
        if isinstance(window.end, Pair):
            return self._pair(window.end, end_day, after, hold=hold, as_start=False)
        return self._plain(window.end, end_day, after, hold=hold)

    def _end_day(self, window: Window, settled: Settled, day: date) -> date:
        """The date the end is read on; two pure clocks are compared as written."""
        start_half, end_half = settled.start_half, settled.end_half
        if start_half is None or end_half is None:
            start_half = self._half(window.start, day)
            # An opening's side may differ from date to date: ask the date it would be read on.
            read_on = day + ONE_DAY if start_half is Half.EVENING else day
            end_half = self._half(window.end, read_on)
        if start_half is Half.EVENING and end_half is Half.MORNING:
            return day + ONE_DAY
        return day + ONE_DAY if settled.ends_before and start_half is end_half else day

    def _half(self, moment: Moment, day: date) -> Half:
        if isinstance(moment, Clock):
            return moment.half
        if isinstance(moment, SunMoment):
            return moment.word.half
        if isinstance(moment, Pair):
            first = self._half(moment.first, day)
            return first if first is Half.EVENING else self._half(moment.second, day)
        if not moment.word.is_opening:
            return Half.EVENING
        opens = self._hours_instant(moment.word, day)
        if opens is None:
            return moment.fallback.half if moment.fallback else Half.MORNING
        return Half.MORNING if opens < self.zone.first_pass(day, 12 * HOUR) else Half.EVENING

    def _pair(
        self, pair: Pair, day: date, after: Instant | None, *, hold: bool, as_start: bool
    ) -> Bound | Missing:
        evening = self._half(pair, day) is Half.EVENING
        members: list[tuple[Instant, bool]] = []
        missing: list[Missing] = []
        for member in (pair.first, pair.second):
            found = self._plain(member, self._member_day(member, day, evening), after, hold=hold)
            if isinstance(found, Missing):
                if as_start and found.never_comes and pair.which is Which.LATER:
                    return found
                missing.append(found)
            else:
                members += found.members
        if not members:
            return missing[0]
        return Bound(tuple(members), pair.which)

    def _member_day(self, member: Plain, day: date, evening: bool) -> date:
        """In a pair with an evening side, morning clocks and morning sun are the next date's."""
        moves = evening and not isinstance(member, HoursMoment)
        return day + ONE_DAY if moves and self._half(member, day) is Half.MORNING else day

    def _plain(
        self, moment: Plain, day: date, after: Instant | None, *, hold: bool
    ) -> Bound | Missing:
        if isinstance(moment, Clock):
            return self._clock(moment, day, hold)
        if isinstance(moment, SunMoment):
            return self._sun(moment, day)
        return self._hours(moment, day, after, hold)

    def _clock(self, clock: Clock, day: date, hold: bool) -> Bound:
        read = self.zone.last_pass if hold else self.zone.first_pass
        return Bound(((read(day, clock.minutes * MINUTE), False),))

    def _sun(self, moment: SunMoment, day: date) -> Bound | Missing:
        if moment.word is SunWord.NIGHT_MIDDLE:
            middle = self.sun.lower_transit_after(day)
            return Bound(((middle + moment.offset_minutes * MINUTE, True),))
        level_degrees, offset_minutes = self.definition(moment.word)
        crossing = self.sun.crossing(day, moment.word.half, level_degrees)
        if isinstance(crossing, NoEvent):
            if crossing.reason is NoEventReason.STAYS_ABOVE:
                if self.strict:
                    return Bound(((self._turned(day, moment.word.half), True),))
                return Missing(SUN_TOO_HIGH, never_comes=moment.word.half is Half.EVENING)
            return Bound(((self.sun.transit(day), True),))
        return Bound(((crossing + (offset_minutes + moment.offset_minutes) * MINUTE, True),))

    def _turned(self, day: date, half: Half) -> Instant:
        """The lower transit at which a sun that stays above a level turns back."""
        evening = half is Half.EVENING
        return (self.sun.lower_transit_after if evening else self.sun.lower_transit_before)(day)

    def definition(self, word: SunWord) -> tuple[float, int]:
        """Level in degrees and offset in minutes of a sun word."""
        if word in (SunWord.SUNRISE, SunWord.SUNSET):
            return SUNRISE_LEVEL_DEGREES, 0
        defined = self.dusk if word is SunWord.DUSK else self.dawn
        if isinstance(defined.base, SunWord):
            return SUNRISE_LEVEL_DEGREES, defined.offset_minutes
        return defined.base.level_degrees, defined.offset_minutes

    def _hours(
        self, moment: HoursMoment, day: date, after: Instant | None, hold: bool
    ) -> Bound | Missing:
        if moment.word.is_opening and after is not None and moment.fallback is None:
            instant = self._next_opening(moment.word, after)
            if instant is None and self.hours is not None:
                # Closed for as long as hours are known.
                end = self.zone.first_pass(self.hours.days[-1].day + ONE_DAY, 0)
                return Bound(((end, False),))
        else:
            instant = self._hours_instant(moment.word, day)
        if instant is not None:
            return Bound(((instant + moment.offset_minutes * MINUTE, False),))
        if moment.fallback is None:
            return Missing(NO_SUCH_HOURS)
        late = not moment.word.is_opening and moment.fallback.half is Half.MORNING
        return self._clock(moment.fallback, day + ONE_DAY if late else day, hold)

    def _hours_instant(self, word: HoursWord, day: date) -> Instant | None:
        if self.hours is None:
            return None
        if word is HoursWord.OPEN:
            return self.hours.opening(day)
        if word is HoursWord.CLOSE:
            return self.hours.closing(day)
        return (self.hours.arriving if word is HoursWord.ARRIVE else self.hours.leaving)(day)

    def _next_opening(self, word: HoursWord, after: Instant) -> Instant | None:
        if self.hours is None:
            return None
        ask = self.hours.next_opening if word is HoursWord.OPEN else self.hours.next_arriving
        return ask(after)

    def _longest(self, settled: Settled, start_at: Instant, day: date) -> Instant:
        """No window with a sun moment passes the second following transit."""
        if not settled.has_sun:
            return start_at + 400 * 24 * HOUR
        first = day if start_at < self.sun.transit(day) else day + ONE_DAY
        return self.sun.transit(first + ONE_DAY)

    def _why_empty(self, window: Window, day: date) -> str:
        start, end = _pure_reading(window.start), _pure_reading(window.end)
        if start is None or end is None:
            return END_BEFORE_START
        skipped = self.zone.is_skipped(day, start * MINUTE)
        end_day = self._end_day(window, settled(window), day)
        return (
            SWALLOWED
            if skipped or self.zone.is_skipped(end_day, end * MINUTE)
            else (END_BEFORE_START)
        )


class Settled(Record):
    """What a window is on every date. A side is None where opening hours decide it.

    `ends_before`: its ends are pure clocks, and the end reads no later than the start.
    """

    start_half: Half | None
    end_half: Half | None
    ends_before: bool
    starts_at_closing: bool
    has_sun: bool


def start_half_of(window: Window) -> Half | None:
    """The side of every date on which a window starts; None where opening hours decide it."""
    return settled(window).start_half


@lru_cache(maxsize=1024)
def settled(window: Window) -> Settled:
    start, end = _pure_reading(window.start), _pure_reading(window.end)
    return Settled(
        _half_of(window.start),
        _half_of(window.end),
        start is not None and end is not None and end <= start,
        _has_closing(window.start),
        _has_sun(window.start) or _has_sun(window.end),
    )


def _half_of(moment: Moment) -> Half | None:
    """The side on which a moment stands on every date; None where opening hours decide."""
    halves = []
    for member in _members(moment):
        if isinstance(member, HoursMoment):
            return None
        halves.append(member.half if isinstance(member, Clock) else member.word.half)
    return Half.EVENING if Half.EVENING in halves else Half.MORNING


def _pure_reading(moment: Moment) -> int | None:
    """Minutes on the clock where a moment is clocks only, in the order of its side."""
    if isinstance(moment, Clock):
        return moment.minutes
    if isinstance(moment, Pair) and isinstance(moment.first, Clock):
        if not isinstance(moment.second, Clock):
            return None
        night = Half.EVENING in (moment.first.half, moment.second.half)
        readings = [
            c.minutes + (24 * 60 if night and c.half is Half.MORNING else 0)
            for c in (moment.first, moment.second)
        ]
        return min(readings) if moment.which is Which.EARLIER else max(readings)
    return None


def _members(moment: Moment) -> tuple[Plain, ...]:
    return (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)


def _has_closing(moment: Moment) -> bool:
    return any(isinstance(m, HoursMoment) and not m.word.is_opening for m in _members(moment))


def _has_sun(moment: Moment) -> bool:
    return any(isinstance(m, SunMoment) for m in _members(moment))


def _mentions(moment: Moment, word: SunWord) -> bool:
    return any(isinstance(m, SunMoment) and m.word is word for m in _members(moment))
