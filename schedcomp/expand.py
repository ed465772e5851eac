"""The wishes against the dates: every lit span of every circuit, layer by layer.

Layers, lowest first: union of the day types' windows; minus keep-dark; one-offs in file order;
then short gaps bridged and short spans dropped.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from operator import itemgetter

import numpy as np

from schedcomp.clock import day_number, day_of_number
from schedcomp.days import dates_of, decide, names_single_dates
from schedcomp.diag import SourceRange
from schedcomp.holiday_list import HolidayList
from schedcomp.layers import bridge, cut, drop, lift, merge_dark, union
from schedcomp.model import MINUTE, ONE_DAY, Half, Instant, Period
from schedcomp.moment_columns import ClockworkColumns, Openings
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
    Decided,
    EmptyWindow,
    Reason,
    Span,
    Year,
)


def expand(site: Site, world: World) -> Year:
    """The exact year of every circuit, with spans that reach beyond the period on both sides."""
    period, holidays = world.period, world.holidays
    clockwork = clockwork_of(site, world)
    known = (period.first - world.sun.first).days - REACH_DAYS
    days = tuple(period.dates(before=min(reach_days(site), known), after=REACH_DAYS))
    zone = clockwork.zone
    return Year(
        period=period,
        start=zone.first_pass(period.first, 0),
        end=zone.first_pass(period.last + ONE_DAY, 0),
        circuits=tuple(
            _circuit_year(site, circuit, period, days, clockwork, holidays)
            for circuit in site.circuits
        ),
    )


def clockwork_of(site: Site, world: World) -> Clockwork:
    """The world's clock, sun and hours, with what dusk and dawn mean at this site."""
    return Clockwork(world.zone, world.sun, world.hours, site.dusk, site.dawn)


def _circuit_year(
    site: Site,
    circuit: Circuit,
    period: Period,
    days: Sequence[date],
    clockwork: Clockwork,
    holidays: HolidayList | None,
) -> CircuitYear:
    decided = decide(circuit.calendar, days, holidays)
    windows = _windows(site, circuit, decided, clockwork)
    spans = union(w for w in windows if isinstance(w, Span))
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
    return CircuitYear(
        circuit=circuit.name,
        channel=circuit.channel,
        spans=tuple(spans),
        dark=tuple(dark),
        special=_special_dates(site, circuit, decided, days, holidays),
        decided=tuple(d for d in decided if d.day in period),
        empty=tuple(w for w in windows if isinstance(w, EmptyWindow) and w.day in period),
        opened=tuple(
            sorted(
                {
                    _window_words(w.start_reason.phrase, w.end_reason.phrase)
                    for w in windows
                    if isinstance(w, Span) and w.end > begin and w.start_reason.date <= period.last
                }
            )
        ),
        bridged=tuple(bridged),
        dropped=tuple(dropped),
        short_gaps=tuple(short_gaps),
    )


def _special_dates(
    site: Site,
    circuit: Circuit,
    decided: Sequence[Decided],
    days: Sequence[date],
    holidays: HolidayList | None,
) -> frozenset[date]:
    """Dates of lines for single dates, holidays and their neighbours, and of one-offs.

    Opening hours of such dates count too.
    """
    single = [names_single_dates(line.dates.dates) for line in circuit.calendar]
    found = {half.day for half in decided if half.line is not None and single[half.line]}
    for one_off in site.one_offs_of(circuit):
        first, last = one_off.stretch.start.day, one_off.stretch.end.day
        found.update(Period(first, last).dates())
    if site.hours is not None:
        for line in site.hours.lines:
            named = dates_of(line.dates.dates, days, holidays)
            found = found | named if names_single_dates(line.dates.dates) else found
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

    def lit(self, found: Openings) -> Iterator[Span]:
        return (Span(*ends) for ends in self._ends(found))

    def dark(self, found: Openings) -> Iterator[DarkStretch]:
        return (DarkStretch(*ends) for ends in self._ends(found))

    def _ends(self, found: Openings) -> Iterator[tuple[Instant, Instant, Reason, Reason]]:
        """Start and end with their reasons, on every date on which it opens."""
        asked_by = (self.day_type, self.line_text, self.at)
        days = map(day_of_number, found.days.tolist())
        columns = (found.start_at.tolist(), found.end_at.tolist())
        bounds = (found.start.each(), found.end.each())
        for day, start_at, end_at, start, end in zip(days, *columns, *bounds, strict=True):
            yield (
                start_at,
                end_at,
                Reason(self.cause, self.start_words, day, start, *asked_by),
                Reason(self.cause, self.end_words, day, end, *asked_by),
            )


def _windows(
    site: Site, circuit: Circuit, decided: Sequence[Decided], clockwork: Clockwork
) -> list[Span | EmptyWindow]:
    """Every window of every half of every date, lit or empty, in order."""
    columns = ClockworkColumns(clockwork)
    dates_of_line: defaultdict[tuple[int, bool], list[int]] = defaultdict(list)
    for half in decided:
        if half.line is not None:
            dates_of_line[half.line, half.half is Half.EVENING].append(day_number(half.day))
    found: list[tuple[tuple[int, bool, int], Span | EmptyWindow]] = []
    for (line, evening), numbers in dates_of_line.items():
        side = Half.EVENING if evening else Half.MORNING
        for place, asked in enumerate(_asked_by(site, circuit.calendar[line], clockwork)):
            days = np.array(numbers, np.int64)
            days = days[columns.starts_in(asked.window, side, days)]
            openings = columns.openings(asked.window, days)
            lit = openings.days.tolist()
            spans = zip(lit, asked.lit(openings), strict=True)
            found += [((day, evening, place), span) for day, span in spans]
            for day, why in zip(*_empty(asked.window, openings, clockwork), strict=True):
                text = _window_words(asked.start_words, asked.end_words)
                empty = EmptyWindow(day_of_number(day), text, why, line, side)
                found.append(((day, evening, place), empty))
    found.sort(key=itemgetter(0))
    return [window for _, window in found]


def _empty(window: Window, openings: Openings, clockwork: Clockwork) -> tuple[list[int], list[str]]:
    """The dates on which a window lights nothing, and why."""
    days = openings.empty.tolist()
    if not days or not openings.all_without_start:
        return days, [_why_empty(window, clockwork, day_of_number(day)) for day in days]
    return days, [_why_empty(window, clockwork, day_of_number(days[0]))] * len(days)


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
    days: Sequence[date],
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
        named = sorted(map(day_number, dates_of(line.dates.dates, days, holidays)))
        numbers = np.array(named, np.int64)
        if line.dates.half is not None:
            numbers = numbers[columns.starts_in(line.window, line.dates.half, numbers)]
        yield from asked.dark(columns.openings(line.window, numbers, hold=True))


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


def _window_words(start_words: str, end_words: str) -> str:
    return f"on from {start_words} until {end_words}"
