"""Whole sites made at random: whatever is asked of whatever unit, the laws hold or no program is
written, and no run ends in a fault.

`SCHEDCOMP_WORLDS=2000` makes each test try so many. What was found so is kept as a small site.
"""

from __future__ import annotations

from datetime import date

from hypothesis import HealthCheck, given, settings

from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.expand import expand
from schedcomp.model import Period
from schedcomp.records import replace
from schedcomp.sitefile import site_from_source
from schedcomp.world import read_world
from tests import site_laws
from tests.site_laws import Ran
from tests.tiny_worlds import how_many
from tests.whole_sites import WholeSite, whole_sites


def quick(usual: int) -> settings:
    return settings(
        deadline=None,
        derandomize=True,
        max_examples=how_many(usual),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


@quick(320)
@given(whole_sites(14))
def test_the_test_run_is_the_year(made: WholeSite) -> None:
    done = site_laws.run(made)
    if isinstance(done, Ran):
        site_laws.check(done)


@quick(64)
@given(whole_sites(7))
def test_sites_that_differ_in_one_thing(made: WholeSite) -> None:
    done = site_laws.run(made)
    if isinstance(done, Ran):
        site_laws.check(done)
        site_laws.check_relations(made, done)


@quick(8)
@given(whole_sites(365))
def test_whole_years(made: WholeSite) -> None:
    done = site_laws.run(made)
    if isinstance(done, Ran):
        site_laws.check(done)


# What was found so

SITE = """\
schedcomp = 1
[site]
name = "Made-up lot"
latitude = {latitude}
longitude = {longitude}
timezone = "{zone}"
{site}
[day_types]
{types}
"""
LINES = '[[circuit]]\nname = "circuit {0}"\nchannel = {0}\ncalendar = [{1}]\n'


def ran(text: str, first: str, last: str, controller: str | Controller) -> Ran:
    """A site of a few dates through the stages."""
    site, findings = site_from_source(Source("site.toml", text))
    assert site is not None, findings
    unit = load_controller(controller)[0] if isinstance(controller, str) else controller
    assert unit is not None
    world, findings = read_world(site, Period(date.fromisoformat(first), date.fromisoformat(last)))
    assert world is not None, findings
    done = site_laws.fitted_to(site, unit, world, expand(site, world))
    site_laws.check(done)
    return done


def test_lamps_lit_from_end_to_end_on_a_unit_with_special_days_of_their_own() -> None:
    """No switching at all, on a unit that might switch off after special days."""
    text = SITE.format(
        latitude=-13.8, longitude=-171.8, zone="Pacific/Apia", site="", types="usual = []"
    )
    text += LINES.format(1, '"every day: usual"')
    single = '[[one_off]]\ncircuit = "circuit 1"\nlit = "{}"\n'
    text += single.format("2001-01-30 13:45 until 2001-02-04 04:30")
    unit = Controller(
        name="any",
        event_slots=4,
        event_covers="any channels",
        exceptions=ExceptionSlots(slots=1, end="off"),
    )
    done = ran(text, "2001-01-31", "2001-02-02", unit)
    assert done.fitted.program is not None
    assert done.fitted.slots_needed == 0


def test_the_order_of_circuits_does_not_matter_for_dates_either() -> None:
    """Two circuits whose ranges may end on several dates, written in either order."""
    types = """
night = ["on from sunset + 15 min until sunrise - 10 min"]
morning = ["on from 05:00 until sunrise - 10 min"]"""
    head = SITE.format(
        latitude=53.3,
        longitude=-6.3,
        zone="Europe/Dublin",
        site='favour = "dark"',
        types=types,
    )
    circuits = [
        LINES.format(1, '"every day: morning", "2032-02-17: night"'),
        LINES.format(2, '"every day: night"'),
        LINES.format(3, '"every day: morning"'),
    ]
    forward, backward = (
        ran(head + "".join(order), "2032-02-14", "2032-02-20", "sun-yearly-64")
        for order in (circuits, circuits[::-1])
    )
    site_laws.the_same_answer(forward, backward)


def test_overrides_that_repeats_end_beside_events_of_special_days() -> None:
    """Repeats count normal events only; events of special days stand between them."""
    types = """
morning = ["on from 05:00 until dawn"]
late = ["on from dusk until 21:00"]"""
    text = SITE.format(
        latitude=66.5,
        longitude=66.6,
        zone="Asia/Yekaterinburg",
        site='tolerance = "8 min"',
        types=types,
    )
    text += LINES.format(1, '"every day: morning", "mar 8 to mar 20: late"')
    text += "override_minutes = 30\n"
    text += '[[one_off]]\ncircuit = "circuit 1"\nlit = "2065-03-03 01:00 until 2065-03-03 07:30"\n'
    done = ran(text, "2065-03-03", "2065-03-09", "sun-yearly-64")
    assert done.fitted.program is not None
    assert [e.after_minutes for e in done.fitted.ended_overrides] == [10, 10]


def test_what_comes_later_in_the_year_may_have_come_in_another() -> None:
    """At the end of special days a unit works out what normal events have left: here none has
    fired yet, so it may take the OFF of some other year, and an ON has to come before.
    """
    text = SITE.format(
        latitude=51.5, longitude=-0.1, zone="Europe/London", site="", types="usual = []"
    )
    text += LINES.format(1, '"every day: dark"')
    text += '[[one_off]]\ncircuit = "circuit 1"\nlit = "2017-03-30 17:45 until 2017-04-01 15:45"\n'
    unit = Controller(
        name="any",
        event_slots=48,
        date_ranges="with year",
        exceptions=ExceptionSlots(slots=8, start="off", end="recalculates"),
    )
    assert ran(text, "2017-03-24", "2017-04-05", unit).fitted.program is not None


def test_plainer_dates_leave_the_same_where_special_days_end() -> None:
    """An ON of every date would be worked out at the end of Saturday's special day."""
    text = SITE.format(
        latitude=2.8,
        longitude=0.2,
        zone="Europe/London",
        site="",
        types='usual = ["on from 19:30 until 06:45"]',
    )
    text += LINES.format(1, '"every day: usual"')
    text += '[[one_off]]\ncircuit = "circuit 1"\ndark = "2028-08-12 00:30 until 2028-08-13 01:45"\n'
    unit = Controller(
        name="any",
        event_slots=28,
        date_ranges="none",
        exceptions=ExceptionSlots(slots=4, end="recalculates"),
    )
    assert ran(text, "2028-08-12", "2028-08-14", unit).fitted.program is not None


@quick(80)
@given(whole_sites(14))
def test_units_that_work_out_the_state_where_special_days_end(made: WholeSite) -> None:
    controller, site = made.controller()[0], made.site()[0]
    if controller is None or site is None or not made.one_offs:
        return
    world, _ = read_world(site, made.period)
    if world is None or max(c.channel for c in site.circuits) > controller.channels:
        return
    special = ExceptionSlots(slots=4, end="recalculates")
    unit = replace(controller, exceptions=special)
    site_laws.check(site_laws.fitted_to(site, unit, world, expand(site, world)))
