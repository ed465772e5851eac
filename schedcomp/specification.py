"""The capability to specify: the properties a time switch has to have, found by leaving them out.

It is for whoever buys one, so no controller is named: properties are left out one after the
other, and the wishes are fitted anew to what is left.
"""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.capacity import LIFTED_SLOTS, Wishes, smallest_tolerance
from schedcomp.capacity_report import Properties, Specification, Without
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller, ExceptionSlots, SunStart
from schedcomp.controllerkeys import SUN_STARTS
from schedcomp.model import Half
from schedcomp.phrases.tree import SunDefinition, SunLevel
from schedcomp.program import EVERY_WEEKDAY, Program, SunOffset
from schedcomp.records import Record, replace

SPECIAL_DAYS = "special days"
LEVELS = "levels"
SUN = "sun"
DATES = "dates"
WEEKDAY_SETS = "weekday sets"
WEEKDAYS = "weekdays"
IN_ORDER = (SPECIAL_DAYS, LEVELS, SUN, DATES, WEEKDAY_SETS, WEEKDAYS)
"""What is left out, in this order: what few units have first."""

ANY_SET = "any set"
SINGLE_DAYS = "single days or all"
ALL_ONLY = "all only"

_SUNRISE_AND_SUNSET = (SUN_STARTS["sunrise"], SUN_STARTS["sunset"])
_DEEPEST_DEGREES = -18.0
_SPECIAL_DAY_SLOTS = 100
_NAME = "to be bought"


class _Found(Record):
    """The shortest program for a unit with these properties."""

    properties: Properties
    program: Program
    slots: int
    proven: bool


def specification(wishes: Wishes) -> Specification | None:
    """The smallest set of properties that is enough at the tolerance the site gives.

    A property is left out where what is left takes at most half as many slots again as with all
    of them. Where nothing does it at that tolerance, the smallest is taken at which a unit with
    every property does; None if there is none.
    """
    every = _every_property(wishes)
    minutes = wishes.tolerance_minutes
    most = _found(wishes.within(minutes), every)
    if most is None:
        wider = smallest_tolerance(wishes, _unit(wishes, every)).tolerance_minutes
        if wider is None:
            return None
        minutes = wider
        most = _found(wishes.within(minutes), every)
    return None if most is None else _smallest(wishes.within(minutes), minutes, most)


def _smallest(wishes: Wishes, tolerance_minutes: int, most: _Found) -> Specification:
    current = most
    tried: list[Without] = []
    for dropped in IN_ORDER:
        less = _left(current.properties, dropped)
        found = None if less is None else _found(wishes, less)
        if found is not None and 2 * found.slots <= 3 * most.slots:
            current = found
            tried.append(Without(dropped=dropped, slots=found.slots, needed=False))
        elif less is not None:
            slots = None if found is None else found.slots
            tried.append(Without(dropped=dropped, slots=slots, needed=True))
    return Specification(
        tolerance_minutes=tolerance_minutes,
        properties=current.properties,
        slots=current.slots,
        proven=current.proven,
        special_days=len(current.program.special_days),
        fewest_special_days=len(most.program.special_days),
        channels=len({circuit.channel for circuit in wishes.site.circuits}),
        offset_minutes=max(_offsets(current.program), default=0),
        sun_error_minutes=_unit(wishes, current.properties).sun_error_minutes,
        fewest_slots=most.slots,
        tried=tuple(_settled(wishes, current, tried)),
    )


def _settled(wishes: Wishes, final: _Found, tried: list[Without]) -> Iterator[Without]:
    """What was tried, with the needed properties counted against the final ones.

    Only those need a second look after which something else could still be left out.
    """
    for number, one in enumerate(tried):
        later = any(not other.needed for other in tried[number + 1 :])
        less = _left(final.properties, one.dropped)
        if one.needed and later and less is not None:
            found = _found(wishes, less)
            one = replace(one, slots=None if found is None else found.slots)
        yield one


def _found(wishes: Wishes, properties: Properties) -> _Found | None:
    """The shortest program; None if none of any length does it."""
    unit = _unit(wishes, properties)
    fitted, _ = wishes.fit(unit)
    slots, certificate = fitted.slots_needed, fitted.certificate
    if fitted.program is None or slots is None or certificate is None:
        return None
    return _Found(properties, fitted.program, slots, certificate.proven)


def _every_property(wishes: Wishes) -> Properties:
    return Properties(
        sun_starts=(*_SUNRISE_AND_SUNSET, *_own_levels(wishes)),
        weekdays=ANY_SET,
        dates=True,
        special_days=True,
    )


def _left(properties: Properties, dropped: str) -> Properties | None:
    """What is left without one property; None where it is not there to be left out."""
    left = {
        SPECIAL_DAYS: replace(properties, special_days=False),
        LEVELS: replace(properties, sun_starts=properties.sun_starts[:2]),
        SUN: replace(properties, sun_starts=()),
        DATES: replace(properties, dates=False),
        WEEKDAY_SETS: replace(properties, weekdays=SINGLE_DAYS),
        WEEKDAYS: replace(properties, weekdays=ALL_ONLY),
    }[dropped]
    return None if left == properties else left


def _unit(wishes: Wishes, properties: Properties) -> Controller:
    """A unit of the usual kind with these properties and slots without end."""
    sets = {
        ANY_SET: None,
        SINGLE_DAYS: (*(frozenset({day}) for day in range(7)), EVERY_WEEKDAY),
        ALL_ONLY: (EVERY_WEEKDAY,),
    }
    special = _SPECIAL_DAY_SLOTS if properties.special_days else 0
    return Controller(
        name=_NAME,
        event_slots=LIFTED_SLOTS,
        channels=max((circuit.channel for circuit in wishes.site.circuits), default=1),
        sun_starts=properties.sun_starts,
        weekday_sets=sets[properties.weekdays],
        date_ranges="yearly" if properties.dates else "none",
        exceptions=ExceptionSlots(slots=special),
    )


def _own_levels(wishes: Wishes) -> Iterator[SunStart]:
    """Starts at what the site calls dawn and dusk, where that is a level of the sun."""
    sides = ((wishes.site.dawn, Half.MORNING, "dawn"), (wishes.site.dusk, Half.EVENING, "dusk"))
    for definition, half, word in sides:
        level = _level_degrees(definition)
        if level is not None and level != SUNRISE_LEVEL_DEGREES:
            yield _start(word, half, level)


def _start(word: str, half: Half, level_degrees: float) -> SunStart:
    """The start at a level, under its usual name where it has one."""
    for known in SUN_STARTS.values():
        if known.half is half and known.level_degrees == level_degrees:
            return known
    name = f"{word} at {-level_degrees:.2g} deg"
    return SunStart(word=name, half=half, level_degrees=level_degrees)


def _level_degrees(definition: SunDefinition) -> float | None:
    """The level of the sun, where a time switch could know it: below the horizon."""
    base = definition.base
    if isinstance(base, SunLevel) and _DEEPEST_DEGREES <= base.level_degrees < 0:
        return base.level_degrees
    return None


def _offsets(program: Program) -> list[int]:
    starts = [event.start for event in program.events]
    return [abs(start.offset_minutes) for start in starts if isinstance(start, SunOffset)]
