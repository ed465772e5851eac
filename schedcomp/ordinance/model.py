"""A rule as written: clauses, what each asks for, and for which nights and circuits."""

from __future__ import annotations

from enum import Enum

from schedcomp.diag import SourceRange
from schedcomp.model import Period
from schedcomp.phrases.tree import Clock, Dates, Moment, PromiseLine, SunDefinition
from schedcomp.records import PlacedRecord, Record
from schedcomp.site import Hours


class Measure(Enum):
    """What a share is counted in."""

    POWER = "kW"
    LUMENS = "lumens"
    LAMPS = "lamps"


class While(Enum):
    """A state of the place or the sky that a duty waits for."""

    OPEN = "open"
    CLOSED = "closed"
    PEOPLE = "people are there"
    NOBODY = "nobody is there"
    DARK = "dark"


class Dating(Enum):
    """How a night is dated: from noon to noon by its evening, or by calendar date."""

    EVENING = "evening"
    CALENDAR = "calendar date"


class TimeBase(Enum):
    """The clock that the clock times of a clause are read on."""

    LEGAL = "legal"
    STANDARD = "standard"
    UTC = "UTC"


class Stretch(Record):
    """`from A until B`; `end` None: the text leaves the end open."""

    start: Moment
    end: Moment | None


class SunUp(Record):
    """While the sun is up, but for some minutes after sunrise and before sunset."""

    after_sunrise_minutes: int = 0
    before_sunset_minutes: int = 0


Condition = While | SunUp


class Times(Record):
    """When a duty holds: in any of the stretches (none: at all times) and in all the states."""

    stretches: tuple[Stretch, ...] = ()
    whiles: tuple[Condition, ...] = ()


# Forms of a rule


class Dark(Record):
    when: Times


class Lit(Record):
    when: Times


class LitOnly(Record):
    """Dark outside the hours; `these_dates_only`: dark on every other date, too."""

    when: Times
    these_dates_only: bool = False


class NotBefore(Record):
    """Not switched on earlier: in the evening than an evening moment, else in the morning."""

    moment: Moment


class Share(Record):
    """At most so many percent of what is connected may be lit, all circuits together.

    `at_least`: so many percent must be lit.
    """

    percent: float
    measure: Measure
    when: Times
    at_least: bool = False


class NeverAllOff(Record):
    """At least one of the circuits is lit."""

    when: Times


class LeastDark(Record):
    """In one piece each night, elapsed, within `bounds` (None: sunset to sunrise).

    `or_shorter`: a stretch that counts instead where it is shorter.
    """

    seconds: int
    bounds: Stretch | None = None
    or_shorter: Stretch | None = None


class MostLit(Record):
    """Lit no longer each night, all stretches together, within `bounds` (None: noon to noon)."""

    seconds: int
    bounds: Stretch | None = None


class MiddleDark(Record):
    """Dark for some time that begins not further than `reach_seconds` from the night's middle."""

    reach_seconds: int
    seconds: int


class Level(Record):
    """A light level: dark meets every maximum, lit is only a part of a minimum."""

    at_least: bool
    words: str
    when: Times


class Per(Enum):
    """What nights are counted in: nights in a row follow one another without a gap."""

    YEAR = "a year"
    MONTH = "a month"
    WEEK = "a week"
    ROW = "in a row"


class ExceptionCap(Record):
    """At most so many declared nights."""

    most: int
    per: Per = Per.YEAR


class LitNights(Record):
    """Lit at any of the times on at most so many nights."""

    most: int
    per: Per
    when: Times


class Ability(Enum):
    """What a clause asks of the controller or the wiring; `{number}` is the number asked for."""

    DAY_TYPES = "{number} day types a week"
    HOLIDAYS = "holiday shut-off"
    RESERVE = "keeps time {number} h without power"
    OVERRIDE = "override at most {number} h"
    AUTOMATIC = "automatic"
    SUN = "knows the sun"
    SUN_ERROR = "sun times within {number} min"
    CLOCK_ERROR = "clock within {number} min"
    DRIFT = "clock drift at most {number} min a year"
    SUMMER_TIME = "summer time by itself"
    OFFSETS = "an offset for each channel"
    YEARLY = "dates of the year"
    PHOTOCELL = "photocell"
    BACKUP = "calendar only as back-up to a photocell"
    LEVELS = "two levels"


class Capability(Record):
    ability: Ability
    number: float | None = None


class NotCheckable(Record):
    """What no schedule can show, and what would."""

    reason: str


Form = (
    Dark
    | Lit
    | LitOnly
    | NotBefore
    | Share
    | NeverAllOff
    | LeastDark
    | MiddleDark
    | MostLit
    | Level
    | ExceptionCap
    | LitNights
    | Capability
    | NotCheckable
)


# Nights


class Between(Record):
    """From a date that `first` names through the next that `last` names, both included."""

    first: Dates
    last: Dates


class Season(PlacedRecord):
    """Any of several dates phrases but those `removed`; `text` is what was written."""

    parts: tuple[Dates | Between, ...]
    text: str
    at: SourceRange | None = None
    removed: tuple[Dates | Between, ...] = ()


class HoursTest(Record):
    """What the hours of a night must be for the clause to hold.

    With `first` and `last` a closing (`of_close`) or the next opening (`of_open`) lies between
    the two readings; without `first` the closing is not later than `last`.
    """

    of_close: bool
    of_open: bool
    first: Clock | None
    last: Clock
    negated: bool
    text: str


class ExceptNights(Record):
    """Declared nights on which the clause does not hold, or only from a clock time on."""

    season: Season
    until: Clock | None
    because: str


class Grade(Record):
    """What more than so many failed nights of a calendar year are called."""

    more_than: int
    words: str


class Requirement(PlacedRecord, kw_only=True):
    """One clause. `circuits` and `serves` None: all; `use` are hours in place of the site's.

    `until` is the end chosen where the text leaves it open. `read` tells how far the text was
    read: "text", "summary" or "from memory".
    """

    clause: str
    text: str
    rule: str
    form: Form
    season: Season
    circuits: tuple[str, ...] | None = None
    serves: tuple[str, ...] | None = None
    exempt: tuple[tuple[str, str], ...] = ()
    above_kw: float | None = None
    because: str = ""
    by: Dating = Dating.EVENING
    time: TimeBase = TimeBase.LEGAL
    when: HoursTest | None = None
    until: Moment | None = None
    except_nights: tuple[ExceptNights, ...] = ()
    use: Hours | None = None
    valid: Period | None = None
    grades: tuple[Grade, ...] = ()
    nights_allowed: int = 0
    read: str = "text"
    at: SourceRange | None = None


class Ordinance(Record, kw_only=True):
    """A rule file. `name` is what the site file calls it; dusk and dawn None: the site's.

    An `unconfirmed` rule is one that nobody is named to have confirmed against the current text.
    """

    name: str
    title: str
    note: str = ""
    source: str = ""
    authority: str = ""
    text_version: str = ""
    read_on: str = ""
    entered_by: str = ""
    confirmed_by: str = ""
    dusk: SunDefinition | None = None
    dawn: SunDefinition | None = None
    requirements: tuple[Requirement, ...] = ()
    promises: tuple[PromiseLine, ...] = ()

    @property
    def unconfirmed(self) -> bool:
        return not self.confirmed_by


class Accepted(Record, kw_only=True):
    """A clause, or a promise by its line, that is accepted although it is not met; `at` is where a
    file says so.
    """

    clause: str
    because: str
    at: SourceRange | None = None
