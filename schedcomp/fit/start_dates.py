"""What every start of some firings does on each date: never allowed, depending, covering."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.fit.bit_sets import as_sets
from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.date_ranges import Places, RangeAxis, run_around
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.fit.seen import Seen
from schedcomp.records import Record

Spot = tuple[int, int]
"""A date as (position, weekday)."""

Weekly = tuple[int, ...]
"""For each weekday a bit set of positions."""


NO_RUN = (-1, -1)


class Whole(Record):
    """All a start ever covers, in the order of the year: on the dates of one range.

    `deviation_seconds` is the mean distance.
    """

    places: Places | None
    rows: tuple[int, ...]
    deviation_seconds: int


class StartDates(Record):
    """What one start does on each date, and the rows it covers: `alone` are (position, weekday,
    row) of firings tested against one date, `several` (dates, row) of others; both in order.
    """

    never: Weekly
    depends: Weekly
    alone: Sequence[tuple[int, int, int]]
    several: Sequence[tuple[tuple[Spot, ...], int]]

    def key(self, weekday_sets: Sequence[frozenset[int]] | None) -> object:
        """All that decides which pairs there are where nothing depends on borders."""
        sets = None if weekday_sets is None else tuple(weekday_sets)
        return self.never, tuple(self.alone), tuple(self.several), sets

    def places(self) -> list[int]:
        """Every position at which something is covered, in order."""
        more = (position for spots, _ in self.several for position, _ in spots)
        return sorted({*(position for position, _, _ in self.alone), *more})


class Covering(Record):
    """Firings that cover a row, start by start: arrays of one length.

    `starts` are numbers among the starts looked at, in order.
    """

    starts: Ints
    occasions: Ints
    rows: Ints
    away: Ints

    def ends(self, count: int) -> list[int]:
        """Where the firings of each start end; they begin where those before it end."""
        ends: list[int] = np.searchsorted(self.starts, np.arange(count), side="right").tolist()
        return ends


class StartGroup(Record):
    """All starts of some firings that are worth looking at, and the dates that decide.

    `positions` and `weekdays` [starts x occasions] are those of the first date a firing is tested
    against, `alone` whether that is all.
    """

    firings: Firings
    seen: Sequence[Seen]
    starts: Ints
    ranges: RangeAxis
    positions: Ints
    weekdays: Ints
    alone: Bools
    covering: Covering

    @staticmethod
    def of(firings: Firings, seen: Sequence[Seen], starts: Ints, ranges: RangeAxis) -> StartGroup:
        days = firings.dates[starts]
        first = np.clip(days[:, :, 0], 0, ranges.axis.count - 1)
        alone = (days[:, :, 0] == days[:, :, 2]) & (days[:, :, 0] == first)
        return StartGroup(
            firings,
            seen,
            starts,
            ranges,
            ranges.positions[first],
            ranges.weekdays[first],
            alone,
            _covering(firings, seen, starts),
        )

    def distances(self) -> Iterator[dict[int, int]]:
        """For each start the seconds between a firing's middle and what was asked, by row."""
        rows, away = self.covering.rows.tolist(), self.covering.away.tolist()
        begin = 0
        for end in self.covering.ends(len(self.starts)):
            yield dict(zip(rows[begin:end], away[begin:end], strict=True))
            begin = end

    def dates(self, cut: bool) -> Iterator[StartDates]:
        """What each start does on each date; without `cut` no date depends on anything."""
        never = self._weekly([one.never(self.starts) for one in self.seen])
        depends: list[Weekly] = [(0,) * 7] * len(self.starts)
        if cut:
            depends = self._weekly([one.conditional(self.starts) for one in self.seen])
        alone, several = self._alone(), self._jointly()
        for number, single in enumerate(alone):
            joint = several.get(number, ())
            more = [(*spots[0], row) for spots, row in joint if len(spots) == 1]
            rest = [(spots, row) for spots, row in joint if len(spots) > 1]
            yield StartDates(
                never[number],
                depends[number],
                sorted([*single, *more]) if more else single,
                sorted(rest),
            )

    def _alone(self) -> Iterator[list[tuple[int, int, int]]]:
        """For each start position, weekday and row of the firings that one date decides."""
        number, positions, weekdays, rows, _ = self._in_order()
        listed = list(zip(positions.tolist(), weekdays.tolist(), rows.tolist(), strict=True))
        begin = 0
        for end in np.searchsorted(number, np.arange(len(self.starts)), side="right").tolist():
            yield listed[begin:end]
            begin = end

    def _in_order(self) -> tuple[Ints, Ints, Ints, Ints, Ints]:
        """Start, position, weekday, row and distance of the firings that one date decides."""
        starts, occasions = self.covering.starts, self.covering.occasions
        single = self.alone[starts, occasions]
        starts, occasions, rows = starts[single], occasions[single], self.covering.rows[single]
        positions, weekdays = self.positions[starts, occasions], self.weekdays[starts, occasions]
        order = np.lexsort((rows, weekdays, positions, starts))
        away = self.covering.away[single]
        return starts[order], positions[order], weekdays[order], rows[order], away[order]

    def whole(self, cut: bool) -> list[Whole | None]:
        """For each start all that it ever covers, where one range without bad dates holds it and
        no weekdays nor parts of it could be of use; None where there may be a choice.
        """
        number, positions, _, rows, away = self._in_order()
        count = len(self.starts)
        ends = np.searchsorted(number, np.arange(count), side="right")
        begins = np.concatenate([[0], ends[:-1]])
        plain = (ends > begins) & ~self._with_a_choice(number, rows, cut)
        bad, on_every_weekday = self._bad()
        seconds = np.concatenate([[0], np.cumsum(away)])
        mean = (seconds[ends] - seconds[begins]) // np.maximum(ends - begins, 1)
        places, listed = positions.tolist(), rows.tolist()
        found: list[Whole | None] = [None] * count
        for one in np.flatnonzero(plain).tolist():
            begin, end = int(begins[one]), int(ends[one])
            run = self._run(bad[one], places[begin:end], bool(on_every_weekday[one]))
            if run is not NO_RUN:
                found[one] = Whole(run, tuple(listed[begin:end]), int(mean[one]))
        return found

    def _with_a_choice(self, number: Ints, rows: Ints, cut: bool) -> Bools:
        """Starts with firings that several dates decide, that cover a row twice or depend."""
        found = np.zeros(len(self.starts), dtype=np.bool_)
        all_of = self.covering
        found[all_of.starts[~self.alone[all_of.starts, all_of.occasions]]] = True
        order = np.lexsort((rows, number))
        again = (np.diff(number[order]) == 0) & (np.diff(rows[order]) == 0)
        found[number[order][1:][again]] = True
        if cut:
            for one in self.seen:
                found |= one.conditional(self.starts).any(axis=1)
        return found

    def _bad(self) -> tuple[list[int], Bools]:
        """For each start the positions never allowed, and if there are some of each weekday."""
        starts, weekdays, positions = self._marked([one.never(self.starts) for one in self.seen])
        table = np.zeros((len(self.starts), self.ranges.count), dtype=np.bool_)
        table[starts, positions] = True
        by_weekday = np.zeros((len(self.starts), 7), dtype=np.bool_)
        by_weekday[starts, weekdays] = True
        on_every_one: Bools = np.logical_and.reduce(by_weekday, axis=1)
        return as_sets(table), on_every_one

    def _run(self, bad: int, places: list[int], on_every_weekday: bool) -> Places | None:
        """The longest range without bad positions if it holds all `places`, else NO_RUN."""
        if not bad:
            return None
        ranges = self.ranges
        if ranges.whole_only or bad >> places[0] & 1:
            return NO_RUN
        first, last = run_around(places[0], bad, ranges)
        if last >= places[-1]:
            return first % ranges.count, last % ranges.count
        # The rest must lie before the year's end, and no weekday come as far on the way there.
        beyond = places[bisect_right(places, last)]
        if first < 0 and beyond >= first + ranges.count and on_every_weekday:
            return first % ranges.count, last
        return NO_RUN

    def _jointly(self) -> dict[int, list[tuple[tuple[Spot, ...], int]]]:
        """For each start the dates and the row of the firings that several dates decide."""
        found: dict[int, list[tuple[tuple[Spot, ...], int]]] = {}
        all_of = self.covering
        for place in np.flatnonzero(~self.alone[all_of.starts, all_of.occasions]).tolist():
            start = int(all_of.starts[place])
            spots = self._several(start, int(all_of.occasions[place]))
            found.setdefault(start, []).append((spots, int(all_of.rows[place])))
        return found

    def _weekly(self, flags: Sequence[Bools]) -> list[Weekly]:
        """For each start the dates of the firings that are marked, as bit sets."""
        table = np.zeros((len(self.starts), 7, self.ranges.count), dtype=np.bool_)
        table[self._marked(flags)] = True
        sets = as_sets(table.reshape(-1, self.ranges.count))
        return [tuple(sets[at : at + 7]) for at in range(0, len(sets), 7)]

    def _marked(self, flags: Sequence[Bools]) -> tuple[Ints, Ints, Ints]:
        """Start, weekday and position of every date of the firings that are marked."""
        starts, occasions = np.nonzero(np.logical_or.reduce(flags))
        positions, weekdays = self.positions[starts, occasions], self.weekdays[starts, occasions]
        more = [
            (starts[place], weekday, position)
            for place in np.flatnonzero(~self.alone[starts, occasions]).tolist()
            for position, weekday in self._several(int(starts[place]), int(occasions[place]))
        ]
        if more:
            extra = np.array(more, dtype=np.int64)
            starts = np.concatenate([starts, extra[:, 0]])
            weekdays = np.concatenate([weekdays, extra[:, 1]])
            positions = np.concatenate([positions, extra[:, 2]])
        return starts, weekdays, positions

    def _several(self, start: int, occasion: int) -> tuple[Spot, ...]:
        days = dict.fromkeys(self.firings.dates[self.starts[start], occasion].tolist())
        return tuple(
            (int(self.ranges.positions[d]), int(self.ranges.weekdays[d]))
            for d in days
            if 0 <= d < self.ranges.axis.count
        )


def _covering(firings: Firings, seen: Sequence[Seen], starts: Ints) -> Covering:
    found: list[tuple[Ints, Ints, Ints, Ints]] = []
    for one in seen:
        for rows in (one.profile.row, one.profile.other_row):
            own = rows[starts]
            number, occasion = np.nonzero(own != NO_ROW)
            row = own[number, occasion]
            at = starts[number], occasion
            away = np.abs((firings.first[at] + firings.last[at]) // 2 - one.asked[row])
            found.append((number, occasion, row + one.base, away))
    numbers, occasions, covered, away = (np.concatenate(part) for part in zip(*found, strict=True))
    order = np.argsort(numbers, kind="stable")
    return Covering(numbers[order], occasions[order], covered[order], away[order])
