"""The fewest events, against every program there is, on years of a few days.

The search below knows nothing of cells, borders or covers: it runs programs and adds an event
only where one is missing, so it finds the true minimum of programs that are right when run.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from itertools import combinations

import pytest

from schedcomp.clock import Zone, zone
from schedcomp.controller import Controller
from schedcomp.fit.channel import fewest_events
from schedcomp.fit.date_ranges import range_axis
from schedcomp.fit.firings import axis_of, clock_firings
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.model import DAY, Action
from schedcomp.target import ChannelTarget, TargetSwitching
from schedcomp.year import Bound, Cause, Reason
from tests.tiny_worlds import how_many

STEP = 180 * 60
FIRST = date(2027, 3, 1)
START = int(datetime(2027, 3, 1, tzinfo=UTC).timestamp())
READINGS = range(0, DAY, STEP)

Fires = frozenset[int]
Stored = tuple[Action, Fires]


def target_of(bands: list[tuple[int, int, int]], days: int, lit_at_start: bool) -> ChannelTarget:
    """Bands are (lowest, asked, highest) in steps from the start."""
    action = Action.OFF if lit_at_start else Action.ON
    switchings = []
    for low, asked, high in bands:
        reason = Reason(Cause.WINDOW, "x", FIRST, Bound(((START + asked * STEP, True),)))
        switchings.append(
            TargetSwitching(
                START + asked * STEP, action, START + low * STEP, START + high * STEP, reason
            )
        )
        action = action.opposite
    return ChannelTarget(
        channel=1,
        circuit="x",
        load_kw=1.0,
        start=START,
        end=START + days * DAY - 1,
        lit_at_start=lit_at_start,
        switchings=tuple(switchings),
    )


def storable(days: int, controller: Controller) -> list[Stored]:
    """Every event the controller could store, as the instants it fires at."""
    dates = [FIRST + timedelta(days=i) for i in range(days)]
    sets = controller.weekday_sets
    if sets is None:
        weekdays = [d.weekday() for d in dates]
        sets = tuple(frozenset(c) for n in range(1, days + 1) for c in combinations(weekdays, n))
    ranges = [range(days)]
    if controller.date_ranges != "none":
        ranges += [range(a, b + 1) for a in range(days) for b in range(a, days)]
    found: set[tuple[Action, Fires]] = set()
    for allowed in sets:
        for numbers in ranges:
            on = [i for i in numbers if dates[i].weekday() in allowed]
            for reading in READINGS:
                fires = frozenset(START + i * DAY + reading for i in on)
                if fires:
                    found |= {(Action.ON, fires), (Action.OFF, fires)}
    return sorted(found, key=lambda e: (e[0].value, sorted(e[1])))


def next_missing(program: list[Stored], target: ChannelTarget) -> int | str | None:
    """The first switching nothing does yet, None if all is done, "wrong" past repair."""
    firings: dict[int, set[Action]] = {}
    for action, fires in program:
        for instant in fires:
            firings.setdefault(instant, set()).add(action)
    done = 0
    lit = target.lit_at_start
    for instant in [*sorted(firings), target.end + 1]:
        if done < len(target.switchings) and instant > target.switchings[done].latest:
            return done
        if instant > target.end or instant < target.start:
            continue
        if len(firings[instant]) > 1:
            return "wrong"
        action = next(iter(firings[instant]))
        if (action is Action.ON) == lit:
            continue
        expected = target.switchings[done] if done < len(target.switchings) else None
        if expected is None or expected.action is not action or instant < expected.earliest:
            return "wrong"
        done += 1
        lit = not lit
    return None if done == len(target.switchings) else done


def true_minimum(target: ChannelTarget, events: list[Stored], most: int) -> int | None:
    """The length of the shortest program that is right when run, up to `most` events."""

    def reaches(program: list[Stored], left: int) -> bool:
        missing = next_missing(program, target)
        if missing is None:
            return True
        if left == 0 or not isinstance(missing, int):
            return False
        wanted = target.switchings[missing]
        inside = range(wanted.earliest, wanted.latest + 1, STEP)
        return any(
            reaches([*program, event], left - 1)
            for event in events
            if event[0] is wanted.action and any(instant in event[1] for instant in inside)
        )

    return next((n for n in range(most + 1) if reaches([], n)), None)


def random_spots(chance: random.Random, days: int) -> list[int]:
    """Switchings anywhere, or much the same every day, as lamps do."""
    if chance.random() < 0.3:
        return sorted(chance.sample(range(1, days * 8), chance.randint(1, 6)))
    daily = sorted(chance.sample(range(8), 2))
    spots = {day * 8 + reading for day in range(days) for reading in daily}
    if chance.random() < 0.5:
        spots = {spot + chance.choice([0, 0, 1]) for spot in spots}
    return sorted(spot for spot in spots if 0 < spot < days * 8)


def random_target(chance: random.Random, days: int) -> ChannelTarget:
    spots = random_spots(chance, days)
    spread = chance.choice([0, 1, 2])
    bands = [(x - chance.randint(0, spread), x, x + chance.randint(0, spread)) for x in spots]
    low = [b[0] for b in bands]
    high = [b[2] for b in bands]
    for i in range(1, len(bands)):
        low[i] = max(low[i], low[i - 1] + 1)
    for i in range(len(bands) - 2, -1, -1):
        high[i] = min(high[i], high[i + 1] - 1)
    bands = [
        (max(0, lo), x, min(hi, days * 8 - 1))
        for lo, (_, x, _), hi in zip(low, bands, high, strict=True)
    ]
    return target_of(bands, days, chance.random() < 0.3)


KINDS = [
    Controller(
        name="all",
        event_slots=9,
        step_minutes=180,
        date_ranges="none",
        weekday_sets=(frozenset(range(7)),),
    ),
    Controller(
        name="ranges",
        event_slots=9,
        step_minutes=180,
        date_ranges="yearly no wrap",
        weekday_sets=(frozenset(range(7)),),
    ),
    Controller(name="weekdays", event_slots=9, step_minutes=180, date_ranges="none"),
    Controller(
        name="list",
        event_slots=9,
        step_minutes=180,
        date_ranges="with year",
        weekday_sets=(frozenset(range(7)), frozenset({0, 2}), frozenset({1})),
    ),
]


def fitted(target: ChannelTarget, controller: Controller) -> int | None:
    clock: Zone = zone("UTC", FIRST, FIRST)
    axis = axis_of(clock, target.start, [target.end])
    job = UnitJob(
        (target,),
        (clock_firings(controller, clock, axis),),
        range_axis(controller, axis),
        controller,
        clock,
    )
    found = fewest_events(job, exact=True)
    if not isinstance(found, Whole):
        return None
    assert found.bound == found.slots == len(found.events)
    return found.slots


@pytest.mark.parametrize("controller", KINDS, ids=lambda c: c.name)
def test_no_right_program_is_shorter(controller: Controller) -> None:
    chance = random.Random(20270301)
    days = 4
    events = storable(days, controller)
    solved = 0
    for _ in range(how_many(600)):
        target = random_target(chance, days)
        if any(s.earliest > s.latest for s in target.switchings):
            continue
        shortest = fitted(target, controller)
        if shortest is None:
            assert true_minimum(target, events, 4) is None
        elif shortest <= 5:
            assert true_minimum(target, events, shortest) == shortest
            solved += 1
    assert solved > 15
