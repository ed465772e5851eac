"""Wording of findings about the sheet and its codes (E720, E721, E738 to E743)."""

from __future__ import annotations

from schedcomp.messages.kind import caution, note, problem

PDF_NOT_MADE = note(
    "E720",
    "sheet.pdf was not written: the package that sets its pages is not installed.",
    why="sheet.html has the same pages and can be printed from any browser.",
    fix="install the package and build again\npython -m pip install 'typst>=0.15,<0.16'",
)

SITE_TOO_LONG = caution(
    "E721",
    "The sheet holds no copy of the site file.",
    why="The file is too long for {most} codes. Keep the file itself with the sheet.",
)

NOT_A_CODE = problem(
    "E740",
    "Text {number} is not one of the codes that hold a site file.",
    why="Each begins with SC, its number, A and how many there are, and holds only letters and "
    "figures: `SC1A2...` is the first of two.",
    fix="scan the code again, and give the whole text\nschedcomp recover SC1A1...",
)

PARTS_MISSING = problem(
    "E741",
    "Not all codes of the site file are there: {missing} missing.",
    why="Only all of them together hold the file. They stand side by side on the last page.",
    fix="scan the others too, and give all texts\nschedcomp recover SC1A2... SC2A2...",
)

CODE_DAMAGED = problem(
    "E742",
    "The codes do not give a site file: a letter is wrong or left out.",
    why="The file is packed, so one wrong letter spoils all of it.",
    fix="scan each code again rather than type it\nschedcomp recover SC1A1...",
)

CANNOT_KEEP = problem(
    "E743",
    "The site file could not be written to {path}.",
    why="There is a file of this name, or the folder cannot be written into. Nothing was changed.",
    fix="name another file\n--out recovered.toml",
)
