"""The keys of a controller file, their choices, and the two that have a form of their own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType

from schedcomp.controller import SUNRISE_LEVEL_DEGREES, SunStart
from schedcomp.diag import PhraseText
from schedcomp.filekind import CONTROLLER_KEY
from schedcomp.messages import controllers as messages
from schedcomp.model import WEEKDAYS, Half
from schedcomp.near import near_words, quoted
from schedcomp.phrases.names import WEEKDAY_NUMBERS
from schedcomp.reading import Examples, Reader
from schedcomp.records import Record
from schedcomp.tomlnodes import Items
from schedcomp.words import join_and

FORMAT_KEY = CONTROLLER_KEY
FORMAT_VERSION = 1
NOT_KNOWN = "not known"

CONTROLLER: Examples = MappingProxyType(
    {
        FORMAT_KEY: "1",
        "name": '"lot clock"',
        "event_slots": "64",
        "slots_are": '"shared"',
        "slot_holds": '"one action"',
        "channels": "4",
        "step_minutes": "1",
        "starts_at": '["clock", "sunrise", "sunset"]',
        "offsets": '"per event"',
        "offset_step_minutes": "1",
        "offset_limit_minutes": "120",
        "weekdays": '"any set"',
        "weekday_set_costs": '"one slot"',
        "date_ranges": '"yearly"',
        "exceptions": '{ slots = 16, plan = "own events" }',
        "clock": '"local"',
        "summer_time": '"rule"',
        "skipped_time": '"at the jump"',
        "repeated_time": '"once"',
        "sun_error_minutes": "2",
        "sun_error_degrees": "0.1",
        "sun_date": '"evening"',
        "no_sun_event": '"does not fire"',
        "location_entry": '"0.01 degree"',
        "clock_error_minutes": "2",
        "after_power_loss": '"works out the state"',
        "reserve_hours": "10",
        "override_ends": '"next event"',
        "event_covers": '"one channel"',
        "entry_order": '["clock", "location", "events"]',
    }
)

EXCEPTIONS: Examples = MappingProxyType(
    {
        "slots": "16",
        "length": '"range"',
        "plan": '"own events"',
        "start": '"keeps state"',
        "end": '"keeps state"',
        "with_year": "false",
        "covers": '"one channel"',
        "events_from": '"event_slots"',
        "plan_events": "8",
        "plans": "4",
    }
)

Choices = Mapping[str, tuple[str, ...]]

CHOICES: Choices = MappingProxyType(
    {
        "slots_are": ("shared", "per channel"),
        "slot_holds": ("one action", "an on and an off"),
        "offsets": ("per event", "per channel", "one for all"),
        "weekday_set_costs": ("one slot", "a slot per day"),
        "date_ranges": ("yearly", "yearly no wrap", "with year", "none"),
        "clock": ("local", "standard"),
        "summer_time": ("rule", "dates", "by hand", "none"),
        "skipped_time": ("at the jump", "lost"),
        "repeated_time": ("once", "twice"),
        "sun_date": ("fires on", "event on", "evening", NOT_KNOWN),
        "no_sun_event": ("does not fire", NOT_KNOWN),
        "location_entry": ("0.01 degree", "minute", "whole degree", "city list"),
        "after_power_loss": (
            "works out the state",
            "keeps the last state",
            "waits for the next event",
        ),
        "override_ends": ("next event", "after minutes", "by hand"),
        "event_covers": ("one channel", "any channels"),
    }
)

_STATES = ("keeps state", "off", "recalculates")
EXCEPTION_CHOICES: Choices = MappingProxyType(
    {
        "length": ("range", "single date"),
        "plan": ("own events", "off"),
        "start": _STATES,
        "end": _STATES,
        "covers": ("one channel", "all channels"),
        "events_from": ("event_slots", "plan_events"),
    }
)

# What each event can start at

_LEVELS = MappingProxyType({"civil": -6.0, "nautical": -12.0, "astronomical": -18.0})
_AT_LEVEL = re.compile(r"(dawn|dusk) at (\d{1,2}(?:\.\d{1,4})?) ?(?:deg|degrees?|°)")
_DEEPEST_DEGREES = 18.0
SUN_STARTS: Mapping[str, SunStart] = MappingProxyType(
    {
        start.word: start
        for start in (
            SunStart(word="sunrise", half=Half.MORNING, level_degrees=SUNRISE_LEVEL_DEGREES),
            SunStart(word="sunset", half=Half.EVENING, level_degrees=SUNRISE_LEVEL_DEGREES),
            *(
                SunStart(word=f"{depth} {side}", half=half, level_degrees=level)
                for depth, level in _LEVELS.items()
                for side, half in (("dawn", Half.MORNING), ("dusk", Half.EVENING))
            ),
        )
    }
)
_CLOCK = "clock"


class Starts(Record):
    """What the events of a controller can start at."""

    clock: bool
    sun: tuple[SunStart, ...]


def starts_of(reader: Reader) -> Starts | None:
    """`starts_at`; None where it is left out or wrong."""
    phrases = reader.phrases("starts_at")
    if phrases is None:
        return None
    starts: dict[str, SunStart | None] = {}
    for phrase in phrases:
        word, start = _start(reader, phrase, phrases)
        if word in starts:
            typed = _starts_text(_word(each) for each in phrases)
            reader.found.append(
                messages.START_TWICE.at(phrase.at, found=quoted(phrase.text), typed=typed)
            )
        if word is not None:
            starts[word] = start
    place = reader.place("starts_at")
    if not phrases and place is not None and not place.text.strip("[] \t\r\n"):
        reader.found.append(messages.NO_START.at(place))
    sun = tuple(start for start in starts.values() if start is not None)
    return Starts(_CLOCK in starts, sun)


def _start(
    reader: Reader, phrase: PhraseText, every: Sequence[PhraseText]
) -> tuple[str | None, SunStart | None]:
    word = _word(phrase)
    if word == _CLOCK:
        return word, None
    if word in SUN_STARTS:
        return word, SUN_STARTS[word]
    level = _AT_LEVEL.fullmatch(word)
    if level is not None and 0 < float(level[2]) <= _DEEPEST_DEGREES:
        named = f"{level[1]} at {float(level[2]):g} deg"
        half = Half.MORNING if level[1] == "dawn" else Half.EVENING
        return named, SunStart(word=named, half=half, level_degrees=-float(level[2]))
    near = near_words(word, (_CLOCK, *SUN_STARTS))
    half_of_sky = f"{word} at 4 deg" if word in ("dawn", "dusk") else "sunset"
    meant = (*near, half_of_sky)[0]
    reader.found.append(
        messages.UNCLEAR_START.at(
            phrase.at,
            found=quoted(phrase.text),
            near=f"The nearest is {near[0]}. " if near else "",
            known=join_and((_CLOCK, *SUN_STARTS)),
            example=_starts_text(meant if each is phrase else _word(each) for each in every),
        )
    )
    return None, None


def _word(phrase: PhraseText) -> str:
    return " ".join(phrase.text.split()).casefold()


def _starts_text(words: Iterable[str]) -> str:
    """A list of starts as it is written, each of them once."""
    return ", ".join(f'"{word}"' for word in dict.fromkeys(words))


# Weekday sets

_SINGLE_DAYS = tuple(frozenset({day}) for day in range(7))
_ALL_DAYS = frozenset(range(7))
_NAMED_SETS: Mapping[str, tuple[frozenset[int], ...] | None] = MappingProxyType(
    {
        "any set": None,
        "single days or all": (*_SINGLE_DAYS, _ALL_DAYS),
        "each day": (*_SINGLE_DAYS, _ALL_DAYS),
        "all only": (_ALL_DAYS,),
        "one day": _SINGLE_DAYS,
    }
)


def weekday_sets_of(reader: Reader) -> tuple[frozenset[int], ...] | None:
    """`weekdays`: the sets an event may have; None for any set."""
    entry = reader.entry("weekdays")
    if entry is None or not isinstance(entry.value, Items):
        choice = reader.choice("weekdays", tuple(_NAMED_SETS))
        return None if choice is None else _NAMED_SETS[choice]
    sets: dict[frozenset[int], None] = {}
    for phrase in reader.phrases("weekdays") or ():
        days = _weekday_set(phrase.text)
        if days is None:
            reader.found.append(messages.UNCLEAR_WEEKDAYS.at(phrase.at, found=quoted(phrase.text)))
        else:
            sets[days] = None
    if not entry.value.items:
        reader.found.append(messages.UNCLEAR_WEEKDAYS.at(entry.value.at, found="An empty list"))
    return tuple(sets)


def _weekday_set(text: str) -> frozenset[int] | None:
    """`mon-fri`, `sat, sun`, `all`; a range may wrap the end of the week."""
    if text.strip().casefold() in ("all", "every day"):
        return _ALL_DAYS
    days: set[int] = set()
    for part in text.casefold().split(","):
        first, dash, last = (word.strip() for word in part.partition("-"))
        if first not in WEEKDAY_NUMBERS or (dash and last not in WEEKDAY_NUMBERS):
            return None
        start = WEEKDAY_NUMBERS[first]
        length = (WEEKDAY_NUMBERS[last] - start) % len(WEEKDAYS) if dash else 0
        days |= {(start + i) % len(WEEKDAYS) for i in range(length + 1)}
    return frozenset(days)
