"""What a whole unit is to do, and a program that does it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar, cast

import numpy as np

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.cells import Cells
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import Firings
from schedcomp.fit.settled import Stored, StoredDays
from schedcomp.records import Record, field
from schedcomp.target import ChannelTarget

Made = TypeVar("Made")


class UnitJob(Record, eq=False):
    """All channels of a unit and everything its events are chosen from.

    `least`, by channel number, is how many events no program goes below with any starts there are,
    where `firings` are only those of the starts that programs of just so many can have.
    """

    channels: tuple[ChannelTarget, ...]
    firings: tuple[Firings, ...]
    ranges: RangeAxis
    controller: Controller
    clock: Zone
    least: Mapping[int, int] | None = None
    _known: dict[object, object] = field(default_factory=dict)

    @property
    def least_of_all(self) -> int:
        """How many events no program goes below, as far as `least` tells."""
        known = self.least or {}
        return sum(known.get(channel.channel, 0) for channel in self.channels)

    def remembered(self, key: object, make: Callable[[], Made]) -> Made:
        """What `make` makes, made once; jobs for some of the channels share it."""
        if key not in self._known:
            self._known[key] = make()
        return cast("Made", self._known[key])


class Whole(Record):
    """A program for a unit: its events and special days, its borders, and a lower bound.

    `free` are the cells with borders free, `settled` those with the borders chosen.
    """

    events: tuple[Stored, ...]
    special_days: tuple[StoredDays, ...]
    settled: tuple[Cells, ...]
    free: tuple[Cells, ...]
    slots: int
    bound: int


class Hopeless(Record):
    """No program of any length does this at this tolerance: `rows` are switchings out of reach."""

    channel: ChannelTarget
    rows: tuple[int, ...]


def out_of_reach(channel: ChannelTarget) -> Hopeless:
    """The switchings whose bands are empty."""
    columns = channel.columns
    empty = np.flatnonzero(columns.earliest > columns.latest)
    return Hopeless(channel, tuple(empty.tolist()))
