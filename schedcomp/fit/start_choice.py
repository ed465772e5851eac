"""Starts that another start does at least as well: it covers as much and does no more harm.

Only where any event may stand for another: on each date the other start could take its place.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from schedcomp.fit.bit_sets import as_sets
from schedcomp.fit.cells import NO_ROW
from schedcomp.fit.firings import Bools, Firings, Ints
from schedcomp.fit.seen import Seen
from schedcomp.program import ClockStart
from schedcomp.records import Record


def worthwhile_starts(
    groups: Sequence[Firings], seen: Sequence[Sequence[Seen]], dates: int
) -> list[Bools]:
    """For each group which starts are not outdone. `seen` has the channels of each group; `dates`
    is the number of dates on the axis.
    """
    begins = np.cumsum([0, *(len(group.starts) for group in groups)]).tolist()
    merits = _Merits.of(
        [
            _Doing.of(group, one, begin, dates)
            for group, channels, begin in zip(groups, seen, begins[:-1], strict=True)
            for one in channels
        ],
        begins[-1],
        dates,
    )
    kept = np.zeros(begins[-1], dtype=np.bool_)
    best: list[int] = []
    entries = [
        (-merits.offers[begin + start].bit_count(), _place(group, channels, start), begin + start)
        for group, channels, begin in zip(groups, seen, begins[:-1], strict=True)
        for start in np.flatnonzero(_useful(channels)).tolist()
    ]
    for _, _, start in sorted(entries):
        if not any(merits.asks[start] & ~other == 0 for other in best):
            best.append(merits.offers[start])
            kept[start] = True
    return [kept[begin:end] for begin, end in pairwise(begins)]


def _useful(channels: Sequence[Seen]) -> Bools:
    """The starts that cover something of each channel."""
    found: Bools = np.logical_and.reduce(
        [(one.profile.row != NO_ROW).any(axis=1) for one in channels]
    )
    return found


class _Doing(Record, eq=False):
    """What the starts of a group do on one channel, numbered with those of all groups.

    `starts`, `pairs` and `surely` have one entry for each firing that may cover a row: a pair is
    the row with the dates that decide. `harmful` are (start, date) of harm: strictly taken, as far
    as nothing escapes it, always, and always without escape.
    """

    starts: Ints
    pairs: Ints
    surely: Bools
    harmful: tuple[tuple[Ints, Ints], ...]

    @staticmethod
    def of(group: Firings, one: Seen, begin: int, dates: int) -> _Doing:
        seen = one.profile
        parts = []
        for rows in (seen.row, seen.other_row):
            starts, occasions = np.nonzero(rows != NO_ROW)
            numbers = rows[starts, occasions] + one.base
            pairs = _pairs(numbers, group.dates[starts, occasions], dates)
            parts.append((starts + begin, pairs, ~seen.depends[starts, occasions]))
        starts, pairs, surely = (np.concatenate(column) for column in zip(*parts, strict=True))
        bound = seen.never & ~one.escapes
        every = (seen.never | seen.depends, bound | seen.depends, seen.never, bound)
        harmful = tuple(_dates(group, firings, begin, dates) for firings in every)
        return _Doing(starts, pairs, surely, harmful)


def _pairs(rows: Ints, days: Ints, dates: int) -> Ints:
    """A number for each row with its dates, whatever their order and however often they stand."""
    days = np.sort(days, axis=1) + 1
    middle = np.where(days[:, 1] == days[:, 2], days[:, 0], days[:, 1])
    wide = dates + 2
    found: Ints = ((rows * wide + days[:, 0]) * wide + middle) * wide + days[:, 2]
    return found


def _dates(group: Firings, firings: Bools, begin: int, dates: int) -> tuple[Ints, Ints]:
    starts, occasions = np.nonzero(firings)
    days = group.dates[starts, occasions]
    known = (days >= 0) & (days < dates)
    return np.repeat(starts + begin, days.shape[1])[known.ravel()], days[known]


class _Merits(Record):
    """For each start what it surely gives, and what one that stands for it must give: bit sets."""

    offers: list[int]
    asks: list[int]

    @staticmethod
    def of(every: Sequence[_Doing], count: int, dates: int) -> _Merits:
        starts, pairs, surely = (
            np.concatenate(column)
            for column in zip(*((d.starts, d.pairs, d.surely) for d in every), strict=True)
        )
        known = np.array(sorted(set(pairs.tolist())), dtype=np.int64)
        number = known.searchsorted(pairs)
        gives = np.zeros((count, len(known)), dtype=np.bool_)
        gives[starts[surely], number[surely]] = True
        wanted = np.zeros((count, len(known)), dtype=np.bool_)
        wanted[starts, number] = True
        harm = [np.zeros((count, dates), dtype=np.bool_) for _ in range(4)]
        for one in every:
            for table, at in zip(harm, one.harmful, strict=True):
                table[at] = True
        strict = np.hstack([gives, ~harm[0], ~harm[1]])
        loose = np.hstack([wanted, ~harm[2], ~harm[3]])
        return _Merits(as_sets(strict), as_sets(loose))


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
