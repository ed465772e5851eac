"""The test run against hand-written nights and a slow unit that walks every minute."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import pytest

from schedcomp.audit.findings import audit_findings
from schedcomp.controller import Controller
from schedcomp.diag import render
from schedcomp.model import Action
from schedcomp.program import ClockStart, Event, EventDates, Program, SunOffset
from schedcomp.records import replace
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun
from tests.audit_worlds import (
    DENVER,
    GOOD,
    HERE,
    MUTATIONS,
    NO_SUN,
    OFF,
    ON,
    UNIT,
    at,
    audit,
    by_sun,
    channel,
    clock,
    good_target,
    kinds,
    program,
    smooth_sun,
    sun_time,
    target,
    without_slots,
)
from tests.unit_by_minute import Place, order_unknown, slow_unit


def fired(
    made: Event,
    first: str,
    last: str,
    sun: UnitSun = NO_SUN,
    unit: Controller = UNIT,
    zone: str = DENVER,
    name: str = "sun exact",
) -> list[str]:
    """UTC times at which an event switches lamps on that other events put out twice an hour."""
    offs = [clock(f"{h:02d}:{m:02d}", OFF) for h in range(24) for m in (17, 47)]
    wanted = target(channel(at(f"{first} 00:00", zone), at(f"{last} 00:00", zone)))
    run = next(
        r for r in audit(program(made, *offs), wanted, sun, unit, zone).runs if r.name == name
    )
    return [
        datetime.fromtimestamp(t, UTC).strftime("%m-%d %H:%M:%S")
        for t, action, _ in run.of_channel(1)
        if action is ON
    ]


def test_a_right_program_agrees_in_every_run() -> None:
    report = audit(GOOD, good_target(), smooth_sun())
    assert report.agrees
    assert [run.name for run in report.runs] == [
        "sun exact",
        "sun early",
        "sun late",
        "sun jittering",
        "sun exact, opposite start",
        "sun early, opposite start",
        "sun late, opposite start",
        "sun jittering, opposite start",
    ]
    assert report.exact_run.name == "sun exact"
    assert len(report.exact_run.of_channel(1)) == len(good_target().channels[0].switchings)


def test_deviations_are_those_of_the_sun_error() -> None:
    exact, early, late, jittering = audit(GOOD, good_target(), smooth_sun()).runs[:4]
    assert (exact.worst_early_seconds, exact.worst_late_seconds) == (0, 0)
    assert exact.worst_early_at is None
    assert (early.worst_early_seconds, early.worst_late_seconds) == (120, 0)
    assert (late.worst_early_seconds, late.worst_late_seconds) == (0, 120)
    assert early.worst_early_at in {s.instant for s in good_target().channels[0].switchings}
    assert 60 < jittering.worst_early_seconds <= 120
    assert 60 < jittering.worst_late_seconds <= 120


def test_the_same_input_gives_the_same_report() -> None:
    first = audit(GOOD, good_target(), smooth_sun())
    assert first == audit(GOOD, good_target(), smooth_sun())


def test_an_error_larger_than_the_tolerance_is_seen() -> None:
    report = audit(GOOD, good_target(1), smooth_sun())
    assert report.exact_run.agrees
    assert set(kinds(report.runs[1].differences)) == {"too early"}
    assert set(kinds(report.runs[2].differences)) == {"too late"}
    assert set(kinds(report.interval_differences)) == {"too early", "too late"}


@lru_cache
def _right_year(which: str) -> list[tuple[int, Action]]:
    return _year_of(GOOD, which)


def _year_of(made: Program, which: str) -> list[tuple[int, Action]]:
    wanted = good_target().channels[0]
    place = Place(UNIT, DENVER, smooth_sun(), wanted.start, wanted.end)
    return slow_unit(made, place, wanted.lit_at_start, which)


@pytest.mark.parametrize("slot", range(len(GOOD.events)))
def test_a_corrupted_slot_is_noticed(slot: int) -> None:
    """Each field of each slot, changed: only a change that alters no switching may pass."""
    noticed = 0
    for mutate in MUTATIONS:
        event = mutate(GOOD.events[slot])
        if event == GOOD.events[slot]:
            continue
        mutant = program(*GOOD.events[:slot], event, *GOOD.events[slot + 1 :])
        if not audit(mutant, good_target(), smooth_sun()).agrees:
            noticed += 1
            continue
        for which in ("nominal", "earliest", "latest"):
            assert _year_of(mutant, which) == _right_year(which), event
    assert noticed >= 10


def test_the_slow_unit_agrees_with_the_runs_of_a_year() -> None:
    report = audit(GOOD, good_target(), smooth_sun())
    for run, which in zip(report.runs, ("nominal", "earliest", "latest"), strict=False):
        assert without_slots(run.of_channel(1)) == _right_year(which)


def test_a_missing_slot_and_a_doubled_slot() -> None:
    for slot in range(len(GOOD.events)):
        rest = GOOD.events[:slot] + GOOD.events[slot + 1 :]
        assert not audit(program(*rest), good_target(), smooth_sun()).agrees
    assert audit(program(*GOOD.events, *GOOD.events), good_target(), smooth_sun()).agrees


CHANGES = (
    (DENVER, "2027-03-14"),
    (DENVER, "2027-11-07"),
    ("Australia/Lord_Howe", "2027-04-04"),
    ("Australia/Lord_Howe", "2027-10-03"),
    ("Antarctica/Troll", "2027-03-28"),
    ("Antarctica/Troll", "2027-10-31"),
    ("Africa/Cairo", "2027-04-30"),
    ("Africa/Cairo", "2027-10-28"),
    ("America/Santiago", "2027-04-03"),
    ("America/Santiago", "2027-09-05"),
    ("Europe/Dublin", "2027-03-28"),
    ("Europe/Dublin", "2027-10-31"),
    ("America/Havana", "2027-11-07"),
    ("Asia/Kathmandu", "2027-01-01"),
    ("America/St_Johns", "2006-10-29"),
)


def _random_events(dice: random.Random, change: date) -> Program:
    near = change.month, change.day
    after = change + timedelta(days=dice.randrange(1, 5))
    before = change - timedelta(days=dice.randrange(0, 5))
    events = []
    for _ in range(dice.randrange(2, 9)):
        dates = dice.choice(
            (
                None,
                None,
                EventDates(near, near),
                EventDates((before.month, before.day), near),
                EventDates((after.month, after.day), (before.month, before.day)),
                EventDates(near, (after.month, after.day), (change.year, after.year)),
            )
        )
        hour = dice.choice((0, 0, 1, 2, 2, 3, 12, 23))
        events.append(
            Event(
                slot=1,
                channels=(1,),
                action=dice.choice((ON, OFF)),
                start=ClockStart(hour * 60 + dice.choice((0, 1, 15, 30, 59))),
                weekdays=frozenset(dice.sample(range(7), dice.choice((5, 6, 7, 7)))),
                dates=dates,
            )
        )
    return program(*events)


@pytest.mark.parametrize("repeated", ["once", "twice"])
@pytest.mark.parametrize("skipped", ["at the jump", "lost"])
@pytest.mark.parametrize(("zone", "change"), CHANGES)
def test_random_programs_around_a_clock_change_run_as_the_slow_unit_does(
    zone: str, change: str, skipped: str, repeated: str
) -> None:
    day = date.fromisoformat(change)
    start = at(f"{day - timedelta(days=2)} 12:00", zone)
    end = at(f"{day + timedelta(days=2)} 12:00", zone)
    unit = replace(UNIT, skipped_time=skipped, repeated_time=repeated)
    dice = random.Random(f"{zone} {change}")
    flickers = 0
    for _ in range(12):
        made = _random_events(dice, day)
        slow = slow_unit(made, Place(unit, zone, NO_SUN, start, end), False)
        report = audit(made, target(channel(start, end, *slow)), unit=unit, zone=zone)
        seen = without_slots(report.exact_run.of_channel(1))
        assert [s[0] for s in seen][:1] == [s[0] for s in slow][:1]
        if order_unknown(slow):
            assert not report.agrees
            flickers += 1
        else:
            assert seen == slow
            assert report.agrees
    assert flickers < 12


# Clock changes, one by one. Instants are written in UTC.


def test_a_reading_in_the_spring_gap_fires_at_the_jump_or_is_lost() -> None:
    event = clock("02:30", ON)
    first, last = "2027-03-13", "2027-03-16"
    at_jump = ["03-13 09:30:00", "03-14 09:00:00", "03-15 08:30:00"]
    assert fired(event, first, last) == at_jump
    lost = replace(UNIT, skipped_time="lost")
    assert fired(event, first, last, unit=lost) == [at_jump[0], at_jump[2]]


def test_a_repeated_reading_fires_once_or_twice() -> None:
    event = clock("01:30", ON)
    first, last = "2027-11-06", "2027-11-09"
    once = ["11-06 07:30:00", "11-07 07:30:00", "11-08 08:30:00"]
    assert fired(event, first, last) == once
    twice = replace(UNIT, repeated_time="twice")
    assert fired(event, first, last, unit=twice) == [*once[:2], "11-07 08:30:00", once[2]]


def test_a_change_of_half_an_hour() -> None:
    zone = "Australia/Lord_Howe"
    event = clock("01:45", ON)
    twice = replace(UNIT, repeated_time="twice")
    assert fired(event, "2027-04-04", "2027-04-05", unit=twice, zone=zone) == [
        "04-03 14:45:00",
        "04-03 15:15:00",
    ]
    assert fired(clock("02:10", ON), "2027-10-03", "2027-10-04", zone=zone) == ["10-02 15:30:00"]


def test_a_change_of_two_hours() -> None:
    zone = "Antarctica/Troll"
    for reading in ("01:00", "02:59"):
        assert fired(clock(reading, ON), "2027-03-28", "2027-03-29", zone=zone) == [
            "03-28 01:00:00"
        ]
    assert fired(clock("02:00", ON), "2027-10-31", "2027-11-01", zone=zone) == ["10-31 00:00:00"]


def test_changes_at_midnight() -> None:
    # Cairo, Friday 30 April 2027: 00:00 to 00:59 do not exist; the jump is Thursday 22:00 UTC.
    friday = clock("00:30", ON, weekdays=frozenset({4}))
    assert fired(friday, "2027-04-29", "2027-05-02", zone="Africa/Cairo") == ["04-29 22:00:00"]
    # Havana, Sunday 7 November 2027: 00:00 to 00:59 twice.
    sunday = clock("00:30", ON, weekdays=frozenset({6}))
    twice = replace(UNIT, repeated_time="twice")
    assert fired(sunday, "2027-11-06", "2027-11-09", unit=twice, zone="America/Havana") == [
        "11-07 04:30:00",
        "11-07 05:30:00",
    ]


def test_a_jump_over_midnight_leaves_open_which_date_counts() -> None:
    """Nuuk, 27 March 2027: Saturday 23:00 to 23:59 do not exist; the jump is Sunday 00:00."""
    zone = "America/Nuuk"
    every = clock("23:30", ON)
    saturday = clock("23:30", ON, weekdays=frozenset({5}))
    first, last = "2027-03-27", "2027-03-28"
    assert fired(every, first, last, zone=zone) == ["03-28 01:00:00"]
    assert fired(saturday, first, last, zone=zone) == []
    come = "sun exact, doubtful firings come"
    assert fired(saturday, first, last, zone=zone, name=come) == ["03-28 01:00:00"]


def test_a_clock_that_follows_no_changes() -> None:
    standard = replace(UNIT, clock="standard")
    event = clock("22:00", ON)
    assert fired(event, "2027-07-01", "2027-07-02", unit=standard) == ["07-02 05:00:00"]
    assert fired(event, "2027-12-01", "2027-12-02", unit=standard) == ["12-02 05:00:00"]
    # Dublin calls summer its standard time; the clock stands at the smaller offset all the same.
    for day, after in (("2027-07-01", "2027-07-02"), ("2027-12-01", "2027-12-02")):
        fires = fired(event, day, after, unit=standard, zone="Europe/Dublin")
        assert fires == [f"{day[5:]} 22:00:00"]


def test_dates_of_a_clock_that_follows_no_changes_are_its_own() -> None:
    """23:30 standard time on Friday is 00:30 on Saturday in summer, and is still Friday's."""
    standard = replace(UNIT, clock="standard")
    friday = clock("23:30", ON, weekdays=frozenset({4}))
    assert fired(friday, "2027-07-01", "2027-07-08", unit=standard) == ["07-03 06:30:00"]


def test_opposite_actions_that_meet_at_the_jump() -> None:
    made = program(clock("02:10", OFF), clock("02:40", ON), clock("12:00", OFF))
    start, end = at("2027-03-13 12:30"), at("2027-03-14 13:00")
    jump = at("2027-03-14 03:00")
    wanted = target(channel(start, end, (jump, ON), (at("2027-03-14 12:00"), OFF)))
    report = audit(made, wanted)
    assert not report.exact_run.agrees
    (overlap,) = report.overlaps
    assert (overlap.first_slot, overlap.second_slot, overlap.start) == (1, 2, jump)
    lost = replace(UNIT, skipped_time="lost")
    assert set(kinds(audit(made, wanted, unit=lost).exact_run.differences)) == {"missing"}


# Dates of events.


@pytest.mark.parametrize(
    ("dates", "first", "last", "days"),
    [
        (
            EventDates((12, 30), (1, 2)),
            "2027-12-28",
            "2028-01-05",
            ["12-30", "12-31", "01-01", "01-02"],
        ),
        (EventDates((2, 27), (2, 28)), "2028-02-26", "2028-03-03", ["02-27", "02-28"]),
        (EventDates((2, 27), (2, 29)), "2028-02-26", "2028-03-03", ["02-27", "02-28", "02-29"]),
        (EventDates((2, 27), (2, 29)), "2027-02-26", "2027-03-03", ["02-27", "02-28"]),
        (EventDates((2, 29), (3, 1)), "2027-02-26", "2027-03-04", ["03-01"]),
        (
            EventDates((12, 30), (1, 2), (2027, 2028)),
            "2027-12-28",
            "2028-01-05",
            ["12-30", "12-31", "01-01", "01-02"],
        ),
        (EventDates((12, 30), (12, 31), (2026, 2026)), "2027-12-28", "2028-01-05", []),
        (EventDates((6, 5), (6, 5)), "2027-06-01", "2027-06-10", ["06-05"]),
    ],
)
def test_date_ranges(dates: EventDates, first: str, last: str, days: list[str]) -> None:
    event = clock("12:00", ON, dates=dates)
    assert [f[:5] for f in fired(event, first, last)] == days


def test_weekdays_and_dates_must_both_hold() -> None:
    event = clock("12:00", ON, weekdays=frozenset({0, 6}), dates=EventDates((6, 5), (6, 14)))
    # Sunday 6, Monday 7, Sunday 13 and Monday 14 June 2027.
    assert [f[:5] for f in fired(event, "2027-06-01", "2027-07-01")] == [
        "06-06",
        "06-07",
        "06-13",
        "06-14",
    ]


# The sun after midnight: sunset of Friday 18 June 2027 at Saturday 00:48 on the clock.

FRIDAY = date(2027, 6, 18)
LATE_SUNSET = UnitSun((("sunset", (sun_time(FRIDAY, at("2027-06-19 00:48"), 1),)),))
BEFORE = datetime.fromtimestamp(at("2027-06-18 23:48"), UTC).strftime("%m-%d %H:%M:%S")
AFTER = datetime.fromtimestamp(at("2027-06-19 00:48"), UTC).strftime("%m-%d %H:%M:%S")


@pytest.mark.parametrize(
    ("reading", "weekday", "offset", "fires"),
    [
        ("fires on", 4, 0, False),
        ("fires on", 5, 0, True),
        ("event on", 4, 0, False),
        ("event on", 5, 0, True),
        ("evening", 4, 0, True),
        ("evening", 5, 0, False),
        ("fires on", 4, -60, True),
        ("fires on", 5, -60, False),
        ("event on", 4, -60, False),
        ("event on", 5, -60, True),
        ("evening", 4, -60, True),
        ("evening", 5, -60, False),
    ],
)
def test_the_date_of_a_sun_event(reading: str, weekday: int, offset: int, fires: bool) -> None:
    event = by_sun("sunset", offset, ON, weekdays=frozenset({weekday}))
    unit = replace(UNIT, sun_date=reading)
    expected = [AFTER if offset == 0 else BEFORE] if fires else []
    assert fired(event, "2027-06-17", "2027-06-21", LATE_SUNSET, unit) == expected


def test_a_date_that_is_not_settled_makes_a_firing_doubtful() -> None:
    unit = replace(UNIT, sun_date=None)
    event = by_sun("sunset", -60, ON, weekdays=frozenset({4}))
    assert fired(event, "2027-06-17", "2027-06-21", LATE_SUNSET, unit) == []
    come = "sun exact, doubtful firings come"
    assert fired(event, "2027-06-17", "2027-06-21", LATE_SUNSET, unit, name=come) == [BEFORE]
    both = by_sun("sunset", -60, ON, weekdays=frozenset({4, 5}))
    assert fired(both, "2027-06-17", "2027-06-21", LATE_SUNSET, unit) == [BEFORE]


def test_an_error_across_midnight_counts_on_both_dates() -> None:
    """Sunset at Friday 23:59, two minutes either way; the event is Saturday's only."""
    near = at("2027-06-18 23:59")
    sun = UnitSun((("sunset", (sun_time(FRIDAY, near, 2),)),))
    made = program(by_sun("sunset", 0, ON, weekdays=frozenset({5})), clock("02:00", OFF))
    start, end = at("2027-06-18 12:00"), at("2027-06-19 12:00")
    dark = audit(made, target(channel(start, end)), sun)
    assert dark.exact_run.agrees
    assert kinds(dark.runs[2].differences) == ["extra", "extra"]
    assert kinds(dark.interval_differences) == ["extra", "extra"]
    happened = dark.interval_differences[0].happened
    assert happened == at("2027-06-19 00:00")
    lit = audit(
        made,
        target(
            channel(start, end, (near, ON, near - 120, near + 120), (at("2027-06-19 02:00"), OFF))
        ),
        sun,
    )
    assert kinds(lit.interval_differences) == ["missing"]


# Firings that may not come.


def _doubtful(day: date, text: str) -> UnitSun:
    return UnitSun((("sunset", (sun_time(day, at(text), 5, certain=False),)),))


def test_a_doubtful_firing_never_counts_as_the_switching() -> None:
    sun = _doubtful(date(2027, 6, 18), "2027-06-18 22:00")
    made = program(by_sun("sunset", 0, ON), clock("23:00", OFF))
    dusk, off = at("2027-06-18 22:00"), at("2027-06-18 23:00")
    start, end = at("2027-06-18 12:00"), at("2027-06-19 12:00")
    wanted = target(channel(start, end, (dusk, ON, dusk - 300, dusk + 300), (off, OFF)))
    report = audit(made, wanted, sun)
    assert kinds(report.exact_run.differences) == ["missing", "missing"]
    assert kinds(report.interval_differences) == ["missing"]
    names = [run.name for run in report.runs if run.agrees]
    assert "sun exact, doubtful firings come" in names
    assert "sun late, doubtful firings come" in names


def test_a_doubtful_firing_is_harmless_where_its_action_has_happened() -> None:
    sun = _doubtful(date(2027, 6, 18), "2027-06-18 22:00")
    made = program(by_sun("sunset", 0, ON), clock("21:50", ON), clock("23:00", OFF))
    on, off = at("2027-06-18 21:50"), at("2027-06-18 23:00")
    wanted = target(channel(at("2027-06-18 12:00"), at("2027-06-19 12:00"), (on, ON), (off, OFF)))
    assert audit(made, wanted, sun).agrees


def test_a_doubtful_firing_that_nobody_asked_for_is_seen() -> None:
    sun = _doubtful(date(2027, 6, 18), "2027-06-18 22:00")
    made = program(by_sun("sunset", 0, ON), clock("23:00", OFF))
    report = audit(made, target(channel(at("2027-06-18 12:00"), at("2027-06-19 12:00"))), sun)
    assert report.exact_run.agrees
    assert kinds(report.interval_differences) == ["extra", "extra"]
    assert not report.agrees


# The program that looks right: morning ON by the clock, OFF at dawn.


def test_a_morning_on_by_the_clock_burns_all_day_when_the_sun_is_early() -> None:
    """The wish is dark where dawn comes before 05:30; on the border only luck keeps it so."""
    rise = at("2027-04-20 05:31")
    sun = UnitSun((("sunrise", (sun_time(date(2027, 4, 20), rise, 2),)), ("sunset", ())))
    naive = program(clock("05:30", ON), by_sun("sunrise", 0, OFF), clock("23:00", OFF))
    on = at("2027-04-20 05:30")
    wanted = target(
        channel(
            at("2027-04-20 00:00"),
            at("2027-04-21 00:00"),
            (on, ON),
            (rise, OFF, rise - 120, rise + 120),
        )
    )
    report = audit(naive, wanted, sun)
    assert report.exact_run.agrees
    early = report.runs[1]
    assert early.of_channel(1) == ((on, ON, 1), (at("2027-04-20 23:00"), OFF, 3))
    assert kinds(early.differences) == ["too late"]
    assert early.worst_late_seconds == 17 * 3600 + 29 * 60
    (overlap,) = report.overlaps
    assert {overlap.first_slot, overlap.second_slot} == {1, 2}


# Order and overlaps.


def test_opposite_actions_at_one_instant_are_never_right() -> None:
    made = program(clock("21:00", ON), clock("23:00", OFF), clock("23:00", ON), clock("23:30", OFF))
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    for wanted in (
        [(at("2027-06-01 21:00"), ON), (at("2027-06-01 23:00"), OFF)],
        [(at("2027-06-01 21:00"), ON), (at("2027-06-01 23:30"), OFF)],
    ):
        report = audit(made, target(channel(start, end, *wanted)))
        assert not report.exact_run.agrees
        assert [(o.first_slot, o.second_slot) for o in report.overlaps] == [(2, 3)]


def test_intervals_that_touch_overlap() -> None:
    """Sunset until 21:58 at the latest, OFF at 21:58: either may come first."""
    day = date(2027, 6, 18)
    dusk, off = at("2027-06-18 21:56"), at("2027-06-18 21:58")
    made = program(by_sun("sunset", 0, ON), clock("21:58", OFF), clock("23:00", OFF))
    wanted = target(
        channel(
            at("2027-06-18 12:00"),
            at("2027-06-19 12:00"),
            (dusk, ON, dusk - 120, dusk + 120),
            (off, OFF),
        )
    )
    sun = UnitSun((("sunset", (sun_time(day, dusk, 2),)),))
    report = audit(made, wanted, sun)
    assert report.exact_run.agrees
    (overlap,) = report.overlaps
    assert (overlap.start, overlap.end) == (off, off)
    nearer = UnitSun((("sunset", (sun_time(day, dusk, 1),)),))
    assert audit(made, wanted, nearer).agrees


def test_intervals_are_rounded_outward_to_the_step() -> None:
    day = date(2027, 6, 18)
    dusk = at("2027-06-18 21:00") + 20
    sun = UnitSun((("sunset", (sun_time(day, dusk),)),))
    made = program(by_sun("sunset", 0, ON), clock("23:00", OFF))
    start, end, off = at("2027-06-18 12:00"), at("2027-06-19 12:00"), at("2027-06-18 23:00")

    def found(earliest: int, latest: int) -> list[str]:
        bounded = channel(start, end, (dusk, ON, dusk + earliest, dusk + latest), (off, OFF))
        return kinds(audit(made, target(bounded), sun).interval_differences)

    assert found(-20, 40) == []
    assert found(-19, 40) == ["too early"]
    assert found(-20, 39) == ["too late"]


def test_a_coarse_step_is_counted_on_the_units_own_clock() -> None:
    """Kathmandu is 5 h 45 min ahead of UTC; ten-minute steps are those of the local clock."""
    zone, day = "Asia/Kathmandu", date(2027, 6, 18)
    dusk = at("2027-06-18 19:03", zone)
    sun = UnitSun((("sunset", (sun_time(day, dusk),)),))
    made = program(by_sun("sunset", 0, ON), clock("23:00", OFF))
    start, end = at("2027-06-18 12:00", zone), at("2027-06-19 12:00", zone)
    unit = replace(UNIT, step_minutes=10)
    bounded = channel(
        start,
        end,
        (dusk, ON, at("2027-06-18 19:00", zone), at("2027-06-18 19:10", zone)),
        (at("2027-06-18 23:00", zone), OFF),
    )
    assert audit(made, target(bounded), sun, unit, zone).agrees


def test_one_extra_switching_however_short_is_a_disagreement() -> None:
    made = program(clock("21:00", ON), clock("23:00", OFF), clock("22:00", OFF), clock("22:01", ON))
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    wanted = channel(start, end, (at("2027-06-01 21:00"), ON), (at("2027-06-01 23:00"), OFF))
    run = audit(made, target(wanted)).exact_run
    assert [(d.kind, d.action, d.happened) for d in run.differences] == [
        ("extra", OFF, at("2027-06-01 22:00")),
        ("extra", ON, at("2027-06-01 22:01")),
    ]
    assert run.worst_late_seconds == 0


def test_one_missed_night_is_two_missing_switchings_and_no_more() -> None:
    made = program(clock("21:00", ON, weekdays=frozenset({0, 2})), clock("23:00", OFF))
    nights = [
        (at(f"2027-06-{day:02d} {text}"), action)
        for day in (7, 8, 9)
        for text, action in (("21:00", ON), ("23:00", OFF))
    ]
    start, end = at("2027-06-07 12:00"), at("2027-06-10 12:00")
    run = audit(made, target(channel(start, end, *nights))).exact_run
    assert [(d.kind, d.expected) for d in run.differences] == [
        ("missing", at("2027-06-08 21:00")),
        ("missing", at("2027-06-08 23:00")),
    ]


def test_channels_do_not_disturb_each_other() -> None:
    made = program(
        clock("21:00", ON),
        clock("23:00", OFF),
        clock("22:00", ON, channels=(2,)),
        clock("23:00", OFF, channels=(2,)),
    )
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    off = at("2027-06-01 23:00")
    first = channel(start, end, (at("2027-06-01 21:00"), ON), (off, OFF))
    second = channel(start, end, (at("2027-06-01 22:00"), ON), (off, OFF), number=2)
    assert audit(made, target(first, second)).agrees
    swapped = audit(made, target(replace(first, channel=2), replace(second, channel=1)))
    assert {d.channel for d in swapped.exact_run.differences} == {1, 2}
    assert swapped.exact_run.worst_early_seconds == 3600
    assert swapped.exact_run.worst_late_at == at("2027-06-01 21:00")


def test_a_channel_nobody_asked_for_has_to_stay_dark() -> None:
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    wanted = target(channel(start, end))
    lit = audit(
        program(clock("21:00", ON, channels=(3,)), clock("23:00", OFF, channels=(3,))), wanted
    )
    assert [(d.kind, d.channel) for d in lit.exact_run.differences] == [("extra", 3)] * 2
    assert audit(program(clock("23:00", OFF, channels=(3,))), wanted).agrees


# The start and the end of the period.


def test_switchings_after_the_end_do_not_count() -> None:
    made = program(clock("21:00", ON), clock("23:00", OFF))
    start, end = at("2027-06-01 12:00"), at("2027-06-01 23:00")
    wanted = channel(start, end, (at("2027-06-01 21:00"), ON), (end, OFF))
    assert audit(made, target(wanted)).agrees
    late = replace(wanted, end=at("2027-06-02 21:00"))
    assert kinds(audit(made, target(late)).exact_run.differences) == ["extra"]


def test_a_sun_error_across_the_start_of_the_period() -> None:
    """Dusk half a minute after or before the first midnight, two minutes either way."""
    midnight, day = at("2027-06-18 00:00"), date(2027, 6, 17)
    off, end = at("2027-06-18 02:00"), at("2027-06-18 12:00")
    made = program(by_sun("sunset", 0, ON), clock("02:00", OFF))
    dusk = midnight + 30
    after = channel(midnight, end, (dusk, ON, midnight - 120, midnight + 180), (off, OFF))
    sun = UnitSun((("sunset", (sun_time(day, dusk, 2),)),))
    assert audit(made, target(after), sun).agrees
    before = channel(midnight, end, (off, OFF), lit=True)
    sun = UnitSun((("sunset", (sun_time(day, midnight - 30, 2),)),))
    assert audit(made, target(before), sun).agrees


def test_from_the_opposite_state_the_first_firing_puts_it_right() -> None:
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    on, off = at("2027-06-01 21:00"), at("2027-06-01 23:00")
    wanted = target(channel(start, end, (on, ON), (off, OFF)))
    report = audit(program(clock("21:00", ON), clock("23:00", OFF)), wanted)
    assert report.agrees
    opposite = next(r for r in report.runs if r.name == "sun exact, opposite start")
    assert opposite.of_channel(1) == ((off, OFF, 2),)
    repeat = audit(program(clock("21:00", ON), clock("23:00", OFF), clock("15:00", OFF)), wanted)
    assert repeat.agrees
    opposite = next(r for r in repeat.runs if r.name == "sun exact, opposite start")
    assert opposite.of_channel(1)[0] == (at("2027-06-01 15:00"), OFF, 3)


def test_from_the_opposite_state_a_wrong_first_firing_is_seen() -> None:
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    on, off = at("2027-06-01 21:00"), at("2027-06-01 23:00")
    wanted = target(channel(start, end, (on, ON), (off, OFF)))
    report = audit(program(clock("20:00", ON), clock("23:00", OFF)), wanted)
    opposite = next(r for r in report.runs if r.name == "sun exact, opposite start")
    assert kinds(opposite.differences) == ["wrong at the start"]
    assert opposite.differences[0].happened == at("2027-06-01 20:00")


def test_an_empty_program_is_right_only_where_nothing_is_to_happen() -> None:
    start, end = at("2027-06-01 12:00"), at("2027-06-02 12:00")
    assert audit(program(), target(channel(start, end))).agrees
    wanted = channel(start, end, (at("2027-06-01 21:00"), ON), (at("2027-06-01 23:00"), OFF))
    report = audit(program(), target(wanted))
    assert kinds(report.exact_run.differences) == ["missing", "missing"]
    assert kinds(report.interval_differences) == ["missing", "missing"]


def test_a_sun_word_the_unit_does_not_know() -> None:
    with pytest.raises(KeyError):
        audit(program(by_sun("civil dusk", 0, ON)), target(channel(0, 86400)))


# Random programs with sun events.

SPRING = date(2027, 3, 14)


def _random_sun_events(dice: random.Random) -> Program:
    """Some nights around the spring change of Denver, mostly sensible."""
    morning, evening = dice.randrange(-40, 40), dice.randrange(-40, 40)
    events = [
        by_sun("sunset", evening, ON),
        clock(f"{dice.choice((20, 22, 23))}:{dice.choice((0, 15, 30))}", OFF),
        by_sun("sunrise", morning, OFF),
        clock(f"0{dice.choice((2, 4, 5, 6))}:{dice.choice((0, 30, 40))}", ON),
        clock("12:00", OFF),
    ]
    events += [
        by_sun(
            dice.choice(("sunrise", "sunset")),
            dice.choice((morning, evening, 60)),
            dice.choice((ON, OFF)),
            weekdays=frozenset(dice.sample(range(7), dice.choice((1, 5, 7)))),
            dates=dice.choice((None, EventDates((3, 10), (3, 15)))),
        )
        for _ in range(dice.randrange(0, 3))
    ]
    dice.shuffle(events)
    return program(*events[: dice.randrange(3, len(events) + 1)])


def _own_target(made: Program, sun: UnitSun, unit: Controller, slack: int) -> Target:
    """What a program does when the sun is exact; sun slots may be off by `slack` seconds."""
    start, end = at("2027-03-10 12:00"), at("2027-03-18 12:00")
    run = audit(made, target(channel(start, end)), sun, unit).exact_run
    wanted: list[tuple[int, Action, int, int]] = []
    for instant, action, slot in run.of_channel(1):
        loose = slack if isinstance(made.events[slot - 1].start, SunOffset) else 0
        wanted.append((instant, action, instant - loose, instant + loose))
    return target(channel(start, end, *wanted))


def _shaken(sun: UnitSun, dice: random.Random) -> UnitSun:
    """The same sun as it might really come: anywhere in its error, doubtful events or not."""
    return UnitSun(
        tuple(
            (
                word,
                tuple(
                    sun_time(t.day, dice.randrange(t.earliest, t.latest + 1))
                    for t in times
                    if t.certain or dice.random() < 0.5
                ),
            )
            for word, times in sun.times
        )
    )


@pytest.mark.parametrize("reading", ["fires on", "event on", "evening", None])
def test_a_program_that_passes_is_right_under_every_sun(reading: str | None) -> None:
    """Whatever the sun does within its error, a passed program keeps to its bounds."""
    dice = random.Random(f"every sun, {reading}")
    unit = replace(UNIT, sun_date=reading)
    near = [
        (word, [t for t in times if abs((t.day - SPRING).days) < 8])
        for word, times in smooth_sun().times
    ]
    passed = 0
    for _ in range(40):
        doubtful = dice.randrange(8)
        sun = UnitSun(
            tuple(
                (word, tuple(replace(t, certain=i != doubtful) for i, t in enumerate(times)))
                for word, times in near
            )
        )
        made = _random_sun_events(dice)
        wanted = _own_target(made, sun, unit, 120)
        if not audit(made, wanted, sun, unit).agrees:
            continue
        passed += 1
        for _ in range(8):
            shaken = audit(made, wanted, _shaken(sun, dice), unit)
            assert shaken.exact_run.agrees
    assert passed >= 8


def test_runs_with_sun_events_are_those_of_the_slow_unit() -> None:
    dice = random.Random("slow")
    for _ in range(40):
        made = _random_sun_events(dice)
        wanted = _own_target(made, smooth_sun(), UNIT, 120)
        only = wanted.channels[0]
        report = audit(made, wanted, smooth_sun())
        for run, which in zip(report.runs, ("nominal", "earliest", "latest"), strict=False):
            place = Place(UNIT, DENVER, smooth_sun(), only.start, only.end)
            slow = slow_unit(made, place, False, which)
            if not order_unknown(slow):
                assert without_slots(run.of_channel(1)) == slow


# Findings.


def test_a_right_program_has_no_findings() -> None:
    report = audit(GOOD, good_target(), smooth_sun())
    assert audit_findings(report, good_target(), HERE) == ()


def test_findings_gather_what_repeats() -> None:
    made = program(clock("21:00", ON, weekdays=frozenset({0, 2})), clock("23:10", OFF))
    nights = [
        (at(f"2027-06-{day:02d} {text}"), action)
        for day in (7, 8, 9)
        for text, action in (("21:00", ON), ("23:00", OFF))
    ]
    wanted = target(channel(at("2027-06-07 12:00"), at("2027-06-10 12:00"), *nights))
    found = audit_findings(audit(made, wanted), wanted, HERE)
    of_runs = [f for f in found if f.code == "E641"]
    assert [f.title for f in of_runs] == [
        'In the test run the lamps of "circuit 1" go off too late, 2 times.',
        'In the test run the lamps of "circuit 1" do not come on when they should, once.',
        'In the test run the lamps of "circuit 1" do not go off when they should, once.',
    ]
    assert of_runs[0].why.startswith(
        "First Mon 7 Jun 2027, 23:00, last Wed 9 Jun 2027, 23:00. "
        "Worst: Wed 9 Jun 2027, 23:10 instead of Wed 9 Jun 2027, 23:00.\n"
        "Seen with: every run."
    )
    assert {f.code for f in found} == {"E641"}
    assert max(len(row) for row in render(found).splitlines()) <= 80


def test_a_finding_of_the_intervals_alone_is_told_as_such() -> None:
    """To the second the sun is in time; rounded to the minute it may be early."""
    dusk, off = at("2027-06-18 21:00") + 20, at("2027-06-18 23:00")
    sun = UnitSun((("sunset", (sun_time(date(2027, 6, 18), dusk),)),))
    made = program(by_sun("sunset", 0, ON), clock("23:00", OFF))
    wanted = target(
        channel(
            at("2027-06-18 12:00"),
            at("2027-06-19 12:00"),
            (dusk, ON, dusk - 10, dusk + 60),
            (off, OFF),
        )
    )
    (finding,) = audit_findings(audit(made, wanted, sun), wanted, HERE)
    assert finding.code == "E643"
    assert finding.title.endswith('the lamps of "circuit 1" come on too early, once.')


def test_findings_name_slots_that_may_act_in_either_order() -> None:
    made = program(
        clock("21:00", ON),
        clock("23:00", OFF),
        clock("23:00", ON, channels=(1,)),
        clock("23:30", OFF),
    )
    wanted = target(
        channel(
            at("2027-06-01 12:00"),
            at("2027-06-02 12:00"),
            (at("2027-06-01 21:00"), ON),
            (at("2027-06-01 23:30"), OFF),
        )
    )
    found = audit_findings(audit(made, wanted), wanted, HERE)
    titles = [f.title for f in found if f.code == "E642"]
    assert titles == ['Slots 2 and 3 of "circuit 1" could act in either order, once.']
