"""Hours lit, energy and dark nights against values worked out by hand and published figures."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.clock import Zone, zone
from schedcomp.energy import Energy, energy_of, nights_without_light
from schedcomp.model import DAY, HOUR, ONE_DAY, Instant, Period
from schedcomp.phrases.tree import SunDefinition, SunWord
from schedcomp.site import Circuit, Site
from schedcomp.year import Bound, Cause, CircuitYear, Reason, Span, Year

DENVER = "America/Denver"
NEW_YORK = "America/New_York"
WHY = Reason(Cause.WINDOW, "21:00", date(2027, 1, 1), Bound(((0, False),)))

Stretch = tuple[Instant, Instant]


def clock_of(name: str, period: Period) -> Zone:
    return zone(name, period.first, period.last)


def year_of(period: Period, clock: Zone, **lit: list[Stretch]) -> Year:
    """A year with circuits by name, lit in stretches of instants."""
    return Year(
        period=period,
        start=clock.first_pass(period.first, 0),
        end=clock.first_pass(period.last + ONE_DAY, 0),
        circuits=tuple(
            CircuitYear(
                circuit=name,
                channel=channel,
                spans=tuple(Span(start, end, WHY, WHY) for start, end in stretches),
            )
            for channel, (name, stretches) in enumerate(lit.items(), start=1)
        ),
    )


def site_of(*names: str, load_kw: float | None = None, price_per_kwh: float | None = None) -> Site:
    sun = SunDefinition(SunWord.SUNSET, 15)
    circuits = tuple(
        Circuit(name=name, channel=channel, load_kw=load_kw)
        for channel, name in enumerate(names, start=1)
    )
    return Site(
        name="Yard",
        latitude_degrees=40.0,
        longitude_degrees=-105.0,
        timezone=DENVER,
        timezone_given=True,
        dusk=sun,
        dawn=SunDefinition(SunWord.SUNRISE, -15),
        circuits=circuits,
        price_per_kwh=price_per_kwh,
    )


def always_lit(name: str, period: Period, **site: float) -> Energy:
    clock = clock_of(name, period)
    year = year_of(period, clock, poles=[(0, 2**32)])
    (use,) = energy_of(site_of("poles", **site), year, clock)
    return use


# Lengths of civil days, from the zone rules: 15 U.S.C. 260a(a) for New York; Lord Howe moves by
# half an hour, Troll by two hours, Phoenix not at all (tzdata 2026f).
@pytest.mark.parametrize(
    ("name", "day", "hours"),
    [
        (NEW_YORK, date(2027, 3, 14), 23),
        (NEW_YORK, date(2027, 11, 7), 25),
        ("Australia/Lord_Howe", date(2027, 4, 4), 24.5),
        ("Australia/Lord_Howe", date(2027, 10, 3), 23.5),
        ("Antarctica/Troll", date(2027, 3, 28), 22),
        ("Antarctica/Troll", date(2027, 10, 31), 26),
        ("America/Phoenix", date(2027, 3, 14), 24),
    ],
)
def test_a_date_is_as_long_as_its_clock_makes_it(name: str, day: date, hours: float) -> None:
    use = always_lit(name, Period(day, day))
    assert use.hours == hours
    assert use.hours_by_month == (((day.year, day.month), hours),)


# Elapsed hours of local years (tzdata 2026f): 2026 changes the offset of Vancouver, Edmonton and
# Casablanca for good, so that the year end has another offset than its start.
@pytest.mark.parametrize(
    ("name", "year", "hours"),
    [
        (NEW_YORK, 2027, 8760),
        (NEW_YORK, 2028, 8784),
        ("Australia/Lord_Howe", 2027, 8760),
        ("America/Vancouver", 2026, 8759),
        ("America/Edmonton", 2026, 8759),
        ("Africa/Casablanca", 2026, 8761),
    ],
)
def test_a_year_is_as_long_as_its_clock_makes_it(name: str, year: int, hours: float) -> None:
    use = always_lit(name, Period(date(year, 1, 1), date(year, 12, 31)))
    assert use.hours == hours
    assert [month for month, _ in use.hours_by_month] == [(year, m) for m in range(1, 13)]


def test_hours_of_each_month_of_denver() -> None:
    """31 days of January; March loses an hour, November gains one."""
    use = always_lit(DENVER, Period(date(2027, 1, 1), date(2027, 12, 31)))
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    shifts = {3: -1, 11: 1}
    assert use.hours_by_month == tuple(
        ((2027, month), count * 24 + shifts.get(month, 0))
        for month, count in enumerate(days, start=1)
    )


def test_a_street_light_of_80_watt() -> None:
    """80 W for 4,100 h is 328 kWh (Institution of Lighting Engineers, FAQ item 7)."""
    period = Period(date(2027, 1, 1), date(2027, 12, 31))
    clock = clock_of(DENVER, period)
    start = clock.first_pass(date(2027, 2, 1), 0)
    year = year_of(period, clock, lamp=[(start, start + 4100 * HOUR)])
    (use,) = energy_of(site_of("lamp", load_kw=0.08, price_per_kwh=0.25), year, clock)
    assert use.hours == 4100
    assert use.kwh == pytest.approx(328)
    assert use.cost == pytest.approx(82)


def test_without_load_no_energy_and_without_price_no_cost() -> None:
    day = Period(date(2027, 1, 1), date(2027, 1, 1))
    assert always_lit(DENVER, day).kwh is None
    assert always_lit(DENVER, day, price_per_kwh=0.2).cost is None
    use = always_lit(DENVER, day, load_kw=2.0)
    assert (use.kwh, use.cost) == (48, None)
    free = always_lit(DENVER, day, load_kw=2.0, price_per_kwh=0.0)
    assert free.cost == 0


def test_a_night_over_the_end_of_a_month_counts_in_both() -> None:
    period = Period(date(2027, 1, 1), date(2027, 2, 28))
    clock = clock_of(DENVER, period)
    midnight = clock.first_pass(date(2027, 2, 1), 0)
    year = year_of(period, clock, poles=[(midnight - 3 * HOUR, midnight + 2 * HOUR)])
    (use,) = energy_of(site_of("poles"), year, clock)
    assert use.hours_by_month == (((2027, 1), 3), ((2027, 2), 2))
    assert (use.hours, use.switchings) == (5, 1)


def test_nights_of_the_clock_changes() -> None:
    """Lit 21:00 to 06:00: 9 hours, 8 on 13 March and 10 on 6 November 2027."""
    for day, hours in ((date(2027, 3, 13), 8), (date(2027, 11, 6), 10), (date(2027, 5, 1), 9)):
        period = Period(day, day + ONE_DAY)
        clock = clock_of(DENVER, period)
        night = (clock.first_pass(day, 21 * HOUR), clock.first_pass(day, 30 * HOUR))
        (use,) = energy_of(site_of("poles"), year_of(period, clock, poles=[night]), clock)
        assert use.hours == hours


def test_only_what_lies_in_the_period_counts() -> None:
    """The night that is on when the period begins is no switching of the period."""
    day = date(2027, 5, 1)
    period = Period(day, day)
    clock = clock_of(DENVER, period)
    start = clock.first_pass(day, 0)
    lit = [
        (start - 10 * HOUR, start - 9 * HOUR),
        (start - HOUR, start + 5 * HOUR),
        (start + 21 * HOUR, start + 30 * HOUR),
        (start + 40 * HOUR, start + 41 * HOUR),
    ]
    (use,) = energy_of(site_of("poles"), year_of(period, clock, poles=lit), clock)
    assert (use.hours, use.switchings) == (8, 1)


def test_a_year_and_a_month_of_commissioning() -> None:
    use = always_lit(DENVER, Period(date(2026, 12, 15), date(2027, 12, 31)))
    assert use.hours_by_month[0] == ((2026, 12), 17 * 24)
    assert len(use.hours_by_month) == 13
    assert sum(hours for _, hours in use.hours_by_month) == use.hours


def test_dark_nights_are_noon_to_noon() -> None:
    """A minute before noon is the night before; the same minute after noon the night itself."""
    period = Period(date(2027, 6, 1), date(2027, 6, 4))
    clock = clock_of(DENVER, period)
    noon = clock.first_pass(date(2027, 6, 3), DAY // 2)
    before = year_of(period, clock, poles=[(noon - 60, noon)], sign=[])
    after = year_of(period, clock, poles=[], sign=[(noon, noon + 60)])
    assert nights_without_light(before, clock) == (
        date(2027, 6, 1),
        date(2027, 6, 3),
        date(2027, 6, 4),
    )
    assert nights_without_light(after, clock) == (
        date(2027, 6, 1),
        date(2027, 6, 2),
        date(2027, 6, 4),
    )


def test_one_circuit_is_enough_and_light_after_the_period_counts() -> None:
    period = Period(date(2027, 12, 30), date(2027, 12, 31))
    clock = clock_of(DENVER, period)
    new_year = clock.first_pass(date(2028, 1, 1), 5 * HOUR)
    year = year_of(period, clock, poles=[(new_year, new_year + HOUR)], sign=[])
    assert nights_without_light(year, clock) == (date(2027, 12, 30),)


PERIOD = Period(date(2027, 3, 10), date(2027, 4, 20))
CLOCK = clock_of(DENVER, PERIOD)
BEGIN = CLOCK.first_pass(PERIOD.first, 0)
STRETCHES = st.lists(st.tuples(st.integers(-3 * 24, 45 * 24), st.integers(1, 60)), max_size=12).map(
    lambda found: _apart([(BEGIN + h * HOUR, BEGIN + (h + n) * HOUR) for h, n in found])
)


def _apart(stretches: list[Stretch]) -> list[Stretch]:
    kept: list[Stretch] = []
    for start, end in sorted(stretches):
        if not kept or start > kept[-1][1]:
            kept.append((start, end))
    return kept


@given(STRETCHES, STRETCHES)
def test_dark_nights_against_looking_at_every_hour(one: list[Stretch], two: list[Stretch]) -> None:
    year = year_of(PERIOD, CLOCK, one=one, two=two)
    lit_dates = set()
    for hour in range(-24, 45 * 24):
        instant = BEGIN + hour * HOUR
        if any(circuit.is_lit(instant) for circuit in year.circuits):
            lit_dates.add((CLOCK.local(instant) - timedelta(hours=12)).date())
    expected = tuple(day for day in PERIOD.dates() if day not in lit_dates)
    assert nights_without_light(year, CLOCK) == expected


@given(STRETCHES)
def test_lit_and_dark_hours_make_up_the_period(lit: list[Stretch]) -> None:
    edges = [BEGIN - 100 * DAY, *(edge for pair in lit for edge in pair), BEGIN + 100 * DAY]
    dark = list(zip(edges[::2], edges[1::2], strict=True))
    year = year_of(PERIOD, CLOCK, lit=lit, dark=dark)
    on, off = energy_of(site_of("lit", "dark"), year, CLOCK)
    assert on.hours + off.hours == 42 * 24 - 1
    assert [m for m, _ in on.hours_by_month] == [(2027, 3), (2027, 4)]
