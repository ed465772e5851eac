"""What a clock change does to switchings by the clock: skipped, shown twice, swallowed."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from datetime import date
from operator import attrgetter

from schedcomp.diag import Diagnostic
from schedcomp.expand import clockwork_of, one_off_span
from schedcomp.messages import wishes as messages
from schedcomp.model import DAY, HOUR, MINUTE, ONE_DAY, Instant
from schedcomp.phrases.printer import print_clock
from schedcomp.phrases.tree import Clock, OpenHours
from schedcomp.site import Circuit, Site
from schedcomp.told_time import clock_words, phrase_words
from schedcomp.words import date_words
from schedcomp.world import World
from schedcomp.year import Bound, Cause, CircuitYear, Reason, Switching, Year

_start, _end = attrgetter("start"), attrgetter("end")
_READING = re.compile(r"\b(\d\d):(\d\d)\b")


def clock_change_findings(
    site: Site, world: World, year: Year, circuit: Circuit, circuit_year: CircuitYear
) -> Iterator[Diagnostic]:
    """Every switching of the period that a clock change moves or doubles on the clock."""
    changes = world.zone.changes()
    jumps = {c.instant for c in changes if c.skipped > 0}
    near = [(c.instant - abs(c.skipped), c.instant + abs(c.skipped)) for c in changes]
    for switching in _switchings_within(circuit_year, near):
        inside = year.start <= switching.instant < year.end
        if inside and not _decided_by_sun(switching.reason.bound):
            if switching.instant in jumps:
                yield from _skipped(site, world, circuit, switching)
            else:
                yield from _repeated(world, circuit, switching)
    yield from _swallowed_one_offs(site, world, year, circuit)


def _switchings_within(
    circuit_year: CircuitYear, stretches: Sequence[tuple[Instant, Instant]]
) -> Iterator[Switching]:
    """Those in stretches that come one after the other, both of their ends included."""
    spans = circuit_year.spans
    for first, last in stretches:
        near = spans[bisect_left(spans, first, key=_end) : bisect_right(spans, last, key=_start)]
        yield from (s for span in near for s in span.switchings() if first <= s.instant <= last)


def _skipped(
    site: Site, world: World, circuit: Circuit, switching: Switching
) -> Iterator[Diagnostic]:
    found = _skipped_reading(site, world, switching.reason, switching.instant)
    if found is not None:
        day, reading = found
        yield messages.SKIPPED_CLOCK.at(
            switching.reason.at,
            circuit=circuit.name,
            reading=reading,
            day=date_words(day),
            shown=clock_words(world.zone, switching.instant),
        )


def _repeated(world: World, circuit: Circuit, switching: Switching) -> Iterator[Diagnostic]:
    zone, instant = world.zone, switching.instant
    shown = zone.local(instant)
    seconds = shown.hour * HOUR + shown.minute * MINUTE
    if zone.is_repeated(shown.date(), seconds):
        is_first = instant < zone.last_pass(shown.date(), seconds)
        kind = messages.FIRST_PASS if is_first else messages.SECOND_PASS
        yield kind.at(
            switching.reason.at,
            circuit=circuit.name,
            reading=clock_words(zone, instant),
            day=date_words(shown.date()),
            offset=f"{zone.offset(instant) / HOUR:+g} h",
        )


def _skipped_reading(
    site: Site, world: World, reason: Reason, jump: Instant
) -> tuple[date, str] | None:
    """The clock time among those asked for that the clock jumps over at `jump`."""
    if reason.cause is Cause.ONE_OFF:
        clocks = _clocks(reason.line)
    else:
        clocks = [*_clocks(reason.phrase), *_hours_clocks(site, world, reason.date)]
    for minutes in clocks:
        for day in (reason.date, reason.date + ONE_DAY):
            skipped = world.zone.is_skipped(day, minutes * MINUTE)
            if skipped and world.zone.first_pass(day, minutes * MINUTE) == jump:
                # In halves of the day 24:00 reads as the midnight that begins a date.
                is_next = world.zone.twelve and minutes * MINUTE == DAY
                told = phrase_words(world.zone, print_clock(Clock(minutes)))
                return day + ONE_DAY * is_next, told
    return None


def _clocks(text: str) -> list[int]:
    return [int(hours) * 60 + int(minutes) for hours, minutes in _READING.findall(text)]


def _hours_clocks(site: Site, world: World, day: date) -> list[int]:
    """The clock times of the hours line that decides a date, in minutes."""
    index = world.hours.line_of(day) if world.hours else None
    if index is None or site.hours is None:
        return []
    value = site.hours.lines[index].value
    periods = value.periods if isinstance(value, OpenHours) else ()
    return [clock.minutes for period in periods for clock in period]


def _decided_by_sun(bound: Bound) -> bool:
    """Whether the moment would move with the sun; a clock time beside a sun time may decide."""
    decided = bound.moved(0)
    return all(is_sun for instant, is_sun in bound.members if instant == decided)


def _swallowed_one_offs(
    site: Site, world: World, year: Year, circuit: Circuit
) -> Iterator[Diagnostic]:
    """Single periods of which the spring change leaves nothing."""
    clockwork = clockwork_of(site, world)
    for one_off in site.one_offs_of(circuit):
        start = one_off.stretch.start
        jump = world.zone.first_pass(start.day, start.clock.minutes * MINUTE)
        inside = year.start <= jump < year.end
        if inside and one_off_span(one_off, clockwork) is None:
            yield messages.SWALLOWED_ONE_OFF.at(
                one_off.at,
                circuit=circuit.name,
                state="light" if one_off.lit else "darkness",
                day=date_words(start.day),
                shown=clock_words(world.zone, jump),
            )
