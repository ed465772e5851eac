"""The fewest events of one channel without special days, with the proof."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from schedcomp.fit.bit_sets import row_bits
from schedcomp.fit.candidates import Candidate, Cut, candidates_of, order_of
from schedcomp.fit.cells import cells_of, contested_rows, profile, useful_firings
from schedcomp.fit.cover import Reduced
from schedcomp.fit.firings import Firings
from schedcomp.fit.joint import with_free_borders
from schedcomp.fit.seen import seen_plainly
from schedcomp.fit.settled import Stored
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole, out_of_reach
from schedcomp.model import Action
from schedcomp.records import Record, replace
from schedcomp.target import ChannelTarget


def fewest_events(job: UnitJob, *, exact: bool) -> Whole | tuple[Hopeless, ...]:
    """The fewest events of a single channel without special days, with a proven lower bound.

    `exact` False: some program and a lower bound, quickly, for asking only whether it fits; the
    bound may be lower than the count although no shorter program exists.
    """
    [channel] = job.channels
    key = ("fewest events", channel.channel, exact)
    return job.remembered(key, lambda: _fewest_events(job, channel, exact))


def _fewest_events(
    job: UnitJob, channel: ChannelTarget, exact: bool
) -> Whole | tuple[Hopeless, ...]:
    if not channel.is_reachable:
        return (out_of_reach(channel),)
    part = _Part.of(job, channel)
    plain = part.covered(canonical=exact)
    if isinstance(plain, _Covered) and len(plain.candidates) == job.least_of_all:
        return plain.whole(channel, part.contested)
    if not part.contested:
        return plain.whole(channel, ()) if isinstance(plain, _Covered) else (plain,)
    # Free borders are a relaxation: where it needs as many, the plain answer is the least.
    free = part.covered(canonical=False, free=True)
    if isinstance(free, Hopeless):
        return (free,)
    if isinstance(plain, _Covered):
        plain = replace(plain, bound=free.bound)
        if not exact or len(plain.candidates) == free.bound:
            return plain.whole(channel, part.contested)
    found = with_free_borders(job, free.bound)
    if isinstance(plain, Hopeless):
        return found or (Hopeless(channel, part.contested),)
    if found is None or found.slots >= len(plain.candidates):
        bound = free.bound if found is None else found.bound
        return replace(plain, bound=bound).whole(channel, part.contested)
    return found


def least_events(job: UnitJob) -> int:
    """A lower bound for a single channel without special days that comes sooner than the fewest
    events; 0 where nothing does all that is asked.
    """
    [channel] = job.channels
    if not channel.is_reachable:
        return 0
    return _Part.of(job, channel).floor()


class _Covered(Record):
    """Events that cover everything, and a lower bound on how many that takes."""

    candidates: tuple[Candidate, ...]
    bound: int

    def whole(self, channel: ChannelTarget, contested: Sequence[int]) -> Whole:
        """The program of one channel whose borders stand at the bands' starts."""
        events = tuple(
            Stored((channel.channel,), c.action, c.start, c.weekdays, c.places)
            for c in self.candidates
        )
        settled, free = cells_of(channel), cells_of(channel, contested)
        return Whole(events, (), (settled,), (free,), len(events), self.bound)


class _Columns(Record):
    """The candidates of one action in canonical order, and the cover to choose from them.

    `missing` are rows that no candidate covers; then there is nothing to choose.
    """

    candidates: tuple[Candidate, ...]
    cover: Reduced
    missing: int


class _Part(Record):
    """One channel of a job with what is worth trying for it, made once."""

    job: UnitJob
    channel: ChannelTarget
    firings: Mapping[Action, tuple[Firings, ...]]
    contested: tuple[int, ...]

    @staticmethod
    def of(job: UnitJob, channel: ChannelTarget) -> _Part:
        firings = job.remembered(
            ("firings", channel.channel), lambda: useful_firings(job.firings, channel)
        )
        contested = job.remembered(
            ("contested", channel.channel), lambda: contested_rows(firings, channel)
        )
        return _Part(job, channel, firings, contested)

    def covered(self, *, canonical: bool, free: bool = False) -> _Covered | Hopeless:
        """Fewest events with each border at its band's start, or (`free`) wherever it suits each
        event by itself.
        """
        chosen: list[Candidate] = []
        bound = missing = 0
        for action in Action:
            columns = self._columns(action, free)
            missing |= columns.missing
            if not columns.missing:
                found = columns.cover.minimum(canonical=canonical)
                chosen += [columns.candidates[c] for c in found.chosen]
                bound += found.bound
        if missing:
            rows = range(len(self.channel.switchings))
            return Hopeless(self.channel, tuple(i for i in rows if missing >> i & 1))
        return _Covered(tuple(chosen), bound)

    def floor(self) -> int:
        """What no program undercuts, wherever borders are."""
        covers = [self._columns(action, bool(self.contested)) for action in Action]
        return 0 if any(c.missing for c in covers) else sum(c.cover.floor() for c in covers)

    def _columns(self, action: Action, free: bool) -> _Columns:
        key = ("columns", self.channel.channel, action, free)
        return self.job.remembered(key, lambda: self._made(action, free))

    def _made(self, action: Action, free: bool) -> _Columns:
        candidates = sorted(self._candidates(action, free), key=order_of)
        turns_on = self.channel.columns.turns_on
        wanted = row_bits(np.flatnonzero(turns_on == (action is Action.ON)).tolist())
        masks = [row_bits(c.rows) for c in candidates]
        reached = 0
        for mask in masks:
            reached |= mask
        missing = wanted & ~reached
        cover = Reduced.of(0 if missing else wanted, masks)
        return _Columns(tuple(candidates), cover, missing)

    def _candidates(self, action: Action, free: bool) -> Iterator[Candidate]:
        cells = cells_of(self.channel, self.contested if free else ())
        for group in self.firings[action]:
            yield from candidates_of(
                group,
                [seen_plainly(profile(group, cells, action), cells.asked)],
                action,
                self.job.ranges,
                self.job.controller.weekday_sets,
                Cut.NOWHERE,
            )
