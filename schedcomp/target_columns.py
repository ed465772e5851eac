"""The target of many years at once, as columns: what `expand.py` and `target.py` make one by one.

It is told until the first thing that they would change: a one-off, a stretch too short to switch
or to keep. What comes after that is for them.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from schedcomp.audit.compare import Wanted
from schedcomp.band_columns import in_order, lower_to_next, raise_to_last, worst_errors
from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.date_columns import deciding_lines, named_column
from schedcomp.expand import clockwork_of, days_looked_at
from schedcomp.limits import MOST_WINDOWS
from schedcomp.model import DAY, MINUTE, ONE_DAY, Action, Half, Instant
from schedcomp.moment_columns import Bools, Bounds, ClockworkColumns, Ints, Openings
from schedcomp.phrases.tree import DatesPhrase
from schedcomp.records import Record
from schedcomp.site import Circuit, Site
from schedcomp.span_columns import (
    AT,
    DATE,
    HIGHEST,
    LOWEST,
    RAW,
    SUN,
    Ends,
    Stretches,
    cut,
    union,
)
from schedcomp.target import Grid, allowed
from schedcomp.unit_sun import UnitSun
from schedcomp.world import World


class WantedColumns(Record):
    """What a channel has to do, told for the time before `told_until`; None: all is told."""

    wanted: Wanted
    told_until: Instant | None


def wanted_columns(
    site: Site,
    controller: Controller,
    world: World,
    clock: Zone,
    sun: UnitSun,
    tolerance_minutes: int,
) -> tuple[WantedColumns, ...]:
    """What every circuit asks for over the period of `world`, at a tolerance, without rules.

    `clock` is the controller's own clock; a circuit's own tolerance goes before the one given.
    """
    facts = _Facts.of(site, controller, world, clock, sun)
    return tuple(facts.wanted(circuit, tolerance_minutes) for circuit in site.circuits)


class _Facts(Record):
    """What all circuits of a site are read against; `days` reach beyond the period."""

    site: Site
    controller: Controller
    world: World
    days: Ints
    clockwork: ClockworkColumns
    grid: Grid
    errors: Ints
    start: Instant
    end: Instant

    @classmethod
    def of(
        cls, site: Site, controller: Controller, world: World, clock: Zone, sun: UnitSun
    ) -> _Facts:
        period, zone = world.period, world.zone
        days = days_looked_at(site, world)
        return cls(
            site,
            controller,
            world,
            days,
            ClockworkColumns(clockwork_of(site, world)),
            Grid(clock, controller.step_minutes * MINUTE),
            worst_errors(sun, int(days[0]), len(days)),
            zone.first_pass(period.first, 0),
            zone.first_pass(period.last + ONE_DAY, 0),
        )

    def wanted(self, circuit: Circuit, tolerance_minutes: int) -> WantedColumns:
        own = circuit.tolerance_minutes
        bands = _Bands.of(self, tolerance_minutes if own is None else own)
        dark = union([(numbers, bands.dark(found)) for numbers, found in self._dark(circuit)])
        lit = union([(numbers, bands.lit(found)) for numbers, found in self._windows(circuit)])
        lit = cut(lit, dark)
        odd = [*self._one_offs(circuit), *_too_short(lit, circuit)]
        lit = lit.within(self.start, self.end)
        odd += lit.starts[RAW][lit.starts[AT] >= lit.ends[AT]].tolist()
        odd += [*self._not_switchable(lit), *self._repeated(lit)]
        return WantedColumns(self._in_order(circuit.channel, lit, dark), min(odd, default=None))

    def _windows(self, circuit: Circuit) -> Iterator[tuple[Ints, Openings]]:
        """Every window on the dates of its line, with numbers in the order of reading."""
        for half_number, half in enumerate((Half.MORNING, Half.EVENING)):
            lines = deciding_lines(
                circuit.calendar, half, int(self.days[0]), len(self.days), self.world.holidays
            )
            for line_number, line in enumerate(circuit.calendar):
                day_type = self.site.day_type(line.day_type)
                days = self.days[lines == line_number]
                for place, window in enumerate(day_type.windows if day_type else ()):
                    some = days[self.clockwork.starts_in(window, half, days)]
                    if len(some):
                        found = self.clockwork.openings(window, some)
                        yield (found.days * 2 + half_number) * MOST_WINDOWS + place, found

    def _dark(self, circuit: Circuit) -> Iterator[tuple[Ints, Openings]]:
        """Every stretch that is kept dark, with numbers in the order of reading."""
        for number, line in enumerate(circuit.keep_dark):
            days = self.days[self._named(line.dates)]
            if line.dates.half is not None:
                days = days[self.clockwork.starts_in(line.window, line.dates.half, days)]
            found = self.clockwork.openings(line.window, days, hold=True)
            yield np.full(found.days.shape, number), found

    def _named(self, phrase: DatesPhrase) -> Bools:
        first, count = int(self.days[0]), len(self.days)
        return named_column(phrase.dates, first, count, self.world.holidays)

    def _one_offs(self, circuit: Circuit) -> Iterator[Instant]:
        first, last = self.world.period.first - ONE_DAY, self.world.period.last + ONE_DAY
        for one_off in self.site.one_offs_of(circuit):
            begins, ends = one_off.stretch.start.day, one_off.stretch.end.day
            if begins <= last and ends >= first:
                yield self.world.zone.first_pass(begins, 0)

    def _not_switchable(self, lit: Stretches) -> list[Instant]:
        """Where a span or a gap is too short to switch safely."""
        is_short = lit.ends[AT] - lit.starts[AT] < self._shortest(lit.starts, lit.ends)
        short: list[Instant] = lit.starts[RAW][is_short & (lit.starts[AT] > self.start)].tolist()
        after, before = lit.starts[:, 1:], lit.ends[:, :-1]
        is_short = after[AT] - before[AT] < self._shortest(before, after)
        short += before[RAW][is_short & (after[AT] > self.start)].tolist()
        return short

    def _shortest(self, one: Ends, other: Ends) -> Ints:
        """As `target._Shortest`, in seconds."""
        least = np.full(one.shape[1], self.grid.seconds)
        if self.controller.sun_starts:
            for end in (one, other):
                error = self.grid.seconds + self.errors[end[DATE] - self.days[0]]
                least += np.where(end[SUN], error, 0)
        return least

    def _repeated(self, lit: Stretches) -> Iterator[Instant]:
        """Where something switches near a repeated hour, on units that act in it twice."""
        if self.controller.repeated_time != "twice":
            return
        ends = np.concatenate((lit.starts[AT], lit.ends[AT]))
        for change in self.grid.clock.changes():
            first, last = change.instant + change.skipped, change.instant - change.skipped
            if change.skipped < 0 and ((ends >= first) & (ends <= last)).any():
                yield first

    def _in_order(self, channel: int, lit: Stretches, dark: Stretches) -> Wanted:
        """The switchings after the start with their bands, neighbours a step apart."""
        rows = [AT, LOWEST, HIGHEST]
        both = np.stack((lit.starts[rows], lit.ends[rows]), axis=2).reshape(len(rows), -1)
        at, lowest, highest = both
        is_on = np.arange(len(at)) % 2 == 0
        raise_to_last(lowest[::2], np.sort(dark.ends[RAW]), at[::2])
        lower_to_next(highest[1::2], np.sort(dark.starts[RAW]), at[1::2])
        asked = (at > self.start) & (at <= self.end + DAY)
        at, is_on = at[asked], is_on[asked]
        lowest, highest = in_order(
            self.grid.up_all(lowest[asked]), self.grid.down_all(highest[asked]), self.grid.seconds
        )
        still_lit = len(is_on) > 0 and bool(is_on[-1])
        end = max(self.end - 1 + DAY * still_lit, int(highest.max(initial=0)))
        is_lit = (lit.starts[AT] <= self.start) & (lit.ends[AT] > self.start)
        return Wanted(channel, self.start, bool(is_lit.any()), at, lowest, highest, is_on, end)


class _Bands(Record):
    """Makes ends of the columns of windows: on the step, toward dark, with what is allowed."""

    grid: Grid
    early: dict[Action, int]
    late: dict[Action, int]

    @classmethod
    def of(cls, facts: _Facts, tolerance_minutes: int) -> _Bands:
        return cls(facts.grid, *allowed(facts.site.fit.favour, tolerance_minutes))

    def lit(self, found: Openings) -> Stretches:
        return Stretches(
            self._ends(found, found.start, found.start_at, Action.ON),
            self._ends(found, found.end, found.end_at, Action.OFF),
        )

    def dark(self, found: Openings) -> Stretches:
        return Stretches(
            self._ends(found, found.start, found.start_at, Action.OFF),
            self._ends(found, found.end, found.end_at, Action.ON),
        )

    def _ends(self, found: Openings, bounds: Bounds, raw: Ints, action: Action) -> Ends:
        put = self.grid.up_all if action is Action.ON else self.grid.down_all
        moved = (0, -self.early[action], self.late[action])
        on_step = bounds.with_clocks(put)
        return np.stack((raw, *map(on_step.moved, moved), bounds.has_sun, found.days))


def _too_short(lit: Stretches, circuit: Circuit) -> list[Instant]:
    """Where `shortest_on` and `shortest_off` take effect."""
    starts, ends = lit.starts[RAW], lit.ends[RAW]
    short = starts[ends - starts < circuit.shortest_on_seconds].tolist()
    gaps = starts[1:] - ends[:-1]
    return [*short, *ends[:-1][gaps < circuit.shortest_off_seconds].tolist()]
