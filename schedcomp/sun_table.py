"""The apparent Sun day by day: one table that every site of a run shares.

All times in here are days since 1970-01-01 of Terrestrial Time (TT), which runs evenly; UTC stops
for leap seconds. Hour angles are radians, west positive.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from importlib.resources import as_file, files

import numpy as np
import numpy.typing as npt

from schedcomp.clock import day_number
from schedcomp.model import DAY, Instant
from schedcomp.records import Record

Floats = npt.NDArray[np.float64]
Instants = npt.NDArray[np.int64]

EPHEMERIS = "DE440 excerpt 2000-2100"

FIRST_PLACE = day_number(date(1999, 11, 4))
"""The first day of the file of places."""

_TURN = 2 * np.pi
_SOLAR_PARALLAX_RADIANS = np.radians(8.794 / 3600)  # at 1 au; Astronomical Almanac, section K
_TT_MINUS_TAI = 32.184
# TAI - UTC in seconds from each date on; IERS Bulletin C. None announced after 2017.
LEAP_SECONDS = (
    (date(1999, 1, 1), 32),
    (date(2006, 1, 1), 33),
    (date(2009, 1, 1), 34),
    (date(2012, 7, 1), 35),
    (date(2015, 7, 1), 36),
    (date(2017, 1, 1), 37),
)
_LEAP_UTC = np.array([day_number(day) * DAY for day, _ in LEAP_SECONDS], np.int64)
_TT_MINUS_UTC = np.array([seconds + _TT_MINUS_TAI for _, seconds in LEAP_SECONDS])
_LEAP_TT_DAYS = (_LEAP_UTC + _TT_MINUS_UTC) / DAY


class SunTable(Record, eq=False):
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
    days: Floats = (instants + _tt_minus_utc(instants, _LEAP_UTC)) / DAY
    return days


def nearest_instants(days: Floats) -> Instants:
    """The UTC second nearest to each TT day."""
    seconds = days * DAY - _tt_minus_utc(days, _LEAP_TT_DAYS)
    nearest: Instants = np.rint(seconds).astype(np.int64)
    return nearest


def _tt_minus_utc(times: Instants | Floats, begins: Instants | Floats) -> Floats | float:
    """Seconds between both at each time, told as the beginnings of the leap seconds are."""
    if times.size and times.min() >= begins[-1]:
        return float(_TT_MINUS_UTC[-1])
    row = np.searchsorted(begins, times, side="right") - 1
    return _TT_MINUS_UTC[np.maximum(row, 0)]


@lru_cache(maxsize=16)
def sun_table(first_day: int, last_day: int) -> SunTable:
    """The Sun on every day from `first_day` through `last_day` (days since 1970).

    From the places of this package; ValueError before 1999-11 and after 2101-02.
    """
    with as_file(files("schedcomp").joinpath("data", "sun_days.npy")) as path:
        places = np.load(path, mmap_mode="r")
        begin, end = first_day - 1 - FIRST_PLACE, last_day + 3 - FIRST_PLACE
        if begin < 0 or end > places.shape[1]:
            raise ValueError("dates outside those that the Sun's places are known for")
        return table_of(np.array(places[:, begin:end]), first_day)


def table_of(places: Floats, first_day: int) -> SunTable:
    """A table from places of the Sun once a day at 00:00 TT: one day before it to two after it.

    `places` [3, day]: the equation as in `SunTable`, declination (both radians), distance in au.
    Joined by four-point Lagrange cubics: the error is below 0.001 s of hour angle.
    """
    equation, declination, distance_au = places
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
