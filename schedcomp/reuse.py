"""Among programs of as few events one that keeps most of an old program's events.

Each border is settled where the new program leaves it room. An old event that does nothing wrong
between these borders may then take part, and a cover is chosen from old and new events: as few
as possible, and of those the one with most old events. The test run has the last word on it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from schedcomp.audit.channels import Channel, channels_for
from schedcomp.audit.unit import Firings
from schedcomp.audit.unit_clock import Ints
from schedcomp.audit_report import NO_SLOT
from schedcomp.controller import Controller
from schedcomp.fit.cover import first_in_order
from schedcomp.fit.purpose import purpose_of
from schedcomp.fit.solver import Model, Row, Solution, solve
from schedcomp.program import Event, Program
from schedcomp.renewal import Body, body_of, with_repeats_named
from schedcomp.target import Target, TargetSwitching
from schedcomp.unit_sun import UnitSun

ChannelRow = tuple[int, int]
"""A channel number and the place of one of its switchings."""

_LONG_AGO = int(np.iinfo(np.int64).min)


@dataclass(frozen=True, slots=True)
class _Offer:
    """An event that may be chosen, and the switchings it does."""

    event: Event
    is_old: bool
    covers: frozenset[ChannelRow]


def reusing(
    old: Program, new: Program, controller: Controller, target: Target, sun: UnitSun, zone: str
) -> tuple[Program, ...]:
    """Programs as short as `new` or shorter that keep more events of `old`, best first.

    `new` must do what the target asks. Empty where nothing is gained, and for controllers whose
    slots hold more than one event or share their offsets, where one event cannot be exchanged for
    another.
    """
    if not _is_plain(controller):
        return ()
    held = {body_of(e) for e in old.events}
    own = {body_of(e) for e in new.events}
    plans = {d.plan for d in new.special_days} | {""}
    extra = [e for e in old.needed if body_of(e) not in own and e.plan in plans]
    if not extra:
        return ()
    # Labels instead of slots tell the firings of old and new events apart.
    labelled = [replace(e, slot=n) for n, e in enumerate((*new.events, *extra), start=NO_SLOT + 1)]
    both = replace(new, events=tuple(labelled))
    channels = [
        c for c in channels_for(both, controller, target, sun, zone) if c.target in target.channels
    ]
    programs = {}
    for early in (True, False):
        offers = _offers(new, labelled, held, channels, early=early)
        rows = [(c.number, row) for c in channels for row in range(len(c.wanted))]
        chosen = _chosen(offers, rows)
        if chosen:
            programs[_written(new, chosen, target)] = _changed(chosen)
    before = sum(body_of(e) not in held for e in new.needed)
    better = [program for program, changed in programs.items() if changed < before]
    return tuple(sorted(better, key=lambda program: programs[program]))


def _is_plain(controller: Controller) -> bool:
    return (
        controller.slot_holds == "one action"
        and controller.offsets == "per event"
        and controller.event_covers == "one channel"
        and controller.weekday_set_costs == "one slot"
    )


def _offers(
    new: Program,
    labelled: Sequence[Event],
    held: set[Body],
    channels: Sequence[Channel],
    *,
    early: bool,
) -> list[_Offer]:
    """The old events that do no harm, in slot order, then the new ones; empty without borders."""
    fresh = len(new.events)
    harmful: set[int] = set()
    covered: dict[int, set[ChannelRow]] = {}
    for channel in channels:
        firings = channel.possible()
        borders = _borders(channel, firings.only(firings.slots <= fresh), early=early)
        if borders is None:
            return []
        harmful |= _harmful(channel, firings, borders)
        for label, row in _covering(channel, firings, borders):
            covered.setdefault(label, set()).add((channel.number, row))
    driven = {channel.number for channel in channels}
    found = [
        _Offer(event, body_of(event) in held, frozenset(covered.get(event.slot, ())))
        for event in labelled
        if not event.safety and event.slot not in harmful and driven.issuperset(event.channels)
    ]
    return sorted(found, key=lambda offer: not offer.is_old)


def _borders(channel: Channel, firings: Firings, *, early: bool) -> Ints | None:
    """One instant for each switching, as early or as late as the new program leaves room for."""
    wanted, count = channel.wanted, len(channel.wanted)
    if not count:
        return np.empty(0, np.int64)
    if not len(firings.starts):
        return None
    first = np.flatnonzero(np.append(True, firings.on[1:] != firings.on[:-1]))
    starts, ends = firings.starts[first], np.maximum.reduceat(firings.ends, first)
    before = np.append(_LONG_AGO, ends[:-1])
    if bool(firings.on[0]) == channel.target.lit_at_start:
        starts, before = starts[1:], before[1:]
    if len(starts) < count:
        return None
    lowest = np.maximum(wanted.earliest, before[:count] + 1)
    highest = np.minimum(wanted.latest, starts[:count])
    if bool((lowest > highest).any()):
        return None
    return lowest if early else highest


def _cells(firings: Firings, borders: Ints) -> tuple[Ints, Ints]:
    """The cell of each firing's first and last instant; -1 is before the first switching."""
    return (
        np.searchsorted(borders, firings.starts, "right") - 1,
        np.searchsorted(borders, firings.ends, "right") - 1,
    )


def _harmful(channel: Channel, firings: Firings, borders: Ints) -> set[int]:
    """Labels with a firing that leaves its cell, or acts against it."""
    cell, last = _cells(firings, borders)
    lit = np.append(channel.wanted.on, channel.target.lit_at_start)[cell]
    return set(firings.slots[(cell != last) | (lit != firings.on)].tolist())


def _covering(channel: Channel, firings: Firings, borders: Ints) -> Iterator[tuple[int, int]]:
    """Label and switching of every firing that certainly does it in time."""
    cell, last = _cells(firings, borders)
    wanted = channel.wanted
    if not len(wanted):
        return
    in_time = (cell >= 0) & (cell == last) & (firings.ends <= wanted.latest[cell])
    for i in np.flatnonzero(firings.certain & in_time & (wanted.on[cell] == firings.on)):
        yield int(firings.slots[i]), int(cell[i])


def _chosen(offers: Sequence[_Offer], rows: Sequence[ChannelRow]) -> list[_Offer]:
    """The fewest offers that cover all rows, with most old ones; of equal choices the first in
    order. Empty where they do not cover all.
    """
    by_row: dict[ChannelRow, list[int]] = {row: [] for row in rows}
    for number, offer in enumerate(offers):
        for row in offer.covers:
            by_row[row].append(number)
    if not all(by_row.values()):
        return []
    # A new event weighs a little more, so little that it never outweighs one event more.
    weight = float(len(offers) + 1)
    model = Model(
        costs=tuple(weight + (not offer.is_old) for offer in offers),
        rows=tuple(
            Row(tuple((number, 1.0) for number in numbers), lower=1.0)
            for numbers in dict.fromkeys(tuple(n) for n in by_row.values())
        ),
    )
    found = solve(model)
    if not isinstance(found, Solution) or found.bound != found.cost(model):
        return []
    values = first_in_order(model, range(len(offers)), found.values)
    return [offer for offer, value in zip(offers, values, strict=True) if value > 0.5]


def _changed(chosen: Sequence[_Offer]) -> int:
    return sum(not offer.is_old for offer in chosen)


def _written(new: Program, chosen: Sequence[_Offer], target: Target) -> Program:
    """The chosen events with their purposes, and the repeats of the new program."""
    switchings = {c.channel: c.switchings for c in target.channels}
    events = [
        _told(offer.event, [switchings[c][row] for c, row in sorted(offer.covers)])
        for offer in chosen
    ]
    bodies = {body_of(e) for e in events}
    repeats = [e for e in new.events if e.safety and body_of(e) not in bodies]
    numbered = (replace(e, slot=n) for n, e in enumerate((*events, *repeats), start=1))
    return with_repeats_named(new, replace(new, events=tuple(numbered)))


def _told(event: Event, served: Sequence[TargetSwitching]) -> Event:
    places = {s.reason.at for s in served if s.reason.at is not None}
    return replace(
        event,
        purpose=purpose_of(event.action, served),
        sources=tuple(sorted(places, key=lambda at: at.start)),
        only_year=None,
    )
