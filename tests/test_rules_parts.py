"""Parts of the rules: interval laws, stretches of many dates against one by one, reading files."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.clock import day_number, zone
from schedcomp.diag import PhraseText, Source, SourceRange, render
from schedcomp.expand import clockwork_of
from schedcomp.model import HOUR, MINUTE, ONE_DAY, Action, Half, Period
from schedcomp.moments import Clockwork, Missing
from schedcomp.ordinance import intervals as arithmetic
from schedcomp.ordinance.duty import Facts, first_noon, stretch_by_night
from schedcomp.ordinance.lamps import scheduled_by
from schedcomp.ordinance.lines import parse_season, parse_valid
from schedcomp.ordinance.load import ordinance_from_source
from schedcomp.ordinance.many import fits, has_sun, many_intervals
from schedcomp.ordinance.model import Dark, LeastDark, Season, Share, Stretch
from schedcomp.ordinance.nights import dates_in
from schedcomp.ordinance.phrases import parse_rule
from schedcomp.ordinance.verdict import NightFailed
from schedcomp.phrases.tree import Window
from schedcomp.records import replace
from schedcomp.rule_findings import night_words
from tests.judged import Scene, site_and_world
from tests.sites import DENVER, LORD_HOWE, SANTIAGO, TROMSO, Place

# Intervals

points = st.integers(0, 60)
stretches = st.lists(st.tuples(points, points), max_size=8).map(arithmetic.merged)


def members(intervals: arithmetic.Intervals) -> set[int]:
    return {second for start, end in intervals for second in range(start, end)}


@given(stretches, stretches)
def test_arithmetic_is_that_of_sets(one: arithmetic.Intervals, other: arithmetic.Intervals) -> None:
    a, b = members(one), members(other)
    assert members(arithmetic.common(one, other)) == a & b
    assert members(arithmetic.without(one, other)) == a - b
    assert members(arithmetic.together((one, other))) == a | b
    assert members(arithmetic.rest_of(one, (0, 60))) == set(range(60)) - a
    assert arithmetic.seconds_of(one) == len(a)
    kept = arithmetic.apart_from(one, other)
    assert kept == tuple(i for i in one if not members((i,)) & b)


@given(stretches.filter(bool), stretches.filter(bool))
def test_many_and_few_have_the_same_in_common(
    one: arithmetic.Intervals, other: arithmetic.Intervals
) -> None:
    many = arithmetic.common_of_many(one, other)
    assert many == arithmetic.common_of_few(one, other)


@given(st.lists(st.tuples(points, points), max_size=12))
def test_many_and_few_are_merged_alike(any_order: list[arithmetic.Interval]) -> None:
    assert arithmetic.merged_of_many(any_order) == arithmetic.merged_of_few(any_order)


@given(stretches, st.lists(points, min_size=2, max_size=6, unique=True).map(sorted))
def test_seconds_between_borders(one: arithmetic.Intervals, borders: list[int]) -> None:
    parts = arithmetic.split_at(one, borders)
    wanted = [arithmetic.seconds_of(part) for part in parts]
    assert arithmetic.seconds_between(one, borders).tolist() == wanted


@given(stretches, stretches)
def test_room_is_the_distance_to_the_nearest(
    one: arithmetic.Intervals, other: arithmetic.Intervals
) -> None:
    bad = arithmetic.without(other, one)
    rooms = arithmetic.rooms_beside(one, bad)
    if rooms is None:
        assert not one or not bad
        return
    wrong = members(bad)
    for (start, end), before, after in zip(one, *rooms, strict=True):
        earlier = [start - w - 1 for w in wrong if w < start]
        later = [w - end for w in wrong if w >= end]
        assert (before == min(earlier)) if earlier else (before > 60)
        assert (after == min(later)) if later else (after > 60)


@given(stretches, st.lists(points, min_size=2, max_size=6, unique=True).map(sorted))
def test_splitting_keeps_every_second(one: arithmetic.Intervals, borders: list[int]) -> None:
    parts = arithmetic.split_at(one, borders)
    inside = {s for s in members(one) if borders[0] <= s < borders[-1]}
    assert len(parts) == len(borders) - 1
    assert {s for part in parts for s in members(tuple(part))} == inside


# Many dates

US_HOLIDAYS = 'holidays = { country = "US", observed = false }'
HOURS = 'mon-sat = "08:00-22:30"\nfri = "08:00-00:30"\nsun = "closed"\nstaff_after = "20 min"'
RULES = (
    "dark from 23:00 until 06:00",
    "dark from 01:00 until 06:00",
    "dark from 02:30 until 02:45",
    "dark from 23:30 until 23:00",
    "dark from sunset + 20 min until sunrise",
    "dark from the later of 23:00 and close + 1 h until 06:00",
    "dark from the earlier of 00:30 and close until the later of 05:00 and dawn",
    "dark from the later of 22:00 and 00:30 until 02:00",
    "dark from dusk until close or 21:00",
    "dark from 23:00 until sunset",
    "dark from 22:00 until sunset",
    "dark from the middle of the night until 05:30",
    "dark from 18:00 until leave",
    "dark from dusk until 21:00",
    "dark from close + 1 h until open",
    "dark from leave until arrive - 10 min",
    "dark from 23:30 until open or 06:00",
    "dark from open until close",
    "dark from the later of 22:00 and close until the earlier of 07:00 and open",
)


@pytest.mark.parametrize("place", [DENVER, TROMSO, SANTIAGO, LORD_HOWE])
@pytest.mark.parametrize("rule", RULES)
def test_many_dates_are_as_one_by_one(rule: str, place: Place) -> None:
    form, found = parse_rule(phrase(rule))
    assert isinstance(form, Dark), render(found)
    [stretch] = form.when.stretches
    scene = Scene("", hours=HOURS, place=place, first="2027-01-01", last="2027-12-31")
    site, world = site_and_world(scene)
    plain = clockwork_of(site, world)
    clock = Clockwork(plain.zone, plain.sun, plain.hours, plain.dusk, plain.dawn, strict=True)
    assert fits(stretch, clock)
    days = world.period.dates()
    numbers = np.array([day_number(day) for day in days], np.int64)
    many = many_intervals(stretch, clock, numbers)
    assert many == [one_by_one(stretch, clock, day) for day in days]


@pytest.mark.parametrize("first", ["2027-01-01", "2027-01-03"])
@pytest.mark.parametrize(
    "rule",
    [
        "dark from close + 1 h until open",
        "dark from close until 06:00",
        "dark from leave until arrive + 5 min",
        "dark from close until the earlier of sunset and 18:00",
        "dark from the later of close and leave until sunrise",
    ],
)
def test_closed_days_of_many_dates_are_as_one_by_one(
    rule: str, first: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    form, found = parse_rule(phrase(rule))
    assert isinstance(form, Dark), render(found)
    [stretch] = form.when.stretches
    site, world = site_and_world(Scene("", hours=HOURS, first=first, last="2027-12-31"))
    days = tuple(world.period.dates())
    clock = replace(clockwork_of(site, world), strict=True)
    facts = Facts(clock, days, first_noon(clock, days))
    at_once = list(stretch_by_night(stretch, facts, frozenset(days)))
    monkeypatch.setattr("schedcomp.ordinance.many.fits", lambda *_: False)
    assert at_once == list(stretch_by_night(stretch, facts, frozenset(days)))
    assert len(at_once) > 300


def one_by_one(stretch: Stretch, clock: Clockwork, day: date) -> tuple[int, int] | None:
    assert stretch.end is not None
    window = Window(stretch.start, stretch.end)
    on = day if clock.start_half(window, day) is Half.EVENING else day + ONE_DAY
    found = clock.opening(window, on, hold=True)
    if not isinstance(found, Missing):
        return found.start_at, found.end_at
    start = clock.instant(stretch.start, on)
    if isinstance(start, Missing) or clock.half(stretch.end, on) is not Half.EVENING:
        return None
    if not has_sun(stretch.end):
        return None
    end = clock.instant(stretch.end, on + ONE_DAY, hold=True)
    return None if isinstance(end, Missing) or end <= start else (start, end)


# Phrases


def phrase(text: str) -> PhraseText:
    return PhraseText(text, SourceRange(Source("rule.toml", text), 0, len(text)))


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "E101"),
        ("off from 23:00 until 06:00", "E127"),
        ("drak from 23:00", "E102"),
        ("dark 23:00 until 06:00", "E103"),
        ("dark from 23:00 to 06:00", "E124"),
        ("dark at least 6 h", "E103"),
        ("dark within 1 h of midnight for at least 3 h", "E103"),
        ("lit only", "E103"),
        ("not on after sunset", "E103"),
        ("not checkable", "E103"),
        ("at most 150 % of kW from 23:00 until 06:00", "E103"),
        ("at most 50 % of watts from 23:00 until 06:00", "E103"),
        ("at most 12 exception weeks a year", "E103"),
        ("level at most from 23:00 until 06:00", "E103"),
        ("controller: flies", "E103"),
        ("dark from 25:00 until 06:00", "E106"),
        ("dark from 23:00 until 06:00 while raining", "E103"),
    ],
)
def test_slips_are_told_with_a_line_to_type(text: str, code: str) -> None:
    form, found = parse_rule(phrase(text))
    assert form is None
    assert [f.code for f in found] == [code], render(found)
    assert found[0].fix
    assert all(len(line) <= 80 for line in render(found).splitlines())


def test_forms_hold_what_was_written() -> None:
    share, _ = parse_rule(phrase("reduced by 30 % of lumens from 00:00 until 06:00"))
    assert isinstance(share, Share)
    assert (share.percent, share.measure.value) == (70, "lumens")
    least, _ = parse_rule(phrase("dark at least 6 h each night between 20:00 and 08:00"))
    assert isinstance(least, LeastDark)
    assert least.bounds is not None
    assert least.seconds == 21600


def test_moving_ranges_with_exceptions() -> None:
    """Thanksgiving of 2027 is 25 Nov."""
    days = Period(date(2027, 11, 20), date(2028, 1, 5)).dates()
    _, world = site_and_world(Scene("", site=US_HOLIDAYS, first="2027-11-20", last="2028-01-05"))
    named = dates_in(
        season_of("holiday Thanksgiving to jan 1 except sun, dec 24"), days, world.holidays
    )
    wanted = [d for d in days if date(2027, 11, 25) <= d <= date(2028, 1, 1) and d.weekday() < 6]
    assert sorted(named) == [d for d in wanted if d != date(2027, 12, 24)]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("every day except fri, sat except day before holidays", "E143"),
        ("may 1 to sep 30, jan", ""),
        ("holiday Thanksgiving to jna 1", "E102"),
        ("first mon of sep to drei", "E102"),
    ],
)
def test_seasons_that_cannot_be_read_are_told(text: str, code: str) -> None:
    season, found = parse_season(phrase(text))
    assert [f.code for f in found] == ([code] if code else [])
    assert (season is None) is bool(code)


def season_of(text: str) -> Season:
    season, found = parse_season(phrase(text))
    assert season is not None, render(found)
    return season


def test_a_season_between_holidays() -> None:
    scene = Scene("", site='holidays = { country = "US", observed = false }')
    _, world = site_and_world(scene)
    days = tuple(Period(date(2026, 11, 20), date(2027, 1, 10)).dates())
    named = dates_in(season_of("holiday Thanksgiving to jan 1"), days, world.holidays)
    assert (min(named), max(named), len(named)) == (date(2026, 11, 26), date(2027, 1, 1), 37)
    several = season_of("day after holiday Thanksgiving to nov 30, jan 5")
    named = dates_in(several, days, world.holidays)
    assert sorted(d.day for d in named) == [5, 27, 28, 29, 30]


def test_seasons_and_validity_that_cannot_be_read() -> None:
    season, found = parse_season(phrase("03/04 to 05/06"))
    assert season is None
    assert found
    period, found = parse_valid(phrase("2027-01-01 to 2026-01-01"))
    assert period is None
    assert found


# Files


def problems(text: str) -> list[str]:
    made, found = ordinance_from_source(Source("rule.toml", text), "rule.toml")
    assert made is None
    assert all(len(line) <= 80 for line in render(found).splitlines())
    return [f.code for f in found]


HEAD = 'schedcomp_ordinance = 1\ntitle = "A rule"\n'
ONE = '[[requirement]]\nclause = "1"\nrule = "dark from 23:00 until 06:00"\n'


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ('schedcomp = 1\n[site]\nname = "x"\n', ["E196"]),
        (HEAD, ["E205"]),
        (HEAD + ONE + ONE, ["E198"]),
        (HEAD + ONE + 'until = "sunrise"\n', ["E199"]),
        (HEAD + ONE + 'date = "fri"\n', ["E201"]),
        (HEAD + ONE + 'by = "night"\n', ["E218"]),
        (HEAD + ONE + "circuits = 3\n", ["E206"]),
        (HEAD + '[[requirement]]\nclause = "1"\n', ["E204"]),
        (HEAD + ONE + 'grades = ["four nights: bad"]\n', ["E103"]),
        (HEAD + ONE + 'except_nights = ["2027-06-18"]\n', ["E103"]),
        (HEAD + ONE + 'use = ["mon-fri"]\n', ["E103"]),
        (HEAD + 'based_on = "no-such-rule"\n' + ONE, ["E197"]),
    ],
)
def test_every_mistake_of_a_file_is_told(text: str, codes: list[str]) -> None:
    assert problems(text) == codes


def test_all_mistakes_are_told_at_once() -> None:
    bad = '[[requirement]]\nclause = "2"\nrule = "dark"\n[[requirement]]\nrule = "lit"\n'
    assert len(problems(HEAD + bad)) == 3


def test_a_rule_is_based_on_another_and_changed() -> None:
    text = HEAD + (
        'based_on = "de-bw-facades"\nconfirmed_by = "the office"\n'
        '[[change]]\nclause = "21(2), winter"\ncircuits = ["Front"]\n'
        'exempt = { "Sign" = "public safety" }\nexcept_nights = ["2027-12-31: festival"]\n'
    )
    made, found = ordinance_from_source(Source("rule.toml", text), "rule.toml")
    assert made is not None, render(found)
    assert (made.title, made.unconfirmed) == ("A rule", False)
    winter = made.requirements[1]
    assert winter.circuits == ("Front",)
    assert winter.exempt == (("Sign", "public safety"),)
    assert winter.except_nights[0].because == "festival"
    assert made.requirements[0].circuits is None


def test_lamps_of_a_run_are_lit_before_a_first_off() -> None:
    assert scheduled_by([(100, Action.OFF), (150, Action.ON)], (0, 200)) == ((0, 100), (150, 200))
    assert scheduled_by([(100, Action.ON)], (0, 200)) == ((100, 200),)
    assert scheduled_by([], (0, 200)) == ()


@pytest.mark.parametrize(
    ("seconds", "lacks", "told"),
    [
        (90 * MINUTE, "", "(90 min)"),
        (105 * MINUTE, "", "(90 min; 105 min that night)"),
        (30 * MINUTE, "too short", "(30 min too short)"),
    ],
)
def test_the_minutes_beside_a_stretch_are_its_own(seconds: int, lacks: str, told: str) -> None:
    here = zone("America/Denver", date(2027, 12, 1), date(2027, 12, 31))
    start = here.first_pass(date(2027, 12, 5), 23 * HOUR)
    night = NightFailed(
        day=date(2027, 12, 5), seconds=seconds, start=start, end=start + 90 * MINUTE, lacks=lacks
    )
    assert night_words(night, here) == f"Sun 5 Dec 2027, from 23:00 until 00:30 {told}"
