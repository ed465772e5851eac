"""Which stretches of a clause the exact year meets, so that a program must meet them too."""

from __future__ import annotations

from schedcomp.model import MINUTE
from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Intervals, apart_from, merged, moved, rest_of
from schedcomp.ordinance.lengths import lengths_with, needed_seconds
from schedcomp.ordinance.model import LeastDark, Level, Lit, LitNights, MiddleDark, Share
from schedcomp.site import Circuit
from schedcomp.year import Year


def kept_duties(
    clause: Clause, duty: Duty, lit: Intervals, override: int = 0
) -> tuple[Intervals, Intervals]:
    """(dark stretches, lit stretches) of one circuit; `lit` is what the exact year lights.

    Of a share a circuit keeps what it is dark in throughout: then nothing it does adds to it. An
    `override`, in seconds, may hold the lamps on as long after an OFF.
    """
    form = clause.form
    if isinstance(form, Share) and form.at_least:
        return (), _lit_throughout(duty.intervals, lit)
    dark_forms = WANTS_DARK | Share | LitNights
    if isinstance(form, dark_forms) or (isinstance(form, Level) and not form.at_least):
        dark = apart_from(duty.intervals, moved(lit, 0, override))
        return tuple((start - override, end) for start, end in dark), ()
    if isinstance(form, Lit) or (isinstance(form, Level) and form.at_least):
        return (), _lit_throughout(duty.intervals, lit)
    return (), ()


def override_seconds(circuit: Circuit) -> int:
    return (circuit.override_minutes or 0) * MINUTE


def dark_lengths(clause: Clause, year: Year) -> Intervals:
    """For each night with a length of darkness as asked a stretch of just that length.

    What the exact year has to spare is left where a switching may move.
    """
    if not isinstance(clause.form, LeastDark | MiddleDark) or not clause.circuits:
        return ()
    if any(circuit.photocell == "parallel" for circuit in clause.circuits):
        return ()
    spans = [
        (circuit, span) for circuit in clause.circuits for span in year.circuit(circuit.name).spans
    ]
    lit = merged((span.start, span.end + override_seconds(circuit)) for circuit, span in spans)
    ends = {s.end + override_seconds(c) for c, s in spans if s.end_reason.bound.has_sun}
    starts = {s.start for _, s in spans if s.start_reason.bound.has_sun}
    found = []
    for night in lengths_with(clause, lit):
        if night.spare_seconds < 0:
            continue
        first, last = night.begins
        moves = (night.piece[0] in ends, night.piece[1] in starts)
        begin = (first + last) // 2 if moves[0] == moves[1] else (last if moves[0] else first)
        found.append((begin, begin + needed_seconds(clause.form, night)))
    return tuple(found)


def _lit_throughout(duties: Intervals, lit: Intervals) -> Intervals:
    """Those of `duties` that are lit from end to end."""
    if not duties:
        return ()
    return apart_from(duties, rest_of(lit, (duties[0][0], duties[-1][1])))
