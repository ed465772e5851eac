"""Of all optimal solutions of a model the first in a given order, with proof.

One question stands for many: is there a solution that is the same up to some variable at 1, and
then has one at 1 that is 0 in the solution at hand? The order falls into stretches, each a run of
variables at 0 with the variable at 1 that ends it. A link for each stretch but the last says that
the difference comes later than the stretch; the fewest links are asked for, so what is found
settles all before it. No answer proves the solution at hand to be the first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from schedcomp.fit.solver import Model, Row, Solution, decided, solve
from schedcomp.records import Record, replace

LINK_COST = 2
"""All that is paid for late variables is less than 1, so a bound, though rounded up, tells how many
links there are at least.
"""


def first_in_order(
    model: Model, order: Sequence[int], values: tuple[float, ...]
) -> tuple[float, ...]:
    """Of all solutions that cost no more the one that has variables of `order` at 1 earliest.

    `values` are any such solution. What the solver leaves open is asked about fewer stretches at a
    time, and counts as no where it is a single one.
    """
    limit = sum(c * v for c, v in zip(model.costs, values, strict=True))
    spent = Row(tuple((v, c) for v, c in enumerate(model.costs) if c), upper=limit + 0.5)
    model = replace(model, rows=(*model.rows, spent))
    settled = {**model.fixed, **decided(model, limit)}
    stretches = _stretches(order, settled, values)
    at_once = len(stretches)
    while any(stretch.zeros for stretch in stretches):
        asked = stretches[:at_once]
        found = solve(_question(model, order, settled, asked))
        done = len(asked)
        if isinstance(found, Solution):
            values, links = found.values[: len(model.costs)], found.values[len(model.costs) :]
            done = sum(link > 0.5 for link in links)
            if found.bound < LINK_COST * done:
                done = 0
        elif not found.impossible and at_once > 1:
            at_once = min(at_once, done) // 2
            continue
        for stretch in stretches[:done]:
            settled |= stretch.settled()
        stretches = _stretches(order, settled, values)
    return values


class _Stretch(Record):
    """Variables at 0 one after the other, and the next one at 1, None at the end of the order."""

    zeros: tuple[int, ...]
    one: int | None

    def settled(self) -> dict[int, float]:
        """The values, once nothing that differs here is left."""
        found = dict.fromkeys(self.zeros, 0.0)
        return found if self.one is None else {**found, self.one: 1.0}


def _stretches(
    order: Sequence[int], settled: Mapping[int, float], values: Sequence[float]
) -> list[_Stretch]:
    """The variables not yet settled, up to the last that could come before another."""
    found: list[_Stretch] = []
    zeros: list[int] = []
    for variable in order:
        if variable in settled:
            continue
        if values[variable] > 0.5:
            found.append(_Stretch(tuple(zeros), variable))
            zeros = []
        else:
            zeros.append(variable)
    return [*found, _Stretch(tuple(zeros), None)]


def _question(
    model: Model,
    order: Sequence[int],
    settled: Mapping[int, float],
    stretches: Sequence[_Stretch],
) -> Model:
    """The model of a solution that differs within these stretches, as early as can be.

    Of those that differ in the same stretch one with many variables early is wanted.
    """
    costs = [0.0] * len(model.costs)
    for number, variable in enumerate(order):
        costs[variable] = LINK_COST * number / len(order) ** 2
    rows = list(model.rows)
    before: tuple[tuple[int, float], ...] = ()
    for number, stretch in enumerate(stretches):
        ways = [(variable, 1.0) for variable in stretch.zeros]
        if number < len(stretches) - 1 and stretch.one is not None:
            link = len(costs)
            costs.append(float(LINK_COST))
            ways.append((link, 1.0))
            rows.append(Row(((stretch.one, 1.0), (link, -1.0)), lower=0.0))
            if before:
                rows.append(Row((*((v, -c) for v, c in before), (link, -1.0)), lower=0.0))
        else:
            link = -1
        rows.append(Row((*ways, *before), lower=0.0 if before else 1.0))
        before = ((link, -1.0),)
    return Model(tuple(costs), tuple(rows), model.uppers, settled)
