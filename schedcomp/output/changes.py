"""changes.csv: what to key where an old program is renewed, slot by slot, with boxes to tick."""

from __future__ import annotations

from collections.abc import Sequence

from schedcomp.output.csvfile import Cell, csv_bytes
from schedcomp.output.slots import content_words
from schedcomp.renewal import SlotChange
from schedcomp.site import Unit

COLUMNS = ("do", "list", "slot", "channels", "old_line", "new_line", "purpose")
BOX = "[ ]"
KEYED = "keyed"


def changes_csv(changes: Sequence[SlotChange], units: Sequence[Unit]) -> bytes:
    """A row for each slot that changes; the last columns are one box for each unit, or one box.

    `channels` is filled where slots are numbered by channel.
    """
    labels = [f"{KEYED}: {unit.label}" for unit in units] or [KEYED]
    return csv_bytes((*COLUMNS, *labels), (_row(change, len(labels)) for change in changes))


def _row(change: SlotChange, boxes: int) -> tuple[Cell, ...]:
    purposes = [getattr(entry, "purpose", "") for entry in change.new]
    return (
        change.action,
        change.listed,
        change.slot,
        " ".join(str(channel) for channel in change.channels),
        content_words(change.old),
        content_words(change.new),
        " / ".join(purpose for purpose in purposes if purpose),
        *[BOX] * boxes,
    )
