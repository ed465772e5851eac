"""Which stretches of a clause the exact year meets, so that a program must meet them too."""

from __future__ import annotations

from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.intervals import Intervals, near, within
from schedcomp.ordinance.model import Level, Lit, NotBefore, Share


def kept_duties(clause: Clause, duty: Duty, lit: Intervals) -> tuple[Intervals, Intervals]:
    """(dark stretches, lit stretches) of one circuit; `lit` is what the exact year lights.

    Of a share a circuit keeps what it is dark in throughout: then nothing it does adds to it.
    """
    form = clause.form
    if isinstance(form, NotBefore):
        return tuple(d for d in duty.intervals if not _begins_in(d, lit)), ()
    if isinstance(form, Share) and form.at_least:
        return (), tuple(d for d in duty.intervals if within(d, lit))
    if isinstance(form, WANTS_DARK | Share) or (isinstance(form, Level) and not form.at_least):
        return tuple(d for d in duty.intervals if not near(lit, *d)), ()
    if isinstance(form, Lit) or (isinstance(form, Level) and form.at_least):
        return (), tuple(d for d in duty.intervals if within(d, lit))
    return (), ()


def _begins_in(duty: tuple[int, int], lit: Intervals) -> bool:
    """Whether lamps come on in the duty, or burn on into its middle from before."""
    return bool(near(lit, *duty))
