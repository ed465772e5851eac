"""Opening hours as instants."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schedcomp import clock
from schedcomp.hours import OpeningHours, hours_problems, opening_hours
from schedcomp.model import HOUR, MINUTE, Half, Period
from schedcomp.phrases.tree import (
    Clock,
    ClosedHours,
    Dates,
    DatesPhrase,
    EveryDay,
    Holidays,
    HoursValue,
    MonthDay,
    OpenHours,
    SingleDate,
    Weekdays,
)
from schedcomp.site import Hours, HoursLine

DENVER = clock.zone("America/Denver", date(2027, 1, 1), date(2027, 12, 31))
WEEK = Period(date(2027, 6, 14), date(2027, 6, 20)).dates()  # Monday to Sunday
MON, TUE, WED, THU, FRI, SAT, SUN = WEEK
YEAR = Period(date(2027, 1, 1), date(2027, 12, 31)).dates()


def value(text: str) -> HoursValue:
    """`closed`, `open all day` or `08:00-12:00, 14:00-18:00`."""
    if text == "closed":
        return ClosedHours()
    if text == "open all day":
        return OpenHours(((Clock(0), Clock(1440)),))
    periods = [period.split("-") for period in text.split(", ")]
    return OpenHours(tuple((reading(a), reading(b)) for a, b in periods))


def reading(text: str) -> Clock:
    hours, minutes = text.split(":")
    return Clock(int(hours) * 60 + int(minutes))


def hours(*lines: tuple[Dates, str], before: int = 0, after: int = 0) -> Hours:
    return Hours(
        lines=tuple(
            HoursLine(dates=DatesPhrase(dates), value=value(text), text=text)
            for dates, text in lines
        ),
        staff_before_minutes=before,
        staff_after_minutes=after,
    )


def opened(
    *lines: tuple[Dates, str],
    days: list[date] = WEEK,
    zone: clock.Zone = DENVER,
    before: int = 0,
    after: int = 0,
) -> OpeningHours:
    return opening_hours(hours(*lines, before=before, after=after), zone, days, None)


def shown(instant: int | None, zone: clock.Zone = DENVER) -> str | None:
    """`06-14 07:00` on the local clock."""
    return None if instant is None else f"{zone.local(instant):%m-%d %H:%M}"


USUAL = (
    (Weekdays((0, 1, 2, 3, 4)), "07:00-20:00"),
    (Weekdays((5,)), "08:00-21:30"),
    (Weekdays((6,)), "closed"),
)


def test_opening_and_closing() -> None:
    found = opened(*USUAL)
    assert shown(found.opening(MON)) == "06-14 07:00"
    assert shown(found.closing(SAT)) == "06-19 21:30"
    assert found.opening(SUN) is None
    assert found.closing(SUN) is None
    assert found.periods(SUN) == ()
    assert [p.day for p in found.all_periods] == WEEK[:6]


def test_the_last_line_decides_the_whole_date() -> None:
    found = opened(*USUAL, (SingleDate(TUE), "10:00-12:00"), (SingleDate(WED), "closed"))
    assert shown(found.opening(TUE)) == "06-15 10:00"
    assert shown(found.closing(TUE)) == "06-15 12:00"
    assert found.opening(WED) is None
    assert [found.line_of(d) for d in WEEK] == [0, 3, 4, 0, 0, 1, 2]


def test_staff_comes_before_and_goes_after() -> None:
    found = opened(*USUAL, before=40, after=45)
    assert shown(found.arriving(MON)) == "06-14 06:20"
    assert shown(found.leaving(MON)) == "06-14 20:45"
    assert found.arriving(SUN) is None
    assert found.leaving(SUN) is None


def test_two_periods_open_first_and_close_last() -> None:
    found = opened((EveryDay(), "14:00-18:00, 08:00-12:00"))
    assert shown(found.opening(MON)) == "06-14 08:00"
    assert shown(found.closing(MON)) == "06-14 18:00"
    assert [(shown(p.start), shown(p.end)) for p in found.periods(MON)] == [
        ("06-14 08:00", "06-14 12:00"),
        ("06-14 14:00", "06-14 18:00"),
    ]


def test_a_closing_after_midnight_belongs_to_the_date_it_opened() -> None:
    found = opened((Weekdays((4, 5)), "18:00-03:00"))
    assert shown(found.closing(FRI)) == "06-19 03:00"
    assert shown(found.opening(SAT)) == "06-19 18:00"
    assert shown(found.closing(SAT)) == "06-20 03:00"
    assert found.opening(SUN) is None


def test_until_midnight_and_all_day() -> None:
    found = opened((EveryDay(), "08:00-24:00"), (SingleDate(WED), "open all day"))
    assert shown(found.closing(MON)) == "06-15 00:00"
    # Tuesday runs into Wednesday's open day, which ends at midnight.
    assert found.closing(TUE) is None
    assert found.opening(WED) is None
    assert shown(found.closing(WED)) == "06-17 00:00"
    assert shown(found.opening(THU)) == "06-17 08:00"


def test_open_across_midnight_has_no_closing_and_no_opening() -> None:
    found = opened((EveryDay(), "closed"), (SingleDate(FRI), "open all day"),
                   (SingleDate(SAT), "00:00-20:00"))  # fmt: skip
    assert shown(found.opening(FRI)) == "06-18 00:00"
    assert found.closing(FRI) is None
    assert found.opening(SAT) is None
    assert shown(found.closing(SAT)) == "06-19 20:00"


def test_a_night_written_on_two_dates_closes_the_first() -> None:
    """Friday's night written as Friday to 24:00 and Saturday 00:00 to 02:00."""
    found = opened((EveryDay(), "closed"), (SingleDate(FRI), "08:00-24:00"),
                   (SingleDate(SAT), "00:00-02:00, 10:00-20:00"))  # fmt: skip
    assert shown(found.closing(FRI)) == "06-19 02:00"
    assert shown(found.opening(SAT)) == "06-19 10:00"
    assert shown(found.closing(SAT)) == "06-19 20:00"


def test_never_closes() -> None:
    always = opened((EveryDay(), "open all day"))
    assert always.never_closes
    assert {always.opening(d) for d in WEEK} == {always.closing(d) for d in WEEK} == {None}
    assert not opened((EveryDay(), "00:00-23:59")).never_closes
    assert not opened((EveryDay(), "open all day"), (SingleDate(WED), "closed")).never_closes
    assert not opened().never_closes


def test_the_ends_of_the_dates_asked_for_are_no_openings() -> None:
    found = opened((Weekdays((0, 1, 2, 3, 4, 5, 6)), "00:00-24:00"), (MonthDay(6, 1), "closed"))
    assert found.opening(MON) is None
    assert found.closing(SUN) is None


def test_next_opening_is_strictly_later_and_may_be_dates_away() -> None:
    found = opened(*USUAL, (SingleDate(WED), "closed"), (SingleDate(THU), "closed"), before=40)
    monday, friday = found.opening(MON), found.opening(FRI)
    assert monday is not None
    assert friday is not None
    assert found.next_opening(monday - 1) == monday
    assert found.next_opening(monday) == found.opening(TUE)
    closing = found.closing(TUE)
    assert closing is not None
    assert found.next_opening(closing) == friday
    assert found.next_arriving(closing) == friday - 40 * MINUTE
    assert found.next_arriving(friday - 40 * MINUTE) == found.arriving(SAT)
    assert found.next_opening(friday + 7 * 24 * HOUR) is None


def test_dates_outside_and_dates_without_a_line() -> None:
    found = opened((Weekdays((0,)), "08:00-10:00"))
    assert found.line_of(TUE) is None
    assert found.periods(TUE) == ()
    assert found.opening(MON - timedelta(days=7)) is None
    assert found.line_of(MON + timedelta(days=7)) is None
    assert opened((EveryDay(), "08:00-10:00"), days=[]).opening(MON) is None


# Clock changes of 2027 in Denver: forward on Sun 14 March at 02:00, back on Sun 7 November at 02:00


def test_a_skipped_opening_is_the_jump() -> None:
    found = opened((EveryDay(), "02:30-10:00"), days=YEAR)
    spring = date(2027, 3, 14)
    assert shown(found.opening(spring)) == "03-14 03:00"
    assert shown(found.opening(spring + timedelta(days=1))) == "03-15 02:30"


def test_a_period_inside_the_skipped_hour_is_left_out() -> None:
    found = opened((EveryDay(), "02:15-02:45, 10:00-12:00"), days=YEAR)
    spring = date(2027, 3, 14)
    assert len(found.periods(spring)) == 1
    assert shown(found.opening(spring)) == "03-14 10:00"
    assert len(found.periods(date(2027, 3, 15))) == 2


def test_a_repeated_reading_is_its_first_pass() -> None:
    found = opened((EveryDay(), "18:00-01:30"), days=YEAR)
    closing = found.closing(date(2027, 11, 6))
    assert closing == DENVER.first_pass(date(2027, 11, 7), 90 * MINUTE)
    assert DENVER.is_repeated(date(2027, 11, 7), 90 * MINUTE)


def test_open_all_day_joins_where_midnight_is_skipped() -> None:
    cairo = clock.zone("Africa/Cairo", date(2027, 1, 1), date(2027, 12, 31))
    assert opened((EveryDay(), "open all day"), days=YEAR, zone=cairo).never_closes


# What is wrong with lines


def test_dates_no_line_names_are_reported() -> None:
    (found,) = hours_problems(hours((Weekdays((0, 1)), "08:00-10:00")), WEEK, None)
    assert found.code == "E342"
    assert "5 dates" in found.title
    assert "Wed 16 Jun 2027" in found.why
    assert "Sun 20 Jun 2027" in found.why
    assert hours_problems(hours((EveryDay(), "closed")), WEEK, None) == ()


def test_lines_with_halves_and_without_a_list() -> None:
    line = HoursLine(
        dates=DatesPhrase(EveryDay(), Half.EVENING), value=ClosedHours(), text="closed"
    )
    assert [d.code for d in hours_problems(Hours(lines=(line,)), WEEK, None)] == ["E146"]
    both = hours((EveryDay(), "08:00-10:00"), (Holidays(), "closed"))
    assert [d.code for d in hours_problems(both, WEEK, None)] == ["E321"]


# Laws

PERIOD = st.tuples(st.integers(0, 1439), st.integers(0, 1440)).map(
    lambda pair: (Clock(pair[0]), Clock(pair[1]))
)
VALUES = st.one_of(
    st.just(ClosedHours()),
    st.just(OpenHours(((Clock(0), Clock(1440)),))),
    st.lists(PERIOD, min_size=1, max_size=2).map(lambda periods: OpenHours(tuple(periods))),
)


@settings(max_examples=60)
@given(
    st.lists(VALUES, min_size=7, max_size=7),
    st.sampled_from([MON, date(2027, 3, 11), date(2027, 11, 4)]),
)
def test_openings_and_closings_are_where_the_business_changes(
    values: list[HoursValue], first: date
) -> None:
    lines = tuple(
        HoursLine(dates=DatesPhrase(Weekdays((i,))), value=v, text="") for i, v in enumerate(values)
    )
    days = [first + timedelta(days=i) for i in range(7)]
    found = opening_hours(Hours(lines=lines), DENVER, days, None)
    wide = opening_hours(
        Hours(lines=lines), DENVER, [d + timedelta(days=i) for i in (-3, 0, 3) for d in days], None
    )

    def is_open(instant: int) -> bool:
        return any(p.start <= instant < p.end for p in wide.all_periods)

    for day in days:
        opening, closing = found.opening(day), found.closing(day)
        if opening is not None:
            assert is_open(opening)
            assert not is_open(opening - 1)
            assert DENVER.local_date(opening) == day
        if closing is not None:
            assert not is_open(closing)
            assert is_open(closing - 1)
        if opening is not None and closing is not None:
            assert opening < closing
        assert found.periods(day) == wide.periods(day)
    openings = [found.opening(d) for d in days if found.opening(d) is not None]
    assert list(found.openings) == openings == sorted(found.openings)


@pytest.mark.parametrize("zone_name", ["America/Denver", "Australia/Lord_Howe", "Europe/Dublin"])
def test_every_date_of_a_year_opens_at_its_reading(zone_name: str) -> None:
    zone = clock.zone(zone_name, date(2027, 1, 1), date(2027, 12, 31))
    found = opened((EveryDay(), "07:00-20:00"), days=YEAR, zone=zone)
    for day in YEAR:
        opening = found.opening(day)
        assert opening is not None
        assert zone.local(opening) == datetime(day.year, day.month, day.day, 7)  # noqa: DTZ001
