"""All starts that a controller takes; firings are made only of those that are asked for."""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce

import numpy as np

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.firings import (
    Axis,
    Bools,
    Firings,
    Ints,
    clock_firings,
    clock_minutes,
    offset_minutes,
    word_firings,
)
from schedcomp.fit.in_time import InTime, clock_in_time, sun_in_time
from schedcomp.program import ClockStart, Start
from schedcomp.records import Record, field
from schedcomp.unit_sun import UnitSun, columns_of

Choice = tuple[Bools, ...]
"""For each group of starts which of them are meant."""


class Timetable(Record, eq=False):
    """The starts of a controller in groups: each sun word by offset, then the clock by reading."""

    controller: Controller
    clock: Zone
    axis: Axis
    sun: UnitSun
    _every: list[tuple[Firings, ...]] = field(default_factory=list)

    def every(self) -> tuple[Firings, ...]:
        """The firings of all starts, made once."""
        if not self._every:
            self._every.append(self.firings(tuple(np.ones(n, np.bool_) for n in self.sizes())))
        return self._every[0]

    def sizes(self) -> list[int]:
        """How many starts each group has."""
        return [len(minutes) for _, minutes in self._groups()]

    def firings(self, chosen: Choice) -> tuple[Firings, ...]:
        """The firings of some starts, group by group."""
        found = []
        for (word, minutes), wanted in zip(self._groups(), chosen, strict=True):
            some = minutes[wanted]
            if word:
                firings = word_firings(self.controller, self.clock, self.axis, self.sun, word, some)
            else:
                # All of them are remembered from other sites of the zone.
                every = len(some) == len(minutes)
                firings = clock_firings(
                    self.controller, self.clock, self.axis, None if every else some
                )
            found.append(firings)
        return tuple(found)

    def chosen(self, starts: Iterable[Start]) -> Choice:
        """These starts, without those that the controller does not take."""
        asked = [
            ("", start.minutes)
            if isinstance(start, ClockStart)
            else (start.word, start.offset_minutes)
            for start in starts
        ]
        return tuple(
            np.isin(minutes, [m for known, m in asked if known == word])
            for word, minutes in self._groups()
        )

    def in_time(self, low: Ints, high: Ints, *, ending: bool = False) -> tuple[InTime, ...]:
        """For each group the starts that would surely fire in bands from `low` through `high`, with
        perhaps some more; `ending`: those that could, and would have by the end of the band.
        """
        controller, clock = self.controller, self.clock
        return tuple(
            sun_in_time(columns_of(self.sun.of(word)), clock, controller, low, high, ending=ending)
            if word
            else clock_in_time(clock, controller, low, high)
            for word, _ in self._groups()
        )

    def none(self) -> Choice:
        """No start of any group."""
        return tuple(np.zeros(size, np.bool_) for size in self.sizes())

    def _groups(self) -> list[tuple[str, Ints]]:
        """The word of each group, none for the clock, and its offsets or readings."""
        offsets = offset_minutes(self.controller)
        words = [(start.word, offsets) for start in self.controller.sun_starts]
        if not self.controller.starts_clock:
            return words
        return [*words, ("", clock_minutes(self.controller))]


def either(one: Choice, other: Choice) -> Choice:
    """The starts of both."""
    return tuple(a | b for a, b in zip(one, other, strict=True))


def all_of(choices: Iterable[Choice], nothing: Choice) -> Choice:
    """The starts of all."""
    return reduce(either, choices, nothing)
