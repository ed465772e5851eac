"""Transits and crossings of many sites, dates and levels at once.

Everything is written around the transit of a date: there the declination is a cubic in time and
the hour angle nearly linear, so the instant of a crossing follows from its hour angle.
Arrays are [sites x dates]; angles are radians inside and degrees at the door.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from schedcomp.model import DAY, Half
from schedcomp.records import Record, field_names
from schedcomp.sun_table import (
    Floats,
    Instants,
    SunTable,
    nearest_instants,
    table_around,
    tt_days,
)

Statuses = npt.NDArray[np.int8]
Cubic = tuple[Floats, Floats, Floats, Floats]

CROSSES, STAYS_ABOVE, STAYS_BELOW = 0, 1, 2

_TURN = 2 * np.pi
_SITES_AT_ONCE = 32  # the working arrays of a year then stay in the processor's cache
_CLOSE_RADIANS = 1e-6  # the last of the steps at a crossing, 0.014 s; the error is far smaller
_BISECTIONS = 40


class Transits(Record, eq=False):
    """Upper transits with the Sun's path around them.

    `days` in days of TT. x days later the hour angle is rate * x + bend * x**2, and the sine of
    the declination the cubic `sine`. `highest` is the sine of the geocentric altitude at the
    transit, `lowest_before` and `lowest_after` at the lower transits on both sides.
    """

    sin_latitude: Floats
    cos_latitude: Floats
    days: Floats
    rate: Floats
    bend: Floats
    sine: Cubic
    parallax: Floats
    highest: Floats
    lowest_before: Floats
    lowest_after: Floats

    def instants(self) -> Instants:
        """The transits as UTC seconds."""
        return nearest_instants(self.days)


class Solved(Record, eq=False):
    """UTC seconds: `transits` [sites x dates], `crossings` [levels x sites x dates].

    `status` is CROSSES, STAYS_ABOVE or STAYS_BELOW; where there is no crossing, `crossings` holds
    the transit.
    """

    transits: Instants
    crossings: Instants
    status: Statuses


def mean_noons(longitude_degrees: float, civil_noons: Instants) -> Instants:
    """The local mean noon nearest to each civil noon, to the second."""
    phase = DAY // 2 - round(longitude_degrees * DAY / 360)
    whole_days: Instants = np.rint((civil_noons - phase) / DAY).astype(np.int64)
    return whole_days * DAY + phase


def solve(
    latitudes_degrees: Floats,
    longitudes_degrees: Floats,
    noons: Instants,
    levels: Sequence[tuple[Half, float]],
) -> Solved:
    """Transits and crossings of many sites.

    `noons` [sites x dates] are local mean noons (see `mean_noons`). Each of `levels` is a side of
    the date and an altitude of the Sun's centre in degrees, as seen from the site and without
    refraction.
    """
    table = table_around(int(noons.min()), int(noons.max()))
    transits = np.empty(noons.shape, np.int64)
    crossings = np.empty((len(levels), *noons.shape), np.int64)
    status = np.empty(crossings.shape, np.int8)
    for start in range(0, noons.shape[0], _SITES_AT_ONCE):
        part = slice(start, start + _SITES_AT_ONCE)
        found = find_transits(
            table, latitudes_degrees[part, None], longitudes_degrees[part, None], noons[part]
        )
        transits[part] = found.instants()
        for number, (half, level) in enumerate(levels):
            crossings[number, part], status[number, part] = find_crossings(found, half, level)
    return Solved(transits, crossings, status)


def find_transits(
    table: SunTable,
    latitudes_degrees: Floats | float,
    longitudes_degrees: Floats | float,
    noons: Instants,
) -> Transits:
    """The upper transit nearest to each mean noon; the coordinates broadcast against `noons`."""
    latitude = np.radians(latitudes_degrees)
    sin_latitude, cos_latitude = np.sin(latitude), np.cos(latitude)
    columns, x, equation = _meridian_passed(table, tt_days(noons), longitudes_degrees, 0.0)
    rate = _TURN + _slope(equation, x)
    bend = equation[2] + 3 * equation[3] * x
    sine = _moved(_columns_of(table.sin_declination, columns), x)
    half_day = np.pi / rate
    before, after = _cubic(sine, -half_day), _cubic(sine, half_day)
    return Transits(
        sin_latitude,
        cos_latitude,
        columns + x + table.first_day,
        rate,
        bend,
        sine,
        table.parallax.take(columns),
        sin_latitude * sine[0] + cos_latitude * _cosine(sine[0]),
        sin_latitude * before - cos_latitude * _cosine(before),
        sin_latitude * after - cos_latitude * _cosine(after),
    )


def lower_transits(table: SunTable, longitude_degrees: float, mean_midnights: Instants) -> Instants:
    """The lower transit nearest to each local mean midnight."""
    columns, x, _ = _meridian_passed(table, tt_days(mean_midnights), longitude_degrees, np.pi)
    return nearest_instants(columns + x + table.first_day)


def find_crossings(
    transits: Transits, half: Half, level_degrees: float
) -> tuple[Instants, Statuses]:
    """Instants and status of one level; where there is no crossing, the upper transit."""
    sign = 1 if half is Half.EVENING else -1
    lowest = transits.lowest_after if half is Half.EVENING else transits.lowest_before
    level = np.radians(level_degrees)
    # Seen from the site the Sun stands lower by its parallax than from the Earth's centre.
    sin_level = np.sin(level) + transits.parallax * np.cos(level) ** 2
    status = np.where(lowest > sin_level, np.int8(STAYS_ABOVE), np.int8(CROSSES))
    status[transits.highest <= sin_level] = STAYS_BELOW
    crosses = status == CROSSES
    if crosses.all():
        return nearest_instants(transits.days + _elapsed(transits, sin_level, sign)), status
    elapsed = np.zeros_like(transits.days)
    elapsed[crosses] = _elapsed(_only(transits, crosses), sin_level[crosses], sign)
    return nearest_instants(transits.days + elapsed), status


def altitudes_degrees(
    table: SunTable, latitude_degrees: float, longitude_degrees: float, instants: Instants
) -> Floats:
    """Altitude of the Sun's centre in degrees as seen from a site, without refraction."""
    columns, x = table.rows(tt_days(instants))
    hour_angle = _hour_angle(_columns_of(table.equation, columns), x, longitude_degrees)
    sine = _cubic(_columns_of(table.sin_declination, columns), x)
    latitude = np.radians(latitude_degrees)
    altitude = np.arcsin(
        np.clip(
            np.sin(latitude) * sine + np.cos(latitude) * _cosine(sine) * np.cos(hour_angle), -1, 1
        )
    )
    lowered: Floats = np.degrees(altitude - table.parallax[columns] * np.cos(altitude))
    return lowered


def _meridian_passed(
    table: SunTable, near: Floats, longitude_degrees: Floats | float, hour_angle: float
) -> tuple[npt.NDArray[np.intp], Floats, Cubic]:
    """When the Sun has this hour angle, within half an hour of `near`: column and place in it.

    Also the cubics of the equation there. One step is exact to 0.0001 s: the equation of time
    bends too little to need another.
    """
    columns, x = table.rows(near)
    equation = _columns_of(table.equation, columns)
    ahead = _hour_angle(equation, x, longitude_degrees) - hour_angle
    ahead -= _TURN * np.rint(ahead / _TURN)
    return columns, x - ahead / (_TURN + _slope(equation, x)), equation


def _hour_angle(equation: Cubic, x: Floats, longitude_degrees: Floats | float) -> Floats:
    return _TURN * (x - 0.5) + np.radians(longitude_degrees) + _cubic(equation, x)


def _elapsed(transits: Transits, sin_level: Floats, sign: int) -> Floats:
    """Days from the transit to the crossing; `sign` 1 after it, -1 before it."""
    hour_angle, last_step = _newton(transits, sin_level, sign)
    loose = ~(np.abs(last_step) < _CLOSE_RADIANS)
    if loose.any():
        hour_angle[loose] = _bisected(_only(transits, loose), sin_level[loose], sign)
    straight = sign * hour_angle / transits.rate
    elapsed: Floats = straight - transits.bend * straight**2 / transits.rate
    return elapsed


def _newton(transits: Transits, sin_level: Floats, sign: int) -> tuple[Floats, Floats]:
    """Size of the hour angle after Newton's step and one more, and how long that last one was.

    The start is the closed solution for the declination six hours from the transit. The last step
    keeps the slope of the one before. A step that is not small, or leaves the half turn between
    the transits, is told by an infinite last step.
    """
    sin_latitude, cos_latitude = transits.sin_latitude, transits.cos_latitude
    per_radian = sign / transits.rate
    with np.errstate(divide="ignore", invalid="ignore"):
        sine = transits.sine[0] + (sign * 0.25) * transits.sine[1]
        cosine = cos_latitude * _cosine(sine)
        cos_start = np.clip((sin_level - sin_latitude * sine) / cosine, -1, 1)
        start = np.arccos(cos_start)
        sine = _cubic(transits.sine, start * per_radian)
        cosine = _cosine(sine)
        turned = cos_latitude * cos_start
        slope = transits.sine[1] * per_radian * (
            sin_latitude - turned * sine / cosine
        ) - cosine * cos_latitude * _cosine(cos_start)
        hour_angle = start - (sin_latitude * sine + cosine * turned - sin_level) / slope
        sine = _cubic(transits.sine, hour_angle * per_radian)
        turned = cos_latitude * np.cos(hour_angle)
        last_step = (sin_latitude * sine + _cosine(sine) * turned - sin_level) / slope
        hour_angle -= last_step
    inside = (hour_angle >= 0) & (hour_angle <= np.pi)
    return hour_angle, np.where(inside, last_step, np.inf)


def _bisected(transits: Transits, sin_level: Floats, sign: int) -> Floats:
    """Size of the hour angle of the crossing, however flat the Sun's path is there."""
    low = np.zeros_like(sin_level)
    high = np.full_like(sin_level, np.pi)
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        sine = _cubic(transits.sine, sign * middle / transits.rate)
        turned = transits.cos_latitude * np.cos(middle)
        above = transits.sin_latitude * sine + _cosine(sine) * turned > sin_level
        low, high = np.where(above, middle, low), np.where(above, high, middle)
    return high


def _only(transits: Transits, chosen: npt.NDArray[np.bool_]) -> Transits:
    """The chosen sites and dates, in one row."""

    def pick(values: Floats) -> Floats:
        return np.broadcast_to(values, chosen.shape)[chosen]

    p0, p1, p2, p3 = map(pick, transits.sine)
    picked = {
        name: pick(getattr(transits, name))
        for name in field_names(type(transits))
        if name != "sine"
    }
    return Transits(**picked, sine=(p0, p1, p2, p3))


def _columns_of(cubics: Floats, columns: npt.NDArray[np.intp]) -> Cubic:
    p0, p1, p2, p3 = (power.take(columns) for power in cubics)
    return p0, p1, p2, p3


def _cubic(powers: Cubic, x: Floats) -> Floats:
    p0, p1, p2, p3 = powers
    return p0 + x * (p1 + x * (p2 + x * p3))


def _slope(powers: Cubic, x: Floats) -> Floats:
    _, p1, p2, p3 = powers
    return p1 + x * (2 * p2 + x * (3 * p3))


def _moved(powers: Cubic, x: Floats) -> Cubic:
    """The same cubic in the distance from x."""
    _, _, p2, p3 = powers
    return _cubic(powers, x), _slope(powers, x), p2 + 3 * p3 * x, p3


def _cosine(sine: Floats) -> Floats:
    """Cosine of an angle between -90 and 90 degrees from its sine, or the other way round."""
    cosine: Floats = np.sqrt(1 - sine * sine)
    return cosine
