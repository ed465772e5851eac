"""The local clock for many instants and readings at once.

As `Zone` answers one by one; readings are in seconds since 00:00 of 1970-01-01 on the clock.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.clock import Zone
from schedcomp.model import DAY

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]


def offsets_at(zone: Zone, instants: Ints) -> Ints:
    """Seconds by which the local clock is ahead of UTC at each instant."""
    starts, offsets = _table(zone)
    return offsets[np.maximum(starts.searchsorted(instants, "right") - 1, 0)]


def first_readings(zone: Zone, readings: Ints) -> Ints:
    """Instants of readings; a skipped one is the jump, a repeated one its first pass."""
    return _read(zone, readings, last=False)


def last_readings(zone: Zone, readings: Ints) -> Ints:
    """As `first_readings`, but the last pass of a repeated reading."""
    return _read(zone, readings, last=True)


def _read(zone: Zone, readings: Ints, *, last: bool) -> Ints:
    starts, offsets = _table(zone)
    before = starts.searchsorted(readings - DAY, "right")
    instants: Ints = readings - offsets[np.maximum(before - 1, 0)]
    changes_near = before != starts.searchsorted(readings + DAY, "right")
    read = zone.last_reading if last else zone.first_reading
    for place in np.flatnonzero(changes_near).tolist():
        instants[place] = read(int(readings[place]))
    return instants


@lru_cache(maxsize=64)
def _table(zone: Zone) -> tuple[Ints, Ints]:
    """When each offset begins, and the offsets."""
    return np.array(zone.starts, np.int64), np.array(zone.offsets, np.int64)
