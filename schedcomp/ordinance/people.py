"""People, always checked: nobody arrives, works or leaves in the dark."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from schedcomp.model import MINUTE, Instant
from schedcomp.moments import Clockwork
from schedcomp.ordinance.asks import WANTS_DARK, Duty
from schedcomp.ordinance.clauses import REACH, Clause
from schedcomp.ordinance.duty import Facts, dark_sky, first_noon, open_intervals
from schedcomp.ordinance.intervals import (
    Interval,
    Intervals,
    common,
    near,
    rest_of,
    seconds_of,
    split_at,
)
from schedcomp.ordinance.lamps import Burning, Lamps
from schedcomp.ordinance.model import Dating
from schedcomp.ordinance.nights import Nights, nights_of
from schedcomp.ordinance.verdict import NightFailed, PeopleFinding
from schedcomp.site import Site
from schedcomp.world import World

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
        finding = _finding(burning, missing, nights)
        if finding is not None:
            against = tuple(_against(burning, missing, clauses, duties))
            found.append(replace(finding, against=against))
    if serving:
        found += _off_with_closing(world, lamps, nights)
    return tuple(found)


def _finding(burning: Burning, missing: Intervals, nights: Nights) -> PeopleFinding | None:
    parts = split_at(missing, nights.borders)
    by_night = [(d, p) for d, p in zip(nights.days, parts, strict=True) if p]
    if not by_night:
        return None
    worst_day, worst = max(by_night, key=lambda item: seconds_of(item[1]))
    before = [s for s in burning.spans if s.end <= worst[0][0]]
    reason = before[-1].end_reason if before else None
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
            line=reason.line if reason else "",
            at=reason.at if reason else None,
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
    found: list[tuple[date, Interval]] = []
    for day in nights.days:
        closing = world.hours.closing(day)
        if closing is None:
            continue
        window = (closing - NEAR_CLOSING, closing + NEAR_CLOSING + 1)
        ends = [_ends_in(burning.scheduled, window) for burning in lamps.burning]
        lit = [e for b, e in zip(lamps.burning, ends, strict=True) if _lit_at(b, window[0])]
        minutes = {end // MINUTE for end in lit if end is not None}
        if lit and None not in lit and len(minutes) == 1:
            at = next(end for end in lit if end is not None)
            found.append((day, (at, at + MINUTE)))
    if found:
        first_day, first = found[0]
        yield PeopleFinding(
            kind=OFF_WITH_CLOSING,
            circuit="",
            nights=len(found),
            seconds=0,
            first=first_day,
            last=found[-1][0],
            worst=NightFailed(day=first_day, seconds=0, start=first[0], end=first[1]),
        )


def _ends_in(lit: Intervals, window: Interval) -> Instant | None:
    found = near(lit, window[0] - 1, window[1])
    return next((end for _, end in found if window[0] <= end < window[1]), None)


def _lit_at(burning: Burning, instant: Instant) -> bool:
    return bool(near(burning.scheduled, instant, instant + 1))
