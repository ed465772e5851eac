"""The cells of a CSV text with their places: RFC 4180, with comma, semicolon or tab between cells.

A spreadsheet writes semicolons where the comma is the decimal sign; the first line decides.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from schedcomp.records import Record

SEPARATORS = ",;\t"
SEVERAL_IN_A_CELL = ";"
"""Stands between texts where one cell holds several."""
_QUOTED = re.compile(r'"([^"]*(?:""[^"]*)*)"[ ]*')
_FIRST_LINE = re.compile(r"\s*[^\r\n]*")
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
        quoted = _QUOTED.match(text, at)
        if quoted and (quoted.end() >= len(text) or text[quoted.end()] in f"{between}\r\n"):
            inner = at + 1 if '"' not in quoted[1] else None
            word, length = quoted[1].replace('""', '"').strip(), quoted.end(1) + 1 - at
            return Cell(word, at, length, inner), quoted.end(), None
        rest = _LINE.match(text, at)
        assert rest is not None
        return Cell("", at, len(rest[0]), None), rest.end(), at
    found = plain.match(text, start)
    assert found is not None
    word = found[0].strip()
    first = start + (len(found[0]) - len(found[0].lstrip()))
    return Cell(word, first, len(word), first), found.end(), None
