"""Ends that the text of a clause leaves open: which forms have some, and how one is chosen."""

from __future__ import annotations

from schedcomp.ordinance.model import (
    Dark,
    Form,
    LeastDark,
    Level,
    Lit,
    LitNights,
    LitOnly,
    NeverAllOff,
    Share,
    Times,
)
from schedcomp.phrases.tree import Moment
from schedcomp.records import replace

_WITH_TIMES = Dark | Lit | LitOnly | LitNights | Share | NeverAllOff | Level


def times_of(form: Form) -> Times | None:
    """When the duty of a form holds; None for forms that are no duty of times."""
    return form.when if isinstance(form, _WITH_TIMES) else None


def has_open_end(form: Form) -> bool:
    """Whether a stretch of the form has no end."""
    times = times_of(form)
    stretches = () if times is None else times.stretches
    if isinstance(form, LeastDark):
        stretches = tuple(s for s in (form.bounds, form.or_shorter) if s is not None)
    return any(stretch.end is None for stretch in stretches)


def closed_at(form: Form, until: Moment) -> Form:
    """The form with the chosen end where it has none."""
    if isinstance(form, _WITH_TIMES):
        stretches = tuple(
            replace(s, end=until) if s.end is None else s for s in form.when.stretches
        )
        return replace(form, when=replace(form.when, stretches=stretches))
    return form
