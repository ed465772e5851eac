"""The nearest town, the zones at a place, and clear-sky light.

tests/authority/twilight_illuminance.csv: the ground illumination polynomial of the Explanatory
Supplement to the Astronomical Almanac, and values of published glossaries.
"""

from __future__ import annotations

import csv
import gzip
import hashlib
import math
import subprocess
import sys
from functools import lru_cache
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.clock import zone_names
from schedcomp.illuminance import altitude_degrees, lux
from schedcomp.places import Town, towns_named, whereabouts, zones_at

_AUTHORITY = Path(__file__).parent / "authority" / "twilight_illuminance.csv"
with _AUTHORITY.open(encoding="utf-8", newline="") as _file:
    LIGHT = tuple(csv.DictReader(_file))


# Towns


def test_a_place_is_told_by_its_nearest_town() -> None:
    found = whereabouts(40.549, -105.0844)
    assert (found.town, found.region, found.direction) == ("Fort Collins", "Colorado", "south")
    assert found.distance_km == pytest.approx(0.036 * 111.2, abs=0.05)
    assert found.text == "4 km south of Fort Collins, Colorado"
    assert not found.far
    assert not found.at_sea


@pytest.mark.parametrize(
    ("north", "east", "word"),
    [
        (0.03, 0, "north"),
        (0.03, 0.04, "northeast"),
        (0, 0.04, "east"),
        (-0.03, 0.04, "southeast"),
        (-0.03, 0, "south"),
        (-0.03, -0.04, "southwest"),
        (0, -0.04, "west"),
        (0.03, -0.04, "northwest"),
    ],
)
def test_the_direction_leads_from_the_town_to_the_place(
    north: float, east: float, word: str
) -> None:
    assert whereabouts(61.218 + north, -149.9 + 1.5 * east).text.endswith(
        f"{word} of Anchorage, Alaska"
    )


def test_a_place_in_the_middle_of_a_town_has_no_direction() -> None:
    assert whereabouts(64.838, -147.716).text == "Fairbanks, Alaska"


def test_a_lost_minus_sign_is_far_away_and_in_the_sea() -> None:
    lost = whereabouts(-40.5853, -105.0844)
    assert (lost.far, lost.at_sea) == (True, True)
    assert lost.text.startswith("in the sea, ")
    # On land, but not where anybody meant.
    other = whereabouts(40.5853, 105.0844)
    assert (other.far, other.at_sea, other.region) == (True, False, "China")


def test_a_harbour_is_not_in_the_sea_and_a_reef_far_out_is() -> None:
    assert not whereabouts(37.80, -122.42).at_sea
    assert whereabouts(37.0, -124.5).at_sea


@given(latitude=st.floats(-90, 90), longitude=st.floats(-180, 180))
def test_no_town_is_nearer(latitude: float, longitude: float) -> None:
    found = whereabouts(latitude, longitude)
    assert found.far == (found.distance_km > 100)
    for town in _far_apart():
        assert found.distance_km <= _apart(latitude, longitude, town) + 1e-6


@lru_cache(maxsize=1)
def _far_apart() -> list[Town]:
    names = ("Shanghai", "Anchorage", "Fort Collins", "Auckland", "Suva", "Oslo", "Lagos")
    return [towns_named(name)[0] for name in names]


def _apart(latitude: float, longitude: float, town: Town) -> float:
    """Kilometres between two places, from the angle between their directions."""
    ends = [
        (
            math.cos(math.radians(north)) * math.cos(math.radians(east)),
            math.cos(math.radians(north)) * math.sin(math.radians(east)),
            math.sin(math.radians(north)),
        )
        for north, east in ((latitude, longitude), (town.latitude_degrees, town.longitude_degrees))
    ]
    return 2 * 6371.0 * math.asin(min(1.0, math.dist(*ends) / 2))


def test_the_nearest_town_across_the_date_line() -> None:
    found = whereabouts(-16.8, -179.9)
    assert found.region == "Fiji"
    assert found.distance_km < 120


def test_towns_by_name_come_largest_first_and_in_one_region_if_asked() -> None:
    assert towns_named("fort collins") == (
        Town("Fort Collins", "Colorado", 40.585, -105.084, "America/Denver"),
    )
    assert [t.region for t in towns_named(" Springfield ")][:3] == [
        "Missouri",
        "Massachusetts",
        "Illinois",
    ]
    assert [t.region for t in towns_named("Springfield, ohio")] == ["Ohio"]
    assert towns_named("Zürich")[0].timezone == "Europe/Zurich"
    assert towns_named("Nowhere at all") == ()


def test_every_town_has_a_zone_that_is_known() -> None:
    data = files("schedcomp").joinpath("data")
    packed = data.joinpath("places.tsv.gz").read_bytes()
    credit = data.joinpath("places.txt").read_text("utf-8")
    assert f"sha256 {hashlib.sha256(packed).hexdigest()}" in credit
    assert "GeoNames" in credit
    assert "Attribution 4.0" in credit
    assert len(packed) < 1_000_000
    columns = [line.split("\t") for line in gzip.decompress(packed).decode().split("\n")]
    assert [len(column) for column in columns] == [33961] * 5
    assert set(columns[4]) <= zone_names()
    assert all(column and column.isprintable() for line in columns for column in line)


# Zones


@pytest.mark.parametrize(
    ("latitude", "longitude", "zones"),
    [
        (40.5853, -105.0844, ("America/Denver",)),
        (61.2181, -149.9003, ("America/Anchorage",)),
        (-36.85, 174.76, ("Pacific/Auckland",)),
        (43.8, 87.6, ("Asia/Shanghai", "Asia/Urumqi")),
        (-40.5853, -105.0844, ("Etc/GMT+7",)),
        (95.0, 300.0, ()),
    ],
)
def test_zones_at(latitude: float, longitude: float, zones: tuple[str, ...]) -> None:
    assert zones_at(latitude, longitude) == zones


def test_borders_are_read_only_when_needed() -> None:
    program = (
        "import sys; from schedcomp.places import whereabouts;"
        "print(whereabouts(40.549, -105.0844).text); assert 'tzfpy' not in sys.modules"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=False
    )
    assert (done.stdout, done.stderr) == ("4 km south of Fort Collins, Colorado\n", "")


# Light


def _rows(kind: str) -> list[dict[str, str]]:
    return [row for row in LIGHT if row["kind"] == kind]


def test_light_is_the_published_polynomial() -> None:
    """Every piece in its middle, from the coefficients of the file themselves."""
    rows = _rows("coefficients")
    assert len(rows) == 6
    for row in rows:
        low, high = (float(x) for x in row["sun_altitude_deg"].split(".."))
        powers = [float(x) for x in row["lux_low"].split()]
        for share in (0.01, 0.5, 0.99):
            altitude = low + share * (high - low)
            expected = 10 ** sum(p * (altitude / 90) ** n for n, p in enumerate(powers))
            assert lux(altitude) == pytest.approx(expected, rel=1e-12)


def test_light_at_the_altitudes_of_the_table() -> None:
    rows = _rows("evaluated")
    assert len(rows) == 31
    for row in rows:
        found = lux(float(row["sun_altitude_deg"]))
        assert found == pytest.approx(float(row["lux_low"]), rel=6e-4), row


def test_altitudes_that_give_a_light() -> None:
    rows = _rows("evaluated inverse")
    assert len(rows) == 10
    for row in rows:
        found = altitude_degrees(float(row["lux_low"]))
        assert found == pytest.approx(float(row["sun_altitude_deg"]), abs=0.006), row


def test_light_of_the_twilights_in_a_glossary() -> None:
    """Glossary of Meteorology, American Meteorological Society; printed to one or two figures."""
    rows = [r for r in _rows("handbook") if r["source"].startswith("Glossary of Meteorology")]
    assert len(rows) == 4
    for row in rows:
        found = lux(float(row["sun_altitude_deg"]))
        assert found is not None
        assert 0.9 * float(row["lux_low"]) <= found <= 1.1 * float(row["lux_high"]), row


def test_light_grows_with_the_sun() -> None:
    steps = [lux(-18 + n / 50) for n in range(5401)]
    assert None not in steps
    # At the joint of two pieces at -12 degrees the published polynomial steps by 1 %.
    assert all(a is not None and b is not None and b > 0.99 * a for a, b in pairwise(steps))


@pytest.mark.parametrize("altitude", [-18.01, -90.0, 90.01])
def test_light_outside_the_polynomial_is_not_known(altitude: float) -> None:
    assert lux(altitude) is None


@pytest.mark.parametrize("light", [0.0, -5.0, 0.0005, 130_000.0])
def test_altitude_of_a_light_that_never_comes_is_not_known(light: float) -> None:
    assert altitude_degrees(light) is None


@given(st.floats(-17.9, 89.9))
def test_altitude_and_light_undo_each_other(altitude: float) -> None:
    light = lux(altitude)
    assert light is not None
    back = altitude_degrees(light)
    assert back is not None
    # 0.02 degree where two pieces overlap.
    assert back == pytest.approx(altitude, abs=0.02)
