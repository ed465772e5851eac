"""Special days in the exact model: which dates rest, on which plan, and what begins and ends."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from schedcomp.fit.cells import Cells
from schedcomp.fit.firings import Firings
from schedcomp.fit.model import Draft, Firing
from schedcomp.fit.plans import Plan, PlanEvent, Planner
from schedcomp.fit.solver import Row
from schedcomp.fit.special_days import Domain, midnight, neighbour
from schedcomp.model import Action, Instant
from schedcomp.program import PLAIN_DARK
from schedcomp.records import Record, field

Choice = tuple[int, int]
"""A key of a domain and the number of a plan."""


class Resting(Record):
    """The variables of one domain.

    `rests` by key: the date is a special day. `runs` by (key, plan): that plan runs on it.
    `begins` by (key, plan): an entry of that plan begins there. `holds` by plan: it is stored.
    """

    domain: Domain
    plans: tuple[Plan, ...]
    rests: Mapping[int, int]
    runs: Mapping[Choice, int]
    begins: Mapping[Choice, int]
    holds: tuple[int, ...]

    def rest_of(self, keys: np.typing.NDArray[np.int64], day: int) -> int | None:
        """The variable of an axis date, None where it may not be a special day."""
        return self.rests.get(int(keys[day]))


class Author(Record):
    """Writes the special days of a unit into a model."""

    planner: Planner
    draft: Draft
    _groups: dict[object, tuple[Firings, int]] = field(default_factory=dict)

    def add(self, domain: Domain, plans: tuple[Plan, ...]) -> Resting:
        """The variables and rows of one domain, with everything its plans do."""
        draft = self.draft
        holds = tuple(draft.variable(float(plan.slots)) for plan in plans)
        rests = {key: draft.variable() for key in domain.keys}
        choices = [
            (key, n) for n, plan in enumerate(plans) for key in domain.keys if key in plan.keys
        ]
        runs = {choice: draft.variable() for choice in choices}
        begins = {choice: draft.variable() for choice in choices}
        resting = Resting(domain, plans, rests, runs, begins, holds)
        for key, rest in rests.items():
            plan_terms = tuple((runs[c], 1.0) for c in choices if c[0] == key)
            draft.rows.append(Row(((rest, -1.0), *plan_terms), lower=0.0, upper=0.0))
        for choice in choices:
            draft.implies(runs[choice], holds[choice[1]])
            draft.implies(begins[choice], runs[choice])
            self._begin_rows(resting, choice)
        for choice in choices:
            for event in plans[choice[1]].events:
                self._run_event(resting, choice, event)
        self._ends(resting)
        return resting

    def _begin_rows(self, resting: Resting, choice: Choice) -> None:
        """An entry begins where its plan did not run the day before; a single day always does."""
        rule = self.planner.controller.exceptions
        run, begin = resting.runs[choice], resting.begins[choice]
        before = neighbour(resting.domain, rule, choice[0], -1)
        earlier = None if before is None else resting.runs.get((before, choice[1]))
        terms = [(begin, 1.0), (run, -1.0)]
        if rule.length == "range" and earlier is not None:
            terms.append((earlier, 1.0))
        self.draft.rows.append(Row(tuple(terms), lower=0.0))
        for channel in resting.domain.channels:
            action = self._first_action(
                resting.plans[choice[1]], choice[0], resting.domain, channel
            )
            if action == "unknown":
                self.draft.forbid(begin)
            elif isinstance(action, Action):
                self._at_midnight(resting.domain, begin, choice[0], 0, action, [channel])

    def _first_action(
        self, plan: Plan, key: int, domain: Domain, channel: int
    ) -> Action | str | None:
        """What a unit does on a channel at 00:00 of the first date."""
        rule = self.planner.controller.exceptions
        if rule.plan == PLAIN_DARK or rule.start == "off":
            return Action.OFF
        if rule.start == "recalculates":
            return self._left_by(plan, key, domain, channel)
        return None

    def _left_by(self, plan: Plan, key: int, domain: Domain, channel: int) -> Action | str | None:
        """What the plan, had it run the day before too, did last; None without events."""
        found: set[Action | str | None] = set()
        for day in self._days(domain, key):
            begin = midnight(self.planner.clock, self.planner.axis, day)
            found.add(self._last_before(plan, channel, day, begin))
        return found.pop() if len(found) == 1 else "unknown"

    def _last_before(
        self, plan: Plan, channel: int, day: int, begin: Instant
    ) -> Action | str | None:
        last: list[tuple[Instant, Instant, Action]] = []
        for event in plan.events:
            if channel in event.channels:
                group, start = self._group(event)
                near = (group.dates[start] >= day - 2) & (group.dates[start] < day + 1)
                for occasion in np.flatnonzero(near.any(axis=1)).tolist():
                    first = int(group.first[start, occasion])
                    if first < begin:
                        last.append((int(group.last[start, occasion]), first, event.action))
        if not last:
            return None
        latest = max(last, key=lambda one: one[:2])
        if latest[0] >= begin or any(
            end >= latest[1] and action is not latest[2] for end, _, action in last
        ):
            return "unknown"
        return latest[2]

    def _run_event(self, resting: Resting, choice: Choice, event: PlanEvent) -> None:
        """The firings of a plan's event on the dates of a key."""
        keys = resting.domain.by_day(self.planner.axis)
        for day in self._days(resting.domain, choice[0]):
            for channel in event.channels:
                for firing in self._firings(event, channel, day):
                    others = [
                        resting.runs.get((int(keys[d]), choice[1])) for d in firing.days if d != day
                    ]
                    partners = [v for v in others if v is not None]
                    # Of several dates the first adds the cover, each adds what must not happen.
                    sure = firing.certain and None not in others and firing.days[0] == day
                    told = Firing(channel, firing.first, firing.last, sure, firing.days)
                    self.draft.add_firing(
                        resting.runs[choice], told, event.action, partners=partners
                    )

    def _firings(self, event: PlanEvent, channel: int, day: int) -> Iterator[Firing]:
        group, start = self._group(event)
        cells: Cells = self.draft.cells[channel]
        for occasion in np.flatnonzero((group.dates[start] == day).any(axis=1)).tolist():
            first, last = int(group.first[start, occasion]), int(group.last[start, occasion])
            if last < cells.origin or first > cells.end:
                continue
            days = dict.fromkeys(group.dates[start, occasion].tolist())
            known = tuple(d for d in days if 0 <= d < self.planner.axis.count)
            certain = bool(group.certain[start, occasion]) and len(known) == len(days)
            yield Firing(channel, first, last, certain, known)

    def _ends(self, resting: Resting) -> None:
        """What a unit does at 00:00 after the last special day."""
        if self.planner.controller.exceptions.end != "off":
            return
        for key, end in self.ends(resting):
            self._at_midnight(resting.domain, end, key, 1, Action.OFF, resting.domain.channels)

    def ends(self, resting: Resting) -> Iterator[tuple[int, int]]:
        """Each key with a variable: it is a special day, and the next date is none."""
        rule = self.planner.controller.exceptions
        for key, rest in resting.rests.items():
            after = neighbour(resting.domain, rule, key, 1)
            if after is None:
                yield key, rest
                continue
            end, next_rest = self.draft.variable(), resting.rests[after]
            self.draft.implies(end, rest)
            self.draft.excludes(end, next_rest)
            self.draft.rows.append(Row(((end, 1.0), (rest, -1.0), (next_rest, 1.0)), lower=0.0))
            yield key, end

    def _at_midnight(
        self,
        domain: Domain,
        variable: int,
        key: int,
        days_later: int,
        action: Action,
        channels: Sequence[int],
    ) -> None:
        for day in self._days(domain, key):
            at = midnight(self.planner.clock, self.planner.axis, day + days_later)
            for channel in channels:
                cells = self.draft.cells[channel]
                if cells.origin <= at <= cells.end:
                    self.draft.add_firing(variable, Firing(channel, at, at, True, (day,)), action)

    def _days(self, domain: Domain, key: int) -> tuple[int, ...]:
        return domain.days[domain.keys.index(key)]

    def _group(self, event: PlanEvent) -> tuple[Firings, int]:
        if event.start not in self._groups:
            for group in self.planner.firings:
                for number, start in enumerate(group.starts):
                    self._groups[start] = (group, number)
        return self._groups[event.start]


def capacity_rows(
    draft: Draft, restings: Sequence[Resting], slots: int, plans: int | None, *, shared: bool
) -> None:
    """Entries of all channels fit the slots; so do the plans, of each or (not `shared`) of all."""
    entries = tuple((begin, 1.0) for resting in restings for begin in resting.begins.values())
    draft.rows.append(Row(entries, upper=float(slots)))
    if plans is None:
        return
    groups = [[r] for r in restings] if shared else [list(restings)]
    for group in groups:
        held = tuple((hold, 1.0) for resting in group for hold in resting.holds)
        draft.rows.append(Row(held, upper=float(plans)))
