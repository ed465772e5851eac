"""One channel and action at a time: what its events could be exchanged for, and a bound for it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.acting import Reach, Stage, reach
from schedcomp.fit.cells import Cells, profile
from schedcomp.fit.columns import Choice, Column
from schedcomp.fit.exchange import (
    Nearest,
    Piece,
    least_count,
    nearest_columns,
    pieces,
)
from schedcomp.fit.firings import Bools
from schedcomp.fit.special_days import is_quiet
from schedcomp.model import Action
from schedcomp.records import Record, field


class Part(Record):
    """The switchings of one channel (index) and action, and what could do them.

    `settled` are the pieces with borders as they are. `loose` are those with all borders free and
    special days wherever they may be, without the switchings these may touch: `fixed_seconds` is
    the least for these.
    """

    channel: int
    action: Action
    settled: tuple[Piece, ...]
    loose: tuple[Piece, ...]
    fixed_seconds: int


class Workshop(Record, eq=False):
    """Makes and solves the parts of a settled program.

    `free` are the cells with all borders free that could be moved.
    """

    stage: Stage
    free: tuple[Cells, ...]
    controller: Controller
    _solved: dict[tuple[Piece, tuple[Column, ...], int], Nearest] = field(default_factory=dict)
    _choices: dict[tuple[int, Action], tuple[Choice, Choice]] = field(default_factory=dict)

    def floors(self) -> list[int]:
        """For every channel the sum of the least distances at which anything could act."""
        return [
            sum(self._fixed(channel, action, ~0) for action in Action)
            for channel in range(len(self.free))
        ]

    def parts(self) -> list[Part]:
        """All parts, in order of channel and action."""
        return [
            self._part(channel, action) for channel in range(len(self.free)) for action in Action
        ]

    def nearest(self, piece: Piece, own: Sequence[Column], count: int) -> Nearest:
        """The nearest choice of so many columns, where `own` are the ones that do it by now."""
        key = (piece, tuple(own), count)
        if key not in self._solved:
            self._solved[key] = nearest_columns(piece, own, count)
        return self._solved[key]

    def bounds(
        self, parts: Sequence[Part], own: Sequence[Sequence[Sequence[Column]]], events: int
    ) -> list[int]:
        """Proven bounds by channel for all programs of so many events.

        `own` are what each loose piece gets by with; what the pieces could do without could go
        to any one of them.
        """
        fewest = [
            [least_count(piece, len(by)) for piece, by in zip(part.loose, known, strict=True)]
            for part, known in zip(parts, own, strict=True)
        ]
        spare = max(0, events - sum(map(sum, fewest)))
        bounds = [0] * len(self.free)
        for part, known, least in zip(parts, own, fewest, strict=True):
            bounds[part.channel] += part.fixed_seconds + sum(
                self.nearest(piece, by, count + spare).bound_seconds
                for piece, by, count in zip(part.loose, known, least, strict=True)
            )
        return bounds

    def _part(self, channel: int, action: Action) -> Part:
        settled, loose = self._settled_and_loose(channel, action)
        rows = _rows(settled.cells, action)
        rests = bool(self.stage.settled.rests[channel].any())
        near = () if rests else tuple(pieces(settled.columns(), rows))
        special = self._special_rows(loose)
        far = near
        if loose is not settled:
            far = tuple(pieces(loose.columns(), rows & ~special))
        return Part(channel, action, near, far, self._fixed(channel, action, special))

    def _fixed(self, channel: int, action: Action, rows: int) -> int:
        """The least for some rows by themselves; nothing for those special days may do."""
        _, loose = self._settled_and_loose(channel, action)
        free_of_charge = 0 if is_quiet(self.controller) else self._special_rows(loose)
        return sum(
            seconds
            for row, seconds in loose.nearest().items()
            if rows >> row & 1 and not free_of_charge >> row & 1
        )

    def _special_rows(self, loose: Choice) -> int:
        """What special days may do, by a plan or where they begin and end."""
        near = 0 if is_quiet(self.controller) else loose.rows_near_special_days()
        return loose.special_rows() | near

    def _settled_and_loose(self, channel: int, action: Action) -> tuple[Choice, Choice]:
        """What could be stored with borders as they are, and with them and special days free."""
        if (channel, action) not in self._choices:
            settled, escapes = self._settled(channel, action), self._escapes(channel)
            loose = settled
            if escapes.any() or not _same_borders(self.free[channel], settled.cells):
                loose = self._loose(channel, action, escapes)
            self._choices[channel, action] = settled, loose
        return self._choices[channel, action]

    def _settled(self, channel: int, action: Action) -> Choice:
        stage = self.stage
        groups = range(len(stage.settled.firings))
        reaches = tuple(stage.reach(number, channel, action) for number in groups)
        nothing = np.zeros(stage.settled.ranges.axis.count, dtype=np.bool_)
        return self._choice(stage.settled.cells[channel], action, reaches, nothing)

    def _loose(self, channel: int, action: Action, escapes: Bools) -> Choice:
        cells = self.free[channel]
        reaches = tuple(
            reach(group, cells, profile(group, cells, action), action)
            for group in self.stage.settled.firings
        )
        return self._choice(cells, action, reaches, escapes)

    def _choice(
        self, cells: Cells, action: Action, reaches: tuple[Reach, ...], escapes: Bools
    ) -> Choice:
        settled, sets = self.stage.settled, self.controller.weekday_sets
        return Choice(settled.firings, reaches, cells, action, settled.ranges, sets, escapes)

    def _escapes(self, channel: int) -> Bools:
        """The axis dates that may become special days, or the day after some."""
        settled = self.stage.settled
        found = np.zeros(settled.ranges.axis.count, dtype=np.bool_)
        if self.controller.exceptions.slots:
            channels = settled.channels
            if self.controller.exceptions.covers != "all channels":
                channels = channels[channel : channel + 1]
            for day in {day for c in channels for day in c.special}:
                first = (day - settled.ranges.axis.first).days
                found[max(0, first) : max(0, first + 3)] = True
        return found


def _rows(cells: Cells, action: Action) -> int:
    """The switchings of one action, as a bit set."""
    wanted = cells.turns_on == (action is Action.ON)
    return sum(1 << row for row in np.flatnonzero(wanted).tolist())


def _same_borders(one: Cells, other: Cells) -> bool:
    return np.array_equal(one.low, other.low) and np.array_equal(one.top, other.top)
