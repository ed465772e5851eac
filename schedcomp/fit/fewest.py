"""The fewest slots for a unit: each channel by itself where channels do not meet."""

from __future__ import annotations

from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit.channel import fewest_events
from schedcomp.fit.joint import fewest_slots, least_together
from schedcomp.fit.unit_job import Hopeless, UnitJob, Whole
from schedcomp.records import replace


def fewest(job: UnitJob, *, exact: bool, canonical: bool = True) -> Whole | tuple[Hopeless, ...]:
    """The fewest slots with a proven lower bound, or what is out of reach.

    `exact` False: some program and a lower bound, quickly, for asking only whether it fits; the
    bound may be lower than the count although no shorter program exists. `canonical` False: any
    program of so few slots.
    """
    if not are_apart(job.controller):
        shared = job.controller.slots_are == "shared"
        enough = job.controller.event_slots if shared and not exact else None
        return fewest_slots(job, canonical=exact and canonical, enough=enough)
    parts = [
        _of_channel(replace(job, channels=(c,)), exact=exact, canonical=canonical)
        for c in job.channels
    ]
    if not all(isinstance(part, Whole) for part in parts):
        return tuple(h for part in parts if not isinstance(part, Whole) for h in part)
    whole = _together([part for part in parts if isinstance(part, Whole)])
    if len(whole.special_days) > job.controller.exceptions.slots:
        return fewest_slots(job, canonical=exact and canonical)
    return whole


def least_slots(job: UnitJob) -> int:
    """A lower bound that comes sooner than the fewest slots."""
    if not are_apart(job.controller):
        return least_together(job)
    return sum(least_together(replace(job, channels=(c,))) for c in job.channels)


def are_apart(controller: Controller) -> bool:
    """Whether no channel of such a unit could take anything from another but slots."""
    exceptions = controller.exceptions
    alone = exceptions.covers == "one channel" and exceptions.events_from == "event_slots"
    return (
        controller.slot_holds == "one action"
        and controller.weekday_set_costs == "one slot"
        and controller.offsets == "per event"
        and controller.event_covers == "one channel"
        and (alone or not exceptions.slots)
    )


def _of_channel(job: UnitJob, *, exact: bool, canonical: bool) -> Whole | tuple[Hopeless, ...]:
    [channel] = job.channels
    if not (job.controller.exceptions.slots and channel.special):
        return fewest_events(job, exact=exact)
    if not exact:
        # Special days can only save slots; without them the answer comes sooner.
        found = fewest_events(_without_special_days(job), exact=False)
        if isinstance(found, Whole):
            return replace(found, bound=0)
    found = fewest_slots(job, canonical=canonical)
    if isinstance(found, Whole) and found.slots == found.bound:
        return found
    plain = fewest_events(_without_special_days(job), exact=True)
    if not isinstance(plain, Whole):
        return found
    if not isinstance(found, Whole):
        return replace(plain, bound=0)
    return replace(plain, bound=found.bound) if plain.slots < found.slots else found


def _without_special_days(job: UnitJob) -> UnitJob:
    return replace(job, controller=replace(job.controller, exceptions=ExceptionSlots()))


def _together(parts: list[Whole]) -> Whole:
    return Whole(
        events=tuple(event for part in parts for event in part.events),
        special_days=tuple(days for part in parts for days in part.special_days),
        settled=tuple(cells for part in parts for cells in part.settled),
        free=tuple(cells for part in parts for cells in part.free),
        slots=sum(part.slots for part in parts),
        bound=sum(part.bound for part in parts),
    )
