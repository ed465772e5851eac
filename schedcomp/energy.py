"""What the exact year uses: hours lit by local month, energy, cost, switchings; and dark nights."""

from __future__ import annotations

from datetime import date
from itertools import accumulate

import numpy as np

from schedcomp.clock import Zone
from schedcomp.clock_columns import dates_of_numbers, day_numbers, first_readings
from schedcomp.model import DAY, HOUR, ONE_DAY, Instant, Period
from schedcomp.ordinance.intervals import Intervals, common, merged, seconds_of
from schedcomp.ordinance.lamps import WITH_PHOTOCELL, PhotocellSky, burning_of
from schedcomp.records import Record
from schedcomp.site import Circuit, Site
from schedcomp.sun import SiteSun
from schedcomp.year import Year

ESTIMATED = "Hours and kWh are estimates: a photocell decides with the clock (clear sky)."


class Energy(Record, kw_only=True):
    """Use of one circuit in the period; kWh None when no load was given.

    `hours_by_month` are ((year, month), hours lit) in order. `switchings` counts its ons.
    `estimated`: a photocell decides with the clock, and the hours are worked out from the light of
    a clear sky.
    """

    circuit: str
    hours_by_month: tuple[tuple[tuple[int, int], float], ...]
    hours: float
    kwh: float | None
    cost: float | None
    switchings: int
    estimated: bool = False


def energy_of(site: Site, year: Year, zone: Zone, sun: SiteSun | None = None) -> tuple[Energy, ...]:
    """Use of every circuit from the period's first to its last local midnight, in elapsed hours.

    With a photocell in series lamps burn while the clock lights them and it is dark enough, with
    one in parallel while either is so; without `sun` only the clock counts.

    A circuit without a load gets no kWh, a site without a price no cost. A span that is lit
    already when the period begins is no switching of the period.
    """
    months = _months(year, zone)
    return tuple(
        _use(site, circuit, year, _lit(site, circuit, year, sun), months, sun)
        for circuit in site.circuits
    )


def _lit(site: Site, circuit: Circuit, year: Year, sun: SiteSun | None) -> Intervals:
    """When the lamps burn, with the photocell where its light is known."""
    of_year = year.circuit(circuit.name)
    scheduled = merged((span.start, span.end) for span in of_year.spans)
    if sun is None or circuit.photocell not in WITH_PHOTOCELL:
        return scheduled
    dark = PhotocellSky(sun, (site.dusk, site.dawn)).dark_enough(circuit)
    return burning_of(circuit, scheduled, dark, (year.start, year.end)).expected


def nights_without_light(year: Year, zone: Zone) -> tuple[date, ...]:
    """Dates of the period from whose noon to the next noon no circuit is lit at any time."""
    spans = sorted((s.start, s.end) for circuit in year.circuits for s in circuit.spans)
    starts = [start for start, _ in spans]
    latest_ends = list(accumulate((end for _, end in spans), max))

    days = day_numbers(Period(year.period.first, year.period.last + ONE_DAY))
    noons = first_readings(zone, days * DAY + DAY // 2)
    begin, end = noons[:-1], noons[1:]
    before_end = np.searchsorted(np.array(starts, np.int64), end, "left")
    latest = np.array([0, *latest_ends], np.int64)[before_end]
    dark = (before_end == 0) | (latest <= begin)
    return tuple(dates_of_numbers(days[:-1][dark]))


def _use(
    site: Site,
    circuit: Circuit,
    year: Year,
    lit: Intervals,
    months: list[tuple[tuple[int, int], Instant, Instant]],
    sun: SiteSun | None,
) -> Energy:
    seconds = [(month, _lit_seconds(lit, begin, end)) for month, begin, end in months]
    hours = sum(lit_seconds for _, lit_seconds in seconds) / HOUR
    kwh = None if circuit.load_kw is None else circuit.load_kw * hours
    price = site.price_per_kwh
    return Energy(
        circuit=circuit.name,
        hours_by_month=tuple((month, lit_seconds / HOUR) for month, lit_seconds in seconds),
        hours=hours,
        kwh=kwh,
        cost=None if kwh is None or price is None else kwh * price,
        switchings=sum(year.start <= start < year.end for start, _ in lit),
        estimated=sun is not None and circuit.photocell in WITH_PHOTOCELL,
    )


def _lit_seconds(lit: Intervals, begin: Instant, end: Instant) -> int:
    return seconds_of(common(lit, ((begin, end),)))


def _months(year: Year, zone: Zone) -> list[tuple[tuple[int, int], Instant, Instant]]:
    """Each local month of the period with its first and last instant inside the period."""
    names = _month_names(year.period)
    borders = [zone.first_pass(date(y, m, 1), 0) for y, m in names[1:]]
    begins = [year.start, *borders]
    ends = [*borders, year.end]
    return list(zip(names, begins, ends, strict=True))


def _month_names(period: Period) -> list[tuple[int, int]]:
    first = period.first.year * 12 + period.first.month - 1
    last = period.last.year * 12 + period.last.month - 1
    return [(index // 12, index % 12 + 1) for index in range(first, last + 1)]
