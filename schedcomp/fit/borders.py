"""The exact model where borders are worth choosing: events and borders in one integer program.

y_c: candidate c is stored. beta_(i,t): the border of contested switching i is at or before t,
rising in t; neighbours keep one step apart. A firing that depends on borders asks for them; one
that may lie in several cells chooses one (w), and covers only that one's switching (v).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from schedcomp.fit.candidates import Candidate
from schedcomp.fit.cells import NO_ROW, Cells, Condition, conditions, profile
from schedcomp.fit.cover import Cover, first_in_order
from schedcomp.fit.date_ranges import RangeAxis, all_within
from schedcomp.fit.firings import Firings, Ints
from schedcomp.fit.solver import Model, Row, solve
from schedcomp.model import Action


@dataclass(frozen=True, slots=True)
class Linked:
    """A candidate with the firings that decide about it: (first, last, certain and covering).

    Firings that are harmless whatever the borders and cover nothing are left out.
    """

    candidate: Candidate
    firings: tuple[tuple[int, int, bool], ...]


def linked(
    candidates: Sequence[Candidate], groups: Sequence[Firings], ranges: RangeAxis, cells: Cells
) -> list[Linked]:
    """Every candidate with the firings that matter."""
    matters = {}
    for group in groups:
        for action in Action:
            seen = profile(group, cells, action)
            marks = seen.depends | seen.never | (seen.row != NO_ROW)
            for number, start in enumerate(group.starts):
                matters[start, action] = (group, number, np.flatnonzero(marks[number]))
    return [
        Linked(c, tuple(_firings_of(c, *matters[c.start, c.action], ranges))) for c in candidates
    ]


def _firings_of(
    candidate: Candidate, group: Firings, start: int, occasions: Ints, ranges: RangeAxis
) -> Iterator[tuple[int, int, bool]]:
    days = group.dates[start, occasions]
    known = (days >= 0) & (days < ranges.axis.count)
    days = np.where(known, days, 0)
    inside = known & (candidate.weekdays >> ranges.weekdays[days] & 1).astype(np.bool_)
    if candidate.places is not None:
        inside &= all_within(ranges.positions[days], candidate.places)
    certain = group.certain[start, occasions] & inside.all(axis=1)
    for number in np.flatnonzero(inside.any(axis=1)).tolist():
        occasion = int(occasions[number])
        first, last = int(group.first[start, occasion]), int(group.last[start, occasion])
        yield first, last, bool(certain[number])


def model_of(events: Sequence[Linked], cells: Cells, step: int) -> Model:
    """The program whose first variables say which of `events` are stored."""
    draft = _Draft(cells, step, [1.0] * len(events))
    for number, event in enumerate(events):
        for first, last, covers in event.firings:
            found = list(conditions(first, last, cells, event.candidate.action))
            draft.add_firing(number, first, last, covers, found)
    draft.add_cover_rows()
    draft.add_border_rows()
    return Model(costs=tuple(draft.costs), rows=tuple(draft.rows))


def choose(model: Model, events: int) -> Cover | None:
    """The fewest events with borders under which all are harmless and all is covered."""
    solution = solve(model)
    if solution is None:
        return None
    chosen = [c for c in range(events) if solution.values[c] > 0.5]
    if solution.bound == len(chosen):
        chosen = first_in_order(model, events, chosen)
    return Cover(tuple(chosen), solution.bound)


@dataclass(slots=True)
class _Draft:
    """A model in the making."""

    cells: Cells
    step: int
    costs: list[float]
    rows: list[Row] = field(default_factory=list)
    borders: dict[int, dict[int, int]] = field(default_factory=dict)
    covering: dict[int, set[int]] = field(default_factory=dict)

    def add_firing(
        self, event: int, first: int, last: int, covers: bool, found: list[Condition]
    ) -> None:
        """The event may be stored only if this firing lies in one of the cells found."""
        if len(found) == 1:
            self._ask(event, first, last, found[0])
            if covers and self._in_band(found[0].row, last):
                self.covering.setdefault(found[0].row, set()).add(event)
            return
        picks = []
        for condition in found:
            pick = self._variable()
            picks.append(pick)
            self._ask(pick, first, last, condition)
            if covers and self._in_band(condition.row, last):
                both = self._variable()
                self.rows.append(Row(((both, 1.0), (pick, -1.0)), upper=0.0))
                self.rows.append(Row(((both, 1.0), (event, -1.0)), upper=0.0))
                self.covering.setdefault(condition.row, set()).add(both)
        self.rows.append(Row(((event, 1.0), *((p, -1.0) for p in picks)), upper=0.0))

    def add_cover_rows(self) -> None:
        for row in range(len(self.cells.low)):
            terms = tuple((v, 1.0) for v in sorted(self.covering.get(row, ())))
            self.rows.append(Row(terms, lower=1.0))

    def add_border_rows(self) -> None:
        """Each border's thresholds rise with time; neighbours stay a step apart."""
        for row in range(len(self.cells.low) - 1, -1, -1):
            thresholds = sorted(self.borders.get(row, {}).items())
            for (_, sooner), (_, later) in pairwise(thresholds):
                self.rows.append(Row(((sooner, 1.0), (later, -1.0)), upper=0.0))
            for instant, border in thresholds:
                before = instant - self.step
                if row >= 1 and before < self.cells.top[row - 1]:
                    previous = self._border(row - 1, before)
                    self.rows.append(Row(((border, 1.0), (previous, -1.0)), upper=0.0))

    def _ask(self, variable: int, first: int, last: int, condition: Condition) -> None:
        if condition.after != NO_ROW:
            border = self._border(condition.after, first)
            self.rows.append(Row(((variable, 1.0), (border, -1.0)), upper=0.0))
        if condition.before != NO_ROW:
            border = self._border(condition.before, last)
            self.rows.append(Row(((variable, 1.0), (border, 1.0)), upper=1.0))

    def _in_band(self, row: int, last: int) -> bool:
        return row != NO_ROW and last <= int(self.cells.high[row])

    def _border(self, row: int, instant: int) -> int:
        thresholds = self.borders.setdefault(row, {})
        if instant not in thresholds:
            thresholds[instant] = self._variable()
        return thresholds[instant]

    def _variable(self) -> int:
        self.costs.append(0.0)
        return len(self.costs) - 1
