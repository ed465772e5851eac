"""The events worth considering: a start with the largest date sets that stay harmless.

For one start and action each date is never allowed, depends on borders or on being a special day,
covers a switching, or is free. A candidate is a pair of an allowed weekday set and a date range
that cannot be enlarged without a date that is never allowed. The pairs cut at dates that depend
on something are candidates too.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from enum import Enum

import numpy as np

from schedcomp.fit.bit_sets import row_bits
from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.date_pairs import Pair, undominated
from schedcomp.fit.date_ranges import (
    Places,
    RangeAxis,
    harmless_ranges,
    next_position,
    within,
)
from schedcomp.fit.firings import Bools, Firings
from schedcomp.fit.seen import Seen
from schedcomp.fit.start_dates import Spot, StartDates, StartGroup, Weekly, Whole
from schedcomp.model import Action
from schedcomp.program import ClockStart, Start
from schedcomp.records import Record

ALL_WEEKDAYS = 0b1111111
EVERY_DAY = frozenset(range(7))


class Candidate(Record):
    """An event that could be stored, with the rows (switchings) it covers.

    `weekdays` is a bit set, Monday is bit 0. `places` are the positions its range spans on the
    `RangeAxis` (first, last), None for every date; it wraps where last comes first.
    `deviation_seconds` is the mean distance of its firings from what was asked. `channels` are
    indexes into the channels looked at.
    """

    action: Action
    start: Start
    weekdays: int
    places: tuple[int, int] | None
    rows: tuple[int, ...]
    deviation_seconds: int
    channels: tuple[int, ...] = (0,)


def order_of(candidate: Candidate) -> tuple[object, ...]:
    """Canonical order: sun before clock, nearest to the wish first."""
    start = candidate.start
    which = (
        ("", start.minutes) if isinstance(start, ClockStart) else (start.word, start.offset_minutes)
    )
    return (
        isinstance(start, ClockStart),
        candidate.deviation_seconds,
        which,
        -candidate.weekdays.bit_count(),
        candidate.weekdays,
        candidate.places or (-1, -1),
        candidate.channels,
    )


_Worked = tuple[int, Places | None, tuple[int, ...], int]
"""A pair of weekdays and range with its rows and mean distance."""


class Cut(Enum):
    """At which conditional dates candidates are cut: none, as date ranges, also as weekdays."""

    NOWHERE = "nowhere"
    DATES = "dates"
    EVERYWHERE = "everywhere"


def candidates_of(
    firings: Firings,
    seen: Sequence[Seen],
    action: Action,
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
    cut: Cut,
    among: Bools | None = None,
    *,
    every_pair: bool = False,
) -> Iterator[Candidate]:
    """The candidates of every start of these firings that covers something of each channel seen.

    Conditional dates count as harmless; where cut, the candidates cut at them come too. `among`
    marks the starts to consider. `every_pair`: also dates that cover no more than others.
    """
    channels = tuple(s.channel for s in seen)
    useful = np.logical_and.reduce([(s.profile.row != NO_ROW).any(axis=1) for s in seen])
    if among is not None:
        useful &= among
    starts = np.flatnonzero(useful)
    if not starts.size:
        return
    group = StartGroup.of(firings, seen, starts, ranges)
    whole: list[Whole | None] = [None] * len(starts)
    if not every_pair and (weekday_sets is None or EVERY_DAY in weekday_sets):
        whole = group.whole(cut is not Cut.NOWHERE)
    rest = starts[[one is None for one in whole]]
    others: Iterator[list[_Worked]] = iter(())
    if rest.size:
        several = group if rest.size == starts.size else StartGroup.of(firings, seen, rest, ranges)
        others = _of_several(several, ranges, weekday_sets, cut, every_pair=every_pair)
    for start, one in zip(starts.tolist(), whole, strict=True):
        if one is not None:
            pairs = [(ALL_WEEKDAYS, one.places, one.rows, one.deviation_seconds)]
        else:
            pairs = next(others)
        for weekdays, places, rows, mean in pairs:
            yield Candidate(action, firings.starts[start], weekdays, places, rows, mean, channels)


def _of_several(
    group: StartGroup,
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
    cut: Cut,
    *,
    every_pair: bool,
) -> Iterator[list[_Worked]]:
    """For each start its weekdays and ranges with rows and mean distance."""
    distances = group.distances()
    for dates, distance in zip(group.dates(cut is not Cut.NOWHERE), distances, strict=True):
        pairs = _pairs(dates, ranges, weekday_sets, cut)
        every = every_pair or any(dates.depends)
        kept = list(pairs) if every else undominated(pairs, dates.key(weekday_sets), ranges)
        yield [(*pair, sum([distance[row] for row in pair[2]]) // len(pair[2])) for pair in kept]


def _pairs(
    dates: StartDates,
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
    cut: Cut,
) -> Iterator[Pair]:
    if weekday_sets is None:
        masks = _useful_weekday_sets(dates, ranges, cut)
    else:
        masks = [row_bits(days) for days in weekday_sets]
    for mask in masks:
        covered = _covered(dates, mask)
        bad, cuts = _of(dates.never, mask), _of(dates.depends, mask)
        for places in harmless_ranges(bad, cuts, covered.places(), ranges):
            rows = covered.within(places)
            if rows:
                yield mask, places, rows


def _of(weekly: Weekly, mask: int) -> int:
    """The positions of the weekdays in a set."""
    found = 0
    for weekday, positions in enumerate(weekly):
        if mask >> weekday & 1:
            found |= positions
    return found


def _useful_weekday_sets(dates: StartDates, ranges: RangeAxis, cut: Cut) -> list[int]:
    """Every set that a harmless pair covering something can have, largest for its range.

    Go on from each covering date: with every bad date on the way its weekday drops out, and
    what is left matters if another covering date comes before the next bad one. Without date
    ranges the weekdays of all bad dates drop out.
    """
    masks: set[int] = set()
    places = dates.places()
    for with_cuts in (False, True) if any(dates.depends) else (False,):
        bad = dates.never
        if with_cuts:
            bad = tuple(n | d for n, d in zip(dates.never, dates.depends, strict=True))
        if ranges.whole_only:
            masks.add(ALL_WEEKDAYS & ~row_bits(w for w in range(7) if bad[w]))
        else:
            masks.add(ALL_WEEKDAYS)
            masks |= _sets_on_the_way(places, bad, ranges.count)
    if cut is Cut.EVERYWHERE and any(dates.depends):
        masks = _without_subsets(masks, [w for w in range(7) if dates.depends[w]])
    return sorted(masks - {0})


def _sets_on_the_way(places: list[int], bad: Weekly, count: int) -> set[int]:
    masks: set[int] = set()
    circle = [*places, *(p + count for p in places)]
    every = _of(bad, ALL_WEEKDAYS)
    bad_before = -1
    for place in places:
        if every and next_position(every, place, count) == bad_before:
            continue
        bad_before = next_position(every, place, count) if every else -1
        ends = sorted((next_position(b, place, count), w) for w, b in enumerate(bad) if b)
        mask = ALL_WEEKDAYS
        for number, (end, weekday) in enumerate(ends):
            mask &= ~(1 << weekday)
            until = ends[number + 1][0] if number + 1 < len(ends) else place + count
            if bisect_left(circle, until) > bisect_left(circle, end):
                masks.add(mask)
    return masks


def _without_subsets(masks: set[int], weekdays: Sequence[int]) -> set[int]:
    """Each set also without every choice of these weekdays."""
    for weekday in weekdays:
        masks |= {mask & ~(1 << weekday) for mask in masks}
    return masks


class _Covered(Record):
    """What one start covers on the dates of one weekday set, in the order of the year."""

    positions: list[int]
    rows: list[int]
    several: list[tuple[tuple[Spot, ...], int]]

    def places(self) -> list[int]:
        """Every position at which something is covered, in order."""
        more = (position for spots, _ in self.several for position, _ in spots)
        return sorted({*self.positions, *more})

    def within(self, places: tuple[int, int] | None) -> tuple[int, ...]:
        """The rows covered in a range."""
        if places is None:
            return (*self.rows, *(row for _, row in self.several))
        first, last = places
        begin, end = bisect_left(self.positions, first), bisect_right(self.positions, last)
        inside = first <= last
        rows = self.rows[begin:end] if inside else self.rows[:end] + self.rows[begin:]
        more = (row for spots, row in self.several if all(within(p, places) for p, _ in spots))
        return (*rows, *more)


def _covered(dates: StartDates, mask: int) -> _Covered:
    alone = [(p, row) for p, weekday, row in dates.alone if mask >> weekday & 1]
    return _Covered(
        [position for position, _ in alone],
        [row for _, row in alone],
        [(spots, row) for spots, row in dates.several if all(mask >> w & 1 for _, w in spots)],
    )
