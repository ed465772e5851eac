"""All runs of a program over the period, and the check on intervals."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from schedcomp.audit.channels import Channel, channels_for
from schedcomp.audit.compare import Happenings, Wanted, compare
from schedcomp.audit.intervals import interval_differences, overlaps
from schedcomp.audit.lamps import changes
from schedcomp.audit.unit import Firings, SunRun
from schedcomp.audit.unit_clock import Ints
from schedcomp.audit_report import AuditReport, Difference, Overlap, Run, Seen
from schedcomp.controller import Controller
from schedcomp.model import Action, Instant
from schedcomp.program import Program
from schedcomp.records import Record
from schedcomp.target import Target
from schedcomp.unit_sun import UnitSun


class _Played(Record):
    """What the lamps of one channel did in a run, and how that compares."""

    channel: int
    seen: Seen
    differences: tuple[Difference, ...]
    early_seconds: int = 0
    early_at: Instant | None = None
    late_seconds: int = 0
    late_at: Instant | None = None


def run_program(
    program: Program, controller: Controller, target: Target, unit_sun: UnitSun, zone_name: str
) -> AuditReport:
    """Run a program as a unit of this controller does, and compare with the target.

    Runs: every sun time exact, at its earliest, at its latest, and scattered within its error;
    where firings are not certain, each also with all of them coming; and all of these starting
    in the opposite state. The bounds of the target are final: nothing is allowed on top. In the
    runs a sun event fires to the second; the check on intervals rounds it outward to the step.

    Raises KeyError for a sun word without times, `zoneinfo.ZoneInfoNotFoundError` for an unknown
    zone.
    """
    channels = channels_for(program, controller, target, unit_sun, zone_name)
    met: tuple[Overlap, ...] = ()
    differences: tuple[Difference, ...] = ()
    for channel in channels:
        firings = channel.possible()
        meeting = overlaps(firings, channel.number)
        met += meeting
        if not meeting:
            differences += interval_differences(
                firings, channel.wanted, channel.wanted.lit_at_start
            )
    return AuditReport(
        runs=tuple(_all_runs(channels)), overlaps=met, interval_differences=differences
    )


def play_alone(
    program: Program, controller: Controller, target: Target, unit_sun: UnitSun, zone_name: str
) -> tuple[Run, ...]:
    """The runs with exact, early and late sun times, in this order; raises as `run_program`."""
    channels = channels_for(program, controller, target, unit_sun, zone_name)
    return tuple(
        _run(sun.value, [_play(channel.in_run(sun)[0], channel) for channel in channels])
        for sun in (SunRun.EXACT, SunRun.EARLY, SunRun.LATE)
    )


def _all_runs(channels: Sequence[Channel]) -> Iterator[Run]:
    """The exact run comes first."""
    plain, opposite = [], []
    for sun in SunRun:
        both = [channel.in_run(sun) for channel in channels]
        variants = [(sun.value, [quiet for quiet, _ in both])]
        if not all(quiet.same_as(full) for quiet, full in both):
            variants.append((f"{sun.value}, doubtful firings come", [full for _, full in both]))
        for name, played in variants:
            together = list(zip(played, channels, strict=True))
            plain.append(_run(name, [_play(f, c) for f, c in together]))
            opposite.append(
                _run(f"{name}, opposite start", [_play_opposite(f, c) for f, c in together])
            )
    yield from plain
    yield from opposite


def _play(firings: Firings, channel: Channel) -> _Played:
    """A run from the state the target gives."""
    lamps = changes(firings, channel.wanted.lit_at_start)
    return _judge(_happenings(lamps), channel.wanted, lamps)


def _play_opposite(firings: Firings, channel: Channel) -> _Played:
    """A run from the opposite state: from the first firing on it must be right."""
    wanted = channel.wanted
    lamps = changes(firings, not wanted.lit_at_start)
    happened = _happenings(lamps)
    if not len(firings.starts):
        return _judge(happened, wanted, lamps)
    if bool(firings.on[0]) == wanted.lit_at_start:
        # The first firing repeats an action; here it puts the state right, which is welcome.
        return _judge(happened.after(1), wanted, lamps)
    # The first firing finds its state already there: it stands for the first switching.
    at = int(firings.starts[0])
    if len(wanted) and wanted.earliest[0] <= at <= wanted.latest[0]:
        return _judge(happened, wanted.after(1), lamps)
    if at > wanted.end:
        return _judge(happened, wanted, lamps)
    action = Action.ON if firings.on[0] else Action.OFF
    expected = int(wanted.instants[0]) if len(wanted) else None
    wrong = Difference("wrong at the start", wanted.channel, action, expected, at)
    return _Played(wanted.channel, _seen(lamps), (wrong,))


def _judge(happened: Happenings, wanted: Wanted, lamps: Firings) -> _Played:
    found = compare(happened, wanted)
    early, late, early_at, late_at = 0, 0, None, None
    if len(found.wanted):
        expected = wanted.instants[found.wanted]
        by = happened.starts[found.happened] - expected
        early, early_at = _worst(-by, expected)
        late, late_at = _worst(by, expected)
    return _Played(wanted.channel, _seen(lamps), found.differences, early, early_at, late, late_at)


def _worst(seconds: Ints, instants: Ints) -> tuple[int, Instant | None]:
    """The largest positive figure and its instant; 0 and None when there is none."""
    where = int(np.argmax(seconds))
    worst = int(seconds[where])
    return (worst, int(instants[where])) if worst > 0 else (0, None)


def _run(name: str, channels: list[_Played]) -> Run:
    early = max(channels, key=lambda c: c.early_seconds, default=None)
    late = max(channels, key=lambda c: c.late_seconds, default=None)
    return Run(
        name=name,
        differences=tuple(d for c in channels for d in c.differences),
        worst_early_seconds=early.early_seconds if early else 0,
        worst_early_at=early.early_at if early else None,
        worst_late_seconds=late.late_seconds if late else 0,
        worst_late_at=late.late_at if late else None,
        switchings=tuple((c.channel, c.seen) for c in channels),
    )


def _happenings(lamps: Firings) -> Happenings:
    return Happenings(lamps.starts, lamps.ends, lamps.on)


def _seen(lamps: Firings) -> Seen:
    return Seen(lamps.starts, lamps.on, lamps.slots)
