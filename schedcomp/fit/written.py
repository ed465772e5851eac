"""A program written down: slots numbered from evening to morning, each with its purpose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.clock import Zone
from schedcomp.clock_columns import offsets_at
from schedcomp.controller import Controller
from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.purpose import purpose_of
from schedcomp.fit.settled import Settled, Stored, StoredDays
from schedcomp.model import Action
from schedcomp.program import ClockStart, Event, SpecialDays, Start
from schedcomp.records import Record, replace
from schedcomp.target import TargetSwitching


class Writer(Record):
    """What slots are numbered and named from."""

    settled: Settled
    special_days: tuple[StoredDays, ...]
    controller: Controller
    clock: Zone

    def numbered(self, stored: Sequence[Stored]) -> tuple[tuple[int, Event], ...]:
        """The events in slot order, each with its place in `stored`.

        Slots go by channel, then normal before planned, evening to morning; those of plans that
        have slots of their own come after all the others.
        """
        every = (self._written(number, one) for number, one in enumerate(stored))
        written = sorted(every, key=lambda w: w.order)
        if self.controller.slot_holds == "an on and an off":
            slots = list(_paired(written))
        else:
            slots = [[one] for one in written]
        return tuple(sorted(self._numbered(slots), key=self._slot_order))

    def _slot_order(self, numbered: tuple[int, Event]) -> tuple[tuple[int, ...], int]:
        event = numbered[1]
        return self._group(event), event.slot

    def _group(self, event: Event) -> tuple[int, ...]:
        """The channels that number their slots together; empty where all do."""
        return event.channels if self.controller.slots_are == "per channel" else ()

    def days(self) -> tuple[SpecialDays, ...]:
        """The special days in slot order."""
        return tuple(
            SpecialDays(slot=slot, channels=d.channels, dates=d.dates, plan=d.plan)
            for slot, d in enumerate(self.special_days, start=1)
        )

    def _numbered(self, slots: Sequence[Sequence[_Written]]) -> Iterator[tuple[int, Event]]:
        apart = self.controller.exceptions.plans_have_slots
        used: dict[tuple[tuple[int, ...], bool], int] = {}
        for halves in slots:
            event = halves[0].event
            after = apart and bool(event.plan)
            key = self._group(event), after
            slot = used.get(key, self.controller.event_slots if after else 0) + 1
            used[key] = slot - 1 + slots_taken(event, self.controller)
            for one in halves:
                yield one.number, replace(one.event, slot=slot)

    def _written(self, number: int, stored: Stored) -> _Written:
        served = list(self._served(stored))
        dates = None if stored.plan else self.settled.ranges.dates(stored.places)
        event = Event(
            slot=0,
            channels=stored.channels,
            action=stored.action,
            start=stored.start,
            weekdays=frozenset(d for d in range(7) if stored.weekdays >> d & 1),
            dates=dates,
            plan=stored.plan,
            purpose=purpose_of(stored.action, served, stored.start),
            sources=tuple(
                sorted({s.reason.at for s in served if s.reason.at}, key=lambda at: at.start)
            ),
        )
        order = (
            stored.channels,
            bool(stored.plan),
            stored.plan,
            _minutes_after_noon(served, self.clock),
            stored.action is Action.OFF,
            _start_order(stored.start),
            sorted(event.weekdays),
            (dates.first, dates.last) if dates else ((0, 0), (0, 0)),
        )
        return _Written(number, stored, event, order)

    def _served(self, stored: Stored) -> Iterator[TargetSwitching]:
        """The switchings an event covers, in order."""
        for channel in stored.channels:
            index = self.settled.index(channel)
            switchings = self.settled.channels[index].switchings
            if stored.plan:
                rows = self._planned_rows(stored, index)
            else:
                rows = {row for c, row in self.settled.covered(stored) if c == channel}
            yield from (switchings[row] for row in sorted(rows))

    def _planned_rows(self, stored: Stored, index: int) -> set[int]:
        number, place = self.settled.group_of(stored.start)
        group = self.settled.firings[number]
        rows = self.settled.profile(number, index, stored.action).row[place]
        channel = self.settled.channels[index].channel
        days = {
            day
            for entry in self.special_days
            if entry.plan == stored.plan and channel in entry.channels
            for day in entry.days
        }
        return {
            int(rows[occasion])
            for occasion in np.flatnonzero(rows != NO_ROW).tolist()
            if set(group.dates[place, occasion].tolist()) <= days
        }


def slots_taken(event: Event, controller: Controller) -> int:
    """One, or one for each weekday of a normal event; then it holds the slots from its own on."""
    by_day = controller.weekday_set_costs == "a slot per day" and not event.plan
    return len(event.weekdays) if by_day else 1


class _Written(Record):
    number: int
    stored: Stored
    event: Event
    order: tuple[object, ...]


def _paired(written: Sequence[_Written]) -> Iterator[list[_Written]]:
    """An on and an off with the same channels, dates and plan share a slot, in order."""
    waiting: list[list[_Written]] = []
    for one in written:
        partner = next((slot for slot in waiting if _fits(slot, one)), None)
        if partner is None:
            waiting.append([one])
        else:
            partner.append(one)
    yield from waiting


def _fits(slot: Sequence[_Written], other: _Written) -> bool:
    [*rest] = slot
    held = rest[0].stored
    alike = replace(other.stored, action=held.action, start=held.start) == held
    return len(rest) == 1 and alike and held.action is not other.stored.action


def _minutes_after_noon(served: Sequence[TargetSwitching], clock: Zone) -> int:
    """A typical time of these switchings, counted from noon so that a night stays together."""
    if not served:
        return 0
    instants = np.array([s.instant for s in served], np.int64)
    seconds = (instants + offsets_at(clock, instants) - 12 * 3600) % 86400
    return int(np.median(seconds)) // 60


def _start_order(start: Start) -> tuple[int, str, int]:
    if isinstance(start, ClockStart):
        return (1, "", start.minutes)
    return (0, start.word, start.offset_minutes)
