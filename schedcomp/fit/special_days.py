"""Special days: which dates of which channels may become some."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import timedelta

import numpy as np

from schedcomp.clock import Zone
from schedcomp.clock_columns import first_readings, offsets_at
from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit.date_ranges import LEAP_DAY, MONTH_DAYS, PLACE_OF
from schedcomp.fit.firings import Axis, Bools, Ints
from schedcomp.model import DAY, Action, Instant
from schedcomp.program import PLAIN_DARK
from schedcomp.records import Record
from schedcomp.target import ChannelTarget

NO_KEY = -1


class Domain(Record):
    """Channels (indexes) that have their special days together, and the dates that may be some.

    A key stands for a month-day of every year, or for one date where slots carry a year;
    `days` are the axis dates of each key, in the order of `keys`. `leaps`: the axis has a
    29 February, so no range goes over it unseen.
    """

    channels: tuple[int, ...]
    keys: tuple[int, ...]
    days: tuple[tuple[int, ...], ...]
    leaps: bool

    def by_day(self, axis: Axis) -> Ints:
        """The key of every axis date, NO_KEY where it may not be a special day."""
        found = np.full(axis.count, NO_KEY, dtype=np.int64)
        for key, days in zip(self.keys, self.days, strict=True):
            found[list(days)] = key
        return found


def is_quiet(controller: Controller) -> bool:
    """Whether special days never move the lamps by themselves, where they begin or end."""
    rule = controller.exceptions
    quiet = rule.start == rule.end == "keeps state" and rule.plan != PLAIN_DARK
    return quiet or not rule.slots


def domains_of(
    channels: Sequence[ChannelTarget], controller: Controller, clock: Zone, axis: Axis
) -> tuple[Domain, ...]:
    """Where the controller may keep special days; none for a controller without slots for them."""
    rule = controller.exceptions
    if not rule.slots or not any(channel.special for channel in channels):
        return ()
    numbers = tuple(range(len(channels)))
    groups = [numbers] if rule.covers == "all channels" else [(n,) for n in numbers]
    found = (_domain(group, channels, rule, clock, axis) for group in groups)
    return tuple(domain for domain in found if domain.keys)


def _domain(
    group: tuple[int, ...],
    channels: Sequence[ChannelTarget],
    rule: ExceptionSlots,
    clock: Zone,
    axis: Axis,
) -> Domain:
    special = {day for index in group for day in channels[index].special}
    after = {day + timedelta(days=1) for day in special}
    first = (clock.local_date(min(channels[i].start for i in group)) - axis.first).days
    last = (clock.local_date(max(channels[i].end for i in group)) - axis.first).days
    named = special | after
    wanted = {
        (day - axis.first).days if rule.with_year else PLACE_OF[day.month, day.day] for day in named
    }
    by_key: dict[int, list[int]] = {key: [] for key in wanted}
    barred: set[int] = set()
    for number, day in enumerate(axis.dates):
        key = number if rule.with_year else PLACE_OF[day.month, day.day]
        if key not in by_key:
            continue
        by_key[key].append(number)
        if first <= number <= last and day not in named:
            barred.add(key)
    keys = [
        key
        for key, days in sorted(by_key.items())
        if key not in barred and any(first <= day <= last for day in days)
    ]
    leaps = any((day.month, day.day) == MONTH_DAYS[LEAP_DAY] for day in axis.dates)
    return Domain(group, tuple(keys), tuple(tuple(by_key[key]) for key in keys), leaps)


def eligible_dates(domains: Sequence[Domain], channel: int, axis: Axis) -> Bools:
    """The axis dates on which a channel (index) may have special days."""
    found = np.zeros(axis.count, dtype=np.bool_)
    for domain in domains:
        if channel in domain.channels:
            found |= domain.by_day(axis) != NO_KEY
    return found


def acting_midnights(
    domains: Sequence[Domain], rule: ExceptionSlots, clock: Zone, axis: Axis, channel: int
) -> dict[Action, list[Instant]]:
    """When a unit could act on a channel (index) because special days begin or end."""
    at: set[Instant] = set()
    for domain in domains:
        days = [day for days in domain.days for day in days if channel in domain.channels]
        if rule.start != "keeps state" or rule.plan == PLAIN_DARK:
            at |= {midnight(clock, axis, day) for day in days}
        if rule.end != "keeps state":
            at |= {midnight(clock, axis, day + 1) for day in days}
    recalculates = "recalculates" in (rule.start, rule.end)
    return {a: sorted(at) for a in Action if a is Action.OFF or recalculates}


def first_days(rule: ExceptionSlots, clock: Zone, instants: Ints) -> Ints:
    """The first date, as days since 1970-01-01, that as a special day could switch at an instant:
    the one before where special days may end right then.
    """
    days: Ints = (instants + offsets_at(clock, instants)) // DAY
    if rule.end == "keeps state":
        return days
    ends_then: Bools = first_readings(clock, days * DAY) == instants
    earlier: Ints = days - ends_then
    return earlier


def midnight(clock: Zone, axis: Axis, day: int) -> Instant:
    """The first instant of an axis date."""
    return clock.first_pass(axis.first + timedelta(days=day), 0)


def neighbour(domain: Domain, rule: ExceptionSlots, key: int, step: int) -> int | None:
    """The key of the date before (-1) or after (+1), None where that may not be a special day."""
    if rule.with_year:
        return key + step if key + step in domain.keys else None
    known = set(domain.keys)
    other = (key + step) % len(MONTH_DAYS)
    if other == LEAP_DAY and not domain.leaps:
        other = (other + step) % len(MONTH_DAYS)
    return other if other in known else None
