"""The fewest events for one channel at one tolerance, with the proof."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from schedcomp.controller import Controller
from schedcomp.fit.borders import choose, linked
from schedcomp.fit.candidates import Candidate, candidates_of
from schedcomp.fit.cells import cells_of, contested_rows, profile
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import Firings
from schedcomp.model import MINUTE, Action
from schedcomp.program import ClockStart
from schedcomp.target import ChannelTarget


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


def fewest_events(
    channel: ChannelTarget,
    firings: Sequence[Firings],
    ranges: RangeAxis,
    controller: Controller,
    *,
    canonical: bool,
) -> Part | Hopeless:
    """The fewest events that do what the channel's target asks.

    `canonical` False: for asking only how many; any optimum will do.
    """
    empty = tuple(i for i, s in enumerate(channel.switchings) if s.earliest > s.latest)
    if empty:
        return Hopeless(channel, empty)
    contested = contested_rows(firings, channel)
    plain = _covered(channel, firings, ranges, controller, (), canonical)
    if not contested:
        return plain
    free = _covered(channel, firings, ranges, controller, contested, False)
    if isinstance(free, Hopeless):
        return free
    # Free borders are a relaxation: where it needs as many, the plain answer is the least.
    if isinstance(plain, Part) and len(plain.candidates) == free.bound:
        return plain
    return _with_borders(channel, firings, ranges, controller, contested)


def _covered(
    channel: ChannelTarget,
    firings: Sequence[Firings],
    ranges: RangeAxis,
    controller: Controller,
    contested: Sequence[int],
    canonical: bool,
) -> Part | Hopeless:
    """Fewest events with each border at its band's start, or, where contested, wherever it suits
    each event by itself.
    """
    chosen: list[Candidate] = []
    bound = 0
    out_of_reach: list[int] = []
    for action in Action:
        columns = _candidates(channel, firings, ranges, controller, contested, action)
        wanted = sum(1 << i for i, s in enumerate(channel.switchings) if s.action is action)
        masks = [_mask(c) for c in columns]
        reached = 0
        for mask in masks:
            reached |= mask
        missing = wanted & ~reached
        if missing:
            out_of_reach += [i for i in range(len(channel.switchings)) if missing >> i & 1]
            continue
        found = minimum_cover(wanted, masks, canonical=canonical)
        chosen += [columns[c] for c in found.chosen]
        bound += found.bound
    if out_of_reach:
        return Hopeless(channel, tuple(sorted(out_of_reach)))
    return Part(channel, tuple(chosen), bound)


def _with_borders(
    channel: ChannelTarget,
    firings: Sequence[Firings],
    ranges: RangeAxis,
    controller: Controller,
    contested: Sequence[int],
) -> Part | Hopeless:
    cells = cells_of(channel, contested)
    columns = [
        c
        for action in Action
        for c in _candidates(channel, firings, ranges, controller, contested, action)
    ]
    events = linked(columns, firings, ranges, cells)
    found = choose(events, cells, controller.step_minutes * MINUTE)
    if found is None:
        return Hopeless(channel, tuple(contested))
    return Part(channel, tuple(columns[c] for c in found.chosen), found.bound)


def _candidates(
    channel: ChannelTarget,
    firings: Sequence[Firings],
    ranges: RangeAxis,
    controller: Controller,
    contested: Sequence[int],
    action: Action,
) -> list[Candidate]:
    """Candidates of one action in canonical order: sun before clock, nearest to the wish first."""
    cells = cells_of(channel, contested)
    found = [
        candidate
        for group in firings
        for candidate in candidates_of(
            group,
            profile(group, cells, action),
            cells.asked,
            action,
            ranges,
            controller.weekday_sets,
        )
    ]
    return sorted(found, key=_order)


def _order(candidate: Candidate) -> tuple[object, ...]:
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
