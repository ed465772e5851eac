"""Durations and offsets: `10 min`, `1 h 30 min`, `+ 20 min`."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing
from schedcomp.model import DAY, HOUR, MINUTE
from schedcomp.phrases.printer import print_duration
from schedcomp.phrases.tokens import Cursor, Findings, Refused, Token, read_whole

LONGEST_OFFSET_MINUTES = 720

UNIT_SECONDS: Mapping[str, int] = MappingProxyType(
    dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), HOUR)
    | dict.fromkeys(("min", "mins", "minute", "minutes", "m"), MINUTE)
    | dict.fromkeys(("s", "sec", "secs", "second", "seconds"), 1)
)

_FRACTION = re.compile(r"([0-9]{1,3})\.([0-9]{1,3})")
_WITH_COLON = re.compile(r"([0-9]{1,2}):([0-9]{2})")


def parse_duration(phrase: PhraseText) -> tuple[int | None, Findings]:
    """Seconds of a duration of at most 24 hours."""
    return read_whole(phrase, _day_at_most, wanted.DURATION)


def offset(cursor: Cursor) -> int:
    """offset = [("+" | "-") duration]

    Whole minutes, at most 12 h; 0 if none is written.
    """
    first = cursor.token
    if not cursor.take_sign("+", "-"):
        return 0
    minutes = _duration(cursor, seconds_allowed=False) // MINUTE
    if cursor.check_sign("+", "-"):
        refused = cursor.refused_next(writing.TWO_OFFSETS)
        one = ((cursor.with_next(""),),) if cursor.check_sign(first.text) else ()
        raise Refused(refused.finding, one)
    if minutes > LONGEST_OFFSET_MINUTES:
        raise cursor.refused(writing.TOO_LONG, first, most="12 h", example="dusk + 12 h")
    return minutes if first.text == "+" else -minutes


def duration_first(cursor: Cursor) -> bool:
    """Whether a number with a unit comes next, as in `20 min before sunset`."""
    return cursor.check_number() and cursor.ahead(1).text in UNIT_SECONDS


def duration(cursor: Cursor) -> int:
    """duration = NUMBER "h" [NUMBER "min"] [NUMBER "s"] | NUMBER "min" [NUMBER "s"] | NUMBER "s"

    Seconds.
    """
    return _duration(cursor, seconds_allowed=True)


def _day_at_most(cursor: Cursor) -> int:
    first = cursor.token
    seconds = duration(cursor)
    if seconds > DAY:
        raise cursor.refused(writing.TOO_LONG, first, most="24 h", example="24 h")
    return seconds


def _duration(cursor: Cursor, seconds_allowed: bool) -> int:
    if not cursor.check_number():
        raise cursor.missing(wanted.DURATION)
    total, smallest = 0, DAY
    while cursor.check_number():
        first = cursor.take()
        count, unit = _count(cursor, first), _unit(cursor, first)
        if unit >= smallest:
            raise cursor.refused(writing.DURATION_NUMBER, first)
        if unit < MINUTE and not seconds_allowed:
            raise cursor.refused(writing.OFFSET_SECONDS, first)
        total, smallest = total + count * unit, unit
    return total


def _count(cursor: Cursor, first: Token) -> int:
    if first.text.isdecimal() and len(first.text) <= 4:
        return int(first.text)
    raise _not_whole(cursor, first)


def _not_whole(cursor: Cursor, first: Token) -> Refused:
    """What to say of `1.5 h` and `1:30`, with the same duration in hours and minutes."""
    unit = UNIT_SECONDS.get(cursor.token.text, 0)
    fraction, colon = _FRACTION.fullmatch(first.text), _WITH_COLON.fullmatch(first.text)
    seconds = 0.0
    if colon and int(colon[2]) < 60:
        seconds = int(colon[1]) * HOUR + int(colon[2]) * MINUTE
    elif fraction:
        seconds = float(first.text) * unit
    if unit:
        cursor.take()
    if seconds and seconds % MINUTE == 0:
        same = print_duration(int(seconds))
        return cursor.refused(writing.DURATION_FORM, first, same=same)
    return cursor.refused(writing.DURATION_NUMBER, first)


def _unit(cursor: Cursor, first: Token) -> int:
    seconds = UNIT_SECONDS.get(cursor.token.text)
    if seconds is None:
        if cursor.token.text.isalpha() and cursor.token.start == first.end:
            cursor.take()
        raise cursor.refused(writing.NO_UNIT, first, number=int(first.text))
    cursor.take()
    return seconds
