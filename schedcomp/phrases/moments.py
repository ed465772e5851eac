"""Moments and windows: `on from dusk until the later of close + 45 min and 21:00`."""

from __future__ import annotations

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing
from schedcomp.model import DAY, MINUTE
from schedcomp.phrases.clocks import CLOCK_WORDS, clock, hour_with_mark, starts_clock
from schedcomp.phrases.durations import duration, duration_first, offset
from schedcomp.phrases.printer import print_clock, print_duration
from schedcomp.phrases.tokens import Cursor, Findings, Refused, Token, TokenKind, read_whole
from schedcomp.phrases.tree import (
    Clock,
    HoursMoment,
    HoursWord,
    Moment,
    Pair,
    Plain,
    SunMoment,
    SunWord,
    Which,
    Window,
)

_MIDDLE = ("middle", "of", "the", "night")
SUN_WORDS = tuple(word.value for word in SunWord if word is not SunWord.NIGHT_MIDDLE)
HOURS_WORDS = tuple(word.value for word in HoursWord)
TWILIGHTS = ("civil", "nautical", "astronomical")
_PAIR_WORDS = tuple(which.value for which in Which)
_MOMENT_WORDS = (*SUN_WORDS, *HOURS_WORDS, *CLOCK_WORDS)
_INSTEAD_OF_UNTIL = ("to", "till", "til", "through", "thru", "off")


def parse_window(phrase: PhraseText) -> tuple[Window | None, Findings]:
    """A line of a day type: `on from MOMENT until MOMENT`."""
    return read_whole(phrase, _lit_window, wanted.WINDOW)


def parse_moment(phrase: PhraseText, is_end: bool = False) -> tuple[Moment | None, Findings]:
    """A moment alone; `24:00` and `midnight` only where it ends something."""
    return read_whole(phrase, lambda cursor: moment(cursor, is_end), wanted.MOMENT)


def _lit_window(cursor: Cursor) -> Window:
    """lit window = "on" window"""
    if cursor.check_word("from"):
        raise cursor.refused_next(writing.WITHOUT_ON, fix=_with_on(cursor))
    cursor.expect_word("on", wanted.WINDOW)
    return window(cursor)


def _with_on(cursor: Cursor) -> str:
    """The phrase with "on" before it, if that makes it right; else an example."""
    written = " ".join(f"on {cursor.phrase.text}".split())
    made, _ = parse_window(PhraseText(written, cursor.phrase.at))
    return wanted.WINDOW.fix if made is None else wanted.lines_to_write((written,))


def window(cursor: Cursor) -> Window:
    """window = "from" moment "until" moment"""
    first = cursor.token
    cursor.expect_word("from", wanted.FROM)
    start = moment(cursor, is_end=False)
    _until(cursor)
    end = moment(cursor, is_end=True)
    return Window(start, end, cursor.range_from(first))


def _until(cursor: Cursor) -> None:
    if cursor.check_word(*_INSTEAD_OF_UNTIL) or cursor.check_sign("-"):
        raise cursor.instead(wanted.UNTIL_INSTEAD)
    cursor.expect_word("until", wanted.UNTIL)


def moment(cursor: Cursor, is_end: bool) -> Moment:
    """moment = pair | plain"""
    if cursor.check_word("the", *_PAIR_WORDS) and not _starts_middle(cursor):
        return _pair(cursor, is_end)
    return _plain(cursor, is_end)


def _pair(cursor: Cursor, is_end: bool) -> Pair:
    """pair = ["the"] ("earlier" | "later") "of" plain "and" plain"""
    first = cursor.token
    cursor.take_word("the")
    which = cursor.token.text
    if not cursor.take_word(*_PAIR_WORDS):
        raise cursor.missing(wanted.EARLIER_OR_LATER, _PAIR_WORDS)
    cursor.expect_word("of", wanted.OF)
    one = _member(cursor, is_end)
    if cursor.check_sign(","):
        raise cursor.refused_next(writing.THIRD_MEMBER)
    cursor.expect_word("and", wanted.AND)
    other = _member(cursor, is_end)
    if cursor.check_word("and"):
        raise cursor.refused_next(writing.THIRD_MEMBER)
    return Pair(Which(which), one, other, cursor.range_from(first))


def _member(cursor: Cursor, is_end: bool) -> Plain:
    if cursor.check_word("the", *_PAIR_WORDS) and not _starts_middle(cursor):
        raise cursor.refused_next(writing.PAIR_IN_PAIR)
    return _plain(cursor, is_end)


def _plain(cursor: Cursor, is_end: bool) -> Plain:
    """plain = clock | sun moment | hours moment"""
    if duration_first(cursor) and not hour_with_mark(cursor):
        raise offset_first(cursor)
    if starts_clock(cursor):
        return _clock_alone(cursor, is_end)
    if cursor.check_word(*SUN_WORDS):
        return _sun_moment(cursor)
    if _starts_middle(cursor):
        return _middle_of_night(cursor)
    if cursor.check_word(*HOURS_WORDS):
        return _hours_moment(cursor, is_end)
    if cursor.check_word(*TWILIGHTS):
        raise _twilight(cursor)
    raise cursor.missing(wanted.MOMENT, (*_MOMENT_WORDS, *_PAIR_WORDS))


def _clock_alone(cursor: Cursor, is_end: bool) -> Clock:
    """A clock time takes no offset and no other time instead of it."""
    first = cursor.token
    found = clock(cursor, is_end)
    if cursor.check_sign("+", "-"):
        shift = offset(cursor)
        reading = print_clock(Clock((found.minutes + shift) % (DAY // MINUTE)))
        raise cursor.refused(writing.CLOCK_WITH_OFFSET, first, reading=reading)
    _no_fallback(cursor, first)
    return found


def _sun_moment(cursor: Cursor) -> SunMoment:
    """sun moment = ("sunrise" | "sunset" | "dawn" | "dusk") offset"""
    first = cursor.take()
    shift = offset(cursor)
    at = cursor.range_from(first)
    _no_fallback(cursor, first)
    return SunMoment(SunWord(first.text), shift, at)


def _starts_middle(cursor: Cursor) -> bool:
    """Whether `the middle of the night` comes next, with or without its first word."""
    return cursor.check_word("middle") or (
        cursor.check_word("the") and cursor.ahead(1).text == "middle"
    )


def _middle_of_night(cursor: Cursor) -> SunMoment:
    """middle of the night = ["the"] "middle" "of" "the" "night" offset"""
    first = cursor.token
    cursor.take_word("the")
    for word in _MIDDLE:
        cursor.expect_word(word, wanted.NIGHT_MIDDLE)
    shift = offset(cursor)
    return SunMoment(SunWord.NIGHT_MIDDLE, shift, cursor.range_from(first))


def _hours_moment(cursor: Cursor, is_end: bool) -> HoursMoment:
    """hours moment = ("open" | "close" | "arrive" | "leave") offset ["or" clock]"""
    first = cursor.take()
    shift = offset(cursor)
    fallback = None
    if cursor.take_word("or"):
        fallback = _clock_alone(cursor, is_end)
    return HoursMoment(HoursWord(first.text), shift, fallback, cursor.range_from(first))


def _no_fallback(cursor: Cursor, first: Token) -> None:
    if cursor.check_word("or"):
        moment_text = cursor.written(first.start, cursor.last.end)
        raise cursor.refused_next(writing.NO_FALLBACK, moment=moment_text)


def offset_first(cursor: Cursor) -> Refused:
    """What to say of `20 min before sunset`, turned round."""
    first = cursor.token
    length = print_duration(duration(cursor))
    sign = "-" if cursor.check_word("before") else "+"
    base = "sunset"
    if cursor.take_word("before", "after") and cursor.check_word(*SUN_WORDS, *HOURS_WORDS):
        base = cursor.take().text
    return cursor.refused(writing.OFFSET_FIRST, first, turned=f"{base} {sign} {length}")


def _twilight(cursor: Cursor) -> Refused:
    first = cursor.take()
    word = "dusk"
    if cursor.token.kind is TokenKind.WORD and cursor.token.text in ("dawn", "dusk"):
        word = cursor.take().text
    return cursor.refused(writing.TWILIGHT_AS_MOMENT, first, word=word, kind=first.text)
