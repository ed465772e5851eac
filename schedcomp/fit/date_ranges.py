"""Date ranges as positions on a circle of 366 month-days, or on the dates themselves.

Sets of positions are bit sets. A range is (first, last), both included; it wraps where last comes
first, and None is every date.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.firings import Axis, Bools, Ints
from schedcomp.program import EventDates
from schedcomp.records import Record, field

MONTH_LENGTHS = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_DAYS = tuple((m, d) for m, n in enumerate(MONTH_LENGTHS, 1) for d in range(1, n + 1))
PLACE_OF = {month_day: place for place, month_day in enumerate(MONTH_DAYS)}
LEAP_DAY = PLACE_OF[2, 29]

Places = tuple[int, int]


class RangeAxis(Record, eq=False):
    """The positions of date ranges: 366 month-days of every year, or the dates themselves.

    `circular`: a range may wrap the year end. `whole_only`: the controller stores no ranges.
    `known_pairs` are the weekdays and ranges worth considering for dates met before.
    """

    positions: Ints
    weekdays: Ints
    count: int
    circular: bool
    whole_only: bool
    axis: Axis
    with_year: bool
    known_pairs: dict[object, list[tuple[int, Places | None, tuple[int, ...]]]] = field(
        default_factory=dict
    )

    def dates(self, places: tuple[int, int] | None) -> EventDates | None:
        """The range as a controller stores it."""
        if places is None:
            return None
        first, last = places
        if self.with_year:
            days = self.axis.dates
            a, b = days[first], days[last]
            return EventDates((a.month, a.day), (b.month, b.day), (a.year, b.year))
        if LEAP_DAY not in self.positions:
            # Made without a 29 February: none begins there, and through the 28th means through it.
            first += first == LEAP_DAY
            last += last == LEAP_DAY - 1
        return EventDates(MONTH_DAYS[first], MONTH_DAYS[last])

    def named(self, places: Places | None) -> int:
        """The positions of a range as a bit set."""
        every = (1 << self.count) - 1
        if places is None:
            return every
        first, last = places
        until, before = (1 << last + 1) - 1, (1 << first) - 1
        return until & ~before if first <= last else until | (every & ~before)


def range_axis(controller: Controller, axis: Axis) -> RangeAxis:
    rule = controller.date_ranges
    with_year = rule == "with year"
    yearly = [PLACE_OF[d.month, d.day] for d in axis.dates]
    return RangeAxis(
        positions=np.arange(axis.count) if with_year else np.array(yearly, dtype=np.int64),
        weekdays=axis.weekdays(),
        count=axis.count if with_year else len(MONTH_DAYS),
        circular=rule == "yearly",
        whole_only=rule == "none",
        axis=axis,
        with_year=with_year,
    )


def harmless_ranges(
    bad: int, cuts: int, places: Sequence[int], ranges: RangeAxis
) -> Iterator[tuple[int, int] | None]:
    """Longest ranges around `places`, in order, without a bad position, and those cut at `cuts`."""
    if not bad:
        yield None
    if ranges.whole_only:
        return
    if not bad and ranges.circular:
        yield from _cut_circle(_listed(cuts), ranges)
        return
    known: set[tuple[int, int]] = set()
    done = -1
    for place in places:
        # In another year, on another weekday, the same month-day may be a bad date.
        if place <= done or bad >> place & 1:
            continue
        first, last = run_around(place, bad, ranges)
        done = last
        if (first % ranges.count, last % ranges.count) in known:
            continue
        known.add((first % ranges.count, last % ranges.count))
        if bad:
            yield first % ranges.count, last % ranges.count
        yield from _cut_ranges(first, last, _listed(cuts), ranges)


def run_around(place: int, bad: int, ranges: RangeAxis) -> tuple[int, int]:
    """The longest range around a place without a bad position; may reach over the year's ends."""
    if not ranges.circular:
        # Walls at both ends of the axis keep the range inside.
        walled = bad << 1 | 1 | 1 << ranges.count + 1
        return (
            _previous(walled, place + 1, ranges.count),
            next_position(walled, place + 1, ranges.count) - 2,
        )
    return _previous(bad, place, ranges.count) + 1, next_position(bad, place, ranges.count) - 1


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


def next_position(positions: int, place: int, count: int) -> int:
    """The first position at or after a place, going around the year."""
    ahead = positions >> place
    if ahead:
        return place + (ahead & -ahead).bit_length() - 1
    return count + (positions & -positions).bit_length() - 1


def _previous(positions: int, place: int, count: int) -> int:
    """The last position before a place, going around the year (then negative)."""
    behind = positions & ((1 << place) - 1)
    return (behind or positions).bit_length() - 1 - (0 if behind else count)


def within(position: int, places: tuple[int, int]) -> bool:
    """Whether a position lies in a range that may wrap."""
    first, last = places
    if first <= last:
        return first <= position <= last
    return position >= first or position <= last


def all_within(positions: Ints, places: Places) -> Bools:
    """Which positions lie in a range that may wrap."""
    first, last = places
    after: Bools = positions >= first
    before: Bools = positions <= last
    return after & before if first <= last else after | before
