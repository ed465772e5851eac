"""Small helpers for text that people read: lists, counted nouns and dates."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.model import MINUTE

_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")

EMPTY_WINDOW_WORDS = {
    "end before start": "its end comes before its start",
    "sun never that low": "the sun does not sink that low",
    "no such hours": "the place is closed, so there is no such hour",
    "swallowed by the clock": "the clock skips it in going forward",
}
"""Why a window lights nothing, in words, by `year.EmptyWindow.why`."""


def date_words(day: date, *, year: bool = True) -> str:
    """`Fri 3 Dec 2027`, the same in every language setting."""
    short = f"{_WEEKDAYS[day.weekday()]} {day.day} {_MONTHS[day.month - 1]}"
    return f"{short} {day.year:04d}" if year else short


def one_line(text: str) -> str:
    """The text on one line, without signs that cannot be printed."""
    words = ("".join(filter(str.isprintable, word)) for word in text.split())
    return " ".join(filter(None, words))


def join_and(items: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return _join(items, "and")


def join_or(items: Sequence[str]) -> str:
    """`a`, `a or b`, `a, b or c`."""
    return _join(items, "or")


def counted(count: int, noun: str, plural: str = "") -> str:
    """`1 night`, `3 nights`, with thousands marked: `1,200 nights`."""
    return f"{count:,} {noun if count == 1 else plural or noun + 's'}"


def length_words(seconds: int) -> str:
    """`9 h 20 min`, to the nearest minute."""
    hours, minutes = divmod((seconds + MINUTE // 2) // MINUTE, 60)
    if not hours:
        return f"{minutes} min"
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"


def _join(items: Sequence[str], word: str) -> str:
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {word} {items[-1]}"
