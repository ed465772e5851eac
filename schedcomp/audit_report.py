"""What the test run found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TypeAlias, overload

import numpy as np
import numpy.typing as npt

from schedcomp.model import Action, Instant
from schedcomp.records import Record

Ints: TypeAlias = npt.NDArray[np.int64]
Bools: TypeAlias = npt.NDArray[np.bool_]

NO_SLOT = 0
"""The slot of what a unit does by itself; those of events count from 1."""


class Difference(Record):
    """Where a run departs from the target: what was expected and what happened.

    `kind`: "missing", "extra", "too early", "too late" or "wrong at the start". Instants are None
    where there is none (an extra switching was not expected).
    """

    kind: str
    channel: int
    action: Action
    expected: Instant | None
    happened: Instant | None


SeenSwitching = tuple[Instant, Action, int]
"""When, what, and the slot that did it."""


class Seen(Sequence[SeenSwitching]):
    """The switchings of a channel in order; the values are made from the columns when one is
    asked for.
    """

    def __init__(self, instants: Ints, on: Bools, slots: Ints) -> None:
        self.columns = instants, on, slots

    def __len__(self) -> int:
        return len(self.columns[0])

    @overload
    def __getitem__(self, place: int) -> SeenSwitching: ...
    @overload
    def __getitem__(self, place: slice) -> tuple[SeenSwitching, ...]: ...
    def __getitem__(self, place: int | slice) -> SeenSwitching | tuple[SeenSwitching, ...]:
        return self._values[place]

    def __iter__(self) -> Iterator[SeenSwitching]:
        return iter(self._values)

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Seen):
            return all(map(np.array_equal, self.columns, other.columns))
        return self._values == other

    def __hash__(self) -> int:
        return hash(self._values)

    @cached_property
    def _values(self) -> tuple[SeenSwitching, ...]:
        instants, on, slots = self.columns
        actions = map((Action.OFF, Action.ON).__getitem__, on.tolist())
        return tuple(zip(instants.tolist(), actions, slots.tolist(), strict=True))


class Run(Record, kw_only=True):
    """One run of the program over the period.

    `name`: "sun exact", "sun early", "sun late" or "sun jittering", followed by ", doubtful
    firings come" where firings that may not come all do, and by ", opposite start". `switchings`
    are (instant, action, slot) by channel as the lamps saw them; slot `NO_SLOT` is what the unit
    does by itself where special days begin or end. The worst figures are against the target's
    instants and stand with these.
    """

    name: str
    differences: tuple[Difference, ...]
    worst_early_seconds: int
    worst_early_at: Instant | None
    worst_late_seconds: int
    worst_late_at: Instant | None
    switchings: tuple[tuple[int, Sequence[SeenSwitching]], ...]

    @property
    def agrees(self) -> bool:
        return not self.differences

    def of_channel(self, channel: int) -> Sequence[SeenSwitching]:
        """The switchings of one channel, empty for a channel without any."""
        return next((s for c, s in self.switchings if c == channel), ())


class Overlap(Record):
    """Two actions, one the opposite of the other, that could come in either order.

    A slot is `NO_SLOT` for what the unit does by itself where special days begin or end; both
    are where the unit then works out the state from events whose order is luck.
    """

    channel: int
    first_slot: int
    second_slot: int
    start: Instant
    end: Instant


class MissedEvent(Record, kw_only=True):
    """The worst that follows if one firing of a slot does not come, once.

    Lamps stay as they were from `at`, when it should have fired, until `until`.
    """

    slot: int
    channel: int
    action: Action
    at: Instant
    until: Instant

    @property
    def seconds(self) -> int:
        return self.until - self.at


class PowerCut(Record, kw_only=True):
    """The worst that follows a cut of one length: lamps wrong from the cut's end until `until`.

    `lit` tells which way: lit when they should be dark, or dark when they should be lit.
    `clock_lost`: the cut outlasts the unit's reserve, and its clock has to be set again. That
    holds for every channel and whenever the cut comes; `seconds` are 0 then, and only the length
    says anything.
    """

    length_seconds: int
    channel: int
    lit: bool
    at: Instant
    until: Instant
    clock_lost: bool

    @property
    def seconds(self) -> int:
        return self.until - self.at - self.length_seconds


class Mishaps(Record, kw_only=True):
    """What one missed event or one power cut would do; never a failure of the program.

    `missed` has one entry for each slot, channel and action, the worst date of each, where the
    loss is felt at all. `cuts` has for every length and for either way of being wrong the worst
    of all channels, where there is one, and one entry for a length that outlasts the reserve.
    """

    missed: tuple[MissedEvent, ...]
    cuts: tuple[PowerCut, ...]

    def worst_missed(self, action: Action) -> MissedEvent | None:
        """The worst single event of this action to miss."""
        chosen = [m for m in self.missed if m.action is action]
        return max(chosen, key=lambda m: m.seconds, default=None)


class AuditReport(Record, kw_only=True):
    """All runs, and the check on intervals that covers every error pattern at once."""

    runs: tuple[Run, ...]
    overlaps: tuple[Overlap, ...]
    interval_differences: tuple[Difference, ...]

    @property
    def agrees(self) -> bool:
        return (
            not self.overlaps
            and not self.interval_differences
            and all(run.agrees for run in self.runs)
        )

    @property
    def exact_run(self) -> Run:
        return self.runs[0]

    @property
    def sun_runs(self) -> tuple[Run, ...]:
        """The exact run, and those with early and late sun times where they differ from it."""
        others = (run for run in self.runs if run.name in ("sun early", "sun late"))
        exact = self.exact_run.switchings
        return self.exact_run, *(run for run in others if run.switchings != exact)
