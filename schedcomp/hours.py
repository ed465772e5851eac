"""Opening hours of each date as instants: when people come, when they go, when it is closed."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import lru_cache

from schedcomp.clock import Zone
from schedcomp.date_rules import days_between
from schedcomp.days import date_problems, dates_of
from schedcomp.diag import Diagnostic
from schedcomp.holiday_list import HolidayList
from schedcomp.messages import calendar as messages
from schedcomp.messages.writing_dates import HALF_NOT_HERE
from schedcomp.model import MINUTE, ONE_DAY, Instant
from schedcomp.phrases.tree import OpenHours
from schedcomp.records import Record
from schedcomp.site import Hours
from schedcomp.words import counted


class OpenPeriod(Record):
    """Open from `start` until `end`; belongs to the date on which it opens."""

    day: date
    start: Instant
    end: Instant


class OpenDay(Record):
    """One date. `line` is the index of the hours line that decided it, None if none names it.

    `opening` and `closing` are None where the business is closed, or stays open from the date
    before or into the next date.
    """

    day: date
    line: int | None
    periods: tuple[OpenPeriod, ...]
    opening: Instant | None
    closing: Instant | None


class OpeningHours(Record, kw_only=True):
    """Opening hours of dates in a row; a date outside them has no hours here.

    `never_closes`: open without a break through all of the dates.
    """

    days: tuple[OpenDay, ...]
    openings: tuple[Instant, ...]
    staff_before_seconds: int
    staff_after_seconds: int
    never_closes: bool

    def opening(self, day: date) -> Instant | None:
        """The first opening on a date."""
        found = self._on(day)
        return found.opening if found else None

    def closing(self, day: date) -> Instant | None:
        """The end of the last period that opens on a date, perhaps on the next date."""
        found = self._on(day)
        return found.closing if found else None

    def arriving(self, day: date) -> Instant | None:
        """When the staff comes: some time before the opening."""
        opening = self.opening(day)
        return None if opening is None else opening - self.staff_before_seconds

    def leaving(self, day: date) -> Instant | None:
        """When the staff goes: some time after the closing."""
        closing = self.closing(day)
        return None if closing is None else closing + self.staff_after_seconds

    def next_opening(self, after: Instant) -> Instant | None:
        """The next first opening of a date, later than `after`; None if none is known."""
        index = bisect_right(self.openings, after)
        return self.openings[index] if index < len(self.openings) else None

    def next_arriving(self, after: Instant) -> Instant | None:
        """The next arriving of the staff, later than `after`; None if none is known."""
        opening = self.next_opening(after + self.staff_before_seconds)
        return None if opening is None else opening - self.staff_before_seconds

    def periods(self, day: date) -> tuple[OpenPeriod, ...]:
        """The opening periods of a date as written, in order."""
        found = self._on(day)
        return found.periods if found else ()

    @property
    def all_periods(self) -> tuple[OpenPeriod, ...]:
        return tuple(period for day in self.days for period in day.periods)

    def line_of(self, day: date) -> int | None:
        """Index of the hours line that decided a date; None if no line names it."""
        found = self._on(day)
        return found.line if found else None

    def _on(self, day: date) -> OpenDay | None:
        index = (day - self.days[0].day).days if self.days else -1
        return self.days[index] if 0 <= index < len(self.days) else None


def opening_hours(
    hours: Hours, zone: Zone, days: Sequence[date], holidays: HolidayList | None
) -> OpeningHours:
    """The hours of every date from the first through the last of `days`.

    A closing not later than the opening on the clock is on the next date. A reading that the
    spring change skips is the jump, a repeated one its first pass; a period that the jump
    swallows is left out.
    """
    if not days:
        return _of_row(hours, zone, (), holidays)
    return _of_dates(hours, zone, days[0], days[-1], holidays)


@lru_cache(maxsize=8)
def _of_dates(
    hours: Hours, zone: Zone, first: date, last: date, holidays: HolidayList | None
) -> OpeningHours:
    """Many sites of a run have the same hours; nothing in these tells the place of a line."""
    # The dates beside the row tell whether its ends are openings and closings at all.
    return _of_row(hours, zone, days_between(first - ONE_DAY, last + ONE_DAY), holidays)


def _of_row(
    hours: Hours, zone: Zone, row: tuple[date, ...], holidays: HolidayList | None
) -> OpeningHours:
    lines = _lines(hours, row, holidays)
    periods = {day: _periods(hours, lines.get(day), zone, day) for day in row}
    runs = _runs(p for found in periods.values() for p in found)
    openings, closings = _openings(runs), _closings(runs, periods)
    inside = tuple(
        OpenDay(day, lines.get(day), periods[day], openings.get(day), closings.get(day))
        for day in row[1:-1]
    )
    return OpeningHours(
        days=inside,
        openings=tuple(d.opening for d in inside if d.opening is not None),
        staff_before_seconds=hours.staff_before_minutes * MINUTE,
        staff_after_seconds=hours.staff_after_minutes * MINUTE,
        never_closes=bool(inside) and _is_one_run(runs, zone, inside),
    )


def hours_problems(
    hours: Hours,
    days: Sequence[date],
    holidays: HolidayList | None,
    zone_name: str = "",
) -> tuple[Diagnostic, ...]:
    """What is wrong with the lines of `[hours]`, and which of `days` no line names."""
    found: list[Diagnostic] = []
    for line in hours.lines:
        found += date_problems(line.dates, holidays, zone_name)
        if line.dates.half is not None:
            found.append(HALF_NOT_HERE.at(line.at, found=line.dates.half.value, rest=""))
    named = _lines(hours, tuple(days), holidays)
    unnamed = [day for day in days if day not in named]
    if unnamed and not found:
        first, last = (messages.date_text(d) for d in (unnamed[0], unnamed[-1]))
        at = hours.lines[0].at if hours.lines else None
        count = counted(len(unnamed), "date")
        found.append(messages.DATES_WITHOUT_HOURS.at(at, count=count, first=first, last=last))
    return tuple(found)


_Run = tuple[OpenPeriod, ...]
"""Periods that touch or overlap: the business is open from the first start to the last end."""


def _lines(hours: Hours, days: tuple[date, ...], holidays: HolidayList | None) -> dict[date, int]:
    """For each date the index of the last line that names it."""
    found: dict[date, int] = {}
    for index, line in enumerate(hours.lines):
        found |= dict.fromkeys(dates_of(line.dates.dates, days, holidays), index)
    return found


def _periods(hours: Hours, line: int | None, zone: Zone, day: date) -> tuple[OpenPeriod, ...]:
    value = hours.lines[line].value if line is not None else None
    if not isinstance(value, OpenHours):
        return ()
    found = []
    for opens, closes in value.periods:
        closing_day = day if closes.minutes > opens.minutes else day + ONE_DAY
        start = zone.first_pass(day, opens.minutes * MINUTE)
        end = zone.first_pass(closing_day, closes.minutes * MINUTE)
        if end > start:
            found.append(OpenPeriod(day, start, end))
    return tuple(sorted(found, key=_start))


def _start(period: OpenPeriod) -> tuple[Instant, Instant]:
    return period.start, period.end


def _runs(periods: Iterable[OpenPeriod]) -> list[_Run]:
    runs: list[list[OpenPeriod]] = []
    end = 0
    for period in sorted(periods, key=_start):
        if runs and period.start <= end:
            runs[-1].append(period)
            end = max(end, period.end)
        else:
            runs.append([period])
            end = period.end
    return [tuple(run) for run in runs]


def _openings(runs: Sequence[_Run]) -> dict[date, Instant]:
    """A date opens where the first run that starts on it starts."""
    openings: dict[date, Instant] = {}
    for run in runs:
        openings.setdefault(run[0].day, run[0].start)
    return openings


def _closings(
    runs: Sequence[_Run], periods: Mapping[date, tuple[OpenPeriod, ...]]
) -> dict[date, Instant]:
    """The end of a run closes the last of the dates whose last period lies in it."""
    closings: dict[date, Instant] = {}
    for run in runs:
        closing_days = [p.day for p in run if p is periods[p.day][-1]]
        if closing_days:
            closings[max(closing_days)] = max(p.end for p in run)
    return closings


def _is_one_run(runs: Sequence[_Run], zone: Zone, inside: Sequence[OpenDay]) -> bool:
    start = zone.first_pass(inside[0].day, 0)
    end = zone.first_pass(inside[-1].day + ONE_DAY, 0)
    return any(run[0].start <= start and max(p.end for p in run) >= end for run in runs)
