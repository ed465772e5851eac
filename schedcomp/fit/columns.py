"""Events that could be stored in place of others: what each covers, and how far it is off."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.clock import day_number
from schedcomp.fit.acting import Reach
from schedcomp.fit.bit_sets import row_bits
from schedcomp.fit.candidates import Candidate, Cut, candidates_of
from schedcomp.fit.cells import NO_ROW, Cells, Profile
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import Bools, Firings, all_dates, any_date
from schedcomp.fit.seen import Seen
from schedcomp.model import DAY, Action
from schedcomp.program import ClockStart, Start
from schedcomp.records import Record


class Column(Record):
    """An event that could be stored: `covers` is a bit set of rows, `away` the distance by row."""

    start: Start
    weekdays: int
    places: tuple[int, int] | None
    covers: int
    away: tuple[tuple[int, int], ...]


class Choice(Record):
    """What the columns of one channel and action are made from.

    `reaches` belong to `groups`. `escapes` marks the axis dates that may become special days.
    """

    groups: Sequence[Firings]
    reaches: Sequence[Reach]
    cells: Cells
    action: Action
    ranges: RangeAxis
    weekday_sets: Sequence[frozenset[int]] | None
    escapes: Bools

    def columns(self) -> list[Column]:
        """In canonical order every start with every date set that cannot be enlarged."""
        found: list[Column] = []
        for group, reach in zip(self.groups, self.reaches, strict=True):
            seen = self._seen(group, reach)
            candidates = candidates_of(
                group, [seen], self.action, self.ranges, self.weekday_sets, Cut.NOWHERE
            )
            found += self._columns(group, reach, candidates)
        return sorted(found, key=order)

    def special_rows(self) -> int:
        """The rows that something acts for on a date that may become a special day."""
        found: set[int] = set()
        for group, reach in zip(self.groups, self.reaches, strict=True):
            touched = any_date(self._escaping(group))
            found |= set(reach.row[touched].tolist()) | set(reach.other_row[touched].tolist())
        return sum(1 << row for row in found - {NO_ROW})

    def rows_near_special_days(self) -> int:
        """The rows with some instant of the band on a date that may become a special day, or, as
        the clock is not asked, on the date before or after one.
        """
        axis = self.ranges.axis
        first = np.clip(self.cells.low // DAY - day_number(axis.first) - 1, 0, axis.count)
        last = np.clip(self.cells.high // DAY - day_number(axis.first) + 2, first, axis.count)
        marked = np.concatenate([[0], np.cumsum(self.escapes)])
        return row_bits(np.flatnonzero(marked[last] > marked[first]).tolist())

    def nearest(self) -> dict[int, int]:
        """For every row the least distance at which anything acts; 0 where no event ever does."""
        rows = len(self.cells.low)
        least = np.full(rows, np.iinfo(np.int64).max)
        for group, reach in zip(self.groups, self.reaches, strict=True):
            for found in (reach.row, reach.other_row):
                at = np.nonzero(found != NO_ROW)
                away = np.abs(group.nominal[at] - self.cells.asked[found[at]])
                np.minimum.at(least, found[at], away)
        least[least == np.iinfo(np.int64).max] = 0
        wanted = self.cells.turns_on == (self.action is Action.ON)
        return {row: int(least[row]) for row in np.flatnonzero(wanted).tolist()}

    def _seen(self, group: Firings, reach: Reach) -> Seen:
        acting = Profile(reach.row, reach.other_row, reach.seen.never, reach.seen.depends)
        escapes = all_dates(self._escaping(group) | ~self._known(group))
        return Seen(acting, self.cells.asked, 0, 0, escapes)

    def _known(self, group: Firings) -> Bools:
        known: Bools = (group.dates >= 0) & (group.dates < self.ranges.axis.count)
        return known

    def _escaping(self, group: Firings) -> Bools:
        known = self._known(group)
        escaping: Bools = known & self.escapes[np.where(known, group.dates, 0)]
        return escaping

    def _columns(
        self, group: Firings, reach: Reach, candidates: Iterator[Candidate]
    ) -> Iterator[Column]:
        places = {start: place for place, start in enumerate(group.starts)}
        done: Start | None = None
        covered = 0
        away: dict[int, int] = {}
        for candidate in candidates:
            if candidate.start != done:
                done = candidate.start
                covered, away = self._of_start(group, reach, places[done])
            rows = sorted(set(candidate.rows))
            yield Column(
                candidate.start,
                candidate.weekdays,
                candidate.places,
                covered & sum(1 << row for row in rows),
                tuple((row, away[row]) for row in rows),
            )

    def _of_start(self, group: Firings, reach: Reach, place: int) -> tuple[int, dict[int, int]]:
        """The rows a start covers, and its distance for every row it acts for."""
        covered = 0
        for row in {*reach.seen.row[place].tolist(), *reach.seen.other_row[place].tolist()}:
            covered |= 1 << row if row != NO_ROW else 0
        away: dict[int, int] = {}
        for rows in (reach.row[place], reach.other_row[place]):
            occasions = np.flatnonzero(rows != NO_ROW)
            seconds = np.abs(group.nominal[place, occasions] - self.cells.asked[rows[occasions]])
            for row, distance in zip(rows[occasions].tolist(), seconds.tolist(), strict=True):
                away[row] = min(distance, away.get(row, distance))
        return covered, away


def order(column: Column) -> tuple[object, ...]:
    """Canonical order: sun before clock, start, larger weekday sets first, then range."""
    return (
        *start_order(column.start),
        -column.weekdays.bit_count(),
        column.weekdays,
        column.places or (-1, -1),
    )


def start_order(start: Start) -> tuple[bool, str, int]:
    """Sun before clock, then by word and minutes."""
    if isinstance(start, ClockStart):
        return True, "", start.minutes
    return False, start.word, start.offset_minutes
