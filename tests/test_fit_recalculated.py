"""Special days of units that work out a state from events that never fired.

Programs made at random are played by the slow unit that looks at its clock once a minute. What it
did is then asked for: the compiler must find a program, and none that takes more slots.
"""

from __future__ import annotations

import random
from collections import Counter
from datetime import date, timedelta

from schedcomp.audit import run_program
from schedcomp.clock import Zone, zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.model import DAY, HOUR, Action
from schedcomp.program import PLAIN_DARK, Event, EventDates, Program, SpecialDays, SunOffset
from schedcomp.records import Record, replace
from schedcomp.unit_sun import UnitSun, UnitSunTime
from tests.brute_force import World
from tests.tiny_worlds import (
    EVERY,
    MOST_SWITCHINGS,
    WORDS,
    Band,
    channel_of,
    describe,
    fitted,
    how_many,
    target_of,
)
from tests.unit_by_minute import Place, order_unknown, slow_unit

FIRST = date(2027, 3, 1)
STATES = ("keeps state", "off", "recalculates", "recalculates")


class Known(Record):
    """A tiny year with a program that is right for it."""

    world: World
    program: Program


def sun_only(chance: random.Random) -> Controller:
    kept = ExceptionSlots(
        slots=1,
        plan=chance.choice(["own events", "own events", "off"]),
        start=chance.choice(STATES),
        end=chance.choice(STATES),
        length=chance.choice(["range", "single date"]),
    )
    return Controller(
        name="tiny",
        event_slots=9,
        channels=1,
        step_minutes=60,
        starts_clock=False,
        sun_starts=WORDS[:2],
        offset_step_minutes=60,
        offset_limit_minutes=chance.choice([0, 60, 120]),
        weekday_sets=(EVERY,),
        date_ranges=chance.choice(["none", "none", "yearly"]),
        sun_date=chance.choice(["fires on", "event on", "evening"]),
        exceptions=kept,
    )


def wandering_sun(chance: random.Random, clock: Zone, days: int) -> UnitSun:
    found = []
    for word in WORDS[:2]:
        hour, times = chance.randrange(24), []
        for number in range(-3, days + 3):
            hour += chance.choice([-1, 0, 0, 0, 0, 1])
            day = FIRST + timedelta(days=number)
            at = clock.first_pass(FIRST, 0) + number * DAY + hour * HOUR
            times.append(UnitSunTime(day, at, at, at, True))
        found.append((word.word, tuple(times)))
    return UnitSun(tuple(found))


def random_program(chance: random.Random, controller: Controller, special: date) -> Program:
    limit = controller.offset_limit_minutes
    starts = [SunOffset(w.word, o) for w in WORDS[:2] for o in range(-limit, limit + 1, 60)]
    plan = PLAIN_DARK if controller.exceptions.plan == "off" else "A"
    plans = [""] * chance.randint(1, 3)
    if plan != PLAIN_DARK:
        plans += [plan] * chance.randint(0, 2)
    events = tuple(
        Event(
            slot=slot,
            channels=(1,),
            action=chance.choice(list(Action)),
            start=chance.choice(starts),
            plan=of,
        )
        for slot, of in enumerate(plans, 1)
    )
    longer = controller.exceptions.length == "range" and chance.random() < 0.4
    last = special + timedelta(days=longer)
    dates = EventDates((special.month, special.day), (last.month, last.day))
    days = SpecialDays(slot=1, channels=(1,), dates=dates, plan=plan)
    return Program(controller="tiny", events=events, special_days=(days,))


def known(chance: random.Random) -> Known | None:
    """None where the program's own events meet, or it does nothing to ask for."""
    controller, days = sun_only(chance), chance.randint(4, 6)
    clock = zone("UTC", FIRST, FIRST)
    sun = wandering_sun(chance, clock, days)
    special = FIRST + timedelta(days=chance.randrange(1, days - 1))
    program = random_program(chance, controller, special)
    start = clock.first_pass(FIRST, 0)
    end, lit, spread = start + days * DAY - 1, chance.random() < 0.5, chance.choice([0, 0, HOUR])
    seen = slow_unit(program, Place(controller, "UTC", sun, start, end, 3), lit)
    if order_unknown(seen) or not 0 < len(seen) <= MOST_SWITCHINGS or seen[0][0] == start:
        return None
    bands = [
        Band(max(at - spread, start), at, min(at + spread * chance.randint(0, 1), end + 1 - HOUR))
        for at, _ in seen
    ]
    channel = channel_of(1, bands, (start, end), lit, HOUR, FIRST)
    if channel is None:
        return None
    channel = replace(channel, special=frozenset({special}))
    world = World(controller=controller, clock=clock, zone_name="UTC", sun=sun, channels=(channel,))
    report = run_program(program, controller, target_of(world), sun, "UTC")
    return Known(world, program) if report.agrees else None


def test_what_some_program_does_is_never_refused() -> None:
    seen: Counter[str] = Counter()
    number = 0
    while seen["worlds"] < how_many(160):
        number += 1
        one = known(random.Random(f"recalculated {number}"))
        if one is None:
            continue
        result = fitted(one.world)
        told = f"{number}: {one.program}\n{result}\n{describe(one.world)}"
        assert result.slots_needed is not None, told
        assert result.certificate is not None, told
        assert result.slots_needed <= len(one.program.events), told
        assert result.certificate.bound <= len(one.program.events), told
        rule = one.world.controller.exceptions
        seen["worlds"] += 1
        seen["recalculates"] += "recalculates" in (rule.start, rule.end)
    assert seen["recalculates"] > seen["worlds"] / 3
