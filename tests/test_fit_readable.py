"""Dates of a program read as plainly as they can without changing what the lamps do."""

from __future__ import annotations

from datetime import date
from functools import cache

import pytest

from schedcomp import controllerfile, pipeline, sitefile
from schedcomp.diag import Source
from schedcomp.model import WEEKDAYS, Period
from schedcomp.program import ClockStart, Event

SITE = """
schedcomp = 1

[site]
name       = "Mill Lane Bowls, green"
latitude   = 51.45
longitude  = -2.59
timezone   = "Europe/London"
controller = "{controller}"

[day_types]
early = ["on from 18:00 until 21:00"]
late  = ["on from 18:00 until 22:00"]

[[circuit]]
name      = "Green"
channel   = 1
load_kw   = 2.0
serves    = "people"
egress    = "none on this circuit"
photocell = "none"
override_minutes = 0
calendar  = ["every day: early", {lines}]
"""


@cache
def events(controller: str, lines: str) -> tuple[Event, ...]:
    text = SITE.format(controller=controller, lines=lines)
    site, found = sitefile.site_from_source(Source("green.toml", text))
    assert site is not None, found
    kept, _ = controllerfile.load_controller(site.controller, site.folder)
    assert kept is not None
    compiled, found = pipeline.compile(site, Period(date(2027, 1, 1), date(2027, 12, 31)), kept)
    assert compiled is not None
    assert compiled.fitted.program is not None, found
    return tuple(e for e in compiled.fitted.program.events if not e.safety)


def dates_of(chosen: tuple[Event, ...], minutes: int) -> list[tuple[object, ...]]:
    return [
        () if event.dates is None else (event.dates.first, event.dates.last)
        for event in chosen
        if event.start == ClockStart(minutes)
    ]


@pytest.mark.parametrize(
    ("lines", "early"),
    [
        # The first of two OFFs decides, so only the earlier one is bound to dates.
        ('"apr 3 to sep 27: late"', [((9, 28), (4, 2))]),
        ('"apr 1 to sep 30: late"', [((10, 1), (3, 31))]),
        ('"jan 1 to dec 31: early"', [()]),
    ],
)
def test_what_need_not_be_bound_to_dates_is_not(
    lines: str, early: list[tuple[object, ...]]
) -> None:
    chosen = events("clock-yearly-96", lines)
    assert dates_of(chosen, 18 * 60) == [()]
    assert dates_of(chosen, 21 * 60) == early
    assert dates_of(chosen, 22 * 60) == ([()] if len(early[0]) else [])
    assert all(len(event.weekdays) == len(WEEKDAYS) for event in chosen)


def test_a_date_that_is_a_special_day_anyway_is_not_left_out_of_a_range() -> None:
    chosen = events("sun-yearly-32", '"2027-02-20: dark"')
    assert dates_of(chosen, 18 * 60) == [()]
    assert dates_of(chosen, 21 * 60) == [()]
