"""Whether a program of a tiny world is one the controller can store, and right when it runs.

Events are read from what the program says, word by word; nothing is shared with the search for the
fewest slots but the times at which a start comes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import groupby, product

from schedcomp.model import Action
from schedcomp.program import (
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    SunOffset,
)
from schedcomp.records import Record
from schedcomp.target import ChannelTarget
from tests.brute_force import NEVER_ENDS, Stretch, World, eligible, offs_of, stretches

ONE_DAY = timedelta(days=1)


class Special(Record):
    """A stored special day or range: its dates in the world, in order."""

    plan: str
    days: tuple[date, ...]
    channels: tuple[int, ...]


def faults(program: Program, world: World) -> list[str]:
    """What is wrong with a program; nothing: it can be stored and is right whatever happens."""
    found = list(_not_storable(program, world))
    for channel in world.channels:
        fault = wrong(firings_of(program, world, channel), channel)
        if fault:
            found.append(f"channel {channel.channel}: {fault}")
    return found


def firings_of(program: Program, world: World, channel: ChannelTarget) -> list[Stretch]:
    """Every firing that matters on a channel, in order."""
    special = _special(program, world, channel.channel)
    resting = world.bits([day for s in special for day in s.days])
    found: list[Stretch] = []
    for event in program.events:
        if channel.channel in event.channels:
            occasions = world.starts[event.start]
            if event.plan:
                named = world.bits([d for s in special if s.plan == event.plan for d in s.days])
                found += stretches(occasions, event.action, named)
            else:
                named = world.bits([d for d in world.dates if names(event, d)])
                found += stretches(occasions, event.action, named, resting)
    offs = offs_of(world, [(s.days[0], s.days[-1]) for s in special])
    found += [Stretch(t, t, True, Action.OFF) for t in offs]
    begin = min([channel.start, *(s.earliest for s in channel.switchings)])
    end = max([channel.end, *(s.latest for s in channel.switchings)])
    found = [f for f in found if f.last >= begin and f.first <= end]
    return sorted(found, key=lambda f: (f.first, f.last))


def names(event: Event, day: date) -> bool:
    """Whether a normal event's weekdays and dates name a date."""
    return day.weekday() in event.weekdays and (event.dates is None or within(event.dates, day))


def within(dates: EventDates, day: date) -> bool:
    if dates.years is not None:
        first, last = date(dates.years[0], *dates.first), date(dates.years[1], *dates.last)
        return first <= day <= last
    here = (day.month, day.day)
    if dates.first <= dates.last:
        return dates.first <= here <= dates.last
    return here >= dates.first or here <= dates.last


def _special(program: Program, world: World, channel: int) -> list[Special]:
    found = []
    for stored in program.special_days:
        days = tuple(d for d in world.dates if within(stored.dates, d))
        if channel in stored.channels and days:
            found.append(Special(stored.plan, days, stored.channels))
    return found


# Right whatever happens


def wrong(firings: Sequence[Stretch], channel: ChannelTarget) -> str | None:
    """How some pattern of errors goes wrong, None if every pattern is right.

    Where no opposite actions can meet, their order is always the same: each unbroken sequence of
    one action switches the lamps at the earliest when its first firing may come, and at the latest
    when the first of its certain firings must have come.
    """
    latest = dict.fromkeys(Action, -1)
    for firing in firings:
        if latest[firing.action.opposite] >= firing.first:
            return f"opposite actions may meet at {firing.first}"
        latest[firing.action] = max(latest[firing.action], firing.last)
    lit, done = channel.lit_at_start, 0
    for action, sequence in groupby(firings, key=lambda f: f.action):
        together = list(sequence)
        if (action is Action.ON) == lit:
            continue
        first = min(f.first for f in together)
        surely = min([NEVER_ENDS, *(f.last for f in together if f.certain)])
        if done == len(channel.switchings):
            return f"an extra {action.value} at {first}"
        wanted = channel.switchings[done]
        if first < wanted.earliest:
            return f"switching {done} may come at {first}, before {wanted.earliest}"
        if surely > wanted.latest:
            return f"switching {done} may come after {wanted.latest}"
        lit, done = not lit, done + 1
    return None if done == len(channel.switchings) else f"switching {done} never comes"


def wrong_in_some_pattern(
    firings: Sequence[Stretch], channel: ChannelTarget, step: int, most: int
) -> bool | None:
    """The same, by playing every pattern of errors; None beyond `most` patterns."""
    choices: list[list[int | None]] = []
    patterns = 1
    for firing in firings:
        instants: list[int | None] = [*range(firing.first, firing.last + 1, step)]
        choices.append(instants if firing.certain else [*instants, None])
        patterns *= len(choices[-1])
    if patterns > most:
        return None
    return any(not plays_right(firings, instants, channel) for instants in product(*choices))


def plays_right(
    firings: Sequence[Stretch], instants: Sequence[int | None], channel: ChannelTarget
) -> bool:
    """One run: each firing at its instant, or not at all."""
    by_instant: dict[int, set[Action]] = {}
    for firing, instant in zip(firings, instants, strict=True):
        if instant is not None:
            by_instant.setdefault(instant, set()).add(firing.action)
    lit = channel.lit_at_start
    switched = []
    for instant in sorted(by_instant):
        if len(by_instant[instant]) > 1:
            return False
        action = next(iter(by_instant[instant]))
        if (action is Action.ON) != lit:
            switched.append((instant, action))
            lit = not lit
    return len(switched) == len(channel.switchings) and all(
        action is s.action and s.earliest <= instant <= s.latest
        for (instant, action), s in zip(switched, channel.switchings, strict=True)
    )


# What a controller can store


def slots_of(program: Program, world: World) -> int:
    """The slots that events take; special days have slots of their own."""
    weekdays: dict[object, int] = {}
    for event in program.needed:
        costs = world.controller.weekday_set_costs == "a slot per day" and not event.plan
        slot = (event.channels, event.slot)
        days = len(event.weekdays) if costs else 1
        weekdays[slot] = max(days, weekdays.get(slot, 0))
    return sum(weekdays.values())


def _not_storable(program: Program, world: World) -> Iterator[str]:
    for event in program.events:
        yield from _bad_event(event, world)
    yield from _bad_slots(program, world)
    yield from _bad_offsets(program, world)
    yield from _bad_special_days(program, world)


def _bad_event(event: Event, world: World) -> Iterator[str]:
    controller = world.controller
    if event.start not in world.starts:
        yield f"slot {event.slot}: no such start, {event.start}"
    known = {c.channel for c in world.channels}
    if not event.channels or not set(event.channels) <= known:
        yield f"slot {event.slot}: channels {event.channels}"
    if len(event.channels) > 1 and controller.event_covers == "one channel":
        yield f"slot {event.slot}: several channels"
    if event.plan:
        return
    sets = controller.weekday_sets
    if not event.weekdays or (sets is not None and event.weekdays not in sets):
        yield f"slot {event.slot}: weekdays {sorted(event.weekdays)}"
    yield from _bad_dates(f"slot {event.slot}", event.dates, controller.date_ranges)


def _bad_dates(what: str, dates: EventDates | None, ranges: str) -> Iterator[str]:
    if dates is None:
        return
    wraps = dates.years is None and dates.first > dates.last
    if (
        ranges == "none"
        or (dates.years is None) == (ranges == "with year")
        or (wraps and ranges != "yearly")
    ):
        yield f"{what}: dates {dates}"


def _bad_slots(program: Program, world: World) -> Iterator[str]:
    controller = world.controller
    per_channel = controller.slots_are == "per channel"
    by_slot: dict[object, list[Event]] = {}
    for event in program.events:
        slot: object = (event.channels, event.slot) if per_channel else event.slot
        by_slot.setdefault(slot, []).append(event)
    for slot, events in by_slot.items():
        alike = {(e.channels, e.weekdays, e.dates, e.plan) for e in events}
        actions = [e.action for e in events]
        paired = controller.slot_holds != "one action" and len(events) == 2
        if len(events) > 1 and not (paired and len(alike) == 1 and len(set(actions)) == 2):
            yield f"slot {slot} holds {len(events)} events"
    numbers = [c.channel for c in world.channels]
    apart = [[n] for n in numbers] if controller.slots_are == "per channel" else [numbers]
    for group in apart:
        own = tuple(
            e
            for e in program.events
            if set(e.channels) & set(group)
            and not (e.plan and controller.exceptions.events_from == "plan_events")
        )
        used = slots_of(Program(controller=program.controller, events=own), world)
        if used > controller.event_slots:
            yield f"{used} slots of {controller.event_slots} on channels {group}"


def _bad_offsets(program: Program, world: World) -> Iterator[str]:
    how = world.controller.offsets
    seen: dict[object, int] = {}
    for event in program.events:
        if isinstance(event.start, ClockStart) or how == "per event":
            continue
        assert isinstance(event.start, SunOffset)
        for channel in event.channels:
            key = (event.start.word, channel if how == "per channel" else None)
            if seen.setdefault(key, event.start.offset_minutes) != event.start.offset_minutes:
                yield f"{how}: offsets of {key} differ"


def _bad_special_days(program: Program, world: World) -> Iterator[str]:
    kept = world.controller.exceptions
    if len({s.slot for s in program.special_days}) != len(program.special_days):
        yield "two special days in one slot"
    if len(program.special_days) > kept.slots:
        yield f"{len(program.special_days)} special days of {kept.slots}"
    for stored in program.special_days:
        yield from _bad_special(stored, world)
    for channel in world.channels:
        days = [d for s in _special(program, world, channel.channel) for d in s.days]
        if len(days) != len(set(days)):
            yield "special days overlap"
    plans = {s.plan for s in program.special_days} - {PLAIN_DARK}
    if kept.plans is not None and len(plans) > kept.plans:
        yield f"{len(plans)} plans of {kept.plans}"
    if kept.events_from == "plan_events" and kept.plan_events is not None:
        for plan in plans:
            held = sum(1 for e in program.events if e.plan == plan)
            if held > kept.plan_events:
                yield f"{held} events in {plan} of {kept.plan_events}"
    unused = {e.plan for e in program.events if e.plan} - plans
    if unused:
        yield f"events of plans that no day runs: {sorted(unused)}"


def _bad_special(stored: SpecialDays, world: World) -> Iterator[str]:
    kept = world.controller.exceptions
    days = [d for d in world.dates if within(stored.dates, d)]
    numbers = {c.channel for c in world.channels}
    if not days:
        yield f"special day {stored.slot}: outside the period"
    if (stored.dates.years is None) == kept.with_year:
        yield f"special day {stored.slot}: {stored.dates}"
    if kept.length == "single date" and stored.dates.first != stored.dates.last:
        yield f"special day {stored.slot}: a range, {stored.dates}"
    if (stored.plan == PLAIN_DARK) != (kept.plan == "off"):
        yield f"special day {stored.slot}: plan {stored.plan!r}"
    if kept.covers == "one channel" and len(stored.channels) != 1:
        yield f"special day {stored.slot}: channels {stored.channels}"
    if kept.covers == "all channels" and not numbers <= set(stored.channels):
        yield f"special day {stored.slot}: not all channels, {stored.channels}"
    allowed = {d for c in world.channels for d in eligible(world, c)}
    if kept.covers == "one channel":
        own = [c for c in world.channels if c.channel in stored.channels]
        allowed = {d for c in own for d in eligible(world, c)}
    if not set(days) <= allowed:
        yield f"special day {stored.slot}: {sorted(set(days) - allowed)} may not be special"
