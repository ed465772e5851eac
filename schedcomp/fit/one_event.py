"""Families of switchings that one event does, and the few starts that are then worth looking at.

Where one event does a whole family and no harm on any date, every program of fewest events has
exactly one normal event for the family, because that one could stand in for several. So only
starts that could do all of it are of use. What lies near a special day may be left to that day and
its plan: starts that could do some of it stay.

Borders decide nothing here: no event of the other action could fire in a band of the family, and
the one event fires in no band with a border that is worth choosing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

import numpy as np

from schedcomp.fit.candidates import Candidate, Cut, candidates_of
from schedcomp.fit.cells import NO_ROW, Profile, cells_of, counted, profile
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.families import Family, families
from schedcomp.fit.firings import Firings
from schedcomp.fit.seen import seen_plainly
from schedcomp.fit.timetable import Choice, Timetable
from schedcomp.target import ChannelTarget


def worthwhile_starts(
    timetable: Timetable, ranges: RangeAxis, channels: Sequence[ChannelTarget]
) -> Choice | None:
    """The starts that programs of fewest events have; None where it is not worth telling.

    Only for units whose channels take nothing from each other but slots, and which work out no
    state from events that never fired.
    """
    if any(s.earliest > s.latest for c in channels for s in c.switchings):
        return None
    found = [family for channel in channels for family in families(channel, timetable)]
    nothing = timetable.none()
    every = reduce(_either, [family.every for family in found], nothing)
    chosen = reduce(_either, [family.worthwhile for family in found], nothing)
    if not _are_few(chosen, every):
        return None
    firings = timetable.firings(chosen)
    others = [f.every for f in found if not _is_done_by_one(f, firings, chosen, timetable, ranges)]
    chosen = reduce(_either, others, chosen)
    return chosen if _are_few(chosen, every) else None


def _either(one: Choice, other: Choice) -> Choice:
    return tuple(a | b for a, b in zip(one, other, strict=True))


def _are_few(some: Choice, every: Choice) -> bool:
    """Whether it is quicker to make these firings than to choose from those of all."""
    return 2 * sum(int(s.sum()) for s in some) <= sum(int(s.sum()) for s in every)


def _is_done_by_one(
    family: Family,
    firings: Sequence[Firings],
    made: Choice,
    timetable: Timetable,
    ranges: RangeAxis,
) -> bool:
    """Whether an event of a start that is `able` does all; `firings` are those of `made`."""
    cells = cells_of(family.target)
    for group, there, able in zip(firings, made, family.able, strict=True):
        some = group.only(able[there])
        seen = profile(some, cells, family.action)
        events = candidates_of(
            some,
            [seen_plainly(seen, cells.asked)],
            family.action,
            ranges,
            timetable.controller.weekday_sets,
            Cut.NOWHERE,
        )
        if any(_is_enough(family, event, some, seen) for event in events):
            return True
    return False


def _is_enough(family: Family, event: Candidate, some: Firings, seen: Profile) -> bool:
    if not set(event.rows).issuperset(family.rows.tolist()):
        return False
    place = some.starts.index(event.start)
    covering = seen.row[place] != NO_ROW
    days = some.dates[place, covering]
    if family.target.special and (days != days[:, :1]).any():
        return False
    cells = cells_of(family.target)
    low, high = cells.low[family.restless], cells.high[family.restless]
    fires = counted(some, cells)[place]
    first, last = some.first[place, fires], some.last[place, fires]
    # Bands are in order, so the one that began last before a firing's end reaches furthest.
    newest = low.searchsorted(last, "right") - 1
    return not ((newest >= 0) & (np.append(high, 0)[newest] >= first)).any()
