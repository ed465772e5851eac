"""special_days.csv: the dates on which a plan replaces the normal events, slot by slot."""

from __future__ import annotations

from schedcomp.output.csvfile import Cell, csv_bytes
from schedcomp.output.events import circuit_names, circuits_text, range_texts
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.site import Circuit

COLUMNS = ("slot", "from", "through", "plan", "channels", "circuits")


class SpecialDaysRow(Record, kw_only=True):
    """One slot of special days as one would key it, both dates included.

    Dates are `MM-DD` of every year, or `YYYY-MM-DD`; `plan` is `off` for plain dark.
    """

    slot: int
    first: str
    through: str
    plan: str
    channels: tuple[int, ...]
    circuits: str


def special_days_csv(program: Program, circuits: tuple[Circuit, ...]) -> bytes:
    """The whole file."""
    return csv_bytes(COLUMNS, (cells(row) for row in special_day_rows(program, circuits)))


def special_day_rows(program: Program, circuits: tuple[Circuit, ...]) -> tuple[SpecialDaysRow, ...]:
    """The special days in slot order."""
    names = circuit_names(circuits)
    rows = []
    for days in program.special_days:
        first, through = range_texts(days.dates)
        rows.append(
            SpecialDaysRow(
                slot=days.slot,
                first=first,
                through=through,
                plan=days.plan,
                channels=days.channels,
                circuits=circuits_text(days.channels, names),
            )
        )
    return tuple(rows)


def cells(row: SpecialDaysRow) -> tuple[Cell, ...]:
    """A row as the columns of `COLUMNS`."""
    channels = " ".join(str(channel) for channel in row.channels)
    return (row.slot, row.first, row.through, row.plan, channels, row.circuits)
