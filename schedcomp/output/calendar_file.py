"""calendar.ics: what people have to do and to look at, for any calendar program (RFC 5545)."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime

from schedcomp.calendar_entries import CalendarEntry, Expiry, calendar_entries, expiries_of
from schedcomp.compiled import Compiled
from schedcomp.model import ONE_DAY
from schedcomp.site import Site

PRODUCT = "-//schedcomp//lighting calendar//EN"
UID_DOMAIN = "schedcomp.invalid"
"""A domain that nobody can own (RFC 2606)."""
_LONGEST_LINE_BYTES = 74
_BREAKS = re.compile(r"[\r\n]+")
# RFC 5545, 3.3.11; the backslash first.
_ESCAPED = (
    ("\\", r"\\"),
    (";", r"\;"),
    (",", r"\,"),
    *((line_break, r"\n") for line_break in ("\r\n", "\n", "\r")),
)


def calendar_ics(compiled: Compiled, more: Iterable[Expiry] = ()) -> bytes:
    """The whole file; the same input gives the same bytes, as no clock is read.

    `more` are expiries beside those of the rules.
    """
    site = compiled.site
    stamp = datetime.fromtimestamp(compiled.year.start, UTC)
    entries = calendar_entries(compiled, (*expiries_of(compiled), *more))
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        f"PRODID:{PRODUCT}",
        "CALSCALE:GREGORIAN",
        f"NAME:{_BREAKS.sub(' ', site.name)}",  # RFC 7986; readers take it as it stands
        *(line for entry in entries for line in _event(site, entry, stamp)),
        "END:VCALENDAR",
    ]
    return b"".join(_folded(line) for line in lines)


def _event(site: Site, entry: CalendarEntry, stamp: datetime) -> Iterator[str]:
    """An event of whole dates that leaves people free; its end is the date after the last."""
    yield "BEGIN:VEVENT"
    yield f"SUMMARY:{_text(entry.summary)}"
    yield f"DTSTART;VALUE=DATE:{entry.first:%Y%m%d}"
    yield f"DTEND;VALUE=DATE:{entry.last + ONE_DAY:%Y%m%d}"
    yield f"DTSTAMP:{stamp:%Y%m%dT%H%M%SZ}"
    yield f"UID:{_uid(site, entry)}"
    yield f"CATEGORIES:{_text(entry.kind)}"
    yield f"DESCRIPTION:{_text(entry.text)}"
    yield f"LOCATION:{_text(site.name)}"
    yield "TRANSP:TRANSPARENT"
    yield "END:VEVENT"


def _text(text: str) -> str:
    for plain, escaped in _ESCAPED:
        text = text.replace(plain, escaped)
    return text


def _folded(line: str) -> bytes:
    """A content line with its line break, folded between characters and outside of escapes."""
    rest = line.encode()
    parts = []
    while len(rest) > _LONGEST_LINE_BYTES:
        cut = _LONGEST_LINE_BYTES
        while rest[cut] & 0b1100_0000 == 0b1000_0000:  # within a character of several bytes
            cut -= 1
        if rest[cut - 1 : cut] in (b"\\", b"^"):
            cut -= 1
        parts.append(rest[:cut])
        rest = rest[cut:]
    return b"\r\n ".join((*parts, rest)) + b"\r\n"


def _uid(site: Site, entry: CalendarEntry) -> str:
    """From the content, so that a file read in twice gives no entry twice."""
    parts = (site.name, entry.kind, entry.first.isoformat(), entry.summary)
    digest = hashlib.sha256("\n".join(parts).encode()).hexdigest()
    return f"{digest[:32]}@{UID_DOMAIN}"
