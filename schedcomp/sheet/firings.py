"""One date for every stored slot on which it can be seen to act."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.audit_report import AuditReport
from schedcomp.clock import Zone
from schedcomp.compiled import Compiled
from schedcomp.dated import covers
from schedcomp.model import MINUTE, Action, Instant, NoEvent
from schedcomp.program import ClockStart, Event, Program
from schedcomp.records import Record
from schedcomp.unit_place import unit_clock

_SETTLING_MINUTES = 3
"""A sun slot is waited for so much longer than the unit's sun times may be off."""


class Firing(Record):
    """An event at an instant at which it fires; `changes` tells whether the lamps change then."""

    event: Event
    instant: Instant
    changes: bool
    wait_minutes: int


def firings(compiled: Compiled, program: Program, first: date) -> tuple[Firing, ...]:
    """A firing of every event, as early as can be from a date on; those with a change first."""
    assert compiled.audit is not None
    clock = unit_clock(compiled.controller, compiled.world)
    begin = clock.first_pass(first, 0)
    found = (_firing(compiled, program, event, clock, begin) for event in program.events)
    return tuple(firing for firing in found if firing is not None)


def _firing(
    compiled: Compiled, program: Program, event: Event, clock: Zone, begin: Instant
) -> Firing | None:
    assert compiled.audit is not None
    wait = _wait(compiled, event)
    seen = _seen(compiled.audit, event)
    if seen:
        later = [t for t in seen if t >= begin]
        return Firing(event, (later or seen)[0], True, wait)
    every = sorted(_nominal(compiled, program, event, clock))
    if not every:
        return None
    later = [t for t in every if t >= begin]
    return Firing(event, (later or every)[0], False, wait)


def _wait(compiled: Compiled, event: Event) -> int:
    """Minutes before the firing at which the unit's clock is to be set."""
    if isinstance(event.start, ClockStart):
        return 2
    return round(compiled.controller.sun_error_minutes) + _SETTLING_MINUTES


def _seen(audit: AuditReport, event: Event) -> list[Instant]:
    """When the test run with exact sun times had this slot change the lamps."""
    return sorted(
        instant
        for channel in event.channels
        for instant, action, slot in audit.exact_run.of_channel(channel)
        if slot == event.slot and action is event.action
    )


def _nominal(compiled: Compiled, program: Program, event: Event, clock: Zone) -> Iterator[Instant]:
    """Every instant of the period at which the event fires by its dates."""
    for day in compiled.year.period.dates():
        plans = {
            days.plan
            for days in program.special_days
            if covers(days.dates, day) and set(days.channels) & set(event.channels)
        }
        if event.plan:
            applies = event.plan in plans
        else:
            fits = event.dates is None or covers(event.dates, day)
            applies = not plans and day.weekday() in event.weekdays and fits
        if applies:
            instant = _at(compiled, event, clock, day)
            if instant is not None:
                yield instant


def _at(compiled: Compiled, event: Event, clock: Zone, day: date) -> Instant | None:
    start = event.start
    if isinstance(start, ClockStart):
        if clock.is_skipped(day, start.minutes * MINUTE):
            return None
        return clock.first_pass(day, start.minutes * MINUTE)
    sun = compiled.controller.sun_start(start.word)
    found = compiled.world.sun.crossing(day, sun.half, sun.level_degrees)
    return None if isinstance(found, NoEvent) else found + start.offset_minutes * MINUTE


def is_on(firing: Firing) -> bool:
    return firing.event.action is Action.ON
