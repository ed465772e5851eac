"""How `data/sun_days.npy` is made: skyfield evaluates the ephemeris once a day.

Run: `python -m schedcomp.sun_source FILE`. Nothing of it runs when a site is compiled.
"""

from __future__ import annotations

import sys
from datetime import date
from functools import lru_cache
from importlib.resources import as_file, files
from typing import Any

import numpy as np

from schedcomp.clock import day_number
from schedcomp.sun_table import FIRST_PLACE, LEAP_SECONDS, Floats, SunTable, table_of

_LAST_PLACE = day_number(date(2101, 2, 26))
_TURN = 2 * np.pi
_JULIAN_DATE_OF_1970 = 2440587.5


def main() -> None:
    """Write the places of every day that the ephemeris of this package covers."""
    from skyfield.jpllib import SpiceKernel

    with as_file(files("schedcomp").joinpath("data", "sun.bsp")) as path:
        kernel = SpiceKernel(str(path))
        days = np.arange(FIRST_PLACE, _LAST_PLACE + 1, dtype=np.float64)
        np.save(sys.argv[1], apparent_places(kernel, days + _JULIAN_DATE_OF_1970))
        kernel.close()


def build_table(kernel: Any, first_day: int, last_day: int) -> SunTable:
    """A table from any skyfield kernel that has the Sun and the Earth."""
    nodes = np.arange(first_day - 1, last_day + 3, dtype=np.float64)
    return table_of(apparent_places(kernel, nodes + _JULIAN_DATE_OF_1970), first_day)


def apparent_places(kernel: Any, midnights: Floats) -> Floats:
    """Places as `schedcomp.sun_table.table_of` takes them, from any kernel with Sun and Earth.

    `midnights` are Julian dates at 00:00 TT, where the mean Sun is half a turn from Greenwich.
    """
    from skyfield.nutationlib import iau2000b_radians

    time = timescale().tt_jd(midnights)
    # The short nutation series (0.001 arcsecond) in place of the long one, as skyfield's own
    # searches do: five times faster.
    time._nutation_angles_radians = iau2000b_radians(time)
    apparent = kernel["earth"].at(time).observe(kernel["sun"]).apparent()
    right_ascension, declination, distance = apparent.radec("date")
    ahead = time.gast * (_TURN / 24) - right_ascension.radians - _TURN / 2
    equation = (ahead + _TURN / 2) % _TURN - _TURN / 2
    return np.stack((equation, declination.radians, distance.au))


@lru_cache(maxsize=1)
def timescale() -> Any:
    """A skyfield `Timescale` with the leap seconds and TT - UT1 of this package."""
    from skyfield.timelib import Timescale

    days, seconds = _delta_t()
    return Timescale(
        lambda julian_dates: np.interp(julian_dates, days, seconds),
        np.array([day_number(day) for day, _ in LEAP_SECONDS]) + _JULIAN_DATE_OF_1970,
        np.array([seconds for _, seconds in LEAP_SECONDS]),
    )


def _delta_t() -> tuple[Floats, Floats]:
    """Julian dates (TT) and TT - UT1 in seconds, from the file beside the ephemeris."""
    text = files("schedcomp").joinpath("data", "delta_t.tsv").read_text("ascii")
    rows = [line.split("\t") for line in text.splitlines() if not line.startswith("#")]
    days = [day_number(date.fromisoformat(day)) + _JULIAN_DATE_OF_1970 for day, _ in rows]
    return np.array(days), np.array([float(seconds) for _, seconds in rows])


if __name__ == "__main__":
    main()
