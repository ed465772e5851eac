"""Hours lit between two readings, against hours counted by hand and against a whole year."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from schedcomp import pipeline, sitefile
from schedcomp.answers import hours as answers
from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer
from schedcomp.energy import energy_of
from schedcomp.model import Period

NOW = 1796304600

SITE = """\
schedcomp = 1
[site]
name = "Sample lot"
latitude = 40.5853
longitude = -105.0844
timezone = "America/Denver"
[day_types]
plain = ["on from 18:00 until 22:30"]
night = ["on from 23:00 until 04:00"]
usual = ["on from dusk until dawn"]
[[circuit]]
name = "Lot poles"
channel = 1
load_kw = 2.0
calendar = ["every day: plain", "sun: dark"]
[[circuit]]
name = "Yard"
channel = 2
calendar = ["every day: night"]
[[circuit]]
name = "Sign"
channel = 3
calendar = ["every day: usual"]
"""


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("site") / "site.toml"
    path.write_text(SITE)
    return path


def asked(site: Path, since: str, until: str) -> Answer:
    return answers.hours(str(site), since, until, NOW)


def circuits(answer: Answer) -> list[Any]:
    assert answer.exit_code == CLEAN, answer.findings
    found = answer.record["circuits"]
    assert isinstance(found, list)
    return found


def test_a_month_counted_by_hand(site: Path) -> None:
    """January 2027 has five Sundays: 26 evenings of 4.5 h."""
    answer = asked(site, "2027-01-01", "2027-01-31")
    poles = circuits(answer)[0]
    assert poles["hours"] == 26 * 4.5
    assert poles["kwh"] == 26 * 9
    assert poles["switchings"] == 26
    assert poles["by_month"] == [{"month": "2027-01", "hours": 117.0}]
    assert "Lot poles (channel 1): 117.0 h, 26 switchings on, 234 kWh" in answer.text
    assert "Lit from Fri 1 Jan 2027, 00:00 until Mon 1 Feb 2027, 00:00" in answer.text


def test_the_whole_year_is_that_of_a_build(site: Path) -> None:
    """Month by month the hours of check.json."""
    loaded, _ = sitefile.load_site(str(site))
    assert loaded is not None
    read, _ = pipeline.read_year(loaded, Period(date(2027, 1, 1), date(2027, 12, 31)))
    assert read is not None
    world, year = read
    for one, use in zip(
        circuits(asked(site, "2027-01-01", "2027-12-31")),
        energy_of(loaded, year, world.zone),
        strict=True,
    ):
        assert one["hours"] == pytest.approx(use.hours, abs=0.001)
        months = [(m["month"], m["hours"]) for m in one["by_month"]]
        assert months == [
            (f"{y}-{m:02d}", pytest.approx(h, abs=0.001)) for (y, m), h in use.hours_by_month
        ]


def test_a_reading_at_a_time(site: Path) -> None:
    """From 20:00 on one evening to 20:00 on the next: 2.5 h and 2 h, and one night of 5 h."""
    poles, yard, _ = circuits(asked(site, "2027-01-04 20:00", "2027-01-05 20:00"))
    assert poles["hours"] == 4.5
    assert poles["switchings"] == 1
    assert (yard["hours"], yard["switchings"]) == (5.0, 1)


def test_a_night_over_the_year_end_counts_in_both_years(site: Path) -> None:
    yard = circuits(asked(site, "2026-12-31", "2027-01-01"))[1]
    assert yard["by_month"] == [
        {"month": "2026-12", "hours": 5.0},
        {"month": "2027-01", "hours": 5.0},
    ]


def test_the_spring_change_takes_an_hour(site: Path) -> None:
    """23:00 to 04:00 over the 14th of March 2027 are four hours by the counter."""
    yard = circuits(asked(site, "2027-03-13 12:00", "2027-03-14 12:00"))[1]
    assert yard["hours"] == 4.0


def test_months_are_listed_for_people(site: Path) -> None:
    answer = asked(site, "2027-01-01", "2027-02-28")
    assert "  2027-02     108.0 h" in answer.text
    assert "photocell" in answer.text
    assert json.dumps(answer.record)


@pytest.mark.parametrize(
    ("since", "until", "code"),
    [
        ("2027-02-01", "2027-01-31", "E796"),
        ("2027-01-01 10:00", "2027-01-01 10:00", "E796"),
        ("1.1.2027", "2027-01-31", "E765"),
        ("2027-01-01", "2027-02-30", "E752"),
        ("2027-01-01 25:00", "2027-01-31", "E759"),
    ],
)
def test_readings_that_cannot_be(site: Path, since: str, until: str, code: str) -> None:
    answer = asked(site, since, until)
    assert answer.exit_code == USAGE
    assert [f.code for f in answer.findings] == [code]


def test_one_date_is_a_whole_date(site: Path) -> None:
    assert circuits(asked(site, "2027-01-01", "2027-01-01"))[0]["hours"] == 4.5


def test_a_site_file_with_problems(tmp_path: Path) -> None:
    (tmp_path / "site.toml").write_text("schedcomp = 1\n")
    answer = asked(tmp_path / "site.toml", "2027-01-01", "2027-01-31")
    assert answer.exit_code == BAD_FILES
    assert answer.findings
