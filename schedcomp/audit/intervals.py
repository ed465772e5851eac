"""The check on intervals: right under every pattern of sun errors at once.

If no two firings of opposite action can meet, their order is the same under every pattern, and
each unbroken sequence of one action is one change of state: not before its earliest possible
firing, and at the latest by the first of its certain firings that must have come.
"""

from __future__ import annotations

import numpy as np

from schedcomp.audit.compare import NOT_CERTAIN, Happenings, Wanted, compare
from schedcomp.audit.unit import Firings
from schedcomp.audit.unit_clock import Bools, Ints
from schedcomp.audit_report import Difference, Overlap

_BEFORE_ALL = int(np.iinfo(np.int64).min)


def overlaps(firings: Firings, channel: int) -> tuple[Overlap, ...]:
    """For every firing that may meet an earlier one of the other action, the last such one.

    The firings must be in order of their starts. Meeting at one instant is meeting.
    """
    other, meets = _meeting(firings)
    return tuple(
        Overlap(
            channel,
            int(firings.slots[other[i]]),
            int(firings.slots[i]),
            int(firings.starts[i]),
            int(min(firings.ends[other[i]], firings.ends[i])),
        )
        for i in meets
    )


def first_meeting(firings: Firings) -> int | None:
    """The earliest instant of the first two firings of opposite action that may meet."""
    other, meets = _meeting(firings)
    return int(firings.starts[other[meets]].min()) if len(meets) else None


def interval_differences(
    firings: Firings, wanted: Wanted, lit_at_start: bool
) -> tuple[Difference, ...]:
    """Where a switching may come outside its bounds, may fail to come, or may come unasked.

    The firings as in `changes_of`.
    """
    return compare(changes_of(firings, lit_at_start), wanted).differences


def changes_of(firings: Firings, lit_at_start: bool) -> Happenings:
    """One happening for each unbroken sequence of one action, but for one that changes nothing.

    The firings must be in order of their starts, and no two of opposite action may meet.
    """
    if not len(firings.starts):
        return Happenings(firings.starts, firings.ends, firings.on)
    first = np.flatnonzero(np.append(True, firings.on[1:] != firings.on[:-1]))
    surely = np.where(firings.certain, firings.ends, NOT_CERTAIN)
    happened = Happenings(
        firings.starts[first], np.minimum.reduceat(surely, first), firings.on[first]
    )
    return happened.after(1) if bool(firings.on[0]) == lit_at_start else happened


def _meeting(firings: Firings) -> tuple[Ints, Ints]:
    """For each firing the earlier one of the other action that ends last, and which meet it."""
    latest_on = _latest_before(firings, firings.on)
    latest_off = _latest_before(firings, ~firings.on)
    other = np.where(firings.on, latest_off, latest_on)
    return other, np.flatnonzero((other >= 0) & (firings.ends[other] >= firings.starts))


def _latest_before(firings: Firings, chosen: Bools) -> Ints:
    """For each firing the index of the chosen one before it that ends last, or -1."""
    ends = np.where(chosen, firings.ends, _BEFORE_ALL)
    highest = np.maximum.accumulate(ends)
    is_new = chosen & (ends == highest)
    index = np.maximum.accumulate(np.where(is_new, np.arange(len(ends)), -1))
    before = np.full(len(ends), -1, np.int64)
    before[1:] = index[:-1]
    return before
