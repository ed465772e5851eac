"""calendar.ics: what people have to do and to look at, for any calendar program (RFC 5545)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import UTC, datetime

from icalendar import Calendar, Event

from schedcomp.calendar_entries import CalendarEntry, Expiry, calendar_entries
from schedcomp.compiled import Compiled
from schedcomp.model import ONE_DAY
from schedcomp.site import Site

PRODUCT = "-//schedcomp//lighting calendar//EN"
UID_DOMAIN = "schedcomp.invalid"
"""A domain that nobody can own (RFC 2606)."""


def calendar_ics(compiled: Compiled, expiries: Iterable[Expiry] = ()) -> bytes:
    """The whole file; the same input gives the same bytes, as no clock is read."""
    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("name", compiled.site.name)  # RFC 7986
    stamp = datetime.fromtimestamp(compiled.year.start, UTC)
    for entry in calendar_entries(compiled, expiries):
        calendar.add_component(_event(compiled.site, entry, stamp))
    written: bytes = calendar.to_ical()
    return written


def _event(site: Site, entry: CalendarEntry, stamp: datetime) -> Event:
    """An event of whole dates that leaves people free; its end is the date after the last."""
    event = Event()
    event.add("uid", _uid(site, entry))
    event.add("dtstamp", stamp)
    event.add("dtstart", entry.first)
    event.add("dtend", entry.last + ONE_DAY)
    event.add("summary", entry.summary)
    event.add("description", entry.text)
    event.add("location", site.name)
    event.add("categories", [entry.kind])
    event.add("transp", "TRANSPARENT")
    return event


def _uid(site: Site, entry: CalendarEntry) -> str:
    """From the content, so that a file read in twice gives no entry twice."""
    parts = (site.name, entry.kind, entry.first.isoformat(), entry.summary)
    digest = hashlib.sha256("\n".join(parts).encode()).hexdigest()
    return f"{digest[:32]}@{UID_DOMAIN}"
