"""The fewest events of one channel without special days, with the proof."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from schedcomp.fit.candidates import (
    Candidate,
    Cut,
    candidates_of,
    order_of,
    row_bits,
    seen_plainly,
)
from schedcomp.fit.cells import cells_of, contested_rows, profile
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.joint import with_free_borders
from schedcomp.fit.settled import Stored
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole
from schedcomp.model import Action
from schedcomp.target import ChannelTarget


def fewest_events(job: UnitJob, *, exact: bool) -> Whole | tuple[Hopeless, ...]:
    """The fewest events of a single channel without special days, with a proven lower bound.

    `exact` False: some program and a lower bound, quickly, for asking only whether it fits; the
    bound may be lower than the count although no shorter program exists.
    """
    [channel] = job.channels
    empty = tuple(i for i, s in enumerate(channel.switchings) if s.earliest > s.latest)
    if empty:
        return (Hopeless(channel, empty),)
    contested = contested_rows(job.firings, channel)
    plain = _covered(job, channel, (), canonical=exact)
    if not contested:
        return plain.whole(channel, ()) if isinstance(plain, _Covered) else (plain,)
    # Free borders are a relaxation: where it needs as many, the plain answer is the least.
    free = _covered(job, channel, contested, canonical=False)
    if isinstance(free, Hopeless):
        return (free,)
    if isinstance(plain, _Covered):
        plain = replace(plain, bound=free.bound)
        if not exact or len(plain.candidates) == free.bound:
            return plain.whole(channel, contested)
    found = with_free_borders(job, free.bound)
    if isinstance(plain, Hopeless):
        return found or (Hopeless(channel, contested),)
    if found is None or found.slots >= len(plain.candidates):
        bound = free.bound if found is None else found.bound
        return replace(plain, bound=bound).whole(channel, contested)
    return found


@dataclass(frozen=True, slots=True)
class _Covered:
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


def _covered(
    job: UnitJob, channel: ChannelTarget, contested: Sequence[int], *, canonical: bool
) -> _Covered | Hopeless:
    """Fewest events with each border at its band's start, or, where contested, wherever it suits
    each event by itself.
    """
    chosen: list[Candidate] = []
    bound = 0
    out_of_reach: list[int] = []
    switchings = channel.switchings
    for action in Action:
        columns = sorted(_candidates(job, channel, contested, action), key=order_of)
        wanted = row_bits(i for i, s in enumerate(switchings) if s.action is action)
        masks = [row_bits(c.rows) for c in columns]
        reached = 0
        for mask in masks:
            reached |= mask
        missing = wanted & ~reached
        if missing:
            out_of_reach += [i for i in range(len(switchings)) if missing >> i & 1]
            continue
        found = minimum_cover(wanted, masks, canonical=canonical)
        chosen += [columns[c] for c in found.chosen]
        bound += found.bound
    if out_of_reach:
        return Hopeless(channel, tuple(sorted(out_of_reach)))
    return _Covered(tuple(chosen), bound)


def _candidates(
    job: UnitJob, channel: ChannelTarget, contested: Sequence[int], action: Action
) -> Iterator[Candidate]:
    cells = cells_of(channel, contested)
    for group in job.firings:
        yield from candidates_of(
            group,
            [seen_plainly(profile(group, cells, action), cells.asked)],
            action,
            job.ranges,
            job.controller.weekday_sets,
            Cut.NOWHERE,
        )
