"""What leaving out one line or window of the site file would save in slots."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache
from itertools import chain, zip_longest

from schedcomp.capacity import Wishes, lifted, slots_needed, special_days_of
from schedcomp.capacity_report import Saving
from schedcomp.controller import Controller
from schedcomp.expand import expand
from schedcomp.ordinance.rules import with_duties
from schedcomp.phrases.printer import print_calendar_line, print_stretch, print_window
from schedcomp.records import Record, replace
from schedcomp.site import Circuit, DayType, Site
from schedcomp.year import CircuitYear, Year

MOST_WORK = 5_490
"""What is left out costs a fit of each circuit it changes, and an answer must come in time: a
circuit counts one for every day of the period, and three where it may have special days.
"""

CALENDAR_LINE = "calendar line"
WINDOW = "window"
SINGLE_NIGHT = "single night"


class _Variant(Record):
    """A site without one line or window; `saving` names what was left out."""

    site: Site
    saving: Saving


class _Count(Record):
    """What the program of one circuit takes."""

    slots: int
    special_days: int


def savings_of(
    wishes: Wishes, controller: Controller, tolerance_minutes: int, most_work: int = MOST_WORK
) -> tuple[Saving, ...]:
    """What each calendar line, window and single night would save, left out by itself.

    What saves most comes first. What does not change the period is not asked for, nor what would
    leave a circuit without any light; what would go beyond `most_work` comes last, untried.
    """
    asked = wishes.within(tolerance_minutes)
    alone = None
    if _apart(controller):
        alone = cache(lambda name: _count(_only(asked, name), controller))
    done = 0
    found: list[Saving] = []
    for variant in _variants(asked.site):
        shorter = _without(asked, variant)
        changed = _changed(asked.year, shorter.year)
        if not changed or _goes_dark(shorter.year, changed):
            continue
        work = _work(shorter, controller, changed if alone else frozenset())
        if done + work > most_work:
            found.append(replace(variant.saving, tried=False))
            continue
        done += work
        slots = _slots(shorter, controller, changed, alone)
        less = _lit_seconds(asked.year) - _lit_seconds(shorter.year)
        found.append(replace(variant.saving, slots=slots, seconds_less=less))
    return tuple(sorted(found, key=_most_first))


def _work(wishes: Wishes, controller: Controller, changed: frozenset[str]) -> int:
    """What a fit of these circuits costs, as `MOST_WORK` counts it; none named: of all."""
    days = len(wishes.year.period.dates())
    special = bool(controller.exceptions.slots)
    return sum(
        days * (3 if special and circuit.special else 1)
        for circuit in wishes.year.circuits
        if not changed or circuit.circuit in changed
    )


def _most_first(saving: Saving) -> tuple[object, ...]:
    slots = saving.slots
    return (not saving.tried, slots is None, slots or 0, abs(saving.seconds_less))


# Sites with something left out


def _variants(site: Site) -> Iterator[_Variant]:
    """Windows, calendar lines and single nights in turn, so that none crowd out the others."""
    kinds = (_without_windows(site), _without_lines(site), _without_nights(site))
    return (v for v in chain.from_iterable(zip_longest(*kinds)) if v is not None)


def _without_lines(site: Site) -> Iterator[_Variant]:
    for circuit in site.circuits:
        for index, line in enumerate(circuit.calendar):
            shorter = (*circuit.calendar[:index], *circuit.calendar[index + 1 :])
            changed = replace(circuit, calendar=shorter)
            yield _Variant(
                replace(site, circuits=_swapped(site.circuits, circuit, changed)),
                Saving(
                    kind=CALENDAR_LINE,
                    text=print_calendar_line(line),
                    circuits=(circuit.name,),
                    at=line.at,
                ),
            )


def _without_windows(site: Site) -> Iterator[_Variant]:
    for day_type in site.day_types:
        users = _users(site, day_type)
        if not users:
            continue
        for index, window in enumerate(day_type.windows):
            shorter = (*day_type.windows[:index], *day_type.windows[index + 1 :])
            changed = replace(day_type, windows=shorter)
            types = tuple(changed if t is day_type else t for t in site.day_types)
            yield _Variant(
                replace(site, day_types=types),
                Saving(
                    kind=WINDOW,
                    text=print_window(window),
                    circuits=users,
                    day_type=day_type.name,
                    at=window.at,
                ),
            )


def _without_nights(site: Site) -> Iterator[_Variant]:
    for one_off in site.one_offs:
        others = tuple(o for o in site.one_offs if o is not one_off)
        yield _Variant(
            replace(site, one_offs=others),
            Saving(
                kind=SINGLE_NIGHT,
                text=print_stretch(one_off.stretch),
                circuits=(one_off.circuit,),
                at=one_off.at,
            ),
        )


def _users(site: Site, day_type: DayType) -> tuple[str, ...]:
    return tuple(
        circuit.name
        for circuit in site.circuits
        if any(line.day_type == day_type.name for line in circuit.calendar)
    )


def _swapped(circuits: tuple[Circuit, ...], old: Circuit, new: Circuit) -> tuple[Circuit, ...]:
    return tuple(new if circuit is old else circuit for circuit in circuits)


# What they would take


def _without(wishes: Wishes, variant: _Variant) -> Wishes:
    """The wishes of a variant; circuits that it leaves alone keep their spans.

    A rule binds where the lamps meet it, so it may bind the lamps of a variant elsewhere.
    """
    concerned = [c for c in variant.site.circuits if c.name in variant.saving.circuits]
    part = expand(replace(variant.site, circuits=tuple(concerned)), wishes.world)
    anew = {c.circuit: c for c in part.circuits}
    circuits = tuple(anew.get(c.circuit, c) for c in wishes.year.circuits)
    year = with_duties(replace(wishes.year, circuits=circuits), wishes.rules)
    return replace(wishes, site=variant.site, year=year)


def _changed(before: Year, after: Year) -> frozenset[str]:
    """The circuits that have other switchings, other bound stretches or other special dates."""
    pairs = zip(before.circuits, after.circuits, strict=True)
    return frozenset(old.circuit for old, new in pairs if _outline(old) != _outline(new))


def _goes_dark(year: Year, changed: frozenset[str]) -> bool:
    """Whether one of these circuits is never lit in the period: that is no saving but an end."""
    circuits = (c for c in year.circuits if c.circuit in changed)
    return any(not _lit_seconds(replace(year, circuits=(circuit,))) for circuit in circuits)


def _outline(year: CircuitYear) -> tuple[object, ...]:
    """All of a circuit's year that a fit looks at; the words of its reasons are left out."""
    spans = [(s.start, s.end, s.start_reason.bound, s.end_reason.bound) for s in year.spans]
    dark = [(d.start, d.end) for d in year.dark]
    return (spans, dark, year.required_dark, year.required_lit, year.special)


def _slots(
    shorter: Wishes,
    controller: Controller,
    changed: frozenset[str],
    alone: Callable[[str], _Count | None] | None,
) -> int | None:
    """What a program takes; only changed circuits are fitted anew where they share no slots."""
    if alone is None:
        return slots_needed(shorter, controller)
    names = [circuit.name for circuit in shorter.site.circuits]
    counts = [
        _count(_only(shorter, name), controller) if name in changed else alone(name)
        for name in names
    ]
    known = [count for count in counts if count is not None]
    if len(known) < len(counts):
        return None
    if sum(count.special_days for count in known) > controller.exceptions.slots:
        return slots_needed(shorter, controller)
    slots = [count.slots for count in known]
    return sum(slots) if controller.slots_are == "shared" else max(slots)


def _apart(controller: Controller) -> bool:
    """Whether circuits take nothing from each other but slots, so that each counts by itself."""
    exceptions = controller.exceptions
    own_days = exceptions.covers == "one channel" and exceptions.events_from == "event_slots"
    return (
        controller.event_covers == "one channel"
        and controller.offsets != "one for all"
        and controller.slot_holds == "one action"
        and (own_days or not exceptions.slots)
    )


def _count(wishes: Wishes, controller: Controller) -> _Count | None:
    """What a program takes; None if none of any length does it."""
    fitted, _ = wishes.fit(lifted(controller))
    if fitted.slots_needed is None:
        return None
    return _Count(fitted.slots_needed, special_days_of(fitted))


def _only(wishes: Wishes, name: str) -> Wishes:
    """The wishes of one circuit."""
    circuits = tuple(c for c in wishes.site.circuits if c.name == name)
    years = tuple(c for c in wishes.year.circuits if c.circuit == name)
    return replace(
        wishes,
        site=replace(wishes.site, circuits=circuits),
        year=replace(wishes.year, circuits=years),
    )


def _lit_seconds(year: Year) -> int:
    """Seconds lit within the period, of all circuits."""
    return sum(
        max(0, min(span.end, year.end) - max(span.start, year.start))
        for circuit in year.circuits
        for span in circuit.spans
    )
