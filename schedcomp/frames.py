"""Results as pandas frames; the only place that knows pandas, which is loaded when asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from schedcomp.clock import Zone, offset_text
from schedcomp.model import WEEKDAYS
from schedcomp.output import events, special_days, table
from schedcomp.program import Program
from schedcomp.site import Circuit
from schedcomp.year import Year

if TYPE_CHECKING:
    import pandas as pd


def year_frame(year: Year, zone: Zone) -> pd.DataFrame:
    """The rows of table.csv: `utc` and `local` as times, the rest as in the file."""
    import pandas as pd

    rows = table.table_rows(year)
    local = [zone.local(row.instant) for row in rows]
    return pd.DataFrame(
        {
            "date": pd.to_datetime([shown.date() for shown in local]),
            "weekday": [WEEKDAYS[shown.weekday()] for shown in local],
            "time": [shown.time() for shown in local],
            "utc_offset": [offset_text(zone.offset(row.instant)) for row in rows],
            "utc": pd.to_datetime([row.instant for row in rows], unit="s", utc=True),
            "channel": pd.Series([row.channel for row in rows], dtype="int64"),
            "circuit": [row.circuit for row in rows],
            "action": [row.action.value for row in rows],
            "cause": [row.cause for row in rows],
            "day_type": [row.day_type for row in rows],
        },
        columns=list(table.COLUMNS),
    )


def events_frame(program: Program | None, circuits: tuple[Circuit, ...]) -> pd.DataFrame:
    """The rows of events.csv; `offset_min` is missing for clock starts; empty without a program."""
    import pandas as pd

    rows = () if program is None else events.event_rows(program, circuits)
    frame = pd.DataFrame([events.cells(row) for row in rows], columns=list(events.COLUMNS))
    return frame.assign(
        offset_min=pd.array([row.offset_minutes for row in rows], dtype="Int64"),
        slot=frame["slot"].astype("int64"),
    )


def special_days_frame(program: Program | None, circuits: tuple[Circuit, ...]) -> pd.DataFrame:
    """The rows of special_days.csv, dates as texts; empty without a program."""
    import pandas as pd

    rows = () if program is None else special_days.special_day_rows(program, circuits)
    frame = pd.DataFrame(
        [special_days.cells(row) for row in rows], columns=list(special_days.COLUMNS)
    )
    return frame.assign(slot=frame["slot"].astype("int64"))
