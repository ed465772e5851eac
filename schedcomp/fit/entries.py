"""The special days of a solution: entries of dates, and the plans with their events."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import MONTH_DAYS
from schedcomp.fit.resting import Resting
from schedcomp.fit.settled import Stored, StoredDays
from schedcomp.fit.special_days import neighbour
from schedcomp.fit.unit_job import UnitJob
from schedcomp.program import PLAIN_DARK, EventDates

NO_EVENTS = "empty"
"""The plan of dates on which nothing happens."""


def entries(
    restings: Sequence[Resting], values: Sequence[float], numbers: Sequence[int], job: UnitJob
) -> tuple[tuple[StoredDays, ...], tuple[Stored, ...]]:
    """The special days in order, and the events of their plans. `numbers` are the channels'."""
    days: list[StoredDays] = []
    events: list[Stored] = []
    for resting in restings:
        names = _names(resting, values, job)
        channels = tuple(numbers[c] for c in resting.domain.channels)
        for plan, name in names.items():
            for event in resting.plans[plan].events:
                on = tuple(numbers[c] for c in event.channels)
                events.append(Stored(on, event.action, event.start, ALL_WEEKDAYS, None, name))
        for plan, keys in _runs(resting, values, job):
            covered = sorted(d for key in keys for d in _days(resting, key))
            dates = _event_dates(keys[0], keys[-1], job)
            days.append(StoredDays(channels, names[plan], dates, tuple(covered)))
    return tuple(sorted(days, key=lambda d: (d.days, d.channels))), tuple(events)


def _names(resting: Resting, values: Sequence[float], job: UnitJob) -> dict[int, str]:
    """A letter for each plan that runs on some date."""
    used = sorted({plan for (_, plan), v in resting.runs.items() if values[v] > 0.5})
    if job.controller.exceptions.plan == PLAIN_DARK:
        return dict.fromkeys(used, PLAIN_DARK)
    with_events = [plan for plan in used if resting.plans[plan].events]
    names = {plan: _letters(number) for number, plan in enumerate(with_events)}
    return {plan: names.get(plan, NO_EVENTS) for plan in used}


def _letters(number: int) -> str:
    """A to Z, then AA, AB and so on."""
    rest, letter = divmod(number, 26)
    return (_letters(rest - 1) if rest else "") + chr(ord("A") + letter)


def _runs(
    resting: Resting, values: Sequence[float], job: UnitJob
) -> Iterator[tuple[int, list[int]]]:
    """Every entry: its plan and its keys in order of date."""
    rule = job.controller.exceptions
    for (key, plan), begin in resting.begins.items():
        if values[begin] <= 0.5:
            continue
        keys = [key]
        while rule.length == "range":
            after = neighbour(resting.domain, rule, keys[-1], 1)
            follows = None if after is None else resting.runs.get((after, plan))
            if after is None or follows is None or values[follows] <= 0.5:
                break
            if values[resting.begins[after, plan]] > 0.5:
                break
            keys.append(after)
        yield plan, keys


def _days(resting: Resting, key: int) -> tuple[int, ...]:
    return resting.domain.days[resting.domain.keys.index(key)]


def _event_dates(first: int, last: int, job: UnitJob) -> EventDates:
    if not job.controller.exceptions.with_year:
        return EventDates(MONTH_DAYS[first], MONTH_DAYS[last])
    days = job.ranges.axis.dates
    a, b = days[first], days[last]
    return EventDates((a.month, a.day), (b.month, b.day), (a.year, b.year))
