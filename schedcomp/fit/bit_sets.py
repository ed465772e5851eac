"""Sets of whole numbers as the bits of one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator


def bits(value: int) -> Iterator[int]:
    """The numbers in a set, in order."""
    while value:
        low = value & -value
        yield low.bit_length() - 1
        value ^= low


def row_bits(rows: Iterable[int]) -> int:
    """Numbers as a set."""
    mask = 0
    for row in rows:
        mask |= 1 << row
    return mask
