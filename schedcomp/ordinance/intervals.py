"""Arithmetic of stretches of time: sorted, apart, half-open [start, end) in whole seconds."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from schedcomp.model import Instant

MANY = 64
"""Intervals in a list from which on arrays are faster."""

Interval = tuple[Instant, Instant]
Intervals = tuple[Interval, ...]


def merged(intervals: Iterable[Interval]) -> Intervals:
    """Any intervals in any order as sorted ones that lie apart; empty ones are left out."""
    given = tuple(intervals)
    return merged_of_many(given) if len(given) >= MANY else merged_of_few(given)


def merged_of_many(intervals: Sequence[Interval]) -> Intervals:
    """As `merged`; worth its while for long lists."""
    rows = array_of(intervals)
    rows = rows[rows[:, 0] < rows[:, 1]]
    rows = rows[np.argsort(rows[:, 0], kind="stable")]
    reached = np.maximum.accumulate(rows[:, 1])
    begins = np.ones(len(rows), dtype=np.bool_)
    begins[1:] = rows[1:, 0] > reached[:-1]
    ends = np.roll(begins, -1)  # each one ends where the next begins, the last at the end
    return tuple(zip(rows[begins, 0].tolist(), reached[ends].tolist(), strict=True))


def merged_of_few(intervals: Sequence[Interval]) -> Intervals:
    """As `merged`, one by one."""
    done: list[Interval] = []
    reached: Instant | None = None
    for interval in sorted(intervals):
        start, end = interval
        if start >= end:
            continue
        if reached is None or start > reached:
            done.append(interval)
            reached = end
        elif end > reached:
            done[-1] = (done[-1][0], end)
            reached = end
    return tuple(done)


def array_of(intervals: Sequence[Interval]) -> NDArray[np.int64]:
    """The intervals as rows of start and end."""
    flat = np.fromiter(chain.from_iterable(intervals), np.int64, 2 * len(intervals))
    return flat.reshape(-1, 2)


def common(first: Intervals, second: Intervals) -> Intervals:
    """What lies in both."""
    if len(second) == 1:
        return clipped(first, second[0])
    if min(len(first), len(second)) >= MANY:
        return common_of_many(first, second)
    return common_of_few(first, second)


def clipped(intervals: Intervals, whole: Interval) -> Intervals:
    """What lies in one interval."""
    inside = near(intervals, *whole)
    if not inside or whole[0] >= whole[1]:
        return ()
    cut = [*inside]
    cut[0] = (max(cut[0][0], whole[0]), cut[0][1])
    cut[-1] = (cut[-1][0], min(cut[-1][1], whole[1]))
    return tuple(cut)


def common_of_many(first: Intervals, second: Intervals) -> Intervals:
    """As `common`; worth its while for long lists."""
    one, other = array_of(first), array_of(second)
    low = np.searchsorted(other[:, 1], one[:, 0], side="right")
    high = np.searchsorted(other[:, 0], one[:, 1], side="left")
    counts = np.maximum(high - low, 0)
    mine = np.repeat(np.arange(len(one)), counts)
    step = np.arange(len(mine)) - np.repeat(np.cumsum(counts) - counts, counts)
    theirs = np.repeat(low, counts) + step
    starts = np.maximum(one[mine, 0], other[theirs, 0])
    ends = np.minimum(one[mine, 1], other[theirs, 1])
    return tuple(zip(starts.tolist(), ends.tolist(), strict=True))


def common_of_few(first: Intervals, second: Intervals) -> Intervals:
    """As `common`, one by one."""
    found: list[Interval] = []
    i = j = 0
    while i < len(first) and j < len(second):
        start = max(first[i][0], second[j][0])
        end = min(first[i][1], second[j][1])
        if start < end:
            found.append((start, end))
        if first[i][1] < second[j][1]:
            i += 1
        else:
            j += 1
    return tuple(found)


def without(first: Intervals, second: Intervals) -> Intervals:
    """What lies in the first and not in the second."""
    if not first:
        return ()
    return common(first, rest_of(second, (first[0][0], first[-1][1])))


def rest_of(intervals: Intervals, within: Interval) -> Intervals:
    """What is left of `within` beside the intervals."""
    found: list[Interval] = []
    start = within[0]
    for begin, end in intervals:
        if end <= start:
            continue
        if begin >= within[1]:
            break
        if begin > start:
            found.append((start, begin))
        start = end
    if start < within[1]:
        found.append((start, within[1]))
    return tuple(found)


def together(several: Iterable[Intervals]) -> Intervals:
    """What lies in any of several."""
    every = tuple(several)
    return every[0] if len(every) == 1 else merged(chain.from_iterable(every))


def moved(intervals: Intervals, earlier: int, later: int) -> Intervals:
    """Every start `earlier` seconds sooner, every end `later` seconds later; may be negative."""
    return merged((start - earlier, end + later) for start, end in intervals)


def seconds_of(intervals: Iterable[Interval]) -> int:
    return sum(end - start for start, end in intervals)


def near(intervals: Intervals, begin: Instant, end: Instant) -> Intervals:
    """The intervals that overlap [begin, end), whole."""
    first = bisect_right(intervals, begin, key=lambda i: i[1])
    last = bisect_left(intervals, end, key=lambda i: i[0])
    return intervals[first:last]


def apart_from(duties: Intervals, other: Intervals) -> Intervals:
    """Those of `duties` that no interval of `other` overlaps."""
    if not duties or not other:
        return duties
    both, wrong = array_of(duties), array_of(other)
    low = np.searchsorted(wrong[:, 1], both[:, 0], side="right")
    high = np.searchsorted(wrong[:, 0], both[:, 1], side="left")
    return tuple(duties[int(i)] for i in np.flatnonzero(high <= low))


def rooms_beside(
    duties: Intervals, bad: Intervals
) -> tuple[NDArray[np.int64], NDArray[np.int64]] | None:
    """Seconds between each of `duties` and the nearest of `bad` before and after it.

    None of `bad` overlaps any of `duties`. None where there are none of one kind.
    """
    if not duties or not bad:
        return None
    both, wrong = array_of(duties), array_of(bad)
    after = np.searchsorted(wrong[:, 0], both[:, 1])
    far = np.iinfo(np.int64).max // 2
    starts = np.append(wrong[:, 0], far)
    ends = np.insert(wrong[:, 1], 0, -far)
    return (
        np.asarray(both[:, 0] - ends[after], np.int64),
        np.asarray(starts[after] - both[:, 1], np.int64),
    )


def seconds_between(intervals: Intervals, borders: Sequence[Instant]) -> NDArray[np.int64]:
    """Seconds of the intervals between each border and the next."""
    if not intervals:
        return np.zeros(len(borders) - 1, np.int64)
    both, edges = array_of(intervals), np.array(borders, np.int64)
    whole = np.concatenate([[0], np.cumsum(both[:, 1] - both[:, 0])])
    # Seconds before each border: whole intervals that began before it, less what lies beyond it.
    begun = np.searchsorted(both[:, 0], edges, side="left")
    last_end = np.concatenate([[edges[0]], both[:, 1]])[begun]
    before = whole[begun] - np.where(begun > 0, np.maximum(last_end - edges, 0), 0)
    return np.asarray(np.diff(before), np.int64)


def split_at(intervals: Intervals, borders: Sequence[Instant]) -> list[list[Interval]]:
    """The parts of the intervals between each border and the next; len(borders) - 1 lists."""
    parts: list[list[Interval]] = [[] for _ in range(len(borders) - 1)]
    for start, end in intervals:
        place = max(0, bisect_right(borders, start) - 1)
        while place < len(parts) and borders[place] < end:
            piece = (max(start, borders[place]), min(end, borders[place + 1]))
            if piece[0] < piece[1]:
                parts[place].append(piece)
            place += 1
    return parts
