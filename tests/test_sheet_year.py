"""A sheet of a whole year, judged by other means than those that made it."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import ephem
import pytest

from schedcomp import controllerfile, pipeline, sitefile
from schedcomp.compiled import Compiled
from schedcomp.controller import SUNRISE_LEVEL_DEGREES, Controller, SunStart
from schedcomp.model import ONE_DAY, Half, Period
from schedcomp.records import replace
from schedcomp.report.strip import strip
from schedcomp.sheet.commissioning import display_page
from schedcomp.sheet.facts import SheetFacts, sheet_facts
from schedcomp.sheet.faulttable import fault_table, wrong_settings
from schedcomp.sheet.firings import firings
from schedcomp.sheet.lit import dark_nights, night_lines
from schedcomp.sheet.making import Job
from schedcomp.sheet.months import baseline_hours
from schedcomp.sheet.wording import Hand
from tests.sheets import job, making, page, texts

SAMPLE = Path(__file__).parents[1] / "sample_sites" / "flagstaff_lodge_sign.toml"
PHOENIX_SECONDS = -7 * 3600


@pytest.fixture(scope="module")
def compiled() -> Compiled:
    site, _ = sitefile.load_site(SAMPLE)
    assert site is not None
    controller, _ = controllerfile.load_controller(site.controller, site.folder, None)
    assert isinstance(controller, Controller)
    made, _ = pipeline.compile(site, Period(date(2027, 1, 1), date(2027, 12, 31)), controller)
    assert made is not None
    assert made.may_write_program
    return made


@pytest.fixture(scope="module")
def made(compiled: Compiled) -> SheetFacts:
    return sheet_facts(compiled, making(commission=date(2027, 2, 3)))


@pytest.fixture(scope="module")
def display(compiled: Compiled) -> str:
    """The page for a unit at the same place that knows the sun."""
    starts = (
        SunStart(word="sunrise", half=Half.MORNING, level_degrees=SUNRISE_LEVEL_DEGREES),
        SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES),
    )
    sunny = replace(compiled, controller=replace(compiled.controller, sun_starts=starts))
    given = Job(compiled=sunny, making=making(commission=date(2027, 2, 3)))
    return "\n".join(texts(display_page(given).blocks))


def sun_of_ephem(latitude: float, longitude: float, day: date, rising: bool) -> datetime:
    """Standard sunrise or sunset near a date's noon in Arizona, by another library, on its clock.

    The one nearest to 06:00 or 18:00 of the clock that the place's own sun would keep.
    """
    place = ephem.Observer()
    place.lat, place.lon = str(latitude), str(longitude)
    place.pressure, place.horizon = 0, "-0:34"  # of the upper limb
    noon = datetime(day.year, day.month, day.day, 12, tzinfo=UTC) - timedelta(hours=longitude / 15)
    place.date = noon.replace(tzinfo=None)
    sun = ephem.Sun()
    found = place.previous_rising(sun) if rising else place.next_setting(sun)
    instant: datetime = found.datetime()
    return instant + timedelta(seconds=PHOENIX_SECONDS)


def close(shown: str, right: datetime) -> bool:
    hours, minutes = map(int, shown.split(":"))
    apart = abs(hours * 60 + minutes - right.hour * 60 - right.minute - right.second / 60)
    return min(apart, 1440 - apart) <= 1.5


def test_what_the_display_must_show_by_another_library(compiled: Compiled, display: str) -> None:
    site = compiled.site
    lines = [line for line in display.splitlines() if "standard time |" in line]
    assert len(lines) == 14
    for offset, line in enumerate(lines):
        _, sunrise, sunset, *_ = line.split(" | ")
        day = date(2027, 2, 3) + offset * ONE_DAY
        place = site.latitude_degrees, site.longitude_degrees
        assert close(sunrise, sun_of_ephem(*place, day, True)), line
        assert close(sunset, sun_of_ephem(*place, day, False)), line


@pytest.mark.parametrize(
    ("words", "signs"), [("longitude has the wrong sign", (1, -1)), ("latitude has", (-1, 1))]
)
def test_faults_by_another_library(
    compiled: Compiled, display: str, words: str, signs: tuple[int, int]
) -> None:
    [line] = [text for text in display.splitlines() if words in text]
    _, sunrise, sunset, _ = line.split(" | ")
    site = compiled.site
    place = site.latitude_degrees * signs[0], site.longitude_degrees * signs[1]
    assert close(sunrise, sun_of_ephem(*place, date(2027, 2, 3), True)), line
    assert close(sunset, sun_of_ephem(*place, date(2027, 2, 3), False)), line


def test_a_unit_without_sun_is_judged_by_its_clock(made: SheetFacts) -> None:
    faults = page(made, "display").partition("something else")[2]
    assert "AM and PM are exchanged" in faults
    assert "longitude" not in faults
    assert "summer time" not in faults  # there is none in Arizona


def test_an_hour_off(display: str) -> None:
    lines = display.splitlines()
    [right] = [text for text in lines if "all is right" in text]
    for words, hours in (("an hour too far west", -1), ("an hour too far east", 1)):
        [line] = [text for text in lines if words in text]
        for good, bad in zip(right.split(" | ")[1:3], line.split(" | ")[1:3], strict=True):
            assert int(bad[:2]) - int(good[:2]) == hours
            assert bad[2:] == good[2:]


@pytest.mark.parametrize(
    ("zone_name", "place", "summer", "minutes", "words"),
    [
        # IANA tz database: half an hour on Lord Howe Island, two hours at the Troll station.
        ("Australia/Lord_Howe", (-31.55, 159.08), 1, 30, "30 min"),
        ("Antarctica/Troll", (-72.01, 2.54), 7, 120, "2 h"),
        ("Europe/Madrid", (40.42, -3.70), 7, 60, "an hour"),
    ],
)
def test_summer_time_off_is_as_much_as_the_clock_changes_there(
    compiled: Compiled,
    zone_name: str,
    place: tuple[float, float],
    summer: int,
    minutes: int,
    words: str,
) -> None:
    latitude, longitude = place
    there = replace(
        compiled.site,
        timezone=zone_name,
        latitude_degrees=latitude,
        longitude_degrees=longitude,
    )
    given = Job(compiled=replace(compiled, site=there), making=making())
    for month in (1, 7):
        day = date(2027, month, 20)
        is_summer = month == summer
        here = given.unit_zone(day - ONE_DAY, day + ONE_DAY)
        [(name, shown)] = [
            (name, shown)
            for name, shown in wrong_settings(given, here, day)
            if name.startswith("summer time is")
        ]
        assert name.startswith("summer time is off" if is_summer else "summer time is on")
        assert ("time zone" in name) == (minutes == 60)
        assert shown.shift == (-60 if is_summer else 60) * minutes
        told = fault_table(given, day).rows[0][0].text
        assert told.startswith(f"{words} {'behind' if is_summer else 'ahead'}")


def test_the_full_test_has_every_slot_once(compiled: Compiled, made: SheetFacts) -> None:
    program = compiled.fitted.program
    assert program is not None
    full = page(made, "tests").partition("3. Full test")[2].partition("Set everything back")[0]
    slots = [int(found) for found in re.findall(r"^(\d+) \| ", full, re.MULTILINE)]
    assert slots == [event.slot for event in program.events]


def test_the_short_test_is_short(made: SheetFacts) -> None:
    short = page(made, "tests").partition("2. Short test")[2].partition("3. Full test")[0]
    rows = re.findall(r"^(\d+) \| .*goes (ON|OFF)", short, re.MULTILINE)
    assert 4 <= len(rows) <= 10
    assert {way for _, way in rows} == {"ON", "OFF"}


def test_every_test_line_is_a_firing_that_the_test_run_saw(compiled: Compiled) -> None:
    program = compiled.fitted.program
    assert program is not None
    assert compiled.audit is not None
    seen = {(t, action) for t, action, _ in compiled.audit.exact_run.of_channel(1)}
    found = firings(compiled, program, date(2027, 2, 3))
    assert all((f.instant, f.event.action) in seen for f in found if f.changes)
    assert all(f.changes for f in found if not f.event.safety)


def test_the_counter_is_the_sum_of_the_months(compiled: Compiled, made: SheetFacts) -> None:
    text = page(made, "months")
    assert "December" in text
    [last] = [line for line in text.splitlines() if line.startswith("December")]
    assert last.split(" | ")[-1] == f"{compiled.energy[0].hours:,.0f}"
    [lit] = compiled.year.circuits
    whole = sum(
        max(0, min(s.end, compiled.year.end) - max(s.start, compiled.year.start)) for s in lit.spans
    )
    assert compiled.energy[0].hours == pytest.approx(whole / 3600)


def test_the_baseline_is_never_less_than_what_is_lit_between_dusk_and_dawn(
    compiled: Compiled,
) -> None:
    """At 35 N: 4,380 h less twice 10 and 20 minutes a night and what refraction adds to days."""
    hours = sum(baseline_hours(job(compiled)).values())
    assert 4100 < hours < 4250
    assert hours > compiled.energy[0].hours


def test_night_lines_and_strip_agree(compiled: Compiled) -> None:
    [lit] = compiled.year.circuits
    zone = compiled.world.zone
    for day in (date(2027, 1, 5), date(2027, 3, 14), date(2027, 6, 18), date(2027, 12, 24)):
        lines = night_lines(lit, zone, day, Hand())
        drawn = strip((lit,), zone, day)
        assert drawn.startswith("noon .")
        signs = drawn.split()[1].replace("|", "")
        for line in lines:
            start, end = line.split(" to ")
            for reading, state in ((start, "#"), (end, ".")):
                hours, minutes = map(int, reading.split(":"))
                place = ((hours - 12) % 24 * 60 + minutes + 15) // 30
                assert signs[place] == state, (day, line, drawn)


def test_no_night_of_the_sample_is_dark(compiled: Compiled) -> None:
    [lit] = compiled.year.circuits
    assert dark_nights(compiled.year, lit, compiled.world.zone) == ()


def test_the_drawing_has_a_column_for_every_night(made: SheetFacts) -> None:
    [picture] = made.pictures
    assert len(picture.columns) == 366
    assert picture.columns[0] == date(2026, 12, 31)
    blocks = re.search(r'class="lit" d="([^"]+)"', picture.svg)
    assert blocks is not None
    assert 366 <= blocks[1].count("z") <= 3 * 366
    assert len(picture.svg) < 80_000
