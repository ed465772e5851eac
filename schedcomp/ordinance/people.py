"""People, always checked: nobody arrives, works or leaves in the dark."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from schedcomp.clock import Zone
from schedcomp.model import MINUTE
from schedcomp.moments import Clockwork
from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.causes import left_dark_by
from schedcomp.ordinance.clauses import REACH, Clause
from schedcomp.ordinance.duty import Facts, dark_sky, first_noon, open_intervals
from schedcomp.ordinance.intervals import (
    Intervals,
    array_of,
    common,
    rest_of,
    seconds_of,
    split_at,
)
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import Dating
from schedcomp.ordinance.nights import Nights, nights_of
from schedcomp.ordinance.verdict import NightFailed, PeopleFinding
from schedcomp.records import replace
from schedcomp.site import Site
from schedcomp.world import World

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
DARK_WITH_PEOPLE = "dark with people"
OFF_WITH_CLOSING = "off with closing"
SERVES_PEOPLE = "people"
NEAR_CLOSING = 15 * MINUTE


def people_findings(
    site: Site,
    world: World,
    lamps: Lamps,
    clauses: tuple[Clause, ...] = (),
    duties: tuple[Duty, ...] = (),
) -> tuple[PeopleFinding, ...]:
    """Where people are left in the dark; nothing is looked for without opening hours."""
    if world.hours is None:
        return ()
    days = tuple(world.period.dates(before=REACH, after=REACH))
    clock = Clockwork(world.zone, world.sun, world.hours, site.dusk, site.dawn, strict=True)
    facts = Facts(clock, days, first_noon(clock, days))
    nights = nights_of(world.period, world.zone, Dating.EVENING)
    there = common(dark_sky(facts), open_intervals(world.hours, staff=True))
    there = common(there, (nights.whole,))
    serving = [b for b in lamps.burning if b.circuit.serves == SERVES_PEOPLE]
    found = []
    for burning in serving:
        missing = common(there, rest_of(burning.surely, lamps.whole))
        finding = _finding(burning, missing, nights, world.zone)
        if finding is not None:
            against = tuple(_against(burning, missing, clauses, duties))
            found.append(replace(finding, against=against))
    if serving:
        found += _off_with_closing(world, lamps, nights)
    return tuple(found)


def _finding(
    burning: Burning, missing: Intervals, nights: Nights, zone: Zone
) -> PeopleFinding | None:
    parts = split_at(missing, nights.borders)
    by_night = [(d, p) for d, p in zip(nights.days, parts, strict=True) if p]
    if not by_night:
        return None
    worst_day, worst = max(by_night, key=lambda item: seconds_of(item[1]))
    behind = left_dark_by(burning, *worst[0], zone)
    return PeopleFinding(
        kind=DARK_WITH_PEOPLE,
        circuit=burning.circuit.name,
        nights=len(by_night),
        seconds=seconds_of(missing),
        first=by_night[0][0],
        last=by_night[-1][0],
        worst=NightFailed(
            day=worst_day,
            seconds=seconds_of(worst),
            start=worst[0][0],
            end=worst[0][1],
            circuit=burning.circuit.name,
            line=behind.line,
            at=behind.at,
        ),
    )


def _against(
    burning: Burning, missing: Intervals, clauses: tuple[Clause, ...], duties: tuple[Duty, ...]
) -> Iterator[str]:
    """Dark clauses that ask for the very darkness that people would stand in."""
    for clause, duty in zip(clauses, duties, strict=True):
        if not isinstance(clause.form, WANTS_DARK) or duty.morning_ons:
            continue
        concerned = any(c.name == burning.circuit.name for c in clause.circuits)
        if concerned and common(missing, duty.intervals):
            yield clause.label


def _off_with_closing(world: World, lamps: Lamps, nights: Nights) -> Iterator[PeopleFinding]:
    """Evenings on which all lit circuits go off in one minute close to closing."""
    assert world.hours is not None
    both = [(day, world.hours.closing(day)) for day in nights.days]
    days = [day for day, closing in both if closing is not None]
    closings = np.array([closing for _, closing in both if closing is not None], np.int64)
    alike = np.ones(len(days), np.bool_)
    minutes = np.full(len(days), -1, np.int64)
    for burning in lamps.burning:
        lit, end = _end_near(burning.scheduled, closings)
        minute = end // MINUTE
        alike &= ~lit | ((end >= 0) & ((minutes < 0) | (minutes == minute)))
        minutes = np.where(lit, minute, minutes)
    at_once = np.flatnonzero(alike & (minutes >= 0)).tolist()
    found = [(days[i], int(minutes[i]) * MINUTE) for i in at_once]
    if found:
        first_day, first = found[0]
        yield PeopleFinding(
            kind=OFF_WITH_CLOSING,
            circuit="",
            nights=len(found),
            seconds=0,
            first=first_day,
            last=found[-1][0],
            worst=NightFailed(day=first_day, seconds=0, start=first, end=first + MINUTE),
        )


def _end_near(lit: Intervals, closings: Ints) -> tuple[Bools, Ints]:
    """For each closing whether the circuit is lit shortly before, and the end near it, or -1."""
    if not lit:
        return np.zeros(closings.shape, np.bool_), np.full(closings.shape, -1, np.int64)
    stretches = array_of(lit)
    begin = closings - NEAR_CLOSING
    before = np.searchsorted(stretches[:, 0], begin, side="right") - 1
    is_lit = (before >= 0) & (stretches[before, 1] > begin)
    ends = np.append(stretches[:, 1], np.iinfo(np.int64).max)
    end = ends[np.searchsorted(stretches[:, 1], begin)]
    return is_lit, np.where(end <= closings + NEAR_CLOSING, end, -1)
