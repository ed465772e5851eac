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
    for day in days:
        nominal = sun.crossing(day, start.half, start.level_degrees)
        early = sun.crossing(day, start.half, early_level)
        late = sun.crossing(day, start.half, late_level)
        shifts = [
            _shift(nominal, place.crossing(day, start.half, start.level_degrees)) for place in keyed
        ]
        silent = controller.no_sun_event == "does not fire"
        if silent and all(isinstance(t, NoEvent) for t in (nominal, early, late)):
            continue
        certain = not any(isinstance(t, NoEvent) for t in (nominal, early, late)) and None not in (
            shifts
        )
        near = _transit_near(sun, day, start.half, nominal)
        instants = [near if isinstance(t, NoEvent) else t for t in (nominal, early, late)]
        moved = [s for s in shifts if s is not None]
        yield UnitSunTime(
            day,
            instants[0],
            min(instants) - own_seconds - max(0, *(-s for s in moved), 0),
            max(instants) + own_seconds + max(0, *moved, 0),
            certain,
        )


def _shift(nominal: Instant | NoEvent, keyed: Instant | NoEvent) -> int | None:
    """Seconds by which the keyed place makes the event later; None where one has none."""
    if isinstance(nominal, NoEvent) or isinstance(keyed, NoEvent):
        return None
    return keyed - nominal


def _transit_near(sun: SiteSun, day: date, half: Half, nominal: Instant | NoEvent) -> Instant:
    """Where an event that may not exist would be: at the transit where the sun turns back."""
    if not isinstance(nominal, NoEvent) or nominal.reason is NoEventReason.STAYS_ABOVE:
        return (
            sun.lower_transit_before(day) if half is Half.MORNING else sun.lower_transit_after(day)
        )
    return sun.transit(day)
