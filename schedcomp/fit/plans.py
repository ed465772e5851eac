"""The plans that could run on special days: for each choice of dates a shortest one.

A plan is a short list of events that fire on its dates whatever their weekday. What a date needs
are the switchings that lie in it whole; dates of one kind need the same.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain, combinations, product

import numpy as np

from schedcomp.clock import Zone, day_number
from schedcomp.controller import Controller
from schedcomp.fit.cells import NO_ROW, Cells, profile
from schedcomp.fit.cover import minimum_cover
from schedcomp.fit.deciding_days import DecidingDays
from schedcomp.fit.firings import Axis, Firings, Ints, all_dates, any_date
from schedcomp.fit.special_days import NO_KEY, Domain
from schedcomp.model import DAY, ONE_DAY, Action
from schedcomp.program import PLAIN_DARK, ClockStart, Start
from schedcomp.records import Record
from schedcomp.target import ChannelTarget, TargetSwitching

MOST_KINDS = 6
"""Every choice of so many kinds of dates gets a plan; of more only the small choices do."""

MOST_MANY = 600
"""So many plans are tried where the plainest do not go together."""

ChannelRow = tuple[int, int]
"""Index of a channel and of one of its switchings."""


class PlanEvent(Record):
    """An event of a plan; `channels` are indexes."""

    channels: tuple[int, ...]
    action: Action
    start: Start


class Plan(Record):
    """What could run on some dates (`keys`) of a domain; `slots` are what its events take."""

    keys: frozenset[int]
    events: tuple[PlanEvent, ...]
    slots: int


class Planner(Record, eq=False):
    """Everything plans are made from."""

    channels: tuple[ChannelTarget, ...]
    firings: tuple[Firings, ...]
    controller: Controller
    clock: Zone
    axis: Axis
    deciding: DecidingDays

    def plans(self, domain: Domain, cells: Sequence[Cells]) -> tuple[Plan, ...]:
        """Short plans for every choice of kinds of dates that one plan can serve.

        Each comes once with all that its dates need, once without what an OFF at 00:00 or a
        single action could leave to others. `cells` of each channel may leave borders free: then a
        plan may need them in places that no program allows.
        """
        if self.controller.exceptions.plan == PLAIN_DARK:
            return (Plan(frozenset(domain.keys), (), 0),)
        owned, shared = self._owned(domain), self._shared(domain, cells)
        columns = self._columns(domain, cells)
        most = self.controller.exceptions.plan_events
        found = [Plan(frozenset(domain.keys), (), 0)]
        for keys in _choices(self._kinds(domain, owned)):
            for needs in dict.fromkeys(map(tuple, self._needs(keys, owned, shared))):
                plans = (self._plan(keys, needs, some) for some in self._usable(columns))
                found += [p for p in plans if p is not None and (most is None or p.slots <= most)]
        return _undominated(tuple(dict.fromkeys(found)))

    def many_plans(self, domain: Domain, cells: Sequence[Cells]) -> tuple[Plan, ...]:
        """As `plans`, with every choice of as few events instead of one, up to `MOST_MANY`; each
        for all dates on which it does no harm.

        They take long, and help where events that do well each by itself go ill together.
        """
        owned, shared = self._owned(domain), self._shared(domain, cells)
        columns = self._columns(domain, cells)
        bad_of = {column.event: column.bad for column in columns}
        most = self.controller.exceptions.plan_events
        found: dict[tuple[PlanEvent, ...], Plan] = {}
        for keys in _choices(self._kinds(domain, owned)):
            usable = [c for c in columns if not c.bad & keys]
            for needs in dict.fromkeys(map(tuple, self._needs(keys, owned, shared))):
                both = [self._every_choice(keys, needs, usable, action) for action in Action]
                for chosen in product(*both):
                    events = tuple(chain(*chosen))
                    slots = self.slots_of(events)
                    if events not in found and (most is None or slots <= most):
                        bad = frozenset().union(*(bad_of[event] for event in events))
                        found[events] = Plan(frozenset(domain.keys) - bad, events, slots)
                    if len(found) == MOST_MANY:
                        return tuple(found.values())
        return tuple(found.values())

    def _every_choice(
        self,
        keys: frozenset[int],
        needs: Sequence[ChannelRow],
        columns: Sequence[_Column],
        action: Action,
    ) -> list[tuple[PlanEvent, ...]]:
        """Every choice of as few events of an action as do what is needed; none if nothing does."""
        wanted, mine, masks = self._served(keys, needs, columns, action)
        if wanted & ~_union(masks):
            return []
        least = len(minimum_cover(wanted, masks).chosen)
        useful = [n for n, mask in enumerate(masks) if mask]
        if math.comb(len(useful), least) > MOST_MANY:
            return [tuple(mine[c].event for c in minimum_cover(wanted, masks).chosen)]
        return [
            tuple(mine[n].event for n in chosen)
            for chosen in combinations(useful, least)
            if not wanted & ~_union([masks[n] for n in chosen])
        ]

    def _served(
        self,
        keys: frozenset[int],
        needs: Sequence[ChannelRow],
        columns: Sequence[_Column],
        action: Action,
    ) -> tuple[int, list[_Column], list[int]]:
        """The needs of an action as bits, its columns, and which of the needs each does."""
        bits = {row: 1 << n for n, row in enumerate(needs)}
        wanted = _union([b for (c, r), b in bits.items() if self._switching(c, r).action is action])
        mine = [c for c in columns if c.event.action is action]
        return (
            wanted,
            mine,
            [_union([bits.get(row, 0) for row, on in c.covers if on <= keys]) for c in mine],
        )

    def _usable(self, columns: Sequence[_Column]) -> Iterator[Sequence[_Column]]:
        """All, and without those that would meet what a unit itself does at 00:00."""
        yield columns
        if self.acts_at_midnight:
            yield [column for column in columns if column.event.start != ClockStart(0)]

    def _needs(
        self,
        keys: frozenset[int],
        owned: Mapping[int, Sequence[ChannelRow]],
        shared: Mapping[int, Sequence[ChannelRow]],
    ) -> Iterator[list[ChannelRow]]:
        """The switchings that a plan for these dates is to do: all, more, or some of them."""
        every = [row for key in sorted(keys) for row in owned[key]]
        more = sorted({row for key in keys for row in shared[key]})
        for rows in (every, [*every, *more]):
            for some in (rows, [row for row in rows if not self.is_left_to_midnight(*row)]):
                yield some
                for action in Action:
                    yield [(c, r) for c, r in some if self._switching(c, r).action is action]
        for row in more:
            yield [*every, row]
            yield [row]

    def _shared(self, domain: Domain, cells: Sequence[Cells]) -> dict[int, list[ChannelRow]]:
        """For each key the switchings whose bands lie in one of its dates in part, or that firings
        it decides might do.
        """
        keys = domain.by_day(self.axis)
        special = np.concatenate([[0], np.cumsum(keys != NO_KEY)])
        found: dict[int, list[ChannelRow]] = {key: [] for key in domain.keys}
        for channel in domain.channels:
            begins, ends = self.deciding.of_bands(channel)
            first, last = self.deciding.of_firings(channel, cells[channel])
            first, last = np.clip(first, 0, len(keys)), np.clip(last + 1, 0, len(keys))
            for row in np.flatnonzero(special[last] > special[first]).tolist():
                for day in range(int(first[row]), int(last[row])):
                    whole = begins[row] == ends[row] == day
                    if not whole and keys[day] != NO_KEY:
                        found[int(keys[day])].append((channel, row))
        return found

    def is_left_to_midnight(self, channel: int, row: int) -> bool:
        """Whether what a unit does at 00:00 of some date could be a switching."""
        switching = self._switching(channel, row)
        may_turn_on = self.controller.exceptions.start == "recalculates"
        if switching.action is Action.ON and not may_turn_on:
            return False
        first = self.clock.local_date(switching.earliest)
        starts = (self.clock.first_pass(first + ONE_DAY * n, 0) for n in (0, 1))
        return any(switching.earliest <= start <= switching.latest for start in starts)

    def least_events(
        self, domain: Domain, cells: Sequence[Cells]
    ) -> dict[tuple[int, Action], dict[int, int]]:
        """How many events of an action on a channel any plan for a key has to hold.

        Channel -1 stands for all where an event may switch several. An event covers one switching
        of a channel each time it fires. `cells` have all borders free that may be.
        """
        together = self.controller.event_covers == "any channels"
        owned = self._owned(domain)
        found: dict[tuple[int, Action], dict[int, int]] = {}
        for channel in domain.channels:
            for action in Action:
                by_key = found.setdefault((-1 if together else channel, action), {})
                elsewhere = self.deciding.elsewhere(channel, cells[channel], action)
                for key, rows in owned.items():
                    mine = [
                        row
                        for c, row in rows
                        if c == channel
                        and self._switching(c, row).action is action
                        and row not in elsewhere
                        and not (self.acts_at_midnight and self.is_left_to_midnight(c, row))
                    ]
                    days = domain.days[domain.keys.index(key)]
                    needed = max((self._events_for(channel, mine, day) for day in days), default=0)
                    by_key[key] = max(needed, by_key.get(key, 0))
        return found

    @property
    def acts_at_midnight(self) -> bool:
        """Whether a unit may switch where special days begin or end."""
        rule = self.controller.exceptions
        return not rule.start == rule.end == "keeps state"

    def _events_for(self, channel: int, rows: Sequence[int], day: int) -> int:
        """How many events these switchings take, of those that lie in one axis date."""
        begin = (day_number(self.axis.first) + day) * DAY
        earliest = (self._switching(channel, row).earliest for row in rows)
        wanted = sum(begin <= t + self.clock.offset(t) < begin + DAY for t in earliest)
        most = self._most_firings(day)
        return math.ceil(wanted / most) if most else 0

    def _most_firings(self, day: int) -> int:
        """How often any start may fire on an axis date."""
        return max(
            int(any_date(group.dates == day).sum(axis=1).max(initial=0)) for group in self.firings
        )

    def _owned(self, domain: Domain) -> dict[int, list[ChannelRow]]:
        """For each key the switchings whose bands lie in one of its dates whole."""
        keys = domain.by_day(self.axis)
        found: dict[int, list[ChannelRow]] = {key: [] for key in domain.keys}
        for channel in domain.channels:
            begins, ends = self.deciding.of_bands(channel)
            inside = (begins == ends) & (begins >= 0) & (begins < len(keys))
            inside &= keys[np.where(inside, begins, 0)] != NO_KEY
            for row in np.flatnonzero(inside).tolist():
                found[int(keys[begins[row]])].append((channel, row))
        return found

    def _kinds(
        self, domain: Domain, owned: Mapping[int, Sequence[ChannelRow]]
    ) -> list[frozenset[int]]:
        """Keys that need the same, as far as words tell; each by itself where there are few."""
        if len(domain.keys) <= MOST_KINDS:
            return [frozenset({key}) for key in domain.keys]
        kinds: dict[object, set[int]] = {}
        for key in domain.keys:
            switchings = [(c, self.channels[c].switchings[row]) for c, row in owned[key]]
            needs = tuple((c, s.action, s.reason.phrase) for c, s in switchings)
            kinds.setdefault(needs, set()).add(key)
        return [frozenset(keys) for keys in kinds.values()]

    def _columns(self, domain: Domain, cells: Sequence[Cells]) -> list[_Column]:
        """Every event a plan could hold, in canonical order, with what it does on each key."""
        keys = domain.by_day(self.axis)
        found: dict[tuple[Action, Start], list[_Column]] = {}
        for channel in domain.channels:
            for group in self.firings:
                for action in Action:
                    for column in _columns(group, cells[channel], channel, action, keys):
                        found.setdefault((action, column.event.start), []).append(column)
        columns = [column for same in found.values() for column in same]
        if self.controller.event_covers == "any channels":
            columns += [_joined(same) for alike in found.values() for same in _several(alike)]
        return sorted(columns, key=_order)

    def _plan(
        self,
        keys: frozenset[int],
        needs: Sequence[ChannelRow],
        columns: Sequence[_Column],
    ) -> Plan | None:
        usable = [c for c in columns if not c.bad & keys]
        chosen: list[PlanEvent] = []
        for action in Action:
            wanted, mine, masks = self._served(keys, needs, usable, action)
            if wanted & ~_union(masks):
                return None
            cover = minimum_cover(wanted, masks)
            chosen += [mine[c].event for c in cover.chosen]
        return Plan(keys, tuple(chosen), self.slots_of(chosen))

    def slots_of(self, events: Sequence[PlanEvent]) -> int:
        """The slots that the events of a plan take."""
        ons = sum(event.action is Action.ON for event in events)
        pairs = self.controller.slot_holds == "an on and an off"
        return max(ons, len(events) - ons) if pairs else len(events)

    def _switching(self, channel: int, row: int) -> TargetSwitching:
        return self.channels[channel].switchings[row]


class _Column(Record):
    """An event of a plan: keys on which it would do harm, and what it covers where the plan runs on
    which keys; a firing may be decided by another date than the one it falls on.
    """

    event: PlanEvent
    bad: frozenset[int]
    covers: frozenset[tuple[ChannelRow, frozenset[int]]]
    distance_seconds: int


def _columns(
    group: Firings, cells: Cells, channel: int, action: Action, keys: Ints
) -> Iterator[_Column]:
    """The events of one group on one channel that cover anything on a date with a key."""
    seen = profile(group, cells, action)
    inside = (group.dates >= 0) & (group.dates < len(keys))
    of_dates = np.where(inside, keys[np.where(inside, group.dates, 0)], NO_KEY)
    touches = any_date(of_dates != NO_KEY)
    within = all_dates(of_dates != NO_KEY)
    covers = (seen.row != NO_ROW) & within
    for start in np.flatnonzero(covers.any(axis=1)).tolist():
        harm = of_dates[start, seen.never[start] & touches[start]]
        occasions = np.flatnonzero(covers[start])
        rows = seen.row[start, occasions]
        middle = (group.first[start, occasions] + group.last[start, occasions]) // 2
        yield _Column(
            PlanEvent((channel,), action, group.starts[start]),
            frozenset(harm[harm != NO_KEY].tolist()),
            frozenset(
                ((channel, row), frozenset(on))
                for row, on in zip(rows.tolist(), of_dates[start, occasions].tolist(), strict=True)
            ),
            int(np.abs(middle - cells.asked[rows]).mean()),
        )


def _several(alike: Sequence[_Column]) -> Iterator[tuple[_Column, ...]]:
    """Every choice of two or more channels."""
    for size in range(2, len(alike) + 1):
        yield from combinations(alike, size)


def _joined(columns: Sequence[_Column]) -> _Column:
    """The same event on several channels."""
    event = columns[0].event
    channels = tuple(sorted(c for column in columns for c in column.event.channels))
    return _Column(
        PlanEvent(channels, event.action, event.start),
        frozenset().union(*(c.bad for c in columns)),
        frozenset().union(*(c.covers for c in columns)),
        sum(c.distance_seconds for c in columns) // len(columns),
    )


def _order(column: _Column) -> tuple[object, ...]:
    start = column.event.start
    if isinstance(start, ClockStart):
        which: tuple[object, ...] = (True, column.distance_seconds, "", start.minutes)
    else:
        which = (False, column.distance_seconds, start.word, start.offset_minutes)
    return (*which, column.event.channels)


def _choices(kinds: Sequence[frozenset[int]]) -> Iterator[frozenset[int]]:
    """Unions of kinds: of all sizes where there are few, else of one, two and all of them."""
    few = len(kinds) <= MOST_KINDS
    for size in range(1, len(kinds) + 1) if few else sorted({1, 2, len(kinds)}):
        for chosen in combinations(kinds, size):
            yield frozenset().union(*chosen)


def _undominated(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """Plans that no other serves more dates than with the same events."""
    return tuple(
        plan
        for plan in plans
        if not any(
            plan.keys < other.keys and set(plan.events) == set(other.events) for other in plans
        )
    )


def _union(masks: Sequence[int]) -> int:
    found = 0
    for mask in masks:
        found |= mask
    return found
