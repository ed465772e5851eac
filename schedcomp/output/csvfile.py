"""CSV for people's spreadsheets and for programs: RFC 4180 quoting, UTF-8, lines end with LF.

A spreadsheet takes a cell that begins with `=`, `+`, `-` or `@` for a formula. Text that would do
so, also behind leading blanks or in a wide form of these signs, or that begins with a tab, gets
one apostrophe in front. Numbers and UTC offsets (`-15`, `-111.6`, `-06:00`) stay as they are.
Line breaks and other control characters inside a text become a blank.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable, Sequence

Cell = str | int | float

GUARD = "'"
_FORMULA_SIGNS = frozenset("=+-@\u2212")
_SIGNED_NUMBER = re.compile(r"[+-][0-9]+(?:[.:][0-9]+)?")
_BREAKS = re.compile(r"\r\n|[\x00-\x08\x0a-\x1f\x7f-\x9f\u2028\u2029]")


def csv_bytes(header: Sequence[str], rows: Iterable[Sequence[Cell]]) -> bytes:
    """A whole CSV file."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_written(cell) for cell in row] for row in rows)
    return out.getvalue().encode()


def cell_text(text: str) -> str:
    """A text as it stands in a cell, before quoting."""
    if text.isprintable() and text[:1].isascii() and text[:1].isalnum():
        return text
    flat = _BREAKS.sub(" ", text)
    return GUARD + flat if _starts_formula(flat) else flat


def _written(cell: Cell) -> str:
    return cell_text(cell) if isinstance(cell, str) else repr(cell)


def _starts_formula(text: str) -> bool:
    if text.startswith("\t"):
        return True
    shown = next((char for char in text if not _is_blank(char)), "")
    sign = unicodedata.normalize("NFKC", shown)
    return sign in _FORMULA_SIGNS and not _SIGNED_NUMBER.fullmatch(text)


def _is_blank(char: str) -> bool:
    """Blanks and characters that show nothing, which some programs skip."""
    return char.isspace() or unicodedata.category(char) in ("Cf", "Cc", "Zs")
