"""The two sides of a comparison: what kind of file each is, and what its lamps do."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

from schedcomp import pipeline, sitefile
from schedcomp.behaviour import (
    Behaviour,
    Location,
    behaviour_of_program,
    behaviour_of_year,
)
from schedcomp.comparison import Lamps
from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic, Severity
from schedcomp.eventsfile import is_events_file, read_events
from schedcomp.keyedlist import read_keyed
from schedcomp.model import Period
from schedcomp.program import Program
from schedcomp.records import Record, replace
from schedcomp.site import Site
from schedcomp.site_controller import controller_of
from schedcomp.textfile import read_bytes, source_from_bytes
from schedcomp.transfer import Transfer
from schedcomp.transferfile import LARGEST_BYTES, read_transfer

SITE, TRANSFER, EVENTS, LIST = "site file", "transfer file", "events.csv", "list of slots"
SPECIAL_DAYS = "special_days.csv"

Findings = tuple[Diagnostic, ...]


class Around(Record, kw_only=True):
    """Where a program is used: what events.csv and a list of slots do not tell."""

    location: Location
    lamps: tuple[tuple[int, Lamps], ...]
    period: Period | None
    controller: Controller | None


class Side(Record, kw_only=True):
    """A file to compare. `data` is what it holds; `program` None where there is none, or yet."""

    name: str
    kind: str
    data: bytes
    site: Site | None = None
    transfer: Transfer | None = None
    around: Around | None = None
    program: Program | None = None


def load_side(path: str) -> tuple[Side | None, Findings]:
    """A file by its content, a site file by its name."""
    if Path(path).suffix.lower() == ".toml":
        site, found = sitefile.load_site(path)
        if site is None:
            return None, found
        side = Side(name=path, kind=SITE, data=b"", site=site, around=_around_site(site))
        return side, ()
    data, found = read_bytes(path, LARGEST_BYTES + 1, "transfer.json")
    if data is None:
        return None, found
    if data.lstrip(b"\xef\xbb\xbf \t\r\n").startswith((b"{", b"[")):
        transfer, found = read_transfer(data, path)
        return (None, found) if transfer is None else (_of_transfer(path, data, transfer), ())
    return Side(name=path, kind=EVENTS if is_events_file(data) else LIST, data=data), ()


def _of_transfer(path: str, data: bytes, transfer: Transfer) -> Side:
    around = Around(
        location=Location(
            transfer.latitude_degrees, transfer.longitude_degrees, transfer.zone_name
        ),
        lamps=tuple((c.channel, Lamps(c.name, c.load_kw)) for c in transfer.circuits),
        period=transfer.period,
        controller=transfer.controller,
    )
    return Side(
        name=path,
        kind=TRANSFER,
        data=data,
        transfer=transfer,
        around=around,
        program=transfer.program,
    )


def _around_site(site: Site) -> Around:
    return Around(
        location=Location(site.latitude_degrees, site.longitude_degrees, site.timezone),
        lamps=tuple((c.channel, Lamps(c.name, c.load_kw)) for c in site.circuits),
        period=None,
        controller=None,
    )


def with_controller(side: Side) -> tuple[Side | None, Findings]:
    """The side of a site file with the controller that it names."""
    if side.site is None or side.around is None or side.around.controller is not None:
        return side, ()
    controller, found = controller_of(side.site)
    if controller is None:
        return None, found
    return replace(side, around=replace(side.around, controller=controller)), ()


def completed(side: Side, around: Around) -> tuple[Side | None, Findings]:
    """events.csv or a list of slots, read for the unit that it is of; other sides as they are."""
    if side.kind not in (EVENTS, LIST):
        return side, ()
    controller = around.controller
    if controller is None:
        raise ValueError("a list is read for a controller")
    if side.kind == EVENTS:
        beside = Path(side.name).with_name(SPECIAL_DAYS)
        special: bytes | None = None
        found: Findings = ()
        if os.path.lexists(beside):
            special, found = read_bytes(beside, LARGEST_BYTES + 1, SPECIAL_DAYS)
        if found:
            return None, found
        program, found = read_events(side.data, side.name, special, controller)
    else:
        source, found = source_from_bytes(side.name, side.data, ".txt")
        if source is None:
            return None, found
        program, found = read_keyed(source, controller, tuple(c for c, _ in around.lamps))
    if program is None:
        return None, found
    return replace(side, program=program, around=around), ()


def behaviour_of(side: Side, period: Period) -> tuple[Behaviour | None, Findings]:
    """What the lamps of a side do in a period."""
    if side.site is not None:
        read, found = pipeline.read_year(side.site, period)
        if read is None:
            return None, tuple(_problems(found))
        return behaviour_of_year(read[1]), ()
    around = side.around
    if around is None or around.controller is None or side.program is None:
        raise ValueError("a program is played in a unit at a place")
    return behaviour_of_program(side.program, around.controller, around.location, period), ()


def _problems(findings: Findings) -> Iterator[Diagnostic]:
    return (f for f in findings if f.severity is Severity.PROBLEM)
