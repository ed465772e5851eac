"""For the panel: what to set before any slot is keyed, and the label on the door."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import standard
from schedcomp.compiled import Compiled
from schedcomp.model import HOUR
from schedcomp.sheet.blocks import BLANK, TICK, Block, Cell, Column, Heading, Page, Table, Text, row
from schedcomp.sheet.blocks import strong as bold
from schedcomp.sheet.making import Job
from schedcomp.sheet.summertime import SummerTime, is_summer, reached, summer_time
from schedcomp.sheet.wording import long_date, utc_offset_words
from schedcomp.site import Unit
from schedcomp.unit_sun import keyed_location
from schedcomp.words import counted, date_words

UNCONFIRMED = "not confirmed"
"""Files are proven, units are not: only a list keyed back or a signed test page confirms one."""
_PAIR_WORDS = "Next three pairs"
TICKS_A_PAGE, _WIDE_TICKS = 6, 2
"""Units with a tick box each on one page; more units take a copy of the page."""


def unit_labels(compiled: Compiled) -> tuple[str, ...]:
    """The labels of the units, one without a name if the site names none."""
    return tuple(unit.label for unit in compiled.site.units) or ("the unit",)


def tick_columns(compiled: Compiled) -> list[Column]:
    """A narrow column for every unit, with its label at the head."""
    labels = unit_labels(compiled)
    if len(labels) == 1:
        return [Column(title="Done", align="center", width=1.2)]
    if len(labels) > TICKS_A_PAGE:
        return [Column(title="Done", align="center", width=1.2)]
    width = 1.2 if len(labels) <= _WIDE_TICKS else 0.95
    return [Column(title=label, align="center", width=width) for label in labels]


def ticks(compiled: Compiled) -> list[Cell]:
    return [TICK for _ in tick_columns(compiled)]


def copies_words(compiled: Compiled) -> str:
    """Which units this page is for, where they do not have a column each."""
    labels = unit_labels(compiled)
    if len(labels) <= TICKS_A_PAGE:
        return ""
    return f"Take one copy of this page for each of the {len(labels)} units: {', '.join(labels)}."


def settings_page(job: Job) -> Page:
    """Everything a unit asks for before its slots, in its own order of entry."""
    compiled = job.compiled
    rows = []
    for step in compiled.controller.entry_order:
        if step == "clock":
            rows += list(_clock_rows(job))
        elif step == "location":
            rows += list(_location_rows(compiled))
    if "location" not in compiled.controller.entry_order and compiled.controller.sun_starts:
        rows += list(_location_rows(compiled))
    columns = (
        Column(title="Setting", width=3),
        Column(title="Set it to", width=9),
        *tick_columns(compiled),
    )
    order = ", then ".join(compiled.controller.entry_order)
    table = Table(
        columns=columns,
        rows=tuple(row(bold(name), text, *ticks(compiled)) for name, text in rows),
    )
    blocks: list[Block] = [
        Text(text=f"In the order in which this kind of unit asks for them: {order}."),
        *([Text(text=copies_words(compiled))] if copies_words(compiled) else []),
        table,
        Heading(text="The units"),
        _units(job),
    ]
    return Page(key="settings", title="Set these first", blocks=tuple(blocks), needs_room=True)


def _clock_rows(job: Job) -> Iterator[tuple[str, str]]:
    compiled = job.compiled
    controller, zone = compiled.controller, compiled.world.zone
    day = job.making.commission
    which = "today's" if day is None else long_date(day)
    yield "Date and weekday", f"{which}; the weekday must come out right by itself or be set"
    yield "Time display", "24 hours, if it can be chosen: every slot is given both ways"
    summer = summer_time(zone.name, job.first_day)
    base = utc_offset_words(summer.standard_offset)
    yield "Time zone", f"{base} (standard time of {zone.name})"
    if controller.clock == "standard":
        keeps = utc_offset_words(standard(zone).offsets[0])
        yield "Time", f"standard time all year, {keeps}, also in summer"
        yield "Summer time", "OFF, and never changed"
        return
    yield "Time", _now_words(job, summer)
    yield from _summer_rows(job, summer)


def _now_words(job: Job, summer: SummerTime) -> str:
    zone = job.compiled.world.zone
    noon = zone.first_pass(job.first_day, 12 * HOUR)
    state = "summer time" if is_summer(summer, noon) else "standard time"
    return f"what the clock shows now, to the minute ({date_words(job.first_day)} is {state})"


def _summer_rows(job: Job, summer: SummerTime) -> Iterator[tuple[str, str]]:
    kind = job.compiled.controller.summer_time
    if not summer.pairs:
        yield "Summer time", "OFF: the clock here does not change"
        return
    rule = summer.rule or "no rule holds from year to year: key the dates"
    how = {
        "rule": f"ON, by rule: {rule}",
        "dates": f"ON, by dates, to be keyed anew when they run out ({rule})",
        "by hand": f"by hand, on these dates ({rule})",
        "none": f"the unit has none: set its clock by hand on these dates ({rule})",
    }.get(kind, rule)
    yield "Summer time", how
    pairs = [
        f"{date_words(reached(summer.zone, a).date())} forward, "
        f"{date_words(reached(summer.zone, b).date())} back"
        for a, b in summer.pairs
    ]
    yield _PAIR_WORDS, "\n".join(pairs)


def _location_rows(compiled: Compiled) -> Iterator[tuple[str, str]]:
    site, controller = compiled.site, compiled.controller
    if not controller.sun_starts:
        return
    if controller.location_entry == "city list":
        town = compiled.world.whereabouts
        yield "Place", f"the city of the unit's list nearest to {town.town}, {town.region}"
        return
    place = keyed_location(site.latitude_degrees, site.longitude_degrees, controller.location_entry)
    for name, degrees, words in zip(
        ("Latitude", "Longitude"), place, (("NORTH", "SOUTH"), ("EAST", "WEST")), strict=True
    ):
        yield name, coordinate_words(degrees, words)
    for unit in site.units:
        if unit.location_degrees is not None:
            latitude, longitude = unit.location_degrees
            yield (
                f"Place in {unit.label}",
                f"{coordinate_words(latitude, ('NORTH', 'SOUTH'))}\n"
                f"{coordinate_words(longitude, ('EAST', 'WEST'))}",
            )


def coordinate_words(degrees: float, words: tuple[str, str]) -> str:
    """`40.59 degrees NORTH, or 40 deg 35 min 24 s NORTH`."""
    word = words[degrees < 0]
    seconds = round(abs(degrees) * 3600)
    whole, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    sexagesimal = f"{whole}° {minutes:02d}′" + (f" {left:02d}″" if left else "")
    return f"{abs(degrees):.4f}".rstrip("0").rstrip(".") + f"° {word}   =   {sexagesimal} {word}"


def _units(job: Job) -> Table:
    """The units with what is known of them, and lines for the rest."""
    columns = (
        Column(title="Unit", width=2),
        Column(title="Where", width=3.5),
        Column(title="Serial number", width=2.5),
        Column(title="Wiring", width=3.5),
        Column(title="Holds this program", width=3),
    )
    units = job.compiled.site.units or (Unit(label="the unit"),)
    rows = [
        row(
            bold(u.label),
            u.where or BLANK,
            u.serial or BLANK,
            u.wiring or BLANK,
            _confirmation(u, job.making.program_code),
        )
        for u in units
    ]
    return Table(columns=columns, rows=tuple(rows))


def _confirmation(unit: Unit, program_code: str) -> str:
    """What showed that this unit holds this program, or that nothing has."""
    told = unit.confirmed
    if told is None:
        return UNCONFIRMED
    if told.program_code != program_code:
        return f"{UNCONFIRMED}; on {date_words(told.day)} it held {told.program_code}"
    return f"{told.how}, {date_words(told.day)}"


def slots_of_unit(compiled: Compiled) -> tuple[int, str]:
    """How many slots a unit has, and how they are counted."""
    controller = compiled.controller
    if controller.slots_are == "per channel":
        return (
            controller.event_slots * controller.channels,
            f"{counted(controller.event_slots, 'slot')} on each channel",
        )
    return controller.event_slots, counted(controller.event_slots, "slot")
