"""A controller program: the events a unit holds, slot by slot."""

from __future__ import annotations

from dataclasses import dataclass

from schedcomp.diag import SourceRange
from schedcomp.model import Action
from schedcomp.target import TargetSwitching

EVERY_WEEKDAY = frozenset(range(7))


@dataclass(frozen=True, slots=True)
class ClockStart:
    """A clock reading of the controller, minutes after 00:00, 0 to 1439."""

    minutes: int


@dataclass(frozen=True, slots=True)
class SunOffset:
    """A sun event of the controller (its word) plus minutes."""

    word: str
    offset_minutes: int


Start = ClockStart | SunOffset


@dataclass(frozen=True, slots=True)
class EventDates:
    """From one month-day of every year through another, both included, wrapping the year end.

    With `years` (first and last year) they are dates of those years.
    """

    first: tuple[int, int]
    last: tuple[int, int]
    years: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One stored slot. `dates` None: every date. Weekdays count from Monday, 0.

    `sources` are the site-file lines this event serves.
    """

    channel: int
    action: Action
    start: Start
    weekdays: frozenset[int] = EVERY_WEEKDAY
    dates: EventDates | None = None
    purpose: str = ""
    sources: tuple[SourceRange, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """The events in slot order; slot numbers count from 1."""

    controller: str
    events: tuple[Event, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """`events` used, and a proven lower bound for every valid program at this tolerance."""

    events: int
    bound: int
    tolerance_minutes: int

    @property
    def proven(self) -> bool:
        return self.events == self.bound


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitted:
    """The program with its certificate, or why there is none (`program` None).

    `slots_needed` is what a program takes at `tolerance_minutes`, the tolerance used or the
    largest one allowed; None when no program of any length does the job there, and then
    `out_of_reach` names switchings, by circuit, that nothing the controller can store would do.
    `slots_at_limit`, where the smallest tolerance was searched for, is what the largest takes.
    """

    program: Program | None
    certificate: Certificate | None
    slots_needed: int | None
    tolerance_minutes: int
    out_of_reach: tuple[tuple[str, tuple[TargetSwitching, ...]], ...] = ()
    slots_at_limit: int | None = None
