"""Special days in the smallest program, on tiny years against brute force.

The brute force tries every choice of dates that may become special days, every way to give them
plans, and every event of every plan. `SCHEDCOMP_WORLDS=20000` makes each test try so many worlds.
"""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest

from schedcomp.audit import run_program
from schedcomp.clock import zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit import joint
from schedcomp.model import DAY, HOUR, MINUTE, Action
from schedcomp.program import PLAIN_DARK
from schedcomp.records import replace
from schedcomp.unit_sun import UnitSun, UnitSunTime
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
    target_of,
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
    return replace(made, **more)


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


def test_a_plan_counts_on_firings_of_its_own_dates_alone() -> None:
    """A sunset of the evening before, moved past midnight, is decided by that evening's date."""
    chance = random.Random("own single date off keeps state 700110")
    kept = random_slots(chance, length="single date", start="off", end="keeps state")
    kept = replace(kept, plan="own events")
    world = random_year(chance, unit(chance, kept, chance.choice([0, 1])))
    found = compared(world)
    assert (found.least, found.slots) == (4, 4)


def test_events_that_do_well_each_by_itself_may_go_ill_together() -> None:
    """An ON at sunrise and an OFF at 15:00 meet on the date on which sunrise is at 15:00 too."""
    chance = random.Random("plans 1 800133")
    kept = random_slots(chance, plan="own events", plans=1)
    world = random_year(chance, unit(chance, kept, chance.choice([0, 1])))
    found = compared(world)
    assert (found.least, found.slots) == (3, 3)


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


@pytest.mark.parametrize(("number", "most_rows"), [(2, 24), (62, 64), (122, 32), (186, 16)])
def test_borders_that_stay_where_they_are_bound_nothing(
    number: int, most_rows: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a model is too large they stay at their first instants; there it takes three events."""
    monkeypatch.setattr(joint, "MOST_ROWS", most_rows)
    chance = random.Random(f"floor {number}")
    kept = random_slots(chance, plan="own events")
    world = random_year(chance, unit(chance, kept, chance.choice([0, 1])))
    outcome = compared(world)
    assert outcome.least == 2
    assert outcome.bound is not None
    assert outcome.bound <= 2


@pytest.mark.parametrize(
    ("plan_events", "plans", "number"), [(2, None, 30019), (1, 1, 30043), (2, 1, 30037)]
)
def test_an_off_at_midnight_leaves_the_borders_near_it_free(
    plan_events: int, plans: int | None, number: int
) -> None:
    """An ON that may come at 00:00 comes later where special days begin or end with an OFF."""
    chance = random.Random(f"plan events {plan_events} {plans} {number}")
    more = {"plan": "own events", "events_from": "plan_events"}
    kept = random_slots(chance, plan_events=plan_events, plans=plans, **more)
    world = random_year(chance, unit(chance, kept, chance.choice([0, 1])))
    outcome = compared(world)
    assert outcome.least == outcome.slots


def test_special_days_do_not_reach_over_a_29_february() -> None:
    chance = random.Random("channels one channel 2 30006")
    kept = random_slots(chance, covers="one channel", slots=2)
    world = random_year(chance, unit(chance, kept), channels=2)
    assert compared(world) == Outcome(least=5, slots=5, bound=5)


# Worked out by hand


FIRST = date(2027, 3, 1)


def few_days(
    kept: ExceptionSlots,
    special: date,
    days: int,
    *channels: list[tuple[int, int]],
    lit: bool = False,
) -> World:
    """Each channel switches at these (days from the first, hour); events fire every day."""
    controller = Controller(
        name="tiny",
        event_slots=9,
        channels=len(channels),
        step_minutes=180,
        weekday_sets=(EVERY,),
        date_ranges="none",
        exceptions=kept,
    )
    midnight = zone("UTC", FIRST, FIRST).first_pass(FIRST, 0)
    period = midnight, midnight + days * DAY - 1
    made = []
    for number, at in enumerate(channels, 1):
        instants = [midnight + day * DAY + hour * HOUR for day, hour in at]
        bands = [Band(t, t, t) for t in instants]
        channel = channel_of(number, bands, period, lit, controller.step_minutes * MINUTE, FIRST)
        assert channel is not None
        made.append(replace(channel, special=frozenset({special})))
    return World(
        controller=controller,
        clock=zone("UTC", FIRST, FIRST),
        zone_name="UTC",
        sun=UnitSun(()),
        channels=tuple(made),
    )


def evenings(dark: date, kept: ExceptionSlots) -> World:
    """Lit from 18:00 until 21:00 on five dates, except one."""
    lit = [day for day in range(5) if FIRST + timedelta(days=day) != dark]
    return few_days(kept, dark, 5, [(day, hour) for day in lit for hour in (18, 21)])


def slots_and_bound(world: World) -> tuple[int, int]:
    """Of a program that is right when run; brute force does not know what its unit does."""
    result = fitted(world)
    told = f"{result}\n{describe(world)}"
    program, certificate = result.program, result.certificate
    assert program is not None, told
    assert certificate is not None, told
    report = run_program(program, world.controller, target_of(world), world.sun, world.zone_name)
    assert report.agrees, told
    return certificate.slots, certificate.bound


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


def test_a_channel_that_never_switches_has_its_special_days_too() -> None:
    kept = ExceptionSlots(slots=1, plan="own events", covers="all channels")
    nights = [(day, hour) for day in (0, 1, 3) for hour in (6, 18)]
    world = few_days(kept, date(2027, 3, 3), 4, nights, [])
    assert compared(world) == Outcome(least=2, slots=2, bound=2)


def test_what_ends_special_days_may_do_a_switching_of_the_day_after() -> None:
    """Lit through two special days until 00:00, as other nights are: no event could go off then."""
    kept = ExceptionSlots(slots=1, plan="own events", start="keeps state", end="off")
    nights = [(0, 6), (0, 18), (1, 6), (1, 18), (4, 0), (4, 18)]
    world = few_days(kept, date(2027, 3, 3), 5, nights, lit=True)
    assert compared(world) == Outcome(least=2, slots=2, bound=2)


def test_special_days_that_begin_with_the_state_of_their_plan_need_no_event_for_it() -> None:
    """Lit until 06:00 and from 18:00 on a special day: its own ON at 18:00 was the last before."""
    days = [(d, h) for d in (0, 1, 4) for h in (9, 12)]
    days += [(2, 0), (2, 6), (2, 18), (3, 12)]
    slots = {}
    for start in ("keeps state", "recalculates"):
        kept = ExceptionSlots(slots=1, plan="own events", start=start)
        world = few_days(kept, date(2027, 3, 3), 5, sorted(days))
        slots[start] = slots_and_bound(world)
    assert slots == {"keeps state": (5, 5), "recalculates": (4, 4)}


def test_special_days_that_end_with_the_state_of_normal_events_need_no_event_for_it() -> None:
    """Dark from 06:00 until 09:00, and all of a special day; lit at the 00:00 after it."""
    mornings = [(d, h) for d in (0, 1, 3) for h in (6, 9)]
    slots = {}
    for end in ("keeps state", "recalculates"):
        kept = ExceptionSlots(slots=1, plan="off", end=end)
        world = few_days(kept, date(2027, 3, 3), 4, sorted([*mornings, (2, 0), (3, 0)]), lit=True)
        slots[end] = slots_and_bound(world)
    assert slots == {"keeps state": (3, 3), "recalculates": (2, 2)}


def test_a_plan_whose_on_and_off_would_come_together_is_not_begun() -> None:
    """An ON on one special day and an OFF on the next may both come at 09:00; one plan can not.

    Begun with the state of its plan a day would be lit from 00:00 on, so there is no program.
    """
    slots: dict[str, int | None] = {}
    for start in ("keeps state", "recalculates"):
        kept = ExceptionSlots(slots=2, plan="own events", start=start)
        world = few_days(kept, date(2027, 3, 3), 5, [(2, 9), (3, 9)])
        [channel] = world.channels
        wide = tuple(
            replace(s, earliest=s.instant - 3 * HOUR, latest=s.instant + 3 * HOUR)
            for s in channel.switchings
        )
        world = replace(world, channels=(replace(channel, switchings=wide),))
        slots[start] = fitted(world).slots_needed
    assert slots == {"keeps state": 2, "recalculates": None}


def test_a_date_on_which_nothing_can_fire_breaks_nothing_off() -> None:
    """The sun event is missing on the special day, and the controller has no other starts."""
    kept = ExceptionSlots(slots=1, plan="own events")
    world = few_days(kept, date(2027, 3, 3), 4, [(0, 18), (1, 18), (2, 18)])
    sun = tuple(
        UnitSunTime(day, at, at, at, True)
        for day, at in (
            (
                FIRST + timedelta(days=n),
                world.clock.first_pass(FIRST + timedelta(days=n), 18 * HOUR),
            )
            for n in (0, 1, 3)
        )
    )
    controller = replace(
        world.controller,
        starts_clock=False,
        sun_starts=WORDS[:1],
        offset_limit_minutes=0,
        sun_date="fires on",
    )
    world = replace(world, controller=controller, sun=UnitSun(((WORDS[0].word, sun),)))
    assert compared(world).kind == "impossible"
