"""Clauses that ask for opposite things of one circuit at one time."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.ordinance.asks import WANTS_DARK, Duty, nights_touched
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import common
from schedcomp.ordinance.model import Level, Lit
from schedcomp.ordinance.verdict import Conflict


def conflicts_of(clauses: tuple[Clause, ...], duties: tuple[Duty, ...]) -> tuple[Conflict, ...]:
    """Every pair of a dark and a lit clause that cannot both be met, for each circuit."""
    both = list(zip(clauses, duties, strict=True))
    dark = [(c, d) for c, d in both if isinstance(c.form, WANTS_DARK) and not d.morning_ons]
    lit = [(c, d) for c, d in both if wants_lit(c)]
    return tuple(
        conflict
        for dark_clause, dark_duty in dark
        for lit_clause, lit_duty in lit
        for conflict in _between(dark_clause, dark_duty, lit_clause, lit_duty)
    )


def wants_lit(clause: Clause) -> bool:
    form = clause.form
    return isinstance(form, Lit) or (isinstance(form, Level) and form.at_least)


def _between(dark: Clause, dark_duty: Duty, lit: Clause, lit_duty: Duty) -> Iterator[Conflict]:
    names = {circuit.name for circuit in lit.circuits}
    shared = [circuit.name for circuit in dark.circuits if circuit.name in names]
    overlap = common(dark_duty.intervals, lit_duty.intervals) if shared else ()
    by_night = nights_touched(overlap, dark)
    if not by_night:
        return
    worst_day, most = max(by_night, key=lambda night: (night[1], -night[0].toordinal()))
    example = common(overlap, (dark.nights.of(worst_day),))[0]
    for circuit in shared:
        yield Conflict(
            dark=dark.label,
            lit=lit.label,
            circuit=circuit,
            nights=len(by_night),
            most_seconds=most,
            first=by_night[0][0],
            example=example,
            dark_at=dark.requirement.at,
            lit_at=lit.requirement.at,
        )
