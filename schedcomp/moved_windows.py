"""Windows with an end moved by minutes, for lines to type."""

from __future__ import annotations

from schedcomp.model import DAY, MINUTE
from schedcomp.phrases.tree import Clock, HoursMoment, Moment, Pair, Plain, Window
from schedcomp.records import replace

_DAY_MINUTES = DAY // MINUTE


def moved_window(window: Window, is_end: bool, minutes: int) -> Window:
    """The window with its end, or its start, so many minutes later."""
    if is_end:
        return replace(window, end=_later(window.end, minutes))
    return replace(window, start=_later(window.start, minutes))


def _later(moment: Moment, minutes: int) -> Moment:
    if isinstance(moment, Pair):
        first, second = _plain_later(moment.first, minutes), _plain_later(moment.second, minutes)
        return replace(moment, first=first, second=second)
    return _plain_later(moment, minutes)


def _plain_later(moment: Plain, minutes: int) -> Plain:
    if isinstance(moment, Clock):
        return replace(moment, minutes=(moment.minutes + minutes) % _DAY_MINUTES)
    if isinstance(moment, HoursMoment) and moment.fallback is not None:
        fallback = replace(
            moment.fallback, minutes=(moment.fallback.minutes + minutes) % _DAY_MINUTES
        )
        moment = replace(moment, fallback=fallback)
    return replace(moment, offset_minutes=moment.offset_minutes + minutes)
