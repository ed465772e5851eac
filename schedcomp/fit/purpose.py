"""What a slot is for, in words."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from schedcomp.model import MINUTE, Action
from schedcomp.program import ClockStart, Start
from schedcomp.target import TargetSwitching
from schedcomp.words import length_words

NOON_MINUTES = 12 * 60
_IN_CASE = {
    Action.OFF: " in case an off was missed",
    Action.ON: " in case the unit started dark",
}
_REPEAT_OF_SLOT = re.compile(r"safety repeat of slot ([0-9]+): (.*)")


def purpose_of(action: Action, served: Sequence[TargetSwitching], start: Start) -> str:
    """`on at dusk (sunset + 15 min)`: the moments this slot serves, the commonest first."""
    if not served:
        return f"{action.value} at {start_words(start)}, in case one was missed"
    counts = Counter(s.reason.phrase for s in served)
    phrases = [phrase for phrase, _ in sorted(counts.items(), key=lambda p: (-p[1], p[0]))]
    named = "; ".join(phrases[:2])
    more = f"; and {len(phrases) - 2} more" if len(phrases) > 2 else ""
    return f"{action.value} at {named}{more}"


def purpose_of_repeat(why: str, slot: int | None) -> str:
    """`safety repeat of slot 3: off again 10 min after 22:45`; `why` alone without a slot."""
    return why if slot is None else f"safety repeat of slot {slot}: {why}"


def repeated_slot(purpose: str) -> tuple[int, str] | None:
    """The slot and the why of a `purpose_of_repeat` that names a slot; None for other purposes."""
    found = _REPEAT_OF_SLOT.fullmatch(purpose)
    return None if found is None else (int(found[1]), found[2])


def again_words(action: Action, minutes: int, start: Start) -> str:
    """`off again 10 min after sunrise - 15 min`."""
    return f"{action.value} again {length_words(minutes * MINUTE)} after {start_words(start)}"


def midday_words(action: Action, minutes: int) -> str:
    """`off at noon in case an off was missed`; `minutes` are those after 00:00."""
    shown = "noon" if minutes == NOON_MINUTES else start_words(ClockStart(minutes))
    return f"{action.value} at {shown}{_IN_CASE[action]}"


def is_midday(purpose: str) -> bool:
    """Whether a purpose is one of `midday_words`."""
    return purpose.endswith(tuple(_IN_CASE.values()))


def idle_words(action: Action, start: Start, plan: str = "") -> str:
    """`left from before: off at 23:10 does nothing while all is well`."""
    why = f"of plan {plan}, which no date runs" if plan else "does nothing while all is well"
    return f"left from before: {action.value} at {start_words(start)} {why}"


def start_words(start: Start) -> str:
    """`22:45`, `sunset`, `sunrise - 1 h 15 min`."""
    if isinstance(start, ClockStart):
        return f"{start.minutes // 60:02d}:{start.minutes % 60:02d}"
    if not start.offset_minutes:
        return start.word
    sign = "+" if start.offset_minutes > 0 else "-"
    return f"{start.word} {sign} {length_words(abs(start.offset_minutes) * MINUTE)}"
