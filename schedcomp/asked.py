"""What was typed after a command: dates, periods, moments and counts, as values or findings."""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import date, timedelta

from schedcomp.diag import Diagnostic, PhraseText, Source, SourceRange
from schedcomp.messages import commands as messages
from schedcomp.messages import renewing
from schedcomp.model import FIRST_YEAR, LAST_YEAR, Period
from schedcomp.phrases import parse_moment
from schedcomp.phrases.tree import Clock
from schedcomp.records import Record

LONGEST_PERIOD_DAYS = 3660
MOST_YEARS = 10
MOST_NIGHTS = 366
RENEWAL_MONTH = 10
"""From this month on, a program for the running year would hardly be worth keying in."""

_MONTH_NAMES = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)

_YEARS = re.compile(r"([0-9]{4}) ?[-\u2013] ?([0-9]{4})")
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_YEAR_FIRST = re.compile(r"(\d{4})[-/. ](\d{1,2})[-/. ](\d{1,2})")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/. ](\d{1,2})(?:[-/. ](\d{2}|\d{4}))?")
_ANY_CLOCK = re.compile(r"(?i)\d{1,2}:\d{2}.*|\d{1,2} ?[ap]m")


class AskedMoment(Record):
    """A reading of the local clock: a date and minutes after 00:00, 0 to 1439."""

    day: date
    minutes: int

    @property
    def reading(self) -> str:
        return f"{self.minutes // 60:02d}:{self.minutes % 60:02d}"


Findings = tuple[Diagnostic, ...]


def default_period(today: date) -> Period:
    """The calendar year a program is wanted for when none is named.

    From October on it is the next year.
    """
    year = today.year + (today.month >= RENEWAL_MONTH)
    return calendar_year(min(max(year, FIRST_YEAR), LAST_YEAR))


def calendar_year(year: int) -> Period:
    return Period(date(year, 1, 1), date(year, 12, 31))


def read_period(
    year: str | None,
    first: str | None,
    through: str | None,
    today: date,
    years: str | None = None,
) -> tuple[Period | None, Findings]:
    """The period of `--year` or `--years`, or of `--from` and `--through`, or the usual one."""
    dates_given = first is not None or through is not None
    if years is not None:
        if year is not None or dates_given:
            return None, (renewing.YEARS_AND_MORE.at(None),)
        return read_years(years, today)
    if year is not None and dates_given:
        return None, (messages.YEAR_AND_DATES.at(None),)
    if year is not None:
        return _read_year(year, today)
    if first is None and through is None:
        return default_period(today), ()
    if first is None or through is None:
        return None, (_half_a_period(first, through, today),)
    begin, begin_findings = read_date(first, "--from ", today)
    end, end_findings = read_date(through, "--through ", today)
    if begin is None or end is None:
        return None, (*begin_findings, *end_findings)
    return checked_period(Period(begin, end))


def read_years(text: str, today: date) -> tuple[Period | None, Findings]:
    """Whole calendar years such as `2027-2031`, or a single one."""
    start = default_period(today).first.year
    example = f"{start}-{min(start + 4, LAST_YEAR)}"
    written = _YEARS.fullmatch(text.strip()) or re.fullmatch(r"(([0-9]{4}))", text.strip())
    if written is None:
        return None, (renewing.BAD_YEARS.at(None, found=text or "Nothing", example=example),)
    first, last = int(written[1]), int(written[2])
    if not FIRST_YEAR <= first <= last <= LAST_YEAR:
        if FIRST_YEAR <= last < first <= LAST_YEAR:
            example = f"{last}-{first}"
        return None, (renewing.BAD_YEARS.at(None, found=text, example=example),)
    if last - first >= MOST_YEARS:
        return None, (
            renewing.TOO_MANY_YEARS.at(
                None,
                count=last - first + 1,
                most=MOST_YEARS,
                example=f"{first}-{first + MOST_YEARS - 1}",
            ),
        )
    return Period(date(first, 1, 1), date(last, 12, 31)), ()


def period_name(period: Period) -> str:
    """`2027`, `2027-2031`, or `2026-12-01-to-2027-12-31`: a part of a folder's name."""
    first, last = period.first, period.last
    if (first.month, first.day, last.month, last.day) != (1, 1, 12, 31):
        return f"{first}-to-{last}"
    return str(first.year) if first.year == last.year else f"{first.year}-{last.year}"


def read_date(text: str, option: str, today: date) -> tuple[date | None, Findings]:
    """A date written as year-month-day; `option` stands before it in what to type instead."""
    written = _ISO.fullmatch(text.strip())
    if written is None:
        return None, (_not_iso(text.strip(), option, today),)
    year, month, day = (int(part) for part in written.groups())
    if not 1 <= month <= 12 or day < 1:
        return None, (messages.BAD_DATE.at(None, found=text, option=option),)
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None, (
            messages.YEARS_NOT_COVERED.at(
                None, found=text, first=FIRST_YEAR, last=LAST_YEAR, option=option
            ),
        )
    days = monthrange(year, month)[1]
    if day > days:
        return None, (
            messages.NO_SUCH_DATE.at(
                None,
                found=text,
                month=_MONTH_NAMES[month - 1],
                year=year,
                days=days,
                option=option,
                last_typed=date(year, month, days).isoformat(),
            ),
        )
    return date(year, month, day), ()


def read_moment(text: str, today: date) -> tuple[AskedMoment | None, Findings]:
    """A date and a clock time such as `2027-03-14 02:30` or `2027-03-14 2:30 am`; a `T` may stand
    between them.
    """
    day_text, _, clock_text = text.strip().replace("T", " ", 1).partition(" ")
    if _ANY_CLOCK.fullmatch(day_text) or not day_text:
        return None, (messages.BAD_TIME.at(None, found=text or "Nothing", day="2027-12-03"),)
    day, findings = read_date(day_text, "", today)
    if day is None:
        return None, findings
    clock = clock_text.strip()
    at = SourceRange(Source("moment", clock), 0, len(clock))
    moment, _ = parse_moment(PhraseText(clock, at))
    if not isinstance(moment, Clock):
        return None, (messages.BAD_TIME.at(None, found=text, day=day),)
    return AskedMoment(day, moment.minutes), ()


def read_nights(text: str) -> tuple[int | None, Findings]:
    """A count of nights, 1 to `MOST_NIGHTS`."""
    if re.fullmatch(r"[0-9]{1,4}", text) and 1 <= int(text) <= MOST_NIGHTS:
        return int(text), ()
    return None, (messages.BAD_NIGHTS.at(None, found=text, most=MOST_NIGHTS),)


def _read_year(text: str, today: date) -> tuple[Period | None, Findings]:
    if re.fullmatch(r"[0-9]{4}", text) and FIRST_YEAR <= int(text) <= LAST_YEAR:
        return calendar_year(int(text)), ()
    if run := _YEARS.fullmatch(text.strip()):
        return None, (renewing.YEARS_FOR_YEAR.at(None, found=text, typed=f"{run[1]}-{run[2]}"),)
    example = default_period(today).first.year
    return None, (
        messages.BAD_YEAR.at(None, found=text, first=FIRST_YEAR, last=LAST_YEAR, example=example),
    )


def _half_a_period(first: str | None, through: str | None, today: date) -> Diagnostic:
    whole = default_period(today)
    begin, end = first or whole.first.isoformat(), through or whole.last.isoformat()
    given, missing = ("--from", "--through") if through is None else ("--through", "--from")
    return messages.HALF_A_PERIOD.at(
        None, given=given, missing=missing, example=f"--from {begin} --through {end}"
    )


def checked_period(period: Period) -> tuple[Period | None, Findings]:
    """The period, unless it ends before it begins or is too long."""
    days = (period.last - period.first).days + 1
    if days < 1:
        return None, (messages.PERIOD_BACKWARDS.at(None, first=period.first, last=period.last),)
    if days > LONGEST_PERIOD_DAYS:
        example = period.first + timedelta(days=364)
        return None, (
            messages.PERIOD_TOO_LONG.at(
                None, days=days, longest=LONGEST_PERIOD_DAYS, first=period.first, example=example
            ),
        )
    return period, ()


def _not_iso(text: str, option: str, today: date) -> Diagnostic:
    """The finding for a date in another form, with the readings it could have."""
    readings = _readings(text, today)
    if len(readings) == 2:
        first, second = readings
        return messages.TWO_READINGS.at(
            None,
            found=text,
            first=_in_words(first),
            second=_in_words(second),
            option=option,
            first_typed=first.isoformat(),
            second_typed=second.isoformat(),
        )
    if readings:
        option += readings[0].isoformat()
        return messages.OTHER_DATE_FORM.at(None, found=text, typed=option)
    return messages.BAD_DATE.at(None, found=text or "Nothing", option=option)


def _readings(text: str, today: date) -> list[date]:
    """The dates a numeric text could mean, without doubles."""
    year_first = _YEAR_FIRST.fullmatch(text)
    if year_first:
        year, month, day = (int(part) for part in year_first.groups())
        orders = [(year, month, day)]
    else:
        year_last = _YEAR_LAST.fullmatch(text)
        if year_last is None:
            return []
        one, two = int(year_last[1]), int(year_last[2])
        year = int(year_last[3]) if year_last[3] else today.year
        year += 2000 if year < 100 else 0
        orders = [(year, two, one), (year, one, two)]
    return list(dict.fromkeys(date(*order) for order in orders if _exists(*order)))


def _exists(year: int, month: int, day: int) -> bool:
    known = FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12
    return known and 1 <= day <= monthrange(year, month)[1]


def _in_words(day: date) -> str:
    return f"{day.day} {_MONTH_NAMES[day.month - 1]}"
