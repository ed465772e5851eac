"""Sun times: speed against other libraries in one run, and how far apart the results are.

Run it alone: `python tests/bench/bench_sun.py`. Needs the packages of the groups test and bench.
Ratios count, not seconds: everything is measured side by side on the same machine.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, date, datetime
from importlib.resources import files
from importlib.util import find_spec
from typing import Any
from zoneinfo import ZoneInfo

import ephem
import numpy as np
from astral import Observer
from astral.sun import sunrise, sunset
from skyfield import almanac
from skyfield.api import load, load_file, wgs84

from schedcomp.clock import day_number, zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import DAY, HOUR, ONE_DAY, Half
from schedcomp.sun import CROSSES, mean_noons, site_sun, solve
from schedcomp.sun_source import timescale
from schedcomp.sun_table import tt_days

YEAR = 2027
SITES = 500
BANDS = ((0, 30), (30, 50), (50, 60), (60, 66), (66, 85))
JULIAN_DATE_OF_1970 = 2440587.5

FROM_NOTHING = {
    "schedcomp": """
from datetime import date
from schedcomp.clock import zone
from schedcomp.model import Half
from schedcomp.sun import site_sun
import skyfield.jpllib, skyfield.nutationlib, skyfield.timelib
days = date(2027, 1, 1), date(2027, 12, 31)
clock = zone("America/Denver", *days)
start = time.process_time()
sun = site_sun(39.74, -104.99, clock, *days)
sun.crossings(Half.MORNING, -0.8333), sun.crossings(Half.EVENING, -0.8333)
""",
    "skyfield": """
from importlib.resources import files
from skyfield import almanac
from skyfield.api import load, load_file, wgs84
start = time.process_time()
scale = load.timescale(builtin=True)
kernel = load_file(str(files("schedcomp").joinpath("data", "sun.bsp")))
place = kernel["earth"] + wgs84.latlon(39.74, -104.99)
span = scale.utc(2027, 1, 1, 7), scale.utc(2028, 1, 1, 7)
almanac.find_risings(place, kernel["sun"], *span)
almanac.find_settings(place, kernel["sun"], *span)
""",
}


def best_of(work: Callable[[], Any], rounds: int = 5) -> float:
    """Processor seconds of the quickest of some rounds."""
    seconds = []
    for _ in range(rounds):
        start = time.process_time()
        work()
        seconds.append(time.process_time() - start)
    return min(seconds)


def from_nothing(name: str) -> float:
    """Seconds for one site and year in a fresh process, after the imports."""
    program = (
        "import json, time" + FROM_NOTHING[name] + "print(json.dumps(time.process_time() - start))"
    )
    runs = [
        float(json.loads(subprocess.check_output([sys.executable, "-c", program])))
        for _ in range(7)
    ]
    return min(runs)


def many_sites() -> Callable[[], Any]:
    random = np.random.default_rng(1)
    latitudes, longitudes = random.uniform(-60, 60, SITES), random.uniform(-180, 180, SITES)
    civil = (day_number(date(YEAR, 1, 1)) + np.arange(365)) * DAY + 12 * HOUR
    noons = np.array([mean_noons(float(east), civil) for east in longitudes])
    levels = [(Half.MORNING, SUNRISE_LEVEL_DEGREES), (Half.EVENING, SUNRISE_LEVEL_DEGREES)]
    return lambda: solve(latitudes, longitudes, noons, levels)


def by_skyfield(kernel: Any, scale: Any) -> None:
    place = kernel["earth"] + wgs84.latlon(39.74, -104.99)
    span = scale.utc(YEAR, 1, 1, 7), scale.utc(YEAR + 1, 1, 1, 7)
    almanac.find_risings(place, kernel["sun"], *span)
    almanac.find_settings(place, kernel["sun"], *span)


def by_astral() -> None:
    observer, clock = Observer(39.74, -104.99), ZoneInfo("America/Denver")
    for number in range(365):
        day = date(YEAR, 1, 1) + number * ONE_DAY
        sunrise(observer, day, tzinfo=clock)
        sunset(observer, day, tzinfo=clock)


def by_ephem() -> None:
    observer, sun = ephem.Observer(), ephem.Sun()
    observer.lat, observer.lon, observer.pressure = "39.74", "-104.99", 0
    observer.horizon = str(SUNRISE_LEVEL_DEGREES)
    for number in range(365):
        day = date(YEAR, 1, 1) + number * ONE_DAY
        observer.date = ephem.Date(datetime(day.year, day.month, day.day, 19, tzinfo=UTC))
        observer.previous_rising(sun, use_center=True)
        observer.next_setting(sun, use_center=True)


def by_pvlib() -> None:
    import pandas as pd
    from pvlib.solarposition import sun_rise_set_transit_spa

    days = pd.date_range(f"{YEAR}-01-01", periods=365, tz="America/Denver")
    sun_rise_set_transit_spa(days, 39.74, -104.99)


def differences(kernel: Any, band: tuple[int, int], level: float) -> list[float]:
    """Seconds from skyfield's search, both halves of every date at latitudes of a band."""
    found: list[float] = []
    for latitude in np.linspace(*band, 6)[1:]:
        for sign in (1, -1):
            found += _differences(kernel, float(sign * latitude), level)
    return found


def _differences(kernel: Any, latitude: float, level: float) -> list[float]:
    first, last = date(YEAR, 1, 1), date(YEAR, 12, 31)
    sun = site_sun(latitude, 12.5, zone("Etc/UTC", first, last), first, last)
    ends = timescale().tt_jd(tt_days(sun.transits[[0, -1]]) + JULIAN_DATE_OF_1970)
    place = kernel["earth"] + wgs84.latlon(latitude, 12.5)
    found: list[float] = []
    for half, search in (
        (Half.MORNING, almanac.find_risings),
        (Half.EVENING, almanac.find_settings),
    ):
        theirs, crosses = search(place, kernel["sun"], ends[0], ends[1], horizon_degrees=level)
        times = theirs.tt[crosses] - JULIAN_DATE_OF_1970
        mine = sun.crossings(half, level)
        days = tt_days(mine.instants[mine.status == CROSSES])[1:-1]
        found += [float(abs(times - day).min() * DAY) for day in days]
    return found


def speed(kernel: Any) -> None:
    scale = load.timescale(builtin=True)
    together = many_sites()
    together()
    own = best_of(together) / SITES
    print(f"Sunrise and sunset of {YEAR}, one site-year")
    print(f"  schedcomp, {SITES} sites together  {own * 1e3:8.3f} ms")
    for name, work, aim in (
        ("skyfield search", lambda: by_skyfield(kernel, scale), ", target 150"),
        ("astral", by_astral, ", target 60"),
        ("ephem", by_ephem, ""),
        ("pvlib", by_pvlib, ", target 100"),
    ):
        if name == "pvlib" and find_spec(name) is None:
            print("  pvlib is not installed")
            continue
        seconds = best_of(work, 3)
        print(f"  {name:<28}{seconds * 1e3:8.2f} ms  {seconds / own:6.0f} times longer{aim}")
    print("One site and year in a fresh process, after imports")
    alone = {name: from_nothing(name) for name in FROM_NOTHING}
    for name, seconds in alone.items():
        print(f"  {name:<28}{seconds * 1e3:8.2f} ms")
    print(f"  ratio {alone['schedcomp'] / alone['skyfield']:.2f}, target at most 1")


def accuracy(kernel: Any) -> None:
    print("Seconds from skyfield's search (rounding to the second included)")
    print("  latitude   level    events   median    worst")
    for band in BANDS:
        for level in (SUNRISE_LEVEL_DEGREES, -6.0, -18.0):
            apart = differences(kernel, band, level)
            print(
                f"  {band[0]:>3} to {band[1]:<3}{level:8.2f}{len(apart):9d}"
                f"{np.median(apart):9.2f}{max(apart):9.2f}"
            )


def main() -> None:
    with closing(load_file(str(files("schedcomp").joinpath("data", "sun.bsp")))) as kernel:
        speed(kernel)
        accuracy(kernel)


if __name__ == "__main__":
    main()
