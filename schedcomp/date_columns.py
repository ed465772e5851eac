"""What each date of a row is: whether a phrase names it, and the calendar line that decides it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import lru_cache
from itertools import chain, repeat
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.clock import day_number, day_of_number
from schedcomp.date_rules import days_between, named_dates
from schedcomp.days import holiday_dates
from schedcomp.holiday_list import HolidayList
from schedcomp.model import Half, Period
from schedcomp.phrases.tree import (
    AnyOf,
    CalendarLine,
    Dates,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    Neighbour,
    WeekdaysIn,
)
from schedcomp.year import Decided

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]


def decide(
    lines: Sequence[CalendarLine], period: Period, holidays: HolidayList | None
) -> tuple[Decided, ...]:
    """For each half of each date the index of the last line that names it, in order."""
    days = period.dates()
    return as_decided(
        days,
        [
            deciding_lines(lines, half, day_number(period.first), len(days), holidays)
            for half in Half
        ],
    )


def as_decided(days: Sequence[date], lines_of_halves: Sequence[Ints]) -> tuple[Decided, ...]:
    """Columns of `deciding_lines` for both halves of some dates, one by one."""
    halves = (
        map(Decided, days, repeat(half), (None if n < 0 else n for n in lines.tolist()))
        for half, lines in zip(Half, lines_of_halves, strict=True)
    )
    return tuple(chain.from_iterable(zip(*halves, strict=True)))


def deciding_lines(
    lines: Sequence[CalendarLine],
    half: Half,
    first_day: int,
    count: int,
    holidays: HolidayList | None,
) -> Ints:
    """The index of the last line that names this half of each date, -1 where none does."""
    deciding = np.full(count, -1)
    for number, line in enumerate(lines):
        if line.dates.half in (None, half):
            deciding[named_column(line.dates.dates, first_day, count, holidays)] = number
    return deciding


def named_column(dates: Dates, first_day: int, count: int, holidays: HolidayList | None) -> Bools:
    """Whether the phrase names each of `count` dates from `first_day` on (days since 1970-01-01).

    As `days.dates_of`; the column may be shared and must not be changed.
    """
    match dates:
        case Holidays() | HolidayNamed():
            return _column(holiday_dates(dates, holidays), first_day, count)
        case Neighbour():
            return named_column(dates.of, first_day - dates.days, count, holidays)
        case WeekdaysIn():
            within = named_column(dates.within, first_day, count, holidays)
            return within & _plain(dates.weekdays, first_day, count)
        case AnyOf():
            members = (named_column(m, first_day, count, holidays) for m in dates.members)
            named: Bools = np.logical_or.reduce(list(members))
            return named
        case Except():
            removed = named_column(dates.removed, first_day, count, holidays)
            return named_column(dates.base, first_day, count, holidays) & ~removed
        case EveryDay():
            return np.ones(count, np.bool_)
        case _:
            return _plain(dates, first_day, count)


@lru_cache(maxsize=256)
def _plain(dates: Dates, first_day: int, count: int) -> Bools:
    row = days_between(day_of_number(first_day), day_of_number(first_day + count - 1))
    named = _column(named_dates(dates, row, lambda _: frozenset()), first_day, count)
    named.flags.writeable = False
    return named


def _column(named: frozenset[date], first_day: int, count: int) -> Bools:
    places = np.array([day_number(day) for day in named], np.int64) - first_day
    column = np.zeros(count, np.bool_)
    column[places[(places >= 0) & (places < count)]] = True
    return column
