"""Dates of special days that are right for one year only, on the keying page."""

from __future__ import annotations

import pytest

from schedcomp.compiled import Compiled
from schedcomp.program import EventDates, SpecialDays
from schedcomp.records import replace
from schedcomp.sheet.keying import special_dates
from tests import made_up
from tests.sites import DENVER, exact, site_text

Day = tuple[int, int]


@pytest.fixture(scope="module")
def compiled() -> Compiled:
    found = exact(
        site_text(
            DENVER,
            ["on from dusk until close"],
            site='holidays = { country = "US", observed = true }',
            hours='mon-sun = "08:00-18:00"\nholidays = "closed"',
            types='late = ["on from dusk until 02:00"]',
            calendar=(
                "every day: usual",
                "sat: dark",
                "dec 24: dark",
                "holiday thanksgiving: late",
                "first mon of sep: dark",
                "2027-10-01: dark",
            ),
        ),
        "2027-01-01",
        "2027-12-31",
    )
    return replace(made_up.COMPILED, site=found.site, world=found.world, year=found.year)


@pytest.mark.parametrize(
    ("first", "last", "told"),
    [
        ((11, 25), (11, 25), "Thu 25 Nov (2027 only)"),
        ((11, 26), (11, 26), "Fri 26 Nov (2027 only)"),  # the night of a moving date goes on
        ((9, 6), (9, 6), "Mon 6 Sep (2027 only)"),
        ((10, 1), (10, 1), "Fri 1 Oct (2027 only)"),
        ((7, 5), (7, 5), "Mon 5 Jul (2027 only)"),  # closed instead of Sunday the 4th
        ((7, 4), (7, 5), "Sun 4 Jul to Mon 5 Jul (2027 only)"),
        ((7, 4), (7, 4), "4 Jul"),
        ((12, 24), (12, 24), "24 Dec"),
        ((1, 1), (1, 1), "1 Jan"),
        ((5, 1), (5, 1), "1 May"),  # a Saturday: no line for single dates
        ((2, 29), (2, 29), "29 Feb"),
    ],
)
def test_dates_that_move_have_their_year(
    compiled: Compiled, first: Day, last: Day, told: str
) -> None:
    """5 U.S.C. 6103: fourth Thursday of November; Monday instead of a Sunday."""
    days = SpecialDays(slot=1, channels=(1,), dates=EventDates(first, last), plan="A")
    assert special_dates(compiled, days) == told


def test_a_year_that_the_unit_keeps_is_told_once(compiled: Compiled) -> None:
    dates = EventDates((11, 25), (11, 25), (2027, 2027))
    days = SpecialDays(slot=1, channels=(1,), dates=dates, plan="A")
    assert special_dates(compiled, days) == "25 Nov 2027"
