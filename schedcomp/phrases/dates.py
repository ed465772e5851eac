"""Dates phrases: `every day except holidays`, `fri, sat in jun to aug`, `day before holidays`.

What binds tightest, first: `to` and the dash of weekdays; `day before`; `in`, which takes the
weekdays listed right before it and the one range after it; commas; `except`, once. Where people
would read a phrase in two ways (`day before` a range, a range listed after `in`, a second
`except`), it is refused.
"""

from __future__ import annotations

import re

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing, writing_dates
from schedcomp.model import WEEKDAYS, Half
from schedcomp.near import quoted
from schedcomp.phrases.names import MONTH_NUMBERS, ORDINALS, WEEKDAY_NUMBERS, WEEKDAY_WORDS
from schedcomp.phrases.numeric_dates import starts_full_date
from schedcomp.phrases.printer import print_dates
from schedcomp.phrases.ranges import (
    INSTEAD_OF_TO,
    date_or_range,
    month,
    range_only,
    starts_date,
)
from schedcomp.phrases.special_days import easter, holiday, recurrence
from schedcomp.phrases.tokens import Cursor, Findings, Refused, Token, TokenKind, read_whole
from schedcomp.phrases.tree import (
    AnyOf,
    DatedRange,
    Dates,
    DatesPhrase,
    EveryDay,
    Except,
    Holidays,
    HoursWord,
    Neighbour,
    NthWeekday,
    SunWord,
    Weekdays,
    WeekdaysIn,
    YearlyRange,
)

MOST_NEIGHBOURS = 7
HALVES = tuple(half.value for half in Half)

_LOOSE_WORDS = {
    "weekday": "mon-fri",
    "weekdays": "mon-fri",
    "workday": "mon-fri",
    "workdays": "mon-fri",
    "weekend": "sat, sun",
    "weekends": "sat, sun",
}
_HALF = re.compile(rf"\b({'|'.join(HALVES)})\b", re.IGNORECASE)
_JOINED = re.compile(r"^(?:,|&|and\b)?\s*|\s*,$", re.IGNORECASE)
MOST_HALVES = 12
"""In a line that is put right; one with more is not what a slip looks like."""
_DATE_WORDS = (
    "every", "day", "holidays", "holiday", "easter", "rrule",
    *WEEKDAY_WORDS, *MONTH_NUMBERS, *ORDINALS,
)  # fmt: skip
# Left to what comes after the dates, which has more to say about them.
_MOMENT_WORDS = ("noon", "midnight", *(w.value for w in (*SunWord, *HoursWord)))
_WORDS_BETWEEN = (*HALVES, "except", "in", "to", "starting")


def parse_dates(phrase: PhraseText, halves_allowed: bool) -> tuple[DatesPhrase | None, Findings]:
    """A dates phrase alone; with `halves_allowed` it may end in `evenings` or `mornings`."""
    return read_whole(phrase, lambda cursor: dates_phrase(cursor, halves_allowed), wanted.DATES)


def dates_phrase(cursor: Cursor, halves_allowed: bool) -> DatesPhrase:
    """dates phrase = dates ["evenings" | "mornings"]"""
    first = cursor.token
    found = _dates(cursor)
    half = _half(cursor, first, halves_allowed)
    _refuse_loose_end(cursor)
    return DatesPhrase(found, half, cursor.range_from(first))


def _half(cursor: Cursor, first: Token, allowed: bool) -> Half | None:
    if not cursor.check_word(*HALVES):
        return None
    if not allowed:
        dates = cursor.written(first.start, cursor.last.end)
        raise cursor.refused_next(writing_dates.HALF_NOT_HERE, rest=wanted.rest_of(dates))
    half = Half(cursor.take().text)
    if cursor.check_sign(",", "&") or cursor.check_word("and", "except", "in", "to", *HALVES):
        refused = cursor.refused(writing_dates.HALF_NOT_LAST, cursor.last)
        raise Refused(refused.finding, _halves_last(cursor.phrase.text))
    return half


def _halves_last(text: str) -> tuple[tuple[str, ...], ...]:
    """The line with its half at the end, or a line for each half; without, if both follow the
    same dates.
    """
    dates, colon, rest = text.partition(":")
    parts = _HALF.split(dates)
    halves = [half.lower() for half in parts[1::2]]
    if len(set(halves)) == 1:
        bare = re.sub(r"\s+(?=,)", "", " ".join("".join(parts[::2]).split()))
        return ((f"{bare} {halves[0]}{colon}{rest}",),)
    pieces = [_JOINED.sub("", part.strip()) for part in parts[::2]]
    if pieces[-1] or len(pieces) > MOST_HALVES:
        return ()
    if pieces[1:] == ["", ""]:
        return ((f"{pieces[0]}{colon}{rest}",),)
    of_half: dict[str, list[str]] = {}
    for piece, half in zip(pieces, halves, strict=False):
        of_half.setdefault(half, []).append(piece)
    lines = (f"{', '.join(listed)} {half}{colon}{rest}" for half, listed in of_half.items())
    return (tuple(lines),)


def _refuse_loose_end(cursor: Cursor) -> None:
    """Say what joins dates where something near it is written."""
    if cursor.check_word("and", "or") or cursor.check_sign(";", "&"):
        raise cursor.instead(wanted.COMMA_INSTEAD)
    if cursor.check_word("except"):
        raise cursor.refused_next(writing_dates.SECOND_EXCEPT)
    if cursor.check_word("from", "during") and _part_of_year_is_next(cursor):
        raise cursor.instead(wanted.IN_INSTEAD)
    if cursor.check_word(*INSTEAD_OF_TO):
        raise cursor.instead(wanted.TO_INSTEAD)
    if cursor.check_word("at"):
        raise cursor.instead(wanted.CLOCK_INSTEAD)
    word = cursor.token
    if word.kind is TokenKind.WORD and word.text not in _MOMENT_WORDS:
        raise cursor.missing(wanted.DATES_END, _WORDS_BETWEEN)


def _part_of_year_is_next(cursor: Cursor) -> bool:
    """Whether a month or a date follows the next word."""
    months = (cursor.ahead(1).text in MONTH_NUMBERS, cursor.ahead(2).text in MONTH_NUMBERS)
    return any(months) or starts_full_date(cursor, ahead=1)


def _dates(cursor: Cursor) -> Dates:
    """dates = list ["except" list]"""
    base = _list(cursor)
    if not cursor.take_word("except"):
        return base
    return Except(base, _list(cursor))


def _list(cursor: Cursor) -> Dates:
    """list = (item | weekdays "in" range) {"," (item | weekdays "in" range)}

    Weekdays listed one after the other are one set of weekdays.
    """
    members: list[Dates] = []
    while True:
        first = cursor.token
        item = _item(cursor)
        before = members[-1] if members else None
        if isinstance(before, WeekdaysIn) and isinstance(item, YearlyRange | DatedRange):
            raise _range_after_in(cursor, first, before, item)
        if isinstance(before, Weekdays) and isinstance(item, Weekdays):
            item = _weekdays({*before.days, *item.days})
            members.pop()
        if cursor.check_word("in"):
            item = _within(cursor, first, item)
        members.append(item)
        if not cursor.take_sign(","):
            return members[0] if len(members) == 1 else AnyOf(tuple(members))


def _within(cursor: Cursor, first: Token, item: Dates) -> WeekdaysIn:
    """within = "in" range"""
    if not isinstance(item, Weekdays):
        raise cursor.refused(writing_dates.IN_USE, first)
    cursor.take()
    return WeekdaysIn(item, range_only(cursor))


def _range_after_in(
    cursor: Cursor, first: Token, before: WeekdaysIn, item: YearlyRange | DatedRange
) -> Refused:
    both = f"{print_dates(before)}, {print_dates(WeekdaysIn(before.weekdays, item))}"
    whole = f"{print_dates(item)}, {print_dates(before)}"
    days = print_dates(before.weekdays)
    return cursor.refused(writing_dates.RANGE_AFTER_IN, first, both=both, whole=whole, days=days)


def _item(cursor: Cursor) -> Dates:
    """item = {"day" ("before" | "after")} simple"""
    first = cursor.token
    steps: list[int] = []
    while cursor.take_word("day"):
        if not cursor.check_word("before", "after"):
            raise cursor.missing(wanted.BEFORE_OR_AFTER, ("before", "after"))
        steps.append(-1 if cursor.take().text == "before" else 1)
        if len(steps) > MOST_NEIGHBOURS:
            raise cursor.refused(writing_dates.TOO_FAR, first, most=MOST_NEIGHBOURS)
    start = cursor.token
    found = _simple(cursor)
    if steps and isinstance(found, YearlyRange | DatedRange):
        raise _beside_range(cursor, start, found, steps[-1])
    for step in reversed(steps):
        found = Neighbour(step, found)
    return found


def _beside_range(
    cursor: Cursor, start: Token, found: YearlyRange | DatedRange, step: int
) -> Refused:
    edge = found.first if step < 0 else found.last
    day = print_dates(edge) if not hasattr(edge, "isoformat") else edge.isoformat()
    written = f"day {'before' if step < 0 else 'after'} {day}"
    return cursor.refused(
        writing_dates.DAY_BESIDE_RANGE, start, written=written, range=print_dates(found)
    )


def _simple(cursor: Cursor) -> Dates:
    """simple = "every" "day" | weekday range | date or range | nth weekday | "holidays"
    | holiday | easter | recurrence"""
    if starts_date(cursor):
        return date_or_range(cursor)
    if cursor.check_word(*WEEKDAY_NUMBERS):
        return _weekday_range(cursor)
    if cursor.check_word(*ORDINALS):
        return _nth_weekday(cursor)
    if cursor.take_word("holidays"):
        return Holidays()
    if cursor.check_word("holiday"):
        return holiday(cursor)
    if cursor.check_word("easter"):
        return easter(cursor)
    if cursor.check_word("rrule"):
        return recurrence(cursor)
    if cursor.check_word("every"):
        return _every_day(cursor)
    raise _no_dates(cursor)


def _no_dates(cursor: Cursor) -> Refused:
    word = cursor.token.text
    if cursor.check_word(*_LOOSE_WORDS):
        return cursor.refused_next(writing_dates.LOOSE_WORD, written=_LOOSE_WORDS[word])
    if cursor.check_word("daily", "always", "nightly"):
        return cursor.refused_next(writing_dates.EVERY_ONLY_DAY, written="every day")
    if cursor.check_word(*HALVES):
        return cursor.refused_next(writing_dates.HALF_NOT_LAST)
    if cursor.token.kind is TokenKind.WORD:
        return cursor.missing(wanted.dates_or_holiday(quoted(word)), _DATE_WORDS)
    return cursor.missing(wanted.DATES, _DATE_WORDS)


def _every_day(cursor: Cursor) -> EveryDay:
    first = cursor.take()
    if cursor.take_word("day"):
        return EveryDay()
    if cursor.check_word(*WEEKDAY_NUMBERS):
        day = WEEKDAYS[WEEKDAY_NUMBERS[cursor.take().text]]
        raise cursor.refused(writing_dates.EVERY_ONLY_DAY, first, written=day)
    if cursor.check_word("night", "evening", "morning", "weekday", "weekend", "date"):
        written = _LOOSE_WORDS.get(cursor.take().text, "every day")
        raise cursor.refused(writing_dates.EVERY_ONLY_DAY, first, written=written)
    raise cursor.missing(wanted.DAY, ("day",))


def _weekday_range(cursor: Cursor) -> Weekdays:
    """weekday range = WEEKDAY [("-" | "to") WEEKDAY]

    Goes on past sunday where the first comes later in the week.
    """
    first = cursor.token
    start = WEEKDAY_NUMBERS[cursor.take().text]
    if starts_full_date(cursor):
        cursor.take()
        date_text = cursor.last.text
        raise cursor.refused(writing.WEEKDAY_BEFORE_DATE, first, written=date_text)
    if cursor.check_word(*INSTEAD_OF_TO):
        raise cursor.instead(wanted.DASH_INSTEAD)
    if not (cursor.take_sign("-") or cursor.take_word("to")):
        return Weekdays((start,))
    last = WEEKDAY_NUMBERS.get(cursor.token.text)
    if last is None:
        raise cursor.missing(wanted.WEEKDAY, WEEKDAY_WORDS)
    cursor.take()
    return _weekdays({(start + i) % 7 for i in range((last - start) % 7 + 1)})


def _weekdays(days: set[int]) -> Weekdays:
    return Weekdays(tuple(sorted(days)))


def _nth_weekday(cursor: Cursor) -> NthWeekday:
    """nth weekday = ("first" | ... | "fifth" | "last") WEEKDAY "of" MONTH"""
    first = cursor.take()
    weekday = WEEKDAY_NUMBERS.get(cursor.token.text)
    if weekday is None:
        raise cursor.missing(wanted.WEEKDAY, WEEKDAY_WORDS)
    cursor.take()
    if cursor.check_word("in"):
        raise cursor.instead(wanted.OF_INSTEAD)
    cursor.expect_word("of", wanted.OF_MONTH)
    if cursor.take_word("every", "each"):
        cursor.take_word("month")
        nth = "-1" if first.text == "last" else str(ORDINALS[first.text])
        code = WEEKDAYS[weekday][:2].upper()
        raise cursor.refused(
            writing_dates.EVERY_ONLY_DAY, first, written=f"rrule FREQ=MONTHLY;BYDAY={nth}{code}"
        )
    return NthWeekday(ORDINALS[first.text], weekday, month(cursor))
