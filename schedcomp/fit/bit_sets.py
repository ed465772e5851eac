"""Sets of whole numbers as the bits of one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import numpy as np

from schedcomp.fit.firings import Bools


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


def as_sets(flags: Bools) -> list[int]:
    """The marked numbers of each line of `flags` [lines x numbers] as a set."""
    packed = np.packbits(flags, axis=1, bitorder="little")
    size = packed.shape[1]
    listed = packed.tobytes()
    return [int.from_bytes(listed[at : at + size], "little") for at in range(0, len(listed), size)]


def needed_rows(by_row: Mapping[int, int]) -> int:
    """Rows (a bit set) not implied by another one; of rows with equal columns the first stays."""
    needed = 0
    by_first: dict[int, list[int]] = {}
    for row, columns in sorted(by_row.items(), key=lambda item: (item[1].bit_count(), item[0])):
        kept = (other for first in bits(columns) for other in by_first.get(first, ()))
        if not any(other & ~columns == 0 for other in kept):
            by_first.setdefault((columns & -columns).bit_length() - 1, []).append(columns)
            needed |= 1 << row
    return needed
