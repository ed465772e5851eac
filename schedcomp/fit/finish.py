"""From the fewest events to the program one keys in: nearest to the wish, numbered, made safe.

Each stage keeps what those before it have proven; none takes a slot more but the safety repeats,
which stand in slots that were left over.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from schedcomp.controller import Controller
from schedcomp.fit.deviation import nearest
from schedcomp.fit.left_at_ends import LeftAtEnds, left_at_ends
from schedcomp.fit.offers import SINGLE_WEEKDAYS, costs_by_day, stored_weekday_sets
from schedcomp.fit.overrides import cancels_override
from schedcomp.fit.purpose import purpose_of_repeat
from schedcomp.fit.repeats import Repeat, repeats, starts_looked_at
from schedcomp.fit.settled import Settled, Stored, no_rests
from schedcomp.fit.timetable import Timetable
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.fit.written import Writer, slots_taken
from schedcomp.model import Action
from schedcomp.program import Deviation, EndedOverride, Event, Program
from schedcomp.records import Record, replace
from schedcomp.site import Circuit


class Finished(Record):
    """A program with what the finishing found out about it."""

    program: Program
    deviations: tuple[Deviation, ...]
    ended_overrides: tuple[EndedOverride, ...]


def finished(
    found: Whole,
    job: UnitJob,
    timetable: Timetable,
    circuits: Sequence[Circuit],
    *,
    repeat: bool,
) -> Finished:
    """The program of a fit. The timetable has starts too that cover nothing."""
    settled = settle(found, job)
    better, deviations = nearest(
        settled, found.free, found.events, job.controller, found.special_days
    )
    if _ends(settled, better, job) != _ends(settled, found.events, job):
        better, deviations = found.events, ()
    writer = Writer(settled, found.special_days, job.controller, job.clock)
    written = writer.numbered(better)
    if sum(_taken(written, job.controller).values()) > found.slots:
        # Halves of one slot went apart; as found they share it.
        better, deviations, written = found.events, (), writer.numbered(found.events)
    program = Program(
        controller=job.controller.name,
        events=tuple(event for _, event in written),
        special_days=writer.days(),
    )
    if not repeat:
        return Finished(program, deviations, ())
    starts = starts_looked_at(better, job.controller)
    wide = settled.with_firings(timetable.firings(timetable.chosen(starts)))
    return _with_repeats(Finished(program, deviations, ()), wide, better, written, job, circuits)


def _ends(settled: Settled, events: Sequence[Stored], job: UnitJob) -> LeftAtEnds:
    return left_at_ends(settled, events, job.controller, job.clock)


def settle(found: Whole, job: UnitJob) -> Settled:
    """The borders and special days of a program that was found."""
    rests = no_rests(job.channels, job.ranges)
    for entry in found.special_days:
        for channel, marks in zip(job.channels, rests, strict=True):
            if channel.channel in entry.channels:
                marks[list(entry.days)] = True
    return Settled(job.channels, found.settled, job.firings, job.ranges, rests)


def _with_repeats(
    plain: Finished,
    settled: Settled,
    events: tuple[Stored, ...],
    written: Sequence[tuple[int, Event]],
    job: UnitJob,
    circuits: Sequence[Circuit],
) -> Finished:
    slot_of = {index: event.slot for index, event in written}
    normal = [i for i, event in enumerate(events) if not event.plan]
    repeatable = tuple(events[i] for i in normal)
    found = repeats(settled, repeatable, job.controller, _spare(plain.program, job))
    more: list[Event] = []
    kept: list[Repeat] = []
    slots: list[int] = []
    stored = events
    for one in found:
        if _ends(settled, (*stored, one.event), job) != _ends(settled, stored, job):
            continue
        stored = (*stored, one.event)
        repeated = None if one.of is None else slot_of[normal[one.of]]
        program = replace(plain.program, events=(*plain.program.events, *more))
        added = _events(one, repeated, program, settled, job)
        more += added
        kept.append(one)
        slots.append(added[0].slot)
    program = replace(plain.program, events=_in_order([*plain.program.events, *more], job))
    ended = cancels_override(settled, repeatable, kept, slots, job.controller, circuits)
    return replace(plain, program=program, ended_overrides=ended)


def _spare(program: Program, job: UnitJob) -> int | dict[int, int]:
    total = job.controller.event_slots
    events = program.in_event_slots(job.controller).events
    last = [(e, e.slot - 1 + slots_taken(e, job.controller)) for e in events]
    if job.controller.slots_are == "shared":
        return total - max((slot for _, slot in last), default=0)
    used = {c.channel: 0 for c in job.channels}
    for event, slot in last:
        for channel in event.channels:
            used[channel] = max(used[channel], slot)
    return {channel: total - slots for channel, slots in used.items()}


def _events(
    one: Repeat, repeated: int | None, before: Program, settled: Settled, job: UnitJob
) -> list[Event]:
    """A repeat in the next free slots: one, or single weekdays where each takes one."""
    stored = one.event
    weekdays = [day for day in range(7) if stored.weekdays >> day & 1]
    groups = [weekdays]
    if stored_weekday_sets(job.controller) == SINGLE_WEEKDAYS:
        groups = [[day] for day in weekdays]
    first = 1 + max(
        (
            e.slot - 1 + slots_taken(e, job.controller)
            for e in before.in_event_slots(job.controller).events
            if job.controller.slots_are == "shared" or e.channels == stored.channels
        ),
        default=0,
    )
    return [
        Event(
            slot=first + number,
            channels=stored.channels,
            action=stored.action,
            start=stored.start,
            weekdays=frozenset(group),
            dates=settled.ranges.dates(stored.places),
            purpose=purpose_of_repeat(one.why, repeated),
            safety=True,
        )
        for number, group in enumerate(groups)
    ]


def _in_order(events: Sequence[Event], job: UnitJob) -> tuple[Event, ...]:
    """In slot order; where channels have slots of their own, channel by channel."""
    if job.controller.slots_are == "shared":
        return tuple(sorted(events, key=lambda e: e.slot))
    return tuple(sorted(events, key=lambda e: (e.channels, e.slot)))


def needed_slots(found: Whole, job: UnitJob) -> int:
    """The slots to compare with a controller's: of all channels, or of the one that needs most.

    Plans that have slots of their own do not count.
    """
    apart = job.controller.exceptions.plans_have_slots
    counted = [e for e in found.events if not (apart and e.plan)]
    pairs = job.controller.slot_holds == "an on and an off"
    by_channels: Counter[tuple[int, ...]] = Counter()
    for alike in _by_dates(counted).values():
        ons = sum(event.action is Action.ON for event in alike)
        slots = max(ons, len(alike) - ons) if pairs else len(alike)
        by_day = costs_by_day(job.controller) and not alike[0].plan
        by_channels[alike[0].channels] += slots * (alike[0].weekdays.bit_count() if by_day else 1)
    if job.controller.slots_are == "shared":
        return by_channels.total()
    return max(by_channels.values(), default=0)


def _by_dates(events: Sequence[Stored]) -> dict[object, list[Stored]]:
    """Events that could be halves of one slot: the same channels, dates and plan."""
    found: dict[object, list[Stored]] = {}
    for event in events:
        key = (event.channels, event.weekdays, event.places, event.plan)
        found.setdefault(key, []).append(event)
    return found


def _taken(
    written: Sequence[tuple[int, Event]], controller: Controller
) -> dict[tuple[tuple[int, ...], int], int]:
    """The slots that events take, by channels and first slot; two halves share theirs."""
    return {(e.channels, e.slot): slots_taken(e, controller) for _, e in written}
