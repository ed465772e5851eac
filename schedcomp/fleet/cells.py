"""The cells of a CSV text with their places: RFC 4180, with comma, semicolon or tab between cells.

A spreadsheet writes semicolons where the comma is the decimal sign; the first line decides.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from schedcomp.records import Record

SEPARATORS = ",;\t"
MOST_CELLS = 1_000
"""In a row; of a row with more one more is read, so that it can be told."""
SEVERAL_IN_A_CELL = ";"
"""Stands between texts where one cell holds several."""
_FIRST_LINE = re.compile(r"\s*[^\r\n]*")
_QUOTES = re.compile(r'"+')
_BLANKS = re.compile(r"[ ]*")
_LINE = re.compile(r"[^\r\n]*")
_LINE_END = re.compile(r"\r?\n")


class Cell(Record):
    """`text` without its quotes and the blanks around it; `start` and `length` of what is written,
    `inner` where `text` begins, None where quotes in it are written double.
    """

    text: str
    start: int
    length: int
    inner: int | None


class Row(Record):
    """The cells of one row; `start` and `end` in the text, `lines_before` counted from 0.

    `unclosed` is where a quote opens a cell and does not close it; such a row ends with its line.
    """

    cells: tuple[Cell, ...]
    start: int
    end: int
    lines_before: int
    unclosed: int | None = None

    @property
    def is_blank(self) -> bool:
        return all(not cell.text for cell in self.cells)


def separator_of(text: str) -> str:
    """What stands between the cells of the first line that is not blank."""
    first = _FIRST_LINE.match(text)
    bare = re.sub(r'"[^"]*"', "", first[0] if first else "")
    return max(SEPARATORS, key=bare.count)


def rows(text: str) -> Iterator[Row]:
    """Every row that is not blank, in order."""
    between = separator_of(text)
    plain = re.compile(rf"[^{between}\r\n]*")
    at = lines = 0
    while at < len(text):
        start, cells, unclosed = at, [], None
        while True:
            cell, at, unclosed = _cell(text, at, plain, between)
            cells.append(cell)
            if unclosed is not None or at >= len(text) or text[at] != between:
                break
            if len(cells) > MOST_CELLS:
                at = _end_of_line(text, at)
                break
            at += 1
        row = Row(tuple(cells), start, at, lines, unclosed)
        end = _LINE_END.match(text, at)
        at = end.end() if end else at + (at < len(text))
        lines += text.count("\n", start, at)
        if not row.is_blank or unclosed is not None:
            yield row


def _cell(text: str, at: int, plain: re.Pattern[str], between: str) -> tuple[Cell, int, int | None]:
    """The cell that begins at `at`, where it ends, and where a quote opens that does not end it."""
    start = at
    while at < len(text) and text[at] == " ":
        at += 1
    if text.startswith('"', at):
        close = _closing_quote(text, at)
        end = at if close is None else _match(_BLANKS, text, close + 1).end()
        if close is not None and (end >= len(text) or text[end] in f"{between}\r\n"):
            inside = text[at + 1 : close]
            inner = at + 1 if '"' not in inside else None
            return Cell(inside.replace('""', '"').strip(), at, close + 1 - at, inner), end, None
        end = _end_of_line(text, at)
        return Cell("", at, end - at, None), end, at
    found = _match(plain, text, start)
    word = found[0].strip()
    first = start + (len(found[0]) - len(found[0].lstrip()))
    return Cell(word, first, len(word), first), found.end(), None


def _closing_quote(text: str, at: int) -> int | None:
    """Where the quote that opens at `at` closes; a doubled one belongs to the text."""
    odd = (run for run in _QUOTES.finditer(text, at + 1) if (run.end() - run.start()) % 2)
    first = next(odd, None)
    return None if first is None else first.end() - 1


def _end_of_line(text: str, at: int) -> int:
    return _match(_LINE, text, at).end()


def _match(pattern: re.Pattern[str], text: str, at: int) -> re.Match[str]:
    """For a pattern that also takes nothing, and so fits anywhere."""
    found = pattern.match(text, at)
    assert found is not None
    return found
