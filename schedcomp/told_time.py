"""Times as people are told them: in 24 hours, or in halves of the day where a site asks for it.

All wording of clock times stands here. Files that are read by programs, and what is keyed into a
unit, do not go by it.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from schedcomp.clock import ClockChange, Zone
from schedcomp.model import MINUTE, Instant
from schedcomp.words import date_words

_CLOCK = re.compile(
    r"(?<![\d:])([01]?\d|2[0-4]):([0-5]\d)(?!\d|:\d|\u00a0|\s?[ap]\.?\s?m\b)", re.IGNORECASE
)
"""A time in 24 hours: none that already has its half of the day behind it."""


def twenty_four(minutes: int) -> str:
    """`23:05`; `minutes` are those after 00:00."""
    return f"{minutes // 60 % 24:02d}:{minutes % 60:02d}"


def twelve_hour(minutes: int, seconds: int = 0) -> str:
    """`11:05 PM`; noon and midnight in words, as 12:00 AM and PM are read both ways."""
    hour, minute = minutes // 60 % 24, minutes % 60
    if not minute and not seconds and hour in (0, 12):
        return "12:00\u00a0noon" if hour else "12:00\u00a0midnight"
    half = "PM" if hour >= 12 else "AM"
    return f"{(hour + 11) % 12 + 1}:{minute:02d}{_seconds(seconds)}\u00a0{half}"


def both(minutes: int) -> str:
    """`23:00 (11:00 PM)`."""
    return f"{twenty_four(minutes)} ({twelve_hour(minutes)})"


def in_halves(text: str) -> str:
    """A text with its clock times as `twelve_hour` has them; those that are so already stay."""
    return _CLOCK.sub(lambda found: twelve_hour(60 * int(found[1]) + int(found[2])), text)


def reading_words(zone: Zone, minutes: int) -> str:
    """A reading of the clock of a place, in minutes after 00:00."""
    return twelve_hour(minutes) if zone.twelve else twenty_four(minutes)


def phrase_words(zone: Zone, text: str) -> str:
    """A phrase with its clock times as people at a place are told them."""
    return in_halves(text) if zone.twelve else text


def keyed_words(zone: Zone, text: str) -> str:
    """A line to be keyed: `OFF 22:00 (10:00 PM)` where people are told halves of the day."""
    if not zone.twelve:
        return text
    return _CLOCK.sub(lambda found: both(60 * int(found[1]) + int(found[2])), text)


def clock_words(zone: Zone, instant: Instant) -> str:
    """What the local clock shows, to the nearest minute."""
    shown = _nearest_minute(zone, instant)
    return reading_words(zone, shown.hour * 60 + shown.minute)


def exact_clock_words(zone: Zone, instant: Instant) -> str:
    """What the local clock shows, with seconds where there are any."""
    shown = zone.local(instant)
    minutes = shown.hour * 60 + shown.minute
    if zone.twelve:
        return twelve_hour(minutes, shown.second)
    return twenty_four(minutes) + _seconds(shown.second)


def moment_words(zone: Zone, instant: Instant) -> str:
    """`Fri 3 Dec 2027, 17:02`, to the nearest minute."""
    day = _nearest_minute(zone, instant).date()
    return f"{date_words(day)}, {clock_words(zone, instant)}"


def exact_moment_words(zone: Zone, instant: Instant) -> str:
    """`Fri 3 Dec 2027, 17:02:30`, with seconds where there are any."""
    return f"{date_words(zone.local_date(instant))}, {exact_clock_words(zone, instant)}"


def clock_change_words(zone: Zone, change: ClockChange) -> str:
    """`Sun 14 Mar 2027 02:00 goes forward to 03:00`, with the date after it where it is another."""
    before = zone.local(change.instant - 1) + timedelta(seconds=1)
    after = zone.local(change.instant)
    way = "forward" if change.skipped > 0 else "back"
    to = exact_clock_words(zone, change.instant)
    if after.date() != before.date():
        to = f"{date_words(after.date())} {to}"
    reading = reading_words(zone, before.hour * 60 + before.minute)
    return f"{date_words(before.date())} {reading} goes {way} to {to}"


def _nearest_minute(zone: Zone, instant: Instant) -> datetime:
    return zone.local((instant + MINUTE // 2) // MINUTE * MINUTE)


def _seconds(seconds: int) -> str:
    return f":{seconds:02d}" if seconds else ""
