"""Which dates of a unit decide about each switching: those of its band, and those of firings."""

from __future__ import annotations

import numpy as np

from schedcomp.clock import Zone, day_number
from schedcomp.clock_columns import offsets_at
from schedcomp.controller import ExceptionSlots
from schedcomp.fit.cells import NO_ROW, Cells, profile
from schedcomp.fit.firings import Axis, Firings, Ints
from schedcomp.fit.special_days import first_days
from schedcomp.model import DAY, Action
from schedcomp.program import PLAIN_DARK
from schedcomp.records import Record, field
from schedcomp.target import ChannelTarget


class DecidingDays(Record, eq=False):
    """Dates are numbers on the axis, channels indexes."""

    channels: tuple[ChannelTarget, ...]
    firings: tuple[Firings, ...]
    rule: ExceptionSlots
    clock: Zone
    axis: Axis
    _elsewhere: dict[tuple[int, Action], dict[int, tuple[int, int]]] = field(default_factory=dict)
    _of_bands: dict[int, tuple[Ints, Ints]] = field(default_factory=dict)

    def of_bands(self, channel: int) -> tuple[Ints, Ints]:
        """For each switching of a channel the axis dates in which its band begins and ends."""
        if channel not in self._of_bands:
            columns = self.channels[channel].columns
            begins, ends = columns.earliest, columns.latest
            first = day_number(self.axis.first)
            self._of_bands[channel] = (
                (begins + offsets_at(self.clock, begins)) // DAY - first,
                (ends + offsets_at(self.clock, ends)) // DAY - first,
            )
        return self._of_bands[channel]

    def that_may_do(self, channel: int, cells: Cells) -> tuple[Ints, Ints]:
        """For each switching the first and the last axis date that, as a special day, could do it
        or end with it.
        """
        rule = self.rule
        begins, ends = self.of_bands(channel)
        first, last = begins, ends
        if rule.plan != PLAIN_DARK:
            by_firings = self.of_firings(channel, cells)
            first, last = np.minimum(first, by_firings[0]), np.maximum(last, by_firings[1])
        earliest = self.channels[channel].columns.earliest
        by_ends = first_days(rule, self.clock, earliest) - day_number(self.axis.first)
        first = np.minimum(first, by_ends)
        return np.clip(first, 0, self.axis.count), np.minimum(last, self.axis.count - 1)

    def of_firings(self, channel: int, cells: Cells) -> tuple[Ints, Ints]:
        """For each switching the first and the last axis date that decide a firing that might do
        it, those of its band where none but they do.
        """
        first, last = (days.copy() for days in self.of_bands(channel))
        for action in Action:
            for row, days in self.elsewhere(channel, cells, action).items():
                first[row], last[row] = days
        return first, last

    def elsewhere(self, channel: int, cells: Cells, action: Action) -> dict[int, tuple[int, int]]:
        """Switchings that a firing which another date decides might do, always of these cells;
        the first and the last axis date that decide one.
        """
        if (channel, action) not in self._elsewhere:
            self._elsewhere[channel, action] = self._decided_elsewhere(channel, cells, action)
        return self._elsewhere[channel, action]

    def _decided_elsewhere(
        self, channel: int, cells: Cells, action: Action
    ) -> dict[int, tuple[int, int]]:
        own = self.of_bands(channel)[0].tolist()
        found: dict[int, tuple[int, int]] = {}
        for group in self.firings:
            seen = profile(group, cells, action)
            for rows in (seen.row, seen.other_row):
                doing = rows != NO_ROW
                for row, days in zip(
                    rows[doing].tolist(), group.dates[doing].tolist(), strict=True
                ):
                    if any(day != own[row] for day in days):
                        first, last = found.get(row, (own[row], own[row]))
                        found[row] = min(first, *days), max(last, *days)
        return found
