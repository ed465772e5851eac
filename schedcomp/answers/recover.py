"""The answer to `recover`: a site file from the codes on its sheet."""

from __future__ import annotations

from pathlib import Path

from schedcomp.answers.answer import BAD_FILES, CLEAN, USAGE, Answer
from schedcomp.messages import sheet as messages
from schedcomp.output.disk import add_file
from schedcomp.sheet.qr import recovered
from schedcomp.words import join_and


def recover(texts: list[str], out: str | None) -> Answer:
    """The file as it was, told or written to a new file."""
    found = recovered(texts)
    if found.place:
        return Answer(exit_code=USAGE, findings=(messages.NOT_A_CODE.at(None, number=found.place),))
    if found.missing:
        numbers = join_and([str(number) for number in found.missing])
        told = f"number {numbers} is" if len(found.missing) == 1 else f"numbers {numbers} are"
        return Answer(exit_code=USAGE, findings=(messages.PARTS_MISSING.at(None, missing=told),))
    if found.text is None:
        return Answer(exit_code=USAGE, findings=(messages.CODE_DAMAGED.at(None),))
    record = {"site_file": found.text}
    if out is None:
        return Answer(exit_code=CLEAN, text=found.text, record=record)
    try:
        add_file(Path(out), found.text.encode())
    except (OSError, ValueError):
        return Answer(exit_code=BAD_FILES, findings=(messages.CANNOT_KEEP.at(None, path=out),))
    return Answer(exit_code=CLEAN, text=f"Written to {out}.\n", record=record)
