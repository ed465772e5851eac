"""From a target to the jobs that answer it, the one with the fewest starts first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.fit.date_ranges import RangeAxis, range_axis
from schedcomp.fit.families import Family, families
from schedcomp.fit.fewest import are_apart
from schedcomp.fit.firings import Firings, axis_of
from schedcomp.fit.free_borders import free_cells
from schedcomp.fit.one_event import narrow, narrowest
from schedcomp.fit.stand_ins import without_stand_ins
from schedcomp.fit.timetable import Timetable, all_of
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.records import Record, replace
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun


class Unit(Record):
    """A controller with everything that does not change with the tolerance."""

    timetable: Timetable
    ranges: RangeAxis

    @staticmethod
    def of(target: Target, controller: Controller, clock: Zone, sun: UnitSun) -> Unit:
        """For targets that are no more tolerant than this one."""
        axis = axis_of(clock, target.start, [c.end for c in target.channels])
        return Unit(Timetable(controller, clock, axis, sun), range_axis(controller, axis))

    def jobs(self, target: Target) -> Iterator[UnitJob]:
        """Jobs with more and more starts.

        An answer to one with `least` is right for all starts if it needs no more than that; an
        answer to the last one is right.
        """
        found = self._families(target)
        if self._can_be_parted(target):
            fewest_starts = narrowest(found, self.timetable, self.ranges)
            if fewest_starts is not None:
                least = Counter(family.target.channel for family in found)
                yield self._job(target, fewest_starts, least)
            every = self._useful(found)
            yield self._job(target, without_stand_ins(every, target.channels, self.timetable))
        else:
            yield self.widest_job(target)

    def widest_job(self, target: Target) -> UnitJob:
        """With every start that is of use; where the unit works out a state from events that never
        fired, with all there are.
        """
        if _works_out_states(self.timetable.controller):
            return self._job(target, self.timetable.every())
        return self._job(target, self._useful(self._families(target)))

    def finishing(
        self, job: UnitJob, answer: Whole, target: Target, *, is_proven: bool
    ) -> tuple[UnitJob, Whole]:
        """A job that was answered, and its answer, with all starts that programs as short could
        have, and all the borders that these could move.
        """
        if job.least is not None or not self._can_be_parted(target):
            return job, answer
        found = self._families(target)
        few = narrow(found, self.timetable, self.ranges) if is_proven else None
        firings = few or self._useful(found)
        free = free_cells(job.channels, firings, job.controller, job.clock, self.timetable.axis)
        return replace(job, firings=firings, _known={}), replace(answer, free=free)

    def _can_be_parted(self, target: Target) -> bool:
        """Whether each event does something for one family of switchings, and nothing else."""
        controller = self.timetable.controller
        reachable = all(channel.is_reachable for channel in target.channels)
        return reachable and are_apart(controller) and not _works_out_states(controller)

    def _families(self, target: Target) -> list[Family]:
        return [f for channel in target.channels for f in families(channel, self.timetable)]

    def _useful(self, found: Sequence[Family]) -> tuple[Firings, ...]:
        return self.timetable.firings(all_of([f.every for f in found], self.timetable.none()))

    def _job(
        self, target: Target, firings: tuple[Firings, ...], least: Mapping[int, int] | None = None
    ) -> UnitJob:
        """Channels in order of their numbers: the order in the site file decides nothing."""
        channels = tuple(sorted(target.channels, key=lambda c: c.channel))
        controller, clock = self.timetable.controller, self.timetable.clock
        return UnitJob(channels, firings, self.ranges, controller, clock, least)


def _works_out_states(controller: Controller) -> bool:
    """Whether special days may begin or end with a state that follows from events before them."""
    rule = controller.exceptions
    return bool(rule.slots) and "recalculates" in (rule.start, rule.end)
