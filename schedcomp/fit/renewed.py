"""A program that was found, written over the one that the units hold.

Where a slot is one event and no event depends on another's offset, old events that do no harm
stay, and as few as possible are added; elsewhere the new program keeps the slots of what is
equal.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.controller import Controller
from schedcomp.fit.finish import Finished, finished, settle
from schedcomp.fit.kept import Kept, OldEvent, least_added
from schedcomp.fit.kept_days import fewer, still_special, with_old
from schedcomp.fit.left_at_ends import works_out_ends
from schedcomp.fit.overrides import cancels_override
from schedcomp.fit.purpose import idle_words, is_midday, repeated_slot, start_words
from schedcomp.fit.repeats import Repeat
from schedcomp.fit.settled import Settled, Stored, StoredDays
from schedcomp.fit.timetable import Timetable
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.fit.written import Writer
from schedcomp.model import Action
from schedcomp.program import EndedOverride, Event, Program, SpecialDays
from schedcomp.records import Record, replace
from schedcomp.renewal import (
    body_of,
    plan_names,
    slot_changes,
    spared_events,
    with_slots_of,
    written_over,
)
from schedcomp.site import Circuit

MOST_CHOICES_OF_DAYS = 6
"""Each choice of special days tried takes as long as a small fit."""


class Renewed(Record):
    """`slots` are needed of the renewed program: without what is idle, which only does no harm."""

    finished: Finished
    slots: int


def renewed(
    found: Whole,
    job: UnitJob,
    timetable: Timetable,
    circuits: Sequence[Circuit],
    old: Program,
    *,
    repeat: bool,
) -> Renewed:
    """The program with as few slots changed as possible; `repeat` False: nothing idle stays."""
    if _is_plain(job.controller):
        found = _named_as_before(found, job, old)
        tried = list(_tries(found, job, timetable, old, repeat=repeat))
        if tried:
            best = min(tried, key=lambda t: (t.changes, t.slots))
            ended = _ended(best, job.controller, circuits)
            return Renewed(Finished(best.program, (), ended), best.slots)
    fresh = finished(found, job, timetable, circuits, repeat=repeat)
    program = written_over(old, fresh.program, job.controller, idle=repeat)
    moved = tuple(_moved(e, fresh.program, program) for e in fresh.ended_overrides)
    return Renewed(replace(fresh, program=program, ended_overrides=moved), found.slots)


class _Try(Record):
    """A renewed program, and what it was made from."""

    program: Program
    settled: Settled
    kept: Kept
    changes: int

    @property
    def slots(self) -> int:
        """The slots it needs: without what is idle."""
        return replace(self.program, events=self.program.needed).slots_used


def _named_as_before(found: Whole, job: UnitJob, old: Program) -> Whole:
    """The same with plans named as the old program names them."""
    writer = Writer(settle(found, job), found.special_days, job.controller, job.clock)
    written = tuple(event for _, event in writer.numbered(found.events))
    fresh = Program(controller=job.controller.name, events=written, special_days=writer.days())
    names = plan_names(old, fresh)
    return replace(
        found,
        events=tuple(replace(e, plan=names.get(e.plan, e.plan)) for e in found.events),
        special_days=tuple(replace(d, plan=names.get(d.plan, d.plan)) for d in found.special_days),
    )


def _tries(
    found: Whole,
    job: UnitJob,
    timetable: Timetable,
    old: Program,
    *,
    repeat: bool,
) -> Iterator[_Try]:
    """With the special days found, and with old ones that may stay instead of some."""

    def tried(days: tuple[StoredDays, ...]) -> _Try | None:
        return _tried(replace(found, special_days=days), job, timetable, old, repeat=repeat)

    first = tried(found.special_days)
    if first is not None:
        yield first
    stay = still_special(old.special_days, job)
    choice = with_old(found.special_days, stay)
    most = job.controller.exceptions.slots
    left = MOST_CHOICES_OF_DAYS
    while choice is not None and left:
        found_here: list[tuple[_Try, tuple[StoredDays, ...]]] = []
        for days in (choice, *fewer(choice, stay)):
            one = tried(days) if left and len(days) <= most else None
            left -= left > 0
            if one is not None:
                found_here.append((one, days))
        yield from (one for one, _ in found_here)
        better = min(found_here, key=lambda f: (f[0].changes, f[0].slots), default=None)
        choice = None if better is None or better[1] == choice else better[1]


def _tried(
    found: Whole, job: UnitJob, timetable: Timetable, old: Program, *, repeat: bool
) -> _Try | None:
    settled = settle(found, job).with_firings(timetable.every())
    kept = least_added(
        settled, job.firings, found.special_days, found.events, old.events, job.controller
    )
    program = None
    if kept is not None:
        program = _Desk(found, job, settled, old, kept).program(repeat=repeat)
    if kept is None or program is None:
        return None
    changes = len(slot_changes(old, program, job.controller))
    return _Try(program, settled, kept, changes)


def _is_plain(controller: Controller) -> bool:
    return (
        controller.slot_holds == "one action"
        and controller.offsets == "per event"
        and controller.weekday_set_costs == "one slot"
        and not works_out_ends(controller)
    )


class _Desk(Record):
    """What a renewed program is written from."""

    found: Whole
    job: UnitJob
    settled: Settled
    old: Program
    kept: Kept

    def program(self, *, repeat: bool) -> Program | None:
        """The renewed program; None where the controller has no room for it."""
        wanted = self._wanted()
        controller = self.job.controller
        idle = list(self._idle(wanted)) if repeat else []
        past = [d for d in self.old.special_days if self._is_past(d)] if repeat else []
        program = with_slots_of(self.old, wanted, idle, past, controller)
        if program is None:
            return None
        return replace(program, events=tuple(_with_repeats_told(program.events)))

    def _wanted(self) -> Program:
        """The events that do something, numbered as if they stood alone, and the special days."""
        used = {days.plan for days in self.found.special_days}
        planned = [e for e in self.found.events if e.plan in used]
        stay = [one.stored for one in self.kept.needed if one.stored is not None]
        writer = Writer(self.settled, self.found.special_days, self.job.controller, self.job.clock)
        written = writer.numbered([*stay, *self.kept.added, *planned])
        events = [
            replace(event, weekdays=old.event.weekdays, dates=old.event.dates)
            if (old := self._old_at(place)) is not None
            else event
            for place, event in written
        ]
        return Program(
            controller=self.job.controller.name, events=tuple(events), special_days=writer.days()
        )

    def _old_at(self, place: int) -> OldEvent | None:
        needed = [one for one in self.kept.needed if one.stored is not None]
        return needed[place] if place < len(needed) else None

    def _idle(self, wanted: Program) -> Iterator[Event]:
        """Old events that only do no harm, told as what they are now."""
        bodies = {body_of(event) for event in wanted.events}
        for one in self.kept.idle:
            if body_of(one.event) not in bodies:
                yield replace(one.event, safety=True)
        yield from spared_events(self.old, wanted, self.job.controller)

    def _is_past(self, days: SpecialDays) -> bool:
        """Whether special days with their years lie before the period."""
        years = days.dates.years
        first = self.settled.ranges.axis.first
        return years is not None and (years[1], *days.dates.last) < (
            first.year,
            first.month,
            first.day,
        )


def _with_repeats_told(events: Sequence[Event]) -> Iterator[Event]:
    """The events; a repeat names its slot only while what it repeats is still there."""
    for event in events:
        if event.safety and not _repeats_still(event, events):
            yield replace(event, purpose=idle_words(event.action, event.start, event.plan))
        else:
            yield event


def _repeats_still(event: Event, events: Sequence[Event]) -> bool:
    named = repeated_slot(event.purpose)
    if named is None:
        return is_midday(event.purpose)
    slot, why = named
    return any(
        e.slot == slot
        and not e.safety
        and (e.channels, e.action) == (event.channels, event.action)
        and why.endswith(f" after {start_words(e.start)}")
        for e in events
    )


def _ended(
    done: _Try, controller: Controller, circuits: Sequence[Circuit]
) -> tuple[EndedOverride, ...]:
    """The idle events that would end a wall override."""
    stored: dict[object, Stored] = {
        body_of(one.event): one.stored for one in done.kept.idle if one.stored is not None
    }
    here = [
        e
        for e in done.program.events
        if e.safety and e.action is Action.OFF and body_of(e) in stored
    ]
    repeats = [Repeat(stored[body_of(e)], None, e.purpose) for e in here]
    slots = [e.slot for e in here]
    return cancels_override(done.settled, (), repeats, slots, controller, circuits)


def _moved(ended: EndedOverride, before: Program, after: Program) -> EndedOverride:
    """The same with the slot in which its repeat stands now."""
    meant = [e for e in before.events if e.slot == ended.slot and ended.channel in e.channels]
    now = [e.slot for m in meant[:1] for e in after.events if body_of(e) == body_of(m)]
    return replace(ended, slot=now[0]) if now else ended
