"""Families of switchings that one event does, and the few starts that are then worth looking at.

No event covers switchings of two families, so a program has at least one normal event for each that
has a firm one. Where it has no more than one for each, every event covers all the firm ones of its
family: other starts are of no use (`narrowest`).

Where that is not enough, one event may still do all of some families and no harm on any date. Then
every program of fewest events has exactly one normal event for such a family, because that one
could stand in for several (`narrow`). Borders must decide nothing there: no event of the other
action could fire in a band of the family, and the one event fires in no band with a border that is
worth choosing.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.fit.candidates import Candidate, Cut, candidates_of
from schedcomp.fit.cells import NO_ROW, Profile, cells_of, counted, profile
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.families import Family
from schedcomp.fit.firings import Bools, Firings, all_dates
from schedcomp.fit.seen import Seen
from schedcomp.fit.special_days import domains_of, eligible_dates
from schedcomp.fit.timetable import Choice, Timetable, all_of, either


def narrowest(
    found: Sequence[Family], timetable: Timetable, ranges: RangeAxis
) -> tuple[Firings, ...] | None:
    """Firings of the starts that programs with one event for each family have; None where there
    are no such programs.
    """
    if not found or not all(f.firm.size and _any(f.able_for_firm) for f in found):
        return None
    made = all_of([family.able_for_firm for family in found], timetable.none())
    firings = timetable.firings(made)
    controller, clock, axis = timetable.controller, timetable.clock, timetable.axis
    rests = {
        target.channel: eligible_dates(domains_of([target], controller, clock, axis), 0, axis)
        for target in {family.target.channel: family.target for family in found}.values()
    }
    for family in found:
        starts, may_rest = family.able_for_firm, rests[family.target.channel]
        events = _events(family, firings, made, starts, timetable, ranges, may_rest)
        if not any(set(e.rows).issuperset(family.firm.tolist()) for e, _, _ in events):
            return None
    return firings


def narrow(
    found: Sequence[Family], timetable: Timetable, ranges: RangeAxis
) -> tuple[Firings, ...] | None:
    """Firings of the starts that programs of fewest events have; None where that saves little."""
    hoped = [_worthwhile(f) if _may_be_done_by_one(f) else f.every for f in found]
    nothing = timetable.none()
    made = all_of(hoped, nothing)
    every = all_of([family.every for family in found], nothing)
    if not _are_few(made, every):
        return None
    firings = timetable.firings(made)
    chosen = all_of(
        (
            some if _is_done_by_one(family, firings, made, timetable, ranges) else family.every
            for family, some in zip(found, hoped, strict=True)
        ),
        nothing,
    )
    return timetable.firings(chosen) if _are_few(chosen, every) else None


def _worthwhile(family: Family) -> Choice:
    """What lies near a special day may be left to that day and its plan."""
    return either(family.able_for_firm, family.near)


def _any(choice: Choice) -> bool:
    return any(bool(starts.any()) for starts in choice)


def _are_few(some: Choice, every: Choice) -> bool:
    """Whether it is quicker to make these firings than to choose from those of all."""
    return 2 * sum(int(s.sum()) for s in some) <= sum(int(s.sum()) for s in every)


def _may_be_done_by_one(family: Family) -> bool:
    return family.steady and bool(family.firm.size) and _any(family.able)


def _is_done_by_one(
    family: Family,
    firings: Sequence[Firings],
    made: Choice,
    timetable: Timetable,
    ranges: RangeAxis,
) -> bool:
    """Whether an event of a start that is able does all; `firings` are those of `made`."""
    if not _may_be_done_by_one(family):
        return False
    nowhere = np.zeros(timetable.axis.count, dtype=np.bool_)
    events = _events(family, firings, made, family.able, timetable, ranges, nowhere)
    return any(_is_enough(family, *event) for event in events)


def _events(
    family: Family,
    firings: Sequence[Firings],
    made: Choice,
    wanted: Choice,
    timetable: Timetable,
    ranges: RangeAxis,
    rests: Bools,
) -> Iterator[tuple[Candidate, Firings, Profile]]:
    """Events of some starts with dates that cannot be enlarged, without harm but on dates marked in
    `rests`; `firings` are those of `made`.
    """
    cells = cells_of(family.target, np.flatnonzero(family.restless).tolist())
    for group, there, some in zip(firings, made, wanted, strict=True):
        chosen = group.only(some[there])
        seen = profile(chosen, cells, family.action)
        known = (chosen.dates >= 0) & (chosen.dates < len(rests))
        escapes = all_dates(~known | rests[np.where(known, chosen.dates, 0)])
        for event in candidates_of(
            chosen,
            [Seen(seen, cells.asked, 0, 0, escapes)],
            family.action,
            ranges,
            timetable.controller.weekday_sets,
            Cut.NOWHERE,
        ):
            yield event, chosen, seen


def _is_enough(family: Family, event: Candidate, some: Firings, seen: Profile) -> bool:
    """Whether an event does all of a family, each on one date, and nothing where borders matter."""
    if not set(event.rows).issuperset(family.rows.tolist()):
        return False
    place = some.starts.index(event.start)
    days = some.dates[place, seen.row[place] != NO_ROW]
    if family.target.special and (days != days[:, :1]).any():
        return False
    cells = cells_of(family.target)
    low, high = cells.low[family.restless], cells.high[family.restless]
    fires = counted(some, cells)[place]
    first, last = some.first[place, fires], some.last[place, fires]
    newest = low.searchsorted(last, "right") - 1
    return not ((newest >= 0) & (np.append(high, 0)[newest] >= first)).any()
