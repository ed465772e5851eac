"""The lines of a site file that hold on a date."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.date_rules import parts_of
from schedcomp.dated import is_dated
from schedcomp.days import dates_of
from schedcomp.diag import SourceRange
from schedcomp.messages import renewing as words
from schedcomp.model import HOUR, Half, Instant
from schedcomp.phrases.printer import (
    print_calendar_line,
    print_dates,
    print_keep_dark,
    print_stretch,
)
from schedcomp.phrases.tree import (
    DatesPhrase,
    Easter,
    HolidayNamed,
    Holidays,
    HoursMoment,
    Moment,
    NthWeekday,
    Pair,
    Recurrence,
)
from schedcomp.records import Record
from schedcomp.site import Circuit, OneOff, Site
from schedcomp.world import World
from schedcomp.year import Year


class Exact(Record):
    """The exact year of some dates, with the facts behind it."""

    world: World
    year: Year


class Side(Record):
    """A date that is looked at, and the instant for which it matters."""

    exact: Exact
    day: date
    instant: Instant


class Holding(Record):
    """A line that has a say on a date: the `number`-th of its `kind`.

    `moves`: its dates are other ones in another year, or are those of one year only.
    """

    kind: str
    number: int
    line: str
    at: SourceRange | None
    moves: bool


def holding(site: Site, circuit: Circuit, side: Side, half: Half) -> tuple[Holding, ...]:
    """Every line that has a say on one half of a date: single nights, calendar, hours, dark."""
    return (
        *_single_nights(site, circuit, side),
        *_calendar(site, circuit, side, half),
        *_kept_dark(circuit, side),
    )


def line_at(site: Site, at: SourceRange | None) -> str:
    """The line that stands at a place, as it is told; "" if none of the wishes does."""
    if at is None:
        return ""
    for circuit in site.circuits:
        texts = [(line.at, print_calendar_line(line)) for line in circuit.calendar]
        texts += [(line.at, print_keep_dark(line)) for line in circuit.keep_dark]
        for place, text in texts:
            if place == at:
                return text
    return next((_one_off_text(o) for o in site.one_offs if o.at == at), "")


def _one_off_text(one_off: OneOff) -> str:
    return f"{'lit' if one_off.lit else 'dark'} {print_stretch(one_off.stretch)}"


def _single_nights(site: Site, circuit: Circuit, side: Side) -> Iterator[Holding]:
    for number, one_off in enumerate(site.one_offs_of(circuit)):
        stretch = one_off.stretch
        if stretch.start.day <= side.day <= stretch.end.day:
            yield Holding("single night", number, _one_off_text(one_off), one_off.at, moves=True)


def _calendar(site: Site, circuit: Circuit, side: Side, half: Half) -> Iterator[Holding]:
    decided = side.exact.year.circuit(circuit.name).decided
    number = next((d.line for d in decided if d.day == side.day and d.half is half), None)
    if number is None:
        return
    line = circuit.calendar[number]
    yield Holding("calendar", number, print_calendar_line(line), line.at, moves(line.dates))
    if _goes_by_hours(site, line.day_type):
        yield from _hours(site, side)


def _hours(site: Site, side: Side) -> Iterator[Holding]:
    hours = side.exact.world.hours
    number = None if hours is None else hours.line_of(side.day)
    if number is not None and site.hours is not None:
        line = site.hours.lines[number]
        text = words.HOURS_OF.format(dates=print_dates(line.dates.dates))
        yield Holding("hours", number, text, line.at, moves(line.dates))


def _kept_dark(circuit: Circuit, side: Side) -> Iterator[Holding]:
    """Dark stretches that reach within an hour of the instant."""
    dark = side.exact.year.circuit(circuit.name).dark
    near = {d.reason.line for d in dark if d.start - HOUR <= side.instant <= d.end + HOUR}
    for number, line in enumerate(circuit.keep_dark):
        text = print_keep_dark(line)
        if text in near and dates_of(line.dates.dates, [side.day], side.exact.world.holidays):
            yield Holding("kept dark", number, text, line.at, moves(line.dates))


def moves(phrase: DatesPhrase) -> bool:
    """Whether a phrase names dates of one year, or dates that move through the calendar."""
    moving = Holidays | HolidayNamed | Easter | NthWeekday | Recurrence
    return is_dated(phrase.dates) or any(isinstance(p, moving) for p in parts_of(phrase.dates))


def _goes_by_hours(site: Site, day_type: str) -> bool:
    named = site.day_type(day_type)
    moments = [m for w in (named.windows if named else ()) for m in (w.start, w.end)]
    return any(_has_hours(moment) for moment in moments)


def _has_hours(moment: Moment) -> bool:
    members = (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)
    return any(isinstance(member, HoursMoment) for member in members)
