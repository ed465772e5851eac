"""Plans for units that begin special days with the state their plan would have left the day before.

Such a unit goes by the plan's last event before 00:00, though it never fired. So an event that
does nothing on the plan's own dates may be what lets them begin as they should.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.fit.cells import Cells, profile
from schedcomp.fit.firings import any_date
from schedcomp.fit.plans import Plan, PlanEvent, Planner
from schedcomp.fit.special_days import NO_KEY, Domain
from schedcomp.model import DAY, Action
from schedcomp.records import Record

MOST_PLANS = 400
"""Of more plans none gets further events."""


def with_first_states(
    planner: Planner, domain: Domain, cells: Sequence[Cells], plans: tuple[Plan, ...]
) -> tuple[Plan, ...]:
    """The plans, and each with one more event that comes last on a date and does nothing there.

    On several channels also with one for each of them.
    """
    rule = planner.controller.exceptions
    if rule.start != "recalculates" or not plans or len(plans) > MOST_PLANS:
        return plans
    late = {
        (channel, action): _latest_first(planner, domain, cells[channel], channel, action)
        for channel in domain.channels
        for action in Action
    }
    more = [
        longer
        for plan in plans
        for action in Action
        for longer in _longer(planner, plan, [late[c, action] for c in domain.channels])
        if rule.plan_events is None or longer.slots <= rule.plan_events
    ]
    return tuple(dict.fromkeys([*plans, *more]))


class _Late(Record):
    """An event, and the keys on which it would do harm."""

    event: PlanEvent
    bad: frozenset[int]


def _latest_first(
    planner: Planner, domain: Domain, cells: Cells, channel: int, action: Action
) -> list[_Late]:
    """Every event of an action on a channel, those first that come latest in a day."""
    keys = domain.by_day(planner.axis)
    found: list[tuple[int, _Late]] = []
    for group in planner.firings:
        never = profile(group, cells, action).never
        known = (group.dates >= 0) & (group.dates < len(keys))
        of_dates = np.where(known, keys[np.where(known, group.dates, 0)], NO_KEY)
        touches = any_date(of_dates != NO_KEY)
        for number, start in enumerate(group.starts):
            at = np.flatnonzero(touches[number])
            if not at.size:
                continue
            harm = of_dates[number, at[never[number, at]]]
            instants = group.first[number, at].tolist()
            latest = max((t + planner.clock.offset(t)) % DAY for t in instants)
            event = PlanEvent((channel,), action, start)
            found.append((-latest, _Late(event, frozenset(harm.ravel().tolist()) - {NO_KEY})))
    return [late for _, late in sorted(found, key=lambda one: one[0])]


def _longer(planner: Planner, plan: Plan, by_channel: Sequence[list[_Late]]) -> Iterator[Plan]:
    """For every choice of dates the latest event that does nothing there."""
    every: list[list[_Late]] = [_latest_of_each(late, plan) for late in by_channel]
    choices = [[one] for late in every for one in late]
    if len(every) > 1 and all(every):
        choices.append([late[0] for late in every])
    for chosen in choices:
        keys = plan.keys.difference(*(one.bad for one in chosen))
        events = (*plan.events, *(one.event for one in chosen))
        if keys:
            yield Plan(keys, events, planner.slots_of(events))


def _latest_of_each(late: list[_Late], plan: Plan) -> list[_Late]:
    found: list[_Late] = []
    for one in late:
        left = plan.keys - one.bad
        if (
            left
            and one.event not in plan.events
            and not any(left <= plan.keys - other.bad for other in found)
        ):
            found.append(one)
    return found
