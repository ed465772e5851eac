"""The sun as a controller knows it: its own sun times with everything that may be wrong in them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from functools import cached_property
from typing import TypeAlias, overload

import numpy as np
import numpy.typing as npt

from schedcomp.clock import day_number
from schedcomp.clock_columns import dates_of_numbers, day_numbers
from schedcomp.controller import Controller, SunStart
from schedcomp.model import MINUTE, Half, Instant, Period
from schedcomp.records import Record
from schedcomp.sun import CROSSES, SiteSun

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]


class UnitSunTime(Record):
    """A sun event of a controller on one solar date, before any offset.

    It happens at one instant of [earliest, latest]; `nominal` is our own time for the place, or
    the transit concerned when the sun does not cross. Where not `certain` it may also not happen
    at all.
    """

    day: date
    nominal: Instant
    earliest: Instant
    latest: Instant
    certain: bool


class SunColumns(Record, eq=False):
    """As `UnitSunTime`, one row a solar date; `days` count from 1970-01-01."""

    days: Ints
    nominal: Ints
    earliest: Ints
    latest: Ints
    certain: Bools


class SunTimes(Sequence[UnitSunTime]):
    """Sun times of one word; the values are made from the columns when one is asked for."""

    def __init__(self, columns: SunColumns) -> None:
        self.columns = columns

    def __len__(self) -> int:
        return len(self.columns.days)

    @overload
    def __getitem__(self, place: int) -> UnitSunTime: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[UnitSunTime, ...]: ...
    def __getitem__(self, place: int | slice) -> UnitSunTime | tuple[UnitSunTime, ...]:
        return self._values[place]

    def __iter__(self) -> Iterator[UnitSunTime]:
        return iter(self._values)

    @cached_property
    def _values(self) -> tuple[UnitSunTime, ...]:
        own = self.columns
        days = dates_of_numbers(own.days)
        rest = (own.nominal, own.earliest, own.latest, own.certain)
        return tuple(map(UnitSunTime, days, *(column.tolist() for column in rest)))


def columns_of(times: Sequence[UnitSunTime]) -> SunColumns:
    """Sun times of one word as columns."""
    if isinstance(times, SunTimes):
        return times.columns
    return SunColumns(
        np.array([day_number(t.day) for t in times], np.int64),
        np.array([t.nominal for t in times], np.int64),
        np.array([t.earliest for t in times], np.int64),
        np.array([t.latest for t in times], np.int64),
        np.array([t.certain for t in times], np.bool_),
    )


class UnitSun(Record):
    """Sun times by word of the controller, each in order of solar date."""

    times: tuple[tuple[str, Sequence[UnitSunTime]], ...]

    def of(self, word: str) -> Sequence[UnitSunTime]:
        """The times of one sun word; KeyError if the controller does not know it."""
        for known, times in self.times:
            if known == word:
                return times
        raise KeyError(word)


def unit_sun(
    controller: Controller,
    sun: SiteSun,
    keyed: tuple[SiteSun, ...],
    period: Period,
) -> UnitSun:
    """Sun times of a controller over a period, with everything that may be wrong in them.

    `sun` is at the true place, `keyed` at the places keyed into the units (none: as keyed the
    place is true). Early and late errors are kept apart; of several units the worst counts.
    """
    days = day_numbers(period)
    return UnitSun(
        tuple(
            (start.word, SunTimes(_columns(controller, start, sun, keyed, days)))
            for start in controller.sun_starts
        )
    )


def keyed_location(
    latitude_degrees: float, longitude_degrees: float, location_entry: str
) -> tuple[float, float]:
    """The place as a unit that takes only such coordinates would hold it."""
    per_degree = {"0.01 degree": 100, "minute": 60, "whole degree": 1}.get(location_entry)
    if per_degree is None:
        return latitude_degrees, longitude_degrees
    return (
        round(latitude_degrees * per_degree) / per_degree,
        round(longitude_degrees * per_degree) / per_degree,
    )


def _columns(
    controller: Controller,
    start: SunStart,
    sun: SiteSun,
    keyed: tuple[SiteSun, ...],
    days: Ints,
) -> SunColumns:
    own_seconds = round(controller.sun_error_minutes * MINUTE)
    # A higher level is crossed earlier in the evening and later in the morning.
    rising = 1 if start.half is Half.MORNING else -1
    early_level = start.level_degrees - rising * controller.sun_error_degrees
    late_level = start.level_degrees + rising * controller.sun_error_degrees
    places = [(sun, start.level_degrees), (sun, early_level), (sun, late_level)]
    places += [(place, start.level_degrees) for place in keyed]
    columns = [_column(place, start.half, level, days) for place, level in places]
    instants = np.stack([instant for instant, _ in columns])
    crosses = np.stack([known for _, known in columns])
    here = instants[0]
    moved = instants[3:] - here
    silent = controller.no_sun_event == "does not fire"
    certain = np.logical_and.reduce(crosses)
    fires = np.logical_or.reduce(crosses)
    earliest = instants[:3].min(axis=0) - own_seconds + moved.min(axis=0, initial=0)
    latest = instants[:3].max(axis=0) + own_seconds + moved.max(axis=0, initial=0)
    kept = fires if silent else np.ones_like(fires)
    return SunColumns(days[kept], here[kept], earliest[kept], latest[kept], certain[kept])


def _column(
    sun: SiteSun, half: Half, level_degrees: float, days: Ints
) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.bool_]]:
    """When the sun crosses or turns back on each date, and whether it crosses."""
    turns, places = sun.turns(half, level_degrees), sun.places(days)
    return turns.instants[places], turns.status[places] == CROSSES
