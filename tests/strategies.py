"""Hypothesis strategies for everything that tests make up at random."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from schedcomp.model import Half
from schedcomp.phrases.names import longest_month
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
    Plain,
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

FIRST_DAY, LAST_DAY = date(2001, 1, 1), date(2099, 12, 31)

calendar_days = st.dates(FIRST_DAY, LAST_DAY)
offsets_minutes = st.integers(-720, 720)

# Moments and windows


def clocks(last_minute: int) -> st.SearchStrategy[Clock]:
    return st.builds(Clock, st.integers(0, last_minute))


start_clocks = clocks(1439)
end_clocks = clocks(1440)
sun_moments = st.builds(SunMoment, st.sampled_from(SunWord), offsets_minutes)


def plain_moments(clock: st.SearchStrategy[Clock]) -> st.SearchStrategy[Plain]:
    hours = st.builds(HoursMoment, st.sampled_from(HoursWord), offsets_minutes, st.none() | clock)
    return st.one_of(clock, sun_moments, hours)


def moments(clock: st.SearchStrategy[Clock]) -> st.SearchStrategy[Moment]:
    plain = plain_moments(clock)
    return st.one_of(plain, st.builds(Pair, st.sampled_from(Which), plain, plain))


windows = st.builds(Window, moments(start_clocks), moments(end_clocks))

# Dates

weekday_sets = st.builds(
    Weekdays,
    st.sets(st.integers(0, 6), min_size=1).map(lambda days: tuple(sorted(days))),
)
weekday_runs = st.tuples(st.integers(0, 6), st.integers(1, 7)).map(
    lambda run: Weekdays(tuple(sorted((run[0] + i) % 7 for i in range(run[1]))))
)
month_days = st.integers(1, 12).flatmap(
    lambda month: st.builds(MonthDay, st.just(month), st.integers(1, longest_month(month)))
)
whole_months = st.tuples(st.integers(1, 12), st.integers(1, 12)).map(
    lambda ends: YearlyRange(MonthDay(ends[0], 1), MonthDay(ends[1], longest_month(ends[1])))
)
yearly_ranges = st.one_of(st.builds(YearlyRange, month_days, month_days), whole_months)
dated_ranges = st.tuples(calendar_days, calendar_days).map(
    lambda ends: DatedRange(min(ends), max(ends))
)
date_ranges = yearly_ranges | dated_ranges
nth_weekdays = st.builds(
    NthWeekday, st.sampled_from((1, 2, 3, 4, 5, -1)), st.integers(0, 6), st.integers(1, 12)
)
# Names as they come out of a phrase: no blanks at the ends or two in a row, plain quotes, and a
# double quote never beside an apostrophe that could be a closing quote.
_name_words = st.text(
    st.characters(
        codec="utf-8", exclude_categories=["Z", "C"], exclude_characters="−–—‐‑‘’ʼ“”'\"("
    ),
    min_size=1,
    max_size=8,
)
holiday_names = st.one_of(
    st.sampled_from(
        [
            "Christmas Day",
            "New Year's Day",
            "Martin Luther King Jr. Day",
            "4th of July",
            "Days, long: two",
            "St. John's Eve",
            'The "big" day',
            "All day except evenings",
            "Founders' Day",
        ]
    ),
    st.lists(_name_words, min_size=1, max_size=4).map(" ".join),
)
holidays_named = st.builds(HolidayNamed, holiday_names, st.booleans())
easters = st.builds(Easter, st.integers(-200, 200))
recurrences = st.one_of(
    st.builds(
        Recurrence,
        st.sampled_from(
            [
                "FREQ=DAILY",
                "FREQ=WEEKLY;BYDAY=MO,TU",
                "FREQ=MONTHLY;BYDAY=1MO",
                "FREQ=MONTHLY;BYMONTHDAY=-1",
                "FREQ=YEARLY;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8",
                "FREQ=DAILY;UNTIL=20271224",
            ]
        ),
        st.none() | calendar_days,
    ),
    st.builds(
        Recurrence,
        st.sampled_from(
            ["FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "FREQ=DAILY;COUNT=10", "FREQ=YEARLY;INTERVAL=4"]
        ),
        calendar_days,
    ),
)
single_days = st.one_of(
    st.builds(EveryDay),
    st.builds(SingleDate, calendar_days),
    month_days,
    nth_weekdays,
    st.builds(Holidays),
    holidays_named,
    easters,
    recurrences,
)


def _neighbours(of: Dates, steps: list[int]) -> Dates:
    for step in steps:
        of = Neighbour(step, of)
    return of


neighbours = st.builds(
    _neighbours,
    single_days | weekday_runs,
    st.lists(st.sampled_from((-1, 1)), min_size=1, max_size=7),
)
list_members = st.one_of(
    single_days,
    weekday_sets,
    date_ranges,
    neighbours,
    st.builds(WeekdaysIn, weekday_sets, date_ranges),
)


def _can_follow(before: Dates, after: Dates) -> bool:
    """Whether two members can stand side by side: weekdays would melt into one, and a range
    after `in` is refused."""
    if isinstance(before, WeekdaysIn):
        return not isinstance(after, YearlyRange | DatedRange)
    return not (isinstance(before, Weekdays) and isinstance(after, Weekdays | WeekdaysIn))


def _listed(members: list[Dates]) -> Dates:
    kept: list[Dates] = []
    for member in members:
        if not kept or _can_follow(kept[-1], member):
            kept.append(member)
    return kept[0] if len(kept) == 1 else AnyOf(tuple(kept))


dates_lists = st.lists(list_members, min_size=1, max_size=5).map(_listed)
dates: st.SearchStrategy[Dates] = st.one_of(
    dates_lists, st.builds(Except, dates_lists, dates_lists)
)
whole_dates = st.builds(DatesPhrase, dates)
dates_phrases = st.builds(DatesPhrase, dates, st.none() | st.sampled_from(Half))

# Lines

day_type_names = st.one_of(
    st.sampled_from(["usual", "late", "dark", "summer sale", "a:b", "type 2"]),
    st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1)
    .map(str.strip)
    .filter(bool),
)
calendar_lines = st.builds(CalendarLine, dates_phrases, day_type_names)
keep_dark_lines = st.builds(KeepDarkLine, whole_dates, windows)
promises = st.one_of(
    st.builds(PromiseLine, whole_dates, start_clocks, st.booleans()),
    st.builds(
        lambda day, clock, lit: PromiseLine(
            DatesPhrase(SingleDate(day)), clock, lit, day.weekday()
        ),
        calendar_days,
        start_clocks,
        st.booleans(),
    ),
)


def _in_order(stretch: Stretch) -> bool:
    start, end = stretch.start, stretch.end
    return (start.day, start.clock.minutes) < (end.day, end.clock.minutes)


stretches = st.builds(
    Stretch,
    st.builds(DatedClock, calendar_days, start_clocks),
    st.builds(DatedClock, calendar_days, end_clocks),
).filter(_in_order)


def _periods(minutes: list[int], past_midnight: bool) -> OpenHours:
    """Clock times in ascending order as opening periods; the last may close on the next date."""
    times = [Clock(minute) for minute in sorted(minutes)]
    periods = list(zip(times[::2], times[1::2], strict=False))
    if past_midnight:
        last = max(minute for minute in minutes if minute < 1440)
        periods = [*((a, b) for a, b in periods if b.minutes <= last), (Clock(last), Clock(0))]
    return OpenHours(tuple(periods))


hours_values: st.SearchStrategy[HoursValue] = st.one_of(
    st.builds(ClosedHours),
    st.builds(
        _periods,
        st.lists(st.integers(0, 1440), min_size=2, max_size=8, unique=True),
        st.booleans(),
    ),
)

_decimals = st.integers(0, 180_000).map(lambda n: n / 10_000)
levels = st.one_of(
    _decimals.map(lambda degrees: SunLevel(-degrees if degrees else 0.0)),
    _decimals.map(SunLevel),
)


def sun_definitions(half: Half) -> st.SearchStrategy[SunDefinition]:
    """Definitions by sunset or sunrise, or by a level, that mean `half`."""
    word = SunWord.SUNRISE if half is Half.MORNING else SunWord.SUNSET
    return st.builds(SunDefinition, st.just(word) | levels, offsets_minutes)


# Wishes of a site: moments near to real ones, dates of a few weeks

_near_minutes = st.integers(-90, 90)
_quarters = st.integers(0, 95).map(lambda quarter: Clock(quarter * 15))
_plain_wishes: st.SearchStrategy[Plain] = st.one_of(
    _quarters,
    st.builds(SunMoment, st.sampled_from(SunWord), _near_minutes),
    st.builds(HoursMoment, st.sampled_from(HoursWord), _near_minutes, st.none() | _quarters),
)
_wished_moments: st.SearchStrategy[Moment] = st.one_of(
    _plain_wishes, st.builds(Pair, st.sampled_from(Which), _plain_wishes, _plain_wishes)
)
wished_windows = st.lists(st.builds(Window, _wished_moments, _wished_moments), max_size=3)


def wished_dates(first: date, last: date) -> st.SearchStrategy[DatesPhrase]:
    """Weekdays, single dates and ranges between two dates, whole or by halves."""
    day = st.dates(first, last)
    ranges = st.tuples(day, day).map(lambda ends: DatedRange(min(ends), max(ends)))
    dates: st.SearchStrategy[Dates] = st.one_of(
        st.builds(EveryDay), weekday_sets, st.builds(SingleDate, day), ranges
    )
    return st.builds(DatesPhrase, dates, st.none() | st.sampled_from(Half))


def wished_keep_dark(first: date, last: date) -> st.SearchStrategy[list[KeepDarkLine]]:
    """Hours to be kept dark, on some dates between two dates."""
    dates = wished_dates(first, last).map(lambda phrase: DatesPhrase(phrase.dates))
    window = st.builds(Window, _wished_moments, _wished_moments)
    return st.lists(st.builds(KeepDarkLine, dates, window), max_size=2)


def wished_stretches(first: date, last: date) -> st.SearchStrategy[Stretch]:
    """Single periods that begin between two dates and last up to two days."""
    return st.builds(
        lambda day, start, length, end: Stretch(
            DatedClock(day, start), DatedClock(day + timedelta(days=length), end)
        ),
        st.dates(first, last),
        _quarters,
        st.integers(0, 2),
        _quarters,
    ).filter(_in_order)
