"""The base of every type that one stage hands to the next: frozen, compared by value.

The classes are made by a compiled library: `dataclass` writes and compiles several functions a
class, which for some hundreds of classes was half of the time a start takes.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from operator import attrgetter
from typing import Any, dataclass_transform

from msgspec import Struct, field
from msgspec.structs import asdict, replace

__all__ = ["PlacedRecord", "Record", "asdict", "field", "field_names", "replace"]


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Record(Struct, frozen=True):
    """A frozen type. `eq=False` behind the base compares by identity, `kw_only=True` by name."""


class PlacedRecord(Record, eq=False):
    """A record that is compared without its members `at` and `..._at`: where it stands in a file
    is no part of what it says.
    """

    def __eq__(self, other: object) -> bool:
        if type(self) is not type(other):
            return NotImplemented
        meaning = _meaning(type(self))
        return bool(meaning(self) == meaning(other))

    def __hash__(self) -> int:
        return hash((type(self), _meaning(type(self))(self)))


def field_names(kind: type[Record]) -> tuple[str, ...]:
    """The names of its members in their order."""
    return kind.__struct_fields__


@cache
def _meaning(kind: type[PlacedRecord]) -> Callable[[object], Any]:
    names = [n for n in field_names(kind) if n != "at" and not n.endswith("_at")]
    return attrgetter(*names) if names else lambda _: ()
