"""calendar.ics, read back by the library: exception dates, clock changes, tasks, renewal."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar

from schedcomp.calendar_entries import Expiry, calendar_entries
from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controllerfile import load_controller
from schedcomp.diag import render
from schedcomp.later import GoodUntil
from schedcomp.model import Half
from schedcomp.ordinance.verdict import NO_RULES
from schedcomp.output.calendar_file import calendar_ics
from schedcomp.phrases.tree import Clock, DatedClock, Stretch
from schedcomp.pipeline import compile as compile_site
from schedcomp.program import ClockStart
from schedcomp.records import replace
from schedcomp.site import OneOff
from schedcomp.sitefile import load_site
from schedcomp.year import Decided
from tests.made_up import PERIOD, WITH_SPECIAL_DAYS

SUNDAY = date(2027, 3, 14)
"""The day on which the clock at Denver goes forward, and a holiday of the sample."""


def with_special(*days: date, **change: Any) -> Compiled:
    """The sample, with these dates decided by lines of their own."""
    year = WITH_SPECIAL_DAYS.year
    poles = replace(year.circuits[0], special=frozenset(days))
    made = replace(WITH_SPECIAL_DAYS, year=replace(year, circuits=(poles, *year.circuits[1:])))
    return replace(made, **change)


def with_controller(**change: Any) -> Compiled:
    return replace(WITH_SPECIAL_DAYS, controller=replace(WITH_SPECIAL_DAYS.controller, **change))


def events_of(compiled: Compiled, *expiries: Expiry) -> list[Any]:
    calendar = Calendar.from_ical(calendar_ics(compiled, expiries))
    return list(calendar.walk("VEVENT"))


def of_kind(compiled: Compiled, kind: str, *expiries: Expiry) -> list[Any]:
    return [e for e in events_of(compiled, *expiries) if kind in e["categories"].cats]


def text_of(event: Any, name: str = "description") -> str:
    return str(event[name])


# As a file


def test_the_same_input_gives_the_same_bytes() -> None:
    assert calendar_ics(WITH_SPECIAL_DAYS) == calendar_ics(WITH_SPECIAL_DAYS)


def test_lines_are_short_and_end_as_the_standard_says() -> None:
    """RFC 5545, 3.1: at most 75 octets, CRLF."""
    data = calendar_ics(with_special(*PERIOD.dates()))
    assert data.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))


def test_every_entry_has_what_the_standard_asks_for() -> None:
    found = events_of(with_special(*PERIOD.dates()), Expiry(date(2027, 6, 30), "variance 24-118"))
    assert len(found) >= 4
    assert len({str(e["uid"]) for e in found}) == len(found)
    for event in found:
        assert event["dtstamp"].dt == datetime(2027, 3, 12, 7, tzinfo=UTC)
        assert type(event["dtstart"].dt) is date
        assert event["dtend"].dt > event["dtstart"].dt
        assert text_of(event, "summary")


def test_an_entry_keeps_its_name_when_the_program_changes() -> None:
    """Read in again, a calendar program replaces it instead of adding another."""
    first = {str(e["uid"]) for e in events_of(WITH_SPECIAL_DAYS)}
    program = WITH_SPECIAL_DAYS.fitted.program
    assert program is not None
    moved = replace(program.events[1], start=ClockStart(60))
    fitted = replace(WITH_SPECIAL_DAYS.fitted, program=replace(program, events=(moved,)))
    assert {str(e["uid"]) for e in events_of(replace(WITH_SPECIAL_DAYS, fitted=fitted))} == first
    elsewhere = replace(WITH_SPECIAL_DAYS.site, name="Other lot")
    others = events_of(replace(WITH_SPECIAL_DAYS, site=elsewhere))
    assert not first & {str(e["uid"]) for e in others}


# Exception dates


def test_an_exception_date_is_told_with_its_holiday() -> None:
    [event] = of_kind(with_special(SUNDAY), "exception")
    assert text_of(event, "summary") == "Lot poles: dark (Founders' Day)"
    assert (event["dtstart"].dt, event["dtend"].dt) == (SUNDAY, SUNDAY + timedelta(days=1))
    told = text_of(event)
    assert "Sun 14 Mar 2027, Lot poles: no light begins on this date" in told


def test_neighbours_that_are_alike_are_one_entry() -> None:
    first, second = date(2027, 3, 12), date(2027, 3, 13)
    [event] = of_kind(with_special(first, second), "exception")
    assert text_of(event, "summary") == "Lot poles: usual"
    assert (event["dtstart"].dt, event["dtend"].dt) == (first, SUNDAY)
    assert "Fri 12 Mar 2027, Lot poles: lit 18:15 to 23:00" in text_of(event)
    assert "Sat 13 Mar 2027, Lot poles: lit 18:16 to 00:30" in text_of(event)


def test_unlike_neighbours_and_dates_apart_are_entries_of_their_own() -> None:
    assert len(of_kind(with_special(date(2027, 3, 13), SUNDAY), "exception")) == 2
    apart = with_special(date(2027, 3, 12), date(2027, 3, 15))
    assert len(of_kind(apart, "exception")) == 2


def test_dates_outside_the_period_are_left_out() -> None:
    assert not of_kind(with_special(date(2027, 3, 16)), "exception")


def test_a_half_of_a_date_is_told() -> None:
    made = with_special(SUNDAY)
    poles = made.year.circuits[0]
    decided = tuple(
        Decided(d.day, d.half, 0 if (d.day, d.half) == (SUNDAY, Half.MORNING) else d.line)
        for d in poles.decided
    )
    changed = replace(made.year, circuits=(replace(poles, decided=decided), made.year.circuits[1]))
    [event] = of_kind(replace(made, year=changed), "exception")
    assert text_of(event, "summary").startswith("Lot poles: morning usual, evening dark")


def test_circuits_that_do_the_same_are_told_together() -> None:
    year = WITH_SPECIAL_DAYS.year
    special = tuple(replace(c, special=frozenset({date(2027, 3, 12)})) for c in year.circuits)
    made = replace(WITH_SPECIAL_DAYS, year=replace(year, circuits=special))
    [event] = of_kind(made, "exception")
    assert text_of(event, "summary") == "Lot poles and Sign: usual"


# Clock changes


def test_a_clock_change_says_what_to_look_at() -> None:
    [event] = of_kind(WITH_SPECIAL_DAYS, "clock")
    assert event["dtstart"].dt == SUNDAY
    assert text_of(event, "summary") == "Clocks go forward 1 h: look at the controllers"
    told = text_of(event)
    assert "Sun 14 Mar 2027 02:00 goes forward to 03:00." in told
    assert "change by their own rule" in told
    assert "What must be seen that day:" in told
    assert "Sun 14 Mar 2027, Sign: no light begins on this date" in told
    assert not of_kind(WITH_SPECIAL_DAYS, "task")


def test_a_clock_that_is_set_by_hand_is_a_task() -> None:
    made = with_controller(summer_time="by hand")
    [event] = of_kind(made, "task")
    assert event["dtstart"].dt == SUNDAY
    assert text_of(event, "summary") == "Set the clock of every controller forward 1 h by hand"
    assert "switch 1 h late" in text_of(event)
    assert "[ ] Panel A, dock, north wall\n[ ] Panel B" in text_of(event)
    assert len(of_kind(made, "clock")) == 1


def test_an_hour_back_by_hand() -> None:
    """Autumn: until someone sets the clock, lamps go by a clock that is an hour ahead."""
    made = with_controller(summer_time="by hand")
    autumn = date(2027, 11, 7)
    here = zone("America/Denver", autumn, autumn)
    year = replace(
        made.year,
        start=here.first_pass(autumn, 0),
        end=here.first_pass(autumn + timedelta(days=1), 0),
    )
    made = replace(made, year=year, world=replace(made.world, zone=here))
    [event] = of_kind(made, "task")
    assert event["dtstart"].dt == autumn
    assert text_of(event, "summary") == "Set the clock of every controller back 1 h by hand"
    assert "switch 1 h early" in text_of(event)


def test_dates_of_clock_changes_are_keyed_at_the_beginning() -> None:
    [event] = of_kind(with_controller(summer_time="dates"), "task")
    assert event["dtstart"].dt == PERIOD.first
    assert "Sun 14 Mar 2027 02:00 goes forward to 03:00." in text_of(event)


@pytest.mark.parametrize("summer_time", ["by hand", "dates", "none", "rule"])
def test_a_clock_that_keeps_standard_time_is_left_alone(summer_time: str) -> None:
    made = with_controller(clock="standard", summer_time=summer_time)
    assert not of_kind(made, "task")
    [event] = of_kind(made, "clock")
    assert "must not be changed" in text_of(event)


# Renewal and expiries


def test_renewal_comes_six_weeks_before_good_until() -> None:
    """design: renewal six weeks before good until."""
    [event] = of_kind(WITH_SPECIAL_DAYS, "renewal")
    assert event["dtstart"].dt == date(2028, 3, 10) - timedelta(weeks=6)
    assert "good until Fri 10 Mar 2028" in text_of(event, "summary")
    assert "Then the lamps of Lot poles come on when they should not." in text_of(event)
    assert "[ ] Panel A" in text_of(event)


def test_renewal_is_not_before_the_period() -> None:
    good = GoodUntil(last=date(2027, 3, 20), looked_through=date(2027, 3, 20), wrong=None)
    [event] = of_kind(replace(WITH_SPECIAL_DAYS, good_until=good), "renewal")
    assert event["dtstart"].dt == PERIOD.first
    assert "Then" not in text_of(event)


def test_without_a_known_end_there_is_no_renewal() -> None:
    assert not of_kind(replace(WITH_SPECIAL_DAYS, good_until=None), "renewal")


def test_an_expiry_is_told_on_its_last_day() -> None:
    [event] = of_kind(WITH_SPECIAL_DAYS, "expiry", Expiry(date(2027, 6, 30), "variance 24-118"))
    assert event["dtstart"].dt == date(2027, 6, 30)
    assert text_of(event, "summary") == "Last day: variance 24-118"


def test_clauses_that_end_and_what_was_accepted_until_a_date_are_told() -> None:
    rules = replace(
        NO_RULES,
        ends=(("clause 4.2(b) of Sample rule", date(2027, 9, 30)), ("clause 1", date(2026, 1, 1))),
        accepted=(
            ("4.3", "variance 24-118, from 2026-07-01, ends 2027-06-30"),
            ("4.4", "told by phone"),
            ("4.5", "until 2027-02-30"),
        ),
    )
    found = of_kind(replace(WITH_SPECIAL_DAYS, rules=rules), "expiry")
    assert [(e["dtstart"].dt, text_of(e, "summary")) for e in found] == [
        (
            date(2027, 6, 30),
            "Last day: 4.3: variance 24-118, from 2026-07-01, ends 2027-06-30",
        ),
        (date(2027, 9, 30), "Last day: clause 4.2(b) of Sample rule"),
    ]


RULE = """\
schedcomp_ordinance = 1
title = "Sample dark hours"
source = "permit"
authority = "County of the sample"
text_version = "2026"
read_on = "2026-11-01"
entered_by = "us"
confirmed_by = "the county"
[[requirement]]
clause = "7"
text = "dark after eleven while the permit lasts"
rule = "dark from 23:30 until 05:00"
dates = "every day"
valid = "2026-07-01 to 2027-06-30"
"""
SITE = """\
schedcomp = 1
[site]
name = "Sample lot"
latitude = 40.5853
longitude = -105.0844
timezone = "America/Denver"
controller = "sun-yearly-64"
ordinance = "rule.toml"
[day_types]
usual = ["on from dusk until 22:00"]
[[circuit]]
name = "Lot poles"
channel = 1
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"]
"""


def test_the_end_of_a_permit_is_told_after_a_build(tmp_path: Path) -> None:
    (tmp_path / "rule.toml").write_text(RULE)
    (tmp_path / "site.toml").write_text(SITE)
    site, _ = load_site(tmp_path / "site.toml")
    unit, _ = load_controller("sun-yearly-64")
    assert site is not None
    assert unit is not None
    compiled, findings = compile_site(site, PERIOD, unit)
    assert compiled is not None, render(findings)
    [event] = of_kind(compiled, "expiry")
    assert event["dtstart"].dt == date(2027, 6, 30)
    assert text_of(event, "summary") == "Last day: clause 7 of Sample dark hours"


def test_entries_come_in_order() -> None:
    found = calendar_entries(
        with_special(*PERIOD.dates()), [Expiry(date(2027, 3, 1), "lease"), Expiry(SUNDAY, "permit")]
    )
    assert [e.first for e in found] == sorted(e.first for e in found)
    assert found[0].summary == "Last day: lease"


def test_a_single_night_is_told() -> None:
    stretch = Stretch(
        DatedClock(PERIOD.first, Clock(21 * 60)),
        DatedClock(date(2027, 3, 13), Clock(30)),
    )
    one_off = OneOff(circuit="Lot poles", lit=True, stretch=stretch, because="summer sale")
    site = replace(WITH_SPECIAL_DAYS.site, one_offs=(one_off,))
    [event] = of_kind(with_special(PERIOD.first, site=site), "exception")
    told = "usual; lit 2027-03-12 21:00 until 2027-03-13 00:30, summer sale"
    assert told in text_of(event, "summary")
