"""The dates a phrase names among some, and what is wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.country_choice import country_of
from schedcomp.date_rules import Days, days_between, named_dates, parts_of, rule_troubles
from schedcomp.diag import Diagnostic
from schedcomp.holiday_list import HolidayList, names_for_people
from schedcomp.messages import calendar as messages
from schedcomp.phrases.tree import (
    AnyOf,
    Dates,
    DatesPhrase,
    Easter,
    Except,
    HolidayNamed,
    Holidays,
    MonthDay,
    Neighbour,
    NthWeekday,
    SingleDate,
)


def dates_of(dates: Dates, days: Sequence[date], holidays: HolidayList | None) -> frozenset[date]:
    """Those of `days` that the phrase names; holidays name none without a list.

    `days` are in order; gaps between them do not matter. What cannot be read names no date, and
    `date_problems` reports it.
    """
    if not days:
        return frozenset()
    return _named(dates, days_between(days[0], days[-1]), holidays).intersection(days)


def names_single_dates(dates: Dates) -> bool:
    """Whether a phrase names single dates, holidays or their neighbours, not a run of dates."""
    if isinstance(dates, AnyOf):
        return all(names_single_dates(member) for member in dates.members)
    if isinstance(dates, Neighbour):
        return names_single_dates(dates.of)
    if isinstance(dates, Except):
        return names_single_dates(dates.base)
    single = SingleDate | MonthDay | NthWeekday | Holidays | HolidayNamed | Easter
    return isinstance(dates, single)


def never(dates: Dates, days: Sequence[date], holidays: HolidayList | None) -> bool:
    """Whether a phrase names none of `days`: a past date, a fifth Monday, Feb 29 this year."""
    return not dates_of(dates, days, holidays)


def date_problems(
    phrase: DatesPhrase, holidays: HolidayList | None, zone_name: str = ""
) -> tuple[Diagnostic, ...]:
    """What is wrong with a dates phrase against the holiday list of its site in a zone.

    Nothing is said about holidays where the list itself could not be made.
    """
    found = list(rule_troubles(phrase.dates))
    for part in parts_of(phrase.dates):
        if isinstance(part, Holidays | HolidayNamed) and (holidays is None or not holidays.given):
            at = part.at if isinstance(part, HolidayNamed) else phrase.at
            found.append(
                messages.NO_HOLIDAY_LIST.at(at or phrase.at, country=country_of(zone_name))
            )
        elif isinstance(part, HolidayNamed) and holidays is not None and holidays.complete:
            found += _holiday_problems(part, phrase, holidays)
    return tuple(found)


def _holiday_problems(
    part: HolidayNamed, phrase: DatesPhrase, holidays: HolidayList
) -> list[Diagnostic]:
    at = part.at or phrase.at
    if holidays.knows(part.name):
        if part.observed and holidays.observed is False:
            return [messages.NO_OBSERVED_DATES.at(at, name=part.name)]
        return []
    removed = holidays.left_out_dates(part.name)
    if removed:
        example = ", ".join(day.isoformat() for day in removed)
        return [messages.LEFT_OUT_HOLIDAY.at(at, name=part.name, example=example)]
    names = names_for_people(part.name, holidays.names)
    return [messages.UNKNOWN_HOLIDAY.at(at, name=part.name, names=names)]


def holiday_dates(part: Holidays | HolidayNamed, holidays: HolidayList | None) -> frozenset[date]:
    """The dates of a list that a part of a phrase names, in any year; none without a list."""
    if holidays is None:
        return frozenset()
    if isinstance(part, Holidays):
        return holidays.dates
    return frozenset(h.day for h in holidays.named(part.name, part.observed))


def _named(dates: Dates, days: Days, holidays: HolidayList | None) -> frozenset[date]:
    return named_dates(dates, days, lambda part: holiday_dates(part, holidays))
