"""A winter with special days, and every way to corrupt them: the test run has to notice."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from functools import cache, lru_cache

import pytest

from schedcomp.audit_report import AuditReport
from schedcomp.model import Action
from schedcomp.program import PLAIN_DARK, Event, EventDates, Program, SpecialDays
from schedcomp.records import replace
from schedcomp.target import Target
from tests.audit_worlds import (
    DENVER,
    MUTATIONS,
    OFF,
    ON,
    RULES,
    at,
    audit,
    by_sun,
    clock,
    dates,
    days,
    keeping,
    loose_target,
    program,
    smooth_sun,
    special,
    target,
    without_slots,
)
from tests.unit_by_minute import Place, slow_unit

WHICH = ("nominal", "earliest", "latest")


# A winter with special days, and every way to corrupt them.


NORMAL = (
    by_sun("sunset", 15, ON, channels=(1, 2)),
    clock("23:00", OFF),
    clock("22:00", OFF, channels=(2,)),
    clock("05:00", ON, dates=EventDates((11, 10), (12, 28))),
    by_sun("sunrise", -10, OFF),
    clock("23:45", ON, weekdays=frozenset({4})),
    clock("00:30", OFF, weekdays=frozenset({5})),
)
PLANS = (
    by_sun("sunset", 30, ON, plan="feast", channels=(1, 2)),
    clock("01:30", OFF, plan="feast"),
    clock("21:00", OFF, plan="feast", channels=(2,)),
    clock("19:00", ON, plan="short"),
    clock("19:30", OFF, plan="short"),
    clock("01:00", OFF, plan="short"),
)
KEPT = (
    *days("feast", dates("12-24", "12-26"), channels=(1, 2)),
    *days("short", dates("12-27", year=2027)),
    *days("feast", dates("12-31", "01-01")),
    *days(PLAIN_DARK, dates("11-26", "11-27")),
    *days("rest", dates("11-11"), channels=(2,)),
)
SPECIAL = special(program(*NORMAL, *PLANS), *KEPT)
WINTER_RULES = (("keeps state", "off"), ("recalculates", "recalculates"), ("off", "keeps state"))


@lru_cache
def _winter_place(rule: tuple[str, str]) -> Place:
    start, end = at("2027-11-01 00:00"), at("2028-01-04 00:00")
    return Place(keeping(*rule), DENVER, smooth_sun(), start, end, back_days=4)


@lru_cache
def _winter_target(rule: tuple[str, str]) -> Target:
    return target(*(loose_target(SPECIAL, _winter_place(rule), number, 120) for number in (1, 2)))


def _audit_winter(made: Program, rule: tuple[str, str]) -> AuditReport:
    return audit(made, _winter_target(rule), smooth_sun(), _winter_place(rule).unit)


@cache
def _slow_channel(
    made: Program, rule: tuple[str, str], number: int
) -> tuple[tuple[tuple[int, Action], ...], ...]:
    place = _winter_place(rule)
    return tuple(tuple(slow_unit(made, place, False, which, number)) for which in WHICH)


def _slow_winter(made: Program, rule: tuple[str, str]) -> list[object]:
    """What the lamps of both channels do with the sun exact, early and late."""
    seen: list[object] = []
    for number in (1, 2):
        mine = replace(
            made,
            events=tuple(e for e in made.events if number in e.channels),
            special_days=tuple(s for s in made.special_days if number in s.channels),
        )
        seen.append(_slow_channel(mine, rule, number))
    return seen


@pytest.mark.parametrize("rule", WINTER_RULES)
def test_a_right_winter_with_special_days_agrees(rule: tuple[str, str]) -> None:
    report = _audit_winter(SPECIAL, rule)
    assert report.agrees
    for number in (1, 2):
        slow = _slow_channel(SPECIAL, rule, number)
        for seen, expected in zip(report.runs, slow, strict=False):
            assert tuple(without_slots(seen.of_channel(number))) == expected


def _shifted(when: EventDates, first: int = 0, last: int = 0) -> EventDates:
    """Some days later at either end."""

    def moved(end: tuple[int, int], by: int) -> tuple[int, int]:
        day = date(2027, *end) + timedelta(days=by)
        return day.month, day.day

    return EventDates(moved(when.first, first), moved(when.last, last), when.years)


DAYS_MUTATIONS: tuple[Callable[[SpecialDays], SpecialDays], ...] = (
    lambda s: replace(s, slot=s.slot + 9),
    lambda s: replace(s, only_year=2027),
    lambda s: replace(s, channels=(1,)),
    lambda s: replace(s, channels=(2,)),
    lambda s: replace(s, channels=(1, 2)),
    lambda s: replace(s, channels=()),
    lambda s: replace(s, plan="feast"),
    lambda s: replace(s, plan="short"),
    lambda s: replace(s, plan="rest"),
    lambda s: replace(s, plan=PLAIN_DARK),
    lambda s: replace(s, plan=""),
    lambda s: replace(s, dates=_shifted(s.dates, first=1, last=1)),
    lambda s: replace(s, dates=_shifted(s.dates, first=-1, last=-1)),
    lambda s: replace(s, dates=_shifted(s.dates, first=-1)),
    lambda s: replace(s, dates=_shifted(s.dates, last=1)),
    lambda s: replace(s, dates=replace(s.dates, first=s.dates.last, last=s.dates.first)),
    lambda s: replace(s, dates=replace(s.dates, years=(2026, 2026))),
    lambda s: replace(s, dates=replace(s.dates, years=None)),
)


def _noticed(mutant: Program, rule: tuple[str, str]) -> bool:
    """Whether the test run disagrees; what it lets pass must be the same to the minute."""
    if not _audit_winter(mutant, rule).agrees:
        return True
    assert _slow_winter(mutant, rule) == _slow_winter(SPECIAL, rule), mutant
    return False


@pytest.mark.parametrize("place", range(len(KEPT)))
@pytest.mark.parametrize("rule", WINTER_RULES)
def test_corrupted_special_days_are_noticed(rule: tuple[str, str], place: int) -> None:
    kept = SPECIAL.special_days
    noticed = 0
    for mutate in DAYS_MUTATIONS:
        changed = mutate(kept[place])
        if changed != kept[place]:
            mutant = replace(SPECIAL, special_days=(*kept[:place], changed, *kept[place + 1 :]))
            noticed += _noticed(mutant, rule)
    assert noticed >= 7
    assert _noticed(replace(SPECIAL, special_days=kept[:place] + kept[place + 1 :]), rule)
    doubled = replace(SPECIAL, special_days=(*kept, replace(kept[place], slot=9)))
    assert not _noticed(doubled, rule)


EVENT_MUTATIONS: tuple[Callable[[Event], Event], ...] = (
    *MUTATIONS,
    lambda e: replace(e, channels=(1,)),
    lambda e: replace(e, channels=(1, 2)),
    lambda e: replace(e, plan=""),
    lambda e: replace(e, plan="feast"),
    lambda e: replace(e, plan="short"),
    lambda e: replace(e, plan="rest"),
    lambda e: replace(e, plan=PLAIN_DARK),
    lambda e: replace(e, purpose="other", only_year=2027, safety=True),
)


@pytest.mark.parametrize("slot", range(len(NORMAL) + len(PLANS)))
def test_corrupted_events_are_noticed_beside_special_days(slot: int) -> None:
    """Under one rule or another every slot is needed; under some an OFF may be idle."""
    events = SPECIAL.events
    changed = [c for c in (m(events[slot]) for m in EVENT_MUTATIONS) if c != events[slot]]
    mutants = [
        replace(SPECIAL, events=(*events[:slot], *kept, *events[slot + 1 :]))
        for kept in ((), *((c,) for c in changed))
    ]
    noticed = [[_noticed(mutant, rule) for mutant in mutants] for rule in WINTER_RULES]
    assert any(of_rule[0] for of_rule in noticed)
    assert max(sum(of_rule) for of_rule in noticed) >= 8


@pytest.mark.parametrize("rule", WINTER_RULES)
def test_another_behaviour_of_the_unit_is_noticed(rule: tuple[str, str]) -> None:
    """The same program in a unit that begins or ends its special days in another way."""
    for other in RULES:
        seen = audit(SPECIAL, _winter_target(rule), smooth_sun(), keeping(*other))
        same = _slow_winter(SPECIAL, other) == _slow_winter(SPECIAL, rule)
        assert seen.agrees == same
