"""Until when a program is surely right: the check on intervals alone, of many years at once."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.audit.channels import Channel, channels_of
from schedcomp.audit.compare import Wanted, first_wrong
from schedcomp.audit.intervals import changes_of, first_meeting
from schedcomp.controller import Controller
from schedcomp.model import DAY, Instant
from schedcomp.program import Program
from schedcomp.unit_sun import UnitSun

_APART = 3 * DAY
"""Firings so far before others that meet are judged without those."""


def first_doubt(
    program: Program,
    controller: Controller,
    wanted: Sequence[Wanted],
    period: tuple[Instant, Instant],
    unit_sun: UnitSun,
    zone_name: str,
) -> Instant | None:
    """An instant before which no run of `run_program` would find a fault, None if none ever does.

    What no pattern of errors can make wrong on intervals is right in every run too. `period` is
    the first and the last midnight.

    Raises KeyError for a sun word without times, `zoneinfo.ZoneInfoNotFoundError` for an unknown
    zone.
    """
    channels = channels_of(program, controller, wanted, period, unit_sun, zone_name)
    doubts = (_doubt(channel) for channel in channels)
    return min((doubt for doubt in doubts if doubt is not None), default=None)


def _doubt(channel: Channel) -> Instant | None:
    wanted, firings = channel.wanted, channel.possible()
    meeting = first_meeting(firings)
    if meeting is not None:
        until = meeting - _APART
        firings = firings.only(firings.starts < until)
        wanted = wanted.before(until)
    wrong = first_wrong(changes_of(firings, wanted.lit_at_start), wanted)
    return min((instant for instant in (wrong, meeting) if instant is not None), default=None)
