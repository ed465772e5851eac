"""The form of a TOML text as scanned: where everything stands, and what is wrong there."""

from __future__ import annotations

from enum import Enum, auto

from schedcomp.records import Record


class TroubleKind(Enum):
    """What is wrong with the form of a text."""

    BAD_KEY = auto()
    BAD_HEADER = auto()
    HEADER_BRACKET = auto()
    STRAY_LINE = auto()
    MISSING_EQUALS = auto()
    COLON = auto()
    MISSING_VALUE = auto()
    MISSING_QUOTE = auto()
    UNCLOSED_TEXT = auto()
    CURLY_QUOTES = auto()
    UNCLOSED_LIST = auto()
    UNCLOSED_BRACES = auto()
    MISSING_COMMA = auto()
    EXTRA_COMMA = auto()
    EXTRA_TEXT = auto()
    TOO_DEEP = auto()
    TOO_LONG = auto()


class Trouble(Record):
    """A mistake over text[start:end]; `begin` is where its statement or element begins."""

    kind: TroubleKind
    start: int
    end: int
    begin: int


class KeyPart(Record):
    """One part of a dotted key; [start, end) holds it without quotes."""

    name: str
    start: int
    end: int


class ScalarAt(Record):
    """A single value; `begin` is where its statement or element begins."""

    start: int
    end: int
    begin: int


class UnreadableAt(Record):
    start: int
    end: int


class ListAt(Record):
    start: int
    end: int
    items: tuple[ValueAt, ...]


class BracesAt(Record):
    start: int
    end: int
    pairs: tuple[Assignment, ...]


ValueAt = ScalarAt | UnreadableAt | ListAt | BracesAt


class Assignment(Record):
    """`key = value`; no key parts where the key could not be read."""

    key: tuple[KeyPart, ...]
    value: ValueAt


class Header(Record):
    """`[key]` or, with `is_list`, `[[key]]`; no key parts where the name could not be read."""

    key: tuple[KeyPart, ...]
    is_list: bool
    start: int
    end: int


Statement = Header | Assignment


class Scan(Record):
    statements: tuple[Statement, ...]
    troubles: tuple[Trouble, ...]
