"""The local clock for many instants and readings at once.

As `Zone` answers one by one; readings are in seconds since 00:00 of 1970-01-01 on the clock.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.clock import EPOCH_ORDINAL, Zone, day_number
from schedcomp.model import DAY, Period

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]


def day_numbers(period: Period) -> Ints:
    """Every date of a period, as days since 1970-01-01."""
    return np.arange(day_number(period.first), day_number(period.last) + 1)


def dates_of_numbers(days: Ints) -> Iterator[date]:
    """The dates so many days after 1970-01-01."""
    return map(date.fromordinal, (days + EPOCH_ORDINAL).tolist())


def offsets_at(zone: Zone, instants: Ints) -> Ints:
    """Seconds by which the local clock is ahead of UTC at each instant."""
    starts, offsets = _table(zone)
    return offsets[_row(starts, instants)]


def first_readings(zone: Zone, readings: Ints) -> Ints:
    """Instants of readings; a skipped one is the jump, a repeated one its first pass."""
    return _read(zone, readings, last=False)


def last_readings(zone: Zone, readings: Ints) -> Ints:
    """As `first_readings`, but the last pass of a repeated reading."""
    return _read(zone, readings, last=True)


def _read(zone: Zone, readings: Ints, *, last: bool) -> Ints:
    starts, offsets = _table(zone)
    before = _row(starts, readings - DAY)
    after = _row(starts, readings + DAY)
    instants: Ints = readings - offsets[before]
    near = before != after
    if near.any():
        by_old, by_new = instants[near], readings[near] - offsets[after[near]]
        change = starts[after[near]]
        old_shows, new_shows = by_old < change, by_new >= change
        shown = [new_shows, old_shows] if last else [old_shows, new_shows]
        instants[near] = np.select(shown, [by_new, by_old] if last else [by_old, by_new], change)
    return instants


def _row(starts: Ints, instants: Ints) -> npt.NDArray[np.intp]:
    """The row of the table that holds at each instant; before the table the first one."""
    return np.maximum(starts.searchsorted(instants, "right") - 1, 0)


@lru_cache(maxsize=64)
def _table(zone: Zone) -> tuple[Ints, Ints]:
    """When each offset begins, and the offsets."""
    return np.array(zone.starts, np.int64), np.array(zone.offsets, np.int64)
