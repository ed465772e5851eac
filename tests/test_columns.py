"""Many dates at once are as one by one: the target in columns, and until when a program is right.

The plain way, date by date, is what the columns are held against: `expand`, `make_target` and the
whole test run.
"""

from __future__ import annotations

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from schedcomp.audit.compare import Wanted, wanted_of
from schedcomp.diag import has_problem
from schedcomp.expand import expand
from schedcomp.findings import unit_problems
from schedcomp.target import make_target
from schedcomp.target_columns import wanted_columns
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.world import read_world
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites


@settings(
    deadline=None,
    derandomize=True,
    max_examples=how_many(800),
    suppress_health_check=list(HealthCheck),
)
@given(whole_sites(90), st.sampled_from((0, 3, 20)))
def test_the_target_in_columns_is_that_of_each_date(made: WholeSite, minutes: int) -> None:
    (site, _), (controller, _) = made.site(), made.controller()
    if site is None or controller is None or has_problem(unit_problems(site, controller)):
        return
    world, _ = read_world(site, made.period)
    if world is None:
        return
    clock, sun = unit_clock(controller, world), unit_sun_of(site, controller, world)
    target = make_target(site, expand(site, world), controller, clock, sun, minutes)
    many = wanted_columns(site, controller, world, clock, sun, minutes)
    for one, channel in zip(many, target.channels, strict=True):
        expected = wanted_of(channel)
        until = expected.end + 1 if one.told_until is None else one.told_until - 86400
        assert rows(one.wanted, until) == rows(expected, until)
        if one.told_until is None:
            assert (one.wanted.start, one.wanted.end) == (expected.start, expected.end)
            assert one.wanted.lit_at_start == expected.lit_at_start


def rows(wanted: Wanted, until: int) -> list[tuple[int, ...]]:
    """The switchings with their bands before an instant, that of the last one aside if cut."""
    columns = np.stack((wanted.instants, wanted.earliest, wanted.latest, wanted.on))
    return [tuple(row) for row in columns.T.tolist() if row[2] < until]
