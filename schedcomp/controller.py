"""What a time switch can hold and how it behaves: a neutral statement."""

from __future__ import annotations

from schedcomp.model import Half
from schedcomp.records import Record

SUNRISE_LEVEL_DEGREES = -0.8333
"""Centre of the Sun at sunrise and sunset: 34' refraction and 16' semidiameter."""


class SunStart(Record, kw_only=True):
    """A sun event a controller knows: its word, side and the Sun's altitude.

    Words: sunrise, sunset, civil dawn, civil dusk, nautical dawn/dusk, astronomical dawn/dusk,
    or `dawn at 4 deg` / `dusk at 4 deg`.
    """

    word: str
    half: Half
    level_degrees: float


class ExceptionSlots(Record, kw_only=True):
    """Slots for special days; `slots` 0 means none. See the controller file's keys."""

    slots: int = 0
    length: str = "range"
    plan: str = "own events"
    start: str = "keeps state"
    end: str = "keeps state"
    with_year: bool = False
    covers: str = "one channel"
    events_from: str = "event_slots"
    plan_events: int | None = None
    plans: int | None = None

    @property
    def plans_have_slots(self) -> bool:
        """Whether the events of plans have slots of their own, beside the event slots."""
        return self.events_from == "plan_events"


class Controller(Record, kw_only=True):
    """`weekday_sets` None: any set of weekdays; else the sets allowed (Monday is 0).

    `date_ranges`: "yearly", "yearly no wrap", "with year" or "none". `sun_date` None: not given,
    so every reading must be safe. `assumed` names the properties the file left out.
    """

    name: str
    event_slots: int
    starts_clock: bool = True
    sun_starts: tuple[SunStart, ...] = ()
    slots_are: str = "shared"
    slot_holds: str = "one action"
    channels: int = 1
    step_minutes: int = 1
    offsets: str = "per event"
    offset_step_minutes: int = 1
    offset_limit_minutes: int = 120
    weekday_sets: tuple[frozenset[int], ...] | None = None
    weekday_set_costs: str = "one slot"
    date_ranges: str = "yearly"
    exceptions: ExceptionSlots = ExceptionSlots()
    clock: str = "local"
    summer_time: str = "rule"
    skipped_time: str = "at the jump"
    repeated_time: str = "once"
    sun_error_minutes: float = 2.0
    sun_error_degrees: float = 0.1
    sun_date: str | None = None
    no_sun_event: str | None = None
    location_entry: str = "0.01 degree"
    clock_error_minutes: float = 2.0
    after_power_loss: str = "works out the state"
    reserve_hours: float | None = None
    override_ends: str = "next event"
    event_covers: str = "one channel"
    entry_order: tuple[str, ...] = ("clock", "location", "events")
    assumed: tuple[str, ...] = ()

    def sun_start(self, word: str) -> SunStart:
        """The sun event of this word; KeyError if the controller does not know it."""
        for start in self.sun_starts:
            if start.word == word:
                return start
        raise KeyError(word)
