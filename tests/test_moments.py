"""When a window lights: every sentence on moments, sides, pairs, hours, sun and clock changes.

One date asks for one window; the row tells what it lights. 2027-03-01 is a Monday. Sun times are
those of skyfield 1.55 with DE421 for sunset and sunrise, cut to the minute; clock changes those of
tzdata 2026f.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta

import pytest

from tests.sites import (
    AZORES,
    CAIRO,
    DENVER,
    FAIRBANKS,
    HAVANA,
    LORD_HOWE,
    NEW_YORK,
    SANTIAGO,
    TROLL,
    TROMSO,
    UMEA,
    VANCOUVER,
    Exact,
    Place,
    exact,
    site_text,
)

WED = "2027-03-03"
NO_DUSK = "sun never that low"
CIVIL = 'dusk = "sun 6 deg below horizon"\ndawn = "sun 6 deg below horizon"'
SHOP = """\
mon-thu = "08:00-20:00"
"fri, sat" = "18:00-03:00"
sun = "closed"
staff_before = "40 min"
staff_after = "45 min"
"""
OFFICE = 'mon-fri = "08:00-18:00"\n"sat, sun" = "closed"\n'


def one_date(
    window: str, day: str, place: Place = DENVER, hours: str = "", site: str = "", keep: str = ""
) -> Exact:
    """The year of a site that asks for a window on one date only; some weeks are looked at."""
    circuit = f'keep_dark = ["every day: from {keep}"]' if keep else ""
    text = site_text(
        place,
        [window],
        calendar=["every day: dark", f"{day}: usual"],
        hours=hours,
        site=site,
        circuit=circuit,
    )
    around = date.fromisoformat(day)
    last = around + timedelta(days=14)
    return exact(text, str(around - timedelta(days=14)), str(last))


def told(window: str, day: str, place: Place = DENVER, hours: str = "", site: str = "") -> str:
    """What the window of a date lights, or why it lights nothing."""
    found = one_date(window, day, place, hours, site)
    why = found.empty(day)
    assert len(why) == (found.asked(day) == "dark")
    return why[0] if why else found.asked(day)


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        ("22:00 until 06:00", "22:00 on, Thu 06:00 off"),
        ("05:00 until 22:00", "05:00 on, 22:00 off"),
        ("20:00 until midnight", "20:00 on, Thu 00:00 off"),
        ("20:00 until 24:00", "20:00 on, Thu 00:00 off"),
        ("20:00 until 00:00", "20:00 on, Thu 00:00 off"),
        ("00:00 until 00:30", "00:00 on, 00:30 off"),
        ("00:00 until 24:00", "00:00 on, Thu 00:00 off"),
        ("noon until 11:30 pm", "12:00 on, 23:30 off"),
        ("11:59 until 12:00", "11:59 on, 12:00 off"),
        ("12:00 until 11:59", "12:00 on, Thu 11:59 off"),
    ],
)
def test_a_morning_end_after_an_evening_start_is_on_the_next_date(
    window: str, expected: str
) -> None:
    assert told(f"on from {window}", WED) == expected


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        ("22:00 until 21:00", "22:00 on, Thu 21:00 off"),
        ("22:00 until 22:00", "22:00 on, Thu 22:00 off"),
        ("05:00 until 04:00", "05:00 on, Thu 04:00 off"),
        ("06:00 until 06:00", "06:00 on, Thu 06:00 off"),
        ("23:59 until 24:00", "23:59 on, Thu 00:00 off"),
    ],
)
def test_two_clocks_on_one_side_wrap(window: str, expected: str) -> None:
    assert told(f"on from {window}", WED) == expected


@pytest.mark.parametrize(
    "window",
    [
        "23:00 until dusk",
        "dusk until 16:00",
        "08:00 until dawn",
        "dawn until 05:00",
        "sunset until dusk - 1 h",
        "dusk until dusk",
        "the later of dusk and 23:00 until 22:00",
        "23:00 until the earlier of dusk and 22:00",
    ],
)
def test_with_a_sun_time_nothing_wraps(window: str) -> None:
    assert told(f"on from {window}", WED) == "end before start"


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        # Sunset Wed 17:54:05 and Thu 17:55:10, sunrise Wed 06:30:12 and Thu 06:28:41.
        ("sunset until sunrise", "sunset 17:54 on, sunrise Thu 06:28 off"),
        ("sunset + 1 h 30 min until 23:00", "sunset 19:24 on, 23:00 off"),
        ("sunset - 20 min until sunrise + 2 h", "sunset 17:34 on, sunrise Thu 08:28 off"),
        ("05:00 until sunrise", "05:00 on, sunrise 06:30 off"),
        ("dusk until dawn", "dusk 18:09 on, dawn Thu 06:13 off"),
        ("dawn until dusk", "dawn 06:15 on, dusk 18:09 off"),
    ],
)
def test_sun_words_and_their_offsets(window: str, expected: str) -> None:
    assert told(f"on from {window}", WED) == expected


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        ("22:00 until the later of 23:00 and 00:30", "22:00 on, Thu 00:30 off"),
        ("22:00 until the earlier of 23:00 and 00:30", "22:00 on, 23:00 off"),
        ("the later of 23:00 and 00:30 until 02:00", "Thu 00:30 on, Thu 02:00 off"),
        ("the earlier of 23:00 and 00:30 until 02:00", "23:00 on, Thu 02:00 off"),
        ("the later of 05:00 and 06:00 until 07:00", "06:00 on, 07:00 off"),
        ("the later of dusk and 20:00 until 23:00", "20:00 on, 23:00 off"),
        ("the earlier of dusk and 20:00 until 23:00", "18:09 on, 23:00 off"),
        ("dusk until the earlier of 01:00 and dawn", "dusk 18:09 on, Thu 01:00 off"),
        ("dusk until the later of 01:00 and dawn", "dusk 18:09 on, Thu 06:13 off"),
        ("dusk until the earlier of 23:00 and dawn", "dusk 18:09 on, 23:00 off"),
        ("dusk until the later of 23:00 and dawn", "dusk 18:09 on, Thu 06:13 off"),
        ("05:00 until the earlier of 06:00 and dawn", "05:00 on, 06:00 off"),
        ("05:00 until the later of 06:00 and dawn", "05:00 on, 06:15 off"),
        ("12:00 until the later of dusk and 00:15", "12:00 on, Thu 00:15 off"),
    ],
)
def test_pairs_with_an_evening_member_take_morning_members_from_the_next_date(
    window: str, expected: str
) -> None:
    assert told(f"on from {window}", WED) == expected


MON, THU, FRI, SAT, SUN = (f"2027-03-{day:02d}" for day in (1, 4, 5, 6, 7))


@pytest.mark.parametrize(
    ("day", "window", "expected"),
    [
        (MON, "dusk until close", "dusk 18:06 on, 20:00 off"),
        (FRI, "dusk until close", "dusk 18:11 on, Sat 03:00 off"),
        (FRI, "dusk until leave", "dusk 18:11 on, Sat 03:45 off"),
        (FRI, "close until 04:00", "Sat 03:00 on, Sat 04:00 off"),
        (FRI, "close - 4 h until leave", "23:00 on, Sat 03:45 off"),
        (FRI, "open until close", "18:00 on, Sat 03:00 off"),
        (FRI, "16:00 until open", "16:00 on, 18:00 off"),
        (WED, "16:00 until open", "16:00 on, Thu 08:00 off"),
        (MON, "05:00 until arrive", "05:00 on, 07:20 off"),
        (MON, "leave until 23:00", "20:45 on, 23:00 off"),
        (MON, "open - 1 h until open", "07:00 on, 08:00 off"),
        (MON, "close until 19:00", "end before start"),
        (SUN, "dusk until close", "no such hours"),
        (SUN, "arrive until 09:00", "no such hours"),
        (SAT, "dusk until open", "no such hours"),
    ],
)
def test_hours_are_instants_of_the_date_they_open(day: str, window: str, expected: str) -> None:
    assert told(f"on from {window}", day, hours=SHOP) == expected


@pytest.mark.parametrize(
    ("day", "window", "expected"),
    [
        (MON, "dusk until close or 21:00", "dusk 18:06 on, 20:00 off"),
        (SUN, "dusk until close or 21:00", "dusk 18:13 on, 21:00 off"),
        (MON, "dusk until close + 30 min or 21:00", "dusk 18:06 on, 20:30 off"),
        (SUN, "dusk until close + 30 min or 21:00", "dusk 18:13 on, 21:00 off"),
        (SUN, "dusk until leave or 00:30", "dusk 18:13 on, Mon 00:30 off"),
        (SUN, "open or 07:30 until 09:00", "07:30 on, 09:00 off"),
        (SAT, "close until open or 06:00", "Sun 03:00 on, Sun 06:00 off"),
    ],
)
def test_a_clock_time_stands_in_where_there_are_no_hours(
    day: str, window: str, expected: str
) -> None:
    assert told(f"on from {window}", day, hours=SHOP) == expected


@pytest.mark.parametrize(
    ("day", "window", "expected"),
    [
        (MON, "dusk until the later of close and 23:00", "dusk 18:06 on, 23:00 off"),
        (FRI, "dusk until the later of close and 23:00", "dusk 18:11 on, Sat 03:00 off"),
        (FRI, "dusk until the earlier of close and 23:00", "dusk 18:11 on, 23:00 off"),
        (SUN, "dusk until the later of close and 23:00", "dusk 18:13 on, 23:00 off"),
        (SUN, "dusk until the earlier of close and 23:00", "dusk 18:13 on, 23:00 off"),
        (MON, "dusk until the later of close and 00:30", "dusk 18:06 on, Tue 00:30 off"),
        (FRI, "dusk until the later of leave and 00:30", "dusk 18:11 on, Sat 03:45 off"),
        (MON, "the later of 05:00 and arrive until 09:00", "07:20 on, 09:00 off"),
        (SUN, "the later of 05:00 and arrive until 09:00", "05:00 on, 09:00 off"),
        (FRI, "the later of 16:00 and open until 23:00", "18:00 on, 23:00 off"),
        (MON, "the later of 16:00 and open until 23:00", "16:00 on, 23:00 off"),
        (SUN, "dusk until the later of open and close", "no such hours"),
    ],
)
def test_a_pair_leaves_out_the_member_that_a_closed_date_lacks(
    day: str, window: str, expected: str
) -> None:
    assert told(f"on from {window}", day, hours=SHOP) == expected


CLOSURE = f'{OFFICE}"2027-03-08 to 2027-03-19" = "closed"\n'


@pytest.mark.parametrize(
    ("hours", "day", "window", "expected"),
    [
        (OFFICE, THU, "close until open", "18:00 on, Fri 08:00 off"),
        (OFFICE, FRI, "close until open", "18:00 on, Mon 08:00 off"),
        (OFFICE, FRI, "close + 30 min until open - 15 min", "18:30 on, Mon 07:45 off"),
        (OFFICE, SAT, "close until open", "no such hours"),
        (OFFICE, SAT, "close or 21:00 until open", "21:00 on, Mon 08:00 off"),
        (OFFICE, SAT, "the later of close and 21:00 until open", "21:00 on, Mon 08:00 off"),
        (OFFICE, FRI, "dusk until open", "no such hours"),
        (CLOSURE, THU, "close until open", "18:00 on, Fri 08:00 off"),
        (CLOSURE, FRI, "close until open", "18:00 on, Mon 08:00 off"),
        (SHOP, SAT, "leave until arrive", "Sun 03:45 on, Mon 07:20 off"),
        # With a sun time in it no window passes the second transit after its start.
        (OFFICE, FRI, "close until the later of open and dawn", "18:00 on, Sun 12:10 off"),
        (OFFICE, FRI, "close until the earlier of open and dawn", "18:00 on, Sat 06:10 off"),
    ],
)
def test_an_opening_as_an_end_after_closing_is_the_next_one(
    hours: str, day: str, window: str, expected: str
) -> None:
    assert told(f"on from {window}", day, hours=hours) == expected


def test_the_next_opening_may_be_weeks_away() -> None:
    found = one_date("on from close until open", FRI, hours=CLOSURE)
    (span,) = found.circuit().spans
    assert (span.start, span.end) == (found.at("2027-03-05 18:00"), found.at("2027-03-22 08:00"))
    # A build that begins in the closure knows of the closing before it.
    text = site_text(DENVER, ["on from close until open"], hours=CLOSURE)
    later = exact(text, "2027-03-15", "2027-03-24")
    assert later.day("2027-03-15") == "lit"
    assert later.day("2027-03-22") == "lit, 08:00 off, 18:00 on"


def test_sunset_after_midnight_belongs_to_the_evening_before() -> None:
    # Clock dates of sunset: Fri 00:48:30, Sat 00:49:25; of sunrise: Fri 02:56:36, Sat 02:56:09.
    window, friday = "on from sunset until sunrise", "2027-06-18"
    assert told(window, friday, FAIRBANKS) == "sunset Sat 00:49 on, sunrise Sat 02:56 off"
    assert (
        told("on from sunset until 00:50", friday, FAIRBANKS)
        == "sunset Sat 00:49 on, Sat 00:50 off"
    )
    found = one_date(window, friday, FAIRBANKS)
    assert found.day(friday) == "dark"
    every_day = exact(site_text(FAIRBANKS, [window]), "2027-06-16", "2027-06-20")
    assert every_day.day(friday) == "sunset 00:48 on, sunrise 02:56 off"
    assert every_day.asked("2027-06-17") == "sunset Fri 00:48 on, sunrise Fri 02:56 off"


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        ("dusk until dawn", NO_DUSK),
        ("22:00 until dawn", NO_DUSK),
        ("dusk until 23:30", NO_DUSK),
        ("02:00 until dawn", NO_DUSK),
        ("dusk + 30 min until 23:30", NO_DUSK),
        ("the later of dusk and 20:00 until 23:30", NO_DUSK),
        ("the earlier of dusk and 21:00 until 23:30", "21:00 on, 23:30 off"),
        ("20:00 until the later of dusk and 21:00", "20:00 on, 21:00 off"),
        ("20:00 until the earlier of dusk and 21:00", "20:00 on, 21:00 off"),
        ("22:00 until the earlier of dawn and 04:00", "22:00 on, Tue 04:00 off"),
        ("the later of dawn and 02:00 until 03:00", "02:00 on, 03:00 off"),
    ],
)
def test_a_dusk_that_never_comes(window: str, expected: str) -> None:
    # Umea at midsummer: the sun stays above -6 degrees.
    assert told(f"on from {window}", "2027-06-21", UMEA, site=CIVIL) == expected


@pytest.mark.parametrize(
    ("window", "expected"),
    [
        # Tromso in polar night: dusk and dawn are the sun's transit at 11:42.
        ("dusk until dawn", "dusk 11:42 on, dawn Wed 11:42 off"),
        ("dusk until 20:00", "dusk 11:42 on, 20:00 off"),
        ("dusk + 30 min until 20:00", "dusk 11:42 on, 20:00 off"),
        ("sunset - 30 min until 20:00", "sunset 11:42 on, 20:00 off"),
        ("06:00 until dawn + 1 h", "06:00 on, dawn 11:42 off"),
        ("13:00 until sunrise", "13:00 on, sunrise Wed 11:42 off"),
        ("06:00 until dusk", "06:00 on, dusk 11:42 off"),
        ("dawn until dusk", "end before start"),
        ("the earlier of dusk and 15:00 until 20:00", "11:42 on, 20:00 off"),
        ("the later of dusk and 15:00 until 20:00", "15:00 on, 20:00 off"),
        ("06:00 until the earlier of dawn and 08:00", "06:00 on, 08:00 off"),
    ],
)
def test_a_day_that_never_comes(window: str, expected: str) -> None:
    assert told(f"on from {window}", "2027-12-21", TROMSO) == expected


def test_polar_night_joins_its_neighbours_and_midnight_sun_is_dark() -> None:
    found = exact(site_text(TROMSO, ["on from sunset until sunrise"]), "2026-11-20", "2027-08-05")
    # skyfield: the last sunset is Fri 27 Nov 2026 11:41:41, the first sunrise 15 Jan 11:35:08.
    assert found.day("2026-11-27") == "lit, sunrise 11:21 off, sunset 11:41 on"
    for day in days("2026-11-28", "2027-01-14"):
        assert found.day(day) == "lit", day
    assert found.day("2027-01-15") == "lit, sunrise 11:35 off, sunset 12:12 on"
    # The last sunset is that of the evening of Mon 17 May, at 00:19:10 on Tue.
    assert found.asked("2027-05-17") == "sunset Tue 00:19 on, sunrise Tue 01:01 off"
    for day in days("2027-05-18", "2027-07-25"):
        assert found.asked(day) == "dark", day
        assert found.empty(day) == [NO_DUSK]
    assert found.asked("2027-07-26") == "sunset Tue 00:17 on, sunrise Tue 01:24 off"


def days(first: str, last: str) -> Iterable[str]:
    begin = date.fromisoformat(first)
    count = (date.fromisoformat(last) - begin).days + 1
    return (str(begin + timedelta(days=i)) for i in range(count))


SPRING_SAT, SPRING_SUN = "2027-03-13", "2027-03-14"


@pytest.mark.parametrize(
    ("day", "window", "expected"),
    [
        (SPRING_SUN, "02:15 until 02:45", "swallowed by the clock"),
        (SPRING_SUN, "02:30 until 03:00", "swallowed by the clock"),
        (SPRING_SUN, "02:00 until 02:59", "swallowed by the clock"),
        (SPRING_SUN, "01:30 until 02:30", "01:30 on, 03:00 off"),
        (SPRING_SUN, "02:30 until 03:30", "03:00 on, 03:30 off"),
        (SPRING_SUN, "02:45 until 02:15", "03:00 on, Mon 02:15 off"),
        (SPRING_SAT, "23:00 until 02:30", "23:00 on, Sun 03:00 off"),
        (SPRING_SAT, "dusk until 02:30", "dusk 18:15 on, Sun 03:00 off"),
        (SPRING_SAT, "02:15 until 02:45", "02:15 on, 02:45 off"),
    ],
)
def test_a_skipped_time_is_the_jump(day: str, window: str, expected: str) -> None:
    assert told(f"on from {window}", day, NEW_YORK) == expected


def test_hours_in_the_skipped_hour_are_the_jump() -> None:
    hours = '"every day" = "12:00-02:30"\nstaff_after = "30 min"'
    assert told("on from dusk until close", SPRING_SAT, NEW_YORK, hours) == (
        "dusk 18:15 on, Sun 03:00 off"
    )
    assert told("on from dusk until leave", SPRING_SAT, NEW_YORK, hours) == (
        "dusk 18:15 on, Sun 03:30 off"
    )


def test_offsets_are_elapsed_time() -> None:
    # Sunrise of Sun 14 Mar is 07:09:35 in summer time, of Sun 7 Nov 06:33:12 in winter time.
    window = "on from sunrise - 5 h until sunrise"
    assert told(window, SPRING_SUN, NEW_YORK) == "sunrise 01:09 on, sunrise 07:09 off"
    window = "on from sunrise - 5 h until sunrise - 4 h 45 min"
    assert told(window, AUTUMN_SUN, NEW_YORK) == (
        "sunrise 01:33 second pass on, sunrise 01:48 second pass off"
    )


AUTUMN_SAT, AUTUMN_SUN = "2027-11-06", "2027-11-07"


@pytest.mark.parametrize(
    ("day", "window", "expected"),
    [
        (AUTUMN_SAT, "dusk until 01:30", "dusk 18:01 on, Sun 01:30 first pass off"),
        (AUTUMN_SUN, "01:30 until 01:45", "01:30 first pass on, 01:45 first pass off"),
        (AUTUMN_SUN, "01:30 until 02:00", "01:30 first pass on, 02:00 off"),
        (AUTUMN_SUN, "00:30 until 01:00", "00:30 on, 01:00 first pass off"),
    ],
)
def test_a_repeated_time_is_its_first_pass(day: str, window: str, expected: str) -> None:
    found = one_date(f"on from {window}", day, NEW_YORK)
    assert found.asked(day) == expected
    assert len(found.circuit().spans) == 1


def test_time_after_closing_runs_on_through_the_repeated_hour() -> None:
    hours = '"every day" = "12:00-01:30"\nstaff_after = "1 h"'
    assert told("on from dusk until leave", AUTUMN_SAT, NEW_YORK, hours) == (
        "dusk 18:01 on, Sun 01:30 second pass off"
    )


@pytest.mark.parametrize(
    ("place", "day", "keep", "expected"),
    [
        # The clock goes back from Sun 02:00 to 01:00, from Fri 00:00 to Thu 23:00, from Sun 01:00
        # to 00:00, and from Sun 02:00 to 01:30.
        (
            NEW_YORK,
            AUTUMN_SUN,
            "01:15 until 01:45",
            "01:15 first pass off, kept dark 01:45 second pass on",
        ),
        (
            CAIRO,
            "2027-10-28",
            "23:15 until 23:45",
            "23:15 first pass off, kept dark 23:45 second pass on",
        ),
        (CAIRO, "2027-10-28", "22:00 until 24:00", "22:00 off, kept dark Fri 00:00 on"),
        (HAVANA, AUTUMN_SAT, "22:00 until 24:00", "22:00 off, kept dark Sun 00:00 second pass on"),
        (
            AZORES,
            "2027-10-30",
            "22:00 until 24:00",
            "22:00 off, kept dark Sun 00:00 second pass on",
        ),
        (
            LORD_HOWE,
            "2027-04-04",
            "01:35 until 01:50",
            "01:35 first pass off, kept dark 01:50 second pass on",
        ),
    ],
)
def test_hours_kept_dark_hold_through_the_last_pass_of_their_end(
    place: Place, day: str, keep: str, expected: str
) -> None:
    text = site_text(
        place,
        ["on from 21:00 until 20:00"],
        circuit=f'keep_dark = ["{day}: from {keep}"]',
    )
    found = exact(text, str(date.fromisoformat(day) - timedelta(days=2)), "2027-11-10")
    stretch = next(d for d in found.circuit().dark if d.reason.date.isoformat() == day)
    off, on = (
        next(s for s in found.circuit().switchings() if s.instant == instant)
        for instant in (stretch.start, stretch.end)
    )
    wanted = date.fromisoformat(day)
    told_off = found.told(off.instant, off.action, off.reason, wanted)
    told_on = found.told(on.instant, on.action, on.reason, wanted)
    assert f"{told_off}, {told_on}" == f"kept dark {expected}"


def test_hours_kept_dark_in_the_gap_are_nothing() -> None:
    found = one_date("on from 00:30 until 06:00", SPRING_SUN, NEW_YORK, keep="02:15 until 02:45")
    assert found.asked(SPRING_SUN) == "00:30 on, 06:00 off"
    found = one_date("on from 00:30 until 06:00", SPRING_SUN, NEW_YORK, keep="02:30 until 04:00")
    assert found.day(SPRING_SUN) == "00:30 on, kept dark 03:00 off, kept dark 04:00 on, 06:00 off"


@pytest.mark.parametrize(
    ("place", "day", "window", "expected"),
    [
        # Midnight skipped: Cairo Fri 30 Apr, Santiago Sun 5 Sep, the Azores Sun 28 Mar 2027.
        (CAIRO, "2027-04-29", "20:00 until 24:00", "20:00 on, Fri 01:00 off"),
        (CAIRO, "2027-04-30", "00:00 until 02:00", "01:00 on, 02:00 off"),
        (CAIRO, "2027-04-30", "00:15 until 00:45", "swallowed by the clock"),
        (SANTIAGO, "2027-09-04", "20:00 until midnight", "20:00 on, Sun 01:00 off"),
        (AZORES, "2027-03-27", "20:00 until 24:00", "20:00 on, Sun 01:00 off"),
        # Havana skips it on Sun 12 Mar 2028, and has it twice on Sun 7 Nov 2027.
        (HAVANA, "2028-03-11", "20:00 until 24:00", "20:00 on, Sun 01:00 off"),
        (HAVANA, AUTUMN_SAT, "20:00 until 24:00", "20:00 on, Sun 00:00 first pass off"),
        (HAVANA, AUTUMN_SUN, "00:00 until 01:00", "00:00 first pass on, 01:00 off"),
        (AZORES, "2027-10-30", "20:00 until 24:00", "20:00 on, Sun 00:00 first pass off"),
        # The hour before midnight comes twice, midnight once.
        (CAIRO, "2027-10-28", "20:00 until 23:30", "20:00 on, 23:30 first pass off"),
        (CAIRO, "2027-10-28", "20:00 until 24:00", "20:00 on, Fri 00:00 off"),
        (SANTIAGO, "2027-04-03", "20:00 until 24:00", "20:00 on, Sun 00:00 off"),
        # Half an hour, and two hours.
        (LORD_HOWE, "2027-10-03", "02:10 until 02:20", "swallowed by the clock"),
        (LORD_HOWE, "2027-10-03", "02:15 until 03:00", "02:30 on, 03:00 off"),
        (LORD_HOWE, "2027-04-04", "01:15 until 01:45", "01:15 on, 01:45 first pass off"),
        (TROLL, "2027-03-28", "00:30 until 02:30", "00:30 on, 03:00 off"),
        (TROLL, "2027-03-28", "01:10 until 02:50", "swallowed by the clock"),
        (TROLL, "2027-10-31", "00:30 until 02:30", "00:30 on, 02:30 first pass off"),
    ],
)
def test_clock_changes_of_other_zones(place: Place, day: str, window: str, expected: str) -> None:
    assert told(f"on from {window}", day, place) == expected


@pytest.mark.parametrize(
    ("place", "day", "window", "hours"),
    [
        (CAIRO, "2027-10-28", "20:00 until 24:00", 5),
        (SANTIAGO, "2027-04-03", "20:00 until 24:00", 5),
        (CAIRO, "2027-04-29", "20:00 until 24:00", 4),
        (HAVANA, AUTUMN_SUN, "00:00 until 01:00", 2),
        (HAVANA, AUTUMN_SAT, "20:00 until 24:00", 4),
        (TROLL, "2027-10-31", "00:30 until 03:30", 5),
        (TROLL, "2027-03-28", "00:30 until 03:30", 1),
        (LORD_HOWE, "2027-04-04", "01:00 until 02:30", 2),
    ],
)
def test_hours_that_pass_through_a_clock_change(
    place: Place, day: str, window: str, hours: int
) -> None:
    (span,) = one_date(f"on from {window}", day, place).circuit().spans
    assert span.end - span.start == hours * 3600


def test_a_zone_that_stops_changing_its_clock() -> None:
    # Vancouver goes to -07:00 on 8 Mar 2026 and stays there.
    text = site_text(VANCOUVER, ["on from 22:00 until 01:30"])
    found = exact(text, "2026-01-01", "2026-12-31")
    offsets = {row["date"]: row["utc_offset"] for row in found.table()}
    assert offsets["2026-01-15"] == "-08:00"
    assert {offset for day, offset in offsets.items() if day > "2026-03-08"} == {"-07:00"}
    assert found.asked("2026-10-31") == "22:00 on, Sun 01:30 off"
    assert all(span.end - span.start == 3.5 * 3600 for span in found.circuit().spans)
