"""A program played by itself is in the state that its events of long before have left."""

from __future__ import annotations

from datetime import date

from schedcomp.clock import zone
from schedcomp.model import Action, Period
from schedcomp.program import ClockStart, Event, EventDates, Program
from schedcomp.records import replace
from schedcomp.replay import replayed
from tests import made_up


def test_lamps_lit_since_weeks_are_lit_on_the_first_date() -> None:
    made = made_up.WITH_SPECIAL_DAYS
    channel = made.site.circuits[0].channel
    noon = ClockStart(12 * 60)
    whole = (channel,)
    november, january = EventDates((11, 20), (11, 20)), EventDates((1, 20), (1, 20))
    on = Event(slot=1, channels=whole, action=Action.ON, start=noon, dates=november)
    off = Event(slot=2, channels=whole, action=Action.OFF, start=noon, dates=january)
    program = Program(controller=made.controller.name, events=(on, off))
    period = Period(date(2027, 1, 5), date(2027, 1, 31))
    run, *_ = replayed(made.site, replace(made.world, period=period), program, made.controller)
    clock = zone(made.site.timezone, date(2026, 1, 1), date(2027, 12, 31))
    [found] = [switchings for number, switchings in run.switchings if number == channel]
    assert [(t, action) for t, action, _ in found][-2:] == [
        (clock.first_pass(date(2026, 11, 20), 12 * 3600), Action.ON),
        (clock.first_pass(date(2027, 1, 20), 12 * 3600), Action.OFF),
    ]
