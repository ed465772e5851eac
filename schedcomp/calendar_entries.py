"""What belongs in people's calendar: exception dates, clock changes, tasks, renewal, expiries."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, timedelta

from schedcomp.clock import ClockChange, Zone
from schedcomp.compiled import Compiled
from schedcomp.model import ONE_DAY, Half
from schedcomp.phrases.printer import print_stretch
from schedcomp.records import Record
from schedcomp.site import Circuit, Unit
from schedcomp.told_time import clock_change_words, clock_words
from schedcomp.words import date_words, join_and, length_words
from schedcomp.year import CircuitYear

RENEWAL_DAYS = 42
"""Six weeks: time to build anew, to get it signed, and to key it into every unit."""

_ISO_DATE = re.compile(r"\b([0-9]{4})-([0-9]{2})-([0-9]{2})\b")

EXCEPTION, CLOCK, TASK, RENEWAL, EXPIRY = "exception", "clock", "task", "renewal", "expiry"


class CalendarEntry(Record, kw_only=True):
    """Whole local dates from `first` through `last`. `kind` is one of the words above."""

    kind: str
    first: date
    last: date
    summary: str
    text: str


class Expiry(Record):
    """A permit, a variance or a clause that holds through `day`; `what` names it."""

    day: date
    what: str


def expiries_of(compiled: Compiled) -> tuple[Expiry, ...]:
    """Clauses that end, and what was accepted until a date, from the period's first day on.

    A date in the reason of something accepted is taken for its end: the last one of several.
    """
    rules = compiled.rules
    found = [Expiry(day, name) for name, day in rules.ends]
    for name, because in rules.accepted:
        day = _last_date_in(because)
        if day is not None:
            found.append(Expiry(day, f"{name}: {because}"))
    return tuple(e for e in found if e.day >= compiled.year.period.first)


def _last_date_in(text: str) -> date | None:
    """The last date written as year-month-day."""
    for written in reversed(_ISO_DATE.findall(text)):
        try:
            return date(*map(int, written))
        except ValueError:
            continue
    return None


def calendar_entries(
    compiled: Compiled, expiries: Iterable[Expiry] = ()
) -> tuple[CalendarEntry, ...]:
    """All entries in order of date, kind and words."""
    found = [
        *_exceptions(compiled),
        *_clock_changes(compiled),
        *_renewal(compiled),
        *(_expiry(expiry) for expiry in expiries),
    ]
    return tuple(sorted(found, key=lambda e: (e.first, e.kind, e.summary, e.last)))


# Exception dates


def _exceptions(compiled: Compiled) -> Iterator[CalendarEntry]:
    """Dates that a line of their own decides; neighbours with the same words are one entry."""
    days = sorted({d for c in compiled.year.circuits for d in c.special} & _dates(compiled))
    run: list[date] = []
    for day in days:
        if run and (day != run[-1] + ONE_DAY or _title(compiled, day) != _title(compiled, run[0])):
            yield _exception(compiled, run)
            run = []
        run.append(day)
    if run:
        yield _exception(compiled, run)


def _dates(compiled: Compiled) -> set[date]:
    return set(compiled.year.period.dates())


def _exception(compiled: Compiled, days: Sequence[date]) -> CalendarEntry:
    return CalendarEntry(
        kind=EXCEPTION,
        first=days[0],
        last=days[-1],
        summary=_title(compiled, days[0]),
        text="\n".join(line for day in days for line in _lit_lines(compiled, day)),
    )


def _title(compiled: Compiled, day: date) -> str:
    """`Lot poles: dark (Thanksgiving)`."""
    names_by_effect: dict[str, list[str]] = {}
    for circuit in compiled.site.circuits:
        year = compiled.year.circuit(circuit.name)
        if day in year.special:
            effect = _effect(compiled, circuit, year, day)
            names_by_effect.setdefault(effect, []).append(circuit.name)
    told = "; ".join(f"{join_and(names)}: {e}" for e, names in names_by_effect.items())
    holidays = [
        h.label for h in compiled.world.holidays.within(compiled.year.period) if h.day == day
    ]
    return f"{told} ({join_and(holidays)})" if holidays else told


def _effect(compiled: Compiled, circuit: Circuit, year: CircuitYear, day: date) -> str:
    """The day types of its morning and evening, and single nights that touch it."""
    by_half = {d.half: d.line for d in year.decided if d.day == day}
    types = [
        "dark" if (line := by_half.get(half)) is None else circuit.calendar[line].day_type
        for half in (Half.MORNING, Half.EVENING)
    ]
    told = types[0] if types[0] == types[1] else f"morning {types[0]}, evening {types[1]}"
    for one_off in compiled.site.one_offs_of(circuit):
        stretch = one_off.stretch
        if stretch.start.day <= day <= stretch.end.day:
            why = f", {one_off.because}" if one_off.because else ""
            told += f"; {'lit' if one_off.lit else 'dark'} {print_stretch(stretch)}{why}"
    return told


def _lit_lines(compiled: Compiled, day: date) -> Iterator[str]:
    """What each circuit lights from this date on; a stretch belongs to the date it begins on."""
    zone = compiled.world.zone
    for circuit in compiled.year.circuits:
        told = join_and(_lit_words(circuit, zone, day)) or "no light begins on this date"
        yield f"{date_words(day)}, {circuit.circuit}: {told}"


def _lit_words(circuit: CircuitYear, zone: Zone, day: date) -> list[str]:
    begin, end = zone.first_pass(day, 0), zone.first_pass(day + ONE_DAY, 0)
    return [
        f"lit {clock_words(zone, span.start)} to {clock_words(zone, span.end)}"
        for span in circuit.spans
        if begin <= span.start < end
    ]


# The clock


def _clock_changes(compiled: Compiled) -> Iterator[CalendarEntry]:
    year, zone = compiled.year, compiled.world.zone
    changes = [c for c in zone.changes() if year.start <= c.instant < year.end]
    controller = compiled.controller
    follows = controller.clock == "local"
    if changes and follows and controller.summer_time == "dates":
        yield _dates_to_key(compiled, changes)
    for change in changes:
        day = zone.local_date(change.instant)
        by_hand = follows and controller.summer_time == "by hand"
        if by_hand:
            yield _set_by_hand(compiled, change, day)
        yield _look(compiled, change, day)


def _look(compiled: Compiled, change: ClockChange, day: date) -> CalendarEntry:
    """What the unit does at the change, and what must be seen on the evening after it."""
    zone = compiled.world.zone
    lines = [f"{clock_change_words(zone, change)}.", _HOW[_way(compiled)]]
    lines += ["What must be seen that day:", *_lit_lines(compiled, day)]
    way = "forward" if change.skipped > 0 else "back"
    return CalendarEntry(
        kind=CLOCK,
        first=day,
        last=day,
        summary=f"Clocks go {way} {length_words(abs(change.skipped))}: look at the controllers",
        text="\n".join(lines),
    )


def _way(compiled: Compiled) -> str:
    return "standard" if compiled.controller.clock != "local" else compiled.controller.summer_time


_HOW = {
    "rule": "The controllers change by their own rule. Each must show the new time.",
    "dates": "The controllers change on the dates keyed in. Each must show the new time.",
    "by hand": "The controllers do not change by themselves. Each must show the new time once it "
    "was set.",
    "none": "The controllers do not change. If one shows another time than a good clock, set it.",
    "standard": "The controllers keep standard time all year and must not be changed. The program "
    "allows for it.",
}


def _set_by_hand(compiled: Compiled, change: ClockChange, day: date) -> CalendarEntry:
    way = "forward" if change.skipped > 0 else "back"
    length = length_words(abs(change.skipped))
    return CalendarEntry(
        kind=TASK,
        first=day,
        last=day,
        summary=f"Set the clock of every controller {way} {length} by hand",
        text="\n".join(
            [
                f"{clock_change_words(compiled.world.zone, change)}. Until it is set, lamps that "
                f"go by the clock switch {length} {'late' if change.skipped > 0 else 'early'}.",
                *_units(compiled.site.units),
            ]
        ),
    )


def _dates_to_key(compiled: Compiled, changes: Sequence[ClockChange]) -> CalendarEntry:
    """The first day on which it can be done is the first of the period."""
    zone, first = compiled.world.zone, compiled.year.period.first
    return CalendarEntry(
        kind=TASK,
        first=first,
        last=first,
        summary="Key the dates of the clock changes into every controller",
        text="\n".join(
            [*(f"{clock_change_words(zone, c)}." for c in changes), *_units(compiled.site.units)]
        ),
    )


def _units(units: Sequence[Unit]) -> list[str]:
    return [f"[ ] {', '.join(t for t in (u.label, u.where) if t)}" for u in units]


# Renewal and expiries


def _renewal(compiled: Compiled) -> Iterator[CalendarEntry]:
    """Six weeks before the last right date, but not before the period begins."""
    good = compiled.good_until
    if good is None:
        return
    day = max(good.last - timedelta(days=RENEWAL_DAYS), compiled.year.period.first)
    wrong = "" if good.wrong is None else _goes_wrong(good.wrong.circuit, good.wrong.what)
    yield CalendarEntry(
        kind=RENEWAL,
        first=day,
        last=day,
        summary=f"Renew the lighting program: good until {date_words(good.last)}",
        text="\n".join(
            [
                f"Left alone, the program is right through {date_words(good.last)}.{wrong}",
                "Build it anew and key it into every unit before that date.",
                *_units(compiled.site.units),
            ]
        ),
    )


def _goes_wrong(circuit: str, what: str) -> str:
    lamps = f"the lamps of {circuit}" if circuit else "the lamps"
    return f" Then {lamps} {what}."


def _expiry(expiry: Expiry) -> CalendarEntry:
    return CalendarEntry(
        kind=EXPIRY,
        first=expiry.day,
        last=expiry.day,
        summary=f"Last day: {expiry.what}",
        text="From the next day on the lighting program may not be covered by it. Ask the "
        "authority, then build again.",
    )
