"""The wishes against the dates: every lit span of every circuit, layer by layer.

Layers, lowest first: union of the day types' windows; minus keep-dark; one-offs in file order;
then short gaps bridged and short spans dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import cycle, repeat
from typing import TypeVar

import numpy as np

from schedcomp.clock import day_number
from schedcomp.clock_columns import Ints, dates_of_numbers
from schedcomp.date_columns import as_decided, deciding_lines, named_column
from schedcomp.days import names_single_dates
from schedcomp.diag import SourceRange
from schedcomp.holiday_list import HolidayList
from schedcomp.layers import bridge, cut, drop, lift, merge_dark, union
from schedcomp.limits import MOST_WINDOWS
from schedcomp.model import MINUTE, ONE_DAY, Half, Instant, Period
from schedcomp.moment_columns import Bounds, ClockworkColumns, Openings
from schedcomp.moments import Clockwork, Missing
from schedcomp.phrases.printer import print_calendar_line, print_keep_dark, print_stretch
from schedcomp.phrases.tree import CalendarLine, Window
from schedcomp.records import Record
from schedcomp.site import Circuit, OneOff, Site
from schedcomp.world import REACH_DAYS, World, reach_days
from schedcomp.year import (
    Bound,
    Cause,
    CircuitYear,
    DarkStretch,
    EmptyWindow,
    Reason,
    Span,
    Year,
)

T = TypeVar("T")


def expand(site: Site, world: World) -> Year:
    """The exact year of every circuit, with spans that reach beyond the period on both sides."""
    period, zone = world.period, world.zone
    clockwork = clockwork_of(site, world)
    days = days_looked_at(site, world)
    return Year(
        period=period,
        start=zone.first_pass(period.first, 0),
        end=zone.first_pass(period.last + ONE_DAY, 0),
        circuits=tuple(
            _circuit_year(site, circuit, period, days, clockwork, world.holidays)
            for circuit in site.circuits
        ),
    )


def days_looked_at(site: Site, world: World) -> Ints:
    """The dates on which a window that reaches into the period may start; since 1970-01-01."""
    period = world.period
    known = (period.first - world.sun.first).days - REACH_DAYS
    first = day_number(period.first) - min(reach_days(site), known)
    return np.arange(first, day_number(period.last) + REACH_DAYS + 1)


def clockwork_of(site: Site, world: World) -> Clockwork:
    """The world's clock, sun and hours, with what dusk and dawn mean at this site."""
    return Clockwork(world.zone, world.sun, world.hours, site.dusk, site.dawn)


def _circuit_year(
    site: Site,
    circuit: Circuit,
    period: Period,
    days: Ints,
    clockwork: Clockwork,
    holidays: HolidayList | None,
) -> CircuitYear:
    row = int(days[0]), len(days)
    lines = {half: deciding_lines(circuit.calendar, half, *row, holidays) for half in Half}
    windows = _windows(site, circuit, days, lines, clockwork)
    spans = union(windows.lit())
    dark = merge_dark(_keep_dark(circuit, days, clockwork, holidays))
    spans = cut(spans, dark)
    lit_one_offs: list[Span] = []
    for one_off in site.one_offs_of(circuit):
        single = one_off_span(one_off, clockwork)
        if single is None:
            continue
        if one_off.lit:
            lit_one_offs.append(single)
            spans, dark = union([*spans, single]), lift(dark, single)
        else:
            stretch = DarkStretch(single.start, single.end, single.start_reason, single.end_reason)
            spans, dark = cut(spans, [stretch]), merge_dark([*dark, stretch])
    spans, bridged, short_gaps = bridge(spans, dark, circuit.shortest_off_seconds)
    spans, dropped = drop(spans, lit_one_offs, circuit.shortest_on_seconds)
    begin = clockwork.zone.first_pass(period.first, 0)
    first = day_number(period.first) - row[0]
    inside = slice(first, first + len(period.dates()))
    return CircuitYear(
        circuit=circuit.name,
        channel=circuit.channel,
        spans=tuple(spans),
        dark=tuple(dark),
        special=_special_dates(site, circuit, days, lines, holidays),
        decided=as_decided(period.dates(), [of_half[inside] for of_half in lines.values()]),
        empty=tuple(w for w in windows.empty(clockwork) if w.day in period),
        opened=windows.opened(begin, day_number(period.last)),
        bridged=tuple(bridged),
        dropped=tuple(dropped),
        short_gaps=tuple(short_gaps),
    )


def _special_dates(
    site: Site,
    circuit: Circuit,
    days: Ints,
    lines: Mapping[Half, Ints],
    holidays: HolidayList | None,
) -> frozenset[date]:
    """Dates of lines for single dates, holidays and their neighbours, and of one-offs.

    Opening hours of such dates count too.
    """
    special = np.zeros(len(days), np.bool_)
    for number, line in enumerate(circuit.calendar):
        if names_single_dates(line.dates.dates):
            for of_half in lines.values():
                special |= of_half == number
    for hours_line in site.hours.lines if site.hours is not None else ():
        if names_single_dates(hours_line.dates.dates):
            special |= named_column(hours_line.dates.dates, int(days[0]), len(days), holidays)
    found = set(dates_of_numbers(days[special]))
    for one_off in site.one_offs_of(circuit):
        found.update(Period(one_off.stretch.start.day, one_off.stretch.end.day).dates())
    return frozenset(found)


class _Asked(Record):
    """A window of a line with its words for people, worked out once."""

    window: Window
    start_words: str
    end_words: str
    cause: Cause
    day_type: str
    line_text: str
    at: SourceRange | None

    @property
    def words(self) -> str:
        return f"on from {self.start_words} until {self.end_words}"

    def lit(self, found: Openings) -> Iterator[Span]:
        return map(Span, *self._ends(found))

    def dark(self, found: Openings) -> Iterator[DarkStretch]:
        return map(DarkStretch, *self._ends(found))

    def _ends(
        self, found: Openings
    ) -> tuple[Iterable[Instant], Iterable[Instant], Iterable[Reason], Iterable[Reason]]:
        """Start and end with their reasons, on every date on which it opens."""
        return (
            found.start_at.tolist(),
            found.end_at.tolist(),
            self._reasons(self.start_words, found, found.start),
            self._reasons(self.end_words, found, found.end),
        )

    def _reasons(self, words: str, found: Openings, bounds: Bounds) -> Iterator[Reason]:
        asked_by = map(repeat, (self.day_type, self.line_text, self.at))
        days = dates_of_numbers(found.days)
        return map(Reason, repeat(self.cause), repeat(words), days, bounds.each(), *asked_by)


class _Opened(Record):
    """A window of a line on the dates whose half the line decides.

    `place` orders the windows of one half of a date.
    """

    asked: _Asked
    line: int
    half: Half
    place: int
    found: Openings

    def numbers(self, days: Ints) -> Ints:
        """In the order of dates, halves and windows."""
        return (days * 2 + (self.half is Half.EVENING)) * MOST_WINDOWS + self.place

    def empty(self, clockwork: Clockwork) -> Iterator[EmptyWindow]:
        """The window on the dates on which it lights nothing, and why."""
        days = list(dates_of_numbers(self.found.empty))
        alike = days[:1] if self.found.all_without_start else days
        whys = [_why_empty(self.asked.window, clockwork, day) for day in alike]
        words = repeat(self.asked.words)
        return map(EmptyWindow, days, words, cycle(whys), repeat(self.line), repeat(self.half))


class _Windows(Record):
    """Every window of a circuit, on the dates and halves that its lines decide."""

    every: tuple[_Opened, ...]

    def lit(self) -> list[Span]:
        return _in_order(
            (one.numbers(one.found.days), one.asked.lit(one.found)) for one in self.every
        )

    def empty(self, clockwork: Clockwork) -> list[EmptyWindow]:
        return _in_order(
            (one.numbers(one.found.empty), one.empty(clockwork))
            for one in self.every
            if len(one.found.empty)
        )

    def opened(self, begin: Instant, last_day: int) -> tuple[str, ...]:
        """The words of those that light something after `begin`, up to a date."""
        return tuple(
            sorted(
                {
                    one.asked.words
                    for one in self.every
                    if ((one.found.end_at > begin) & (one.found.days <= last_day)).any()
                }
            )
        )


def _in_order(parts: Iterable[tuple[Ints, Iterable[T]]]) -> list[T]:
    """All that come with numbers, in their order."""
    numbers: list[Ints] = []
    items: list[T] = []
    for numbered, some in parts:
        numbers.append(numbered)
        items += some
    order = np.argsort(np.concatenate(numbers), kind="stable") if numbers else ()
    return [items[place] for place in order]


def _windows(
    site: Site,
    circuit: Circuit,
    days: Ints,
    lines: Mapping[Half, Ints],
    clockwork: Clockwork,
) -> _Windows:
    columns = ClockworkColumns(clockwork)
    found = []
    for number, line in enumerate(circuit.calendar):
        of_halves = [(half, days[of_half == number]) for half, of_half in lines.items()]
        if not any(len(named) for _, named in of_halves):
            continue
        for place, asked in enumerate(_asked_by(site, line, clockwork)):
            for half, named in of_halves:
                some = named[columns.starts_in(asked.window, half, named)]
                if len(some):
                    openings = columns.openings(asked.window, some)
                    found.append(_Opened(asked, number, half, place, openings))
    return _Windows(tuple(found))


def _why_empty(window: Window, clockwork: Clockwork, day: date) -> str:
    missing = clockwork.opening(window, day)
    assert isinstance(missing, Missing)
    return missing.why


def _asked_by(site: Site, line: CalendarLine, clockwork: Clockwork) -> tuple[_Asked, ...]:
    day_type = site.day_type(line.day_type)
    text = print_calendar_line(line)
    return tuple(
        _Asked(
            window,
            clockwork.words(window.start),
            clockwork.words(window.end),
            Cause.WINDOW,
            line.day_type,
            text,
            line.at,
        )
        for window in (day_type.windows if day_type else ())
    )


def _keep_dark(
    circuit: Circuit,
    days: Ints,
    clockwork: Clockwork,
    holidays: HolidayList | None,
) -> Iterator[DarkStretch]:
    columns = ClockworkColumns(clockwork)
    for line in circuit.keep_dark:
        asked = _Asked(
            line.window,
            clockwork.words(line.window.start),
            clockwork.words(line.window.end),
            Cause.KEEP_DARK,
            "",
            print_keep_dark(line),
            line.at,
        )
        named = days[named_column(line.dates.dates, int(days[0]), len(days), holidays)]
        if line.dates.half is not None:
            named = named[columns.starts_in(line.window, line.dates.half, named)]
        yield from asked.dark(columns.openings(line.window, named, hold=True))


def one_off_span(one_off: OneOff, clockwork: Clockwork) -> Span | None:
    """A single period as a span; None where the spring change swallows all of it."""
    text = f"{'lit' if one_off.lit else 'dark'} {print_stretch(one_off.stretch)}"
    ends = []
    for moment in (one_off.stretch.start, one_off.stretch.end):
        instant = clockwork.zone.first_pass(moment.day, moment.clock.minutes * MINUTE)
        bound = Bound(((instant, False),))
        words = one_off.because or "single night"
        ends.append(Reason(Cause.ONE_OFF, words, moment.day, bound, "", text, one_off.at))
    start, end = ends
    start_at, end_at = start.bound.moved(0), end.bound.moved(0)
    return Span(start_at, end_at, start, end) if start_at < end_at else None
