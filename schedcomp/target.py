"""What the program has to do: the exact year without spans too short to switch safely.

Made before the fit, and used by the fit and by the test run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import cached_property
from itertools import compress

import numpy as np

from schedcomp.band_columns import in_order, lower_to_next, raise_to_last, worst_errors
from schedcomp.clock import Zone, day_number
from schedcomp.clock_columns import Bools, Ints, offsets_at
from schedcomp.controller import Controller
from schedcomp.model import DAY, MINUTE, Action, Instant
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, Site
from schedcomp.unit_sun import UnitSun
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
    ends = _Ends.of(_spans_of_period(circuit_year, year))
    ends, stepped = _on_the_step(ends, grid)
    replayed: list[Changed] = []
    if controller.repeated_time == "twice":
        ends, replayed = _not_replayed(ends, clock)
    ends, changed = _switchable(ends, year.start, _Shortest.of(ends, grid, controller, sun))
    early, late = allowed(site.fit.favour, tolerance_minutes)
    switchings = _switchings(ends, _Bounds.of(circuit_year), year, grid, early, late)
    still_lit = switchings[-1:] and switchings[-1].action is Action.ON
    return ChannelTarget(
        channel=circuit.channel,
        circuit=circuit.name,
        load_kw=circuit.load_kw or 0.0,
        start=year.start,
        end=max([year.end - 1 + DAY * bool(still_lit), *(s.latest for s in switchings)]),
        lit_at_start=any(s.start <= year.start < s.end for s in ends.spans),
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


class _Ends(Record, eq=False):
    """The ends of spans in order, starts and ends in turn, as columns.

    `days` are the dates they belong to, since 1970-01-01. `at` and `is_sun` tell the first member
    of each bound; `pairs` are the places of the bounds that have two.
    """

    spans: Sequence[Span]
    instants: Ints
    reasons: list[Reason]
    days: Ints
    at: Ints
    is_sun: Bools
    pairs: list[int]

    @classmethod
    def of(cls, spans: Sequence[Span]) -> _Ends:
        reasons = [reason for s in spans for reason in (s.start_reason, s.end_reason)]
        members = [reason.bound.members for reason in reasons]
        return cls(
            spans,
            np.array([instant for s in spans for instant in (s.start, s.end)], np.int64),
            reasons,
            np.array([day_number(reason.date) for reason in reasons], np.int64),
            np.array([both[0][0] for both in members], np.int64),
            np.array([both[0][1] for both in members], np.bool_),
            [place for place, both in enumerate(members) if len(both) > 1],
        )

    @property
    def has_sun(self) -> Bools:
        found = self.is_sun.copy()
        found[self.pairs] = [self.reasons[place].bound.has_sun for place in self.pairs]
        return found

    @property
    def clock_instants(self) -> Ints:
        """All instants in the bounds that do not follow the sun."""
        second = [self.reasons[place].bound.members[1] for place in self.pairs]
        beside = [instant for instant, is_sun in second if not is_sun]
        return np.append(self.at[~self.is_sun], np.array(beside, np.int64))

    def moved(self, sun_seconds: Ints) -> Ints:
        """As `Bound.moved`, each by its own time."""
        found = self.at + self.is_sun * sun_seconds
        for place in self.pairs:
            found[place] = self.reasons[place].bound.moved(int(sun_seconds[place]))
        return found


class _Shortest(Record):
    """How long a span or gap must be for a controller to switch it safely.

    One step, and for each end that follows the sun, on a controller with sun starts, its sun
    error on that date and one step more. `errors` are those of dates from `first_day` on.
    """

    grid: Grid
    has_sun_starts: bool
    first_day: int
    errors: Ints

    @classmethod
    def of(cls, ends: _Ends, grid: Grid, controller: Controller, sun: UnitSun) -> _Shortest:
        days = ends.days if len(ends.spans) else np.zeros(1, np.int64)
        first = int(days.min())
        errors = worst_errors(sun, first, int(days.max()) - first + 1)
        return cls(grid, bool(controller.sun_starts), first, errors)

    def seconds(self, one: Reason, other: Reason) -> int:
        return self.grid.seconds + self._needed(one) + self._needed(other)

    def any_shorter(self, ends: _Ends) -> bool:
        """Whether any span, or gap between two, is shorter than that."""
        by_sun = self.grid.seconds + self.errors[ends.days - self.first_day]
        needed = np.where(ends.has_sun & self.has_sun_starts, by_sun, 0)
        least = self.grid.seconds + needed[1:] + needed[:-1]
        return bool((np.diff(ends.instants) < least).any())

    def _needed(self, end: Reason) -> int:
        """The part of one end."""
        if not self.has_sun_starts or not end.bound.has_sun:
            return 0
        return self.grid.seconds + int(self.errors[day_number(end.date) - self.first_day])


def _on_the_step(ends: _Ends, grid: Grid) -> tuple[_Ends, list[Changed]]:
    """Clock-fixed ends, also those beside a sun time, go to the next step toward dark."""
    fixed = ends.clock_instants
    if np.array_equal(grid.down_all(fixed), fixed):
        return ends, []
    moved: list[Span] = []
    changed: list[Changed] = []
    for span in ends.spans:
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
    return _Ends.of(moved), changed


def _stepped(reason: Reason, toward_dark: Callable[[Instant], Instant]) -> Reason:
    """The reason with the clock members of its bound on the step; itself where they are."""
    if all(is_sun for _, is_sun in reason.bound.members):
        return reason
    members = tuple((t if is_sun else toward_dark(t), is_sun) for t, is_sun in reason.bound.members)
    if members == reason.bound.members:
        return reason
    return replace(reason, bound=Bound(members, reason.bound.which))


def _not_replayed(ends: _Ends, clock: Zone) -> tuple[_Ends, list[Changed]]:
    """Without spans and gaps that lie wholly in a repeated hour, for units that act in it twice.

    Such a span stays dark; such a gap is lengthened to the end of the second pass.
    """
    kept = list(ends.spans)
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
    return (_Ends.of(kept) if changed else ends), changed


def _switchable(ends: _Ends, start: Instant, shortest: _Shortest) -> tuple[_Ends, list[Changed]]:
    """Short spans dropped and short gaps lengthened at their start, until none is left."""
    if not shortest.any_shorter(ends):
        return ends, []
    spans = list(ends.spans)
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
            return _Ends.of(kept), changed
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


def _switchings(
    ends: _Ends,
    bounds: _Bounds,
    year: Year,
    grid: Grid,
    early: Mapping[Action, int],
    late: Mapping[Action, int],
) -> list[TargetSwitching]:
    """Every switching after the start with its band: rounded inward, cut at hard bounds, and
    narrowed so that neighbours keep their order.
    """
    instants = ends.instants
    both = (Action.ON, Action.OFF)
    lowest, highest = (
        np.where(ends.has_sun, ends.moved(np.tile(seconds, len(ends.spans))), instants)
        for seconds in ([-early[action] for action in both], [late[action] for action in both])
    )
    bounds.cut(instants, lowest, highest)
    asked = (instants > year.start) & (instants <= year.end + DAY)
    earliest, latest = in_order(
        grid.up_all(lowest[asked]), grid.down_all(highest[asked]), grid.seconds
    )
    return list(
        map(
            TargetSwitching,
            instants[asked].tolist(),
            compress(both * len(ends.spans), asked),
            earliest.tolist(),
            latest.tolist(),
            compress(ends.reasons, asked),
        )
    )


class _Bounds(Record, eq=False):
    """Instants that bands do not cross: the ends of stretches that stay dark, and stay lit."""

    dark_starts: Ints
    dark_ends: Ints
    lit_starts: Ints
    lit_ends: Ints

    @classmethod
    def of(cls, year: CircuitYear) -> _Bounds:
        dark = [*((d.start, d.end) for d in year.dark), *year.required_dark]
        return cls(*_sorted_ends(dark), *_sorted_ends(year.required_lit))

    def cut(self, instants: Ints, lowest: Ints, highest: Ints) -> None:
        """Bands of an ON and an OFF in turn without what lies beyond the nearest bounds; changed
        in place.
        """
        on, off = slice(0, None, 2), slice(1, None, 2)
        raise_to_last(lowest[on], self.dark_ends, instants[on])
        lower_to_next(highest[on], self.lit_starts, instants[on])
        lower_to_next(highest[off], self.dark_starts, instants[off])
        raise_to_last(lowest[off], self.lit_ends, instants[off])


def _sorted_ends(stretches: Sequence[tuple[Instant, Instant]]) -> tuple[Ints, Ints]:
    starts, ends = np.sort(np.array(stretches, np.int64).reshape(-1, 2), axis=0).T
    return starts, ends
