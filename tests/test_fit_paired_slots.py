"""Slots that hold an on and an off: the dates that an on and an off of one slot could share."""

from __future__ import annotations

from datetime import date

import numpy as np

from schedcomp.fit.candidates import ALL_WEEKDAYS, Candidate
from schedcomp.fit.date_ranges import MONTH_DAYS, RangeAxis
from schedcomp.fit.firings import Axis
from schedcomp.fit.pairs import dates_of, on_shared_dates
from schedcomp.model import Action
from schedcomp.program import ClockStart

YEAR = np.arange(len(MONTH_DAYS))
WEEKEND, FRIDAY = 0b1100000, 0b0010000


def axis() -> RangeAxis:
    dates = Axis(date(2028, 1, 1), len(YEAR))
    return RangeAxis(YEAR, YEAR % 7, len(YEAR), True, False, dates, False)


def candidate(
    action: Action, places: tuple[int, int] | None, weekdays: int = ALL_WEEKDAYS, minute: int = 0
) -> Candidate:
    return Candidate(action, ClockStart(minute), weekdays, places, (0,), 0)


def shared(candidates: list[Candidate], most: int) -> tuple[set[Candidate], bool]:
    found, complete = on_shared_dates(candidates, axis(), None, most)
    assert len(found) == len(set(found))
    return set(found), complete


def test_halves_are_offered_on_the_dates_that_they_have_in_common() -> None:
    on = candidate(Action.ON, (300, 60))
    off = candidate(Action.OFF, (20, 340), WEEKEND | FRIDAY)
    found, complete = shared([on, off], 1000)
    assert complete
    in_common = {(20, 60), (300, 340)}
    for action in Action:
        of_action = {dates_of(c).places for c in found if c.action is action}
        assert of_action == in_common | {(on if action is Action.ON else off).places}
    assert {c.weekdays for c in found if c.places in in_common} == {WEEKEND | FRIDAY}


def test_a_half_of_every_date_goes_onto_any_range_and_not_the_other_way_round() -> None:
    found, _ = shared([candidate(Action.ON, None), candidate(Action.OFF, (10, 20))], 1000)
    assert {c.places for c in found if c.action is Action.ON} == {None, (10, 20)}
    assert {c.places for c in found if c.action is Action.OFF} == {(10, 20)}


def test_a_range_around_the_year_end_holds_those_on_either_side() -> None:
    on = candidate(Action.ON, (350, 10))
    inside = [candidate(Action.OFF, p) for p in ((0, 5), (352, 360), (360, 3))]
    found, _ = shared([on, *inside], 1000)
    ons = {c.places for c in found if c.action is Action.ON}
    assert ons == {(350, 10), (0, 5), (352, 360), (360, 3)}


def test_where_there_would_be_too_many_the_rarer_halves_set_the_dates() -> None:
    ons = [candidate(Action.ON, (0, 100 + n), minute=n) for n in range(30)]
    off = candidate(Action.OFF, (0, 50))
    every, complete = shared([*ons, off], 10_000)
    assert complete
    fewer, said_complete = shared([*ons, off], 100)
    assert not said_complete
    assert fewer < every
    assert {c.places for c in fewer if c.start == ons[7].start} == {(0, 107), (0, 50)}
    own, said_complete = shared([*ons, off], 10)
    assert not said_complete
    assert own == {*ons, off}
