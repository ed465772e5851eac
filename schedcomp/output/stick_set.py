"""The set of files that goes on a stick: the same program for every unit, with what people need.

All is made from the transfer file alone; only sheet and changes are taken as they are.
"""

from __future__ import annotations

import hashlib
import json
import textwrap
from collections.abc import Mapping, Sequence
from datetime import date

from schedcomp.output.events import events_csv
from schedcomp.output.special_days import special_days_csv
from schedcomp.records import Record
from schedcomp.site import Circuit, Unit
from schedcomp.transfer import Transfer
from schedcomp.words import counted, date_words, join_and

FORMAT_KEY = "schedcomp_stick"
FORMAT = 1
TRANSFER, EVENTS, SPECIAL_DAYS = "transfer.json", "events.csv", "special_days.csv"
SHEETS = ("sheet.html", "sheet.pdf")
CHANGES = "changes.csv"
BESIDE = (*SHEETS, CHANGES)
"""What stands beside a transfer file and is taken as it is."""
LABELS, READ_ME, MANIFEST = "labels.txt", "read-me.txt", "manifest.json"
STICK_NAMES = (TRANSFER, EVENTS, SPECIAL_DAYS, *BESIDE, LABELS, READ_ME, MANIFEST)
"""Every file a set may have, the manifest last."""

WIDTH = 72
CUT = "- " * (WIDTH // 2)
SAFETY = (
    "These circuits switch on by themselves at any time. OFF at the clock is not isolation. "
    "Lock out at the breaker and test before work. Control voltage may come from another source."
)


class ListedFile(Record):
    """A file of a set as its manifest lists it."""

    name: str
    bytes: int
    sha256: str


class StickSet(Record, kw_only=True):
    """The files by name, and what is told about them. `units` are those the set is for."""

    program_code: str
    units: tuple[Unit, ...]
    files: Mapping[str, bytes]


def stick_set(
    transfer: Transfer,
    data: bytes,
    sheets: Mapping[str, bytes],
    units: Sequence[Unit],
    good_until: str,
) -> StickSet:
    """The whole set. `data` is the transfer file as it was read; `good_until` an ISO date or ""."""
    circuits = tuple(Circuit(name=c.name, channel=c.channel) for c in transfer.circuits)
    files = {TRANSFER: data, EVENTS: events_csv(transfer.program, circuits)}
    if transfer.program.special_days:
        files[SPECIAL_DAYS] = special_days_csv(transfer.program, circuits)
    files |= {name: sheets[name] for name in BESIDE if name in sheets}
    files[LABELS] = labels_text(transfer, units, good_until).encode()
    files[READ_ME] = read_me_text(transfer, units, tuple(files)).encode()
    files[MANIFEST] = manifest_bytes(transfer, units, files)
    return StickSet(program_code=transfer.program_code, units=tuple(units), files=files)


def listed(files: Mapping[str, bytes]) -> tuple[ListedFile, ...]:
    """Size and SHA-256 of each file, without the manifest."""
    return tuple(
        ListedFile(name, len(content), hashlib.sha256(content).hexdigest())
        for name, content in files.items()
        if name != MANIFEST
    )


def manifest_bytes(transfer: Transfer, units: Sequence[Unit], files: Mapping[str, bytes]) -> bytes:
    """What the set holds and for which units, spread over lines so that people can read it."""
    record = {
        FORMAT_KEY: FORMAT,
        "program_code": transfer.program_code,
        "site": transfer.site_name,
        "period": {
            "first": transfer.period.first.isoformat(),
            "last": transfer.period.last.isoformat(),
        },
        "controller": transfer.controller.name,
        "units": [{"label": u.label, "where": u.where, "serial": u.serial} for u in units],
        "files": [{"name": f.name, "bytes": f.bytes, "sha256": f.sha256} for f in listed(files)],
    }
    return (json.dumps(record, indent=2, ensure_ascii=False) + "\n").encode()


# Words


def labels_text(transfer: Transfer, units: Sequence[Unit], good_until: str) -> str:
    """A door label for each unit, to cut out. It tells no times and no dark dates."""
    blocks = [_label(transfer, unit, good_until) for unit in units or (Unit(label=""),)]
    return f"{CUT}\n" + "".join(f"{block}{CUT}\n" for block in blocks)


def _label(transfer: Transfer, unit: Unit, good_until: str) -> str:
    through = f"____________ (made for dates through {date_words(transfer.period.last)})"
    last = date_words(date.fromisoformat(good_until)) if good_until else through
    channels = ", ".join(f"{c.channel} = {c.name}" for c in transfer.circuits)
    lines = [
        _line("Site", transfer.site_name),
        _line("Unit", ", ".join(t for t in (unit.label, unit.where) if t) or "_" * 30),
        _line("Serial", unit.serial or "_" * 30),
        _line("Program", f"{transfer.program_code}    GOOD UNTIL {last}"),
        _line("Channels", channels),
        *([_line("Location", _place(transfer, unit))] if _place(transfer, unit) else []),
        _line("Breakers", "_" * 40),
        _line("Call", "_" * 40),
        "",
        *textwrap.wrap(SAFETY, WIDTH),
    ]
    return "\n".join(lines) + "\n"


def _line(name: str, text: str) -> str:
    return textwrap.fill(f"{name:<10}{text}", WIDTH, subsequent_indent=" " * 10)


def _place(transfer: Transfer, unit: Unit) -> str:
    """The location to key into a unit; "" where it takes none."""
    degrees = unit.location_degrees or transfer.location_degrees
    if degrees is None:
        return ""
    latitude, longitude = degrees
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{abs(latitude):g} {north}, {abs(longitude):g} {east}"


def read_me_text(transfer: Transfer, units: Sequence[Unit], names: Sequence[str]) -> str:
    """What the set is, how it gets into a unit, and what it does not prove."""
    code = transfer.program_code
    for_units = join_and([u.label for u in units]) or "every unit of the site"
    first, last = date_words(transfer.period.first), date_words(transfer.period.last)
    slots = counted(transfer.program.slots_used, "slot")
    parts = [
        f"Program {code} of {transfer.site_name}",
        f"For {for_units}: {slots} on a {transfer.controller.name}, {first} through {last}.",
        SAFETY,
        *(f"{name}: {_WHAT[name]}" for name in names if name in _WHAT),
        f"Every unit gets this same program. Compare the program code {code} on sheet, label and "
        "in the file before you key anything.",
        "This set proves files, not units. That a unit holds the program is shown only by a list "
        "of its slots read off its display and compared (schedcomp compare transfer.json "
        "LIST.txt), a signed test page, or what a converter read back. Until then it counts as "
        "not confirmed.",
        "To check the set again: schedcomp verify and the name of the folder that holds "
        "use-this.txt. Do not change a file here; change the site file and build again.",
    ]
    return "\n\n".join(textwrap.fill(part, WIDTH, break_on_hyphens=False) for part in parts) + "\n"


_WHAT = {
    TRANSFER: "the program for a converter, with its checksum.",
    EVENTS: "the slots to key in, one a line.",
    SPECIAL_DAYS: "the dates that go into the slots for special days.",
    SHEETS[0]: "the sheet for the owner and for the panel, for a browser.",
    SHEETS[1]: "the sheet to print.",
    CHANGES: "only the slots that differ from the program before, with a box to tick.",
    LABELS: "a door label for each unit, to cut out.",
}
