"""The facts of a place and period that the wishes are read against."""

from __future__ import annotations

from schedcomp.clock import Zone
from schedcomp.days import date_problems
from schedcomp.diag import Diagnostic, has_problem
from schedcomp.holiday_list import HolidayList, holiday_list
from schedcomp.hours import OpeningHours, hours_problems, opening_hours
from schedcomp.model import Period
from schedcomp.phrases.tree import DatesPhrase, HoursMoment, Moment, Pair, Window
from schedcomp.places import Whereabouts, whereabouts
from schedcomp.records import Record
from schedcomp.site import Site
from schedcomp.site_clock import site_clock
from schedcomp.sun import SiteSun, site_sun

REACH_DAYS = 3
"""A window reaches into the next date; one that ends at an opening as far as a place is closed."""
CLOSED_REACH_DAYS = 380
# Holidays are observed, and neighbours of dates named, across the edge of what is looked at.
MARGIN_DAYS = 5


class World(Record, kw_only=True):
    """Everything reaches beyond the period on both sides as far as the site's windows do."""

    period: Period
    zone: Zone
    sun: SiteSun
    holidays: HolidayList
    hours: OpeningHours | None
    whereabouts: Whereabouts


def read_world(site: Site, period: Period) -> tuple[World | None, tuple[Diagnostic, ...]]:
    """Zone, sun, holidays and hours of a site; None while a dates phrase cannot be resolved."""
    margin = reach_days(site) + MARGIN_DAYS
    days = period.wider(margin)
    given, found = holiday_list(site.holidays, days.years, period, site.timezone)
    holidays = given or HolidayList()
    for phrase in _dates_phrases(site):
        found = (*found, *date_problems(phrase, holidays, site.timezone))
    if site.hours:
        found = (*found, *hours_problems(site.hours, period.dates(), holidays, site.timezone))
    if has_problem(found):
        return None, found
    place = site.latitude_degrees, site.longitude_degrees
    clock = site_clock(site, days.first, days.last)
    hours = opening_hours(site.hours, clock, days.dates(), holidays) if site.hours else None
    return (
        World(
            period=period,
            zone=clock,
            sun=site_sun(*place, clock, days.first, days.last),
            holidays=holidays,
            hours=hours,
            whereabouts=whereabouts(*place),
        ),
        found,
    )


def _dates_phrases(site: Site) -> list[DatesPhrase]:
    """Every dates phrase of the circuits."""
    phrases: list[DatesPhrase] = []
    for circuit in site.circuits:
        phrases += [line.dates for line in circuit.keep_dark]
        phrases += [line.dates for line in circuit.calendar]
        phrases += [line.dates for line in circuit.promises]
    return phrases


def reach_days(site: Site) -> int:
    """Days before the period on which a window that reaches into it may start."""
    windows = [w for t in site.day_types for w in t.windows]
    windows += [line.window for c in site.circuits for line in c.keep_dark]
    return CLOSED_REACH_DAYS if any(_ends_at_opening(w) for w in windows) else REACH_DAYS


def _ends_at_opening(window: Window) -> bool:
    """Whether it goes on from a closing to the next opening, however many dates later."""
    return any(m.word.is_opening for m in _hours(window.end)) and any(
        not m.word.is_opening for m in _hours(window.start)
    )


def _hours(moment: Moment) -> list[HoursMoment]:
    members = (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)
    return [m for m in members if isinstance(m, HoursMoment)]
