"""Lines that are written on by hand: later visits, or what is to change where nothing is keyed."""

from __future__ import annotations

from schedcomp.sheet.blocks import BLANK, Column, Page, Table, Text
from schedcomp.sheet.making import Job

LINES = 8
"""On screen; on paper as many as fill the page."""


def visits_page(job: Job) -> Page:
    """Lines for whoever changes something at a panel later."""
    told = (
        "Write every later change here. A unit whose slots were changed by hand no longer holds "
        f"program {job.making.program_code}."
    )
    columns = (
        Column(title="Date", width=2.4),
        Column(title="Unit", width=2.4),
        Column(title="What was found, what was changed", width=8),
        Column(title="Code it holds now", width=3),
        Column(title="Name", width=3),
    )
    return _lines("visits", "Later visits", told, columns)


def changes_page() -> Page:
    """Lines for what is decided where no program may be keyed."""
    told = "Nothing is keyed from this paper. Write down what is decided, and have it made again."
    columns = (
        Column(title="Date", width=2.4),
        Column(title="Other wishes, more minutes, another unit, an exception granted", width=11),
        Column(title="Name", width=3),
    )
    return _lines("changes", "What is to change", told, columns)


def _lines(key: str, title: str, told: str, columns: tuple[Column, ...]) -> Page:
    rows = ((BLANK,) * len(columns),) * LINES
    blocks = (Text(text=told, style="lead"), Table(columns=columns, rows=rows, fills=True))
    return Page(key=key, title=title, blocks=blocks)
