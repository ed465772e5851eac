"""What a clause asks for as two sets of time: when it holds, and when the lamps are wrong for it.

Every clause on states of lamps fails where the two meet.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from functools import lru_cache

import numpy as np

from schedcomp.model import HOUR, ONE_DAY, Half, Instant
from schedcomp.moments import Missing
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.duty import nights_whole, times_intervals
from schedcomp.ordinance.intervals import (
    Interval,
    Intervals,
    common,
    merged,
    near,
    rest_of,
    seconds_between,
    split_at,
    together,
    without,
)
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import (
    Dark,
    Dating,
    Form,
    Level,
    Lit,
    LitNights,
    LitOnly,
    Measure,
    NeverAllOff,
    NotBefore,
    Share,
)
from schedcomp.records import Record
from schedcomp.site import Circuit

StateForm = Dark | Lit | LitOnly | NotBefore | Share | NeverAllOff | Level
WANTS_DARK = Dark | LitOnly | NotBefore
"""Forms that ask each of their circuits to be dark."""


class Duty(Record):
    """When a clause holds, within the nights judged and without the declared ones."""

    intervals: Intervals
    morning_ons: bool = False


def duty_of(clause: Clause) -> Duty:
    """When the clause holds; empty for forms that are no states of lamps."""
    form = clause.form
    if isinstance(form, NotBefore):
        found, morning = _not_before(form, clause)
        return Duty(_judged(found, clause), morning)
    if isinstance(form, LitOnly):
        return Duty(_judged(_lit_only(form, clause), clause))
    if isinstance(form, StateForm | LitNights):
        found = times_intervals(
            form.when, clause.facts, clause.named, next_evening=not wants_light(form)
        )
        return Duty(_judged(found, clause))
    return Duty(())


def wants_light(form: Form) -> bool:
    """Whether a form asks for light, not for its absence."""
    if isinstance(form, Share | Level):
        return form.at_least
    return isinstance(form, Lit | NeverAllOff)


def _judged(found: Intervals, clause: Clause) -> Intervals:
    """Cut to the nights of the period, without declared nights."""
    found = common(found, (clause.nights.whole,))
    off = []
    for day, until in clause.excepted:
        start, end = clause.nights.of(day)
        off.append((start, end if until is None else min(end, until)))
    return without(found, merged(off))


def _lit_only(form: LitOnly, clause: Clause) -> Intervals:
    named = clause.named
    allowed = (
        times_intervals(form.when, clause.facts, named, next_evening=False)
        if form.when.stretches or form.when.whiles
        else nights_whole(named.nights, named.days)
    )
    nights = frozenset(named.nights.days) if form.these_dates_only else named.days
    return without(nights_whole(named.nights, nights & named.tested), allowed)


def _not_before(form: NotBefore, clause: Clause) -> tuple[Intervals, bool]:
    clock, zone = clause.facts.clock, clause.facts.clock.zone
    found: list[Interval] = []
    mornings = False
    for day in sorted(clause.named.days & clause.named.tested):
        if clock.half(form.moment, day) is Half.EVENING:
            start, on = zone.first_pass(day, 12 * HOUR), day
        else:
            on = day + ONE_DAY if clause.requirement.by is Dating.EVENING else day
            start, mornings = zone.first_pass(on, 0), True
        end = clock.instant(form.moment, on, hold=True)
        if isinstance(end, Missing):
            # No opening on this date: nothing may be lit before noon.
            end = zone.first_pass(on, 12 * HOUR)
        if start < end:
            found.append((start, end))
    return merged(found), mornings


# When lamps are wrong


def wrong_for(clause: Clause, duty: Duty, lamps: Lamps) -> Intervals:
    """When the lamps are as the clause does not want them, whether it holds then or not."""
    form = clause.form
    burning = [lamps.of(circuit.name) for circuit in clause.circuits]
    if isinstance(form, Share):
        return beyond_share(form, burning, lamps.whole)
    if isinstance(form, NeverAllOff):
        return rest_of(together(b.surely for b in burning), lamps.whole)
    if isinstance(form, Lit) or (isinstance(form, Level) and form.at_least):
        return together(rest_of(b.surely, lamps.whole) for b in burning)
    if duty.morning_ons:
        return switched_on_in(duty.intervals, burning)
    return possibly_of(lamps, clause.circuits)


@lru_cache(maxsize=32)
def possibly_of(lamps: Lamps, circuits: tuple[Circuit, ...]) -> Intervals:
    """When any of some circuits may burn; many clauses ask for the same ones."""
    return together(lamps.of(circuit.name).possibly for circuit in circuits)


def switched_on_in(duties: Intervals, burning: Iterable[Burning]) -> Intervals:
    """Lit stretches without those that a duty begins in: only coming on in it is wrong."""
    kept: list[Interval] = []
    for one in burning:
        kept += [
            stretch
            for stretch in one.possibly
            if not any(d[0] > stretch[0] for d in near(duties, stretch[0], stretch[1]))
        ]
    return merged(kept)


def weight(burning: Burning, measure: Measure) -> float | None:
    """What a circuit counts for; None where the site file does not say."""
    circuit = burning.circuit
    if measure is Measure.POWER:
        return circuit.load_kw
    if measure is Measure.LUMENS:
        return circuit.lumens
    return None if circuit.lamp_count is None else float(circuit.lamp_count)


def beyond_share(form: Share, burning: list[Burning], whole: Interval) -> Intervals:
    """When more than the share of what is connected may be lit, or less than it surely is."""
    weights = [weight(b, form.measure) or 0.0 for b in burning]
    rounding = -1e-9 if form.at_least else 1e-9
    limit = sum(weights) * form.percent / 100 * (1 + rounding)
    changes: list[tuple[Instant, float]] = []
    for one, counts in zip(burning, weights, strict=True):
        for start, end in one.surely if form.at_least else one.possibly:
            changes += [(start, counts), (end, -counts)]
    found: list[Interval] = []
    lit, since = 0.0, whole[0]
    for instant, change in (*sorted(changes), (whole[1], 0.0)):
        wrong = lit < limit if form.at_least else lit > limit
        if wrong and since < instant:
            found.append((since, instant))
        lit, since = lit + change, instant
    return merged(found)


def nights_touched(intervals: Intervals, clause: Clause) -> list[tuple[date, int]]:
    """The nights judged that hold some of the intervals, each with the seconds of them."""
    seconds = seconds_between(intervals, clause.nights.borders)
    days = clause.nights.days
    touched = np.flatnonzero(seconds)
    both = zip(touched.tolist(), seconds[touched].tolist(), strict=True)
    return [(days[i], length) for i, length in both]


def failing_by_night(bad: Intervals, clause: Clause) -> list[tuple[date, list[Interval]]]:
    """The wrong stretches of each night that has some."""
    parts = split_at(bad, clause.nights.borders)
    return [(day, part) for day, part in zip(clause.nights.days, parts, strict=True) if part]
