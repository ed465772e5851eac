"""The parts of a transfer file as values: what a unit holds, the site and what a check needs."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from schedcomp.clock import ClockChange, zone_names
from schedcomp.controller import Controller
from schedcomp.holiday_list import Holiday
from schedcomp.messages import transfer as messages
from schedcomp.model import MINUTE, Action, Period
from schedcomp.near import quoted
from schedcomp.output.events import CLOCK
from schedcomp.output.transfer import FORMAT_KEY
from schedcomp.program import (
    EVERY_WEEKDAY,
    PLAIN_DARK,
    Certificate,
    ClockStart,
    Deviation,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
    SunOffset,
)
from schedcomp.site import Unit
from schedcomp.sitefile.keys import FAVOUR
from schedcomp.transfer import Degrees, OpenLine, OpenLines, SunMeaning, Transfer, TransferCircuit
from schedcomp.transfercontroller import DAY_MINUTES, OFFSET_MINUTES, controller_of, level_of
from schedcomp.transferform import Part, pairs
from schedcomp.versions import Versions

LATITUDE_DEGREES = 85
LONGITUDE_DEGREES = 180
MOST_SLOTS = 100_000
MOST_CHANNELS = 999
ACTIONS = MappingProxyType({action.value: action for action in Action})
MEMBERS = (
    FORMAT_KEY,
    "sha256",
    "program_code",
    "versions",
    "period",
    "unit_holds",
    "slots",
    "exception_slots",
    "circuits",
    "units",
    "clock_changes",
    "controller",
    "site",
    "hours",
    "holidays",
    "tolerance",
    "certificate",
    "accepted",
)


def transfer_of(top: Part) -> Transfer:
    """All of a document of this version; raises NotInForm for the first thing that is wrong."""
    top.only(*MEMBERS)
    controller = controller_of(top["controller"])
    circuits = top["circuits"].each(_circuit, 1)
    held, site, period = top["unit_holds"], top["site"], top["period"]
    held.only("clock", "location", "events", "exceptions")
    site.only("name", "latitude_degrees", "longitude_degrees", "timezone", "dusk", "dawn")
    period.only("first", "last", "start_utc", "end_utc")
    tolerance = top["tolerance"].only("minutes", "favour")
    latitude, longitude = _coordinates(site)
    return Transfer(
        program_code=top["program_code"].text(),
        checksum=top["sha256"].text(),
        versions=_versions(top["versions"]),
        period=_period(period),
        start=period["start_utc"].instant(),
        end=period["end_utc"].instant(),
        program=_program(top, held, controller),
        controller=controller,
        certificate=top["certificate"].maybe(lambda part: _certificate(part, circuits)),
        site_name=site["name"].text(),
        zone_name=_zone_name(site["timezone"]),
        latitude_degrees=latitude,
        longitude_degrees=longitude,
        location_degrees=held["location"].maybe(_location),
        utc_offsets_minutes=_clock(held["clock"], site["timezone"], controller),
        dusk=_sun_meaning(site["dusk"]),
        dawn=_sun_meaning(site["dawn"]),
        circuits=circuits,
        units=top["units"].each(_unit),
        clock_changes=top["clock_changes"].each(_clock_change),
        hours=top["hours"].maybe(_hours),
        holidays=top["holidays"].each(_holiday),
        tolerance_minutes=tolerance["minutes"].whole(0),
        favour=tolerance["favour"].choice(FAVOUR),
        accepted=top["accepted"].each(_accepted),
    )


# What a unit holds


def _clock(part: Part, timezone: Part, controller: Controller) -> tuple[int, ...]:
    """The UTC offsets of the unit's clock, which must be that of controller and site."""
    part.only("keeps", "summer_time", "zone", "utc_offsets_minutes")
    for name, elsewhere, wanted in (
        ("keeps", "controller, clock", controller.clock),
        ("summer_time", "controller, summer_time", controller.summer_time),
        ("zone", timezone.place, timezone.value),
    ):
        if part[name].value != wanted:
            found = messages.OTHER_VALUE.format(part=elsewhere, value=quoted(str(wanted)))
            raise part[name].wrong(found)
    return part["utc_offsets_minutes"].each_once(_utc_offset)


def _utc_offset(part: Part) -> int:
    return part.whole(-DAY_MINUTES, DAY_MINUTES)


def _program(top: Part, held: Part, controller: Controller) -> Program:
    events = [
        _event(event, purpose, controller) for event, purpose in pairs(held["events"], top["slots"])
    ]
    special = [
        _special_days(days, more, controller)
        for days, more in pairs(held["exceptions"], top["exception_slots"])
    ]
    return Program(controller=controller.name, events=tuple(events), special_days=tuple(special))


def _event(part: Part, more: Part, controller: Controller) -> Event:
    part.only(
        *("slot", "channels", "action", "starts_at", "time", "offset_minutes"),
        *("weekdays", "from", "through", "plan"),
    )
    more.only("slot", "circuits", "purpose", "safety", "only_year")
    more["circuits"].blank_or_text()
    plan = part["plan"].maybe(Part.text) or ""
    if plan == PLAIN_DARK:
        raise part["plan"].wrong(messages.PLAN_WITHOUT_EVENTS.format(plan=PLAIN_DARK))
    if plan:
        for name in ("weekdays", "from", "through"):
            if part[name].value is not None:
                raise part[name].wrong(messages.OF_A_PLAN)
    return Event(
        slot=_slot(part, more),
        channels=_channels(part["channels"], controller),
        action=ACTIONS[part["action"].choice(ACTIONS)],
        start=_start(part, controller),
        weekdays=EVERY_WEEKDAY if plan else part["weekdays"].weekdays(),
        dates=_dates_or_every(part),
        plan=plan,
        purpose=more["purpose"].blank_or_text(),
        only_year=more["only_year"].maybe(Part.year),
        safety=more["safety"].flag(),
    )


def _special_days(part: Part, more: Part, controller: Controller) -> SpecialDays:
    part.only("slot", "channels", "from", "through", "plan")
    more.only("slot", "only_year")
    return SpecialDays(
        slot=_slot(part, more),
        channels=_channels(part["channels"], controller),
        dates=_dates(part),
        plan=part["plan"].text(),
        only_year=more["only_year"].maybe(Part.year),
    )


def _slot(part: Part, more: Part) -> int:
    """The number of a slot, which both of its entries must have."""
    slot = part["slot"].whole(1, MOST_SLOTS)
    if more["slot"].whole(1, MOST_SLOTS) != slot:
        other = part["slot"].place
        raise more["slot"].wrong(messages.OTHER_VALUE.format(part=other, value=slot))
    return slot


def _channels(part: Part, controller: Controller) -> tuple[int, ...]:
    return part.each_once(lambda channel: channel.whole(1, controller.channels))


def _start(part: Part, controller: Controller) -> Start:
    known = [start.word for start in controller.sun_starts]
    word = part["starts_at"].choice([CLOCK, *known] if controller.starts_clock else known)
    spare = part["offset_minutes" if word == CLOCK else "time"]
    if spare.value is not None:
        raise spare.wrong(messages.NOT_USED.format(word=word))
    if word == CLOCK:
        return ClockStart(part["time"].clock())
    return SunOffset(word, part["offset_minutes"].whole(-OFFSET_MINUTES, OFFSET_MINUTES))


def _dates_or_every(part: Part) -> EventDates | None:
    if part["from"].value is None and part["through"].value is None:
        return None
    return _dates(part)


def _dates(part: Part) -> EventDates:
    first, first_year = part["from"].month_day()
    last, last_year = part["through"].month_day()
    if first_year is None and last_year is None:
        return EventDates(first, last)
    if first_year is None or last_year is None:
        raise part["through"].wrong(messages.ONE_YEAR_ALONE)
    if (first_year, first) > (last_year, last):
        raise part["through"].wrong(messages.BACKWARDS)
    return EventDates(first, last, (first_year, last_year))


def _certificate(part: Part, circuits: Sequence[TransferCircuit]) -> Certificate:
    part.only("slots", "bound", "proven", "tolerance_minutes", "deviations")
    certificate = Certificate(
        slots=part["slots"].whole(0, MOST_SLOTS),
        bound=part["bound"].whole(0, MOST_SLOTS),
        tolerance_minutes=part["tolerance_minutes"].whole(0),
        deviations=part["deviations"].each(lambda one: _deviation(one, circuits)),
    )
    if part["proven"].flag() != certificate.proven:
        raise part["proven"].wrong(messages.NOT_PROVEN)
    return certificate


def _deviation(part: Part, circuits: Sequence[TransferCircuit]) -> Deviation:
    part.only("circuit", "seconds", "bound_seconds")
    loads = {circuit.name: circuit.load_kw or 0.0 for circuit in circuits}
    name = part["circuit"].choice(loads)
    return Deviation(name, loads[name], part["seconds"].whole(0), part["bound_seconds"].whole(0))


# The site


def _coordinates(part: Part) -> Degrees:
    return (
        part["latitude_degrees"].number(-LATITUDE_DEGREES, LATITUDE_DEGREES),
        part["longitude_degrees"].number(-LONGITUDE_DEGREES, LONGITUDE_DEGREES),
    )


def _location(part: Part) -> Degrees:
    return _coordinates(part.only("latitude_degrees", "longitude_degrees"))


def _zone_name(part: Part) -> str:
    name = part.text()
    if name not in zone_names():
        raise part.wrong(messages.NO_ZONE.format(found=quoted(name)))
    return name


def _sun_meaning(part: Part) -> SunMeaning:
    part.only("words", "level_degrees", "lux", "offset_minutes")
    return SunMeaning(
        words=part["words"].text(),
        level_degrees=level_of(part["level_degrees"]),
        lux=part["lux"].maybe(Part.positive),
        offset_minutes=part["offset_minutes"].whole(-DAY_MINUTES, DAY_MINUTES),
    )


def _circuit(part: Part) -> TransferCircuit:
    part.only(
        *("channel", "name", "load_kw", "lamps", "lumens", "serves", "egress", "photocell"),
        *("photocell_level", "override_minutes", "tolerance_minutes"),
    )
    return TransferCircuit(
        channel=part["channel"].whole(1, MOST_CHANNELS),
        name=part["name"].text(),
        load_kw=part["load_kw"].maybe(lambda load: load.number(0)),
        lamps=part["lamps"].blank_or_text(),
        lumens=part["lumens"].maybe(Part.positive),
        serves=part["serves"].blank_or_text(),
        egress=part["egress"].blank_or_text(),
        photocell=part["photocell"].maybe(Part.text),
        photocell_level=part["photocell_level"].maybe(_sun_meaning),
        override_minutes=part["override_minutes"].maybe(_count),
        tolerance_minutes=part["tolerance_minutes"].maybe(_count),
    )


def _count(part: Part) -> int:
    return part.whole(0)


def _unit(part: Part) -> Unit:
    part.only("label", "where", "serial", "wiring", "location")
    return Unit(
        label=part["label"].text(),
        where=part["where"].blank_or_text(),
        serial=part["serial"].blank_or_text(),
        wiring=part["wiring"].blank_or_text(),
        location_degrees=part["location"].maybe(_location),
    )


# The period


def _versions(part: Part) -> Versions:
    part.only("schedcomp", "tzdata", "holidays", "ephemeris")
    return Versions(
        schedcomp=part["schedcomp"].text(),
        tzdata=part["tzdata"].text(),
        holidays=part["holidays"].text(),
        ephemeris=part["ephemeris"].text(),
    )


def _period(part: Part) -> Period:
    period = Period(part["first"].date(), part["last"].date())
    if period.first > period.last:
        raise part["last"].wrong(messages.BACKWARDS)
    if part["start_utc"].instant() >= part["end_utc"].instant():
        raise part["end_utc"].wrong(messages.BACKWARDS)
    return period


def _clock_change(part: Part) -> ClockChange:
    part.only("utc", "offset_before_minutes", "offset_after_minutes")
    return ClockChange(
        part["utc"].instant(),
        _utc_offset(part["offset_before_minutes"]) * MINUTE,
        _utc_offset(part["offset_after_minutes"]) * MINUTE,
    )


def _hours(part: Part) -> OpenLines:
    part.only("lines", "staff_before_minutes", "staff_after_minutes")
    return OpenLines(
        lines=part["lines"].each(_open_line),
        staff_before_minutes=part["staff_before_minutes"].whole(0),
        staff_after_minutes=part["staff_after_minutes"].whole(0),
    )


def _open_line(part: Part) -> OpenLine:
    part.only("dates", "open")
    return OpenLine(dates=part["dates"].text(), open_minutes=part["open"].each(_open_period))


def _open_period(part: Part) -> tuple[int, int]:
    ends = part.items()
    if len(ends) != 2:
        raise part.wrong(messages.TWO_ENDS)
    return ends[0].clock_or_24(), ends[1].clock_or_24()


def _accepted(part: Part) -> tuple[str, str]:
    part.only("clause", "because")
    return part["clause"].text(), part["because"].text()


def _holiday(part: Part) -> Holiday:
    part.only("date", "name", "observed", "estimated", "added")
    return Holiday(
        day=part["date"].date(),
        name=part["name"].text(),
        observed=part["observed"].flag(),
        estimated=part["estimated"].flag(),
        added=part["added"].flag(),
    )
