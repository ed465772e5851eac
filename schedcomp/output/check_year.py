"""Parts of check.json that come from the exact year: holidays, undecided dates, empty windows."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from schedcomp.clock import Zone, utc_text
from schedcomp.holiday_list import Holiday
from schedcomp.model import WEEKDAYS, Half, Instant
from schedcomp.output.canonical import Json
from schedcomp.site import Circuit, Site
from schedcomp.year import CircuitYear, EmptyWindow, Year


def holidays_used(site: Site, year: Year, used: Iterable[Holiday]) -> Json:
    """Each holiday of the period with the day types that its mornings and evenings got."""
    types = [
        (circuit, _day_types(circuit, year.circuit(circuit.name))) for circuit in site.circuits
    ]
    return [
        {
            "weekday": WEEKDAYS[holiday.day.weekday()],
            "date": holiday.day.isoformat(),
            "name": holiday.label,
            "effect": [
                {
                    "circuit": circuit.name,
                    "mornings": by_half.get((holiday.day, Half.MORNING)),
                    "evenings": by_half.get((holiday.day, Half.EVENING)),
                }
                for circuit, by_half in types
            ],
        }
        for holiday in used
    ]


def undecided(year: Year) -> Json:
    """Halves of dates that no calendar line names, so that they are dark."""
    return [
        {
            "circuit": circuit.circuit,
            "date": decided.day.isoformat(),
            "half": decided.half.value,
        }
        for circuit in year.circuits
        for decided in circuit.decided
        if decided.line is None
    ]


def empty_windows(year: Year) -> Json:
    """Windows that light nothing on some dates: why, on how many, the first and the last."""
    return [
        {
            "circuit": circuit.circuit,
            "window": window,
            "why": why,
            "count": len(days),
            "first": min(days).isoformat(),
            "last": max(days).isoformat(),
        }
        for circuit in year.circuits
        for (window, why), days in sorted(_dates_by_window(circuit.empty).items())
    ]


def short_stretches(year: Year, zone: Zone) -> Json:
    """What `shortest_off` and `shortest_on` changed, and short gaps that had to stay."""
    return [
        _stretch(circuit.circuit, what, start, end, zone)
        for circuit in year.circuits
        for what, stretches in (
            ("gap bridged", circuit.bridged),
            ("span dropped", circuit.dropped),
            ("short gap left", circuit.short_gaps),
        )
        for start, end in stretches
        if start < year.end and end > year.start
    ]


def _stretch(circuit: str, what: str, start: Instant, end: Instant, zone: Zone) -> Json:
    return {
        "circuit": circuit,
        "what": what,
        "start_utc": utc_text(start),
        "start_local": zone.local(start).isoformat(" "),
        "seconds": end - start,
    }


def _day_types(circuit: Circuit, year: CircuitYear) -> dict[tuple[date, Half], str]:
    return {
        (decided.day, decided.half): circuit.calendar[decided.line].day_type
        for decided in year.decided
        if decided.line is not None
    }


def _dates_by_window(empty: Iterable[EmptyWindow]) -> dict[tuple[str, str], set[date]]:
    """Dates on which a window was empty, whichever line asked for it."""
    dates: dict[tuple[str, str], set[date]] = {}
    for window in empty:
        dates.setdefault((window.window, window.why), set()).add(window.day)
    return dates
