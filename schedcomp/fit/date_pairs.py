"""Pairs of a weekday set and a date range, with the rows that a start covers on these dates."""

from __future__ import annotations

from collections.abc import Iterable

from schedcomp.fit.date_ranges import Places, RangeAxis

Pair = tuple[int, Places | None, tuple[int, ...]]


def undominated(pairs: Iterable[Pair], key: object, ranges: RangeAxis) -> list[Pair]:
    """Pairs whose rows no other one covers too; of equal ones the first.

    They are remembered by a key of all that decides them: the same dates are looked at again once
    the fewest events are known.
    """
    if key in ranges.known_pairs:
        return ranges.known_pairs[key]
    kept: list[Pair] = []
    covered: list[frozenset[int]] = []
    for pair in sorted(pairs, key=_largest_first):
        rows = frozenset(pair[2])
        if not any(map(rows.issubset, covered)):
            covered.append(rows)
            kept.append(pair)
    ranges.known_pairs[key] = kept
    return kept


def _largest_first(pair: Pair) -> tuple[object, ...]:
    mask, places, rows = pair
    return (-len(rows), -mask.bit_count(), mask, places or (-1, -1))
