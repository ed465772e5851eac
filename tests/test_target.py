"""What a program has to do, made from the exact year for a certain unit."""

from __future__ import annotations

from datetime import date

import pytest

from schedcomp.controller import Controller
from schedcomp.controllerfile import load_controller
from schedcomp.expand import expand
from schedcomp.model import Period
from schedcomp.records import replace
from schedcomp.target import Target, make_target
from schedcomp.unit_place import unit_clock, unit_sun_of
from schedcomp.world import read_world
from tests.sites import DENVER, read, site_text


def target_of(
    window: str, first: str, last: str, unit: Controller, favour: str, circuit: str = ""
) -> Target:
    site, _ = read(site_text(DENVER, [window], site=f'favour = "{favour}"', circuit=circuit))
    assert site is not None
    world, _ = read_world(site, Period(date.fromisoformat(first), date.fromisoformat(last)))
    assert world is not None
    sun = unit_sun_of(site, unit, world)
    return make_target(site, expand(site, world), unit, unit_clock(unit, world), sun, 3)


@pytest.mark.parametrize("favour", ["light", "dark", "even"])
def test_clock_ends_between_two_steps_go_toward_dark(favour: str) -> None:
    """Whatever is favoured, on a unit that switches every ten minutes."""
    unit = Controller(name="any", event_slots=4, step_minutes=10)
    (channel,) = target_of(
        "on from 17:07 until 22:53", "2027-01-11", "2027-01-11", unit, favour
    ).channels
    # Mountain Standard Time is 7 hours behind UTC.
    readings = [(s.instant - 7 * 3600) % 86400 // 60 for s in channel.switchings]
    assert readings == [17 * 60 + 10, 22 * 60 + 50]
    assert [c.kind for c in channel.changed] == ["moved to the step"] * 2


def test_spans_too_short_for_the_sun_of_a_unit_are_dropped_and_listed() -> None:
    """At Denver the sun sets at 17:55 from the end of February on, some seconds later each day."""
    unit, _ = load_controller("sun-yearly-64")
    assert unit is not None
    unit = replace(unit, sun_error_minutes=2, sun_error_degrees=0)
    (channel,) = target_of(
        "on from sunset until 17:55", "2027-02-20", "2027-03-05", unit, "light"
    ).channels
    lit = [
        (off.instant - on.instant) / 60
        for on, off in zip(channel.switchings[::2], channel.switchings[1::2], strict=True)
    ]
    dropped = [(c.end - c.start) / 60 for c in channel.changed if c.kind == "span dropped"]
    # A step, and for the end by the sun the error of its time and a step more.
    assert min(lit) >= 1 + 2 + 1 > max(dropped) > 0


@pytest.mark.parametrize("favour", ["light", "even"])
def test_no_band_reaches_into_hours_kept_dark(favour: str) -> None:
    """The lamps may come on earlier than asked, but not before the hours end that are kept dark."""
    unit, _ = load_controller("sun-yearly-64")
    assert unit is not None
    kept = 'keep_dark = ["every day: from 15:00 until sunset"]'
    for circuit, meets in (("", False), (kept, True)):
        (channel,) = target_of(
            "on from sunset until 23:00", "2027-01-11", "2027-01-13", unit, favour, circuit
        ).channels
        on = channel.switchings[::2]
        assert len(on) == 3
        assert all((s.earliest >= s.instant) == meets for s in on)
