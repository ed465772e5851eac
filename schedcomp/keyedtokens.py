"""Pieces of a line of a keyed-back list, each with its place."""

from __future__ import annotations

import re
from collections.abc import Iterator

from schedcomp.diag import Source, SourceRange
from schedcomp.records import Record

REMARK = "#"
_PIECE = re.compile(
    r"(?P<date>[0-9]+-[0-9]+(?:-[0-9]+)?)"
    r"|(?P<clock>[0-9]+[:.h][0-9]+)"
    r"|(?P<number>[0-9]+)"
    r"|(?P<word>[^\W\d_][\w.]*)"
    r"|(?P<sign>\S)"
)
_PLAIN = str.maketrans("\u2212\u2013\u2014\u2010\u2011", "-----")


class Piece(Record):
    """`kind` is date, clock, number, word, sign or end; `text` is in lower case."""

    kind: str
    text: str
    shown: str
    at: SourceRange

    @property
    def number(self) -> int:
        return int(self.text)


class Line(Record):
    """One line that is not blank, its last piece of kind end, behind the last sign."""

    pieces: tuple[Piece, ...]


def lines_of(source: Source) -> Iterator[Line]:
    """The lines of a list without remarks and blank ones."""
    start = 0
    for text in source.text.splitlines(keepends=True):
        bare = text.partition(REMARK)[0].rstrip()
        if bare.strip():
            yield Line(tuple(_pieces(source, start, bare)))
        start += len(text)


def _pieces(source: Source, start: int, text: str) -> Iterator[Piece]:
    for found in _PIECE.finditer(text.translate(_PLAIN)):
        at = SourceRange(source, start + found.start(), found.end() - found.start())
        kind = found.lastgroup or "sign"
        yield Piece(kind, found[0].lower(), at.text, at)
    yield Piece("end", "", "", SourceRange(source, start + max(0, len(text) - 1), 1))
