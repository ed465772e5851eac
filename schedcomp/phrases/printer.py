"""Phrases back to text, in the one canonical spelling; reading it again gives the same tree."""

from __future__ import annotations

import re
from datetime import date

from schedcomp.model import HOUR, MINUTE, MONTHS, WEEKDAYS
from schedcomp.phrases.names import ORDINALS, longest_month
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
    KeepDarkLine,
    Moment,
    MonthDay,
    Neighbour,
    NthWeekday,
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
    Window,
    YearlyRange,
)

_ALL_DAY = ((Clock(0), Clock(1440)),)
# Runs of fewer weekdays are listed: `sat, sun` reads better than `sat-sun`.
_SHORTEST_RUN = 3
# A name of plain words needs no quotes; anything else could be read as more than a name.
_PLAIN_NAME = re.compile(r"[^\W\d_]+\.?(?:[ '\-&/]+[^\W\d_]+\.?)*")
_NOT_IN_PLAIN_NAME = re.compile(r"(?i)\b(?:except|evenings|mornings|noon|midnight|[ap]\.? ?m)\b")


# Moments


def print_clock(clock: Clock) -> str:
    """`07:30`."""
    return f"{clock.minutes // 60:02d}:{clock.minutes % 60:02d}"


def print_duration(seconds: int) -> str:
    """`1 h 30 min`, `90 s` as `1 min 30 s`, nothing as `0 min`."""
    parts = (
        (seconds // HOUR, "h"),
        (seconds % HOUR // MINUTE, "min"),
        (seconds % MINUTE, "s"),
    )
    return " ".join(f"{count} {unit}" for count, unit in parts if count) or "0 min"


def print_moment(moment: Moment) -> str:
    """`sunset + 15 min`, `close + 30 min or 21:00`, `the later of close and 21:00`."""
    match moment:
        case Clock():
            return print_clock(moment)
        case SunMoment():
            return moment.word.value + _offset(moment.offset_minutes)
        case HoursMoment():
            fallback = f" or {print_clock(moment.fallback)}" if moment.fallback else ""
            return moment.word.value + _offset(moment.offset_minutes) + fallback
        case Pair():
            first, second = print_moment(moment.first), print_moment(moment.second)
            return f"the {moment.which.value} of {first} and {second}"


def print_window(window: Window) -> str:
    """`on from dusk until 23:00`."""
    return f"on {print_dark_window(window)}"


def print_dark_window(window: Window) -> str:
    """`from 00:30 until 04:15`, as in keep-dark lines."""
    return f"from {print_moment(window.start)} until {print_moment(window.end)}"


def _offset(minutes: int) -> str:
    if minutes == 0:
        return ""
    return f" {'+' if minutes > 0 else '-'} {print_duration(abs(minutes) * MINUTE)}"


# Dates


def print_dates_phrase(phrase: DatesPhrase) -> str:
    """`fri, sat evenings`."""
    half = f" {phrase.half.value}" if phrase.half else ""
    return print_dates(phrase.dates) + half


def print_dates(dates: Dates) -> str:
    """`every day except holidays`."""
    match dates:
        case AnyOf():
            return ", ".join(print_dates(member) for member in dates.members)
        case Except():
            return f"{print_dates(dates.base)} except {print_dates(dates.removed)}"
        case WeekdaysIn():
            return f"{print_dates(dates.weekdays)} in {print_dates(dates.within)}"
        case Neighbour():
            return _neighbour(dates)
        case YearlyRange():
            return _yearly_range(dates)
        case DatedRange():
            return f"{_iso(dates.first)} to {_iso(dates.last)}"
        case _:
            return _one_date(dates)


def _one_date(dates: Dates) -> str:
    match dates:
        case EveryDay():
            return "every day"
        case Weekdays():
            return _weekdays(dates.days)
        case SingleDate():
            return _iso(dates.day)
        case MonthDay():
            return f"{MONTHS[dates.month - 1]} {dates.day}"
        case NthWeekday():
            nth = next(word for word, number in ORDINALS.items() if number == dates.nth)
            return f"{nth} {WEEKDAYS[dates.weekday]} of {MONTHS[dates.month - 1]}"
        case Holidays():
            return "holidays"
        case HolidayNamed():
            return f"holiday {_name(dates.name)}{' (observed)' if dates.observed else ''}"
        case Easter():
            return "easter" + _days_offset(dates.offset_days)
        case Recurrence():
            starting = f" starting {_iso(dates.starting)}" if dates.starting else ""
            return f"rrule {dates.rule}{starting}"
        case _:
            raise AssertionError(f"no spelling for {dates!r}")


def _neighbour(dates: Neighbour) -> str:
    """`day before holidays`; of weekdays each run by itself, as a comma would end it."""
    words = f"day {'before' if dates.days < 0 else 'after'}"
    if not isinstance(dates.of, Weekdays):
        return f"{words} {print_dates(dates.of)}"
    return ", ".join(f"{words} {run}" for run in _weekday_texts(dates.of.days, 2))


def _weekdays(days: tuple[int, ...]) -> str:
    """`mon-fri`, `fri, sat`, `wed, fri-mon`."""
    return ", ".join(_weekday_texts(days, _SHORTEST_RUN))


def _weekday_texts(days: tuple[int, ...], shortest_run: int) -> list[str]:
    texts = []
    for run in _runs(days, shortest_run):
        if len(run) >= shortest_run:
            texts.append(f"{WEEKDAYS[run[0]]}-{WEEKDAYS[run[-1]]}")
        else:
            texts += [WEEKDAYS[day] for day in run]
    return texts


def _runs(days: tuple[int, ...], shortest: int) -> list[list[int]]:
    """The days in runs without a gap; a run that reaches sunday goes on with monday."""
    runs: list[list[int]] = []
    for day in days:
        if runs and runs[-1][-1] == day - 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    around = len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == 6
    if around and len(runs[0]) + len(runs[-1]) >= shortest:
        runs = [*runs[1:-1], runs[-1] + runs[0]]
    return runs


def _yearly_range(dates: YearlyRange) -> str:
    first, last = dates.first, dates.last
    whole_months = first.day == 1 and last.day == longest_month(last.month)
    if not whole_months:
        return f"{_one_date(first)} to {_one_date(last)}"
    if first.month == last.month:
        return MONTHS[first.month - 1]
    return f"{MONTHS[first.month - 1]} to {MONTHS[last.month - 1]}"


def _days_offset(days: int) -> str:
    if days == 0:
        return ""
    return f" {'+' if days > 0 else '-'} {abs(days)} {'day' if abs(days) == 1 else 'days'}"


def _name(name: str) -> str:
    if _PLAIN_NAME.fullmatch(name) and not _NOT_IN_PLAIN_NAME.search(name):
        return name
    return f"'{name}'" if '"' in name else f'"{name}"'


def _iso(day: date) -> str:
    return day.isoformat()


# Lines


def print_calendar_line(line: CalendarLine) -> str:
    """`fri, sat evenings: late`."""
    return f"{print_dates_phrase(line.dates)}: {line.day_type}"


def print_keep_dark(line: KeepDarkLine) -> str:
    """`every day: from 00:30 until 04:15`."""
    return f"{print_dates_phrase(line.dates)}: {print_dark_window(line.window)}"


def print_promise(line: PromiseLine) -> str:
    """`fri 2027-12-03 06:30: lit`."""
    weekday = f"{WEEKDAYS[line.weekday]} " if line.weekday is not None else ""
    state = "lit" if line.lit else "dark"
    return f"{weekday}{print_dates_phrase(line.dates)} {print_clock(line.clock)}: {state}"


def print_stretch(stretch: Stretch) -> str:
    """`2027-06-18 21:00 until 2027-06-19 00:30`."""
    return f"{_dated_clock(stretch.start)} until {_dated_clock(stretch.end)}"


def print_hours(value: HoursValue) -> str:
    """`closed`, `open all day`, `08:00-12:00, 14:00-18:00`."""
    if isinstance(value, ClosedHours):
        return "closed"
    if value.periods == _ALL_DAY:
        return "open all day"
    return ", ".join(f"{print_clock(a)}-{print_clock(b)}" for a, b in value.periods)


def print_sun_definition(definition: SunDefinition) -> str:
    """`sunset + 15 min`, `sun 6 deg below horizon`, `20 lux`."""
    base = definition.base
    text = base.value if isinstance(base, SunWord) else print_level(base)
    return text + _offset(definition.offset_minutes)


def print_level(level: SunLevel) -> str:
    """`sun 6 deg below horizon`, `20 lux`."""
    if level.lux is not None:
        return f"{_number(level.lux)} lux"
    side = "below" if level.level_degrees <= 0 else "above"
    return f"sun {_number(abs(level.level_degrees))} deg {side} horizon"


def _dated_clock(moment: DatedClock) -> str:
    return f"{_iso(moment.day)} {print_clock(moment.clock)}"


def _number(number: float) -> str:
    return repr(float(number)).removesuffix(".0")
