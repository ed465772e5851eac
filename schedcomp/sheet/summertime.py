"""When the clock changes, as a rule in words and as dates."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from schedcomp.clock import ClockChange, Zone, zone
from schedcomp.model import HOUR, LAST_YEAR, MINUTE, Instant
from schedcomp.records import Record
from schedcomp.sheet.wording import MONTHS, WEEKDAYS
from schedcomp.told_time import both

_RULE_YEARS = 9
_ORDINALS = ("first", "second", "third", "fourth", "fifth")


class SummerTime(Record):
    """`rule` is "" where the changes follow none; `pairs` are (forward, back) from a date on."""

    rule: str
    pairs: tuple[tuple[ClockChange, ClockChange], ...]
    zone: Zone
    standard_offset: int


def summer_time(zone_name: str, first: date) -> SummerTime:
    """Rule and next three pairs of changes of a zone, seen from a date."""
    last = date(min(first.year + _RULE_YEARS, LAST_YEAR), 12, 31)
    here = zone(zone_name, first, last)
    begin = here.first_pass(first, 0)
    end = here.first_pass(last, 0)
    changes = [c for c in here.changes() if abs(c.skipped) <= 2 * HOUR]
    forwards = [c for c in changes if c.skipped > 0]
    backs = [c for c in changes if c.skipped < 0 and begin <= c.instant < end]
    pairs = []
    for back in backs:
        before = [c for c in forwards if c.instant < back.instant]
        if before:
            pairs.append((before[-1], back))
    rule = ""
    if pairs:
        ways = (_rule(here, [p[0] for p in pairs]), _rule(here, [p[1] for p in pairs]))
        if all(ways):
            hours = pairs[0][0].skipped / HOUR
            rule = f"forward {hours:g} h on {ways[0]}, back on {ways[1]}"
    offsets = {here.offset(begin), *(c.before for p in pairs for c in (p[0],))}
    return SummerTime(rule, tuple(pairs[:3]), here, min(offsets))


def shown_before(here: Zone, change: ClockChange) -> int:
    """The reading, in minutes, that the clock reaches when it is changed."""
    shown = here.local(change.instant - 1)
    return (shown.hour * 60 + shown.minute + 1) % (24 * 60)


def change_date(here: Zone, change: ClockChange) -> date:
    return here.local_date(change.instant - MINUTE)


def is_summer(summer: SummerTime, instant: Instant) -> bool:
    return summer.zone.offset(instant) > summer.standard_offset


def _rule(here: Zone, changes: Sequence[ClockChange]) -> str:
    """`the second Sunday of March at 02:00 (2:00 AM)`, "" if no such words hold for all changes."""
    days = [change_date(here, c) for c in changes]
    months, weekdays = {d.month for d in days}, {d.weekday() for d in days}
    clocks = {shown_before(here, c) for c in changes}
    if len(months) > 1 or len(weekdays) > 1 or len(clocks) > 1:
        return ""
    counts = {(d.day - 1) // 7 for d in days}
    if all(d.day + 7 > monthrange(d.year, d.month)[1] for d in days):
        which = "last"
    elif len(counts) == 1:
        which = _ORDINALS[counts.pop()]
    else:
        return ""
    month, weekday = MONTHS[months.pop() - 1], WEEKDAYS[weekdays.pop()]
    return f"the {which} {weekday} of {month} at {both(clocks.pop())}"
