"""The sun as a controller knows it: its own sun times with everything that may be wrong in them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from schedcomp.controller import Controller, SunStart
from schedcomp.model import MINUTE, Half, Instant, NoEvent, NoEventReason
from schedcomp.sun import SiteSun


@dataclass(frozen=True, slots=True)
class UnitSunTime:
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


@dataclass(frozen=True, slots=True)
class UnitSun:
    """Sun times by word of the controller, each in order of solar date."""

    times: tuple[tuple[str, tuple[UnitSunTime, ...]], ...]

    def of(self, word: str) -> tuple[UnitSunTime, ...]:
        """The times of one sun word; KeyError if the controller does not know it."""
        for known, times in self.times:
            if known == word:
                return times
        raise KeyError(word)


def unit_sun(
    controller: Controller,
    sun: SiteSun,
    keyed: tuple[SiteSun, ...],
    days: Sequence[date],
) -> UnitSun:
    """Sun times of a controller for some dates, with everything that may be wrong in them.

    `sun` is at the true place, `keyed` at the places keyed into the units (none: as keyed the
    place is true). Early and late errors are kept apart; of several units the worst counts.
    """
    return UnitSun(
        tuple(
            (start.word, tuple(_times(controller, start, sun, keyed, days)))
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


def _times(
    controller: Controller,
    start: SunStart,
    sun: SiteSun,
    keyed: tuple[SiteSun, ...],
    days: Sequence[date],
) -> Iterator[UnitSunTime]:
    own_seconds = round(controller.sun_error_minutes * MINUTE)
    # A higher level is crossed earlier in the evening and later in the morning.
    rising = 1 if start.half is Half.MORNING else -1
    early_level = start.level_degrees - rising * controller.sun_error_degrees
    late_level = start.level_degrees + rising * controller.sun_error_degrees
    silent = controller.no_sun_event == "does not fire"
    for day in days:
        nominal = sun.crossing(day, start.half, start.level_degrees)
        own = [sun.crossing(day, start.half, level) for level in (early_level, late_level)]
        away = [place.crossing(day, start.half, start.level_degrees) for place in keyed]
        every = [nominal, *own, *away]
        if silent and all(isinstance(t, NoEvent) for t in every):
            continue
        here = _turned(sun, day, start.half, nominal)
        bounds = [_turned(sun, day, start.half, t) for t in own]
        moved = [
            _turned(place, day, start.half, t) - here for place, t in zip(keyed, away, strict=True)
        ]
        yield UnitSunTime(
            day,
            here,
            min(here, *bounds) - own_seconds + min(0, 0, *moved),
            max(here, *bounds) + own_seconds + max(0, 0, *moved),
            not any(isinstance(t, NoEvent) for t in every),
        )


def _turned(sun: SiteSun, day: date, half: Half, crossing: Instant | NoEvent) -> Instant:
    """The crossing, or, where there is none, the transit at which the sun turns back."""
    if not isinstance(crossing, NoEvent):
        return crossing
    if crossing.reason is NoEventReason.STAYS_BELOW:
        return sun.transit(day)
    return sun.lower_transit_before(day) if half is Half.MORNING else sun.lower_transit_after(day)
