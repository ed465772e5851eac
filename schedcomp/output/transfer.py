"""transfer.json: the program for converters and checks, neutral and versioned.

The file is the canonical form (RFC 8785) of one object. `unit_holds` is exactly what a unit has
to hold, and the program code is made from nothing else. Schema: `schedcomp/data/`; reading it
back: `schedcomp/transferfile.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

from schedcomp.clock import ClockChange, Zone, standard, utc_text
from schedcomp.compiled import Compiled
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller
from schedcomp.model import MINUTE, WEEKDAYS
from schedcomp.output.canonical import Json, canonical, sha256_of
from schedcomp.output.events import clock_text, event_rows
from schedcomp.output.special_days import special_day_rows
from schedcomp.phrases.printer import print_dates_phrase, print_sun_definition
from schedcomp.phrases.tree import OpenHours, SunDefinition, SunLevel
from schedcomp.program import Certificate, Program
from schedcomp.records import Record, field_names
from schedcomp.site import Hours, HoursLine, Site
from schedcomp.target import Target
from schedcomp.unit_sun import keyed_location
from schedcomp.versions import Versions
from schedcomp.year import Year

FORMAT_KEY = "schedcomp_transfer"
FORMAT = 3
CITY_LIST = "city list"

Document = Mapping[str, Json]


def transfer_json(compiled: Compiled, program: Program, versions: Versions) -> bytes:
    """The whole file, sealed."""
    return canonical(seal(transfer_document(compiled, program, versions)))


def program_code(program: Program, controller: Controller, site: Site, zone: Zone) -> str:
    """The first 8 hex digits of what a unit must hold, as people compare them: `7F3A-92C1`.

    It does not depend on names, purposes, dates of printing or the period.
    """
    return _code(unit_holds(program, controller, site, zone))


def seal(document: Document) -> Document:
    """The document with the SHA-256 of its canonical form, itself left out, as `sha256`."""
    return {**document, "sha256": sha256_of(_unsealed(document))}


def has_right_checksum(document: Document) -> bool:
    """Whether `sha256` is that of the rest; ValueError for what has no canonical form."""
    return document.get("sha256") == sha256_of(_unsealed(document))


def has_right_code(document: Document) -> bool:
    """Whether `program_code` is that of `unit_holds`; ValueError as above."""
    return document.get("program_code") == _code(document.get("unit_holds"))


def unit_holds(program: Program, controller: Controller, site: Site, zone: Zone) -> Document:
    """Events, special days and settings as a unit has to hold them; no names, no purposes.

    An event of a plan has no weekdays and no dates. Special days that name a plan without events
    are days on which nothing fires; plan `off` switches off at their first 00:00.
    """
    clock = zone if controller.clock == "local" else standard(zone)
    return {
        "clock": {
            "keeps": controller.clock,
            "summer_time": controller.summer_time,
            "zone": zone.name,
            "utc_offsets_minutes": [s // MINUTE for s in sorted(set(clock.offsets))],
        },
        "location": _location_to_key(site, controller),
        "events": [
            {
                "slot": row.slot,
                "channels": row.channels,
                "action": row.action,
                "starts_at": row.starts_at,
                "time": row.time or None,
                "offset_minutes": row.offset_minutes,
                "weekdays": row.weekdays or None,
                "from": row.first or None,
                "through": row.through or None,
                "plan": row.plan or None,
            }
            for row in event_rows(program, site.circuits)
        ],
        "exceptions": [
            {
                "slot": row.slot,
                "channels": row.channels,
                "from": row.first,
                "through": row.through,
                "plan": row.plan,
            }
            for row in special_day_rows(program, site.circuits)
        ],
    }


def transfer_document(compiled: Compiled, program: Program, versions: Versions) -> Document:
    """Everything of the file but its checksum."""
    site, world, controller = compiled.site, compiled.world, compiled.controller
    held = unit_holds(program, controller, site, world.zone)
    return {
        FORMAT_KEY: FORMAT,
        "program_code": _code(held),
        "versions": as_json(versions),
        "period": period_json(compiled.year),
        "unit_holds": held,
        "slots": _slots(program, site),
        "exception_slots": [
            {"slot": days.slot, "only_year": days.only_year} for days in program.special_days
        ],
        "circuits": _circuits(site, compiled.target),
        "units": _units(site),
        "clock_changes": clock_changes(compiled.year, world.zone),
        "controller": as_json(controller),
        "site": _site(site),
        "hours": None if site.hours is None else _hours(site.hours),
        "holidays": [
            {
                "date": holiday.day.isoformat(),
                "name": holiday.name,
                "observed": holiday.observed,
                "estimated": holiday.estimated,
                "added": holiday.added,
            }
            for holiday in world.holidays.within(compiled.year.period)
        ],
        "tolerance": {
            "minutes": compiled.fitted.tolerance_minutes,
            "favour": site.fit.favour,
        },
        "certificate": certificate_json(compiled.fitted.certificate),
        "accepted": [
            {"clause": clause, "because": because} for clause, because in compiled.rules.accepted
        ],
    }


def certificate_json(certificate: Certificate | None) -> Json:
    """What is proven of a program, as a transfer file has it; deviations in seconds."""
    if certificate is None:
        return None
    return {
        "slots": certificate.slots,
        "bound": certificate.bound,
        "proven": certificate.proven,
        "tolerance_minutes": certificate.tolerance_minutes,
        "deviations": [
            {
                "circuit": deviation.circuit,
                "seconds": deviation.seconds,
                "bound_seconds": deviation.bound_seconds,
            }
            for deviation in certificate.deviations
        ],
    }


def period_json(year: Year) -> Json:
    """The dates, both included, and the instants between which they lie."""
    return {
        "first": year.period.first.isoformat(),
        "last": year.period.last.isoformat(),
        "start_utc": utc_text(year.start),
        "end_utc": utc_text(year.end),
    }


def clock_changes(year: Year, zone: Zone) -> Json:
    """Every change of the local clock inside the period."""
    return [_change(c) for c in zone.changes() if year.start <= c.instant < year.end]


def as_json(value: object) -> Json:
    """A plain record as an object, member for member; a frozen set is one of weekdays."""
    if isinstance(value, Record):
        return {name: as_json(getattr(value, name)) for name in field_names(type(value))}
    if isinstance(value, frozenset):
        return [WEEKDAYS[day] for day in sorted(value)]
    if isinstance(value, tuple):
        return [as_json(item) for item in value]
    if isinstance(value, Enum):
        return str(value.value)
    if value is None or isinstance(value, bool | int | float | str):
        return value
    raise TypeError(f"{type(value)} has no plain form")


def _slots(program: Program, site: Site) -> Json:
    """What each event is for, in the order of the events a unit holds."""
    return [
        {
            "slot": row.slot,
            "circuits": row.circuits,
            "purpose": row.purpose,
            "safety": event.safety,
            "only_year": event.only_year,
        }
        for row, event in zip(event_rows(program, site.circuits), program.events, strict=True)
    ]


def _unsealed(document: Document) -> Document:
    return {name: value for name, value in document.items() if name != "sha256"}


def _code(held: Json) -> str:
    digits = sha256_of(held)[:8].upper()
    return f"{digits[:4]}-{digits[4:]}"


def _change(change: ClockChange) -> Json:
    return {
        "utc": utc_text(change.instant),
        "offset_before_minutes": change.before // MINUTE,
        "offset_after_minutes": change.after // MINUTE,
    }


def _location_to_key(site: Site, controller: Controller) -> Json:
    """None where a unit holds no location, or takes one only from a list of its own."""
    if not controller.sun_starts or controller.location_entry == CITY_LIST:
        return None
    return _location(
        keyed_location(site.latitude_degrees, site.longitude_degrees, controller.location_entry)
    )


def _location(degrees: tuple[float, float]) -> Json:
    latitude, longitude = (round(coordinate, 6) for coordinate in degrees)
    return {"latitude_degrees": latitude, "longitude_degrees": longitude}


def _circuits(site: Site, target: Target) -> Json:
    tolerances = {c.circuit: c.tolerance_minutes for c in target.channels}
    return [
        {
            "channel": circuit.channel,
            "name": circuit.name,
            "load_kw": circuit.load_kw,
            "lamps": circuit.lamps,
            "lumens": circuit.lumens,
            "serves": circuit.serves,
            "egress": circuit.egress,
            "photocell": circuit.photocell,
            "photocell_level": (
                None
                if circuit.photocell_level is None
                else _sun_definition(circuit.photocell_level)
            ),
            "override_minutes": circuit.override_minutes,
            "tolerance_minutes": tolerances.get(circuit.name),
        }
        for circuit in site.circuits
    ]


def _units(site: Site) -> Json:
    """`location` is None where a unit holds the location of `unit_holds`."""
    return [
        {
            "label": unit.label,
            "where": unit.where,
            "serial": unit.serial,
            "wiring": unit.wiring,
            "location": None if unit.location_degrees is None else _location(unit.location_degrees),
        }
        for unit in site.units
    ]


def _site(site: Site) -> Json:
    return {
        "name": site.name,
        "latitude_degrees": site.latitude_degrees,
        "longitude_degrees": site.longitude_degrees,
        "timezone": site.timezone,
        "dusk": _sun_definition(site.dusk),
        "dawn": _sun_definition(site.dawn),
    }


def _sun_definition(definition: SunDefinition) -> Json:
    base = definition.base
    return {
        "words": print_sun_definition(definition),
        "level_degrees": (
            base.level_degrees if isinstance(base, SunLevel) else SUNRISE_LEVEL_DEGREES
        ),
        "lux": base.lux if isinstance(base, SunLevel) else None,
        "offset_minutes": definition.offset_minutes,
    }


def _hours(hours: Hours) -> Json:
    """The lines of `[hours]` in order; the last that names a date decides it."""
    return {
        "lines": [_hours_line(line) for line in hours.lines],
        "staff_before_minutes": hours.staff_before_minutes,
        "staff_after_minutes": hours.staff_after_minutes,
    }


def _hours_line(line: HoursLine) -> Json:
    """`open` is empty on closed dates."""
    periods = line.value.periods if isinstance(line.value, OpenHours) else ()
    return {
        "dates": print_dates_phrase(line.dates),
        "open": [[clock_text(clock.minutes) for clock in period] for period in periods],
    }
