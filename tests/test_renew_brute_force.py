"""The fewest slots to key, against every way to change a program, on years of a few days."""

from __future__ import annotations

import random
from datetime import date, timedelta
from itertools import combinations

import pytest

from schedcomp.clock import zone
from schedcomp.controller import Controller
from schedcomp.fit.fitting import fit
from schedcomp.model import DAY, Action
from schedcomp.program import ClockStart, Event, Fitted, Program
from schedcomp.records import replace
from schedcomp.renewal import slot_changes
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_sun import UnitSun
from tests.judge import names
from tests.test_fit_brute_force import (
    FIRST,
    KINDS,
    START,
    STEP,
    Stored,
    next_missing,
    random_spots,
    random_target,
    storable,
    target_of,
)

DAYS = 3


def compiled(
    channel: ChannelTarget, controller: Controller, keep: Program | None = None, *, spare: bool
) -> Fitted:
    target = Target(start=channel.start, end=channel.end, channels=(channel,))
    fitted, _ = fit(
        lambda _: target,
        controller,
        zone("UTC", FIRST, FIRST),
        UnitSun(()),
        tolerance_minutes=0,
        limit_minutes=0,
        repeat=spare,
        keep=keep,
    )
    return fitted


def fires(event: Event) -> Stored:
    assert isinstance(event.start, ClockStart)
    days: list[date] = [FIRST + timedelta(days=i) for i in range(DAYS)]
    on = [START + i * DAY + event.start.minutes * 60 for i, d in enumerate(days) if names(event, d)]
    return event.action, frozenset(on)


def completed(
    program: list[Stored], target: ChannelTarget, events: list[Stored], left: int
) -> bool:
    """Whether so many events more make a program right."""
    missing = next_missing(program, target)
    if missing is None:
        return True
    if left == 0 or not isinstance(missing, int):
        return False
    wanted = target.switchings[missing]
    inside = range(wanted.earliest, wanted.latest + 1, STEP)
    return any(
        completed([*program, event], target, events, left - 1)
        for event in events
        if event[0] is wanted.action and any(instant in event[1] for instant in inside)
    )


def fewer_would_do(old: Program, changes: int, target: ChannelTarget, events: list[Stored]) -> bool:
    """Whether the old program can be made right with fewer slots touched."""
    most = changes - 1
    held = [fires(e) for e in old.events]
    for erased in range(min(most, len(held)) + 1):
        for kept in combinations(held, len(held) - erased):
            room = min(most, KINDS[0].event_slots - len(kept))
            if completed(list(kept), target, events, room):
                return True
    return False


def exact_target(chance: random.Random) -> ChannelTarget:
    spots = random_spots(chance, DAYS)
    return target_of([(x, x, x) for x in spots], DAYS, chance.random() < 0.3)


@pytest.mark.parametrize("controller", KINDS, ids=lambda c: c.name)
def test_no_other_change_touches_fewer_slots(controller: Controller) -> None:
    """Where every switching has its one instant, so that no border could lie elsewhere."""
    chance = random.Random(20280101)
    events = storable(DAYS, controller)
    solved = some = 0
    while solved < 6:
        old = compiled(exact_target(chance), controller, spare=True).program
        target = exact_target(chance)
        if old is None or compiled(target, controller, spare=True).program is None:
            continue
        renewed = compiled(target, controller, old, spare=True).program
        assert renewed is not None
        assert next_missing([fires(e) for e in renewed.events], target) is None
        assert next_missing([fires(e) for e in renewed.needed], target) is None
        changes = len(slot_changes(old, renewed, controller))
        if changes <= 3:
            solved += 1
            some += changes > 0
            assert not fewer_would_do(old, changes, target, events)
    assert some > 3


UNUSUAL = [
    replace(KINDS[1], name="two halves", slot_holds="an on and an off"),
    replace(KINDS[2], name="weekday slots", weekday_set_costs="a slot per day", event_slots=21),
    replace(KINDS[1], name="slots by channel", slots_are="per channel"),
]


@pytest.mark.parametrize("controller", [*KINDS, *UNUSUAL], ids=lambda c: c.name)
@pytest.mark.parametrize("spare", [True, False])
def test_a_renewed_program_is_right_wherever_borders_lie(
    controller: Controller, spare: bool
) -> None:
    chance = random.Random(20280229)
    renewals = kept = 0
    while renewals < 5:
        first, second = random_target(chance, DAYS), random_target(chance, DAYS)
        if any(s.earliest > s.latest for s in (*first.switchings, *second.switchings)):
            continue
        old = compiled(first, controller, spare=True).program
        if old is None or compiled(second, controller, spare=spare).program is None:
            continue
        fitted = compiled(second, controller, old, spare=spare)
        renewed, certificate = fitted.program, fitted.certificate
        assert renewed is not None
        assert certificate is not None
        assert certificate.bound <= certificate.slots
        if controller in KINDS:
            assert certificate.slots == len(renewed.needed)
        assert renewed.slots_used <= controller.event_slots
        assert spare or renewed.needed == renewed.events
        assert next_missing([fires(e) for e in renewed.events], second) is None
        renewals += 1
        touched = {c.slot for c in slot_changes(old, renewed, controller)}
        for event in renewed.events:
            if event.slot not in touched:
                before = [fires(e) for e in old.events if e.slot == event.slot]
                assert fires(event) in before
                kept += 1
    assert kept or controller not in KINDS


def test_an_unchanged_target_changes_nothing() -> None:
    chance = random.Random(1)
    for controller in KINDS:
        for _ in range(4):
            target = exact_target(chance)
            old = compiled(target, controller, spare=True).program
            if old is not None:
                renewed = compiled(target, controller, old, spare=True).program
                assert renewed is not None
                assert slot_changes(old, renewed, controller) == ()
                assert {e.action for e in renewed.events} <= set(Action)
