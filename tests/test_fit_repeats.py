"""Spare slots: repeats that change nothing while all goes well, and help when an event is missed.

Whole years are made with the fit, its borders found again from the program, and the test run
judges the program with and without its repeats.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime
from functools import lru_cache
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings

from schedcomp.audit import run_program
from schedcomp.audit_report import AuditReport
from schedcomp.clock import Zone, zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller, ExceptionSlots, SunStart
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Severity, Source
from schedcomp.fit.cells import cells_of
from schedcomp.fit.date_ranges import MONTH_DAYS, RangeAxis, range_axis, within
from schedcomp.fit.firings import axis_of
from schedcomp.fit.overrides import cancels_override, override_notes
from schedcomp.fit.purpose import purpose_of_repeat
from schedcomp.fit.repeats import Repeat, repeats
from schedcomp.fit.settled import Settled, Stored, no_rests, with_borders
from schedcomp.fit.timetable import Timetable
from schedcomp.model import DAY, MINUTE, Action, Half, Period
from schedcomp.pipeline import compile as compile_site
from schedcomp.program import ClockStart, Event, EventDates, Program, SpecialDays, SunOffset
from schedcomp.records import Record, replace
from schedcomp.site import Circuit
from schedcomp.sitefile import site_from_source
from schedcomp.target import ChannelTarget, Target, TargetSwitching
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.unit_sun import UnitSun, UnitSunTime
from schedcomp.year import Bound, Cause, Reason
from tests.sites import (
    ANCHORAGE,
    CAIRO,
    DENVER,
    DUBLIN,
    LORD_HOWE,
    NEW_YORK,
    SANTIAGO,
    TROMSO,
    UMEA,
    VANCOUVER,
    Place,
    site_text,
)
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites

YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
THIRTEEN_MONTHS = Period(date(2027, 3, 5), date(2028, 4, 20))
EVERY_WEEKDAY = 0b1111111
NOON = ClockStart(12 * 60)
ALL_ROOM = 400

Plans = Mapping[tuple[str, int], frozenset[int]]
"""The dates (axis numbers) of each plan on each channel."""

NO_PLANS: Plans = MappingProxyType({})


class Made(Record):
    """A program that is right, with everything the repeats are chosen from."""

    controller: Controller
    target: Target
    sun: UnitSun
    zone_name: str
    settled: Settled
    events: tuple[Stored, ...]
    needed: tuple[Event, ...]
    special_days: tuple[SpecialDays, ...] = ()

    def repeats(
        self, spare: Mapping[int, int] | int = ALL_ROOM, **properties: object
    ) -> tuple[Repeat, ...]:
        controller = replace(self.controller, **properties)
        return repeats(self.settled, self.events, controller, spare)

    def slots(self, found: Sequence[Repeat]) -> range:
        return range(len(self.needed) + 1, len(self.needed) + 1 + len(found))

    def program(self, found: Sequence[Repeat], without: int | None = None) -> Program:
        """The program with repeats; `without` one of the needed events (index)."""
        kept = [e for n, e in enumerate(self.needed) if n != without]
        ranges = self.settled.ranges
        added = [
            event_of(r.event, ranges, slot=slot, safety=True)
            for r, slot in zip(found, self.slots(found), strict=True)
        ]
        return Program(
            controller=self.controller.name,
            events=(*kept, *added),
            special_days=self.special_days,
        )

    def audit(self, program: Program) -> AuditReport:
        return run_program(program, self.controller, self.target, self.sun, self.zone_name)


def event_of(stored: Stored, ranges: RangeAxis, *, slot: int, safety: bool = False) -> Event:
    return Event(
        slot=slot,
        channels=stored.channels,
        action=stored.action,
        start=stored.start,
        weekdays=frozenset(d for d in range(7) if stored.weekdays >> d & 1),
        dates=ranges.dates(stored.places),
        safety=safety,
    )


def unit(name: str, **properties: object) -> Controller:
    found, findings = load_controller(name, ".", None)
    assert found is not None, findings
    plain = replace(found, exceptions=ExceptionSlots())
    return replace(plain, **properties)


def made(text: str, controller: Controller, period: Period = YEAR) -> Made:
    done = made_if_it_fits(text, controller, period)
    assert done is not None
    return done


@lru_cache(maxsize=64)
def made_if_it_fits(text: str, controller: Controller, period: Period) -> Made | None:
    site, findings = site_from_source(Source("site.toml", text))
    assert site is not None, findings
    site = replace(site, fit=replace(site.fit, spare="none"))
    compiled, findings = compile_site(site, period, controller)
    assert compiled is not None, findings
    program = compiled.fitted.program
    if program is None:
        return None
    clock, sun = (
        unit_clock(controller, compiled.world),
        unit_sun_of(site, controller, compiled.world),
    )
    loose = loosely_settled(compiled.target, controller, clock, sun, program.special_days)
    events = tuple(stored(e, loose.ranges) for e in program.needed)
    days = days_of_plans(program.special_days, loose.ranges)
    return Made(
        controller,
        compiled.target,
        sun,
        site.timezone,
        settled_for(loose, events, controller.step_minutes * MINUTE, days),
        events,
        program.needed,
        program.special_days,
    )


def loosely_settled(
    target: Target,
    controller: Controller,
    clock: Zone,
    sun: UnitSun,
    special_days: Sequence[SpecialDays] = (),
) -> Settled:
    """All firings of a unit; every border is where its band begins."""
    axis = axis_of(clock, target.start, [c.end for c in target.channels])
    firings = Timetable(controller, clock, axis, sun).every()
    ranges = range_axis(controller, axis)
    rests = no_rests(target.channels, ranges)
    for special in special_days:
        for channel, marks in zip(target.channels, rests, strict=True):
            if channel.channel in special.channels:
                marks[sorted(days_named(special.dates, ranges))] = True
    cells = tuple(cells_of(c, ()) for c in target.channels)
    return Settled(target.channels, cells, firings, ranges, rests)


def days_named(dates: EventDates, ranges: RangeAxis) -> set[int]:
    """The dates of the axis that special days name."""
    found = set()
    for number, day in enumerate(ranges.axis.dates):
        key = (day.month, day.day)
        if dates.years is not None:
            first, last = (dates.years[0], *dates.first), (dates.years[1], *dates.last)
            inside = first <= (day.year, *key) <= last
        elif dates.first <= dates.last:
            inside = dates.first <= key <= dates.last
        else:
            inside = key >= dates.first or key <= dates.last
        if inside:
            found.add(number)
    return found


def days_of_plans(special_days: Sequence[SpecialDays], ranges: RangeAxis) -> Plans:
    found: dict[tuple[str, int], frozenset[int]] = {}
    for special in special_days:
        for channel in special.channels:
            key = (special.plan, channel)
            found[key] = found.get(key, frozenset()) | days_named(special.dates, ranges)
    return found


def settled_for(
    loose: Settled, events: Sequence[Stored], step: int, plans: Plans = NO_PLANS
) -> Settled:
    """With borders that suit the events, which are valid then."""
    borders = [borders_of(shots(loose, events, c, plans), c, step) for c in loose.channels]
    cells = tuple(
        with_borders(c, np.array(b, dtype=np.int64))
        for c, b in zip(loose.cells, borders, strict=True)
    )
    settled = Settled(loose.channels, cells, loose.firings, loose.ranges, loose.rests)
    normal = [e for e in events if not e.plan]
    assert all(settled.is_harmless(e) for e in normal)
    covered = frozenset[tuple[int, int]]().union(*(settled.covered(e) for e in normal))
    assert plans or covered == {
        (c.channel, r) for c in loose.channels for r in range(len(c.switchings))
    }
    return settled


def stored(event: Event, ranges: RangeAxis) -> Stored:
    """An event as the fit knows it."""
    places = None
    if event.dates is not None and event.dates.years is not None:
        days, years = ranges.axis.dates, event.dates.years
        places = (
            days.index(date(years[0], *event.dates.first)),
            days.index(date(years[1], *event.dates.last)),
        )
    elif event.dates is not None:
        places = MONTH_DAYS.index(event.dates.first), MONTH_DAYS.index(event.dates.last)
    weekdays = sum(1 << d for d in event.weekdays)
    return Stored(event.channels, event.action, event.start, weekdays, places, event.plan)


class Shot(Record):
    """A firing of a stored event: its instants, what it does, and whether it surely comes."""

    first: int
    last: int
    action: Action
    sure: bool


def shots(
    settled: Settled, events: Sequence[Stored], channel: ChannelTarget, plans: Plans = NO_PLANS
) -> list[Shot]:
    """All firings on a channel in order."""
    found = []
    origin = min([channel.start, *(s.earliest for s in channel.switchings[:1])])
    for event in events:
        if channel.channel not in event.channels:
            continue
        number, place = settled.group_of(event.start)
        group = settled.firings[number]
        for occasion in range(group.first.shape[1]):
            first, last = int(group.first[place, occasion]), int(group.last[place, occasion])
            named = [
                is_named(event, int(day), settled, channel.channel, plans)
                for day in group.dates[place, occasion]
                if 0 <= day < settled.ranges.axis.count
            ]
            if any(named) and last >= origin and first <= channel.end:
                sure = all(named) and bool(group.certain[place, occasion])
                found.append(Shot(first, last, event.action, sure))
    return sorted(found, key=lambda s: (s.first, s.last))


def is_named(event: Stored, day: int, settled: Settled, channel: int, plans: Plans) -> bool:
    """Whether an event fires on a date of the axis on this channel."""
    if event.plan:
        return day in plans.get((event.plan, channel), frozenset())
    position, weekday = int(settled.ranges.positions[day]), int(settled.ranges.weekdays[day])
    if not event.weekdays >> weekday & 1:
        return False
    named = event.places is None or within(position, event.places)
    return named and not settled.rests[settled.index(channel)][day]


def changes(found: Sequence[Shot], *, lit: bool) -> list[list[Shot]]:
    """Firings of one action without one of the other between them; the first changes the lamps."""
    groups: list[list[Shot]] = []
    for shot in found:
        if groups and groups[-1][0].action is shot.action:
            groups[-1].append(shot)
        elif groups or (shot.action is Action.ON) != lit:
            groups.append([shot])
    return groups


def borders_of(found: Sequence[Shot], channel: ChannelTarget, step: int) -> list[int]:
    """Borders under which a right program is valid: just after the last firing of the other
    action, or where the band begins.
    """
    groups = changes(found, lit=channel.lit_at_start)
    before = [s for s in found if groups and s.first < groups[0][0].first]
    borders = []
    for switching, group in zip(channel.switchings, groups, strict=True):
        assert group[0].action is switching.action
        after = max((s.last + step for s in before), default=switching.earliest)
        borders.append(max(switching.earliest, after))
        before = group
    return borders


def instants(report: AuditReport) -> dict[tuple[str, int], list[tuple[int, Action]]]:
    """What the lamps did, by run and channel."""
    return {
        (run.name, channel): [(at, action) for at, action, _ in seen]
        for run in report.runs
        for channel, seen in run.switchings
    }


def check(one: Made, found: Sequence[Repeat]) -> None:
    """With the repeats the lamps do the same, to the second, whatever the sun times are."""
    plain = one.audit(one.program(()))
    full = one.audit(one.program(found))
    assert plain.agrees
    assert full.agrees, (full.overlaps[:3], full.interval_differences[:3])
    without, with_repeats = instants(plain), instants(full)
    for key, seen in without.items():
        if "opposite start" not in key[0]:
            assert with_repeats[key] == seen, key
    assert full.exact_run.worst_late_seconds == plain.exact_run.worst_late_seconds
    assert full.exact_run.worst_early_seconds == plain.exact_run.worst_early_seconds


def told(found: Sequence[Repeat]) -> list[str]:
    return [r.why for r in found]


def clock(text: str) -> ClockStart:
    hours, minutes = text.split(":")
    return ClockStart(int(hours) * 60 + int(minutes))


TWO_ENDS = ("on from dusk until 22:45", "on from 05:30 until dawn")
LATE = 'late = ["on from dusk until 23:40"]'
WITH_FRIDAYS = ("every day: usual", "fri: late")
SIGN = """
[[circuit]]
name = "Sign"
channel = 2
calendar = ["every day: usual", "holidays: dark"]
"""
WITHIN_8 = 'tolerance = "8 min"'
HOLIDAYS = 'holidays = { country = "US", only = ["Christmas Day"], observed = false }'


def two_circuits(place: Place) -> str:
    lines = ("every day: usual", "fri, sat evenings: late", "nov 20 to jan 6 evenings: late")
    return site_text(
        place, TWO_ENDS, calendar=lines, types=LATE, more=SIGN, site=f"{HOLIDAYS}\n{WITHIN_8}"
    )


STANDARD = unit("clock-yearly-96", clock="standard")
TWICE = unit("clock-yearly-96", repeated_time="twice")
LOST = unit("sun-yearly-64", skipped_time="lost", sun_date="fires on")
WITH_YEAR = unit("clock-yearly-96", date_ranges="with year", event_slots=ALL_ROOM)
NIGHT = ("on from dusk until dawn",)
CIVIL = 'dusk = "sun 6 deg below horizon"\ndawn = "sun 6 deg below horizon"\nfavour = "even"'

YEARS = {
    "two circuits, dates and holidays": (two_circuits(DENVER), unit("sun-yearly-64"), YEAR),
    "thirteen months": (two_circuits(NEW_YORK), unit("sun-yearly-64"), THIRTEEN_MONTHS),
    "weekdays alone": (
        site_text(SANTIAGO, TWO_ENDS, calendar=WITH_FRIDAYS, types=LATE, site=WITHIN_8),
        unit("sun-weekly-48"),
        YEAR,
    ),
    "half an hour of summer time": (
        site_text(LORD_HOWE, ("on from dusk until 02:15",), site=WITHIN_8),
        unit("sun-weekly-48"),
        YEAR,
    ),
    "dusk by the clock": (
        site_text(DENVER, NIGHT, site=f'{CIVIL}\ntolerance = "10 min"'),
        unit("clock-yearly-96"),
        YEAR,
    ),
    "dates with years": (
        site_text(DENVER, NIGHT, site=f'{CIVIL}\ntolerance = "10 min"'),
        WITH_YEAR,
        THIRTEEN_MONTHS,
    ),
    "a clock without summer time": (
        site_text(DUBLIN, ("on from 17:30 until 00:50",)), STANDARD, YEAR
    ),
    "an hour played twice": (site_text(DENVER, ("on from 21:00 until 00:55",)), TWICE, YEAR),
    "an hour skipped": (
        site_text(DENVER, ("on from dusk until 01:55",), site=WITHIN_8), LOST, YEAR
    ),
    "a midnight skipped": (
        site_text(CAIRO, ("on from dusk until 23:50",), site=WITHIN_8), unit("sun-weekly-48"), YEAR
    ),
    "sun and clock meet": (
        site_text(VANCOUVER, ("on from dusk until 21:40",), site='tolerance = "10 min"'),
        unit("sun-yearly-64"),
        YEAR,
    ),
    "white nights": (
        site_text(ANCHORAGE, ("on from dusk until 23:30",), site='tolerance = "8 min"'),
        unit("sun-yearly-64"),
        YEAR,
    ),
    "sunset near midnight": (
        site_text(UMEA, ("on from sunset until 02:00",), site='tolerance = "10 min"'),
        unit("sun-yearly-64", sun_error_minutes=1),
        YEAR,
    ),
    "polar night": (
        site_text(TROMSO, NIGHT, site='tolerance = "30 min"'), unit("sun-yearly-64"), YEAR
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", YEARS)
def test_repeats_change_nothing(name: str) -> None:
    one = made(*YEARS[name])
    found = one.repeats()
    assert found
    check(one, found)


# Small worlds: the events come first, and what they do is what is wanted of them.

MARCH = Period(date(2027, 3, 1), date(2027, 3, 28))
SMALL = Controller(name="small", event_slots=99, channels=4, starts_clock=True)


def sun_of(period: Period, chance: random.Random | None = None, error: int = 0) -> UnitSun:
    """Made-up sun times: sunrise about 06:00 UTC and two minutes earlier each day, sunset 18:00.

    `error` in minutes, either way; with `chance` it is made up too.
    """
    words = (("sunrise", 6 * 60, -2), ("sunset", 18 * 60, 2))
    early, late = (chance.randrange(8), chance.randrange(8)) if chance else (error, error)
    found = []
    for word, minutes, drift in words:
        times = []
        for number, day in enumerate(period.dates(before=3, after=3)):
            midnight = int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp())
            nominal = midnight + (minutes + drift * number) * MINUTE + 17
            certain = chance is None or chance.random() > 0.03
            times.append(
                UnitSunTime(day, nominal, nominal - early * 60, nominal + late * 60, certain)
            )
        found.append((word, tuple(times)))
    return UnitSun(tuple(found))


def small(
    events: Sequence[Stored],
    controller: Controller = SMALL,
    period: Period = MARCH,
    chance: random.Random | None = None,
    *,
    error: int = 0,
    early: int = 0,
) -> Made | None:
    """A program that is right because what it does is wanted; None if luck would decide.

    Bands begin `early` steps sooner than need be; with `chance` they are wider on both sides.
    """
    clock = zone("UTC", period.first, period.last)
    start = clock.first_pass(period.first, 0)
    end = clock.first_pass(period.last, 0) + DAY
    sun = sun_of(period, chance, error)
    numbers = sorted({n for e in events for n in e.channels})
    blank = Target(start=start, end=end, channels=tuple(channel_of(n, start, end) for n in numbers))
    loose = loosely_settled(blank, controller, clock, sun)
    step = controller.step_minutes * MINUTE
    channels = []
    for channel in blank.channels:
        found = shots(loose, events, channel)
        groups = changes(found, lit=False)
        if not groups or meets(found) or not all(any(s.sure for s in g) for g in groups):
            return None
        channels.append(replace(channel, switchings=tuple(wanted(groups, step, early, chance))))
    target = replace(blank, channels=tuple(channels))
    settled = settled_for(loosely_settled(target, controller, clock, sun), events, step)
    needed = tuple(event_of(e, loose.ranges, slot=n) for n, e in enumerate(events, start=1))
    return Made(controller, target, sun, "UTC", settled, tuple(events), needed)


def channel_of(number: int, start: int, end: int) -> ChannelTarget:
    return ChannelTarget(
        channel=number,
        circuit=f"c{number}",
        load_kw=1.0,
        start=start,
        end=end - 1,
        lit_at_start=False,
        switchings=(),
    )


def meets(found: Sequence[Shot]) -> bool:
    """Whether firings of opposite action could come in either order."""
    return any(
        one.action is not other.action and other.first <= one.last
        for number, one in enumerate(found)
        for other in found[number + 1 :]
    )


def wanted(
    groups: Sequence[Sequence[Shot]], step: int, early: int, chance: random.Random | None
) -> list[TargetSwitching]:
    """A switching for each group, with a band that holds whatever may happen."""
    firsts = [g[0].first for g in groups]
    dones = [min(s.last for s in g if s.sure) for g in groups]
    lows = [f - step * (chance.randrange(9) if chance else early) for f in firsts]
    highs = [d + step * (chance.randrange(9) if chance else 0) for d in dones]
    for i in range(1, len(groups)):
        lows[i] = max(lows[i], lows[i - 1] + step)
    for i in range(len(groups) - 2, -1, -1):
        highs[i] = min(highs[i], highs[i + 1] - step)
    found = []
    for group, low, high in zip(groups, lows, highs, strict=True):
        asked = chance.randrange(low, high + 1) if chance else low
        reason = Reason(Cause.WINDOW, "x", date(2027, 3, 1), Bound(((asked, True),)))
        found.append(TargetSwitching(asked, group[0].action, low, high, reason))
    return found


def event(
    action: str,
    start: str,
    weekdays: str = "0123456",
    places: tuple[int, int] | None = None,
    channels: tuple[int, ...] = (1,),
) -> Stored:
    """`event("on", "18:00", "04")`: ON at 18:00 on Mondays and Fridays; `sunset+15` for the sun."""
    days = sum(1 << int(d) for d in weekdays)
    if ":" in start:
        return Stored(channels, Action(action), clock(start), days, places)
    word = start[: len(start.rstrip("+-0123456789"))]
    return Stored(
        channels, Action(action), SunOffset(word, int(start[len(word) :] or 0)), days, places
    )


def shown(stored: Stored) -> str:
    """`off 22:10` with weekdays where not all: `off 22:10 04`."""
    start = stored.start
    if isinstance(start, ClockStart):
        time = f"{start.minutes // 60:02d}:{start.minutes % 60:02d}"
    else:
        time = f"{start.word}{start.offset_minutes:+d}"
    days = "".join(str(d) for d in range(7) if stored.weekdays >> d & 1)
    return f"{stored.action.value} {time}" + ("" if days == "0123456" else f" {days}")


def answered(one: Made | None, spare: int = ALL_ROOM, **properties: object) -> list[str]:
    """The repeats as `shown`, once they have been found to change nothing."""
    assert one is not None
    found = one.repeats(spare, **properties)
    check(one, found)
    return [shown(r.event) for r in found]


SUNNY = replace(
    SMALL,
    sun_starts=(
        SunStart(word="sunrise", half=Half.MORNING, level_degrees=SUNRISE_LEVEL_DEGREES),
        SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES),
    ),
)
EVENING = (event("on", "sunset"), event("off", "22:45"))


def random_event(chance: random.Random) -> Stored:
    hour = chance.choice(["05", "06", "11", "12", "17", "18", "19", "22", "23"])
    start = f"{hour}:{chance.randrange(12) * 5:02d}"
    if chance.random() < 0.4:
        start = f"{chance.choice(['sunrise', 'sunset'])}{chance.randrange(-6, 7) * 5:+d}"
    weekdays = "0123456"
    if chance.random() < 0.4:
        weekdays = "".join(sorted(chance.sample(weekdays, chance.randint(2, 6))))
    places = None
    if chance.random() < 0.3:
        # March 1 is position 60.
        places = chance.choice([(55, 70), (65, 100), (80, 70), (72, 80)])
    return event(chance.choice(["on", "off"]), start, weekdays, places)


def random_unit(chance: random.Random) -> Controller:
    return replace(
        SUNNY,
        step_minutes=5,
        offset_step_minutes=5,
        weekday_sets=chance.choice(
            [None, None, (frozenset(range(7)), frozenset(range(5)), frozenset({5, 6}))]
        ),
        date_ranges=chance.choice(["yearly", "yearly no wrap"]),
        sun_date=chance.choice([None, "fires on", "event on", "evening"]),
    )


# What is stored


def test_noon_the_curfew_and_the_evening() -> None:
    assert answered(small(EVENING, SUNNY)) == ["off 12:00", "off 22:55", "on sunset+10"]


def test_a_morning_on_is_not_repeated() -> None:
    morning = (event("on", "04:00"), event("off", "sunrise"))
    assert answered(small(morning, SUNNY)) == ["off 12:00", "off sunrise+10"]


def test_the_delay_is_the_first_of_10_15_20_and_5_minutes_that_is_harmless() -> None:
    """Lit again from 22:08: only five minutes after 22:00 are dark."""
    lit_again = (event("on", "18:00"), event("off", "22:00"), event("on", "22:08"))
    found = answered(small((*lit_again, event("off", "23:00"))))
    assert found == ["off 12:00", "off 22:05", "off 23:10", "on 18:10", "on 22:18"]


def test_on_dates_that_are_lit_again_the_off_is_not_repeated() -> None:
    lit_again = (event("on", "18:00"), event("off", "22:00"), event("off", "23:00"))
    friday = small((*lit_again, event("on", "22:04", "4")))
    assert "off 22:10 012356" in answered(friday)
    most_days = small((*lit_again, event("on", "22:04", "0124")))
    assert not [r for r in answered(most_days) if r.startswith("off 22:")]


def test_a_repeat_inside_a_band_would_move_the_switching() -> None:
    """The OFF of 22:25 may come from 22:07 on: one at 22:10 is harmless, but it would be first."""
    events = (event("on", "18:00"), event("off", "22:00"), event("on", "22:04"))
    one = small((*events, event("off", "22:25")), early=18)
    assert answered(one) == ["off 12:00", "off 22:35", "on 18:10"]


def test_what_is_made_good_already_is_not_repeated() -> None:
    twice = (event("on", "18:00"), event("off", "22:45"), event("off", "22:55"))
    assert answered(small(twice)) == ["off 12:00", "on 18:10"]
    at_midday = (event("on", "05:30"), event("off", "11:30"))
    assert answered(small(at_midday)) == ["off 11:40"]


def test_repeats_keep_to_the_steps_of_the_unit() -> None:
    quarters = small(EVENING, replace(SUNNY, step_minutes=15, offset_step_minutes=20))
    assert answered(quarters) == ["off 12:00", "off 23:00", "on sunset+20"]
    halves = small((event("on", "18:00"), event("off", "22:30")), replace(SMALL, step_minutes=30))
    assert answered(halves) == ["off 12:00"]


def test_offsets_go_no_further_than_the_unit_takes() -> None:
    late = (event("on", "sunset+115"), event("off", "22:45"))
    assert "on sunset+120" in answered(small(late, SUNNY))


def test_sun_events_are_not_repeated_where_offsets_are_shared() -> None:
    one = small(EVENING, SUNNY)
    for shared in ("per channel", "one for all"):
        assert answered(one, offsets=shared) == ["off 12:00", "off 22:55"]


def test_two_events_of_one_sun_time_keep_their_order() -> None:
    """The unit's sunset may be 25 min off, and a repeat still comes after its event."""
    assert "on sunset+10" in answered(small(EVENING, SUNNY, error=25))


def test_a_unit_without_clock_times_repeats_by_the_sun() -> None:
    by_sun = replace(SUNNY, starts_clock=False)
    night = (event("on", "sunset"), event("off", "sunrise"))
    assert answered(small(night, by_sun)) == ["off sunrise+10", "on sunset+10"]


def test_past_midnight_weekdays_move_on() -> None:
    week = (event("on", "18:00"), event("off", "23:55", "01234"), event("off", "23:20", "56"))
    assert answered(small(week)) == ["off 12:00", "off 00:05 12345", "off 23:30 56", "on 18:10"]
    sets = (frozenset(range(7)), frozenset(range(5)), frozenset({5, 6}))
    found = answered(small(week, replace(SMALL, weekday_sets=sets)))
    assert found == ["off 12:00", "off 23:30 56", "on 18:10"]


@pytest.mark.parametrize(
    ("ranges", "places"), [("yearly", (345, 0)), ("yearly no wrap", (345, 365))]
)
def test_past_midnight_dates_move_on(ranges: str, places: tuple[int, int]) -> None:
    """Through 31 December means through the first minutes of 1 January, if the unit can."""
    december = (event("on", "18:00", places=(344, 365)), event("off", "23:55", places=(344, 365)))
    period = Period(date(2027, 12, 5), date(2028, 1, 6))
    one = small(december, replace(SMALL, date_ranges=ranges), period)
    assert one is not None
    check(one, one.repeats())
    assert [r.event.places for r in one.repeats() if r.of == 1] == [places]


@pytest.mark.parametrize(("year", "first"), [(2027, 60), (2028, 59)])
def test_past_midnight_the_leap_day_is_stepped_over_in_common_years(year: int, first: int) -> None:
    """A range from 28 February goes on from 1 March, or from the 29th."""
    events = (event("on", "18:00", places=(58, 69)), event("off", "23:55", places=(58, 69)))
    one = small(events, SMALL, Period(date(year, 2, 20), date(year, 3, 20)))
    assert one is not None
    check(one, one.repeats())
    assert [r.event.places for r in one.repeats() if r.of == 1] == [(first, 70)]


# Noon


def test_noon_is_left_out_on_days_that_are_lit_then() -> None:
    lit = (event("on", "11:15", "6"), event("off", "15:00"), *EVENING)
    assert answered(small(lit, SUNNY))[0] == "off 12:00 012345"
    mostly = (event("on", "11:15", "0246"), event("off", "15:00"), *EVENING)
    assert answered(small(mostly, SUNNY))[0] == "off 11:00"
    always = (event("on", "10:00"), event("off", "15:00"))
    assert answered(small(always)) == ["off 15:10"]


def test_one_noon_off_for_all_channels_where_one_event_may_cover_them() -> None:
    second = (event("on", "19:00", channels=(2,)), event("off", "23:00", channels=(2,)))
    lit = (event("on", "10:00", channels=(3,)), event("off", "14:30", channels=(3,)))
    one = small((*EVENING, *second, *lit), SUNNY)
    assert one is not None
    own = [r.event.channels for r in one.repeats() if r.of is None]
    together = one.repeats(event_covers="any channels")
    assert own == [(1,), (2,)]
    assert [r.event.channels for r in together if r.of is None] == [(1, 2)]
    check(one, together)


def test_an_event_of_two_channels_is_repeated_where_it_is_harmless_on_both() -> None:
    both = (event("on", "18:00", channels=(1, 2)), event("off", "22:00", channels=(1, 2)))
    again = (event("on", "22:08", channels=(2,)), event("off", "23:30", channels=(2,)))
    one = small((*both, *again), replace(SMALL, event_covers="any channels"))
    assert one is not None
    check(one, one.repeats())
    assert [(shown(r.event), r.event.channels) for r in one.repeats() if r.of == 1] == [
        ("off 22:05", (1, 2))
    ]


# Few slots


def test_with_fewer_slots_the_first_ones_are_stored() -> None:
    one = small((event("on", "18:00", "012"), event("on", "sunset"), event("off", "22:45")), SUNNY)
    assert one is not None
    every = one.repeats()
    assert [r.of for r in every] == [None, 2, 1, 0]
    assert [one.repeats(n) for n in range(6)] == [every[:n] for n in range(6)]


def test_slots_of_a_channel_are_its_own() -> None:
    second = (event("on", "19:00", channels=(2,)), event("off", "23:00", channels=(2,)))
    one = small((*EVENING, *second), SUNNY)
    assert one is not None
    found = one.repeats({1: 2, 2: 1}, slots_are="per channel")
    assert sorted((r.event.channels, shown(r.event)) for r in found) == [
        ((1,), "off 12:00"),
        ((1,), "off 22:55"),
        ((2,), "off 12:00"),
    ]
    assert {r.event.channels for r in one.repeats(1, slots_are="per channel")} == {(1,), (2,)}
    assert one.repeats({2: 5}, slots_are="per channel") == tuple(
        r for r in one.repeats() if r.event.channels == (2,)
    )


def test_a_slot_for_each_weekday() -> None:
    """Noon takes seven slots; Mondays and Fridays two."""
    events = (event("on", "18:00"), event("off", "22:45", "04"), event("off", "23:40"))
    one = small(events)
    assert answered(one, 6, weekday_set_costs="a slot per day") == ["off 22:55 04"]
    assert answered(one, 9, weekday_set_costs="a slot per day") == ["off 12:00", "off 22:55 04"]


# When an event is missed


@pytest.mark.parametrize(
    ("spare", "off_at"), [(0, None), (1, "12:00"), (2, "22:55")], ids=["none", "noon", "curfew"]
)
def test_a_missed_off_is_made_good(spare: int, off_at: str | None) -> None:
    """Without the curfew slot the lamps go off ten minutes later, at noon, or never."""
    one = small((event("on", "18:00"), event("off", "22:45")))
    assert one is not None
    run = one.audit(one.program(one.repeats(spare), without=1)).exact_run
    offs = [at for at, action, _ in run.of_channel(1) if action is Action.OFF]
    if off_at is None:
        assert not offs
    else:
        assert len(offs) >= 27
        assert {datetime.fromtimestamp(at, UTC).strftime("%H:%M") for at in offs} == {off_at}


def test_a_missed_on_is_made_good() -> None:
    one = small((event("on", "18:00"), event("off", "22:45")))
    assert one is not None
    run = one.audit(one.program(one.repeats(), without=0)).exact_run
    ons = [at for at, action, _ in run.of_channel(1) if action is Action.ON]
    assert {datetime.fromtimestamp(at, UTC).strftime("%H:%M") for at in ons} == {"18:10"}


# The proof


def test_the_check_would_notice() -> None:
    """An event a minute before its own moves the switching, though it lies in the right cell."""
    one = small((event("on", "18:00"), event("off", "22:45")), early=5)
    assert one is not None
    with pytest.raises(AssertionError):
        check(one, (Repeat(event("off", "22:44"), 1, "x"),))


def test_small_worlds() -> None:
    """Wide bands, doubtful firings, borders that had to move: nothing changes anywhere."""
    chance = random.Random(20270301)
    tried = found = moved = 0
    while tried < 60:
        unit_of_world = random_unit(chance)
        events = [random_event(chance) for _ in range(chance.randint(2, 9))]
        one = small(events, unit_of_world, chance=chance)
        if one is None:
            continue
        some = one.repeats()
        check(one, some)
        tried += 1
        found += len(some)
        moved += any(
            cells.low.tolist() != [s.earliest for s in channel.switchings]
            for cells, channel in zip(one.settled.cells, one.settled.channels, strict=True)
        )
    assert found > 80
    assert moved > 10


@settings(
    deadline=None,
    derandomize=True,
    max_examples=how_many(160),
    suppress_health_check=[HealthCheck.too_slow],
)
@given(whole_sites(14))
def test_random_sites(site: WholeSite) -> None:
    controller, _ = site.controller()
    if controller is None or site.site()[0] is None:
        return
    plain = replace(controller, exceptions=ExceptionSlots())
    one = made_if_it_fits(site.site_text, plain, site.period)
    if one is not None:
        check(one, one.repeats())


# Special days


def test_repeats_rest_on_special_days() -> None:
    """Lit at noon on four special days: that is no reason to leave noon out elsewhere."""
    fairs = ("2027-03-16: fair", "2027-05-20: fair", "2027-08-14: fair", "2027-10-05: fair")
    text = site_text(
        DENVER,
        ("on from 18:00 until 23:00",),
        calendar=("every day: usual", *fairs),
        types='fair = ["on from 09:00 until 15:00"]',
    )
    one = made(text, unit("clock-yearly-96", exceptions=ExceptionSlots(slots=4)))
    assert one.special_days
    found = one.repeats()
    check(one, found)
    assert [shown(r.event) for r in found] == ["off 12:00", "off 23:10", "on 18:10"]
    assert all(r.event.plan == "" and r.event.places is None for r in found)


# Words


def test_purposes() -> None:
    found = small(EVENING, SUNNY)
    assert found is not None
    assert [
        purpose_of_repeat(r.why, None if r.of is None else r.of + 2) for r in found.repeats()
    ] == [
        "off at noon in case an off was missed",
        "safety repeat of slot 3: off again 10 min after 22:45",
        "safety repeat of slot 2: on again 10 min after sunset",
    ]
    mostly = small((event("on", "11:15", "0246"), event("off", "15:00"), *EVENING), SUNNY)
    assert mostly is not None
    assert mostly.repeats()[0].why == "off at 11:00 in case an off was missed"
    late = small((event("on", "sunset-75"), event("off", "22:45")), SUNNY)
    assert late is not None
    assert late.repeats()[-1].why == "on again 10 min after sunset - 1 h 15 min"


# Overrides


def ended(one: Made | None, minutes: int | None, **properties: object) -> list[tuple[int, int]]:
    """(slot, minutes after the OFF) of repeats that end an override."""
    assert one is not None
    found = one.repeats()
    circuits = (Circuit(name="Lot", channel=1, override_minutes=minutes),)
    controller = replace(one.controller, **properties)
    cut = cancels_override(one.settled, one.events, found, one.slots(found), controller, circuits)
    return [(c.slot, c.after_minutes) for c in cut]


def test_repeats_that_end_an_override() -> None:
    one = small(EVENING, SUNNY)
    assert ended(one, 120) == [(4, 10)]
    assert ended(one, 10) == []
    assert ended(one, 0) == []
    assert ended(one, None) == []
    assert ended(one, 14 * 60) == [(3, 795), (4, 10)]
    assert ended(one, 120, override_ends="after minutes") == []
    past_midnight = small((event("on", "18:00"), event("off", "23:55")))
    assert ended(past_midnight, 120) == [(4, 10)]
    by_sun = small((event("on", "03:00"), event("off", "sunrise-20")), SUNNY)
    assert ended(by_sun, 60) == [(4, 10)]


def test_an_ended_override_is_told_once_a_circuit() -> None:
    one = small(EVENING, SUNNY)
    assert one is not None
    found = one.repeats()
    circuits = (Circuit(name="Lot", channel=1, override_minutes=900),)
    cut = cancels_override(
        one.settled, one.events, found, one.slots(found), one.controller, circuits
    )
    [note] = override_notes(cut, one.controller, circuits)
    assert (note.code, note.severity) == ("E647", Severity.NOTE)
    assert "Lot: a safety repeat would end a wall override 10 min after the OFF." in note.title
    assert "slots 3 and 4" in note.why
    assert "900 minutes" in note.why
    assert 'spare = "none"' in note.fix
