"""The events worth considering: a start with the largest date sets that stay harmless.

For one start and action each date is never allowed, depends on borders, covers a switching, or is
free. A candidate is a pair of an allowed weekday set and a date range that cannot be enlarged
without a date that is never allowed. Where dates depend on borders, the pairs cut at those dates
are candidates too.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.cells import NO_ROW, Profile
from schedcomp.fit.firings import Axis, Bools, Firings, Ints
from schedcomp.model import Action
from schedcomp.program import EventDates, Start

ALL_WEEKDAYS = 0b1111111
MONTH_LENGTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_DAYS = tuple((m, d) for m, n in enumerate(MONTH_LENGTHS, 1) for d in range(1, n + 1))


@dataclass(frozen=True, slots=True)
class Candidate:
    """An event that could be stored, with the rows (switchings) it covers.

    `weekdays` is a bit set, Monday is bit 0. `places` are the positions its range spans on the
    `RangeAxis` (first, last), None for every date; it wraps where last comes first.
    `deviation_seconds` is the mean distance of its firings from what was asked.
    """

    action: Action
    start: Start
    weekdays: int
    places: tuple[int, int] | None
    rows: tuple[int, ...]
    deviation_seconds: int


@dataclass(frozen=True, slots=True)
class RangeAxis:
    """The positions of date ranges: 366 month-days of every year, or the dates themselves.

    `circular`: a range may wrap the year end. `whole_only`: the controller stores no ranges.
    """

    positions: Ints
    weekdays: Ints
    count: int
    circular: bool
    whole_only: bool
    axis: Axis
    with_year: bool

    def dates(self, places: tuple[int, int] | None) -> EventDates | None:
        """The range as a controller stores it."""
        if places is None:
            return None
        first, last = places
        if self.with_year:
            days = self.axis.dates
            a, b = days[first], days[last]
            return EventDates((a.month, a.day), (b.month, b.day), (a.year, b.year))
        return EventDates(MONTH_DAYS[first], MONTH_DAYS[last])


def range_axis(controller: Controller, axis: Axis) -> RangeAxis:
    rule = controller.date_ranges
    with_year = rule == "with year"
    yearly = [MONTH_DAYS.index((d.month, d.day)) for d in axis.dates]
    return RangeAxis(
        positions=np.arange(axis.count) if with_year else np.array(yearly, dtype=np.int64),
        weekdays=axis.weekdays(),
        count=axis.count if with_year else len(MONTH_DAYS),
        circular=rule == "yearly",
        whole_only=rule == "none",
        axis=axis,
        with_year=with_year,
    )


def candidates_of(
    firings: Firings,
    seen: Profile,
    asked: Ints,
    action: Action,
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
) -> Iterator[Candidate]:
    """The candidates of every start of these firings that covers anything."""
    spots = _spots(firings, ranges)
    for start in np.flatnonzero((seen.row != NO_ROW).any(axis=1)).tolist():
        dates = _start_dates(spots, seen, start)
        found = list(_pairs(dates, ranges, weekday_sets))
        kept = found if any(dates.depends) else _undominated(found)
        distance = _distances(firings, seen, asked, start)
        for weekdays, places, rows in kept:
            mean = sum(distance[row] for row in rows) // len(rows)
            yield Candidate(action, firings.starts[start], weekdays, places, rows, mean)


def _distances(firings: Firings, seen: Profile, asked: Ints, start: int) -> dict[int, int]:
    """Seconds between the middle of a start's firing and what was asked, by row."""
    found: dict[int, int] = {}
    for rows in (seen.row[start], seen.other_row[start]):
        occasions = np.flatnonzero(rows != NO_ROW)
        middle = (firings.first[start, occasions] + firings.last[start, occasions]) // 2
        away = np.abs(middle - asked[rows[occasions]])
        found |= dict(zip(rows[occasions].tolist(), away.tolist(), strict=True))
    return found


Spot = tuple[int, int]
"""A date as (position, weekday)."""

Weekly = tuple[int, ...]
"""For each weekday a bit set of positions."""


@dataclass(frozen=True, slots=True)
class _StartDates:
    """What one start does on each date: `covers` are (dates it is tested against, row)."""

    never: Weekly
    depends: Weekly
    covers: tuple[tuple[tuple[Spot, ...], int], ...]


@dataclass(frozen=True, slots=True)
class _Spots:
    """For every firing of a group the first date it is tested against, and whether that is all."""

    firings: Firings
    ranges: RangeAxis
    positions: Ints
    weekdays: Ints
    alone: Bools

    def of(self, start: int, occasions: Ints) -> list[tuple[Spot, ...]]:
        """The dates each of these firings is tested against."""
        firsts = zip(
            self.positions[start, occasions].tolist(),
            self.weekdays[start, occasions].tolist(),
            strict=True,
        )
        found: list[tuple[Spot, ...]] = [(spot,) for spot in firsts]
        for place in np.flatnonzero(~self.alone[start, occasions]).tolist():
            found[place] = self._several(start, int(occasions[place]))
        return found

    def weekly(self, start: int, flags: Bools) -> Weekly:
        """The dates of the firings that are marked, as bit sets."""
        occasions = np.flatnonzero(flags)
        table = np.zeros((7, self.ranges.count), dtype=np.bool_)
        table[self.weekdays[start, occasions], self.positions[start, occasions]] = True
        for place in np.flatnonzero(~self.alone[start, occasions]).tolist():
            for position, weekday in self._several(start, int(occasions[place])):
                table[weekday, position] = True
        packed = np.packbits(table, axis=1, bitorder="little")
        return tuple(int.from_bytes(row.tobytes(), "little") for row in packed)

    def _several(self, start: int, occasion: int) -> tuple[Spot, ...]:
        days = dict.fromkeys(self.firings.dates[start, occasion].tolist())
        return tuple(
            (int(self.ranges.positions[d]), int(self.ranges.weekdays[d]))
            for d in days
            if 0 <= d < self.ranges.axis.count
        )


def _spots(firings: Firings, ranges: RangeAxis) -> _Spots:
    dates = firings.dates
    first = np.clip(dates[:, :, 0], 0, ranges.axis.count - 1)
    alone = (dates[:, :, 0] == dates[:, :, 2]) & (dates[:, :, 0] == first)
    return _Spots(firings, ranges, ranges.positions[first], ranges.weekdays[first], alone)


def _start_dates(spots: _Spots, seen: Profile, start: int) -> _StartDates:
    covers: list[tuple[tuple[Spot, ...], int]] = []
    for rows in (seen.row[start], seen.other_row[start]):
        occasions = np.flatnonzero(rows != NO_ROW)
        covers += zip(spots.of(start, occasions), rows[occasions].tolist(), strict=True)
    return _StartDates(
        spots.weekly(start, seen.never[start]),
        spots.weekly(start, seen.depends[start]),
        tuple(sorted(covers)),
    )


Pair = tuple[int, tuple[int, int] | None, tuple[int, ...]]


def _pairs(
    dates: _StartDates, ranges: RangeAxis, weekday_sets: Sequence[frozenset[int]] | None
) -> Iterator[Pair]:
    if weekday_sets is None:
        masks = _useful_weekday_sets(dates, ranges)
    else:
        masks = [_weekday_bits(days) for days in weekday_sets]
    for mask in masks:
        covered = _covered(dates, mask)
        bad, cuts = _of(dates.never, mask), _of(dates.depends, mask)
        for places in _ranges(bad, cuts, covered.positions, ranges):
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


def _useful_weekday_sets(dates: _StartDates, ranges: RangeAxis) -> list[int]:
    """Every set that a harmless pair covering something can have, largest for its range.

    Go on from each covering date: with every bad date on the way its weekday drops out, and
    what is left matters if another covering date comes before the next bad one. Without date
    ranges the weekdays of all bad dates drop out.
    """
    masks: set[int] = set()
    places = sorted({p for spots, _ in dates.covers for p, _ in spots})
    for with_cuts in (False, True) if any(dates.depends) else (False,):
        bad = dates.never
        if with_cuts:
            bad = tuple(n | d for n, d in zip(dates.never, dates.depends, strict=True))
        if ranges.whole_only:
            masks.add(ALL_WEEKDAYS & ~_weekday_bits(w for w in range(7) if bad[w]))
        else:
            masks.add(ALL_WEEKDAYS)
            masks |= _sets_on_the_way(places, bad, ranges.count)
    if any(dates.depends):
        masks = _without_subsets(masks, [w for w in range(7) if dates.depends[w]])
    return sorted(masks - {0})


def _sets_on_the_way(places: list[int], bad: Weekly, count: int) -> set[int]:
    masks: set[int] = set()
    circle = [*places, *(p + count for p in places)]
    every = _of(bad, ALL_WEEKDAYS)
    bad_before = -1
    for place in places:
        if every and _next(every, place, count) == bad_before:
            continue
        bad_before = _next(every, place, count) if every else -1
        ends = sorted((_next(b, place, count), w) for w, b in enumerate(bad) if b)
        mask = ALL_WEEKDAYS
        for number, (end, weekday) in enumerate(ends):
            mask &= ~(1 << weekday)
            until = ends[number + 1][0] if number + 1 < len(ends) else place + count
            if bisect_left(circle, until) > bisect_right(circle, end):
                masks.add(mask)
    return masks


def _next(positions: int, place: int, count: int) -> int:
    """The first position at or after a place, going around the year."""
    ahead = positions >> place
    if ahead:
        return place + (ahead & -ahead).bit_length() - 1
    return count + (positions & -positions).bit_length() - 1


def _previous(positions: int, place: int, count: int) -> int:
    """The last position before a place, going around the year (then negative)."""
    behind = positions & ((1 << place) - 1)
    return (behind or positions).bit_length() - 1 - (0 if behind else count)


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


def _ranges(
    bad: int, cuts: int, places: Sequence[int], ranges: RangeAxis
) -> Iterator[tuple[int, int] | None]:
    """Longest ranges around `places` without a bad position, and those cut at `cuts`."""
    if not bad:
        yield None
    if ranges.whole_only:
        return
    if not bad and ranges.circular:
        yield from _cut_circle(_listed(cuts), ranges)
        return
    known: set[tuple[int, int]] = set()
    for place in places:
        first, last = _run_around(place, bad, ranges)
        if (first % ranges.count, last % ranges.count) in known:
            continue
        known.add((first % ranges.count, last % ranges.count))
        if bad:
            yield first % ranges.count, last % ranges.count
        yield from _cut_ranges(first, last, _listed(cuts), ranges)


def _run_around(place: int, bad: int, ranges: RangeAxis) -> tuple[int, int]:
    """The longest range around a place without a bad position; may reach over the year's ends."""
    if not ranges.circular:
        # Walls at both ends of the axis keep the range inside.
        walled = bad << 1 | 1 | 1 << ranges.count + 1
        return (
            _previous(walled, place + 1, ranges.count),
            _next(walled, place + 1, ranges.count) - 2,
        )
    return _previous(bad, place, ranges.count) + 1, _next(bad, place, ranges.count) - 1


def _listed(positions: int) -> list[int]:
    found = []
    while positions:
        low = positions & -positions
        found.append(low.bit_length() - 1)
        positions ^= low
    return found


def _cut_ranges(
    first: int, last: int, cuts: list[int], ranges: RangeAxis
) -> Iterator[tuple[int, int]]:
    if not cuts:
        return
    turns = (-ranges.count, 0, ranges.count)
    inside = [c + turn for turn in turns for c in cuts if first <= c + turn <= last]
    starts = sorted({first, *inside, *(c + 1 for c in inside)})
    ends = sorted({last, *inside, *(c - 1 for c in inside)})
    for a in starts:
        for b in ends:
            if first <= a <= b <= last and (a, b) != (first, last):
                yield a % ranges.count, b % ranges.count


def _cut_circle(cuts: list[int], ranges: RangeAxis) -> Iterator[tuple[int, int]]:
    """Ranges around a year without bad positions that begin and end at cuts."""
    starts = sorted({(c + more) % ranges.count for c in cuts for more in (0, 1)})
    ends = sorted({(c - less) % ranges.count for c in cuts for less in (0, 1)})
    for a in starts:
        for b in ends:
            if (b + 1) % ranges.count != a:
                yield a, b


@dataclass(frozen=True, slots=True)
class _Covered:
    """What one start covers on the dates of one weekday set, in the order of the year."""

    positions: list[int]
    rows: list[int]
    several: list[tuple[tuple[Spot, ...], int]]

    def within(self, places: tuple[int, int] | None) -> tuple[int, ...]:
        """The rows covered in a range."""
        if places is None:
            return (*self.rows, *(row for _, row in self.several))
        first, last = places
        begin, end = bisect_left(self.positions, first), bisect_right(self.positions, last)
        if first <= last:
            rows = self.rows[begin:end]
        else:
            rows = self.rows[:end] + self.rows[begin:]
        more = (row for spots, row in self.several if all(within(p, places) for p, _ in spots))
        return (*rows, *more)


def _covered(dates: _StartDates, mask: int) -> _Covered:
    inside = [(s, row) for s, row in dates.covers if all(mask >> w & 1 for _, w in s)]
    alone = sorted((spots[0][0], row) for spots, row in inside if len(spots) == 1)
    return _Covered(
        [position for position, _ in alone],
        [row for _, row in alone],
        [(spots, row) for spots, row in inside if len(spots) > 1],
    )


def within(position: int, places: tuple[int, int]) -> bool:
    """Whether a position lies in a range that may wrap."""
    first, last = places
    if first <= last:
        return first <= position <= last
    return position >= first or position <= last


def _undominated(pairs: list[Pair]) -> list[Pair]:
    """Pairs whose rows no other pair of this start covers too; of equal ones the first."""
    kept: list[tuple[frozenset[int], Pair]] = []
    for pair in sorted(pairs, key=lambda p: (-len(p[2]), -p[0].bit_count(), p[0], p[1] or (-1, -1))):
        rows = frozenset(pair[2])
        if not any(rows <= other for other, _ in kept):
            kept.append((rows, pair))
    return [pair for _, pair in kept]
