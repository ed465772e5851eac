"""The exact year: every lit span of every circuit, with the reason for both of its ends."""

from __future__ import annotations

from bisect import bisect_right
from datetime import date
from enum import Enum
from operator import attrgetter

from schedcomp.diag import SourceRange
from schedcomp.model import Action, Half, Instant, Period
from schedcomp.phrases.tree import Which
from schedcomp.records import Record
from schedcomp.words import EMPTY_WINDOW_WORDS, date_words


class Cause(Enum):
    """What decided an end of a span."""

    WINDOW = "window"
    KEEP_DARK = "kept dark"
    ONE_OFF = "one-off"


class Bound(Record):
    """How an instant came about, so that it can be moved with the sun.

    `members` are (instant, is a sun time); with two members `which` says which one decided.
    """

    members: tuple[tuple[Instant, bool], ...]
    which: Which | None = None

    def moved(self, sun_seconds: int) -> Instant:
        """The instant if every sun time in it came `sun_seconds` later."""
        if len(self.members) == 1:
            instant, is_sun = self.members[0]
            return instant + sun_seconds if is_sun else instant
        instants = [t + sun_seconds if is_sun else t for t, is_sun in self.members]
        return min(instants) if self.which is Which.EARLIER else max(instants)

    @property
    def has_sun(self) -> bool:
        for _, is_sun in self.members:  # noqa: SIM110  # asked too often for a generator
            if is_sun:
                return True
        return False


class Reason(Record):
    """Why a span begins or ends where it does.

    `phrase` is the moment in words (`sunset + 15 min`), `date` the date it belongs to, `day_type`
    and `line` (text of the calendar, keep-dark or one-off line) name what asked for it.
    """

    cause: Cause
    phrase: str
    date: date
    bound: Bound
    day_type: str = ""
    line: str = ""
    at: SourceRange | None = None


class Span(Record):
    """One lit stretch [start, end) of a circuit."""

    start: Instant
    end: Instant
    start_reason: Reason
    end_reason: Reason

    def switchings(self) -> tuple[Switching, Switching]:
        """The on and the off."""
        return (
            Switching(self.start, Action.ON, self.start_reason),
            Switching(self.end, Action.OFF, self.end_reason),
        )


class Switching(Record):
    """One dated on or off of the exact year."""

    instant: Instant
    action: Action
    reason: Reason


class DarkStretch(Record):
    """A stretch [start, end) that must stay dark: keep-dark or a one-off."""

    start: Instant
    end: Instant
    reason: Reason
    end_reason: Reason


class Decided(Record):
    """The calendar line that decided one half of one date; `line` None: no line names it."""

    day: date
    half: Half
    line: int | None


class EmptyWindow(Record):
    """A window that lights nothing on a date, and why.

    `why`: "end before start", "sun never that low", "no such hours", "swallowed by the clock".
    `half` is the side on which the window would start.
    """

    day: date
    window: str
    why: str
    line: int
    half: Half | None = None


_start = attrgetter("start")


def empty_window_words(window: EmptyWindow) -> str:
    """Why a window lights nothing on its date."""
    why = EMPTY_WINDOW_WORDS.get(window.why, window.why)
    return f"`{window.window}` lights nothing on {date_words(window.day, year=False)}: {why}"


class CircuitYear(Record, kw_only=True):
    """`spans` reach beyond the period on both sides, sorted and apart.

    `special` are the dates that a line for single dates or holidays, or a one-off, decides.
    `opened` are the windows, in words, that lit something on some date of the period. `dark` are
    the stretches that must stay dark. `decided` covers every half of every date of
    the period. `bridged`, `dropped` and `short_gaps` are (start, end) of what `shortest_off` and
    `shortest_on` did, and of short gaps that may not be bridged. `required_dark` and `required_lit`
    are stretches of a rule that the year meets and a program must meet too.
    """

    circuit: str
    channel: int
    spans: tuple[Span, ...]
    dark: tuple[DarkStretch, ...] = ()
    special: frozenset[date] = frozenset()
    decided: tuple[Decided, ...] = ()
    empty: tuple[EmptyWindow, ...] = ()
    opened: tuple[str, ...] = ()
    bridged: tuple[tuple[Instant, Instant], ...] = ()
    dropped: tuple[tuple[Instant, Instant], ...] = ()
    short_gaps: tuple[tuple[Instant, Instant], ...] = ()
    required_dark: tuple[tuple[Instant, Instant], ...] = ()
    required_lit: tuple[tuple[Instant, Instant], ...] = ()

    def switchings(self) -> list[Switching]:
        """Every on and off, in order, beyond the period too."""
        return [switching for span in self.spans for switching in span.switchings()]

    def is_lit(self, instant: Instant) -> bool:
        return self.span_at(instant) is not None

    def span_at(self, instant: Instant) -> Span | None:
        after = bisect_right(self.spans, instant, key=_start)
        return self.spans[after - 1] if after and instant < self.spans[after - 1].end else None


class Year(Record, kw_only=True):
    """`start` and `end` are the first and last local midnight of the period.

    `lengths_kept`: stretches for lengths of darkness or light are among those that stay dark.
    """

    period: Period
    start: Instant
    end: Instant
    circuits: tuple[CircuitYear, ...]
    lengths_kept: bool = False

    def circuit(self, name: str) -> CircuitYear:
        """The year of the circuit of this name; KeyError if there is none."""
        for circuit in self.circuits:
            if circuit.circuit == name:
                return circuit
        raise KeyError(name)
