"""Dates, times, amounts and lists as people read them; the same in every language setting."""

from __future__ import annotations

import textwrap
from collections import defaultdict
from datetime import date

from schedcomp.clock import Zone, utc_text
from schedcomp.controller import Controller
from schedcomp.diag import WIDTH
from schedcomp.model import HOUR, MINUTE, Half, Instant
from schedcomp.program import Program
from schedcomp.told_time import phrase_words
from schedcomp.words import date_words, join_and
from schedcomp.year import Cause, Reason


def half_words(day: date, half: Half) -> str:
    """`the evening of Fri 3 Dec`."""
    side = "morning" if half is Half.MORNING else "evening"
    return f"the {side} of {date_words(day, year=False)}"


def instant_record(zone: Zone, instant: Instant | None) -> dict[str, object] | None:
    """An instant as a plain record: local date and time, and UTC."""
    if instant is None:
        return None
    shown = zone.local(instant)
    return {
        "date": shown.date().isoformat(),
        "time": shown.strftime("%H:%M:%S"),
        "utc": utc_text(instant),
    }


def minutes_words(seconds: int) -> str:
    """Whole minutes, rounded up: nothing is made to look smaller than it is."""
    return f"{-(-abs(seconds) // MINUTE)} min"


def amount_words(value: float) -> str:
    """A number as people need it: `22,118`, `4.2`, `0.45`."""
    if abs(value) >= 100:
        return f"{value:,.0f}"
    return f"{value:.1f}".removesuffix(".0") if abs(value) >= 1 else f"{value:.2g}"


def reason_words(zone: Zone, reason: Reason, shown_clock: str) -> str:
    """What a switching goes by and which line asked for it.

    `shown_clock` is the time already told, so that a plain clock wish is not told twice.
    """
    asked = f"because `{reason.line}`" if reason.line else ""
    phrase = phrase_words(zone, reason.phrase)
    phrase = "" if phrase == shown_clock else phrase
    if reason.cause is Cause.KEEP_DARK:
        asked = f"kept dark by `{reason.line}`"
    return ", ".join(part for part in (phrase, asked) if part)


def wrapped(text: str, first: str = "", rest: str | None = None) -> str:
    """Text of at most 80 columns; `first` and `rest` stand before its lines."""
    return textwrap.fill(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )


def hours_of(seconds: int) -> float:
    return round(seconds / HOUR, 2)


def used_words(program: Program, controller: Controller, *, briefly: bool) -> str:
    """The slots in use of those there are, for each channel where it has slots of its own."""
    has, stored = controller.event_slots, program.in_event_slots(controller)
    planned = program.slots_used - stored.slots_used
    more = f" and {planned} in special-day plans" if planned else ""
    if controller.slots_are == "shared":
        return f"uses {stored.slots_used} of {has}{more}"
    by_channel: dict[int, set[int]] = defaultdict(set)
    for event in stored.events:
        for channel in event.channels:
            by_channel[channel].add(event.slot)
    if briefly:
        most = max(map(len, by_channel.values()), default=0)
        return f"uses up to {most} of {has} on a channel{more}"
    each = [f"{len(slots)} of {has} on channel {n}" for n, slots in sorted(by_channel.items())]
    return f"uses {join_and(each) or 'none'}{more}"
