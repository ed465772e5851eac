"""Which line of the site file decided that lamps are wrong for a clause."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from schedcomp.clock import Zone
from schedcomp.diag import SourceRange
from schedcomp.model import Half, Instant
from schedcomp.ordinance.asks import WANTS_DARK
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Interval, array_of
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import LeastDark, Level, LitNights, MiddleDark, MostLit, Share
from schedcomp.phrases.printer import print_calendar_line
from schedcomp.records import Record
from schedcomp.year import Reason

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class Behind(Record):
    """The line behind something, "" and None where nothing is known."""

    line: str
    at: SourceRange | None


NOTHING = Behind("", None)


class Cause(TypedDict):
    """The circuit concerned and the line behind it; "" and None where nothing is known."""

    circuit: str
    line: str
    at: SourceRange | None


def causes_of(clause: Clause, lamps: Lamps, wrong: Sequence[Interval]) -> list[Cause]:
    """What lights the lamps, or ends their light, in each stretch in which they are wrong.

    Of several circuits it is the first one that is concerned.
    """
    found = [Cause(circuit="", line="", at=None)] * len(wrong)
    if not wrong:
        return found
    form = clause.form
    dark_forms = WANTS_DARK | LeastDark | MiddleDark | MostLit | LitNights
    wants_dark = isinstance(form, dark_forms) or (
        isinstance(form, Level | Share) and not form.at_least
    )
    stretches = array_of(wrong)
    still = np.ones(len(wrong), np.bool_)
    for circuit in clause.circuits:
        burning = lamps.of(circuit.name)
        if wants_dark:
            concerned, behind = _overlapped(burning, stretches), _lighting(burning, stretches)
        else:
            concerned = ~_covered(burning, stretches)
            behind = _darkening(burning, stretches, clause.facts.clock.zone)
        for place in np.flatnonzero(still & concerned).tolist():
            one = behind[place]
            found[place] = Cause(circuit=circuit.name, line=one.line, at=one.at)
        still &= ~concerned
    return found


def _overlapped(burning: Burning, stretches: Ints) -> Bools:
    """Whether the circuit may burn in some of each stretch."""
    lit = array_of(burning.possibly)
    return np.asarray(
        np.searchsorted(lit[:, 1], stretches[:, 0], side="right")
        < np.searchsorted(lit[:, 0], stretches[:, 1], side="left")
    )


def _covered(burning: Burning, stretches: Ints) -> Bools:
    """Whether the circuit surely burns in all of each stretch."""
    if not burning.surely:
        return np.zeros(len(stretches), np.bool_)
    lit = array_of(burning.surely)
    place = np.searchsorted(lit[:, 0], stretches[:, 0], side="right") - 1
    return np.asarray((place >= 0) & (lit[place, 1] >= stretches[:, 1]))


def _lighting(burning: Burning, stretches: Ints) -> list[Behind]:
    """Of a span that goes on too long its end, of one that begins too early its start.

    The span is the one lit then, or the last one before, which an override may hold on.
    """
    spans = burning.spans
    starts = np.array([span.start for span in spans], np.int64)
    place = np.searchsorted(starts, stretches[:, 1], side="left") - 1
    begins = stretches[:, 0].tolist()
    return [
        NOTHING
        if at < 0
        else _of(spans[at].end_reason if spans[at].start < begin else spans[at].start_reason)
        for at, begin in zip(place.tolist(), begins, strict=True)
    ]


def _darkening(burning: Burning, stretches: Ints, zone: Zone) -> list[Behind]:
    return [left_dark_by(burning, begin, end, zone) for begin, end in stretches.tolist()]


def left_dark_by(burning: Burning, begin: Instant, end: Instant, zone: Zone) -> Behind:
    """Behind darkness from `begin` until `end`: light that ends with its beginning or begins with
    its end, else the line that decides the half of the date; where none is known the last light
    before.
    """
    spans = burning.spans
    last = bisect_right(spans, begin, key=lambda span: span.end) - 1
    following = bisect_left(spans, end, key=lambda span: span.start)
    if last >= 0 and spans[last].end == begin:
        return _of(spans[last].end_reason)
    if following < len(spans) and spans[following].start == end:
        return _of(spans[following].start_reason)
    if burning.of_year is not None:
        shown = zone.local(begin)
        half = Half.MORNING if shown.hour < 12 else Half.EVENING
        decided = burning.of_year.decided
        first = bisect_left(decided, shown.date(), key=lambda one: one.day)
        for one in decided[first : first + len(Half)]:
            if (one.day, one.half) == (shown.date(), half) and one.line is not None:
                line = burning.circuit.calendar[one.line]
                return Behind(print_calendar_line(line), line.at)
    return _of(spans[last].end_reason) if last >= 0 else NOTHING


def _of(reason: Reason) -> Behind:
    return Behind(reason.line, reason.at)
