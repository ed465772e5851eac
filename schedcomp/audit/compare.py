"""What happened against what was to happen, switching by switching."""

from __future__ import annotations

import numpy as np

from schedcomp.audit.unit_clock import Bools, Ints
from schedcomp.audit_report import Difference
from schedcomp.model import Action, Instant
from schedcomp.records import Record
from schedcomp.target import ChannelTarget

NOT_CERTAIN = int(np.iinfo(np.int64).max)
"""The end of a happening that may also not happen at all."""


class Happenings(Record):
    """Changes of state in order, actions alternating, each at some instant of [start, end]."""

    starts: Ints
    ends: Ints
    on: Bools

    def __len__(self) -> int:
        return len(self.starts)

    def after(self, count: int) -> Happenings:
        return Happenings(self.starts[count:], self.ends[count:], self.on[count:])


class Wanted(Record):
    """The switchings of a channel's target as columns; all else as in `ChannelTarget`."""

    channel: int
    start: Instant
    lit_at_start: bool
    instants: Ints
    earliest: Ints
    latest: Ints
    on: Bools
    end: Instant

    def __len__(self) -> int:
        return len(self.instants)

    def after(self, count: int) -> Wanted:
        return Wanted(
            self.channel,
            self.start,
            self.lit_at_start,
            self.instants[count:],
            self.earliest[count:],
            self.latest[count:],
            self.on[count:],
            self.end,
        )

    def before(self, instant: Instant) -> Wanted:
        """What can only be done before an instant, for the time until then."""
        early = self.latest < instant
        late = self.earliest[~early]
        return Wanted(
            self.channel,
            self.start,
            self.lit_at_start,
            self.instants[early],
            self.earliest[early],
            self.latest[early],
            self.on[early],
            min([instant, *late[:1].tolist()]) - 1,
        )


class Comparison(Record):
    """The differences, and which wanted switching each happening stands for."""

    differences: tuple[Difference, ...]
    wanted: Ints
    happened: Ints


def wanted_of(target: ChannelTarget) -> Wanted:
    """The target's switchings as columns."""
    return Wanted(
        target.channel,
        target.start,
        target.lit_at_start,
        np.array([s.instant for s in target.switchings], np.int64),
        np.array([s.earliest for s in target.switchings], np.int64),
        np.array([s.latest for s in target.switchings], np.int64),
        np.array([s.action is Action.ON for s in target.switchings], np.bool_),
        target.end,
    )


def compare(happened: Happenings, wanted: Wanted) -> Comparison:
    """Match both in order, one to one; what happens after the channel's end does not count."""
    count = len(wanted)
    if _all_right(happened, wanted):
        return Comparison((), np.arange(count), np.arange(count))
    return _match(happened, wanted)


def first_wrong(happened: Happenings, wanted: Wanted) -> Instant | None:
    """An instant before which all is as wanted, None where all of it is."""
    count = len(wanted)
    right = _right_from_the_start(happened, wanted)
    next_happened = happened.starts[right : right + 1].tolist()
    if right == count and next_happened and next_happened[0] > wanted.end:
        return None
    # A band rounded inward may leave out the instant itself.
    next_wanted = [column[right] for column in (wanted.instants, wanted.earliest) if right < count]
    return min([*next_happened, *map(int, next_wanted)], default=None)


def _all_right(happened: Happenings, wanted: Wanted) -> bool:
    count = len(wanted)
    if len(happened) < count or bool((happened.starts[count:] <= wanted.end).any()):
        return False
    return _right_from_the_start(happened, wanted) == count


def _right_from_the_start(happened: Happenings, wanted: Wanted) -> int:
    """How many come as wanted before the first that does not."""
    count = min(len(wanted), len(happened))
    wrong = np.flatnonzero(
        (happened.on[:count] != wanted.on[:count])
        | (happened.starts[:count] < wanted.earliest[:count])
        | (happened.ends[:count] > wanted.latest[:count])
    )
    return int(wrong[0]) if len(wrong) else count


def _match(happened: Happenings, wanted: Wanted) -> Comparison:
    """Walk both in step; a pair that only one of them has is passed over and named.

    Actions alternate in both and both begin in the same state, so the next of each always have
    the same action. What is right from the start is matched at once.
    """
    differences: list[Difference] = []
    i = j = _right_from_the_start(happened, wanted)
    pairs = [(k, k) for k in range(i)]
    while i < len(wanted) and j < len(happened):
        if _is_extra_pair(happened, j, wanted, i):
            differences += [_extra(happened, j, wanted), _extra(happened, j + 1, wanted)]
            j += 2
        elif _is_missing_pair(happened, j, wanted, i):
            differences += [_missing(wanted, i), _missing(wanted, i + 1)]
            i += 2
        else:
            differences += _judged(happened, j, wanted, i)
            pairs.append((i, j))
            i, j = i + 1, j + 1
    differences += [_missing(wanted, k) for k in range(i, len(wanted))]
    late = [k for k in range(j, len(happened)) if happened.starts[k] <= wanted.end]
    differences += [_extra(happened, k, wanted) for k in late]
    matched = np.array(pairs, np.int64).reshape(-1, 2)
    return Comparison(tuple(differences), matched[:, 0], matched[:, 1])


def _is_extra_pair(happened: Happenings, j: int, wanted: Wanted, i: int) -> bool:
    """Too early for the next wanted one, and a later one of its action still comes in time."""
    return bool(
        happened.starts[j] < wanted.earliest[i]
        and j + 2 < len(happened)
        and happened.starts[j + 2] <= wanted.latest[i]
    )


def _is_missing_pair(happened: Happenings, j: int, wanted: Wanted, i: int) -> bool:
    """Too late for the next wanted one, and not before a later one of its action."""
    return bool(
        happened.starts[j] > wanted.latest[i]
        and i + 2 < len(wanted)
        and happened.starts[j] >= wanted.earliest[i + 2]
    )


def _judged(happened: Happenings, j: int, wanted: Wanted, i: int) -> list[Difference]:
    start, end = int(happened.starts[j]), int(happened.ends[j])
    found = []
    if start < wanted.earliest[i]:
        found.append(_difference("too early", wanted, i, start))
    if end == NOT_CERTAIN:
        found.append(_missing(wanted, i))
    elif end > wanted.latest[i]:
        found.append(_difference("too late", wanted, i, end))
    return found


def _missing(wanted: Wanted, i: int) -> Difference:
    return _difference("missing", wanted, i, None)


def _difference(kind: str, wanted: Wanted, i: int, happened: Instant | None) -> Difference:
    action = Action.ON if wanted.on[i] else Action.OFF
    return Difference(kind, wanted.channel, action, int(wanted.instants[i]), happened)


def _extra(happened: Happenings, j: int, wanted: Wanted) -> Difference:
    action = Action.ON if happened.on[j] else Action.OFF
    return Difference("extra", wanted.channel, action, None, int(happened.starts[j]))
