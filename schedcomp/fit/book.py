"""The exact model of a whole unit, and how its solution reads."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import RangeAxis
from schedcomp.fit.deciding_days import DecidingDays
from schedcomp.fit.entries import entries
from schedcomp.fit.firings import Ints
from schedcomp.fit.in_order import first_in_order
from schedcomp.fit.left_by import recalculated_ends
from schedcomp.fit.model import Draft
from schedcomp.fit.offers import Catalogue, Offer
from schedcomp.fit.pairs import Dates, dates_of
from schedcomp.fit.plans import Plan, Planner
from schedcomp.fit.resting import Author, Resting, capacity_rows
from schedcomp.fit.settled import Stored, StoredDays
from schedcomp.fit.solver import Model, Row, Solution, decided, solve
from schedcomp.fit.special_days import NO_KEY, Domain
from schedcomp.fit.unit_job import UnitJob
from schedcomp.model import MINUTE, Action
from schedcomp.program import Start, SunOffset
from schedcomp.records import Record


class Book(Record):
    """The model of an attempt with the variables one needs to read its solution."""

    job: UnitJob
    offers: Sequence[Offer]
    draft: Draft
    restings: tuple[Resting, ...]
    model: Model

    @staticmethod
    def of(
        job: UnitJob,
        catalogue: Catalogue,
        plans: Mapping[Domain, tuple[Plan, ...]],
        offers: Sequence[Offer],
    ) -> Book:
        """The model of every offer and every plan of the domains."""
        pairs = job.controller.slot_holds == "an on and an off"
        draft = Draft(catalogue.cells, catalogue.bases, job.controller.step_minutes * MINUTE)
        for offer in offers:
            draft.variable(0.0 if pairs else float(offer.cost))
        author = Author(planner_of(job), draft)
        restings = tuple(author.add(domain, known) for domain, known in plans.items())
        _add_offers(draft, offers, restings, job.ranges)
        if pairs:
            _add_shared_slots(draft, offers)
        _add_offsets(draft, offers, restings, job.controller)
        rule = job.controller.exceptions
        if restings:
            shared = rule.events_from == "event_slots"
            capacity_rows(draft, restings, rule.slots, rule.plans, shared=shared)
        if rule.end == "recalculates":
            recalculated_ends(author, draft, restings, offers, catalogue, job.clock)
        draft.add_cover_rows()
        draft.add_border_rows()
        return Book(job, offers, draft, restings, draft.model())

    @staticmethod
    def relaxed(
        job: UnitJob,
        catalogue: Catalogue,
        planner: Planner,
        domains: Sequence[Domain],
        offers: Sequence[Offer],
    ) -> Model:
        """A model that no program undercuts: special days do all that they could, for as many
        events as the one that needs most.
        """
        draft = Draft(catalogue.cells, catalogue.bases, job.controller.step_minutes * MINUTE)
        for offer in offers:
            draft.variable(float(offer.cost))
        planned: dict[tuple[int, Action], int] = {}
        restings = []
        for domain in domains:
            rests = {key: draft.variable() for key in domain.keys}
            for which, by_key in planner.least_events(domain, catalogue.cells).items():
                if which not in planned:
                    planned[which] = draft.variable(1.0, math.inf)
                for key, count in by_key.items():
                    terms = ((rests[key], float(count)), (planned[which], -1.0))
                    draft.rows.append(Row(terms, upper=0.0))
            restings.append(Resting(domain, (), rests, {}, {}, ()))
        _add_offers(draft, offers, restings, job.ranges)
        for resting in restings:
            _rest_covers(draft, resting, planner, catalogue)
        draft.add_cover_rows()
        draft.add_border_rows()
        return draft.model()

    def preferred(self, found: Solution) -> tuple[float, ...]:
        """Of the solutions as short: the plainest dates, fewest special days, canonical order."""
        values = found.values
        if self.restings:
            values = self._plainest(found)
        order = list(range(len(self.offers)))
        for resting in self.restings:
            order += [*resting.runs.values(), *resting.begins.values()]
        return first_in_order(self._with_limits(values), order, values)

    def _plain_costs(self) -> list[float]:
        """Twice for every event that is bound to dates or weekdays, once for every entry."""
        costs = [0.0] * len(self.model.costs)
        for number, offer in enumerate(self.offers):
            bound_to = (
                offer.candidate.places is not None,
                offer.candidate.weekdays != ALL_WEEKDAYS,
            )
            costs[number] = 2.0 * sum(bound_to)
        for resting in self.restings:
            for begin in resting.begins.values():
                costs[begin] = 1.0
        return costs

    def _with_limits(self, values: tuple[float, ...]) -> Model:
        """The model with the plainness of these values, the most there is, as a limit."""
        if not self.restings:
            return self.model
        plain = self._plain(sum(c * v for c, v in zip(self.model.costs, values, strict=True)))
        limit = sum(c * v for c, v in zip(plain.costs, values, strict=True))
        row = Row(tuple((v, c) for v, c in enumerate(plain.costs) if c), upper=limit + 0.5)
        rows = (*self.model.rows, row)
        return Model(self.model.costs, rows, self.model.uppers, decided(plain, limit))

    def _plainest(self, found: Solution) -> tuple[float, ...]:
        better = solve(self._plain(found.cost(self.model)))
        return better.values if isinstance(better, Solution) else found.values

    def _plain(self, limit: float) -> Model:
        """The model that asks for plainness, at no more slots."""
        spent = Row(tuple((v, c) for v, c in enumerate(self.model.costs) if c), upper=limit + 0.5)
        rows = (*self.model.rows, spent)
        return Model(tuple(self._plain_costs()), rows, self.model.uppers)

    def read(
        self, values: Sequence[float]
    ) -> tuple[tuple[Stored, ...], tuple[StoredDays, ...], tuple[Ints, ...]]:
        """The events, special days and borders a solution stands for."""
        numbers = [channel.channel for channel in self.job.channels]
        events: list[Stored] = []
        for value, offer in zip(values, self.offers, strict=False):
            if value > 0.5:
                events.append(_stored(offer, numbers))
        days, planned = entries(self.restings, values, numbers, self.job)
        return (*events, *planned), days, self.draft.settled(values)


def planner_of(job: UnitJob) -> Planner:
    """What plans for the special days of a unit are made by."""
    axis = job.ranges.axis
    days = DecidingDays(job.channels, job.firings, job.controller.exceptions, job.clock, axis)
    return Planner(job.channels, job.firings, job.controller, job.clock, axis, days)


def _rest_covers(draft: Draft, resting: Resting, planner: Planner, catalogue: Catalogue) -> None:
    """A switching that may come on a special day, or at its end, counts as done there."""
    keys = resting.domain.by_day(planner.axis)
    for channel in resting.domain.channels:
        first, last = planner.deciding.that_may_do(channel, catalogue.cells[channel])
        before = np.concatenate([[0], np.cumsum(keys != NO_KEY)])
        special = before[np.maximum(last + 1, first)] > before[first]
        for row in np.flatnonzero(special).tolist():
            near = keys[first[row] : last[row] + 1].tolist()
            for key in sorted({*near} - {NO_KEY}):
                draft.covers(resting.rests[key], catalogue.bases[channel] + row)


def _stored(offer: Offer, numbers: Sequence[int]) -> Stored:
    """An offer as a unit holds it."""
    candidate = offer.candidate
    channels = tuple(numbers[c] for c in candidate.channels)
    return Stored(channels, candidate.action, candidate.start, candidate.weekdays, candidate.places)


def _add_offers(
    draft: Draft, offers: Sequence[Offer], restings: Sequence[Resting], ranges: RangeAxis
) -> None:
    """What each offer covers and asks; its variable has its number."""
    by_channel = {channel: resting for resting in restings for channel in resting.domain.channels}
    keys = {channel: r.domain.by_day(ranges.axis) for channel, r in by_channel.items()}
    for number, offer in enumerate(offers):
        for row in offer.sure:
            draft.covers(number, row)
        for firing in offer.firings:
            rests: list[int | None] = []
            if firing.channel in by_channel:
                resting = by_channel[firing.channel]
                rests = [resting.rest_of(keys[firing.channel], day) for day in firing.days]
            draft.add_firing(number, firing, offer.candidate.action, rests)


def _add_shared_slots(draft: Draft, offers: Sequence[Offer]) -> None:
    """Slots that hold an on and an off: as many of each dates as the more numerous half needs."""
    groups: dict[Dates, dict[Action, list[int]]] = {}
    for number, offer in enumerate(offers):
        halves = groups.setdefault(dates_of(offer.candidate), {})
        halves.setdefault(offer.candidate.action, []).append(number)
    costs = {dates: offers[next(iter(h.values()))[0]].cost for dates, h in groups.items()}
    for dates, halves in groups.items():
        most = max(len(numbers) for numbers in halves.values())
        slots = draft.variable(float(costs[dates]), float(most))
        for numbers in halves.values():
            terms = tuple((number, 1.0) for number in numbers)
            draft.rows.append(Row((*terms, (slots, -1.0)), upper=0.0))


def _add_offsets(
    draft: Draft, offers: Sequence[Offer], restings: Sequence[Resting], controller: Controller
) -> None:
    """Offsets that all sun events of a word share, on one channel or on all."""
    if controller.offsets == "per event":
        return
    per_channel = controller.offsets == "per channel"
    chosen: dict[tuple[int, str], dict[int, int]] = {}

    def ask(variable: int, start: Start, channels: Sequence[int]) -> None:
        if not isinstance(start, SunOffset):
            return
        for scope in channels if per_channel else (0,):
            offsets = chosen.setdefault((scope, start.word), {})
            if start.offset_minutes not in offsets:
                offsets[start.offset_minutes] = draft.variable()
            draft.implies(variable, offsets[start.offset_minutes])

    for number, offer in enumerate(offers):
        ask(number, offer.candidate.start, offer.candidate.channels)
    for resting in restings:
        for hold, plan in zip(resting.holds, resting.plans, strict=True):
            for event in plan.events:
                ask(hold, event.start, event.channels)
    for offsets in chosen.values():
        draft.rows.append(Row(tuple((v, 1.0) for v in offsets.values()), upper=1.0))
