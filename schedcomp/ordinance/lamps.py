"""What lamps do, as intervals: as scheduled, as they may burn, as they surely burn."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from functools import reduce

from schedcomp.audit_report import Run
from schedcomp.controller import SUNRISE_LEVEL_DEGREES
from schedcomp.model import MINUTE, ONE_DAY, Action, Half, Instant, NoEvent, NoEventReason
from schedcomp.ordinance.intervals import (
    Interval,
    Intervals,
    common,
    merged,
    moved,
    together,
)
from schedcomp.phrases.tree import SunDefinition, SunWord
from schedcomp.records import Record
from schedcomp.site import Circuit
from schedcomp.sun import SiteSun
from schedcomp.year import CircuitYear, Span, Year

WITH_PHOTOCELL = ("series", "parallel")
EXACT_YEAR = "exact year"
TEST_RUN = "test run"


class Burning(Record, eq=False):
    """One circuit: when the schedule lights it, when it may burn, when it surely does.

    `of_year` says why, where that is known. `expected` is when it burns under a clear sky.
    """

    circuit: Circuit
    scheduled: Intervals
    possibly: Intervals
    surely: Intervals
    of_year: CircuitYear | None = None
    expected: Intervals = ()

    @property
    def spans(self) -> tuple[Span, ...]:
        return () if self.of_year is None else self.of_year.spans


class Lamps(Record, eq=False):
    """All circuits over `whole`; nothing is known of them outside it."""

    on: str
    whole: Interval
    burning: tuple[Burning, ...]

    def of(self, circuit: str) -> Burning:
        """The circuit of this name; KeyError if there is none."""
        for burning in self.burning:
            if burning.circuit.name == circuit:
                return burning
        raise KeyError(circuit)


class Counted(Record):
    """What beside the schedule counts: the override, the photocell, the unit's sun error."""

    override: bool = True
    photocell: bool = True
    sun: bool = True


_ALL = Counted()


def burning_of(
    circuit: Circuit,
    scheduled: Intervals,
    dark_enough: Intervals,
    whole: Interval,
    counted: Counted = _ALL,
    of_year: CircuitYear | None = None,
    runs: tuple[Intervals, ...] = (),
) -> Burning:
    """A circuit with its envelope; `dark_enough` is when its photocell calls for light.

    `runs` are what the unit's sun times, early and late, may make of the schedule. In series the
    photocell only takes light away, in parallel it may add some at any time. An override holds a
    lit stretch on after an OFF; a press inside a dark stretch is use.
    """
    minutes = (circuit.override_minutes or 0) if counted.override else 0
    may = together((scheduled, *runs))
    must = reduce(common, runs, scheduled)
    possibly, surely = moved(may, 0, minutes * MINUTE), must
    if counted.photocell and circuit.photocell == "parallel":
        possibly = (whole,)
        surely = together((must, dark_enough))
    elif counted.photocell and circuit.photocell == "series":
        surely = common(must, dark_enough)
    return Burning(circuit, scheduled, possibly, surely, of_year, surely)


def lamps_of_year(
    circuits: tuple[Circuit, ...],
    year: Year,
    photocells: PhotocellSky,
    whole: Interval,
    counted: Counted = _ALL,
) -> Lamps:
    """The lamps as the exact year has them."""
    return Lamps(
        EXACT_YEAR,
        whole,
        tuple(
            burning_of(
                circuit,
                scheduled_of(year.circuit(circuit.name), whole),
                photocells.dark_enough(circuit),
                whole,
                counted,
                year.circuit(circuit.name),
            )
            for circuit in circuits
        ),
    )


def scheduled_of(circuit: CircuitYear, whole: Interval) -> Intervals:
    return common(merged((s.start, s.end) for s in circuit.spans), (whole,))


def lamps_of_run(
    circuits: tuple[Circuit, ...],
    runs: Sequence[Run],
    photocells: PhotocellSky,
    whole: Interval,
    counted: Counted = _ALL,
) -> Lamps:
    """The lamps as runs of the program have them, over the time that was run; the first is the
    one with exact sun times.
    """
    made = []
    for circuit in circuits:
        lit, *others = (
            scheduled_by([(t, a) for t, a, _ in run.of_channel(circuit.channel)], whole)
            for run in (runs if counted.sun else runs[:1])
        )
        dark = photocells.dark_enough(circuit)
        made.append(burning_of(circuit, lit, dark, whole, counted, runs=tuple(others)))
    return Lamps(TEST_RUN, whole, tuple(made))


def scheduled_by(switchings: list[tuple[Instant, Action]], whole: Interval) -> Intervals:
    """Lit stretches from switchings; the first one changes the state before it.

    Lamps that never switch are dark: a unit starts so.
    """
    lit_before = bool(switchings) and switchings[0][1] is Action.OFF
    found: list[Interval] = []
    since = min(whole[0], switchings[0][0]) if lit_before else None
    for instant, action in switchings:
        if action is Action.ON and since is None:
            since = instant
        elif action is Action.OFF and since is not None:
            found.append((since, instant))
            since = None
    if since is not None:
        found.append((since, whole[1]))
    return common(merged(found), (whole,))


# Photocells


class PhotocellSky(Record):
    """When a photocell calls for light, on some dates; `usual` where a circuit names no level."""

    sun: SiteSun
    usual: tuple[SunDefinition, SunDefinition]

    def dark_enough(self, circuit: Circuit) -> Intervals:
        if circuit.photocell not in WITH_PHOTOCELL:
            return ()
        level = circuit.photocell_level
        if level is None:
            return dark_between(self.sun, *self.usual)
        morning = SunDefinition(level.base, -level.offset_minutes)
        return dark_between(self.sun, level, morning)


def dark_between(sun: SiteSun, evening: SunDefinition, morning: SunDefinition) -> Intervals:
    """From one definition's evening crossing to the other's next morning crossing."""
    found: list[Interval] = []
    day = sun.first
    while day < sun.last:
        start = _crossing(sun, day, Half.EVENING, evening)
        end = _crossing(sun, day + ONE_DAY, Half.MORNING, morning)
        if start < end:
            found.append((start, end))
        day += ONE_DAY
    return merged(found)


def _crossing(sun: SiteSun, day: date, half: Half, definition: SunDefinition) -> Instant:
    level = (
        SUNRISE_LEVEL_DEGREES
        if isinstance(definition.base, SunWord)
        else definition.base.level_degrees
    )
    found = sun.crossing(day, half, level)
    if isinstance(found, NoEvent):
        if found.reason is NoEventReason.STAYS_BELOW:
            return sun.transit(day)
        middle = sun.lower_transit_after if half is Half.EVENING else sun.lower_transit_before
        return middle(day)
    return found + definition.offset_minutes * MINUTE
