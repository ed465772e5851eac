"""Slot numbers that stay: every assignment against brute force, changes, plans, nights."""

from __future__ import annotations

import random
from datetime import date
from itertools import combinations, permutations

import pytest

from schedcomp.assignment import least_cost_assignment
from schedcomp.audit_report import Run
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.left_alone import noticed
from schedcomp.model import HOUR, MINUTE, Action
from schedcomp.output.changes import changes_csv
from schedcomp.output.slots import content_words
from schedcomp.program import ClockStart, Event, EventDates, Program, SpecialDays, SunOffset
from schedcomp.records import replace
from schedcomp.renewal import (
    Entry,
    body_of,
    numbered_over,
    plan_names,
    slot_changes,
    written_over,
)
from schedcomp.site import Unit
from schedcomp.target import ChannelTarget, Target
from tests.made_up import ZONE, at
from tests.sites import rows_of

UNIT = Controller(name="unit", event_slots=6, exceptions=ExceptionSlots(slots=4))
PAIRS = replace(UNIT, slot_holds="an on and an off")
APART = replace(UNIT, slots_are="per channel", channels=2)


def off(slot: int, minutes: int, **more: object) -> Event:
    made = Event(slot=slot, channels=(1,), action=Action.OFF, start=ClockStart(minutes))
    return replace(made, **more)


def on(slot: int, minutes: int, **more: object) -> Event:
    return off(slot, minutes, action=Action.ON, **more)


def program(*events: Event, days: tuple[SpecialDays, ...] = ()) -> Program:
    return Program(controller="unit", events=events, special_days=days)


# The assignment


def test_the_assignment_of_least_cost_against_every_permutation() -> None:
    drawn = random.Random(20270101)
    for _ in range(400):
        rows = drawn.randint(0, 5)
        columns = rows + drawn.randint(0, 2)
        costs = [[drawn.randint(0, 9) for _ in range(columns)] for _ in range(rows)]
        chosen = least_cost_assignment(costs)
        assert len(set(chosen)) == len(chosen) == rows
        least = min(
            sum(costs[row][column] for row, column in enumerate(one))
            for one in permutations(range(columns), rows)
        )
        assert sum(costs[row][column] for row, column in enumerate(chosen)) == least


def test_more_rows_than_places_is_refused() -> None:
    with pytest.raises(ValueError, match="fewer places"):
        least_cost_assignment([[1], [2]])


# Slots


def touched(old: list[Event], new: tuple[Entry, ...]) -> int:
    before = {e.slot: body_of(e) for e in old}
    after = {e.slot: body_of(e) for e in new}
    return sum(before.get(s) != after.get(s) for s in {*before, *after})


def least_touched(old: list[Event], new: list[Event], idle: list[Event], slots: int) -> int:
    """By trying every way to number the new events and to keep or drop each idle one."""
    best = len(old) + len(new)
    for count in range(len(idle) + 1):
        for kept in combinations(idle, count):
            taken = {e.slot for e in kept}
            free = [slot for slot in range(1, slots + 1) if slot not in taken]
            for places in permutations(free, len(new)):
                put = [replace(e, slot=s) for e, s in zip(new, places, strict=True)]
                best = min(best, touched(old, (*kept, *put)))
    return best


def test_as_few_slots_change_as_any_numbering_could_do() -> None:
    drawn = random.Random(7)
    slots = 5
    for _ in range(150):
        minutes = drawn.sample(range(60, 70), 8)
        held = drawn.sample(range(1, slots + 1), drawn.randint(0, 4))
        old = [off(s, minutes[n]) for n, s in enumerate(held)]
        stay = drawn.sample(old, drawn.randint(0, len(old)))
        idle = [e for e in old if e not in stay and drawn.random() < 0.5]
        added = [off(0, minutes[4 + n]) for n in range(drawn.randint(0, slots - len(stay)) % 3)]
        new = [replace(e, slot=n + 1) for n, e in enumerate((*stay, *added))]
        drawn.shuffle(new)
        numbered = [replace(e, slot=n + 1) for n, e in enumerate(new)]
        found = numbered_over(old, numbered, idle, slots, per_channel=False)
        assert found is not None
        assert len({e.slot for e in found}) == len(found)
        assert {body_of(e) for e in new} <= {body_of(e) for e in found}
        assert {body_of(e) for e in found} <= {body_of(e) for e in (*new, *idle)}
        assert touched(old, found) == least_touched(old, new, idle, slots)


def test_without_room_there_is_no_numbering() -> None:
    old = [off(1, 60), off(2, 61)]
    new = [off(n, 100 + n) for n in (1, 2, 3)]
    assert numbered_over(old, new, (), 2, per_channel=False) is None
    assert numbered_over(old, new[:2], old, 2, per_channel=False) == tuple(new[:2])


def test_a_new_event_goes_where_one_like_it_was() -> None:
    old = program(on(1, 300), off(2, 1380), on(3, 500))
    new = program(off(1, 1350), on(2, 300), on(3, 510))
    assert written_over(old, new, UNIT).events == (on(1, 300), off(2, 1350), on(3, 510))


def test_what_was_replaced_gives_way_before_a_repeat_does() -> None:
    """The old curfew, now idle, is overwritten; its repeat stays."""
    old = [off(1, 1380), off(2, 1390, safety=True)]
    idle = [replace(e, safety=True) for e in old]
    [new, repeat] = numbered_over(old, [off(1, 1350)], idle, 3, per_channel=False) or ()
    assert new == off(1, 1350)
    assert repeat == idle[1]


def test_another_action_goes_into_an_empty_slot_first() -> None:
    old = [off(1, 1380), off(2, 1390, safety=True)]
    idle = [replace(e, safety=True) for e in old]
    found = numbered_over(old, [on(1, 300)], idle, 3, per_channel=False)
    assert found == (*idle, on(3, 300))


def test_two_halves_of_a_slot_stay_together() -> None:
    old = program(on(1, 300), off(1, 400), on(2, 1000), off(2, 1380))
    new = program(on(1, 1000), off(1, 1350), on(2, 300), off(2, 400))
    renewed = written_over(old, new, PAIRS)
    assert renewed.events == (on(1, 300), off(1, 400), on(2, 1000), off(2, 1350))
    [change] = slot_changes(old, renewed, PAIRS)
    assert (change.action, change.slot) == ("change", 2)
    assert content_words(change.old) == (
        "ON 16:40 every day, channel 1 / OFF 23:00 every day, channel 1"
    )


def test_channels_with_slots_of_their_own() -> None:
    second = off(1, 1380, channels=(2,))
    old = program(off(1, 1380), off(2, 60), second)
    new = program(off(1, 60), second)
    renewed = written_over(old, new, APART)
    assert renewed.events == (off(2, 60), second)
    [change] = slot_changes(old, renewed, APART)
    assert (change.action, change.channels, change.slot) == ("delete", (1,), 1)


def test_a_unit_whose_weekdays_cost_slots_keeps_the_numbers_of_the_fit() -> None:
    per_day = replace(UNIT, weekday_set_costs="a slot per day")
    new = program(off(1, 60), off(8, 70))
    assert written_over(program(off(1, 70)), new, per_day) == new


def test_a_repeat_names_the_slot_where_its_event_stands_now() -> None:
    purpose = "safety repeat of slot {}: off again 10 min after 22:30"
    old = program(on(1, 300), off(2, 1380))
    new = program(off(1, 1350), on(2, 300), off(3, 1360, safety=True, purpose=purpose.format(1)))
    repeat = written_over(old, new, UNIT).events[-1]
    assert repeat.purpose == purpose.format(2)


# Special days and plans


def days(slot: int, day: int, plan: str) -> SpecialDays:
    return SpecialDays(slot=slot, channels=(1,), dates=EventDates((12, day), (12, day)), plan=plan)


def test_plans_are_called_as_before() -> None:
    old = program(off(1, 60, plan="A"), off(2, 70, plan="B"), days=(days(1, 24, "A"),))
    new = program(off(1, 70, plan="A"), off(2, 99, plan="B"), days=(days(1, 24, "A"),))
    assert plan_names(old, new) == {"A": "B", "B": "C"}
    empty = program(days=(days(1, 25, "empty"), days(2, 26, "off")))
    assert plan_names(old, empty) == {}


def test_special_days_keep_their_slots() -> None:
    old = program(days=(days(1, 24, "empty"), days(2, 25, "empty")))
    new = program(days=(days(1, 25, "empty"), days(2, 26, "empty")))
    renewed = written_over(old, new, UNIT)
    assert renewed.special_days == (days(1, 26, "empty"), days(2, 25, "empty"))
    [change] = slot_changes(old, renewed, UNIT)
    assert (change.listed, change.slot, change.action) == ("special days", 1, "change")
    assert content_words(change.new) == "12-26: plan empty, channel 1"


# The list to key


def test_a_row_for_each_slot_and_a_box_for_each_unit() -> None:
    old = program(off(1, 1380), off(2, 60))
    sunset = on(3, 0, start=SunOffset("sunset", 15), weekdays=frozenset({0, 4}), purpose="=dusk")
    changes = slot_changes(old, program(off(1, 1350), sunset), UNIT)
    rows = rows_of(changes_csv(changes, (Unit(label="Panel A"), Unit(label="-B"))))
    assert [(r["do"], r["slot"]) for r in rows] == [
        ("change", "1"),
        ("delete", "2"),
        ("add", "3"),
    ]
    assert rows[0]["old_line"] == "OFF 23:00 every day, channel 1"
    assert rows[0]["new_line"] == "OFF 22:30 every day, channel 1"
    assert rows[1]["new_line"] == ""
    assert rows[2]["new_line"] == "ON sunset + 15 min mon fri, channel 1"
    assert rows[2]["purpose"] == "'=dusk"
    assert all(row["keyed: Panel A"] == row["keyed: -B"] == "[ ]" for row in rows)
    [*header] = rows_of(changes_csv(changes, ()))[0]
    assert header[-1] == "keyed"


# Nights


def run(*switchings: tuple[str, Action]) -> Run:
    seen = tuple((at(when), action, 1) for when, action in switchings)
    return Run(
        name="sun exact",
        differences=(),
        worst_early_seconds=0,
        worst_early_at=None,
        worst_late_seconds=0,
        worst_late_at=None,
        switchings=((1, seen),),
    )


def test_nights_go_from_noon_to_noon() -> None:
    """An hour less after midnight belongs to the evening before."""
    begin, end = at("01-04 00:00"), at("01-11 00:00")
    lot = ChannelTarget(
        channel=1,
        circuit="Lot",
        load_kw=1.0,
        start=begin,
        end=end,
        lit_at_start=False,
        switchings=(),
    )
    target = Target(start=begin, end=end, channels=(lot,))
    old = run(
        ("01-04 18:00", Action.ON),
        ("01-05 02:00", Action.OFF),
        ("01-06 18:00", Action.ON),
        ("01-06 23:00", Action.OFF),
    )
    new = run(
        ("01-04 18:00", Action.ON),
        ("01-05 01:00", Action.OFF),
        ("01-06 17:40", Action.ON),
        ("01-06 23:00", Action.OFF),
    )
    assert noticed(old, old, target, ZONE) == ()
    [found] = noticed(old, new, target, ZONE)
    assert (found.circuit, found.nights) == ("Lot", 2)
    assert (found.more_seconds, found.less_seconds) == (20 * MINUTE, HOUR)
    assert (found.first, found.worst) == (date(2027, 1, 4), date(2027, 1, 4))
    assert (found.worst_more_seconds, found.worst_less_seconds) == (0, HOUR)


def test_light_over_the_end_of_the_period_counts_up_to_it() -> None:
    begin, end = at("01-04 00:00"), at("01-06 00:00")
    target = Target(start=begin, end=end, channels=())
    lit = run(("01-05 22:00", Action.ON))
    [found] = noticed(run(), lit, target, ZONE)
    assert (found.circuit, found.more_seconds) == ("channel 1", 2 * HOUR)
