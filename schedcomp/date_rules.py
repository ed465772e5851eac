"""Which dates a dates phrase names; holidays are asked from whoever knows the list."""

from __future__ import annotations

from calendar import isleap, monthrange
from collections.abc import Callable, Iterator
from datetime import date, timedelta

from dateutil.easter import easter

from schedcomp.diag import Diagnostic
from schedcomp.messages import calendar as messages
from schedcomp.model import FIRST_YEAR, ONE_DAY
from schedcomp.phrases.tree import (
    AnyOf,
    DatedRange,
    Dates,
    Easter,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    MonthDay,
    Neighbour,
    NthWeekday,
    Recurrence,
    SingleDate,
    Weekdays,
    WeekdaysIn,
    YearlyRange,
)
from schedcomp.recurrence import occurrences, read_rule, start_needed_by

# Starts a rule that says none. It does not depend on the dates asked for, so that every stage
# finds the same dates; rules for which it would matter are refused without a start.
_EARLIEST_START = date(FIRST_YEAR - 1, 1, 1)

Lookup = Callable[[Holidays | HolidayNamed], frozenset[date]]
"""The dates of a holiday list that a part of a phrase names, in any year."""

Days = tuple[date, ...]
"""Dates in a row without a gap."""


def days_between(first: date, last: date) -> Days:
    """Every date from `first` through `last`."""
    return tuple(map(date.fromordinal, range(first.toordinal(), last.toordinal() + 1)))


def named_dates(dates: Dates, days: Days, lookup: Lookup) -> frozenset[date]:
    """The dates among `days`, which follow one another without a gap, that the phrase names.

    A rule that cannot be read names none; `rule_troubles` says what is wrong with it.
    """
    if not days:
        return frozenset()
    match dates:
        case Holidays() | HolidayNamed():
            return lookup(dates).intersection(days)
        case Neighbour():
            wider = (days[0] - ONE_DAY, *days, days[-1] + ONE_DAY)
            near = named_dates(dates.of, wider, lookup)
            return frozenset(d + timedelta(days=dates.days) for d in near).intersection(days)
        case WeekdaysIn():
            within = named_dates(dates.within, days, lookup)
            return frozenset(d for d in within if d.weekday() in dates.weekdays.days)
        case AnyOf():
            return frozenset().union(*(named_dates(m, days, lookup) for m in dates.members))
        case Except():
            removed = named_dates(dates.removed, days, lookup)
            return named_dates(dates.base, days, lookup) - removed
        case _:
            return frozenset(_plain(dates, days))


def parts_of(dates: Dates) -> Iterator[Dates]:
    """The phrase and every phrase inside it."""
    yield dates
    match dates:
        case Neighbour():
            inside: tuple[Dates, ...] = (dates.of,)
        case WeekdaysIn():
            inside = (dates.within,)
        case AnyOf():
            inside = dates.members
        case Except():
            inside = (dates.base, dates.removed)
        case _:
            inside = ()
    for part in inside:
        yield from parts_of(part)


def rule_troubles(dates: Dates) -> tuple[Diagnostic, ...]:
    """What is wrong or doubtful with the rrules of a phrase."""
    rules = (part for part in parts_of(dates) if isinstance(part, Recurrence))
    return tuple(trouble for part in rules for trouble in _troubles(part))


def _troubles(part: Recurrence) -> tuple[Diagnostic, ...]:
    rule, troubles = read_rule(part.rule, part.at)
    needs = start_needed_by(rule) if rule is not None and part.starting is None else None
    if needs is None:
        return troubles
    return (*troubles, messages.RULE_NEEDS_START.at(part.at, part=needs, rule=part.rule.strip()))


def _plain(dates: Dates, days: Days) -> Iterator[date]:
    match dates:
        case EveryDay():
            yield from days
        case Weekdays():
            yield from (d for d in days if d.weekday() in dates.days)
        case SingleDate():
            yield from _between(dates.day, dates.day, days)
        case MonthDay():
            for year in _years(days):
                if dates.day <= monthrange(year, dates.month)[1]:
                    day = date(year, dates.month, dates.day)
                    yield from _between(day, day, days)
        case YearlyRange():
            yield from _yearly_range(dates, days)
        case DatedRange():
            yield from _between(dates.first, dates.last, days)
        case NthWeekday():
            for year in _years(days):
                if (nth := _nth_weekday(dates, year)) is not None:
                    yield from _between(nth, nth, days)
        case Easter():
            yield from _easters(dates, days)
        case Recurrence():
            yield from _recurring(dates, days)
        case _:
            raise AssertionError(f"no rule for {dates!r}")


def _years(days: Days) -> range:
    return range(days[0].year, days[-1].year + 1)


def _between(first: date, last: date, days: Days) -> Days:
    """The part of `days` from `first` through `last`."""
    return days[max(0, (first - days[0]).days) : max(0, (last - days[0]).days + 1)]


def _yearly_range(dates: YearlyRange, days: Days) -> Iterator[date]:
    """In a common year Feb 29 as an end is Feb 28, as a start Mar 1."""
    first, last = dates.first, dates.last
    wraps = (last.month, last.day) < (first.month, first.day)
    for year in range(days[0].year - wraps, days[-1].year + 1):
        start = _in_year(first, year, leap_day_is=date(year, 3, 1))
        end_year = year + wraps
        end = _in_year(last, end_year, leap_day_is=date(end_year, 2, 28))
        yield from _between(start, end, days)


def _in_year(month_day: MonthDay, year: int, leap_day_is: date) -> date:
    if (month_day.month, month_day.day) == (2, 29) and not isleap(year):
        return leap_day_is
    return date(year, month_day.month, month_day.day)


def _nth_weekday(dates: NthWeekday, year: int) -> date | None:
    """The date in a year, None where the month has no fifth one."""
    length = monthrange(year, dates.month)[1]
    if dates.nth < 0:
        last = date(year, dates.month, length)
        return last - timedelta(days=(last.weekday() - dates.weekday) % 7)
    first_weekday = date(year, dates.month, 1).weekday()
    day = 1 + (dates.weekday - first_weekday) % 7 + 7 * (dates.nth - 1)
    return date(year, dates.month, day) if day <= length else None


def _easters(dates: Easter, days: Days) -> Iterator[date]:
    offset = timedelta(days=dates.offset_days)
    for year in range((days[0] - offset).year, (days[-1] - offset).year + 1):
        day = easter(year) + offset
        yield from _between(day, day, days)


def _recurring(dates: Recurrence, days: Days) -> Iterator[date]:
    rule, _ = read_rule(dates.rule, dates.at)
    if rule is not None:
        yield from occurrences(rule, dates.starting or _EARLIEST_START, days[0], days[-1])
