"""The nearest program of fewest events: against every program there is, and on whole years.

The search below knows nothing of cells, candidates or ranges of positions: it runs programs and
adds an event only where one is missing, so it meets every program that is right when run.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from itertools import combinations

import pytest

from schedcomp.clock import zone
from schedcomp.controller import Controller
from schedcomp.fit.cells import contested_rows, useful_firings
from schedcomp.fit.date_ranges import range_axis
from schedcomp.fit.deviation import nearest
from schedcomp.fit.fewest import fewest
from schedcomp.fit.firings import axis_of, clock_firings
from schedcomp.fit.settled import Settled, no_rests
from schedcomp.fit.unit_job import UnitJob, Whole
from schedcomp.model import DAY, MINUTE, Action
from schedcomp.records import Record
from schedcomp.target import ChannelTarget, TargetSwitching
from schedcomp.year import Bound, Cause, Reason
from tests.tiny_worlds import how_many

FIRST = date(2027, 3, 1)
START = int(datetime(2027, 3, 1, tzinfo=UTC).timestamp())
STEP = 60 * MINUTE
READINGS = range(0, DAY, STEP)
A_DAY = DAY // STEP

Fires = frozenset[int]
Event = tuple[Action, Fires]


class Found(Record):
    """What the fit made of a tiny year; `count` events, and what they deviate."""

    count: int
    seconds: int
    bound_seconds: int
    contested: bool


def tiny_target(chance: random.Random, days: int) -> ChannelTarget | None:
    """On and off once a day, at least one of them at changing times; None if bands are empty.

    Bands reach one to four steps of the clock around the wish, to one side or to both.
    """
    on, off = chance.randint(3, 8), chance.randint(14, 20)
    wander = (chance.choice([0, 2, 3, 4]), chance.choice([0, 2, 3, 4]))
    bands = [(chance.randint(0, 3), chance.randint(0, 3)) if w else (0, 0) for w in wander]
    spots, low, high = [], [], []
    for day in range(days):
        for spot, width, (before, after) in zip((on, off), wander, bands, strict=True):
            here = day * A_DAY + spot + chance.randint(-width, width)
            spots.append(here)
            low.append(here - before)
            high.append(here + after)
    for i in range(1, len(spots)):
        low[i] = max(low[i], low[i - 1] + 1)
    for i in range(len(spots) - 2, -1, -1):
        high[i] = min(high[i], high[i + 1] - 1)
    if low[0] < 0 or high[-1] >= days * A_DAY:
        return None
    if any(not lo <= x <= hi for lo, x, hi in zip(low, spots, high, strict=True)):
        return None
    return ChannelTarget(
        channel=1,
        circuit="x",
        load_kw=1.0,
        start=START,
        end=START + days * DAY - 1,
        lit_at_start=False,
        switchings=tuple(_switchings(chance, spots, low, high)),
    )


def _switchings(
    chance: random.Random, spots: list[int], low: list[int], high: list[int]
) -> Iterator[TargetSwitching]:
    action = Action.ON
    for spot, lo, hi in zip(spots, low, high, strict=True):
        # Off the step, as the sun is, where the band leaves room; so hardly any two are as near.
        asked = START + spot * STEP + (chance.randint(-25, 25) * MINUTE if lo < hi else 0)
        reason = Reason(Cause.WINDOW, "x", FIRST, Bound(((asked, True),)))
        yield TargetSwitching(asked, action, START + lo * STEP, START + hi * STEP, reason)
        action = action.opposite


def storable(days: int, controller: Controller) -> list[Event]:
    """Every event the controller could store, as the instants it fires at."""
    dates = [FIRST + timedelta(days=i) for i in range(days)]
    sets = controller.weekday_sets
    if sets is None:
        weekdays = [d.weekday() for d in dates]
        sets = tuple(frozenset(c) for n in range(1, days + 1) for c in combinations(weekdays, n))
    ranges = [set(range(days))]
    if controller.date_ranges != "none":
        runs = [set(range(a, b + 1)) for a in range(days) for b in range(a, days)]
        ranges += runs
        if controller.date_ranges == "yearly":
            ranges += [set(range(days)) - run for run in runs]
    found: set[Event] = set()
    for allowed in sets:
        for numbers in ranges:
            on = [i for i in numbers if dates[i].weekday() in allowed]
            for reading in READINGS:
                fires = frozenset(START + i * DAY + reading for i in on)
                if fires:
                    found |= {(Action.ON, fires), (Action.OFF, fires)}
    return sorted(found, key=lambda e: (e[0].value, sorted(e[1])))


def run(program: list[Event], target: ChannelTarget) -> tuple[int, int | None]:
    """How many switchings come right one after the other, and their distances from the wish.

    None past repair: something extra, too early, or opposite actions at one instant.
    """
    firings: dict[int, set[Action]] = {}
    for action, fires in program:
        for instant in fires:
            firings.setdefault(instant, set()).add(action)
    done, away = 0, 0
    lit = target.lit_at_start
    for instant in [*sorted(firings), target.end + 1]:
        if done < len(target.switchings) and instant > target.switchings[done].latest:
            return done, away
        if instant > target.end:
            continue
        if len(firings[instant]) > 1:
            return done, None
        action = next(iter(firings[instant]))
        if (action is Action.ON) == lit:
            continue
        expected = target.switchings[done] if done < len(target.switchings) else None
        if expected is None or expected.action is not action or instant < expected.earliest:
            return done, None
        away += abs(instant - expected.instant)
        done += 1
        lit = not lit
    return done, away


def hopeless(event: Event, target: ChannelTarget) -> bool:
    """Whether it fires where the lamps must be in the other state, whenever they switch."""
    action, fires = event
    wanted = target.switchings
    states = [(target.start, target.lit_at_start)]
    states += [(s.latest, s.action is Action.ON) for s in wanted]
    ends = [*(s.earliest for s in wanted), target.end + 1]
    return any(
        since <= instant < until
        for (since, lit), until in zip(states, ends, strict=True)
        if lit != (action is Action.ON)
        for instant in fires
    )


def least_deviation(target: ChannelTarget, events: list[Event], count: int) -> int | None:
    """The least of all programs of `count` events that are right when run, None: there is none."""
    events = [event for event in events if not hopeless(event, target)]
    best: int | None = None
    known: set[frozenset[Event]] = set()
    wanted = target.switchings

    def look(program: list[Event]) -> None:
        nonlocal best
        key = frozenset(program)
        if key in known:
            return
        known.add(key)
        done, away = run(program, target)
        if away is None:
            return
        if done == len(wanted):
            best = away if best is None else min(best, away)
        if len(program) == count:
            return
        # Every event of a shortest program is missed by something.
        missing = wanted[min(done, len(wanted) - 1)]
        inside = range(missing.earliest, missing.latest + 1, STEP)
        for event in events:
            if event[0] is missing.action and any(instant in event[1] for instant in inside):
                look([*program, event])

    look([])
    return best


KINDS = {
    "every day": Controller(
        name="a",
        event_slots=9,
        step_minutes=60,
        date_ranges="none",
        weekday_sets=(frozenset(range(7)),),
    ),
    "ranges": Controller(
        name="b",
        event_slots=9,
        step_minutes=60,
        date_ranges="yearly no wrap",
        weekday_sets=(frozenset(range(7)),),
    ),
    "wrapping": Controller(
        name="c",
        event_slots=9,
        step_minutes=60,
        date_ranges="yearly",
        weekday_sets=(frozenset(range(7)),),
    ),
    "weekdays": Controller(name="d", event_slots=9, step_minutes=60, date_ranges="none"),
    "some sets": Controller(
        name="e",
        event_slots=9,
        step_minutes=60,
        date_ranges="with year",
        weekday_sets=(frozenset(range(7)), frozenset({0, 2}), frozenset({1})),
    ),
    "both": Controller(name="f", event_slots=9, step_minutes=60, date_ranges="yearly no wrap"),
}
ONE_CLASS = ("every day", "ranges", "wrapping")


def fitted(target: ChannelTarget, controller: Controller) -> Found | None:
    clock = zone("UTC", FIRST, FIRST)
    axis = axis_of(clock, target.start, [target.end])
    firings = (clock_firings(controller, clock, axis),)
    job = UnitJob((target,), firings, range_axis(controller, axis), controller, clock)
    whole = fewest(job, exact=True)
    if not isinstance(whole, Whole):
        return None
    settled = Settled(
        job.channels, whole.settled, firings, job.ranges, no_rests(job.channels, job.ranges)
    )
    events, [deviation] = nearest(settled, whole.free, whole.events, controller)
    assert len(events) == len(whole.events) == whole.bound
    assert all(settled.is_harmless(event) for event in events)
    rows = {row for event in events for _, row in settled.covered(event)}
    assert rows == set(range(len(target.switchings)))
    again, _ = nearest(settled, whole.free, tuple(reversed(whole.events)), controller)
    assert sum(1 for e in again if e not in events) == 0
    contested = bool(contested_rows(useful_firings(firings, target), target))
    return Found(len(events), deviation.seconds, deviation.bound_seconds, contested)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_as_short_is_nearer_than_the_bound(kind: str) -> None:
    chance = random.Random(20270301)
    days = 4
    events = storable(days, KINDS[kind])
    met = 0
    for _ in range(how_many(320)):
        target = tiny_target(chance, days)
        if target is None:
            continue
        found = fitted(target, KINDS[kind])
        if found is None or not 2 <= found.count <= (4 if kind in ONE_CLASS else 3):
            continue
        least = least_deviation(target, events, found.count)
        assert least is not None
        assert found.bound_seconds <= least <= found.seconds
        if not found.contested:
            met += 1
    assert met > 3
