"""The fewest slots for all channels of a unit at once, on every kind of controller, with the proof.

Special days, slots that hold an on and an off, offsets that events share and events that switch
several channels tie the channels together; everything then goes into one exact model.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import chain, islice

import numpy as np

from schedcomp.fit.bit_sets import row_bits
from schedcomp.fit.book import Book, planner_of
from schedcomp.fit.candidates import Candidate, Cut, order_of
from schedcomp.fit.cells import Cells, cells_of
from schedcomp.fit.cover import Reduced
from schedcomp.fit.firings import Bools
from schedcomp.fit.first_states import with_first_states
from schedcomp.fit.free_borders import free_cells
from schedcomp.fit.offers import Catalogue, Offer, reduced, stored_weekday_sets
from schedcomp.fit.pairs import on_shared_dates
from schedcomp.fit.plans import Planner
from schedcomp.fit.settled import with_borders
from schedcomp.fit.solver import Solution, Unsolved, least_cost, solve
from schedcomp.fit.special_days import Domain, domains_of, eligible_dates
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole, out_of_reach
from schedcomp.model import Action
from schedcomp.program import PLAIN_DARK
from schedcomp.records import Record, replace

MOST_CANDIDATES = 6_000
MOST_EXCHANGEABLE = 30_000
MOST_ROWS = 12_000
"""Beyond these the model takes minutes; then fewer candidates, or fixed borders, are tried. Of
candidates that may stand for each other most are left out before there is a model.
"""


def fewest_slots(
    job: UnitJob, *, canonical: bool, enough: int | None = None
) -> Whole | tuple[Hopeless, ...]:
    """The fewest slots that do what all targets ask, with a proven lower bound.

    `canonical`: of all such programs the plainest, and of these the first in canonical order;
    else any, which comes sooner. A program of `enough` slots is not made shorter.

    Where the complete model is too large, fewer candidates or fixed borders are tried, and the
    bound is that of a model that leaves borders and special days free.
    """
    empty = [channel for channel in job.channels if not channel.is_reachable]
    if empty:
        return tuple(map(out_of_reach, empty))
    attempt = _Attempt.of(job)
    least = attempt.least() if job.least is None else job.least_of_all
    if not isinstance(least, int):
        return least
    for one in attempt.one_after_another():
        found = one.best(least, canonical=canonical, enough=enough)
        if found is not None:
            return found
    return tuple(attempt.doubtful()) or _all_of(job)


def least_together(job: UnitJob, *, whole: bool) -> Iterator[int]:
    """Lower bounds on the slots of all channels, each taking longer than the one before it.

    Not `whole`: where events need not be whole. 0 where nothing at all is known to work.
    """
    if not all(channel.is_reachable for channel in job.channels):
        yield 0
        return
    attempt = _Attempt.of(job)
    least = attempt.least(whole=whole)
    if isinstance(least, int):
        yield least
        yield attempt.floor(whole=whole)


def with_free_borders(job: UnitJob, least: int) -> Whole | None:
    """The best program with borders chosen freely, None where the model has or finds none.

    `least` is a known lower bound.
    """
    return _Attempt.of(job).best(least, canonical=True)


def _all_of(job: UnitJob) -> tuple[Hopeless, ...]:
    return tuple(
        Hopeless(channel, tuple(range(len(channel.switchings))))
        for channel in job.channels
        if channel.switchings
    )


def _cover_bound(rows: int, masks: Iterable[int], *, whole: bool) -> int:
    """How many of these it takes at least to cover all `rows`, which they do together."""
    useful = [mask & rows for mask in masks if mask & rows]
    cover = Reduced.of(rows, useful)
    return cover.minimum(canonical=False).bound if whole else cover.floor()


def _key(job: UnitJob, *what: object) -> tuple[object, ...]:
    """A name for something about these channels of a job, with the special days it may use."""
    return (*what, tuple(c.channel for c in job.channels), job.controller.exceptions)


class _Best(Record):
    """The best of the models tried, and a bound for every program."""

    slots: int
    book: Book
    found: Solution
    bound: int


class _Attempt(Record):
    """A job with all borders free that could be moved, or with fixed ones; `free` has them free.

    `many`: with more plans for special days than the plainest.
    """

    job: UnitJob
    catalogue: Catalogue
    planner: Planner
    domains: tuple[Domain, ...]
    free: tuple[Cells, ...]
    many: bool = False

    @staticmethod
    def of(job: UnitJob) -> _Attempt:
        """With free borders; the same one for the same channels and special days."""
        return job.remembered(_key(job, "attempt"), lambda: _Attempt._made(job))

    @staticmethod
    def _made(job: UnitJob) -> _Attempt:
        axis = job.ranges.axis
        domains = domains_of(job.channels, job.controller, job.clock, axis)
        free = free_cells(job.channels, job.firings, job.controller, job.clock, axis, domains)
        eligible = [eligible_dates(domains, c, axis) for c in range(len(job.channels))]
        bases = [0]
        for channel in job.channels[:-1]:
            bases.append(bases[-1] + len(channel.switchings))
        catalogue = Catalogue(
            free, tuple(bases), job.firings, job.ranges, job.controller, tuple(eligible)
        )
        return _Attempt(job, catalogue, planner_of(job), domains, free)

    @property
    def has_free_borders(self) -> bool:
        return any((cells.top != cells.low).any() for cells in self.catalogue.cells)

    def one_after_another(self) -> Iterator[_Attempt]:
        """What is tried in turn where nothing is found."""
        tries = [self, self.with_fixed_borders()] if self.has_free_borders else [self]
        yield from tries
        if self.domains and self.job.controller.exceptions.plan != PLAIN_DARK:
            yield from (replace(one, many=True) for one in tries)

    def with_fixed_borders(self) -> _Attempt:
        """The same with each border at its band's start."""
        fixed = tuple(cells_of(channel) for channel in self.job.channels)
        return replace(
            self,
            catalogue=self.catalogue.of(fixed),
            planner=planner_of(self.job),
        )

    @property
    def _borders_are_complete(self) -> bool:
        """Whether every border that could be moved may be."""
        return self.catalogue.cells is self.free

    def least(self, *, whole: bool = True) -> int | tuple[Hopeless, ...]:
        """A lower bound with borders and special days free, or what nothing covers; not `whole`:
        a lower one that comes sooner.
        """
        return self.job.remembered(_key(self.job, "least", whole), lambda: self._least(whole))

    def _least(self, whole: bool) -> int | tuple[Hopeless, ...]:
        """Switchings on dates that may be special days count as done, and events that would do harm
        there as harmless: every program there is satisfies this too.
        """
        columns = sorted(self.catalogue.widest(), key=order_of)
        wanted = self._wanted()
        counts: dict[tuple[int, Action], int] = {}
        missing = 0
        for (group, action), rows in wanted.items():
            masks = [
                row_bits(c.rows)
                for c in columns
                if c.action is action and (group < 0 or c.channels == (group,))
            ]
            reached = 0
            for mask in masks:
                reached |= mask
            missing |= rows & ~reached
            if not rows & ~reached:
                counts[group, action] = _cover_bound(rows, masks, whole=whole)
        if missing:
            return tuple(self._hopeless(missing))
        if not self.catalogue.has_every_channel_set:
            counts = self._of_any_channels(wanted, counts, whole)
        if self.job.controller.slot_holds == "one action":
            return sum(counts.values())
        groups = {group for group, _ in counts}
        return sum(max(n for (g, _), n in counts.items() if g == group) for group in groups)

    def _wanted(self) -> dict[tuple[int, Action], int]:
        """The switchings no special day could do, by channel and action; together (channel -1)
        where events of all sets of channels are known.
        """
        together = self.job.controller.event_covers == "any channels"
        together &= self.catalogue.has_every_channel_set
        wanted: dict[tuple[int, Action], int] = defaultdict(int)
        for index, channel in enumerate(self.job.channels):
            may_rest = self._may_rest(index).tolist()
            for row, switching in enumerate(channel.switchings):
                if not may_rest[row]:
                    group = -1 if together else index
                    wanted[group, switching.action] |= 1 << (self.catalogue.bases[index] + row)
        return wanted

    def _of_any_channels(
        self,
        wanted: Mapping[tuple[int, Action], int],
        counts: Mapping[tuple[int, Action], int],
        whole: bool,
    ) -> dict[tuple[int, Action], int]:
        """Bounds for events of whatever channels: no fewer than the channel that needs most, nor
        than starts that each do all they ever could, anywhere.
        """
        found: dict[tuple[int, Action], int] = {}
        for action in Action:
            rows = 0
            for (_, of), mine in wanted.items():
                rows |= mine if of is action else 0
            alone = max((n for (_, of), n in counts.items() if of is action), default=0)
            reached = self.catalogue.reached_by_starts(action)
            everywhere = _cover_bound(rows, reached, whole=whole)
            found[-1, action] = max(alone, everywhere)
        return found

    def _may_rest(self, channel: int) -> Bools:
        """Which switchings of a channel a special day could do."""
        first, last = self.planner.deciding.that_may_do(channel, self.catalogue.cells[channel])
        before = np.concatenate([[0], np.cumsum(self.catalogue.eligible[channel])])
        may_rest: Bools = before[np.maximum(last + 1, first)] > before[first]
        return may_rest

    def _hopeless(self, missing: int) -> Iterator[Hopeless]:
        for base, channel in zip(self.catalogue.bases, self.job.channels, strict=True):
            rows = tuple(i for i in range(len(channel.switchings)) if missing >> base + i & 1)
            if rows:
                yield Hopeless(channel, rows)

    def doubtful(self) -> Iterator[Hopeless]:
        """Where nothing is known to work: switchings whose borders or dates have a choice."""
        for index, channel in enumerate(self.job.channels):
            cells = self.catalogue.cells[index]
            rows = np.flatnonzero((cells.top > cells.low) | self._may_rest(index)).tolist()
            if rows:
                yield Hopeless(channel, tuple(rows))

    def best(self, least: int, *, canonical: bool, enough: int | None = None) -> Whole | None:
        """The best program of models that grow until one is complete, proven least or `enough`."""
        key = _key(self.job, "best", self._borders_are_complete, self.many, least, enough)
        best = self.job.remembered(key, lambda: self._best(least, enough))
        return None if best is None else self._whole(best, canonical=canonical)

    def _best(self, least: int, enough: int | None) -> _Best | None:
        best: tuple[int, Book, Solution] | None = None
        bound = least
        if self._borders_are_complete and self.job.least is None:
            bound = max(least, self.floor())
        cells = self.catalogue.cells
        make = self.planner.many_plans if self.many else self.planner.plans
        plans = {
            domain: with_first_states(self.planner, domain, cells, make(domain, cells))
            for domain in self.domains
        }
        for candidates, complete in self._stages():
            offers = self.catalogue.offers(candidates)
            if self.catalogue.exchangeable:
                offers = reduced(offers, self.catalogue)
            book = Book.of(self.job, self.catalogue, plans, offers)
            if len(book.model.rows) > MOST_ROWS:
                break
            found = solve(book.model)
            if isinstance(found, Unsolved):
                continue
            if complete and self._borders_are_complete and self.job.least is None:
                bound = max(bound, self._proven(offers, found))
            slots = found.cost(book.model)
            if best is None or slots < best[0]:
                best = (slots, book, found)
            if best[0] == bound or (enough is not None and best[0] <= enough):
                break
        return None if best is None else _Best(*best, min(bound, best[0]))

    def _tries_every_half(self) -> bool:
        """Of all sets of weekdays or channels only those are tried that help a half by itself."""
        controller = self.job.controller
        alone = controller.event_covers == "one channel" or len(self.job.channels) == 1
        return alone and controller.weekday_sets is not None

    def _proven(self, offers: Sequence[Offer], found: Solution) -> int:
        """A bound for every program, from a model with every event worth considering.

        Plans are only some of those there could be, so with plans of own events the bound is that
        of a model in which special days do whatever they could.
        """
        rule = self.job.controller.exceptions
        if not self.domains:
            return found.bound
        if rule.plan == PLAIN_DARK:
            # An event that does nothing itself may be what such an end goes by.
            return 0 if rule.end == "recalculates" else found.bound
        if not self._plans_hold_events():
            return 0
        relaxed = solve(Book.relaxed(self.job, self.catalogue, self.planner, self.domains, offers))
        return relaxed.bound if isinstance(relaxed, Solution) else 0

    def floor(self, *, whole: bool = True) -> int:
        """A bound from events with all dates they could ever have, whatever harm they do there;
        not `whole`: a lower one that comes sooner.
        """
        return self.job.remembered(_key(self.job, "floor", whole), lambda: self._floor(whole))

    def _floor(self, whole: bool) -> int:
        if not self._plans_hold_events() or not self.catalogue.has_every_channel_set:
            return 0
        offers = [
            Offer(c, frozenset(c.rows), (), self.catalogue.cost(c))
            for c in sorted(self.catalogue.widest(), key=order_of)
        ]
        model = Book.relaxed(self.job, self.catalogue, self.planner, self.domains, offers)
        if not whole:
            return least_cost(model)
        relaxed = solve(model)
        return relaxed.bound if isinstance(relaxed, Solution) else 0

    def _plans_hold_events(self) -> bool:
        exceptions, holds = self.job.controller.exceptions, self.job.controller.slot_holds
        return bool(self.domains) and exceptions.plan != PLAIN_DARK and holds == "one action"

    def _whole(self, best: _Best, *, canonical: bool) -> Whole:
        sorted_out = canonical and best.found.bound == best.slots
        values = best.book.preferred(best.found) if sorted_out else best.found.values
        events, days, borders = best.book.read(values)
        cells = self.catalogue.cells
        settled = tuple(with_borders(c, b) for c, b in zip(cells, borders, strict=True))
        return Whole(events, days, settled, self.free, best.slots, best.bound)

    def _stages(self) -> Iterator[tuple[list[Candidate], bool]]:
        """Growing sets of candidates in canonical order, and whether a set is complete."""
        most = MOST_EXCHANGEABLE if self.catalogue.exchangeable else MOST_CANDIDATES
        for cut in (Cut.NOWHERE, Cut.DATES, Cut.EVERYWHERE):
            found = list(islice(self._candidates(cut), most + 1))
            if len(found) > most:
                return
            complete = cut is Cut.EVERYWHERE and self.catalogue.has_every_channel_set
            if self.job.controller.slot_holds == "an on and an off":
                found, shared = on_shared_dates(
                    found,
                    self.job.ranges,
                    stored_weekday_sets(self.job.controller),
                    MOST_CANDIDATES,
                )
                complete = complete and shared and self._tries_every_half()
            yield sorted(dict.fromkeys(found), key=order_of), complete

    def _candidates(self, cut: Cut) -> Iterator[Candidate]:
        goes_by_the_last = self.job.controller.exceptions.end == "recalculates"
        idle = self.catalogue.idle() if self.domains and goes_by_the_last else ()
        if cut is not Cut.NOWHERE:
            return chain(self.catalogue.candidates(cut, escape=True), idle)
        if not self.domains:
            return iter(self.catalogue.widest())
        return chain(self.catalogue.widest(), self.catalogue.candidates(cut, escape=False), idle)
