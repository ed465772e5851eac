"""Special days in the smallest program, on tiny years against brute force.

The brute force tries every choice of dates that may become special days, every way to give them
plans, and every event of every plan. `SCHEDCOMP_WORLDS=20000` makes each test try so many worlds.
"""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from schedcomp.clock import zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.model import DAY, HOUR, MINUTE, Action
from schedcomp.program import PLAIN_DARK
from schedcomp.unit_sun import UnitSun
from tests.brute_force import Stretch, World, eligible, every_plans, named_sets, stretches
from tests.tiny_worlds import (
    EVERY,
    RANGES,
    SUN_DATES,
    WEEKDAYS,
    WORDS,
    Band,
    Outcome,
    channel_of,
    compare_many,
    compared,
    describe,
    fitted,
    how_many,
    random_world,
)


def unit(chance: random.Random, kept: ExceptionSlots, words: int = 0) -> Controller:
    """A controller of eight readings a day with slots for special days."""
    return Controller(
        name="tiny",
        event_slots=60,
        channels=2,
        step_minutes=180,
        sun_starts=tuple(chance.sample(WORDS, words)),
        offset_step_minutes=180,
        offset_limit_minutes=chance.choice([0, 180]),
        weekday_sets=WEEKDAYS[chance.choice([*WEEKDAYS, "all only", "all only"])],
        date_ranges=chance.choice([*RANGES, "none", "none"]),
        sun_date=chance.choice(SUN_DATES),
        exceptions=kept,
    )


def random_slots(chance: random.Random, **more: object) -> ExceptionSlots:
    """Slots for special days of any kind that takes its events from the event slots."""
    made = ExceptionSlots(
        slots=chance.randint(1, 3),
        length=chance.choice(["range", "single date"]),
        plan=chance.choice(["own events", "own events", "off"]),
        start=chance.choice(["keeps state", "off"]),
        end=chance.choice(["keeps state", "off"]),
        with_year=chance.random() < 0.5,
    )
    return replace(made, **more)  # type: ignore[arg-type]


def lamps(chance: random.Random, world: World) -> list[Stretch]:
    """What a program with special days does: daily events, and a plan on some of the dates."""
    channel = world.channels[0]
    choices = every_plans(world, eligible(world, channel))
    plans = chance.choice([p for p in choices if p.dates] or choices)
    sets = sorted(named_sets(world), key=lambda n: -n.bit_count())
    starts = list(world.starts)
    found = [Stretch(t, t, True, Action.OFF) for t in plans.offs]
    for number in range(chance.randint(2, 4)):
        action = Action.ON if number % 2 else Action.OFF
        named = sets[0] if chance.random() < 0.8 else chance.choice(sets)
        found += stretches(world.starts[chance.choice(starts)], action, named, plans.resting)
    for name, dates in plans.dates:
        if name != PLAIN_DARK:
            for action in chance.choice([[], [Action.OFF], [Action.ON, Action.OFF]]):
                found += stretches(world.starts[chance.choice(starts)], action, dates)
    return found


def random_year(chance: random.Random, controller: Controller, channels: int = 1) -> World:
    errors = chance.choice([0, 1]) if controller.sun_starts else 0
    return random_world(
        chance,
        controller,
        errors=errors,
        days=chance.randint(3, 6),
        channels=channels,
        special=chance.choice([1, 1, 2]),
        lamps=lamps,
    )


def counts_of(name: str, worlds: int, **kept: object) -> None:
    def make(chance: random.Random) -> World:
        return random_year(
            chance, unit(chance, random_slots(chance, **kept), chance.choice([0, 1]))
        )

    seen = compare_many(name, worlds, make)
    assert seen["impossible"] <= seen["worlds"] / 2, seen


@pytest.mark.parametrize("length", ["range", "single date"])
@pytest.mark.parametrize("start", ["keeps state", "off"])
@pytest.mark.parametrize("end", ["keeps state", "off"])
def test_plans_of_own_events(length: str, start: str, end: str) -> None:
    kept = {"length": length, "start": start, "end": end, "plan": "own events"}
    counts_of(f"own {length} {start} {end}", 20, **kept)


@pytest.mark.parametrize("length", ["range", "single date"])
@pytest.mark.parametrize("end", ["keeps state", "off"])
def test_plans_that_are_off(length: str, end: str) -> None:
    counts_of(f"off {length} {end}", 20, plan="off", length=length, end=end)


@pytest.mark.parametrize("plans", [1, 2])
def test_few_plans(plans: int) -> None:
    counts_of(f"plans {plans}", 30, plan="own events", plans=plans)


@pytest.mark.parametrize("plan_events", [1, 2])
@pytest.mark.parametrize("plans", [None, 1])
def test_plans_with_slots_of_their_own(plan_events: int, plans: int | None) -> None:
    counts_of(
        f"plan events {plan_events} {plans}",
        20,
        plan="own events",
        events_from="plan_events",
        plan_events=plan_events,
        plans=plans,
    )


@pytest.mark.parametrize("covers", ["one channel", "all channels"])
@pytest.mark.parametrize("slots", [1, 2])
def test_several_channels(covers: str, slots: int) -> None:
    def make(chance: random.Random) -> World:
        kept = random_slots(chance, covers=covers, slots=slots)
        return random_year(chance, unit(chance, kept), channels=2)

    compare_many(f"channels {covers} {slots}", 20, make)


@pytest.mark.parametrize("plan", ["own events", "off"])
def test_more_slots_for_special_days_never_take_more_events(plan: str) -> None:
    """And at equal count special days are used."""
    helped = 0
    for number in range(how_many(60)):
        chance = random.Random(f"more {plan} {number}")
        kept = ExceptionSlots(slots=3, plan=plan)
        controller = replace(unit(chance, kept), weekday_sets=(EVERY,), date_ranges="yearly")
        world = random_year(chance, controller)
        told = f"more {plan} {number}\n{describe(world)}"
        taken = []
        for slots in range(4):
            some = replace(controller, exceptions=replace(kept, slots=slots))
            result = fitted(replace(world, controller=some))
            taken.append(999 if result.slots_needed is None else result.slots_needed)
        assert taken == sorted(taken, reverse=True), (taken, told)
        helped += taken[-1] < taken[0]
    assert helped > 1 or plan == "own events"  # plans of own events seldom pay in so few days


# Worked out by hand


def evenings(dark: date, kept: ExceptionSlots) -> World:
    """Lit from 18:00 until 21:00 on five dates, except one; events fire every day."""
    first = date(2027, 3, 1)
    controller = Controller(
        name="tiny",
        event_slots=9,
        step_minutes=180,
        weekday_sets=(EVERY,),
        date_ranges="none",
        exceptions=kept,
    )
    midnight = zone("UTC", first, first).first_pass(first, 0)
    lit = [d for d in (first + timedelta(days=i) for i in range(5)) if d != dark]
    hours = [(midnight + (d - first).days * DAY + h * HOUR) for d in lit for h in (18, 21)]
    period = midnight, midnight + 5 * DAY - 1
    bands = [Band(t, t, t) for t in hours]
    channel = channel_of(1, bands, period, False, controller.step_minutes * MINUTE, first)
    assert channel is not None
    return World(
        controller=controller,
        clock=zone("UTC", first, first),
        zone_name="UTC",
        sun=UnitSun(()),
        channels=(replace(channel, special=frozenset({dark})),),
    )


def test_a_dark_holiday_takes_a_special_day_and_no_event() -> None:
    holiday = date(2027, 3, 3)
    for plan in ("own events", "off"):
        world = evenings(holiday, ExceptionSlots(slots=1, plan=plan))
        assert compared(world) == Outcome(least=2, slots=2, bound=2)
        program = fitted(world).program
        assert program is not None
        assert [d.dates.first for d in program.special_days] == [(3, 3)]


def test_without_slots_for_special_days_no_program_does_it() -> None:
    assert compared(evenings(date(2027, 3, 3), ExceptionSlots())).kind == "impossible"
