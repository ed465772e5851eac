"""The search over tolerances, and the program written slot by slot."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.fewest import (
    are_apart,
    fewest,
    may_rest,
    needs_more,
    without_special_days,
)
from schedcomp.fit.finish import finished, needed_slots
from schedcomp.fit.jobs import Unit
from schedcomp.fit.renewed import renewed
from schedcomp.fit.timetable import Timetable
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole
from schedcomp.program import Certificate, Fitted, Program, SmallestTolerance
from schedcomp.records import Record, field, replace
from schedcomp.site import Circuit
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun

TargetAt = Callable[[int], Target]
"""The target at a tolerance in minutes."""


class _Attempt(Record):
    """What one tolerance takes; `needed` None: nothing with these starts does it.

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
        """Whether no program of any starts is shorter, or there is none at all."""
        if not isinstance(self.found, Whole):
            return self.job.least is None
        return self.found.slots == self.found.bound


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
        at_limit = search.attempt(limit_minutes, exact=False)
        tolerance_minutes = limit_minutes
        if at_limit.fits:
            guess = _guess(limit_minutes, at_limit.needed, controller)
            tolerance_minutes, _ = search.smallest(limit_minutes, guess)
    if keep is None:
        attempt = search.attempt(tolerance_minutes, exact=True)
    else:
        attempt = _attempt(search.widest_job(tolerance_minutes), exact=True)
    target = search.target(tolerance_minutes)
    largest = _largest_tolerance(target, tolerance_minutes)
    if keep is None and attempt.fits and isinstance(attempt.found, Whole):
        job, found = search.unit.finishing(
            attempt.job, attempt.found, target, is_proven=attempt.is_proven
        )
        attempt = replace(attempt, job=job, found=found)
    fitted = _fitted(attempt, search.unit.timetable, largest, circuits, keep, repeat=repeat)
    at_most = None if at_limit is None else at_limit.needed
    return replace(fitted, tolerance_minutes=tolerance_minutes, slots_at_limit=at_most), target


def smallest_fit(
    target_at: TargetAt, controller: Controller, clock: Zone, sun: UnitSun, limit_minutes: int
) -> SmallestTolerance:
    """The smallest tolerance up to a limit that fits; no program is made."""
    search = _Search.up_to(limit_minutes, target_at, controller, clock, sun)
    widest = search.verdict(limit_minutes)
    if not widest.fits:
        return SmallestTolerance(None, None, widest.proven)
    needed = search.attempt(limit_minutes, exact=False).needed
    minutes, proven = search.smallest(limit_minutes, _guess(limit_minutes, needed, controller))
    needed = search.attempt(minutes, exact=True, choose=False).needed
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
    unit: Unit
    _targets: dict[int, Target]
    _jobs: dict[int, list[UnitJob]] = field(default_factory=dict)
    _more: dict[int, Iterator[UnitJob]] = field(default_factory=dict)

    @staticmethod
    def up_to(
        most_minutes: int, target_at: TargetAt, controller: Controller, clock: Zone, sun: UnitSun
    ) -> _Search:
        """For tolerances up to this one."""
        most_tolerant = target_at(most_minutes)
        unit = Unit.of(most_tolerant, controller, clock, sun)
        return _Search(target_at, unit, {most_minutes: most_tolerant})

    def target(self, tolerance_minutes: int) -> Target:
        if tolerance_minutes not in self._targets:
            self._targets[tolerance_minutes] = self.target_at(tolerance_minutes)
        return self._targets[tolerance_minutes]

    def widest_job(self, tolerance_minutes: int) -> UnitJob:
        return self.unit.widest_job(self.target(tolerance_minutes))

    def _every_job(self, tolerance_minutes: int) -> Iterator[UnitJob]:
        """Each made once, and only when it is asked for."""
        made = self._jobs.setdefault(tolerance_minutes, [])
        more = self._more.setdefault(
            tolerance_minutes, self.unit.jobs(self.target(tolerance_minutes))
        )
        yield from made
        for job in more:
            made.append(job)
            yield job

    def attempt(self, tolerance_minutes: int, *, exact: bool, choose: bool = True) -> _Attempt:
        """What a tolerance takes, from the first job that answers it; see `_attempt`."""
        attempt = None
        for job in self._every_job(tolerance_minutes):
            attempt = _attempt(job, exact=exact, choose=choose)
            if attempt.is_proven or (attempt.fits and not exact):
                break
        assert attempt is not None, "there is a job with every start"
        return attempt

    def verdict(self, tolerance_minutes: int) -> _Verdict:
        """Whether a tolerance fits."""
        for job in self._every_job(tolerance_minutes):
            if job.least is None:
                return _fits(job)
            if _attempt(job, exact=False).fits:
                break
        return _Verdict(fits=True)

    def smallest(self, limit_minutes: int, guess_minutes: int) -> tuple[int, bool]:
        """The smallest tolerance that fits, where the limit does, and whether that is proven; the
        guess is asked for first.
        """
        low, high, asked, proven = 0, limit_minutes, guess_minutes, True
        while low < high:
            asked = min(max(asked, low), high - 1)
            found = self.verdict(asked)
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
    if job.least is not None:
        found = replace(found, bound=sum(job.least.values()))
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
