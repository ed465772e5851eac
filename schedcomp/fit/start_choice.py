"""Starts that another start does at least as well: it covers as much and does no more harm.

Only where any event may stand for another: on each date the other start could take its place.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.fit.seen import Seen
from schedcomp.program import ClockStart


def worthwhile_starts(
    groups: Sequence[Firings], seen: Sequence[Sequence[Seen]], dates: int
) -> list[Bools]:
    """For each group which starts are not outdone. `seen` has the channels of each group; `dates`
    is the number of dates on the axis.
    """
    table = _Table({})
    entries = []
    for number, (group, channels) in enumerate(zip(groups, seen, strict=True)):
        useful = np.logical_and.reduce([(s.profile.row != NO_ROW).any(axis=1) for s in channels])
        for start in np.flatnonzero(useful).tolist():
            offers, asks = table.of(group, channels, start, dates)
            entries.append((_place(group, channels, start), number, start, offers, asks))
    kept = [np.zeros(len(group.starts), dtype=np.bool_) for group in groups]
    best: list[int] = []
    for _, number, start, offers, asks in sorted(entries, key=lambda e: (-e[3].bit_count(), e[0])):
        if not any(asks & ~other == 0 for other in best):
            best.append(offers)
            kept[number][start] = True
    return kept


class _Table:
    """Numbers for (row, dates) pairs."""

    def __init__(self, items: dict[object, int]) -> None:
        self.items = items

    def of(
        self, group: Firings, channels: Sequence[Seen], start: int, dates: int
    ) -> tuple[int, int]:
        """What a start surely gives, and what one that stands for it must give, as bit sets."""
        gives = asks = 0
        harm = np.zeros((4, dates), dtype=np.bool_)
        for one in channels:
            seen, escapes = one.profile, one.escapes[start]
            depends, never = seen.depends[start], seen.never[start]
            bound = never & ~escapes
            for number, firings in ((2, never), (0, depends), (3, bound), (1, depends)):
                if firings.any():
                    days = group.dates[start, firings]
                    harm[number, days[(days >= 0) & (days < dates)]] = True
            harm[0] |= harm[2]
            harm[1] |= harm[3]
            for rows in (seen.row[start], seen.other_row[start]):
                for occasion in np.flatnonzero(rows != NO_ROW).tolist():
                    bit = 1 << self._number(
                        one.base + int(rows[occasion]), group.dates[start, occasion]
                    )
                    asks |= bit
                    if not depends[occasion]:
                        gives |= bit
        shift = 2 * dates
        strict, loose = _bits(~harm[:2]), _bits(~harm[2:])
        return gives << shift | strict, asks << shift | loose

    def _number(self, row: int, dates: Ints) -> int:
        key = (row, *sorted(set(dates.tolist())))
        return self.items.setdefault(key, len(self.items))


def _bits(flags: Bools) -> int:
    packed = np.packbits(flags.ravel(), bitorder="little")
    return int.from_bytes(packed.tobytes(), "little")


def _place(group: Firings, channels: Sequence[Seen], start: int) -> tuple[object, ...]:
    """Canonical order of starts: sun before clock, nearest to the wish first."""
    away = []
    for one in channels:
        rows = one.profile.row[start]
        occasions = np.flatnonzero(rows != NO_ROW)
        middle = (group.first[start, occasions] + group.last[start, occasions]) // 2
        away.append(float(np.abs(middle - one.asked[rows[occasions]]).mean()))
    begin = group.starts[start]
    if isinstance(begin, ClockStart):
        return (True, round(sum(away)), "", begin.minutes)
    return (False, round(sum(away)), begin.word, begin.offset_minutes)
