"""Shorter date sets for stored events, so that on each date the nearer one is the one that acts.

The first firing of a cell moves the lamps. An event that comes first on a date where another lies
nearer to the wish does harm there. Its dates are cut to a part of what they are, which is never
less harmless; one event after the other, as long as the sum of all distances falls.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from operator import itemgetter

from schedcomp.fit.acting import Act, ChannelRow, comes
from schedcomp.fit.date_ranges import Places, RangeAxis
from schedcomp.fit.settled import Stored
from schedcomp.records import Record, replace

Pair = tuple[int, Places | None]
"""Weekdays as a bit set, and the places of a range."""


class Freedom(Record):
    """To what dates may be cut: weekday sets the controller knows (None: any), and ranges."""

    weekday_sets: tuple[int, ...] | None
    ranges: RangeAxis

    def weekdays(self, whole: int) -> Iterator[int]:
        """The sets within one, itself first."""
        yield whole
        if self.weekday_sets is None:
            yield from (part for part in range(whole - 1, 0, -1) if part & ~whole == 0)
        else:
            yield from (part for part in self.weekday_sets if part != whole and part & ~whole == 0)


def trimmed(
    events: Sequence[Stored],
    acts: Sequence[Sequence[Act]],
    weights: Sequence[int],
    freedom: Freedom,
) -> tuple[Stored, ...]:
    """The events on dates for which the weighted distances add up to less, or as they were.

    `acts` are what each event can do, `weights` those of the channels (index). Events of plans
    stay as they are.
    """
    table = Table.of(events, acts, weights)
    changed = True
    while changed:
        changed = False
        for number, limit in enumerate(events):
            if limit.plan:
                continue
            pair = _best_pair(_stakes(table, number, limit), limit, freedom)
            changed |= table.replaced(number, replace(limit, weekdays=pair[0], places=pair[1]))
    return tuple(table.events)


class Table(Record):
    """Events in the making, with all that could act for each switching, first things first.

    `comes` tells for every event which of its firings come on the dates it has by now.
    """

    events: list[Stored]
    acts: Sequence[Sequence[Act]]
    weights: Sequence[int]
    by_row: dict[ChannelRow, list[tuple[Act, int, int]]]
    comes: list[list[bool]]

    @staticmethod
    def of(
        events: Sequence[Stored], acts: Sequence[Sequence[Act]], weights: Sequence[int]
    ) -> Table:
        by_row: dict[ChannelRow, list[tuple[Act, int, int]]] = {}
        for number, own in enumerate(acts):
            for place, act in enumerate(own):
                by_row.setdefault((act.channel, act.row), []).append((act, number, place))
        for found in by_row.values():
            found.sort(key=lambda one: one[0].nominal)
        coming = [
            [comes(event, act) for act in own] for event, own in zip(events, acts, strict=True)
        ]
        return Table(list(events), acts, weights, by_row, coming)

    def first(self, row: ChannelRow, without: int = -1) -> tuple[Act | None, bool]:
        """The firing that moves the lamps, and whether some event covers the switching."""
        first = None
        for act, number, place in self.by_row[row]:
            if number != without and self.comes[number][place]:
                first = first or act
                if act.covers:
                    return first, True
        return first, False

    def replaced(self, number: int, better: Stored, *, at_most_same: bool = False) -> bool:
        """Whether the event has been replaced: only where all stays covered and the sum falls, or
        (`at_most_same`) does not rise.
        """
        event = self.events[number]
        if event == better:
            return False
        coming = self.comes[number]
        now = [comes(better, act) for act in self.acts[number]]
        rows = {
            (act.channel, act.row)
            for act, one, other in zip(self.acts[number], coming, now, strict=True)
            if one != other
        }
        before = self._cost(rows)
        self.comes[number] = now
        after = self._cost(rows)
        if (
            before is None
            or after is None
            or after > before
            or (after == before and not at_most_same)
        ):
            self.comes[number] = coming
            return False
        self.events[number] = better
        return True

    def _cost(self, rows: set[ChannelRow]) -> int | None:
        """The weighted distances of some switchings, None if one of them is not covered."""
        cost = 0
        for row in rows:
            first, covered = self.first(row)
            if first is None or not covered:
                return None
            cost += first.away_seconds * self.weights[row[0]]
        return cost


class _Stake(Record):
    """A firing of one event: what is lost if it comes, and whether nothing else covers its row.

    `weekdays` are those of its dates, as a bit set.
    """

    act: Act
    loss: int
    needed: bool
    weekdays: int


def _stakes(table: Table, number: int, limit: Stored) -> list[_Stake]:
    """What the firings within a limit mean while the other events stay as they are."""
    found = []
    for act in table.acts[number]:
        if not comes(limit, act):
            continue
        other, covered = table.first((act.channel, act.row), without=number)
        loss = 0
        if other is not None and act.nominal < other.nominal:
            loss = (act.away_seconds - other.away_seconds) * table.weights[act.channel]
        weekdays = 0
        for _, weekday in act.spots:
            weekdays |= 1 << weekday
        found.append(_Stake(act, loss, act.covers and not covered, weekdays))
    return found


def _best_pair(stakes: Sequence[_Stake], limit: Stored, freedom: Freedom) -> Pair:
    """The part of a limit with the least loss that keeps what is needed; of equals the largest."""
    whole = (limit.weekdays, limit.places)
    if all(stake.loss <= 0 for stake in stakes):
        return whole
    ideal = sum(min(stake.loss, 0) for stake in stakes)
    best, least = whole, sum(stake.loss for stake in stakes)
    needed = 0
    for stake in stakes:
        needed |= stake.weekdays if stake.needed else 0
    for weekdays in freedom.weekdays(limit.weekdays):
        if needed & ~weekdays:
            continue
        inside = [stake for stake in stakes if not stake.weekdays & ~weekdays]
        places, loss = _best_places(inside, limit.places, freedom.ranges)
        if loss < least:
            best, least = (weekdays, places), loss
        if least == ideal:
            break
    return best


def _best_places(
    stakes: Sequence[_Stake], places: Places | None, ranges: RangeAxis
) -> tuple[Places | None, int]:
    """The range within `places` with the least loss, and that loss."""
    everything = sum(stake.loss for stake in stakes)
    if ranges.whole_only or not any(stake.needed for stake in stakes):
        return places, everything
    count = ranges.count
    if places is None and ranges.circular:
        return _without_arc(stakes, everything, count)
    first, last = places or (0, count - 1)
    begin, saved = _cut(
        (min((p - first) % count for p, _ in s.act.spots), s.loss, s.needed) for s in stakes
    )
    end, saved_too = _cut(
        (min((last - p) % count for p, _ in s.act.spots), s.loss, s.needed) for s in stakes
    )
    if not (begin or end):
        return places, everything
    return ((first + begin) % count, (last - end) % count), everything - saved - saved_too


def _cut(items: Iterable[tuple[int, int, bool]]) -> tuple[int, int]:
    """How many places to cut off from an end, and what that saves.

    Items are (places from the end, loss, needed).
    """
    places, most, saved = 0, 0, 0
    for distance, group in groupby(sorted(items), key=itemgetter(0)):
        members = list(group)
        if any(needed for _, _, needed in members):
            break
        saved += sum(loss for _, loss, _ in members)
        if saved > most:
            places, most = distance + 1, saved
    return places, most


def _without_arc(
    stakes: Sequence[_Stake], everything: int, count: int
) -> tuple[Places | None, int]:
    """The circle without the arc that saves most and holds nothing needed."""
    losses: dict[int, int] = {}
    needed: set[int] = set()
    for stake in stakes:
        place = stake.act.spots[0][0]
        losses[place] = losses.get(place, 0) + stake.loss
        if stake.needed:
            needed.add(place)
    places, most = None, 0
    begin, saved = None, 0
    for place in [*sorted(losses), *sorted(losses)]:
        if place in needed or saved + losses[place] <= 0:
            begin, saved = None, 0
            continue
        begin = place if begin is None else begin
        saved += losses[place]
        if saved > most:
            places, most = ((place + 1) % count, (begin - 1) % count), saved
    return places, everything - most
