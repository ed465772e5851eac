"""Blocks as plain values that a second layout reads."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass

from schedcomp.sheet.blocks import clean

Plain = None | bool | int | float | str | list["Plain"] | dict[str, "Plain"]
_DRAWINGS = ("svg",)
_LONG_WORD, _PIECE, _BREAK = 18, 9, "\u200b"


def plain(value: object) -> Plain:
    """A block, page or tuple as lists and dictionaries; texts are cleaned line by line."""
    if is_dataclass(value) and not isinstance(value, type):
        members: dict[str, Plain] = {
            field.name: _text_of(field.name, getattr(value, field.name)) for field in fields(value)
        }
        kind = getattr(value, "kind", None)
        return members if kind is None else {"kind": kind, **members}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str):
        return "\n".join(_breakable(clean(line)) for line in value.split("\n"))
    if value is None or isinstance(value, bool | int | float):
        return value
    raise TypeError(f"{type(value)} has no plain form")


def _breakable(line: str) -> str:
    """The line with places to break at in words that are wider than a column."""
    return " ".join(_pieces(word) for word in line.split(" "))


def _pieces(word: str) -> str:
    if len(word) <= _LONG_WORD:
        return word
    starts = range(0, len(word), _PIECE)
    return _BREAK.join(word[start : start + _PIECE] for start in starts)


def _text_of(name: str, value: object) -> Plain:
    """A drawing is our own and stays as it is."""
    return value if name in _DRAWINGS and isinstance(value, str) else plain(value)
