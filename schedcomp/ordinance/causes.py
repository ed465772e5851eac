"""Which line of the site file decided that lamps are wrong for a clause."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

import numpy as np
from numpy.typing import NDArray

from schedcomp.diag import SourceRange
from schedcomp.ordinance.asks import WANTS_DARK
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Interval, array_of
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import LeastDark, Level, LitNights, MiddleDark, MostLit, Share
from schedcomp.year import Reason

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


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
            concerned, reasons = _overlapped(burning, stretches), _lighting(burning, stretches)
        else:
            concerned, reasons = ~_covered(burning, stretches), _darkening(burning, stretches)
        for place in np.flatnonzero(still & concerned).tolist():
            reason = reasons[place]
            line, at = ("", None) if reason is None else (reason.line, reason.at)
            found[place] = Cause(circuit=circuit.name, line=line, at=at)
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


def _lighting(burning: Burning, stretches: Ints) -> list[Reason | None]:
    """Of a span that goes on too long its end, of one that begins too early its start.

    The span is the one lit then, or the last one before, which an override may hold on.
    """
    spans = burning.spans
    starts = np.array([span.start for span in spans], np.int64)
    place = np.searchsorted(starts, stretches[:, 1], side="left") - 1
    begins = stretches[:, 0].tolist()
    return [
        None
        if at < 0
        else (spans[at].end_reason if spans[at].start < begin else spans[at].start_reason)
        for at, begin in zip(place.tolist(), begins, strict=True)
    ]


def _darkening(burning: Burning, stretches: Ints) -> list[Reason | None]:
    """The end of the light before, or the start of the light that comes too late."""
    spans = burning.spans
    starts = np.array([span.start for span in spans], np.int64)
    ends = np.array([span.end for span in spans], np.int64)
    before = np.searchsorted(ends, stretches[:, 0], side="right") - 1
    after = np.searchsorted(starts, stretches[:, 1], side="left")
    found: list[Reason | None] = []
    for last, following, (begin, end) in zip(
        before.tolist(), after.tolist(), stretches.tolist(), strict=True
    ):
        follows = following < len(spans)
        if last >= 0 and (not follows or begin - spans[last].end <= spans[following].start - end):
            found.append(spans[last].end_reason)
        else:
            found.append(spans[following].start_reason if follows else None)
    return found
