"""The events worth considering: a start with the largest date sets that stay harmless.

For one start and action each date is never allowed, depends on borders or on being a special day,
covers a switching, or is free. A candidate is a pair of an allowed weekday set and a date range
that cannot be enlarged without a date that is never allowed. The pairs cut at dates that depend
on something are candidates too.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from enum import Enum

import numpy as np

from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.date_pairs import Pair, undominated
from schedcomp.fit.date_ranges import RangeAxis, harmless_ranges, next_position, within
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.fit.seen import Seen
from schedcomp.model import Action
from schedcomp.program import ClockStart, Start
from schedcomp.records import Record

ALL_WEEKDAYS = 0b1111111


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


def row_bits(rows: Iterable[int]) -> int:
    """Rows as a bit set."""
    mask = 0
    for row in rows:
        mask |= 1 << row
    return mask


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
    group = _Group.of(firings, seen, starts, ranges)
    distances = group.distances()
    for start, dates in zip(starts.tolist(), group.dates(cut is not Cut.NOWHERE), strict=True):
        pairs = _pairs(dates, ranges, weekday_sets, cut)
        every = every_pair or any(dates.depends)
        kept = list(pairs) if every else undominated(pairs, dates.key(weekday_sets), ranges)
        distance = next(distances)
        for weekdays, places, rows in kept:
            mean = sum([distance[row] for row in rows]) // len(rows)
            yield Candidate(action, firings.starts[start], weekdays, places, rows, mean, channels)


Spot = tuple[int, int]
"""A date as (position, weekday)."""

Weekly = tuple[int, ...]
"""For each weekday a bit set of positions."""


class _StartDates(Record):
    """What one start does on each date, and the rows it covers: `alone` are (position, weekday,
    row) of firings tested against one date, `several` (dates, row) of others; both in order.
    """

    never: Weekly
    depends: Weekly
    alone: Sequence[tuple[int, int, int]]
    several: Sequence[tuple[tuple[Spot, ...], int]]

    def key(self, weekday_sets: Sequence[frozenset[int]] | None) -> object:
        """All that decides which pairs there are where nothing depends on borders."""
        sets = None if weekday_sets is None else tuple(weekday_sets)
        return self.never, tuple(self.alone), tuple(self.several), sets

    def places(self) -> list[int]:
        """Every position at which something is covered, in order."""
        more = (position for spots, _ in self.several for position, _ in spots)
        return sorted({*(position for position, _, _ in self.alone), *more})


class _Covering(Record):
    """Firings that cover a row, start by start: arrays of one length.

    `starts` are numbers among the starts looked at, in order.
    """

    starts: Ints
    occasions: Ints
    rows: Ints
    away: Ints

    def ends(self, count: int) -> list[int]:
        """Where the firings of each start end; they begin where those before it end."""
        ends: list[int] = np.searchsorted(self.starts, np.arange(count), side="right").tolist()
        return ends


class _Group(Record):
    """All starts of some firings that are worth looking at, and the dates that decide.

    `positions` and `weekdays` [starts x occasions] are those of the first date a firing is tested
    against, `alone` whether that is all.
    """

    firings: Firings
    seen: Sequence[Seen]
    starts: Ints
    ranges: RangeAxis
    positions: Ints
    weekdays: Ints
    alone: Bools
    covering: _Covering

    @staticmethod
    def of(firings: Firings, seen: Sequence[Seen], starts: Ints, ranges: RangeAxis) -> _Group:
        days = firings.dates[starts]
        first = np.clip(days[:, :, 0], 0, ranges.axis.count - 1)
        alone = (days[:, :, 0] == days[:, :, 2]) & (days[:, :, 0] == first)
        return _Group(
            firings,
            seen,
            starts,
            ranges,
            ranges.positions[first],
            ranges.weekdays[first],
            alone,
            _covering(firings, seen, starts),
        )

    def distances(self) -> Iterator[dict[int, int]]:
        """For each start the seconds between a firing's middle and what was asked, by row."""
        rows, away = self.covering.rows.tolist(), self.covering.away.tolist()
        begin = 0
        for end in self.covering.ends(len(self.starts)):
            yield dict(zip(rows[begin:end], away[begin:end], strict=True))
            begin = end

    def dates(self, cut: bool) -> Iterator[_StartDates]:
        """What each start does on each date; without `cut` no date depends on anything."""
        never = self._weekly([one.never(self.starts) for one in self.seen])
        depends: list[Weekly] = [(0,) * 7] * len(self.starts)
        if cut:
            depends = self._weekly([one.conditional(self.starts) for one in self.seen])
        alone, several = self._alone(), self._jointly()
        for number, single in enumerate(alone):
            joint = several.get(number, ())
            more = [(*spots[0], row) for spots, row in joint if len(spots) == 1]
            rest = [(spots, row) for spots, row in joint if len(spots) > 1]
            yield _StartDates(
                never[number],
                depends[number],
                sorted([*single, *more]) if more else single,
                sorted(rest),
            )

    def _alone(self) -> Iterator[list[tuple[int, int, int]]]:
        """For each start position, weekday and row of the firings that one date decides."""
        starts, occasions = self.covering.starts, self.covering.occasions
        single = self.alone[starts, occasions]
        starts, occasions, rows = starts[single], occasions[single], self.covering.rows[single]
        positions, weekdays = self.positions[starts, occasions], self.weekdays[starts, occasions]
        order = np.lexsort((rows, weekdays, positions, starts))
        listed = list(
            zip(
                positions[order].tolist(),
                weekdays[order].tolist(),
                rows[order].tolist(),
                strict=True,
            )
        )
        begin = 0
        for end in np.searchsorted(starts, np.arange(len(self.starts)), side="right").tolist():
            yield listed[begin:end]
            begin = end

    def _jointly(self) -> dict[int, list[tuple[tuple[Spot, ...], int]]]:
        """For each start the dates and the row of the firings that several dates decide."""
        found: dict[int, list[tuple[tuple[Spot, ...], int]]] = {}
        all_of = self.covering
        for place in np.flatnonzero(~self.alone[all_of.starts, all_of.occasions]).tolist():
            start = int(all_of.starts[place])
            spots = self._several(start, int(all_of.occasions[place]))
            found.setdefault(start, []).append((spots, int(all_of.rows[place])))
        return found

    def _weekly(self, flags: Sequence[Bools]) -> list[Weekly]:
        """For each start the dates of the firings that are marked, as bit sets."""
        starts, occasions = np.nonzero(np.logical_or.reduce(flags))
        table = np.zeros((len(self.starts), 7, self.ranges.count), dtype=np.bool_)
        positions, weekdays = self.positions[starts, occasions], self.weekdays[starts, occasions]
        table[starts, weekdays, positions] = True
        for place in np.flatnonzero(~self.alone[starts, occasions]).tolist():
            start = int(starts[place])
            for position, weekday in self._several(start, int(occasions[place])):
                table[start, weekday, position] = True
        packed = np.packbits(table, axis=2, bitorder="little")
        size = packed.shape[2]
        listed = packed.tobytes()
        sets = [
            int.from_bytes(listed[at : at + size], "little") for at in range(0, len(listed), size)
        ]
        return [tuple(sets[at : at + 7]) for at in range(0, len(sets), 7)]

    def _several(self, start: int, occasion: int) -> tuple[Spot, ...]:
        days = dict.fromkeys(self.firings.dates[self.starts[start], occasion].tolist())
        return tuple(
            (int(self.ranges.positions[d]), int(self.ranges.weekdays[d]))
            for d in days
            if 0 <= d < self.ranges.axis.count
        )


def _covering(firings: Firings, seen: Sequence[Seen], starts: Ints) -> _Covering:
    found: list[tuple[Ints, Ints, Ints, Ints]] = []
    for one in seen:
        for rows in (one.profile.row, one.profile.other_row):
            own = rows[starts]
            number, occasion = np.nonzero(own != NO_ROW)
            row = own[number, occasion]
            at = starts[number], occasion
            away = np.abs((firings.first[at] + firings.last[at]) // 2 - one.asked[row])
            found.append((number, occasion, row + one.base, away))
    numbers, occasions, covered, away = (np.concatenate(part) for part in zip(*found, strict=True))
    order = np.argsort(numbers, kind="stable")
    return _Covering(numbers[order], occasions[order], covered[order], away[order])


def _pairs(
    dates: _StartDates,
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
    cut: Cut,
) -> Iterator[Pair]:
    if weekday_sets is None:
        masks = _useful_weekday_sets(dates, ranges, cut)
    else:
        masks = [_weekday_bits(days) for days in weekday_sets]
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


def _useful_weekday_sets(dates: _StartDates, ranges: RangeAxis, cut: Cut) -> list[int]:
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
            masks.add(ALL_WEEKDAYS & ~_weekday_bits(w for w in range(7) if bad[w]))
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


def _weekday_bits(weekdays: Iterable[int]) -> int:
    bits = 0
    for weekday in weekdays:
        bits |= 1 << weekday
    return bits


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


def _covered(dates: _StartDates, mask: int) -> _Covered:
    alone = [(p, row) for p, weekday, row in dates.alone if mask >> weekday & 1]
    return _Covered(
        [position for position, _ in alone],
        [row for _, row in alone],
        [(spots, row) for spots, row in dates.several if all(mask >> w & 1 for _, w in spots)],
    )
