"""What a program does in any years, with nothing to compare it with."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

from schedcomp.audit import play_exactly
from schedcomp.audit_report import Run
from schedcomp.controller import Controller
from schedcomp.model import ONE_DAY, Period
from schedcomp.program import Program
from schedcomp.site import Site
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_place import unit_sun_of
from schedcomp.world import World

SETTLING_DAYS = 3
"""Days before the period from which a unit runs, so that its state is its own by then."""


def replayed(site: Site, world: World, program: Program, controller: Controller) -> Run:
    """The switchings of a program over the period of `world`, sun times exact."""
    first = world.period.first - timedelta(days=SETTLING_DAYS)
    wide = replace(world, period=Period(first, world.period.last))
    start = world.zone.first_pass(first, 0)
    end = world.zone.first_pass(world.period.last + ONE_DAY, 0)
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
    sun = unit_sun_of(site, controller, wide)
    return play_exactly(program, controller, blank, sun, site.timezone)
