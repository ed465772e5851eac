"""The blank form of a site walk, with the questions and numbers of the interview."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from schedcomp.interview import QUESTIONS, SECTIONS, Question

WIDTH = 76
CIRCUITS = 3
"""Blanks for so many circuits; more go on a second form."""
BLANK = "_" * 46


def survey_form() -> str:
    """A page and a half of plain text to print and to fill in on site."""
    lines = [
        "SITE WALK FOR A LIGHTING TIME SWITCH",
        "",
        "Date ____________   Asked by ________________   Answered by ________________",
        "",
        *textwrap.wrap(
            "OFF at the clock is not isolation. Do not open the panel. Its facts are read by a "
            "licensed electrician.",
            WIDTH,
        ),
    ]
    for number, title in SECTIONS.items():
        lines += ["", f"{number}  {title.upper()}", ""]
        for question in QUESTIONS:
            if question.number.split(".")[0] == number:
                lines += _asked(question)
    lines += ["", *textwrap.wrap("Then type the answers in this order: schedcomp new", WIDTH)]
    return "\n".join(lines) + "\n"


def _asked(question: Question) -> Iterator[str]:
    words = f"{question.number}  {question.text} ({question.example})"
    yield textwrap.fill(words, WIDTH, subsequent_indent="     ", break_on_hyphens=False)
    if question.of_circuit:
        for number in range(1, CIRCUITS + 1):
            yield f"     circuit {number}  {BLANK}"
    else:
        for _ in range(question.lines):
            yield f"     {BLANK}{'_' * 12}"
    yield ""
