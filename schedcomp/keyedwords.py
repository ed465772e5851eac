"""What a slot holds, as a line of a list of slots has it behind the number of the slot."""

from __future__ import annotations

from collections.abc import Iterable

from schedcomp.model import WEEKDAYS
from schedcomp.output.events import clock_text, range_texts
from schedcomp.program import (
    EVERY_WEEKDAY,
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    SpecialDays,
    Start,
)

Entry = Event | SpecialDays


def content_words(entry: Entry) -> str:
    """`OFF 23:00 sun mon from 11-20 through 01-06 channel 1`."""
    if isinstance(entry, SpecialDays):
        first, last = range_texts(entry.dates)
        dates = first if first == last else f"{first} through {last}"
        plan = PLAIN_DARK if entry.plan == PLAIN_DARK else f"plan {entry.plan}"
        return f"{dates} {plan} {_channels(entry.channels)}"
    days = f"plan {entry.plan}" if entry.plan else _days(entry.weekdays, entry.dates)
    words = (entry.action.value.upper(), _start(entry.start), days, _channels(entry.channels))
    return " ".join(words)


def contents_words(entries: Iterable[Entry]) -> str:
    """All that stands in one slot; `empty` for nothing."""
    return " and ".join(content_words(entry) for entry in entries) or "empty"


def _start(start: Start) -> str:
    if isinstance(start, ClockStart):
        return clock_text(start.minutes)
    return f"{start.word}{start.offset_minutes:+d}" if start.offset_minutes else start.word


def _days(weekdays: frozenset[int], dates: EventDates | None) -> str:
    days = " ".join(WEEKDAYS[day] for day in sorted(weekdays))
    told = "daily" if weekdays == EVERY_WEEKDAY else days
    first, last = range_texts(dates)
    return f"{told} from {first} through {last}" if first else told


def _channels(channels: tuple[int, ...]) -> str:
    name = "channel" if len(channels) == 1 else "channels"
    return f"{name} {' '.join(map(str, channels))}"
