"""Dates and times as they stand on paper: weekday, day, month in letters, 24-hour time.

A site may ask for the 12-hour clock; what is keyed into a unit is always given both ways.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date

from schedcomp.clock import Zone
from schedcomp.model import DAY, MINUTE, ONE_DAY, Instant
from schedcomp.records import Record
from schedcomp.told_time import in_halves, twelve_hour, twenty_four
from schedcomp.words import counted, date_words

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SHORT_WEEKDAYS = tuple(name[:3] for name in WEEKDAYS)
_FEW_RUNS = 3
_ISO_DATE = re.compile(r"(?<![\d-])\d{4}-\d{2}-\d{2}(?![\d-])")


class Hand(Record):
    """How times are written on this sheet."""

    twelve: bool = False

    def reading(self, minutes: int) -> str:
        """A clock reading, in minutes after 00:00."""
        return twelve_hour(minutes) if self.twelve else twenty_four(minutes)

    def time(self, zone: Zone, instant: Instant) -> str:
        """What the local clock shows, to the nearest minute."""
        shown = zone.local((instant + MINUTE // 2) // MINUTE * MINUTE)
        return self.reading(shown.hour * 60 + shown.minute)

    def phrase(self, text: str) -> str:
        """A phrase of the site file with its dates and clock times as they stand on this sheet."""
        dated = _ISO_DATE.sub(lambda found: _iso_words(found[0]), text)
        return in_halves(dated) if self.twelve else dated

    def moment(self, zone: Zone, instant: Instant, *, year: bool = False) -> str:
        """`Fri 3 Dec, 17:02`."""
        rounded = (instant + MINUTE // 2) // MINUTE * MINUTE
        day = date_words(zone.local_date(rounded), year=year)
        return f"{day}, {self.time(zone, instant)}"


def _iso_words(text: str) -> str:
    try:
        return date_words(date.fromisoformat(text))
    except ValueError:
        return text


def long_date(day: date) -> str:
    """`Friday 3 December 2027`."""
    return f"{WEEKDAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year:04d}"


def month_day(month: int, day: int) -> str:
    """`3 Dec`."""
    return f"{day} {MONTHS[month - 1][:3]}"


def date_runs(days: Iterable[date]) -> list[tuple[date, date]]:
    """The first and last of every run of dates without a gap."""
    runs: list[tuple[date, date]] = []
    for day in sorted(days):
        if runs and runs[-1][1] + ONE_DAY == day:
            runs[-1] = (runs[-1][0], day)
        else:
            runs.append((day, day))
    return runs


def runs_words(days: Iterable[date]) -> list[str]:
    """`Fri 21 May through Wed 21 Jul (62 nights)`; of many, only the first of a year names it.

    A single run has no count of its own.
    """
    texts: list[str] = []
    runs = date_runs(days)
    few, year = len(runs) <= _FEW_RUNS, None
    for first, last in runs:
        with_years = few or first.year != last.year
        told = date_words(first, year=with_years and (first == last or first.year != last.year))
        if first != last:
            told += f" through {date_words(last, year=with_years)}"
            if len(runs) > 1:
                told += f" ({counted((last - first).days + 1, 'night')})"
        texts.append(told if first.year == year or with_years else f"in {first.year} {told}")
        year = first.year
    return texts


def some_of(texts: Sequence[str], most: int, noun: str) -> tuple[str, ...]:
    """At most so many, and a last one that tells how many are left out."""
    if len(texts) <= most:
        return tuple(texts)
    left = len(texts) - most + 1
    return (*texts[: most - 1], f"and {left} more {noun}")


def utc_offset_words(seconds: int) -> str:
    """`UTC - 7 h`, `UTC + 5 h 30 min`."""
    hours, minutes = divmod(abs(seconds) % DAY // MINUTE, 60)
    sign = "-" if seconds < 0 else "+"
    return f"UTC {sign} {hours} h" + (f" {minutes} min" if minutes else "")
