"""A site as meant: everything of a site file, checked, with nothing left to look up but dates."""

from __future__ import annotations

from datetime import date

from schedcomp.diag import SourceRange
from schedcomp.phrases.tree import (
    CalendarLine,
    DatesPhrase,
    HoursValue,
    KeepDarkLine,
    PromiseLine,
    Stretch,
    SunDefinition,
    Window,
)
from schedcomp.records import PlacedRecord, Record

DARK = "dark"


class HoursLine(PlacedRecord, kw_only=True):
    """One key of `[hours]` with its value; the last line that names a date decides it."""

    dates: DatesPhrase
    value: HoursValue
    text: str
    at: SourceRange | None = None


class Hours(Record, kw_only=True):
    lines: tuple[HoursLine, ...] = ()
    staff_before_minutes: int = 0
    staff_after_minutes: int = 0


class AddedHoliday(PlacedRecord, kw_only=True):
    name: str
    dates: DatesPhrase
    at: SourceRange | None = None


class HolidayChoice(PlacedRecord, kw_only=True):
    """`holidays = {...}` of a site file; `observed` None means not given."""

    country: str | None = None
    subdivision: str | None = None
    only: tuple[tuple[str, SourceRange | None], ...] | None = None
    left_out: tuple[tuple[str, SourceRange | None], ...] = ()
    added: tuple[AddedHoliday, ...] = ()
    observed: bool | None = None
    at: SourceRange | None = None


class DayType(PlacedRecord, kw_only=True):
    name: str
    windows: tuple[Window, ...]
    at: SourceRange | None = None


class PanelFacts(Record, kw_only=True):
    """Facts of the installation that are printed and not used for times; "" is a blank line."""

    volts: float | None = None
    phases: int | None = None
    contactor_poles: int | None = None
    contactor_rating_amperes: float | None = None
    coil_supply: str = ""
    fed_from: str = ""
    control_fed_from: str = ""
    lamp_kind: str = ""
    power_factor: float | None = None
    surge_protector: str = ""
    selector: str = ""
    output: str = ""
    contactor: str = ""
    photocell_fails: str = ""


class Circuit(PlacedRecord, kw_only=True):
    """`load_kw` None: no energy is claimed. `photocell` None: not given.

    `photocell_level` is the light at which the photocell calls for light, None: not given.
    `lumens` are of all lamps together; `lamp_count` is read from `lamps`.
    """

    name: str
    channel: int
    load_kw: float | None = None
    lamps: str = ""
    serves: str = ""
    egress: str = ""
    photocell: str | None = None
    photocell_level: SunDefinition | None = None
    lumens: float | None = None
    lamp_count: int | None = None
    override_minutes: int | None = None
    shortest_on_seconds: int = 0
    shortest_off_seconds: int = 0
    tolerance_minutes: int | None = None
    calendar: tuple[CalendarLine, ...] = ()
    keep_dark: tuple[KeepDarkLine, ...] = ()
    promises: tuple[PromiseLine, ...] = ()
    panel: PanelFacts = PanelFacts()
    at: SourceRange | None = None


class OneOff(PlacedRecord, kw_only=True):
    """A single lit or dark period of a circuit; beats everything else. `at` is its stretch."""

    circuit: str
    lit: bool
    stretch: Stretch
    because: str = ""
    at: SourceRange | None = None
    circuit_at: SourceRange | None = None


class Confirmation(Record, kw_only=True):
    """What showed on a date that a unit holds the program of a code."""

    how: str
    day: date
    program_code: str


class Unit(Record, kw_only=True):
    """One installed controller. `location_degrees` is (latitude, longitude) as keyed into it."""

    label: str
    where: str = ""
    serial: str = ""
    wiring: str = ""
    location_degrees: tuple[float, float] | None = None
    confirmed: Confirmation | None = None


class People(Record, kw_only=True):
    owner: str = ""
    call: str = ""
    installer: str = ""
    job: str = ""


TWENTY_FOUR, TWELVE = "24 hour", "12 hour"
CLOCKS = (TWENTY_FOUR, TWELVE)


class Paper(Record, kw_only=True):
    """`clock` is one of `CLOCKS`; `size` is "a4", "letter" or "" (by where the site is)."""

    revision: str = ""
    replaces: str = ""
    kept_at: str = ""
    clock: str = TWENTY_FOUR
    size: str = ""


class FitWishes(Record, kw_only=True):
    """How the program may differ from the exact year.

    `favour` is "light", "dark" or "even". `tolerance_minutes` None: the smallest that fits, up to
    `tolerance_limit_minutes`.
    """

    favour: str = "light"
    tolerance_minutes: int | None = None
    tolerance_limit_minutes: int = 10
    spare: str = "safety"


class Assumption(Record, kw_only=True):
    """Something the program took without being told, in words for people."""

    topic: str
    text: str


class Site(PlacedRecord, kw_only=True):
    """`timezone_given` False: `timezone` was looked up from the coordinates.

    `controller` is the name of a built-in class or a path as written, "" when left out; so are
    `ordinances`, whose places are known where a site file names them;
    `folder` is the folder of the site file, from which paths are meant.
    """

    name: str
    latitude_degrees: float
    longitude_degrees: float
    timezone: str
    timezone_given: bool
    dusk: SunDefinition
    dawn: SunDefinition
    holidays: HolidayChoice | None = None
    hours: Hours | None = None
    day_types: tuple[DayType, ...] = ()
    circuits: tuple[Circuit, ...] = ()
    one_offs: tuple[OneOff, ...] = ()
    units: tuple[Unit, ...] = ()
    people: People = People()
    paper: Paper = Paper()
    controller: str = ""
    controller_at: SourceRange | None = None
    ordinances: tuple[str, ...] = ()
    ordinances_at: tuple[SourceRange, ...] = ()
    price_per_kwh: float | None = None
    currency: str = ""
    fit: FitWishes = FitWishes()
    assumed: tuple[Assumption, ...] = ()
    folder: str = "."
    location_at: SourceRange | None = None

    @property
    def typed_file(self) -> str:
        """The site file as it is typed in a command; SITE where its parts are of several files."""
        places = (self.location_at, self.controller_at, *(c.at for c in self.circuits))
        names = {place.source.name for place in places if place is not None}
        name = names.pop() if len(names) == 1 else "SITE"
        return f'"{name}"' if " " in name else name

    def day_type(self, name: str) -> DayType | None:
        """The day type of this name; `dark` (no windows) is built in."""
        if name == DARK:
            return DayType(name=DARK, windows=())
        return next((t for t in self.day_types if t.name == name), None)

    def one_offs_of(self, circuit: Circuit) -> tuple[OneOff, ...]:
        return tuple(o for o in self.one_offs if o.circuit == circuit.name)
