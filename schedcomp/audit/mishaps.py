"""What one missed event, or one power cut, would do to the lamps; never a failure of a program.

All is measured against the program's own run with the sun exact, without firings that may not
come. What a unit does by itself where special days begin or end is never missed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import numpy as np

from schedcomp.audit.channels import Channel, channels_for
from schedcomp.audit.lamps import in_worst_order
from schedcomp.audit.unit import SunRun
from schedcomp.audit.unit_clock import Bools, Ints
from schedcomp.audit_report import NO_SLOT, Mishaps, MissedEvent, PowerCut
from schedcomp.controller import Controller
from schedcomp.model import HOUR, MINUTE, Action, Instant
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun

CUT_SECONDS = (MINUTE, HOUR, 10 * HOUR)
"""The lengths of the power cuts that are tried."""


def find_mishaps(
    program: Program, controller: Controller, target: Target, unit_sun: UnitSun, zone_name: str
) -> Mishaps:
    """The worst of every single firing missed, and of power cuts that begin at any full hour.

    Every firing of every slot is left out in turn. The cuts begin at every full hour of the
    unit's clock on every date of the period; while one lasts the lamps are dark anyway and
    nothing fires, and what the lamps do wrong counts from its end. A mishap ends with the next
    firing of any slot, at the latest with the channel's end.

    Raises KeyError for a sun word without times, `zoneinfo.ZoneInfoNotFoundError` for an unknown
    zone.
    """
    channels = channels_for(program, controller, target, unit_sun, zone_name)
    played = [_played(channel) for channel in channels]
    missed = [m for p in played for m in _missed(p)]
    missed.sort(key=lambda m: (m.slot, m.channel, m.action is Action.OFF))
    cuts = [c for length in CUT_SECONDS for c in _cuts(played, controller, length)]
    return Mishaps(missed=tuple(missed), cuts=tuple(cuts))


class _Played(Record):
    """The firings of a channel in order, and the hours at which the power could fail.

    `state` is that of the lamps before the first firing, and after each.
    """

    channel: int
    starts: Ints
    slots: Ints
    on: Bools
    state: Bools
    hours: Ints
    end: Instant

    def next_after(self, fired: Ints) -> Ints:
        """When the lamps next are told what to do, after so many firings."""
        following: Ints = np.minimum(np.append(self.starts, self.end), self.end)[fired]
        return following


def _played(channel: Channel) -> _Played:
    wanted, clock = channel.wanted, channel.unit.clock
    quiet, _ = channel.in_run(SunRun.EXACT)
    firings = in_worst_order(quiet, wanted.lit_at_start)
    hours = np.arange(wanted.start, wanted.end + 1, HOUR, dtype=np.int64)
    hours = np.sort(clock.round_up(hours, HOUR))
    return _Played(
        wanted.channel,
        firings.starts,
        firings.slots,
        firings.on,
        np.append(wanted.lit_at_start, firings.on),
        hours[np.append(True, hours[1:] != hours[:-1])[: len(hours)]],
        wanted.end,
    )


def _missed(played: _Played) -> Iterator[MissedEvent]:
    """For every slot and action the firing whose loss is felt longest, the first of equals."""
    until = played.next_after(np.arange(1, len(played.starts) + 1))
    felt = played.state[1:] != played.state[:-1]
    seconds = np.where(felt & (played.slots != NO_SLOT), until - played.starts, 0)
    order = np.lexsort((played.starts, -seconds, played.on, played.slots))
    which = played.slots[order] * 2 + played.on[order]
    is_worst = np.append(True, which[1:] != which[:-1])[: len(which)]
    for i in order[is_worst & (seconds[order] > 0)].tolist():
        yield MissedEvent(
            slot=int(played.slots[i]),
            channel=played.channel,
            action=Action.ON if played.on[i] else Action.OFF,
            at=int(played.starts[i]),
            until=int(until[i]),
        )


def _cuts(
    played: Sequence[_Played], controller: Controller, length_seconds: int
) -> Iterable[PowerCut]:
    """The worst cut of one length for either way of being wrong."""
    reserve = controller.reserve_hours
    if reserve is not None and length_seconds > reserve * HOUR:
        return _clock_lost(played, length_seconds)
    if controller.after_power_loss == "works out the state":
        return ()
    keeps = controller.after_power_loss == "keeps the last state"
    found = [c for p in played for c in _worst_of_channel(p, keeps, length_seconds)]
    ways = ([c for c in found if c.lit is lit] for lit in (True, False))
    return [max(way, key=lambda c: c.seconds) for way in ways if way]


def _worst_of_channel(played: _Played, keeps: bool, length_seconds: int) -> Iterator[PowerCut]:
    hours = played.hours[played.hours + length_seconds <= played.end]
    returns = hours + length_seconds
    before = np.searchsorted(played.starts, hours, "left")
    by_then = np.searchsorted(played.starts, returns, "left")
    is_lit = played.state[before] & keeps
    until = played.next_after(by_then)
    for lit in (True, False):
        wrong = (is_lit == lit) & (played.state[by_then] != lit)
        seconds = np.where(wrong, until - returns, 0)
        if seconds.max(initial=0) > 0:
            worst = int(seconds.argmax())
            yield PowerCut(
                length_seconds=length_seconds,
                channel=played.channel,
                lit=lit,
                at=int(hours[worst]),
                until=int(until[worst]),
                clock_lost=False,
            )


def _clock_lost(played: Sequence[_Played], length_seconds: int) -> list[PowerCut]:
    """What the lamps do with a clock that is not set is anybody's guess: no hours are given."""
    return [
        PowerCut(
            length_seconds=length_seconds,
            channel=p.channel,
            lit=False,
            at=int(p.hours[0]),
            until=int(p.hours[0]) + length_seconds,
            clock_lost=True,
        )
        for p in played[:1]
    ]
