"""A controller program: the events a unit holds, slot by slot."""

from __future__ import annotations

from schedcomp.controller import Controller
from schedcomp.diag import SourceRange
from schedcomp.model import Action
from schedcomp.records import Record, replace
from schedcomp.target import TargetSwitching

EVERY_WEEKDAY = frozenset(range(7))


class ClockStart(Record):
    """A clock reading of the controller, minutes after 00:00, 0 to 1439."""

    minutes: int


class SunOffset(Record):
    """A sun event of the controller (its word) plus minutes."""

    word: str
    offset_minutes: int


Start = ClockStart | SunOffset


class EventDates(Record):
    """From one month-day of every year through another, both included, wrapping the year end.

    With `years` (first and last year) they are dates of those years.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    years: tuple[int, int] | None = None


PLAIN_DARK = "off"
"""The plan of special days on which the controller just switches off at their first 00:00."""


class Event(Record, kw_only=True):
    """A stored action. `dates` None: every date. Weekdays count from Monday, 0.

    Slots count from 1; on a controller whose slots hold an on and an off two events may share
    one. Where plans have slots of their own, these count on after the last event slot. `plan` is
    empty for a normal event; else the event fires on the special days of that plan
    only, and its weekdays and dates are not used. `sources` are the site-file lines this event
    serves; `only_year` is the year of the dated lines it was made for. A `safety` event repeats
    what others do and is not needed while all goes well.
    """

    slot: int
    channels: tuple[int, ...]
    action: Action
    start: Start
    weekdays: frozenset[int] = EVERY_WEEKDAY
    dates: EventDates | None = None
    plan: str = ""
    purpose: str = ""
    sources: tuple[SourceRange, ...] = ()
    only_year: int | None = None
    safety: bool = False


class SpecialDays(Record, kw_only=True):
    """Whole controller dates on which the normal events of `channels` rest.

    Their `plan` runs instead: the events that carry its name, none at all if there are none, or
    `PLAIN_DARK`. Slots count from 1, apart from those of events.
    """

    slot: int
    channels: tuple[int, ...]
    dates: EventDates
    plan: str
    only_year: int | None = None


class Program(Record, kw_only=True):
    """The events in slot order, and the special days in theirs."""

    controller: str
    events: tuple[Event, ...]
    special_days: tuple[SpecialDays, ...] = ()

    @property
    def needed(self) -> tuple[Event, ...]:
        """The events without the safety repeats."""
        return tuple(e for e in self.events if not e.safety)

    @property
    def slots_used(self) -> int:
        """Stored slots, safety repeats included; special days have slots of their own.

        Where slots are per channel, those of each channel count from 1; events that share a slot
        have the same channels.
        """
        return len({(e.channels, e.slot) for e in self.events})

    def in_event_slots(self, controller: Controller) -> Program:
        """Without the events of plans that have slots of their own."""
        if not controller.exceptions.plans_have_slots:
            return self
        return replace(self, events=tuple(e for e in self.events if not e.plan))


class Deviation(Record):
    """How far one circuit's switchings lie from what was asked, summed over the period.

    `bound_seconds` is a proven lower bound for every program of as few slots.
    """

    circuit: str
    load_kw: float
    seconds: int
    bound_seconds: int


class Certificate(Record, kw_only=True):
    """`slots` used, and a proven lower bound for every valid program at this tolerance.

    Safety repeats do not count.
    """

    slots: int
    bound: int
    tolerance_minutes: int
    deviations: tuple[Deviation, ...] = ()

    @property
    def proven(self) -> bool:
        return self.slots == self.bound


class EndedOverride(Record, kw_only=True):
    """An OFF repeat that comes while an override may still hold a circuit lit after its OFF.

    `after_minutes`: how soon after an OFF it comes, at the soonest. `override_minutes`: how long
    the override would hold.
    """

    circuit: str
    channel: int
    slot: int
    after_minutes: int
    override_minutes: int


class SmallestTolerance(Record):
    """The smallest tolerance found at which a program fits, None where none was found, and what it
    takes there.

    `proven`: for certain nothing smaller does, or none at all.
    """

    tolerance_minutes: int | None
    slots_needed: int | None
    proven: bool


class Fitted(Record, kw_only=True):
    """The program with its certificate, or why there is none (`program` None).

    `slots_needed` is what a program takes at `tolerance_minutes`, the site's tolerance used
    or the largest one allowed, whatever circuits have of their own; None
    when no program of any length does the job there, and then `out_of_reach` names switchings,
    by circuit, that nothing the controller can store would do.
    `slots_at_limit`, where the smallest tolerance was searched for, is what the largest takes.
    """

    program: Program | None
    certificate: Certificate | None
    slots_needed: int | None
    tolerance_minutes: int
    out_of_reach: tuple[tuple[str, tuple[TargetSwitching, ...]], ...] = ()
    slots_at_limit: int | None = None
    ended_overrides: tuple[EndedOverride, ...] = ()

    @property
    def most_minutes(self) -> int:
        """How far some lamp may be off: a tolerance of a circuit's own counts."""
        certificate = self.certificate
        return self.tolerance_minutes if certificate is None else certificate.tolerance_minutes
