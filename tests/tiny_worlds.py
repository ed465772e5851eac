"""Tiny years made at random, and the compiler's program for them held against brute force.

`SCHEDCOMP_WORLDS=20000` in the environment makes every test of tiny years try that many.
"""

from __future__ import annotations

import os
import random
from collections import Counter
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from itertools import groupby

from schedcomp.audit import run_program
from schedcomp.clock import Zone, standard, zone
from schedcomp.controller import Controller, SunStart
from schedcomp.fit.fitting import fit
from schedcomp.model import MINUTE, Action, Half
from schedcomp.program import Fitted
from schedcomp.records import Record, replace
from schedcomp.target import ChannelTarget, Target, TargetSwitching
from schedcomp.unit_sun import UnitSun, UnitSunTime
from schedcomp.year import Bound, Cause, Reason
from tests.brute_force import NEVER_ENDS, Stretch, World, fewest, named_sets, stretches
from tests.judge import faults, slots_of

EVERY = frozenset(range(7))
WEEKDAYS: dict[str, tuple[frozenset[int], ...] | None] = {
    "any set": None,
    "single days or all": (*(frozenset({d}) for d in range(7)), EVERY),
    "lists": (EVERY, frozenset({0, 1, 2, 3, 4}), frozenset({5, 6}), frozenset({1, 3})),
    "lists without all": (frozenset({0, 1, 2, 3}), frozenset({3, 4, 5, 6}), frozenset({2})),
    "all only": (EVERY,),
}
RANGES = ("yearly", "none", "with year", "yearly no wrap")
SUN_DATES = (None, "fires on", "event on", "evening")
FIRSTS = (date(2027, 3, 1), date(2027, 7, 15), date(2028, 2, 26), date(2027, 12, 29))
WORDS = (
    SunStart(word="sunset", half=Half.EVENING, level_degrees=-0.8333),
    SunStart(word="sunrise", half=Half.MORNING, level_degrees=-0.8333),
    SunStart(word="civil dusk", half=Half.EVENING, level_degrees=-6.0),
)
MOST_SWITCHINGS = 12


MOST_MADE_ANEW = 20
"""How many worlds more are made where no program could do any of the first."""


def how_many(usual: int) -> int:
    """As many as the environment asks for, else a quick share of the usual number."""
    return int(os.environ.get("SCHEDCOMP_WORLDS", max(1, usual // 8)))


# Made-up sun and lamps


def random_sun(
    chance: random.Random, controller: Controller, clock: Zone, days: Sequence[date], most: int
) -> UnitSun:
    """Sun times that wander from day to day, each with errors of up to `most` steps."""
    step = controller.step_minutes
    found = []
    for start in controller.sun_starts:
        reading = chance.randrange(1440 // step)
        early, late = chance.randint(0, most), chance.randint(0, most)
        off_step = 0
        if controller.sun_date in ("fires on", "evening") and chance.random() < 0.2:
            off_step = chance.randrange(step)
        times = []
        for day in days:
            if chance.random() < 0.3:
                reading += chance.choice([-1, 1])
            if chance.random() < 0.3:
                early, late = chance.randint(0, most), chance.randint(0, most)
            at = clock.first_pass(day, 0) + (reading * step + off_step) * MINUTE
            certain = chance.random() < 0.9
            first, last = at - early * step * MINUTE, at + late * step * MINUTE
            if chance.random() < 0.95:
                times.append(UnitSunTime(day, at, first, last, certain))
        found.append((start.word, tuple(times)))
    return UnitSun(tuple(found))


class Band(Record):
    low: int
    asked: int
    high: int


def channel_of(
    number: int,
    bands: Sequence[Band],
    period: tuple[int, int],
    lit: bool,
    step: int,
    day: date,
) -> ChannelTarget | None:
    """A channel with these bands, narrowed so that they keep their order; None if one is empty."""
    low = [b.low for b in bands]
    high = [b.high for b in bands]
    for i in range(1, len(bands)):
        low[i] = max(low[i], low[i - 1] + step)
    for i in range(len(bands) - 2, -1, -1):
        high[i] = min(high[i], high[i + 1] - step)
    action = Action.OFF if lit else Action.ON
    switchings = []
    for lo, band, hi in zip(low, bands, high, strict=True):
        if lo > hi:
            return None
        asked = min(max(band.asked, lo), hi)
        reason = Reason(Cause.WINDOW, "x", day, Bound(((asked, True),)))
        switchings.append(TargetSwitching(asked, action, lo, hi, reason))
        action = action.opposite
    return ChannelTarget(
        channel=number,
        circuit=f"c{number}",
        load_kw=1.0,
        start=period[0],
        end=max([period[1], *high]),
        lit_at_start=lit,
        switchings=tuple(switchings),
    )


def bands_of_firings(
    chance: random.Random, world: World, firings: Sequence[Stretch], lit: bool, spread: int
) -> list[Band] | None:
    """What some firings do, with some room; None where they do nothing sure."""
    begin, end = world.channels[0].start, world.channels[0].end
    in_period = [f for f in firings if f.last >= begin and f.first <= end]
    in_period.sort(key=lambda f: (f.first, f.last))
    bands = []
    latest = dict.fromkeys(Action, -NEVER_ENDS)
    for firing in in_period:
        if latest[firing.action.opposite] >= firing.first:
            return None
        latest[firing.action] = max(latest[firing.action], firing.last)
    for action, sequence in groupby(in_period, key=lambda f: f.action):
        together = list(sequence)
        if (action is Action.ON) == lit:
            continue
        first = min(f.first for f in together)
        surely = min([NEVER_ENDS, *(f.last for f in together if f.certain)])
        if surely == NEVER_ENDS or first < begin or surely > world.down(end):
            return None
        low = first - chance.randint(0, spread) * world.step
        high = surely + chance.randint(0, spread) * world.step
        high = min(high, world.down(end))
        bands.append(Band(max(low, begin), chance.choice([first, surely]), high))
        lit = not lit
    return bands


def of_few_events(chance: random.Random, world: World) -> list[Stretch]:
    """The firings of two to five events."""
    found = []
    sets = sorted(named_sets(world), key=lambda n: -n.bit_count())
    for number in range(chance.randint(2, 5)):
        start = chance.choice(list(world.starts))
        named = chance.choice(sets[: max(1, len(sets) // chance.choice([1, 4, 20]))])
        action = Action.ON if number % 2 else Action.OFF
        found += stretches(world.starts[start], action, named)
    return found


def bands_of_days(chance: random.Random, world: World, spread: int) -> list[Band]:
    """Much the same every day, as lamps do: readings, sun times, some days otherwise."""
    begin, end = world.channels[0].start, world.channels[0].end
    at: set[int] = set()
    daily = chance.sample(range(0, 1440, world.controller.step_minutes), 2)
    times = [t for _, all_times in world.sun.times[:1] for t in all_times]
    nominal = {t.day: world.down(t.nominal) for t in times} if chance.random() < 0.7 else {}
    for day in world.dates:
        on = nominal.get(day, world.clock.first_pass(day, daily[0] * MINUTE))
        off = world.clock.first_pass(day, daily[1] * MINUTE)
        if chance.random() < 0.85:
            at |= {on, off + (chance.random() < 0.2) * world.step}
    if chance.random() < 0.2:
        anywhere = range(begin, end, world.step)
        at = set(chance.sample(anywhere, min(chance.randint(1, 6), len(anywhere))))
    bands = []
    for asked in sorted(t for t in at if begin < t < end):
        low = asked - chance.randint(0, spread) * world.step
        high = asked + chance.randint(0, spread) * world.step
        bands.append(Band(max(low, begin), asked, min(high, world.down(end))))
    return bands


def random_world(
    chance: random.Random,
    controller: Controller,
    *,
    zone_name: str = "UTC",
    first: date | None = None,
    days: int | None = None,
    errors: int = 0,
    channels: int = 1,
    lamps: Callable[[random.Random, World], list[Stretch]] | None = None,
    special: int = 0,
) -> World:
    """A world of a controller; its lamps do what some program does, or something like it.

    `lamps` makes the firings of such a program; else it has a few events. So many dates are
    `special`, the same on all channels.
    """
    first = first or chance.choice(FIRSTS)
    days = days or chance.randint(2, 7)
    last = first + timedelta(days=days - 1)
    clock = zone(zone_name, first, last)
    if controller.clock == "standard":
        clock = standard(clock)
    around = [first + timedelta(days=i) for i in range(-2, days + 2)]
    period = clock.first_pass(first, 0), clock.first_pass(last + timedelta(days=1), 0) - 1
    sun = random_sun(chance, controller, clock, around, errors)
    step = controller.step_minutes * MINUTE
    days_of_period = [first + timedelta(days=i) for i in range(days)]
    while True:
        found: list[ChannelTarget] = []
        marked = frozenset(chance.sample(days_of_period, min(special, days)))
        for number in range(1, channels + 1):
            empty = channel_of(number, [], period, chance.random() < 0.3, step, first)
            assert empty is not None
            empty = replace(empty, special=marked)
            world = World(
                controller=controller, clock=clock, zone_name=zone_name, sun=sun, channels=(empty,)
            )
            spread = chance.choice([0, 1, 1, 2])
            if chance.random() < 0.7:
                firings = (lamps or of_few_events)(chance, world)
                bands = bands_of_firings(chance, world, firings, empty.lit_at_start, spread)
            else:
                bands = bands_of_days(chance, world, spread)
            if bands is None or not 0 < len(bands) <= MOST_SWITCHINGS:
                break
            if chance.random() < 0.2:
                bands = _disturbed(chance, bands)
            lit = empty.lit_at_start
            channel = channel_of(number, bands, period, lit, step, first)
            if channel is None:
                break
            found.append(replace(channel, special=marked))
        if len(found) == channels:
            return replace(world, channels=tuple(found))


def _disturbed(chance: random.Random, bands: list[Band]) -> list[Band]:
    """Without two that follow each other."""
    at = chance.randrange(len(bands))
    return [*bands[:at], *bands[at + 2 :]] if len(bands) > 2 else bands


# The compiler against brute force


class Outcome(Record):
    """`least` None: there is no right program, however long."""

    least: int | None
    slots: int | None
    bound: int | None = None

    @property
    def kind(self) -> str:
        if self.least is None:
            return "impossible"
        if self.bound is None:
            return "refused"
        return "proven" if self.bound == self.slots else "not proven"


def target_of(world: World) -> Target:
    return Target(
        start=min(c.start for c in world.channels),
        end=max(c.end for c in world.channels) + 1,
        channels=world.channels,
    )


def fitted(world: World) -> Fitted:
    target = target_of(world)
    result, used = fit(
        lambda _: target,
        world.controller,
        world.clock,
        world.sun,
        tolerance_minutes=0,
        limit_minutes=0,
    )
    assert used == target
    return result


def compared(world: World) -> Outcome:
    """Fails where the compiler's answer can not be, or where what it claims is not so."""
    best = fewest(world)
    least = None if best is None else best.slots
    result = fitted(world)
    told = f"brute force: {best}\ncompiler: {result}"
    if result.program is None:
        assert result.certificate is None, told
        needed = None if best is None else most_of_any(world)
        assert needed is None or needed > world.controller.event_slots, told
        assert (result.slots_needed is None) == (needed is None), told
        if needed is not None and result.slots_needed is not None:
            assert result.slots_needed >= needed, told
        return Outcome(least, result.slots_needed)
    check_program(result, world, told)
    certificate = result.certificate
    assert certificate is not None, told
    assert best is not None, told
    assert certificate.bound <= best.slots <= certificate.slots, told
    return Outcome(least, certificate.slots, certificate.bound)


def most_of_any(world: World) -> int | None:
    """The slots to compare with those there are: of all channels, or of the one that needs most."""
    apart = [world]
    if world.controller.slots_are == "per channel":
        apart = [replace(world, channels=(c,)) for c in world.channels]
    found = [fewest(part) for part in apart]
    counts = [s.slots for s in found if s is not None]
    return max(counts) if len(counts) == len(apart) else None


def check_program(result: Fitted, world: World, told: str) -> None:
    """The program can be stored, is right whatever happens, and takes the slots it claims."""
    program, certificate = result.program, result.certificate
    assert program is not None, told
    assert certificate is not None, told
    assert not faults(program, world), (faults(program, world), told)
    report = run_program(program, world.controller, target_of(world), world.sun, world.zone_name)
    assert report.agrees, (report.overlaps, report.interval_differences, told)
    assert slots_of(program, world) == certificate.slots, told
    assert certificate.bound <= certificate.slots, told
    own = world.controller.exceptions.events_from == "event_slots"
    if world.controller.slots_are == "shared" and own:
        assert result.slots_needed == certificate.slots, told


def compare_many(name: str, count: int, make: Callable[[random.Random], World]) -> Counter[str]:
    """Worlds of one kind, each from a seed of its own; what came out, counted.

    At least one is made that some program can do, if it takes `MOST_MADE_ANEW` more.
    """
    seen: Counter[str] = Counter()
    first = int(os.environ.get("SCHEDCOMP_FIRST_WORLD", 0))
    last = first + how_many(count)
    for number in range(first, last + MOST_MADE_ANEW):
        if number >= last and seen["impossible"] < seen["worlds"]:
            break
        world = make(random.Random(f"{name} {number}"))
        try:
            outcome = compared(world)
        except AssertionError as error:
            raise AssertionError(f"{name} {number}: {error}\n{describe(world)}") from error
        seen["worlds"] += 1
        seen[outcome.kind] += 1
        seen[f"slots {outcome.least}"] += 1
        if outcome.kind == "not proven":
            seen[f"not proven: {number}, {outcome.bound} to {outcome.slots}, {outcome.least}"] += 1
    return seen


def describe(world: World) -> str:
    """A world in words, to make it again by hand."""
    clock = world.clock

    def shown(instant: int) -> str:
        return clock.local(instant).strftime("%a %m-%d %H:%M")

    lines = [str(world.controller), f"zone {world.zone_name}"]
    for word, times in world.sun.times:
        lines += [
            f"{word} {t.day} {shown(t.nominal)} [{shown(t.earliest)}, {shown(t.latest)}] "
            f"{'' if t.certain else 'uncertain'}"
            for t in times
        ]
    for c in world.channels:
        special = ", ".join(str(d) for d in sorted(c.special))
        lines.append(
            f"channel {c.channel} from {shown(c.start)} to {shown(c.end)}, "
            f"{'lit' if c.lit_at_start else 'dark'} at the start; special {special}"
        )
        lines += [
            f"  {s.action.value} {shown(s.earliest)} .. {shown(s.latest)} asked {shown(s.instant)}"
            for s in c.switchings
        ]
    return "\n".join(lines)
