"""Comparing programs, transfer files, site files, events.csv and lists of slots."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp import pipeline
from schedcomp.answers import compare as answers
from schedcomp.answers.answer import BAD_FILES, CLEAN, FINDINGS, USAGE, Answer
from schedcomp.audit_report import NO_SLOT
from schedcomp.behaviour import Behaviour, Location, behaviour_of_program, behaviour_of_year
from schedcomp.comparison import Lamps, compare_behaviours, minus
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source, render
from schedcomp.eventsfile import is_events_file, read_events
from schedcomp.model import HOUR, MINUTE, Action, Half, Period
from schedcomp.output.events import events_csv
from schedcomp.output.special_days import special_days_csv
from schedcomp.program import ClockStart, Event, EventDates, Program, SunOffset
from schedcomp.records import replace
from schedcomp.sitefile import site_from_source
from tests.made_up import (
    END,
    PERIOD,
    PLAIN_SITE,
    PLAIN_YEAR,
    SPECIAL_CONTROLLER,
    SPECIAL_PROGRAM,
    WITH_SPECIAL_DAYS,
    ZONE,
    at,
)
from tests.small_transfer import SMALL_CONTROLLER, SMALL_PROGRAM, keyed_list, small_bytes

DENVER = Location(40.5853, -111.6, "America/Denver")
NOW = 1796304600
Spans = tuple[tuple[int, int], ...]


def program_with(slot: int, **change: Any) -> Program:
    events = tuple(replace(e, **change) if e.slot == slot else e for e in SMALL_PROGRAM.events)
    return replace(SMALL_PROGRAM, events=events)


LATER = program_with(2, start=ClockStart(23 * 60 + 30))
"""The poles go off half an hour later."""


def played(program: Program, period: Period = PERIOD) -> Behaviour:
    return behaviour_of_program(program, SMALL_CONTROLLER, DENVER, period)


# What lamps do


def test_a_program_is_played_to_the_second() -> None:
    """From the unit's sunset and its clock; Denver goes forward on the 14th."""
    spans = played(SMALL_PROGRAM).of_channel(1)
    assert [end for _, end in spans] == [at(f"03-{day} 23:00") for day in (12, 13, 14, 15)]
    sun = WITH_SPECIAL_DAYS.world.sun
    for (start, _), day in zip(spans, PERIOD.dates(), strict=True):
        sunset = sun.crossing(day, Half.EVENING, SUNRISE_LEVEL_DEGREES)
        assert isinstance(sunset, int)
        assert start == sunset + 15 * MINUTE


def test_what_is_played_is_what_the_test_run_saw() -> None:
    """Of a compiled site, switching by switching."""
    site, findings = site_from_source(Source("site.toml", SITE))
    unit, _ = load_controller("sun-yearly-64")
    assert site is not None, findings
    assert unit is not None
    compiled, findings = pipeline.compile(site, PERIOD, unit)
    assert compiled is not None, render(findings)
    assert compiled.audit is not None
    assert compiled.fitted.program is not None
    lit = behaviour_of_program(compiled.fitted.program, unit, DENVER, PERIOD)
    for circuit in site.circuits:
        seen = compiled.audit.exact_run.of_channel(circuit.channel)
        ends = [instant for span in lit.of_channel(circuit.channel) for instant in span]
        assert ends == [instant for instant, _, _ in seen if instant < END]


def test_lamps_that_are_lit_at_midnight_are_lit_when_the_period_begins() -> None:
    program = program_with(2, start=ClockStart(60))
    spans = played(program).of_channel(1)
    assert spans[0] == (at("03-12 00:00"), at("03-12 01:00"))
    assert spans[-1][1] == at("03-16 00:00")


def test_an_event_of_another_season_decides_the_first_dates() -> None:
    """What was switched last in autumn still holds in March."""
    on = Event(
        slot=1,
        channels=(1,),
        action=Action.ON,
        start=ClockStart(600),
        dates=EventDates((11, 1), (11, 1)),
    )
    lit = played(Program(controller="x", events=(on,))).of_channel(1)
    assert lit == ((at("03-12 00:00"), at("03-16 00:00")),)


def test_the_first_year_has_nothing_before_it() -> None:
    period = Period(date(2001, 1, 1), date(2001, 1, 3))
    assert len(played(SMALL_PROGRAM, period).of_channel(1)) == 3


def test_wishes_are_cut_at_the_period() -> None:
    lit = behaviour_of_year(PLAIN_YEAR)
    assert lit.of_channel(1)[0] == (at("03-12 00:00"), at("03-12 01:00"))
    assert lit.of_channel(1)[-1] == (at("03-15 22:00"), at("03-16 00:00"))
    assert lit.of_channel(9) == ()


def test_slots_that_act_against_each_other_are_found() -> None:
    extra = Event(slot=9, channels=(1,), action=Action.ON, start=ClockStart(23 * 60))
    met = played(replace(SMALL_PROGRAM, events=(*SMALL_PROGRAM.events, extra))).overlaps
    assert {(o.channel, frozenset({o.first_slot, o.second_slot})) for o in met} == {
        (1, frozenset({2, 9}))
    }
    assert not played(SMALL_PROGRAM).overlaps
    assert NO_SLOT == 0


# Side by side

EDGES = st.lists(st.integers(0, 60), unique=True, max_size=10).map(sorted)


@st.composite
def stretches(draw: st.DrawFn) -> Spans:
    edges = draw(EDGES)
    return tuple(zip(edges[::2], edges[1::2], strict=False))


def seconds_of(spans: Spans) -> set[int]:
    return {second for start, end in spans for second in range(start, end)}


@given(stretches(), stretches())
def test_what_is_left_is_lit_in_the_one_and_not_in_the_other(one: Spans, other: Spans) -> None:
    left = minus(one, other)
    assert seconds_of(left) == seconds_of(one) - seconds_of(other)
    assert all(start < end for start, end in left)
    assert list(left) == sorted(left)


def test_nights_run_from_noon_to_noon() -> None:
    first = Behaviour(((1, ((at("03-12 20:00"), at("03-13 06:00")),)),))
    second = Behaviour(((1, ((at("03-12 22:00"), at("03-13 07:00")),)),))
    [found] = compare_behaviours(first, second, {1: Lamps("Poles", 2.0)}, ZONE)
    [night] = found.nights
    assert (night.day, night.only_first_seconds, night.only_second_seconds) == (
        date(2027, 3, 12),
        2 * HOUR,
        HOUR,
    )
    assert found.lit_seconds == (10 * HOUR, 9 * HOUR)
    assert found.kwh == pytest.approx(-2.0)
    assert found.worst == night


def test_a_difference_over_noon_is_of_two_nights() -> None:
    first = Behaviour(((1, ((at("03-13 10:00"), at("03-13 15:00")),)),))
    [found] = compare_behaviours(first, Behaviour(()), {}, ZONE)
    assert [(n.day.day, n.only_first_seconds) for n in found.nights] == [
        (12, 2 * HOUR),
        (13, 3 * HOUR),
    ]
    assert found.kwh is None


def test_an_hour_that_the_clock_skips_counts_not() -> None:
    """From 00:00 to 06:00 in that night are five hours."""
    first = Behaviour(((1, ((at("03-14 00:00"), at("03-14 06:00")),)),))
    [found] = compare_behaviours(first, Behaviour(()), {}, ZONE)
    assert [n.seconds for n in found.nights] == [5 * HOUR]


def test_the_worst_is_the_first_of_equals() -> None:
    spans = tuple((at(f"03-{d} 20:00"), at(f"03-{d} 21:00")) for d in (12, 13))
    [found] = compare_behaviours(Behaviour(((1, spans),)), Behaviour(()), {}, ZONE)
    assert found.worst is not None
    assert found.worst.day == date(2027, 3, 12)


# events.csv


def test_events_csv_reads_as_it_was_written() -> None:
    data = events_csv(SPECIAL_PROGRAM, PLAIN_SITE.circuits)
    special = special_days_csv(SPECIAL_PROGRAM, PLAIN_SITE.circuits)
    assert is_events_file(data)
    program, findings = read_events(data, "events.csv", special, SPECIAL_CONTROLLER)
    assert findings == ()
    assert program is not None
    assert [without_notes(e) for e in program.events] == [
        without_notes(e) for e in SPECIAL_PROGRAM.events
    ]
    assert program.special_days == tuple(
        replace(d, only_year=None) for d in SPECIAL_PROGRAM.special_days
    )


def without_notes(event: Event) -> Event:
    return replace(event, only_year=None, safety=False)


@pytest.mark.parametrize(
    ("old", "new", "line", "told"),
    [
        ("slot,channels", "slots,channels", 1, "Its columns are not slot, channels"),
        ("1,1,", "x,1,", 2, "x in the column slot is wrong."),
        ("1,1,", "0,1,", 2, "0 in the column slot is wrong."),
        ("1,1,", "1,7,", 2, "7 in the column channels is wrong."),
        ("1,1,", "1,1 1,", 2, "1 1 in the column channels is wrong."),
        (",on,", ",dim,", 2, "One of these belongs here: on, off."),
        (",sunset,", ",moonset,", 2, "One of these belongs here: clock, sunrise, sunset."),
        (",23:00,", ",24:00,", 3, "24:00 in the column time is wrong."),
        (",15,", ",much,", 2, "much in the column offset_min is wrong."),
        ("mon tue", "mon mon", 2, "in the column weekdays is wrong."),
        ("sun,,,", "sun,11-31,12-01,", 2, "11-31 in the column from is wrong."),
        ("sun,,,", "sun,11-30,2027-12-01,", 2, "has its year"),
        ("sun,,,", "sun,2027-11-30,2027-11-01,", 2, "before the first"),
        (" sun,,,", ",", 2, "It has"),
    ],
)
def test_a_changed_events_csv_is_refused(old: str, new: str, line: int, told: str) -> None:
    text = events_csv(SMALL_PROGRAM, PLAIN_SITE.circuits).decode()
    assert old in text
    changed = text.replace(old, new, 1).encode()
    program, findings = read_events(changed, "events.csv", None, SMALL_CONTROLLER)
    assert program is None
    [finding] = findings
    assert finding.code == "E259"
    assert f"line {line}." in finding.title
    assert told in finding.why


def test_special_days_without_dates_or_plan_are_refused() -> None:
    events = events_csv(SMALL_PROGRAM, PLAIN_SITE.circuits)
    for row in ("1,,,A,1,Lot poles", "1,12-24,12-26,,1,Lot poles", "1,12-24,12-26"):
        special = f"slot,from,through,plan,channels,circuits\n{row}\n".encode()
        program, findings = read_events(events, "events.csv", special, SMALL_CONTROLLER)
        assert program is None
        assert [f.code for f in findings] == ["E259"]


# The command


def compared(folder: Path, first: str, second: str, **more: str) -> Answer:
    names = {k: str(folder / v) if k == "site" else v for k, v in more.items()}
    request = answers.CompareRequest(
        first=str(folder / first), second=str(folder / second), **names
    )
    return answers.compare(request, NOW)


SITE = """\
schedcomp = 1
[site]
name = "Sample lot"
latitude = 40.5853
longitude = -111.6
timezone = "America/Denver"
controller = "sun-yearly-64"
[day_types]
usual = ["on from sunset + 15 min until 23:00"]
short = ["on from sunset until 22:00"]
[[circuit]]
name = "Lot poles"
channel = 1
load_kw = 6.4
calendar = ["every day: usual"]
[[circuit]]
name = "Sign"
channel = 2
calendar = ["every day: short"]
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "old.json").write_bytes(small_bytes())
    (tmp_path / "new.json").write_bytes(small_bytes(LATER))
    (tmp_path / "site.toml").write_text(SITE)
    (tmp_path / "events.csv").write_bytes(events_csv(SMALL_PROGRAM, PLAIN_SITE.circuits))
    (tmp_path / "panel.txt").write_text(keyed_list(SMALL_PROGRAM))
    return tmp_path


def channels_of(answer: Answer) -> list[Any]:
    channels = answer.record["channels"]
    assert isinstance(channels, list)
    return channels


def slots_of(answer: Answer) -> list[tuple[int, str]]:
    slots = answer.record["slots"]
    assert isinstance(slots, dict)
    return [(d["slot"], d["what"]) for d in slots["differences"]]


@pytest.mark.parametrize("second", ["old.json", "events.csv", "panel.txt", "site.toml"])
def test_the_same_light_in_every_kind_of_file(folder: Path, second: str) -> None:
    answer = compared(folder, "old.json", second)
    assert answer.exit_code == CLEAN, answer.text
    assert answer.findings == ()
    assert answer.record["same"] is True
    assert [c["circuit"] for c in channels_of(answer)] == ["Lot poles", "Sign"]
    assert answer.text.count("lamps do the same on every night") == 2


def test_a_list_with_all_slots_right_confirms_the_unit(folder: Path) -> None:
    """NOW is a date of 2026; the code is that of the transfer file."""
    code = json.loads((folder / "old.json").read_text())["program_code"]
    day = datetime.fromtimestamp(NOW, UTC).date()
    line = f'confirmed = "keyed-back list, {day}, {code}"'
    assert line in compared(folder, "old.json", "panel.txt").text
    assert line in compared(folder, "panel.txt", "old.json").text
    assert "confirmed" not in compared(folder, "new.json", "panel.txt").text
    assert "confirmed" not in compared(folder, "old.json", "events.csv").text


def test_two_transfer_files(folder: Path) -> None:
    answer = compared(folder, "old.json", "new.json")
    assert answer.exit_code == FINDINGS
    poles, sign = channels_of(answer)
    assert [n["date"] for n in poles["nights"]] == [f"2027-03-{d}" for d in (12, 13, 14, 15)]
    assert all(n["only_second_seconds"] == 30 * MINUTE for n in poles["nights"])
    assert poles["kwh_second_minus_first"] == pytest.approx(4 * 0.5 * 6.4)
    assert sign["nights"] == []
    assert sign["kwh_second_minus_first"] is None
    assert slots_of(answer) == [(2, "different")]
    assert "Lot poles (channel 1): 4 nights differ" in answer.text
    assert "lit only in B 2 h, only in A 0 min; B uses 12.8 kWh more" in answer.text
    assert "A  OFF 23:00 daily channel 1" in answer.text
    assert "B  OFF 23:30 daily channel 1" in answer.text
    assert "Fri 12 Mar 2027 through Mon 15 Mar 2027" in answer.text


def test_a_list_tells_wrong_missing_and_extra_slots(folder: Path) -> None:
    lines = keyed_list(LATER).splitlines()
    (folder / "panel.txt").write_text(
        "\n".join([*lines[:3], "4 empty", "7 ON 03:00 daily channel 2"])
    )
    answer = compared(folder, "old.json", "panel.txt")
    assert answer.exit_code == FINDINGS
    assert slots_of(answer) == [
        (2, "wrong in the unit"),
        (4, "missing in the unit"),
        (7, "extra in the unit"),
    ]
    assert "5 slots: 2 equal, 1 wrong in the unit, 1 missing in the unit" in answer.text
    sign = channels_of(answer)[1]
    assert sign["only_second_seconds"] > 60 * HOUR


def test_a_list_may_come_first(folder: Path) -> None:
    (folder / "panel.txt").write_text(keyed_list(SMALL_PROGRAM).partition("\n")[2])
    answer = compared(folder, "panel.txt", "old.json")
    assert slots_of(answer) == [(1, "missing in the unit")]


def test_a_program_with_more_slots(folder: Path) -> None:
    more = Event(slot=5, channels=(1,), action=Action.OFF, start=ClockStart(720))
    program = replace(SMALL_PROGRAM, events=(*SMALL_PROGRAM.events, more))
    (folder / "new.json").write_bytes(small_bytes(program))
    answer = compared(folder, "old.json", "new.json")
    assert answer.exit_code == FINDINGS
    assert slots_of(answer) == [(5, "only in B")]
    assert slots_of(compared(folder, "new.json", "old.json")) == [(5, "only in A")]
    assert "lamps do the same on every night" in answer.text


def test_a_site_file_has_no_slots(folder: Path) -> None:
    answer = compared(folder, "site.toml", "new.json")
    assert answer.record["slots"] is None
    assert "Slots are not compared" in answer.text
    assert channels_of(answer)[0]["only_second_seconds"] == 4 * 30 * MINUTE


def test_a_period_may_be_named(folder: Path) -> None:
    answer = compared(folder, "old.json", "new.json", begin="2027-06-01", through="2027-06-02")
    assert [n["date"] for n in channels_of(answer)[0]["nights"]] == ["2027-06-01", "2027-06-02"]


def test_lists_alone_need_a_site(folder: Path) -> None:
    answer = compared(folder, "panel.txt", "events.csv")
    assert (answer.exit_code, [f.code for f in answer.findings]) == (USAGE, ["E794"])
    helped = compared(
        folder,
        "panel.txt",
        "events.csv",
        site="site.toml",
        begin="2027-03-12",
        through="2027-03-13",
    )
    assert helped.exit_code == CLEAN
    assert helped.findings == ()


def test_slots_that_meet_are_told(folder: Path) -> None:
    text = keyed_list(SMALL_PROGRAM) + "9 ON 23:00 daily channel 1\n"
    (folder / "panel.txt").write_text(text)
    answer = compared(folder, "old.json", "panel.txt")
    [finding] = answer.findings
    assert finding.code == "E797"
    assert "slots 2 and 9 act against each other on channel 1" in finding.title
    assert "on 4 dates, for the first time on Fri 12 Mar 2027" in finding.why


def test_two_places_are_told(folder: Path) -> None:
    moved = SITE.replace("40.5853", "41.5853")
    (folder / "site.toml").write_text(moved)
    answer = compared(folder, "old.json", "site.toml")
    assert [f.code for f in answer.findings] == ["E795"]


@pytest.mark.parametrize(
    ("name", "content", "code"),
    [
        ("panel.txt", "1 ON sunset", "E290"),
        ("new.json", '{"schedcomp_transfer": 2', "E766"),
        ("site.toml", "schedcomp = 1\n", None),
        ("events.csv", "slot,channels,circuits,action\n1", "E290"),
        ("gone.json", None, "E701"),
    ],
)
def test_files_that_cannot_be_read(
    folder: Path, name: str, content: str | None, code: str | None
) -> None:
    if content is not None:
        (folder / name).write_text(content)
    answer = compared(folder, "old.json", name)
    assert answer.exit_code == BAD_FILES
    if code is not None:
        assert code in [f.code for f in answer.findings]


def test_a_period_that_is_none(folder: Path) -> None:
    assert compared(folder, "old.json", "new.json", year="27").exit_code == USAGE


def test_a_site_without_controller_cannot_read_a_list(folder: Path) -> None:
    (folder / "site.toml").write_text(SITE.replace('controller = "sun-yearly-64"\n', ""))
    answer = compared(folder, "site.toml", "panel.txt")
    assert [f.code for f in answer.findings] == ["E764"]


def test_an_offset_to_the_sun_is_played() -> None:
    one = played(SMALL_PROGRAM).of_channel(1)
    other = played(program_with(1, start=SunOffset("sunset", 20))).of_channel(1)
    assert [b - a for (a, _), (b, _) in zip(one, other, strict=True)] == [5 * MINUTE] * 4
