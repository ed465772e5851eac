"""Clock times: `23:30`, `11:30 pm`, `noon`, `24:00`."""

from __future__ import annotations

import re

from schedcomp.messages import wanted, writing
from schedcomp.phrases.durations import UNIT_SECONDS
from schedcomp.phrases.printer import print_clock
from schedcomp.phrases.tokens import Cursor, Refused, Token, TokenKind
from schedcomp.phrases.tree import Clock

CLOCK_WORDS = ("noon", "midnight")
_NOON = 720
_MIDNIGHT = 1440

_CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")
_TWELVE_HOURS = re.compile(r"([0-9]{1,2})(?::([0-9]{2}))?")
_OTHER_FORM = re.compile(r"([0-9]{1,2})\.?([0-9]{2})")
_WITH_SECONDS = re.compile(r"([0-9]{1,2}):([0-9]{2}):[0-9]{2}")
_HOUR = re.compile(r"[0-9]{1,2}(\.[0-9]{2})?")
_HOUR_MARKS = ("h", "hr", "hrs", "hours")
_ONE_DIGIT = re.compile(r"([0-9]{1,2}):([0-9])")


def starts_clock(cursor: Cursor) -> bool:
    """Whether what comes next can only be meant as a clock time."""
    return cursor.check_number() or cursor.check_word(*CLOCK_WORDS)


def hour_with_mark(cursor: Cursor) -> bool:
    """Whether `22h`, `22h30` or `22.30 h` comes next: a clock time that begins as a length."""
    if not _HOUR.fullmatch(cursor.token.text) or cursor.ahead(1).text not in _HOUR_MARKS:
        return False
    after = cursor.ahead(2)
    if after.kind is TokenKind.NUMBER:
        return cursor.ahead(3).text not in UNIT_SECONDS
    return after.kind is TokenKind.END or after.text in ("until", "and", "or")


def clock(cursor: Cursor, is_end: bool) -> Clock:
    """clock = HOUR ":" MINUTES ["am" | "pm"] | HOUR ("am" | "pm") | "noon" | "midnight" """
    first = cursor.token
    if cursor.take_word("noon"):
        minutes = _NOON
    elif cursor.take_word("midnight"):
        if not is_end:
            raise cursor.refused(writing.MIDNIGHT_AS_START, first)
        minutes = _MIDNIGHT
    elif cursor.check_number():
        minutes = _in_digits(cursor, is_end)
    else:
        raise cursor.missing(wanted.CLOCK, CLOCK_WORDS)
    return Clock(minutes, cursor.range_from(first))


def _in_digits(cursor: Cursor, is_end: bool) -> int:
    """Minutes of `23:30`, `11:30 pm` or `11 pm`."""
    first = cursor.take()
    if cursor.check_word("am", "pm"):
        return _twelve_hours(cursor, first)
    match = _CLOCK.fullmatch(first.text)
    if match is None:
        raise _other_form(cursor, first)
    hour, minute = int(match[1]), int(match[2])
    if minute > 59:
        raise _minutes_over(cursor, first, hour)
    if hour == 24 and minute == 0 and not is_end:
        raise cursor.refused(writing.DAY_END_AS_START, first)
    if hour * 60 + minute > _MIDNIGHT:
        raise _hours_over(cursor, first, hour, minute)
    return hour * 60 + minute


def _twelve_hours(cursor: Cursor, first: Token) -> int:
    match = _TWELVE_HOURS.fullmatch(first.text)
    half = cursor.take().text
    if match is None:
        raise cursor.refused(writing.NOT_A_CLOCK, first)
    hour, minute = int(match[1]), int(match[2] or 0)
    if minute > 59:
        raise _minutes_over(cursor, first, hour)
    if hour == 12 and match[2] is None:
        raise cursor.refused(writing.TWELVE_ALONE, first)
    if hour > 23:
        raise cursor.refused(writing.NOT_A_CLOCK, first)
    if not 1 <= hour <= 12:
        reading = hour * 60 + minute
        other = f"{(hour - 1) % 12 + 1}:{minute:02d} {'pm' if hour > 12 else 'am'}"
        raise cursor.refused(
            writing.TWELVE_AND_TWENTY_FOUR, first, reading=_text(reading), other=other
        )
    return (hour % 12 + (12 if half == "pm" else 0)) * 60 + minute


def _minutes_over(cursor: Cursor, first: Token, hour: int) -> Refused:
    if hour > 23:
        return cursor.refused(writing.NOT_A_CLOCK, first)
    before, after = f"{hour:02d}:59", _text((hour + 1) % 24 * 60)
    return cursor.refused(writing.MINUTES_OVER, first, before=before, after=after)


def _hours_over(cursor: Cursor, first: Token, hour: int, minute: int) -> Refused:
    if hour >= 48:
        return cursor.refused(writing.NOT_A_CLOCK, first)
    return cursor.refused(writing.HOURS_OVER, first, reading=_text((hour - 24) * 60 + minute))


def _other_form(cursor: Cursor, first: Token) -> Refused:
    """What to say of digits that are no clock time, with the times they could mean."""
    with_seconds = _WITH_SECONDS.fullmatch(first.text)
    if with_seconds and (reading := _reading(with_seconds[1], with_seconds[2])):
        return cursor.refused(writing.OTHER_CLOCK_FORM, first, reading=reading)
    other = _OTHER_FORM.fullmatch(first.text)
    cursor.take_word(*(_HOUR_MARKS if other else ()))
    if other and (reading := _reading(other[1], other[2])):
        return cursor.refused(writing.OTHER_CLOCK_FORM, first, reading=reading)
    one_digit = _ONE_DIGIT.fullmatch(first.text)
    if one_digit and int(one_digit[1]) < 24 and int(one_digit[2]) < 6:
        readings = [f"{int(one_digit[1]):02d}:{digits}" for digits in (
            f"0{one_digit[2]}", f"{one_digit[2]}0"
        )]  # fmt: skip
        return _could_be(cursor, first, readings)
    if re.fullmatch(r"[0-9]{1,2}", first.text) and int(first.text) <= 24:
        return _hour_alone(cursor, first)
    return cursor.refused(writing.NOT_A_CLOCK, first)


def _hour_alone(cursor: Cursor, first: Token) -> Refused:
    hour = int(first.text)
    if cursor.take_word(*_HOUR_MARKS):
        minutes = cursor.take().text if cursor.check_number() else "00"
        if reading := _reading(first.text, minutes):
            return cursor.refused(writing.OTHER_CLOCK_FORM, first, reading=reading)
    if 1 <= hour <= 12:
        return _could_be(cursor, first, [_text(hour * 60), _text((hour + 12) % 24 * 60)])
    return cursor.refused(writing.OTHER_CLOCK_FORM, first, reading=_text(hour % 24 * 60))


def _could_be(cursor: Cursor, first: Token, readings: list[str]) -> Refused:
    readings = list(dict.fromkeys(readings))
    if len(readings) == 1:
        return cursor.refused(writing.OTHER_CLOCK_FORM, first, reading=readings[0])
    return cursor.refused(writing.TWO_CLOCKS, first, one=readings[0], other=readings[1])


def _reading(hour: str, minute: str) -> str:
    """`HH:MM`, or "" if there is no such time."""
    if not (hour.isdecimal() and minute.isdecimal() and len(minute) == 2):
        return ""
    return _text(int(hour) * 60 + int(minute)) if int(hour) < 24 and int(minute) < 60 else ""


def _text(minutes: int) -> str:
    return print_clock(Clock(minutes))
