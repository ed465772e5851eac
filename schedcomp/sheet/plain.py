"""Blocks as plain values that a second layout reads."""

from __future__ import annotations

from collections.abc import Mapping

from schedcomp.records import Record, field_names
from schedcomp.sheet.blocks import breakable, clean

Plain = None | bool | int | float | str | list["Plain"] | dict[str, "Plain"]
_DRAWINGS = ("svg",)


def plain(value: object) -> Plain:
    """A block, page or tuple as lists and dictionaries; texts are cleaned line by line."""
    if isinstance(value, Record):
        members: dict[str, Plain] = {
            name: _text_of(name, getattr(value, name)) for name in field_names(type(value))
        }
        kind = getattr(value, "kind", None)
        return members if kind is None else {"kind": kind, **members}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, str):
        return "\n".join(breakable(clean(line)) for line in value.split("\n"))
    if value is None or isinstance(value, bool | int | float):
        return value
    raise TypeError(f"{type(value)} has no plain form")


def _text_of(name: str, value: object) -> Plain:
    """A drawing is our own and stays as it is."""
    return value if name in _DRAWINGS and isinstance(value, str) else plain(value)
