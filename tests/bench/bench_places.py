"""Slots, bound, time and worst deviation: twelve places, three kinds of wishes, four controllers.

Run: python tests/bench/bench_places.py. The wishes are those of a lot (dusk to a curfew, before
dawn again, a dark holiday), of a sign (civil dusk to dawn) and of a court (a season, two kinds of
nights, single nights). A row that does not fit tells how many slots it would take.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import date

from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.expand import expand
from schedcomp.model import MINUTE, Period
from schedcomp.pipeline import plan, prove
from schedcomp.records import Record
from schedcomp.sitefile import site_from_source
from schedcomp.unit_place import unit_sun_of
from schedcomp.world import read_world

PLACES = (
    ("Quito", -0.22, -78.51, "America/Guayaquil"),
    ("Singapore", 1.29, 103.85, "Asia/Singapore"),
    ("Brisbane", -27.47, 153.03, "Australia/Brisbane"),
    ("Santiago", -33.45, -70.67, "America/Santiago"),
    ("Phoenix", 33.45, -112.07, "America/Phoenix"),
    ("Denver", 39.74, -104.99, "America/Denver"),
    ("Dunedin", -45.88, 170.50, "Pacific/Auckland"),
    ("Prague", 50.08, 14.44, "Europe/Prague"),
    ("Ushuaia", -54.80, -68.30, "America/Argentina/Ushuaia"),
    ("Glasgow", 55.86, -4.25, "Europe/London"),
    ("Anchorage", 61.22, -149.90, "America/Anchorage"),
    ("Oulu", 65.01, 25.47, "Europe/Helsinki"),
)
WISHES = {
    "lot": (
        'dusk = "sunset + 15 min"\ndawn = "sunrise - 15 min"',
        'usual = ["on from dusk until 23:00", "on from 05:30 until dawn"]\n'
        'late = ["on from dusk until 01:00"]',
        '["every day: usual", "fri, sat evenings: late", "dec 25: dark"]',
    ),
    "sign": (
        'dusk = "sun 6 deg below horizon"\ndawn = "sun 6 deg below horizon"',
        'usual = ["on from dusk until dawn"]',
        '["every day: usual"]',
    ),
    "court": (
        'dusk = "sunset + 5 min"\ndawn = "sunrise"',
        'usual = ["on from dusk until 21:30"]\nleague = ["on from dusk until 22:15"]',
        '["every day: dark", "apr 1 to oct 15: usual", "tue, thu in apr 1 to oct 15: league", '
        '"2027-05-01: dark", "2027-06-12 evenings: league", "2027-08-21: dark"]',
    ),
}
CONTROLLERS = ("sun-yearly-64", "sun-yearly-32", "sun-weekly-48", "clock-yearly-96")
SITE = """schedcomp = 1
[site]
name = "{name}"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
tolerance_limit = "20 min"
{sun}
[day_types]
{types}
[[circuit]]
name = "Lamps"
channel = 1
load_kw = 2.0
photocell = "none"
override_minutes = 0
shortest_on = "15 min"
shortest_off = "15 min"
calendar = {calendar}
"""
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))


class Case(Record):
    """One row; `slots` None: no program at any tolerance up to 20 min."""

    place: str
    wish: str
    controller: str
    slots: int | None
    bound: int | None
    tolerance_minutes: int
    seconds: float
    worst_minutes: float | None
    right: bool | None


def cases() -> Iterator[Case]:
    for name, latitude, longitude, zone in PLACES:
        for wish, (sun, types, calendar) in WISHES.items():
            text = SITE.format(
                name=name,
                latitude=latitude,
                longitude=longitude,
                zone=zone,
                sun=sun,
                types=types,
                calendar=calendar,
            )
            for controller in CONTROLLERS:
                yield case(text, name, wish, controller)


def case(text: str, place: str, wish: str, controller: str) -> Case:
    """The fit alone is timed; the exact year, the sun and the test run are not."""
    site, found = site_from_source(Source("bench", text))
    unit, _ = load_controller(controller, ".", None)
    assert site is not None, found
    assert unit is not None
    world, found = read_world(site, YEAR)
    assert world is not None, found
    year = expand(site, world)
    sun = unit_sun_of(site, unit, world)
    begin = time.process_time()
    fitted, target = plan(site, unit, world, year, sun)
    seconds = time.process_time() - begin
    report = prove(site, unit, fitted, target, sun)
    certificate = fitted.certificate
    worst = None
    if report is not None:
        away = (s for run in report.runs for s in (run.worst_early_seconds, run.worst_late_seconds))
        worst = max(away) / MINUTE
    return Case(
        place,
        wish,
        controller,
        fitted.slots_needed if certificate is None else certificate.slots,
        None if certificate is None else certificate.bound,
        fitted.tolerance_minutes,
        seconds,
        worst,
        None if report is None else report.agrees,
    )


def main() -> None:
    print("place      wish   controller       min  slots bound  proven  worst  seconds  test run")
    seen: list[Case] = []
    for one in cases():
        seen.append(one)
        fits = one.bound is not None
        proven = "yes" if one.bound == one.slots else "no" if fits else "-"
        worst = "-" if one.worst_minutes is None else f"{one.worst_minutes:.1f}"
        told = {True: "agrees", False: "DIFFERS", None: "does not fit"}[one.right]
        print(
            f"{one.place:10} {one.wish:6} {one.controller:16} {one.tolerance_minutes:3}"
            f" {one.slots or '-':>6} {one.bound or '-':>5}  {proven:6} {worst:>6}"
            f" {one.seconds:8.2f}  {told}",
            flush=True,
        )
    slowest = max(seen, key=lambda c: c.seconds)
    fitting = [c for c in seen if c.bound is not None]
    proven_count = sum(c.bound == c.slots for c in fitting)
    print(
        f"{len(seen)} cases, {len(fitting)} fit, {proven_count} proven least;"
        f" slowest {slowest.place} {slowest.wish} {slowest.controller} {slowest.seconds:.1f} s"
    )


if __name__ == "__main__":
    main()
