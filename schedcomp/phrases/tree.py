"""Phrases as written. Positions do not take part in comparison, so print and parse round-trip."""

from __future__ import annotations

from datetime import date
from enum import Enum

from schedcomp.diag import SourceRange
from schedcomp.model import Half
from schedcomp.records import PlacedRecord, Record


class SunWord(Enum):
    """Sun moments; sunrise and sunset are standard, dawn and dusk as the site defines them.

    The middle of the night is the lower transit that follows the date's evening.
    """

    SUNRISE = "sunrise"
    SUNSET = "sunset"
    DAWN = "dawn"
    DUSK = "dusk"
    NIGHT_MIDDLE = "the middle of the night"

    @property
    def half(self) -> Half:
        return Half.MORNING if self in (SunWord.SUNRISE, SunWord.DAWN) else Half.EVENING


class HoursWord(Enum):
    """Moments of the opening hours; arrive and leave are the staff's."""

    OPEN = "open"
    CLOSE = "close"
    ARRIVE = "arrive"
    LEAVE = "leave"

    @property
    def is_opening(self) -> bool:
        return self in (HoursWord.OPEN, HoursWord.ARRIVE)


class Which(Enum):
    EARLIER = "earlier"
    LATER = "later"


class Clock(PlacedRecord):
    """A clock reading in minutes after 00:00, 0 to 1440 (24:00)."""

    minutes: int
    at: SourceRange | None = None

    @property
    def half(self) -> Half:
        return Half.MORNING if self.minutes < 720 else Half.EVENING


class SunMoment(PlacedRecord):
    word: SunWord
    offset_minutes: int = 0
    at: SourceRange | None = None


class HoursMoment(PlacedRecord):
    """`close + 30 min or 21:00`: `fallback` is the clock on dates without this moment."""

    word: HoursWord
    offset_minutes: int = 0
    fallback: Clock | None = None
    at: SourceRange | None = None


Plain = Clock | SunMoment | HoursMoment


class Pair(PlacedRecord):
    """`the earlier of A and B` or `the later of A and B`."""

    which: Which
    first: Plain
    second: Plain
    at: SourceRange | None = None


Moment = Plain | Pair


class Window(PlacedRecord):
    """`on from MOMENT until MOMENT`; in keep-dark lines without the `on`."""

    start: Moment
    end: Moment
    at: SourceRange | None = None


# Dates phrases


class EveryDay(Record):
    pass


class Weekdays(Record):
    """Weekday numbers, Monday is 0, in ascending order."""

    days: tuple[int, ...]


class SingleDate(Record):
    """One date of one year: `2027-12-24`."""

    day: date


class MonthDay(Record):
    """A date of every year: `dec 24`. Ordered as in the year."""

    month: int
    day: int


class YearlyRange(Record):
    """`nov 20 to jan 6`, both included; wraps the year end when the end comes first."""

    first: MonthDay
    last: MonthDay


class DatedRange(Record):
    """`2027-07-01 to 2027-07-14`, both included."""

    first: date
    last: date


class NthWeekday(Record):
    """`first mon of sep`; `nth` is 1 to 5, or -1 for the last; month 1 to 12."""

    nth: int
    weekday: int
    month: int


class Holidays(Record):
    """Every holiday of the site's list."""


class HolidayNamed(PlacedRecord):
    """`holiday Christmas Day`; `observed` names its substitute date."""

    name: str
    observed: bool = False
    at: SourceRange | None = None


class Easter(Record):
    """Western Easter Sunday plus days: `easter - 2 days`."""

    offset_days: int = 0


class Recurrence(PlacedRecord):
    """`rrule FREQ=...`, optionally `starting 2027-01-04`; the text is that of RFC 5545 RRULE."""

    rule: str
    starting: date | None = None
    at: SourceRange | None = None


class Neighbour(Record):
    """`day before X` (-1) or `day after X` (+1)."""

    days: int
    of: Dates


class WeekdaysIn(Record):
    """`fri, sat in jun 1 to aug 31`."""

    weekdays: Weekdays
    within: Dates


class AnyOf(Record):
    """`dec 24, dec 31`: two or more of the others."""

    members: tuple[Dates, ...]


class Except(Record):
    """`every day except holidays`."""

    base: Dates
    removed: Dates


Dates = (
    EveryDay
    | Weekdays
    | SingleDate
    | MonthDay
    | YearlyRange
    | DatedRange
    | NthWeekday
    | Holidays
    | HolidayNamed
    | Easter
    | Recurrence
    | Neighbour
    | WeekdaysIn
    | AnyOf
    | Except
)


class DatesPhrase(PlacedRecord):
    """Dates with the half of each date that is meant; `half` None means both."""

    dates: Dates
    half: Half | None = None
    at: SourceRange | None = None


# Lines


class CalendarLine(PlacedRecord):
    """`DATES: DAY TYPE`."""

    dates: DatesPhrase
    day_type: str
    at: SourceRange | None = None
    type_at: SourceRange | None = None


class KeepDarkLine(PlacedRecord):
    """`DATES: from MOMENT until MOMENT`."""

    dates: DatesPhrase
    window: Window
    at: SourceRange | None = None


class PromiseLine(PlacedRecord):
    """`DATES CLOCK: lit` or `dark`; `weekday` is the one written before a single date."""

    dates: DatesPhrase
    clock: Clock
    lit: bool
    weekday: int | None = None
    at: SourceRange | None = None


class DatedClock(Record):
    """`2027-06-18 21:00`."""

    day: date
    clock: Clock


class Stretch(PlacedRecord):
    """`2027-06-18 21:00 until 2027-06-19 00:30`: the time of a one-off."""

    start: DatedClock
    end: DatedClock
    at: SourceRange | None = None


class ClosedHours(Record):
    pass


class OpenHours(Record):
    """Opening periods of a date as pairs of clocks; `open all day` is 00:00 to 24:00."""

    periods: tuple[tuple[Clock, Clock], ...]


HoursValue = ClosedHours | OpenHours


class SunLevel(Record):
    """`sun 6 deg below horizon` (-6.0) or `20 lux` (level from clear-sky light, `lux` kept)."""

    level_degrees: float
    lux: float | None = None


class SunDefinition(PlacedRecord):
    """What dusk or dawn means: a crossing of a level, or sunset/sunrise, plus an offset."""

    base: SunWord | SunLevel
    offset_minutes: int = 0
    at: SourceRange | None = None
