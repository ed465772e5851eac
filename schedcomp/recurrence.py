"""Repeating dates as RFC 5545 (3.3.10) writes them, worked out period by period.

Only whole dates: rules by the hour or below are refused. Work is bounded by the years between
the start and the last date asked for, also for rules that never name a date.
"""

from __future__ import annotations

import re
from calendar import isleap, monthrange
from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from enum import Enum
from functools import lru_cache

from schedcomp.diag import Diagnostic, SourceRange
from schedcomp.messages import calendar as messages
from schedcomp.model import ONE_DAY
from schedcomp.records import Record

MOST_TEXT = 1000
MOST_OCCURRENCES = 100_000
LARGEST_INTERVAL = 1000

_WEEKDAY_CODES = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_BY_DAY = re.compile(r"([+-]?\d{1,2})?(MO|TU|WE|TH|FR|SA|SU)")
_UNTIL = re.compile(r"(\d{4})(\d{2})(\d{2})(?:T(\d{2})(\d{2})(\d{2})Z?)?")
_NUMBER = re.compile(r"[+-]?\d{1,6}")
_LIMITS = {"BYMONTHDAY": 31, "BYYEARDAY": 366, "BYWEEKNO": 53, "BYSETPOS": 366}
_SUB_DAILY = ("HOURLY", "MINUTELY", "SECONDLY")
_CLOCK_PARTS = ("BYHOUR", "BYMINUTE", "BYSECOND")


class Frequency(Enum):
    """How long the period of a rule is."""

    DAILY = "DAILY"
    WEEKLY = "WEEKLY"
    MONTHLY = "MONTHLY"
    YEARLY = "YEARLY"


class Rule(Record, kw_only=True):
    """A rule as read; empty sets do not restrict.

    `weekdays` are (weekday, nth) with nth 0 for every such weekday; `until` is the last date it
    may name, `until_has_clock` whether the text gave a time with it.
    """

    frequency: Frequency
    interval: int = 1
    count: int | None = None
    until: date | None = None
    until_has_clock: bool = False
    week_start: int = 0
    months: frozenset[int] = frozenset()
    month_days: frozenset[int] = frozenset()
    year_days: frozenset[int] = frozenset()
    week_numbers: frozenset[int] = frozenset()
    weekdays: frozenset[tuple[int, int]] = frozenset()
    positions: frozenset[int] = frozenset()


def read_rule(
    text: str, at: SourceRange | None = None
) -> tuple[Rule | None, tuple[Diagnostic, ...]]:
    """The rule of an RRULE text, or None with what is wrong with it.

    An UNTIL with a clock time brings a caution: dates that begin before that time are named.
    """
    parts, trouble = _split(text, at)
    if trouble is not None:
        return None, (trouble,)
    found = [_read_part(key, value, at) for key, value in parts.items()]
    troubles = tuple(f for f in found if isinstance(f, Diagnostic))
    if troubles:
        return None, troubles
    values = {k: f for k, f in zip(parts, found, strict=True) if not isinstance(f, Diagnostic)}
    misfit = _misfit(parts, values)
    if misfit is not None:
        return None, (messages.RULE_MISFIT.at(at, part=misfit[0], other=misfit[1]),)
    rule = _rule(values)
    return rule, _cautions(rule, at)


def start_needed_by(rule: Rule) -> str | None:
    """The part of a rule that means nothing without a start; None if it can do without."""
    if rule.count is not None:
        return f"COUNT={rule.count}"
    if rule.interval > 1:
        return f"INTERVAL={rule.interval}"
    names_days = rule.weekdays or rule.month_days or rule.year_days or rule.week_numbers
    if names_days or rule.frequency is Frequency.DAILY:
        return None
    return f"FREQ={rule.frequency.value}"


def occurrences(rule: Rule, starting: date, first: date, last: date) -> frozenset[date]:
    """The dates of the rule from `first` through `last`; nothing before `starting`."""
    return _occurrences(rule, starting, first, last)


# Reading

_Value = int | str | tuple[date, bool] | frozenset[int] | frozenset[tuple[int, int]]


def _split(text: str, at: SourceRange | None) -> tuple[dict[str, str], Diagnostic | None]:
    """The parts by name, or the first trouble with their form."""
    parts: dict[str, str] = {}
    for piece in text[:MOST_TEXT].strip().upper().removeprefix("RRULE:").rstrip(";").split(";"):
        key, equals, value = (side.strip() for side in piece.partition("="))
        if key in parts:
            return {}, messages.RULE_TWICE.at(at, part=key)
        if key in _CLOCK_PARTS or (key == "FREQ" and value in _SUB_DAILY):
            return {}, messages.RULE_WITH_HOURS.at(at, part=piece.strip())
        if not equals or key not in messages.RULE_PARTS:
            return {}, messages.RULE_BAD_PART.at(
                at, part=piece.strip(), expected=messages.RULE_OTHER_PARTS
            )
        parts[key] = value
    return (parts, None) if "FREQ" in parts else ({}, messages.RULE_WITHOUT_FREQ.at(at))


def _read_part(key: str, value: str, at: SourceRange | None) -> _Value | Diagnostic:
    found = _value(key, value)
    if found is not None:
        return found
    return messages.RULE_BAD_PART.at(at, part=f"{key}={value}", expected=messages.RULE_PARTS[key])


def _value(key: str, value: str) -> _Value | None:
    if key == "FREQ":
        return value if value in Frequency.__members__ else None
    if key == "WKST":
        return _WEEKDAY_CODES.index(value) if value in _WEEKDAY_CODES else None
    if key == "UNTIL":
        return _until(value)
    if key == "BYDAY":
        return _by_day(value)
    if key in ("INTERVAL", "COUNT"):
        number = _number(value)
        most = LARGEST_INTERVAL if key == "INTERVAL" else MOST_OCCURRENCES
        return number if number is not None and 1 <= number <= most else None
    if key == "BYMONTH":
        return _numbers(value, 1, 12)
    return _numbers(value, -_LIMITS[key], _LIMITS[key])


def _number(value: str) -> int | None:
    return int(value) if _NUMBER.fullmatch(value) else None


def _numbers(value: str, least: int, most: int) -> frozenset[int] | None:
    numbers = [_number(piece.strip()) for piece in value.split(",")]
    if any(n is None or n == 0 or not least <= n <= most for n in numbers):
        return None
    return frozenset(n for n in numbers if n is not None)


def _by_day(value: str) -> frozenset[tuple[int, int]] | None:
    found = [_BY_DAY.fullmatch(piece.strip()) for piece in value.split(",")]
    days = {(_WEEKDAY_CODES.index(m[2]), int(m[1] or 0)) for m in found if m}
    written = [m for m in found if m and m[1] is not None]
    if None in found or any(not 1 <= abs(int(m[1])) <= 53 for m in written):
        return None
    return frozenset(days)


def _until(value: str) -> tuple[date, bool] | None:
    match = _UNTIL.fullmatch(value)
    if match is None:
        return None
    try:
        last = date(int(match[1]), int(match[2]), int(match[3]))
    except ValueError:
        return None
    if match[4] is None:
        return last, False
    # A date begins at 00:00, so one that begins only when the rule has ended is not named.
    ends_at_midnight = match[4] + match[5] + match[6] == "000000" and last > date.min
    return (last - ONE_DAY if ends_at_midnight else last), True


def _misfit(parts: dict[str, str], values: dict[str, _Value]) -> tuple[str, str] | None:
    """Two parts that RFC 5545 forbids together."""
    frequency = parts["FREQ"]
    yearly = frequency == "YEARLY"
    numbered = any(n for _, n in _pairs(values.get("BYDAY")))
    by_parts = [k for k in parts if k.startswith("BY") and k != "BYSETPOS"]
    checks = (
        ("COUNT" in parts and "UNTIL" in parts, "COUNT", "UNTIL"),
        ("BYWEEKNO" in parts and not yearly, "BYWEEKNO", f"FREQ={frequency}"),
        ("BYYEARDAY" in parts and not yearly, "BYYEARDAY", f"FREQ={frequency}"),
        ("BYMONTHDAY" in parts and frequency == "WEEKLY", "BYMONTHDAY", "FREQ=WEEKLY"),
        (numbered and frequency in ("DAILY", "WEEKLY"), "A numbered BYDAY", f"FREQ={frequency}"),
        (numbered and "BYWEEKNO" in parts, "A numbered BYDAY", "BYWEEKNO"),
        ("BYSETPOS" in parts and not by_parts, "BYSETPOS", "a rule without another BY part"),
    )
    return next(((part, other) for wrong, part, other in checks if wrong), None)


def _rule(values: dict[str, _Value]) -> Rule:
    until = values.get("UNTIL")
    count = values.get("COUNT")
    interval = values.get("INTERVAL", 1)
    week_start = values.get("WKST", 0)
    return Rule(
        frequency=Frequency(values["FREQ"]),
        interval=interval if isinstance(interval, int) else 1,
        count=count if isinstance(count, int) else None,
        until=until[0] if isinstance(until, tuple) else None,
        until_has_clock=isinstance(until, tuple) and until[1],
        week_start=week_start if isinstance(week_start, int) else 0,
        months=_integers(values.get("BYMONTH")),
        month_days=_integers(values.get("BYMONTHDAY")),
        year_days=_integers(values.get("BYYEARDAY")),
        week_numbers=_integers(values.get("BYWEEKNO")),
        weekdays=_pairs(values.get("BYDAY")),
        positions=_integers(values.get("BYSETPOS")),
    )


def _integers(value: _Value | None) -> frozenset[int]:
    members = value if isinstance(value, frozenset) else ()
    return frozenset(m for m in members if isinstance(m, int))


def _pairs(value: _Value | None) -> frozenset[tuple[int, int]]:
    members = value if isinstance(value, frozenset) else ()
    return frozenset(m for m in members if isinstance(m, tuple))


def _cautions(rule: Rule, at: SourceRange | None) -> tuple[Diagnostic, ...]:
    if rule.until is None or not rule.until_has_clock:
        return ()
    last = rule.until
    return (
        messages.RULE_UNTIL_CLOCK.at(
            at, last=messages.date_text(last), last_compact=last.isoformat().replace("-", "")
        ),
    )


# Working out


@lru_cache(maxsize=512)
def _occurrences(rule: Rule, starting: date, first: date, last: date) -> frozenset[date]:
    rule = _with_defaults(rule, starting)
    last = min(last, rule.until or last)
    if last < starting:
        return frozenset()
    # Counting begins at the start; other rules need no period before the first date asked for.
    begin = starting if rule.count is not None else max(first, starting)
    named = (d for days in _periods(rule, starting, begin, last) for d in _pick(rule, days))
    found = set()
    left = MOST_OCCURRENCES if rule.count is None else rule.count
    for day in named:
        if day < starting:
            continue
        if day > last or left == 0:
            break
        left -= 1
        if day >= first:
            found.add(day)
    return frozenset(found)


def _with_defaults(rule: Rule, starting: date) -> Rule:
    """What the rule leaves open comes from its start (RFC 5545 3.3.10)."""
    if rule.week_numbers or rule.year_days or rule.month_days or rule.weekdays:
        return rule
    months, month_days, weekdays = rule.months, rule.month_days, rule.weekdays
    if rule.frequency is Frequency.YEARLY:
        months, month_days = months or frozenset({starting.month}), frozenset({starting.day})
    elif rule.frequency is Frequency.MONTHLY:
        month_days = frozenset({starting.day})
    elif rule.frequency is Frequency.WEEKLY:
        weekdays = frozenset({(starting.weekday(), 0)})
    return Rule(
        frequency=rule.frequency,
        interval=rule.interval,
        count=rule.count,
        until=rule.until,
        week_start=rule.week_start,
        months=months,
        month_days=month_days,
        weekdays=weekdays,
        positions=rule.positions,
    )


def _periods(rule: Rule, starting: date, begin: date, last: date) -> Iterator[Sequence[date]]:
    """The days of every period the rule looks at, from the one around `begin` to `last`."""
    if rule.frequency is Frequency.YEARLY:
        skip = (begin.year - starting.year) // rule.interval * rule.interval
        for year in range(starting.year + skip, last.year + 1, rule.interval):
            yield _days_of_year(year)
    elif rule.frequency is Frequency.MONTHLY:
        base = starting.year * 12 + starting.month - 1
        skip = (begin.year * 12 + begin.month - 1 - base) // rule.interval * rule.interval
        for month in range(base + skip, last.year * 12 + last.month, rule.interval):
            yield _days_of_month(month // 12, month % 12 + 1)
    else:
        length = 7 if rule.frequency is Frequency.WEEKLY else 1
        back = (starting.weekday() - rule.week_start) % 7 if length == 7 else 0
        base = max(1, starting.toordinal() - back)
        step = rule.interval * length
        skip = (begin.toordinal() - base) // step * step
        for start in range(base + skip, last.toordinal() + 1, step):
            yield [date.fromordinal(start + i) for i in range(length)]


def _pick(rule: Rule, days: Sequence[date]) -> Sequence[date]:
    """The days of one period that the rule names, in order."""
    if rule.months:
        days = [d for d in days if d.month in rule.months]
    if rule.month_days:
        days = [d for d in days if _from_either_end(d.day, _month_length(d)) & rule.month_days]
    if rule.year_days:
        days = [d for d in days if _from_either_end(_year_day(d), _year_length(d)) & rule.year_days]
    if rule.week_numbers:
        days = [d for d in days if _week_numbers(d, rule.week_start) & rule.week_numbers]
    if rule.weekdays:
        by_month = rule.frequency is Frequency.MONTHLY or bool(rule.months)
        days = [d for d in days if _is_weekday(d, rule.weekdays, by_month)]
    if rule.positions:
        places = {p - 1 if p > 0 else len(days) + p for p in rule.positions}
        days = [d for i, d in enumerate(days) if i in places]
    return days


def _is_weekday(day: date, weekdays: frozenset[tuple[int, int]], by_month: bool) -> bool:
    weekday = day.weekday()
    if (weekday, 0) in weekdays:
        return True
    place, length = (
        (day.day, _month_length(day)) if by_month else (_year_day(day), _year_length(day))
    )
    nth_from_front, nth_from_back = (place - 1) // 7 + 1, -((length - place) // 7 + 1)
    return (weekday, nth_from_front) in weekdays or (weekday, nth_from_back) in weekdays


def _from_either_end(place: int, length: int) -> set[int]:
    return {place, place - length - 1}


def _week_numbers(day: date, week_start: int) -> set[int]:
    """Number of the day's week from the front and the back of the year that holds most of it."""
    middle = day.toordinal() - (day.weekday() - week_start) % 7 + 3
    within = date.fromordinal(middle)
    year_end = date(within.year, 12, 31)
    last_middle = year_end.toordinal() - (year_end.toordinal() - middle) % 7
    number = (_year_day(within) - 1) // 7 + 1
    return {number, number - (number + (last_middle - middle) // 7) - 1}


def _month_length(day: date) -> int:
    return monthrange(day.year, day.month)[1]


def _year_length(day: date) -> int:
    return 365 + isleap(day.year)


def _year_day(day: date) -> int:
    return day.toordinal() - date(day.year, 1, 1).toordinal() + 1


def _days_of_month(year: int, month: int) -> list[date]:
    return [date(year, month, day) for day in range(1, monthrange(year, month)[1] + 1)]


@lru_cache(maxsize=256)
def _days_of_year(year: int) -> tuple[date, ...]:
    start = date(year, 1, 1)
    return tuple(start + timedelta(days=i) for i in range(365 + isleap(year)))
