"""The fewest slots for a unit: each channel by itself where channels do not meet."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.controller import Controller, ExceptionSlots
from schedcomp.fit.channel import fewest_events, least_events
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


def needs_more(job: UnitJob, slots: int, *, whole: bool) -> bool:
    """Whether lower bounds that come sooner than the fewest slots are beyond these.

    Not `whole`: bounds that come sooner still, where events need not be whole.
    """
    apart, shared = are_apart(job.controller), job.controller.slots_are == "shared"
    if not apart and not shared:
        return False
    jobs = [replace(job, channels=(c,)) for c in job.channels] if apart else [job]
    least = [0] * len(jobs)
    for number, one in enumerate(jobs):
        for bound in _bounds(one, whole):
            least[number] = max(least[number], bound)
            if (sum(least) if shared else bound) > slots:
                return True
    return False


def _bounds(job: UnitJob, whole: bool) -> Iterator[int]:
    if may_rest(job) or not are_apart(job.controller):
        yield from least_together(job, whole=whole)
    elif not whole:
        yield least_events(job)
    else:
        found = fewest_events(job, exact=False)
        yield found.bound if isinstance(found, Whole) else 0


def may_rest(job: UnitJob) -> bool:
    """Whether some channel may have special days."""
    return bool(job.controller.exceptions.slots) and any(c.special for c in job.channels)


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
    if not may_rest(job):
        return fewest_events(job, exact=exact)
    if not exact:
        # Special days can only save slots; without them the answer comes sooner.
        found = fewest_events(without_special_days(job), exact=False)
        if isinstance(found, Whole):
            return replace(found, bound=0)
    found = fewest_slots(job, canonical=canonical)
    if isinstance(found, Whole) and found.slots == found.bound:
        return found
    plain = fewest_events(without_special_days(job), exact=True)
    if not isinstance(plain, Whole):
        return found
    if not isinstance(found, Whole):
        return replace(plain, bound=0)
    return replace(plain, bound=found.bound) if plain.slots < found.slots else found


def without_special_days(job: UnitJob) -> UnitJob:
    """The same for a unit that has none."""
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
