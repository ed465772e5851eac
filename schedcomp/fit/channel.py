"""The fewest events for one channel at one tolerance, with the proof."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from schedcomp.controller import Controller
from schedcomp.fit.borders import choose, linked, model_of
from schedcomp.fit.candidates import Candidate, candidates_of
from schedcomp.fit.cells import cells_of, contested_rows, profile
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import Firings
from schedcomp.model import MINUTE, Action
from schedcomp.program import ClockStart
from schedcomp.target import ChannelTarget

MOST_CANDIDATES = 20_000
MOST_ROWS = 3_000
MOST_ROWS_AT_NEED = 8_000
"""Beyond these the model with borders takes minutes and gigabytes; the larger one holds where
nothing is known to work without it.
"""


@dataclass(frozen=True, slots=True)
class Part:
    """The events of one channel and a lower bound on how many it needs."""

    channel: ChannelTarget
    candidates: tuple[Candidate, ...]
    bound: int


@dataclass(frozen=True, slots=True)
class Hopeless:
    """No program of any length does this at this tolerance: `rows` are switchings out of reach."""

    channel: ChannelTarget
    rows: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One channel and everything its events are chosen from."""

    channel: ChannelTarget
    firings: tuple[Firings, ...]
    ranges: RangeAxis
    controller: Controller


def fewest_events(job: Job, *, exact: bool) -> Part | Hopeless:
    """The fewest events that do what the channel's target asks, with a proven lower bound.

    `exact` False: some program and a lower bound, quickly, for asking only whether it fits; the
    bound may be lower than the count although no shorter program exists.
    """
    switchings = job.channel.switchings
    empty = tuple(i for i, s in enumerate(switchings) if s.earliest > s.latest)
    if empty:
        return Hopeless(job.channel, empty)
    contested = contested_rows(job.firings, job.channel)
    plain = _covered(job, (), canonical=exact)
    if not contested:
        return plain
    # Free borders are a relaxation: where it needs as many, the plain answer is the least.
    free = _covered(job, contested, canonical=False)
    if isinstance(free, Hopeless):
        return free
    if isinstance(plain, Part):
        plain = replace(plain, bound=free.bound)
        if not exact or len(plain.candidates) == free.bound:
            return plain
    return _with_borders(job, contested, plain, free)


def _covered(job: Job, contested: Sequence[int], *, canonical: bool) -> Part | Hopeless:
    """Fewest events with each border at its band's start, or, where contested, wherever it suits
    each event by itself.
    """
    chosen: list[Candidate] = []
    bound = 0
    out_of_reach: list[int] = []
    switchings = job.channel.switchings
    for action in Action:
        columns = sorted(_candidates(job, contested, action, cut=False), key=_order)
        wanted = sum(1 << i for i, s in enumerate(switchings) if s.action is action)
        masks = [_mask(c) for c in columns]
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
        return Hopeless(job.channel, tuple(sorted(out_of_reach)))
    return Part(job.channel, tuple(chosen), bound)


def _with_borders(
    job: Job, contested: Sequence[int], plain: Part | Hopeless, free: Part
) -> Part | Hopeless:
    """Events and borders chosen together.

    Beyond MOST_CANDIDATES only those are considered that are largest with borders free or fixed,
    and beyond MOST_ROWS the plain answer stands; then the bound is that of free borders, and the
    answer may have a gap to it.
    """
    cells = cells_of(job.channel, contested)
    columns = list(
        islice(
            (c for action in Action for c in _candidates(job, contested, action, cut=True)),
            MOST_CANDIDATES + 1,
        )
    )
    complete = len(columns) <= MOST_CANDIDATES
    if not complete:
        columns = [
            c
            for rows in (contested, ())
            for action in Action
            for c in _candidates(job, rows, action, cut=False)
        ]
    columns = sorted(dict.fromkeys(columns), key=_order)
    events = linked(columns, job.firings, job.ranges, cells)
    model = model_of(events, cells, job.controller.step_minutes * MINUTE)
    most = MOST_ROWS if isinstance(plain, Part) else MOST_ROWS_AT_NEED
    found = choose(model, len(events)) if len(model.rows) <= most else None
    if found is None:
        return plain if isinstance(plain, Part) else Hopeless(job.channel, tuple(contested))
    bound = found.bound if complete else free.bound
    if isinstance(plain, Part) and len(plain.candidates) <= len(found.chosen):
        return replace(plain, bound=bound)
    return Part(job.channel, tuple(columns[c] for c in found.chosen), bound)


def _candidates(
    job: Job, contested: Sequence[int], action: Action, *, cut: bool
) -> Iterator[Candidate]:
    cells = cells_of(job.channel, contested)
    for group in job.firings:
        yield from candidates_of(
            group,
            profile(group, cells, action),
            cells.asked,
            action,
            job.ranges,
            job.controller.weekday_sets,
            cut=cut,
        )


def _order(candidate: Candidate) -> tuple[object, ...]:
    """Canonical order: sun before clock, nearest to the wish first."""
    start = candidate.start
    which = (
        ("", start.minutes) if isinstance(start, ClockStart) else (start.word, start.offset_minutes)
    )
    return (
        isinstance(start, ClockStart),
        candidate.deviation_seconds,
        which,
        -candidate.weekdays.bit_count(),
        candidate.weekdays,
        candidate.places or (-1, -1),
    )


def _mask(candidate: Candidate) -> int:
    mask = 0
    for row in candidate.rows:
        mask |= 1 << row
    return mask
