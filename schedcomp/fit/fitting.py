"""The search over tolerances, and the program written slot by slot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.candidates import Candidate
from schedcomp.fit.cells import cells_of, covers_anything
from schedcomp.fit.channel import Hopeless, Job, Part, fewest_events
from schedcomp.fit.date_ranges import RangeAxis, range_axis
from schedcomp.fit.firings import Axis, Firings, axis_of, clock_firings, sun_firings
from schedcomp.fit.purpose import purpose_of
from schedcomp.model import Action
from schedcomp.program import Certificate, ClockStart, Event, Fitted, Program, SunOffset
from schedcomp.target import ChannelTarget, Target, TargetSwitching
from schedcomp.unit_sun import UnitSun

TargetAt = Callable[[int], Target]
"""The target at a tolerance in minutes."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """A controller with everything that does not change with the tolerance."""

    controller: Controller
    clock: Zone
    axis: Axis
    firings: tuple[Firings, ...]
    ranges: RangeAxis


@dataclass(frozen=True, slots=True)
class _Attempt:
    """What one tolerance takes; `needed` None: nothing of any length does it."""

    target: Target
    parts: tuple[Part, ...]
    hopeless: tuple[Hopeless, ...]
    fits: bool

    @property
    def needed(self) -> int | None:
        return None if self.hopeless else sum(len(p.candidates) for p in self.parts)


def fit(
    target_at: TargetAt,
    controller: Controller,
    clock: Zone,
    sun: UnitSun,
    *,
    tolerance_minutes: int | None,
    limit_minutes: int,
) -> tuple[Fitted, Target]:
    """The program of fewest events at the tolerance given, or at the smallest one that fits.

    Feasibility only grows with the tolerance, so the smallest is found by halving. What does not
    fit comes back without a program, with what it would need at the largest tolerance allowed.
    """
    widest = max(limit_minutes, tolerance_minutes or 0)
    unit = _unit(target_at(widest), controller, clock, sun)
    at_limit = None
    if tolerance_minutes is None:
        at_limit = _attempt(target_at, unit, limit_minutes, exact=False)
        tolerance_minutes = limit_minutes
        if at_limit.fits:
            tolerance_minutes = _smallest(target_at, unit, limit_minutes)
    attempt = _attempt(target_at, unit, tolerance_minutes, exact=True)
    fitted = _fitted(attempt, unit, _largest_tolerance(attempt.target, tolerance_minutes))
    return replace(
        fitted, slots_at_limit=None if at_limit is None else at_limit.needed
    ), attempt.target


def _unit(target: Target, controller: Controller, clock: Zone, sun: UnitSun) -> _Unit:
    """The unit with those starts only that cover something of `target`, the most tolerant one."""
    axis = axis_of(clock, target.start, [c.end for c in target.channels])
    firings = sun_firings(controller, clock, axis, sun)
    if controller.starts_clock:
        firings.append(clock_firings(controller, clock, axis))
    free = [cells_of(c, range(len(c.switchings))) for c in target.channels if c.switchings]
    useful = tuple(group.only(covers_anything(group, free)) for group in firings)
    return _Unit(controller, clock, axis, useful, range_axis(controller, axis))


def _smallest(target_at: TargetAt, unit: _Unit, limit_minutes: int) -> int:
    """The smallest tolerance that fits; the limit if none does."""
    low, high = 0, limit_minutes
    while low < high:
        middle = (low + high) // 2
        if _attempt(target_at, unit, middle, exact=False).fits:
            high = middle
        else:
            low = middle + 1
    return high


def _attempt(target_at: TargetAt, unit: _Unit, tolerance_minutes: int, *, exact: bool) -> _Attempt:
    """What a tolerance takes; not `exact`: only enough of an answer to know whether it fits."""
    target = target_at(tolerance_minutes)
    jobs = [Job(channel, unit.firings, unit.ranges, unit.controller) for channel in target.channels]
    found = [fewest_events(job, exact=exact) for job in jobs]
    if not exact and not _fits(found, unit.controller) and _might_fit(found, unit.controller):
        found = [fewest_events(job, exact=True) for job in jobs]
    return _Attempt(
        target,
        tuple(f for f in found if isinstance(f, Part)),
        tuple(f for f in found if isinstance(f, Hopeless)),
        _fits(found, unit.controller),
    )


def _fits(found: Sequence[Part | Hopeless], controller: Controller) -> bool:
    counts = [len(p.candidates) for p in found if isinstance(p, Part)]
    return len(counts) == len(found) and _slots(counts, controller) <= controller.event_slots


def _might_fit(found: Sequence[Part | Hopeless], controller: Controller) -> bool:
    bounds = [p.bound for p in found if isinstance(p, Part)]
    return len(bounds) == len(found) and _slots(bounds, controller) <= controller.event_slots


def _slots(counts: Sequence[int], controller: Controller) -> int:
    """The slots to compare with: of all channels, or of the channel that needs most."""
    return sum(counts) if controller.slots_are == "shared" else max(counts, default=0)


def _largest_tolerance(target: Target, tolerance_minutes: int) -> int:
    """What the lamps may really do: a circuit's own tolerance goes before the site's."""
    own = [
        channel.tolerance_minutes
        for channel in target.channels
        if any(s.reason.bound.has_sun for s in channel.switchings)
    ]
    return max(own, default=tolerance_minutes)


def _fitted(attempt: _Attempt, unit: _Unit, tolerance_minutes: int) -> Fitted:
    if not attempt.fits:
        return Fitted(
            program=None,
            certificate=None,
            slots_needed=attempt.needed,
            tolerance_minutes=tolerance_minutes,
            out_of_reach=tuple(
                (h.channel.circuit, tuple(h.channel.switchings[r] for r in h.rows))
                for h in attempt.hopeless
            ),
        )
    events = [
        _event(part.channel, candidate, unit)
        for part in attempt.parts
        for candidate in part.candidates
    ]
    events.sort(key=lambda pair: pair[0])
    numbered = tuple(replace(e, slot=n) for n, (_, e) in enumerate(events, start=1))
    return Fitted(
        program=Program(controller=unit.controller.name, events=numbered),
        certificate=Certificate(
            slots=len(events),
            bound=sum(p.bound for p in attempt.parts),
            tolerance_minutes=tolerance_minutes,
        ),
        slots_needed=len(events),
        tolerance_minutes=tolerance_minutes,
    )


def _event(
    channel: ChannelTarget, candidate: Candidate, unit: _Unit
) -> tuple[tuple[object, ...], Event]:
    """The event with its place in the slot order: channel, then evening to morning."""
    served = [channel.switchings[row] for row in sorted(set(candidate.rows))]
    weekdays = frozenset(d for d in range(7) if candidate.weekdays >> d & 1)
    dates = unit.ranges.dates(candidate.places)
    event = Event(
        slot=0,
        channels=(channel.channel,),
        action=candidate.action,
        start=candidate.start,
        weekdays=weekdays,
        dates=dates,
        purpose=purpose_of(candidate.action, served),
        sources=tuple(
            sorted({s.reason.at for s in served if s.reason.at}, key=lambda at: at.start)
        ),
    )
    order = (
        channel.channel,
        _minutes_after_noon(served, unit.clock),
        candidate.action is Action.OFF,
        _start_order(candidate),
        sorted(weekdays),
        (dates.first, dates.last) if dates else ((0, 0), (0, 0)),
    )
    return order, event


def _minutes_after_noon(served: Sequence[TargetSwitching], clock: Zone) -> int:
    """A typical time of these switchings, counted from noon so that a night stays together."""
    seconds = [(s.instant + clock.offset(s.instant) - 12 * 3600) % 86400 for s in served]
    return int(np.median(seconds)) // 60 if seconds else 0


def _start_order(candidate: Candidate) -> tuple[int, str, int]:
    start = candidate.start
    if isinstance(start, SunOffset):
        return (0, start.word, start.offset_minutes)
    assert isinstance(start, ClockStart)
    return (1, "", start.minutes)
