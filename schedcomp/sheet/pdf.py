"""The sheet as a PDF: the same pages and drawings as the HTML, set by another program.

The typst package is optional; without it the HTML is all there is.
"""

from __future__ import annotations

import json
from datetime import UTC, datetime
from importlib.resources import as_file, files
from importlib.util import find_spec

from schedcomp.sheet.facts import LETTER, SheetFacts
from schedcomp.sheet.plain import plain


def can_make_pdf() -> bool:
    """Whether the package that sets the pages is installed."""
    try:
        return find_spec("typst") is not None
    except ValueError:  # a package that is barred by name has no place to look at
        return False


def sheet_pdf(facts: SheetFacts) -> bytes:
    """The whole file: the same bytes for the same facts. ImportError without the package."""
    import typst

    record = {
        "title": plain(facts.title),
        "place": plain(facts.place),
        "mark": facts.mark,
        "mark_words": plain(facts.mark_words),
        "paper": "us-letter" if facts.paper_size == LETTER else "a4",
        "foot": plain(facts.foot),
        "pages": plain(facts.pages),
    }
    data = files("schedcomp").joinpath("data")
    with as_file(data.joinpath("fonts")) as fonts:
        setter = typst.Compiler(font_paths=[str(fonts)], ignore_system_fonts=True)
        made = setter.compile(
            data.joinpath("sheet", "sheet.typ").read_bytes(),
            format="pdf",
            sys_inputs={"sheet": json.dumps(record, ensure_ascii=False)},
            timestamp=datetime(2000, 1, 1, tzinfo=UTC),
        )
    assert isinstance(made, bytes)
    return made
