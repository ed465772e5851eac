"""Spare slots put to use: repeats that change nothing while all goes well.

An OFF in the middle of the day, and each OFF and each evening ON a second time some minutes later.
If an event is missed, the lamps are wrong for those minutes and not until the next one. Lamps that
are lit from end to end have an ON each day, for a unit that starts dark. A repeat
is stored only if each of its firings, on every date and under every error, lies in a cell of its
own action whose switching is surely done.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from schedcomp.controller import Controller
from schedcomp.fit.candidates import ALL_WEEKDAYS
from schedcomp.fit.date_ranges import LEAP_DAY, RangeAxis
from schedcomp.fit.firings import Bools, Ints
from schedcomp.fit.purpose import NOON_MINUTES, again_words, midday_words
from schedcomp.fit.repeat_dates import Aim, Try, first_that_fits, least_of
from schedcomp.fit.settled import Settled, Stored
from schedcomp.fit.standing import NEVER, NO_CELL, Standing, standing_of
from schedcomp.model import DAY, MINUTE, Action, Half
from schedcomp.program import ClockStart, Start, SunOffset
from schedcomp.records import Record, replace

DELAYS_MINUTES = (10, 15, 20, 5)
"""How long after its event a repeat may come, the best first."""

LONGEST_DELAY_SECONDS = max(DELAYS_MINUTES) * MINUTE

MIDDAY_MINUTES = (NOON_MINUTES, 750, 690, 780, 660, 810, 840)
"""When an OFF in the middle of the day may come, minutes after 00:00, the best first."""


class Repeat(Record):
    """An event for a spare slot. `of` is the index of the event it repeats, None at midday.

    `why` is its purpose in words, without the slot it repeats.
    """

    event: Stored
    of: int | None
    why: str


class _Wish(Record):
    """A repeat to look for: of an event, or (None) one at midday for these channels: an OFF, or an
    ON where lamps are lit from end to end.
    """

    of: int | None
    channels: tuple[int, ...]


def repeats(
    settled: Settled,
    events: tuple[Stored, ...],
    controller: Controller,
    spare_slots: Mapping[int, int] | int,
) -> tuple[Repeat, ...]:
    """The repeats that fit into the spare slots, the most useful first.

    `events` are valid for `settled`, whose borders are fixed. Only starts that have firings there
    are stored, so it has to hold those that cover nothing too. `spare_slots` is by channel number,
    or one figure: for the unit, or for each channel where they have slots of their own.
    """
    shared = isinstance(spare_slots, int) and controller.slots_are == "shared"
    left = _slots_left(settled, spare_slots, shared=shared)
    if max(left.values(), default=0) < 1:
        return ()
    standing = standing_of(settled, events, starts_looked_at(events, controller))
    chosen: list[Repeat] = []
    for wish in _wishes(standing, events, controller, together=shared):
        payers = (0,) if shared else wish.channels
        most = min(left[p] for p in payers)
        found = _answer(standing, events, controller, wish) if most > 0 else None
        if found is None or _cost(found.event, controller) > most:
            continue
        left |= {p: left[p] - _cost(found.event, controller) for p in payers}
        standing = standing.holding(found.event)
        chosen.append(found)
    return tuple(chosen)


def _slots_left(
    settled: Settled, spare_slots: Mapping[int, int] | int, *, shared: bool
) -> dict[int, int]:
    """Spare slots by channel number; shared ones stand under 0."""
    numbers = [c.channel for c in settled.channels]
    if isinstance(spare_slots, int):
        return dict.fromkeys([0] if shared else numbers, spare_slots)
    return {n: spare_slots.get(n, 0) for n in numbers}


def _cost(event: Stored, controller: Controller) -> int:
    return event.weekdays.bit_count() if controller.weekday_set_costs == "a slot per day" else 1


def starts_looked_at(events: Sequence[Stored], controller: Controller) -> Iterator[Start]:
    """The starts of events and all that repeats of them could have."""
    yield from (event.start for event in events)
    yield from (ClockStart(m) for m in MIDDAY_MINUTES)
    for event in events:
        for minutes in DELAYS_MINUTES:
            later = _later_start(event.start, minutes, controller)
            if later is not None:
                yield later[0]


def _wishes(
    standing: Standing, events: tuple[Stored, ...], controller: Controller, *, together: bool
) -> Iterator[_Wish]:
    """Midday first, then OFFs, then evening ONs, those that help on most dates first."""
    used = [c.channel for c in standing.settled.channels]
    if together and controller.event_covers == "any channels":
        dark = tuple(n for n in used if _is_dark_at_noon(standing, events, controller, n))
        used = [n for n in used if n not in dark]
        if dark:
            yield _Wish(None, dark)
    yield from (_Wish(None, (n,)) for n in used)
    dates = [0 if e.plan else _dates_alone(standing, e) for e in events]
    order = sorted((n for n in range(len(events)) if dates[n]), key=lambda n: (-dates[n], n))
    offs = [n for n in order if events[n].action is Action.OFF]
    ons = [n for n in order if events[n].action is Action.ON]
    evening_ons = [n for n in ons if _is_evening(events[n].start, controller)]
    yield from (_Wish(n, events[n].channels) for n in (*offs, *evening_ons))


def _is_dark_at_noon(
    standing: Standing, events: tuple[Stored, ...], controller: Controller, channel: int
) -> bool:
    """Whether an OFF at 12:00 of every date would do."""
    found = _answer(standing, events, controller, _Wish(None, (channel,)))
    return found is not None and found.event == _at_midday((channel,), Action.OFF, NOON_MINUTES)


def _is_evening(start: Start, controller: Controller) -> bool:
    if isinstance(start, ClockStart):
        return start.minutes >= NOON_MINUTES
    return controller.sun_start(start.word).half is Half.EVENING


def _answer(
    standing: Standing, events: tuple[Stored, ...], controller: Controller, wish: _Wish
) -> Repeat | None:
    """The best repeat for a wish: on all its dates, or else on at least half of them."""
    ranges = standing.settled.ranges
    if wish.of is not None:
        every = [_tries_again(standing, events[wish.of], controller)]
    else:
        # Noon on most dates goes before another minute on all.
        readings = (MIDDAY_MINUTES[:1], MIDDAY_MINUTES[1:])
        every = [_tries_at_midday(standing, wish.channels, several) for several in readings]
    for tries in every:
        found = first_that_fits(tries, controller, ranges)
        if found is not None:
            return Repeat(found[0], wish.of, found[1])
    return None


def _at_midday(channels: tuple[int, ...], action: Action, minutes: int) -> Stored:
    return Stored(channels, action, ClockStart(minutes), ALL_WEEKDAYS, None)


def _is_always_lit(standing: Standing, channels: tuple[int, ...]) -> bool:
    meant = [c for c in standing.settled.channels if c.channel in channels]
    return all(c.lit_at_start and not c.switchings for c in meant)


def _tries_at_midday(
    standing: Standing, channels: tuple[int, ...], readings: Sequence[int]
) -> Iterator[Try]:
    """An OFF, or the ON of lamps always lit, of every date at these minutes; dates that have an
    OFF at midday do not count.
    """
    action = Action.ON if _is_always_lit(standing, channels) else Action.OFF
    for minutes in readings:
        event = _at_midday(channels, action, minutes)
        if not standing.knows(event.start):
            continue
        aims = []
        for channel in map(standing.settled.index, channels):
            fires = standing.fires(event.start, event.action, channel)
            unwanted = ~standing.moves_nothing(event, channel, fires)
            helps = ~_off_at_midday(standing, channel, event.start)[fires.occasion]
            aims.append(Aim(fires, unwanted, helps, fires.occasion))
        least = least_of(sum(int(a.helps.sum()) for a in aims))
        yield Try(event, midday_words(action, minutes), tuple(aims), least)


def _off_at_midday(standing: Standing, channel: int, like: Start) -> Bools:
    """For every occasion of a clock start whether a stored OFF surely fires at midday."""
    found = np.zeros(standing.occasions(like), dtype=np.bool_)
    for held in standing.held:
        start = held.event.start
        if (
            held.channel == channel
            and held.event.action is Action.OFF
            and isinstance(start, ClockStart)
            and min(MIDDAY_MINUTES) <= start.minutes <= max(MIDDAY_MINUTES)
        ):
            found |= held.sure_cell != NO_CELL
    return found


def _tries_again(standing: Standing, event: Stored, controller: Controller) -> Iterator[Try]:
    """The event some minutes later, helping where nothing else makes good that it was missed."""
    channels = [standing.settled.index(n) for n in event.channels]
    alone = [_alone_in(standing, event, c) for c in channels]
    soon = [_ends(standing, event, c)[0] + LONGEST_DELAY_SECONDS for c in channels]
    least = least_of(sum(int(cells.sum()) for cells in alone))
    for minutes in DELAYS_MINUTES:
        later = _later(event, minutes, controller, standing.settled.ranges)
        if later is None or not standing.knows(later.start):
            continue
        aims = []
        for channel, cells, by in zip(channels, alone, soon, strict=True):
            fires = standing.fires(later.start, later.action, channel)
            unwanted = ~standing.moves_nothing(later, channel, fires)
            helps = cells[fires.cell] & (fires.last <= by[fires.cell])
            aims.append(Aim(fires, unwanted, helps, fires.cell))
        yield Try(later, again_words(event.action, minutes, event.start), tuple(aims), least)


def _dates_alone(standing: Standing, event: Stored) -> int:
    channels = map(standing.settled.index, event.channels)
    return sum(int(_alone_in(standing, event, c).sum()) for c in channels)


def _alone_in(standing: Standing, event: Stored, channel: int) -> Bools:
    """The cells of a channel (index) that this event begins and nothing else would soon."""
    mine, others = _ends(standing, event, channel)
    high = np.concatenate([[-1], standing.settled.cells[channel].high])
    alone: Bools = (mine <= high) & (others > mine + LONGEST_DELAY_SECONDS)
    return alone


def _ends(standing: Standing, event: Stored, channel: int) -> tuple[Ints, Ints]:
    """By cell, when this event has surely fired, and when the first of the others has."""
    here = [h for h in standing.held if h.channel == channel]
    # Half of NEVER, so that a sum with it is no overflow.
    never = np.full(len(standing.settled.cells[channel].low) + 1, NEVER // 2)
    mine = np.minimum.reduce([never, *(h.ends for h in here if h.event == event)])
    others = np.minimum.reduce([never, *(h.ends for h in here if h.event != event)])
    return mine, others


def _later_start(start: Start, minutes: int, controller: Controller) -> tuple[Start, int] | None:
    """A start some minutes later, and how many dates later it stands; None if it cannot be."""
    if isinstance(start, ClockStart):
        days, reading = divmod(start.minutes + minutes, DAY // MINUTE)
        return ClockStart(reading), days
    if controller.offsets != "per event":
        return None
    return SunOffset(start.word, start.offset_minutes + minutes), 0


def _later(event: Stored, minutes: int, controller: Controller, ranges: RangeAxis) -> Stored | None:
    """The event some minutes later; past midnight its weekdays and dates move on too."""
    found = _later_start(event.start, minutes, controller)
    if found is None:
        return None
    start, days = found
    if not days:
        return replace(event, start=start)
    weekdays = (event.weekdays << 1 | event.weekdays >> 6) & ALL_WEEKDAYS
    if event.places is None:
        return replace(event, start=start, weekdays=weekdays)
    first, last = (_next_place(place, ranges) for place in event.places)
    if not ranges.circular:
        last = min(last, ranges.count - 1)
        if first > last:
            return None
    places = first % ranges.count, last % ranges.count
    return replace(event, start=start, weekdays=weekdays, places=places)


def _next_place(place: int, ranges: RangeAxis) -> int:
    skips_leap_day = not ranges.with_year and LEAP_DAY not in ranges.positions
    return place + (2 if skips_leap_day and place == LEAP_DAY - 1 else 1)
