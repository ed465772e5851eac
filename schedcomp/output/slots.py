"""What a slot holds, in one line as one would key it."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.fit.purpose import start_words
from schedcomp.model import WEEKDAYS
from schedcomp.output.events import range_texts
from schedcomp.program import EVERY_WEEKDAY, PLAIN_DARK, Event, SpecialDays
from schedcomp.renewal import SPECIAL_DAYS, Content, SlotChange


def content_words(content: Content) -> str:
    """`OFF 22:15 mon tue wed, 12-24 through 11-25`; "" for an empty slot."""
    return " / ".join(
        _event_words(entry) if isinstance(entry, Event) else _days_words(entry) for entry in content
    )


def slot_words(change: SlotChange) -> str:
    """`slot 3`, `slot 3 of channel 2`, `special days 1`."""
    if change.listed == SPECIAL_DAYS:
        return f"special days {change.slot}"
    of = f" of channel {_channels(change.channels)}" if change.channels else ""
    return f"slot {change.slot}{of}"


def _event_words(event: Event) -> str:
    words = f"{event.action.value.upper()} {start_words(event.start)}"
    if event.plan:
        words += f", in plan {event.plan}"
    else:
        words += f" {_weekdays(event.weekdays)}{_dates(range_texts(event.dates))}"
    return f"{words}, channel {_channels(event.channels)}"


def _days_words(days: SpecialDays) -> str:
    first, last = range_texts(days.dates)
    dates = first if first == last else f"{first} through {last}"
    plan = "just off" if days.plan == PLAIN_DARK else f"plan {days.plan}"
    return f"{dates}: {plan}, channel {_channels(days.channels)}"


def _weekdays(weekdays: frozenset[int]) -> str:
    if weekdays == EVERY_WEEKDAY:
        return "every day"
    return " ".join(WEEKDAYS[day] for day in sorted(weekdays))


def _dates(ends: tuple[str, str]) -> str:
    first, last = ends
    return f", {first} through {last}" if first else ""


def _channels(channels: Sequence[int]) -> str:
    return "+".join(str(channel) for channel in channels)
