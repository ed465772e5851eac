"""Dusk and dawn as a site defines them, date by date, for drawings and the baseline."""

from __future__ import annotations

from datetime import date

from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import MINUTE, ONE_DAY, Half, Instant, NoEvent, NoEventReason
from schedcomp.phrases.tree import SunDefinition, SunLevel
from schedcomp.site import Site
from schedcomp.sun import SiteSun


def defined_time(
    sun: SiteSun, day: date, half: Half, definition: SunDefinition
) -> Instant | NoEvent:
    """Dusk (evening) or dawn (morning) of a date; KeyError for a date outside."""
    base = definition.base
    level = base.level_degrees if isinstance(base, SunLevel) else SUNRISE_LEVEL_DEGREES
    found = sun.crossing(day, half, level)
    return found if isinstance(found, NoEvent) else found + definition.offset_minutes * MINUTE


def dusk_to_dawn(site: Site, sun: SiteSun, day: date) -> tuple[Instant, Instant] | None:
    """What lamps that are lit whenever it is dark would do in the night of an evening date.

    None where it does not get dark. Where dusk is already or dawn is not yet, the transit of the
    date concerned; where only one of the two is missing in the light, the lower transit.
    """
    morning = day + ONE_DAY
    dusk = defined_time(sun, day, Half.EVENING, site.dusk)
    dawn = defined_time(sun, morning, Half.MORNING, site.dawn)
    light = [isinstance(t, NoEvent) and t.reason is NoEventReason.STAYS_ABOVE for t in (dusk, dawn)]
    if all(light):
        return None
    start = _turned(sun, day, day, dusk)
    end = _turned(sun, morning, day, dawn)
    return (start, end) if start < end else None


def _turned(sun: SiteSun, day: date, evening: date, found: Instant | NoEvent) -> Instant:
    if not isinstance(found, NoEvent):
        return found
    if found.reason is NoEventReason.STAYS_BELOW:
        return sun.transit(day)
    return sun.lower_transit_after(evening)
