"""Lines for dates of one year: what was made for them does harm in every other year."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.date_rules import parts_of
from schedcomp.days import dates_of
from schedcomp.diag import SourceRange
from schedcomp.model import ONE_DAY, Period
from schedcomp.phrases.tree import (
    AnyOf,
    DatedRange,
    Dates,
    Except,
    Neighbour,
    SingleDate,
    WeekdaysIn,
)
from schedcomp.program import Event, EventDates, Program, SpecialDays
from schedcomp.records import replace
from schedcomp.site import Circuit, Site
from schedcomp.year import CircuitYear, Year


def is_dated(dates: Dates) -> bool:
    """Whether a phrase names only dates written with their year."""
    match dates:
        case SingleDate() | DatedRange():
            return True
        case AnyOf():
            return all(is_dated(member) for member in dates.members)
        case Except():
            return is_dated(dates.base)
        case WeekdaysIn():
            return is_dated(dates.within)
        case Neighbour():
            return is_dated(dates.of)
        case _:
            return False


def mark_years(program: Program, year: Year, site: Site) -> Program:
    """The program with `only_year` wherever an event or special days serve dated lines alone.

    What is marked already stays so. Events are judged by their `sources`.
    """
    years_at = dict(_dated_lines(site))
    by_channel: dict[int, frozenset[date]] = {}
    for circuit, circuit_year in zip(site.circuits, year.circuits, strict=True):
        dated = dated_days(site, circuit, circuit_year, year.period)
        by_channel[circuit.channel] = by_channel.get(circuit.channel, frozenset()) | dated
    return replace(
        program,
        events=tuple(_marked_event(event, years_at) for event in program.events),
        special_days=tuple(
            _marked_days(days, by_channel, year.period) for days in program.special_days
        ),
    )


def dated_days(
    site: Site, circuit: Circuit, circuit_year: CircuitYear, period: Period
) -> frozenset[date]:
    """Dates of the period that a dated line, a single night or dated opening hours decide."""
    dated = [is_dated(line.dates.dates) for line in circuit.calendar]
    found = {
        half.day for half in circuit_year.decided if half.line is not None and dated[half.line]
    }
    for one_off in site.one_offs_of(circuit):
        found.update(Period(one_off.stretch.start.day, one_off.stretch.end.day).dates())
    days = period.dates()
    for line in site.hours.lines if site.hours else ():
        if is_dated(line.dates.dates):
            found |= dates_of(line.dates.dates, days, None)
    return frozenset(found)


def _dated_lines(site: Site) -> Iterator[tuple[SourceRange, frozenset[int]]]:
    """Where each dated line stands, and the years of its dates."""
    for circuit in site.circuits:
        lines = [(line.dates, line.at) for line in circuit.calendar]
        lines += [(line.dates, line.at) for line in circuit.keep_dark]
        for phrase, at in lines:
            if at is not None and is_dated(phrase.dates):
                yield at, _years_of(phrase.dates)
    for one_off in site.one_offs:
        if one_off.at is not None:
            ends = (one_off.stretch.start.day, one_off.stretch.end.day)
            yield one_off.at, frozenset(day.year for day in ends)


def _years_of(dates: Dates) -> frozenset[int]:
    years: set[int] = set()
    for part in parts_of(dates):
        if isinstance(part, SingleDate):
            years.add(part.day.year)
        elif isinstance(part, DatedRange):
            years.update(Period(part.first, part.last).years)
    return frozenset(years)


def _marked_event(event: Event, years_at: dict[SourceRange, frozenset[int]]) -> Event:
    if event.only_year is not None or not event.sources:
        return event
    years: set[int | None] = set()
    for source in event.sources:
        years |= years_at.get(source, frozenset([None]))
    return replace(event, only_year=years.pop() if len(years) == 1 else None)


def _marked_days(
    days: SpecialDays, by_channel: dict[int, frozenset[date]], period: Period
) -> SpecialDays:
    """A date after a dated one belongs to it: there the evening before may go on."""
    if days.only_year is not None:
        return days
    dated = frozenset[date]().union(*(by_channel.get(c, frozenset()) for c in days.channels))
    covered = [day for day in period.dates() if covers(days.dates, day)]
    if not covered or not all(day in dated or day - ONE_DAY in dated for day in covered):
        return days
    years = {day.year for day in dated if day in covered or day + ONE_DAY in covered}
    return replace(days, only_year=years.pop() if len(years) == 1 else None)


def covers(dates: EventDates, day: date) -> bool:
    """Whether stored dates name a date of the controller's clock."""
    at = (day.month, day.day)
    if dates.years is not None:
        first_year, last_year = dates.years
        return (first_year, *dates.first) <= (day.year, *at) <= (last_year, *dates.last)
    if dates.first <= dates.last:
        return dates.first <= at <= dates.last
    return at >= dates.first or at <= dates.last
