"""What a program does in any years, with nothing to compare it with."""

from __future__ import annotations

from datetime import date, timedelta

from schedcomp.audit import play_alone
from schedcomp.audit_report import Run
from schedcomp.clock import zone
from schedcomp.controller import Controller
from schedcomp.model import FIRST_YEAR, ONE_DAY, Period
from schedcomp.program import Program
from schedcomp.records import replace
from schedcomp.site import Site
from schedcomp.sun import site_sun
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_place import SUN_MARGIN_DAYS, unit_sun_of
from schedcomp.world import World

LOOK_BACK_DAYS = 366
"""A unit is played this long before the first date: then every yearly event has fired."""


def looked_back(first: date) -> date:
    """The date from which a unit is played, begun dark."""
    return max(first - timedelta(days=LOOK_BACK_DAYS), date(FIRST_YEAR, 1, 1))


def replayed(site: Site, world: World, program: Program, controller: Controller) -> tuple[Run, ...]:
    """The switchings of a program over the period of `world`: with exact sun times, with the
    unit's sun times as early, and as late, as they may be.

    It is played from long before through the date after, in which the last night ends.
    """
    period = Period(looked_back(world.period.first), world.period.last + ONE_DAY)
    days = period.wider(SUN_MARGIN_DAYS)
    clock = zone(world.zone.name, days.first, days.last)
    sun = site_sun(site.latitude_degrees, site.longitude_degrees, clock, days.first, days.last)
    wide = replace(world, period=period, zone=clock, sun=sun)
    start = clock.first_pass(period.first, 0)
    end = clock.first_pass(period.last + ONE_DAY, 0)
    channels = tuple(
        ChannelTarget(
            channel=circuit.channel,
            circuit=circuit.name,
            load_kw=circuit.load_kw or 0.0,
            start=start,
            end=end,
            lit_at_start=False,
            switchings=(),
        )
        for circuit in site.circuits
    )
    blank = Target(start=start, end=end, channels=channels)
    times = unit_sun_of(site, controller, wide)
    return play_alone(program, controller, blank, times, site.timezone)
