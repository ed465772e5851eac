"""The files of the sheet, for `build`."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from schedcomp.answers.answer import Findings
from schedcomp.compiled import Compiled
from schedcomp.diag import Source
from schedcomp.messages import sheet as messages
from schedcomp.sheet.facts import picture_files, sheet_facts
from schedcomp.sheet.html import sheet_html
from schedcomp.sheet.making import Making
from schedcomp.sheet.pdf import can_make_pdf, sheet_pdf
from schedcomp.sheet.qr import MOST_PARTS, site_texts
from schedcomp.versions import versions


def sheet_files(
    compiled: Compiled,
    source: Source,
    program_code: str,
    dates: tuple[date, date | None],
) -> tuple[dict[str, bytes], Findings]:
    """`sheet.html`, the drawings, and `sheet.pdf` where it can be made.

    `source` is the site file as it was compiled: by now another may be in its place. `dates` are
    those of making it and of putting into service.
    """
    made_on, commission = dates
    making = Making(
        made_on=made_on,
        commission=commission,
        site_file=Path(source.name).name,
        site_text=source.text,
        versions=versions(),
        program_code=program_code,
    )
    facts = sheet_facts(compiled, making)
    files = {"sheet.html": sheet_html(facts)}
    found: Findings = ()
    if not site_texts(making.site_text):
        found = (messages.SITE_TOO_LONG.at(None, most=MOST_PARTS),)
    if can_make_pdf():
        files["sheet.pdf"] = sheet_pdf(facts)
    else:
        found = (*found, messages.PDF_NOT_MADE.at(None))
    return {**files, **picture_files(facts)}, found
