"""Where on earth a pair of coordinates is: the nearest town, and the time zones there.

The towns are those of `data/places.tsv.gz`; its credit line stands in `data/places.txt`.
"""

from __future__ import annotations

import gzip
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

FAR_KM = 100.0

# Time zones reach 22 km out to sea; nearer to a town there is no need to ask where they end.
_COASTAL_KM = 10.0
_EARTH_RADIUS_KM = 6371.0
_WINDS = ("north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest")


@dataclass(frozen=True, slots=True)
class Town:
    """A town of more than 15,000 people; `region` is a US state or a country."""

    name: str
    region: str
    latitude_degrees: float
    longitude_degrees: float
    timezone: str


@dataclass(frozen=True, slots=True)
class Whereabouts:
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


@dataclass(frozen=True, slots=True, eq=False)
class _Gazetteer:
    """The columns of the file; those of text are split only when a town is asked for."""

    latitudes: npt.NDArray[np.float64]
    longitudes: npt.NDArray[np.float64]
    names: str
    regions: str
    timezones: str

    def towns(self, places: Sequence[int]) -> tuple[Town, ...]:
        """The towns at some positions of the columns."""
        columns = (self.names, self.regions, self.timezones)
        names, regions, timezones = (column.split("\t") for column in columns)
        return tuple(
            Town(
                names[place],
                regions[place],
                float(self.latitudes[place]),
                float(self.longitudes[place]),
                timezones[place],
            )
            for place in places
        )


def whereabouts(latitude_degrees: float, longitude_degrees: float) -> Whereabouts:
    """The nearest town by great circle, and whether the place is far out or in the sea."""
    known = _gazetteer()
    latitude, longitude = np.radians(latitude_degrees), np.radians(longitude_degrees)
    latitudes, eastward = np.radians(known.latitudes), np.radians(known.longitudes) - longitude
    haversine = (
        np.sin((latitudes - latitude) / 2) ** 2
        + np.cos(latitude) * np.cos(latitudes) * np.sin(eastward / 2) ** 2
    )
    place = int(np.argmin(haversine))
    distance_km = float(2 * _EARTH_RADIUS_KM * np.arcsin(np.sqrt(haversine[place])))
    (town,) = known.towns((place,))
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
    names = known.names.casefold().split("\t")
    named = known.towns([place for place, found in enumerate(names) if found == wanted])
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
    return _Gazetteer(_degrees(latitudes), _degrees(longitudes), *texts)


def _degrees(thousandths: str) -> npt.NDArray[np.float64]:
    return np.fromstring(thousandths, dtype=np.int64, sep="\t") / 1000
