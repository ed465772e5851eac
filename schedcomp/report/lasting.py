"""How long a program stays right, and what one missed event would do, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from schedcomp.audit_report import Mishaps, MissedEvent
from schedcomp.clock import Zone
from schedcomp.compiled import Compiled
from schedcomp.model import Action
from schedcomp.records import Record
from schedcomp.told_time import clock_words
from schedcomp.words import date_words, length_words

if TYPE_CHECKING:
    from schedcomp.later import GoodUntil


class Told(Record):
    """A sentence and its short form."""

    text: str
    brief: str


def good_until_words(good: GoodUntil) -> Told:
    """The last right date and what happens then, or how far no error was found."""
    more = "; some holidays of later years are estimates" if good.estimated else ""
    if good.wrong is None:
        seen = good.looked_through
        through = f"{seen.year}" if (seen.month, seen.day) == (12, 31) else date_words(seen)
        text = f"no error found through {through}"
        halted = f"; nothing later was looked at: {good.halted}" if good.halted else ""
        return Told(text + halted + more, text)
    wrong = good.wrong
    last = date_words(good.last)
    lamps = f"the lamps of {wrong.circuit}" if wrong.circuit else "the lamps"
    return Told(
        f"{last}: then {lamps} {wrong.what} ({wrong.cause}){more}",
        f"{last}: then lamps {wrong.what}",
    )


def missed_words(compiled: Compiled) -> Told | None:
    """The worst single event to miss, and what it was without the safety repeats.

    None where this was not looked for, or no missed event would do harm.
    """
    worst = _worst(compiled.mishaps)
    if worst is None:
        return None
    zone = compiled.world.zone
    day = date_words(zone.local_date(worst.at))
    slot = f"slot {worst.slot}"
    if compiled.controller.slots_are == "per channel":
        slot += f" of channel {worst.channel}"
    event = f"{clock_words(zone, worst.at)} {worst.action.value.upper()} ({slot})"
    brief = text = f"the {event} on {day}: {_consequence(worst)}"
    before = _worst(compiled.mishaps_before)
    if before is not None and before.seconds > worst.seconds:
        text += f"; before the repeats: {_before(before, worst, zone)}"
    return Told(text, brief)


def _worst(mishaps: Mishaps | None) -> MissedEvent | None:
    """The longest of all; of equal ones that which leaves lamps burning."""
    if mishaps is None:
        return None
    found = [mishaps.worst_missed(action) for action in (Action.OFF, Action.ON)]
    return max((m for m in found if m is not None), key=lambda m: m.seconds, default=None)


def _consequence(missed: MissedEvent) -> str:
    what = "burn" if missed.action is Action.OFF else "stay dark"
    return f"lamps {what} {length_words(missed.seconds)}"


def _before(before: MissedEvent, worst: MissedEvent, zone: Zone) -> str:
    length = length_words(before.seconds)
    if before.action is worst.action:
        return length
    event = f"{clock_words(zone, before.at)} {before.action.value.upper()}"
    return f"{_consequence(before)} without the {event}"
