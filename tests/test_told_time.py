"""Times as people are told them: one wording, the clock that the site asks for everywhere."""

from __future__ import annotations

import re
from datetime import date
from pathlib import Path

import pytest

from schedcomp.answers.answer import Answer
from schedcomp.answers.build import BuildRequest, build
from schedcomp.answers.check import CheckRequest, check
from schedcomp.answers.hours import hours
from schedcomp.answers.moments import night, why
from schedcomp.clock import zone
from schedcomp.diag import render
from schedcomp.model import HOUR
from schedcomp.records import replace
from schedcomp.told_time import (
    clock_change_words,
    exact_clock_words,
    in_halves,
    keyed_words,
    moment_words,
    phrase_words,
)
from tests.test_report import SITE

DENVER = zone("America/Denver", date(2027, 1, 1), date(2027, 12, 31))
IN_HALVES = replace(DENVER, twelve=True)
NOW = DENVER.first_pass(date(2027, 3, 1), 9 * HOUR)
QUOTED = re.compile(r"`[^`]*`|\"[^\"]*\"")
"""Lines of the site file, which are told as they stand there."""
WITHOUT_HALF = re.compile(r"\b\d{1,2}:\d{2}\b(?!:?\d*\s(?:AM|PM|noon|midnight))")


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> str:
    path = tmp_path_factory.mktemp("site") / "lot.toml"
    path.write_text(f'{SITE}\n[paper]\nclock = "12 hour"\n', encoding="utf-8")
    return str(path)


def test_both_clocks() -> None:
    noon = DENVER.first_pass(date(2027, 12, 3), 12 * HOUR)
    assert moment_words(DENVER, noon) == "Fri 3 Dec 2027, 12:00"
    assert moment_words(IN_HALVES, noon) == "Fri 3 Dec 2027, 12:00\u00a0noon"
    assert exact_clock_words(IN_HALVES, noon + 29) == "12:00:29\u00a0PM"
    assert exact_clock_words(IN_HALVES, noon - 12 * HOUR) == "12:00\u00a0midnight"
    assert phrase_words(DENVER, "the later of 22:45 and leave") == "the later of 22:45 and leave"
    assert keyed_words(DENVER, "OFF 22:00 mon") == "OFF 22:00 mon"
    assert keyed_words(IN_HALVES, "OFF 22:00 mon") == "OFF 22:00 (10:00\u00a0PM) mon"


@pytest.mark.parametrize(
    ("name", "year", "told"),
    [
        ("Africa/Cairo", 2027, "Fri 30 Apr 2027 00:00 goes forward to 01:00"),
        ("Africa/Cairo", 2027, "Fri 29 Oct 2027 00:00 goes back to Thu 28 Oct 2027 23:00"),
        ("America/Santiago", 2027, "Sun 5 Sep 2027 00:00 goes forward to 01:00"),
        ("America/Nuuk", 2027, "Sat 27 Mar 2027 23:00 goes forward to Sun 28 Mar 2027 00:00"),
        ("Pacific/Apia", 2011, "Fri 30 Dec 2011 00:00 goes forward to Sat 31 Dec 2011 00:00"),
        ("Antarctica/Troll", 2027, "Sun 28 Mar 2027 01:00 goes forward to 03:00"),
    ],
)
def test_a_clock_change_at_midnight_is_told_with_its_own_date(
    name: str, year: int, told: str
) -> None:
    """The rules Egypt, Chile, EU for Nuuk, WS and Troll of tzdata."""
    here = zone(name, date(year, 1, 1), date(year, 12, 31))
    assert told in [clock_change_words(here, change) for change in here.changes()]


def test_what_is_told_in_halves_already_stays() -> None:
    once = in_halves("from 06:20 until 12:00")
    assert once == "from 6:20\u00a0AM until 12:00\u00a0noon"
    assert in_halves(once) == once
    for written in ("fri 11:15 PM: lit", "fri 11:15pm: lit", "fri 11:15 p.m.: lit"):
        assert in_halves(written) == written


def test_every_answer_keeps_to_the_clock_asked_for(path: str) -> None:
    answers = {
        "night": night(path, "2027-03-13", "2", NOW),
        "why": why(path, "2027-03-13 22:30", NOW),
        "hours": hours(path, "2027-03-01 09:15", "2027-03-31", NOW),
        "check": check(CheckRequest(site=path, year="2027"), NOW),
    }
    for name, answer in answers.items():
        told = QUOTED.sub("", answer.text + render(answer.findings))
        assert re.search(r"\d:\d\d\sPM", told), name
        assert not WITHOUT_HALF.search(told), name


def test_files_stay_in_24_hours(path: str, tmp_path: Path) -> None:
    folder = tmp_path / "out"
    request = BuildRequest(site=path, first="2027-03-01", through="2027-03-31", out=str(folder))
    answer: Answer = build(request, NOW)
    assert re.search(r"sunset\s+today\s+5:\d\d\sPM", answer.text)
    assert not WITHOUT_HALF.search(QUOTED.sub("", answer.text))
    for name in ("table.csv", "events.csv", "transfer.json", "check.json"):
        assert "PM" not in (folder / name).read_text("utf-8"), name
    assert "goes forward to 3:00" in (folder / "calendar.ics").read_text("utf-8")
