"""Which line of the site file decided that lamps are wrong for a clause."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from typing import TypedDict

from schedcomp.diag import SourceRange
from schedcomp.ordinance.asks import WANTS_DARK
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Interval, near, within
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import LeastDark, Level, MiddleDark, Share
from schedcomp.year import Reason, Span


class Cause(TypedDict):
    """The circuit concerned and the line behind it; "" and None where nothing is known."""

    circuit: str
    line: str
    at: SourceRange | None


def cause_of(clause: Clause, lamps: Lamps, wrong: Interval) -> Cause:
    """What lights the lamps, or ends their light, in a stretch in which they are wrong."""
    form = clause.form
    wants_dark = isinstance(form, WANTS_DARK | LeastDark | MiddleDark) or (
        isinstance(form, Level | Share) and not form.at_least
    )
    for circuit in clause.circuits:
        burning = lamps.of(circuit.name)
        reason = _lights(burning, wrong) if wants_dark else _darkens(burning, wrong)
        concerned = bool(near(burning.possibly, *wrong)) if wants_dark else _unlit(burning, wrong)
        if concerned:
            line, at = ("", None) if reason is None else (reason.line, reason.at)
            return Cause(circuit=circuit.name, line=line, at=at)
    return Cause(circuit="", line="", at=None)


def _unlit(burning: Burning, wrong: Interval) -> bool:
    return not within(wrong, burning.surely)


def _lights(burning: Burning, wrong: Interval) -> Reason | None:
    """Of a span that goes on too long its end, of one that begins too early its start."""
    span = _span_near(burning, wrong)
    if span is None:
        return None
    return span.end_reason if span.start < wrong[0] else span.start_reason


def _span_near(burning: Burning, wrong: Interval) -> Span | None:
    """The span lit then, or the last one before, which an override may hold on."""
    place = bisect_left(burning.spans, wrong[1], key=lambda s: s.start)
    return burning.spans[place - 1] if place else None


def _darkens(burning: Burning, wrong: Interval) -> Reason | None:
    """The end of the light before, or the start of the light that comes too late."""
    before = burning.spans[: bisect_right(burning.spans, wrong[0], key=lambda s: s.end)][-1:]
    after = burning.spans[bisect_left(burning.spans, wrong[1], key=lambda s: s.start) :][:1]
    if before and (not after or wrong[0] - before[-1].end <= after[0].start - wrong[1]):
        return before[-1].end_reason
    return after[0].start_reason if after else None
