"""Slots that hold an on and an off with the same dates: which dates could be shared.

In a shortest program each half could go on wherever it is harmless, so the dates of a slot are
those that one on and one off have in common, or all those of one of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.fit.candidates import Candidate
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import Bools, Ints
from schedcomp.model import Action
from schedcomp.records import Record, replace

MOST_SHARED = 400
"""Beyond so many dates of single events no dates common to two of them are offered for slots."""

MOST_COMPARED = 30_000_000
"""Beyond so many comparisons of dates fewer dates are tried."""


class Dates(Record, order=True):
    """Channels, weekdays and range of a slot."""

    channels: tuple[int, ...]
    weekdays: int
    places: tuple[int, int] | None


def dates_of(candidate: Candidate) -> Dates:
    return Dates(candidate.channels, candidate.weekdays, candidate.places)


def on_shared_dates(
    candidates: Sequence[Candidate],
    ranges: RangeAxis,
    weekday_sets: Sequence[frozenset[int]] | None,
    most: int,
) -> tuple[list[Candidate], bool]:
    """Every candidate on all dates it could share; False where not all of them were tried.

    Where that would be more than `most`, the dates are those of the rarer of ons and offs, and
    where that is too many still, each keeps its own.
    """
    masks = None if weekday_sets is None else [sum(1 << d for d in s) for s in weekday_sets]
    ons = {dates_of(c) for c in candidates if c.action is Action.ON}
    offs = {dates_of(c) for c in candidates if c.action is Action.OFF}
    common: set[Dates] = set()
    complete = len(ons) * len(offs) <= MOST_SHARED**2
    if complete:
        common = {dates for a in ons for b in offs for dates in _common(a, b, ranges, masks)}
    for shared in (ons | offs | common, min(ons, offs, key=len)):
        found = _on(candidates, sorted(shared, key=_order), ranges, most)
        if found is not None:
            return list(dict.fromkeys((*candidates, *found))), complete
        complete = False
    return list(candidates), False


def _order(dates: Dates) -> tuple[tuple[int, ...], int, tuple[int, int]]:
    return dates.channels, dates.weekdays, dates.places or (-1, -1)


def _on(
    candidates: Sequence[Candidate], shared: Sequence[Dates], ranges: RangeAxis, most: int
) -> list[Candidate] | None:
    """The candidates on those dates that lie within their own; None if these are too many."""
    if len(candidates) * len(shared) > MOST_COMPARED:
        return None
    numbers: dict[tuple[int, ...], int] = {}
    outer = _columns([dates_of(c) for c in candidates], ranges, numbers)
    inner = _columns(shared, ranges, numbers)
    found: list[tuple[int, int]] = []
    for number, row in enumerate(outer.tolist()):
        inside = np.flatnonzero(_inside(row, inner, ranges.count)).tolist()
        found += [(number, place) for place in inside]
        if len(found) > most:
            return None
    return [
        replace(candidates[n], weekdays=shared[i].weekdays, places=shared[i].places)
        for n, i in found
    ]


def _columns(
    dates: Sequence[Dates], ranges: RangeAxis, numbers: dict[tuple[int, ...], int]
) -> Ints:
    """Channels as a number, weekdays, first and last position; first is -1 for every date."""
    rows = []
    for one in dates:
        number = numbers.setdefault(one.channels, len(numbers))
        [places] = [(-1, -1)] if one.places is None else _stretches(one.places, ranges)
        rows.append((number, one.weekdays, *places))
    return np.array(rows, dtype=np.int64).reshape(-1, 4)


def _inside(outer: Sequence[int], inner: Ints, count: int) -> Bools:
    """Which dates lie within those of the outer, around the year too."""
    channels, weekdays, first, last = outer
    inside: Bools = (inner[:, 0] == channels) & (inner[:, 1] & ~weekdays == 0)
    if first < 0:
        return inside
    within = np.zeros(len(inner), dtype=np.bool_)
    for turn in (-count, 0, count):
        within |= (first <= inner[:, 2] + turn) & (inner[:, 3] + turn <= last)
    return inside & within & (inner[:, 2] >= 0)


def _common(a: Dates, b: Dates, ranges: RangeAxis, masks: Sequence[int] | None) -> Iterator[Dates]:
    common = a.weekdays & b.weekdays
    if a.channels != b.channels or not common:
        return
    allowed = [common] if masks is None else [m for m in masks if m & ~common == 0]
    for places in _common_places(a.places, b.places, ranges):
        for weekdays in allowed:
            yield Dates(a.channels, weekdays, places)


def _common_places(
    a: tuple[int, int] | None, b: tuple[int, int] | None, ranges: RangeAxis
) -> Iterator[tuple[int, int] | None]:
    if a is None or b is None:
        yield a or b
        return
    for first, last in _stretches(a, ranges):
        for begin, end in _stretches(b, ranges):
            for turn in (-ranges.count, 0, ranges.count):
                low, high = max(first, begin + turn), min(last, end + turn)
                if low <= high:
                    yield low % ranges.count, high % ranges.count


def _stretches(places: tuple[int, int], ranges: RangeAxis) -> Iterator[tuple[int, int]]:
    """A range laid out straight; one that wraps ends beyond the last position."""
    first, last = places
    yield first, last if first <= last else last + ranges.count
