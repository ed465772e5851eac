"""The fewest slots of tiny years, found without any of the compiler's ideas.

A tiny world is a controller, its clock, its sun and what its lamps have to do. Every event the
controller could store is written down as the stretches of time in which it may fire. Then every
way in which the lamps may rightly behave (one instant for each switching) is tried: an event is
harmless if it can never fire while the lamps should be in the other state, and useful if it surely
fires in time. The fewest events that together do every switching are found by trying. What the
search does is compared with trying every program and every pattern of errors, one by one, in
test_fit_smallest.py.

Every firing is taken as independent of all others: anywhere in its stretch, and where it is not
certain, perhaps not at all. Opposite actions of a channel that may meet are wrong.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from functools import cached_property, lru_cache
from itertools import combinations, product

from schedcomp.clock import Zone
from schedcomp.controller import Controller
from schedcomp.model import MINUTE, Action
from schedcomp.program import PLAIN_DARK, ClockStart, Start, SunOffset
from schedcomp.records import Record, field
from schedcomp.target import ChannelTarget
from schedcomp.unit_sun import UnitSun

MARGIN_DAYS = 3
NEVER_ENDS = 1 << 62

Names = frozenset[date]


class Occasion(Record):
    """A start comes once in [first, last], and is tested against these dates.

    Not `certain`: it may also not come. An event fires if a date is one that it names; surely only
    if all of them are.
    """

    first: int
    last: int
    dates: int
    certain: bool


class Stretch(Record):
    """One firing of a stored event: at some instant of [first, last], if it is certain."""

    first: int
    last: int
    certain: bool
    action: Action


class World(Record, dict=True, kw_only=True):
    """A tiny year; dates are bits, the first one MARGIN_DAYS before the period.

    Asked for the fewest slots, dates that `must_rest` have to be special days.
    """

    controller: Controller
    clock: Zone
    zone_name: str
    sun: UnitSun
    channels: tuple[ChannelTarget, ...]
    must_rest: Names = frozenset()

    @cached_property
    def dates(self) -> tuple[date, ...]:
        first = self.clock.local_date(min(c.start for c in self.channels))
        last = self.clock.local_date(max(c.end for c in self.channels))
        count = (last - first).days + 1 + 2 * MARGIN_DAYS
        return tuple(first + timedelta(days=i - MARGIN_DAYS) for i in range(count))

    def bits(self, days: Iterator[date] | Sequence[date] | Names) -> int:
        """Dates as bits; dates beyond the margin are none of them."""
        first = self.dates[0]
        places = ((day - first).days for day in days)
        return sum(1 << p for p in {p for p in places if 0 <= p < len(self.dates)})

    def days(self, bits: int) -> list[date]:
        return [day for i, day in enumerate(self.dates) if bits >> i & 1]

    def between(self, first: int, last: int) -> list[date]:
        """The dates of the clock from one instant through another."""
        begin, end = self.clock.local_date(first), self.clock.local_date(last)
        return [begin + timedelta(days=i) for i in range((end - begin).days + 1)]

    @cached_property
    def starts(self) -> dict[Start, list[Occasion]]:
        """Every start an event can have, with everything it does in and around the period."""
        return {start: list(_occasions(self, start)) for start in _starts(self.controller)}

    @property
    def step(self) -> int:
        return self.controller.step_minutes * MINUTE

    def down(self, instant: int) -> int:
        return instant - (instant + self.clock.offset(instant)) % self.step

    def up(self, instant: int) -> int:
        return instant + -(instant + self.clock.offset(instant)) % self.step


def _starts(controller: Controller) -> list[Start]:
    found: list[Start] = []
    if controller.starts_clock:
        found += [ClockStart(m) for m in range(0, 1440, controller.step_minutes)]
    step, limit = controller.offset_step_minutes, controller.offset_limit_minutes
    offsets = [step * k for k in range(-(limit // step), limit // step + 1)]
    return found + [SunOffset(s.word, o) for s in controller.sun_starts for o in offsets]


def _occasions(world: World, start: Start) -> Iterator[Occasion]:
    if isinstance(start, ClockStart):
        return _of_clock(world, start)
    return _of_sun(world, start)


def _of_clock(world: World, start: ClockStart) -> Iterator[Occasion]:
    clock, seconds = world.clock, start.minutes * MINUTE
    for day in world.dates:
        if clock.is_skipped(day, seconds) and world.controller.skipped_time == "lost":
            continue
        passes = {clock.first_pass(day, seconds)}
        if world.controller.repeated_time == "twice":
            passes.add(clock.last_pass(day, seconds))
        for instant in sorted(passes):
            yield Occasion(instant, instant, world.bits([clock.local_date(instant)]), True)


def _of_sun(world: World, start: SunOffset) -> Iterator[Occasion]:
    given = world.controller.sun_date
    readings = ("fires on", "event on", "evening") if given is None else (given,)
    for time in world.sun.of(start.word):
        offset = start.offset_minutes * MINUTE
        first, last = world.down(time.earliest + offset), world.up(time.latest + offset)
        tested = {
            "fires on": world.between(first, last),
            "event on": world.between(time.earliest, time.latest),
            "evening": [time.day],
        }
        dates = world.bits([day for reading in readings for day in tested[reading]])
        yield Occasion(first, last, dates, time.certain)


def stretches(
    occasions: Sequence[Occasion], action: Action, named: int, resting: int = 0
) -> list[Stretch]:
    """What an event of these dates does; on resting dates it is suspended."""
    awake = named & ~resting
    return [
        Stretch(o.first, o.last, o.certain and not o.dates & ~awake, action)
        for o in occasions
        if o.dates & awake
    ]


# Dates an event can name


def named_sets(world: World) -> Mapping[int, int]:
    """Every set of dates a normal event can name, with the fewest slots that takes."""
    c = world.controller
    return _named_sets(world.dates, c.weekday_sets, c.date_ranges, c.weekday_set_costs)


@lru_cache(maxsize=64)
def _named_sets(
    dates: tuple[date, ...],
    weekday_sets: tuple[frozenset[int], ...] | None,
    date_ranges: str,
    costs: str,
) -> Mapping[int, int]:
    if weekday_sets is None:
        present = sorted({d.weekday() for d in dates})
        weekday_sets = tuple(
            frozenset(c) for n in range(1, len(present) + 1) for c in combinations(present, n)
        )
    ranges = _ranges(dates, date_ranges)
    found: dict[int, int] = {}
    for days in weekday_sets:
        allowed = sum(1 << i for i, d in enumerate(dates) if d.weekday() in days)
        cost = len(days) if costs == "a slot per day" else 1
        for spanned in ranges:
            named = allowed & spanned
            if named:
                found[named] = min(cost, found.get(named, cost))
    return found


def _ranges(dates: tuple[date, ...], date_ranges: str) -> set[int]:
    """Every set of these dates that one date range names, and all of them."""
    found = {(1 << len(dates)) - 1}
    if date_ranges == "none":
        return found
    with_year = date_ranges == "with year"

    def key(day: date) -> tuple[int, int, int]:
        return (day.year if with_year else 0, day.month, day.day)

    keys = [key(day) for day in dates]
    ends = sorted({*keys, *(key(d + timedelta(days=1)) for d in dates)})
    for first, last in product(ends, ends):
        if first <= last:
            found.add(sum(1 << i for i, k in enumerate(keys) if first <= k <= last))
        elif date_ranges == "yearly":
            found.add(sum(1 << i for i, k in enumerate(keys) if k >= first or k <= last))
    return found


# Special days


class Plans(Record):
    """Which dates of a channel are special days, by plan, and the OFFs that come with them."""

    dates: tuple[tuple[str, int], ...] = ()
    offs: tuple[int, ...] = ()
    slots: int = 0

    @property
    def resting(self) -> int:
        return sum(bits for _, bits in self.dates)


NO_PLANS = Plans()


def eligible(world: World, channel: ChannelTarget) -> list[date]:
    """The dates that may be special days: those marked and the date after each."""
    if not world.controller.exceptions.slots:
        return []
    after = {day + timedelta(days=1) for day in channel.special}
    begin, end = (world.clock.local_date(i) for i in (channel.start, channel.end))
    return [d for d in sorted(channel.special | after) if begin <= d <= end]


def every_plans(world: World, days: Sequence[date]) -> list[Plans]:
    """Every way to make special days of some of these dates, within the controller's means."""
    kept = world.controller.exceptions
    found: dict[Plans, None] = {NO_PLANS: None}
    for count in range(1, len(days) + 1):
        for chosen in combinations(days, count):
            for plans in _partitions(chosen, kept.plan, kept.plans):
                for periods in _periods(chosen, plans, kept.length, kept.start, kept.end):
                    if len(periods) <= kept.slots:
                        found[_plans(world, chosen, plans, periods)] = None
    must_rest = world.bits(world.must_rest)
    return [plans for plans in found if not must_rest & ~plans.resting]


def _partitions(chosen: Sequence[date], plan: str, most: int | None) -> Iterator[tuple[str, ...]]:
    """The plan of each date: restricted growth strings."""
    if plan == "off":
        yield (PLAIN_DARK,) * len(chosen)
        return

    def grow(prefix: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
        if len(prefix) == len(chosen):
            yield prefix
            return
        used = max(prefix, default=-1) + 1
        for number in range(used + 1):
            if most is None or number < most:
                yield from grow((*prefix, number))

    for numbers in grow(()):
        yield tuple(f"plan {n + 1}" for n in numbers)


def _periods(
    chosen: Sequence[date], plans: Sequence[str], length: str, start: str, end: str
) -> Iterator[tuple[tuple[date, date], ...]]:
    """Every way to store the dates; neighbours of one plan may share a range.

    Storing them apart matters only where the lamps go off between them.
    """
    joinable = [
        length == "range" and plans[i] == plans[i - 1] and chosen[i] - chosen[i - 1] == _ONE_DAY
        for i in range(1, len(chosen))
    ]
    apart_too = "off" in (start, end)
    options = [((True, False) if apart_too else (True,)) if j else (False,) for j in joinable]
    for joins in product(*options):
        periods = [(chosen[0], chosen[0])]
        for day, joined in zip(chosen[1:], joins, strict=True):
            if joined:
                periods[-1] = (periods[-1][0], day)
            else:
                periods.append((day, day))
        yield tuple(periods)


_ONE_DAY = timedelta(days=1)


def _plans(
    world: World,
    chosen: Sequence[date],
    plans: Sequence[str],
    periods: Sequence[tuple[date, date]],
) -> Plans:
    by_plan: dict[str, int] = {}
    for day, plan in zip(chosen, plans, strict=True):
        by_plan[plan] = by_plan.get(plan, 0) | world.bits([day])
    return Plans(tuple(by_plan.items()), tuple(offs_of(world, periods)), len(periods))


def offs_of(world: World, periods: Sequence[tuple[date, date]]) -> list[int]:
    """The instants at which special days switch off by themselves.

    They end where the date after is no special day, whatever its plan.
    """
    kept = world.controller.exceptions
    begins = {first for first, _ in periods}
    at: set[int] = set()
    for first, last in periods:
        if kept.plan == "off" or kept.start == "off":
            at.add(world.clock.first_pass(first, 0))
        if kept.end == "off" and last + _ONE_DAY not in begins:
            at.add(world.clock.first_pass(last + _ONE_DAY, 0))
    return sorted(at)


# One channel as time


class Lane(Record, dict=True):
    """A channel on a list of ticks, the instants at which anything could happen.

    `fewest_done[t]` and `most_done[t]` are how many switchings have been done at tick t at the
    least and at the most.
    """

    channel: ChannelTarget
    ticks: list[int]
    low: list[int]
    high: list[int]

    @cached_property
    def fewest_done(self) -> list[int]:
        return [bisect_right(self.high, t) for t in range(len(self.ticks))]

    @cached_property
    def most_done(self) -> list[int]:
        return [bisect_right(self.low, t) for t in range(len(self.ticks))]

    @cached_property
    def window(self) -> tuple[int, int]:
        """Firings outside do not count."""
        switchings = self.channel.switchings
        return (
            min([self.channel.start, *(s.earliest for s in switchings)]),
            max([self.channel.end, *(s.latest for s in switchings)]),
        )

    def matters(self, first: int, last: int) -> bool:
        begin, end = self.window
        return last >= begin and first <= end

    def action(self, done: int) -> Action:
        """What the lamps were last told after so many switchings."""
        if done:
            return self.channel.switchings[done - 1].action
        return Action.ON if self.channel.lit_at_start else Action.OFF

    def span(self, first: int, last: int) -> range:
        """The ticks from one instant through another."""
        return range(bisect_left(self.ticks, first), bisect_right(self.ticks, last))

    @cached_property
    def wrong_before(self) -> dict[Action, list[int]]:
        """For each action, how many ticks before t are surely of the other one."""
        found: dict[Action, list[int]] = {}
        for action in Action:
            counts = [0]
            for few, most in zip(self.fewest_done, self.most_done, strict=True):
                counts.append(counts[-1] + (few == most and self.action(few) is not action))
            found[action] = counts
        return found

    def is_wrong(self, action: Action, first: int, last: int) -> bool:
        """Whether an action there is wrong however the lamps behave."""
        ticks, counts = self.span(first, last), self.wrong_before[action]
        return counts[ticks.stop] > counts[ticks.start]

    def contested(self, first: int, last: int) -> list[int]:
        return [t for t in self.span(first, last) if self.fewest_done[t] != self.most_done[t]]

    def could_do(self, stretch: Stretch) -> list[int]:
        """The switchings that a certain firing could do."""
        if not stretch.certain:
            return []
        return [
            i
            for i, s in enumerate(self.channel.switchings)
            if s.action is stretch.action
            and stretch.first >= s.earliest
            and stretch.last <= s.latest
        ]


def lanes_of(world: World, channels: Sequence[ChannelTarget]) -> list[Lane]:
    """The channels on common ticks: every step of the clock and every end of a firing or band."""
    ticks: set[int] = set()
    for occasions in world.starts.values():
        for occasion in occasions:
            ticks |= {occasion.first, occasion.last}
    for channel in channels:
        for switching in channel.switchings:
            ticks |= {switching.earliest, switching.latest}
    instant, end = world.up(min(ticks)), max(ticks)
    while instant < end:
        ticks.add(instant)
        instant = world.up(instant + 1)
    ordered = sorted(ticks)
    return [
        Lane(
            c,
            ordered,
            [bisect_left(ordered, s.earliest) for s in c.switchings],
            [bisect_left(ordered, s.latest) for s in c.switchings],
        )
        for c in channels
    ]


# Events as the search sees them


class Piece(Record):
    """An event, or one half of a slot: what it may disturb and what it could do.

    `disturbs` are (lane, tick) at which its action may come; `does` are (lane, switching, first
    tick, last tick). Halves of a slot share a `group`. A `forced` piece is there in any case.
    """

    label: tuple[object, ...]
    action: Action
    disturbs: frozenset[tuple[int, int]]
    does: frozenset[tuple[int, int, int, int]]
    cost: int = 1
    plan: str = ""
    group: object = None
    forced: bool = False


def _piece(
    lanes: Sequence[Lane],
    fires: Sequence[tuple[int, Stretch]],
    label: tuple[object, ...],
    **more: object,
) -> Piece | None:
    """None: it is wrong however the lamps behave, or no use."""
    disturbs: set[tuple[int, int]] = set()
    does: set[tuple[int, int, int, int]] = set()
    for number, stretch in fires:
        lane = lanes[number]
        if not lane.matters(stretch.first, stretch.last):
            continue
        if lane.is_wrong(stretch.action, stretch.first, stretch.last):
            return None
        disturbs |= {(number, t) for t in lane.contested(stretch.first, stretch.last)}
        ticks = lane.span(stretch.first, stretch.last)
        does |= {(number, i, ticks.start, ticks.stop - 1) for i in lane.could_do(stretch)}
    action = fires[0][1].action if fires else Action.OFF
    piece = Piece(label, action, frozenset(disturbs), frozenset(does), **more)  # type: ignore[arg-type]
    return piece if piece.does or piece.forced else None


class Offsets(Record):
    """One offset for all sun events of a word, by (channel, word); empty: each its own."""

    chosen: Mapping[tuple[int, str], int] = field(default_factory=dict)

    def allow(self, start: Start, channels: Sequence[int]) -> bool:
        if not isinstance(start, SunOffset) or not self.chosen:
            return True
        return all(self.chosen[c, start.word] == start.offset_minutes for c in channels)


def pieces_of(
    world: World,
    lanes: Sequence[Lane],
    plans: Sequence[Plans],
    offsets: Offsets,
) -> list[Piece] | None:
    """Every event that could help; None where special days switch off lamps that should be lit."""
    found: list[Piece] = []
    for number, plan in enumerate(plans):
        stretches_of_offs = [(number, Stretch(t, t, True, Action.OFF)) for t in plan.offs]
        if stretches_of_offs:
            piece = _piece(lanes, stretches_of_offs, ("special days go off",), cost=0, forced=True)
            if piece is None:
                return None
            found.append(piece)
    for start, occasions in world.starts.items():
        for numbers in _channel_sets(world.controller, len(lanes)):
            if offsets.allow(start, [lanes[n].channel.channel for n in numbers]):
                for action in Action:
                    found += _normal(world, lanes, plans, start, occasions, numbers, action)
                    found += _planned(world, lanes, plans, start, occasions, numbers, action)
    return _different(found)


def _channel_sets(controller: Controller, lanes: int) -> list[tuple[int, ...]]:
    most = lanes if controller.event_covers == "any channels" else 1
    return [c for n in range(1, most + 1) for c in combinations(range(lanes), n)]


def _normal(
    world: World,
    lanes: Sequence[Lane],
    plans: Sequence[Plans],
    start: Start,
    occasions: Sequence[Occasion],
    numbers: tuple[int, ...],
    action: Action,
) -> Iterator[Piece]:
    forbidden = 0
    useful = 0
    for n in numbers:
        awake = ~plans[n].resting
        for o in occasions:
            if not lanes[n].matters(o.first, o.last):
                continue
            useful |= o.dates & awake
            if lanes[n].is_wrong(action, o.first, o.last):
                forbidden |= o.dates & awake
    in_pairs = world.controller.slot_holds != "one action"
    cheapest: dict[int, tuple[int, int]] = {}
    for named, cost in named_sets(world).items():
        if named & forbidden or not named & useful:
            continue
        key = named if in_pairs else named & useful
        cheapest[key] = min((cost, named), cheapest.get(key, (cost, named)))
    for cost, named in cheapest.values():
        fires = [
            (n, s) for n in numbers for s in stretches(occasions, action, named, plans[n].resting)
        ]
        label = (action.value, start, numbers, tuple(world.days(named)))
        group = (numbers, named) if in_pairs else None
        piece = _piece(lanes, fires, label, cost=cost, group=group)
        if piece is not None:
            yield piece


def _planned(
    world: World,
    lanes: Sequence[Lane],
    plans: Sequence[Plans],
    start: Start,
    occasions: Sequence[Occasion],
    numbers: tuple[int, ...],
    action: Action,
) -> Iterator[Piece]:
    names = {name for n in numbers for name, _ in plans[n].dates if name != PLAIN_DARK}
    for name in sorted(names):
        fires = [
            (n, s)
            for n in numbers
            for s in stretches(occasions, action, dict(plans[n].dates).get(name, 0))
        ]
        label = (action.value, start, numbers, name)
        group = numbers if world.controller.slot_holds != "one action" else None
        piece = _piece(lanes, fires, label, plan=name, group=group)
        if piece is not None:
            yield piece


def _different(pieces: Sequence[Piece]) -> list[Piece]:
    """One of those that do the same, and of those that disturb nothing the largest."""
    cheapest: dict[object, Piece] = {}
    for p in pieces:
        key = (p.action, p.disturbs, p.does, p.plan, p.group, p.forced)
        if key not in cheapest or p.cost < cheapest[key].cost:
            cheapest[key] = p
    return list(cheapest.values())


# The search


class Solution(Record):
    slots: int
    labels: tuple[tuple[object, ...], ...]


class Search:
    """Tries every instant for every switching, and the fewest events for each such behaviour."""

    def __init__(
        self, controller: Controller, lanes: Sequence[Lane], pieces: Sequence[Piece], below: int
    ) -> None:
        self.controller = controller
        self.in_pairs = controller.slot_holds != "one action"
        self.lanes = lanes
        self.pieces = pieces
        self.best: Solution | None = None
        self.below = below
        self.forced = sum(1 << i for i, p in enumerate(pieces) if p.forced)
        self.disturbing: dict[tuple[int, int, Action], int] = {}
        self.doing: dict[tuple[int, int], dict[tuple[int, int], int]] = {}
        for i, piece in enumerate(pieces):
            for lane, tick in piece.disturbs:
                key = (lane, tick, piece.action)
                self.disturbing[key] = self.disturbing.get(key, 0) | 1 << i
            for lane, switching, first, last in piece.does:
                at = self.doing.setdefault((lane, switching), {})
                at[first, last] = at.get((first, last), 0) | 1 << i

    def run(self) -> Solution | None:
        everything = (1 << len(self.pieces)) - 1
        every_row = [
            (n, i, self._doing(n, i, 0, NEVER_ENDS))
            for n, lane in enumerate(self.lanes)
            for i in range(len(lane.channel.switchings))
        ]
        if all(row for _, _, row in every_row):
            least = self._cover([row for _, _, row in every_row], everything, self.below)
            self.least = NEVER_ENDS if least is None else least.slots
            if least is not None:
                self._lane(0, everything, [])
        return self.best

    def _doing(self, lane: int, switching: int, first: int, last: int) -> int:
        """The events that surely do a switching between two ticks."""
        found = 0
        for (begin, end), mask in self.doing.get((lane, switching), {}).items():
            if begin >= first and end <= last:
                found |= mask
        return found

    def _lane(self, number: int, alive: int, rows: list[int]) -> None:
        if number == len(self.lanes):
            self._leaf(alive, rows)
        else:
            self._switching(number, 0, 0, alive, rows)

    def _switching(self, number: int, done: int, since: int, alive: int, rows: list[int]) -> None:
        """The instant of the next switching; the last one was at tick `since`."""
        if self.best is not None and self.best.slots <= self.least:
            return
        lane = self.lanes[number]
        wrong = lane.action(done).opposite
        if done == len(lane.channel.switchings):
            for tick in range(since, len(lane.ticks)):
                alive &= ~self.disturbing.get((number, tick, wrong), 0)
            self._close(number, done, since, len(lane.ticks), alive, rows)
            return
        first = max(lane.low[done], since + 1) if done else lane.low[done]
        for tick in range(since, first):
            alive &= ~self.disturbing.get((number, tick, wrong), 0)
        for at in range(first, lane.high[done] + 1):
            before = self.disturbing.get((number, at - 1, lane.action(done)), 0)
            if at == first or before & alive:
                self._close(number, done, since, at, alive, rows)
            alive &= ~self.disturbing.get((number, at, wrong), 0)

    def _close(
        self, number: int, done: int, since: int, at: int, alive: int, rows: list[int]
    ) -> None:
        """Between these ticks the lamps are as the last switching left them."""
        if self.forced & ~alive:
            return
        if done:
            rows = [*rows, self._doing(number, done - 1, since, at - 1)]
        if not all(row & alive for row in rows):
            return
        if self.best is not None and self._apart(rows, alive) >= self.best.slots:
            return
        if done == len(self.lanes[number].channel.switchings):
            self._lane(number + 1, alive, rows)
        else:
            self._switching(number, done + 1, at, alive, rows)

    def _apart(self, rows: Sequence[int], alive: int) -> int:
        """Rows no two of which one event could do: so many slots are needed at the least.

        What is there in any case takes none.
        """
        seen = count = 0
        for row in rows:
            if not row & self.forced and not row & alive & seen:
                count += 1
                seen |= row & alive
        return (count + 1) // 2 if self.in_pairs else count

    def _leaf(self, alive: int, rows: list[int]) -> None:
        limit = self.below if self.best is None else self.best.slots
        found = self._cover(rows, alive, limit)
        if found is not None:
            self.best = found

    def _cover(self, rows: Sequence[int], alive: int, below: int) -> Solution | None:
        """The fewest slots that do all rows, if fewer than `below`."""
        does: dict[int, int] = {}
        for r, row in enumerate(rows):
            left = row & alive
            while left:
                bit = left & -left
                index = bit.bit_length() - 1
                does[index] = does.get(index, 0) | 1 << r
                left ^= bit
        open_rows = (1 << len(rows)) - 1
        for index in list(does):
            if self.pieces[index].forced:
                open_rows &= ~does.pop(index)
        columns = _largest(self._columns(does, open_rows))
        most = self.controller.exceptions.plan_events
        own = self.controller.exceptions.events_from == "plan_events"
        chosen = _fewest(columns, open_rows, below, most if own else None)
        if chosen is None:
            return None
        labels = tuple(self.pieces[i].label for c in chosen for i in c.pieces)
        return Solution(sum(c.cost for c in chosen), labels)

    def _columns(self, does: Mapping[int, int], wanted: int) -> list[Column]:
        if not self.in_pairs:
            return [
                Column(self.pieces[i].cost, done & wanted, self.pieces[i].plan, (i,))
                for i, done in does.items()
                if done & wanted
            ]
        groups: dict[object, dict[Action, dict[int, int]]] = {}
        for i, done in does.items():
            piece = self.pieces[i]
            halves = groups.setdefault((piece.group, piece.plan), {a: {} for a in Action})
            halves[piece.action].setdefault(done & wanted, i)
        found = []
        for halves in groups.values():
            nothing: list[tuple[int, int | None]] = [(0, None)]
            ons, offs = ([*nothing, *halves[a].items()] for a in (Action.ON, Action.OFF))
            for (on, first), (off, second) in product(ons, offs):
                used = tuple(k for k in (first, second) if k is not None)
                if on | off:
                    piece = self.pieces[used[0]]
                    found.append(Column(piece.cost, on | off, piece.plan, used))
        return found


class Column(Record):
    cost: int
    does: int
    plan: str
    pieces: tuple[int, ...]


def _largest(columns: Sequence[Column]) -> list[Column]:
    """Without those that another of the same plan makes idle."""
    kept: list[Column] = []
    for column in sorted(columns, key=lambda c: (-c.does.bit_count(), c.cost)):
        if not any(
            k.does & column.does == column.does and k.cost <= column.cost and k.plan == column.plan
            for k in kept
        ):
            kept.append(column)
    return kept


def _fewest(
    columns: Sequence[Column], wanted: int, below: int, most: int | None
) -> list[Column] | None:
    """The cheapest columns that do all that is wanted; `most` of one plan."""
    best: list[Column] | None = None
    limit = below

    def grow(chosen: list[Column], cost: int, left: int) -> None:
        nonlocal best, limit
        if not left:
            best, limit = chosen, cost
            return
        if cost + 1 >= limit:
            return
        rows = [1 << r for r in range(left.bit_length()) if left >> r & 1]
        row = min(rows, key=lambda r: sum(1 for c in columns if c.does & r))
        for column in sorted(columns, key=lambda c: -(c.does & left).bit_count()):
            held = sum(1 for c in chosen if c.plan == column.plan)
            is_full = most is not None and bool(column.plan) and held >= most
            if column.does & row and cost + column.cost < limit and not is_full:
                grow([*chosen, column], cost + column.cost, left & ~column.does)

    if limit > 0:
        grow([], 0, wanted)
    return best


# The fewest slots of a world


def fewest(world: World) -> Solution | None:
    """A right program of fewest slots; None: there is none, however long."""
    together = world.controller.event_covers == "any channels"
    together |= world.controller.exceptions.covers != "one channel"
    best: Solution | None = None
    for offsets in _every_offsets(world, world.channels):
        below = NEVER_ENDS if best is None else best.slots
        found = _together(world, offsets, below) if together else _apart(world, offsets)
        if found is not None and found.slots < below:
            best = found
        if not together and world.controller.offsets == "per channel":
            break
    return best


def _every_offsets(world: World, channels: Sequence[ChannelTarget]) -> Iterator[Offsets]:
    by_word: dict[str, list[int]] = {}
    for start in world.starts:
        if isinstance(start, SunOffset):
            by_word.setdefault(start.word, []).append(start.offset_minutes)
    numbers = [c.channel for c in channels]
    if world.controller.offsets == "per event":
        yield Offsets()
    elif world.controller.offsets == "one for all":
        for offsets in product(*by_word.values()):
            chosen = dict(zip(by_word, offsets, strict=True))
            yield Offsets({(n, w): o for n in numbers for w, o in chosen.items()})
    else:
        keys = [(n, w) for n in numbers for w in by_word]
        for offsets in product(*(by_word[w] for _, w in keys)):
            yield Offsets(dict(zip(keys, offsets, strict=True)))


def _solve(
    world: World,
    lanes: Sequence[Lane],
    plans: Sequence[Plans],
    offsets: Offsets,
    below: int,
) -> Solution | None:
    if any(s.earliest > s.latest for lane in lanes for s in lane.channel.switchings):
        return None
    pieces = pieces_of(world, lanes, plans, offsets)
    return None if pieces is None else Search(world.controller, lanes, pieces, below).run()


def _together(world: World, offsets: Offsets, below: int) -> Solution | None:
    """All channels in one search; special days hold for all of them."""
    best: Solution | None = None
    lanes = lanes_of(world, world.channels)
    days = sorted({d for c in world.channels for d in eligible(world, c)})
    for plans in every_plans(world, days):
        found = _solve(world, lanes, [plans] * len(lanes), offsets, below)
        if found is not None:
            best, below = found, found.slots
    return best


def _apart(world: World, offsets: Offsets) -> Solution | None:
    """Channel by channel; together they may use as many special days as there are slots."""
    spent: dict[int, Solution] = {0: Solution(0, ())}
    for channel in world.channels:
        ways = _ways(world, channel, offsets)
        combined: dict[int, Solution] = {}
        for (a, before), (b, more) in product(spent.items(), ways.items()):
            total = Solution(before.slots + more.slots, before.labels + more.labels)
            known = combined.get(a + b)
            enough = world.controller.exceptions.slots >= a + b
            if enough and (known is None or total.slots < known.slots):
                combined[a + b] = total
        spent = combined
    return min(spent.values(), key=lambda s: s.slots, default=None)


def _ways(world: World, channel: ChannelTarget, offsets: Offsets) -> dict[int, Solution]:
    """The fewest slots of one channel by how many special days it uses."""
    per_channel = world.controller.offsets == "per channel"
    lanes = lanes_of(world, [channel])
    ways: dict[int, Solution] = {}
    for plans in every_plans(world, eligible(world, channel)):
        for own in _every_offsets(world, [channel]) if per_channel else [offsets]:
            below = min([NEVER_ENDS, *(s.slots for n, s in ways.items() if n <= plans.slots)])
            found = _solve(world, lanes, [plans], own, below)
            if found is not None:
                ways[plans.slots] = found
    return ways
