"""The Sun at a site: transits, and when it crosses a level on each local date.

A date's transit is the one nearest to its local mean noon. Its evening crossing is the downward
one between that transit and the following lower transit, its morning crossing the upward one
after the preceding lower transit, whatever date the clock shows then. Whether there is one is
decided by the altitudes at the two transits alone.
"""

from __future__ import annotations

from datetime import date

import numpy as np
import numpy.typing as npt

from schedcomp.clock import Zone, day_number
from schedcomp.clock_columns import day_numbers, first_readings
from schedcomp.model import DAY, HOUR, ONE_DAY, Half, Instant, NoEvent, NoEventReason, Period
from schedcomp.records import Record, field
from schedcomp.sun_solver import (
    CROSSES,
    STAYS_ABOVE,
    STAYS_BELOW,
    Solved,
    Statuses,
    Transits,
    altitudes_degrees,
    find_crossings,
    find_transits,
    lower_transits,
    mean_noons,
    solve,
)
from schedcomp.sun_table import (
    Floats,
    Instants,
    SunTable,
    ephemeris_version,
    sun_table,
)

__all__ = [
    "CROSSES",
    "STAYS_ABOVE",
    "STAYS_BELOW",
    "Crossings",
    "SiteSun",
    "Solved",
    "ephemeris_version",
    "mean_noons",
    "site_sun",
    "solve",
]

_NOON = 12 * HOUR
# A local date and its neighbours, in UTC, with the lower transits around them.
_MARGIN_DAYS = 5
_NO_EVENT = {
    STAYS_ABOVE: NoEvent(NoEventReason.STAYS_ABOVE),
    STAYS_BELOW: NoEvent(NoEventReason.STAYS_BELOW),
}


class Crossings(Record, eq=False):
    """One level on every date: UTC seconds, and CROSSES, STAYS_ABOVE or STAYS_BELOW.

    Where the Sun does not cross, the instant is the upper transit and no event.
    """

    instants: Instants
    status: Statuses


class SiteSun(Record, eq=False):
    """The Sun at one place on every date from `first`; made by `site_sun`.

    `transits` are the upper transits of the dates, `lower_before` and `lower_after` the lower ones
    around them; all are rounded once, to the nearest second. Every method that takes a date raises
    KeyError for one outside.
    """

    latitude_degrees: float
    longitude_degrees: float
    first: date
    transits: Instants
    lower_before: Instants
    lower_after: Instants
    _path: Transits
    _table: SunTable
    _levels: dict[tuple[Half, float], Crossings] = field(default_factory=dict)
    _dated: dict[tuple[Half, float], list[Instant | NoEvent]] = field(default_factory=dict)

    @property
    def count(self) -> int:
        """Number of dates."""
        return self.transits.size

    @property
    def last(self) -> date:
        return self.first + (self.count - 1) * ONE_DAY

    def transit(self, day: date) -> Instant:
        return int(self.transits[self._place(day)])

    def lower_transit_after(self, day: date) -> Instant:
        return int(self.lower_after[self._place(day)])

    def lower_transit_before(self, day: date) -> Instant:
        return int(self.lower_before[self._place(day)])

    def crossing(self, day: date, half: Half, level_degrees: float) -> Instant | NoEvent:
        """When the Sun's centre crosses a level in the morning (up) or evening (down) of a date.

        The level is in degrees of altitude without refraction; `SUNRISE_LEVEL_DEGREES` gives
        sunrise and sunset.
        """
        asked = (half, level_degrees)
        if asked not in self._dated:
            found = self.crossings(half, level_degrees)
            instants, status = found.instants.tolist(), found.status.tolist()
            self._dated[asked] = [
                at if crosses == CROSSES else _NO_EVENT[crosses]
                for at, crosses in zip(instants, status, strict=True)
            ]
        return self._dated[asked][self._place(day)]

    def crossings(self, half: Half, level_degrees: float) -> Crossings:
        """The crossings of every date; the arrays are shared and must not be changed."""
        asked = (half, level_degrees)
        if asked not in self._levels:
            instants, status = find_crossings(self._path, half, level_degrees)
            if half is Half.EVENING:
                between = np.clip(instants, self.transits, self.lower_after)
            else:
                between = np.clip(instants, self.lower_before, self.transits)
            between.flags.writeable = status.flags.writeable = False
            self._levels[asked] = Crossings(between, status)
        return self._levels[asked]

    def turns(self, half: Half, level_degrees: float) -> Crossings:
        """As `crossings`; where the Sun does not cross, the transit at which it turns back."""
        found = self.crossings(half, level_degrees)
        lower = self.lower_before if half is Half.MORNING else self.lower_after
        return Crossings(np.where(found.status == STAYS_ABOVE, lower, found.instants), found.status)

    def altitude_degrees(self, instants: Instants) -> Floats:
        """Altitude of the Sun's centre as seen from the site, without refraction.

        ValueError for an instant more than three days outside the dates.
        """
        return altitudes_degrees(
            self._table, self.latitude_degrees, self.longitude_degrees, instants
        )

    def places(self, numbers: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """Where dates, as days since 1970-01-01, stand in the arrays."""
        places = numbers - day_number(self.first)
        if places.size and not 0 <= places.min() <= places.max() < self.count:
            raise KeyError(f"a date outside {self.first} to {self.last}")
        return places

    def _place(self, day: date) -> int:
        place = (day - self.first).days
        if not 0 <= place < self.transits.size:
            raise KeyError(f"{day} is outside {self.first} to {self.last}")
        return place


def site_sun(
    latitude_degrees: float, longitude_degrees: float, zone: Zone, first: date, last: date
) -> SiteSun:
    """The Sun at a place (north and east positive) on the local dates `first` through `last`.

    The zone only says which solar day a date means: local mean noon is the one nearest to 12:00
    on its clock. Dates from the end of 2000 to the beginning of 2101 are covered.
    """
    noons = mean_noons(longitude_degrees, _civil_noons(zone, first, last))
    table = sun_table(day_number(first) - _MARGIN_DAYS, day_number(last) + _MARGIN_DAYS)
    path = find_transits(table, latitude_degrees, longitude_degrees, noons)
    before, after = _lower_transits_around(table, longitude_degrees, noons)
    transits = path.instants()
    for shared in (transits, before, after):
        shared.flags.writeable = False
    return SiteSun(latitude_degrees, longitude_degrees, first, transits, before, after, path, table)


def _lower_transits_around(
    table: SunTable, longitude_degrees: float, noons: Instants
) -> tuple[Instants, Instants]:
    """The lower transits before and after each mean noon."""
    if (noons[1:] - noons[:-1] == DAY).all():
        midnights = np.append(noons[:1] - DAY // 2, noons + DAY // 2)
        found = lower_transits(table, longitude_degrees, midnights)
        return found[:-1], found[1:]
    before = lower_transits(table, longitude_degrees, noons - DAY // 2)
    return before, lower_transits(table, longitude_degrees, noons + DAY // 2)


def _civil_noons(zone: Zone, first: date, last: date) -> Instants:
    """12:00 on the clock of every date."""
    return first_readings(zone, day_numbers(Period(first, last)) * DAY + _NOON)
