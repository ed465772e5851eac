"""Wording of findings about the sheet and its codes (E720 to E729, E738 to E749)."""

from __future__ import annotations

from schedcomp.messages.kind import note

PDF_NOT_MADE = note(
    "E720",
    "sheet.pdf was not written: the package that sets its pages is not installed.",
    why="sheet.html has the same pages and can be printed from any browser.",
    fix="install the package and build again\npython -m pip install 'typst>=0.15,<0.16'",
)
