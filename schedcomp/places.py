"""Where on earth a pair of coordinates is: the nearest town, and the time zones there.

The towns are those of `data/places.tsv.gz`; its credit line stands in `data/places.txt`.
"""

from __future__ import annotations

import gzip
import math
from collections.abc import Sequence
from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from schedcomp.records import Record

FAR_KM = 100.0

# Time zones reach 22 km out to sea; nearer to a town there is no need to ask where they end.
_COASTAL_KM = 10.0
_EARTH_RADIUS_KM = 6371.0
_WINDS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


class Town(Record):
    """A town of more than 15,000 people; `region` is a US state or a country."""

    name: str
    region: str
    latitude_degrees: float
    longitude_degrees: float
    timezone: str


class Whereabouts(Record):
    """A place told by its nearest town.

    `direction` leads from the town to the place, "" where they are the same to the kilometre.
    `far`: more than 100 km from any town. `at_sea`: beyond the coastal waters of any country.
    """

    distance_km: float
    direction: str
    town: str
    region: str
    far: bool
    at_sea: bool

    @property
    def text(self) -> str:
        """`4 km south of Fort Collins, Colorado`."""
        where = f"{self.town}, {self.region}"
        told = f"{self.distance_km:.0f} km {self.direction} of {where}" if self.direction else where
        return f"in the sea, {told}" if self.at_sea else told


class _Gazetteer(Record, eq=False):
    """The columns of the file, the largest town first; angles in radians."""

    latitudes: npt.NDArray[np.float64]
    longitudes: npt.NDArray[np.float64]
    cosines: npt.NDArray[np.float64]
    names: Sequence[str]
    regions: Sequence[str]
    timezones: Sequence[str]

    def town(self, place: int) -> Town:
        """The town at a position of the columns."""
        return Town(
            self.names[place],
            self.regions[place],
            _thousandths(self.latitudes[place]),
            _thousandths(self.longitudes[place]),
            self.timezones[place],
        )

    def haversines(
        self, latitude_degrees: float, longitude_degrees: float
    ) -> npt.NDArray[np.float64]:
        """Half the versed sine of the angle to each town; it grows with the distance."""
        latitude, longitude = np.radians(latitude_degrees), np.radians(longitude_degrees)
        northward = np.sin((self.latitudes - latitude) / 2)
        eastward = np.sin((self.longitudes - longitude) / 2)
        found: npt.NDArray[np.float64] = (
            northward**2 + np.cos(latitude) * self.cosines * eastward**2
        )
        return found


@lru_cache(maxsize=256)
def whereabouts(latitude_degrees: float, longitude_degrees: float) -> Whereabouts:
    """The nearest town by great circle, and whether the place is far out or in the sea."""
    known = _gazetteer()
    haversines = known.haversines(latitude_degrees, longitude_degrees)
    place = int(np.argmin(haversines))
    distance_km = float(2 * _EARTH_RADIUS_KM * np.arcsin(np.sqrt(haversines[place])))
    town = known.town(place)
    return Whereabouts(
        distance_km=distance_km,
        direction=_direction(town, latitude_degrees, longitude_degrees)
        if distance_km >= 0.5
        else "",
        town=town.name,
        region=town.region,
        far=distance_km > FAR_KM,
        at_sea=distance_km > _COASTAL_KM
        and any(z.startswith("Etc/") for z in zones_at(latitude_degrees, longitude_degrees)),
    )


def zones_of_towns(
    latitude_degrees: float, longitude_degrees: float, within_km: float
) -> frozenset[str]:
    """The IANA time zones of the towns around a place."""
    known = _gazetteer()
    largest = math.sin(within_km / (2 * _EARTH_RADIUS_KM)) ** 2
    near = known.haversines(latitude_degrees, longitude_degrees) <= largest
    return frozenset(known.timezones[place] for place in np.flatnonzero(near).tolist())


def zones_at(latitude_degrees: float, longitude_degrees: float) -> tuple[str, ...]:
    """The IANA time zones in use at a place, the usual one first; () where there is none.

    On the high sea the zone is one of `Etc/`. Borders are drawn to about 100 m.
    """
    from tzfpy import get_tzs

    return tuple(get_tzs(longitude_degrees, latitude_degrees))


def towns_named(name: str) -> tuple[Town, ...]:
    """Every town of this name, the largest first; `Springfield, Ohio` asks for one region."""
    known = _gazetteer()
    wanted, _, region = (part.strip().casefold() for part in name.partition(","))
    named = [known.town(n) for n, found in enumerate(known.names) if found.casefold() == wanted]
    return tuple(town for town in named if region in ("", town.region.casefold()))


def _direction(town: Town, latitude_degrees: float, longitude_degrees: float) -> str:
    """The compass word of the way from a town to a place."""
    here, there = np.radians(town.latitude_degrees), np.radians(latitude_degrees)
    eastward = np.radians(longitude_degrees - town.longitude_degrees)
    bearing = np.arctan2(
        np.sin(eastward) * np.cos(there),
        np.cos(here) * np.sin(there) - np.sin(here) * np.cos(there) * np.cos(eastward),
    )
    return _WINDS[round(float(np.degrees(bearing)) / 45) % len(_WINDS)]


@lru_cache(maxsize=1)
def _gazetteer() -> _Gazetteer:
    packed = files("schedcomp").joinpath("data", "places.tsv.gz").read_bytes()
    latitudes, longitudes, *texts = gzip.decompress(packed).decode().split("\n")
    north, east = _radians(latitudes), _radians(longitudes)
    return _Gazetteer(north, east, np.cos(north), *(text.split("\t") for text in texts))


def _radians(thousandths: str) -> npt.NDArray[np.float64]:
    return np.radians(np.fromstring(thousandths, dtype=np.int64, sep="\t") / 1000)


def _thousandths(radians: float) -> float:
    """Degrees to the three digits of the file."""
    return round(math.degrees(radians), 3)
