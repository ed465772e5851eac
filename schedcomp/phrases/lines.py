"""Lines of a circuit: calendar, kept dark, promises, and the stretches of single nights."""

from __future__ import annotations

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing
from schedcomp.model import ONE_DAY, WEEKDAYS
from schedcomp.phrases.clocks import clock, starts_clock
from schedcomp.phrases.dates import dates_phrase
from schedcomp.phrases.moments import HOURS_WORDS, SUN_WORDS, window
from schedcomp.phrases.names import WEEKDAY_NAMES, WEEKDAY_NUMBERS
from schedcomp.phrases.numeric_dates import full_date, starts_full_date
from schedcomp.phrases.printer import print_clock
from schedcomp.phrases.tokens import Cursor, Findings, Token, TokenKind, read_whole
from schedcomp.phrases.tree import (
    CalendarLine,
    Clock,
    DatedClock,
    DatesPhrase,
    KeepDarkLine,
    PromiseLine,
    SingleDate,
    Stretch,
)

_LIT, _DARK = "lit", "dark"
_INSTEAD_OF_LIT = ("on", "off", "yes", "no", "true", "false")
_INSTEAD_OF_UNTIL = ("to", "till", "til", "through", "thru")


def parse_calendar_line(phrase: PhraseText) -> tuple[CalendarLine | None, Findings]:
    """`DATES [evenings|mornings]: DAY TYPE`; whether the day type exists is not looked at."""
    return read_whole(phrase, _calendar_line, wanted.CALENDAR_LINE)


def parse_keep_dark(phrase: PhraseText) -> tuple[KeepDarkLine | None, Findings]:
    """`DATES: from MOMENT until MOMENT`"""
    return read_whole(phrase, _keep_dark, wanted.KEEP_DARK)


def parse_promise(phrase: PhraseText) -> tuple[PromiseLine | None, Findings]:
    """`DATES CLOCK: lit` or `dark`; a weekday before a single date must be its weekday."""
    return read_whole(phrase, _promise, wanted.PROMISE)


def parse_stretch(phrase: PhraseText) -> tuple[Stretch | None, Findings]:
    """`2027-06-18 21:00 until 2027-06-19 00:30`

    The second date may be left out where the end comes later on the same date.
    """
    return read_whole(phrase, _stretch, wanted.STRETCH)


def _calendar_line(cursor: Cursor) -> CalendarLine:
    """calendar line = dates phrase ":" DAY TYPE

    DAY TYPE is the rest of the line as it is written.
    """
    first = cursor.token
    dates = dates_phrase(cursor, halves_allowed=True)
    cursor.expect_colon(wanted.COLON)
    start = cursor.token
    if start.kind is TokenKind.END:
        raise cursor.missing(wanted.DAY_TYPE)
    cursor.take_rest()
    name = cursor.written(start.start, cursor.last.end)
    return CalendarLine(dates, name, cursor.range_from(first), cursor.range_from(start))


def _keep_dark(cursor: Cursor) -> KeepDarkLine:
    """keep-dark line = dates phrase ":" window"""
    first = cursor.token
    dates = dates_phrase(cursor, halves_allowed=False)
    cursor.expect_colon(wanted.COLON)
    if cursor.check_word("on", "off", "dark"):
        raise cursor.instead(wanted.FROM_INSTEAD)
    dark = window(cursor)
    return KeepDarkLine(dates, dark, cursor.range_from(first))


def _promise(cursor: Cursor) -> PromiseLine:
    """promise = ([WEEKDAY] full date | dates phrase) clock ":" ("lit" | "dark")"""
    first = cursor.token
    if cursor.check_word(*WEEKDAY_NUMBERS) and starts_full_date(cursor, ahead=1):
        dates, weekday = _dated_with_weekday(cursor)
    else:
        dates, weekday = dates_phrase(cursor, halves_allowed=False), None
    if cursor.check_word(*SUN_WORDS, *HOURS_WORDS):
        raise cursor.refused_next(writing.PROMISE_NEEDS_CLOCK)
    if not starts_clock(cursor):
        raise cursor.missing(wanted.PROMISE_CLOCK)
    at = clock(cursor, is_end=False)
    cursor.expect_colon(wanted.PROMISE_COLON)
    lit = _state(cursor)
    return PromiseLine(dates, at, lit, weekday, cursor.range_from(first))


def _dated_with_weekday(cursor: Cursor) -> tuple[DatesPhrase, int]:
    first = cursor.take()
    weekday = WEEKDAY_NUMBERS[first.text]
    date_token = cursor.token
    day = full_date(cursor)
    if day.weekday() != weekday:
        raise cursor.refused(
            writing.OTHER_WEEKDAY,
            first,
            day=day.isoformat(),
            weekday=WEEKDAY_NAMES[day.weekday()].title(),
            written=WEEKDAYS[day.weekday()],
        )
    return DatesPhrase(SingleDate(day), None, cursor.range_from(date_token)), weekday


def _state(cursor: Cursor) -> bool:
    if cursor.check_word(*_INSTEAD_OF_LIT):
        raise cursor.instead(wanted.STATE_INSTEAD)
    lit = cursor.check_word(_LIT)
    if not cursor.take_word(_LIT, _DARK):
        raise cursor.missing(wanted.STATE, (_LIT, _DARK))
    return lit


def _stretch(cursor: Cursor) -> Stretch:
    """stretch = full date clock "until" [full date] clock"""
    first = cursor.token
    day = full_date(cursor)
    start = DatedClock(day, _clock_of_stretch(cursor, is_end=False))
    if cursor.check_word(*_INSTEAD_OF_UNTIL) or cursor.check_sign("-"):
        raise cursor.instead(wanted.STRETCH_UNTIL)
    cursor.expect_word("until", wanted.UNTIL)
    end_token = cursor.token
    end_day = full_date(cursor) if starts_full_date(cursor) else day
    end = DatedClock(end_day, _clock_of_stretch(cursor, is_end=True))
    if (end.day, end.clock.minutes) <= (start.day, start.clock.minutes):
        _refuse_backwards(cursor, start, end, end_token)
    return Stretch(start, end, cursor.range_from(first))


def _clock_of_stretch(cursor: Cursor, is_end: bool) -> Clock:
    if not starts_clock(cursor):
        raise cursor.missing(wanted.CLOCK)
    return clock(cursor, is_end)


def _refuse_backwards(cursor: Cursor, start: DatedClock, end: DatedClock, first: Token) -> None:
    next_day = start.day + ONE_DAY
    written = f"{start.day} {print_clock(start.clock)} until {next_day} {print_clock(end.clock)}"
    raise cursor.refused(writing.STRETCH_BACKWARDS, first, day=end.day, written=written)
