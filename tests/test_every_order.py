"""Morning light that ends at dawn: a program that looks right, and one that always is.

ON at a fixed clock time and OFF at dawn seem to do, as long as dawn comes later. On the date on
which the controller's own dawn comes before that clock time the OFF comes first, and the lamps
burn all day.
"""

from __future__ import annotations

import random
from datetime import date
from functools import lru_cache
from itertools import pairwise

import pytest

from schedcomp.audit import run_program
from schedcomp.audit.findings import audit_findings
from schedcomp.audit_report import Run
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller, SunStart
from schedcomp.model import HOUR, MINUTE, Action, Half, Period
from schedcomp.pipeline import compile as compile_site
from schedcomp.program import ClockStart, Event, Program, SunOffset
from schedcomp.records import replace
from schedcomp.sun import site_sun
from schedcomp.target import Target, make_target
from schedcomp.unit_place import unit_sun_of
from schedcomp.unit_sun import UnitSun, UnitSunTime, keyed_location, unit_sun
from tests.sites import ANCHORAGE, DENVER, Exact, Place, exact, read, site_text

ON, OFF = Action.ON, Action.OFF
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
SUNS = (
    SunStart(word="sunrise", half=Half.MORNING, level_degrees=SUNRISE_LEVEL_DEGREES),
    SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES),
)
UNIT = Controller(name="unit", event_slots=64, sun_starts=SUNS)
MOUNTAIN = zone("America/Denver", YEAR.first, YEAR.last)
WISHES = ("on from sunset until 23:00", "on from 05:30 until sunrise")
NAIVE = Program(
    controller="unit",
    events=(
        Event(slot=1, channels=(1,), action=ON, start=ClockStart(5 * 60 + 30)),
        Event(slot=2, channels=(1,), action=OFF, start=SunOffset("sunrise", 0)),
        Event(slot=3, channels=(1,), action=ON, start=SunOffset("sunset", 0)),
        Event(slot=4, channels=(1,), action=OFF, start=ClockStart(23 * 60)),
    ),
)


def wishes(place: Place, tolerance_minutes: int) -> str:
    return site_text(place, WISHES, site=f'favour = "even"\ntolerance = "{tolerance_minutes} min"')


# The naive program.


@lru_cache
def asked() -> Exact:
    return exact(wishes(DENVER, 3), "2027-01-01", "2027-12-31")


@lru_cache
def asked_target() -> Target:
    """Every wish of the year within 3 minutes, also the shortest mornings of 84 seconds."""
    made = asked()
    blind = replace(UNIT, sun_starts=())
    return make_target(made.site, made.year, blind, made.world.zone, UnitSun(()), 3)


def longest_light(run: Run) -> tuple[int, date]:
    """The longest lit stretch in seconds, and the date on which it begins."""
    stretches = [
        (later - since, asked().world.zone.local_date(since))
        for (since, action, _), (later, _, _) in pairwise(run.of_channel(1))
        if action is ON
    ]
    return max(stretches)


@pytest.mark.parametrize("minutes", [0, 1])
def test_the_naive_program_is_right_while_the_sun_is(minutes: int) -> None:
    controller = replace(UNIT, sun_error_minutes=minutes, sun_error_degrees=0)
    sun = unit_sun_of(asked().site, controller, asked().world)
    report = run_program(NAIVE, controller, asked_target(), sun, DENVER.timezone)
    assert report.exact_run.agrees
    assert longest_light(report.exact_run)[0] < 7 * HOUR
    assert longest_light(report.runs[1])[0] < 7 * HOUR
    assert bool(report.overlaps) == bool(minutes)


def test_the_naive_program_burns_all_day_when_sunrise_is_two_minutes_early() -> None:
    """The earliest sunrise of Denver is 05:31:24, on 13 and 14 June."""
    controller = replace(UNIT, sun_error_minutes=2, sun_error_degrees=0)
    sun = unit_sun_of(asked().site, controller, asked().world)
    report = run_program(NAIVE, controller, asked_target(), sun, DENVER.timezone)
    early = report.runs[1]
    assert early.name == "sun early"
    assert report.exact_run.agrees
    assert not early.agrees
    assert not report.agrees
    seconds, day = longest_light(early)
    assert seconds == 17 * HOUR + 30 * MINUTE
    burning = [
        asked().world.zone.local_date(d.expected)
        for d in early.differences
        if d.kind == "missing" and d.action is OFF and d.expected is not None
    ]
    assert burning == [date(2027, 6, n) for n in range(8, 21)]
    assert day in burning
    told = {f.title: f.why for f in audit_findings(report, asked_target(), MOUNTAIN)}
    why = told['In the test run the lamps of "Lot" do not go off when they should, 13 times.']
    assert why.startswith("First Tue 8 Jun 2027, 05:31:57, last Sun 20 Jun 2027, 05:31:57.")
    assert {(o.first_slot, o.second_slot) for o in report.overlaps} == {(2, 1)}


# The program made for the same wishes.


@lru_cache
def compiled(place: Place, minutes: float, degrees: float, location: str) -> Compiled:
    site, _ = read(wishes(place, 12 if place == DENVER else 24))
    assert site is not None
    controller = replace(
        UNIT,
        sun_error_minutes=minutes,
        sun_error_degrees=degrees,
        location_entry=location,
    )
    made, _ = compile_site(site, YEAR, controller)
    assert made is not None
    return made


ERRORS = [
    *((DENVER, minutes, 0.0, "city list") for minutes in (0, 1, 2, 3, 5)),
    *((DENVER, minutes, 0.1, "whole degree") for minutes in (2, 5)),
    (DENVER, 2, 0.1, "0.01 degree"),
    (ANCHORAGE, 2, 0.1, "whole degree"),
    (ANCHORAGE, 5, 0.1, "whole degree"),
]


@pytest.mark.parametrize(("place", "minutes", "degrees", "location"), ERRORS)
def test_the_program_made_for_the_wishes_is_right_in_every_order(
    place: Place, minutes: float, degrees: float, location: str
) -> None:
    made = compiled(place, minutes, degrees, location)
    program, report = made.fitted.program, made.audit
    assert program is not None
    assert report is not None
    assert report.agrees
    assert [r.name for r in report.runs if not r.agrees] == []
    assert not report.overlaps
    assert not report.interval_differences
    assert len(program.needed) == 4
    sun = unit_sun_of(made.site, made.controller, made.world)
    for shift in (0.0, 0.25, 0.5, 0.75, 1.0, None):
        run = run_program(
            program, made.controller, made.target, settled(sun, shift), place.timezone
        )
        assert run.exact_run.agrees, shift


def test_the_morning_rests_on_more_dates_the_less_the_sun_is_known() -> None:
    """The same four slots as the naive program; only the ON at 05:30 has dates."""
    rests = []
    for minutes in (0, 1, 2, 3, 5):
        made = compiled(DENVER, minutes, 0.0, "city list").fitted.program
        assert made is not None
        (morning,) = [e for e in made.needed if e.action is ON and isinstance(e.start, ClockStart)]
        assert morning.start == ClockStart(330)
        assert morning.dates is not None
        before, after = (date(2027, *end) for end in (morning.dates.last, morning.dates.first))
        assert before < date(2027, 6, 13) < after
        rests.append((after - before).days - 1)
    assert all(fewer < more for fewer, more in pairwise(rests)), rests
    assert 10 <= rests[0] <= rests[-1] <= 45


def settled(sun: UnitSun, shift: float | None) -> UnitSun:
    """Every sun time at one instant of its error: a part of the way, or anywhere (None)."""
    dice = random.Random("anywhere")

    def at_one_instant(time: UnitSunTime) -> UnitSunTime:
        part = dice.random() if shift is None else shift
        instant = time.earliest + round((time.latest - time.earliest) * part)
        return replace(time, nominal=instant, earliest=instant, latest=instant)

    return UnitSun(
        tuple((word, tuple(at_one_instant(t) for t in times)) for word, times in sun.times)
    )


def test_a_unit_keyed_to_whole_degrees_runs_its_program_by_the_sun_of_that_place() -> None:
    made = compiled(DENVER, 2, 0.1, "whole degree")
    assert made.fitted.program is not None
    elsewhere = keyed_location(DENVER.latitude, DENVER.longitude, "whole degree")
    assert elsewhere == (40.0, -105.0)
    days = YEAR.wider(3)
    there = site_sun(*elsewhere, made.world.zone, days.first, days.last)
    for minutes in (-2, 0, 2):
        exact_there = unit_sun(
            replace(UNIT, sun_error_minutes=0, sun_error_degrees=0), there, (), days
        )
        moved = UnitSun(
            tuple(
                (w, tuple(_moved(t, minutes * MINUTE) for t in ts)) for w, ts in exact_there.times
            )
        )
        run = run_program(
            made.fitted.program, made.controller, made.target, moved, DENVER.timezone
        ).exact_run
        assert run.agrees


def _moved(time: UnitSunTime, seconds: int) -> UnitSunTime:
    instant = time.nominal + seconds
    return replace(time, nominal=instant, earliest=instant, latest=instant)


# What a place keyed in whole degrees costs.


def worst_minutes(latitude_degrees: float, location_entry: str) -> float:
    """The furthest a sunrise or sunset moves, on any date, for places around a latitude.

    Places are those furthest from what can be keyed: half a step away in both directions.
    """
    step = {"whole degree": 1.0, "minute": 1 / 60, "0.01 degree": 0.01}[location_entry]
    exact_unit = replace(
        UNIT, sun_error_minutes=0, sun_error_degrees=0, location_entry=location_entry
    )
    worst = 0
    for north in (-0.499, 0.0, 0.499):
        for east in (-0.499, 0.0, 0.499):
            place = latitude_degrees + north * step, -105.0 + east * step
            keyed = keyed_location(*place, location_entry)
            here, there = (site_sun(*p, MOUNTAIN, YEAR.first, YEAR.last) for p in (place, keyed))
            for _, times in unit_sun(exact_unit, here, (there,), YEAR).times:
                errors = [max(t.nominal - t.earliest, t.latest - t.nominal) for t in times]
                worst = max(worst, *errors)
    return worst / MINUTE


@pytest.mark.parametrize(
    ("latitude", "location", "least", "most"),
    [
        (0.0, "whole degree", 2.7, 3.0),
        (40.0, "whole degree", 3.5, 3.7),
        (60.0, "whole degree", 7.7, 8.0),
        (40.0, "minute", 0.04, 0.1),
        (60.0, "minute", 0.1, 0.15),
        (60.0, "0.01 degree", 0.05, 0.1),
    ],
)
def test_what_a_rounded_place_costs(
    latitude: float, location: str, least: float, most: float
) -> None:
    """Whole degrees: 2.9 minutes at the equator, 3.7 at 40 N, 7.9 at 60 N."""
    assert least <= worst_minutes(latitude, location) <= most
