"""Special days that may stay as they are, though another choice of dates was found."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.fit.date_ranges import PLACE_OF
from schedcomp.fit.entries import NO_EVENTS
from schedcomp.fit.settled import StoredDays
from schedcomp.fit.special_days import Domain, domains_of, is_quiet
from schedcomp.fit.unit_job import UnitJob
from schedcomp.program import EventDates, SpecialDays

Choice = tuple[StoredDays, ...]


def still_special(old: Sequence[SpecialDays], job: UnitJob) -> Choice:
    """The old special days without events whose dates may all be special days again.

    Only where special days do nothing by themselves, so that dates without events are nothing
    but dates without events.
    """
    if not is_quiet(job.controller):
        return ()
    domains = domains_of(job.channels, job.controller, job.clock, job.ranges.axis)
    found = []
    for days in old:
        for domain in domains:
            channels = tuple(job.channels[c].channel for c in domain.channels)
            numbers = _axis_dates(days.dates, domain, job)
            if days.plan == NO_EVENTS and channels == days.channels and numbers:
                found.append(StoredDays(channels, days.plan, days.dates, numbers))
    return tuple(found)


def _axis_dates(dates: EventDates, domain: Domain, job: UnitJob) -> tuple[int, ...]:
    """The axis dates that stored dates name; none if some of them may not be special days."""
    with_year = job.controller.exceptions.with_year
    if with_year != (dates.years is not None):
        return ()
    keys = {
        number if with_year else PLACE_OF[day.month, day.day]
        for number, day in enumerate(job.ranges.axis.dates)
        if _names(dates, day.year, (day.month, day.day))
    }
    if not keys <= set(domain.keys):
        return ()
    return tuple(
        sorted(
            d for k, days in zip(domain.keys, domain.days, strict=True) if k in keys for d in days
        )
    )


def _names(dates: EventDates, year: int, at: tuple[int, int]) -> bool:
    if dates.years is not None:
        first_year, last_year = dates.years
        return (first_year, *dates.first) <= (year, *at) <= (last_year, *dates.last)
    if dates.first <= dates.last:
        return dates.first <= at <= dates.last
    return at >= dates.first or at <= dates.last


def with_old(found: Choice, old: Choice) -> Choice | None:
    """The old special days and those found beside them; None if that is nothing new."""
    if set(old) <= set(found):
        return None
    beside = (f for f in found if not any(_overlap(f, o) for o in old))
    return _in_order((*old, *beside))


def fewer(choice: Choice, old: Choice) -> Iterator[Choice]:
    """Each choice with one left out that would have to be keyed."""
    for days in choice:
        if days not in old:
            yield tuple(d for d in choice if d != days)


def _overlap(one: StoredDays, other: StoredDays) -> bool:
    return bool(set(one.channels) & set(other.channels) and set(one.days) & set(other.days))


def _in_order(days: Choice) -> Choice:
    return tuple(sorted(days, key=lambda d: (d.days, d.channels)))
