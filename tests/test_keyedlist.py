"""Lists of slots as read off a unit: the small language, every slip with its place, and back."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.controller import Controller, ExceptionSlots, SunStart
from schedcomp.diag import Diagnostic, Source, render
from schedcomp.keyedlist import read_keyed
from schedcomp.keyedwords import content_words, contents_words
from schedcomp.model import Action, Half
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
from tests.made_up import CONTROLLER
from tests.small_transfer import keyed_list

UNIT = replace(
    CONTROLLER,
    weekday_sets=None,
    sun_starts=(
        *CONTROLLER.sun_starts,
        SunStart(word="civil dusk", half=Half.EVENING, level_degrees=-6.0),
        SunStart(word="dawn at 4 deg", half=Half.MORNING, level_degrees=4.0),
    ),
    exceptions=ExceptionSlots(slots=16),
)
FIRST = Event(slot=1, channels=(1,), action=Action.ON, start=SunOffset("sunset", 15))


def read(text: str, unit: Controller = UNIT, channels: tuple[int, ...] = (1,)) -> Program:
    found, findings = read_keyed(Source("panel-a.txt", text), unit, channels)
    assert found is not None, render(findings)
    assert findings == ()
    return found


def event(text: str, unit: Controller = UNIT, channels: tuple[int, ...] = (1,)) -> Event:
    [found] = read(text, unit, channels).events
    return found


def refused(
    text: str, unit: Controller = UNIT, channels: tuple[int, ...] = (1,)
) -> tuple[Diagnostic, ...]:
    found, findings = read_keyed(Source("panel-a.txt", text), unit, channels)
    assert found is None
    assert findings
    return findings


# What is read


@pytest.mark.parametrize(
    "text",
    [
        "1 ON sunset+15 daily",
        "1 on Sunset + 15 min Daily",
        "  1\tON  sunset +15   daily   # evening",
        "1 ON sunset+15 mon-sun channel 1",
        "1 ON sunset+15 mon, tue, wed, thu, fri, sat, sun",
        "\r\n# Panel A\r\n\r\n1 ON sunset+15 daily\r\n",
    ],
)
def test_one_event_written_in_many_ways(text: str) -> None:
    assert event(text) == FIRST


@pytest.mark.parametrize(
    ("text", "change"),
    [
        ("1 ON sunset daily", {"start": SunOffset("sunset", 0)}),
        ("1 ON sunset-15 daily", {"start": SunOffset("sunset", -15)}),
        ("1 ON sunset\N{MINUS SIGN}15 daily", {"start": SunOffset("sunset", -15)}),
        ("1 ON civil dusk+5 daily", {"start": SunOffset("civil dusk", 5)}),
        ("1 ON dawn at 4 deg-5 daily", {"start": SunOffset("dawn at 4 deg", -5)}),
        ("1 ON 06:30 daily", {"start": ClockStart(390)}),
        ("1 ON 6:30 daily", {"start": ClockStart(390)}),
        ("1 ON 00:00 daily", {"start": ClockStart(0)}),
        ("1 OFF sunset+15 daily", {"action": Action.OFF}),
        ("1 ON sunset+15 mon wed", {"weekdays": frozenset({0, 2})}),
        ("1 ON sunset+15 sun-thu", {"weekdays": frozenset({6, 0, 1, 2, 3})}),
        ("1 ON sunset+15 Friday, sat", {"weekdays": frozenset({4, 5})}),
        (
            "1 ON sunset+15 daily from 11-20 through 01-06",
            {"dates": EventDates((11, 20), (1, 6))},
        ),
        (
            "1 ON sunset+15 daily from 02-29 through 02-29",
            {"dates": EventDates((2, 29), (2, 29))},
        ),
        (
            "1 ON sunset+15 daily from 2027-11-20 through 2028-01-06",
            {"dates": EventDates((11, 20), (1, 6), (2027, 2028))},
        ),
        ("1 ON sunset+15 plan A", {"plan": "A"}),
        ("1 ON sunset+15 daily channels 1 2", {"channels": (1, 2)}),
        ("1 ON sunset+15 daily channel 3", {"channels": (3,)}),
    ],
)
def test_every_part_of_an_event(text: str, change: dict[str, object]) -> None:
    assert event(text) == replace(FIRST, **change)


def test_special_days() -> None:
    [one, other] = read(
        "special 1 12-24 through 12-26 plan A\nspecial 2 07-04 off channels 1 2"
    ).special_days
    assert one == SpecialDays(slot=1, channels=(1,), dates=EventDates((12, 24), (12, 26)), plan="A")
    assert other == SpecialDays(
        slot=2, channels=(1, 2), dates=EventDates((7, 4), (7, 4)), plan=PLAIN_DARK
    )


def test_empty_slots() -> None:
    found = read("1 empty\n2 ON 20:00 daily\n3 EMPTY")
    assert [e.slot for e in found.events] == [2]


def test_two_lines_for_a_slot_of_two_halves() -> None:
    unit = replace(UNIT, slot_holds="an on and an off")
    found = read("1 ON sunset+15 daily\n1 OFF 23:00 daily", unit)
    assert [e.slot for e in found.events] == [1, 1]


def test_slots_of_channels_that_count_apart() -> None:
    unit = replace(UNIT, slots_are="per channel")
    text = "1 ON sunset daily channel 1\n1 ON sunset daily channel 2"
    assert len(read(text, unit, (1, 2)).events) == 2


# Slips


@pytest.mark.parametrize(
    ("line", "column", "length", "told"),
    [
        ("ON sunset daily", 1, 2, "A slot number belongs here."),
        ("1 OM sunset daily", 3, 2, "ON, OFF or empty"),
        ("1 ON sunsett+15 daily", 6, 7, "belongs here: sunset."),
        ("1 ON 25:00 daily", 6, 5, "from 00:00 to 23:59"),
        ("1 ON 24:00 daily", 6, 5, "from 00:00 to 23:59"),
        ("1 ON 23:60 daily", 6, 5, "from 00:00 to 23:59"),
        ("1 ON 23.00 daily", 6, 5, "A clock time such as 23:00"),
        ("1 ON 23h00 daily", 6, 5, "A clock time such as 23:00"),
        ("1 ON 23:0 daily", 6, 4, "A clock time such as 23:00"),
        ("1 ON 123:00 daily", 6, 6, "A clock time such as 23:00"),
        ("1 ON 2300 daily", 6, 4, "a sun time"),
        ("1 ON 11 pm daily", 6, 2, "a sun time"),
        ("1 ON sunset+ daily", 14, 5, "A number of minutes"),
        ("1 ON sunset+1h daily", 14, 1, "The days belong here"),
        ("1 ON sunset+300 daily", 13, 3, "Offsets go up to 120 min"),
        ("1 ON sunset+15", 14, 1, "The days belong here"),
        ("1 ON sunset+15 weekdays", 16, 8, "The days belong here"),
        ("1 ON sunset+15 mon mon", 20, 3, "stands here twice"),
        ("1 ON sunset+15 mon-fri wed", 24, 3, "stands here twice"),
        ("1 ON sunset+15 mon-", 19, 1, "A weekday such as mon"),
        ("1 ON sunset+15 mon, daily", 21, 5, "A weekday such as mon"),
        ("1 ON sunset+15 daily from nov 20", 27, 3, "A date such as 11-20"),
        ("1 ON sunset+15 daily from 11-20", 31, 1, "The word through"),
        ("1 ON sunset+15 daily from 11-20 to 01-06", 33, 2, "The word through"),
        ("1 ON sunset+15 daily from 20-11 through 01-06", 27, 5, "not in the calendar"),
        ("1 ON sunset+15 daily from 1-6 through 2-6", 27, 3, "A date such as 11-20"),
        ("1 ON sunset+15 daily from 2027-02-29 through 2027-03-01", 27, 10, "not in the calendar"),
        ("1 ON sunset+15 daily from 1999-02-01 through 2027-03-01", 27, 10, "not in the calendar"),
        ("1 ON sunset+15 daily from 2027-02-01 through 03-01", 46, 5, "has its year"),
        ("1 ON sunset+15 daily from 2027-02-01 through 2027-01-01", 46, 10, "before the first"),
        ("1 ON sunset+15 daily 23:00", 22, 5, "The line should end here."),
        ("1 ON sunset+15 daily channel", 28, 1, "A channel number"),
        ("1 ON sunset+15 daily channels 1 1", 33, 1, "stands here twice"),
        ("1 ON sunset+15 plan", 19, 1, "The name of a plan"),
        ("1 empty daily", 9, 5, "The line should end here."),
        ("special", 7, 1, "A slot number belongs here."),
        ("special 1 12-24", 15, 1, "The plan belongs here"),
        ("special 1 12-24 through 12-26 dark", 31, 4, "The plan belongs here"),
        ("1 ON sunset+15 daily !", 22, 1, "The line should end here."),
    ],
)
def test_a_slip_is_shown_with_its_place(line: str, column: int, length: int, told: str) -> None:
    text = f"# Panel A\n7 OFF 22:00 daily\n{line}\n8 OFF 23:00 daily\n"
    [finding] = refused(text)
    assert finding.code == "E290"
    assert told in finding.why
    assert finding.at is not None
    assert (finding.at.line, finding.at.column, finding.at.length) == (3, column, length)


def test_a_channel_is_asked_for_where_several_are_used() -> None:
    [finding] = refused("1 ON sunset+15 daily", channels=(1, 2))
    assert "as the program uses several" in finding.why


def test_all_slips_are_told_at_once_and_in_order() -> None:
    findings = refused("1 ON daily\n1 OFF 25:00 daily\n2 ON sunset daily\n3 OF 1\n")
    assert [f.at.line for f in findings if f.at] == [1, 2, 4]


@pytest.mark.parametrize(
    ("text", "slot"),
    [
        ("1 ON 20:00 daily\n2 OFF 23:00 daily\n1 ON 21:00 daily", 1),
        ("3 empty\n3 ON 21:00 daily", 3),
        ("special 2 12-24 off\nspecial 2 12-25 off", 2),
    ],
)
def test_a_slot_twice(text: str, slot: int) -> None:
    [finding] = refused(text)
    assert finding.code == "E291"
    assert finding.title == f"Slot {slot} stands in the list twice."
    assert finding.at is not None
    assert finding.at.line == text.count("\n") + 1
    assert len(finding.also) == 1


def test_three_lines_are_too_many_for_a_slot_of_two_halves() -> None:
    unit = replace(UNIT, slot_holds="an on and an off")
    lines = "1 ON 20:00 daily\n1 OFF 23:00 daily\n1 OFF 22:00 daily"
    assert [f.code for f in refused(lines, unit)] == ["E291"]
    assert [f.code for f in refused("1 empty\n1 OFF 23:00 daily", unit)] == ["E291"]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("65 ON 20:00 daily", "Slot 65 does not exist on a sun-yearly-64."),
        ("0 ON 20:00 daily", "Slot 0 does not exist"),
        ("1 ON 20:00 daily channel 5", "Channel 5 does not exist"),
        ("special 17 12-24 off", "Special 17 does not exist"),
    ],
)
def test_what_the_unit_does_not_have(line: str, told: str) -> None:
    [finding] = refused(line)
    assert finding.code == "E292"
    assert told in finding.title


def test_a_clock_only_unit_knows_no_sun() -> None:
    [finding] = refused("1 ON sunset daily", replace(UNIT, sun_starts=()))
    assert finding.why.startswith("A clock time such as 23:00 belongs here.")


@pytest.mark.parametrize("text", ["", "\n", "# nothing\n"])
def test_a_list_without_slots(text: str) -> None:
    assert [f.code for f in refused(text)] == ["E258"]


@given(st.text(max_size=80))
def test_any_text_is_answered(text: str) -> None:
    found, findings = read_keyed(Source("x", text), UNIT, (1,))
    assert (found is None) == bool(findings)
    for finding in findings:
        if finding.at is not None:
            assert 0 <= finding.at.start <= len(text)


# There and back

MONTH_DAYS = st.sampled_from([(1, 1), (2, 28), (2, 29), (11, 20), (12, 31)])
DATES = st.builds(EventDates, MONTH_DAYS, MONTH_DAYS) | st.just(
    EventDates((11, 20), (1, 6), (2027, 2028))
)
STARTS = st.builds(ClockStart, st.integers(0, 1439)) | st.builds(
    SunOffset, st.sampled_from([s.word for s in UNIT.sun_starts]), st.integers(-120, 120)
)
CHANNELS = st.lists(st.integers(1, 4), min_size=1, max_size=4, unique=True).map(tuple)
EVENTS = st.builds(
    Event,
    slot=st.just(1),
    channels=CHANNELS,
    action=st.sampled_from(Action),
    start=STARTS,
    weekdays=st.frozensets(st.integers(0, 6), min_size=1),
    dates=st.none() | DATES,
) | st.builds(
    Event,
    slot=st.just(1),
    channels=CHANNELS,
    action=st.sampled_from(Action),
    start=STARTS,
    plan=st.sampled_from(["A", "Christmas", "summer fair, day 2"]),
)
DAYS = st.builds(
    SpecialDays,
    slot=st.just(1),
    channels=CHANNELS,
    dates=DATES,
    plan=st.sampled_from(["A", "empty", "channel islands day", PLAIN_DARK]),
)


@given(st.lists(EVENTS, min_size=1, max_size=6), st.lists(DAYS, max_size=3))
def test_what_is_written_reads_the_same(events: list[Event], days: list[SpecialDays]) -> None:
    program = Program(
        controller=UNIT.name,
        events=tuple(replace(e, slot=n) for n, e in enumerate(events, 1)),
        special_days=tuple(replace(d, slot=n) for n, d in enumerate(days, 1)),
    )
    assert read(keyed_list(program)) == program


def test_a_line_for_people() -> None:
    assert content_words(FIRST) == "ON sunset+15 daily channel 1"
    assert contents_words(()) == "empty"
    assert contents_words((FIRST, replace(FIRST, action=Action.OFF))) == (
        "ON sunset+15 daily channel 1 and OFF sunset+15 daily channel 1"
    )
