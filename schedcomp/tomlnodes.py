"""What a TOML file says, with the place of every key and value."""

from __future__ import annotations

import math
from datetime import date, datetime, time

from schedcomp.diag import PhraseText, Source, SourceRange
from schedcomp.limits import LARGEST
from schedcomp.records import Record

Scalar = str | int | float | bool | datetime | date | time


class Value(Record):
    """A single value; `inner` is a text without its quotes, else the same as `at`."""

    content: Scalar
    at: SourceRange
    inner: SourceRange

    def phrase(self) -> PhraseText:
        """A text with its place; for other values, as they are written."""
        text = self.content if isinstance(self.content, str) else self.at.text
        return PhraseText(text, self.inner)


class Unreadable(Record):
    """Something is given here, and what is wrong with it has been told."""

    at: SourceRange


class Items(Record):
    """A list, or the tables of `[[name]]` (`is_parts`)."""

    items: tuple[Node, ...]
    at: SourceRange
    is_parts: bool = False


class Table(Record):
    """A table; `has_gaps`: an entry of unknown name could not be read, so none can be missed.

    `repeats` are further tables of the same name, which has been told; `is_part`: it has a
    `[name]` line.
    """

    entries: tuple[Entry, ...]
    at: SourceRange
    has_gaps: bool = False
    is_part: bool = False
    repeats: tuple[Table, ...] = ()


class Entry(Record):
    key: str
    key_at: SourceRange
    value: Node

    @property
    def key_phrase(self) -> PhraseText:
        return PhraseText(self.key, self.key_at)


Node = Value | Unreadable | Items | Table


class Document(Record):
    source: Source
    root: Table


def number_of(node: Node) -> float | None:
    """The number a node is; None for anything else. Very large ones become infinite."""
    content = node.content if isinstance(node, Value) else None
    if isinstance(content, bool) or not isinstance(content, int | float):
        return None
    if isinstance(content, int) and abs(content) > LARGEST**2:
        return math.inf
    return float(content)
