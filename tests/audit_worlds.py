"""Small worlds for tests of the test run: events, targets and a made-up sun."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from math import cos, pi
from zoneinfo import ZoneInfo

from schedcomp.audit import run_program
from schedcomp.audit_report import AuditReport, Difference
from schedcomp.clock import zone as zone_of
from schedcomp.controller import Controller, ExceptionSlots, SunStart
from schedcomp.model import Action, Half
from schedcomp.program import ClockStart, Event, EventDates, Program, SpecialDays, SunOffset
from schedcomp.records import replace
from schedcomp.target import ChannelTarget, Target, TargetSwitching
from schedcomp.unit_sun import UnitSun, UnitSunTime
from schedcomp.year import Bound, Cause, Reason
from tests.unit_by_minute import Place, deeds, lamps

ON, OFF = Action.ON, Action.OFF
DENVER = "America/Denver"
HERE = zone_of(DENVER, date(2027, 1, 1), date(2027, 12, 31))
SUNS = (
    SunStart(word="sunrise", half=Half.MORNING, level_degrees=-0.8333),
    SunStart(word="sunset", half=Half.EVENING, level_degrees=-0.8333),
)
UNIT = Controller(name="test", event_slots=64, sun_starts=SUNS, sun_date="fires on")
NO_SUN = UnitSun((("sunrise", ()), ("sunset", ())))
WHY = Reason(Cause.WINDOW, "23:00", date(2027, 1, 1), Bound(((0, False),)))


def at(text: str, zone: str = DENVER, fold: int = 0) -> int:
    """`2027-03-14 01:30` on the local clock."""
    return int(datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone), fold=fold).timestamp())


def clock(text: str, action: Action, **given: object) -> Event:
    hours, minutes = text.split(":")
    start = ClockStart(int(hours) * 60 + int(minutes))
    return replace(Event(slot=1, channels=(1,), action=action, start=start), **given)


def by_sun(word: str, offset_minutes: int, action: Action, **given: object) -> Event:
    event = Event(slot=1, channels=(1,), action=action, start=SunOffset(word, offset_minutes))
    return replace(event, **given)


def program(*events: Event) -> Program:
    numbered = tuple(replace(e, slot=slot) for slot, e in enumerate(events, start=1))
    return Program(controller="test", events=numbered)


def channel(
    start: int,
    end: int,
    *switchings: tuple[int, Action] | tuple[int, Action, int, int],
    lit: bool = False,
    number: int = 1,
) -> ChannelTarget:
    """Switchings as (instant, action), or with the earliest and latest instants allowed."""
    made = tuple(
        TargetSwitching(s[0], s[1], *(s[2:] if len(s) == 4 else (s[0], s[0])), reason=WHY)
        for s in switchings
    )
    return ChannelTarget(
        channel=number,
        circuit=f"circuit {number}",
        load_kw=1.0,
        start=start,
        end=end,
        lit_at_start=lit,
        switchings=made,
    )


def target(*channels: ChannelTarget) -> Target:
    return Target(start=channels[0].start, end=channels[0].end, channels=channels)


def audit(
    made: Program,
    wanted: Target,
    sun: UnitSun = NO_SUN,
    unit: Controller = UNIT,
    zone: str = DENVER,
) -> AuditReport:
    return run_program(made, unit, wanted, sun, zone)


def kinds(differences: tuple[Difference, ...]) -> list[str]:
    return [d.kind for d in differences]


def without_slots(seen: Iterable[tuple[int, Action, int]]) -> list[tuple[int, Action]]:
    """Switchings as the slow unit gives them."""
    return [(instant, action) for instant, action, _ in seen]


def sun_time(day: date, instant: int, error_minutes: int = 0, certain: bool = True) -> UnitSunTime:
    error = error_minutes * 60
    return UnitSunTime(day, instant, instant - error, instant + error, certain)


# A quiet year with a made-up sun: sunrise 05:40 and sunset 18:20 on average, local.

YEAR_FIRST, YEAR_END = date(2027, 1, 1), date(2028, 1, 1)


@lru_cache
def smooth_sun(error_minutes: int = 2) -> UnitSun:
    """Sunrise and sunset for every date of 2027 and a week around, to the whole minute."""
    rises, sets = [], []
    for n in range(-7, 372):
        day = YEAR_FIRST + timedelta(days=n)
        noon = int(datetime(day.year, day.month, day.day, 19, tzinfo=UTC).timestamp())
        half = round(380 - 110 * cos(2 * pi * (n + 10) / 365)) * 60
        rises.append(sun_time(day, noon - half, error_minutes))
        sets.append(sun_time(day, noon + half, error_minutes))
    return UnitSun((("sunrise", tuple(rises)), ("sunset", tuple(sets))))


GOOD = program(
    by_sun("sunset", 15, ON),
    clock("23:00", OFF),
    clock("05:00", ON, dates=EventDates((10, 1), (2, 28))),
    by_sun("sunrise", -10, OFF),
    clock("23:45", ON, weekdays=frozenset({4})),
    clock("00:30", OFF, weekdays=frozenset({5})),
)


@lru_cache
def good_target(tolerance_minutes: int = 2) -> Target:
    """Dusk to 23:00; 05:00 to dawn from October through February; Friday 23:45 to 00:30."""
    start, end = at("2027-01-01 00:00"), at("2028-01-01 00:00")
    rises, sets = ({t.day: t.nominal for t in times} for _, times in smooth_sun().times)
    slack = tolerance_minutes * 60
    found: list[tuple[int, Action, int, int]] = []
    for n in range(-2, 368):
        day = YEAR_FIRST + timedelta(days=n)
        dusk, dawn = sets[day] + 900, rises[day] - 600
        found.append((dusk, ON, dusk - slack, dusk + slack))
        off = at(f"{day} 23:00")
        found.append((off, OFF, off, off))
        if day.month in (10, 11, 12, 1, 2):
            on = at(f"{day} 05:00")
            found.append((on, ON, on, on))
            found.append((dawn, OFF, dawn - slack, dawn + slack))
        if day.weekday() == 4:
            on, off = at(f"{day} 23:45"), at(f"{day + timedelta(days=1)} 00:30")
            found += [(on, ON, on, on), (off, OFF, off, off)]
    found.sort(key=lambda switching: switching[0])
    last = next(i for i, s in enumerate(found) if s[0] >= end and s[1] is OFF)
    inside = [s for s in found[: last + 1] if s[0] >= start]
    lit = inside[0][1] is OFF
    made = channel(start, inside[-1][0], *inside, lit=lit)
    return Target(start=start, end=end, channels=(made,))


MUTATIONS: tuple[Callable[[Event], Event], ...] = (
    lambda e: replace(e, action=e.action.opposite),
    lambda e: replace(e, channels=(2,)),
    lambda e: replace(e, weekdays=e.weekdays - {min(e.weekdays)}),
    lambda e: replace(e, weekdays=frozenset({6})),
    lambda e: replace(e, weekdays=frozenset((d + 1) % 7 for d in e.weekdays)),
    lambda e: replace(e, dates=EventDates((1, 2), (12, 31))),
    lambda e: replace(e, dates=EventDates((10, 1), (2, 27))),
    lambda e: replace(e, dates=EventDates((10, 2), (2, 28))),
    lambda e: replace(e, dates=EventDates((2, 28), (10, 1))),
    lambda e: replace(e, dates=EventDates((1, 1), (12, 31), (2026, 2026))),
    lambda e: replace(e, start=moved(e, 1)),
    lambda e: replace(e, start=moved(e, -1)),
    lambda e: replace(e, start=moved(e, 60)),
    lambda e: replace(e, start=ClockStart(720)),
    lambda e: replace(e, start=SunOffset("sunrise", 0)),
    lambda e: replace(e, start=SunOffset("sunset", 0)),
)


def moved(event: Event, minutes: int) -> ClockStart | SunOffset:
    if isinstance(event.start, ClockStart):
        return ClockStart((event.start.minutes + minutes) % 1440)
    return SunOffset(event.start.word, event.start.offset_minutes + minutes)


# Special days.

STATES = ("keeps state", "off", "recalculates")
RULES = tuple((start, end) for start in STATES for end in STATES)
"""What a unit may do where special days begin and where they end."""


def keeping(start: str = "keeps state", end: str = "keeps state", **given: object) -> Controller:
    rule = ExceptionSlots(slots=16, start=start, end=end)
    return replace(UNIT, exceptions=rule, **given)


def dates(first: str, last: str | None = None, year: int | None = None) -> EventDates:
    """`12-24`, or from one through another, of every year or of one."""
    ends = []
    for text in (first, last or first):
        month, day = text.split("-")
        ends.append((int(month), int(day)))
    years = None if year is None else (year, year + (ends[0] > ends[1]))
    return EventDates(ends[0], ends[1], years)


def days(plan: str, *when: EventDates, channels: tuple[int, ...] = (1,)) -> tuple[SpecialDays, ...]:
    return tuple(
        SpecialDays(slot=n, channels=channels, dates=d, plan=plan)
        for n, d in enumerate(when, start=1)
    )


def special(made: Program, *kept: SpecialDays) -> Program:
    numbered = tuple(replace(k, slot=n) for n, k in enumerate(kept, start=1))
    return replace(made, special_days=numbered)


def loose_target(made: Program, place: Place, number: int, slack: int) -> ChannelTarget:
    """What the slow unit does with the sun exact; what a sun slot does may be off by `slack`."""
    wanted = []
    for instant, action, slot in lamps(deeds(made, place, "nominal", number), False):
        by_the_sun = slot > 0 and isinstance(made.events[slot - 1].start, SunOffset)
        loose = slack if by_the_sun else 0
        wanted.append((instant, action, instant - loose, instant + loose))
    return channel(place.start, place.end, *wanted, number=number)
