"""Random programs with special days against the slow unit, and under every sun."""

from __future__ import annotations

import random
from collections.abc import Iterable
from datetime import date, timedelta

import pytest

from schedcomp.audit_report import Run
from schedcomp.model import Action
from schedcomp.program import (
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    SunOffset,
)
from schedcomp.records import replace
from schedcomp.target import ChannelTarget, Target
from schedcomp.unit_sun import UnitSun, UnitSunTime
from tests.audit_worlds import (
    DENVER,
    NO_SUN,
    OFF,
    ON,
    RULES,
    at,
    audit,
    by_sun,
    channel,
    clock,
    keeping,
    loose_target,
    program,
    smooth_sun,
    special,
    sun_time,
    target,
    without_slots,
)
from tests.unit_by_minute import Place, order_unknown, slow_unit

WHICH = ("nominal", "earliest", "latest")


# Random programs against the slow unit.


PLACES = (
    (DENVER, "2027-03-14"),
    (DENVER, "2027-11-07"),
    (DENVER, "2027-12-31"),
    ("Africa/Cairo", "2027-04-30"),
    ("Africa/Cairo", "2027-10-28"),
    ("America/Santiago", "2027-04-03"),
    ("America/Santiago", "2027-09-05"),
    ("America/Havana", "2027-11-07"),
    ("Atlantic/Azores", "2027-10-31"),
    ("Australia/Lord_Howe", "2027-04-04"),
    ("America/St_Johns", "2006-10-29"),
)
SETS = ("", "", "", "a", "a", "b")


def _near(dice: random.Random, middle: date) -> EventDates:
    """A short range of dates around one, every year's or of that year."""
    first = middle + timedelta(days=dice.randrange(-3, 3))
    last = first + timedelta(days=dice.choice((0, 0, 1, 2)))
    years = dice.choice((None, (first.year, last.year)))
    return EventDates((first.month, first.day), (last.month, last.day), years)


def _channels(dice: random.Random) -> tuple[int, ...]:
    return dice.choice(((1,), (1,), (2,), (1, 2)))


def _clock_event(dice: random.Random, middle: date) -> Event:
    hour = dice.choice((0, 0, 1, 2, 12, 18, 23))
    return Event(
        slot=1,
        channels=_channels(dice),
        action=dice.choice((ON, OFF)),
        start=ClockStart(hour * 60 + dice.choice((0, 1, 30, 59))),
        weekdays=frozenset(dice.sample(range(7), dice.choice((6, 7, 7)))),
        dates=dice.choice((None, None, _near(dice, middle))),
        plan=dice.choice(SETS),
    )


def _sun_event(dice: random.Random) -> Event:
    return Event(
        slot=1,
        channels=_channels(dice),
        action=dice.choice((ON, OFF)),
        start=SunOffset(dice.choice(("sunrise", "sunset")), dice.choice((-40, 0, 15, 330))),
        plan=dice.choice(SETS),
    )


def _special_days(dice: random.Random, middle: date) -> tuple[SpecialDays, ...]:
    return tuple(
        SpecialDays(
            slot=n,
            channels=_channels(dice),
            dates=_near(dice, middle),
            plan=dice.choice(("a", "a", "b", PLAIN_DARK, "none")),
        )
        for n in range(1, dice.randrange(2, 5))
    )


def _asked(place: Place, lit: bool = False) -> Target:
    return target(
        channel(place.start, place.end, lit=lit), channel(place.start, place.end, number=2, lit=lit)
    )


def _is_the_slow_run(seen: Run, made: Program, place: Place, which: str) -> int:
    """How many channels had an order that nobody knows; the others must be alike."""
    unknown = 0
    for number in (1, 2):
        slow = slow_unit(made, place, False, which, number)
        if order_unknown(slow):
            unknown += 1
        else:
            assert without_slots(seen.of_channel(number)) == slow, made
    return unknown


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize(("zone", "middle"), PLACES)
def test_random_clock_programs_run_as_the_slow_unit_does(
    zone: str, middle: str, rule: tuple[str, str]
) -> None:
    day = date.fromisoformat(middle)
    dice = random.Random(f"{zone} {middle} {rule}")
    twice = dice.choice(("once", "twice"))
    controller = keeping(
        *rule, repeated_time=twice, skipped_time=dice.choice(("at the jump", "lost"))
    )
    start, end = (at(f"{day + timedelta(days=n)} 12:00", zone) for n in (-4, 4))
    place = Place(controller, zone, NO_SUN, start, end, back_days=9)
    unknown = 0
    for _ in range(6):
        events = [_clock_event(dice, day) for _ in range(dice.randrange(3, 10))]
        # Every set acts daily, so that nine days back are enough to know its state.
        events += [clock("12:30", OFF, channels=(1, 2), plan=p) for p in ("", "a", "b")]
        made = special(program(*events), *_special_days(dice, day))
        report = audit(made, _asked(place), NO_SUN, controller, zone)
        met = _is_the_slow_run(report.exact_run, made, place, "nominal")
        assert bool(met) == bool(report.overlaps)
        unknown += met
    assert unknown < 12


@pytest.mark.parametrize("reading", ["fires on", "event on", "evening"])
@pytest.mark.parametrize("rule", RULES)
def test_random_programs_with_the_sun_run_as_the_slow_unit_does(
    rule: tuple[str, str], reading: str
) -> None:
    dice = random.Random(f"{rule} {reading}")
    controller = keeping(*rule, sun_date=reading)
    day = date(2027, 3, 14)
    start, end = at("2027-03-10 12:00"), at("2027-03-18 12:00")
    place = Place(controller, DENVER, smooth_sun(), start, end, back_days=9)
    alike = 0
    for _ in range(4):
        events = [_clock_event(dice, day) for _ in range(dice.randrange(2, 6))]
        events += [_sun_event(dice) for _ in range(dice.randrange(2, 6))]
        events += [clock("12:30", OFF, channels=(1, 2), plan=p) for p in ("", "a", "b")]
        made = special(program(*events), *_special_days(dice, day))
        report = audit(made, _asked(place), smooth_sun(), controller)
        for seen, which in zip(report.runs, WHICH, strict=False):
            alike += 2 - _is_the_slow_run(seen, made, place, which)
    assert alike >= 12


# What passes is right whatever the sun does.


def _sensible(dice: random.Random) -> Program:
    """Evenings and mornings that mostly stand apart, and two plans."""
    evening, morning = dice.randrange(-40, 40), dice.randrange(-40, 40)
    normal = [
        by_sun("sunset", evening, ON),
        clock(dice.choice(("20:00", "23:00", "01:00")), OFF),
        by_sun("sunrise", morning, OFF),
        clock(dice.choice(("04:00", "05:30")), ON),
    ]
    a = [by_sun("sunset", evening + 10, ON), clock(dice.choice(("21:00", "00:30")), OFF)]
    b = [clock(dice.choice(("17:00", "18:30")), ON), by_sun("sunset", 120, OFF)]
    events = [
        *normal,
        *(replace(e, plan="a") for e in a),
        *(replace(e, plan="b") for e in b),
    ]
    return special(program(*events), *_special_days(dice, date(2027, 3, 14)))


def _shaken(sun: UnitSun, dice: random.Random) -> UnitSun:
    """Every sun time somewhere in its error, on a whole minute."""

    def moved(time: UnitSunTime) -> UnitSunTime:
        error = (time.latest - time.nominal) // 60
        return sun_time(time.day, time.nominal + dice.randrange(-error, error + 1) * 60)

    return UnitSun(tuple((word, tuple(moved(t) for t in times)) for word, times in sun.times))


def _in_bounds(seen: Iterable[tuple[int, Action]], wanted: ChannelTarget) -> bool:
    happened = list(seen)
    return len(happened) == len(wanted.switchings) and all(
        action is w.action and w.earliest <= t <= w.latest
        for (t, action), w in zip(happened, wanted.switchings, strict=True)
    )


@pytest.mark.parametrize("rule", RULES)
def test_what_passes_is_right_under_every_sun(rule: tuple[str, str]) -> None:
    dice = random.Random(f"every sun {rule}")
    controller = keeping(*rule, sun_date=dice.choice(("fires on", "event on", "evening")))
    sun = smooth_sun(dice.choice((2, 12)))
    slack = sun.of("sunset")[0].latest - sun.of("sunset")[0].nominal
    start, end = at("2027-03-10 12:00"), at("2027-03-18 12:00")
    place = Place(controller, DENVER, sun, start, end, back_days=6)
    passed = 0
    for _ in range(30):
        made = _sensible(dice)
        wanted = [loose_target(made, place, number, slack) for number in (1, 2)]
        if not audit(made, target(*wanted), sun, controller).agrees:
            continue
        passed += 1
        for _ in range(4):
            shaken = replace(place, sun=_shaken(sun, dice))
            for only in wanted:
                assert _in_bounds(slow_unit(made, shaken, False, channel=only.channel), only)
    assert passed >= 5
