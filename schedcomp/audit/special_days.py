"""Special days in a unit: which events fire on which dates, and what happens at either end.

All of it is by channel: the special days of one channel leave the others alone.
"""

from __future__ import annotations

import numpy as np

from schedcomp.audit.unit import Duty, Firings, SunRun, Unit, coming, joined
from schedcomp.audit.unit_clock import Bools, Ints, UnitDates
from schedcomp.audit_report import NO_SLOT
from schedcomp.controller import ExceptionSlots
from schedcomp.model import Action
from schedcomp.program import PLAIN_DARK, Event, Program, SpecialDays
from schedcomp.records import Record

LOOK_BACK_DAYS = 400
"""So many days back any event that fires every year has fired."""


class Recalculation(Record):
    """At `instants` the unit takes the state in which these events would have left the lamps.

    The dates of the duties are those on which they would have fired, had they always been in
    force; `clock_firings` are those of the clock events among them.
    """

    duties: tuple[Duty, ...]
    clock_firings: Firings
    instants: tuple[int, ...]

    def firings(self, unit: Unit, run: SunRun | None) -> Firings:
        """Every firing there would have been, in order of start."""
        return joined([self.clock_firings, *unit.sun_firings(self.duties, run)])


class ChannelPlan(Record):
    """The events of one channel with their dates, and what the unit does by itself.

    `offs` are the instants of its own OFFs.
    """

    duties: tuple[Duty, ...]
    offs: tuple[int, ...]
    recalculations: tuple[Recalculation, ...]


def channel_plan(program: Program, channel: int, unit: Unit) -> ChannelPlan:
    """What a unit does with one channel of a program."""
    events = [event for event in program.events if channel in event.channels]
    kept = [
        _Kept(days, unit.dates.within(days.dates))
        for days in program.special_days
        if channel in days.channels
    ]
    rests = _any_of([k.named for k in kept], unit.dates)
    duties = tuple(
        Duty(e, _plan_dates(e.plan, kept, unit.dates))
        if e.plan
        else Duty(e, unit.dates.named_by(e) & ~rests)
        for e in events
    )
    offs, recalculated = _ends(kept, rests, unit.controller.exceptions, unit)
    recalculations = []
    for plan, instants in recalculated:
        always = _as_if_always(plan, events, unit.dates)
        recalculations.append(Recalculation(always, unit.clock_firings(always), instants))
    return ChannelPlan(duties, offs, tuple(recalculations))


def looks_back_days(program: Program, rule: ExceptionSlots) -> int:
    """How far a unit must know the past: special days may begin or end with what came before."""
    takes_state = "recalculates" in (rule.start, rule.end)
    return LOOK_BACK_DAYS if takes_state and program.special_days else 0


def off_firings(plan: ChannelPlan) -> Firings:
    """The OFFs that the unit does by itself, in every run."""
    return _own(plan.offs, Action.OFF)


def actions_in_run(plan: ChannelPlan, unit: Unit, run: SunRun) -> tuple[Firings, Firings]:
    """What the unit does by itself in a run: while doubtful firings do not come, and if all do."""
    quiet, full = [off_firings(plan)], [off_firings(plan)]
    for taken in plan.recalculations:
        fired = taken.firings(unit, run)
        quiet += _last_states(coming(fired, run), taken.instants)
        full += _last_states(fired, taken.instants)
    return joined(quiet), joined(full)


def possible_actions(plan: ChannelPlan, unit: Unit) -> Firings:
    """All that the unit may do by itself; where luck decides, both actions, not certain."""
    found = [off_firings(plan)]
    for taken in plan.recalculations:
        fired = taken.firings(unit, None)
        complete_from = unit.complete_from(taken.duties)
        for instant in taken.instants:
            actions, known = _may_be_last(fired, instant, complete_from)
            if not known:
                actions |= {duty.event.action for duty in taken.duties}
            sure = known and len(actions) == 1
            found += [_own((instant,), action, sure) for action in Action if action in actions]
    return joined(found)


def _last_states(fired: Firings, instants: tuple[int, ...]) -> list[Firings]:
    """At each instant the action of the last firing before it, where there is one."""
    before = np.searchsorted(fired.starts, np.array(instants, np.int64), "left") - 1
    return [
        _own((instant,), Action.ON if fired.on[last] else Action.OFF)
        for instant, last in zip(instants, before.tolist(), strict=True)
        if last >= 0
    ]


class _Kept(Record):
    """Special days and the dates of the unit that are some."""

    days: SpecialDays
    named: Bools

    @property
    def begins(self) -> Bools:
        """First dates. What holds on the first date of all began before."""
        return self.named & ~_day_before(self.named)

    @property
    def is_over(self) -> Bools:
        """The dates after the last ones."""
        return _day_before(self.named) & ~self.named


def _day_before(named: Bools) -> Bools:
    """For each date whether the one before it is named."""
    return np.append(named[:1], named[:-1])


def _any_of(masks: list[Bools], dates: UnitDates) -> Bools:
    none = np.zeros(len(dates.weekday), np.bool_)
    found: Bools = np.logical_or.reduce([none, *masks])
    return found


def _plan_dates(plan: str, kept: list[_Kept], dates: UnitDates) -> Bools:
    """The dates on which the events of a plan fire; plain dark has none that do."""
    return _any_of([k.named for k in kept if k.days.plan == plan != PLAIN_DARK], dates)


def _as_if_always(plan: str, events: list[Event], dates: UnitDates) -> tuple[Duty, ...]:
    """The events of a plan (none: the normal ones) with the dates they would always fire on."""
    every = np.ones(len(dates.weekday), np.bool_)
    return tuple(Duty(e, every if plan else dates.named_by(e)) for e in events if e.plan == plan)


def _ends(
    kept: list[_Kept], rests: Bools, rule: ExceptionSlots, unit: Unit
) -> tuple[tuple[int, ...], list[tuple[str, tuple[int, ...]]]]:
    """When the unit switches off by itself, and when it takes the state of which plan."""
    offs: set[int] = set()
    taken: dict[str, set[int]] = {}
    for k in kept:
        plan = k.days.plan
        begins = _midnights(k.begins, unit)
        # While others hold or begin on the date after the last, the special days go on.
        ends = _midnights(k.is_over & ~rests, unit)
        offs |= begins if rule.start == "off" or plan == PLAIN_DARK else set()
        offs |= ends if rule.end == "off" else set()
        if rule.start == "recalculates" and plan != PLAIN_DARK:
            taken.setdefault(plan, set()).update(begins)
        if rule.end == "recalculates":
            taken.setdefault("", set()).update(ends)
    return tuple(sorted(offs)), [(plan, tuple(sorted(at))) for plan, at in taken.items()]


def _midnights(dates: Bools, unit: Unit) -> set[int]:
    return set(unit.midnights(unit.dates.first_day + np.flatnonzero(dates)).tolist())


def _may_be_last(fired: Firings, instant: int, complete_from: int) -> tuple[set[Action], bool]:
    """Actions of the firings that may be the last before an instant, and whether one surely is."""
    surely = fired.certain & (fired.ends < instant)
    latest = int(fired.starts[surely].max(initial=complete_from - 1))
    may = fired.on[(fired.starts < instant) & (fired.ends >= latest)]
    actions = {action for action in Action if (may == (action is Action.ON)).any()}
    return actions, latest >= complete_from


def _own(instants: tuple[int, ...], action: Action, certain: bool = True) -> Firings:
    at: Ints = np.array(instants, np.int64)
    slots = np.full(len(at), NO_SLOT, np.int64)
    return Firings(at, at, np.full(len(at), certain), np.full(len(at), action is Action.ON), slots)
