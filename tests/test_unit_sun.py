"""A controller's own sun times near the polar limits, where some of their bounds do not exist."""

from __future__ import annotations

from datetime import date

from schedcomp.clock import zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller, SunStart
from schedcomp.model import MINUTE, Half, Period
from schedcomp.sun import SiteSun, site_sun
from schedcomp.unit_sun import UnitSunTime, keyed_location, unit_sun

OSLO = zone("Europe/Oslo", date(2027, 1, 1), date(2027, 12, 31))
SUNSET = SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES)
UNIT = Controller(name="unit", event_slots=9, sun_starts=(SUNSET,))


def place(latitude_degrees: float) -> SiteSun:
    first, last = date(2027, 1, 1), date(2027, 12, 31)
    return site_sun(latitude_degrees, 18.9551, OSLO, first, last)


def sunset(day: date, *keyed_degrees: float) -> UnitSunTime:
    keyed = tuple(place(d) for d in keyed_degrees)
    return unit_sun(UNIT, place(69.6489), keyed, Period(day, day)).of("sunset")[0]


def test_an_ordinary_evening_has_its_error_on_both_sides() -> None:
    time = sunset(date(2027, 3, 20))
    assert time.certain
    assert 2 * MINUTE <= time.nominal - time.earliest <= 4 * MINUTE
    assert 2 * MINUTE <= time.latest - time.nominal <= 4 * MINUTE


def test_where_the_sun_barely_rises_the_event_may_be_at_noon_or_not_at_all() -> None:
    """15 Jan at Tromso: a tenth of a degree lower and the sun would not have risen."""
    time = sunset(date(2027, 1, 15))
    noon = place(69.6489).transit(date(2027, 1, 15))
    assert not time.certain
    assert noon - 3 * MINUTE <= time.earliest <= noon
    assert time.nominal < time.latest < time.nominal + 20 * MINUTE


def test_a_unit_keyed_where_there_is_a_sunset_may_act_then() -> None:
    """11 Jan: polar night at the site, a short day at 68 N."""
    day = date(2027, 1, 11)
    time = sunset(day, 68.0)
    there = place(68.0).crossing(day, Half.EVENING, SUNRISE_LEVEL_DEGREES)
    assert isinstance(there, int)
    assert not time.certain
    assert time.latest >= there


def test_of_several_units_the_worst_counts_either_way() -> None:
    day = date(2027, 3, 1)
    alone, both = sunset(day), sunset(day, 69.0, 70.0)
    assert both.earliest < alone.earliest
    assert both.latest > alone.latest
    assert both.nominal == alone.nominal


def test_places_as_a_unit_takes_them() -> None:
    assert keyed_location(40.5853, -105.0844, "whole degree") == (41.0, -105.0)
    assert keyed_location(40.5853, -105.0844, "0.01 degree") == (40.59, -105.08)
    assert keyed_location(40.5853, -105.0844, "city list") == (40.5853, -105.0844)


def test_every_date_of_the_year_is_there() -> None:
    year = Period(date(2027, 1, 1), date(2027, 12, 31))
    sunsets = unit_sun(UNIT, place(69.6489), (), year).of("sunset")
    assert [t.day for t in sunsets] == year.dates()
