"""Where single firings fall: what covers a switching, what is never allowed, what is contested.

A channel of one made-up day: ON wished at 18:00 (17:50 to 18:05 will do), OFF at 23:00.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from schedcomp.clock import zone
from schedcomp.fit.cells import NO_ROW, cells_of, contested_rows, profile, useful_firings
from schedcomp.fit.firings import Firings, axis_of
from schedcomp.fit.timetable import Timetable
from schedcomp.model import MINUTE, Action
from schedcomp.program import ClockStart
from schedcomp.records import replace
from schedcomp.target import ChannelTarget
from schedcomp.unit_sun import UnitSun
from tests.audit_worlds import OFF, ON, UNIT, at, channel, sun_time

DAY = "2027-05-05"


def instant(reading: str) -> int:
    return at(f"{DAY} {reading}")


def lamps(*wished: tuple[str, Action, str, str]) -> ChannelTarget:
    """From midnight to midnight; each wish with its band."""
    switchings = [(instant(a), action, instant(b), instant(c)) for a, action, b, c in wished]
    return channel(instant("00:00"), instant("23:59"), *switchings)


EVENING = lamps(("18:00", ON, "17:50", "18:05"), ("23:00", OFF, "23:00", "23:00"))


def firing(first: str, last: str, *, certain: bool = True) -> Firings:
    """One start with one firing, on the second date of the axis."""
    return Firings(
        starts=(ClockStart(0),),
        first=np.array([[instant(first)]]),
        last=np.array([[instant(last)]]),
        dates=np.array([[[1, 1, 1]]]),
        certain=np.array([[certain]]),
        nominal=np.array([[instant(first)]]),
    )


@pytest.mark.parametrize(
    ("first", "last", "certain", "row", "never"),
    [
        ("17:50", "18:05", True, 0, False),
        ("17:50", "18:05", False, NO_ROW, False),
        ("17:50", "18:06", True, NO_ROW, False),
        ("17:49", "18:05", True, NO_ROW, True),
        ("22:00", "22:59", True, NO_ROW, False),
        ("22:00", "23:00", True, NO_ROW, True),
        ("23:30", "23:30", True, NO_ROW, True),
    ],
)
def test_what_an_on_does(first: str, last: str, certain: bool, row: int, never: bool) -> None:
    found = profile(firing(first, last, certain=certain), cells_of(EVENING), ON)
    assert (found.row.item(), found.never.item()) == (row, never)


def test_what_comes_before_the_period_does_harm_where_a_band_begins_there() -> None:
    early = replace(EVENING, start=instant("17:55"))
    assert profile(firing("17:52", "17:52"), cells_of(early), OFF).never.item()
    assert not profile(firing("17:49", "17:49"), cells_of(early), OFF).never.item()


def test_a_switching_is_contested_where_the_other_action_is_of_use_in_its_band() -> None:
    """An ON at 18:00 and an OFF at 18:03 may both be wanted, in either order of their borders."""
    both = lamps(("18:00", ON, "17:50", "18:05"), ("18:10", OFF, "18:00", "18:20"))
    off, idle = firing("18:03", "18:03"), firing("18:30", "18:30")
    assert contested_rows(useful_firings([off], both), both) == (0, 1)
    assert contested_rows(useful_firings([idle], both), both) == ()


def test_nothing_is_contested_on_a_channel_that_never_switches() -> None:
    still = channel(instant("00:00"), instant("23:59"))
    acting = {OFF: [instant("00:00")], ON: [instant("00:00")]}
    assert contested_rows({}, still, acting) == ()


def test_a_sun_event_near_midnight_counts_on_every_date_it_may_be_tested_against() -> None:
    """Its own evening is the 5th; 20 minutes later it fires on the 6th."""
    clock = zone("America/Denver", date(2027, 5, 1), date(2027, 5, 31))
    sun = UnitSun((("sunrise", ()), ("sunset", (sun_time(date(2027, 5, 5), instant("23:50")),))))
    axis = axis_of(clock, instant("00:00"), [instant("23:59")])
    sunset = Timetable(replace(UNIT, sun_date=None), clock, axis, sun).every()[1]
    place = [s.offset_minutes for s in sunset.starts].index(20)  # type: ignore[union-attr]
    assert set(sunset.dates[place, 0].tolist()) == {1, 2}
    assert sunset.first[place, 0] == sunset.last[place, 0] == instant("23:50") + 20 * MINUTE
