"""Which dates a dates phrase names, as a column over a row of dates."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.clock import day_number, day_of_number
from schedcomp.date_rules import days_between, named_dates
from schedcomp.days import holiday_dates
from schedcomp.holiday_list import HolidayList
from schedcomp.phrases.tree import (
    AnyOf,
    Dates,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    Neighbour,
    WeekdaysIn,
)

Bools: TypeAlias = npt.NDArray[np.bool_]


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
