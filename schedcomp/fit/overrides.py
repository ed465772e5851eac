"""Repeats that would end a wall override before its time, on units whose next event ends it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.controller import Controller
from schedcomp.diag import Diagnostic
from schedcomp.fit.repeats import Repeat
from schedcomp.fit.settled import Settled, Stored
from schedcomp.fit.standing import standing_of
from schedcomp.messages import fitting as messages
from schedcomp.model import DAY, MINUTE, Action
from schedcomp.program import ClockStart, EndedOverride, Start, SunOffset
from schedcomp.site import Circuit
from schedcomp.words import counted, join_and


def cancels_override(
    settled: Settled,
    events: Sequence[Stored],
    found: Sequence[Repeat],
    slots: Sequence[int],
    controller: Controller,
    circuits: Sequence[Circuit],
) -> tuple[EndedOverride, ...]:
    """The repeats that would end a wall override, by circuit, then slot.

    `slots` are those of the repeats `found`, in the same order. A circuit that does not give its
    override has none. An ON that comes again ends nothing anyone would miss.
    """
    if controller.override_ends != "next event":
        return ()
    ended: list[EndedOverride] = []
    offs = [(r, s) for r, s in zip(found, slots, strict=True) if r.event.action is Action.OFF]
    for circuit in circuits:
        for repeat, slot in offs:
            if not circuit.override_minutes or circuit.channel not in repeat.event.channels:
                continue
            after = _soonest_after(settled, events, repeat, circuit.channel)
            if after is not None and after < circuit.override_minutes:
                ended.append(
                    EndedOverride(
                        circuit=circuit.name,
                        channel=circuit.channel,
                        slot=slot,
                        after_minutes=after,
                        override_minutes=circuit.override_minutes,
                    )
                )
    return tuple(sorted(ended, key=lambda e: (e.channel, e.slot)))


def override_notes(
    ended: Sequence[EndedOverride], controller: Controller, circuits: Sequence[Circuit]
) -> Iterator[Diagnostic]:
    """One note for each circuit whose override would be ended."""
    for circuit in circuits:
        here = [e for e in ended if e.channel == circuit.channel]
        if not here:
            continue
        yield messages.ENDS_OVERRIDE.at(
            circuit.at,
            circuit=circuit.name,
            controller=controller.name,
            override=counted(here[0].override_minutes, "minute"),
            after=min(e.after_minutes for e in here),
            slots=("slot " if len(here) == 1 else "slots ") + join_and([str(e.slot) for e in here]),
        )


def _soonest_after(
    settled: Settled, events: Sequence[Stored], repeat: Repeat, channel: int
) -> int | None:
    """Minutes from an OFF of a channel to the repeat, the fewest; None if it follows none."""
    if repeat.of is not None:
        return _minutes_between(events[repeat.of].start, repeat.event.start)
    index = settled.index(channel)
    standing = standing_of(settled, (repeat.event,), ())
    fires = standing.fires(repeat.event.start, Action.OFF, index)
    later = fires.may(repeat.event) & (fires.cell > 0)
    if not later.any():
        return None
    asked = settled.cells[index].asked[fires.cell[later] - 1]
    return int(np.min(fires.first[later] - asked)) // MINUTE


def _minutes_between(one: Start, other: Start) -> int:
    if isinstance(one, ClockStart) and isinstance(other, ClockStart):
        return (other.minutes - one.minutes) % (DAY // MINUTE)
    assert isinstance(one, SunOffset)
    assert isinstance(other, SunOffset)
    return other.offset_minutes - one.offset_minutes
