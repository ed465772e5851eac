"""One night, from noon to noon, as a person would tell it: every switching with its reason."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.clock import ClockChange, Zone
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import HOUR, ONE_DAY, Action, Half, Instant, NoEvent
from schedcomp.phrases.printer import print_calendar_line
from schedcomp.records import Record
from schedcomp.report.strip import strip
from schedcomp.report.words import (
    half_words,
    hours_of,
    instant_record,
    reason_words,
    wrapped,
)
from schedcomp.site import Circuit, Site
from schedcomp.told_time import clock_change_words, clock_words, moment_words
from schedcomp.words import date_words, length_words
from schedcomp.world import World
from schedcomp.year import (
    CircuitYear,
    EmptyWindow,
    Reason,
    Span,
    Switching,
    Year,
    empty_window_words,
)


class CircuitNight(Record, kw_only=True):
    """What one circuit does between two noons; `lit_since` when it is lit at the first noon.

    `strip` draws it on one line.
    """

    circuit: str
    switchings: tuple[Switching, ...]
    lit_since: Span | None
    lit_seconds: int
    strip: str
    notes: tuple[str, ...]


class Night(Record, kw_only=True):
    """The night that begins on the evening of `day`; instants of its noons in `start` and `end`."""

    day: date
    start: Instant
    end: Instant
    sunset: Instant | NoEvent
    sunrise: Instant | NoEvent
    clock_changes: tuple[ClockChange, ...]
    special: tuple[str, ...]
    circuits: tuple[CircuitNight, ...]


def nights(site: Site, world: World, year: Year, first: date, count: int) -> tuple[Night, ...]:
    """`count` nights from the evening of `first`; the year must hold one date more."""
    return tuple(_night(site, world, year, first + ONE_DAY * i) for i in range(count))


def _night(site: Site, world: World, year: Year, day: date) -> Night:
    zone = world.zone
    start = zone.first_pass(day, 12 * HOUR)
    end = zone.first_pass(day + ONE_DAY, 12 * HOUR)
    return Night(
        day=day,
        start=start,
        end=end,
        sunset=world.sun.crossing(day, Half.EVENING, SUNRISE_LEVEL_DEGREES),
        sunrise=world.sun.crossing(day + ONE_DAY, Half.MORNING, SUNRISE_LEVEL_DEGREES),
        clock_changes=tuple(c for c in zone.changes() if start <= c.instant < end),
        special=special_names(world, day),
        circuits=tuple(
            _circuit_night(circuit, year.circuit(circuit.name), zone, day, start, end)
            for circuit in site.circuits
        ),
    )


def special_names(world: World, evening: date) -> tuple[str, ...]:
    """Holidays on the date of an evening and on the date of its morning."""
    return tuple(
        f"{date_words(day, year=False)} is {name}"
        for day in (evening, evening + ONE_DAY)
        for name in holiday_names(world, day)
    )


def holiday_names(world: World, day: date) -> tuple[str, ...]:
    """The names of the site's holidays on a date."""
    return tuple(holiday.label for holiday in world.holidays.on(day))


def _circuit_night(
    circuit: Circuit, year: CircuitYear, zone: Zone, day: date, start: Instant, end: Instant
) -> CircuitNight:
    lit = [s for s in year.spans if s.start < end and s.end > start]
    notes: list[str] = [] if lit else ["dark all night", *_deciding_lines(circuit, year, day)]
    notes += [empty_window_words(w) for w in year.empty if _belongs(w, day)]
    return CircuitNight(
        circuit=circuit.name,
        switchings=tuple(s for s in year.switchings() if start <= s.instant < end),
        lit_since=next((s for s in lit if s.start < start), None),
        lit_seconds=sum(min(s.end, end) - max(s.start, start) for s in lit),
        strip=strip((year,), zone, day),
        notes=tuple(notes),
    )


def _deciding_lines(circuit: Circuit, year: CircuitYear, day: date) -> list[str]:
    sides = ((day, Half.EVENING), (day + ONE_DAY, Half.MORNING))
    return [line for side in sides for line in deciding_lines(circuit, year, *side)]


def deciding_lines(circuit: Circuit, year: CircuitYear, day: date, half: Half) -> list[str]:
    """The calendar line that decides one half of a date, in words; none outside the year."""
    decided = [d.line for d in year.decided if d.day == day and d.half is half]
    return [
        f"no calendar line names {half_words(day, half)}, so it is dark"
        if line is None
        else f"`{print_calendar_line(circuit.calendar[line])}` decides {half_words(day, half)}"
        for line in decided
    ]


def _belongs(window: EmptyWindow, evening: date) -> bool:
    """Whether a window would have started in the night of this evening."""
    if window.day == evening:
        return window.half is not Half.MORNING
    return window.day == evening + ONE_DAY and window.half is not Half.EVENING


def night_text(zone: Zone, told: Sequence[Night]) -> str:
    """The nights for a terminal, at most 80 columns wide."""
    return "\n\n".join(_one_night(zone, night) for night in told) + "\n"


def _one_night(zone: Zone, night: Night) -> str:
    morning = date_words(night.day + ONE_DAY, year=False)
    lines = [
        f"{date_words(night.day)} (evening) to {morning} (morning)",
        wrapped(f"{_sun_words(zone, night)}.", "  "),
    ]
    lines += [wrapped(f"{name}.", "  ") for name in night.special]
    lines += [
        wrapped(f"Clock change: {clock_change_words(zone, c)}.", "  ") for c in night.clock_changes
    ]
    for circuit in night.circuits:
        lines += ["", f"  {circuit.circuit}", *_circuit_lines(zone, circuit)]
    return "\n".join(lines)


def _sun_words(zone: Zone, night: Night) -> str:
    if isinstance(night.sunset, NoEvent) and night.sunset == night.sunrise:
        return f"No sunset and no sunrise: {night.sunset.reason.value}"
    parts = []
    for name, event in (("sunset", night.sunset), ("sunrise", night.sunrise)):
        if isinstance(event, NoEvent):
            parts.append(f"no {name}: {event.reason.value}")
        else:
            parts.append(f"{name} {clock_words(zone, event)}")
    text = ", ".join(parts)
    return text[0].upper() + text[1:]


def _circuit_lines(zone: Zone, night: CircuitNight) -> list[str]:
    lines = []
    if night.lit_since is not None:
        since = moment_words(zone, night.lit_since.start)
        reason = reason_words(zone, night.lit_since.start_reason, "")
        lines.append(wrapped(f"lit since {since}: {reason}", "    ", "      "))
    times = [clock_words(zone, switching.instant) for switching in night.switchings]
    width = max(map(len, times), default=0)
    for shown, switching in zip(times, night.switchings, strict=True):
        first = f"    {switching.action.value:<3} {shown:>{width}}  "
        lines.append(wrapped(reason_words(zone, switching.reason, shown), first))
    lines += [wrapped(note, "    ", "      ") for note in night.notes]
    if night.lit_seconds:
        lines.append(f"    lit for {length_words(night.lit_seconds)}")
    lines.append(f"    {night.strip}")
    return lines


def night_records(zone: Zone, told: Sequence[Night]) -> list[dict[str, object]]:
    """The same nights as plain records for JSON."""
    return [
        {
            "evening": night.day.isoformat(),
            "from": instant_record(zone, night.start),
            "until": instant_record(zone, night.end),
            "sunset": _event_record(zone, night.sunset),
            "sunrise": _event_record(zone, night.sunrise),
            "clock_changes": [clock_change_words(zone, c) for c in night.clock_changes],
            "special": list(night.special),
            "circuits": [_circuit_record(zone, c) for c in night.circuits],
        }
        for night in told
    ]


def _event_record(zone: Zone, event: Instant | NoEvent) -> dict[str, object] | None:
    if isinstance(event, NoEvent):
        return {"none_because": event.reason.value}
    return instant_record(zone, event)


def _circuit_record(zone: Zone, night: CircuitNight) -> dict[str, object]:
    since = night.lit_since
    return {
        "circuit": night.circuit,
        "lit_since": since and switching_record(zone, since.start, Action.ON, since.start_reason),
        "switchings": [
            switching_record(zone, s.instant, s.action, s.reason) for s in night.switchings
        ],
        "hours_lit": hours_of(night.lit_seconds),
        "notes": list(night.notes),
    }


def switching_record(
    zone: Zone, instant: Instant, action: Action, reason: Reason
) -> dict[str, object]:
    """One on or off with its reason as a plain record."""
    place = reason.at
    return {
        "action": action.value,
        **(instant_record(zone, instant) or {}),
        "cause": reason.cause.value,
        "moment": reason.phrase,
        "belongs_to": reason.date.isoformat(),
        "day_type": reason.day_type,
        "line": reason.line,
        "line_number": place.line if place else None,
    }
