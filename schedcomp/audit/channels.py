"""The channels of a test run: what each has to do, and all that fires on it."""

from __future__ import annotations

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
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_sun import UnitSun


class Channel(Record):
    """What one channel has to do, its part of the program, and the firings of its clock events.

    Only firings that can matter are given. They come from the start, or from the earliest
    instant of the first switching, which a sun error can move before it, to the end or the
    latest instant of the last.
    """

    target: ChannelTarget
    wanted: Wanted
    unit: Unit
    plan: ChannelPlan
    clock_firings: Firings

    @property
    def number(self) -> int:
        return self.target.channel

    def possible(self) -> Firings:
        """Every firing with all the instants it may come at, in order of start."""
        of_sun = self.unit.sun_firings(self.plan.duties, None)
        own = possible_actions(self.plan, self.unit)
        return self._that_matter([self.clock_firings, of_sun, own])

    def in_run(self, run: SunRun) -> tuple[Firings, Firings]:
        """The firings of a run in order, without the doubtful ones and with all of them."""
        real = joined([self.clock_firings, self.unit.sun_firings(self.plan.duties, run)])
        if real.certain.all() and not self.plan.recalculations:
            every = self._that_matter([real, off_firings(self.plan)])
            return every, every
        quiet, full = actions_in_run(self.plan, self.unit, run)
        return self._that_matter([coming(real, run), quiet]), self._that_matter([real, full])

    def _that_matter(self, parts: list[Firings]) -> Firings:
        first, last = self.target.start, self.target.end
        if len(self.wanted):
            first = min(first, int(self.wanted.earliest[0]))
            last = max(last, int(self.wanted.latest[-1]))
        every = joined(parts)
        return every.only((every.ends >= first) & (every.starts <= last))


def channels_for(
    program: Program, controller: Controller, target: Target, unit_sun: UnitSun, zone_name: str
) -> tuple[Channel, ...]:
    """Every channel of the target; a channel that only the program has is to stay dark.

    Raises KeyError for a sun word without times, `zoneinfo.ZoneInfoNotFoundError` for an unknown
    zone.
    """
    back = looks_back_days(program, controller.exceptions)
    unit = unit_for(controller, target, unit_sun, zone_name, back)
    channels = []
    for wanted in (*target.channels, *_unasked(program, target)):
        plan = channel_plan(program, wanted.channel, unit)
        fires = unit.clock_firings(plan.duties)
        channels.append(Channel(wanted, wanted_of(wanted), unit, plan, fires))
    return tuple(channels)


def _unasked(program: Program, target: Target) -> list[ChannelTarget]:
    known = {channel.channel for channel in target.channels}
    return [
        ChannelTarget(
            channel=number,
            circuit="",
            load_kw=0.0,
            start=target.start,
            end=target.end,
            lit_at_start=False,
            switchings=(),
        )
        for number in sorted({n for e in program.events for n in e.channels} - known)
    ]
