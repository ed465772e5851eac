"""Among programs of as few events one that lies nearest to the wish, and how near any could."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.controller import Controller
from schedcomp.fit.acting import Stage, away_by_channel, comes, first_acts
from schedcomp.fit.cells import Cells
from schedcomp.fit.columns import Column, start_order
from schedcomp.fit.exchange import Piece, least_distance
from schedcomp.fit.parts import Part, Workshop
from schedcomp.fit.readable import readable
from schedcomp.fit.settled import Settled, Stored, StoredDays
from schedcomp.fit.trimming import Freedom, trimmed
from schedcomp.program import Deviation
from schedcomp.records import Record


def nearest(
    settled: Settled,
    free: tuple[Cells, ...],
    events: tuple[Stored, ...],
    controller: Controller,
    days: tuple[StoredDays, ...] = (),
) -> tuple[tuple[Stored, ...], tuple[Deviation, ...]]:
    """As many events or fewer with less deviation, or the same, and the deviation by channel.

    The deviation of a switching is the time between what was asked and what the lamps do while
    the sun keeps its time: the first firing in its cell, without those that may not come. `free`
    are the cells with all borders free that could be moved, `days` the special days. Channels
    with special days and slots that hold more than one action on one channel keep their events,
    at most on fewer dates.

    Why the bound holds: each event of any program of as few events lies, with all its dates, in
    some candidate of the free cells (dates that may become special days taken as harmless, and
    switchings near them as done by whatever is nearest). These candidates are as many, cover as
    much, and for each switching the nearest of them is as near as the firing that does it. So
    the nearest choice of so many candidates lies below every program, whatever comes first in it.
    """
    stage = Stage(settled, days)
    workshop = Workshop(stage, free, controller)
    bench = _Bench(stage, controller)
    better, bounds = events, workshop.floors()
    if any(b < r for b, r in zip(bounds, bench.seconds(events), strict=True)):
        if _is_plain(controller):
            parts = workshop.parts()
            own = [[bench.columns(events, part, piece) for piece in part.loose] for part in parts]
            bounds = workshop.bounds(parts, own, len(events))
            for part in parts:
                better = bench.exchanged(better, part, workshop)
        better = bench.trimmed(better)
    better = bench.plainer(better)
    reached = bench.seconds(better)
    return tuple(sorted(better, key=_order)), tuple(
        Deviation(channel.circuit, channel.load_kw, seconds, min(bound, seconds))
        for channel, seconds, bound in zip(settled.channels, reached, bounds, strict=True)
    )


def _is_plain(controller: Controller) -> bool:
    """Whether events can be exchanged one for one, each in a slot of its own."""
    return (
        controller.slot_holds == "one action"
        and controller.offsets == "per event"
        and controller.event_covers == "one channel"
        and controller.weekday_set_costs == "one slot"
    )


class _Bench(Record):
    """What can be done to the events of a settled program."""

    stage: Stage
    controller: Controller

    def seconds(self, events: Sequence[Stored]) -> tuple[int, ...]:
        """The deviation of every channel."""
        acts = [self.stage.acts(event) for event in events]
        return away_by_channel(first_acts(events, acts), len(self.stage.settled.channels))

    def trimmed(self, events: Sequence[Stored]) -> tuple[Stored, ...]:
        """On dates for which the deviation is less; not where a slot holds two actions."""
        if self.controller.slot_holds != "one action":
            return tuple(events)
        acts = [self.stage.acts(event) for event in events]
        return trimmed(events, acts, self._weights(), self._freedom())

    def plainer(self, events: Sequence[Stored]) -> tuple[Stored, ...]:
        """On dates that read better and do the same; not where a slot holds two actions."""
        if self.controller.slot_holds != "one action":
            return tuple(events)
        return readable(
            events,
            [self.stage.acts(event) for event in events],
            self._weights(),
            self.stage.settled,
            self._freedom(),
            any_weekdays=self.controller.weekday_set_costs == "one slot",
        )

    def _freedom(self) -> Freedom:
        sets = self.controller.weekday_sets
        return Freedom(
            None if sets is None else tuple(sorted(sum(1 << d for d in s) for s in sets)),
            self.stage.settled.ranges,
        )

    def _weights(self) -> tuple[int, ...]:
        """By load where all are known, in watts."""
        loads = [channel.load_kw for channel in self.stage.settled.channels]
        return tuple(max(1, round(kw * 1000)) if all(loads) else 1 for kw in loads)

    def columns(self, events: Sequence[Stored], part: Part, piece: Piece) -> tuple[Column, ...]:
        """What the events of a part do that cover something of a piece."""
        return tuple(self._column(e, part.channel) for e in self._of_piece(events, part, piece))

    def _column(self, event: Stored, channel: int) -> Column:
        away: dict[int, int] = {}
        for act in self.stage.acts(event):
            if act.channel == channel and comes(event, act):
                away[act.row] = min(act.away_seconds, away.get(act.row, act.away_seconds))
        covers = self._covered(event, channel)
        return Column(
            event.start, event.weekdays, event.places, covers, tuple(sorted(away.items()))
        )

    def _of_piece(self, events: Sequence[Stored], part: Part, piece: Piece) -> tuple[Stored, ...]:
        return tuple(
            event
            for event in events
            if event.action is part.action
            and not event.plan
            and self._covered(event, part.channel) & piece.rows
        )

    def _covered(self, event: Stored, channel: int) -> int:
        """The rows of a channel an event covers, as a bit set."""
        covered = 0
        for act in self.stage.acts(event):
            if act.channel == channel and act.covers and comes(event, act):
                covered |= 1 << act.row
        return covered

    def exchanged(
        self, events: Sequence[Stored], part: Part, workshop: Workshop
    ) -> tuple[Stored, ...]:
        """With the events of each piece exchanged where others lie nearer."""
        done = tuple(events)
        for piece in part.settled:
            own = self._of_piece(done, part, piece)
            others = tuple(event for event in done if event not in own)
            done = (*others, *self._nearer(own, part, piece, workshop))
        return done

    def _nearer(
        self, own: tuple[Stored, ...], part: Part, piece: Piece, workshop: Workshop
    ) -> tuple[Stored, ...]:
        if sum(self.seconds(own)) <= least_distance(piece):
            return own
        found = workshop.nearest(piece, self.columns(own, part, piece), len(own))
        if found.chosen is None:
            return own
        number = self.stage.settled.channels[part.channel].channel
        other = self.trimmed(
            [Stored((number,), part.action, c.start, c.weekdays, c.places) for c in found.chosen]
        )
        covered = 0
        for event in other:
            covered |= self._covered(event, part.channel)
        if piece.rows & ~covered:
            return own
        seconds = sum(self.seconds(other))
        if seconds == found.bound_seconds:
            return other
        own = self.trimmed(own)
        return other if seconds < sum(self.seconds(own)) else own


def _order(event: Stored) -> tuple[object, ...]:
    """Canonical order: channel, ON before OFF, sun before clock, start, weekdays, range."""
    return (
        event.channels,
        event.action.value != "on",
        *start_order(event.start),
        -event.weekdays.bit_count(),
        event.weekdays,
        event.places or (-1, -1),
        event.plan,
    )
