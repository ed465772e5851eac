"""A transfer file as a site and its facts: enough to judge rules without the site file."""

from __future__ import annotations

from schedcomp.clock import zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.diag import PhraseText, Source, SourceRange
from schedcomp.holiday_list import HolidayList
from schedcomp.hours import opening_hours
from schedcomp.model import Period
from schedcomp.phrases import parse_dates
from schedcomp.phrases.tree import (
    Clock,
    ClosedHours,
    OpenHours,
    SunDefinition,
    SunLevel,
    SunWord,
)
from schedcomp.places import whereabouts
from schedcomp.site import Circuit, Hours, HoursLine, Site
from schedcomp.sitefile.lamps import lamp_count
from schedcomp.sun import site_sun
from schedcomp.transfer import OpenLine, SunMeaning, Transfer, TransferCircuit
from schedcomp.world import World

MARGIN_DAYS = 10


def site_of_transfer(transfer: Transfer) -> Site:
    """The site as far as a transfer file knows it; the circuits have no wishes."""
    return Site(
        name=transfer.site_name,
        latitude_degrees=transfer.latitude_degrees,
        longitude_degrees=transfer.longitude_degrees,
        timezone=transfer.zone_name,
        timezone_given=True,
        dusk=_meaning(transfer.dusk, SunWord.SUNSET),
        dawn=_meaning(transfer.dawn, SunWord.SUNRISE),
        hours=_hours(transfer),
        circuits=tuple(_circuit(circuit) for circuit in transfer.circuits),
        units=transfer.units,
    )


def world_of_transfer(transfer: Transfer, site: Site, period: Period) -> World:
    """Zone, sun, hours and the holidays that the file lists, for a period."""
    days = tuple(period.dates(before=MARGIN_DAYS, after=MARGIN_DAYS))
    clock = zone(transfer.zone_name, days[0], days[-1])
    holidays = HolidayList(holidays=transfer.holidays, given=True)
    hours = opening_hours(site.hours, clock, days, holidays) if site.hours else None
    place = (transfer.latitude_degrees, transfer.longitude_degrees)
    return World(
        period=period,
        zone=clock,
        sun=site_sun(*place, clock, days[0], days[-1]),
        holidays=holidays,
        hours=hours,
        whereabouts=whereabouts(*place),
    )


def _meaning(meaning: SunMeaning, word: SunWord) -> SunDefinition:
    if meaning.lux is None and meaning.level_degrees == SUNRISE_LEVEL_DEGREES:
        return SunDefinition(word, meaning.offset_minutes)
    return SunDefinition(SunLevel(meaning.level_degrees, meaning.lux), meaning.offset_minutes)


def _circuit(circuit: TransferCircuit) -> Circuit:
    return Circuit(
        name=circuit.name,
        channel=circuit.channel,
        load_kw=circuit.load_kw,
        lamps=circuit.lamps,
        lamp_count=lamp_count(circuit.lamps),
        lumens=circuit.lumens,
        serves=circuit.serves,
        egress=circuit.egress,
        photocell=circuit.photocell,
        photocell_level=(
            None
            if circuit.photocell_level is None
            else _meaning(circuit.photocell_level, SunWord.SUNSET)
        ),
        override_minutes=circuit.override_minutes,
        tolerance_minutes=circuit.tolerance_minutes,
    )


def _hours(transfer: Transfer) -> Hours | None:
    if transfer.hours is None:
        return None
    lines = tuple(line for line in map(_line, transfer.hours.lines) if line is not None)
    return Hours(
        lines=lines,
        staff_before_minutes=transfer.hours.staff_before_minutes,
        staff_after_minutes=transfer.hours.staff_after_minutes,
    )


def _line(line: OpenLine) -> HoursLine | None:
    """A line of hours; None where its dates cannot be read, which a sealed file does not hold."""
    place = SourceRange(Source("transfer.json", line.dates), 0, len(line.dates))
    dates, _ = parse_dates(PhraseText(line.dates, place), False)
    if dates is None:
        return None
    periods = tuple((Clock(start), Clock(end)) for start, end in line.open_minutes)
    value = OpenHours(periods) if periods else ClosedHours()
    return HoursLine(dates=dates, value=value, text=line.dates)
