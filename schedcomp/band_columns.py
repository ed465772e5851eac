"""Bands of switchings as columns: how far sun times err, where bands stop, neighbours in order."""

from __future__ import annotations

import numpy as np

from schedcomp.clock_columns import Ints
from schedcomp.unit_sun import UnitSun, columns_of


def worst_errors(sun: UnitSun, first_day: int, count: int) -> Ints:
    """How far the unit's sun times may be off on each date, in seconds; 0 where none is known."""
    errors = np.zeros(count, np.int64)
    for _, times in sun.times:
        known = columns_of(times)
        wide = np.maximum(known.nominal - known.earliest, known.latest - known.nominal)
        places = known.days - first_day
        counts = known.certain & (places >= 0) & (places < count)
        errors[places[counts]] = np.maximum(errors[places[counts]], wide[counts])
    return errors


def raise_to_last(lowest: Ints, bounds: Ints, instants: Ints) -> None:
    """No lower than the last of the bounds at or before each instant; changed in place."""
    if len(bounds):
        place = bounds.searchsorted(instants, "right") - 1
        lowest[:] = np.where(place >= 0, np.maximum(lowest, bounds[place]), lowest)


def lower_to_next(highest: Ints, bounds: Ints, instants: Ints) -> None:
    """No higher than the first of the bounds at or after each instant; changed in place."""
    if len(bounds):
        place = bounds.searchsorted(instants, "left")
        there = np.minimum(place, len(bounds) - 1)
        highest[:] = np.where(place < len(bounds), np.minimum(highest, bounds[there]), highest)


def in_order(lowest: Ints, highest: Ints, step: int) -> tuple[Ints, Ints]:
    """Bands narrowed so that neighbours keep their order, one step apart."""
    steps = np.arange(len(lowest)) * step
    raised = np.maximum.accumulate(lowest - steps) + steps
    lowered = np.minimum.accumulate((highest - steps)[::-1])[::-1] + steps
    return raised, lowered
