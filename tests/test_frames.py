"""Frames hold the rows of the files, and pandas is loaded only for them."""

from __future__ import annotations

import subprocess
import sys

import pandas as pd

from schedcomp.output.events import COLUMNS as EVENT_COLUMNS
from schedcomp.output.special_days import COLUMNS as SPECIAL_DAY_COLUMNS
from schedcomp.output.table import COLUMNS as TABLE_COLUMNS
from schedcomp.output.table import table_rows
from schedcomp.records import replace
from tests.made_up import COMPILED, NOT_FITTING, PROGRAM, WITH_SPECIAL_DAYS, YARD, YEAR


def test_pandas_is_loaded_only_when_a_frame_is_asked_for() -> None:
    program = "import sys, schedcomp.frames; print('pandas' in sys.modules)"
    ended = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, check=True, timeout=60
    )
    assert ended.stdout.split() == [b"False"]


def test_the_year_as_a_frame() -> None:
    frame = COMPILED.to_frame()
    assert tuple(frame.columns) == TABLE_COLUMNS
    rows = table_rows(YEAR)
    assert len(frame) == len(rows)
    seconds = (frame["utc"] - pd.Timestamp(0, tz="UTC")).dt.total_seconds()
    assert list(seconds) == [row.instant for row in rows]
    assert list(frame["circuit"]) == [row.circuit for row in rows]
    assert str(frame["utc"].dt.tz) == "UTC"
    assert frame["channel"].dtype == "int64"
    assert list(frame["date"].dt.day_name().str[:3].str.lower()) == list(frame["weekday"])


def test_hours_lit_can_be_worked_out_from_a_frame() -> None:
    frame = COMPILED.to_frame()
    for use in COMPILED.energy:
        own = frame[frame["circuit"] == use.circuit]
        on, off = (own.loc[own["action"] == action, "utc"] for action in ("on", "off"))
        lit = off.reset_index(drop=True) - on.reset_index(drop=True)
        assert lit.dt.total_seconds().sum() / 3600 == use.hours


def test_the_program_as_a_frame() -> None:
    frame = COMPILED.events_to_frame()
    assert tuple(frame.columns) == EVENT_COLUMNS
    assert list(frame["slot"]) == [1, 2, 3]
    assert frame.loc[0, "offset_min"] == -15
    assert list(frame["offset_min"].isna()) == [False, True, True]
    assert frame["offset_min"].dtype == "Int64"
    assert frame.loc[1, "time"] == "23:00"
    assert frame.loc[0, "purpose"] == PROGRAM.events[0].purpose


def test_the_special_days_as_a_frame() -> None:
    frame = WITH_SPECIAL_DAYS.special_days_to_frame()
    assert tuple(frame.columns) == SPECIAL_DAY_COLUMNS
    assert list(frame["slot"]) == [1, 2, 3]
    assert frame["slot"].dtype == "int64"
    assert list(frame["plan"]) == ["A", "off", "rest"]
    assert list(frame["from"]) == ["12-31", "2027-07-04", "02-29"]
    assert frame.loc[1, "channels"] == "1 2"
    events = WITH_SPECIAL_DAYS.events_to_frame()
    assert set(events.loc[events["plan"] == "A", "weekdays"]) == {""}


def test_frames_without_program_or_light_have_their_columns() -> None:
    frame = NOT_FITTING.events_to_frame()
    assert tuple(frame.columns) == EVENT_COLUMNS
    assert len(frame) == 0
    for compiled in (NOT_FITTING, COMPILED):
        special = compiled.special_days_to_frame()
        assert tuple(special.columns) == SPECIAL_DAY_COLUMNS
        assert len(special) == 0
    dark = replace(COMPILED, year=replace(YEAR, circuits=()))
    empty = dark.to_frame()
    assert tuple(empty.columns) == TABLE_COLUMNS
    assert len(empty) == 0
    assert str(empty["utc"].dtype).startswith("datetime64")
    assert str(empty["date"].dtype).startswith("datetime64")


def test_names_are_not_guarded_in_a_frame() -> None:
    """A frame is no spreadsheet: the text is as it was entered."""
    site = replace(
        COMPILED.site,
        circuits=tuple(replace(c, name=YARD) for c in COMPILED.site.circuits),
    )
    assert set(replace(COMPILED, site=site).events_to_frame()["circuits"]) == {YARD}
