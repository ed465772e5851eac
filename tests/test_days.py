"""Which dates a phrase names, and which calendar line decides a date.

tests/authority/rfc5545.csv: the examples of RFC 5545 3.8.5.3 with the dates printed there.
tests/authority/holidays.csv, rows "(Western Easter)": published dates of Easter Sunday.
"""

from __future__ import annotations

import csv
import re
from datetime import date, datetime, time, timedelta
from itertools import takewhile
from pathlib import Path

import pytest
from dateutil.rrule import rrulestr
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from schedcomp.date_columns import decide
from schedcomp.days import date_problems, dates_of, never
from schedcomp.diag import Severity
from schedcomp.holiday_list import Holiday, HolidayList
from schedcomp.model import Half, Period
from schedcomp.phrases.tree import (
    AnyOf,
    CalendarLine,
    DatedRange,
    Dates,
    DatesPhrase,
    Easter,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    MonthDay,
    Neighbour,
    NthWeekday,
    Recurrence,
    SingleDate,
    Weekdays,
    WeekdaysIn,
    YearlyRange,
)
from schedcomp.recurrence import occurrences, read_rule

AUTHORITY = Path(__file__).parent / "authority"


def rows(name: str) -> list[dict[str, str]]:
    with (AUTHORITY / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def year(number: int) -> list[date]:
    return Period(date(number, 1, 1), date(number, 12, 31)).dates()


def named(dates: Dates, number: int = 2027, holidays: HolidayList | None = None) -> list[date]:
    return sorted(dates_of(dates, year(number), holidays))


def days(*texts: str) -> list[date]:
    return [date.fromisoformat(text) for text in texts]


def a_list(*entries: tuple[str, str], removed: tuple[tuple[str, str], ...] = ()) -> HolidayList:
    """A holiday list of (date, name); a name with "(observed)" is a date given instead."""

    def holiday(day: str, name: str) -> Holiday:
        bare = name.removesuffix(" (observed)")
        return Holiday(day=date.fromisoformat(day), name=bare, observed=bare != name)

    return HolidayList(
        holidays=tuple(holiday(*e) for e in entries),
        removed=tuple(holiday(*e) for e in removed),
        given=True,
    )


LIST = a_list(
    ("2027-01-01", "New Year's Day"),
    ("2027-11-25", "Thanksgiving Day"),
    ("2027-12-24", "Christmas Day (observed)"),
    ("2027-12-25", "Christmas Day"),
    ("2027-12-31", "New Year's Day (observed)"),
    ("2028-01-01", "New Year's Day"),
    removed=(("2027-07-04", "Independence Day"),),
)


class TestSimpleDates:
    def test_every_day(self) -> None:
        assert named(EveryDay()) == year(2027)
        assert len(named(EveryDay(), 2028)) == 366

    def test_weekdays(self) -> None:
        found = named(Weekdays((4, 5)))
        assert {f"{d:%a}" for d in found} == {"Fri", "Sat"}
        assert len(found) == 53 + 52  # 2027 begins on a Friday

    def test_single_date(self) -> None:
        assert named(SingleDate(date(2027, 12, 24))) == days("2027-12-24")
        assert named(SingleDate(date(2026, 12, 24))) == []

    def test_month_day_comes_every_year(self) -> None:
        assert named(MonthDay(12, 24)) == days("2027-12-24")
        assert named(MonthDay(12, 24), 2031) == days("2031-12-24")

    def test_leap_day_comes_in_leap_years_only(self) -> None:
        assert named(MonthDay(2, 29)) == []
        assert named(MonthDay(2, 29), 2028) == days("2028-02-29")

    def test_dated_range_holds_both_ends(self) -> None:
        dates = DatedRange(date(2026, 12, 30), date(2027, 1, 2))
        assert named(dates) == days("2027-01-01", "2027-01-02")
        assert len(named(dates, 2026)) == 2

    def test_nth_weekday(self) -> None:
        assert named(NthWeekday(1, 0, 9)) == days("2027-09-06")
        assert named(NthWeekday(4, 3, 11)) == days("2027-11-25")
        assert named(NthWeekday(-1, 0, 5)) == days("2027-05-31")
        assert named(NthWeekday(-1, 4, 11)) == days("2027-11-26")

    def test_a_fifth_weekday_may_be_missing(self) -> None:
        assert named(NthWeekday(5, 0, 5)) == days("2027-05-31")
        assert named(NthWeekday(5, 0, 2)) == []
        assert named(NthWeekday(5, 1, 2), 2028) == days("2028-02-29")


class TestYearlyRanges:
    def test_within_a_year(self) -> None:
        found = named(YearlyRange(MonthDay(6, 1), MonthDay(8, 31)))
        assert (found[0], found[-1], len(found)) == (date(2027, 6, 1), date(2027, 8, 31), 92)

    def test_wraps_the_year_end(self) -> None:
        """Nov 15 to Jan 15: 15 dates in January, 16 in November, 31 in December."""
        found = named(YearlyRange(MonthDay(11, 15), MonthDay(1, 15)))
        assert len(found) == 62
        assert found[14:16] == days("2027-01-15", "2027-11-15")

    def test_one_date(self) -> None:
        assert named(YearlyRange(MonthDay(3, 1), MonthDay(3, 1))) == days("2027-03-01")

    def test_from_the_day_after_to_the_day_before_is_all_year(self) -> None:
        assert named(YearlyRange(MonthDay(7, 2), MonthDay(7, 1))) == year(2027)

    @pytest.mark.parametrize(("number", "last"), [(2027, "2027-02-28"), (2028, "2028-02-29")])
    def test_an_end_on_leap_day(self, number: int, last: str) -> None:
        found = named(YearlyRange(MonthDay(2, 1), MonthDay(2, 29)), number)
        assert found[-1] == date.fromisoformat(last)

    @pytest.mark.parametrize(("number", "first"), [(2027, "2027-03-01"), (2028, "2028-02-29")])
    def test_a_start_on_leap_day(self, number: int, first: str) -> None:
        found = named(YearlyRange(MonthDay(2, 29), MonthDay(3, 10)), number)
        assert found[0] == date.fromisoformat(first)

    def test_a_wrapping_end_on_leap_day_takes_the_next_year(self) -> None:
        dates = YearlyRange(MonthDay(12, 1), MonthDay(2, 29))
        assert date(2028, 2, 29) in named(dates, 2028)
        assert date(2027, 2, 28) in named(dates)
        assert date(2027, 3, 1) not in named(dates)

    def test_leap_day_alone_as_a_range_is_empty_in_common_years(self) -> None:
        dates = YearlyRange(MonthDay(2, 29), MonthDay(2, 29))
        assert named(dates) == []
        assert named(dates, 2028) == days("2028-02-29")


class TestEaster:
    @pytest.mark.parametrize(
        "row", [r for r in rows("holidays.csv") if r["country"] == "(Western Easter)"],
        ids=lambda r: r["date"],
    )  # fmt: skip
    def test_published_dates(self, row: dict[str, str]) -> None:
        day = date.fromisoformat(row["date"])
        assert named(Easter(), day.year) == [day], row["source"]
        assert named(Easter(-2), day.year) == [day - timedelta(days=2)]

    def test_far_offsets_reach_over_the_year_end(self) -> None:
        """Easter Sunday is 5 April 2026, 28 March 2027 and 16 April 2028."""
        assert named(Easter(300)) == [date(2026, 4, 5) + timedelta(days=300)]
        assert named(Easter(-110)) == [date(2028, 4, 16) - timedelta(days=110)]


class TestComposed:
    def test_day_before_and_after(self) -> None:
        single = SingleDate(date(2027, 12, 25))
        assert named(Neighbour(-1, single)) == days("2027-12-24")
        assert named(Neighbour(1, single)) == days("2027-12-26")

    def test_neighbours_across_the_ends_of_the_list(self) -> None:
        assert named(Neighbour(-1, SingleDate(date(2028, 1, 1)))) == days("2027-12-31")
        assert named(Neighbour(1, SingleDate(date(2026, 12, 31)))) == days("2027-01-01")
        far = Neighbour(-1, Neighbour(-1, Neighbour(-1, SingleDate(date(2028, 1, 3)))))
        assert named(far) == days("2027-12-31")

    def test_day_before_holidays(self) -> None:
        found = named(Neighbour(-1, Holidays()), holidays=LIST)
        assert found == days("2027-11-24", "2027-12-23", "2027-12-24", "2027-12-30", "2027-12-31")

    def test_day_after_a_named_weekday_of_a_month(self) -> None:
        assert named(Neighbour(1, NthWeekday(4, 3, 11))) == days("2027-11-26")

    def test_weekdays_in_a_range(self) -> None:
        dates = WeekdaysIn(Weekdays((4, 5)), YearlyRange(MonthDay(6, 1), MonthDay(8, 31)))
        found = named(dates)
        assert len(found) == 26
        assert found[0] == date(2027, 6, 4)

    def test_any_of(self) -> None:
        assert named(AnyOf((MonthDay(12, 31), MonthDay(12, 24)))) == days(
            "2027-12-24", "2027-12-31"
        )

    def test_except(self) -> None:
        dates = Except(EveryDay(), Holidays())
        assert set(year(2027)) - set(named(dates, holidays=LIST)) == LIST.dates & set(year(2027))

    def test_dates_asked_for_may_have_gaps(self) -> None:
        asked = days("2027-01-01", "2027-07-04", "2027-12-25")
        assert dates_of(EveryDay(), asked, None) == set(asked)
        assert dates_of(Neighbour(1, MonthDay(7, 3)), asked, None) == {date(2027, 7, 4)}
        assert dates_of(EveryDay(), [], None) == frozenset()


class TestHolidays:
    def test_all(self) -> None:
        assert named(Holidays(), holidays=LIST) == days(
            "2027-01-01", "2027-11-25", "2027-12-24", "2027-12-25", "2027-12-31"
        )

    def test_a_name_is_the_date_itself_without_its_substitute(self) -> None:
        assert named(HolidayNamed("christmas"), holidays=LIST) == days("2027-12-25")
        assert named(HolidayNamed("New Year"), holidays=LIST) == days("2027-01-01")

    def test_observed_is_the_substitute(self) -> None:
        found = named(HolidayNamed("Christmas Day", observed=True), holidays=LIST)
        assert found == days("2027-12-24")
        assert named(HolidayNamed("new year", observed=True), holidays=LIST) == days("2027-12-31")

    def test_without_a_list_they_name_nothing_and_are_reported(self) -> None:
        for dates in (Holidays(), HolidayNamed("Christmas"), Neighbour(1, Holidays())):
            assert named(dates) == []
            assert [d.code for d in date_problems(DatesPhrase(dates), None)] == ["E321"]
            assert [d.code for d in date_problems(DatesPhrase(dates), HolidayList())] == ["E321"]

    def test_unknown_names_are_reported_with_near_ones(self) -> None:
        (found,) = date_problems(DatesPhrase(HolidayNamed("Thanksgving")), LIST)
        assert found.code == "E322"
        assert "Thanksgiving Day" in found.why
        (far,) = date_problems(DatesPhrase(HolidayNamed("Arbor Day")), LIST)
        assert all(name in far.why for name in LIST.names)

    def test_names_left_out_of_the_list_are_told_apart(self) -> None:
        (found,) = date_problems(DatesPhrase(HolidayNamed("Fourth of July")), LIST)
        assert found.code == "E323"
        assert found.fix.endswith("\n2027-07-04")

    def test_observed_dates_of_a_list_without_them(self) -> None:
        plain = HolidayList(holidays=LIST.holidays, observed=False, given=True)
        phrase = DatesPhrase(HolidayNamed("Christmas", observed=True))
        assert [d.code for d in date_problems(phrase, plain)] == ["E324"]
        assert date_problems(phrase, LIST) == ()

    def test_nothing_false_is_said_about_a_list_that_could_not_be_made(self) -> None:
        broken = HolidayList(given=True, complete=False)
        phrase = DatesPhrase(AnyOf((Holidays(), HolidayNamed("Christmas"))))
        assert date_problems(phrase, broken) == ()


YEAR = Period(date(2027, 1, 1), date(2027, 12, 31))
ONE_DATE = Period(date(2027, 6, 14), date(2027, 6, 14))


class TestDecide:
    def lines(self, *lines: tuple[Dates, Half | None]) -> list[CalendarLine]:
        return [CalendarLine(DatesPhrase(dates, half), "usual") for dates, half in lines]

    def test_the_last_line_that_names_a_half_decides(self) -> None:
        lines = self.lines(
            (EveryDay(), None), (Weekdays((4, 5)), Half.EVENING), (MonthDay(12, 25), None)
        )
        found = {(d.day, d.half): d.line for d in decide(lines, YEAR, None)}
        assert len(found) == 730
        assert found[date(2027, 6, 18), Half.MORNING] == 0
        assert found[date(2027, 6, 18), Half.EVENING] == 1
        assert found[date(2027, 12, 25), Half.MORNING] == 2
        assert found[date(2027, 12, 25), Half.EVENING] == 2

    def test_halves_no_line_names(self) -> None:
        lines = self.lines((Weekdays((0,)), Half.MORNING))
        found = {(d.day, d.half): d.line for d in decide(lines, ONE_DATE, None)}
        assert found == {
            (date(2027, 6, 14), Half.MORNING): 0,
            (date(2027, 6, 14), Half.EVENING): None,
        }
        assert [d.line for d in decide([], ONE_DATE, None)] == [None, None]

    def test_in_order_of_date_and_half(self) -> None:
        found = decide(self.lines((EveryDay(), None)), YEAR, None)
        assert [d.day for d in found[::2]] == year(2027)
        assert {d.half for d in found[::2]} == {Half.MORNING}

    @given(st.lists(st.sampled_from((
        EveryDay(), Weekdays((0, 1)), MonthDay(5, 1), NthWeekday(1, 0, 9), Holidays(),
        YearlyRange(MonthDay(11, 1), MonthDay(2, 1)), Neighbour(-1, Holidays()),
    )), max_size=6), st.lists(st.sampled_from((None, *Half)), min_size=6, max_size=6))  # fmt: skip
    @settings(max_examples=40)
    def test_equals_asking_line_by_line(
        self, dates: list[Dates], halves: list[Half | None]
    ) -> None:
        lines = self.lines(*zip(dates, halves, strict=False))
        for decided in decide(lines, YEAR, LIST)[::7]:
            naming = [
                i
                for i, line in enumerate(lines)
                if line.dates.half in (None, decided.half)
                and dates_of(line.dates.dates, [decided.day], LIST)
            ]
            assert decided.line == (naming[-1] if naming else None)


def test_never() -> None:
    assert never(MonthDay(2, 29), year(2027), None)
    assert never(NthWeekday(5, 0, 2), year(2027), None)
    assert never(SingleDate(date(2026, 1, 1)), year(2027), None)
    assert not never(MonthDay(2, 29), year(2028), None)


# RFC 5545

RFC = rows("rfc5545.csv")
CHECKED = [r for r in RFC if r["status_vs_dateutil"] == "ok"]


@pytest.mark.parametrize("row", CHECKED, ids=lambda r: r["rrule"])
def test_rfc_5545_examples(row: dict[str, str]) -> None:
    """Dates as printed in RFC 5545 3.8.5.3; "..." marks where the printed list breaks off."""
    printed = row["expected_dates"].removesuffix(" ...").split()
    goes_on = row["expected_dates"].endswith("...")
    starting = datetime.fromisoformat(row["dtstart_local_new_york"]).date()
    expected = days(*printed)
    last = expected[-1] if goes_on else expected[-1] + timedelta(days=3660)
    dates: Dates = Recurrence(row["rrule"], starting)
    if row["exdate"]:
        dates = Except(dates, SingleDate(datetime.fromisoformat(row["exdate"]).date()))
    asked = Period(starting - timedelta(days=800), last).dates()
    assert sorted(dates_of(dates, asked, None)) == expected
    assert sorted(dates_of(dates, asked[900:], None)) == [d for d in expected if d >= asked[900]]


def test_rfc_5545_examples_by_the_hour_are_refused() -> None:
    by_hour = [r for r in RFC if re.search("HOURLY|MINUTELY|BYHOUR", r["rrule"])]
    assert len(by_hour) == 5
    for row in by_hour:
        rule, (found,) = read_rule(row["rrule"])
        assert rule is None
        assert found.code == "E316"


def test_rfc_5545_every_other_day() -> None:
    """Example 3: September 2, 4, 6, 8 ... 24, 26, 28, 30; October 2, 4, 6 ... of 1997."""
    dates = Recurrence("FREQ=DAILY;INTERVAL=2", date(1997, 9, 2))
    found = dates_of(dates, Period(date(1997, 9, 1), date(1997, 10, 6)).dates(), None)
    assert [d.day for d in sorted(found)] == [*range(2, 31, 2), 2, 4, 6]


def rules(frequency: str, *parts: str) -> st.SearchStrategy[str]:
    """Rules of one frequency with some of the parts, each name once."""
    some = st.lists(st.sampled_from(parts), unique_by=lambda part: part.partition("=")[0])
    return some.map(lambda chosen: ";".join([f"FREQ={frequency}", *chosen]))


# dateutil asks a date to meet plain and numbered weekdays both, RFC 5545 one of them: not mixed.
RULES = st.one_of(
    rules(
        *("YEARLY", "BYMONTH=2,11", "BYMONTHDAY=1,-1", "BYDAY=2TU,-1FR", "BYDAY=SA,SU"),
        "BYYEARDAY=60,-1",
    ),
    rules("YEARLY;BYWEEKNO=1", "BYDAY=MO", "WKST=SU"),
    rules("YEARLY;BYWEEKNO=52,53", "BYDAY=SA,SU", "WKST=SU"),
    rules("YEARLY;BYWEEKNO=-1,20", "BYDAY=FR", "WKST=WE"),
    rules(
        *("MONTHLY", "BYMONTH=1,4,12", "BYMONTHDAY=13,-3,31", "BYDAY=FR", "BYDAY=1MO,-2WE"),
        "BYDAY=MO,TU,WE,TH,FR",
    ),
    rules("WEEKLY", "BYMONTH=3,10", "BYDAY=TU,SU", "WKST=SU", "WKST=WE"),
    rules("DAILY", "BYMONTH=3,10", "BYDAY=TU,SU", "BYMONTHDAY=1,15"),
)
PLACES = st.sampled_from(("", "", ";BYSETPOS=1,-1", ";BYSETPOS=3"))
LONG = timedelta(days=4400)


@settings(max_examples=300, deadline=None)
@given(
    RULES, st.integers(1, 4), st.sampled_from((None, 7)), PLACES, st.integers(0, 800),
    st.integers(0, 900),
)  # fmt: skip
def test_agrees_with_dateutil(
    rule: str, interval: int, count: int | None, places: str, start: int, ahead: int
) -> None:
    """dateutil as a second opinion, where it comes to an end."""
    text = f"{rule};INTERVAL={interval}{places if ';BY' in rule else ''}"
    starting = date(2026, 1, 1) + timedelta(days=start)
    if "BYSETPOS" in text and "WEEKLY" in text:
        # RFC 5545 counts places in the whole week, dateutil in what is left of the first one.
        week_start = 6 if "WKST=SU" in text else 2 if "WKST=WE" in text else 0
        starting -= timedelta(days=(starting.weekday() - week_start) % 7)
    text += f";COUNT={count}" if count else ""
    read, problems = read_rule(text)
    assert read is not None
    assert problems == ()
    first, last = starting + timedelta(days=ahead), starting + timedelta(days=ahead + 730)
    # dateutil looks for one more date up to the year 9999, so there must be one.
    all_of_it = occurrences(read, starting, starting, last + LONG)
    assume(len(all_of_it) == count if count else any(day > last for day in all_of_it))
    moments = rrulestr(text, dtstart=datetime.combine(starting, time()))
    theirs = takewhile(lambda day: day <= last, (moment.date() for moment in moments))
    assert occurrences(read, starting, first, last) == {d for d in theirs if d >= first}, text


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "FREQ=DAILY;BYMONTH=2;BYMONTHDAY=31",
        "FREQ=MONTHLY;BYMONTHDAY=31;BYMONTH=4,6",
        "FREQ=MONTHLY;BYDAY=MO;BYSETPOS=6",
        "FREQ=YEARLY;INTERVAL=2;BYMONTH=2;BYMONTHDAY=29",
        "FREQ=DAILY;COUNT=100000;BYMONTH=2;BYMONTHDAY=30",
    ],
)
def test_rules_that_never_come_come_to_an_end(rule: str) -> None:
    assert named(Recurrence(rule, date(2027, 1, 1))) == []


class TestRules:
    def problems(self, rule: str, starting: date | None = None) -> list[str]:
        found = date_problems(DatesPhrase(AnyOf((Recurrence(rule, starting),))), None)
        return [d.code for d in found]

    def test_without_a_start(self) -> None:
        assert named(Recurrence("FREQ=MONTHLY;BYDAY=1MO"))[:2] == days("2027-01-04", "2027-02-01")
        assert named(Recurrence("freq=yearly;bymonth=7;bymonthday=1")) == days("2027-07-01")
        assert named(Recurrence("RRULE:FREQ=MONTHLY; BYMONTHDAY=-1"))[0] == date(2027, 1, 31)
        assert self.problems("FREQ=MONTHLY;BYDAY=1MO") == []

    @pytest.mark.parametrize(
        "rule",
        [
            *("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "FREQ=DAILY;COUNT=3"),
            *("FREQ=WEEKLY", "FREQ=MONTHLY", "FREQ=YEARLY;BYMONTH=7"),
        ],
    )
    def test_rules_that_need_a_start(self, rule: str) -> None:
        assert self.problems(rule) == ["E319"]
        assert self.problems(rule, date(2027, 1, 4)) == []

    def test_dates_do_not_depend_on_the_dates_asked_for(self) -> None:
        dates = Recurrence("FREQ=WEEKLY;INTERVAL=3;BYDAY=TU", date(2027, 1, 5))
        wide = Period(date(2025, 12, 1), date(2028, 3, 1)).dates()
        assert dates_of(dates, wide, None) & set(year(2027)) == set(named(dates))
        assert not any(d < date(2027, 1, 5) for d in dates_of(dates, wide, None))

    @pytest.mark.parametrize(
        ("rule", "code"),
        [
            ("BYDAY=MO", "E313"),
            ("", "E314"),
            ("FREQ=OFTEN", "E314"),
            ("FREQ=DAILY;BYFOO=1", "E314"),
            ("FREQ=YEARLY;BYMONTH=13", "E314"),
            ("FREQ=YEARLY;BYMONTH=", "E314"),
            ("FREQ=MONTHLY;BYMONTHDAY=0", "E314"),
            ("FREQ=MONTHLY;BYMONTHDAY=32", "E314"),
            ("FREQ=MONTHLY;BYDAY=0MO", "E314"),
            ("FREQ=MONTHLY;BYDAY=MON", "E314"),
            ("FREQ=DAILY;INTERVAL=0", "E314"),
            ("FREQ=DAILY;INTERVAL=99999999999999999999", "E314"),
            ("FREQ=DAILY;UNTIL=20270230", "E314"),
            ("FREQ=DAILY;UNTIL=2027-02-03", "E314"),
            ("FREQ=DAILY;WKST=XX", "E314"),
            ("FREQ=DAILY;FREQ=DAILY", "E315"),
            ("FREQ=HOURLY", "E316"),
            ("FREQ=DAILY;BYHOUR=9", "E316"),
            ("FREQ=DAILY;COUNT=3;UNTIL=20270301", "E317"),
            ("FREQ=WEEKLY;BYDAY=1MO", "E317"),
            ("FREQ=MONTHLY;BYWEEKNO=20", "E317"),
            ("FREQ=MONTHLY;BYYEARDAY=20", "E317"),
            ("FREQ=WEEKLY;BYMONTHDAY=20", "E317"),
            ("FREQ=YEARLY;BYWEEKNO=20;BYDAY=1MO", "E317"),
            ("FREQ=MONTHLY;BYSETPOS=1", "E317"),
        ],
    )
    def test_what_cannot_be_read(self, rule: str, code: str) -> None:
        assert self.problems(rule, date(2027, 1, 4)) == [code]
        assert named(Recurrence(rule)) == []

    def test_every_bad_part_is_reported(self) -> None:
        assert self.problems("FREQ=DAILY;BYMONTH=13;INTERVAL=x") == ["E314", "E314"]

    def test_until_with_a_clock_time_names_the_last_date(self) -> None:
        _, (midnight,) = read_rule("FREQ=DAILY;UNTIL=20271224T000000Z")
        assert midnight.severity is Severity.CAUTION
        assert "Thu 23 Dec 2027" in midnight.title
        assert "UNTIL=20271223" in midnight.fix
        _, (late,) = read_rule("FREQ=DAILY;UNTIL=20271224T045959Z")
        assert "Fri 24 Dec 2027" in late.title
        assert named(Recurrence("FREQ=DAILY;UNTIL=20270103T000000Z")) == days(
            "2027-01-01", "2027-01-02"
        )
