"""events.csv: the program as one would key it, slot by slot."""

from __future__ import annotations

from collections.abc import Mapping

from schedcomp.model import WEEKDAYS
from schedcomp.output.csvfile import Cell, csv_bytes
from schedcomp.program import ClockStart, Event, EventDates, Program
from schedcomp.records import Record
from schedcomp.site import Circuit

COLUMNS = (
    "slot",
    "channels",
    "circuits",
    "action",
    "starts_at",
    "time",
    "offset_min",
    "weekdays",
    "from",
    "through",
    "plan",
    "purpose",
)
CLOCK = "clock"


class EventRow(Record, kw_only=True):
    """One slot as one would key it.

    `time` is empty for a sun start and `offset_minutes` None for a clock start; `first` and
    `through` are empty for an event of every date; `plan` is empty for a normal event. An event
    of a plan has no weekdays and no dates: it fires on the special days of its plan.
    """

    slot: int
    channels: tuple[int, ...]
    circuits: str
    action: str
    starts_at: str
    time: str
    offset_minutes: int | None
    weekdays: tuple[str, ...]
    first: str
    through: str
    plan: str
    purpose: str


def events_csv(program: Program, circuits: tuple[Circuit, ...]) -> bytes:
    """The whole file."""
    return csv_bytes(COLUMNS, (cells(row) for row in event_rows(program, circuits)))


def event_rows(program: Program, circuits: tuple[Circuit, ...]) -> tuple[EventRow, ...]:
    """Every event in slot order."""
    names = circuit_names(circuits)
    return tuple(_row(event, names) for event in program.events)


def cells(row: EventRow) -> tuple[Cell, ...]:
    """A row as the columns of `COLUMNS`."""
    return (
        row.slot,
        " ".join(str(channel) for channel in row.channels),
        row.circuits,
        row.action,
        row.starts_at,
        row.time,
        "" if row.offset_minutes is None else row.offset_minutes,
        " ".join(row.weekdays),
        row.first,
        row.through,
        row.plan,
        row.purpose,
    )


def circuit_names(circuits: tuple[Circuit, ...]) -> dict[int, str]:
    """What each channel drives."""
    by_channel: dict[int, list[str]] = {}
    for circuit in circuits:
        by_channel.setdefault(circuit.channel, []).append(circuit.name)
    return {channel: "; ".join(names) for channel, names in by_channel.items()}


def circuits_text(channels: tuple[int, ...], names: Mapping[int, str]) -> str:
    """What some channels drive, without those that drive nothing of this site."""
    return "; ".join(names[channel] for channel in channels if channel in names)


def _row(event: Event, names: Mapping[int, str]) -> EventRow:
    start = event.start
    first, through = ("", "") if event.plan else range_texts(event.dates)
    return EventRow(
        slot=event.slot,
        channels=event.channels,
        circuits=circuits_text(event.channels, names),
        action=event.action.value,
        starts_at=CLOCK if isinstance(start, ClockStart) else start.word,
        time=clock_text(start.minutes) if isinstance(start, ClockStart) else "",
        offset_minutes=None if isinstance(start, ClockStart) else start.offset_minutes,
        weekdays=() if event.plan else tuple(WEEKDAYS[day] for day in sorted(event.weekdays)),
        first=first,
        through=through,
        plan=event.plan,
        purpose=event.purpose,
    )


def clock_text(minutes: int) -> str:
    """`23:05` for minutes after 00:00."""
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def range_texts(dates: EventDates | None) -> tuple[str, str]:
    """`11-20` and `01-06`, or with years; empty for every date."""
    if dates is None:
        return "", ""
    ends = (dates.first, dates.last)
    texts = [f"{month:02d}-{day:02d}" for month, day in ends]
    if dates.years is not None:
        texts = [f"{year}-{text}" for year, text in zip(dates.years, texts, strict=True)]
    return texts[0], texts[1]
