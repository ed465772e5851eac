"""Second looks at wishes that can be carried out: each with its dates and how many they are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import TypedDict

import numpy as np

from schedcomp.clock import day_number
from schedcomp.clock_cautions import clock_change_findings
from schedcomp.clock_columns import dates_of_numbers, day_numbers
from schedcomp.date_columns import deciding_lines
from schedcomp.date_rules import parts_of
from schedcomp.days import never
from schedcomp.diag import Diagnostic
from schedcomp.expand import clockwork_of
from schedcomp.messages import wishes as messages
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Half, Instant
from schedcomp.moments import NO_SUCH_HOURS, Clockwork, Missing
from schedcomp.phrases.printer import print_calendar_line, print_clock
from schedcomp.phrases.tree import (
    CalendarLine,
    Clock,
    DatesPhrase,
    EveryDay,
    HolidayNamed,
    Holidays,
    Weekdays,
    WeekdaysIn,
)
from schedcomp.site import DARK, Circuit, Site
from schedcomp.told_time import moment_words
from schedcomp.words import EMPTY_WINDOW_WORDS, counted, date_words, join_and, length_words
from schedcomp.world import World
from schedcomp.year import Cause, CircuitYear, Decided, Year


def cautions_of(site: Site, world: World, year: Year) -> tuple[Diagnostic, ...]:
    """Every caution and note about a site in a period."""
    clockwork = clockwork_of(site, world)
    found = [*_unused_types(site), *_place(site, world)]
    for circuit, circuit_year in zip(site.circuits, year.circuits, strict=True):
        look = _Look(site, world, year, clockwork, circuit, circuit_year)
        found += look.everything()
    return tuple(found)


def _unused_types(site: Site) -> Iterator[Diagnostic]:
    used = {line.day_type for circuit in site.circuits for line in circuit.calendar}
    for day_type in site.day_types:
        if day_type.name not in used:
            yield messages.UNUSED_DAY_TYPE.at(day_type.at, name=day_type.name)


def _place(site: Site, world: World) -> Iterator[Diagnostic]:
    where = world.whereabouts
    if where.at_sea:
        yield messages.AT_SEA.at(site.location_at, where=where.text)
    elif where.far:
        yield messages.FAR_FROM_TOWN.at(site.location_at, where=where.text)


class _Look:
    """One circuit's calendar against one period."""

    def __init__(
        self,
        site: Site,
        world: World,
        year: Year,
        clockwork: Clockwork,
        circuit: Circuit,
        circuit_year: CircuitYear,
    ) -> None:
        self.site = site
        self.world = world
        self.year = year
        self.clockwork = clockwork
        self.circuit = circuit
        self.circuit_year = circuit_year
        self.lines = circuit.calendar
        self.by_line: dict[int, list[Decided]] = defaultdict(list)
        for decided in circuit_year.decided:
            if decided.line is not None:
                self.by_line[decided.line].append(decided)

    def everything(self) -> Iterator[Diagnostic]:
        yield from self._idle_lines()
        yield from self._undecided()
        yield from self._empty_windows()
        yield from self._lost_light()
        yield from self._closed_dates()
        yield from self._holidays_and_hours()
        yield from self._small_hours()
        yield from self._short_gaps()
        yield from self._short_times()
        yield from self._lit_at_noon()
        yield from self._kept_dark_all_day()
        yield from clock_change_findings(
            self.site, self.world, self.year, self.circuit, self.circuit_year
        )

    def _kept_dark_all_day(self) -> Iterator[Diagnostic]:
        for line in self.circuit.keep_dark:
            if line.window.start == line.window.end:
                yield messages.KEPT_DARK_ALL_DAY.at(line.at, circuit=self.circuit.name)

    def _idle_lines(self) -> Iterator[Diagnostic]:
        days = self.year.period.dates()
        for index, line in enumerate(self.lines):
            if index in self.by_line:
                continue
            names_none = never(line.dates.dates, days, self.world.holidays)
            yield messages.IDLE_LINE.at(
                line.at,
                first=date_words(days[0]),
                last=date_words(days[-1]),
                reason=messages.NO_DATE_NAMED if names_none else messages.ALL_NAMED_AGAIN,
            )

    def _undecided(self) -> Iterator[Diagnostic]:
        missing = [d for d in self.circuit_year.decided if d.line is None]
        if missing:
            yield messages.NO_LINE.at(
                self.circuit.at,
                circuit=self.circuit.name,
                halves=counted(len(missing), "morning or evening", "mornings and evenings"),
                **_ends(d.day for d in missing),
            )

    def _empty_windows(self) -> Iterator[Diagnostic]:
        groups: dict[tuple[str, str], list[date]] = defaultdict(list)
        for empty in self.circuit_year.empty:
            groups[empty.window, empty.why].append(empty.day)
        for (window, why), days in groups.items():
            kind = (
                messages.EMPTY_SOMETIMES
                if window in self.circuit_year.opened
                else messages.ALWAYS_EMPTY
            )
            yield kind.at(
                None,
                circuit=self.circuit.name,
                window=window,
                dates=counted(len(days), "date"),
                reason=EMPTY_WINDOW_WORDS[why],
                **_ends(days),
            )

    def _lost_light(self) -> Iterator[Diagnostic]:
        """Halves where a line's type has no window and the line it overrules has one."""
        for index, decided in sorted(self.by_line.items()):
            line = self.lines[index]
            if line.day_type == DARK or not index:
                continue
            first, count = day_number(self.year.period.first), len(self.year.period.dates())
            for half in Half:
                below = deciding_lines(
                    self.lines[:index], half, first, count, self.world.holidays
                ).tolist()
                lost = [
                    (d.day, lower)
                    for d in decided
                    if d.half is half
                    and (lower := below[day_number(d.day) - first]) >= 0
                    and self._has_light(self.lines[lower], d.day, half)
                    and not self._has_window(line, d.day, half)
                ]
                if lost:
                    yield self._lost(line, half, lost)

    def _lost(self, line: CalendarLine, half: Half, lost: Sequence[tuple[date, int]]) -> Diagnostic:
        other = Half.EVENING if half is Half.MORNING else Half.MORNING
        kept = CalendarLine(DatesPhrase(line.dates.dates, other), line.day_type)
        old = self.lines[lost[0][1]]
        return messages.LOST_LIGHT.at(
            line.at,
            also=(("The light was asked for here", old.at),) if old.at else (),
            circuit=self.circuit.name,
            halves=counted(len(lost), half.value.removesuffix("s")),
            new=line.day_type,
            old_line=print_calendar_line(old),
            fixed=print_calendar_line(kept),
            **_ends(day for day, _ in lost),
        )

    def _has_window(self, line: CalendarLine, day: date, half: Half) -> bool:
        day_type = self.site.day_type(line.day_type)
        return day_type is not None and any(
            self.clockwork.start_half(window, day) is half for window in day_type.windows
        )

    def _has_light(self, line: CalendarLine, day: date, half: Half) -> bool:
        day_type = self.site.day_type(line.day_type)
        return day_type is not None and any(
            self.clockwork.start_half(window, day) is half
            and not isinstance(self.clockwork.opening(window, day), Missing)
            for window in day_type.windows
        )

    def _closed_dates(self) -> Iterator[Diagnostic]:
        """Dates a line of their own asks to light, with nothing lit for want of hours."""
        closed = [empty for empty in self.circuit_year.empty if empty.why == NO_SUCH_HOURS]
        if not closed:
            return
        # A window that joins the one before it still ends as its own.
        lit_days = {
            reason.date
            for span in self.circuit_year.spans
            for reason in (span.start_reason, span.end_reason)
            if reason.cause is not Cause.KEEP_DARK
        }
        waiting: dict[int, set[date]] = defaultdict(set)
        for empty in closed:
            if empty.day not in lit_days:
                waiting[empty.line].add(empty.day)
        for index, days in sorted(waiting.items()):
            line = self.lines[index]
            if not isinstance(line.dates.dates, EveryDay):
                yield messages.CLOSED_DATES.at(
                    line.at,
                    circuit=self.circuit.name,
                    dates=counted(len(days), "date"),
                    day_type=line.day_type,
                    **_ends(days),
                )

    def _holidays_and_hours(self) -> Iterator[Diagnostic]:
        hours = self.world.hours
        if hours is None or self.site.hours is None:
            return
        dark, lit = [], []
        lines = {d.day: d.line for d in self.circuit_year.decided if d.half is Half.EVENING}
        for holiday in self.world.holidays.holidays:
            index = lines.get(holiday.day)
            if index is None:
                continue
            own = _names_holidays(self.lines[index])
            hours_line = hours.line_of(holiday.day)
            said = hours_line is not None and _is_holiday_phrase(
                self.site.hours.lines[hours_line].dates
            )
            is_open = bool(hours.periods(holiday.day))
            if own and self.lines[index].day_type == DARK and is_open:
                dark.append(holiday)
            elif said and not is_open and not own and self.lines[index].day_type != DARK:
                lit.append(holiday)
        for kind, found in ((messages.OPEN_BUT_DARK, dark), (messages.CLOSED_BUT_LIT, lit)):
            if found:
                usual = next((x.day_type for x in self.lines if x.day_type != DARK), DARK)
                names = [f"{h.name} on {date_words(h.day)}" for h in found]
                yield kind.at(
                    self.circuit.at,
                    circuit=self.circuit.name,
                    holidays=counted(len(found), "holiday"),
                    dates=join_and(names[:6] + ([f"{len(names) - 6} more"] * (len(names) > 6))),
                    name=f"holiday {found[0].name}",
                    day_type=usual,
                )

    def _small_hours(self) -> Iterator[Diagnostic]:
        for index, line in enumerate(self.lines):
            day_type = self.site.day_type(line.day_type)
            days = [d.day for d in self.by_line.get(index, ()) if d.half is Half.MORNING]
            if day_type is None or not days or not _names_weekdays(line):
                continue
            for window in day_type.windows:
                if isinstance(window.start, Clock) and window.start.minutes * MINUTE < 3 * HOUR:
                    yield messages.SMALL_HOURS.at(
                        line.at,
                        start=print_clock(window.start),
                        line=print_calendar_line(line),
                        example=date_words(days[0]),
                        before=date_words(days[0] - ONE_DAY),
                    )

    def _short_gaps(self) -> Iterator[Diagnostic]:
        gaps = [g for g in self.circuit_year.short_gaps if self._in_period(g[0])]
        if gaps:
            yield messages.SHORT_GAP.at(
                self.circuit.at,
                circuit=self.circuit.name,
                gaps=counted(len(gaps), "gap"),
                **_ends(self.world.zone.local_date(g[0]) for g in gaps),
            )

    def _short_times(self) -> Iterator[Diagnostic]:
        """What shortest_on and shortest_off changed."""
        for kind, noun, stretches in (
            (messages.LEFT_OUT, "lit time", self.circuit_year.dropped),
            (messages.BRIDGED, "gap", self.circuit_year.bridged),
        ):
            inside = [s for s in stretches if self._in_period(s[0])]
            if inside:
                yield kind.at(
                    self.circuit.at,
                    circuit=self.circuit.name,
                    count=counted(len(inside), noun),
                    longest=length_words(max(end - start for start, end in inside)),
                    **_ends(self.world.zone.local_date(start) for start, _ in inside),
                )

    def _lit_at_noon(self) -> Iterator[Diagnostic]:
        """Dates on which the lamps are lit when the sun stands highest above the horizon."""
        sun, spans = self.world.sun, self.circuit_year.spans
        days = day_numbers(self.year.period)
        noons = sun.transits[sun.places(days)]
        ends = np.array([span.end for span in spans], np.int64)
        place = ends.searchsorted(noons, "right")
        starts = np.array([*(span.start for span in spans), np.iinfo(np.int64).max], np.int64)
        lit = np.flatnonzero(starts[place] <= noons)
        burning = lit[sun.altitude_degrees(noons[lit]) > 0]
        if len(burning):
            zone, span = self.world.zone, spans[place[burning[0]]]
            yield messages.LIT_AT_NOON.at(
                self.circuit.at,
                circuit=self.circuit.name,
                dates=counted(len(burning), "date"),
                start=moment_words(zone, span.start),
                end=moment_words(zone, span.end),
                **_ends(dates_of_numbers(days[burning])),
            )

    def _in_period(self, instant: Instant) -> bool:
        return self.year.start <= instant < self.year.end


class _Ends(TypedDict):
    """First and last of some dates, in words."""

    first: str
    last: str


def _ends(days: Iterable[date]) -> _Ends:
    ordered = sorted(days)
    return _Ends(first=date_words(ordered[0]), last=date_words(ordered[-1]))


def _names_holidays(line: CalendarLine) -> bool:
    return _is_holiday_phrase(line.dates)


def _is_holiday_phrase(phrase: DatesPhrase) -> bool:
    return any(isinstance(part, Holidays | HolidayNamed) for part in parts_of(phrase.dates))


def _names_weekdays(line: CalendarLine) -> bool:
    return any(isinstance(part, Weekdays | WeekdaysIn) for part in parts_of(line.dates.dates))
