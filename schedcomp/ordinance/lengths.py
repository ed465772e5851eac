"""Clauses on a length: dark so many hours each night or around its middle, lit no longer."""

from __future__ import annotations

from datetime import date

from schedcomp.ordinance.asks import possibly_of
from schedcomp.ordinance.clauses import Clause
from schedcomp.ordinance.duty import stretch_by_night
from schedcomp.ordinance.intervals import (
    Interval,
    Intervals,
    clipped,
    near,
    rest_of,
    seconds_of,
)
from schedcomp.ordinance.lamps import Lamps
from schedcomp.ordinance.model import LeastDark, MiddleDark, MostLit, Stretch
from schedcomp.ordinance.phrases import SUNSET_TO_SUNRISE
from schedcomp.records import Record


class NightLength(Record):
    """How much of a length one night has to spare (negative: is short of), and where.

    `within` is the part of the night that counts.
    `blamed` is where what is too much, or cuts the darkness short, begins; `begins` the first and
    the last instant at which as much darkness as is asked for may begin in the piece.
    """

    day: date
    within: Interval
    spare_seconds: int
    piece: Interval
    blamed: Interval
    begins: Interval


def night_lengths(clause: Clause, lamps: Lamps) -> list[NightLength]:
    """Every night the clause is for, with the piece that serves it best."""
    return lengths_with(clause, possibly_of(lamps, clause.circuits))


def lengths_with(clause: Clause, lit: Intervals) -> list[NightLength]:
    """As `night_lengths`, for what is lit."""
    excepted = {day for day, until in clause.excepted if until is None}
    days = [
        day
        for day in clause.nights.days
        if day in clause.named.days and day in clause.named.tested and day not in excepted
    ]
    form = clause.form
    if isinstance(form, LeastDark):
        return _least(form, clause, lit, days)
    if isinstance(form, MostLit):
        return _most(form, clause, lit, days)
    assert isinstance(form, MiddleDark)
    return [_middle(form, clause, lit, day) for day in days]


def _least(form: LeastDark, clause: Clause, lit: Intervals, days: list[date]) -> list[NightLength]:
    bounds = _by_night(form.bounds or SUNSET_TO_SUNRISE, clause, days)
    gaps = {} if form.or_shorter is None else _by_night(form.or_shorter, clause, days)
    found = []
    for day in days:
        within = bounds.get(day)
        if within is None:
            continue
        need = min(form.seconds, within[1] - within[0])
        if day in gaps:
            need = min(need, gaps[day][1] - gaps[day][0])
        found.append(_longest(day, lit, within, need))
    return found


def _by_night(stretch: Stretch, clause: Clause, days: list[date]) -> dict[date, Interval]:
    """The stretch of each night; a night with none is left out."""
    return dict(stretch_by_night(stretch, clause.facts, frozenset(days)))


def _longest(day: date, lit: Intervals, within: Interval, need: int) -> NightLength:
    dark = rest_of(near(lit, *within), within)
    piece = max(dark, key=lambda p: p[1] - p[0], default=(within[0], within[0]))
    spare = piece[1] - piece[0] - need
    ends_with_light = piece[1] < within[1]
    blamed = (piece[1], piece[1] + 1) if ends_with_light else (piece[0] - 1, piece[0])
    return NightLength(day, within, spare, piece, blamed, (piece[0], piece[1] - need))


def _most(form: MostLit, clause: Clause, lit: Intervals, days: list[date]) -> list[NightLength]:
    bounds = None if form.bounds is None else _by_night(form.bounds, clause, days)
    found = []
    for day in days:
        within = clause.nights.of(day) if bounds is None else bounds.get(day)
        if within is None:
            continue
        parts = clipped(near(lit, *within), within)
        spare = form.seconds - seconds_of(parts)
        piece = _beyond(parts, form.seconds) or (within[1], within[1])
        found.append(NightLength(day, within, spare, piece, piece, piece))
    return found


def _beyond(parts: Intervals, allowed: int) -> Interval | None:
    """From where so many seconds are used up to the end of the light; None if they never are."""
    for start, end in parts:
        if end - start > allowed:
            return start + allowed, parts[-1][1]
        allowed -= end - start
    return None


def _middle(form: MiddleDark, clause: Clause, lit: Intervals, day: date) -> NightLength:
    """Of all dark pieces the one that leaves most room.

    A piece serves if the length fits into it from a start that is near enough to the middle.
    """
    middle = clause.facts.clock.sun.lower_transit_after(day)
    first, last = middle - form.reach_seconds, middle + form.reach_seconds
    window = (first - form.seconds, last + form.seconds)
    dark = rest_of(near(lit, *window), window)
    nothing = (middle, middle)
    best = NightLength(day, window, -form.seconds, nothing, (middle, middle + 1), nothing)
    for start, end in dark:
        begin = max(start, first)
        room = min(last - begin, end - begin - form.seconds)
        if room > best.spare_seconds:
            begins = (begin, min(last, end - form.seconds))
            best = NightLength(day, window, room, (start, end), (end, end + 1), begins)
    return best


def needed_seconds(form: LeastDark | MiddleDark, night: NightLength) -> int:
    """How long a night must be dark in one piece."""
    if isinstance(form, MiddleDark):
        return form.seconds
    return night.piece[1] - night.piece[0] - night.spare_seconds
