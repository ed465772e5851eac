"""Dates and ranges of dates: `dec 24`, `2027-12-24`, `jun to aug`, `nov 20 to jan 6`."""

from __future__ import annotations

import re
from datetime import date

from schedcomp.messages import wanted, writing_dates
from schedcomp.model import FIRST_YEAR, LAST_YEAR, MONTHS
from schedcomp.phrases.names import MONTH_NAMES, MONTH_NUMBERS, longest_month
from schedcomp.phrases.numeric_dates import full_date, other_form, starts_full_date
from schedcomp.phrases.printer import print_dates
from schedcomp.phrases.tokens import Cursor, Refused, Token, TokenKind
from schedcomp.phrases.tree import DatedRange, MonthDay, SingleDate, YearlyRange
from schedcomp.records import Record

INSTEAD_OF_TO = ("through", "thru", "until", "till", "til")
_ORDINAL_ENDINGS = ("st", "nd", "rd", "th")
_FEWEST_YEAR_DIGITS = 4


class _Month(Record):
    number: int


Range = YearlyRange | DatedRange
_End = SingleDate | MonthDay | _Month


def starts_date(cursor: Cursor) -> bool:
    """Whether what comes next can only be meant as a date or a month."""
    return cursor.check_number() or cursor.check_word(*MONTH_NUMBERS)


def date_or_range(cursor: Cursor) -> SingleDate | MonthDay | Range:
    """date or range = end ["to" end]

    A month alone means the whole of it.
    """
    first = cursor.token
    start = _end(cursor)
    if cursor.check_sign("-") or cursor.check_word(*INSTEAD_OF_TO):
        raise cursor.instead(wanted.TO_INSTEAD)
    if not cursor.take_word("to"):
        return _yearly(start, start) if isinstance(start, _Month) else start
    if not starts_date(cursor):
        raise cursor.missing(wanted.RANGE_END, tuple(MONTH_NUMBERS))
    last = _end(cursor)
    if isinstance(start, SingleDate) and isinstance(last, SingleDate):
        return _dated(cursor, first, start.day, last.day)
    if isinstance(start, SingleDate) or isinstance(last, SingleDate):
        raise cursor.refused(writing_dates.YEAR_AT_ONE_END, first)
    return _yearly(start, last)


def range_only(cursor: Cursor) -> Range:
    """What stands after `in`: a range or a month."""
    first = cursor.token
    if not starts_date(cursor):
        raise cursor.missing(wanted.RANGE, tuple(MONTH_NUMBERS))
    found = date_or_range(cursor)
    if isinstance(found, SingleDate | MonthDay):
        raise cursor.refused(writing_dates.IN_USE, first)
    return found


def month(cursor: Cursor) -> int:
    """month = "jan" | "january" | ... | "dec" | "december" """
    number = MONTH_NUMBERS.get(cursor.token.text)
    if number is None:
        raise cursor.missing(wanted.MONTH, tuple(MONTH_NUMBERS))
    cursor.take()
    return number


def _dated(cursor: Cursor, first: Token, start: date, last: date) -> DatedRange:
    if last < start:
        swapped = print_dates(DatedRange(last, start))
        raise cursor.refused(writing_dates.RANGE_BACKWARDS, first, swapped=swapped)
    return DatedRange(start, last)


def _yearly(start: MonthDay | _Month, last: MonthDay | _Month) -> YearlyRange:
    first_day = MonthDay(start.number, 1) if isinstance(start, _Month) else start
    last_day = (
        MonthDay(last.number, longest_month(last.number)) if isinstance(last, _Month) else last
    )
    return YearlyRange(first_day, last_day)


def _end(cursor: Cursor) -> _End:
    """end = full date | MONTH DAY | DAY MONTH | MONTH"""
    if starts_full_date(cursor):
        return SingleDate(full_date(cursor))
    first = cursor.token
    if cursor.check_number():
        return _day_month(cursor, first)
    number = month(cursor)
    day = cursor.token
    if not _is_day(day):
        _no_year(cursor, first, number, None)
        return _Month(number)
    cursor.take()
    return _month_day(cursor, first, number, day)


def _day_month(cursor: Cursor, first: Token) -> MonthDay:
    day = cursor.take()
    if not _is_day(day):
        raise _other_number(cursor, day)
    if cursor.take_word(*_ORDINAL_ENDINGS):
        cursor.take_word("of")
        number = MONTH_NUMBERS.get(cursor.token.text, 12)
        cursor.take_word(*MONTH_NUMBERS)
        raise _ordinal(cursor, first, number, day)
    if cursor.check_word("day", "days", "week", "weeks"):
        cursor.take()
        raise cursor.refused(writing_dates.COUNT_OF_DAYS, first)
    if not cursor.check_word(*MONTH_NUMBERS):
        if cursor.token.kind is TokenKind.WORD:
            raise cursor.missing(wanted.MONTH, tuple(MONTH_NUMBERS))
        raise cursor.refused(writing_dates.DAY_WITHOUT_MONTH, first, day=int(day.text))
    return _month_day(cursor, first, month(cursor), day)


def _month_day(cursor: Cursor, first: Token, number: int, day: Token) -> MonthDay:
    if cursor.take_word(*_ORDINAL_ENDINGS):
        raise _ordinal(cursor, first, number, day)
    _no_year(cursor, first, number, int(day.text))
    days = longest_month(number)
    if not 1 <= int(day.text) <= days:
        name = MONTH_NAMES[number - 1].title()
        last = f"{MONTHS[number - 1]} {days}"
        raise cursor.refused(writing_dates.NO_SUCH_DATE, first, month=name, days=days, last=last)
    return MonthDay(number, int(day.text))


def _ordinal(cursor: Cursor, first: Token, number: int, day: Token) -> Refused:
    """What to say of `24th dec`."""
    typed = f"{MONTHS[number - 1]} {int(day.text)}"
    words = f"{int(day.text)} {MONTH_NAMES[number - 1].title()}"
    return cursor.refused(writing_dates.OTHER_DATE_FORM, first, words=words, typed=typed)


def _no_year(cursor: Cursor, first: Token, number: int, day: int | None) -> None:
    """Refuse a year after the day or month, with or without a comma, and show the full date."""
    comma = 1 if cursor.check_sign(",") and day is not None else 0
    token = cursor.ahead(comma)
    if not _is_year(token) or cursor.ahead(comma + 1).text in ("am", "pm"):
        return
    year = int(token.text)
    for _ in range(comma + 1):
        cursor.take()
    start = f"{year:04d}-{number:02d}-{day or 1:02d}"
    last = f"{year:04d}-{number:02d}-{longest_month(number) - (number == 2):02d}"
    written = f"{start} to {last}" if day is None else start
    raise cursor.refused(writing_dates.YEAR_WITHOUT_DATE, first, written=written)


def _is_day(token: Token) -> bool:
    return token.kind is TokenKind.NUMBER and re.fullmatch(r"[0-9]{1,2}", token.text) is not None


def _is_year(token: Token) -> bool:
    return (
        token.kind is TokenKind.NUMBER
        and len(token.text) == _FEWEST_YEAR_DIGITS
        and token.text.isdecimal()
        and FIRST_YEAR <= int(token.text) <= LAST_YEAR
    )


def _other_number(cursor: Cursor, first: Token) -> Refused:
    if _is_year(first):
        year = first.text
        if cursor.check_sign("-") and cursor.check_number(1):
            cursor.take()
            cursor.take()
            return cursor.refused(writing_dates.NOT_A_DATE, first, example=f"{year}-12-24")
        written = f"{year}-01-01 to {year}-12-31"
        return cursor.refused(writing_dates.YEAR_WITHOUT_DATE, first, written=written)
    return other_form(cursor, first, wanted.DATE_EXAMPLE)
