"""Twenty things that go wrong on site, each through the door a user comes in by.

Each is a fault reported in public against a general-purpose library, restated as a site file. The
expected values were computed by: skyfield 1.55, DE421, tzdata 2026f (sunset and sunrise: the
centre at -0.8333 degrees; civil, nautical and astronomical: -6, -12 and -18; sea level).
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from schedcomp.answers.build import BuildRequest, build
from schedcomp.answers.moments import why
from schedcomp.diag import Severity, has_problem, render
from schedcomp.phrases.tree import SingleDate
from tests.sites import (
    ANCHORAGE,
    DENVER,
    DUBLIN,
    FAIRBANKS,
    NEW_YORK,
    VANCOUVER,
    Exact,
    Place,
    exact,
    read,
    rows_of,
    site_text,
)

NOW = 1796304600
"""Thu 3 Dec 2026, 13:30 UTC."""

DALLAS = Place(32.7767, -96.797, "America/Chicago")
FLAGSTAFF = Place(35.1983, -111.6513, "America/Phoenix")
CIVIL = 'dusk = "sun 6 deg below horizon"\ndawn = "sun 6 deg below horizon"'
SUNSET_SIGN = """
[[circuit]]
name = "Sign"
channel = 2
calendar = ["every day: sign"]
"""
Row = dict[str, str]


class Built:
    """What `build` wrote for a site file."""

    def __init__(self, folder: Path, text: str, first: str, through: str) -> None:
        site = folder / "site.toml"
        site.write_text(text, encoding="utf-8")
        self.site = str(site)
        request = BuildRequest(
            site=self.site, first=first, through=through, out=str(folder / "set")
        )
        self.answer = build(request, NOW)
        self.files = {p.name: p.read_bytes() for p in sorted((folder / "set").iterdir())}

    def rows(self, name: str) -> list[Row]:
        return rows_of(self.files[name])

    def document(self, name: str) -> Any:
        return json.loads(self.files[name])


def year(text: str, number: int = 2027) -> Exact:
    return exact(text, f"{number}-01-01", f"{number}-12-31")


def on_rows(rows: Iterable[Row], cause: str = "") -> list[Row]:
    return [r for r in rows if r["action"] == "on" and r["cause"].startswith(cause)]


def dated(rows: Iterable[Row], day: str, action: str = "") -> list[Row]:
    return [r for r in rows if r["date"] == day and r["action"].startswith(action)]


def instant_of(row: Row) -> datetime:
    """The instant of a row, which its local and its UTC columns must agree on."""
    local = datetime.fromisoformat(f"{row['date']}T{row['time']}{row['utc_offset']}")
    assert local == datetime.fromisoformat(row["utc"])
    assert row["weekday"] == f"{local:%a}".lower()
    return local


def assert_switches(rows: Iterable[Row], local: str, tolerance_seconds: int, cause: str) -> None:
    """Just one row on the local date of an expected instant, within the tolerance."""
    wanted = datetime.fromisoformat(local)
    (row,) = [r for r in dated(rows, local[:10]) if r["cause"].startswith(cause)]
    assert instant_of(row).utcoffset() == wanted.utcoffset()
    assert abs((instant_of(row) - wanted).total_seconds()) <= tolerance_seconds


def days_from(first: str, count: int) -> Iterator[str]:
    return (str(date.fromisoformat(first) + timedelta(days=i)) for i in range(count))


def test_evening_light_is_listed_a_day_early_west_of_greenwich(tmp_path: Path) -> None:
    text = site_text(
        Place(34.1753, -118.9833, "America/Los_Angeles"),
        ["on from dusk until 23:30"],
        site=CIVIL,
        types='sign = ["on from sunset until 23:30"]',
        more=SUNSET_SIGN,
    )
    rows = Built(tmp_path, text, "2027-07-01", "2027-07-31").rows("table.csv")
    assert_switches(rows, "2027-07-10T20:10:04-07:00", 30, "sunset")
    assert_switches(rows, "2027-07-10T20:38:52-07:00", 30, "dusk")
    (sunset,) = on_rows(dated(rows, "2027-07-10"), "sunset")
    (dusk,) = on_rows(dated(rows, "2027-07-10"), "dusk")
    for row, utc in ((sunset, "2027-07-11T03:10:04+00:00"), (dusk, "2027-07-11T03:38:52+00:00")):
        assert abs(instant_of(row) - datetime.fromisoformat(utc)) <= timedelta(seconds=30)
    dusks = [r["date"] for r in on_rows(year(text).table(), "dusk")]
    assert dusks == list(days_from("2027-01-01", 365))


def test_bright_nights_and_a_dusk_after_midnight_are_mixed_up(tmp_path: Path) -> None:
    text = site_text(ANCHORAGE, ["on from dusk until dawn"], site=CIVIL)
    found = year(text)
    dusks = on_rows(found.table(), "dusk")
    assert abs(len(dusks) - 338) <= 2
    # Evenings of 8 June to 2 July surely have no dusk; at the edges the sun grazes the level.
    for day in days_from("2027-06-08", 25):
        assert found.asked(day) == "dark"
        assert found.empty(day) == ["sun never that low"]
    assert dated(found.table(), "2027-06-21") == []
    assert dated(dusks, "2027-05-17") == []
    dark = [datetime.fromisoformat(f"2027-05-18T{t}-08:00") for t in ("00:00:37", "03:50:49")]
    lit = [instant_of(r) for r in dated(found.table(), "2027-05-18")]
    assert all(abs(a - b) <= timedelta(seconds=60) for a, b in zip(lit, dark, strict=True))
    assert found.asked("2027-05-17") == "dusk Tue 00:00 on, dawn Tue 03:50 off"
    two = [instant_of(r) for r in on_rows(dated(found.table(), "2027-07-28"), "dusk")]
    expected = ("2027-07-28T00:01:47-08:00", "2027-07-28T23:58:00-08:00")
    for seen, wanted in zip(two, expected, strict=True):
        assert abs(seen - datetime.fromisoformat(wanted)) <= timedelta(seconds=60)
    site = tmp_path / "site.toml"
    site.write_text(text, encoding="utf-8")
    answer = " ".join(why(str(site), "2027-05-18 02:00", NOW).text.split())
    assert "Lot: lit. Since Tue 18 May 2027, 00:00:3" in answer
    assert "Mon 17 May" in answer


def test_a_june_night_gets_the_dusk_of_july() -> None:
    civil = site_text(
        FAIRBANKS,
        ["on from dusk until dawn"],
        site=CIVIL,
        types='sign = ["on from sunset until sunrise"]',
        more=SUNSET_SIGN,
    )
    found = exact(civil, "2027-06-15", "2027-06-21")
    rows = found.table()
    assert on_rows(rows, "dusk") == []
    assert found.day("2027-06-18") == "dark"
    assert_switches(rows, "2027-06-18T00:48:30-08:00", 60, "sunset")
    assert_switches(rows, "2027-06-18T02:56:36-08:00", 60, "sunrise")


@pytest.mark.parametrize(
    ("definition", "local", "tolerance_seconds"),
    [
        ("sunset", "2027-07-16T21:55:20+02:00", 30),
        ("sun 6 deg below horizon", "2027-07-16T22:40:53+02:00", 30),
        ("sun 12 deg below horizon", "2027-07-16T23:47:45+02:00", 45),
        ("sun 18 deg below horizon", None, 0),
    ],
)
def test_dusk_means_another_darkness_than_the_reader_thinks(
    tmp_path: Path, definition: str, local: str | None, tolerance_seconds: int
) -> None:
    place = Place(52.1743, 4.5235, "Europe/Amsterdam")
    site = f'dusk = "{definition}"\ntolerance = "10 min"'
    text = site_text(place, ["on from dusk until 01:00"], site=site)
    built = Built(tmp_path, text, "2027-07-15", "2027-07-17")
    rows, shown = built.rows("table.csv"), f"dusk ({definition})"
    if local is None:
        assert rows == []
        assert shown in built.files["check.json"].decode()
        assert shown in render(built.answer.findings).replace("\n", " ")
        return
    assert_switches(rows, local, tolerance_seconds, "dusk")
    assert {r["cause"] for r in on_rows(rows)} - {"period begins"} == {shown}
    lighting = [r["purpose"] for r in built.rows("events.csv") if r["action"] == "on"]
    needed = [purpose for purpose in lighting if not purpose.startswith("safety repeat of slot ")]
    assert needed
    assert all(shown in purpose for purpose in needed)
    assert shown in built.files["transfer.json"].decode()
    told = " ".join(built.answer.text.split())
    assert f"dusk {definition}" in told or f"dusk is {definition}" in told


def test_a_high_plain_is_taken_for_a_tower() -> None:
    text = site_text(
        DENVER,
        ["on from dusk until 23:30"],
        site=CIVIL,
        types='sign = ["on from sunset until 23:30"]',
        more=SUNSET_SIGN,
    )
    rows = exact(text, "2027-06-20", "2027-06-22").table()
    assert_switches(rows, "2027-06-21T21:04:06-06:00", 60, "dusk")
    assert_switches(rows, "2027-06-21T20:31:25-06:00", 60, "sunset")
    # An elevation cannot be given at all, so it cannot shift anything in silence.
    site, found = read(site_text(DENVER, ["on from dusk until 23:30"], site="elevation_m = 1609"))
    assert site is None
    assert "elevation_m is not known" in render(found)


def test_off_time_in_the_skipped_hour_is_lost(tmp_path: Path) -> None:
    text = site_text(NEW_YORK, ["on from dusk until 02:30"], site=CIVIL)
    built = Built(tmp_path, text, "2027-03-10", "2027-03-18")
    assert built.answer.exit_code == 0
    rows = built.rows("table.csv")
    assert_switches(rows, "2027-03-13T18:27:43-05:00", 30, "dusk")
    (off,) = dated(rows, "2027-03-14", "off")
    assert off["utc"] in ("2027-03-14T07:00:00Z", "2027-03-14T07:30:00Z")
    assert off["time"] != "02:30:00"
    assert (off["utc"], off["time"]) == ("2027-03-14T07:00:00Z", "03:00:00")
    notes = [f for f in built.answer.findings if f.severity is Severity.NOTE]
    (told,) = [f for f in notes if "the clock skips 02:30 on Sun 14 Mar 2027" in f.title]
    assert "done at 03:00" in told.why
    (change,) = built.document("check.json")["clock_changes"]
    assert change["utc"] == "2027-03-14T07:00:00Z"
    # Nobody is told a state for a time that no clock shows.
    asked = why(built.site, "2027-03-14 02:30", NOW)
    assert asked.exit_code == 2
    assert "03:00" in render(asked.findings)
    for before, after in (("2027-03-14 01:59", "lit"), ("2027-03-14 03:00", "dark")):
        assert f"Lot: {after}." in why(built.site, before, NOW).text


def test_off_time_in_the_repeated_hour_is_done_twice(tmp_path: Path) -> None:
    text = site_text(NEW_YORK, ["on from dusk until 01:30"], site=CIVIL)
    built = Built(tmp_path, text, "2027-11-04", "2027-11-10")
    assert built.answer.exit_code == 0
    rows = built.rows("table.csv")
    assert_switches(rows, "2027-11-06T18:15:29-04:00", 30, "dusk")
    offs = dated(rows, "2027-11-07", "off")
    assert [r["utc"] for r in offs] == ["2027-11-07T05:30:00Z"]
    assert len(offs) == 1
    assert any("shows 01:30 twice" in f.title for f in built.answer.findings)
    told = why(built.site, "2027-11-07 01:30", NOW).text
    assert (told.count("pass 1 of 2"), told.count("pass 2 of 2")) == (1, 1)
    assert told.count("Lot: dark.") == 2


def test_winter_flagged_as_summer_time_moves_the_clock() -> None:
    text = site_text(DUBLIN, ["on from dusk until 23:30"], site=CIVIL)
    rows = year(text).table()
    assert_switches(rows, "2027-01-15T17:17:18+00:00", 30, "dusk")
    assert_switches(rows, "2027-07-15T22:33:59+01:00", 30, "dusk")


def test_an_old_zone_table_is_an_hour_wrong_all_winter(tmp_path: Path) -> None:
    text = site_text(VANCOUVER, ["on from dusk until dawn"], site=f'{CIVIL}\ntolerance = "10 min"')
    built = Built(tmp_path, text, "2027-01-01", "2027-12-31")
    rows = built.rows("table.csv")
    assert_switches(rows, "2027-01-15T18:18:14-07:00", 30, "dusk")
    assert_switches(rows, "2027-01-15T08:26:01-07:00", 30, "dawn")
    assert {r["utc_offset"] for r in rows} == {"-07:00"}
    check, transfer = built.document("check.json"), built.document("transfer.json")
    assert len(check["clock_changes"]) == 0
    for document in (check, transfer):
        assert document["versions"]["tzdata"] >= "2026.6"


def test_est_is_taken_for_eastern_time() -> None:
    windows = ["on from dusk until 23:30"]
    place = Place(NEW_YORK.latitude, NEW_YORK.longitude, "EST")
    site, found = read(site_text(place, windows, site=CIVIL))
    assert site is None
    (refused,) = found
    assert refused.severity is Severity.PROBLEM
    assert "EST" in refused.title
    assert refused.fix.splitlines()[1] == 'timezone = "America/New_York"'
    rows = exact(site_text(NEW_YORK, windows, site=CIVIL), "2027-07-03", "2027-07-05").table()
    assert_switches(rows, "2027-07-04T21:03:37-04:00", 30, "dusk")


def test_new_years_day_off_in_december_falls_between_two_years(tmp_path: Path) -> None:
    holidays = 'holidays = { country = "US", observed = true }'
    text = site_text(
        FLAGSTAFF,
        ["on from dusk until 22:00"],
        site=f'{holidays}\ntolerance = "10 min"',
        calendar=["every day: usual", "holidays: dark"],
    )
    built = Built(tmp_path, text, "2027-01-01", "2027-12-31")
    used = built.document("check.json")["holidays"]["used"]
    dark = sorted(set(days_from("2027-01-01", 365)) - {r["date"] for r in built.rows("table.csv")})
    assert sorted({u["date"] for u in used}) == dark
    assert len(dark) == 15
    observed = ["2027-06-18", "2027-07-05", "2027-12-24", "2027-12-31"]
    assert set(observed) <= set(dark)
    assert sorted(u["date"] for u in used if "observed" in u["name"]) == observed
    next_year = year(text, 2028)
    lit = {r["date"] for r in next_year.table()}
    assert "2028-01-01" not in lit
    assert {"2028-12-31", "2028-01-03"} <= lit


def test_the_29th_of_february_moves_to_march() -> None:
    text = site_text(
        DALLAS,
        ["on from dusk until 22:00"],
        site=CIVIL,
        calendar=["every day: usual", "feb 1 to feb 29 evenings: late", "feb 29: night"],
        types='late = ["on from dusk until 23:00"]\nnight = ["on from dusk until dawn"]',
    )
    for number, dates, nights in ((2027, 365, []), (2028, 366, ["2028-02-29"])):
        found = year(text, number)
        assert len(found.circuit().decided) == 2 * dates
        assert len(on_rows(found.table(), "dusk")) == dates
        assert sorted({r["date"] for r in on_rows(found.table()) if r["day_type"] == "night"}) == (
            nights
        )
        told = [f for f in found.findings if "decides nothing" in f.title]
        assert [f.at.text if f.at else "" for f in told] == ([] if nights else ["feb 29: night"])
    common, leap = year(text, 2027), year(text, 2028)
    assert common.asked("2027-02-28").endswith("23:00 off")
    assert common.asked("2027-03-01").endswith("22:00 off")
    assert leap.asked("2028-02-28").endswith("23:00 off")
    assert leap.asked("2028-03-01").endswith("22:00 off")
    assert_switches(leap.table(), "2028-02-29T18:48:54-06:00", 30, "dusk")
    assert_switches(leap.table(), "2028-03-01T06:29:29-06:00", 30, "dawn")


def test_a_season_over_new_year_becomes_its_opposite() -> None:
    text = site_text(
        FLAGSTAFF,
        ["on from dusk until 22:00"],
        calendar=["every day: usual", "nov 15 to jan 15: season"],
        types='season = ["on from dusk until 23:00"]',
    )
    rows = year(text).table()
    offs = {r["date"]: r["time"][:5] for r in rows if r["action"] == "off"}
    assert len(offs) == 365
    assert sum(time == "23:00" for time in offs.values()) == 62
    expected = {
        "2027-01-15": "23:00",
        "2027-01-16": "22:00",
        "2027-11-14": "22:00",
        "2027-11-15": "23:00",
    }
    assert {day: offs[day] for day in expected} == expected


def test_the_small_hours_of_friday_night_follow_saturdays_line() -> None:
    text = site_text(
        DALLAS,
        ["on from dusk until 22:00"],
        calendar=["every day: usual", "fri, sat: late"],
        types='late = ["on from dusk until 02:00"]',
    )
    offs = {
        f"{r['date']}T{r['time'][:5]}{r['utc_offset']}"
        for r in exact(text, "2027-01-01", "2028-01-01").table()
        if r["action"] == "off"
    }
    assert {"2027-03-06T02:00-06:00", "2027-03-07T02:00-06:00"} <= offs
    assert not {"2027-03-05T02:00-06:00", "2027-03-08T02:00-06:00"} & offs
    assert "2027-03-07T22:00-06:00" in offs
    late = sorted(off for off in offs if "T02:00" in off or "T03:00" in off)
    assert len(late) == 105
    assert late[-1] == "2028-01-01T02:00-06:00"


def test_a_longitude_without_its_minus_puts_the_night_at_noon() -> None:
    windows = ["on from sunset until 23:30"]
    site, found = read(site_text(Place(40.7672, 111.9029, "America/Denver"), windows))
    assert site is None
    assert has_problem(found)
    (stopped,) = found
    assert "the sign of the longitude is wrong" in stopped.title
    assert "longitude = -111.9029" in stopped.fix.splitlines()
    right = site_text(Place(40.7672, -111.9029, "America/Denver"), windows)
    rows = exact(right, "2027-06-14", "2027-06-16").table()
    assert_switches(rows, "2027-06-15T21:00:43-06:00", 30, "sunset")


@pytest.mark.parametrize(
    ("latitude", "longitude"),
    [
        ('"47,3769"', '"8,5417"'),
        ("47,3769", "8,5417"),
        ('"47,3769 8,5417"', "8.5417"),
        ('"47,3769,8,5417"', "8.5417"),
        ("47.3769", '"8,5417"'),
    ],
)
def test_a_decimal_comma_drops_half_of_a_coordinate(latitude: str, longitude: str) -> None:
    text = site_text(Place(47.3769, 8.5417, "Europe/Zurich"), ["on from dusk until 23:30"])
    site, found = read(
        text.replace("latitude = 47.3769", f"latitude = {latitude}").replace(
            "longitude = 8.5417", f"longitude = {longitude}"
        )
    )
    assert site is None
    assert all(
        f.at is not None and ("latitude" in f.at.line_text or "longitude" in f.at.line_text)
        for f in found
    )
    assert found


def test_coordinates_with_points_are_used_in_full() -> None:
    text = site_text(
        Place(47.3769, 8.5417, "Europe/Zurich"), ["on from dusk until 23:30"], site=CIVIL
    )
    rows = exact(text, "2027-03-19", "2027-03-21").table()
    assert_switches(rows, "2027-03-20T19:08:37+01:00", 30, "dusk")


def test_day_and_month_are_guessed_value_by_value() -> None:
    def lines(*dates: str) -> str:
        calendar = ["every day: usual", *(f"{day}: dark" for day in dates)]
        return site_text(DENVER, ["on from dusk until 23:00"], calendar=calendar)

    for wrong in ("12.07.2027", "13.07.2027", "07/12/2027", "12/07/2027", "03/04"):
        site, found = read(lines(wrong))
        assert site is None
        (asked,) = found
        assert asked.severity is Severity.PROBLEM
        assert wrong in asked.title
    _, found = read(lines("12.07.2027"))
    assert {"2027-07-12: dark", "2027-12-07: dark"} <= set(found[0].fix.splitlines())
    site, found = read(lines("2027-07-12"))
    assert site is not None
    assert site.circuits[0].calendar[1].dates.dates == SingleDate(date(2027, 7, 12))


def test_a_curfew_before_dusk_lights_the_whole_next_day() -> None:
    text = site_text(
        Place(55.9533, -3.1883, "Europe/London"),
        ["on from dusk until 22:00"],
        site=CIVIL,
        types='sign = ["on from dusk until 23:59"]',
        more=SUNSET_SIGN,
    )
    found = year(text)
    rows = [r for r in found.table() if r["circuit"] == "Lot"]
    unlit = set(days_from("2027-01-01", 365)) - {r["date"] for r in rows}
    assert abs(len(unlit) - 85) <= 1
    ons, offs = on_rows(rows), [r for r in rows if r["action"] == "off"]
    longest = max(instant_of(b) - instant_of(a) for a, b in zip(ons, offs, strict=True))
    assert longest < timedelta(hours=24)
    assert longest < timedelta(hours=7)
    assert {r["date"] for r in ons} == {r["date"] for r in offs}
    (told,) = [f for f in found.findings if "lights nothing" in f.title and "22:00" in f.title]
    assert f"on {len(unlit)} dates" in told.title
    assert "its end comes before its start" in told.why
    signs = [r for r in found.table() if r["circuit"] == "Sign"]
    assert_switches(signs, "2027-06-21T23:05:17+01:00", 45, "dusk")
    # 11 May has 28 seconds of light: shown as they are, left out where shortest_on says so.
    assert len(dated(rows, "2027-05-11", "on")) == 1
    suppressed = exact(
        text.replace('"none"', '"none"\nshortest_on = "1 min"', 1), "2027-05-10", "2027-05-12"
    )
    assert suppressed.day("2027-05-11") == "dark"
    assert len(suppressed.circuit().dropped) == 1


def test_a_name_runs_as_a_formula_in_the_owners_spreadsheet(tmp_path: Path) -> None:
    name = '=HYPERLINK("x") Yard'
    types = {
        "@dusk": "on from dusk until 22:00",
        "-all off": "on from dusk until 22:30",
        "+30 after dusk": "on from dusk + 30 min until 23:00",
    }
    text = site_text(
        FLAGSTAFF,
        calendar=["mon-wed: @dusk", "thu, fri: -all off", "sat, sun: +30 after dusk"],
        types="\n".join(f'"{key}" = ["{window}"]' for key, window in types.items()),
        circuit='lamps = "4 x 100 W"',
        more='[[one_off]]\ncircuit = "Lot"\nlit = "2027-01-03 22:00 until 2027-01-03 23:30"\n'
        "because = '-sale, \"big\"'\n",
    )
    text = text.replace("Test lot", name.replace('"', '\\"')).replace('"Lot"', "'@Lot, \"west\"'")
    built = Built(tmp_path, text, "2027-01-01", "2027-01-14")
    assert built.answer.exit_code == 0
    for file in ("table.csv", "events.csv"):
        for row in built.rows(file):
            for column, cell in row.items():
                numeric = column in ("utc_offset", "offset_min")
                assert numeric or not cell.startswith(("=", "+", "-", "@", "\t", "\r")), cell
    rows = built.rows("table.csv")
    assert {r["circuit"] for r in rows} == {'\'@Lot, "west"'}
    assert {r["day_type"] for r in rows} - {""} == {f"'{key}" for key in types}
    assert {r["utc_offset"] for r in rows} == {"-07:00"}
    for document in (built.document("check.json"), built.document("transfer.json")):
        assert document["site"]["name"] == name
        assert document["site"]["longitude_degrees"] == -111.6513
    # A name with a line break or a tab cannot come in at all.
    for sign in ("\\n", "\\t"):
        site, found = read(text.replace("'@Lot, \"west\"'", f'"@Lot{sign}west"'))
        assert site is None
        assert "line break" in render(found)


NAME = "Łódź – plac → 5° ☀ −2 ø"
CIRCUIT = "Właściciel’s lot → 3°"
BECAUSE = "święto – ☀ −1 → ’x’"
GLYPHS = "Ł–→°’−łø☀"


def lodz() -> str:
    text = site_text(
        Place(51.7592, 19.456, "Europe/Warsaw"),
        ["on from dusk until 23:00"],
        site='tolerance = "10 min"',
        more='[[one_off]]\ncircuit = "Lot"\nlit = "2027-06-18 21:00 until 2027-06-19 00:30"\n'
        f'because = "{BECAUSE}"\n[people]\nowner = "{NAME}"\n',
    )
    return text.replace("Test lot", NAME).replace('"Lot"', f'"{CIRCUIT}"')


def run_build(folder: Path, environment: dict[str, str]) -> subprocess.CompletedProcess[bytes]:
    (folder / "site.toml").write_text(lodz(), encoding="utf-8")
    period = ("--from", "2027-06-01", "--through", "2027-06-30")
    return subprocess.run(
        [sys.executable, "-m", "schedcomp", "build", "site.toml", *period, "--out", "set"],
        cwd=folder,
        env={**os.environ, "SOURCE_DATE_EPOCH": str(NOW), **environment},
        capture_output=True,
        timeout=120,
        check=False,
    )


def test_an_owners_name_is_misspelt_on_what_is_handed_over(tmp_path: Path) -> None:
    done = run_build(tmp_path, {"PYTHONIOENCODING": "utf-8"})
    assert (done.returncode, done.stderr) == (0, b"")
    shown = done.stdout.decode("utf-8")
    assert NAME in shown
    assert CIRCUIT in shown
    data = (".csv", ".json", ".svg", ".html")
    paths = [p for p in (tmp_path / "set").iterdir() if p.suffix in data]
    files = {p.name: p.read_bytes().decode("utf-8") for p in paths}
    assert {"table.csv", "events.csv", "transfer.json", "check.json", "sheet.html"} <= files.keys()
    for name, text in files.items():
        assert CIRCUIT in text, name
        assert "?" not in text or name == "sheet.html", name
    assert BECAUSE in files["table.csv"]
    assert NAME in files["transfer.json"]
    assert NAME in files["check.json"]
    assert set(GLYPHS) <= set(files["transfer.json"])


def test_a_terminal_without_these_letters_stops_the_build(tmp_path: Path) -> None:
    plain = {"LANG": "C", "LC_ALL": "C", "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = run_build(tmp_path, plain)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"program code" in done.stdout
    done.stdout.decode("ascii")
    other = tmp_path / "other"
    other.mkdir()
    assert run_build(other, {"PYTHONIOENCODING": "utf-8"}).returncode == 0
    for path in (tmp_path / "set").iterdir():
        assert path.read_bytes() == (other / "set" / path.name).read_bytes()
