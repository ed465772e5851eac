"""Missed events and power cuts: by hand, and against a slow unit that suffers each in turn."""

from __future__ import annotations

import random
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from schedcomp.audit import find_mishaps, run_program
from schedcomp.audit_report import Mishaps, MissedEvent, PowerCut
from schedcomp.controller import Controller
from schedcomp.model import HOUR, MINUTE, Action
from schedcomp.program import PLAIN_DARK, ClockStart, Event, Program, SpecialDays, SunOffset
from schedcomp.records import replace
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun
from tests.audit_worlds import (
    DENVER,
    GOOD,
    NO_SUN,
    OFF,
    ON,
    at,
    by_sun,
    channel,
    clock,
    dates,
    days,
    good_target,
    keeping,
    program,
    smooth_sun,
    special,
    sun_time,
    target,
)
from tests.unit_by_minute import Due, Place, deeds, lamps, order_unknown

LENGTHS = (MINUTE, HOUR, 10 * HOUR)
BEHAVIOURS = ("works out the state", "keeps the last state", "waits for the next event")


def unit(behaviour: str = BEHAVIOURS[0], reserve_hours: float | None = None) -> Controller:
    return keeping(after_power_loss=behaviour, reserve_hours=reserve_hours)


def mishaps(
    made: Program,
    wanted: Target,
    controller: Controller | None = None,
    sun: UnitSun = NO_SUN,
    zone: str = DENVER,
) -> Mishaps:
    return find_mishaps(made, controller or unit(), wanted, sun, zone)


def period(first: str, last: str, zone: str = DENVER, lit: bool = False) -> Target:
    """One channel from one local midnight to another; what it has to do does not matter here."""
    return target(channel(at(f"{first} 00:00", zone), at(f"{last} 00:00", zone), lit=lit))


def told(found: MissedEvent) -> str:
    """`slot 2 off: 06-01 06:50 to 06-01 21:50`."""
    shown = [
        f"{datetime.fromtimestamp(t, UTC).astimezone(ZoneInfo(DENVER)):%m-%d %H:%M}"
        for t in (found.at, found.until)
    ]
    return f"slot {found.slot} {found.action.value}: {shown[0]} to {shown[1]}"


EARLY_AND_LATE = (clock("05:00", ON), clock("06:50", OFF), clock("21:50", ON), clock("23:30", OFF))


# Missed events.


def test_a_missed_off_burns_until_the_next_event() -> None:
    found = mishaps(program(*EARLY_AND_LATE), period("2027-06-01", "2027-06-04"))
    assert [told(m) for m in found.missed] == [
        "slot 1 on: 06-01 05:00 to 06-01 06:50",
        "slot 2 off: 06-01 06:50 to 06-01 21:50",
        "slot 3 on: 06-01 21:50 to 06-01 23:30",
        "slot 4 off: 06-01 23:30 to 06-02 05:00",
    ]
    worst = found.worst_missed(OFF)
    assert worst is not None
    assert (worst.slot, worst.seconds) == (2, 15 * HOUR)
    assert found.cuts == ()


def test_a_safety_repeat_shortens_the_worst() -> None:
    made = program(*EARLY_AND_LATE, clock("12:00", OFF, safety=True))
    wanted = period("2027-06-01", "2027-06-04")
    after = mishaps(made, wanted).worst_missed(OFF)
    before = mishaps(replace(made, events=made.needed), wanted).worst_missed(OFF)
    assert after is not None
    assert before is not None
    assert (before.slot, before.seconds) == (2, 15 * HOUR)
    assert (after.slot, after.seconds) == (4, 5 * HOUR + 30 * MINUTE)


def test_a_firing_that_changes_nothing_is_left_out() -> None:
    made = program(*EARLY_AND_LATE, clock("12:00", OFF), clock("23:30", OFF))
    found = mishaps(made, period("2027-06-01", "2027-06-04"))
    assert [m.slot for m in found.missed] == [1, 2, 3]


def test_the_worst_date_of_a_slot_is_kept() -> None:
    """OFF at 06:50; the next ON is at 21:50, on Thursday the third only at 22:50."""
    made = program(
        clock("05:00", ON),
        clock("06:50", OFF),
        clock("21:50", ON, weekdays=frozenset({0, 1, 2, 4, 5, 6})),
        clock("22:50", ON),
        clock("23:30", OFF),
    )
    found = mishaps(made, period("2027-06-01", "2027-06-06"))
    assert told(found.missed[1]) == "slot 2 off: 06-03 06:50 to 06-03 22:50"


def test_a_mishap_ends_with_the_channel() -> None:
    start, end = at("2027-06-01 00:00"), at("2027-06-02 00:00") - 1
    found = mishaps(program(clock("20:00", ON)), target(channel(start, end)))
    (missed,) = found.missed
    assert (missed.at, missed.until) == (at("2027-06-01 20:00"), end)


def test_each_channel_of_an_event_has_its_own_worst() -> None:
    made = program(
        clock("20:00", ON, channels=(1, 2)),
        clock("22:00", OFF, channels=(1,)),
        clock("23:00", OFF, channels=(2,)),
    )
    start, end = at("2027-06-01 00:00"), at("2027-06-02 00:00")
    found = mishaps(made, target(channel(start, end), channel(start, end, number=2)))
    assert [(m.slot, m.channel, m.seconds // HOUR) for m in found.missed] == [
        (1, 1, 2),
        (1, 2, 3),
        (2, 1, 2),
        (3, 2, 1),
    ]


def test_a_slot_that_holds_an_on_and_an_off_has_two_worsts() -> None:
    events = program(*EARLY_AND_LATE).events
    made = Program(
        controller="test", events=tuple(replace(e, slot=(e.slot + 1) // 2) for e in events)
    )
    found = mishaps(made, period("2027-06-01", "2027-06-03"))
    assert [(m.slot, m.action) for m in found.missed] == [(1, ON), (1, OFF), (2, ON), (2, OFF)]


def test_what_the_unit_does_by_itself_is_not_missed_but_helps() -> None:
    """The OFF at 23:30 of the day before special days is put right at their first 00:00."""
    made = special(program(*EARLY_AND_LATE[2:]), *days(PLAIN_DARK, dates("06-02", "06-05")))
    found = mishaps(made, period("2027-06-01", "2027-06-06"))
    assert [told(m) for m in found.missed] == [
        "slot 1 on: 06-01 21:50 to 06-01 23:30",
        "slot 2 off: 06-01 23:30 to 06-02 00:00",
    ]


def test_a_firing_that_may_not_come_is_not_relied_on() -> None:
    doubtful = sun_time(date(2027, 6, 1), at("2027-06-01 12:00"), certain=False)
    sun = UnitSun((("sunrise", (doubtful,)),))
    made = program(*EARLY_AND_LATE, by_sun("sunrise", 0, OFF))
    found = mishaps(made, period("2027-06-01", "2027-06-02"), sun=sun)
    assert [m.slot for m in found.missed] == [1, 2, 3, 4]
    assert found.missed[1].seconds == 15 * HOUR


# Power cuts.


def test_a_unit_that_works_out_the_state_does_nothing_wrong() -> None:
    found = mishaps(program(*EARLY_AND_LATE), period("2027-06-01", "2027-06-04"), unit())
    assert found.cuts == ()


def cut(found: Mishaps, length_seconds: int, lit: bool) -> PowerCut:
    (chosen,) = (c for c in found.cuts if c.length_seconds == length_seconds and c.lit == lit)
    return chosen


def test_a_unit_that_keeps_the_last_state() -> None:
    keeps = unit("keeps the last state")
    hourly = program(
        clock("05:00", ON), clock("07:00", OFF), clock("21:00", ON), clock("23:00", OFF)
    )
    found = mishaps(hourly, period("2027-06-01", "2027-06-04"), keeps)
    burning = cut(found, MINUTE, lit=True)
    # The OFF at 07:00 falls into the minute without power: lit from 07:01 until 21:00.
    assert (burning.at, burning.seconds) == (at("2027-06-01 07:00"), 14 * HOUR - MINUTE)
    dark = cut(found, MINUTE, lit=False)
    assert (dark.at, dark.seconds) == (at("2027-06-01 05:00"), 2 * HOUR - MINUTE)
    # Ten hours from 22:00 swallow the OFF at 23:00 and both of the next morning: lit until 21:00.
    longest = cut(found, 10 * HOUR, lit=True)
    assert (longest.at, longest.seconds) == (at("2027-06-01 22:00"), 13 * HOUR)
    assert cut(found, 10 * HOUR, lit=False).seconds == 1 * HOUR


def test_a_unit_that_waits_for_the_next_event() -> None:
    waits = unit("waits for the next event")
    made = program(clock("18:00", ON), clock("07:00", OFF))
    found = mishaps(made, period("2027-06-01", "2027-06-04"), waits)
    assert not any(c.lit for c in found.cuts)
    # The ON falls into the minute without power: dark all night.
    worst = cut(found, MINUTE, lit=False)
    assert (worst.at, worst.until) == (at("2027-06-01 18:00"), at("2027-06-02 07:00"))
    assert worst.seconds == 13 * HOUR - MINUTE
    assert cut(found, 10 * HOUR, lit=False).seconds == 13 * HOUR - MINUTE * 60


def test_a_cut_longer_than_the_reserve_loses_the_clock() -> None:
    for behaviour in BEHAVIOURS:
        controller = unit(behaviour, reserve_hours=0.5)
        found = mishaps(program(*EARLY_AND_LATE), period("2027-06-01", "2027-06-04"), controller)
        lost = [c for c in found.cuts if c.clock_lost]
        assert [c.length_seconds for c in lost] == [HOUR, 10 * HOUR]
        assert all(c.until == c.at + c.length_seconds and c.seconds == 0 for c in lost)
        others = [c for c in found.cuts if not c.clock_lost]
        assert {c.length_seconds for c in others} <= {MINUTE}
    kept = mishaps(
        program(*EARLY_AND_LATE), period("2027-06-01", "2027-06-04"), unit(reserve_hours=10)
    )
    assert kept.cuts == ()


def test_cuts_begin_at_full_hours_of_the_units_own_clock() -> None:
    """Kathmandu is 5 h 45 min ahead of UTC."""
    zone = "Asia/Kathmandu"
    made = program(clock("18:00", ON), clock("23:00", OFF))
    wanted = period("2027-06-01", "2027-06-03", zone)
    found = mishaps(made, wanted, unit("keeps the last state"), zone=zone)
    assert cut(found, MINUTE, lit=False).at == at("2027-06-01 18:00", zone)
    assert cut(found, MINUTE, lit=True).at == at("2027-06-01 23:00", zone)


def test_no_channel_no_mishap() -> None:
    nothing = Target(start=0, end=86400, channels=())
    assert mishaps(program(), nothing) == Mishaps(missed=(), cuts=())
    quiet = mishaps(program(), period("2027-06-01", "2027-06-02"), unit("keeps the last state"))
    assert quiet == Mishaps(missed=(), cuts=())


# A slow unit suffers each mishap in turn.

Wrong = tuple[int, int, bool]
"""From, until, and whether the lamps are lit when they should be dark."""


def _wrong(
    right: list[Due], wrong: list[Due], begin: int, lit: tuple[bool, bool], end: int
) -> Wrong | None:
    """The one stretch after `begin` in which two runs differ; `lit` are their states then."""
    is_right, is_wrong = (
        dict(_states(due, begin, state)) for due, state in zip((right, wrong), lit, strict=True)
    )
    state = list(lit)
    since, found = None, []
    for now in sorted({begin, *is_right, *is_wrong, end}):
        if now >= end:
            break
        state[0], state[1] = is_right.get(now, state[0]), is_wrong.get(now, state[1])
        if state[0] != state[1] and since is None:
            since = (now, state[1])
        if state[0] == state[1] and since is not None:
            found.append((since[0], now, since[1]))
            since = None
    if since is not None:
        found.append((since[0], end, since[1]))
    assert len(found) <= 1
    return found[0] if found else None


def _states(due: Iterable[Due], begin: int, lit: bool) -> list[tuple[int, bool]]:
    return [(t, action is ON) for t, action, _ in lamps([d for d in due if d[0] >= begin], lit)]


def _lit_before(due: Iterable[Due], instant: int, lit: bool) -> bool:
    """The state when only what falls due before an instant has come."""
    return next(
        (a is ON for _, a, _ in reversed(lamps([d for d in due if d[0] < instant], lit))), lit
    )


def _slow_missed(due: list[Due], place: Place) -> dict[tuple[int, Action], int]:
    """The worst seconds by slot and action."""
    worst: dict[tuple[int, Action], int] = {}
    for i, (now, done) in enumerate(due):
        for deed in done:
            if deed[1] == 0:
                continue
            others = list(done)
            others.remove(deed)
            left = [*due[:i], *([(now, tuple(others))] if others else []), *due[i + 1 :]]
            lit = _lit_before(due, now, False)
            wrong = _wrong(due, left, now, (lit, lit), place.end)
            if wrong:
                assert wrong[0] == now
                key = (deed[1], deed[0])
                worst[key] = max(worst.get(key, 0), wrong[1] - wrong[0])
    return worst


def _slow_cuts(due: list[Due], place: Place, keeps: bool) -> dict[tuple[int, bool], int]:
    """The worst seconds by length and way."""
    worst: dict[tuple[int, bool], int] = {}
    for begin in _full_hours(place):
        before = _lit_before(due, begin, False)
        for length in LENGTHS:
            back = begin + length
            if back > place.end:
                continue
            lit = (_lit_before(due, back, False), before and keeps)
            wrong = _wrong(due, due, back, lit, place.end)
            if wrong:
                key = (length, wrong[2])
                worst[key] = max(worst.get(key, 0), wrong[1] - back)
    return worst


def _full_hours(place: Place) -> list[int]:
    zone = ZoneInfo(place.zone)
    return [
        t
        for t in range(place.start, place.end + 1, MINUTE)
        if datetime.fromtimestamp(t, UTC).astimezone(zone).minute == 0
    ]


def _random_program(dice: random.Random, middle: date) -> Program:
    events = []
    for _ in range(dice.randrange(4, 12)):
        start: ClockStart | SunOffset = ClockStart(
            dice.randrange(24) * 60 + dice.choice((0, 1, 30))
        )
        if dice.random() < 0.3:
            start = SunOffset(dice.choice(("sunrise", "sunset")), dice.choice((-40, 0, 15)))
        events.append(
            Event(
                slot=1,
                channels=(1,),
                action=dice.choice((ON, OFF)),
                start=start,
                weekdays=frozenset(dice.sample(range(7), dice.choice((5, 7)))),
                plan=dice.choice(("", "", "a")),
            )
        )
    last = middle + timedelta(days=dice.randrange(2))
    kept = SpecialDays(
        slot=1,
        channels=(1,),
        dates=dates(f"{middle:%m-%d}", f"{last:%m-%d}"),
        plan=dice.choice(("a", PLAIN_DARK)),
    )
    return special(program(*events), kept)


@pytest.mark.parametrize("behaviour", BEHAVIOURS[1:])
@pytest.mark.parametrize("middle", ["2027-03-14", "2027-11-07", "2027-08-01"])
def test_mishaps_are_those_of_a_slow_unit(middle: str, behaviour: str) -> None:
    dice = random.Random(f"{middle} {behaviour}")
    controller = replace(unit(behaviour), repeated_time=dice.choice(("once", "twice")))
    day = date.fromisoformat(middle)
    start, end = (at(f"{day + timedelta(days=n)} 00:00") for n in (-2, 3))
    place = Place(controller, DENVER, smooth_sun(), start, end - 1, back_days=2)
    judged = 0
    for _ in range(15):
        made = _random_program(dice, day)
        due = deeds(made, place)
        if order_unknown([(t, a) for t, a, _ in lamps(due, False)]):
            continue
        judged += 1
        found = mishaps(made, target(channel(start, end - 1)), controller, smooth_sun())
        assert {(m.slot, m.action): m.seconds for m in found.missed} == _slow_missed(due, place)
        slow = _slow_cuts(due, place, behaviour == "keeps the last state")
        assert {(c.length_seconds, c.lit): c.seconds for c in found.cuts} == slow
    assert judged >= 6


def test_mishaps_of_a_year_and_the_exact_run_tell_the_same_story() -> None:
    """Every missed event begins at a switching of the exact run, and ends by its next one."""
    found = mishaps(GOOD, good_target(), unit("keeps the last state"), smooth_sun())
    exact = run_program(GOOD, unit(), good_target(), smooth_sun(), DENVER).exact_run.of_channel(1)
    following = {t: later for (t, _, _), (later, _, _) in pairwise(exact)}
    assert {m.slot for m in found.missed} == {e.slot for e in GOOD.events}
    assert all(m.at in following and m.until <= following[m.at] for m in found.missed)
    assert {(c.length_seconds, c.lit) for c in found.cuts} == {
        (length, lit) for length in LENGTHS for lit in (True, False)
    }
