"""Nouns that every stage shares.

An instant is a whole number of seconds since 1970-01-01T00:00:00Z. A date is a local civil date.
"""

from __future__ import annotations

from datetime import date, timedelta
from enum import Enum

from schedcomp.records import Record

Instant = int

MINUTE = 60
HOUR = 3600
DAY = 86400
ONE_DAY = timedelta(days=1)

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")

FIRST_YEAR = 2001
LAST_YEAR = 2099


class Action(Enum):
    """What a switching or a stored event does."""

    ON = "on"
    OFF = "off"

    @property
    def opposite(self) -> Action:
        return Action.OFF if self is Action.ON else Action.ON


class Half(Enum):
    """The side of a date on which a moment stands; morning is before 12:00."""

    MORNING = "mornings"
    EVENING = "evenings"


class NoEventReason(Enum):
    """Why the sun does not cross a level on a date, as told of sunrise and sunset."""

    STAYS_ABOVE = "the sun stays above the horizon"
    STAYS_BELOW = "the sun stays below the horizon"


class NoEvent(Record):
    """The sun does not cross the level on this date; never to be taken for a time."""

    reason: NoEventReason


class Period(Record):
    """Local dates from `first` through `last`, both included."""

    first: date
    last: date

    def dates(self, before: int = 0, after: int = 0) -> list[date]:
        """Every date of the period, widened by days before and after."""
        first, last = self.first.toordinal() - before, self.last.toordinal() + after
        return list(map(date.fromordinal, range(first, last + 1)))

    def wider(self, days: int) -> Period:
        """With so many more days on both sides."""
        return Period(self.first - timedelta(days=days), self.last + timedelta(days=days))

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    @property
    def years(self) -> tuple[int, ...]:
        return tuple(range(self.first.year, self.last.year + 1))
