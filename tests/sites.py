"""Sites for tests, written as a site file, and days read back as one readable line.

A day reads `dusk 21:58 on, 23:00 off`: the word of the sun, keep-dark or single night that set the
switching, the reading of the clock cut to the minute, what happens. `lit` in front: the lamps are
lit when the day begins. A weekday in front of a reading: it is not on the clock date asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from functools import lru_cache

from schedcomp.diag import Diagnostic, Source, has_problem
from schedcomp.model import MINUTE, ONE_DAY, WEEKDAYS, Action, Instant, Period
from schedcomp.output.table import table_csv
from schedcomp.phrases.tree import SunWord
from schedcomp.pipeline import read_year
from schedcomp.records import Record
from schedcomp.site import Site
from schedcomp.sitefile import site_from_source
from schedcomp.world import World
from schedcomp.year import Cause, CircuitYear, Reason, Year


class Place(Record):
    latitude: float
    longitude: float
    timezone: str


DENVER = Place(39.7392, -104.9903, "America/Denver")
NEW_YORK = Place(40.7128, -74.006, "America/New_York")
FAIRBANKS = Place(64.90127, -147.87482, "America/Anchorage")
ANCHORAGE = Place(61.2181, -149.9003, "America/Anchorage")
TROMSO = Place(69.6489, 18.9551, "Europe/Oslo")
UMEA = Place(63.8258, 20.2630, "Europe/Stockholm")
CAIRO = Place(30.0444, 31.2357, "Africa/Cairo")
HAVANA = Place(23.1136, -82.3666, "America/Havana")
SANTIAGO = Place(-33.4489, -70.6693, "America/Santiago")
AZORES = Place(37.7412, -25.6756, "Atlantic/Azores")
LORD_HOWE = Place(-31.5553, 159.0821, "Australia/Lord_Howe")
TROLL = Place(-72.0117, 2.535, "Antarctica/Troll")
VANCOUVER = Place(49.2827, -123.1207, "America/Vancouver")
DUBLIN = Place(53.3498, -6.2603, "Europe/Dublin")


def site_text(
    place: Place,
    windows: Sequence[str] = (),
    *,
    calendar: Sequence[str] = ("every day: usual",),
    site: str = "",
    hours: str = "",
    types: str = "",
    circuit: str = "",
    more: str = "",
) -> str:
    """A site file with one circuit, `Lot`, and day type `usual` of these windows.

    `site`, `hours`, `types` and `circuit` are further lines of those parts, `more` further parts.
    """
    usual = f"usual = {_listed(windows)}\n" if windows else ""
    opening = f"[hours]\n{hours}\n" if hours else ""
    return f"""\
schedcomp = 1
[site]
name = "Test lot"
latitude = {place.latitude}
longitude = {place.longitude}
timezone = "{place.timezone}"
controller = "sun-yearly-64"
{site}
{opening}
[day_types]
{usual}{types}
[[circuit]]
name = "Lot"
channel = 1
photocell = "none"
override_minutes = 0
calendar = {_listed(calendar)}
{circuit}
{more}
"""


def _listed(texts: Iterable[str]) -> str:
    return "[" + ", ".join(f"'{text}'" if '"' in text else f'"{text}"' for text in texts) + "]"


class Exact(Record):
    """A site with its exact year."""

    site: Site
    world: World
    year: Year
    findings: tuple[Diagnostic, ...]

    def circuit(self, name: str = "Lot") -> CircuitYear:
        return self.year.circuit(name)

    def day(self, day: str, circuit: str = "Lot") -> str:
        """What happens between 00:00 and 24:00 of a date on the clock."""
        zone, wanted = self.world.zone, date.fromisoformat(day)
        start, end = zone.first_pass(wanted, 0), zone.first_pass(wanted + ONE_DAY, 0)
        told = [
            self.told(s.instant, s.action, s.reason, wanted)
            for s in self.circuit(circuit).switchings()
            if start <= s.instant < end
        ]
        lit = any(s.start < start < s.end for s in self.circuit(circuit).spans)
        return ", ".join((["lit"] if lit else []) + told) or "dark"

    def asked(self, day: str, circuit: str = "Lot") -> str:
        """The spans that begin with a window, keep-dark or single night of a date."""
        wanted = date.fromisoformat(day)
        told = [
            f"{self.told(s.start, Action.ON, s.start_reason, wanted)}, "
            f"{self.told(s.end, Action.OFF, s.end_reason, wanted)}"
            for s in self.circuit(circuit).spans
            if s.start_reason.date == wanted
        ]
        return ", ".join(told) or "dark"

    def empty(self, day: str, circuit: str = "Lot") -> list[str]:
        """Why windows of a date light nothing."""
        wanted = date.fromisoformat(day)
        return [w.why for w in self.circuit(circuit).empty if w.day == wanted]

    def at(self, text: str) -> Instant:
        """The instant of `2027-03-14 02:30` on the clock, first pass."""
        day, reading = text.split()
        hours, minutes = reading.split(":")
        minute = int(hours) * 60 + int(minutes)
        return self.world.zone.first_pass(date.fromisoformat(day), minute * MINUTE)

    def table(self) -> list[dict[str, str]]:
        """The rows of table.csv."""
        return rows_of(table_csv(self.year, self.world.zone))

    def codes(self) -> list[str]:
        return [finding.code for finding in self.findings]

    def found(self, code: str) -> list[str]:
        """Title and why of every finding with a code."""
        return [f"{f.title} | {f.why}" for f in self.findings if f.code == code]

    def told(self, instant: Instant, action: Action, reason: Reason, wanted: date) -> str:
        zone = self.world.zone
        shown = zone.local(instant)
        words = [_word(reason)]
        if shown.date() != wanted:
            words.append(WEEKDAYS[shown.weekday()].title())
        words.append(shown.strftime("%H:%M"))
        seconds = (shown.hour * 60 + shown.minute) * MINUTE
        if zone.is_repeated(shown.date(), seconds):
            first = instant < zone.last_pass(shown.date(), seconds)
            words.append("first pass" if first else "second pass")
        words.append(action.value)
        return " ".join(word for word in words if word)


def _word(reason: Reason) -> str:
    if reason.cause is not Cause.WINDOW:
        return str(reason.cause.value)
    first = reason.phrase.split()[0]
    return first if first in {word.value for word in SunWord} else ""


def rows_of(content: bytes) -> list[dict[str, str]]:
    """The rows of a CSV file as a program would read them."""
    import csv
    import io

    return list(csv.DictReader(io.StringIO(content.decode("utf-8"))))


def read(text: str) -> tuple[Site | None, tuple[Diagnostic, ...]]:
    """The site of a file's text."""
    return site_from_source(Source("site.toml", text))


@lru_cache(maxsize=64)
def exact(text: str, first: str, last: str) -> Exact:
    """The exact year of a site file, which must have no problem, from one date through another."""
    site, found = read(text)
    assert site is not None, [f.title for f in found]
    period = Period(date.fromisoformat(first), date.fromisoformat(last))
    answer, more = read_year(site, period)
    assert answer is not None, [f.title for f in more]
    assert not has_problem((*found, *more))
    return Exact(site, *answer, (*found, *more))


def seconds_lit(circuit: CircuitYear, start: Instant, end: Instant) -> int:
    """Seconds a circuit is lit between two instants."""
    return sum(max(0, min(s.end, end) - max(s.start, start)) for s in circuit.spans)
