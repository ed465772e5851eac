"""The fit on whole years: least counts, the order of choices, and places where it went wrong."""

from __future__ import annotations

from datetime import date

import pytest

from schedcomp.clock import zone
from schedcomp.compiled import Compiled
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.controllerfile import load_controller
from schedcomp.diag import Source
from schedcomp.fit.firings import axis_of, clock_firings
from schedcomp.model import Period
from schedcomp.pipeline import compile as compile_site
from schedcomp.records import replace
from schedcomp.sitefile import site_from_source

YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))

DENVER = """schedcomp = 1
[site]
name = "Denver"
latitude = 39.7392
longitude = -104.9903
timezone = "America/Denver"
dusk = "sun 6 deg below horizon"
dawn = "sun 6 deg below horizon"
controller = "clock-yearly-96"
{more}
[day_types]
usual = [{windows}]
late = ["on from dusk until 23:30"]
[[circuit]]
name = "Lot"
channel = 1
serves = "people"
photocell = "none"
override_minutes = 0
calendar = ["every day: usual"{lines}]
"""

ANCHORAGE = """schedcomp = 1
[site]
name = "Anchorage"
latitude = 61.2
longitude = -149.9
timezone = "America/Anchorage"
controller = "sun-yearly-64"
tolerance = "12 min"
[day_types]
usual = ["on from sunset + 1 h 50 min until 03:00"]
[[circuit]]
name = "Sign"
channel = 1
serves = "sign"
photocell = "none"
override_minutes = 0
calendar = ["every day: dark", "may 20 to jul 20: usual"]
"""


def controller(name: str) -> Controller:
    found, findings = load_controller(name, ".", None)
    assert found is not None, findings
    return found


def compiled(text: str, unit: Controller, period: Period = YEAR) -> Compiled:
    site, findings = site_from_source(Source("site.toml", text))
    assert site is not None, findings
    result, findings = compile_site(site, period, unit)
    assert result is not None, findings
    return result


def denver(windows: str, more: str = "", lines: str = "") -> str:
    return DENVER.format(windows=windows, more=more, lines=lines)


ALL_NIGHT = '"on from dusk until dawn"'


@pytest.mark.parametrize(("minutes", "slots"), [(3, 77), (5, 46), (10, 23)])
def test_civil_dusk_to_dawn_by_the_clock_alone(minutes: int, slots: int) -> None:
    """Nested date ranges need well under the slots of one range a time (117, 71 and 37 then)."""
    text = denver(ALL_NIGHT, f'tolerance = "{minutes} min"\nfavour = "even"')
    result = compiled(text, controller("clock-yearly-96"))
    certificate = result.fitted.certificate
    assert certificate is not None
    assert certificate.proven
    assert certificate.slots == slots
    assert result.audit is not None
    assert result.audit.agrees


def test_the_smallest_tolerance_is_found() -> None:
    """One minute less does not fit in 96 slots."""
    text = denver(ALL_NIGHT, 'favour = "even"')
    found = compiled(text, controller("clock-yearly-96")).fitted
    assert (found.tolerance_minutes, found.slots_needed) == (3, 77)
    tighter = denver(ALL_NIGHT, 'tolerance = "2 min"\nfavour = "even"')
    refused = compiled(tighter, controller("clock-yearly-96")).fitted
    assert refused.program is None
    assert refused.slots_needed == 115


def test_a_larger_tolerance_never_needs_more_slots() -> None:
    unit = replace(controller("sun-yearly-64"), event_slots=500)
    windows = '"on from dusk until 22:00", "on from 05:30 until dawn"'
    needed = []
    for minutes in (5, 8, 9, 13):
        text = denver(windows, f'tolerance = "{minutes} min"', ', "fri, sat evenings: late"')
        found = compiled(text, unit).fitted
        assert found.certificate is not None
        assert found.certificate.proven
        needed.append(found.certificate.slots)
    assert needed == sorted(needed, reverse=True)


def test_firings_near_midnight_get_date_ranges_too() -> None:
    """Sun events that may fire on either of two dates: four slots do, not eight."""
    result = compiled(ANCHORAGE, controller("sun-yearly-64"))
    assert result.fitted.certificate is not None
    assert (result.fitted.certificate.slots, result.fitted.certificate.bound) == (4, 4)
    assert result.audit is not None
    assert result.audit.agrees


@pytest.mark.parametrize("ranges", ["yearly", "yearly no wrap", "with year"])
def test_a_date_that_is_right_in_one_year_and_wrong_in_the_next(ranges: str) -> None:
    """Thirteen months hold some month-days twice, on different weekdays."""
    unit = replace(controller("clock-yearly-96"), date_ranges=ranges)
    text = denver('"on from 21:00 until 23:00"', lines=', "sat, sun: dark"')
    result = compiled(text, unit, Period(date(2027, 3, 5), date(2028, 4, 20)))
    assert result.audit is not None
    assert result.audit.agrees
    assert result.fitted.slots_needed == 2


def test_weekday_sets_as_the_controller_has_them() -> None:
    text = denver('"on from 18:00 until 22:00"', lines=', "fri, sat: late", "sun: dark"')
    text = text.replace('"on from dusk until 23:30"', '"on from 18:00 until 23:30"')
    free = controller("clock-weekly-28")
    single = replace(free, weekday_sets=tuple(frozenset({d}) for d in range(7)))
    whole = replace(free, weekday_sets=(frozenset(range(7)),))
    assert compiled(text, free).fitted.slots_needed == 3
    assert compiled(text, single).fitted.slots_needed == 6 + 4 + 2
    refused = compiled(text, whole).fitted
    assert refused.program is None
    assert refused.out_of_reach


def test_channels_share_the_slots_or_have_their_own() -> None:
    text = denver('"on from 18:00 until 22:00"')
    text += (
        text[text.index("[[circuit]]") :]
        .replace('"Lot"', '"Sign"')
        .replace("channel = 1", "channel = 2")
    )
    shared = replace(controller("clock-weekly-28"), event_slots=3, channels=2)
    own = replace(shared, slots_are="per channel")
    assert compiled(text, shared).fitted.program is None
    assert compiled(text, own).fitted.program is not None


def test_among_the_shortest_the_nearest_to_the_wish() -> None:
    """With minutes to spare a sun start keeps its distance from the wish small."""
    text = denver('"on from sunset + 15 min until 22:00"', 'tolerance = "10 min"')
    result = compiled(text, controller("sun-yearly-64"))
    assert result.audit is not None
    assert result.fitted.certificate is not None
    assert result.fitted.certificate.slots == 2
    # The unit's own error is 3 min at most either way, so 7 min early is the least worst.
    assert max(run.worst_early_seconds for run in result.audit.runs) <= 7 * 60


FAIRBANKS = """schedcomp = 1
[site]
name = "Fairbanks"
latitude = 64.8378
longitude = -147.7164
timezone = "America/Anchorage"
tolerance = "7 min"
[day_types]
usual = [{windows}]
[[circuit]]
name = "Lot"
channel = 1
calendar = ["every day: usual"]
"""


@pytest.mark.parametrize("day", range(20, 32, 3))
def test_a_sun_firing_that_may_come_before_the_period(day: int) -> None:
    """Sunset is near midnight: what may fire the evening before covers nothing of the first day."""
    unit = replace(controller("sun-yearly-64"), sun_error_minutes=4)
    text = FAIRBANKS.format(windows='"on from sunset until 03:00"')
    result = compiled(text, unit, Period(date(2027, 5, day), date(2027, 5, day)))
    assert result.audit is None or result.audit.agrees


def test_a_standard_clock_follows_the_years_of_the_period_alone() -> None:
    """Kazakhstan moved from UTC+6 to UTC+5 in March 2024; a program for 2023 knows only +6."""
    text = denver('"on from 18:00 until 22:00"').replace("39.7392", "43.24")
    text = text.replace("-104.9903", "76.9").replace("America/Denver", "Asia/Almaty")
    unit = replace(controller("clock-yearly-96"), clock="standard")
    result = compiled(text, unit, Period(date(2023, 1, 1), date(2023, 12, 31)))
    assert result.audit is not None
    assert result.audit.agrees


@pytest.mark.parametrize(
    ("windows", "kind"),
    [
        ('"on from 01:10 until 01:40"', "span dropped"),
        ('"on from 18:00 until 01:10", "on from 01:40 until 05:00"', "gap lengthened"),
    ],
)
def test_a_unit_that_acts_twice_in_the_repeated_hour(windows: str, kind: str) -> None:
    """What lies wholly in the repeated hour of 7 Nov cannot be replayed harmlessly."""
    unit = replace(controller("clock-yearly-96"), repeated_time="twice")
    result = compiled(denver(windows), unit)
    assert result.audit is not None
    assert result.audit.agrees
    assert [c.kind for c in result.target.channels[0].changed] == [kind]


@pytest.mark.parametrize(
    ("windows", "unit", "why"),
    [
        ('"on from 05:30 until sunrise - 7 min"', {}, "in steps of 1 min"),
        ('"on from 01:10 until 01:40"', {"repeated_time": "twice"}, "comes twice a second time"),
    ],
)
def test_a_unit_without_the_sun_is_told_its_own_reason_for_what_stays_dark(
    windows: str, unit: dict[str, str], why: str
) -> None:
    """One July morning has less than a minute before sunrise - 7 min; on 7 November 01:10 comes
    twice.
    """
    site, _ = site_from_source(Source("site.toml", denver(windows)))
    assert site is not None
    period = Period(date(2027, 11, 6), date(2027, 11, 8))
    if "sunrise" in windows:
        period = Period(date(2027, 6, 1), date(2027, 7, 31))
    _, findings = compile_site(site, period, replace(controller("clock-yearly-96"), **unit))
    told = [f.why for f in findings if f.code == "E635"]
    assert len(told) == 1
    assert why in told[0]
    assert "own sun" not in told[0]


def test_a_winter_takes_one_range_that_wraps_and_two_that_do_not() -> None:
    unit = replace(controller("clock-yearly-96"), exceptions=ExceptionSlots())
    text = denver('"on from 18:00 until 22:00"').replace(
        '"every day: usual"', '"every day: dark", "nov 1 to mar 1: usual"'
    )
    around = Period(date(2027, 2, 20), date(2027, 11, 10))
    assert compiled(text, unit, around).fitted.slots_needed == 2
    straight = replace(unit, date_ranges="yearly no wrap")
    assert compiled(text, straight, around).fitted.slots_needed == 3


def test_every_reading_fires_on_its_own_date_before_and_after_a_change() -> None:
    clock = zone("America/Denver", date(2027, 3, 1), date(2027, 3, 31))
    begin, end = (clock.first_pass(date(2027, 3, day), 0) for day in (10, 18))
    dates = clock_firings(controller("clock-yearly-96"), clock, axis_of(clock, begin, [end])).dates
    assert dates.shape[0] == 24 * 60
    assert (dates == dates[:1, :, :1]).all()


def test_an_event_of_other_dates_does_not_fire_a_second_time() -> None:
    """An ON at 01:10 does nothing in the first pass of Sun 7 Nov, when the lamps are lit until
    01:30, and would light them for hours in the second.
    """
    plain = controller("clock-yearly-96")
    unit = replace(plain, repeated_time="twice", exceptions=ExceptionSlots())
    lines = '"every day: usual", "2027-11-06 evenings: party", "2027-11-07 mornings: dark"'
    text = denver('"on from 01:10 until 05:00"').replace('"every day: usual"', lines)
    text = text.replace("[day_types]", '[day_types]\nparty = ["on from 22:00 until 01:30"]')
    result = compiled(text, unit, Period(date(2027, 11, 1), date(2027, 11, 12)))
    assert result.audit is not None
    assert result.audit.agrees


def test_clock_times_beside_the_sun_keep_to_the_step() -> None:
    unit = replace(controller("clock-yearly-96"), step_minutes=15)
    text = denver('"on from the later of sunset and 21:05 until 23:07"', 'tolerance = "15 min"')
    result = compiled(text, unit)
    assert result.audit is not None
    assert result.audit.agrees
    assert {c.kind for c in result.target.channels[0].changed} == {"moved to the step"}


def test_the_certificate_names_the_circuits_own_tolerance() -> None:
    text = denver('"on from sunset + 15 min until 22:00"').replace(
        "channel = 1", 'channel = 1\ntolerance = "9 min"'
    )
    certificate = compiled(text, controller("sun-yearly-64")).fitted.certificate
    assert certificate is not None
    assert certificate.tolerance_minutes == 9


def test_ranges_made_in_a_common_year_do_not_begin_on_a_leap_day() -> None:
    text = denver('"on from 20:00 until 22:00"', lines=', "mar 1 to apr 10: late"')
    text = text.replace('"on from dusk until 23:30"', '"on from 20:00 until 21:00"')
    program = compiled(text, controller("clock-yearly-96")).fitted.program
    assert program is not None
    ranges = [e.dates for e in program.events if e.dates]
    assert ranges
    assert all(r.first != (2, 29) and r.last != (2, 28) for r in ranges)
