"""What the program has to do: the exact year without spans too short to switch safely.

Made before the fit, and used by the fit and by the test run.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import cached_property

import numpy as np

from schedcomp.clock import Zone, day_of_number
from schedcomp.clock_columns import Bools, Ints, offsets_at
from schedcomp.controller import Controller
from schedcomp.model import DAY, MINUTE, Action, Instant
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, Site
from schedcomp.unit_sun import UnitSun, columns_of
from schedcomp.year import Bound, CircuitYear, Reason, Span, Year


class TargetSwitching(Record):
    """One switching and the instants at which a program may do it, both included.

    `earliest` and `latest` equal `instant` where no sun time is involved.
    """

    instant: Instant
    action: Action
    earliest: Instant
    latest: Instant
    reason: Reason


class Changed(Record):
    """A difference between the exact year and the target, named and counted.

    `kind`: "span dropped", "gap lengthened" or "moved to the step".
    """

    kind: str
    start: Instant
    end: Instant
    reason: Reason


class TargetColumns(Record, eq=False):
    """The switchings of a channel, one row each."""

    asked: Ints
    earliest: Ints
    latest: Ints
    turns_on: Bools


class ChannelTarget(Record, kw_only=True, dict=True):
    """Switchings in order, actions alternating, from `start` through `end`, the period's last
    second or, where lamps are lit over the period's end, their next OFF. `lit_at_start` is the
    state of the exact year at `start`. `special` are dates a controller may keep as special days.
    """

    channel: int
    circuit: str
    load_kw: float
    start: Instant
    end: Instant
    lit_at_start: bool
    switchings: tuple[TargetSwitching, ...]
    special: frozenset[date] = frozenset()
    changed: tuple[Changed, ...] = ()
    tolerance_minutes: int = 0

    @cached_property
    def columns(self) -> TargetColumns:
        """The switchings as arrays, made once."""
        every = self.switchings
        return TargetColumns(
            np.array([s.instant for s in every], np.int64),
            np.array([s.earliest for s in every], np.int64),
            np.array([s.latest for s in every], np.int64),
            np.array([s.action is Action.ON for s in every], np.bool_),
        )

    @property
    def is_reachable(self) -> bool:
        """Whether no band is empty."""
        return bool((self.columns.earliest <= self.columns.latest).all())


class Target(Record, kw_only=True):
    """`start` and `end` are the period's first and last local midnight."""

    start: Instant
    end: Instant
    channels: tuple[ChannelTarget, ...]


DROPPED = "span dropped"
LENGTHENED = "gap lengthened"
STEPPED = "moved to the step"


def make_target(
    site: Site,
    year: Year,
    controller: Controller,
    clock: Zone,
    sun: UnitSun,
    tolerance_minutes: int,
) -> Target:
    """The target of every circuit at a tolerance; a circuit's own tolerance goes before it.

    `clock` is the controller's own clock. A band may be empty (`earliest` after `latest`): then
    there is no program at this tolerance.
    """
    channels = []
    for circuit, circuit_year in zip(site.circuits, year.circuits, strict=True):
        minutes = circuit.tolerance_minutes
        allowed = tolerance_minutes if minutes is None else minutes
        channels.append(
            _channel(site, circuit, circuit_year, year, controller, clock, sun, allowed)
        )
    return Target(start=year.start, end=year.end, channels=tuple(channels))


def _channel(
    site: Site,
    circuit: Circuit,
    circuit_year: CircuitYear,
    year: Year,
    controller: Controller,
    clock: Zone,
    sun: UnitSun,
    tolerance_minutes: int,
) -> ChannelTarget:
    grid = Grid(clock, controller.step_minutes * MINUTE)
    spans = _spans_of_period(circuit_year, year)
    spans, stepped = _on_the_step(spans, grid)
    replayed: list[Changed] = []
    if controller.repeated_time == "twice":
        spans, replayed = _not_replayed(spans, clock)
    spans, changed = _switchable(spans, year.start, _shortest(grid, controller, sun))
    early, late = allowed(site.fit.favour, tolerance_minutes)
    bands = _bands(spans, _Bounds.of(circuit_year), year.start, grid, early, late)
    bands = [s for s in bands if s.instant <= year.end + DAY]
    switchings = _tightened(bands, grid.seconds)
    still_lit = switchings[-1:] and switchings[-1].action is Action.ON
    return ChannelTarget(
        channel=circuit.channel,
        circuit=circuit.name,
        load_kw=circuit.load_kw or 0.0,
        start=year.start,
        end=max([year.end - 1 + DAY * bool(still_lit), *(s.latest for s in switchings)]),
        lit_at_start=any(s.start <= year.start < s.end for s in spans),
        switchings=tuple(switchings),
        special=circuit_year.special,
        changed=(*stepped, *replayed, *changed),
        tolerance_minutes=tolerance_minutes,
    )


def _spans_of_period(circuit_year: CircuitYear, year: Year) -> list[Span]:
    """The spans of which some part lies in the period, whole."""
    return [s for s in circuit_year.spans if s.end > year.start and s.start < year.end]


class Grid(Record):
    """The instants at which a controller's own clock stands on its step."""

    clock: Zone
    seconds: int

    def up(self, instant: Instant) -> Instant:
        """The next step at or after an instant."""
        return instant + -(instant + self.clock.offset(instant)) % self.seconds

    def down(self, instant: Instant) -> Instant:
        """The last step at or before an instant."""
        return instant - (instant + self.clock.offset(instant)) % self.seconds

    def up_all(self, instants: Ints) -> Ints:
        """As `up`, for each instant."""
        return instants + -(instants + offsets_at(self.clock, instants)) % self.seconds

    def down_all(self, instants: Ints) -> Ints:
        """As `down`, for each instant."""
        return instants - (instants + offsets_at(self.clock, instants)) % self.seconds


class _Shortest(Record):
    """How long a span or gap must be for a controller to switch it safely.

    One step, and for each end that follows the sun, on a controller with sun starts, its sun
    error on that date and one step more.
    """

    grid: Grid
    has_sun_starts: bool
    error_seconds: Mapping[date, int]

    def seconds(self, one: Reason, other: Reason) -> int:
        return self.grid.seconds + self._needed(one) + self._needed(other)

    def any_shorter(self, spans: Sequence[Span]) -> bool:
        """Whether any span, or gap between two, is shorter than that."""
        starts = np.array([span.start for span in spans], np.int64)
        ends = np.array([span.end for span in spans], np.int64)
        at_start = np.array([self._needed(span.start_reason) for span in spans], np.int64)
        at_end = np.array([self._needed(span.end_reason) for span in spans], np.int64)
        step = self.grid.seconds
        short = ends - starts < at_start + at_end + step
        short_gaps = starts[1:] - ends[:-1] < at_start[1:] + at_end[:-1] + step
        return bool(short.any() or short_gaps.any())

    def _needed(self, end: Reason) -> int:
        """The part of one end."""
        if not self.has_sun_starts or not end.bound.has_sun:
            return 0
        return self.grid.seconds + self.error_seconds.get(end.date, 0)


def _shortest(grid: Grid, controller: Controller, sun: UnitSun) -> _Shortest:
    errors: dict[date, int] = {}
    for _, times in sun.times:
        known = columns_of(times)
        wide = np.maximum(known.nominal - known.earliest, known.latest - known.nominal)
        days, seconds = known.days[known.certain].tolist(), wide[known.certain].tolist()
        for day, error in zip(map(day_of_number, days), seconds, strict=True):
            errors[day] = max(errors.get(day, 0), error)
    return _Shortest(grid, bool(controller.sun_starts), errors)


def _on_the_step(spans: Sequence[Span], grid: Grid) -> tuple[list[Span], list[Changed]]:
    """Clock-fixed ends, also those beside a sun time, go to the next step toward dark."""
    fixed = _clock_instants(spans)
    if np.array_equal(grid.down_all(fixed), fixed):
        return list(spans), []
    moved: list[Span] = []
    changed: list[Changed] = []
    for span in spans:
        start_reason = _stepped(span.start_reason, grid.up)
        end_reason = _stepped(span.end_reason, grid.down)
        start = span.start if start_reason is span.start_reason else start_reason.bound.moved(0)
        end = span.end if end_reason is span.end_reason else end_reason.bound.moved(0)
        if start >= end:
            changed.append(Changed(DROPPED, span.start, span.end, span.start_reason))
            continue
        if start != span.start:
            changed.append(Changed(STEPPED, span.start, start, span.start_reason))
        if end != span.end:
            changed.append(Changed(STEPPED, end, span.end, span.end_reason))
        moved.append(Span(start, end, start_reason, end_reason))
    return moved, changed


def _clock_instants(spans: Sequence[Span]) -> Ints:
    """All instants in the bounds of spans that do not follow the sun."""
    bounds = (reason.bound for s in spans for reason in (s.start_reason, s.end_reason))
    return np.array([t for bound in bounds for t, is_sun in bound.members if not is_sun], np.int64)


def _stepped(reason: Reason, toward_dark: Callable[[Instant], Instant]) -> Reason:
    """The reason with the clock members of its bound on the step; itself where they are."""
    if all(is_sun for _, is_sun in reason.bound.members):
        return reason
    members = tuple((t if is_sun else toward_dark(t), is_sun) for t, is_sun in reason.bound.members)
    if members == reason.bound.members:
        return reason
    return replace(reason, bound=Bound(members, reason.bound.which))


def _not_replayed(spans: Sequence[Span], clock: Zone) -> tuple[list[Span], list[Changed]]:
    """Without spans and gaps that lie wholly in a repeated hour, for units that act in it twice.

    Such a span stays dark; such a gap is lengthened to the end of the second pass.
    """
    kept = list(spans)
    changed: list[Changed] = []
    for change in clock.changes():
        first, last = change.instant + change.skipped, change.instant - change.skipped
        if change.skipped >= 0:
            continue
        replayed = [s for s in kept if first <= s.start and s.end < last]
        changed += [Changed(DROPPED, s.start, s.end, s.start_reason) for s in replayed]
        kept = [s for s in kept if s not in replayed]
        for number in range(1, len(kept)):
            gap, after = (kept[number - 1].end, kept[number].start), kept[number]
            if first <= gap[0] and gap[1] < last < after.end:
                changed.append(Changed(LENGTHENED, gap[1], last, after.start_reason))
                bound = Bound(((last, after.start_reason.bound.has_sun),))
                reason = replace(after.start_reason, bound=bound)
                kept[number] = replace(after, start=last, start_reason=reason)
    return kept, changed


def _switchable(
    spans: list[Span], start: Instant, shortest: _Shortest
) -> tuple[list[Span], list[Changed]]:
    """Short spans dropped and short gaps lengthened at their start, until none is left."""
    if not shortest.any_shorter(spans):
        return list(spans), []
    changed: list[Changed] = []
    while True:
        kept: list[Span] = []
        for span in spans:
            least = shortest.seconds(span.start_reason, span.end_reason)
            if span.start > start and span.end - span.start < least:
                changed.append(Changed(DROPPED, span.start, span.end, span.start_reason))
            else:
                kept.append(span)
        lengthened = _gaps_lengthened(kept, start, shortest, changed)
        if len(kept) == len(spans) and lengthened == kept:
            return kept, changed
        spans = lengthened


def _gaps_lengthened(
    spans: Sequence[Span], start: Instant, shortest: _Shortest, changed: list[Changed]
) -> list[Span]:
    done: list[Span] = []
    for span in spans:
        if done and span.start > start:
            last = done[-1]
            least = shortest.seconds(last.end_reason, span.start_reason)
            if span.start - last.end < least:
                end = shortest.grid.down(span.start - least)
                changed.append(Changed(LENGTHENED, end, last.end, last.end_reason))
                bound = Bound(((end, last.end_reason.bound.has_sun),))
                done[-1] = replace(last, end=end, end_reason=replace(last.end_reason, bound=bound))
        done.append(span)
    gone = [s for s in done if s.end <= s.start]
    changed.extend(Changed(DROPPED, s.start, s.start, s.start_reason) for s in gone)
    return [s for s in done if s.end > s.start]


def allowed(favour: str, minutes: int) -> tuple[dict[Action, int], dict[Action, int]]:
    """Seconds by which an action may be early, and late."""
    on_early, on_late = {"light": (1, 0), "dark": (0, 1), "even": (1, 1)}[favour]
    seconds = minutes * MINUTE
    early = {Action.ON: on_early * seconds, Action.OFF: on_late * seconds}
    late = {Action.ON: on_late * seconds, Action.OFF: on_early * seconds}
    return early, late


def _bands(
    spans: Sequence[Span],
    bounds: _Bounds,
    start: Instant,
    grid: Grid,
    early: dict[Action, int],
    late: dict[Action, int],
) -> list[TargetSwitching]:
    """Every switching after the start with its band, rounded inward and cut at hard bounds."""
    found = []
    for span in spans:
        for instant, action, reason in (
            (span.start, Action.ON, span.start_reason),
            (span.end, Action.OFF, span.end_reason),
        ):
            if instant <= start:
                continue
            lowest, highest = instant, instant
            if reason.bound.has_sun:
                lowest = reason.bound.moved(-early[action])
                highest = reason.bound.moved(late[action])
            found.append((instant, action, *bounds.cut(action, instant, lowest, highest), reason))
    earliest = grid.up_all(np.array([lowest for _, _, lowest, _, _ in found], np.int64))
    latest = grid.down_all(np.array([highest for _, _, _, highest, _ in found], np.int64))
    return [
        TargetSwitching(instant, action, first, last, reason)
        for (instant, action, _, _, reason), first, last in zip(
            found, earliest.tolist(), latest.tolist(), strict=True
        )
    ]


class _Bounds(Record):
    """Instants that bands do not cross: the ends of stretches that stay dark, and stay lit."""

    dark_starts: list[Instant]
    dark_ends: list[Instant]
    lit_starts: list[Instant]
    lit_ends: list[Instant]

    @property
    def are_none(self) -> bool:
        return not (self.dark_starts or self.lit_starts)

    @classmethod
    def of(cls, year: CircuitYear) -> _Bounds:
        dark = [*((d.start, d.end) for d in year.dark), *year.required_dark]
        return cls(
            sorted(start for start, _ in dark),
            sorted(end for _, end in dark),
            sorted(start for start, _ in year.required_lit),
            sorted(end for _, end in year.required_lit),
        )

    def cut(
        self, action: Action, instant: Instant, lowest: Instant, highest: Instant
    ) -> tuple[Instant, Instant]:
        """The band of a switching without what lies beyond the nearest bounds."""
        if self.are_none:
            return lowest, highest
        if action is Action.ON:
            lowest = max([lowest, *_last_at_or_before(self.dark_ends, instant)])
            return lowest, min([highest, *_first_at_or_after(self.lit_starts, instant)])
        highest = min([highest, *_first_at_or_after(self.dark_starts, instant)])
        return max([lowest, *_last_at_or_before(self.lit_ends, instant)]), highest


def _last_at_or_before(ordered: list[Instant], instant: Instant) -> list[Instant]:
    return ordered[: bisect_right(ordered, instant)][-1:]


def _first_at_or_after(ordered: list[Instant], instant: Instant) -> list[Instant]:
    return ordered[bisect_left(ordered, instant) :][:1]


def _tightened(switchings: Sequence[TargetSwitching], step: int) -> list[TargetSwitching]:
    """Bands narrowed so that neighbours keep their order, one step apart."""
    lowest = [s.earliest for s in switchings]
    highest = [s.latest for s in switchings]
    for number in range(1, len(lowest)):
        lowest[number] = max(lowest[number], lowest[number - 1] + step)
    for number in range(len(highest) - 2, -1, -1):
        highest[number] = min(highest[number], highest[number + 1] - step)
    return [
        s
        if s.earliest == low and s.latest == high
        else TargetSwitching(s.instant, s.action, low, high, s.reason)
        for s, low, high in zip(switchings, lowest, highest, strict=True)
    ]
