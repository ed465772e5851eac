"""Whether the program of a transfer file can be: its controller's limits and its clock.

The reader has seen to the form; here is what each value means beside the others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from schedcomp.clock import ClockChange, zone
from schedcomp.controller import Controller
from schedcomp.messages import stick as messages
from schedcomp.model import ONE_DAY, WEEKDAYS, Action
from schedcomp.program import EVERY_WEEKDAY, PLAIN_DARK, ClockStart, Event, EventDates
from schedcomp.transfer import Transfer


def contradictions(transfer: Transfer) -> tuple[str, ...]:
    """Everything that this controller at this place could not do, each in a sentence."""
    found = [*_slots(transfer)]
    for event in transfer.program.events:
        found += _of_event(event, transfer.controller)
    found += _special_days(transfer)
    found += _clock(transfer)
    return tuple(dict.fromkeys(found))


def never_off(transfer: Transfer) -> tuple[str, ...]:
    """Circuits with an ON and no OFF: right where lamps are wanted at every hour to the end."""
    return tuple(c.name for c in transfer.circuits if _stays_on(transfer, c.channel))


def _stays_on(transfer: Transfer, channel: int) -> bool:
    actions = {e.action for e in transfer.program.events if channel in e.channels}
    return actions == {Action.ON} and not _is_switched_off(transfer, channel)


def _slots(transfer: Transfer) -> Iterator[str]:
    controller, program = transfer.controller, transfer.program
    room = 2 if controller.slot_holds == "an on and an off" else 1
    shared = controller.slots_are == "shared"
    held: Counter[tuple[tuple[int, ...], int]] = Counter()
    for event in program.in_event_slots(controller).events:
        held[() if shared else event.channels, event.slot] += 1
    for (_, slot), count in sorted(held.items()):
        if count > room:
            yield messages.SLOT_TWICE.format(slot=slot, count=count, room=room)
        if slot > controller.event_slots:
            yield messages.SLOT_BEYOND.format(slot=slot, last=controller.event_slots)
    used = Counter(channels for channels, _ in held)
    for channels, count in sorted(used.items()):
        if count > controller.event_slots:
            where = messages.OF_CHANNEL.format(channel=channels[0]) if channels else ""
            yield messages.TOO_MANY_SLOTS.format(
                used=count, where=where, there=controller.event_slots
            )


def _of_event(event: Event, controller: Controller) -> Iterator[str]:
    start, slot = event.start, event.slot
    if isinstance(start, ClockStart):
        if start.minutes % controller.step_minutes:
            time = f"{start.minutes // 60:02d}:{start.minutes % 60:02d}"
            yield messages.OFF_THE_STEP.format(slot=slot, time=time, step=controller.step_minutes)
    else:
        fields = {"slot": slot, "offset": start.offset_minutes, "word": start.word}
        if abs(start.offset_minutes) > controller.offset_limit_minutes:
            limit = controller.offset_limit_minutes
            yield messages.OFFSET_TOO_LARGE.format(limit=limit, **fields)
        if start.offset_minutes % controller.offset_step_minutes:
            step = controller.offset_step_minutes
            yield messages.OFFSET_OFF_STEP.format(step=step, **fields)
    sets = controller.weekday_sets
    if not event.plan and sets is not None and not _is_offered(event.weekdays, controller):
        days = " ".join(WEEKDAYS[day] for day in sorted(event.weekdays))
        yield messages.WEEKDAYS_UNKNOWN.format(slot=slot, days=days)
    if event.dates is not None and not event.plan:
        yield from _of_dates(slot, event.dates, controller.date_ranges)
    if len(event.channels) > 1 and controller.event_covers == "one channel":
        yield messages.SEVERAL_CHANNELS.format(slot=slot)


def _is_offered(weekdays: frozenset[int], controller: Controller) -> bool:
    sets = controller.weekday_sets or ()
    return weekdays == EVERY_WEEKDAY or weekdays in sets


def _of_dates(slot: int, dates: EventDates, offered: str) -> Iterator[str]:
    if offered == "none":
        yield messages.NO_DATES.format(slot=slot)
    elif offered == "with year":
        if dates.years is None:
            yield messages.DATES_WITHOUT_YEAR.format(slot=slot)
    elif dates.years is not None:
        yield messages.DATES_WITH_YEAR.format(slot=slot)
    elif offered == "yearly no wrap" and dates.first > dates.last:
        yield messages.DATES_WRAP.format(slot=slot)


def _special_days(transfer: Transfer) -> Iterator[str]:
    there, days = transfer.controller.exceptions, transfer.program.special_days
    if len(days) > there.slots:
        yield messages.TOO_MANY_SPECIAL.format(used=len(days), there=there.slots)
    for one in days:
        if there.plan == PLAIN_DARK and one.plan != PLAIN_DARK:
            yield messages.NO_SUCH_PLAN.format(slot=one.slot, plan=one.plan)


def _is_switched_off(transfer: Transfer, channel: int) -> bool:
    days = [d for d in transfer.program.special_days if channel in d.channels]
    return any(d.plan == PLAIN_DARK for d in days) or (
        bool(days) and transfer.controller.exceptions.start == "off"
    )


def _clock(transfer: Transfer) -> Iterator[str]:
    """The file's midnights and clock changes against those of the zone as known here."""
    period, name = transfer.period, transfer.zone_name
    here = zone(name, period.first - ONE_DAY, period.last + ONE_DAY)
    ends = here.first_pass(period.first, 0), here.first_pass(period.last + ONE_DAY, 0)
    if ends != (transfer.start, transfer.end):
        yield messages.OTHER_MIDNIGHT.format(zone=name)
    if _inside(here.changes(), transfer) != transfer.clock_changes:
        yield messages.OTHER_CHANGES.format(zone=name)


def _inside(changes: tuple[ClockChange, ...], transfer: Transfer) -> tuple[ClockChange, ...]:
    return tuple(c for c in changes if transfer.start <= c.instant < transfer.end)
