"""A slow unit that looks at its clock once a minute: what the test run is compared with.

It knows clock changes, dates of events, special days and sun times on whole minutes, and has
nothing in common with the simulated unit of the test run but what a controller is said to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from schedcomp.controller import Controller
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
from schedcomp.unit_sun import UnitSun

ON, OFF = Action.ON, Action.OFF

Deed = tuple[Action, int]
"""An action and the slot it comes from, 0 for what the unit does by itself."""

Due = tuple[int, tuple[Deed, ...]]
"""An instant and everything that falls due then."""

ODD = -1
"""Stands for the readings of minutes that begin a date or change the clock."""


class Place(Record):
    """A unit, its zone, the sun it knows, and the minutes that are looked at.

    The walk begins `back_days` before the start, for a unit that works out what came before.
    """

    unit: Controller
    zone: str
    sun: UnitSun
    start: int
    end: int
    back_days: int = 0


def deeds(made: Program, place: Place, which: str = "nominal", channel: int = 1) -> list[Due]:
    """All that falls due on a channel from the start through the end, minute by minute.

    `which` instant of every sun time comes: "nominal", "earliest" or "latest".
    """
    mine = [e for e in made.events if channel in e.channels]
    days = [s for s in made.special_days if channel in s.channels]
    clocks = _by_reading(mine)
    suns = _by_sun(mine, place, which)
    last: dict[str, set[Action]] = {}
    newest: date | None = None
    found = []
    unit, first = place.unit, place.start - place.back_days * 86400
    minutes = _minutes(place.zone, first, place.end, unit.skipped_time, unit.repeated_time)
    looks = _looks(place.zone, first, place.end, unit.skipped_time, unit.repeated_time)
    worth = {number for reading in (*clocks, ODD) for number in looks.get(reading, ())}
    worth |= {(now - first) // 60 for now in suns if first <= now <= place.end}
    for now, shown, fresh in map(minutes.__getitem__, sorted(worth)):
        done: list[Deed] = []
        if newest is None or shown > newest:
            if newest is not None:
                done += _at_midnight(days, shown, place.unit, last)
            newest = shown
        due = [(e, shown) for m in fresh for e in clocks.get(m, ())] + suns.get(now, [])
        for event, day in due:
            if _fires(event, day, days):
                done.append((event.action, event.slot))
        _remember(due, last)
        if done and now >= place.start:
            found.append((now, tuple(done)))
    return found


def lamps(due: Iterable[Due], lit: bool) -> list[tuple[int, Action, int]]:
    """The switchings: instant, action and slot.

    Opposite actions in one minute are played so that the lamps flicker.
    """
    state, seen = lit, []
    for now, done in due:
        slots = dict(reversed(done))
        if len(slots) == 2:
            first, second = (OFF, ON) if state else (ON, OFF)
            seen += [(now, first, slots[first]), (now, second, slots[second])]
        elif (ON in slots) != state:
            state = not state
            action = ON if state else OFF
            seen.append((now, action, slots[action]))
    return seen


def slow_unit(
    made: Program, place: Place, lit: bool, which: str = "nominal", channel: int = 1
) -> list[tuple[int, Action]]:
    """The switchings of a channel from a state at the start."""
    return [(now, action) for now, action, _ in lamps(deeds(made, place, which, channel), lit)]


def order_unknown(switchings: Sequence[tuple[int, Action]]) -> bool:
    """Whether opposite actions met in one minute."""
    return len({now for now, _ in switchings}) < len(switchings)


def _fires(event: Event, day: date, days: Sequence[SpecialDays]) -> bool:
    plans = {s.plan for s in days if within(day, s.dates)}
    if event.plan:
        return event.plan in plans and event.plan != PLAIN_DARK
    return not plans and _named(event, day)


def _remember(due: Iterable[tuple[Event, date]], last: dict[str, set[Action]]) -> None:
    """What each plan did last, as if it were always in force; "" are the normal events."""
    now: dict[str, set[Action]] = {}
    for event, day in due:
        if event.plan or _named(event, day):
            now.setdefault(event.plan, set()).add(event.action)
    last.update(now)


def _at_midnight(
    days: Sequence[SpecialDays], today: date, unit: Controller, last: dict[str, set[Action]]
) -> Iterator[Deed]:
    """What the unit does by itself when its clock first shows a date."""
    yesterday = today - timedelta(days=1)
    rule = unit.exceptions
    for special in days:
        here, before = within(today, special.dates), within(yesterday, special.dates)
        if here and not before:
            if rule.start == "off" or special.plan == PLAIN_DARK:
                yield OFF, 0
            elif rule.start == "recalculates":
                yield from ((action, 0) for action in last.get(special.plan, ()))
        if before and not any(within(today, s.dates) for s in days):
            if rule.end == "off":
                yield OFF, 0
            elif rule.end == "recalculates":
                yield from ((action, 0) for action in last.get("", ()))


def _by_reading(events: Iterable[Event]) -> dict[int, list[Event]]:
    found: dict[int, list[Event]] = {}
    for event in events:
        if isinstance(event.start, ClockStart):
            found.setdefault(event.start.minutes, []).append(event)
    return found


def _by_sun(
    events: Iterable[Event], place: Place, which: str
) -> dict[int, list[tuple[Event, date]]]:
    """Sun events by the instant they fire at, with the date each is tested against."""
    zone = ZoneInfo(place.zone)
    first, last = place.start - (place.back_days + 2) * 86400, place.end + 2 * 86400
    found: dict[int, list[tuple[Event, date]]] = {}
    for event in events:
        if isinstance(event.start, SunOffset):
            for time in place.sun.of(event.start.word):
                happens = int(getattr(time, which))
                if not first <= happens <= last:
                    continue
                fires = happens + event.start.offset_minutes * 60
                tested = {
                    "fires on": _shown(fires, zone),
                    "event on": _shown(happens, zone),
                    "evening": time.day,
                }[str(place.unit.sun_date)]
                found.setdefault(fires, []).append((event, tested))
    return found


def _shown(instant: int, zone: ZoneInfo) -> date:
    return datetime.fromtimestamp(instant, UTC).astimezone(zone).date()


@lru_cache
def _minutes(
    zone: str, start: int, end: int, skipped: str, repeated: str
) -> list[tuple[int, date, tuple[int, ...]]]:
    """(instant, date shown, readings that fall due) for every minute.

    The clock jumps where its reading grows by more than a minute, and repeats readings that are
    not later than one it has shown.
    """
    info = ZoneInfo(zone)
    found = []
    newest = before = _reading(start - 60, info)
    # Over a whole year only Denver is walked, which changes its clock on the hour.
    look_every = 60 if end - start < 86400 * 20 else 3600
    for now in range(start, end + 1, 60):
        reading = _reading(now, info) if now % look_every == 0 else before + 1
        fresh = range(reading, reading + 1)
        if reading <= newest and repeated == "once":
            fresh = range(0)
        if reading > before + 1 and skipped == "at the jump":
            fresh = range(before + 1, reading + 1)
        day = _day(reading // 1440)
        found.append((now, day, tuple(r % 1440 for r in fresh)))
        newest, before = max(newest, reading), reading
    return found


@lru_cache
def _looks(zone: str, start: int, end: int, skipped: str, repeated: str) -> dict[int, list[int]]:
    """Which minutes a reading falls due in; `ODD` are those of a new date or a clock change."""
    found: dict[int, list[int]] = {}
    before: date | None = None
    for number, (_, shown, fresh) in enumerate(_minutes(zone, start, end, skipped, repeated)):
        if shown != before or len(fresh) != 1:
            found.setdefault(ODD, []).append(number)
        for reading in fresh:
            found.setdefault(reading, []).append(number)
        before = shown
    return found


def _reading(instant: int, zone: ZoneInfo) -> int:
    """Minutes the clock has shown since 1970 began on it."""
    shown = datetime.fromtimestamp(instant, UTC).astimezone(zone).replace(tzinfo=UTC)
    return int(shown.timestamp()) // 60


@lru_cache
def _day(number: int) -> date:
    return date(1970, 1, 1) + timedelta(days=number)


def _named(event: Event, day: date) -> bool:
    return day.weekday() in event.weekdays and (event.dates is None or within(day, event.dates))


def within(day: date, dates: EventDates) -> bool:
    """Whether a date lies in a range of dates."""
    first, last, years = dates.first, dates.last, dates.years
    if years is not None:
        return (years[0], *first) <= (day.year, day.month, day.day) <= (years[1], *last)
    here = (day.month, day.day)
    return first <= here <= last if first <= last else here >= first or here <= last
