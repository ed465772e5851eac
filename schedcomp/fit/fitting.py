"""The search over tolerances, and the program written slot by slot."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.cells import useful_starts
from schedcomp.fit.date_ranges import RangeAxis, range_axis
from schedcomp.fit.fewest import (
    are_apart,
    fewest,
    may_rest,
    needs_more,
    without_special_days,
)
from schedcomp.fit.finish import finished, needed_slots
from schedcomp.fit.firings import Bools, Firings, axis_of
from schedcomp.fit.one_event import worthwhile_starts
from schedcomp.fit.renewed import renewed
from schedcomp.fit.timetable import Timetable
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole
from schedcomp.program import Certificate, Fitted, Program, SmallestTolerance
from schedcomp.records import Record, field, replace
from schedcomp.site import Circuit
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_sun import UnitSun

TargetAt = Callable[[int], Target]
"""The target at a tolerance in minutes."""


class _Unit(Record):
    """A controller with everything that does not change with the tolerance.

    `widest` are the channels of the most tolerant target.
    """

    timetable: Timetable
    ranges: RangeAxis
    widest: tuple[ChannelTarget, ...]
    _useful: list[tuple[Firings, ...]] = field(default_factory=list)

    @staticmethod
    def of(target: Target, controller: Controller, clock: Zone, sun: UnitSun) -> _Unit:
        """For targets that are no more tolerant than this one."""
        axis = axis_of(clock, target.start, [c.end for c in target.channels])
        timetable = Timetable(controller, clock, axis, sun)
        return _Unit(timetable, range_axis(controller, axis), target.channels)

    def job(self, target: Target, *, wide: bool) -> UnitJob:
        """Channels in order of their numbers: the order in the site file decides nothing.

        Not `wide`: with the starts that programs of fewest events have, where that is easily told.
        """
        channels = tuple(sorted(target.channels, key=lambda c: c.channel))
        controller = self.timetable.controller
        chosen = None
        if not wide and are_apart(controller) and not _works_out_states(controller):
            chosen = worthwhile_starts(self.timetable, self.ranges, channels)
        firings = self._firings() if chosen is None else self.timetable.firings(chosen)
        return UnitJob(channels, firings, self.ranges, controller, self.timetable.clock)

    def _firings(self) -> tuple[Firings, ...]:
        """Of those starts only that cover something of the most tolerant target; where the unit
        works out a state from events that never fired, of all.
        """
        if not self._useful:
            every = self.timetable.every()
            if not _works_out_states(self.timetable.controller):
                every = tuple(group.only(_useful(group, self.widest)) for group in every)
            self._useful.append(every)
        return self._useful[0]


class _Attempt(Record):
    """What one tolerance takes; `needed` None: nothing of any length does it.

    `needed` are the slots to compare with: of all channels, or of the channel that needs most.
    """

    job: UnitJob
    found: Whole | tuple[Hopeless, ...]
    needed: int | None
    least: int
    slots: int

    @property
    def fits(self) -> bool:
        return self.needed is not None and self.needed <= self.slots

    @property
    def is_proven(self) -> bool:
        """Whether there is no shorter program."""
        return not isinstance(self.found, Whole) or self.found.slots == self.found.bound


def fit(
    target_at: TargetAt,
    controller: Controller,
    clock: Zone,
    sun: UnitSun,
    *,
    tolerance_minutes: int | None,
    limit_minutes: int,
    circuits: Sequence[Circuit] = (),
    repeat: bool = False,
    keep: Program | None = None,
) -> tuple[Fitted, Target]:
    """The program of fewest events at the tolerance given, or at the smallest one that fits.

    Feasibility only grows with the tolerance, so the smallest is found by halving. What does not
    fit comes back without a program, with what it would need at the largest tolerance allowed.
    `repeat`: spare slots hold safety repeats, and `circuits` tell whose override they would end.
    `keep`: what the units hold now; then as few slots as possible differ from it, though that may
    take some events more.
    """
    widest = limit_minutes if tolerance_minutes is None else tolerance_minutes
    search = _Search.up_to(widest, target_at, controller, clock, sun)
    at_limit = None
    if tolerance_minutes is None:
        at_limit = _attempt(search.job(limit_minutes), exact=False)
        tolerance_minutes = limit_minutes
        if at_limit.fits:
            guess = _guess(limit_minutes, at_limit.needed, controller)
            tolerance_minutes, _ = search.smallest(limit_minutes, guess)
    attempt = _attempt(search.job(tolerance_minutes, wide=keep is not None), exact=True)
    if not attempt.is_proven:
        attempt = _attempt(search.job(tolerance_minutes, wide=True), exact=True)
    target = search.target(tolerance_minutes)
    largest = _largest_tolerance(target, tolerance_minutes)
    fitted = _fitted(attempt, search.unit.timetable, largest, circuits, keep, repeat=repeat)
    at_most = None if at_limit is None else at_limit.needed
    return replace(fitted, tolerance_minutes=tolerance_minutes, slots_at_limit=at_most), target


def smallest_fit(
    target_at: TargetAt, controller: Controller, clock: Zone, sun: UnitSun, limit_minutes: int
) -> SmallestTolerance:
    """The smallest tolerance up to a limit that fits; no program is made."""
    search = _Search.up_to(limit_minutes, target_at, controller, clock, sun)
    widest = _fits(search.job(limit_minutes))
    if not widest.fits:
        return SmallestTolerance(None, None, widest.proven)
    needed = _attempt(search.job(limit_minutes), exact=False).needed
    minutes, proven = search.smallest(limit_minutes, _guess(limit_minutes, needed, controller))
    needed = _attempt(search.job(minutes), exact=True, choose=False).needed
    return SmallestTolerance(minutes, needed, proven)


class _Verdict(Record):
    """Whether a job fits; `proven`: where no program was found, whether there is none."""

    fits: bool
    proven: bool = True


def _fits(job: UnitJob) -> _Verdict:
    """Whether it fits; the exact answer is asked for only where nothing quicker decides."""
    slots, apart = job.controller.event_slots, are_apart(job.controller)
    if needs_more(without_special_days(job) if apart else job, slots, whole=False):
        if not may_rest(job) or not apart:
            return _Verdict(fits=False)
    else:
        quick = _judged(job, fewest(job, exact=False))
        if quick.fits or quick.least > slots or not apart:
            return _verdict(quick)
    if any(needs_more(job, slots, whole=whole) for whole in (False, True)):
        return _Verdict(fits=False)
    return _verdict(_judged(job, fewest(job, exact=True, canonical=False)))


def _verdict(attempt: _Attempt) -> _Verdict:
    beyond = attempt.least > attempt.slots
    proven = attempt.is_proven or beyond
    return _Verdict(attempt.fits, proven)


class _Search(Record):
    """The jobs of a unit at every tolerance asked for; what is known of one stays with it."""

    target_at: TargetAt
    unit: _Unit
    _targets: dict[int, Target]
    _jobs: dict[tuple[int, bool], UnitJob] = field(default_factory=dict)

    @staticmethod
    def up_to(
        most_minutes: int, target_at: TargetAt, controller: Controller, clock: Zone, sun: UnitSun
    ) -> _Search:
        """For tolerances up to this one."""
        most_tolerant = target_at(most_minutes)
        unit = _Unit.of(most_tolerant, controller, clock, sun)
        return _Search(target_at, unit, {most_minutes: most_tolerant})

    def target(self, tolerance_minutes: int) -> Target:
        if tolerance_minutes not in self._targets:
            self._targets[tolerance_minutes] = self.target_at(tolerance_minutes)
        return self._targets[tolerance_minutes]

    def job(self, tolerance_minutes: int, *, wide: bool = False) -> UnitJob:
        """`wide`: with every start that is of use, not only those of fewest events."""
        key = (tolerance_minutes, wide)
        if key not in self._jobs:
            self._jobs[key] = self.unit.job(self.target(tolerance_minutes), wide=wide)
        return self._jobs[key]

    def smallest(self, limit_minutes: int, guess_minutes: int) -> tuple[int, bool]:
        """The smallest tolerance that fits, where the limit does, and whether that is proven; the
        guess is asked for first.
        """
        low, high, asked, proven = 0, limit_minutes, guess_minutes, True
        while low < high:
            asked = min(max(asked, low), high - 1)
            found = _fits(self.job(asked))
            if found.fits:
                # Where a good guess fits, the next smaller tolerance mostly does not.
                high, asked = asked, asked - 1 if asked == guess_minutes else (low + asked) // 2
            else:
                low, asked, proven = asked + 1, (asked + 1 + high) // 2, found.proven
        return high, proven


def _guess(limit_minutes: int, needed: int | None, controller: Controller) -> int:
    """The tolerance at which a program of so many slots at the limit might just fit.

    Clock events follow the sun in steps, the more the smaller they are; sun events do not.
    """
    if controller.sun_starts or not needed:
        return limit_minutes // 2
    return -(-needed * limit_minutes // controller.event_slots)


def _works_out_states(controller: Controller) -> bool:
    """Whether special days may begin or end with a state that follows from events before them."""
    rule = controller.exceptions
    return bool(rule.slots) and "recalculates" in (rule.start, rule.end)


def _useful(group: Firings, channels: Sequence[ChannelTarget]) -> Bools:
    found = np.zeros(len(group.starts), dtype=np.bool_)
    for channel in channels:
        for starts in useful_starts(group, channel).values():
            found |= starts
    return found


def _attempt(job: UnitJob, *, exact: bool, choose: bool = True) -> _Attempt:
    """What a job takes; not `exact`: only enough of an answer to know whether it fits.

    `choose` False: any program of those as short will do.
    """
    controller = job.controller
    apart = are_apart(controller)
    # Where all programs of so few slots fit or none does, what does not needs no choice of one.
    alike = apart and controller.slots_are == "shared" and may_rest(job)
    attempt = _judged(job, fewest(job, exact=exact, canonical=not alike))
    if exact:
        chosen = alike and choose and attempt.fits
        return _judged(job, fewest(job, exact=True)) if chosen else attempt
    if attempt.fits or attempt.least > controller.event_slots or not apart:
        return attempt
    return _judged(job, fewest(job, exact=True, canonical=not alike))


def _judged(job: UnitJob, found: Whole | tuple[Hopeless, ...]) -> _Attempt:
    slots = job.controller.event_slots
    if not isinstance(found, Whole):
        return _Attempt(job, found, None, 0, slots)
    needed = needed_slots(found, job)
    least = found.bound if job.controller.slots_are == "shared" else 0
    return _Attempt(job, found, needed, least, slots)


def _largest_tolerance(target: Target, tolerance_minutes: int) -> int:
    """What the lamps may really do: a circuit's own tolerance goes before the site's."""
    own = [
        channel.tolerance_minutes
        for channel in target.channels
        if any(s.reason.bound.has_sun for s in channel.switchings)
    ]
    return max(own, default=tolerance_minutes)


def _fitted(
    attempt: _Attempt,
    timetable: Timetable,
    tolerance_minutes: int,
    circuits: Sequence[Circuit],
    keep: Program | None,
    *,
    repeat: bool,
) -> Fitted:
    found = attempt.found
    if not attempt.fits or not isinstance(found, Whole):
        hopeless = () if isinstance(found, Whole) else found
        return Fitted(
            program=None,
            certificate=None,
            slots_needed=attempt.needed,
            tolerance_minutes=tolerance_minutes,
            out_of_reach=tuple(
                (h.channel.circuit, tuple(h.channel.switchings[r] for r in h.rows))
                for h in hopeless
            ),
        )
    job, slots = attempt.job, found.slots
    if keep is None:
        done = finished(found, job, timetable, circuits, repeat=repeat)
    else:
        over = renewed(found, job, timetable, circuits, keep, repeat=repeat)
        done, slots = over.finished, over.slots
    return Fitted(
        program=done.program,
        certificate=Certificate(
            slots=slots,
            bound=found.bound,
            tolerance_minutes=tolerance_minutes,
            deviations=done.deviations,
        ),
        slots_needed=attempt.needed,
        tolerance_minutes=tolerance_minutes,
        ended_overrides=done.ended_overrides,
    )
