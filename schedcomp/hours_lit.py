"""Hours lit between two readings of a unit's hour counter."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from schedcomp.clock import Zone
from schedcomp.model import Instant
from schedcomp.records import Record
from schedcomp.site import Circuit, Site
from schedcomp.year import CircuitYear, Year

Month = tuple[int, int]
"""(year, month)"""


class HoursLit(Record, kw_only=True):
    """One circuit between two instants; `switchings` are its ons in between."""

    circuit: str
    channel: int
    load_kw: float | None
    seconds_by_month: tuple[tuple[Month, int], ...]
    switchings: int

    @property
    def seconds(self) -> int:
        return sum(seconds for _, seconds in self.seconds_by_month)


def hours_lit(
    site: Site, year: Year, zone: Zone, since: Instant, until: Instant
) -> tuple[HoursLit, ...]:
    """Every circuit by local month; the year must reach from `since` to `until`."""
    months = tuple(_months(zone, since, until))
    return tuple(
        _of_circuit(circuit, year.circuit(circuit.name), months, since, until)
        for circuit in site.circuits
    )


def _of_circuit(
    circuit: Circuit,
    lit: CircuitYear,
    months: tuple[tuple[Month, Instant, Instant], ...],
    since: Instant,
    until: Instant,
) -> HoursLit:
    return HoursLit(
        circuit=circuit.name,
        channel=circuit.channel,
        load_kw=circuit.load_kw,
        seconds_by_month=tuple((month, _seconds(lit, a, b)) for month, a, b in months),
        switchings=sum(since <= span.start < until for span in lit.spans),
    )


def _seconds(lit: CircuitYear, begin: Instant, end: Instant) -> int:
    return sum(max(0, min(span.end, end) - max(span.start, begin)) for span in lit.spans)


def _months(zone: Zone, since: Instant, until: Instant) -> Iterator[tuple[Month, Instant, Instant]]:
    """The local months between, each with its first and last instant in between."""
    begin = since
    while begin < until:
        day = zone.local_date(begin)
        following = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        end = min(zone.first_pass(following, 0), until)
        yield (day.year, day.month), begin, end
        begin = end
