"""Figures of the trade (hours lit in a year, hours left by a curfew, energy) against whole years.

The table is `authority/handbook.csv`; each row names where its figure is published or how it was
measured. Every figure is had the way a user would have it: from the text of a site file.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from schedcomp.asked import calendar_year
from schedcomp.diag import Source, render
from schedcomp.energy import Energy, energy_of
from schedcomp.expand import expand
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Period
from schedcomp.records import Record
from schedcomp.sitefile import site_from_source
from schedcomp.world import World, read_world
from schedcomp.year import Year

TABLE = Path(__file__).parent / "authority" / "handbook.csv"

GMT = "Africa/Abidjan"
"""A zone that shows Greenwich time all year."""

PLACES = {
    "Denver": (39.7392, -104.9903, "America/Denver"),
    "Paris": (48.8566, 2.3522, "Europe/Paris"),
    "Phoenix": (33.4484, -112.0740, "America/Phoenix"),
    "Seattle": (47.6062, -122.3321, "America/Los_Angeles"),
    "Ljubljana": (46.0569, 14.5058, "Europe/Ljubljana"),
    "Stuttgart": (48.7758, 9.1829, "Europe/Berlin"),
    "Edinburgh": (55.9533, -3.1883, "Europe/London"),
    "Amsterdam": (52.3676, 4.9041, "Europe/Amsterdam"),
    "39.785 -85.769": (39.785, -85.769, "America/Indiana/Indianapolis"),
    "41.662 -86.159": (41.662, -86.159, "America/Indiana/Indianapolis"),
    "52.5 -1.5": (52.5, -1.5, "Europe/London"),
    "51.27 0.52": (51.27, 0.52, "Europe/London"),
    "53.1 -1.6": (53.1, -1.6, "Europe/London"),
}
"""Town centres (degrees); sources give towns by name only, which is worth up to some minutes."""

IN_ZONE = {
    "America/New_York": (40.7128, -74.0060, "America/New_York"),
    "America/Vancouver": (49.2827, -123.1207, "America/Vancouver"),
    "America/Edmonton": (53.5461, -113.4938, "America/Edmonton"),
    "America/Phoenix": PLACES["Phoenix"],
    "Africa/Casablanca": (33.5731, -7.5898, "Africa/Casablanca"),
    "Antarctica/Troll": (-72.0114, 2.5350, "Antarctica/Troll"),
    "Australia/Lord_Howe": (-31.5500, 159.0800, "Australia/Lord_Howe"),
    "Europe/Paris": PLACES["Paris"],
}
"""A place in each zone; where exactly does not matter, no sun time is asked for."""

DEFINITIONS = {
    "sunset to sunrise": ("sunset", "sunrise"),
    "civil dusk to civil dawn": ("sun 6 deg below horizon", "sun 6 deg below horizon"),
    "sun 3 deg below horizon": ("sun 3 deg below horizon", "sun 3 deg below horizon"),
    "half an hour inside both ends": ("sunset + 30 min", "sunrise - 30 min"),
    "an hour inside both ends": ("sunset + 1 h", "sunrise - 1 h"),
}

WHOLE_HOURS = 0.75
"""Hours: half of the last figure printed, and the same again for the place of a town."""

TENTHS = 0.3
"""Hours: published to 0.1 h, with other tables of the Sun and of the Earth's turning."""


class Row(Record):
    topic: str
    place: str
    period: str
    value: str
    unit: str
    source: str

    @property
    def number(self) -> float:
        return float(self.value)

    @property
    def tolerance_hours(self) -> float:
        return TENTHS if "." in self.value else WHOLE_HOURS

    @property
    def located(self) -> tuple[float, float, str]:
        """Latitude and longitude in degrees, and the zone."""
        if self.place in PLACES:
            return PLACES[self.place]
        latitude, longitude = self.place.split()
        return float(latitude), float(longitude), GMT


with TABLE.open(encoding="utf-8", newline="") as _file:
    ROWS = tuple(Row(**row) for row in csv.DictReader(_file))


def rows(*starts: str) -> pytest.MarkDecorator:
    """The rows whose topic begins with one of these."""
    chosen = [row for row in ROWS if row.topic.startswith(starts)]
    assert chosen
    return pytest.mark.parametrize(
        "row", chosen, ids=[f"{r.topic}, {r.place}, {r.period}" for r in chosen]
    )


class Built(Record):
    world: World
    year: Year
    energy: Energy


def built(
    place: tuple[float, float, str],
    period: Period,
    window: str,
    *,
    dusk: str = "sunset",
    dawn: str = "sunrise",
    keep_dark: str = "",
    lamps: str = "1 x 1000 W",
) -> Built:
    """The exact year of one circuit with one window every day, and what it uses."""
    latitude, longitude, zone = place
    kept = f'keep_dark = ["every day: {keep_dark}"]' if keep_dark else ""
    text = f"""\
schedcomp = 1
[site]
name = "Handbook"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
dusk = "{dusk}"
dawn = "{dawn}"
[day_types]
usual = ["{window}"]
[[circuit]]
name = "Lamps"
channel = 1
lamps = "{lamps}"
calendar = ["every day: usual"]
{kept}
"""
    site, found = site_from_source(Source("handbook.toml", text))
    assert site is not None, render(found)
    world, found = read_world(site, period)
    assert world is not None, render(found)
    year = expand(site, world)
    return Built(world, year, energy_of(site, year, world.zone)[0])


def lit_hours(row: Row, keep_dark: str = "") -> float:
    period = calendar_year(int(row.period))
    return built(row.located, period, "on from dusk until dawn", keep_dark=keep_dark).energy.hours


@rows(*DEFINITIONS)
def test_hours_from_dusk_to_dawn(row: Row) -> None:
    dusk, dawn = DEFINITIONS[row.topic]
    period = calendar_year(int(row.period))
    found = built(row.located, period, "on from dusk until dawn", dusk=dusk, dawn=dawn)
    assert found.energy.hours == pytest.approx(row.number, abs=row.tolerance_hours)


@rows("left by dark ")
def test_hours_left_by_a_curfew(row: Row) -> None:
    start, _, end = row.topic.removeprefix("left by dark ").partition("-")
    found = lit_hours(row, f"from {start} until {end}")
    assert found == pytest.approx(row.number, abs=row.tolerance_hours)


@rows("removed by dark ")
def test_hours_removed_by_part_night_lighting(row: Row) -> None:
    latitude, longitude, zone = row.located
    hours, _, time_base = row.topic.removeprefix("removed by dark ").partition(" ")
    place = latitude, longitude, GMT if time_base == "GMT" else zone
    period, window = calendar_year(int(row.period)), "on from dusk until dawn"
    start, _, end = hours.partition("-")
    whole = built(place, period, window).energy.hours
    left = built(place, period, window, keep_dark=f"from {start} until {end}").energy.hours
    assert whole - left == pytest.approx(row.number, abs=row.tolerance_hours)


@rows("80 W lit ")
def test_energy_of_one_street_light(row: Row) -> None:
    """4,100 h a year is a Sun 3 degrees below the horizon at 50 N."""
    level = "sun 3 deg below horizon"
    found = built(
        row.located,
        calendar_year(int(row.period)),
        "on from dusk until dawn",
        dusk=level,
        dawn=level,
        lamps="80 W",
    )
    assert found.energy.kwh == pytest.approx(row.number, abs=0.08 * WHOLE_HOURS)


@rows("saved by part night ")
def test_energy_saved_by_part_night_lighting(row: Row) -> None:
    """The published figure is a round one, and so is the power of a lamp."""
    period, window = calendar_year(int(row.period)), "on from dusk until dawn"
    night = "from 00:00 until 05:30"
    before = built(row.located, period, window, lamps="8041 x 68 W + 460 x 68 W").energy.kwh
    after = built(row.located, period, window, lamps="8041 x 68 W", keep_dark=night).energy.kwh
    assert before is not None
    assert after is not None
    assert before - after == pytest.approx(row.number, rel=0.02)


def _period_of(text: str) -> Period:
    if len(text) == 4:
        return calendar_year(int(text))
    day = date.fromisoformat(text)
    return Period(day, day)


@rows("elapsed hours")
def test_elapsed_hours_of_years_and_of_days_of_clock_changes(row: Row) -> None:
    """Lamps that are always lit count the hours that really pass."""
    found = built(IN_ZONE[row.place], _period_of(row.period), "on from 00:00 until 24:00")
    assert found.energy.hours == row.number


def _changes_at_night() -> Iterator[Row]:
    for row in ROWS:
        if row.topic.startswith("elapsed ") and row.topic != "elapsed hours":
            yield row


@pytest.mark.parametrize(
    "row", list(_changes_at_night()), ids=lambda row: f"{row.topic}, {row.place}, {row.period}"
)
def test_elapsed_length_of_a_window_in_a_night_of_a_clock_change(row: Row) -> None:
    """`period` is the date of the evening; one after midnight is the next."""
    start, _, end = row.topic.removeprefix("elapsed ").partition("-")
    evening = date.fromisoformat(row.period)
    period = Period(evening, evening + ONE_DAY)
    found = built(IN_ZONE[row.place], period, f"on from {start} until {end}")
    wanted = evening if start == "23:00" else evening + ONE_DAY
    spans = [
        span
        for span in found.year.circuits[0].spans
        if found.world.zone.local_date(span.start) == wanted
    ]
    assert [(span.end - span.start) / HOUR for span in spans] == [row.number]


@rows("latest sunset")
def test_latest_sunset_on_the_clock(row: Row) -> None:
    found = built(row.located, calendar_year(int(row.period)), "on from sunset until 23:59")
    zone = found.world.zone
    shown = [zone.local(span.start) for span in found.year.circuits[0].spans]
    latest = max(at.hour * 60 + at.minute + at.second / 60 for at in shown if at.year == 2027)
    hour, _, minute = row.value.partition(":")
    assert latest == pytest.approx(int(hour) * 60 + int(minute), abs=1.0)


@rows("nights with sunset after 22:00")
def test_nights_on_which_the_sun_sets_after_the_curfew(row: Row) -> None:
    """Counted by the minute, as on a clock: 22:00:59 is not yet after 22:00."""
    found = built(row.located, calendar_year(int(row.period)), "on from sunset until 22:01")
    assert abs(len(found.year.circuits[0].empty) - row.number) <= (1 if row.number else 0)


@rows("shortest civil twilight", "longest civil twilight")
def test_length_of_civil_twilight(row: Row) -> None:
    found = built(
        row.located,
        calendar_year(int(row.period)),
        "on from sunset until dusk",
        dusk="sun 6 deg below horizon",
    )
    lengths = [(s.end - s.start) / MINUTE for s in found.year.circuits[0].spans]
    extreme = min(lengths) if row.topic.startswith("shortest") else max(lengths)
    assert extreme == pytest.approx(row.number, abs=0.1)


def test_every_row_is_used_and_names_its_source() -> None:
    used = (
        *DEFINITIONS, "left by dark ", "removed by dark ", "80 W lit ", "saved by part night ",
        "elapsed ", "latest sunset", "nights with sunset after", "shortest ", "longest ",
    )  # fmt: skip
    for row in ROWS:
        assert row.topic.startswith(used), row
        assert row.source, row
