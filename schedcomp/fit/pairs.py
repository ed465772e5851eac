"""Slots that hold an on and an off with the same dates: which dates could be shared.

In a shortest program each half could go on wherever it is harmless, so the dates of a slot are
those that one on and one off have in common, or all those of one of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from schedcomp.fit.candidates import Candidate
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.model import Action

MOST_SHARED = 400
"""Beyond so many dates of single events only these themselves are offered for slots."""


@dataclass(frozen=True, slots=True, order=True)
class Dates:
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
) -> tuple[list[Candidate], bool]:
    """Every candidate on all dates it could share; False where not all of them were tried."""
    masks = None if weekday_sets is None else [sum(1 << d for d in s) for s in weekday_sets]
    ons = {dates_of(c) for c in candidates if c.action is Action.ON}
    offs = {dates_of(c) for c in candidates if c.action is Action.OFF}
    shared = ons | offs
    complete = len(ons) * len(offs) <= MOST_SHARED**2
    if complete:
        shared |= {common for a in ons for b in offs for common in _common(a, b, ranges, masks)}
    found = {
        replace(candidate, weekdays=dates.weekdays, places=dates.places)
        for candidate in candidates
        for dates in shared
        if _contains(dates_of(candidate), dates, ranges)
    }
    return list(found), complete


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


def _contains(outer: Dates, inner: Dates, ranges: RangeAxis) -> bool:
    if outer.channels != inner.channels or inner.weekdays & ~outer.weekdays:
        return False
    if outer.places is None:
        return True
    if inner.places is None:
        return False
    [(first, last)] = _stretches(outer.places, ranges)
    [(begin, end)] = _stretches(inner.places, ranges)
    return any(
        first <= begin + turn and end + turn <= last for turn in (-ranges.count, 0, ranges.count)
    )
