"""What a page is made of. Screen, print and PDF are laid out from these blocks alone.

Texts are plain: whoever lays them out makes them inert. `clean` takes out what cannot be shown or
would turn the direction of what follows.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import ClassVar

from schedcomp.records import Record

_KEPT = "\u200c\u200d\u00a0"
"""Not printable by themselves: joiners that some scripts need, and the space that holds a time."""

_QUOTED = re.compile(r"`([^`]*)`")
_MINUS = re.compile(r"\b(sunset|sunrise|dusk|dawn|open|close|arrive|leave|UTC) - (?=\d)")
_TIMES = re.compile(r"\b(\d+) x (?=\d)")
_LONG_WORD, _PIECE, _BREAK = 18, 9, "\u200b"


class Cell(Record, kw_only=True):
    """One cell of a table. `style`: "", "strong", "tick", "blank" (to be filled in) or "none".

    `share` draws a bar, 1 being the full width of the cell, and `mark` a line across it.
    """

    text: str = ""
    style: str = ""
    share: float | None = None
    mark: float | None = None


class Column(Record, kw_only=True):
    """`align` is "left", "right" or "center"; `width` a relative width, 0 as the text needs it."""

    title: str
    align: str = "left"
    width: float = 0


class Heading(Record, kw_only=True):
    kind: ClassVar[str] = "heading"
    text: str


class Text(Record, kw_only=True):
    """`style`: "", "large", "strong", "small"; "lead" and, bold, "title" stay with what follows."""

    kind: ClassVar[str] = "text"
    text: str
    style: str = ""


class Items(Record, kw_only=True):
    """A list, numbered or not, in one or more columns."""

    kind: ClassVar[str] = "items"
    items: tuple[str, ...]
    numbered: bool = False
    columns: int = 1


class Facts(Record, kw_only=True):
    """Names with their values; an empty value is a line to write on."""

    kind: ClassVar[str] = "facts"
    rows: tuple[tuple[str, str], ...]
    style: str = ""


class Table(Record, kw_only=True):
    """A ruled table whose head is repeated on every page. `style`: "", "large", "dense".

    One that `leads` stays with what follows it. One that `fills` is of blank rows, and on paper has
    so many of them as fill the page.
    """

    kind: ClassVar[str] = "table"
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    style: str = ""
    leads: bool = False
    fills: bool = False


class Picture(Record, kw_only=True):
    """A drawing. `width` is a part of the page's width; `name` the file it is also written to."""

    kind: ClassVar[str] = "picture"
    svg: str
    label: str
    width: float = 1.0
    name: str = ""
    nights: str = ""


class Sign(Record, kw_only=True):
    """Lines to sign on, each with what it is for."""

    kind: ClassVar[str] = "sign"
    labels: tuple[str, ...]


class Box(Record, kw_only=True):
    """Blocks in a frame that stays in one piece. `style`: "", "caution" or "heavy"."""

    kind: ClassVar[str] = "box"
    title: str
    blocks: tuple[Block, ...]
    style: str = ""


class Beside(Record, kw_only=True):
    """Blocks side by side, one tuple a column; below each other on a narrow screen."""

    kind: ClassVar[str] = "beside"
    columns: tuple[tuple[Block, ...], ...]
    widths: tuple[float, ...]


Block = Heading | Text | Items | Facts | Table | Picture | Sign | Box | Beside


class Page(Record, kw_only=True):
    """A part of the sheet with a title of its own.

    `key` names it for links. `style`: "", "owner" (large) or "label" (boxes to be cut out, on paper
    of their own). It goes on where the one before ends; one that `needs_room` begins a new sheet of
    paper if little is left of the last.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    style: str = ""
    needs_room: bool = False


@lru_cache(maxsize=1 << 13)
def clean(text: str) -> str:
    """The text as it is set: without control characters and direction marks, line ends as spaces,
    with the quotation marks, minus and multiplication signs of print.
    """
    text = _QUOTED.sub("“\\1”", text)
    text = _MINUS.sub("\\1\u00a0−\u00a0", text)
    text = _TIMES.sub("\\1\u00a0×\u00a0", text)
    if text.isprintable() and "  " not in text:
        return text.strip(" ")
    spaced = "".join(" " if c in "\r\n\t\u2028\u2029" else c for c in text)
    kept = "".join(c for c in spaced if c.isprintable() or c in _KEPT)
    return " ".join(word for word in kept.split(" ") if word)


def breakable(line: str) -> str:
    """The line with places to break at in words that are wider than a column."""
    return " ".join(_pieces(word) for word in line.split(" "))


def _pieces(word: str) -> str:
    if len(word) <= _LONG_WORD:
        return word
    starts = range(0, len(word), _PIECE)
    return _BREAK.join(word[start : start + _PIECE] for start in starts)


def short_name(name: str, letters: int = 16) -> str:
    """A name cut for a narrow column."""
    return name if len(name) <= letters else f"{name[: letters - 1].rstrip()}…"


def row(*cells: str | Cell) -> tuple[Cell, ...]:
    """Cells of a table; a plain text is one without a style."""
    return tuple(cell if isinstance(cell, Cell) else Cell(text=cell) for cell in cells)


TICK = Cell(style="tick")
BLANK = Cell(style="blank")


def strong(text: str) -> Cell:
    return Cell(text=text, style="strong")
