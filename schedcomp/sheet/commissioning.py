"""Putting into service: what the display must show, and tests that exercise every slot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.compiled import Compiled
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, SunStart
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Half, NoEvent
from schedcomp.output.events import circuit_names, circuits_text
from schedcomp.program import Program
from schedcomp.sheet.blocks import (
    BLANK,
    TICK,
    Block,
    Box,
    Cell,
    Column,
    Heading,
    Items,
    Page,
    Sign,
    Table,
    Text,
    row,
    short_name,
)
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.faulttable import fault_table
from schedcomp.sheet.firings import Firing, firings, is_on
from schedcomp.sheet.keying import slots_used
from schedcomp.sheet.making import Job
from schedcomp.sheet.panel import slots_of_unit, tick_columns, ticks
from schedcomp.sheet.schedule import cooling_words, current_words
from schedcomp.sheet.summertime import summer_time
from schedcomp.sheet.wording import SHORT_WEEKDAYS
from schedcomp.sun import site_sun
from schedcomp.unit_place import unit_clock
from schedcomp.words import date_words

DISPLAY_DAYS = 14
SHORT_TEST_ROWS = 10


def display_page(job: Job) -> Page:
    """Fourteen dates of what a right unit shows, and what a wrong one shows."""
    compiled = job.compiled
    day = job.making.commission or job.first_day
    within = f"{compiled.controller.sun_error_minutes:g} min"
    told = (
        f"Right if the unit shows these within {within}. Else look below for what is wrong."
        if compiled.controller.sun_starts
        else "The unit shows date and weekday; it knows no sun. The sun times are to look outside."
    )
    blocks: tuple[Block, ...] = (
        Text(text=told, style="lead"),
        _display_table(job),
        Heading(text=f"When it shows something else on {date_words(day)}"),
        fault_table(job, day),
    )
    return Page(key="display", title="What the display must show", blocks=blocks)


def _display_table(job: Job) -> Table:
    site = job.compiled.site
    first = job.making.commission or job.first_day
    last = first + (DISPLAY_DAYS - 1) * ONE_DAY
    here = job.unit_zone(first - ONE_DAY, last + ONE_DAY)
    sun = site_sun(
        site.latitude_degrees, site.longitude_degrees, here, first - ONE_DAY, last + ONE_DAY
    )
    summer = summer_time(site.timezone, first)
    starts = _shown_starts(job.compiled)
    columns = [Column(title="Date", width=4)]
    columns += [Column(title=start.word, width=3) for start in starts]
    columns += [Column(title="The clock is on", width=3), *tick_columns(job.compiled)]
    rows = []
    for offset in range(DISPLAY_DAYS):
        day = first + offset * ONE_DAY
        times = [sun.crossing(day, start.half, start.level_degrees) for start in starts]
        noon = here.first_pass(day, 12 * HOUR)
        state = "summer time" if here.offset(noon) > summer.standard_offset else "standard time"
        shown = ["none" if isinstance(t, NoEvent) else job.hand.time(here, t) for t in times]
        rows.append(
            row(
                bold(date_words(day)),
                *(bold(text) for text in shown),
                state,
                *ticks(job.compiled),
            )
        )
    return Table(columns=tuple(columns), rows=tuple(rows), style="dense")


def _shown_starts(compiled: Compiled) -> Sequence[SunStart]:
    """Sun words of the unit, sunrise and sunset first; at most four fit."""
    usual = (
        SunStart(word="sunrise", half=Half.MORNING, level_degrees=SUNRISE_LEVEL_DEGREES),
        SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES),
    )
    words = {start.word: start for start in (*usual, *compiled.controller.sun_starts)}
    return list(words.values())[:4]


def test_page(job: Job, program: Program) -> Page:
    """Channels and amperes, the short test, the full test, and setting everything back."""
    compiled = job.compiled
    found = firings(compiled, program, job.first_day)
    cooling = [words for c in compiled.site.circuits if (words := cooling_words(c))]
    short = short_test(found)
    blocks: list[Block] = [
        Heading(text="1. Each channel switches its own lamps"),
        _channels(compiled),
        *([Items(items=tuple(cooling))] if cooling else []),
        Heading(text="2. Short test"),
        Text(
            text="For each line set the unit's clock to the time in the second column, bring the "
            "lamps to the state before, and wait. A unit that works out its state does that "
            "by itself. Sun times may be some minutes off, within what the unit is good for.",
            style="lead",
        ),
        _tests(job, short),
        Heading(text="3. Full test: every slot once"),
        Text(
            text="As the short test. A safety repeat changes nothing while all goes well: bring "
            "the lamps to the other state first, then it must act.",
            style="lead",
        ),
        _tests(job, found),
        *_untested(program, found),
        _set_back(compiled, program, job),
    ]
    return Page(key="tests", title="Commissioning list", blocks=tuple(blocks))


def _untested(program: Program, found: Sequence[Firing]) -> tuple[Block, ...]:
    """Slots that act on no date of the period."""
    tested = {id(firing.event) for firing in found}
    slots = [str(event.slot) for event in program.events if id(event) not in tested]
    if not slots:
        return ()
    text = (
        f"Not in this list, as they act on no date of this paper: slot {', '.join(slots)}. "
        "Compare them by reading them back."
    )
    return (Text(text=text),)


def _channels(compiled: Compiled) -> Table:
    columns = (
        Column(title="Channel", align="right", width=1.2),
        Column(title="Circuit, switched on alone by hand", width=6),
        Column(title="Expected in each line", width=4),
        Column(title="Measured A", width=2.4),
        Column(title="These lamps and no others", align="center", width=3),
    )
    rows = tuple(
        row(bold(str(c.channel)), bold(c.name), current_words(c) or BLANK, BLANK, TICK)
        for c in compiled.site.circuits
    )
    return Table(columns=columns, rows=rows)


def short_test(found: Sequence[Firing]) -> tuple[Firing, ...]:
    """About ten firings that show most: changes of the lamps, channels in turn."""
    by_channel: dict[tuple[int, ...], list[Firing]] = {}
    for firing in found:
        if firing.changes and not firing.event.safety:
            by_channel.setdefault(firing.event.channels, []).append(firing)
    special = [f for f in found if f.event.plan][:2]
    chosen: list[Firing] = []
    queues = [_ons_and_offs(firings) for firings in by_channel.values()]
    while any(queues) and len(chosen) < SHORT_TEST_ROWS - len(special):
        for queue in queues:
            if queue and len(chosen) < SHORT_TEST_ROWS - len(special):
                chosen.append(queue.pop(0))
    chosen += [f for f in special if f not in chosen]
    return tuple(sorted(chosen, key=lambda f: (f.event.channels, f.instant)))


def _ons_and_offs(found: Sequence[Firing]) -> list[Firing]:
    """ON and OFF in turn, as far as there are both."""
    ons = [f for f in found if is_on(f)]
    offs = [f for f in found if not is_on(f)]
    mixed: list[Firing] = []
    while ons or offs:
        mixed += [queue.pop(0) for queue in (ons, offs) if queue]
    return mixed


def _tests(job: Job, found: Sequence[Firing]) -> Table:
    compiled = job.compiled
    clock = unit_clock(compiled.controller, compiled.world)
    names = circuit_names(compiled.site.circuits)
    columns = (
        Column(title="Slot", align="right", width=1),
        Column(title="Set the unit's clock to", width=5),
        Column(title="Lamps before", width=2),
        Column(title="Wait until", width=2.4),
        Column(title="Must be seen", width=5),
        *tick_columns(compiled),
    )
    rows = []
    for firing in found:
        begin = (firing.instant // MINUTE - firing.wait_minutes) * MINUTE
        day = clock.local_date(begin)
        state, other = ("ON", "dark") if is_on(firing) else ("OFF", "lit")
        lamps = short_name(circuits_text(firing.event.channels, names))
        channels = " + ".join(str(c) for c in firing.event.channels)
        about = "" if firing.wait_minutes == 2 else "about "
        rows.append(
            row(
                bold(str(firing.event.slot)),
                f"{SHORT_WEEKDAYS[day.weekday()]} {date_words(day)[4:]}, "
                f"{job.hand.time(clock, begin)}",
                other,
                f"{about}{job.hand.time(clock, firing.instant)}",
                Cell(text=f"channel {channels} {lamps} goes {state}", style="strong"),
                *ticks(compiled),
            )
        )
    return Table(columns=columns, rows=tuple(rows), style="dense")


def _set_back(compiled: Compiled, program: Program, job: Job) -> Box:
    steps = list(_back_steps(compiled, program, job))
    columns = (Column(title="Step", width=12), *tick_columns(compiled))
    table = Table(columns=columns, rows=tuple(row(s, *ticks(compiled)) for s in steps))
    return Box(
        title="Set everything back",
        blocks=(table, Sign(labels=("Tested and set back: name", "Signature", "Date and time"))),
        style="heavy",
    )


def _back_steps(compiled: Compiled, program: Program, job: Job) -> Iterator[str]:
    used, total = slots_used(compiled, program), slots_of_unit(compiled)[0]
    yield "Date and weekday are today's."
    yield "Clock to the minute; summer time as under “Set these first”."
    if compiled.controller.sun_starts:
        yield "Sunrise and sunset as under “What the display must show”."
    yield "Overrides ended, selector to AUTO, contactors not held by hand."
    yield f"The unit shows {used} slots used, {total - used} free."
    code = job.making.program_code
    yield f"Program code {code} is on the door label."
    yield "The lamps are as they should be at this hour."
