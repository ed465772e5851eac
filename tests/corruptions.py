"""Programs with one field of one slot changed: every field of every event and special day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from schedcomp.controller import Controller
from schedcomp.diag import Source, SourceRange
from schedcomp.program import (
    EVERY_WEEKDAY,
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
    SunOffset,
)
from schedcomp.records import Record, field_names, replace

ONLY_WORDS = frozenset({"purpose", "sources", "only_year", "safety", "slot"})
"""Fields that tell people something, or where it stands, and change no lamp."""


class Corrupted(Record):
    """`field` as in the program's own types; `event` or `special` counted from 0."""

    kind: type[Event] | type[SpecialDays]
    field: str
    program: Program


def corrupted(program: Program, controller: Controller) -> Iterator[Corrupted]:
    """Every program with one field changed; a field nobody can change is a KeyError."""
    years = _years(program)
    for number, event in enumerate(program.events):
        changes = _of_event(event, program, controller, years)
        for name in field_names(Event):
            for value in changes[name]:
                changed = replace(event, **{name: value})
                if changed != event:
                    events = (*program.events[:number], changed, *program.events[number + 1 :])
                    yield Corrupted(Event, name, replace(program, events=events))
    for number, days in enumerate(program.special_days):
        changes = _of_days(days, program, years)
        for name in field_names(SpecialDays):
            for value in changes[name]:
                other = replace(days, **{name: value})
                if other != days:
                    kept = (
                        *program.special_days[:number],
                        other,
                        *program.special_days[number + 1 :],
                    )
                    yield Corrupted(SpecialDays, name, replace(program, special_days=kept))


def without_one(program: Program) -> Iterator[Program]:
    """The program without each of its events, and without each of its special days."""
    for number in range(len(program.events)):
        yield replace(program, events=program.events[:number] + program.events[number + 1 :])
    for number in range(len(program.special_days)):
        kept = program.special_days[:number] + program.special_days[number + 1 :]
        yield replace(program, special_days=kept)


def _of_event(
    event: Event, program: Program, controller: Controller, years: Sequence[int]
) -> dict[str, Sequence[object]]:
    numbers = range(1, controller.channels + 1)
    somewhere = SourceRange(Source("x", "x"), 0, 1)
    return {
        "slot": [1000],
        "channels": [(n,) for n in numbers] + [tuple(numbers)],
        "action": [event.action.opposite],
        "start": _starts(event.start, controller),
        "weekdays": _weekday_sets(event.weekdays),
        "dates": _dates(event.dates, years),
        "plan": ["", "no such plan", PLAIN_DARK, *(days.plan for days in program.special_days)],
        "purpose": ["other words"],
        "sources": [(somewhere,)],
        "only_year": [1999],
        "safety": [not event.safety],
    }


def _of_days(
    days: SpecialDays, program: Program, years: Sequence[int]
) -> dict[str, Sequence[object]]:
    numbers = sorted({n for event in program.events for n in event.channels} | {*days.channels})
    return {
        "slot": [1000],
        "channels": [(), *((n,) for n in numbers), tuple(numbers)],
        "dates": [d for d in _dates(days.dates, years) if d is not None],
        "plan": [PLAIN_DARK, "no such plan", *(e.plan for e in program.events if e.plan)],
        "only_year": [1999],
    }


def _starts(start: Start, controller: Controller) -> list[Start]:
    """Some minutes off, half a day off, and every other kind of start."""
    words = [s.word for s in controller.sun_starts]
    step = controller.step_minutes
    if isinstance(start, ClockStart):
        found: list[Start] = [
            ClockStart((start.minutes + by) % 1440) for by in (step, -step, 60, -60, 720)
        ]
        return found + [SunOffset(word, 0) for word in words]
    by_offset = controller.offset_step_minutes
    limit = controller.offset_limit_minutes
    offsets = [start.offset_minutes + by for by in (by_offset, -by_offset, 15, -15, 60)]
    offsets += [0, -start.offset_minutes]
    found = [SunOffset(start.word, o) for o in offsets if not o % by_offset and abs(o) <= limit]
    found += [SunOffset(word, start.offset_minutes) for word in words]
    return found + ([ClockStart(0), ClockStart(18 * 60)] if controller.starts_clock else [])


def _weekday_sets(days: frozenset[int]) -> list[frozenset[int]]:
    """Each weekday taken away or added, all a day later or earlier, none, all."""
    found = [days ^ {day} for day in range(7)]
    found += [frozenset((day + by) % 7 for day in days) for by in (1, -1)]
    return [*found, frozenset(), EVERY_WEEKDAY]


def _dates(dates: EventDates | None, years: Sequence[int]) -> list[EventDates | None]:
    """Either end a day off, both, turned round, another year, no dates at all."""
    if dates is None:
        return [
            EventDates((1, 2), (12, 31)),
            EventDates((7, 1), (6, 29)),
            EventDates((3, 1), (3, 1)),
        ]
    found: list[EventDates | None] = [None, replace(dates, first=dates.last, last=dates.first)]
    for first, last in ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1)):
        found.append(
            replace(dates, first=_later(dates.first, first), last=_later(dates.last, last))
        )
    if dates.years is None:
        found += [replace(dates, years=(year, year)) for year in years]
    else:
        found += [
            replace(dates, years=None),
            replace(dates, years=(dates.years[0] - 1, dates.years[1] - 1)),
        ]
    return found


def _later(month_day: tuple[int, int], days: int) -> tuple[int, int]:
    moved = date(2024, *month_day) + timedelta(days=days)
    return moved.month, moved.day


def _years(program: Program) -> list[int]:
    """A year long over, and those that are written in the program."""
    ranges = [e.dates for e in program.events] + [s.dates for s in program.special_days]
    return sorted({1999, *(y for d in ranges if d is not None for y in d.years or ())})
