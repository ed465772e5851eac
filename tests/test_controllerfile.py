"""Controller files: every property, what is built in, and what is said about mistakes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedcomp.controller import Controller, ExceptionSlots, SunStart
from schedcomp.controllerfile import (
    builtin_controllers,
    controller_from_source,
    load_controller,
)
from schedcomp.controllerkeys import CHOICES, CONTROLLER, FORMAT_KEY
from schedcomp.diag import Diagnostic, Source, SourceRange, has_problem, in_order, render
from schedcomp.model import Half

# Every property with a value that is not the usual one.
WHOLE = """\
schedcomp_controller = 1
name          = "test clock"
event_slots   = 40
slots_are     = "per channel"
slot_holds    = "an on and an off"
channels      = 2
step_minutes  = 5
starts_at     = ["clock", "sunset", "civil dawn", "dusk at 4.5 deg"]
offsets       = "one for all"
offset_step_minutes  = 10
offset_limit_minutes = 90
weekdays      = ["mon-fri", "sat, sun", "all", "fri-mon"]
weekday_set_costs = "a slot per day"
date_ranges   = "with year"
exceptions    = { slots = 6, length = "single date", plan = "own events", start = "off", end = "recalculates", with_year = true, covers = "all channels", events_from = "plan_events", plan_events = 12, plans = 3 }
clock         = "standard"
summer_time   = "none"
skipped_time  = "lost"
repeated_time = "twice"
sun_error_minutes   = 3.5
sun_error_degrees   = 0.2
sun_date      = "event on"
no_sun_event  = "does not fire"
location_entry      = "minute"
clock_error_minutes = 1
after_power_loss    = "keeps the last state"
reserve_hours       = 10
override_ends       = "by hand"
event_covers        = "any channels"
entry_order         = ["events", "clock"]
"""  # noqa: E501

LEAST = 'schedcomp_controller = 1\nname = "least"\nevent_slots = 8\n'


def findings(text: str) -> tuple[Diagnostic, ...]:
    return controller_from_source(Source("clock.toml", text))[1]


def controller(text: str) -> Controller:
    made, found = controller_from_source(Source("clock.toml", text))
    assert made is not None, render(found)
    return made


def changed(old: str, new: str, text: str = WHOLE) -> str:
    assert old in text
    return text.replace(old, new, 1)


def test_every_property_is_read() -> None:
    assert controller(WHOLE) == Controller(
        name="test clock",
        event_slots=40,
        starts_clock=True,
        sun_starts=(
            SunStart(word="sunset", half=Half.EVENING, level_degrees=-0.8333),
            SunStart(word="civil dawn", half=Half.MORNING, level_degrees=-6.0),
            SunStart(word="dusk at 4.5 deg", half=Half.EVENING, level_degrees=-4.5),
        ),
        slots_are="per channel",
        slot_holds="an on and an off",
        channels=2,
        step_minutes=5,
        offsets="one for all",
        offset_step_minutes=10,
        offset_limit_minutes=90,
        weekday_sets=(
            frozenset({0, 1, 2, 3, 4}),
            frozenset({5, 6}),
            frozenset(range(7)),
            frozenset({4, 5, 6, 0}),
        ),
        weekday_set_costs="a slot per day",
        date_ranges="with year",
        exceptions=ExceptionSlots(
            slots=6,
            length="single date",
            plan="own events",
            start="off",
            end="recalculates",
            with_year=True,
            covers="all channels",
            events_from="plan_events",
            plan_events=12,
            plans=3,
        ),
        clock="standard",
        summer_time="none",
        skipped_time="lost",
        repeated_time="twice",
        sun_error_minutes=3.5,
        sun_error_degrees=0.2,
        sun_date="event on",
        no_sun_event="does not fire",
        location_entry="minute",
        clock_error_minutes=1.0,
        after_power_loss="keeps the last state",
        reserve_hours=10.0,
        override_ends="by hand",
        event_covers="any channels",
        entry_order=("events", "clock"),
        assumed=(),
    )


def test_properties_left_out_are_the_usual_ones_and_named() -> None:
    made = controller(LEAST)
    assert made == Controller(name="least", event_slots=8, assumed=made.assumed)
    given_keys = {FORMAT_KEY, "name", "event_slots"}
    assert made.assumed == tuple(key for key in CONTROLLER if key not in given_keys)


def test_keys_of_exceptions_left_out_are_named() -> None:
    made = controller(LEAST + "exceptions = { slots = 4, plan_events = 6 }\n")
    assert made.exceptions == ExceptionSlots(slots=4, events_from="plan_events", plan_events=6)
    assert [key for key in made.assumed if "." in key] == [
        "exceptions.length", "exceptions.plan", "exceptions.start", "exceptions.end",
        "exceptions.with_year", "exceptions.covers",
    ]  # fmt: skip
    assert "exceptions" not in made.assumed


def test_a_standard_clock_does_not_follow_summer_time() -> None:
    made = controller(LEAST + 'clock = "standard"\n')
    assert (made.clock, made.summer_time) == ("standard", "none")


@pytest.mark.parametrize(
    ("written", "sets"),
    [
        ('"any set"', None),
        ('"single days or all"', 8),
        ('"each day"', 8),
        ('"one day"', 7),
        ('"all only"', 1),
        ('["mon-fri", "all"]', 2),
        ('["MON, Wednesday"]', 1),
    ],
)
def test_weekday_sets(written: str, sets: int | None) -> None:
    made = controller(f"{LEAST}weekdays = {written}\n")
    assert (None if made.weekday_sets is None else len(made.weekday_sets)) == sets


@pytest.mark.parametrize("key", CHOICES)
def test_every_choice_of_every_property_is_taken(key: str) -> None:
    for option in CHOICES[key]:
        extra = 'clock = "standard"\n' if (key, option) == ("summer_time", "none") else ""
        made = controller(f'{LEAST}{extra}{key} = "{option}"\n')
        found = getattr(made, key)
        assert found == (None if option == "not known" else option)


# Built in

BUILT_IN = (
    "clock-weekly-28", "clock-weekly-56", "clock-yearly-48", "clock-yearly-96",
    "sun-weekly-16", "sun-weekly-48", "sun-yearly-32", "sun-yearly-64",
)  # fmt: skip


def test_the_built_in_names() -> None:
    assert builtin_controllers() == BUILT_IN


@pytest.mark.parametrize("name", BUILT_IN)
def test_a_built_in_class_is_what_its_name_says(name: str) -> None:
    made, found = load_controller(name)
    assert found == ()
    assert made is not None
    start, dates, slots = name.split("-")
    assert (made.name, made.event_slots) == (name, int(slots))
    assert [s.word for s in made.sun_starts] == (["sunrise", "sunset"] if start == "sun" else [])
    assert made.starts_clock
    assert made.date_ranges == ("none" if dates == "weekly" else "yearly")
    assert made.assumed == ()


def test_a_path_starts_at_the_folder_of_the_site(tmp_path: Path) -> None:
    (tmp_path / "clock.toml").write_text(WHOLE)
    (tmp_path / "plain").write_text(LEAST)
    by_path, found = load_controller("clock.toml", tmp_path)
    assert (by_path, found) == (controller(WHOLE), ())
    by_name, found = load_controller("plain", str(tmp_path))
    assert (by_name, found) == (controller(LEAST), ())


def test_an_unknown_name_is_told_with_the_nearest(tmp_path: Path) -> None:
    source = Source("site.toml", 'controller = "sun-yearly-46"\n')
    made, found = load_controller("sun-yearly-46", "lots", SourceRange(source, 14, 13))
    assert made is None
    assert render(found) == (
        """\
Problem E601: There is no built-in controller named sun-yearly-46, and no file
of that name.
  at site.toml, line 1, column 15
1 | controller = "sun-yearly-46"
  |               ^^^^^^^^^^^^^
The nearest name is sun-yearly-64. Built in are: clock-weekly-28,
clock-weekly-56, clock-yearly-48, clock-yearly-96, sun-weekly-16, sun-weekly-48,
sun-yearly-32 and sun-yearly-64. The folder looked in is lots.
To fix: write one of those names, or the path of a controller file
    controller = "sun-yearly-64"

1 problem
"""
    )
    assert [f.code for f in load_controller("none.toml", tmp_path)[1]] == ["E701"]
    assert [f.code for f in load_controller("a\0b", tmp_path)[1]] == ["E601"]


# Mistakes


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (changed("event_slots   = 40", 'event_slots = "40"'), "E207"),
        (changed("event_slots   = 40", "event_slots = 0"), "E214"),
        (changed("event_slots   = 40\n", ""), "E204"),
        (changed("event_slots ", "event_slot "), "E201"),
        (changed('name          = "test clock"\n', ""), "E204"),
        (changed("schedcomp_controller = 1\n", ""), "E220"),
        (changed("schedcomp_controller = 1", "schedcomp_controller = 3"), "E221"),
        (changed('"per channel"', '"per chanel"'), "E217"),
        (changed('"with year"', '"monthly"'), "E218"),
        (changed("step_minutes  = 5", "step_minutes = 7"), "E606"),
        (changed("offset_step_minutes  = 10", "offset_step_minutes = 25"), "E606"),
        (changed("offset_limit_minutes = 90", "offset_limit_minutes = 5"), "E610"),
        (changed('"sunset"', '"sunst"'), "E602"),
        (changed('"sunset"', '"moonrise"'), "E602"),
        (changed('"dusk at 4.5 deg"', '"dusk at 45 deg"'), "E602"),
        (changed('"sunset"', '"clock"'), "E603"),
        (re.sub("starts_at .*", "starts_at = []", WHOLE), "E604"),
        (changed('"mon-fri"', '"mon-fry"'), "E605"),
        (re.sub("weekdays .*", "weekdays = []", WHOLE), "E605"),
        (re.sub("weekdays .*", 'weekdays = "mon-fri"', WHOLE), "E218"),
        (changed('summer_time   = "none"', 'summer_time = "rule"'), "E607"),
        (LEAST + 'summer_time = "none"\n', "E607"),
        (changed("plan_events = 12, ", ""), "E608"),
        (changed('"plan_events"', '"event_slots"'), "E609"),
        (LEAST + 'exceptions = { slots = 2, plan = "off", plans = 2 }\n', "E609"),
        (LEAST + 'exceptions = { plan = "off" }\n', "E204"),
        (LEAST + "exceptions = { slots = 2, slot = 3 }\n", "E201"),
        (LEAST + "exceptions = { slots = 2, channels = 3 }\n", "E203"),
        (LEAST + "exceptions = 16\n", "E211"),
        (LEAST + "plans = 16\n", "E203"),
        (changed("sun_error_degrees   = 0.2", "sun_error_degrees = -1"), "E214"),
    ],
)
def test_one_cause_makes_one_finding(text: str, code: str) -> None:
    found = findings(text)
    assert [f.code for f in found] == [code], render(found)


def test_a_step_that_does_not_divide_an_hour() -> None:
    assert render(findings(LEAST + "step_minutes = 7\n")) == (
        """\
Problem E606: step_minutes = 7 does not divide an hour.
  at clock.toml, line 4, column 16
4 | step_minutes = 7
  |                ^
A controller keeps times on a grid that is the same in each hour: every 1, 2, 3,
4, 5, 6, 10, 12, 15, 20, 30 or 60 minutes.
To fix: write, for example
    step_minutes = 6

1 problem
"""
    )


def test_all_problems_come_in_one_run() -> None:
    text = changed("channels      = 2", "channels = none", WHOLE)
    text = changed('"one for all"', '"for all"', text)
    text = changed("reserve_hours ", "reserv_hours ", text)
    assert [f.code for f in findings(text)] == ["E161", "E218", "E201"]


EDITS = st.lists(
    st.tuples(
        st.integers(0, len(WHOLE)), st.integers(0, 10), st.text('"[]{},=\n 0-9ax', max_size=3)
    ),
    min_size=1,
    max_size=4,
)


@settings(max_examples=200, deadline=None)
@given(EDITS)
def test_no_slip_of_the_pen_breaks_the_reader(edits: list[tuple[int, int, str]]) -> None:
    text = WHOLE
    for start, dropped, put in edits:
        text = text[:start] + put + text[start + dropped :]
    source = Source("clock.toml", text)
    made, found = controller_from_source(source)
    assert (made is None) == has_problem(found)
    assert found == in_order(found)
    for finding in found:
        assert finding.at is None or (
            0 <= finding.at.start <= finding.at.start + finding.at.length <= len(text)
        )
    render(found)


def test_a_site_file_in_place_of_a_controller_file_is_told_once() -> None:
    text = 'schedcomp = 1\n[site]\nname = "North lot"\nlatitude = 40.5853\n'
    made, found = controller_from_source(Source("site.toml", text))
    assert made is None
    assert [f.code for f in found] == ["E247"]


@pytest.mark.parametrize("typo", ["clok", "sunst", "moonrise", "dusk at 45 deg"])
def test_what_is_proposed_for_an_unclear_start_is_taken(typo: str) -> None:
    [found] = findings(changed('"sunset"', f'"{typo}"'))
    assert found.code == "E602"
    proposed = found.fix.splitlines()[-1]
    assert not findings(re.sub("starts_at .*", lambda _: proposed, WHOLE))
