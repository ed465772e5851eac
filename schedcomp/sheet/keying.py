"""The keying page: the program slot by slot, as a person keys it in and ticks it off."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.compiled import Compiled
from schedcomp.model import MINUTE
from schedcomp.output.events import circuit_names, circuits_text
from schedcomp.program import (
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
)
from schedcomp.sheet.blocks import (
    Block,
    Box,
    Cell,
    Column,
    Heading,
    Page,
    Table,
    Text,
    row,
    short_name,
)
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.making import Job
from schedcomp.sheet.moving import year_of_moving
from schedcomp.sheet.panel import copies_words, slots_of_unit, tick_columns, ticks, unit_labels
from schedcomp.sheet.wording import SHORT_WEEKDAYS, month_day
from schedcomp.told_time import both
from schedcomp.words import date_words, length_words


def keying_page(job: Job, program: Program) -> Page:
    """Erase, key, count."""
    compiled = job.compiled
    normal = [event for event in program.events if not event.plan]
    plans = sorted({event.plan for event in program.events if event.plan})
    blocks: list[Block] = [
        Box(title="First", blocks=(_first(compiled),), style="heavy"),
        *([Text(text=copies_words(compiled))] if copies_words(compiled) else []),
        Heading(text="Slots"),
        _slots(job, normal),
    ]
    for plan in plans:
        events = [event for event in program.events if event.plan == plan]
        blocks += [
            Heading(text=f"Slots of the special-day program “{plan}”"),
            _slots(job, events, dated=False),
        ]
    if program.special_days:
        blocks += [Heading(text="Special days"), _special_days(compiled, program)]
    blocks.append(Box(title="Last", blocks=(_last(compiled, program),), style="heavy"))
    return Page(key="keying", title="Key these in", blocks=tuple(blocks), needs_room=True)


def _first(compiled: Compiled) -> Table:
    labels = unit_labels(compiled)
    who = f" ({', '.join(labels)})" if len(labels) > 1 else ""
    steps = [
        f"Write down or read out the program that is in the unit now, and keep it{who}.",
        "Erase all slots" + (" and all special days." if _has_special(compiled) else "."),
        "The unit must now show: 0 slots used.",
    ]
    return _steps(compiled, steps)


def _last(compiled: Compiled, program: Program) -> Table:
    steps = []
    used, total = slots_used(compiled, program), slots_of_unit(compiled)[0]
    steps.append(f"The unit must now show: {used} slots used, {total - used} free.")
    plan_slots = compiled.controller.exceptions.plan_events
    if compiled.controller.exceptions.plans_have_slots and plan_slots is not None:
        planned = sum(bool(event.plan) for event in program.events)
        steps.append(f"Special-day programs: {planned} slots used, {plan_slots - planned} free.")
    if _has_special(compiled):
        days, slots = len(program.special_days), compiled.controller.exceptions.slots
        steps.append(f"Special days: {days} used, {slots - days} free.")
    steps.append("Read every slot back from the display and compare it with this page.")
    steps.append("Selector to AUTO. Then “What the display must show”.")
    return _steps(compiled, steps)


def _steps(compiled: Compiled, steps: Sequence[str]) -> Table:
    columns = (Column(title="Step", width=12), *tick_columns(compiled))
    return Table(columns=columns, rows=tuple(row(step, *ticks(compiled)) for step in steps))


def _has_special(compiled: Compiled) -> bool:
    return compiled.controller.exceptions.slots > 0


def slots_used(compiled: Compiled, program: Program) -> int:
    """Slots of the unit's normal list that this program takes."""
    return program.in_event_slots(compiled.controller).slots_used


def _slots(job: Job, events: Sequence[Event], *, dated: bool = True) -> Table:
    compiled, hand = job.compiled, job.hand
    names = circuit_names(compiled.site.circuits)
    # Words of the sun need more room than a time of day.
    clocks_only = all(isinstance(event.start, ClockStart) for event in events)
    columns = [
        Column(title="Slot", align="right", width=1),
        Column(title="Channel", width=2.7 if clocks_only else 2.3),
        Column(title="Do", width=1.2),
        Column(title="At", width=3.4 if clocks_only else 5.1),
        *(
            [Column(title="On", width=2.4), Column(title="Dates, both in", width=3.5)]
            if dated
            else []
        ),
        Column(title="What for", width=5.9 if clocks_only else 4.6),
        *tick_columns(compiled),
    ]
    rows = []
    for event in events:
        when = [weekday_words(event.weekdays), dates_words(event.dates)] if dated else []
        rows.append(
            row(
                bold(str(event.slot)),
                _channel(event.channels, names),
                bold(event.action.value.upper()),
                bold(start_words(event.start)),
                *when,
                Cell(text=hand.phrase(_purpose(event)), style="small"),
                *ticks(compiled),
            )
        )
    return Table(columns=tuple(columns), rows=tuple(rows), style="dense")


def _channel(channels: Sequence[int], names: dict[int, str]) -> str:
    numbers = " + ".join(map(str, channels))
    name = short_name(circuits_text(tuple(channels), names))
    return f"{numbers} {name}".strip()


def _purpose(event: Event) -> str:
    if event.only_year is None:
        return event.purpose
    return f"{event.purpose}; for {event.only_year} only"


def start_words(start: Start) -> str:
    """`23:00 (11:00 PM)`, `at sunset`, `15 min after sunset`."""
    if isinstance(start, ClockStart):
        return both(start.minutes)
    if not start.offset_minutes:
        return f"at {start.word} (offset 0)"
    length = length_words(abs(start.offset_minutes) * MINUTE)
    side = "after" if start.offset_minutes > 0 else "before"
    sign = "+" if start.offset_minutes > 0 else "−"
    return f"{length} {side} {start.word} ({sign}{abs(start.offset_minutes)})"


def weekday_words(days: frozenset[int]) -> str:
    """`every day`, `Mon–Fri`, `Mon–Wed, Sun`."""
    if len(days) == 7:
        return "every day"
    runs: list[list[int]] = []
    for day in sorted(days):
        if runs and runs[-1][-1] == day - 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return ", ".join(_weekday_run(run) for run in runs)


def _weekday_run(run: Sequence[int]) -> str:
    names = [SHORT_WEEKDAYS[day] for day in run]
    return f"{names[0]}–{names[-1]}" if len(names) > 2 else ", ".join(names)


def dates_words(dates: EventDates | None) -> str:
    """`all year`, `18 Jul to 28 May`, `25 Dec`."""
    if dates is None:
        return "all year"
    first, last = (month_day(*end) for end in (dates.first, dates.last))
    if dates.years is not None:
        first, last = (f"{t} {y}" for t, y in zip((first, last), dates.years, strict=True))
    return first if first == last else f"{first} to {last}"


def _special_days(compiled: Compiled, program: Program) -> Table:
    with_slots = frozenset(event.plan for event in program.events)
    names = circuit_names(compiled.site.circuits)
    columns = (
        Column(title="Slot", align="right", width=1),
        Column(title="Channel", width=3),
        Column(title="Dates, both in", width=5),
        Column(title="Program of the day", width=4),
        *tick_columns(compiled),
    )
    rows = tuple(
        row(
            bold(str(days.slot)),
            _channel(days.channels, names),
            bold(special_dates(compiled, days)),
            _plan_words(days.plan, with_slots),
            *ticks(compiled),
        )
        for days in program.special_days
    )
    return Table(columns=columns, rows=rows, style="dense")


def special_dates(compiled: Compiled, days: SpecialDays) -> str:
    """`24 Dec`, or `Thu 25 Nov (2027 only)` where the unit keeps no year and the date moves."""
    text = dates_words(days.dates)
    year = days.only_year or year_of_moving(compiled, days)
    if year is None or days.dates.years is not None:
        return text
    ends = (_with_weekday(year, end) for end in (days.dates.first, days.dates.last))
    return f"{' to '.join(dict.fromkeys(ends))} ({year} only)"


def _with_weekday(year: int, end: tuple[int, int]) -> str:
    """`Tue 5 Jan`; without a weekday where the year has no such date."""
    try:
        return date_words(date(year, *end), year=False)
    except ValueError:
        return month_day(*end)


def _plan_words(plan: str, with_slots: frozenset[str]) -> str:
    """A plan without slots is one on whose days nothing is switched."""
    if plan == PLAIN_DARK:
        return "off: dark from 00:00"
    return f"“{plan}”" if plan in with_slots else f"“{plan}”: no slots, nothing is switched"
