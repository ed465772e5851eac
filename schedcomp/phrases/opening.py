"""Opening hours of a date: `07:00-20:00`, `closed`, `open all day`, `08:00-12:00, 14:00-18:00`."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.diag import PhraseText
from schedcomp.messages import wanted, writing
from schedcomp.phrases.clocks import CLOCK_WORDS, clock, starts_clock
from schedcomp.phrases.printer import print_hours
from schedcomp.phrases.tokens import Cursor, Findings, Token, read_whole
from schedcomp.phrases.tree import Clock, ClosedHours, HoursValue, OpenHours

_Period = tuple[Clock, Clock]
_INSTEAD_OF_TO = ("until", "till", "til", "through", "thru", "and")


def parse_hours(phrase: PhraseText) -> tuple[HoursValue | None, Findings]:
    """The value of a line of `[hours]`."""
    return read_whole(phrase, _hours, wanted.HOURS)


def _hours(cursor: Cursor) -> HoursValue:
    """hours = "closed" | "open" "all" "day" | period {"," period}

    A closing not later than its opening is on the next date; only the last may be.
    """
    if cursor.take_word("closed"):
        return ClosedHours()
    if cursor.take_word("open"):
        cursor.expect_word("all", wanted.ALL_DAY)
        cursor.expect_word("day", wanted.ALL_DAY)
        return OpenHours(((Clock(0), Clock(1440)),))
    if not starts_clock(cursor):
        raise cursor.missing(wanted.HOURS, ("closed", "open", *CLOCK_WORDS))
    periods = [_period(cursor, ())]
    while cursor.take_sign(","):
        periods.append(_period(cursor, periods[-1:]))
    return OpenHours(tuple(periods))


def _period(cursor: Cursor, before: Sequence[_Period]) -> _Period:
    """period = clock ("-" | "to") clock"""
    first = cursor.token
    opening = clock(cursor, is_end=False)
    if cursor.check_word(*_INSTEAD_OF_TO):
        raise cursor.instead(wanted.HOURS_DASH)
    if not (cursor.take_sign("-") or cursor.take_word("to")):
        raise cursor.missing(wanted.CLOSING, ("to",))
    closing = clock(cursor, is_end=True)
    period = (opening, closing)
    for earlier in before:
        _in_order(cursor, first, earlier, period)
    return period


def _in_order(cursor: Cursor, first: Token, before: _Period, period: _Period) -> None:
    """Refuse a period that does not come after the one before it."""
    if before[1].minutes <= before[0].minutes:
        raise cursor.refused(writing.HOURS_AFTER_MIDNIGHT, first, before=_text(before))
    if period[0].minutes >= before[1].minutes:
        return
    swapped = f"{_text(period)}, {_text(before)}"
    right = swapped if _ends_by(period, before[0]) else _text(_hull(before, period))
    raise cursor.refused(writing.HOURS_ORDER, first, before=_text(before), right=right)


def _ends_by(period: _Period, opening: Clock) -> bool:
    return period[0].minutes < period[1].minutes <= opening.minutes


def _hull(before: _Period, period: _Period) -> _Period:
    """Both periods as one; a closing after midnight is the later one."""
    opening = min(before[0], period[0], key=lambda clock: clock.minutes)
    past_midnight = period[1].minutes <= period[0].minutes
    closing = max(before[1], period[1], key=lambda clock: clock.minutes)
    return opening, period[1] if past_midnight else closing


def _text(period: _Period) -> str:
    return print_hours(OpenHours((period,)))
