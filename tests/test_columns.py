"""Many dates at once are as one by one: windows, and the target of later years in columns.

The plain way, date by date, is what the columns are held against: `Clockwork.opening`, and
`make_target` of the exact year.
"""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schedcomp.audit.compare import Wanted, wanted_of
from schedcomp.audit.unit_clock import following_clock
from schedcomp.clock import day_number
from schedcomp.controller import Controller
from schedcomp.controllerfile import load_controller
from schedcomp.diag import has_problem
from schedcomp.expand import clockwork_of, expand
from schedcomp.findings import unit_problems
from schedcomp.model import DAY, HOUR, Half
from schedcomp.moment_columns import ClockworkColumns
from schedcomp.moments import Missing, Opening
from schedcomp.site import Site
from schedcomp.target import make_target
from schedcomp.target_columns import wanted_columns
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.world import World, read_world
from schedcomp.year import Bound
from tests.judged import Scene, site_and_world
from tests.sites import DENVER, LORD_HOWE, TROMSO, Place
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites

HOURS = """\
tue-sat = "08:00-22:30"
fri = "08:00-00:30"
"sun, mon" = "closed"
staff_before = "15 min"
staff_after = "20 min"
"""
WINDOWS = (
    "on from sunset until 17:00",
    "on from 16:30 until sunset",
    "on from dusk until 23:00",
    "on from dusk until dawn",
    "on from sunrise until sunset",
    "on from 22:00 until 21:30",
    "on from 02:30 until 02:00",
    "on from 01:50 until 02:30",
    "on from dusk until the middle of the night",
    "on from close until open",
    "on from leave until arrive - 10 min",
    "on from the later of close and dusk until open",
    "on from dusk until close + 30 min or 21:00",
    "on from open or 15:00 until close",
    "on from the later of dusk and 18:30 until the earlier of 01:00 and close",
    "on from the later of 05:00 and open until the earlier of sunrise and 08:30",
    "on from the earlier of close and 23:45 until the later of 00:30 and dawn",
)


def as_one_by_one(site: Site, world: World, days: list[date]) -> None:
    """Every window and every stretch that is kept dark, on each of these dates."""
    clockwork = clockwork_of(site, world)
    columns = ClockworkColumns(clockwork)
    numbers = np.array([day_number(day) for day in days], np.int64)
    windows = [w for t in site.day_types for w in t.windows]
    windows += [line.window for c in site.circuits for line in c.keep_dark]
    for window in windows:
        for half in Half:
            alike = columns.starts_in(window, half, numbers).tolist()
            assert alike == [clockwork.start_half(window, day) is half for day in days]
        for hold in (False, True):
            found = columns.openings(window, numbers, hold=hold)
            many = zip(
                *(column.tolist() for column in (found.days, found.start_at, found.end_at)),
                *((moved(bound) for bound in end.each()) for end in (found.start, found.end)),
                strict=True,
            )
            single = [(day, clockwork.opening(window, day, hold=hold)) for day in days]
            assert list(many) == [
                (day_number(day), one.start_at, one.end_at, moved(one.start), moved(one.end))
                for day, one in single
                if isinstance(one, Opening)
            ]
            missing = [(day_number(day), one) for day, one in single if isinstance(one, Missing)]
            assert found.empty.tolist() == [number for number, _ in missing]
            if found.all_without_start:
                assert len({one.why for _, one in missing}) <= 1


def moved(bound: Bound) -> tuple[bool, int, int]:
    return bound.has_sun, bound.moved(-600), bound.moved(600)


def columns_are_the_target(site: Site, world: World, controller: Controller, minutes: int) -> None:
    clock, sun = unit_clock(controller, world), unit_sun_of(site, controller, world)
    target = make_target(site, expand(site, world), controller, clock, sun, minutes)
    many = wanted_columns(site, controller, world, clock, sun, minutes)
    for one, channel in zip(many, target.channels, strict=True):
        expected = wanted_of(channel)
        until = expected.end + 1 if one.told_until is None else one.told_until - DAY
        assert rows(one.wanted, until) == rows(expected, until)
        if one.told_until is None:
            assert (one.wanted.start, one.wanted.end) == (expected.start, expected.end)
            assert one.wanted.lit_at_start == expected.lit_at_start


def rows(wanted: Wanted, until: int) -> list[tuple[int, ...]]:
    """The switchings with their bands that can only be done before an instant."""
    columns = np.stack((wanted.instants, wanted.earliest, wanted.latest, wanted.on))
    return [tuple(row) for row in columns.T.tolist() if row[2] < until]


def a_year(windows: tuple[str, ...], place: Place, circuit: str = "") -> tuple[Site, World]:
    scene = Scene("", windows, HOURS, "2027-01-01", "2027-12-31", place, circuit=circuit)
    return site_and_world(scene)


@pytest.mark.parametrize("place", [DENVER, TROMSO, LORD_HOWE])
def test_windows_of_a_year_are_as_one_by_one(place: Place) -> None:
    site, world = a_year(WINDOWS, place)
    as_one_by_one(site, world, world.period.dates())


@pytest.mark.parametrize("place", [DENVER, TROMSO, LORD_HOWE])
@pytest.mark.parametrize("window", WINDOWS)
def test_the_target_of_a_year_in_columns(window: str, place: Place) -> None:
    dark = 'keep_dark = ["fri, sat: from 20:00 until 20:40", "sun: from sunset until 18:00"]'
    site, world = a_year((window, "on from 19:00 until 19:30"), place, dark)
    controller, _ = load_controller("sun-yearly-64", ".", None)
    assert controller is not None
    columns_are_the_target(site, world, controller, 5)


@pytest.mark.parametrize("name", ["Asia/Gaza", "Africa/Casablanca", "Australia/Lord_Howe"])
def test_every_clock_change_is_among_the_offsets_of_a_unit(name: str) -> None:
    """Asia/Gaza has the two closest changes of all zones, in autumn 2040 (tzdata)."""
    first, last = day_number(date(2039, 1, 1)), day_number(date(2041, 12, 31))
    clock = following_clock(name, first, last)
    zone = ZoneInfo(name)
    instants = range(first * DAY, last * DAY, HOUR // 2)
    noted = [datetime.fromtimestamp(instant, zone).utcoffset() for instant in instants]
    shown = clock.offsets(np.array(instants))
    assert shown.tolist() == [shift.total_seconds() for shift in noted if shift is not None]


RANDOM = settings(
    deadline=None,
    derandomize=True,
    max_examples=how_many(80),
    suppress_health_check=list(HealthCheck),
)


@RANDOM
@given(whole_sites(40), st.sampled_from((0, 3, 20)))
def test_random_sites_in_columns(made: WholeSite, minutes: int) -> None:
    (site, _), (controller, _) = made.site(), made.controller()
    world = None if site is None else read_world(site, made.period)[0]
    if site is None or controller is None or world is None:
        return
    as_one_by_one(site, world, made.period.dates(before=2, after=2))
    if not has_problem(unit_problems(site, controller)):
        columns_are_the_target(site, world, controller, minutes)
