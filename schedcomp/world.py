"""The facts of a place and period that the wishes are read against."""

from __future__ import annotations

from dataclasses import dataclass

from schedcomp.clock import Zone, zone
from schedcomp.days import date_problems
from schedcomp.diag import Diagnostic, has_problem
from schedcomp.holiday_list import HolidayList, holiday_list
from schedcomp.hours import OpeningHours, hours_problems, opening_hours
from schedcomp.model import Period
from schedcomp.phrases.tree import DatesPhrase
from schedcomp.places import Whereabouts, whereabouts
from schedcomp.site import Site
from schedcomp.sun import SiteSun, site_sun

# Windows that end at an opening reach as far as a business stays closed; see `expand.reach_days`.
DAYS_BEFORE = 42
DAYS_AFTER = 42


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """Everything reaches a few weeks beyond the period on both sides."""

    period: Period
    zone: Zone
    sun: SiteSun
    holidays: HolidayList
    hours: OpeningHours | None
    whereabouts: Whereabouts


def read_world(site: Site, period: Period) -> tuple[World | None, tuple[Diagnostic, ...]]:
    """Zone, sun, holidays and hours of a site; None while a dates phrase cannot be resolved."""
    days = tuple(period.dates(before=DAYS_BEFORE, after=DAYS_AFTER))
    years = tuple(range(days[0].year, days[-1].year + 1))
    given, found = holiday_list(site.holidays, years, period)
    holidays = given or HolidayList()
    for phrase in _dates_phrases(site):
        found = (*found, *date_problems(phrase, holidays))
    if site.hours:
        found = (*found, *hours_problems(site.hours, period.dates(), holidays))
    if has_problem(found):
        return None, found
    clock = zone(site.timezone, days[0], days[-1])
    hours = opening_hours(site.hours, clock, days, holidays) if site.hours else None
    return (
        World(
            period=period,
            zone=clock,
            sun=site_sun(site.latitude_degrees, site.longitude_degrees, clock, days[0], days[-1]),
            holidays=holidays,
            hours=hours,
            whereabouts=whereabouts(site.latitude_degrees, site.longitude_degrees),
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
