"""Phrases: every accepted form with its tree, and every refusal with its place and words."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date

import pytest

from schedcomp.diag import Diagnostic, PhraseText, Source, SourceRange, render_one
from schedcomp.messages import wanted, writing, writing_dates
from schedcomp.messages.kind import Kind
from schedcomp.model import Half
from schedcomp.phrases import (
    parse_calendar_line,
    parse_dates,
    parse_duration,
    parse_hours,
    parse_keep_dark,
    parse_moment,
    parse_promise,
    parse_stretch,
    parse_sun_definition,
    parse_window,
)
from schedcomp.phrases.printer import (
    print_dates_phrase,
    print_duration,
    print_hours,
    print_moment,
    print_sun_definition,
    print_window,
)
from schedcomp.phrases.tree import (
    AnyOf,
    CalendarLine,
    Clock,
    ClosedHours,
    DatedClock,
    DatedRange,
    Dates,
    DatesPhrase,
    Easter,
    EveryDay,
    Except,
    HolidayNamed,
    Holidays,
    HoursMoment,
    HoursValue,
    HoursWord,
    KeepDarkLine,
    Moment,
    MonthDay,
    Neighbour,
    NthWeekday,
    OpenHours,
    Pair,
    PromiseLine,
    Recurrence,
    SingleDate,
    Stretch,
    SunDefinition,
    SunLevel,
    SunMoment,
    SunWord,
    Weekdays,
    WeekdaysIn,
    Which,
    Window,
    YearlyRange,
)
from schedcomp.words import counted, join_and, join_or

Parse = Callable[[PhraseText], tuple[object, tuple[Diagnostic, ...]]]

DUSK, DAWN = SunMoment(SunWord.DUSK), SunMoment(SunWord.DAWN)
SUMMER = YearlyRange(MonthDay(6, 1), MonthDay(8, 31))


def in_file(text: str) -> PhraseText:
    """A phrase alone in a file."""
    source = Source("site.toml", text)
    return PhraseText(text, SourceRange(source, 0, len(text)))


def tree_of(parse: Parse, text: str) -> object:
    tree, findings = parse(in_file(text))
    assert findings == (), render_one(findings[0])
    return tree


def finding_of(parse: Parse, text: str) -> Diagnostic:
    tree, findings = parse(in_file(text))
    assert tree is None
    (finding,) = findings
    return finding


def dates(phrase: PhraseText) -> tuple[object, tuple[Diagnostic, ...]]:
    return parse_dates(phrase, halves_allowed=True)


def whole_dates(phrase: PhraseText) -> tuple[object, tuple[Diagnostic, ...]]:
    return parse_dates(phrase, halves_allowed=False)


def end(phrase: PhraseText) -> tuple[object, tuple[Diagnostic, ...]]:
    return parse_moment(phrase, is_end=True)


def dusk(phrase: PhraseText) -> tuple[object, tuple[Diagnostic, ...]]:
    return parse_sun_definition(phrase, Half.EVENING)


def dawn(phrase: PhraseText) -> tuple[object, tuple[Diagnostic, ...]]:
    return parse_sun_definition(phrase, Half.MORNING)


# Accepted forms


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("23:30", 1410),
        ("7:30", 450),
        ("07:30", 450),
        ("00:00", 0),
        ("11:30 pm", 1410),
        ("11:30PM", 1410),
        ("11:30 p.m.", 1410),
        ("11 pm", 1380),
        ("11am", 660),
        ("12:00 am", 0),
        ("12:30 am", 30),
        ("12:00 pm", 720),
        ("noon", 720),
        ("Noon", 720),
        (" 23:30\t", 1410),
    ],
)
def test_clock_times(text: str, minutes: int) -> None:
    assert tree_of(parse_moment, text) == Clock(minutes)


@pytest.mark.parametrize("text", ["24:00", "midnight", "MIDNIGHT"])
def test_clock_times_that_only_end_something(text: str) -> None:
    assert parse_moment(in_file(text), is_end=True) == (Clock(1440), ())
    assert parse_moment(in_file(text), is_end=False)[0] is None


def hours_moment(word: HoursWord, offset: int = 0, fallback: int | None = None) -> HoursMoment:
    return HoursMoment(word, offset, None if fallback is None else Clock(fallback))


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("sunrise", SunMoment(SunWord.SUNRISE)),
        ("sunset + 20 min", SunMoment(SunWord.SUNSET, 20)),
        ("dawn - 1 h 30 min", SunMoment(SunWord.DAWN, -90)),
        ("dusk \u2212 1 h", SunMoment(SunWord.DUSK, -60)),
        ("dusk \u2013 1 h", SunMoment(SunWord.DUSK, -60)),
        ("dusk+90min", SunMoment(SunWord.DUSK, 90)),
        ("dusk + 1h30min", SunMoment(SunWord.DUSK, 90)),
        ("dusk + 2 hours 5 minutes", SunMoment(SunWord.DUSK, 125)),
        ("dusk + 12 h", SunMoment(SunWord.DUSK, 720)),
        ("dusk + 0 min", DUSK),
        ("open", hours_moment(HoursWord.OPEN)),
        ("Close + 45 min", hours_moment(HoursWord.CLOSE, 45)),
        ("close or 21:00", hours_moment(HoursWord.CLOSE, 0, 1260)),
        ("leave + 30 min or midnight", hours_moment(HoursWord.LEAVE, 30, 1440)),
        ("arrive - 1 h or noon", hours_moment(HoursWord.ARRIVE, -60, 720)),
        (
            "the later of close + 45 min and 21:00",
            Pair(Which.LATER, hours_moment(HoursWord.CLOSE, 45), Clock(1260)),
        ),
        ("earlier of dusk and 8 pm", Pair(Which.EARLIER, DUSK, Clock(1200))),
        (
            "THE LATER OF close or 21:00 AND leave",
            Pair(Which.LATER, hours_moment(HoursWord.CLOSE, 0, 1260), HoursMoment(HoursWord.LEAVE)),
        ),
        (
            "the later of close and midnight",
            Pair(Which.LATER, hours_moment(HoursWord.CLOSE), Clock(1440)),
        ),
    ],
)
def test_moments(text: str, tree: Moment) -> None:
    assert tree_of(end, text) == tree


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("on from dusk until 23:00", Window(DUSK, Clock(1380))),
        ("On\tFrom 04:30  until Dawn", Window(Clock(270), DAWN)),
        ("on from 00:00 until 24:00", Window(Clock(0), Clock(1440))),
        ("on from dusk until midnight", Window(DUSK, Clock(1440))),
        ("on from noon until 00:00", Window(Clock(720), Clock(0))),
    ],
)
def test_windows(text: str, tree: Window) -> None:
    assert tree_of(parse_window, text) == tree


DATES: list[tuple[str, Dates]] = [
    ("every day", EveryDay()),
    ("mon", Weekdays((0,))),
    ("Monday", Weekdays((0,))),
    ("fridays", Weekdays((4,))),
    ("mon-fri", Weekdays((0, 1, 2, 3, 4))),
    ("monday \u2013 friday", Weekdays((0, 1, 2, 3, 4))),
    ("mon to fri", Weekdays((0, 1, 2, 3, 4))),
    ("fri-mon", Weekdays((0, 4, 5, 6))),
    ("sun-mon", Weekdays((0, 6))),
    ("fri, sat", Weekdays((4, 5))),
    ("sat, mon-wed, sat", Weekdays((0, 1, 2, 5))),
    ("2027-12-24", SingleDate(date(2027, 12, 24))),
    ("2028-02-29", SingleDate(date(2028, 2, 29))),
    ("dec 24", MonthDay(12, 24)),
    ("24 dec", MonthDay(12, 24)),
    ("December 5", MonthDay(12, 5)),
    ("feb 29", MonthDay(2, 29)),
    ("nov 20 to jan 6", YearlyRange(MonthDay(11, 20), MonthDay(1, 6))),
    ("20 nov to 6 jan", YearlyRange(MonthDay(11, 20), MonthDay(1, 6))),
    ("june", YearlyRange(MonthDay(6, 1), MonthDay(6, 30))),
    ("feb", YearlyRange(MonthDay(2, 1), MonthDay(2, 29))),
    ("jun to aug", SUMMER),
    ("dec to feb", YearlyRange(MonthDay(12, 1), MonthDay(2, 29))),
    ("jun 15 to aug", YearlyRange(MonthDay(6, 15), MonthDay(8, 31))),
    ("sept to 15 oct", YearlyRange(MonthDay(9, 1), MonthDay(10, 15))),
    ("2027-07-01 to 2027-07-14", DatedRange(date(2027, 7, 1), date(2027, 7, 14))),
    ("2026-12-20 to 2027-01-06", DatedRange(date(2026, 12, 20), date(2027, 1, 6))),
    ("first mon of sep", NthWeekday(1, 0, 9)),
    ("Second Tuesday of March", NthWeekday(2, 1, 3)),
    ("third sun of jun", NthWeekday(3, 6, 6)),
    ("fourth thu of nov", NthWeekday(4, 3, 11)),
    ("fifth wed of may", NthWeekday(5, 2, 5)),
    ("last fri of nov", NthWeekday(-1, 4, 11)),
    ("holidays", Holidays()),
    ("holiday Christmas Day", HolidayNamed("Christmas Day")),
    ("holiday  New   Year\u2019s Day", HolidayNamed("New Year's Day")),
    ("holiday 4th of July", HolidayNamed("4th of July")),
    ("holiday St. Patrick's Day", HolidayNamed("St. Patrick's Day")),
    ("holiday Easter Monday (in part)", HolidayNamed("Easter Monday (in part)")),
    ("holiday Christmas Day (observed)", HolidayNamed("Christmas Day", True)),
    ('holiday "Christmas Day" (Observed)', HolidayNamed("Christmas Day", True)),
    ('holiday "Christmas Day (observed)"', HolidayNamed("Christmas Day", True)),
    ("holiday 'New Year's Day'", HolidayNamed("New Year's Day")),
    ("holiday \u201cOne, two: except three\u201d", HolidayNamed("One, two: except three")),
    ("day before holidays", Neighbour(-1, Holidays())),
    ("day after holiday Christmas Day", Neighbour(1, HolidayNamed("Christmas Day"))),
    ("day after day after dec 24", Neighbour(1, Neighbour(1, MonthDay(12, 24)))),
    ("day before mon-tue", Neighbour(-1, Weekdays((0, 1)))),
    ("day before mon, tue", AnyOf((Neighbour(-1, Weekdays((0,))), Weekdays((1,))))),
    ("easter", Easter()),
    ("easter - 2 days", Easter(-2)),
    ("Easter + 1 day", Easter(1)),
    ("rrule FREQ=MONTHLY;BYDAY=1MO", Recurrence("FREQ=MONTHLY;BYDAY=1MO")),
    ("rrule freq=daily ; until=20271224", Recurrence("FREQ=DAILY;UNTIL=20271224")),
    (
        "rrule FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,WE starting 2027-01-04",
        Recurrence("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,WE", date(2027, 1, 4)),
    ),
    ("fri, sat in jun to aug", WeekdaysIn(Weekdays((4, 5)), SUMMER)),
    (
        "mon-fri in 2027-07-01 to 2027-07-14",
        WeekdaysIn(Weekdays((0, 1, 2, 3, 4)), DatedRange(date(2027, 7, 1), date(2027, 7, 14))),
    ),
    ("dec 24, dec 31", AnyOf((MonthDay(12, 24), MonthDay(12, 31)))),
    ("fri, holidays, sat", AnyOf((Weekdays((4,)), Holidays(), Weekdays((5,))))),
    (
        "holidays, fri, sat in jun to aug, dec 24",
        AnyOf((Holidays(), WeekdaysIn(Weekdays((4, 5)), SUMMER), MonthDay(12, 24))),
    ),
    (
        "rrule FREQ=DAILY;COUNT=3 starting 2027-01-04, fri",
        AnyOf((Recurrence("FREQ=DAILY;COUNT=3", date(2027, 1, 4)), Weekdays((4,)))),
    ),
    ("rrule FREQ=DAILY, fri", AnyOf((Recurrence("FREQ=DAILY"), Weekdays((4,))))),
    ("every day except holidays", Except(EveryDay(), Holidays())),
    ("fri, sat except dec 24, holidays", Except(
        Weekdays((4, 5)), AnyOf((MonthDay(12, 24), Holidays()))
    )),
    ("day before holidays except fri, sat", Except(
        Neighbour(-1, Holidays()), Weekdays((4, 5))
    )),
    ("holiday Christmas Day except sun", Except(HolidayNamed("Christmas Day"), Weekdays((6,)))),
]  # fmt: skip


@pytest.mark.parametrize(("text", "tree"), DATES, ids=[text for text, _ in DATES])
@pytest.mark.parametrize("half", [None, *Half])
def test_dates(text: str, tree: Dates, half: Half | None) -> None:
    written = text if half is None else f"{text} {half.value}"
    assert tree_of(dates, written) == DatesPhrase(tree, half)


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("every day: usual", CalendarLine(DatesPhrase(EveryDay()), "usual")),
        (
            "fri, sat evenings:late",
            CalendarLine(DatesPhrase(Weekdays((4, 5)), Half.EVENING), "late"),
        ),
        (
            "2027-07-04 Mornings :  Summer sale ",
            CalendarLine(DatesPhrase(SingleDate(date(2027, 7, 4)), Half.MORNING), "Summer sale"),
        ),
        ("holidays: a: b", CalendarLine(DatesPhrase(Holidays()), "a: b")),
        (
            "holiday Christmas Day: dark",
            CalendarLine(DatesPhrase(HolidayNamed("Christmas Day")), "dark"),
        ),
        ("rrule FREQ=DAILY: dark", CalendarLine(DatesPhrase(Recurrence("FREQ=DAILY")), "dark")),
    ],
)
def test_calendar_lines(text: str, tree: CalendarLine) -> None:
    assert tree_of(parse_calendar_line, text) == tree


def test_keep_dark_lines() -> None:
    assert tree_of(parse_keep_dark, "every day: from 00:30 until 04:15") == KeepDarkLine(
        DatesPhrase(EveryDay()), Window(Clock(30), Clock(255))
    )
    assert tree_of(parse_keep_dark, "sun: from close + 1 h until midnight") == KeepDarkLine(
        DatesPhrase(Weekdays((6,))), Window(hours_moment(HoursWord.CLOSE, 60), Clock(1440))
    )


@pytest.mark.parametrize(
    ("text", "tree", "minutes", "lit", "weekday"),
    [
        ("fri 2027-12-03 06:30: lit", SingleDate(date(2027, 12, 3)), 390, True, 4),
        ("Saturday 2027-12-25 8 pm: Dark", SingleDate(date(2027, 12, 25)), 1200, False, 5),
        ("2027-12-25 20:00: dark", SingleDate(date(2027, 12, 25)), 1200, False, None),
        ("every day 23:50:dark", EveryDay(), 1430, False, None),
        ("fri noon: lit", Weekdays((4,)), 720, True, None),
        ("dec 24 8 pm: lit", MonthDay(12, 24), 1200, True, None),
        ("jun 20:00: lit", YearlyRange(MonthDay(6, 1), MonthDay(6, 30)), 1200, True, None),
        ("holiday Christmas Day 20:00: dark", HolidayNamed("Christmas Day"), 1200, False, None),
        ("holiday Christmas Day noon: dark", HolidayNamed("Christmas Day"), 720, False, None),
        ("easter - 2 days 20:00: dark", Easter(-2), 1200, False, None),
        ("rrule FREQ=DAILY 20:00: dark", Recurrence("FREQ=DAILY"), 1200, False, None),
        ("every day except holidays 00:00: dark", Except(EveryDay(), Holidays()), 0, False, None),
    ],
)
def test_promises(text: str, tree: Dates, minutes: int, lit: bool, weekday: int | None) -> None:
    expected = PromiseLine(DatesPhrase(tree), Clock(minutes), lit, weekday)
    assert tree_of(parse_promise, text) == expected


@pytest.mark.parametrize(
    ("text", "last", "minutes"),
    [
        ("2027-06-18 21:00 until 2027-06-19 00:30", date(2027, 6, 19), 30),
        ("2027-06-18 21:00 until 23:00", date(2027, 6, 18), 1380),
        ("2027-06-18 9 pm UNTIL midnight", date(2027, 6, 18), 1440),
        ("2027-06-18 21:00 until 2027-06-18 24:00", date(2027, 6, 18), 1440),
    ],
)
def test_stretches(text: str, last: date, minutes: int) -> None:
    start = DatedClock(date(2027, 6, 18), Clock(1260))
    assert tree_of(parse_stretch, text) == Stretch(start, DatedClock(last, Clock(minutes)))


def opened(*minutes: int) -> OpenHours:
    clocks = [Clock(minute) for minute in minutes]
    return OpenHours(tuple(zip(clocks[::2], clocks[1::2], strict=True)))


@pytest.mark.parametrize(
    ("text", "tree"),
    [
        ("07:00-20:00", opened(420, 1200)),
        ("07:00 \u2013 20:00", opened(420, 1200)),
        ("7 am to 8 pm", opened(420, 1200)),
        ("7:00-8 pm", opened(420, 1200)),
        ("08:00-12:00, 14:00-18:00", opened(480, 720, 840, 1080)),
        ("08:00-12:00,12:00-18:00", opened(480, 720, 720, 1080)),
        ("17:00-02:00", opened(1020, 120)),
        ("08:00-12:00, 17:00-02:00", opened(480, 720, 1020, 120)),
        ("18:00-24:00", opened(1080, 1440)),
        ("noon-midnight", opened(720, 1440)),
        ("open all day", opened(0, 1440)),
        ("00:00-24:00", opened(0, 1440)),
        ("Closed", ClosedHours()),
    ],
)
def test_hours(text: str, tree: HoursValue) -> None:
    assert tree_of(parse_hours, text) == tree


@pytest.mark.parametrize(
    ("text", "base", "offset"),
    [
        ("sunset", SunWord.SUNSET, 0),
        ("Sunset + 15 min", SunWord.SUNSET, 15),
        ("sun 6 deg below horizon", SunLevel(-6.0), 0),
        ("sun 0.8333 degrees below the horizon", SunLevel(-0.8333), 0),
        ("sun 2\u00b0 above horizon - 5 min", SunLevel(2.0), -5),
        ("sun 0 deg below horizon", SunLevel(0.0), 0),
        ("civil dusk", SunLevel(-6.0), 0),
        ("nautical dusk + 1 h", SunLevel(-12.0), 60),
        ("Astronomical Dusk", SunLevel(-18.0), 0),
    ],
)
def test_meanings_of_dusk(text: str, base: SunWord | SunLevel, offset: int) -> None:
    assert tree_of(dusk, text) == SunDefinition(base, offset)


def test_meanings_of_dawn() -> None:
    assert tree_of(dawn, "sunrise - 15 min") == SunDefinition(SunWord.SUNRISE, -15)
    assert tree_of(dawn, "civil dawn") == SunDefinition(SunLevel(-6.0))


def test_light_gives_a_level_and_is_kept() -> None:
    # 3.4 lux at 6 degrees below the horizon: Explanatory Supplement to the Astronomical Almanac,
    # ground illumination polynomial.
    tree = tree_of(dusk, "3.412 lux")
    assert isinstance(tree, SunDefinition)
    assert isinstance(tree.base, SunLevel)
    assert tree.base.lux == 3.412
    assert tree.base.level_degrees == pytest.approx(-6.0, abs=0.001)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("10 min", 600),
        ("1 h", 3600),
        ("1 h 30 min", 5400),
        ("1h30min", 5400),
        ("90 s", 90),
        ("1 min 30 s", 90),
        ("0 min", 0),
        ("24 hours", 86400),
    ],
)
def test_durations(text: str, seconds: int) -> None:
    assert tree_of(parse_duration, text) == seconds


# Canonical spelling

IDENTITIES: list[tuple[Parse, Callable[..., str], str]] = [
    (parse_window, print_window, "on from dusk until 23:00"),
    (parse_window, print_window, "on from sunset + 15 min until the later of leave and 21:00"),
    (end, print_moment, "the later of close + 45 min and 21:00"),
    (end, print_moment, "close + 1 h 30 min or 24:00"),
    (dates, print_dates_phrase, "mon-fri"),
    (dates, print_dates_phrase, "fri, sat evenings"),
    (dates, print_dates_phrase, "wed, fri-mon"),
    (dates, print_dates_phrase, "mon, sun"),
    (dates, print_dates_phrase, "day before sun-mon"),
    (dates, print_dates_phrase, "jun"),
    (dates, print_dates_phrase, "dec to feb"),
    (dates, print_dates_phrase, "nov 20 to jan 6 mornings"),
    (dates, print_dates_phrase, "2027-07-01 to 2027-07-14"),
    (dates, print_dates_phrase, "last fri of nov"),
    (dates, print_dates_phrase, "easter - 2 days"),
    (dates, print_dates_phrase, "easter + 1 day"),
    (dates, print_dates_phrase, "holiday New Year's Day (observed)"),
    (dates, print_dates_phrase, 'holiday "4th of July"'),
    (dates, print_dates_phrase, "day before holidays except fri, sat"),
    (dates, print_dates_phrase, "fri, sat in jun to aug, holidays"),
    (dates, print_dates_phrase, "rrule FREQ=DAILY;COUNT=3 starting 2027-01-04"),
    (parse_hours, print_hours, "08:00-12:00, 14:00-18:00"),
    (parse_hours, print_hours, "open all day"),
    (parse_hours, print_hours, "closed"),
    (dusk, print_sun_definition, "sunset + 15 min"),
    (dusk, print_sun_definition, "sun 6 deg below horizon"),
    (dusk, print_sun_definition, "sun 0.8333 deg above horizon - 1 h"),
    (dusk, print_sun_definition, "20 lux"),
    (parse_duration, print_duration, "1 h 30 min"),
]


@pytest.mark.parametrize(
    ("parse", "printed", "text"), IDENTITIES, ids=[text for _, _, text in IDENTITIES]
)
def test_canonical_text_stays_as_it_is(
    parse: Parse, printed: Callable[..., str], text: str
) -> None:
    assert printed(tree_of(parse, text)) == text


def test_twilights_are_printed_as_levels() -> None:
    tree = tree_of(dusk, "civil dusk")
    assert isinstance(tree, SunDefinition)
    assert print_sun_definition(tree) == "sun 6 deg below horizon"


# Places in the file


def test_places_are_those_of_the_file() -> None:
    text = 'usual = ["on from dusk until the later of leave and 21:00"]\n'
    source = Source("site.toml", text)
    start, length = text.index("on"), text.index('"]') - text.index("on")
    phrase = PhraseText(text[start : start + length], SourceRange(source, start, length))
    tree, _ = parse_window(phrase)
    assert tree is not None
    assert tree.at is not None
    assert tree.at.text == "from dusk until the later of leave and 21:00"
    assert isinstance(tree.end, Pair)
    assert tree.end.at is not None
    assert tree.end.at.text == "the later of leave and 21:00"
    assert tree.end.second.at is not None
    assert tree.end.second.at.text == "21:00"


def test_the_day_type_has_a_place_of_its_own() -> None:
    tree, _ = parse_calendar_line(in_file("fri evenings:  summer sale "))
    assert tree is not None
    assert tree.type_at is not None
    assert tree.type_at.text == "summer sale"
    assert tree.dates.at is not None
    assert tree.dates.at.text == "fri evenings"


# Refusals: code, what is written, and the part that is marked

REFUSED: list[tuple[str, Parse, str, str]] = [
    ("E101", parse_window, "", ""),
    ("E101", parse_hours, " \t", ""),
    ("E102", parse_window, "on from dwan until 23:00", "dwan"),
    ("E102", parse_window, "on form dusk until 23:00", "form"),
    ("E102", dates, "fridya", "fridya"),
    ("E102", parse_calendar_line, "fri evning: late", "evning"),
    ("E102", dusk, "sunste + 10 min", "sunste"),
    ("E102", parse_hours, "closd", "closd"),
    ("E102", parse_promise, "fri 20:00: drak", "drak"),
    ("E103", parse_window, "on from dusk until", ""),
    ("E103", parse_window, "on from dusk_and until dawn", "dusk_and"),
    ("E103", parse_calendar_line, "every day", ""),
    ("E103", parse_calendar_line, "fri:", ""),
    ("E103", parse_promise, "every day: lit", ":"),
    ("E103", parse_stretch, "jun 18 21:00 until 22:00", "jun"),
    ("E103", dates, "thanksgiving", "thanksgiving"),
    ("E103", dates, "fri,", ""),
    ("E104", parse_moment, "99:99", "99:99"),
    ("E104", parse_moment, "23:30:00:00", "23:30:00:00"),
    ("E105", parse_moment, "12:60", "12:60"),
    ("E106", end, "25:00", "25:00"),
    ("E106", end, "24:30", "24:30"),
    ("E107", parse_window, "on from 22.30 until dawn", "22.30"),
    ("E107", parse_window, "on from 2230 until dawn", "2230"),
    ("E107", parse_moment, "22:30:00", "22:30:00"),
    ("E107", parse_moment, "22h30", "22h30"),
    ("E107", end, "22h", "22h"),
    ("E107", end, "22.30 h", "22.30 h"),
    ("E107", parse_window, "on from 22h until 23:00", "22h"),
    ("E107", parse_moment, "the later of 22 h 30 and close", "22 h 30"),
    ("E117", parse_moment, "1 h 30 min before sunset", "1 h 30 min before sunset"),
    ("E107", parse_moment, "15", "15"),
    ("E108", parse_moment, "7", "7"),
    ("E108", parse_moment, "9:5", "9:5"),
    ("E109", parse_moment, "12 am", "12 am"),
    ("E109", parse_moment, "12 pm", "12 pm"),
    ("E110", parse_moment, "13:30 pm", "13:30 pm"),
    ("E111", parse_window, "on from midnight until dawn", "midnight"),
    ("E111", parse_promise, "fri midnight: lit", "midnight"),
    ("E112", parse_window, "on from 24:00 until dawn", "24:00"),
    ("E113", parse_window, "on from dusk until 23:00 + 30 min", "23:00 + 30 min"),
    ("E113", end, "the later of close and 21:00 + 30 min", "21:00 + 30 min"),
    ("E114", end, "the later of the earlier of dusk and 20:00 and 21:00", "the"),
    ("E115", end, "the later of close, leave and 21:00", ","),
    ("E115", end, "the later of close and leave and 21:00", "and"),
    ("E116", parse_window, "on from dusk or 20:00 until dawn", "or"),
    ("E117", parse_window, "on from 20 min before sunset until dawn", "20 min before sunset"),
    ("E118", end, "dusk + 1 h + 30 min", "+"),
    ("E119", end, "dusk + 12 h 1 min", "+ 12 h 1 min"),
    ("E119", parse_duration, "25 h", "25 h"),
    ("E120", end, "dusk + 90 s", "90 s"),
    ("E121", dates, "03/04", "03/04"),
    ("E121", dates, "12.07.2027", "12.07.2027"),
    ("E121", dates, "07/12/2027", "07/12/2027"),
    ("E121", dates, "3/4/27", "3/4/27"),
    ("E122", end, "dusk + 1.5 h", "1.5 h"),
    ("E122", parse_duration, "1:30", "1:30"),
    ("E123", parse_duration, "30 min 1 h", "1 h"),
    ("E124", parse_window, "on from dusk until 23:00 every day", "every"),
    ("E124", dates, "mon..fri", "."),
    ("E125", end, "dusk + 20", "20"),
    ("E126", parse_window, "from dusk until dawn", "from"),
    ("E127", parse_window, "on from dusk to dawn", "to"),
    ("E127", dates, "dec 24-26", "-"),
    ("E127", dates, "jun through aug", "through"),
    ("E127", dates, "mon through fri", "through"),
    ("E127", dates, "fri and sat", "and"),
    ("E127", dates, "first mon in sep", "in"),
    ("E127", parse_hours, "07:00 until 20:00", "until"),
    ("E127", parse_keep_dark, "fri: on from 00:30 until 04:15", "on"),
    ("E127", parse_promise, "fri 20:00: on", "on"),
    ("E127", parse_stretch, "2027-06-18 21:00 to 22:00", "to"),
    ("E128", parse_window, "on from civil dusk until dawn", "civil dusk"),
    ("E129", dates, "13/07", "13/07"),
    ("E129", dates, "2027/12/24", "2027/12/24"),
    ("E129", dates, "24th of dec", "24th of dec"),
    ("E129", dates, "dec 24th", "dec 24th"),
    ("E129", dates, "easter monday", "easter monday"),
    ("E130", dates, "2027-13-01", "2027-13-01"),
    ("E130", dates, "2027-12", "2027-12"),
    ("E131", dates, "2027-02-29", "2027-02-29"),
    ("E131", dates, "feb 30", "feb 30"),
    ("E131", dates, "31 nov to dec 5", "31 nov"),
    ("E132", dates, "1999-12-24", "1999-12-24"),
    ("E133", dates, "dec 24, 2027", "dec 24, 2027"),
    ("E133", dates, "june 2027", "june 2027"),
    ("E133", dates, "2027", "2027"),
    ("E134", dusk, "sun 90 deg below horizon", "90 deg below horizon"),
    ("E134", dusk, "sun -6 deg", "-6"),
    ("E135", dates, "2 days before easter", "2 days"),
    ("E136", dates, "24", "24"),
    ("E137", dates, "2027-12-20 to jan 6", "2027-12-20 to jan 6"),
    ("E138", dates, "2027-08-01 to 2027-07-01", "2027-08-01 to 2027-07-01"),
    ("E139", dates, "holidays in jun", "holidays"),
    ("E139", dates, "fri in dec 24", "dec 24"),
    ("E140", dates, "fri in jun, aug", "aug"),
    ("E141", dates, "day before jun to aug", "jun to aug"),
    ("E142", dates, "day before " * 8 + "fri", "day before " * 7 + "day before"),
    ("E142", dates, "easter - 999 days", "999 days"),
    ("E143", dates, "every day except holidays except dec 24", "except"),
    ("E144", dates, "weekdays", "weekdays"),
    ("E144", parse_calendar_line, "Weekends: late", "Weekends"),
    ("E145", dates, "every friday", "every friday"),
    ("E145", dates, "first mon of every month", "first mon of every month"),
    ("E146", whole_dates, "fri, sat evenings", "evenings"),
    ("E146", parse_promise, "every day evenings 20:00: lit", "evenings"),
    ("E147", dates, "fri evenings, sat mornings", "evenings"),
    ("E147", dates, "evenings", "evenings"),
    ("E148", parse_calendar_line, "holiday: dark", "holiday"),
    ("E149", dates, "holiday 'Christmas Day", "'"),
    ("E149", dates, 'holiday Christmas "Day"', '"'),
    ("E150", dusk, "0 lux", "0 lux"),
    ("E151", dates, f"rrule FREQ=DAILY;BYDAY={'MO,' * 200}TU", f"FREQ=DAILY;BYDAY={'MO,' * 200}TU"),
    ("E152", parse_promise, "every day dusk: lit", "dusk"),
    ("E153", parse_promise, "sat 2027-12-03 06:30: lit", "sat 2027-12-03"),
    ("E154", dates, "fri 2027-12-03", "fri 2027-12-03"),
    ("E155", parse_stretch, "2027-06-18 21:00 until 00:30", "00:30"),
    ("E155", parse_stretch, "2027-06-18 21:00 until 2027-06-17 22:00", "2027-06-17 22:00"),
    ("E156", parse_hours, "17:00-02:00, 08:00-12:00", "08:00-12:00"),
    ("E157", parse_hours, "08:00-12:00, 11:00-18:00", "11:00-18:00"),
    ("E157", parse_hours, "14:00-18:00, 08:00-12:00", "08:00-12:00"),
    ("E158", dusk, "sunrise", "sunrise"),
    ("E158", dawn, "civil dusk", "civil dusk"),
    ("E159", dusk, "18:00", "18:00"),
    ("E159", dawn, "dawn - 10 min", "dawn"),
]
EACH_REFUSED = pytest.mark.parametrize(
    ("code", "parse", "text", "marked"),
    REFUSED,
    ids=[f"{code} {text[:40]!r}" for code, _, text, _ in REFUSED],
)


@EACH_REFUSED
def test_refused_with_the_smallest_place(code: str, parse: Parse, text: str, marked: str) -> None:
    finding = finding_of(parse, text)
    assert finding.code == code, render_one(finding)
    assert finding.at is not None
    assert finding.at.text == marked


@EACH_REFUSED
def test_every_offered_line_can_be_typed(code: str, parse: Parse, text: str, marked: str) -> None:
    finding = finding_of(parse, text)
    assert finding.at is not None
    before, after = text[: finding.at.start], text[finding.at.start + len(marked) :]
    for offered in finding.fix.splitlines()[1:]:
        line = re.sub(r'^\w+ = "(.*)"$', r"\1", offered)
        candidates = (line, before + line + after, f"every day: {line}")
        assert any(
            each(in_file(candidate))[0] is not None
            for candidate in candidates
            for each in (parse, *EVERY_PARSE)
        ), f"{code} offers {offered!r}"


EVERY_PARSE: tuple[Parse, ...] = (
    parse_window, end, dates, parse_calendar_line, parse_keep_dark, parse_promise, parse_stretch,
    parse_hours, dusk, dawn, parse_duration,
)  # fmt: skip


@EACH_REFUSED
def test_rendered_within_the_page(code: str, parse: Parse, text: str, marked: str) -> None:
    rendered = render_one(finding_of(parse, text))
    assert rendered.startswith(f"Problem {code}: ")
    assert marked is not None
    quoted_lines = rendered.split("To fix: ")[0].splitlines()
    assert all(len(line) <= 80 for line in quoted_lines)


def test_every_kind_has_an_example() -> None:
    kinds = [
        k for m in (wanted, writing, writing_dates) for k in vars(m).values() if isinstance(k, Kind)
    ]
    assert {kind.code for kind in kinds} == {code for code, _, _, _ in REFUSED}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("rrule FREQ=HOURLY", "hours"),
        ("rrule FREQ=DAILY;BYHOUR=3", "hours"),
        ("rrule FREQ=DAILY;INTERVAL=2", "start"),
        ("rrule FREQ=DAILY;COUNT=3", "start"),
        ("rrule FREQ=WEEKLY", "start"),
        ("rrule FREQ=MONTHLY", "start"),
        ("rrule FREQ=YEARLY;BYMONTH=6", "start"),
        ("rrule FREQ=NEVER", "part"),
        ("rrule FREQ=DAILY;COUNT=0 starting 2027-01-01", "part"),
        ("rrule INTERVAL=2 starting 2027-01-01", "frequency"),
    ],
)
def test_recurrence_rules_that_are_refused(text: str, code: str) -> None:
    from schedcomp.messages import calendar

    kinds = {
        "hours": calendar.RULE_WITH_HOURS,
        "start": calendar.RULE_NEEDS_START,
        "part": calendar.RULE_BAD_PART,
        "frequency": calendar.RULE_WITHOUT_FREQ,
    }
    assert finding_of(dates, text).code == kinds[code].code


# Hostile input

LONG: dict[str, tuple[Parse, str]] = {
    "neighbours": (dates, "day before " * 9_000),
    "lists": (dates, "fri, " * 20_000 + "fri"),
    "names": (parse_calendar_line, "holiday Christmas Day, " * 4_000 + "easter"),
    "quoted names": (dates, 'holiday "Christmas Day", ' * 4_000 + "easter"),
    "open quotes": (parse_calendar_line, "holiday 'a" + "'b" * 40_000),
    "pairs": (parse_window, "on from " + "the later of " * 8_000),
    "excepts": (parse_keep_dark, "every day" + " except fri" * 9_000),
    "offsets": (parse_window, "on from dusk + " + "1 h " * 25_000),
    "digits": (parse_stretch, "1" * 100_000),
    "clocks": (parse_window, "on from " + "1:" * 50_000),
    "rules": (dates, "rrule FREQ=DAILY" + ";X=1" * 25_000),
    "blanks": (parse_promise, " " * 100_000),
    "nothing to see": (dusk, "\0" * 100_000),
    "observed": (dates, "holiday x" + " (observed)" * 9_000),
    "one word": (dates, "a" * 100_000),
    "hours": (parse_hours, "08:00-09:00, " * 8_000 + "10:00-11:00"),
}


@pytest.mark.parametrize(("parse", "text"), LONG.values(), ids=LONG.keys())
def test_long_phrases_are_answered(parse: Parse, text: str) -> None:
    tree, findings = parse(in_file(text))
    assert (tree is None) == (len(findings) == 1)
    for finding in findings:
        assert len(finding.title) < 300
        assert len(render_one(finding)) < 3_000


def test_a_long_list_prints_and_reads_back() -> None:
    tree, _ = parse_dates(in_file("holidays, fri, " * 300 + "easter"), halves_allowed=True)
    assert tree is not None
    assert isinstance(tree.dates, AnyOf)
    assert len(tree.dates.members) == 601
    again, _ = parse_dates(in_file(print_dates_phrase(tree)), halves_allowed=True)
    assert again == tree


# Words


def test_lists_and_counts_in_words() -> None:
    assert [join_and(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "", "a", "a and b", "a, b and c",
    ]  # fmt: skip
    assert join_or(["a", "b", "c"]) == "a, b or c"
    assert counted(1, "night") == "1 night"
    assert counted(1200, "night") == "1,200 nights"
    assert counted(2, "entry", "entries") == "2 entries"


@pytest.mark.parametrize(
    ("parse", "text", "proposed"),
    [
        (parse_window, "on from arrive to dawn - 5 min", "on from arrive until dawn - 5 min"),
        (
            parse_window,
            "on from dusk + 1 h + 5 min until 22:00",
            "on from dusk + 1 h 5 min until 22:00",
        ),
        (parse_calendar_line, "fri and sat and sun: late", "fri, sat, sun: late"),
        (parse_calendar_line, "nov 20 through jan 6: late", "nov 20 to jan 6: late"),
        (parse_calendar_line, "tue thru thu: late", "tue-thu: late"),
        (parse_calendar_line, "last fri in may: late", "last fri of may: late"),
        (parse_hours, "07:30 until 19:00", "07:30-19:00"),
        (parse_keep_dark, "sun: dark from 01:00 until 03:30", "sun: from 01:00 until 03:30"),
        (parse_promise, "sun 21:15: off", "sun 21:15: dark"),
        (parse_promise, "sun 21:15: on", "sun 21:15: lit"),
        (parse_stretch, "2027-06-18 21:00 to 22:10", "2027-06-18 21:00 until 22:10"),
        # Several slips are put right together.
        (parse_window, "on from dusk to dwan", "on from dusk until dawn"),
        (parse_window, "on form dusk till close", "on from dusk until close"),
        (parse_promise, "fri and sat 23:00: on", "fri, sat 23:00: lit"),
        (parse_calendar_line, "mon and fri from jun to aug: x", "mon, fri in jun to aug: x"),
        (parse_window, "on 05:30 until dawn", "on from 05:30 until dawn"),
        (parse_promise, "jan 26 at 20:50: on", "jan 26 20:50: lit"),
        (parse_window, "on from dusk 23:00", "on from dusk until 23:00"),
        # What belongs in place of some words is shown in the whole line.
        (parse_window, "on from 20 min before dusk to 2330", "on from dusk - 20 min until 23:30"),
        (parse_calendar_line, "every friday, dec 24 2027: late", "fri, 2027-12-24: late"),
        (
            parse_calendar_line,
            "mon, 03/04 evenings: late",
            "mon, apr 3 evenings: late\nmon, mar 4 evenings: late",
        ),
        (dusk, "sunrise + 15 min", "sunset + 15 min"),
        (dusk, "15 min after sunset", "sunset + 15 min"),
        # A half stands once, at the end; two halves take two lines, or none where both are meant.
        (parse_calendar_line, "fri evenings, sat evenings: late", "fri, sat evenings: late"),
        (parse_calendar_line, "fri evnings and sat evenings: late", "fri, sat evenings: late"),
        (parse_calendar_line, "fri evenings in jun: late", "fri in jun evenings: late"),
        (
            parse_calendar_line,
            "fri evenings except holidays, dec 24: late",
            "fri except holidays, dec 24 evenings: late",
        ),
        (parse_calendar_line, "fri evenings and mornings: late", "fri: late"),
        (
            parse_calendar_line,
            "sat evenings, sun mornings and mon evenings: dark",
            "sat, mon evenings: dark\nsun mornings: dark",
        ),
        # More is wrong than that: an example, not a line that is refused again.
        (parse_window, "on from dusk to the dwan", "on from dusk until 23:00"),
        (
            parse_calendar_line,
            "fri evenings, sat mornings except holidays: late",
            "fri, sat evenings: late",
        ),
        (parse_window, "on from dusk + 1 h - 5 min until 22:00", "dusk + 1 h 30 min"),
    ],
)
def test_the_phrase_is_proposed_as_it_would_be_right(
    parse: Parse, text: str, proposed: str
) -> None:
    finding = finding_of(parse, text)
    head, *lines = finding.fix.splitlines()
    assert set(proposed.splitlines()) <= set(lines)
    if head in ("write", "write these lines", "write one of these"):
        assert lines == proposed.splitlines()
        assert not any(parse(in_file(line))[1] for line in lines)
