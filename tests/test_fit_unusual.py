"""The smallest program of unusual controllers, on tiny years against brute force.

Slots that hold an ON and an OFF, weekdays that take a slot each, offsets that events share, events
that switch several channels. `SCHEDCOMP_WORLDS=20000` makes each test try so many worlds.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import date

import pytest

from schedcomp.clock import zone
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.model import DAY, HOUR, MINUTE, Action
from schedcomp.records import replace
from schedcomp.unit_sun import UnitSun
from tests.brute_force import Stretch, World, fewest, named_sets, stretches
from tests.tiny_worlds import (
    EVERY,
    RANGES,
    SUN_DATES,
    WEEKDAYS,
    WORDS,
    Band,
    channel_of,
    compare_many,
    compared,
    describe,
    fitted,
    how_many,
    of_few_events,
    random_world,
)

Lamps = Callable[[random.Random, World], list[Stretch]]
PAIRS = "an on and an off"
BY_DAY = "a slot per day"
ANY = "any channels"


def unit(chance: random.Random, words: int = 0, **more: object) -> Controller:
    """A controller of four or eight readings a day."""
    step = chance.choice([180, 180, 360])
    made = Controller(
        name="tiny",
        event_slots=60,
        channels=3,
        step_minutes=step,
        starts_clock=words == 0 or chance.random() < 0.9,
        sun_starts=tuple(chance.sample(WORDS, words)),
        offset_step_minutes=step,
        offset_limit_minutes=step * chance.choice([0, 1, 1]),
        weekday_sets=WEEKDAYS[chance.choice(list(WEEKDAYS))],
        date_ranges=chance.choice(RANGES),
        sun_date=chance.choice(SUN_DATES),
    )
    return replace(made, **more)


def in_pairs(chance: random.Random, world: World) -> list[Stretch]:
    """What a few slots of an ON and an OFF do."""
    sets = sorted(named_sets(world), key=lambda n: -n.bit_count())
    starts = list(world.starts)
    found: list[Stretch] = []
    for _ in range(chance.randint(1, 3)):
        named = chance.choice(sets[: max(1, len(sets) // chance.choice([1, 4, 20]))])
        for action in Action:
            if chance.random() < 0.85:
                found += stretches(world.starts[chance.choice(starts)], action, named)
    return found


def much_alike() -> Lamps:
    """Channels that mostly do the same: some events for all of them, some for one."""
    common: list[list[Stretch]] = []

    def lamps(chance: random.Random, world: World) -> list[Stretch]:
        if not common or chance.random() < 0.1:
            common[:] = [of_few_events(chance, world)]
        shared = [s for s in common[0] if chance.random() < 0.95]
        return shared + (of_few_events(chance, world)[:3] if chance.random() < 0.2 else [])

    return lamps


def errors_of(chance: random.Random, controller: Controller) -> int:
    return chance.choice([0, 1, 2]) if controller.sun_starts else 0


# Slots that hold an ON and an OFF


@pytest.mark.parametrize("ranges", RANGES)
@pytest.mark.parametrize("weekdays", WEEKDAYS)
def test_slots_of_an_on_and_an_off(weekdays: str, ranges: str) -> None:
    def make(chance: random.Random) -> World:
        more = {"weekday_sets": WEEKDAYS[weekdays], "date_ranges": ranges, "slot_holds": PAIRS}
        controller = unit(chance, chance.choice([0, 0, 1, 2]), **more)
        lamps = chance.choice([None, in_pairs])
        return random_world(chance, controller, errors=errors_of(chance, controller), lamps=lamps)

    seen = compare_many(f"pairs {weekdays} {ranges}", 12, make)
    assert seen["impossible"] < seen["worlds"], seen


@pytest.mark.parametrize("slots_are", ["shared", "per channel"])
def test_slots_of_an_on_and_an_off_on_two_channels(slots_are: str) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(chance, chance.choice([0, 1]), slot_holds=PAIRS, slots_are=slots_are)
        return random_world(chance, controller, errors=1, channels=2, days=4, lamps=in_pairs)

    compare_many(f"pairs on channels {slots_are}", 30, make)


def test_pairs_take_between_half_the_slots_and_all() -> None:
    for number in range(how_many(40)):
        chance = random.Random(f"half {number}")
        controller = unit(chance, chance.choice([0, 1]), slot_holds=PAIRS)
        world = random_world(chance, controller, errors=1, lamps=in_pairs)
        single = replace(world, controller=replace(controller, slot_holds="one action"))
        paired, alone = fitted(world).slots_needed, fitted(single).slots_needed
        told = f"half {number}\n{describe(world)}"
        assert (paired is None) == (alone is None), told
        if paired is not None and alone is not None:
            assert paired <= alone <= 2 * paired, told


# Weekdays that take a slot each


@pytest.mark.parametrize("slot_holds", ["one action", PAIRS])
@pytest.mark.parametrize("ranges", RANGES)
@pytest.mark.parametrize("weekdays", WEEKDAYS)
def test_a_slot_for_each_weekday(weekdays: str, ranges: str, slot_holds: str) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(
            chance,
            chance.choice([0, 0, 1]),
            weekday_sets=WEEKDAYS[weekdays],
            date_ranges=ranges,
            weekday_set_costs=BY_DAY,
            slot_holds=slot_holds,
        )
        days = chance.randint(3, 8)
        return random_world(chance, controller, errors=errors_of(chance, controller), days=days)

    compare_many(f"by day {weekdays} {ranges} {slot_holds}", 8, make)


def test_where_no_event_helps_with_borders_that_stay_there_is_no_program() -> None:
    chance = random.Random("by day all only none one action 30014")
    more = {"weekday_sets": WEEKDAYS["all only"], "weekday_set_costs": BY_DAY}
    controller = unit(chance, chance.choice([0, 0, 1]), date_ranges="none", **more)
    days = chance.randint(3, 8)
    world = random_world(chance, controller, errors=errors_of(chance, controller), days=days)
    assert compared(world).kind == "impossible"


# Offsets that events share


@pytest.mark.parametrize("slot_holds", ["one action", PAIRS])
@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("words", [1, 2])
@pytest.mark.parametrize("offsets", ["per channel", "one for all"])
def test_offsets_that_events_share(
    offsets: str, words: int, channels: int, slot_holds: str
) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(chance, words, offsets=offsets, slot_holds=slot_holds)
        steps = chance.choice([1, 1, 2])
        controller = replace(controller, offset_limit_minutes=steps * controller.step_minutes)
        errors = errors_of(chance, controller)
        return random_world(chance, controller, errors=errors, channels=channels, days=4)

    compare_many(f"offsets {offsets} {words} {channels} {slot_holds}", 15, make)


# Events that switch several channels


@pytest.mark.parametrize("slot_holds", ["one action", PAIRS])
@pytest.mark.parametrize("costs", ["one slot", BY_DAY])
@pytest.mark.parametrize("channels", [1, 2, 3])
def test_events_over_several_channels(channels: int, costs: str, slot_holds: str) -> None:
    def make(chance: random.Random) -> World:
        words = chance.choice([0, 0, 1])
        more = {"event_covers": ANY, "weekday_set_costs": costs, "slot_holds": slot_holds}
        controller = unit(chance, words, **more)
        return random_world(
            chance,
            controller,
            errors=chance.choice([0, 1]) if words else 0,
            channels=channels,
            days=chance.randint(2, 4),
            lamps=much_alike(),
        )

    compare_many(f"any channels {channels} {costs} {slot_holds}", 15, make)


@pytest.mark.parametrize("offsets", ["per channel", "one for all"])
def test_events_over_several_channels_that_share_offsets(offsets: str) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(chance, 1, event_covers=ANY, offsets=offsets)
        return random_world(chance, controller, errors=1, channels=2, days=3, lamps=much_alike())

    compare_many(f"any channels, offsets {offsets}", 25, make)


def test_one_event_for_all_channels_never_takes_more_slots() -> None:
    for number in range(how_many(30)):
        chance = random.Random(f"alike {number}")
        controller = unit(chance, chance.choice([0, 1]), event_covers=ANY)
        world = random_world(chance, controller, errors=1, channels=2, days=3, lamps=much_alike())
        apart = replace(world, controller=replace(controller, event_covers="one channel"))
        together, alone = fitted(world).slots_needed, fitted(apart).slots_needed
        told = f"alike {number}\n{describe(world)}"
        assert (together is None) == (alone is None), told
        if together is not None and alone is not None:
            assert together <= alone, told


def daily(controller: Controller, *channels: tuple[int, ...]) -> World:
    """Two days on which each channel switches on, off and so on at these hours."""
    first = date(2027, 3, 1)
    clock = zone("UTC", first, first)
    midnight = clock.first_pass(first, 0)
    period = midnight, midnight + 2 * DAY - 1
    made = []
    for number, hours in enumerate(channels, 1):
        instants = [midnight + day * DAY + hour * HOUR for day in (0, 1) for hour in hours]
        bands = [Band(t, t, t) for t in instants]
        channel = channel_of(number, bands, period, False, controller.step_minutes * MINUTE, first)
        assert channel is not None
        made.append(channel)
    sun = UnitSun(())
    return World(controller=controller, clock=clock, zone_name="UTC", sun=sun, channels=tuple(made))


def every_day(**more: object) -> Controller:
    """A controller whose events all fire every day."""
    made = Controller(
        name="tiny",
        event_slots=60,
        channels=6,
        step_minutes=60,
        weekday_sets=(EVERY,),
        date_ranges="none",
    )
    return replace(made, **more)


@pytest.mark.parametrize(
    ("channels", "slots", "bound"),
    [
        # Three do the same, so one event each for them: no pair of channels is as short.
        (((6, 18), (6, 18), (6, 18), (3, 21), (9, 12)), 6, 6),
        # Of six, three share their ONs and three others their OFFs.
        (((6, 18), (6, 18), (6, 19), (7, 19), (7, 19), (8, 18)), 5, 5),
        # Three go on at 06:00 and off at 18:00, but two of them at other hours too: not tried.
        (((6, 18), (6, 7, 8, 18), (6, 7, 9, 18), (10, 20), (11, 21)), 11, 9),
    ],
)
def test_events_over_more_channels_than_are_tried_together(
    channels: tuple[tuple[int, ...], ...], slots: int, bound: int
) -> None:
    """Not all sets of many channels are tried; what is claimed to be least must still be so."""
    result = fitted(daily(every_day(event_covers=ANY), *channels))
    assert result.certificate is not None
    assert (result.certificate.slots, result.certificate.bound) == (slots, bound)


def test_more_than_nine_slots_of_an_on_and_an_off_on_the_same_dates() -> None:
    result = fitted(daily(every_day(slot_holds=PAIRS), tuple(range(1, 23))))
    assert result.certificate is not None
    assert (result.certificate.slots, result.certificate.bound) == (11, 11)


# With special days


@pytest.mark.parametrize(
    "more",
    [
        {"slot_holds": PAIRS},
        {"weekday_set_costs": BY_DAY},
        {"offsets": "per channel"},
        {"offsets": "one for all"},
        {"event_covers": ANY},
    ],
    ids=lambda more: "-".join(more.values()),
)
@pytest.mark.parametrize("plan", ["own events", "off"])
def test_with_special_days(plan: str, more: dict[str, str]) -> None:
    channels = 2 if "event_covers" in more else 1

    def make(chance: random.Random) -> World:
        kept = ExceptionSlots(
            slots=2,
            plan=plan,
            length=chance.choice(["range", "single date"]),
            start=chance.choice(["keeps state", "off"]),
            covers="one channel" if channels == 1 else "all channels",
        )
        words = 1 if "offsets" in more else chance.choice([0, 1])
        controller = unit(chance, words, exceptions=kept, **more)
        return random_world(
            chance,
            controller,
            errors=0,
            days=chance.randint(3, 5),
            channels=channels,
            lamps=much_alike() if channels > 1 else chance.choice([None, in_pairs]),
            special=1,
        )

    compare_many(f"special {plan} {sorted(more.items())}", 15, make)


# Not enough slots


@pytest.mark.parametrize(
    "more",
    [{"slot_holds": PAIRS}, {"weekday_set_costs": BY_DAY}, {"event_covers": ANY}],
    ids=lambda more: "-".join(more.values()),
)
def test_as_many_slots_as_it_takes_and_no_fewer(more: dict[str, str]) -> None:
    def make(chance: random.Random) -> World:
        channels = 2 if "event_covers" in more else 1
        controller = unit(chance, chance.choice([0, 1]), **more)
        lamps = much_alike() if channels > 1 else in_pairs
        world = random_world(chance, controller, errors=1, channels=channels, days=4, lamps=lamps)
        best = fewest(world)
        slots = 1 if best is None else max(1, best.slots - chance.choice([0, 1]))
        return replace(world, controller=replace(controller, event_slots=slots))

    seen = compare_many(f"tight {sorted(more.items())}", 40, make)
    assert 0 < seen["refused"] < seen["worlds"], seen
