"""What a circuit does in one night, from noon to noon, and on which nights it is dark."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable
from datetime import date

from schedcomp.clock import Zone
from schedcomp.energy import nights_without_light
from schedcomp.model import HOUR, ONE_DAY
from schedcomp.records import replace
from schedcomp.sheet.wording import Hand
from schedcomp.year import CircuitYear, Span, Year

NEVER = "dark all night"
ALWAYS = "lit from noon to noon"


def night_spans(circuit: CircuitYear, zone: Zone, day: date) -> list[Span]:
    """The lit spans that touch the night of an evening date."""
    noon, next_noon = (zone.first_pass(d, 12 * HOUR) for d in (day, day + ONE_DAY))
    spans = circuit.spans
    first = bisect_left(spans, noon + 1, key=lambda span: span.end)
    found = []
    while first < len(spans) and spans[first].start < next_noon:
        found.append(spans[first])
        first += 1
    return found


def night_lines(circuit: CircuitYear, zone: Zone, day: date, hand: Hand) -> tuple[str, ...]:
    """`17:02 to 22:00`, one text a lit span of the night."""
    noon, next_noon = (zone.first_pass(d, 12 * HOUR) for d in (day, day + ONE_DAY))
    lines = []
    for span in night_spans(circuit, zone, day):
        if span.start < noon and span.end >= next_noon:
            return (ALWAYS,)
        start = "(lit before)" if span.start < noon else hand.time(zone, span.start)
        end = "(still lit at noon)" if span.end > next_noon else hand.time(zone, span.end)
        lines.append(f"{start} to {end}")
    return tuple(lines) or (NEVER,)


def lit_at_noon(circuit: CircuitYear, zone: Zone, days: Iterable[date]) -> bool:
    """Whether it is lit at noon on one of some dates."""
    return any(circuit.is_lit(zone.first_pass(day, 12 * HOUR)) for day in days)


def dark_nights(year: Year, circuit: CircuitYear, zone: Zone) -> tuple[date, ...]:
    """Evening dates of the period in whose night this circuit is never lit."""
    return nights_without_light(replace(year, circuits=(circuit,)), zone)
