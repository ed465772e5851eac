"""The clock against published clock changes.

tests/authority/dst.csv: clock changes of 51 zones; `published_rule_or_source` names the publisher
(15 U.S.C. 260a, EU Directive 2000/84/EC, GOV.UK, a published list of US dates 2007 to 2015),
`tzdata` where only the tz database states them.
"""

from __future__ import annotations

import csv
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp import clock
from schedcomp.clock import ClockChange, Zone
from schedcomp.model import DAY, HOUR, MINUTE, Period

Row = dict[str, str]

with (Path(__file__).parent / "authority" / "dst.csv").open(encoding="utf-8", newline="") as _file:
    ROWS = tuple(csv.DictReader(_file))
ZONES = sorted({row["zone"] for row in ROWS})
CHANGES = [r for r in ROWS if r["utc_instant"].endswith("Z") and r["kind"] in ("gap", "overlap")]


def year_of(name: str, year: int) -> Zone:
    return clock.zone(name, date(year, 1, 1), date(year, 12, 31))


def instant_of(text: str) -> int:
    return int(datetime.fromisoformat(text).timestamp())


def reading_of(text: str) -> tuple[date, int]:
    shown = datetime.fromisoformat(text)
    return shown.date(), shown.hour * HOUR + shown.minute * MINUTE


def rows_of(name: str) -> Iterator[tuple[Row, Zone, int]]:
    for row in CHANGES:
        if row["zone"] == name:
            instant = instant_of(row["utc_instant"])
            yield row, year_of(name, datetime.fromtimestamp(instant, UTC).year), instant


@pytest.mark.parametrize("name", ZONES)
def test_every_published_change_is_found(name: str) -> None:
    for row, zone, instant in rows_of(name):
        before, after = seconds_of(row["offset_before"]), seconds_of(row["offset_after"])
        assert ClockChange(instant, before, after) in zone.changes(), row
        assert after - before == int(row["delta_minutes"]) * MINUTE
        assert zone.local(instant) == datetime.fromisoformat(row["local_clock_after"])
        before_it = datetime.fromisoformat(row["local_clock_before"]) - timedelta(seconds=1)
        assert zone.local(instant - 1) == before_it


@pytest.mark.parametrize("name", ZONES)
def test_no_other_change_is_found(name: str) -> None:
    for year in range(2024, 2037):
        first, last = f"{year}-01-01", f"{year + 1}-01-01"
        published = {
            instant_of(r["utc_instant"])
            for r in CHANGES
            if r["zone"] == name and first <= r["utc_instant"] < last
        }
        begin, end = instant_of(f"{first}T00:00Z"), instant_of(f"{last}T00:00Z")
        found = {c.instant for c in year_of(name, year).changes() if begin <= c.instant < end}
        assert found == published, (name, year)


@pytest.mark.parametrize("name", ZONES)
def test_a_skipped_reading_is_the_jump(name: str) -> None:
    for row, zone, instant in rows_of(name):
        if row["kind"] != "gap":
            continue
        (day, start), length = reading_of(row["local_clock_before"]), int(row["delta_minutes"])
        end = start + length * MINUTE
        for seconds in (start, start + 1, (start + end) // 2, end - 1):
            assert zone.is_skipped(day, seconds)
            assert not zone.is_repeated(day, seconds)
            assert zone.first_pass(day, seconds) == zone.last_pass(day, seconds) == instant
        for seconds, expected in ((start - 1, instant - 1), (end, instant), (end + 1, instant + 1)):
            assert not zone.is_skipped(day, seconds)
            assert zone.first_pass(day, seconds) == expected


@pytest.mark.parametrize("name", ZONES)
def test_a_repeated_reading_has_two_passes(name: str) -> None:
    for row, zone, instant in rows_of(name):
        if row["kind"] != "overlap":
            continue
        (day, start), length = reading_of(row["local_clock_after"]), -int(row["delta_minutes"])
        for seconds in (0, 1, length * MINUTE // 2, length * MINUTE - 1):
            assert zone.is_repeated(day, start + seconds)
            assert not zone.is_skipped(day, start + seconds)
            assert zone.first_pass(day, start + seconds) == instant - length * MINUTE + seconds
            assert zone.last_pass(day, start + seconds) == instant + seconds
        assert not zone.is_repeated(day, start - 1)
        assert not zone.is_repeated(day, start + length * MINUTE)
        assert zone.first_pass(day, start + length * MINUTE) == instant + length * MINUTE


def test_a_change_of_name_alone_is_no_clock_change() -> None:
    rows = [r for r in ROWS if r["kind"] == "name/dst-flag change only"]
    zones = {r["zone"] for r in rows}
    assert zones == {"America/Edmonton", "America/Vancouver", "America/Asuncion"}
    for row in rows:
        instant = instant_of(row["utc_instant"])
        zone = year_of(row["zone"], datetime.fromtimestamp(instant, UTC).year)
        assert instant not in {c.instant for c in zone.changes()}


def test_misprinted_date_is_not_a_change() -> None:
    """GOV.UK clock-change data as once printed for the end of 2024: 2023-10-27."""
    (flagged,) = [r for r in ROWS if r["row_source_and_status"].endswith("flag")]
    printed = date.fromisoformat(flagged["local_clock_before"].removeprefix("published date "))
    for year in (printed.year, 2024):
        zone = year_of(flagged["zone"], year)
        assert printed not in {zone.local_date(c.instant) for c in zone.changes()}


def test_zones_without_changes() -> None:
    rows = [r for r in ROWS if r["utc_instant"].startswith("none")]
    assert len(rows) > 10
    for row in rows:
        zone = clock.zone(row["zone"], date(2024, 1, 1), date(2036, 12, 31))
        assert zone.changes() == ()
        assert zone.offset(instant_of("2027-07-01T00:00Z")) == seconds_of(row["offset_before"])


def test_vancouver_does_not_change_in_2027() -> None:
    """British Columbia stays on UTC-7 after its change of 2026-03-08 (tzdata 2026f)."""
    zone = year_of("America/Vancouver", 2027)
    assert zone.changes() == ()
    assert zone.offsets == (-7 * HOUR,)


def test_lord_howe_changes_by_half_an_hour_and_troll_by_two() -> None:
    assert {c.skipped for c in year_of("Australia/Lord_Howe", 2027).changes()} == {1800, -1800}
    assert {c.skipped for c in year_of("Antarctica/Troll", 2027).changes()} == {7200, -7200}


@pytest.mark.parametrize(
    ("name", "day"),
    [
        ("Africa/Cairo", date(2027, 4, 30)),
        ("America/Santiago", date(2027, 9, 5)),
        ("Asia/Beirut", date(2027, 3, 28)),
        ("Atlantic/Azores", date(2027, 3, 28)),
        ("America/Havana", date(2028, 3, 12)),
    ],
)
def test_midnight_that_is_skipped_is_the_jump(name: str, day: date) -> None:
    zone = year_of(name, day.year)
    forward = [c.instant for c in zone.changes() if c.skipped > 0]
    jumps = [instant for instant in forward if zone.local_date(instant) == day]
    assert jumps == [zone.first_pass(day, 0)]
    assert zone.first_pass(day - timedelta(days=1), DAY) == jumps[0]
    assert zone.is_skipped(day, 0)
    assert zone.local_date(jumps[0]) == day
    assert zone.local_date(jumps[0] - 1) == day - timedelta(days=1)


@pytest.mark.parametrize(
    ("name", "day"),
    [("Atlantic/Azores", date(2027, 10, 31)), ("America/Havana", date(2027, 11, 7))],
)
def test_midnight_that_comes_twice_is_the_first(name: str, day: date) -> None:
    zone = year_of(name, 2027)
    assert zone.is_repeated(day, 0)
    assert zone.last_pass(day, 0) - zone.first_pass(day, 0) == HOUR
    assert zone.first_pass(day - timedelta(days=1), DAY) == zone.first_pass(day, 0)


def test_dublin_is_behind_in_winter_although_its_flag_says_otherwise() -> None:
    winter, summer = instant_of("2027-01-15T12:00Z"), instant_of("2027-07-15T12:00Z")
    zone = year_of("Europe/Dublin", 2027)
    assert (zone.offset(winter), zone.offset(summer)) == (0, HOUR)
    assert clock.standard(zone).offset(summer) == 0


def test_samoa_has_no_30_december_2011() -> None:
    """Samoa crossed the date line at the end of 29 December 2011 (tz database)."""
    zone = year_of("Pacific/Apia", 2011)
    jump = instant_of("2011-12-30T10:00Z")
    assert {zone.first_pass(date(2011, 12, 30), s) for s in (0, 12 * HOUR, DAY - 1)} == {jump}
    assert zone.first_pass(date(2011, 12, 31), 0) == jump
    assert zone.local_date(jump - 1) == date(2011, 12, 29)


def test_changes_a_week_apart_are_all_found() -> None:
    """The closest changes of any zone, by the tz database: Ramadan of 2040 in Gaza."""
    found = [clock.utc_text(c.instant) for c in year_of("Asia/Gaza", 2040).changes()]
    assert found == [
        "2040-03-24T00:00:00Z",
        "2040-08-31T23:00:00Z",
        "2040-10-20T00:00:00Z",
        "2040-10-26T23:00:00Z",
    ]


def test_standard_looks_only_at_the_years_asked_for() -> None:
    winter, summer = -7 * HOUR, -6 * HOUR
    table = Zone("Somewhere", (0, 1000, 2000), (winter, summer, winter))
    assert clock.standard(table).offsets == (winter,)
    assert clock.standard(Zone("S", table.starts, table.offsets, (1000, 1999))).offsets == (summer,)
    assert clock.standard(Zone("S", table.starts, table.offsets, (1000, 2000))).offsets == (winter,)
    assert clock.standard(Zone("S", table.starts, table.offsets, (999, 1500))).offsets == (winter,)
    # Ramadan of 2030 begins on 5 January: the table of 2029 shows it, the year 2029 had it too.
    assert clock.standard(year_of("Africa/Casablanca", 2029)).offsets == (0,)


def test_unknown_zones_are_refused() -> None:
    for name in ("America", "america/denver", "../tzdata", "", "Europe/Denver"):
        with pytest.raises(ZoneInfoNotFoundError):
            year_of(name, 2027)
    assert "America/Denver" in clock.zone_names()


def test_the_search_path_of_others_is_left_alone() -> None:
    code = (
        "import zoneinfo; before = zoneinfo.TZPATH; import schedcomp.clock as c;"
        "from datetime import date; c.zone('Europe/Paris', date(2027, 1, 1), date(2027, 1, 1));"
        "assert zoneinfo.TZPATH == before"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_texts() -> None:
    assert clock.utc_text(0) == "1970-01-01T00:00:00Z"
    assert clock.offset_text(-6 * HOUR) == "-06:00"
    assert clock.offset_text(5 * HOUR + 45 * MINUTE) == "+05:45"
    assert clock.day_number(date(1970, 1, 2)) == 1


HARD_ZONES = st.sampled_from(
    (
        "America/Denver",
        "Australia/Lord_Howe",
        "Antarctica/Troll",
        "America/Santiago",
        "Africa/Casablanca",
        "Asia/Kathmandu",
        "Pacific/Chatham",
        "Asia/Gaza",
    )
)
INSTANTS = st.integers(instant_of("2026-12-15T00:00Z"), instant_of("2028-01-15T00:00Z"))


@given(HARD_ZONES, INSTANTS)
def test_every_instant_is_a_pass_of_what_the_clock_shows(name: str, instant: int) -> None:
    zone = year_of(name, 2027)
    shown = zone.local(instant)
    assert shown == datetime.fromtimestamp(instant, rules_of(name)).replace(tzinfo=None)
    day, seconds = shown.date(), shown.hour * HOUR + shown.minute * MINUTE + shown.second
    assert day == zone.local_date(instant)
    assert instant in (zone.first_pass(day, seconds), zone.last_pass(day, seconds))
    assert not zone.is_skipped(day, seconds)


@given(HARD_ZONES, st.integers(0, 364), st.integers(0, 2 * DAY), st.integers(0, 2 * DAY))
def test_passes_keep_the_order_of_readings(name: str, day: int, one: int, other: int) -> None:
    zone = year_of(name, 2027)
    date_ = Period(date(2027, 1, 1), date(2027, 12, 31)).dates()[day]
    early, late = sorted((one, other))
    assert zone.first_pass(date_, early) <= zone.first_pass(date_, late)
    assert zone.last_pass(date_, early) <= zone.last_pass(date_, late)
    assert zone.first_pass(date_, early) <= zone.last_pass(date_, early)


def rules_of(name: str) -> ZoneInfo:
    with files("tzdata").joinpath("zoneinfo", *name.split("/")).open("rb") as rules:
        return ZoneInfo.from_file(rules)


def seconds_of(offset: str) -> int:
    sign = -1 if offset.startswith("-") else 1
    hours, minutes = offset[1:].split(":")
    return sign * (int(hours) * HOUR + int(minutes) * MINUTE)
