"""What one part of a site file says about another: names, dates and words that must exist."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from schedcomp.country_choice import country_of
from schedcomp.date_rules import parts_of
from schedcomp.diag import Diagnostic, SourceRange
from schedcomp.messages import calendar as calendar_messages
from schedcomp.messages import meaning
from schedcomp.messages.kind import Kind
from schedcomp.near import near_words, quoted
from schedcomp.phrases.tree import (
    CalendarLine,
    DatesPhrase,
    HolidayNamed,
    Holidays,
    HoursMoment,
    HoursWord,
    Moment,
    Pair,
    Window,
)
from schedcomp.site import DARK, Circuit, DayType, Hours, OneOff
from schedcomp.sitefile.circuits import UNNAMED, same_name
from schedcomp.tomlhints import typed_line
from schedcomp.words import join_and

SHOWN_PLACES = 3

_STAFF_KEYS = {HoursWord.ARRIVE: "staff_before", HoursWord.LEAVE: "staff_after"}


def circuit_names(circuits: Sequence[Circuit]) -> Iterator[Diagnostic]:
    """Circuits of one name, or on one channel."""
    names: dict[str, Circuit] = {}
    channels: dict[int, Circuit] = {}
    for circuit in circuits:
        if circuit.name != UNNAMED:
            first = names.setdefault(circuit.name.casefold(), circuit)
            if first is not circuit:
                yield same_name(circuit.at, first.at, "circuits", circuit.name, "name")
        if circuit.channel:
            first = channels.setdefault(circuit.channel, circuit)
            if first is not circuit:
                yield _same_channel(circuit, first, circuits)


def _same_channel(circuit: Circuit, first: Circuit, circuits: Sequence[Circuit]) -> Diagnostic:
    used = {c.channel for c in circuits}
    free = next(number for number in range(1, len(used) + 2) if number not in used)
    also = (("The first of the two", first.at),) if first.at else ()
    return meaning.SAME_CHANNEL.at(
        circuit.at,
        also=also,
        channel=circuit.channel,
        first=quoted(first.name),
        second=quoted(circuit.name),
        free=free,
    )


def day_type_names(
    circuits: Sequence[Circuit], day_types: Sequence[DayType], all_known: bool
) -> Iterator[Diagnostic]:
    """Calendar lines that name a day type there is not; nothing if not all types are known."""
    known = [t.name for t in day_types]
    for circuit in circuits:
        for line in circuit.calendar:
            if line.day_type not in (*known, DARK) and all_known:
                yield _unknown_day_type(line, known)


def _unknown_day_type(line: CalendarLine, known: Sequence[str]) -> Diagnostic:
    name = quoted(line.day_type)
    near = near_words(line.day_type, (*known, DARK))
    if near:
        written = line.at.text if line.at else ""
        start = written.rpartition(line.day_type)[0]
        return meaning.NEAR_DAY_TYPE.at(
            line.type_at,
            name=name,
            near=near[0],
            typed=typed_line(f'"{start}{near[0]}"', f'"every day: {near[0]}"'),
        )
    shown = join_and([*known]) if known else "none"
    key = name if name.replace("_", "").replace("-", "").isalnum() else f'"{name}"'
    return meaning.UNKNOWN_DAY_TYPE.at(line.type_at, name=name, known=shown, quoted=key)


def one_off_circuits(
    one_offs: Sequence[OneOff], circuits: Sequence[Circuit]
) -> Iterator[Diagnostic]:
    """One-offs of circuits there are not."""
    names = [c.name for c in circuits]
    for one_off in one_offs:
        if names and one_off.circuit not in names and UNNAMED not in names:
            near = (*near_words(one_off.circuit, names), *names)[0]
            yield meaning.UNKNOWN_CIRCUIT.at(
                one_off.circuit_at, name=quoted(one_off.circuit), known=join_and(names), near=near
            )


def hours_words(
    windows: Sequence[Window], hours: Hours | None, staff_given: Sequence[str]
) -> Iterator[Diagnostic]:
    """Windows that use opening hours or staff times the file does not give.

    A moment with its own clock time (`close or 21:00`) has a meaning without.
    """
    moments = [
        moment
        for window in windows
        for moment in (*_members(window.start), *_members(window.end))
        if isinstance(moment, HoursMoment) and moment.fallback is None
    ]
    if hours is None:
        yield from _first_of(moments, meaning.HOURS_MISSING)
        return
    for word, key in _STAFF_KEYS.items():
        if key not in staff_given:
            of_word = [moment for moment in moments if moment.word is word]
            yield from _first_of(of_word, meaning.STAFF_MISSING, key)


def _first_of(moments: Sequence[HoursMoment], kind: Kind, key: str = "") -> Iterator[Diagnostic]:
    """One finding for all moments without a meaning, with the places of some more."""
    if moments:
        words = dict.fromkeys(moment.word.value for moment in moments)
        yield kind.at(
            moments[0].at,
            also=_others([moment.at for moment in moments]),
            word=" or ".join(words),
            key=key,
        )


def _others(places: Sequence[SourceRange | None]) -> tuple[tuple[str, SourceRange], ...]:
    return tuple(("Also here", place) for place in places[1:SHOWN_PLACES] if place is not None)


def _members(moment: Moment) -> tuple[Moment, ...]:
    return (moment.first, moment.second) if isinstance(moment, Pair) else (moment,)


def holiday_words(phrases: Sequence[DatesPhrase], zone_name: str) -> Iterator[Diagnostic]:
    """Dates that speak of holidays; for a file of this zone that has no holiday list."""
    places = [
        _place(part, phrase)
        for phrase in phrases
        for part in parts_of(phrase.dates)
        if isinstance(part, Holidays | HolidayNamed)
    ]
    if places:
        country = country_of(zone_name)
        yield calendar_messages.NO_HOLIDAY_LIST.at(places[0], also=_others(places), country=country)


def _place(part: object, phrase: DatesPhrase) -> SourceRange | None:
    return (part.at if isinstance(part, HolidayNamed) else None) or phrase.at
