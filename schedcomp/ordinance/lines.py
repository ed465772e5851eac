"""Phrases of a clause beside its rule: seasons, tests of hours, declared nights, validity."""

from __future__ import annotations

import re
from datetime import date

from schedcomp.diag import Diagnostic, PhraseText
from schedcomp.messages import ordinance as messages
from schedcomp.messages.wanted import Wanted
from schedcomp.model import Period
from schedcomp.ordinance.model import Between, ExceptNights, Grade, HoursTest, Season
from schedcomp.phrases import parse_dates, parse_hours
from schedcomp.phrases.clocks import clock
from schedcomp.phrases.numeric_dates import full_date
from schedcomp.phrases.tokens import Cursor, Findings, read_whole
from schedcomp.phrases.tree import Clock, Dates, EveryDay
from schedcomp.site import HoursLine

EVERY_DAY = Season((EveryDay(),), "every day")
_TO = re.compile(r"\s+to\s+", re.IGNORECASE)
_MOVING_END = re.compile(
    r"\b(holidays?|easter|day|first|second|third|fourth|fifth|last)\b.*\bto\b"
    r"|\bto\s+(holidays?|easter|day|first|second|third|fourth|fifth|last)\b",
    re.IGNORECASE,
)
_EXCEPT = re.compile(r"\bexcept\b", re.IGNORECASE)
_UNTIL = re.compile(r"(?P<dates>.*\S)\s+until\s+(?P<clock>\S.*)", re.IGNORECASE | re.DOTALL)
_GRADE = re.compile(r"\s*more than ([0-9]{1,3}) nights a year\s*:\s*(\S.*\S|\S)\s*", re.IGNORECASE)


def parse_season(phrase: PhraseText) -> tuple[Season | None, Findings]:
    """Any dates phrase; also ranges whose ends are holidays, such as
    `holiday Thanksgiving to jan 1`.
    """
    whole, found = parse_dates(phrase, False)
    moving = _MOVING_END.search(phrase.text) is not None
    if whole is not None and not moving:
        return Season((whole.dates,), phrase.text.strip(), phrase.at), ()
    sides = list(_EXCEPT.split(phrase.text))
    if not moving or len(sides) > 2:
        return None, found
    start, read = 0, []
    for side in sides:
        parts, found = _parts(phrase, start, side)
        if found:
            return None, found
        read.append(tuple(parts))
        start += len(side) + len("except")
    return Season(read[0], phrase.text.strip(), phrase.at, *read[1:]), ()


def _parts(phrase: PhraseText, start: int, text: str) -> tuple[list[Dates | Between], Findings]:
    """The members between commas."""
    made: list[Dates | Between] = []
    for piece in text.split(","):
        part, found = _part(PhraseText(piece, phrase.range(start, len(piece))))
        if part is None:
            return [], found
        made.append(part)
        start += len(piece) + 1
    return made, ()


def _part(phrase: PhraseText) -> tuple[Dates | Between | None, Findings]:
    ends = _TO.split(phrase.text)
    if len(ends) != 2 or not _MOVING_END.search(phrase.text):
        whole, found = parse_dates(phrase, False)
        return (None if whole is None else whole.dates), found
    begins = (0, len(phrase.text) - len(ends[1]))
    read = [
        parse_dates(PhraseText(end, phrase.range(begin, len(end))), False)
        for begin, end in zip(begins, ends, strict=True)
    ]
    (first, found), (last, more) = read
    if first is None or last is None:
        return None, (*found, *more)
    return Between(first.dates, last.dates), ()


def parse_hours_test(phrase: PhraseText) -> tuple[HoursTest | None, Findings]:
    """`close between 00:00 and 07:00`, `not close by 24:00`."""
    return read_whole(phrase, _hours_test, messages.HOURS_TEST)


def _hours_test(cursor: Cursor) -> HoursTest:
    """hours test = ["not"] (("close" ["or open"] | "open") "between" clock "and" clock
    | "close by" clock)
    """
    negated = cursor.take_word("not")
    of_close = cursor.take_word("close")
    of_open = (not of_close or cursor.take_word("or")) and cursor.take_word("open")
    if not (of_close or of_open):
        raise cursor.missing(messages.HOURS_TEST, ("close", "open", "not"))
    if of_close and not of_open and cursor.take_word("by"):
        last = clock(cursor, is_end=True)
        return HoursTest(True, False, None, last, negated, cursor.phrase.text.strip())
    cursor.expect_word("between", messages.HOURS_TEST)
    first = clock(cursor, is_end=False)
    cursor.expect_word("and", messages.HOURS_TEST)
    last = clock(cursor, is_end=True)
    return HoursTest(of_close, of_open, first, last, negated, cursor.phrase.text.strip())


def parse_except_nights(phrase: PhraseText) -> tuple[ExceptNights | None, Findings]:
    """`2027-06-18 until 01:30: club tournament`; without `until` the whole night."""
    dates_text, colon, because = _split_reason(phrase.text)
    if not colon or not because.strip() or not dates_text.strip():
        return None, _missing(phrase, messages.EXCEPT_NIGHT)
    until: Clock | None = None
    match = _UNTIL.fullmatch(dates_text)
    if match:
        start = match.start("clock")
        until, found = _clock_alone(
            PhraseText(match["clock"], phrase.range(start, len(match["clock"])))
        )
        if until is None:
            return None, found
        dates_text = match["dates"]
    season, found = parse_season(PhraseText(dates_text, phrase.range(0, len(dates_text))))
    if season is None:
        return None, found
    return ExceptNights(season, until, because.strip()), ()


def _split_reason(text: str) -> tuple[str, str, str]:
    """Before the first colon that is none of a clock time, and after it."""
    match = re.search(r":(?![0-9]{2}\b)", text)
    return (text, "", "") if match is None else (text[: match.start()], ":", text[match.end() :])


def _clock_alone(phrase: PhraseText) -> tuple[Clock | None, Findings]:
    return read_whole(phrase, lambda cursor: clock(cursor, is_end=True), messages.EXCEPT_NIGHT)


def _missing(phrase: PhraseText, what: Wanted) -> tuple[Diagnostic, ...]:
    """The finding that a line lacks one of its parts."""

    def refuse(cursor: Cursor) -> None:
        raise cursor.missing(what)

    return read_whole(phrase, refuse, what)[1]


def parse_use_line(phrase: PhraseText) -> tuple[HoursLine | None, Findings]:
    """`mon-fri: 18:00-22:00`: hours of use of some dates."""
    dates_text, colon, hours_text = phrase.text.partition(":")
    if not colon:
        return None, _missing(phrase, messages.USE_LINE)
    dates, found = parse_dates(PhraseText(dates_text, phrase.range(0, len(dates_text))), False)
    if dates is None:
        return None, found
    place = phrase.range(len(dates_text) + 1, len(hours_text))
    value, found = parse_hours(PhraseText(hours_text, place))
    if value is None:
        return None, found
    return HoursLine(dates=dates, value=value, text=phrase.text.strip(), at=phrase.at), ()


def parse_valid(phrase: PhraseText) -> tuple[Period | None, Findings]:
    """`2026-07-01 to 2027-06-30`, both included."""
    return read_whole(phrase, _valid, messages.VALID)


def _valid(cursor: Cursor) -> Period:
    """valid = full date "to" full date, or `from` one date, or `to` one date"""
    if not cursor.check_number():
        raise cursor.missing(messages.VALID)
    first = full_date(cursor)
    cursor.expect_word("to", messages.VALID)
    last: date = full_date(cursor)
    if last < first:
        raise cursor.missing(messages.VALID)
    return Period(first, last)


def parse_grade(phrase: PhraseText) -> tuple[Grade | None, Findings]:
    """`more than 4 nights a year: serious`"""
    match = _GRADE.fullmatch(phrase.text)
    if match is None:
        return None, _missing(phrase, messages.GRADE)
    return Grade(int(match[1]), match[2]), ()
