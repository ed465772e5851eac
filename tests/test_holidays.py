"""Holiday lists against official dates.

tests/authority/holidays.csv: `source` names the publisher of each date (OPM, Federal Reserve,
GOV.UK, data.gov.au, state laws and gazettes); rows with the status `flag` are misprints or dates
that are no public holiday. `holidays_0.109_says` is what that release of the library has.
"""

from __future__ import annotations

import csv
import os
import subprocess
import sys
import warnings
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedcomp.days import date_problems
from schedcomp.diag import Diagnostic, Severity, Source, SourceRange, render
from schedcomp.holiday_list import Holiday, HolidayList, holiday_list
from schedcomp.holiday_names import common_key, near_names, plain_key
from schedcomp.model import Half, Period
from schedcomp.phrases.tree import (
    DatesPhrase,
    Easter,
    Holidays,
    MonthDay,
    Neighbour,
    NthWeekday,
    Recurrence,
    SingleDate,
)
from schedcomp.site import AddedHoliday, HolidayChoice

Row = dict[str, str]

with (Path(__file__).parent / "authority" / "holidays.csv").open(
    encoding="utf-8", newline=""
) as _file:
    ROWS = [r for r in csv.DictReader(_file) if not r["country"].startswith("(")]

PARTS = {"England and Wales": "ENG", "Scotland": "SCT", "Northern Ireland": "NIR"}
Y2027 = Period(date(2027, 1, 1), date(2027, 12, 31))


def names(*texts: str) -> tuple[tuple[str, None], ...]:
    return tuple((text, None) for text in texts)


def listed(choice: HolidayChoice, period: Period = Y2027) -> HolidayList:
    """The list of a choice with which nothing is wrong."""
    found, problems = holiday_list(choice, period.years, period)
    assert found is not None
    assert [d for d in problems if d.severity is Severity.PROBLEM] == []
    return found


def said(choice: HolidayChoice, period: Period = Y2027) -> tuple[Diagnostic, ...]:
    return holiday_list(choice, period.years, period)[1]


def codes(choice: HolidayChoice, period: Period = Y2027) -> list[str]:
    return [d.code for d in said(choice, period)]


def us(*, observed: bool | None = True, **other: object) -> HolidayChoice:
    return HolidayChoice(country="US", observed=observed, **other)  # type: ignore[arg-type]


# Official dates


def public(rows: list[Row]) -> list[Row]:
    """Rows a list of public holidays can have: no part-day, bank or government-office dates."""
    return [
        r
        for r in rows
        if r["kind"] != "part-day"
        and not (r["kind"] == "bank/government" and r["country"] == "CA" and not_everywhere(r))
        and r["name"] != "Bank Holiday"
    ]


def not_everywhere(row: Row) -> bool:
    """Canadian federal and bank dates that are no public holiday of the province or country."""
    return row["holidays_0.109_says"].removesuffix(" (observed)") in {
        "Victoria Day", "Civic Holiday", "National Day for Truth and Reconciliation",
        "Thanksgiving Day", "Remembrance Day", "Boxing Day",
    } or row["name"] == "Canada Day (substitute)"  # fmt: skip


def the_list(row: Row, observed: bool) -> HolidayList:
    day = date.fromisoformat(row["date"])
    part = PARTS.get(row["subdivision"], row["subdivision"]) or None
    choice = HolidayChoice(country=row["country"], subdivision=part, observed=observed)
    return listed(choice, Period(date(day.year, 1, 1), date(day.year, 12, 31)))


OK = [r for r in ROWS if r["status"] == "ok"]


@pytest.mark.parametrize("country", ["US", "GB", "AU", "CA", "DE"])
def test_official_dates(country: str) -> None:
    rows = public([r for r in OK if r["country"] == country])
    assert len(rows) >= 24
    for row in rows:
        day = date.fromisoformat(row["date"])
        found = the_list(row, True).on(day) or the_list(row, False).on(day)
        assert found, (row["id"], row["name"], row["date"], row["source"])


def test_dates_given_instead_are_marked_so() -> None:
    """OPM, GOV.UK: the published lists say "observed" or "substitute day" for these."""
    rows = [r for r in OK if r["country"] in ("US", "GB") and "(observed)" in r[SAYS]]
    assert len(rows) > 30
    for row in rows:
        day = date.fromisoformat(row["date"])
        name = row[SAYS].removesuffix(" (observed)")
        assert day in {h.day for h in the_list(row, True).named(name, observed=True)}, row
        assert day not in {h.day for h in the_list(row, True).named(name)}, row
        assert not the_list(row, False).on(day), row


SAYS = "holidays_0.109_says"


def test_misprints_and_dates_of_some_offices_are_not_in_the_lists() -> None:
    rows = [r for r in ROWS if r["status"] == "flag" and r[SAYS] == "NOT IN PACKAGE"]
    assert len(rows) == 12
    for row in rows:
        assert not the_list(row, True).on(date.fromisoformat(row["date"])), row


def test_us_2027() -> None:
    """OPM federal holidays 2027 and 5 U.S.C. 6103(b): Saturday the Friday, Sunday the Monday."""
    found = [f"{h.day:%m-%d} {h.label}" for h in listed(us()).within(Y2027)]
    assert found == [
        "01-01 New Year's Day",
        "01-18 Martin Luther King Jr. Day",
        "02-15 Washington's Birthday",
        "05-31 Memorial Day",
        "06-18 Juneteenth National Independence Day (observed)",
        "06-19 Juneteenth National Independence Day",
        "07-04 Independence Day",
        "07-05 Independence Day (observed)",
        "09-06 Labor Day",
        "10-11 Columbus Day",
        "11-11 Veterans Day",
        "11-25 Thanksgiving Day",
        "12-24 Christmas Day (observed)",
        "12-25 Christmas Day",
        "12-31 New Year's Day (observed)",
    ]
    assert len(listed(us(observed=False)).within(Y2027)) == 11


def test_us_2028() -> None:
    """Veterans Day 2028 is a Saturday; New Year's Day 2028 was observed in 2027."""
    period = Period(date(2028, 1, 1), date(2028, 12, 31))
    moved = [h for h in listed(us(), period).within(period) if h.observed]
    assert [(h.day, h.name) for h in moved] == [(date(2028, 11, 10), "Veterans Day")]


def test_a_period_over_the_year_end_has_both_years() -> None:
    period = Period(date(2027, 12, 1), date(2028, 1, 31))
    found = listed(us(only=names("New Year")), period).within(period)
    assert [h.day for h in found] == [date(2027, 12, 31), date(2028, 1, 1)]


def test_neighbouring_years_are_there_for_the_dates_beside_the_period() -> None:
    days = listed(us()).dates
    assert {date(2026, 12, 25), date(2028, 1, 1)} <= days


# Choosing


def test_no_choice_no_list() -> None:
    assert holiday_list(None, (2027,), Y2027) == (None, ())


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("thanksgiving", "Thanksgiving Day"),
        ("CHRISTMAS", "Christmas Day"),
        ("New Years Day", "New Year's Day"),
        ("New Year’s Day", "New Year's Day"),
        ("new year", "New Year's Day"),
        ("MLK Day", "Martin Luther King Jr. Day"),
        ("Martin Luther King, Jr. Day", "Martin Luther King Jr. Day"),
        ("Presidents' Day", "Washington's Birthday"),
        ("Presidents Day", "Washington's Birthday"),
        ("Fourth of July", "Independence Day"),
        ("Labour Day", "Labor Day"),
        ("Juneteenth", "Juneteenth National Independence Day"),
    ],
)
def test_other_common_names(written: str, name: str) -> None:
    found = listed(us(observed=False, only=names(written))).within(Y2027)
    assert [h.name for h in found] == [name]


def test_other_common_names_of_other_lists() -> None:
    gb = HolidayChoice(country="GB", subdivision="England", observed=True)
    assert listed(gb).named("boxing day")
    assert listed(gb).named("Early May Bank Holiday") == listed(gb).named("May Day")
    ie = HolidayChoice(country="IE", observed=True)
    assert [h.day for h in listed(ie).named("Boxing Day") if h.day in Y2027] == [date(2027, 12, 26)]
    au = HolidayChoice(country="AU", subdivision="VIC", observed=True)
    assert listed(au).named("Labor Day") == listed(au).named("Labour Day") != ()


def test_names_in_the_language_of_the_list_and_in_english() -> None:
    de = HolidayChoice(country="de", subdivision="by", observed=False)
    german, english = listed(de).named("Fronleichnam"), listed(de).named("corpus christi")
    assert german == english
    assert [h.day for h in german if h.day in Y2027] == [date(2027, 5, 27)]
    assert (german[0].name, german[0].other_names) == ("Corpus Christi", ("Fronleichnam",))
    two = listed(HolidayChoice(country="DE", observed=False, only=names("neujahr", "Christmas")))
    assert [h.name for h in two.within(Y2027)] == ["New Year's Day", "Christmas Day"]


def test_only_and_except_name_what_they_leave_out() -> None:
    kept = listed(us(observed=False, only=names("Christmas Day", "Thanksgiving")))
    assert [h.name for h in kept.within(Y2027)] == ["Thanksgiving Day", "Christmas Day"]
    assert len(kept.left_out) == 9
    assert "Labor Day" in kept.left_out
    without = listed(us(left_out=names("columbus day", "Christmas Day (observed)")))
    assert without.left_out == ("Columbus Day",)
    assert not without.on(date(2027, 12, 24))
    assert without.on(date(2027, 12, 25))


def test_only_keeps_the_dates_given_instead() -> None:
    kept = listed(us(only=names("Christmas")))
    assert [h.day.day for h in kept.within(Y2027)] == [24, 25]


def test_unknown_names_come_with_near_ones_or_the_list() -> None:
    at = SourceRange(Source("site.toml", "x"), 0, 1)
    (near,) = said(us(only=(("Thanksgving", at),)))
    assert (near.code, near.at) == ("E306", at)
    assert "Thanksgiving Day" in near.why
    (far,) = said(us(left_out=names("Groundhog Day")))
    assert "Memorial Day" in far.why
    assert "Christmas Day" in far.why


def test_a_name_of_other_years_is_no_slip() -> None:
    """Inauguration Day is every fourth year (2025, 2029), in Washington D.C. a holiday."""
    dc = HolidayChoice(
        country="US", subdivision="DC", observed=True, only=names("Inauguration Day", "Christmas")
    )
    (found,) = said(dc)
    assert found.code == "E307"
    assert "2029" in found.why
    out = HolidayChoice(
        country="US", subdivision="DC", observed=True, left_out=names("Inauguration Day")
    )
    assert said(out) == ()


# Observed dates must be chosen


def test_observed_must_be_said_where_it_matters() -> None:
    (found,) = said(us(observed=None))
    assert found.code == "E308"
    for text in ("4 holidays in this period", "Fri 18 Jun 2027", "Mon 5 Jul 2027",
                 "Fri 24 Dec 2027", "Fri 31 Dec 2027"):  # fmt: skip
        assert text in f"{found.title} {found.why}"
    assert found.fix.splitlines()[1:] == ["observed = true", "observed = false"]


def test_observed_need_not_be_said_where_it_does_not_matter() -> None:
    assert said(us(observed=None, only=names("Thanksgiving", "Labor Day"))) == ()
    first_half = Period(date(2027, 1, 1), date(2027, 5, 31))
    assert said(us(observed=None), first_half) == ()


def test_only_the_chosen_entries_count() -> None:
    (found,) = said(us(observed=None, only=names("Christmas", "Thanksgiving")))
    assert "Fri 24 Dec 2027 (Christmas Day)" in found.why
    assert "Jul" not in found.why


def test_lists_that_move_the_holiday_itself() -> None:
    """Netherlands: King's Day is 27 April, on 26 April where that is a Sunday, as in 2031."""
    period = Period(date(2031, 1, 1), date(2031, 12, 31))
    (found,) = said(HolidayChoice(country="NL"), period)
    assert "Sat 26 Apr 2031" in found.why.splitlines()[0]
    assert "Sun 27 Apr 2031" in found.why.splitlines()[1]
    for observed, day in ((True, 26), (False, 27)):
        choice = HolidayChoice(country="NL", observed=observed)
        kings = [h.day for h in listed(choice, period).named("koningsdag") if h.day in period]
        assert kings == [date(2031, 4, day)]


def test_a_name_used_only_for_dates_given_instead() -> None:
    """Japan: the Monday after a holiday on Sunday (21 March 2027) is a holiday of its own name."""
    found = listed(HolidayChoice(country="JP", observed=True)).named("Substitute Holiday")
    assert [h.day for h in found if h.day in Y2027] == [date(2027, 3, 22)]


# Lists that are not there or not certain


def test_unknown_countries() -> None:
    for written, code in (("USA", "US"), ("Germany", "DE"), ("united kingdom", "GB")):
        (found,) = said(HolidayChoice(country=written))
        assert found.code == "E301"
        assert f'country = "{code}"' in found.fix
    for written in ("XX", "", "??", "NYSE"):
        assert codes(HolidayChoice(country=written)) == ["E301"]


@pytest.mark.parametrize(
    ("written", "zone_name", "code"),
    [
        # A slip in a name goes before the place.
        ("Germny", "Europe/Lisbon", "DE"),
        ("new zeeland", "", "NZ"),
        # IANA tz database, zone.tab: the country of each zone.
        ("XX", "Europe/Lisbon", "PT"),
        ("", "Asia/Kolkata", "IN"),
        ("XX", "Etc/UTC", "US"),
    ],
)
def test_the_country_proposed_is_the_nearest_name_or_that_of_the_place(
    written: str, zone_name: str, code: str
) -> None:
    found = holiday_list(HolidayChoice(country=written), Y2027.years, Y2027, zone_name)[1]
    assert f'country = "{code}"' in found[0].fix
    (without,) = date_problems(DatesPhrase(Holidays()), None, zone_name)
    here = code if written in ("XX", "") else {"Europe/Lisbon": "PT", "": "US"}[zone_name]
    assert f'country = "{here}"' in without.fix


def test_unknown_parts() -> None:
    (found,) = said(HolidayChoice(country="GB", subdivision="Scotlnd"))
    assert found.code == "E302"
    assert "ENG, NIR, SCT, WLS" in found.why
    assert 'subdivision = "SCT"' in found.fix
    (no_parts,) = said(HolidayChoice(country="SG", subdivision="X"))
    assert no_parts.code == "E302"


def test_choices_without_a_country() -> None:
    choice = HolidayChoice(subdivision="AZ", only=names("Christmas"), left_out=names("Labor Day"))
    assert codes(choice) == ["E303"] * 3


def test_a_failed_list_is_marked_so_that_nothing_false_follows() -> None:
    found, _ = holiday_list(HolidayChoice(country="XX"), (2027,), Y2027)
    assert found == HolidayList(given=True, complete=False)
    unsaid, _ = holiday_list(us(observed=None), (2027,), Y2027)
    assert unsaid is not None
    assert unsaid.complete
    assert unsaid.named("Christmas Day")


def test_a_list_that_ends() -> None:
    """The library knows Ukraine's public holidays to 1991 and none under martial law."""
    before = Period(date(1985, 1, 1), date(1985, 12, 31))
    assert codes(HolidayChoice(country="UA", observed=True), before) == ["E304"]
    assert codes(HolidayChoice(country="UA", observed=True)) == ["E305"]


def test_only_the_period_must_be_covered() -> None:
    period = Period(date(2100, 1, 1), date(2100, 12, 31))
    found, problems = holiday_list(us(only=names("Christmas")), (2099, 2100, 2101), period)
    assert problems == ()
    assert found is not None
    assert [h.day for h in found.within(period)] == [date(2100, 12, 24), date(2100, 12, 25)]


def test_dates_by_the_moon_are_named() -> None:
    feasts = names("Eid al-Fitr", "Eid al-Adha")
    (found,) = said(HolidayChoice(country="EG", observed=True, only=feasts))
    assert (found.code, found.severity) == ("E309", Severity.CAUTION)
    assert "Tue 9 Mar 2027 (Eid al-Fitr)" in found.why
    kept = listed(HolidayChoice(country="EG", observed=True, only=feasts)).within(Y2027)
    assert kept[0].label == "Eid al-Fitr (estimated)"
    assert said(HolidayChoice(country="EG", observed=True, only=names("Labor Day"))) == ()


def test_no_warning_of_the_library_escapes() -> None:
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always")
        for country in ("EG", "UA", "LK", "SX", "JP"):
            choice = HolidayChoice(country=country, observed=True)
            said(choice, Period(date(2000, 1, 1), date(2000, 12, 31)))
    assert caught == []


@pytest.mark.parametrize("language", ["de", "th", "C"])
def test_the_language_of_the_computer_does_not_matter(language: str) -> None:
    code = (
        "from datetime import date; from schedcomp.holiday_list import holiday_list as h;"
        "from schedcomp.site import HolidayChoice as C; from schedcomp.model import Period as P;"
        "p = P(date(2027, 1, 1), date(2027, 12, 31));"
        "print([h(C(country=c, observed=True), (2027,), p) for c in ('US', 'CH', 'JP', 'AX')])"
    )
    seen = []
    for spoken in (language, "en"):
        environment = os.environ | {"LANGUAGE": spoken, "LANG": spoken, "PYTHONIOENCODING": "utf-8"}
        run = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True)
        assert run.returncode == 0
        seen.append(run.stdout)
    assert seen[0] == seen[1]


# Added dates


def added(name: str, phrase: DatesPhrase) -> HolidayChoice:
    return HolidayChoice(added=(AddedHoliday(name=name, dates=phrase),))


def test_added_dates_of_any_kind() -> None:
    for dates, day in (
        (SingleDate(date(2027, 9, 3)), date(2027, 9, 3)),
        (MonthDay(12, 24), date(2027, 12, 24)),
        (NthWeekday(1, 4, 10), date(2027, 10, 1)),
        (Neighbour(1, NthWeekday(4, 3, 11)), date(2027, 11, 26)),
        (Easter(-2), date(2027, 3, 26)),
        (Recurrence("FREQ=YEARLY;BYMONTH=6;BYDAY=2SA"), date(2027, 6, 12)),
    ):
        found = listed(added("Store birthday", DatesPhrase(dates)))
        assert found.within(Y2027) == (Holiday(day=day, name="Store birthday", added=True),)
        assert [h.day for h in found.named("store birthday") if h.day in Y2027] == [day]
        assert found.library_version == ""


def test_added_to_a_list() -> None:
    birthday = AddedHoliday(name="Store birthday", dates=DatesPhrase(SingleDate(date(2027, 9, 3))))
    found = listed(us(observed=False, only=names("Labor Day"), added=(birthday,)))
    assert [h.name for h in found.within(Y2027)] == ["Store birthday", "Labor Day"]
    assert found.source == "US"


def test_what_cannot_be_added() -> None:
    assert codes(added("Eve", DatesPhrase(Neighbour(-1, Holidays())))) == ["E310"]
    assert codes(added("Eve", DatesPhrase(MonthDay(12, 24), Half.EVENING))) == ["E146"]
    assert codes(added("Old", DatesPhrase(SingleDate(date(2020, 1, 1))))) == ["E312"]
    assert codes(added("Rule", DatesPhrase(Recurrence("FREQ=HOURLY")))) == ["E316"]


# Names


def test_plain_key() -> None:
    assert plain_key("New Year’s Day") == plain_key("new years") == "new years"
    assert plain_key("St. Patrick's Day") == plain_key("Saint Patricks")
    assert plain_key("Mariä Himmelfahrt") == plain_key("MARIA HIMMELFAHRT")
    assert plain_key("Groß") == plain_key("gross")
    assert plain_key("Day") == "day"
    assert common_key("Xmas") == common_key("Christmas Day") != common_key("Christmas Eve")


def test_near_names_are_few_and_close() -> None:
    known = ["Christmas Day", "Christmas Eve", "Labor Day", "Martin Luther King Jr. Day"]
    assert near_names("Chrismas", known) == ("Christmas Day",)
    assert near_names("luther king", known) == ("Martin Luther King Jr. Day",)
    assert near_names("Thanksgiving", known) == ()
    assert len(near_names("aaa", [f"aa{c}" for c in "bcdefg"])) == 4


@given(st.text(max_size=30))
def test_any_text_is_taken_as_a_name(text: str) -> None:
    assert plain_key(plain_key(text)) == plain_key(plain_key(plain_key(text)))
    assert listed(HolidayChoice()).named(text) == ()
    assert near_names(text, ["Christmas Day"]) in ((), ("Christmas Day",))


def test_messages_fit_the_page() -> None:
    choices = [
        us(observed=None), HolidayChoice(country="EG"), HolidayChoice(country="USA"),
        HolidayChoice(country="DE", subdivision="ZZ"), us(only=names("Groundhog Day")),
    ]  # fmt: skip
    for choice in choices:
        text = render(said(choice))
        assert max(map(len, text.splitlines())) <= 80
        assert "{" not in text.replace("holidays = {", "").replace("add = {", "")


def test_a_country_is_read_without_the_others() -> None:
    program = (
        "import sys; from schedcomp.country_holidays import country_list;"
        "print(len(country_list('US', None, (2027,)).with_observed));"
        "print('holidays.countries.norway' in sys.modules);"
        "from holidays.countries import Norway; print(Norway.country)"
    )
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", program], capture_output=True, text=True, check=False
    )
    assert (done.stdout.split()[1:], done.stderr) == (["False", "NO"], "")
