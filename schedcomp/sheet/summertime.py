"""When the clock changes, as a rule in words and as dates."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Sequence
from datetime import date, datetime, timedelta

from schedcomp.clock import ClockChange, Zone, zone
from schedcomp.model import HOUR, LAST_YEAR, ONE_DAY, Instant
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

    @property
    def shift(self) -> int:
        """Seconds by which the clock goes forward at the next change of `pairs`."""
        return self.pairs[0][0].skipped


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
            rule = f"forward {hours:g} h {ways[0]}, back {ways[1]}"
    offsets = {here.offset(begin), *(c.before for p in pairs for c in (p[0],))}
    return SummerTime(rule, tuple(pairs[:3]), here, min(offsets))


def reached(here: Zone, change: ClockChange) -> datetime:
    """The reading that the clock reaches when it is changed."""
    return here.local(change.instant - 1) + timedelta(seconds=1)


def is_summer(summer: SummerTime, instant: Instant) -> bool:
    return summer.zone.offset(instant) > summer.standard_offset


def _rule(here: Zone, changes: Sequence[ClockChange]) -> str:
    """`on the second Sunday of March at 02:00 (2:00 AM)`, "" if no words hold for all changes."""
    readings = [reached(here, c) for c in changes]
    clocks = {60 * at.hour + at.minute for at in readings}
    if len(clocks) > 1:
        return ""
    named = _named_day([at.date() for at in readings])
    if named:
        return f"on {named} at {both(clocks.pop())}"
    named = "" if clocks != {0} else _named_day([at.date() - ONE_DAY for at in readings])
    return named and f"at the end of {named} (24:00, midnight)"


def _named_day(days: Sequence[date]) -> str:
    months, weekdays = {d.month for d in days}, {d.weekday() for d in days}
    if len(months) > 1 or len(weekdays) > 1:
        return ""
    counts = {(d.day - 1) // 7 for d in days}
    if all(d.day + 7 > monthrange(d.year, d.month)[1] for d in days):
        which = "last"
    elif len(counts) == 1:
        which = _ORDINALS[counts.pop()]
    else:
        return ""
    return f"the {which} {WEEKDAYS[weekdays.pop()]} of {MONTHS[months.pop() - 1]}"
