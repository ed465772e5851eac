"""Three promises for a new site file, chosen so that they say something and are true."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import date

from schedcomp.clock import Zone
from schedcomp.days import dates_of
from schedcomp.diag import PhraseText, Source, SourceRange
from schedcomp.expand import expand
from schedcomp.model import HOUR, MINUTE, MONTHS, ONE_DAY, WEEKDAYS, Instant, Period
from schedcomp.phrases import parse_promise
from schedcomp.phrases.tree import PromiseLine
from schedcomp.promises import promise_instants
from schedcomp.records import Record
from schedcomp.site import Site
from schedcomp.world import World, read_world
from schedcomp.year import CircuitYear, Span

MARGIN_SECONDS = 20 * MINUTE
"""A program may be some minutes off; a promise so near a switching would be broken by that."""
_EVENING_FROM_SECONDS = 10 * HOUR
_EVENINGS = (2, 3, 1, 0, 4, 5, 6)
"""Weekdays from the middle of the week on; Monday is 0."""
_NIGHT_MINUTES = (120, 180, 60, 30, 23 * 60 + 30, 240, 12 * 60)
"""Readings at which most lamps are dark, the most telling first."""


class _Known(Record):
    """The exact year of the first circuit."""

    site: Site
    world: World
    lit: CircuitYear
    starts: tuple[Instant, ...]

    def is_lit(self, instant: Instant) -> bool:
        place = bisect_right(self.starts, instant) - 1
        return place >= 0 and instant < self.lit.spans[place].end

    @property
    def zone(self) -> Zone:
        return self.world.zone


def promises_for(site: Site, period: Period) -> tuple[str, ...]:
    """Up to three lines for the first circuit: an evening lit, a dark hour, a closed day dark.

    Each holds in the whole period by a margin. Fewer where nothing of the kind is true.
    """
    world, _ = read_world(site, period)
    if world is None or not site.circuits:
        return ()
    lit = expand(site, world).circuit(site.circuits[0].name)
    known = _Known(site, world, lit, tuple(span.start for span in lit.spans))
    chosen: list[str] = []
    for candidates in (
        _winter_evening(known),
        _dark_hour(),
        _closed_day(known),
        _summer_evening(known),
        _dark_hour(),
        _noon(),
    ):
        line = next((c for c in candidates if c not in chosen and _holds(known, c)), None)
        if line is not None:
            chosen.append(line)
    return tuple(chosen[:3])


def _winter_evening(known: _Known) -> Iterator[str]:
    """The middle of the light on an evening of the dark season."""
    south = known.site.latitude_degrees < 0
    for month in (6, 7, 4, 9) if south else (12, 1, 10, 3):
        yield from _evenings(known, month)


def _summer_evening(known: _Known) -> Iterator[str]:
    south = known.site.latitude_degrees < 0
    yield from _evenings(known, 12 if south else 6)


def _evenings(known: _Known, month: int) -> Iterator[str]:
    for weekday in _EVENINGS:
        phrase = f"first {WEEKDAYS[weekday]} of {MONTHS[month - 1]}"
        for day in _named(known, phrase):
            for span in _begun_on(known, day):
                yield f"{phrase} {_reading(known.zone, span)}: lit"


def _named(known: _Known, phrase: str) -> list[date]:
    line = _parsed(f"{phrase} 12:00: lit")
    return [] if line is None else sorted(_dates(known, line))


def _begun_on(known: _Known, day: date) -> list[Span]:
    """Long enough light that begins on the evening of a date; in polar night that is at noon."""
    begin = known.zone.first_pass(day, _EVENING_FROM_SECONDS)
    end = known.zone.first_pass(day + ONE_DAY, 0)
    return [
        s
        for s in known.lit.spans
        if begin <= s.start < end and s.end - s.start > 2 * MARGIN_SECONDS
    ]


def _reading(zone: Zone, span: Span) -> str:
    """The middle of the light before midnight, to five minutes."""
    midnight = zone.first_pass(zone.local_date(span.start) + ONE_DAY, 0)
    middle = (span.start + min(span.end, midnight)) // 2
    shown = zone.local(middle // (5 * MINUTE) * (5 * MINUTE))
    return shown.strftime("%H:%M")


def _dark_hour() -> Iterator[str]:
    """A time of every night at which the lamps are dark."""
    for minutes in _NIGHT_MINUTES:
        yield f"every day {minutes // 60:02d}:{minutes % 60:02d}: dark"


def _closed_day(known: _Known) -> Iterator[str]:
    """The evening of a holiday, or of a weekday on which the place is closed."""
    names = [h.name.split(";")[0].strip() for h in known.world.holidays.within(known.world.period)]
    for name in dict.fromkeys(names):
        yield f"holiday {name} 20:00: dark"
    for weekday in (6, 5):
        yield f"{WEEKDAYS[weekday]} 20:00: dark"


def _noon() -> Iterable[str]:
    return ("every day 12:00: dark", "every day 13:00: dark", "every day 11:00: dark")


# Whether a line is true


def _holds(known: _Known, text: str) -> bool:
    """On every date it names, and by a margin on both sides."""
    line = _parsed(text)
    if line is None:
        return False
    days = sorted(_dates(known, line))
    instants = promise_instants(line, known.zone, days)
    wanted = text.endswith(": lit")
    return bool(instants) and all(
        known.is_lit(instant + margin) == wanted
        for instant in instants
        for margin in (-MARGIN_SECONDS, 0, MARGIN_SECONDS)
    )


def _dates(known: _Known, line: PromiseLine) -> frozenset[date]:
    days = known.world.period.dates()
    return dates_of(line.dates.dates, days, known.world.holidays)


def _parsed(text: str) -> PromiseLine | None:
    source = Source("promise", text)
    line, _ = parse_promise(PhraseText(text, SourceRange(source, 0, len(text))))
    return line
