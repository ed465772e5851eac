"""Special days in the test run, one rule after the other.

They hold for whole dates of the controller's clock and their plan replaces the normal events. At
either end the unit keeps the state, switches off, or takes the state the lamps would have if the
events now in force had always been.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from schedcomp.audit.findings import audit_findings
from schedcomp.controller import Controller
from schedcomp.diag import render
from schedcomp.model import Action
from schedcomp.program import PLAIN_DARK, EventDates, Program
from schedcomp.records import replace
from schedcomp.unit_sun import UnitSun
from tests.audit_worlds import (
    DENVER,
    HERE,
    NO_SUN,
    OFF,
    ON,
    STATES,
    at,
    audit,
    by_sun,
    channel,
    clock,
    dates,
    days,
    keeping,
    kinds,
    program,
    special,
    sun_time,
    target,
)


def run(
    made: Program,
    first: str,
    last: str,
    controller: Controller,
    sun: UnitSun = NO_SUN,
    zone: str = DENVER,
    lit: bool = False,
    number: int = 1,
) -> list[str]:
    """What the lamps do from one local noon to another: `12-24 18:00 on`."""
    wanted = target(channel(at(f"{first} 12:00", zone), at(f"{last} 12:00", zone), lit=lit))
    report = audit(made, wanted, sun, controller, zone)
    return [_told(t, action, zone) for t, action, _ in report.exact_run.of_channel(number)]


def _told(instant: int, action: Action, zone: str) -> str:
    shown = datetime.fromtimestamp(instant, UTC).astimezone(ZoneInfo(zone))
    return f"{shown:%m-%d %H:%M} {action.value}"


NIGHTLY = (clock("18:00", ON), clock("23:00", OFF))
LATE = (clock("20:00", ON, plan="late"), clock("22:00", OFF, plan="late"))


# One thing after the other.


def test_on_special_days_the_plan_fires_and_the_normal_events_rest() -> None:
    made = special(program(*NIGHTLY, *LATE), *days("late", dates("12-24", "12-25")))
    assert run(made, "2027-12-23", "2027-12-27", keeping()) == [
        "12-23 18:00 on",
        "12-23 23:00 off",
        "12-24 20:00 on",
        "12-24 22:00 off",
        "12-25 20:00 on",
        "12-25 22:00 off",
        "12-26 18:00 on",
        "12-26 23:00 off",
    ]


def test_a_plan_fires_whatever_weekdays_and_dates_its_events_have() -> None:
    limits = {"weekdays": frozenset({0}), "dates": dates("06-01")}
    odd = [replace(e, **limits) for e in LATE]
    plain, limited = (
        special(program(*NIGHTLY, *late), *days("late", dates("12-24", "12-26")))
        for late in (LATE, odd)
    )
    seen = run(limited, "2027-12-23", "2027-12-28", keeping())
    assert len(seen) == 10
    assert seen == run(plain, "2027-12-23", "2027-12-28", keeping())


def test_a_plan_without_events_does_nothing() -> None:
    made = special(program(*NIGHTLY), *days("rest", dates("12-24")))
    expected = ["12-23 18:00 on", "12-23 23:00 off", "12-25 18:00 on", "12-25 23:00 off"]
    assert run(made, "2027-12-23", "2027-12-26", keeping()) == expected
    recalculates = keeping("recalculates")
    assert run(made, "2027-12-23", "2027-12-26", recalculates) == expected


def test_a_plan_that_no_special_days_have_never_fires() -> None:
    made = special(program(*NIGHTLY, *LATE), *days("rest", dates("12-24")))
    assert run(made, "2027-12-24", "2027-12-25", keeping()) == []
    assert len(run(replace(made, special_days=()), "2027-12-24", "2027-12-25", keeping())) == 2


OVERNIGHT = (clock("18:00", ON), clock("02:00", OFF))


def test_plain_dark_switches_off_at_the_first_midnight_only() -> None:
    made = special(program(*OVERNIGHT), *days(PLAIN_DARK, dates("12-24", "12-25")))
    assert run(made, "2027-12-23", "2027-12-27", keeping()) == [
        "12-23 18:00 on",
        "12-24 00:00 off",
        "12-26 18:00 on",
        "12-27 02:00 off",
    ]


def test_events_that_carry_the_name_of_plain_dark_do_not_fire() -> None:
    stray = clock("20:00", ON, plan=PLAIN_DARK)
    made = special(program(*OVERNIGHT, stray), *days(PLAIN_DARK, dates("12-24")))
    assert run(made, "2027-12-23", "2027-12-25", keeping())[1:2] == ["12-24 00:00 off"]
    for start in STATES:
        seen = run(made, "2027-12-23", "2027-12-25", keeping(start))
        assert seen == ["12-23 18:00 on", "12-24 00:00 off"]


def test_lamps_keep_their_state_where_nothing_else_is_said() -> None:
    made = special(program(*OVERNIGHT), *days("rest", dates("12-24", "12-25")))
    assert run(made, "2027-12-23", "2027-12-27", keeping())[:2] == [
        "12-23 18:00 on",
        "12-26 02:00 off",
    ]


def test_off_at_the_start_and_off_at_the_end() -> None:
    lit = (clock("20:00", ON, plan="lit"),)
    made = special(program(*OVERNIGHT, *lit), *days("lit", dates("12-24", "12-25")))
    before, after = "12-23 18:00 on", ["12-26 18:00 on", "12-27 02:00 off"]
    at_start, at_end = "12-24 00:00 off", "12-26 00:00 off"
    seen = {
        rule: run(made, "2027-12-23", "2027-12-27", keeping(*rule))
        for rule in (("off", "keeps state"), ("keeps state", "off"), ("off", "off"))
    }
    assert seen["off", "keeps state"] == [
        before,
        at_start,
        "12-24 20:00 on",
        "12-26 02:00 off",
        *after,
    ]
    assert seen["keeps state", "off"] == [before, at_end, *after]
    assert seen["off", "off"] == [before, at_start, "12-24 20:00 on", at_end, *after]


def test_recalculating_at_the_start_takes_the_state_of_the_plan() -> None:
    """Normal: lit over midnight. Plan: lit from 20:00 to 22:00, so dark at 00:00."""
    made = special(program(*OVERNIGHT, *LATE), *days("late", dates("12-24")))
    seen = run(made, "2027-12-23", "2027-12-25", keeping("recalculates"))
    assert seen[:3] == ["12-23 18:00 on", "12-24 00:00 off", "12-24 20:00 on"]
    over = (clock("20:00", ON, plan="over"), clock("06:00", OFF, plan="over"))
    made = special(program(*NIGHTLY, *over), *days("over", dates("12-24")))
    seen = run(made, "2027-12-23", "2027-12-25", keeping("recalculates"))
    assert seen[:4] == ["12-23 18:00 on", "12-23 23:00 off", "12-24 00:00 on", "12-24 06:00 off"]


def test_recalculating_at_the_end_takes_the_state_of_the_normal_events() -> None:
    """As if there had been no special days: lit since 18:00."""
    made = special(program(*OVERNIGHT, *LATE), *days("late", dates("12-24")))
    seen = run(made, "2027-12-24", "2027-12-25", keeping("keeps state", "recalculates"))
    assert seen == ["12-24 20:00 on", "12-24 22:00 off", "12-25 00:00 on", "12-25 02:00 off"]


def test_recalculating_looks_at_what_came_before_midnight() -> None:
    """The normal OFF at 00:00 itself does not count yet: ON by itself meets it."""
    until_midnight = (clock("18:00", ON), clock("00:00", OFF))
    made = special(program(*until_midnight), *days("rest", dates("12-24")))
    recalculates = keeping("keeps state", "recalculates")
    seen = run(made, "2027-12-24", "2027-12-25", recalculates)
    assert seen == ["12-25 00:00 on", "12-25 00:00 off"]


def test_recalculating_knows_what_the_normal_events_did_long_ago() -> None:
    """ON on the first of March, OFF on the first of October: lit at the end of May's days."""
    seasonal = (
        clock("12:00", ON, dates=dates("03-01")),
        clock("12:00", OFF, dates=dates("10-01")),
    )
    made = special(program(*seasonal), *days(PLAIN_DARK, dates("05-31")))
    seen = run(made, "2027-05-29", "2027-06-02", keeping("keeps state", "recalculates"), lit=True)
    assert seen == ["05-31 00:00 off", "06-01 00:00 on"]
    made = special(program(*seasonal), *days(PLAIN_DARK, dates("02-10")))
    assert run(made, "2027-02-08", "2027-02-12", keeping("keeps state", "recalculates")) == []


def test_recalculating_without_any_events_keeps_the_state() -> None:
    made = special(program(clock("20:00", ON, plan="lit")), *days("lit", dates("12-24")))
    seen = run(made, "2027-12-23", "2027-12-26", keeping("keeps state", "recalculates"))
    assert seen == ["12-24 20:00 on"]


def test_where_one_begins_as_another_ends_only_the_beginning_acts() -> None:
    lit = (clock("20:00", ON, plan="lit"), clock("21:00", ON, plan="other"))
    made = special(
        program(*NIGHTLY, *lit),
        *days("lit", dates("12-24")),
        *days("other", dates("12-25")),
    )
    assert run(made, "2027-12-24", "2027-12-26", keeping("keeps state", "off")) == [
        "12-24 20:00 on",
        "12-26 00:00 off",
    ]
    assert run(made, "2027-12-24", "2027-12-26", keeping("off", "keeps state")) == [
        "12-24 20:00 on",
        "12-25 00:00 off",
        "12-25 21:00 on",
    ]
    dark = special(
        program(*NIGHTLY, *lit), *days("lit", dates("12-24")), *days(PLAIN_DARK, dates("12-25"))
    )
    assert run(dark, "2027-12-24", "2027-12-26", keeping())[:2] == [
        "12-24 20:00 on",
        "12-25 00:00 off",
    ]


def test_the_same_plan_in_the_next_slot_begins_again() -> None:
    lit = (clock("20:00", ON, plan="lit"),)
    made = special(program(*NIGHTLY, *lit), *days("lit", dates("12-24"), dates("12-25")))
    one = special(program(*NIGHTLY, *lit), *days("lit", dates("12-24", "12-25")))
    off = keeping("off")
    assert "12-25 00:00 off" in run(made, "2027-12-24", "2027-12-26", off)
    assert "12-25 00:00 off" not in run(one, "2027-12-24", "2027-12-26", off)


@pytest.mark.parametrize(
    ("when", "rests"),
    [
        (dates("12-31", "01-01"), ["12-31", "01-01"]),
        (dates("12-31", "01-01", 2027), ["12-31", "01-01"]),
        (dates("12-31", "01-01", 2026), []),
        (dates("12-31", year=2027), ["12-31"]),
        (dates("12-31", year=2028), []),
        (dates("01-01", "12-31"), ["12-30", "12-31", "01-01", "01-02"]),
    ],
)
def test_dates_of_special_days(when: EventDates, rests: list[str]) -> None:
    made = special(program(*NIGHTLY), *days(PLAIN_DARK, when))
    seen = {s[:5] for s in run(made, "2027-12-30", "2028-01-03", keeping())}
    assert seen == {"12-30", "12-31", "01-01", "01-02"} - set(rests)


def test_only_the_channels_concerned() -> None:
    both = [replace(e, channels=(1, 2)) for e in (*NIGHTLY, *LATE)]
    made = special(program(*both), *days("late", dates("12-24"), channels=(2,)))
    wanted = target(
        channel(at("2027-12-24 12:00"), at("2027-12-25 12:00")),
        channel(at("2027-12-24 12:00"), at("2027-12-25 12:00"), number=2),
    )
    seen = audit(made, wanted, unit=keeping()).exact_run
    assert [_told(t, a, DENVER) for t, a, _ in seen.of_channel(1)] == [
        "12-24 18:00 on",
        "12-24 23:00 off",
    ]
    assert [_told(t, a, DENVER) for t, a, _ in seen.of_channel(2)] == [
        "12-24 20:00 on",
        "12-24 22:00 off",
    ]


def test_what_the_unit_does_by_itself_has_no_slot() -> None:
    made = special(program(*OVERNIGHT), *days(PLAIN_DARK, dates("12-24")))
    wanted = target(channel(at("2027-12-23 12:00"), at("2027-12-24 12:00")))
    seen = audit(made, wanted, unit=keeping()).exact_run.of_channel(1)
    assert [slot for _, _, slot in seen] == [1, 0]


# The first 00:00, where the clock changes around it.


def test_special_days_begin_at_the_jump_where_midnight_is_skipped() -> None:
    """Cairo, Friday 30 April 2027: 00:00 to 00:59 do not exist; the jump is at 01:00."""
    made = special(program(*OVERNIGHT), *days(PLAIN_DARK, dates("04-30")))
    assert run(made, "2027-04-29", "2027-04-30", keeping(), zone="Africa/Cairo") == [
        "04-29 18:00 on",
        "04-30 01:00 off",
    ]


def test_special_days_begin_at_the_first_pass_of_midnight() -> None:
    """Havana, Sunday 7 November 2027: 00:00 to 00:59 twice."""
    made = special(program(*OVERNIGHT), *days(PLAIN_DARK, dates("11-07")))
    wanted = target(
        channel(at("2027-11-06 12:00", "America/Havana"), at("2027-11-07 12:00", "America/Havana"))
    )
    seen = audit(made, wanted, unit=keeping(), zone="America/Havana").exact_run.of_channel(1)
    assert seen[1][0] == at("2027-11-07 00:00", "America/Havana", fold=0)
    assert seen[1][0] == at("2027-11-07 00:00", "America/Havana", fold=1) - 3600


def test_special_days_are_those_of_a_clock_that_follows_no_changes() -> None:
    """00:00 standard time on the fourth of July is 01:00 in the summer of Denver."""
    made = special(program(*OVERNIGHT), *days(PLAIN_DARK, dates("07-04")))
    seen = run(made, "2027-07-03", "2027-07-05", keeping(clock="standard"))
    assert seen == ["07-03 19:00 on", "07-04 01:00 off"]


# The sun.


SUMMER = date(2027, 6, 18)


def _sunset(text: str, error_minutes: int = 2) -> UnitSun:
    return UnitSun((("sunrise", ()), ("sunset", (sun_time(SUMMER, at(text), error_minutes),))))


@pytest.mark.parametrize(
    ("reading", "offset", "rests", "fires"),
    [
        ("fires on", 0, "06-18", True),
        ("fires on", 0, "06-19", False),
        ("event on", 0, "06-18", True),
        ("event on", 0, "06-19", False),
        ("evening", 0, "06-18", False),
        ("evening", 0, "06-19", True),
        ("fires on", -60, "06-18", False),
        ("event on", -60, "06-18", True),
        ("evening", -60, "06-18", False),
    ],
)
def test_which_date_decides_whether_a_sun_event_rests(
    reading: str, offset: int, rests: str, fires: bool
) -> None:
    """Sunset of Friday the 18th at 00:48 on Saturday."""
    made = special(program(by_sun("sunset", offset, ON)), *days(PLAIN_DARK, dates(rests)))
    seen = run(
        made, "2027-06-18", "2027-06-19", keeping(sun_date=reading), _sunset("2027-06-19 00:48")
    )
    assert bool([s for s in seen if s.endswith("on")]) == fires


def test_readings_that_disagree_make_a_firing_doubtful() -> None:
    made = special(
        program(by_sun("sunset", 0, ON), clock("02:00", OFF)), *days("rest", dates("06-18"))
    )
    sun = _sunset("2027-06-19 00:48")
    wanted = target(channel(at("2027-06-18 12:00"), at("2027-06-19 12:00")))
    report = audit(made, wanted, sun, keeping(sun_date=None))
    assert report.exact_run.agrees
    assert kinds(report.interval_differences) == ["extra", "extra"]
    assert "sun exact, doubtful firings come" in [r.name for r in report.runs]


def test_an_error_across_the_first_midnight_makes_a_firing_doubtful() -> None:
    dusk = at("2027-06-18 23:59")
    made = special(
        program(by_sun("sunset", 0, ON), clock("23:58", ON, plan="x"), clock("02:00", OFF)),
        *days("rest", dates("06-19")),
    )
    bounded = channel(
        at("2027-06-18 12:00"),
        at("2027-06-20 12:00"),
        (dusk, ON, dusk - 120, dusk + 120),
        (at("2027-06-20 02:00"), OFF),
    )
    report = audit(made, target(bounded), _sunset("2027-06-18 23:59"), keeping())
    assert report.exact_run.agrees
    assert "missing" in kinds(report.interval_differences)
    surely = audit(made, target(bounded), _sunset("2027-06-18 23:59", 0), keeping())
    assert surely.agrees


def _two_evenings(error_minutes: int, second: str = "23:30") -> UnitSun:
    """Sunset at 21:00 on the 17th and the 18th of June, 23:30 on the 19th."""
    times = (("06-17", "21:00"), ("06-18", "21:00"), ("06-19", second))
    return UnitSun(
        (
            (
                "sunset",
                tuple(
                    sun_time(date.fromisoformat(f"2027-{d}"), at(f"2027-{d} {t}"), error_minutes)
                    for d, t in times
                ),
            ),
        )
    )


def test_recalculating_where_luck_decides_is_not_sure() -> None:
    """The plan: ON at sunset, OFF at 21:01; which came last before 00:00 is luck."""
    made = special(
        program(
            clock("12:30", OFF), by_sun("sunset", 0, ON, plan="x"), clock("21:01", OFF, plan="x")
        ),
        *days("x", dates("06-19")),
    )
    wanted = target(channel(at("2027-06-18 12:00"), at("2027-06-19 12:00")))
    recalculates = keeping("recalculates")
    report = audit(made, wanted, _two_evenings(2), recalculates)
    assert [(o.first_slot, o.second_slot, o.start) for o in report.overlaps] == [
        (0, 0, at("2027-06-19 00:00"))
    ]
    (finding,) = [f for f in audit_findings(report, wanted, HERE) if f.code == "E646"]
    assert "not sure, once" in finding.title
    assert audit(made, wanted, _two_evenings(0), recalculates).agrees


def test_recalculating_at_a_sun_event_over_midnight_is_not_sure() -> None:
    """Sunset at 23:59 or 00:01: the plan's ON may or may not be before the first 00:00."""
    made = special(
        program(
            clock("12:30", OFF), by_sun("sunset", 0, ON, plan="x"), clock("20:00", OFF, plan="x")
        ),
        *days("x", dates("06-20")),
    )
    wanted = target(channel(at("2027-06-19 12:00"), at("2027-06-20 12:00")))
    near = keeping("recalculates", sun_date="evening")
    report = audit(made, wanted, _two_evenings(2, "23:59"), near)
    assert (0, 0) in [(o.first_slot, o.second_slot) for o in report.overlaps]
    clear = audit(made, wanted, _two_evenings(2, "23:30"), near)
    assert not clear.overlaps
    assert _told(*clear.exact_run.of_channel(1)[0][:2], DENVER) == "06-20 00:00 on"


def test_recalculating_from_before_the_known_sun_is_not_sure() -> None:
    """The first known sunset is after the first 00:00, and nothing else tells the state."""
    made = special(
        program(by_sun("sunset", 0, ON), by_sun("sunset", 60, OFF)), *days("rest", dates("06-16"))
    )
    wanted = target(channel(at("2027-06-15 12:00"), at("2027-06-17 12:00")))
    report = audit(made, wanted, _two_evenings(0), keeping("keeps state", "recalculates"))
    assert [(o.first_slot, o.second_slot) for o in report.overlaps] == [(0, 0)]


def test_a_slot_that_meets_the_end_of_special_days() -> None:
    made = special(program(clock("00:00", ON), clock("01:00", OFF)), *days("rest", dates("06-19")))
    wanted = target(channel(at("2027-06-18 12:00"), at("2027-06-20 12:00")))
    report = audit(made, wanted, unit=keeping("keeps state", "off"))
    assert [(o.first_slot, o.second_slot) for o in report.overlaps] == [(0, 1)]
    found = audit_findings(report, wanted, HERE)
    (finding,) = [f for f in found if f.code == "E645"]
    assert finding.title.startswith('Slot 1 of "circuit 1" could act just when special days')
    assert max(len(row) for row in render(found).splitlines()) <= 80
