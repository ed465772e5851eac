"""The dates of a repeat: all that it should have, or else the most on which it is harmless."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import RangeAxis, all_within
from schedcomp.fit.firings import Bools, Ints
from schedcomp.fit.settled import Stored
from schedcomp.fit.standing import Fires
from schedcomp.records import Record, replace


class Aim(Record):
    """What an event would do on one channel: firings that are unwanted, and that help.

    Firings with the same key help once.
    """

    fires: Fires
    unwanted: Bools
    helps: Bools
    keys: Ints


class Try(Record):
    """An event on all the dates it should have, and how often it has to help to be stored."""

    event: Stored
    why: str
    aims: tuple[Aim, ...]
    least: int

    def help_of(self, event: Stored) -> int:
        """How often it helps with the dates of `event`, over all channels."""
        return sum(len({*a.keys[a.helps & a.fires.surely(event)].tolist()}) for a in self.aims)

    def is_unwanted(self, event: Stored) -> bool:
        """Whether with the dates of `event` it does anything unwanted."""
        return any(bool((a.unwanted & a.fires.may(event)).any()) for a in self.aims)

    def counts(self, count: int) -> tuple[Ints, Ints]:
        """By weekday and position: how often it may do anything unwanted, and help at most."""
        unwanted = np.zeros((7, count), dtype=np.int64)
        helps = np.zeros((7, count), dtype=np.int64)
        for aim in self.aims:
            fires = aim.fires
            dates = fires.dates_known & (aim.unwanted & fires.may(self.event))[:, None]
            np.add.at(unwanted, (fires.weekdays[dates], fires.positions[dates]), 1)
            chosen = aim.helps & fires.certain
            np.add.at(helps, (fires.weekdays[chosen, 0], fires.positions[chosen, 0]), 1)
        return unwanted, helps


def least_of(count: int) -> int:
    """At least half of the times."""
    return max(1, -(-count // 2))


def first_that_fits(
    tries: Iterable[Try], controller: Controller, ranges: RangeAxis
) -> tuple[Stored, str] | None:
    """The first that fits on all its dates; else, with fewer dates, the one that helps most."""
    seen: list[Try] = []
    for one in tries:
        whole = one.event
        allowed = whole.weekdays in _weekday_sets(controller, whole.weekdays)
        if allowed and not one.is_unwanted(whole) and one.help_of(whole) >= one.least:
            return whole, one.why
        seen.append(one)
    best: tuple[Stored, str] | None = None
    most = 0
    for one in seen:
        for part in _parts(one, controller, ranges, most):
            help_of_part = one.help_of(part)
            if help_of_part >= one.least and help_of_part > most:
                best, most = (part, one.why), help_of_part
    return best


def _weekday_sets(controller: Controller, within: int) -> list[int]:
    """The sets of weekdays a controller takes inside another, the largest first."""
    sets = set(range(1, ALL_WEEKDAYS + 1))
    if controller.weekday_sets is not None:
        sets = {sum(1 << d for d in days) for days in controller.weekday_sets}
    return sorted((w for w in sets if not w & ~within), key=lambda w: (-w.bit_count(), w))


def _parts(one: Try, controller: Controller, ranges: RangeAxis, known: int) -> Iterator[Stored]:
    """The event with every weekday set it may have and the longest ranges without bad dates.

    Left out are those that help less than they must, or no more than is `known` already.
    """
    unwanted, helps = one.counts(ranges.count)
    least = max(one.least, known + 1)
    outside = np.zeros(ranges.count, dtype=np.bool_)
    if one.event.places is not None:
        outside = ~all_within(np.arange(ranges.count), one.event.places)
    for weekdays in _weekday_sets(controller, one.event.weekdays):
        days = [d for d in range(7) if weekdays >> d & 1]
        through = np.cumsum(helps[days].sum(axis=0))
        if through[-1] < least:
            continue
        bad = outside | unwanted[days].any(axis=0)
        if not bad.any():
            yield replace(one.event, weekdays=weekdays, places=None)
        elif not ranges.whole_only:
            first, last = _runs(~bad, circular=ranges.circular)
            before = np.where(first > 0, through[first - 1], 0)
            within = through[last] - before + np.where(last < first, through[-1], 0)
            enough = within >= least
            for places in zip(first[enough].tolist(), last[enough].tolist(), strict=True):
                yield replace(one.event, weekdays=weekdays, places=places)


def _runs(good: Bools, *, circular: bool) -> tuple[Ints, Ints]:
    """Where stretches of good positions begin and end; some position is bad."""
    before, after = np.roll(good, 1), np.roll(good, -1)
    if not circular:
        before[0] = after[-1] = False
    first, last = np.flatnonzero(good & ~before), np.flatnonzero(good & ~after)
    if len(first) and last[0] < first[0]:
        last = np.roll(last, -1)
    return first, last
