"""Which starts the fit looks at, against every firing there is."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from datetime import date, timedelta

import numpy as np
import pytest

from schedcomp.clock import day_number, standard, zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit.cells import NO_ROW, cells_of, contested_rows, profile, useful_firings
from schedcomp.fit.date_ranges import range_axis
from schedcomp.fit.families import Family, families
from schedcomp.fit.firings import NO_DATE, Bools, Firings, Ints, any_date, axis_of
from schedcomp.fit.fitting import fit
from schedcomp.fit.in_time import InTime
from schedcomp.fit.one_event import narrowest
from schedcomp.fit.stand_ins import without_stand_ins
from schedcomp.fit.timetable import Timetable
from schedcomp.model import DAY, HOUR, MINUTE, Action
from schedcomp.program import ClockStart, Start, SunOffset
from schedcomp.records import replace
from schedcomp.unit_sun import UnitSun, UnitSunTime
from tests.brute_force import World
from tests.judge import faults
from tests.test_fit_special_days import few_days
from tests.tiny_worlds import (
    EVERY,
    SUN_DATES,
    WEEKDAYS,
    WORDS,
    Band,
    channel_of,
    compared,
    fitted,
    random_world,
    target_of,
)

FIRST = date(2027, 3, 1)
MIDNIGHT = zone("UTC", FIRST, FIRST).first_pass(FIRST, 0)

NIGHTS = [
    ("UTC", FIRST, 30),
    ("UTC", FIRST, 7),
    ("America/Denver", date(2027, 3, 14), 30),
    ("America/Denver", date(2027, 11, 7), 30),
    ("Australia/Lord_Howe", date(2027, 4, 4), 10),
    ("Antarctica/Troll", date(2027, 3, 28), 60),
    ("Africa/Cairo", date(2027, 4, 30), 30),
    ("Africa/Cairo", date(2027, 10, 29), 30),
    ("America/Scoresbysund", date(2027, 3, 28), 15),
]
"""A zone, a date on which its clock changes (public zone table; none in UTC), a step in minutes."""

KINDS = ("local", "standard")


def timetable_of(controller: Controller, zone_name: str, day: date, sun: UnitSun) -> Timetable:
    """Two days before and after a date."""
    clock = zone(zone_name, day, day)
    if controller.clock == "standard":
        clock = standard(clock)
    ends = [clock.first_pass(day + timedelta(days=n), 0) for n in (-2, 3)]
    return Timetable(controller, clock, axis_of(clock, ends[0], ends[1:]), sun)


def wandering_sun(chance: random.Random, zone_name: str, day: date) -> UnitSun:
    """Now and then missing, doubtful, or on the date after as near the polar circle."""
    clock = zone(zone_name, day, day)
    times = []
    for number in range(-5, 6):
        solar = day + timedelta(days=number)
        at = clock.first_pass(solar, 0) + chance.randrange(18 * 60, 26 * 60) * MINUTE
        early, late = (chance.choice([0, 0, 7, 90]) * MINUTE for _ in range(2))
        if chance.random() < 0.9:
            certain = chance.random() < 0.8
            times.append(UnitSunTime(solar, at, at - early, at + late, certain))
    return UnitSun(((WORDS[0].word, tuple(times)),))


def random_bands(chance: random.Random, timetable: Timetable) -> tuple[Ints, Ints]:
    """Around the middle of the days, from an instant on the step to some hours, once for days."""
    middle = timetable.clock.first_pass(timetable.axis.dates[3], 0)
    step = timetable.controller.step_minutes * MINUTE
    low = np.array([middle + chance.randint(-40, 40) * HOUR // 2 for _ in range(60)])
    low += np.array([chance.choice([0, 0, 1, MINUTE]) for _ in low])
    wide = [chance.choice([0, 0, step, 2 * HOUR, 5 * HOUR, 30 * HOUR]) for _ in low]
    return low, low + np.array(wide)


def held(runs: InTime, row: int, count: int) -> Bools:
    only = np.zeros(int(runs.rows.max(initial=row)) + 1, dtype=np.bool_)
    only[row] = True
    found: Bools = runs.of_rows(only).held(count) > 0
    return found


def looked_at(
    timetable: Timetable, low: Ints, high: Ints, *, ending: bool
) -> Iterator[tuple[Firings, InTime, int]]:
    """Every group with its runs, for one row after the other."""
    groups = zip(timetable.every(), timetable.in_time(low, high, ending=ending), strict=True)
    for group, runs in groups:
        for row in range(len(low)):
            yield group, runs, row


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("zone_name", "day", "step"), NIGHTS)
def test_every_start_that_fires_in_a_band_is_named(
    zone_name: str, day: date, step: int, kind: str
) -> None:
    chance = random.Random(f"{zone_name} {day} {kind}")
    controller = Controller(
        name="tiny",
        event_slots=9,
        step_minutes=step,
        sun_starts=WORDS[:1],
        offset_step_minutes=chance.choice([5, 20]),
        offset_limit_minutes=chance.choice([0, 120]),
        sun_date=chance.choice(SUN_DATES),
        clock=kind,
        skipped_time=chance.choice(["at the jump", "lost"]),
        repeated_time=chance.choice(["once", "twice"]),
    )
    timetable = timetable_of(controller, zone_name, day, wandering_sun(chance, zone_name, day))
    low, high = random_bands(chance, timetable)
    begin = day_number(timetable.axis.first)
    named = 0
    for group, runs, row in looked_at(timetable, low, high, ending=False):
        exists = any_date(group.dates != NO_DATE)
        inside = (group.first >= low[row]) & (group.last <= high[row]) & exists & group.certain
        found = held(runs, row, len(group.starts))
        assert not (inside.any(axis=1) & ~found).any()
        mine = runs.rows == row
        for start, occasion in np.argwhere(inside):
            holds = mine & (runs.first <= start) & (start <= runs.last)
            days = group.dates[start, occasion] + begin
            # A jump over midnight may take a reading along; what it fires on is the date after.
            days = days[1:] if isinstance(group.starts[0], ClockStart) else days
            assert runs.date_from[holds].min() <= days.min()
            assert days.max() <= runs.date_to[holds].max()
        # All but those that come a step beside the band, or never or once more on such a night.
        near = (group.first > low[row] - step * MINUTE) & (group.last < high[row] + step * MINUTE)
        if zone_name == "UTC":
            assert not (found & ~near.any(axis=1)).any()
        named += int(found.sum())
    assert named
    for group, runs, row in looked_at(timetable, low, high, ending=True):
        exists = any_date(group.dates != NO_DATE)
        inside = (group.last >= low[row]) & (group.last <= high[row]) & exists
        assert not (inside.any(axis=1) & ~held(runs, row, len(group.starts))).any()


def test_a_sun_that_never_crosses_starts_nothing() -> None:
    """As in the summer of a place beyond the polar circle, where the unit stays silent."""
    world = few_days(ExceptionSlots(), FIRST, 2, [(0, 6), (0, 18), (1, 6), (1, 18)])
    controller = replace(world.controller, sun_starts=WORDS[:1], no_sun_event="does not fire")
    found = compared(replace(world, controller=controller, sun=UnitSun(((WORDS[0].word, ()),))))
    assert (found.least, found.slots) == (2, 2)


# Families


def worlds(name: str, count: int, special: int) -> Iterator[World]:
    for number in range(count):
        chance = random.Random(f"{name} {number}")
        kept = ExceptionSlots(
            slots=special, plan="own events", end=chance.choice(["keeps state", "off"])
        )
        controller = Controller(
            name="tiny",
            event_slots=60,
            step_minutes=60,
            sun_starts=WORDS[: chance.choice([1, 2])],
            offset_step_minutes=60,
            offset_limit_minutes=60,
            weekday_sets=WEEKDAYS[chance.choice(list(WEEKDAYS))],
            sun_date=chance.choice(SUN_DATES),
            exceptions=kept,
        )
        yield random_world(chance, controller, errors=chance.choice([0, 1]), special=special)


def all_starts(world: World) -> Timetable:
    axis = axis_of(world.clock, world.channels[0].start, [world.channels[0].end])
    return Timetable(world.controller, world.clock, axis, world.sun)


def rows_of(group: Firings, covered: Ints) -> Iterator[tuple[Start, set[int]]]:
    for start, rows in zip(group.starts, covered, strict=True):
        yield start, set(rows[rows != NO_ROW].tolist())


def test_no_start_covers_switchings_of_two_families() -> None:
    several = 0
    for world in worlds("families", 25, 1):
        [channel] = world.channels
        timetable = all_starts(world)
        found = list(families(channel, timetable))
        rows = [row for family in found for row in family.rows.tolist()]
        assert sorted(rows) == list(range(len(channel.switchings)))
        several += len(found) > 2
        free = cells_of(channel, rows)
        for number, group in enumerate(timetable.every()):
            for action in Action:
                seen = profile(group, free, action)
                for place, (_, covered) in enumerate(rows_of(group, seen.row)):
                    mine = [f for f in found if f.action is action and covered & {*f.rows.tolist()}]
                    assert len(mine) <= 1
                    assert all(f.every[number][place] for f in mine)
                    for family in mine:
                        firm = set(family.firm.tolist())
                        assert family.able_for_firm[number][place] or not firm <= covered
        hit = contested_rows(useful_firings(timetable.every(), channel), channel)
        assert all(found[0].restless[row] for row in hit)
    assert several > 5


def firm_rows(world: World) -> list[list[int]]:
    [channel] = world.channels
    return [f.firm.tolist() for f in families(channel, all_starts(world))]


ENDS_OFF = ExceptionSlots(slots=1, plan="own events", end="off")
LIT_THROUGH_A_SPECIAL_DAY = [(0, 6), (0, 18), (1, 6), (1, 18), (4, 0), (4, 18)]


def any_weekdays(world: World) -> World:
    return replace(world, controller=replace(world.controller, weekday_sets=None))


def test_an_end_of_special_days_may_do_what_no_event_has_to() -> None:
    """Lit until 00:00 after 3 March and the date after it, either of which may be a special day."""
    nights, special = LIT_THROUGH_A_SPECIAL_DAY, date(2027, 3, 3)
    world = any_weekdays(few_days(ENDS_OFF, special, 5, nights, lit=True))
    rows = {row for family in firm_rows(world) for row in family}
    assert 4 not in rows
    assert {0, 5} <= rows
    silent = replace(world, controller=replace(world.controller, exceptions=ExceptionSlots()))
    assert {row for family in firm_rows(silent) for row in family} == set(range(6))


def test_the_smallest_tolerance_counts_on_ends_of_special_days() -> None:
    nights, special = LIT_THROUGH_A_SPECIAL_DAY, date(2027, 3, 3)
    world = any_weekdays(few_days(ENDS_OFF, special, 5, nights, lit=True))
    assert compared(world).least == 2
    world = replace(world, controller=replace(world.controller, event_slots=2))
    target = target_of(world)
    found, _ = fit(
        lambda _: target,
        world.controller,
        world.clock,
        world.sun,
        tolerance_minutes=None,
        limit_minutes=360,
    )
    assert (found.tolerance_minutes, found.slots_at_limit) == (0, 2)


def narrowest_of(world: World) -> set[Start] | None:
    [channel] = world.channels
    timetable = all_starts(world)
    found: list[Family] = list(families(channel, timetable))
    ranges = range_axis(world.controller, timetable.axis)
    groups = narrowest(found, timetable, ranges)
    return None if groups is None else {start for group in groups for start in group.starts}


def test_one_event_for_each_family_has_one_of_few_starts() -> None:
    kept = ExceptionSlots(slots=1, plan="own events")
    daily = [(day, hour) for day in range(4) for hour in (6, 18)]
    world = few_days(kept, date(2027, 3, 3), 4, daily)
    assert narrowest_of(world) == {ClockStart(360), ClockStart(1080)}
    # Dark on the third date: with a special day there it still takes no more.
    rest = [at for at in daily if at[0] != 2]
    assert narrowest_of(few_days(kept, date(2027, 3, 3), 4, rest)) is not None
    assert narrowest_of(few_days(kept, date(2027, 3, 2), 4, rest)) is not None
    assert narrowest_of(few_days(kept, date(2027, 3, 1), 4, rest)) is None
    assert narrowest_of(few_days(ExceptionSlots(), date(2027, 3, 3), 4, rest)) is None


# Starts that others stand in for


def sunny(
    bands: Sequence[tuple[int, int, int]], days: int, *hours: Sequence[int], lit: bool = False
) -> World:
    """Bands in hours from the first 00:00; sun events at these hours of the days."""
    controller = Controller(
        name="tiny",
        event_slots=60,
        step_minutes=60,
        sun_starts=WORDS[: len(hours)],
        offset_step_minutes=60,
        offset_limit_minutes=0,
        weekday_sets=WEEKDAYS["single days or all"],
        date_ranges="none",
        sun_date="fires on",
    )
    times = []
    for word, hours_of_word in zip(WORDS, hours, strict=False):
        at = [MIDNIGHT + n * DAY + hour * HOUR for n, hour in enumerate(hours_of_word)]
        exact = (UnitSunTime(FIRST + timedelta(days=n), t, t, t, True) for n, t in enumerate(at))
        times.append((word.word, tuple(exact)))
    made = [Band(*(MIDNIGHT + hour * HOUR for hour in band)) for band in bands]
    period = MIDNIGHT, MIDNIGHT + days * DAY - 1
    channel = channel_of(1, made, period, lit, HOUR, FIRST)
    assert channel is not None
    return World(
        controller=controller,
        clock=zone("UTC", FIRST, FIRST),
        zone_name="UTC",
        sun=UnitSun(tuple(times)),
        channels=(channel,),
    )


def needed(world: World) -> set[Start]:
    timetable = all_starts(world)
    groups = without_stand_ins(timetable.every(), world.channels, timetable)
    return {start for group in groups for start in group.starts}


SUNSET, SUNRISE = (SunOffset(word.word, 0) for word in WORDS[:2])


def test_a_sun_start_stands_in_for_readings_that_do_no_more() -> None:
    evenings = [(18, 18, 20), (23, 23, 23), (42, 42, 44), (47, 47, 47)]
    assert needed(sunny(evenings, 2, [19, 19])) == {SUNSET, ClockStart(23 * 60)}
    # On the second date it comes too late, or not at all: then readings do more.
    readings = {ClockStart(hour * 60) for hour in (18, 19, 20, 23)}
    assert needed(sunny(evenings, 2, [19, 22])) == {SUNSET, *readings}
    assert needed(sunny(evenings, 2, [19])) == {SUNSET, *readings}


def test_a_start_that_may_do_harm_stands_in_for_none_that_does_not() -> None:
    """Sunset covers what 18:00 does, but comes at noon a day later; 18:00 comes while it is lit."""
    evenings = [(18, 18, 20), (23, 23, 23), (41, 41, 41), (47, 47, 47)]
    assert ClockStart(18 * 60) not in needed(sunny(evenings, 2, [19, 18]))
    assert ClockStart(18 * 60) in needed(sunny(evenings, 2, [19, 12]))


def test_a_start_that_asks_for_an_early_border_stands_in_for_none_that_does_not() -> None:
    """OFFs at 20:00 and 21:00 of the second date may come before the ON: it has a border to move.

    ON at sunset comes there at 20:00, at 22:00 by the clock: only that leaves them harmless.
    """
    bands = [(18, 18, 18), (20, 20, 21), (43, 46, 46), (47, 47, 47)]
    bands += [(66, 66, 66), (68, 68, 69)]
    world = sunny(bands, 3, [18, 20, 18])
    assert {SUNSET, ClockStart(22 * 60)} <= needed(world)


def dropped_off() -> World:
    """All that an OFF at 20:00 does sunset does too, and more; and the ONs are those of sunrise.

    On the third date 20:00 comes in the band of an ON, where sunset comes while it is dark.
    """
    bands = []
    for day in range(5):
        hours = [(12, 12, 12), (20, 20, 21)]
        if day == 2:
            hours = [(12, 12, 12), (15, 15, 15), (19, 21, 21), (22, 22, 22)]
        if day == 4:
            hours = [(12, 12, 12), (15, 15, 15), (21, 21, 21), (22, 22, 22)]
        if day < 2:
            hours = [(3, 3, 3), (5, 5, 5), *hours]
        bands += [(day * 24 + a, day * 24 + b, day * 24 + c) for a, b, c in hours]
    return sunny(bands, 5, [21, 21, 18, 21, 22], [12, 12, 21, 12, 21])


def test_the_least_deviation_counts_with_borders_that_left_out_starts_would_move() -> None:
    world = dropped_off()
    assert ClockStart(20 * 60) not in needed(world)
    assert compared(world).least == 9
    found = fitted(world)
    program, certificate = found.program, found.certificate
    assert program is not None
    assert certificate is not None
    events = tuple(
        replace(e, start=ClockStart(20 * 60)) if e.start == SUNSET else e for e in program.events
    )
    assert events != program.events
    assert all(event.weekdays == EVERY for event in events if event.start == ClockStart(20 * 60))
    assert not faults(replace(program, events=events), world)
    # Every switching then comes as asked.
    assert certificate.deviations[0].bound_seconds == 0


def test_what_the_end_of_special_days_does_costs_no_event_any_distance() -> None:
    """The first OFF, asked for at 00:00 of 2 March, is done right then by a special day; an event
    for the other three may come at 15:00, as asked, or later.
    """
    kept = ExceptionSlots(slots=3, plan="off", end="off")
    world = few_days(kept, date(2027, 3, 2), 6, [(1, 0)], lit=True)
    hours = [(18, 24, 24), (84, 84, 84), (87, 87, 93), (108, 108, 111), (111, 111, 117)]
    bands = [Band(*(MIDNIGHT + h * HOUR for h in band)) for band in hours]
    start = world.channels[0].start
    period = start, start + 6 * DAY - 1
    channel = channel_of(1, bands, period, True, 3 * HOUR, FIRST)
    assert channel is not None
    world = replace(world, channels=(replace(channel, special=frozenset({date(2027, 3, 2)})),))
    world = replace(world, controller=replace(world.controller, weekday_sets=None))
    found = fitted(world).certificate
    assert found is not None
    assert found.deviations[0].bound_seconds == 0
