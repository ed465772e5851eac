"""Slots for civil dusk to dawn by the clock alone, beside one date range a time; and how long.

Run: python tests/bench/bench_fit.py
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import date

from schedcomp.clock import zone
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.expand import expand
from schedcomp.model import DAY, MINUTE, Action, Period
from schedcomp.pipeline import plan, prove
from schedcomp.records import replace
from schedcomp.sitefile import site_from_source
from schedcomp.target import ChannelTarget
from schedcomp.unit_place import unit_sun_of
from schedcomp.world import read_world

SITE = """schedcomp = 1
[site]
name = "Denver"
latitude = 39.7392
longitude = -104.9903
timezone = "America/Denver"
dusk = "sun 6 deg below horizon"
dawn = "sun 6 deg below horizon"
favour = "even"
tolerance = "{minutes} min"
[day_types]
usual = ["on from dusk until dawn"]
[[circuit]]
name = "Lot"
channel = 1
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"]
"""
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))


def staircase(channel: ChannelTarget) -> int:
    """Fewest steps of one time and one range of dates each, ranges apart, around the year."""
    clock = zone("America/Denver", YEAR.first, YEAR.last)
    total = 0
    for action in Action:
        bands = [
            tuple((t + clock.offset(t)) % DAY // MINUTE for t in (s.earliest, s.latest))
            for s in channel.switchings
            if s.action is action
        ]
        total += min(_steps([*bands[i:], *bands[:i]]) for i in range(len(bands)))
    return total


def _steps(bands: Sequence[tuple[int, ...]]) -> int:
    steps, low, high = 0, 1, 0
    for earliest, latest in bands:
        low, high = max(low, earliest), min(high, latest)
        if low > high:
            steps, low, high = steps + 1, earliest, latest
    return steps


def main() -> None:
    unit, _ = load_controller("clock-yearly-96", ".", None)
    assert unit is not None
    unit = replace(unit, event_slots=500)
    print("tolerance  slots  bound  staircase  fit seconds  test run agrees")
    for minutes in (2, 3, 5, 10):
        site, _ = site_from_source(Source("bench", SITE.format(minutes=minutes)))
        assert site is not None
        world, _ = read_world(site, YEAR)
        assert world is not None
        year = expand(site, world)
        sun = unit_sun_of(site, unit, world)
        begin = time.perf_counter()
        fitted, target = plan(site, unit, world, year, sun)
        seconds = time.perf_counter() - begin
        report = prove(site, unit, fitted, target, sun)
        certificate = fitted.certificate
        assert certificate is not None
        assert report is not None
        print(
            f"{minutes:6} min {certificate.slots:6} {certificate.bound:6} "
            f"{staircase(target.channels[0]):10} {seconds:12.2f}  {report.agrees}"
        )


if __name__ == "__main__":
    main()
