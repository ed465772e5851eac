"""What a transfer file holds, as plain values: enough to run the program again without its site."""

from __future__ import annotations

from schedcomp.clock import ClockChange
from schedcomp.controller import Controller
from schedcomp.holiday_list import Holiday
from schedcomp.model import Instant, Period
from schedcomp.program import Certificate, Program
from schedcomp.records import Record
from schedcomp.site import Unit
from schedcomp.versions import Versions

Degrees = tuple[float, float]
"""(latitude, longitude); north and east are positive."""


class SunMeaning(Record, kw_only=True):
    """What the site calls dusk or dawn: the Sun's altitude, or the light, plus minutes."""

    words: str
    level_degrees: float
    lux: float | None
    offset_minutes: int


class OpenLine(Record, kw_only=True):
    """Opening periods, (from, until) in minutes after 00:00, of the dates a phrase names.

    None of them: closed. The last line that names a date decides it.
    """

    dates: str
    open_minutes: tuple[tuple[int, int], ...]


class OpenLines(Record, kw_only=True):
    """The opening hours of a site as written, line by line."""

    lines: tuple[OpenLine, ...]
    staff_before_minutes: int
    staff_after_minutes: int


class TransferCircuit(Record, kw_only=True):
    """A circuit as far as a check needs it; None where the site file says nothing."""

    channel: int
    name: str
    load_kw: float | None
    lamps: str
    lumens: float | None
    serves: str
    egress: str
    photocell: str | None
    photocell_level: SunMeaning | None
    override_minutes: int | None
    tolerance_minutes: int | None


class Transfer(Record, kw_only=True):
    """Everything of a transfer file.

    `start` and `end` are the first and last local midnight of `period`, and `clock_changes` those
    between them, as the program was made for. `location_degrees` is what is keyed into a unit,
    None where it holds none or takes it from a list of its own; a unit with a location of its own
    has it in `units`. `utc_offsets_minutes` are those of the unit's own clock. The holidays are
    those of the period, with no other names. `accepted` are clauses and promises that need not be
    met, each with the reason.
    """

    program_code: str
    checksum: str
    versions: Versions
    period: Period
    start: Instant
    end: Instant
    program: Program
    controller: Controller
    certificate: Certificate | None
    site_name: str
    zone_name: str
    latitude_degrees: float
    longitude_degrees: float
    location_degrees: Degrees | None
    utc_offsets_minutes: tuple[int, ...]
    dusk: SunMeaning
    dawn: SunMeaning
    circuits: tuple[TransferCircuit, ...]
    units: tuple[Unit, ...]
    clock_changes: tuple[ClockChange, ...]
    hours: OpenLines | None
    holidays: tuple[Holiday, ...]
    tolerance_minutes: int
    favour: str
    accepted: tuple[tuple[str, str], ...] = ()
