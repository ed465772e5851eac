"""table.csv: the exact year, one row for each dated on and off."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone, offset_text, utc_text
from schedcomp.model import WEEKDAYS, Action, Instant
from schedcomp.output.csvfile import csv_bytes
from schedcomp.records import Record
from schedcomp.year import Cause, CircuitYear, Reason, Span, Year

COLUMNS = (
    "date",
    "weekday",
    "time",
    "utc_offset",
    "utc",
    "channel",
    "circuit",
    "action",
    "cause",
    "day_type",
)
PERIOD_BEGINS = "period begins"
PERIOD_ENDS = "period ends"


class TableRow(Record, kw_only=True):
    """One on or off inside the period; the rows of a circuit alternate, from on to off.

    `day_type` is the one that asked for this end, or that has the circuit lit at an end of the
    period; empty where keep-dark or a one-off asked.
    """

    instant: Instant
    channel: int
    circuit: str
    action: Action
    cause: str
    day_type: str


def table_csv(year: Year, zone: Zone) -> bytes:
    """The whole file; dates, weekdays and times are those of the local clock."""
    return csv_bytes(COLUMNS, (cells(row, zone) for row in table_rows(year)))


def table_rows(year: Year) -> tuple[TableRow, ...]:
    """Every row in order of instant and channel."""
    rows = [
        row
        for circuit in year.circuits
        for span in circuit.spans
        if span.start < year.end and span.end > year.start
        for row in _ends(span, circuit, year)
    ]
    return tuple(sorted(rows, key=lambda row: (row.instant, row.channel)))


def cells(row: TableRow, zone: Zone) -> tuple[str | int, ...]:
    """A row as the columns of `COLUMNS`."""
    local = zone.local(row.instant)
    return (
        local.date().isoformat(),
        WEEKDAYS[local.weekday()],
        local.time().isoformat(),
        offset_text(zone.offset(row.instant)),
        utc_text(row.instant),
        row.channel,
        row.circuit,
        row.action.value,
        row.cause,
        row.day_type,
    )


def cause_text(reason: Reason) -> str:
    """Why a switching is where it is: the moment in words, and what else than a window asked."""
    if reason.cause is Cause.WINDOW:
        return reason.phrase
    return f"{reason.cause.value}: {reason.phrase}"


def _ends(span: Span, circuit: CircuitYear, year: Year) -> Iterator[TableRow]:
    on, off = span.start_reason, span.end_reason
    lit_by = on.day_type or off.day_type
    begins_inside, ends_inside = span.start >= year.start, span.end <= year.end
    yield TableRow(
        instant=max(span.start, year.start),
        channel=circuit.channel,
        circuit=circuit.circuit,
        action=Action.ON,
        cause=cause_text(on) if begins_inside else PERIOD_BEGINS,
        day_type=on.day_type if begins_inside else lit_by,
    )
    yield TableRow(
        instant=min(span.end, year.end),
        channel=circuit.channel,
        circuit=circuit.circuit,
        action=Action.OFF,
        cause=cause_text(off) if ends_inside else PERIOD_ENDS,
        day_type=off.day_type if ends_inside else lit_by,
    )
