"""The channels of a test run: what each has to do, and all that fires on it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.audit.compare import Wanted, wanted_of
from schedcomp.audit.special_days import (
    ChannelPlan,
    actions_in_run,
    channel_plan,
    looks_back_days,
    off_firings,
    possible_actions,
)
from schedcomp.audit.unit import Firings, SunRun, Unit, coming, joined, unit_for
from schedcomp.controller import Controller
from schedcomp.model import Instant
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun


class Channel(Record):
    """What one channel has to do, its part of the program, and the firings of its clock events.

    Only firings that can matter are given. They come from the start, or from the earliest
    instant of the first switching, which a sun error can move before it, to the end or the
    latest instant of the last.
    """

    wanted: Wanted
    unit: Unit
    plan: ChannelPlan
    clock_firings: Firings

    @property
    def number(self) -> int:
        return self.wanted.channel

    def possible(self) -> Firings:
        """Every firing with all the instants it may come at, in order of start."""
        of_sun = self.unit.sun_firings(self.plan.duties, None)
        own = possible_actions(self.plan, self.unit)
        return self._that_matter([self.clock_firings, *of_sun, own])

    def in_run(self, run: SunRun) -> tuple[Firings, Firings]:
        """The firings of a run in order, without the doubtful ones and with all of them."""
        fired = [self.clock_firings, *self.unit.sun_firings(self.plan.duties, run)]
        if all(part.certain.all() for part in fired) and not self.plan.recalculations:
            every = self._that_matter([*fired, off_firings(self.plan)])
            return every, every
        real = joined(fired)
        quiet, full = actions_in_run(self.plan, self.unit, run)
        return self._that_matter([coming(real, run), quiet]), self._that_matter([real, full])

    def _that_matter(self, parts: list[Firings]) -> Firings:
        first, last = self.wanted.start, self.wanted.end
        if len(self.wanted):
            first = min(first, int(self.wanted.earliest[0]))
            last = max(last, int(self.wanted.latest[-1]))
        return joined(parts, first, last)


def channels_for(
    program: Program, controller: Controller, target: Target, unit_sun: UnitSun, zone_name: str
) -> tuple[Channel, ...]:
    """Every channel of the target; a channel that only the program has is to stay dark.

    Raises KeyError for a sun word without times, `zoneinfo.ZoneInfoNotFoundError` for an unknown
    zone.
    """
    wanted = tuple(map(wanted_of, target.channels))
    return channels_of(program, controller, wanted, (target.start, target.end), unit_sun, zone_name)


def channels_of(
    program: Program,
    controller: Controller,
    wanted: Sequence[Wanted],
    period: tuple[Instant, Instant],
    unit_sun: UnitSun,
    zone_name: str,
) -> tuple[Channel, ...]:
    """As `channels_for`, of what is wanted between the first and the last midnight of a period."""
    known = {asked.channel for asked in wanted}
    others = sorted({number for event in program.events for number in event.channels} - known)
    every = (*wanted, *(_dark(number, period) for number in others))
    last = max([period[1], *(asked.end for asked in every)])
    back = looks_back_days(program, controller.exceptions)
    unit = unit_for(controller, period, last, unit_sun, zone_name, back)
    channels = []
    for asked in every:
        plan = channel_plan(program, asked.channel, unit)
        channels.append(Channel(asked, unit, plan, unit.clock_firings(plan.duties)))
    return tuple(channels)


def _dark(channel: int, period: tuple[Instant, Instant]) -> Wanted:
    nothing = np.empty(0, np.int64)
    on = np.empty(0, np.bool_)
    return Wanted(channel, period[0], False, nothing, nothing, nothing, on, period[1])
