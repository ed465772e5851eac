"""The compiler's program is the smallest there is, on tiny years against brute force.

Each test makes worlds of its own kind at random; `SCHEDCOMP_WORLDS=20000` makes it try so many, and
`SCHEDCOMP_FIRST_WORLD` says where to begin. A failure names the kind and the number of the world.
"""

from __future__ import annotations

import random
from datetime import date
from itertools import combinations, pairwise

import pytest

from schedcomp.controller import Controller
from schedcomp.fit.fitting import fit
from schedcomp.model import Action
from schedcomp.records import replace
from schedcomp.target import ChannelTarget, Target
from tests.brute_force import Stretch, World, fewest, named_sets, stretches
from tests.judge import wrong, wrong_in_some_pattern
from tests.tiny_worlds import (
    EVERY,
    RANGES,
    SUN_DATES,
    WEEKDAYS,
    WORDS,
    Band,
    check_program,
    compare_many,
    describe,
    how_many,
    random_world,
    target_of,
)


def unit(chance: random.Random, words: int = 0, **more: object) -> Controller:
    """A controller of eight or twelve readings a day."""
    step = more.pop("step_minutes", None) or chance.choice([180, 180, 120])
    made = Controller(
        name="tiny",
        event_slots=60,
        channels=3,
        step_minutes=int(str(step)),
        starts_clock=words == 0 or chance.random() < 0.9,
        sun_starts=tuple(chance.sample(WORDS, words)),
        offset_step_minutes=int(str(step)),
        offset_limit_minutes=int(str(step)) * chance.choice([0, 1, 1, 2]),
        weekday_sets=WEEKDAYS[chance.choice(list(WEEKDAYS))],
        date_ranges=chance.choice(RANGES),
        sun_date=chance.choice(SUN_DATES),
    )
    return replace(made, **more)


# The search itself, against every program and every pattern of errors


def every_event(world: World) -> list[tuple[Stretch, ...]]:
    """What every event that can be stored does in the period, each once."""
    channel = world.channels[0]
    begin = min([channel.start, *(s.earliest for s in channel.switchings)])
    end = max([channel.end, *(s.latest for s in channel.switchings)])
    found: dict[tuple[Stretch, ...], None] = {}
    for occasions in world.starts.values():
        for action in Action:
            for named in named_sets(world):
                fires = stretches(occasions, action, named)
                found[tuple(s for s in fires if s.last >= begin and s.first <= end)] = None
    found.pop((), None)
    return list(found)


def fewest_of_all(world: World, most: int) -> tuple[int | None, int]:
    """The fewest events of all programs of up to `most`, and how many were played throughout."""
    channel, events = world.channels[0], every_event(world)
    played = 0
    for count in range(most + 1):
        for program in combinations(events, count):
            firings = sorted((s for e in program for s in e), key=lambda s: (s.first, s.last))
            fault = wrong(firings, channel)
            in_some = wrong_in_some_pattern(firings, channel, world.step, 100)
            if in_some is not None:
                played += 1
                assert in_some == (fault is not None), (fault, describe(world))
            if fault is None:
                return count, played
    return None, played


@pytest.mark.parametrize("errors", [0, 1, 2])
def test_brute_force_finds_what_trying_every_program_finds(errors: int) -> None:
    solved = played = 0
    worlds = how_many(80)
    for number in range(worlds):
        chance = random.Random(f"literal {errors} {number}")
        controller = unit(
            chance, words=chance.choice([0, 1]) if errors == 0 else 1, step_minutes=360
        )
        controller = replace(controller, offset_limit_minutes=0)
        world = random_world(chance, controller, errors=errors, days=chance.choice([1, 2, 3]))
        if len(every_event(world)) > 80:
            continue
        best = fewest(world)
        literal, patterns = fewest_of_all(world, 3)
        played += patterns
        if literal is None:
            assert best is None or best.slots > 3, describe(world)
        else:
            assert best is not None, describe(world)
            assert best.slots == literal, (best, describe(world))
            solved += 1
    assert solved > worlds / 4
    assert played > 20


# Sun starts, weekdays and dates


@pytest.mark.parametrize("sun_date", SUN_DATES)
@pytest.mark.parametrize("errors", [0, 1, 2])
@pytest.mark.parametrize("words", [1, 2, 3])
def test_sun_starts(words: int, errors: int, sun_date: str | None) -> None:
    def make(chance: random.Random) -> World:
        return random_world(chance, unit(chance, words, sun_date=sun_date), errors=errors)

    seen = compare_many(f"sun {words} {errors} {sun_date}", 12, make)
    assert seen["impossible"] < seen["worlds"]
    assert seen["proven"] == seen["worlds"] - seen["impossible"], seen


@pytest.mark.parametrize("ranges", RANGES)
@pytest.mark.parametrize("weekdays", WEEKDAYS)
def test_weekdays_and_dates(weekdays: str, ranges: str) -> None:
    def make(chance: random.Random) -> World:
        words = chance.choice([0, 0, 1])
        more = {"weekday_sets": WEEKDAYS[weekdays], "date_ranges": ranges}
        controller = unit(chance, words, **more)
        return random_world(chance, controller, errors=1, days=chance.randint(3, 8))

    seen = compare_many(f"dates {weekdays} {ranges}", 15, make)
    assert seen["impossible"] < seen["worlds"]
    assert seen["proven"] == seen["worlds"] - seen["impossible"], seen


# Channels and slots


@pytest.mark.parametrize("slots_are", ["shared", "per channel"])
@pytest.mark.parametrize("channels", [2, 3])
def test_channels(channels: int, slots_are: str) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(chance, chance.choice([0, 1, 2]), slots_are=slots_are)
        return random_world(chance, controller, errors=1, channels=channels, days=4)

    compare_many(f"channels {channels} {slots_are}", 60, make)


@pytest.mark.parametrize("slots_are", ["shared", "per channel"])
def test_as_many_slots_as_it_takes_and_no_fewer(slots_are: str) -> None:
    """With just enough slots there is a program, with one fewer there is none."""

    def make(chance: random.Random) -> World:
        controller = unit(chance, chance.choice([0, 1]), slots_are=slots_are)
        world = random_world(chance, controller, errors=1, channels=2, days=4)
        parts = [fewest(replace(world, channels=(c,))) for c in world.channels]
        needed = [0 if p is None else p.slots for p in parts]
        just = sum(needed) if slots_are == "shared" else max(needed)
        slots = max(1, just - chance.choice([0, 1]))
        return replace(world, controller=replace(controller, event_slots=slots))

    seen = compare_many(f"tight {slots_are}", 100, make)
    assert 0 < seen["refused"] < seen["worlds"]


# Tolerance


def tolerant(world: World, minutes: int, favour: tuple[int, int, int, int]) -> World:
    """The world with its bands around what is asked, as wide as the tolerance and the step allow.

    `favour` says whether ONs may be early and late, and OFFs.
    """
    widened = []
    for channel in world.channels:
        bands = []
        for s in channel.switchings:
            early, late = favour[:2] if s.action is Action.ON else favour[2:]
            low = world.up(s.instant - early * minutes * 60)
            high = world.down(s.instant + late * minutes * 60)
            high = min(high, world.down(channel.end))
            bands.append(Band(max(low, channel.start), s.instant, high))
        widened.append(_widened(channel, bands, world.step, minutes))
    return replace(world, channels=tuple(widened))


def _widened(channel: ChannelTarget, bands: list[Band], step: int, minutes: int) -> ChannelTarget:
    """As `channel_of`, but with empty bands where there is no room."""
    low, high = [b.low for b in bands], [b.high for b in bands]
    for i in range(1, len(bands)):
        low[i] = max(low[i], low[i - 1] + step)
    for i in range(len(bands) - 2, -1, -1):
        high[i] = min(high[i], high[i + 1] - step)
    switchings = tuple(
        replace(s, earliest=lo, latest=hi)
        for s, lo, hi in zip(channel.switchings, low, high, strict=True)
    )
    return replace(channel, switchings=switchings, tolerance_minutes=minutes)


def smallest_that_fits(world: World, favour: tuple[int, int, int, int], limit: int) -> int | None:
    """The smallest whole steps of tolerance at which some program has slots enough."""
    for steps in range(limit + 1):
        best = fewest(tolerant(world, steps * world.controller.step_minutes, favour))
        if best is not None and best.slots <= world.controller.event_slots:
            return steps
    return None


def searched(world: World, favour: tuple[int, int, int, int], limit: int) -> int | None:
    """What the compiler finds, in steps; what it claims is checked."""
    step = world.controller.step_minutes

    def target_at(minutes: int) -> Target:
        return target_of(tolerant(world, minutes, favour))

    result, target = fit(
        target_at,
        world.controller,
        world.clock,
        world.sun,
        tolerance_minutes=None,
        limit_minutes=limit * step,
    )
    if result.program is None:
        return None
    told = f"{result}\n{describe(world)}"
    assert result.certificate is not None, told
    minutes = result.certificate.tolerance_minutes
    assert target == target_at(minutes), told
    assert minutes % step == 0, told
    at = tolerant(world, minutes, favour)
    check_program(result, at, told)
    least = fewest(at)
    assert least is not None, told
    assert result.certificate.bound <= least.slots <= result.certificate.slots, told
    return minutes // step


@pytest.mark.parametrize("words", [0, 1])
def test_the_smallest_tolerance_is_the_smallest(words: int) -> None:
    """And a larger budget never fits worse."""
    limit, found = 3, 0
    for number in range(how_many(80)):
        chance = random.Random(f"tolerance {words} {number}")
        controller = unit(chance, words, sun_date=chance.choice(SUN_DATES), step_minutes=180)
        world = random_world(chance, controller, errors=chance.choice([0, 1]), days=3)
        favour = chance.choice([(1, 0, 0, 1), (0, 1, 1, 0), (1, 1, 1, 1)])
        asked = []
        for slots in range(1, 5):
            with_slots = replace(world, controller=replace(controller, event_slots=slots))
            smallest = searched(with_slots, favour, limit)
            told = f"tolerance {words} {number}: {slots} slots, {favour}\n{describe(world)}"
            assert smallest == smallest_that_fits(with_slots, favour, limit), told
            asked.append(limit + 1 if smallest is None else smallest)
        assert all(more <= fewer for fewer, more in pairwise(asked)), describe(world)
        found += len(set(asked)) > 1
    assert found > 2


# Clock changes


CHANGES = [
    ("Australia/Lord_Howe", date(2027, 4, 3), 30),
    ("Australia/Lord_Howe", date(2027, 10, 2), 30),
    ("America/Denver", date(2027, 3, 13), 30),
    ("America/Denver", date(2027, 11, 6), 30),
    ("America/Denver", date(2027, 3, 13), 120),
    ("America/Denver", date(2027, 11, 6), 120),
    ("Antarctica/Troll", date(2027, 3, 27), 60),
    ("Antarctica/Troll", date(2027, 10, 30), 60),
    ("Africa/Cairo", date(2027, 4, 29), 60),
    ("Africa/Cairo", date(2027, 10, 28), 60),
]
"""A zone, the day before a night in which its clock changes, and a step in minutes."""


@pytest.mark.parametrize("clock", ["local", "standard"])
@pytest.mark.parametrize("repeated", ["once", "twice"])
@pytest.mark.parametrize("skipped", ["at the jump", "lost"])
@pytest.mark.parametrize(("zone_name", "first", "step"), CHANGES)
def test_nights_of_clock_changes(
    zone_name: str, first: date, step: int, skipped: str, repeated: str, clock: str
) -> None:
    def make(chance: random.Random) -> World:
        controller = unit(
            chance,
            chance.choice([0, 0, 1]),
            step_minutes=step,
            clock=clock,
            skipped_time=skipped,
            repeated_time=repeated,
            weekday_sets=chance.choice([None, (EVERY,)]),
        )
        days = chance.randint(2, 4)
        return random_world(
            chance, controller, errors=1, zone_name=zone_name, first=first, days=days
        )

    compare_many(f"change {zone_name} {first} {step} {skipped} {repeated} {clock}", 6, make)
