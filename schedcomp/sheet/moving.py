"""Special days that stand for dates of one year: next year the same line names other dates."""

from __future__ import annotations

from datetime import date

from schedcomp.compiled import Compiled
from schedcomp.dated import covers
from schedcomp.days import dates_of, names_single_dates
from schedcomp.model import ONE_DAY
from schedcomp.phrases.tree import Dates
from schedcomp.program import SpecialDays


def year_of_moving(compiled: Compiled, days: SpecialDays) -> int | None:
    """The one year for which dates stored without a year are right, None where they stay.

    They move if the line for single dates that decides one of them does not name the same day of
    the next year. A date that no such line decides goes with the evening before.
    """
    covered = [day for day in compiled.year.period.dates() if covers(days.dates, day)]
    if days.dates.years is not None or len({day.year for day in covered}) != 1:
        return None
    if any(_moves(compiled, days.channels, day) for day in covered):
        return covered[0].year
    return None


def _moves(compiled: Compiled, channels: tuple[int, ...], day: date) -> bool:
    for decided in (day, day - ONE_DAY):
        phrases = _deciding(compiled, channels, decided)
        if phrases:
            return not all(_names_a_year_later(compiled, phrase, decided) for phrase in phrases)
    return False


def _deciding(compiled: Compiled, channels: tuple[int, ...], day: date) -> list[Dates]:
    """Phrases for single dates that decide a date: of the calendars, else of the opening hours."""
    found: list[Dates] = []
    for circuit, circuit_year in zip(compiled.site.circuits, compiled.year.circuits, strict=True):
        if circuit.channel in channels:
            lines = {half.line for half in circuit_year.decided if half.day == day}
            found += [circuit.calendar[line].dates.dates for line in lines if line is not None]
    found = [phrase for phrase in found if names_single_dates(phrase)]
    if found or compiled.site.hours is None:
        return found
    hours = [line.dates.dates for line in compiled.site.hours.lines]
    naming = [phrase for phrase in hours if dates_of(phrase, [day], compiled.world.holidays)]
    return [phrase for phrase in naming[-1:] if names_single_dates(phrase)]


def _names_a_year_later(compiled: Compiled, phrase: Dates, day: date) -> bool:
    """The holiday list reaches a year beyond the period. 29 February has no day to compare."""
    try:
        later = day.replace(year=day.year + 1)
    except ValueError:
        return True
    return bool(dates_of(phrase, [later], compiled.world.holidays))
