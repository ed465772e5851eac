"""The events a unit could be given, on one channel or several, each with what decides about it.

Some of what a firing does holds whatever else is chosen; the rest depends on borders and on which
dates become special days. Only that rest goes into the model firing by firing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.candidates import ALL_WEEKDAYS, Candidate, Cut, candidates_of
from schedcomp.fit.cells import NO_ROW, Cells, Profile, conditions, profile
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.firings import NO_DATE, Bools, Firings, all_dates, any_date
from schedcomp.fit.marked import Done, Marked
from schedcomp.fit.model import Firing
from schedcomp.fit.seen import Seen
from schedcomp.fit.start_choice import worthwhile_starts
from schedcomp.model import DAY, Action
from schedcomp.program import Start
from schedcomp.records import Record, field

SINGLE_WEEKDAYS = tuple(frozenset({day}) for day in range(7))
MOST_IDLE = 4
MANY_CHANNELS = 4
"""Of more channels only single ones, pairs, those that do the same and all are tried together."""


class Offer(Record):
    """An event that could be stored: what it covers whatever else is chosen (`sure`, rows of all
    channels), and the firings that depend on something. `cost` is in slots.
    """

    candidate: Candidate
    sure: frozenset[int]
    firings: tuple[Firing, ...]
    cost: int


_Key = tuple[Start, Action, int]
"""A start, what it does, and a channel (index)."""


class Catalogue(Record, eq=False):
    """Everything offers are made from. `eligible[c]` marks the axis dates on which channel `c`
    may have special days; rows of channel `c` are numbered from `bases[c]` on.
    """

    cells: tuple[Cells, ...]
    bases: tuple[int, ...]
    firings: tuple[Firings, ...]
    ranges: RangeAxis
    controller: Controller
    eligible: tuple[Bools, ...]
    _widest: list[Candidate] = field(default_factory=list)
    _profiles: dict[tuple[int, int, Action], Profile] = field(default_factory=dict)
    _worthwhile: dict[tuple[Action, tuple[int, ...], bool], list[Bools]] = field(
        default_factory=dict
    )

    def of(self, cells: tuple[Cells, ...]) -> Catalogue:
        """The same with other cells."""
        return Catalogue(
            cells, self.bases, self.firings, self.ranges, self.controller, self.eligible
        )

    def widest(self) -> Sequence[Candidate]:
        """Candidates with every date on which nothing forbids them."""
        if not self._widest:
            self._widest.extend(self.candidates(Cut.NOWHERE, escape=True))
        return self._widest

    def candidates(self, cut: Cut, *, escape: bool) -> Iterator[Candidate]:
        """Candidates on every set of channels; `escape`: dates that may be special do no harm."""
        sets = stored_weekday_sets(self.controller)
        for action in Action:
            every = [
                [self._seen(number, c, action, escape) for c in range(len(self.cells))]
                for number in range(len(self.firings))
            ]
            for channels in self._channel_sets():
                seen = [[one[c] for c in channels] for one in every]
                among: Sequence[Bools | None] = [None] * len(seen)
                if self.exchangeable:
                    among = self._worthwhile_of(action, channels, seen, escape)
                for group, chosen, starts in zip(self.firings, seen, among, strict=True):
                    yield from candidates_of(
                        group,
                        chosen,
                        action,
                        self.ranges,
                        sets,
                        cut,
                        starts,
                        every_pair=not self._largest_is_best,
                    )

    def idle(self) -> Iterator[Candidate]:
        """For each channel and action the events that come latest in a day of those that neither
        cover anything nor do harm on any date, special ones aside.
        """
        sets = [
            sum(1 << day for day in days) for days in stored_weekday_sets(self.controller) or ()
        ]
        if sets and ALL_WEEKDAYS not in sets:
            return
        for channel in range(len(self.cells)):
            for action in Action:
                found: list[tuple[int, int, int]] = []
                for number, group in enumerate(self.firings):
                    seen = self._seen(number, channel, action, escape=True)
                    every = np.arange(len(group.starts))
                    harmless = ~(seen.never(every) | seen.profile.depends).any(axis=1)
                    harmless &= (seen.profile.row == NO_ROW).all(axis=1)
                    found += [
                        (-self._time_of_day(group, start), number, start)
                        for start in np.flatnonzero(harmless).tolist()
                    ]
                for _, number, start in sorted(found)[:MOST_IDLE]:
                    begin = self.firings[number].starts[start]
                    yield Candidate(action, begin, ALL_WEEKDAYS, None, (), 0, (channel,))

    def _time_of_day(self, group: Firings, start: int) -> int:
        exists = any_date(group.dates[start] != NO_DATE)
        return int(((group.first[start][exists] - self.cells[0].start) % DAY).max(initial=0))

    @property
    def _largest_is_best(self) -> bool:
        """Whether an event on fewer dates is never worth more than one on all it could have."""
        return self.controller.slot_holds == "one action" and not costs_by_day(self.controller)

    @property
    def exchangeable(self) -> bool:
        """Whether any event that does the same may stand for another; not where a unit goes by
        which came last.
        """
        controller = self.controller
        if controller.exceptions.slots and controller.exceptions.end == "recalculates":
            return False
        return controller.slot_holds == "one action" and controller.offsets == "per event"

    @property
    def has_every_channel_set(self) -> bool:
        """Whether no event is left out because of the channels it would switch."""
        alone = self.controller.event_covers == "one channel"
        return alone or len(self.cells) <= MANY_CHANNELS

    def _channel_sets(self) -> Iterator[tuple[int, ...]]:
        count = len(self.cells)
        yield from combinations(range(count), 1)
        if self.controller.event_covers == "one channel":
            return
        if self.has_every_channel_set:
            for size in range(2, count + 1):
                yield from combinations(range(count), size)
            return
        pairs = combinations(range(count), 2)
        yield from dict.fromkeys([*pairs, *self._alike(), tuple(range(count))])

    def _alike(self) -> Iterator[tuple[int, ...]]:
        """Three channels or more that are to switch on, or off, at the same times."""
        for action in Action:
            same: dict[tuple[bytes, bytes], list[int]] = {}
            for channel, cells in enumerate(self.cells):
                mine = cells.turns_on == (action is Action.ON)
                times = (cells.low[mine].tobytes(), cells.high[mine].tobytes())
                same.setdefault(times, []).append(channel)
            yield from (tuple(channels) for channels in same.values() if len(channels) > 2)

    def _worthwhile_of(
        self,
        action: Action,
        channels: tuple[int, ...],
        seen: Sequence[Sequence[Seen]],
        escape: bool,
    ) -> list[Bools]:
        key = (action, channels, escape)
        if key not in self._worthwhile:
            found = worthwhile_starts(self.firings, seen, self.ranges.axis.count)
            self._worthwhile[key] = found
        return self._worthwhile[key]

    def profile(self, group: int, channel: int, action: Action) -> Profile:
        """What a group of firings does as an action on a channel (index)."""
        key = (group, channel, action)
        if key not in self._profiles:
            self._profiles[key] = profile(self.firings[group], self.cells[channel], action)
        return self._profiles[key]

    def reached_by_starts(self, action: Action) -> list[int]:
        """For each start the rows (a bit set) it could do on any dates of any channels."""
        found = []
        for number, group in enumerate(self.firings):
            masks = [0] * len(group.starts)
            for channel, base in enumerate(self.bases):
                seen = self.profile(number, channel, action)
                for rows in (seen.row, seen.other_row):
                    for start, occasion in np.argwhere(rows != NO_ROW).tolist():
                        masks[start] |= 1 << base + int(rows[start, occasion])
            found += masks
        return found

    def _seen(self, number: int, channel: int, action: Action, escape: bool) -> Seen:
        cells, group = self.cells[channel], self.firings[number]
        escapes = np.zeros(group.first.shape, dtype=np.bool_)
        if escape:
            escapes = _dates_all(group, self.eligible[channel])
        seen = self.profile(number, channel, action)
        return Seen(seen, cells.asked, self.bases[channel], channel, escapes)

    def offers(self, candidates: Sequence[Candidate]) -> list[Offer]:
        """Each candidate with its firings that depend on something."""
        wanted: dict[_Key, list[int]] = {}
        for number, candidate in enumerate(candidates):
            for channel in candidate.channels:
                key = candidate.start, candidate.action, channel
                wanted.setdefault(key, []).append(number)
        done: dict[tuple[int, int], Done] = {}
        for number in range(len(self.firings)):
            for channel in range(len(self.cells)):
                for action in Action:
                    for key, marked in self._marked(number, channel, action, wanted):
                        own = [candidates[n] for n in wanted[key]]
                        found = marked.done_by(own, channel, self.ranges)
                        done |= {
                            (n, channel): one for n, one in zip(wanted[key], found, strict=True)
                        }
        return [
            self._offer(candidate, [done[n, channel] for channel in candidate.channels])
            for n, candidate in enumerate(candidates)
        ]

    def _marked(
        self,
        number_of_group: int,
        channel: int,
        action: Action,
        wanted: Mapping[_Key, object],
    ) -> Iterator[tuple[_Key, Marked]]:
        group = self.firings[number_of_group]
        seen = self.profile(number_of_group, channel, action)
        covering = seen.row != NO_ROW
        touches = _dates_any(group, self.eligible[channel])
        conditional = seen.depends | seen.never | (covering & touches)
        conditional &= any_date(group.dates != NO_DATE)
        for number, start in enumerate(group.starts):
            if (start, action, channel) in wanted:
                occasions = np.flatnonzero(conditional[number])
                free = np.flatnonzero(covering[number] & ~conditional[number])
                yield (start, action, channel), Marked(group, number, occasions, free, seen.row)

    def _offer(self, candidate: Candidate, done: Sequence[Done]) -> Offer:
        """`done` are what the candidate does on each of its channels."""
        firings: list[Firing] = []
        sure: set[int] = set()
        for channel, (on_channel, rows) in zip(candidate.channels, done, strict=True):
            firings += on_channel
            sure.update(self.bases[channel] + row for row in rows)
        return Offer(candidate, frozenset(sure), tuple(firings), self.cost(candidate))

    def cost(self, candidate: Candidate) -> int:
        """The slots an event takes."""
        return candidate.weekdays.bit_count() if costs_by_day(self.controller) else 1


def _dates_all(group: Firings, marked: Bools) -> Bools:
    known = (group.dates >= 0) & (group.dates < len(marked))
    return all_dates(known & marked[np.where(known, group.dates, 0)])


def _dates_any(group: Firings, marked: Bools) -> Bools:
    known = (group.dates >= 0) & (group.dates < len(marked))
    return any_date(known & marked[np.where(known, group.dates, 0)])


def costs_by_day(controller: Controller) -> bool:
    """Whether an event takes a slot for each of its weekdays."""
    return controller.weekday_set_costs == "a slot per day"


def stored_weekday_sets(controller: Controller) -> tuple[frozenset[int], ...] | None:
    """The weekday sets worth considering: where each day costs a slot, single days if allowed."""
    sets = controller.weekday_sets
    if costs_by_day(controller) and (sets is None or set(SINGLE_WEEKDAYS) <= set(sets)):
        return SINGLE_WEEKDAYS
    return sets


def reduced(offers: Sequence[Offer], catalogue: Catalogue) -> list[Offer]:
    """Offers without those that another does at least as well, for no more slots.

    Of equal ones the first stays. Where special days are possible one that names every date, or
    every weekday, is kept beside one that does not: with them it may be as harmless. Only for
    controllers on which any event may stand for another.
    """
    masks = _merits(offers, catalogue)
    order = sorted(range(len(offers)), key=lambda i: (offers[i].cost, -masks[i].bit_count(), i))
    beyond = [~mask for mask in masks]
    kept: list[int] = []
    by_row: dict[int, list[int]] = {}
    for number in order:
        rows = offers[number].candidate.rows
        rivals = min((by_row.get(row, []) for row in rows), key=len)
        if _is_within_another(masks[number], rivals, beyond):
            continue
        kept.append(number)
        for row in rows:
            by_row.setdefault(row, []).append(number)
    return [offers[number] for number in sorted(kept)]


def _is_within_another(mask: int, others: Iterable[int], beyond: Sequence[int]) -> bool:
    for other in others:  # noqa: SIM110 - asked too often for a generator
        if not mask & beyond[other]:
            return True
    return False


def _merits(offers: Sequence[Offer], catalogue: Catalogue) -> list[int]:
    """For each offer a bit set: what it gives, and what others need and it does not."""
    bits = _Bits()
    gives: list[int] = []
    needs: list[int] = []
    sometimes: dict[int, int] = {}
    known: dict[int, tuple[int, list[tuple[int, int]]]] = {}
    for offer in offers:
        given = needed = 0
        for firing in offer.firings:
            # One object is many events' firing, and always of one action.
            if id(firing) not in known:
                known[id(firing)] = _merits_of(firing, offer.candidate.action, catalogue, bits)
            need, items = known[id(firing)]
            needed |= need
            for row, item in items:
                given |= item
                sometimes[row] = sometimes.get(row, 0) | item
        gives.append(given)
        needs.append(needed)
    if any(marks.any() for marks in catalogue.eligible):
        for number, offer in enumerate(offers):
            for word in _plainness(offer.candidate):
                gives[number] |= bits.of(word)
    every_need = 0
    for needed in needs:
        every_need |= needed
    rows = {row for offer in offers for row in offer.sure}
    surely = {row: bits.of((row, "sure")) | sometimes.get(row, 0) for row in rows}
    masks = []
    for offer, given, needed in zip(offers, gives, needs, strict=True):
        mask = given | every_need & ~needed
        for row in offer.sure:
            mask |= surely[row]
        masks.append(mask)
    return masks


class _Bits:
    """A bit for each thing asked for, in order of asking."""

    def __init__(self) -> None:
        self._known: dict[object, int] = {}

    def of(self, item: object) -> int:
        return 1 << self._known.setdefault(item, len(self._known))


def _merits_of(
    firing: Firing, action: Action, catalogue: Catalogue, bits: _Bits
) -> tuple[int, list[tuple[int, int]]]:
    """The bit of what a firing needs, and for each row it may cover that of the covering."""
    need, rows = _conditions_of(firing, action, catalogue)
    items = [(row, bits.of((row, firing.days if need is None else firing))) for row in rows]
    return 0 if need is None else bits.of(("need", need)), items


def _plainness(candidate: Candidate) -> set[object]:
    plain = {
        "every date": candidate.places is None,
        "every weekday": candidate.weekdays == ALL_WEEKDAYS,
    }
    return {word for word, holds in plain.items() if holds}


def _conditions_of(
    firing: Firing, action: Action, catalogue: Catalogue
) -> tuple[object | None, list[int]]:
    """What a firing needs to be harmless, None for nothing, and the rows it may cover."""
    cells = catalogue.cells[firing.channel]
    found = list(conditions(firing.first, firing.last, cells, action))
    if not found:
        return (firing.channel, firing.days), []
    reached = [c.row for c in found if c.row != NO_ROW and firing.last <= int(cells.high[c.row])]
    rows = [catalogue.bases[firing.channel] + row for row in reached if firing.certain]
    sure = len(found) == 1 and found[0].after == NO_ROW and found[0].before == NO_ROW
    return None if sure else (action, firing), rows
