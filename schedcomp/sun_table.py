"""The apparent Sun day by day: one table that every site of a run shares.

All times in here are days since 1970-01-01 of Terrestrial Time (TT), which runs evenly; UTC stops
for leap seconds. Hour angles are radians, west positive.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from importlib.metadata import version
from importlib.resources import as_file, files
from typing import Any

import numpy as np
import numpy.typing as npt

from schedcomp.clock import day_number
from schedcomp.model import DAY, Instant

Floats = npt.NDArray[np.float64]
Instants = npt.NDArray[np.int64]

EPHEMERIS = "DE440 excerpt 2000-2100"

_TURN = 2 * np.pi
_JULIAN_DATE_OF_1970 = 2440587.5
_SOLAR_PARALLAX_RADIANS = np.radians(8.794 / 3600)  # at 1 au; Astronomical Almanac, section K
_TT_MINUS_TAI = 32.184
# TAI - UTC in seconds from each date on; IERS Bulletin C. None announced after 2017.
_LEAP_SECONDS = (
    (date(1999, 1, 1), 32),
    (date(2006, 1, 1), 33),
    (date(2009, 1, 1), 34),
    (date(2012, 7, 1), 35),
    (date(2015, 7, 1), 36),
    (date(2017, 1, 1), 37),
)
_LEAP_UTC = np.array([day_number(day) * DAY for day, _ in _LEAP_SECONDS], np.int64)
_TT_MINUS_UTC = np.array([seconds + _TT_MINUS_TAI for _, seconds in _LEAP_SECONDS])
_LEAP_TT_DAYS = (_LEAP_UTC + _TT_MINUS_UTC) / DAY


@dataclass(frozen=True, slots=True, eq=False)
class SunTable:
    """Cubics for every TT day from `first_day`, in the fraction of the day.

    `equation[power, day]`: hour angle of the Sun at Greenwich minus that of a mean Sun which
    crosses that meridian at 12:00 TT, in radians. `sin_declination[power, day]`: likewise.
    `parallax[day]`: the Sun's horizontal parallax, in radians.
    """

    first_day: int
    equation: Floats
    sin_declination: Floats
    parallax: Floats

    def rows(self, tt_days: Floats) -> tuple[npt.NDArray[np.intp], Floats]:
        """The day's column and the fraction of the day; ValueError outside the table."""
        whole = np.floor(tt_days)
        columns = (whole - self.first_day).astype(np.intp)
        if columns.size and (columns.min() < 0 or columns.max() >= self.parallax.size):
            raise ValueError("an instant outside the dates this sun table was made for")
        return columns, tt_days - whole


def tt_days(instants: Instants) -> Floats:
    """Instants (UTC) as days of TT since 1970."""
    row = np.searchsorted(_LEAP_UTC, instants, side="right") - 1
    days: Floats = (instants + _TT_MINUS_UTC[np.maximum(row, 0)]) / DAY
    return days


def nearest_instants(days: Floats) -> Instants:
    """The UTC second nearest to each TT day."""
    row = np.searchsorted(_LEAP_TT_DAYS, days, side="right") - 1
    seconds = days * DAY - _TT_MINUS_UTC[np.maximum(row, 0)]
    nearest: Instants = np.rint(seconds).astype(np.int64)
    return nearest


@lru_cache(maxsize=16)
def sun_table(first_day: int, last_day: int) -> SunTable:
    """The Sun on every day from `first_day` through `last_day` (days since 1970).

    With the ephemeris of this package: skyfield's `EphemerisRangeError` before 1999-11 and after
    2101-02.
    """
    from skyfield.jpllib import SpiceKernel

    with as_file(files("schedcomp").joinpath("data", "sun.bsp")) as path:
        kernel = SpiceKernel(str(path))
        try:
            return build_table(kernel, first_day, last_day)
        finally:
            kernel.close()


def build_table(kernel: Any, first_day: int, last_day: int) -> SunTable:
    """A table from any skyfield kernel that has the Sun and the Earth.

    Apparent geocentric places of date once a day at 00:00 TT, joined by four-point Lagrange
    cubics: the error is below 0.001 s of hour angle.
    """
    nodes = np.arange(first_day - 1, last_day + 3, dtype=np.float64)
    equation, declination, distance_au = _apparent_sun(kernel, nodes + _JULIAN_DATE_OF_1970)
    return SunTable(
        first_day,
        _cubics(equation),
        _cubics(np.sin(declination)),
        _SOLAR_PARALLAX_RADIANS / distance_au[1:-2],
    )


def table_around(first: Instant, last: Instant) -> SunTable:
    """The table for all instants from four days before `first` to four days after `last`."""
    return sun_table(first // DAY - 4, last // DAY + 4)


def ephemeris_version() -> str:
    """The planetary ephemeris used and the years it covers."""
    return EPHEMERIS


def library_versions() -> tuple[tuple[str, str], ...]:
    """The libraries that sun times come from, each with its version."""
    return tuple((name, version(name)) for name in ("skyfield", "jplephem", "numpy"))


def _cubics(nodes: Floats) -> Floats:
    """Coefficients [power, interval] of the cubic through the four nodes around each interval."""
    before, start, end, after = nodes[:-3], nodes[1:-2], nodes[2:-1], nodes[3:]
    return np.stack(
        (
            start,
            end - before / 3 - start / 2 - after / 6,
            (before + end) / 2 - start,
            (after - before) / 6 + (start - end) / 2,
        )
    )


def _apparent_sun(kernel: Any, midnights: Floats) -> tuple[Floats, Floats, Floats]:
    """Equation as in `SunTable`, declination (both radians) and distance in au.

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
    return (ahead + _TURN / 2) % _TURN - _TURN / 2, declination.radians, distance.au


@lru_cache(maxsize=1)
def timescale() -> Any:
    """A skyfield `Timescale` with the leap seconds and TT - UT1 of this package."""
    from skyfield.timelib import Timescale

    days, seconds = _delta_t()
    return Timescale(
        lambda julian_dates: np.interp(julian_dates, days, seconds),
        _LEAP_UTC / DAY + _JULIAN_DATE_OF_1970,
        np.array([seconds for _, seconds in _LEAP_SECONDS]),
    )


def _delta_t() -> tuple[Floats, Floats]:
    """Julian dates (TT) and TT - UT1 in seconds, from the file beside the ephemeris."""
    text = files("schedcomp").joinpath("data", "delta_t.tsv").read_text("ascii")
    rows = [line.split("\t") for line in text.splitlines() if not line.startswith("#")]
    days = [day_number(date.fromisoformat(day)) + _JULIAN_DATE_OF_1970 for day, _ in rows]
    return np.array(days), np.array([float(seconds) for _, seconds in rows])
