"""What the normal events of a settled program would have left where special days end.

On units that work it out at the end of special days, the events must go on leaving the same while
they are changed for other reasons.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.settled import Settled, Stored
from schedcomp.fit.special_days import midnight
from schedcomp.model import Action, Instant

LeftAtEnds = tuple[tuple[frozenset[Action], bool], ...]
"""For each channel and end the actions that may have come last, and whether one surely came."""


def works_out_ends(controller: Controller) -> bool:
    """Whether a unit works out at the end of special days what normal events would have left."""
    rule = controller.exceptions
    return bool(rule.slots) and rule.end == "recalculates"


def left_at_ends(
    settled: Settled, events: Sequence[Stored], controller: Controller, clock: Zone
) -> LeftAtEnds:
    """What the normal ones of `events` leave at every end; () for units that do not ask."""
    if not works_out_ends(controller):
        return ()
    axis = settled.ranges.axis
    found = []
    for channel, rests in zip(settled.channels, settled.rests, strict=True):
        here = [e for e in events if not e.plan and channel.channel in e.channels]
        ends = np.flatnonzero(rests[:-1] & ~rests[1:]).tolist()
        found += [_left_before(midnight(clock, axis, day + 1), here, settled) for day in ends]
    return tuple(found)


def _left_before(
    at: Instant, events: Sequence[Stored], settled: Settled
) -> tuple[frozenset[Action], bool]:
    fired = [(e.action, *settled.as_if_always(e)) for e in events]
    sure = [first[certain & (last < at)] for _, first, last, certain in fired]
    latest = max((int(s.max()) for s in sure if s.size), default=None)
    if latest is None:
        # In another year any of them may have been the last.
        return frozenset(action for action, *_ in fired), False
    may = [a for a, first, last, _ in fired if ((first < at) & (last >= latest)).any()]
    return frozenset(may), True
