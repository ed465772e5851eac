"""Stretches of time as columns: union and cutting, as `layers.py` does one by one.

Ends are kept as rows of whole numbers, one column an end; see `Ends`. Stretches are sorted and
apart (no two touch) unless said otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from schedcomp.model import Instant
from schedcomp.records import Record

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]
Ends: TypeAlias = npt.NDArray[np.int64]
"""[row, end]: RAW is the instant of the exact year, AT that on the controller's step, LOWEST and
HIGHEST the instants between which it may be moved, SUN whether it follows the sun, DATE the date
that its wish belongs to, as days since 1970-01-01.
"""

RAW, AT, LOWEST, HIGHEST, SUN, DATE = range(6)


class Stretches(Record):
    """From each of `starts` until the one of `ends` in the same column."""

    starts: Ends
    ends: Ends

    def within(self, start: Instant, end: Instant) -> Stretches:
        """Those of which some part lies between two instants."""
        first = self.ends[RAW].searchsorted(start, "right")
        last = self.starts[RAW].searchsorted(end, "left")
        return Stretches(self.starts[:, first:last], self.ends[:, first:last])


NOTHING = Stretches(np.empty((6, 0), np.int64), np.empty((6, 0), np.int64))


def union(parts: Sequence[tuple[Ints, Stretches]]) -> Stretches:
    """Stretches in any order, merged where they overlap or touch; outer ends stay as they are.

    With each part come numbers: of equal stretches the one with the least counts.
    """
    if not parts:
        return NOTHING
    if len(parts) == 1 and _are_apart(parts[0][1].starts, parts[0][1].ends):
        return parts[0][1]
    starts = np.concatenate([part.starts for _, part in parts], axis=1)
    ends = np.concatenate([part.ends for _, part in parts], axis=1)
    if not starts.shape[1]:
        return NOTHING
    order = np.argsort(starts[RAW], kind="stable")
    ordered = Stretches(starts[:, order], ends[:, order])
    if _are_apart(ordered.starts, ordered.ends):
        return ordered
    numbers = np.concatenate([numbers for numbers, _ in parts])
    order = np.lexsort((numbers, -ends[RAW], starts[RAW]))
    starts, ends = starts[:, order], ends[:, order]
    until = np.maximum.accumulate(ends[RAW])
    is_later = np.append(True, ends[RAW][1:] > until[:-1])
    begins = np.append(True, starts[RAW][1:] > until[:-1])
    latest = np.maximum.accumulate(np.where(is_later, np.arange(len(until)), 0))
    last = np.append(np.flatnonzero(begins)[1:] - 1, len(until) - 1)
    return Stretches(starts[:, begins], ends[:, latest[last]])


def _are_apart(starts: Ends, ends: Ends) -> bool:
    return bool((starts[RAW][1:] > ends[RAW][:-1]).all())


def cut(lit: Stretches, dark: Stretches) -> Stretches:
    """What is lit without what is dark; a cut end is that of the dark stretch."""
    if not dark.starts.shape[1] or not lit.starts.shape[1]:
        return lit
    begins = lit.starts[:, ~_inside(dark, lit.starts[RAW], start=True)]
    stops = lit.ends[:, ~_inside(dark, lit.ends[RAW], end=True)]
    starts = np.concatenate((begins, dark.ends[:, _inside(lit, dark.ends[RAW])]), axis=1)
    ends = np.concatenate((stops, dark.starts[:, _inside(lit, dark.starts[RAW])]), axis=1)
    return Stretches(
        starts[:, np.argsort(starts[RAW], kind="stable")],
        ends[:, np.argsort(ends[RAW], kind="stable")],
    )


def _inside(
    stretches: Stretches, instants: Ints, *, start: bool = False, end: bool = False
) -> Bools:
    """Whether each instant lies within a stretch, its start and its end counting if so said."""
    place = stretches.starts[RAW].searchsorted(instants, "right" if start else "left") - 1
    until = stretches.ends[RAW][place]
    before_end = instants <= until if end else instants < until
    inside: Bools = (place >= 0) & before_end
    return inside
