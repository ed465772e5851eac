"""Why a circuit is lit or dark at one minute: which line decided, since when, until when."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.clock import Zone, utc_text
from schedcomp.model import MINUTE, ONE_DAY, Half, Instant
from schedcomp.records import Record
from schedcomp.report.night import deciding_lines, holiday_names, switching_record
from schedcomp.report.words import (
    instant_record,
    reason_words,
    wrapped,
)
from schedcomp.site import Circuit, Site
from schedcomp.told_time import exact_clock_words, exact_moment_words
from schedcomp.words import length_words
from schedcomp.world import World
from schedcomp.year import Cause, CircuitYear, Switching, Year, empty_window_words


class Standing(Record, kw_only=True):
    """The state of one circuit at one instant.

    `since` and `until` are the switchings on both sides, None where the circuit never switches.
    `notes` are sentences on what decided the state.
    """

    circuit: str
    lit: bool
    since: Switching | None
    until: Switching | None
    notes: tuple[str, ...]


class Asked(Record, kw_only=True):
    """All circuits at one instant; `pass_number` is 1 or 2 where the clock shows it twice."""

    instant: Instant
    pass_number: int | None
    special: tuple[str, ...]
    circuits: tuple[Standing, ...]


def standings(
    site: Site, world: World, year: Year, instants: Sequence[Instant]
) -> tuple[Asked, ...]:
    """The state at each pass of one reading; the year must hold the dates beside it."""
    twice = len(instants) > 1
    return tuple(
        Asked(
            instant=instant,
            pass_number=number if twice else None,
            special=holiday_names(world, world.zone.local_date(instant)),
            circuits=tuple(
                _standing(circuit, year.circuit(circuit.name), world.zone, instant)
                for circuit in site.circuits
            ),
        )
        for number, instant in enumerate(instants, start=1)
    )


def _standing(circuit: Circuit, year: CircuitYear, zone: Zone, instant: Instant) -> Standing:
    span = year.span_at(instant)
    switchings = year.switchings()
    return Standing(
        circuit=circuit.name,
        lit=span is not None,
        since=next((s for s in reversed(switchings) if s.instant <= instant), None),
        until=next((s for s in switchings if s.instant > instant), None),
        notes=(
            *_within_the_minute(switchings, zone, instant),
            *(
                _why_dark(circuit, year, zone, instant)
                if span is None
                else _why_lit(circuit, year, zone, instant)
            ),
        ),
    )


def _within_the_minute(switchings: Sequence[Switching], zone: Zone, instant: Instant) -> list[str]:
    return [
        f"Within this minute, at {exact_clock_words(zone, s.instant)}, it switches {s.action.value}"
        for s in switchings
        if instant < s.instant < instant + MINUTE
    ]


def _why_lit(circuit: Circuit, year: CircuitYear, zone: Zone, instant: Instant) -> list[str]:
    notes = [*_decided(circuit, year, zone, instant), *_single_periods(year, instant)]
    for start, end in year.bridged:
        if start <= instant < end:
            shortest = length_words(circuit.shortest_off_seconds)
            notes.append(
                f"The gap from {exact_clock_words(zone, start)} until "
                f"{exact_clock_words(zone, end)} is shorter than shortest_off ({shortest}), "
                "so the lamps stay on"
            )
    return notes


def _single_periods(year: CircuitYear, instant: Instant) -> list[str]:
    span = year.span_at(instant)
    reasons = (span.start_reason, span.end_reason) if span else ()
    lines = dict.fromkeys(r.line for r in reasons if r.cause is Cause.ONE_OFF)
    return [f"`{line}` stands above the calendar" for line in lines]


def _why_dark(circuit: Circuit, year: CircuitYear, zone: Zone, instant: Instant) -> list[str]:
    notes = _decided(circuit, year, zone, instant)
    for stretch in year.dark:
        if stretch.start <= instant < stretch.end:
            notes.append(
                f"Kept dark from {exact_moment_words(zone, stretch.start)} until "
                f"{exact_moment_words(zone, stretch.end)}: `{stretch.reason.line}`"
            )
    for start, end in year.dropped:
        if start <= instant < end:
            shortest = length_words(circuit.shortest_on_seconds)
            notes.append(
                f"Lit from {exact_clock_words(zone, start)} until {exact_clock_words(zone, end)} "
                f"would be shorter than shortest_on ({shortest}), so it is left out"
            )
    return notes


def _decided(circuit: Circuit, year: CircuitYear, zone: Zone, instant: Instant) -> list[str]:
    """The lines of the halves whose windows can reach this instant, and their empty windows."""
    shown = zone.local(instant)
    day = shown.date()
    halves = [(day, Half.MORNING if shown.hour < 12 else Half.EVENING)]
    if shown.hour < 12:
        halves.insert(0, (day - ONE_DAY, Half.EVENING))
    notes = [_sentence(t) for half in halves for t in deciding_lines(circuit, year, *half)]
    notes += [
        _sentence(empty_window_words(w))
        for w in year.empty
        if any(w.day == d and w.half in (None, half) for d, half in halves)
    ]
    return notes


def why_text(zone: Zone, asked: Sequence[Asked]) -> str:
    """The answer for a terminal: one paragraph a circuit, at most 80 columns wide."""
    blocks = []
    for answer in asked:
        blocks.append(_heading(zone, answer))
        blocks += [_paragraph(zone, standing) for standing in answer.circuits]
    return "\n\n".join(blocks) + "\n"


def _heading(zone: Zone, answer: Asked) -> str:
    text = exact_moment_words(zone, answer.instant)
    if answer.pass_number is not None:
        text += (
            f", pass {answer.pass_number} of 2: the clock shows this time twice "
            f"({utc_text(answer.instant)})"
        )
    if answer.special:
        text += f" ({', '.join(answer.special)})"
    return wrapped(text)


def _paragraph(zone: Zone, standing: Standing) -> str:
    state = "lit" if standing.lit else "dark"
    lines = [wrapped(f"{standing.circuit}: {state}.")]
    lines.append(wrapped(_end_words(zone, "Since", standing.since), "  ", "    "))
    lines.append(wrapped(_end_words(zone, "Until", standing.until), "  ", "    "))
    lines += [wrapped(f"{note}.", "  ", "    ") for note in standing.notes]
    return "\n".join(lines)


def _end_words(zone: Zone, which: str, switching: Switching | None) -> str:
    if switching is None:
        side = "before" if which == "Since" else "after"
        return f"{which}: no switching {side} this within the dates looked at."
    reason = reason_words(zone, switching.reason, exact_clock_words(zone, switching.instant))
    return f"{which} {exact_moment_words(zone, switching.instant)}, {reason}."


def _sentence(text: str) -> str:
    return text[0].upper() + text[1:]


def why_records(zone: Zone, asked: Sequence[Asked]) -> list[dict[str, object]]:
    """The same answer as plain records for JSON."""
    return [
        {
            "at": instant_record(zone, answer.instant),
            "pass": answer.pass_number,
            "holidays": list(answer.special),
            "circuits": [
                {
                    "circuit": s.circuit,
                    "lit": s.lit,
                    "since": _switching(zone, s.since),
                    "until": _switching(zone, s.until),
                    "notes": list(s.notes),
                }
                for s in answer.circuits
            ],
        }
        for answer in asked
    ]


def _switching(zone: Zone, switching: Switching | None) -> dict[str, object] | None:
    if switching is None:
        return None
    return switching_record(zone, switching.instant, switching.action, switching.reason)
