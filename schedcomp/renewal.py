"""Slot numbers that stay: a new program written over an old one with as few changes as possible."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from string import ascii_uppercase

from schedcomp.assignment import least_cost_assignment
from schedcomp.controller import Controller
from schedcomp.fit.entries import NO_EVENTS
from schedcomp.fit.purpose import idle_words, purpose_of_repeat, repeated_slot
from schedcomp.model import Action
from schedcomp.program import (
    EVERY_WEEKDAY,
    PLAIN_DARK,
    ClockStart,
    Event,
    EventDates,
    Program,
    SpecialDays,
    Start,
)
from schedcomp.records import Record, replace

Entry = Event | SpecialDays
Content = tuple[Entry, ...]
"""What one slot holds: one entry, or two halves."""

Group = tuple[int, ...]
"""The channels that number their slots together; empty where all do."""

EVENTS = "events"
SPECIAL_DAYS = "special days"
CHANGE, ADD, ERASE = "change", "add", "delete"

MOST_ALIKE = 22


class Body(Record):
    """What a slot holds of an entry, without its number and what it is for."""

    channels: tuple[int, ...]
    plan: str
    action: Action | None = None
    start: Start | None = None
    weekdays: frozenset[int] = EVERY_WEEKDAY
    dates: EventDates | None = None


class SlotChange(Record, kw_only=True):
    """A slot whose content differs. `listed` is the list it belongs to, events or special days;
    `channels` are those that number their slots together, empty where all do.
    """

    listed: str
    channels: Group
    slot: int
    old: Content
    new: Content

    @property
    def action(self) -> str:
        if not self.old:
            return ADD
        return CHANGE if self.new else ERASE


def body_of(entry: Entry) -> Body:
    """An event of a plan has neither weekdays nor dates."""
    if isinstance(entry, SpecialDays):
        return Body(entry.channels, entry.plan, dates=entry.dates)
    if entry.plan:
        return Body(entry.channels, entry.plan, entry.action, entry.start)
    return Body(entry.channels, "", entry.action, entry.start, entry.weekdays, entry.dates)


def slot_changes(old: Program, new: Program, controller: Controller) -> tuple[SlotChange, ...]:
    """Every slot that holds something else, events first, in slot order."""
    per_channel = controller.slots_are == "per channel"
    lists: tuple[tuple[str, Sequence[Entry], Sequence[Entry], bool], ...] = (
        (EVENTS, old.events, new.events, per_channel),
        (SPECIAL_DAYS, old.special_days, new.special_days, False),
    )
    found = []
    for listed, before, after, apart in lists:
        held, wanted = _slots(before, apart), _slots(after, apart)
        for group, slot in sorted({*held, *wanted}):
            one, other = held.get((group, slot), ()), wanted.get((group, slot), ())
            if _bodies(one) != _bodies(other):
                found.append(
                    SlotChange(listed=listed, channels=group, slot=slot, old=one, new=other)
                )
    return tuple(found)


# A whole program over another


def written_over(
    old: Program, new: Program, controller: Controller, *, idle: bool = False
) -> Program:
    """The new program with the slot numbers that change fewest slots of the old one.

    What is equal keeps its slot; the rest goes into slots that become free, the most similar
    together, then into the lowest free ones. Plans take the names they had; with `idle`, old ones
    that nothing runs any more stay. Slots may have gaps.
    """
    named = with_plan_names(old, new)
    if controller.weekday_set_costs == "a slot per day":
        # Events hold several slots there, and would overlap if they moved one by one.
        return named
    spared = spared_events(old, named, controller) if idle else ()
    numbered = with_slots_of(old, named, spared, (), controller)
    return named if numbered is None else with_repeats_named(named, numbered)


def with_slots_of(
    old: Program,
    new: Program,
    idle: Sequence[Event],
    idle_days: Sequence[SpecialDays],
    controller: Controller,
) -> Program | None:
    """The new program numbered over the old one, with what of the idle entries need not give way;
    None if there is no room.

    Plans that have slots of their own are numbered among themselves, after the event slots.
    """
    per_channel, after = controller.slots_are == "per channel", controller.event_slots
    apart = controller.exceptions.plans_have_slots
    parts: list[Entry] = []
    for planned in (False, True) if apart else (None,):
        before, wanted, rest = (
            [e for e in events if planned is None or bool(e.plan) is planned]
            for events in (old.events, new.events, idle)
        )
        shift = after if planned else 0
        most = max([0, *(e.slot - after for e in before)]) + len(wanted) if planned else after
        part = numbered_over(
            [replace(e, slot=e.slot - shift) for e in before if e.slot > shift],
            [replace(e, slot=e.slot - shift) for e in wanted],
            [replace(e, slot=e.slot - shift) for e in rest if e.slot > shift],
            most,
            per_channel=per_channel,
        )
        if part is None:
            return None
        parts += [replace(e, slot=e.slot + shift) for e in part]
    days = numbered_over(
        old.special_days,
        new.special_days,
        idle_days,
        controller.exceptions.slots,
        per_channel=False,
    )
    if days is None:
        return None
    return replace(
        new,
        events=tuple(e for e in parts if isinstance(e, Event)),
        special_days=tuple(d for d in days if isinstance(d, SpecialDays)),
    )


def spared_events(old: Program, new: Program, controller: Controller) -> tuple[Event, ...]:
    """The events of old plans that no special days run any more, and so never fire, in no year.

    Not where they would take the room of plans that run, nor where they share their offset.
    """
    if controller.offsets != "per event":
        return ()
    run = {days.plan for days in new.special_days}
    left = sorted({event.plan for event in old.events} - run - {""})
    most = controller.exceptions.plans
    spared = left if most is None else left[: max(0, most - len(run))]
    return tuple(
        replace(e, safety=True, purpose=idle_words(e.action, e.start, e.plan))
        for e in old.events
        if e.plan in spared
    )


def numbered_over(
    old: Sequence[Entry],
    new: Sequence[Entry],
    idle: Sequence[Entry],
    slots: int,
    *,
    per_channel: bool,
) -> tuple[Entry, ...] | None:
    """The entries of `new` in slots of theirs, and those of `idle` that need not give way.

    An entry equal to an old one keeps its slot, and its new purpose. `idle` are old entries that
    do no harm: none is overwritten while a slot that changes anyway is left. The number of slots
    that change is the least there is for these entries. In slot order; None if there is no room.
    """
    held = _slots((e for e in old if e.slot <= slots), per_channel)
    wanted, spared = _slots(new, per_channel), _slots(idle, per_channel)
    numbered: list[tuple[Group, int, Entry]] = []
    for group in sorted({group for group, _ in (*held, *wanted)}):
        before = {slot: e for (g, slot), e in held.items() if g == group}
        after = [e for (g, _), e in wanted.items() if g == group]
        rests = {slot: e for (g, slot), e in spared.items() if g == group and slot in before}
        placed = _placed(before, after, rests, slots)
        if placed is None:
            return None
        numbered += [
            (group, slot, replace(entry, slot=slot)) for slot, es in placed.items() for entry in es
        ]
    numbered.sort(key=lambda item: item[:2])
    return tuple(entry for _, _, entry in numbered)


def _placed(
    before: Mapping[int, Content], after: Sequence[Content], idle: Mapping[int, Content], slots: int
) -> dict[int, Content] | None:
    """What each slot of a group holds afterwards."""
    free, left = dict(before), []
    placed: dict[int, Content] = {}
    for content in after:
        same = next((s for s, e in free.items() if _bodies(e) == _bodies(content)), None)
        if same is None:
            left.append(content)
        else:
            placed[same] = content
            del free[same]
    unused = [slot for slot in range(1, slots + 1) if slot not in before][: len(left)]
    places = [*sorted(free), *unused]
    if len(places) < len(left):
        return None
    costs = [
        [_cost(content, free.get(p), idle.get(p), len(left)) for p in places] for content in left
    ]
    for content, place in zip(left, least_cost_assignment(costs), strict=True):
        placed[places[place]] = content
    return {slot: e for slot, e in idle.items() if slot in free} | placed


def _cost(content: Content, held: Content | None, idle: Content | None, count: int) -> int:
    """What it costs to put a content into a slot: first whether the slot would not change anyway,
    then what gets lost there, then how much of it has to be keyed.

    What an event took the place of goes before an empty slot, and that before a repeat.
    """
    keyed = MOST_ALIKE - (_likeness(held, content) if held else 0)
    per_loss = (MOST_ALIKE + 1) * count
    per_change = 4 * per_loss * count
    if held is None:
        return per_change + 2 * per_loss + keyed
    if idle is None:
        return keyed
    return per_change + (1 if _is_replaced(held, content) else 3) * per_loss + keyed


def _is_replaced(held: Content, content: Content) -> bool:
    """Whether what a slot holds is no repeat, and acts as what may take its place does."""
    [one, *_], [other, *_] = held, content
    if isinstance(one, SpecialDays) or isinstance(other, SpecialDays):
        return True
    return not one.safety and one.action is other.action


def _likeness(one: Content, other: Content) -> int:
    """How much of a slot need not be keyed again; the action counts most."""
    return max((_like(body_of(a), body_of(b)) for a in one for b in other), default=0)


def _like(one: Body, other: Body) -> int:
    return (
        8 * (one.channels == other.channels)
        + 4 * (one.action is other.action)
        + 4 * (one.plan == other.plan)
        + 2 * (_start_kind(one.start) == _start_kind(other.start))
        + 2 * (one.start == other.start)
        + (one.weekdays == other.weekdays)
        + (one.dates == other.dates)
    )


def _start_kind(start: Start | None) -> str:
    return "clock" if start is None or isinstance(start, ClockStart) else start.word


def _slots(entries: Iterable[Entry], per_channel: bool) -> dict[tuple[Group, int], Content]:
    """What each slot holds, in the order of the entries."""
    found: dict[tuple[Group, int], Content] = {}
    for entry in entries:
        key = (entry.channels if per_channel else (), entry.slot)
        found[key] = (*found.get(key, ()), entry)
    return found


def _bodies(entries: Iterable[Entry]) -> frozenset[Body]:
    return frozenset(body_of(entry) for entry in entries)


# Repeats


def with_repeats_named(before: Program, after: Program) -> Program:
    """The program after its slots were numbered anew, with the slots that its repeats name.

    A repeat of an event that is no longer there tells only what it does.
    """
    return replace(after, events=tuple(_repeat_named(e, before, after) for e in after.events))


def _repeat_named(event: Event, before: Program, after: Program) -> Event:
    named = repeated_slot(event.purpose) if event.safety else None
    if named is None:
        return event
    slot, why = named
    meant = [e for e in before.events if e.slot == slot and not e.safety]
    meant.sort(key=lambda e: e.channels != event.channels)
    now = [e.slot for m in meant[:1] for e in after.events if body_of(e) == body_of(m)]
    return replace(event, purpose=purpose_of_repeat(why, now[0] if now else None))


# Plans


def with_plan_names(old: Program, new: Program) -> Program:
    """The new program with plans named as in the old one where they are alike."""
    names = plan_names(old, new)
    return replace(
        new,
        events=tuple(replace(e, plan=names.get(e.plan, e.plan)) for e in new.events),
        special_days=tuple(replace(d, plan=names.get(d.plan, d.plan)) for d in new.special_days),
    )


def plan_names(old: Program, new: Program) -> dict[str, str]:
    """What each plan of the new program is to be called, so that it is called as before."""
    held, wanted = _plans(old), _plans(new)
    names: dict[str, str] = {}
    pairs = sorted(
        (-_plan_likeness(held[was], wanted[plan]), plan, was) for plan in wanted for was in held
    )
    for likeness, plan, was in pairs:
        if likeness < 0 and plan not in names and was not in names.values():
            names[plan] = was
    fresh = (name for name in _letters() if name not in names.values() and name not in held)
    for plan in wanted:
        if plan not in names:
            names[plan] = next(fresh)
    return names


def _plans(program: Program) -> dict[str, frozenset[Body]]:
    """The content of every plan with a name of its own, by name."""
    names = sorted(
        ({e.plan for e in program.events} | {d.plan for d in program.special_days})
        - {"", PLAIN_DARK, NO_EVENTS}
    )
    return {
        name: frozenset(replace(body_of(e), plan="") for e in program.events if e.plan == name)
        for name in names
    }


def _plan_likeness(one: frozenset[Body], other: frozenset[Body]) -> int:
    """Equal plans before all others, then by what they share."""
    return 1000 if one == other else len(one & other)


def _letters() -> Iterator[str]:
    yield from ascii_uppercase
    for first in ascii_uppercase:
        yield from (first + second for second in ascii_uppercase)
