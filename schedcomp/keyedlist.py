"""Reading a list of slots as someone read it off a unit: strict, all mistakes at once.

line    = slot ("empty" | ACTION start days [channels])
        | "special" slot dates plan [channels]
start   = HH:MM | SUN WORD [("+" | "-") minutes ["min"]]
days    = ("daily" | weekdays) ["from" date "through" date] | "plan" name
dates   = date ["through" date]
plan    = "plan" name | "off"
channels = ("channel" | "channels") number {number}
name    = words and signs up to the channels or the end
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic, Source, in_order
from schedcomp.keyedtokens import Line, Piece, lines_of
from schedcomp.messages import keyed as messages
from schedcomp.messages.kind import Kind
from schedcomp.model import FIRST_YEAR, LAST_YEAR, Action
from schedcomp.near import near_words, quoted
from schedcomp.phrases.names import WEEKDAY_NUMBERS, longest_month
from schedcomp.program import (
    EVERY_WEEKDAY,
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
    SunOffset,
)
from schedcomp.records import replace
from schedcomp.words import join_or

EXAMPLES = "1 ON sunset+15 daily\n2 OFF 23:00 mon-fri from 11-20 through 01-06"
_MOST_DIGITS = 6
_DayOfYear = tuple[tuple[int, int], int | None]


class _Slip(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries the one finding of a line up to `read_keyed`."""

    def __init__(self, finding: Diagnostic) -> None:
        super().__init__(finding.title)
        self.finding = finding


def read_keyed(
    source: Source, controller: Controller, channels: Sequence[int]
) -> tuple[Program | None, tuple[Diagnostic, ...]]:
    """The list as a program. `channels` are those the program uses; of one, lines need not tell."""
    events: list[Event] = []
    days: list[SpecialDays] = []
    empty: list[tuple[int, Piece]] = []
    places: dict[tuple[str, tuple[int, ...], int], list[Piece]] = {}
    found: list[Diagnostic] = []
    for line in lines_of(source):
        reader = _LineReader(line, controller, tuple(channels))
        try:
            entry = reader.entry()
        except _Slip as slip:
            found.append(slip.finding)
            continue
        if isinstance(entry, Event):
            events.append(entry)
        elif isinstance(entry, SpecialDays):
            days.append(entry)
        else:
            empty.append((entry, reader.slot_piece))
        places.setdefault(_slot_of(entry, controller), []).append(reader.slot_piece)
    found += _twice(places, controller, {n for n, _ in empty})
    if not (events or days or empty or found):
        found.append(messages.NOTHING_LISTED.at(None, name=source.name))
    if found:
        return None, in_order(found)
    program = Program(controller=controller.name, events=tuple(events), special_days=tuple(days))
    return program, ()


def _slot_of(
    entry: Event | SpecialDays | int, controller: Controller
) -> tuple[str, tuple[int, ...], int]:
    """The list and slot an entry stands in; on some units those of each channel count apart."""
    if isinstance(entry, SpecialDays):
        return "special", (), entry.slot
    if isinstance(entry, int):
        return "slot", (), entry
    apart = controller.slots_are == "per channel"
    return "slot", entry.channels if apart else (), entry.slot


def _twice(
    places: dict[tuple[str, tuple[int, ...], int], list[Piece]],
    controller: Controller,
    empty: set[int],
) -> list[Diagnostic]:
    """Slots with more lines than they have room for."""
    found = []
    for (listed, _, slot), pieces in places.items():
        pair = controller.slot_holds == "an on and an off" and listed == "slot"
        room = 1 if (slot in empty and listed == "slot") or not pair else 2
        for piece in pieces[room:]:
            example = f"{slot} OFF 23:00 daily" if listed == "slot" else f"special {slot} 12-24 off"
            finding = messages.SLOT_TWICE.at(
                piece.at, also=(("First given", pieces[0].at),), slot=slot, example=example
            )
            found.append(finding)
    return found


class _LineReader:
    """Reads one line from left to right; raises _Slip for the first thing that is wrong."""

    def __init__(self, line: Line, controller: Controller, channels: tuple[int, ...]) -> None:
        self.pieces = line.pieces
        self.place = 0
        self.controller = controller
        self.channels_used = channels
        self.slot_piece = line.pieces[0]

    # Pieces

    @property
    def piece(self) -> Piece:
        return self.pieces[self.place]

    def take(self) -> Piece:
        piece = self.piece
        self.place = min(self.place + 1, len(self.pieces) - 1)
        return piece

    def take_word(self, *words: str) -> bool:
        """Go past one of some words if it stands here."""
        if self.piece.kind in ("word", "sign") and self.piece.text in words:
            self.take()
            return True
        return False

    def slip(self, wanted: str, piece: Piece | None = None) -> _Slip:
        here = self.piece if piece is None else piece
        found = "The end of the line" if here.kind == "end" else quoted(here.shown)
        return _Slip(messages.NOT_READ.at(here.at, found=found, wanted=wanted, example=EXAMPLES))

    def number(self, wanted: str) -> Piece:
        if self.piece.kind != "number" or len(self.piece.text) > _MOST_DIGITS:
            raise self.slip(wanted)
        return self.take()

    # A line

    def entry(self) -> Event | SpecialDays | int:
        if self.take_word("special"):
            return self.special_days()
        slot = self.slot(self.controller.event_slots, messages.NO_SLOT, "slot")
        if self.take_word("empty"):
            self.end()
            return slot
        action = self.action()
        start = self.start()
        event = Event(slot=slot, channels=(), action=action, start=start)
        event = self.with_days(event)
        event = replace(event, channels=self.channels())
        self.end()
        return event

    def special_days(self) -> SpecialDays:
        there = self.controller.exceptions.slots
        slot = self.slot(there, messages.NO_SPECIAL.format(count=there), "special")
        first = self.day()
        last = self.day_after(first) if self.take_word("through") else first
        dates = _dates(first, last)
        if self.take_word(PLAIN_DARK):
            plan = PLAIN_DARK
        elif self.take_word("plan"):
            plan = self.plan_name()
        else:
            raise self.slip(messages.PLAN)
        channels = self.channels()
        self.end()
        return SpecialDays(slot=slot, channels=channels, dates=dates, plan=plan)

    def end(self) -> None:
        if self.piece.kind != "end":
            raise self.slip(messages.LINE_END)

    def slot(self, last: int, beyond: str, listed: str) -> int:
        piece = self.number(messages.SLOT)
        self.slot_piece = piece
        if not 1 <= piece.number <= last:
            example = "special 1 12-24 off" if listed == "special" else "1 ON sunset+15 daily"
            raise self.not_there(piece, beyond.format(last=last), example, f"{listed.capitalize()}")
        return piece.number

    def not_there(self, piece: Piece, what: str, example: str, name: str) -> _Slip:
        kind: Kind = messages.NOT_ON_UNIT
        return _Slip(
            kind.at(
                piece.at,
                found=f"{name} {piece.shown}",
                controller=self.controller.name,
                what=what,
                example=example,
            )
        )

    def action(self) -> Action:
        for action in Action:
            if self.take_word(action.value):
                return action
        raise self.slip(messages.ACTION)

    # When

    def start(self) -> Start:
        piece = self.piece
        if piece.kind == "clock" and self.controller.starts_clock:
            return self.clock(self.take())
        word = self.sun_word()
        if word is None:
            raise self.slip(self.start_wanted())
        if not self.take_word("+", "-"):
            return SunOffset(word, 0)
        sign = -1 if self.pieces[self.place - 1].text == "-" else 1
        minutes = self.number(messages.OFFSET)
        self.take_word("min")
        limit = self.controller.offset_limit_minutes
        if minutes.number > limit:
            raise self.slip(messages.OFFSET_RANGE.format(limit=limit), minutes)
        return SunOffset(word, sign * minutes.number)

    def clock(self, piece: Piece) -> ClockStart:
        hours, colon, minutes = piece.text.partition(":")
        if not colon or len(minutes) != 2 or len(hours) > 2:
            raise self.slip(messages.START_CLOCK, piece)
        if int(hours) > 23 or int(minutes) > 59:
            raise self.slip(messages.START_RANGE, piece)
        return ClockStart(int(hours) * 60 + int(minutes))

    def sun_word(self) -> str | None:
        """The longest sun word of the controller that stands here."""
        words = sorted((s.word for s in self.controller.sun_starts), key=len, reverse=True)
        for word in words:
            parts = word.lower().split()
            ahead = [p.text for p in self.pieces[self.place : self.place + len(parts)]]
            if ahead == parts:
                self.place += len(parts)
                return word
        return None

    def start_wanted(self) -> str:
        words = [s.word for s in self.controller.sun_starts]
        if not words:
            return messages.START_CLOCK
        near = near_words(self.piece.text, words)
        return messages.START.format(words=join_or(list(near or words)))

    # On which days

    def with_days(self, event: Event) -> Event:
        if self.take_word("plan"):
            return replace(event, plan=self.plan_name())
        weekdays = EVERY_WEEKDAY if self.take_word("daily") else self.weekdays()
        dates = None
        if self.take_word("from"):
            first = self.day()
            if not self.take_word("through"):
                raise self.slip(messages.THROUGH)
            dates = _dates(first, self.day_after(first))
        return replace(event, weekdays=weekdays, dates=dates)

    def weekdays(self) -> frozenset[int]:
        found: list[int] = []
        while (day := self.weekday()) is not None:
            piece = self.pieces[self.place - 1]
            days = [day]
            if self.take_word("-"):
                last = self.weekday()
                if last is None:
                    raise self.slip(messages.WEEKDAY)
                days = [(day + n) % 7 for n in range((last - day) % 7 + 1)]
            if set(days) & set(found):
                raise self.slip(messages.WEEKDAY_TWICE, piece)
            found += days
            self.take_word(",")
        if not found or self.pieces[self.place - 1].text == ",":
            raise self.slip(messages.WEEKDAY if found else messages.DAYS)
        return frozenset(found)

    def weekday(self) -> int | None:
        day = WEEKDAY_NUMBERS.get(self.piece.text) if self.piece.kind == "word" else None
        if day is not None:
            self.take()
        return day

    def plan_name(self) -> str:
        """All words up to the channels or the end of the line."""
        if self.piece.kind not in ("word", "number"):
            raise self.slip(messages.PLAN_NAME)
        first = self.take().at
        last = first
        while self.piece.kind != "end" and not self._at_channels():
            last = self.take().at
        return first.source.text[first.start : last.start + last.length]

    def _at_channels(self) -> bool:
        following = self.pieces[min(self.place + 1, len(self.pieces) - 1)]
        return self.piece.text in ("channel", "channels") and following.kind == "number"

    def day(self) -> _DayOfYear:
        if self.piece.kind != "date":
            raise self.slip(messages.DATE)
        piece = self.take()
        parts = piece.text.split("-")
        sizes = [len(part) for part in parts]
        if sizes not in ([2, 2], [4, 2, 2]):
            raise self.slip(messages.DATE, piece)
        month, number = int(parts[-2]), int(parts[-1])
        if not (1 <= month <= 12 and 1 <= number <= longest_month(month)):
            raise self.slip(messages.REAL_DATE, piece)
        if len(parts) == 2:
            return (month, number), None
        year = int(parts[0])
        try:
            date(year, month, number)
        except ValueError:
            raise self.slip(messages.REAL_DATE, piece) from None
        if not FIRST_YEAR <= year <= LAST_YEAR:
            raise self.slip(messages.REAL_DATE, piece)
        return (month, number), year

    def day_after(self, first: _DayOfYear) -> _DayOfYear:
        last = self.day()
        piece = self.pieces[self.place - 1]
        if (first[1] is None) != (last[1] is None):
            raise self.slip(messages.YEAR_MISSING, piece)
        if (
            first[1] is not None
            and last[1] is not None
            and (last[1], last[0]) < (first[1], first[0])
        ):
            raise self.slip(messages.BACKWARDS, piece)
        return last

    # Channels

    def channels(self) -> tuple[int, ...]:
        if not self.take_word("channel", "channels"):
            if len(self.channels_used) == 1:
                return self.channels_used
            raise self.slip(messages.CHANNEL if self.piece.kind == "end" else messages.LINE_END)
        found: list[int] = []
        while self.piece.kind == "number" or not found:
            piece = self.number(messages.CHANNEL_NUMBER)
            last = self.controller.channels
            if not 1 <= piece.number <= last:
                what = messages.NO_CHANNEL.format(last=last)
                raise self.not_there(piece, what, "1 ON sunset+15 daily channel 1", "Channel")
            if piece.number in found:
                raise self.slip(messages.CHANNEL_TWICE, piece)
            found.append(piece.number)
            self.take_word(",")
        return tuple(found)


def _dates(first: _DayOfYear, last: _DayOfYear) -> EventDates:
    if first[1] is None or last[1] is None:
        return EventDates(first[0], last[0])
    return EventDates(first[0], last[0], (first[1], last[1]))
