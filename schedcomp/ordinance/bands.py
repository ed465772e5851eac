"""Which stretches of a clause the exact year meets, so that a program must meet them too."""

from __future__ import annotations

from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Intervals, apart_from, rest_of
from schedcomp.ordinance.model import Level, Lit, Share


def kept_duties(clause: Clause, duty: Duty, lit: Intervals) -> tuple[Intervals, Intervals]:
    """(dark stretches, lit stretches) of one circuit; `lit` is what the exact year lights.

    Of a share a circuit keeps what it is dark in throughout: then nothing it does adds to it.
    """
    form = clause.form
    if isinstance(form, Share) and form.at_least:
        return (), _lit_throughout(duty.intervals, lit)
    if isinstance(form, WANTS_DARK | Share) or (isinstance(form, Level) and not form.at_least):
        return apart_from(duty.intervals, lit), ()
    if isinstance(form, Lit) or (isinstance(form, Level) and form.at_least):
        return (), _lit_throughout(duty.intervals, lit)
    return (), ()


def _lit_throughout(duties: Intervals, lit: Intervals) -> Intervals:
    """Those of `duties` that are lit from end to end."""
    if not duties:
        return ()
    return apart_from(duties, rest_of(lit, (duties[0][0], duties[-1][1])))
