"""The exact model: events, borders and special days in one integer program.

Every stored event is a variable. beta_(i,t): the border of contested switching i is at or before
t, rising in t; neighbours keep one step apart. A firing that depends on borders asks for them; one
that may lie in several cells chooses one, and covers only that one's switching. A firing on a date
that may become a special day counts only while it does not.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from schedcomp.fit.bit_sets import bits, needed_rows, row_bits
from schedcomp.fit.cells import NO_ROW, Cells, Condition, conditions
from schedcomp.fit.firings import Ints
from schedcomp.fit.solver import Model, Row
from schedcomp.model import Action, Instant
from schedcomp.records import Record, field


class Firing(Record):
    """One firing on one channel (index): when, whether surely, and the axis dates that decide."""

    channel: int
    first: Instant
    last: Instant
    certain: bool
    days: tuple[int, ...]


class Draft(Record):
    """A model in the making. Switchings of all channels are numbered through: `bases`."""

    cells: Sequence[Cells]
    bases: Sequence[int]
    step_seconds: int
    costs: list[float] = field(default_factory=list)
    uppers: dict[int, float] = field(default_factory=dict)
    rows: list[Row] = field(default_factory=list)
    borders: dict[tuple[int, int], dict[Instant, int]] = field(default_factory=dict)
    covering: dict[int, set[int]] = field(default_factory=dict)

    def variable(self, cost: float = 0.0, upper: float = 1.0) -> int:
        """A new whole number from 0 to `upper`."""
        self.costs.append(cost)
        if upper != 1.0:
            self.uppers[len(self.costs) - 1] = upper
        return len(self.costs) - 1

    def implies(self, variable: int, other: int) -> None:
        """`variable` may be 1 only where `other` is."""
        self.rows.append(Row(((variable, 1.0), (other, -1.0)), upper=0.0))

    def excludes(self, variable: int, other: int) -> None:
        """Not both are 1."""
        self.rows.append(Row(((variable, 1.0), (other, 1.0)), upper=1.0))

    def forbid(self, variable: int) -> None:
        self.rows.append(Row(((variable, 1.0),), upper=0.0))

    def both(self, variables: Sequence[int], absent: Sequence[int] = ()) -> int:
        """A variable that may be 1 only where all of these are 1 and all `absent` are 0."""
        if len(variables) == 1 and not absent:
            return variables[0]
        together = self.variable()
        for variable in variables:
            self.implies(together, variable)
        for variable in absent:
            self.excludes(together, variable)
        return together

    def covers(self, variable: int, row: int) -> None:
        self.covering.setdefault(row, set()).add(variable)

    def add_firing(
        self,
        variable: int,
        firing: Firing,
        action: Action,
        rests: Sequence[int | None] = (),
        partners: Sequence[int] = (),
    ) -> None:
        """Where `variable` is 1 this firing must be harmless, and may cover a switching.

        `rests` are, for each of its dates, the variable of a special day on which it would not
        come, None where there can be none; `partners` must be 1 too for it to come surely.
        """
        cells = self.cells[firing.channel]
        found = list(conditions(firing.first, firing.last, cells, action))
        resting = [rest for rest in rests if rest is not None]
        escape = self.both(resting) if resting and len(resting) == len(rests) else None
        places = self._placed(variable, firing, found, escape)
        if not firing.certain:
            return
        for place, condition in zip(places, found, strict=True):
            if condition.row != NO_ROW and firing.last <= int(cells.high[condition.row]):
                needs = tuple(dict.fromkeys((variable, place, *partners)))
                row = self.bases[firing.channel] + condition.row
                self.covers(self.both(needs, resting), row)

    def _placed(
        self, variable: int, firing: Firing, found: Sequence[Condition], escape: int | None
    ) -> list[int]:
        """For each cell the firing may lie in the variable that puts it there."""
        if not found:
            self.implies(variable, escape) if escape is not None else self.forbid(variable)
            return []
        if len(found) == 1 and (escape is None or _is_sure(found[0])):
            self._ask(variable, firing, found[0])
            return [variable]
        picks = [self.variable() for _ in found]
        for pick, condition in zip(picks, found, strict=True):
            self._ask(pick, firing, condition)
        ways = picks if escape is None else [*picks, escape]
        self.rows.append(Row(((variable, 1.0), *((way, -1.0) for way in ways)), upper=0.0))
        return picks

    def _ask(self, variable: int, firing: Firing, condition: Condition) -> None:
        if condition.after != NO_ROW:
            self.implies(variable, self._border(firing.channel, condition.after, firing.first))
        if condition.before != NO_ROW:
            self.excludes(variable, self._border(firing.channel, condition.before, firing.last))

    def _border(self, channel: int, row: int, instant: Instant) -> int:
        thresholds = self.borders.setdefault((channel, row), {})
        if instant not in thresholds:
            thresholds[instant] = self.variable()
        return thresholds[instant]

    def add_cover_rows(self) -> None:
        """Every switching must be covered; what another one asks for anyway is left out."""
        by_row = {
            base + row: row_bits(self.covering.get(base + row, ()))
            for cells, base in zip(self.cells, self.bases, strict=True)
            for row in range(len(cells.low))
        }
        for row in bits(needed_rows(by_row)):
            terms = tuple((v, 1.0) for v in bits(by_row[row]))
            self.rows.append(Row(terms, lower=1.0))

    def add_border_rows(self) -> None:
        """Each border's thresholds rise with time; neighbours stay a step apart."""
        for channel, cells in enumerate(self.cells):
            for row in range(len(cells.low) - 1, -1, -1):
                thresholds = sorted(self.borders.get((channel, row), {}).items())
                for (_, sooner), (_, later) in pairwise(thresholds):
                    self.implies(sooner, later)
                for instant, border in thresholds:
                    before = instant - self.step_seconds
                    if row >= 1 and before < cells.top[row - 1]:
                        self.implies(border, self._border(channel, row - 1, before))

    def model(self) -> Model:
        """What has been put together."""
        return Model(costs=tuple(self.costs), rows=tuple(self.rows), uppers=dict(self.uppers))

    def settled(self, values: Sequence[float]) -> tuple[Ints, ...]:
        """The borders a solution chose, of each channel."""
        found = []
        for channel, cells in enumerate(self.cells):
            borders = cells.low.copy()
            for row in np.flatnonzero(cells.top > cells.low).tolist():
                thresholds = sorted(self.borders.get((channel, row), {}).items())
                passed = [t for t, border in thresholds if values[border] > 0.5]
                if thresholds:
                    borders[row] = passed[0] if passed else cells.top[row]
                elif row:
                    borders[row] = max(borders[row], borders[row - 1] + self.step_seconds)
            found.append(borders)
        return tuple(found)


def _is_sure(condition: Condition) -> bool:
    return condition.after == NO_ROW and condition.before == NO_ROW
