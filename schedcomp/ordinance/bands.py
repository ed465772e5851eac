"""Which stretches of a clause the exact year meets, so that a program must meet them too."""

from __future__ import annotations

from schedcomp.model import MINUTE, Instant
from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import (
    Interval,
    Intervals,
    apart_from,
    clipped,
    merged,
    moved,
    rest_of,
)
from schedcomp.ordinance.lengths import NightLength, lengths_with, needed_seconds
from schedcomp.ordinance.model import LeastDark, Level, Lit, LitNights, MiddleDark, MostLit, Share
from schedcomp.records import Record
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


class _Moving(Record):
    """When any circuit of a clause is lit in the exact year, its override held; and which of the
    stretches' starts and ends follow the sun, so that a program may move them.
    """

    lit: Intervals
    starts: frozenset[Instant]
    ends: frozenset[Instant]


def dark_stretches(clause: Clause, year: Year) -> Intervals:
    """For each night that keeps a length of darkness or light as asked, what must stay dark.

    What the exact year has to spare is left where a switching may move.
    """
    if not isinstance(clause.form, LeastDark | MiddleDark | MostLit) or not clause.circuits:
        return ()
    if any(circuit.photocell == "parallel" for circuit in clause.circuits):
        return ()
    spans = [
        (circuit, span) for circuit in clause.circuits for span in year.circuit(circuit.name).spans
    ]
    moving = _Moving(
        merged((span.start, span.end + override_seconds(circuit)) for circuit, span in spans),
        frozenset(s.start for _, s in spans if s.start_reason.bound.has_sun),
        frozenset(s.end + override_seconds(c) for c, s in spans if s.end_reason.bound.has_sun),
    )
    kept = [n for n in lengths_with(clause, moving.lit) if n.spare_seconds >= 0]
    if isinstance(clause.form, MostLit):
        return tuple(stretch for night in kept for stretch in _around_light(night, moving))
    return tuple(_just_so_long(clause.form, night, moving) for night in kept)


def _just_so_long(form: LeastDark | MiddleDark, night: NightLength, moving: _Moving) -> Interval:
    """A stretch of just the length asked for."""
    first, last = night.begins
    moves = (night.piece[0] in moving.ends, night.piece[1] in moving.starts)
    begin = (first + last) // 2 if moves[0] == moves[1] else (last if moves[0] else first)
    return begin, begin + needed_seconds(form, night)


def _around_light(night: NightLength, moving: _Moving) -> Intervals:
    """The dark of a night without its equal share of what is to spare beside each end that moves;
    nothing where none does.
    """
    lit = clipped(moving.lit, night.within)
    early = {start for start, _ in lit if start in moving.starts}
    late = {end for _, end in lit if end in moving.ends}
    if not early and not late:
        return ()
    share = night.spare_seconds // (len(early) + len(late))
    grown = merged((s - share * (s in early), e + share * (e in late)) for s, e in lit)
    return rest_of(grown, night.within)


def _lit_throughout(duties: Intervals, lit: Intervals) -> Intervals:
    """Those of `duties` that are lit from end to end."""
    if not duties:
        return ()
    return apart_from(duties, rest_of(lit, (duties[0][0], duties[-1][1])))
