"""What would make a program fit, in words."""

from __future__ import annotations

from collections.abc import Iterable

from schedcomp.capacity_report import Saving, Shortfall
from schedcomp.model import HOUR
from schedcomp.words import counted, join_and, length_words

SHOWN_SAVINGS = 8


def savings_words(shortfall: Shortfall, *, one_circuit: bool) -> str:
    """A line for each line of the site file that would save slots, best first."""
    useful = shortfall.useful
    lines = [_saving_words(saving, one_circuit) for saving in useful[:SHOWN_SAVINGS]]
    if len(useful) > SHOWN_SAVINGS:
        lines.append(f"{len(useful) - SHOWN_SAVINGS} more would save less.")
    return "\n".join([*lines, *_untried(shortfall.savings)])


def untried_words(shortfall: Shortfall) -> str:
    """The lines that were not tried, in a sentence; "" if all were."""
    return " ".join(_untried(shortfall.savings))


def _untried(savings: Iterable[Saving]) -> list[str]:
    left = [_named(saving) for saving in savings if not saving.tried]
    return [f"Not tried: {join_and(left)}."] if left else []


def _saving_words(saving: Saving, one_circuit: bool) -> str:
    of = "" if one_circuit else f" of {join_and(saving.circuits)}"
    light = "less" if saving.seconds_less >= 0 else "more"
    seconds = abs(saving.seconds_less)
    longest = f"{round(seconds / HOUR):,} h" if seconds >= 10 * HOUR else length_words(seconds)
    return (
        f"Without {_named(saving)}{of} it would need {counted(saving.slots or 0, 'slot')}, and "
        f"lamps would be lit {longest} {light}."
    )


def _named(saving: Saving) -> str:
    line = "" if saving.at is None else f" (line {saving.at.line})"
    of_type = f" of {saving.day_type}" if saving.day_type else ""
    return f"`{saving.text}`{of_type}{line}"
