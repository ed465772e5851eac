"""Where and when to look on site: the minutes that show most about the rules."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone
from schedcomp.model import MINUTE, Instant
from schedcomp.ordinance.asks import WANTS_DARK, Duty, StateForm
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.conflicts import wants_lit
from schedcomp.ordinance.intervals import Interval, near
from schedcomp.ordinance.lamps import Lamps
from schedcomp.ordinance.model import NotBefore
from schedcomp.ordinance.verdict import ClauseVerdict
from schedcomp.records import Record

MOST = 5


class Visit(Record):
    """A minute to be on site: which circuit, what must be seen, and what it shows."""

    instant: Instant
    where: str
    lit: bool
    why: str


def visits_for(
    clauses: tuple[Clause, ...],
    duties: tuple[Duty, ...],
    verdicts: tuple[ClauseVerdict, ...],
    lamps: Lamps,
    zone: Zone,
) -> tuple[Visit, ...]:
    """At most five visits, in order of time: the tightest night of each clause, the nights of the
    clock changes, and the first night, until there are five.
    """
    found: dict[tuple[Instant, str], Visit] = {}
    offered = [
        *_tightest(clauses, duties, verdicts),
        *_clock_changes(clauses, duties, lamps, zone),
        *_first_nights(clauses, duties),
    ]
    for visit in offered:
        found.setdefault((visit.instant, visit.where), visit)
    return tuple(sorted(list(found.values())[:MOST], key=lambda v: (v.instant, v.where)))


def _tightest(
    clauses: tuple[Clause, ...],
    duties: tuple[Duty, ...],
    verdicts: tuple[ClauseVerdict, ...],
) -> Iterator[Visit]:
    """The worst night of a clause that fails, else the night with least to spare."""
    ranked = sorted(
        zip(clauses, duties, verdicts, strict=True),
        key=lambda item: (item[2].met, item[2].margin.seconds if item[2].margin else 10**9),
    )
    for clause, duty, verdict in ranked:
        worst = verdict.worst
        if worst is not None:
            at = worst.start
            why = f"the worst night of clause {clause.label}"
        elif verdict.margin is not None:
            at = verdict.margin.instant
            why = f"the night to watch of clause {clause.label}"
        else:
            continue
        yield from _visit(clause, duty, at, why)


def _clock_changes(
    clauses: tuple[Clause, ...], duties: tuple[Duty, ...], lamps: Lamps, zone: Zone
) -> Iterator[Visit]:
    for change in zone.changes():
        if lamps.whole[0] <= change.instant < lamps.whole[1]:
            for clause, duty in zip(clauses, duties, strict=True):
                after = near(duty.intervals, change.instant, lamps.whole[1])
                if after:
                    why = f"the night of the clock change, clause {clause.label}"
                    yield from _visit(clause, duty, _telling(clause, after[0]), why)
                    break


def _first_nights(clauses: tuple[Clause, ...], duties: tuple[Duty, ...]) -> Iterator[Visit]:
    for clause, duty in zip(clauses, duties, strict=True):
        if duty.intervals:
            why = f"the first night of clause {clause.label}"
            yield from _visit(clause, duty, _telling(clause, duty.intervals[0]), why)


def _telling(clause: Clause, interval: Interval) -> Instant:
    """The end of an interval at which something is to be seen."""
    return interval[1] if isinstance(clause.form, NotBefore) else interval[0]


def _visit(clause: Clause, duty: Duty, at: Instant, why: str) -> Iterator[Visit]:
    """A minute inside the duty, just after it begins or before it ends, at the first circuit."""
    if not isinstance(clause.form, StateForm) or not clause.circuits:
        return
    if not isinstance(clause.form, WANTS_DARK) and not wants_lit(clause):
        return
    ending = [i for i in near(duty.intervals, at - 1, at) if i[1] == at]
    inside = ending or list(near(duty.intervals, at, at + 1))
    if not inside:
        return
    # The clock of a visitor is not exact either: a minute from the end of the duty.
    instant = (at + 2 * MINUTE - 1) // MINUTE * MINUTE
    if ending:
        instant = at // MINUTE * MINUTE - MINUTE
    if inside[0][0] <= instant < inside[0][1]:
        yield Visit(instant, clause.circuits[0].name, wants_lit(clause), why)
