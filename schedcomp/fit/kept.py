"""The fewest events that have to be added to those a unit already holds.

Borders and special days are those of a program that was found. An old event that does no harm
between these borders may stay where it is, and costs nothing; what all of these leave undone is
covered by as few other events as possible, exactly.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.acting import Stage, comes
from schedcomp.fit.candidates import Candidate, Cut, candidates_of, order_of
from schedcomp.fit.cells import NO_ROW, Profile, profile
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.date_ranges import PLACE_OF, Places, RangeAxis
from schedcomp.fit.firings import Bools, Firings
from schedcomp.fit.seen import seen_plainly
from schedcomp.fit.settled import Settled, Stored, StoredDays
from schedcomp.fit.special_days import is_quiet
from schedcomp.model import Action
from schedcomp.program import Event, EventDates
from schedcomp.records import Record, replace


class OldEvent(Record):
    """An event of the old program as the fit knows it; `rows` is a bit set of what it covers.

    `stored` None: it never fires in the period.
    """

    event: Event
    stored: Stored | None
    rows: int


class Kept(Record):
    """Old events that still do something, those that only do no harm, and what is added."""

    needed: tuple[OldEvent, ...]
    idle: tuple[OldEvent, ...]
    added: tuple[Stored, ...]


def least_added(
    settled: Settled,
    useful: Sequence[Firings],
    special_days: tuple[StoredDays, ...],
    found: Sequence[Stored],
    old: Sequence[Event],
    controller: Controller,
) -> Kept | None:
    """What of the normal events `old` may stay, and the fewest normal events to be added.

    `found` are events that may be added too, and those of plans, which run on `special_days`.
    `settled` has the borders, the dates of `special_days` and the firings of all starts; `useful`
    are those of starts that cover something. None where nothing does all that is asked.
    """
    normal = [one for one in found if not one.plan and settled.is_harmless(one)]
    wanted = _all(_rows(settled, one) for one in normal)
    if is_quiet(controller):
        wanted = (1 << sum(len(c.switchings) for c in settled.channels)) - 1
    wanted &= ~_planned_rows(settled, special_days, found)
    harmless = list(_harmless(settled, old))
    left = wanted & ~_all(one.rows for one in harmless)
    columns = [*_columns(settled, useful, controller), *((s, _rows(settled, s)) for s in normal)]
    if left & ~_all(rows for _, rows in columns):
        return None
    cover = minimum_cover(left, [rows for _, rows in columns]) if left else None
    chosen = [columns[c] for c in cover.chosen] if cover else []
    left = wanted & ~_all(rows for _, rows in chosen)
    # Of equal choices that one is taken whose events come first: repeats are to stay repeats.
    harmless.sort(key=lambda one: (one.event.safety, one.event.channels, one.event.slot))
    needed = set(minimum_cover(left, [one.rows for one in harmless]).chosen) if left else set()
    return Kept(
        tuple(one for n, one in enumerate(harmless) if n in needed),
        tuple(one for n, one in enumerate(harmless) if n not in needed),
        tuple(stored for stored, _ in chosen),
    )


def _all(masks: Iterable[int]) -> int:
    found = 0
    for mask in masks:
        found |= mask
    return found


def _rows(settled: Settled, event: Stored) -> int:
    """What an event covers, the switchings of all channels in one bit set."""
    bases = _bases(settled)
    return _all(1 << bases[channel] + row for channel, row in settled.covered(event))


def _bases(settled: Settled) -> Mapping[int, int]:
    """The number of each channel's first switching, by channel."""
    bases, count = {}, 0
    for channel in settled.channels:
        bases[channel.channel] = count
        count += len(channel.switchings)
    return bases


def _planned_rows(
    settled: Settled, special_days: tuple[StoredDays, ...], found: Sequence[Stored]
) -> int:
    """What the events of plans cover on their dates."""
    stage, bases = Stage(settled, special_days), _bases(settled)
    return _all(
        1 << bases[settled.channels[act.channel].channel] + act.row
        for one in found
        if one.plan
        for act in stage.acts(one)
        if act.covers and comes(one, act)
    )


# Old events


def _harmless(settled: Settled, old: Sequence[Event]) -> Iterator[OldEvent]:
    """The normal events that may stay as they are."""
    known = {channel.channel for channel in settled.channels}
    for event in old:
        if event.plan or not known.issuperset(event.channels):
            continue
        if not _ever(event.dates, settled.ranges):
            yield OldEvent(event, None, 0)
            continue
        stored = _stored(event, settled)
        if stored is not None and settled.is_harmless(stored):
            yield OldEvent(event, stored, _rows(settled, stored))


def _ever(dates: EventDates | None, ranges: RangeAxis) -> bool:
    """Whether an event fires in the years looked at."""
    if dates is None or dates.years is None:
        return True
    days = ranges.axis.dates
    first, last = _day(dates.years[0], dates.first), _day(dates.years[1], dates.last)
    return first <= days[-1] and last >= days[0]


def _day(year: int, at: tuple[int, int]) -> date:
    """A date of a year; the 29 February of a common year is its 28th."""
    month, day = at
    return date(year, month, 28 if at == (2, 29) and year % 4 else day)


def _stored(event: Event, settled: Settled) -> Stored | None:
    """The event as the fit stores it; None where this unit could not hold it."""
    places: Places | None = None
    if event.dates is not None:
        places = _places(event.dates, settled.ranges)
        if places is None:
            return None
    if not any(event.start in group.starts for group in settled.firings):
        return None
    weekdays = sum(1 << day for day in event.weekdays)
    return Stored(event.channels, event.action, event.start, weekdays, places)


def _places(dates: EventDates, ranges: RangeAxis) -> Places | None:
    if ranges.whole_only or ranges.with_year != (dates.years is not None):
        return None
    if dates.years is None:
        first, last = PLACE_OF[dates.first], PLACE_OF[dates.last]
        return (first, last) if ranges.circular or first <= last else None
    start = ranges.axis.first
    first = (_day(dates.years[0], dates.first) - start).days
    last = (_day(dates.years[1], dates.last) - start).days
    return max(0, first), min(ranges.axis.count - 1, last)


# Events that could be added


def _columns(
    settled: Settled, useful: Sequence[Firings], controller: Controller
) -> list[tuple[Stored, int]]:
    """Every event of one channel with dates that cannot be enlarged, in canonical order."""
    found: list[tuple[Candidate, Stored, int]] = []
    bases = _bases(settled)
    for index, channel in enumerate(settled.channels):
        for action in Action:
            for group in useful:
                for one in _candidates(settled, group, index, action, controller):
                    stored = Stored((channel.channel,), action, one.start, one.weekdays, one.places)
                    base = bases[channel.channel]
                    found.append((one, stored, _all(1 << base + row for row in one.rows)))
    found.sort(key=lambda f: (order_of(f[0]), f[1].channels, f[1].action.value))
    return [(stored, rows) for _, stored, rows in found]


def _candidates(
    settled: Settled, group: Firings, index: int, action: Action, controller: Controller
) -> Iterator[Candidate]:
    cells = settled.cells[index]
    seen = _without_rests(profile(group, cells, action), group, settled.rests[index])
    return candidates_of(
        group,
        [seen_plainly(seen, cells.asked)],
        action,
        settled.ranges,
        controller.weekday_sets,
        Cut.NOWHERE,
    )


def _without_rests(seen: Profile, group: Firings, rests: Bools) -> Profile:
    """On special days normal events neither do harm nor cover anything."""
    if not rests.any():
        return seen
    known = (group.dates >= 0) & (group.dates < len(rests))
    resting = rests[np.where(known, group.dates, 0)] & known
    touched, whole = resting.any(axis=2), (resting | ~known).all(axis=2)
    return replace(
        seen,
        row=np.where(touched, NO_ROW, seen.row),
        other_row=np.where(touched, NO_ROW, seen.other_row),
        never=seen.never & ~whole,
    )
