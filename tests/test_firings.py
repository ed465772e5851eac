"""When clock events fire around a jump of the clock, and how date ranges are stored."""

from __future__ import annotations

from datetime import UTC, date, datetime

import numpy as np

from schedcomp.clock import zone
from schedcomp.controller import Controller
from schedcomp.fit.date_ranges import LEAP_DAY, range_axis
from schedcomp.fit.firings import NO_DATE, Axis, clock_firings
from schedcomp.model import MINUTE
from schedcomp.program import ClockStart, EventDates
from schedcomp.records import replace

UNIT = Controller(name="any", event_slots=8, step_minutes=30)
# Denver's clock goes from 02:00 to 03:00 on 14 March 2027 (public zone table).
MARCH = Axis(date(2027, 3, 13), 3)
JUMP = int(datetime(2027, 3, 14, 9, tzinfo=UTC).timestamp())


def fired_near_the_jump(skipped_time: str) -> list[int]:
    """Minutes from the jump at which the events of 02:00 and 02:30 fire."""
    unit = replace(UNIT, skipped_time=skipped_time)
    firings = clock_firings(unit, zone("America/Denver", MARCH.first, MARCH.dates[-1]), MARCH)
    found = []
    for reading in (120, 150):
        number = firings.starts.index(ClockStart(reading))
        at = firings.first[number][(firings.dates[number] != NO_DATE).any(axis=-1)]
        found += [(t - JUMP) // MINUTE for t in at.tolist() if abs(t - JUMP) < 120 * MINUTE]
    return found


def test_skipped_readings_fire_at_the_jump_or_never() -> None:
    assert fired_near_the_jump("at the jump") == [0, 0]
    assert fired_near_the_jump("lost") == []


def test_a_range_through_28_february_of_a_common_year_holds_the_29th_too() -> None:
    """Stored once and kept: else lamps of that range would rest on the leap day to come."""
    ranges = range_axis(replace(UNIT, date_ranges="yearly"), Axis(date(2027, 1, 1), 365))
    assert ranges.dates((0, LEAP_DAY - 1)) == EventDates((1, 1), (2, 29))
    assert ranges.dates((LEAP_DAY, 100)) == EventDates((3, 1), ranges.dates((100, 100)).last)  # type: ignore[union-attr]
    leap = range_axis(replace(UNIT, date_ranges="yearly"), Axis(date(2028, 1, 1), 366))
    assert leap.dates((0, LEAP_DAY - 1)) == EventDates((1, 1), (2, 28))
    assert np.count_nonzero(leap.positions == LEAP_DAY) == 1
