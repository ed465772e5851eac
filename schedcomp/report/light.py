"""What dusk and dawn mean at a site, always with the light there is then."""

from __future__ import annotations

from datetime import date
from math import floor, log10

import numpy as np

from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.illuminance import lux
from schedcomp.model import FIRST_YEAR, LAST_YEAR, MINUTE, ONE_DAY, Half, NoEvent, Period
from schedcomp.phrases.printer import print_sun_definition
from schedcomp.phrases.tree import SunDefinition, SunLevel
from schedcomp.site import Site
from schedcomp.site_clock import site_clock
from schedcomp.sun import CROSSES, SiteSun, site_sun
from schedcomp.told_time import clock_words


def dusk_and_dawn_words(site: Site, sun: SiteSun, period: Period, verb: str = "") -> str:
    """`dusk sunset + 15 min, dawn sunrise - 15 min: about 50 lux, clear sky`.

    With a verb: `dusk is sunset + 15 min, dawn is ...`.
    """
    names = [f"{name} {verb}".rstrip() for name in ("dusk", "dawn")]
    dusk, dusk_light = _definition(site.dusk, Half.EVENING, sun, period)
    dawn, dawn_light = _definition(site.dawn, Half.MORNING, sun, period)
    if dusk_light == dawn_light:
        return f"{names[0]} {dusk}, {names[1]} {dawn}: {dusk_light}"
    return f"{names[0]} {dusk} ({dusk_light}), {names[1]} {dawn} ({dawn_light})"


def dusk_words(site: Site, sun: SiteSun, period: Period) -> str:
    """`dusk is sunset + 15 min (about 50 lux, clear sky)`."""
    definition, light = _definition(site.dusk, Half.EVENING, sun, period)
    return f"dusk is {definition} ({light})"


def _definition(
    definition: SunDefinition, half: Half, sun: SiteSun, period: Period
) -> tuple[str, str]:
    """A definition, and the clear-sky light of the middle one of the period's dates."""
    text = print_sun_definition(definition)
    base = definition.base
    if isinstance(base, SunLevel) and base.lux is not None and not definition.offset_minutes:
        return text, "clear sky"
    light = lux_at(definition, half, sun, period)
    return text, "light not known" if light is None else f"about {_figures(light)} lux, clear sky"


def lux_at(definition: SunDefinition, half: Half, sun: SiteSun, period: Period) -> float | None:
    """Median clear-sky light at a sun definition; None where the sun never comes there."""
    base = definition.base
    level = base.level_degrees if isinstance(base, SunLevel) else SUNRISE_LEVEL_DEGREES
    found = sun.crossings(half, level)
    first, last = (period.first - sun.first).days, (period.last - sun.first).days
    inside = slice(first, last + 1)
    instants = found.instants[inside][found.status[inside] == CROSSES]
    if not instants.size:
        return None
    altitudes = sun.altitude_degrees(instants + definition.offset_minutes * MINUTE)
    ordered = np.sort(altitudes)
    count = len(ordered)
    return lux(float(ordered[(count - 1) // 2] + ordered[count // 2]) / 2)


def sunset_today_words(site: Site, today: date) -> str:
    """`sunset today 16:33`, by the site's own clock."""
    if not FIRST_YEAR <= today.year <= LAST_YEAR:
        return "sunset today not known"
    here = site_clock(site, today - ONE_DAY, today + ONE_DAY)
    sun = site_sun(site.latitude_degrees, site.longitude_degrees, here, today, today)
    sunset = sun.crossing(today, Half.EVENING, SUNRISE_LEVEL_DEGREES)
    if isinstance(sunset, NoEvent):
        return f"no sunset today: {sunset.reason.value}"
    return f"sunset today {clock_words(here, sunset)}"


def _figures(value: float) -> str:
    """No finer than the sky allows: `50`, `450`, `3.5`, `0.35`."""
    step = 5 * 10.0 ** (floor(log10(value)) - 1)
    return f"{round(value / step) * step:.10g}"
