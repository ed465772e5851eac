"""Dates in digits: `2027-12-24` is one; every other form is refused with what it could mean."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterator
from datetime import date

from schedcomp.messages import wanted, writing_dates
from schedcomp.model import FIRST_YEAR, LAST_YEAR, MONTHS
from schedcomp.phrases.names import MONTH_NAMES, longest_month
from schedcomp.phrases.tokens import Cursor, Refused, Token

_ISO = re.compile(r"([0-9]{4})-([0-9]{2})-([0-9]{2})")
_YEAR_FIRST = re.compile(r"([0-9]{4}|[0-9]{2})[-/.]([0-9]{1,2})[-/.]([0-9]{1,2})")
_YEAR_LAST = re.compile(r"([0-9]{1,2})[-/.]([0-9]{1,2})[-/.]([0-9]{4}|[0-9]{2})")
_NO_YEAR = re.compile(r"([0-9]{1,2})[/.]([0-9]{1,2})")


def starts_full_date(cursor: Cursor, ahead: int = 0) -> bool:
    """Whether a date with its year comes next, in order year, month, day."""
    return cursor.check_number(ahead) and _ISO.fullmatch(cursor.ahead(ahead).text) is not None


def full_date(cursor: Cursor) -> date:
    """full date = YEAR "-" MONTH "-" DAY"""
    if not cursor.check_number():
        raise cursor.missing(wanted.FULL_DATE)
    first = cursor.take()
    match = _ISO.fullmatch(first.text)
    if match is None:
        raise other_form(cursor, first, wanted.FULL_DATE_EXAMPLE)
    year, month, day = (int(digits) for digits in match.groups())
    if not FIRST_YEAR <= year <= LAST_YEAR:
        raise cursor.refused(writing_dates.YEAR_OUTSIDE, first, first=FIRST_YEAR, last=LAST_YEAR)
    if not 1 <= month <= 12:
        raise other_form(cursor, first, wanted.FULL_DATE_EXAMPLE)
    days = monthrange(year, month)[1]
    if not 1 <= day <= days:
        name = f"{MONTH_NAMES[month - 1].title()} {year}"
        last = date(year, month, days).isoformat()
        raise cursor.refused(writing_dates.NO_SUCH_DATE, first, month=name, days=days, last=last)
    return date(year, month, day)


def other_form(cursor: Cursor, first: Token, example: str) -> Refused:
    """What to say of digits that are no date as written here, with the dates they could mean."""
    readings = list(dict.fromkeys(_readings(first.text)))
    if not readings:
        return cursor.refused(writing_dates.NOT_A_DATE, first, example=example)
    typed = "\n".join(text for text, _ in readings)
    if len(readings) == 1:
        return cursor.refused(
            writing_dates.OTHER_DATE_FORM, first, words=readings[0][1], typed=typed
        )
    words = wanted.either([words for _, words in readings])
    return cursor.refused(writing_dates.DATE_READINGS, first, words=words, typed=typed)


def _readings(text: str) -> Iterator[tuple[str, str]]:
    """What to type for each date the digits could mean, and the date in words."""
    if match := _YEAR_FIRST.fullmatch(text):
        yield from _in_year(match[1], match[2], match[3])
    if match := _YEAR_LAST.fullmatch(text):
        yield from _in_year(match[3], match[2], match[1])
        yield from _in_year(match[3], match[1], match[2])
    if match := _NO_YEAR.fullmatch(text):
        yield from _every_year(match[2], match[1])
        yield from _every_year(match[1], match[2])


def _in_year(year_digits: str, month_digits: str, day_digits: str) -> Iterator[tuple[str, str]]:
    year = int(year_digits) + (2000 if len(year_digits) == 2 else 0)
    month, day = int(month_digits), int(day_digits)
    known = FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12
    if known and 1 <= day <= monthrange(year, month)[1]:
        yield date(year, month, day).isoformat(), f"{day} {MONTH_NAMES[month - 1].title()} {year}"


def _every_year(month_digits: str, day_digits: str) -> Iterator[tuple[str, str]]:
    month, day = int(month_digits), int(day_digits)
    if 1 <= month <= 12 and 1 <= day <= longest_month(month):
        yield f"{MONTHS[month - 1]} {day}", f"{day} {MONTH_NAMES[month - 1].title()}"
