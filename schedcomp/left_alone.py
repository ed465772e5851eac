"""What people notice of a new program: the nights on which an old one, left alone, would differ."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from schedcomp.audit_report import AuditReport, Run
from schedcomp.clock import Zone
from schedcomp.later import what_words, wrongs_of
from schedcomp.model import HOUR, ONE_DAY, Action, Instant
from schedcomp.records import Record
from schedcomp.target import Target

NOON_SECONDS = 12 * HOUR

Stretch = tuple[Instant, Instant]


class Noticed(Record, kw_only=True):
    """How the nights of one circuit differ, nights named by their evening and taken from noon.

    Seconds are those lit with the new program and not with the old one (`more`), and those lit
    with the old one only (`less`), sun times as worked out.
    """

    circuit: str
    channel: int
    nights: int
    more_seconds: int
    less_seconds: int
    first: date
    worst: date
    worst_more_seconds: int
    worst_less_seconds: int


class LeftAlone(Record):
    """The first thing that an old program does wrong in the new period; `what` follows "the lamps
    of CIRCUIT".
    """

    day: date
    circuit: str
    what: str


def first_fault(report: AuditReport, target: Target, zone: Zone) -> LeftAlone | None:
    """The first thing that the test run of an old program finds wrong, None if nothing."""
    wrongs = sorted(wrongs_of(report), key=lambda w: (w.instant, not w.sure))
    if not wrongs:
        return None
    first = wrongs[0]
    circuit = _circuit(target, first.difference.channel)
    return LeftAlone(zone.local_date(first.instant), circuit, what_words(first))


def noticed(old: Run, new: Run, target: Target, zone: Zone) -> tuple[Noticed, ...]:
    """What differs between two runs over the same period, circuit by circuit."""
    numbers = dict.fromkeys(channel for run in (old, new) for channel, _ in run.switchings)
    found = (_of_channel(old, new, number, target, zone) for number in sorted(numbers))
    return tuple(one for one in found if one is not None)


def _of_channel(old: Run, new: Run, channel: int, target: Target, zone: Zone) -> Noticed | None:
    before = _lit(old, channel, target)
    after = _lit(new, channel, target)
    more = _by_night(_without(after, before), zone)
    less = _by_night(_without(before, after), zone)
    nights = sorted({*more, *less})
    if not nights:
        return None
    worst = max(nights, key=lambda day: (more.get(day, 0) + less.get(day, 0), -day.toordinal()))
    return Noticed(
        circuit=_circuit(target, channel),
        channel=channel,
        nights=len(nights),
        more_seconds=sum(more.values()),
        less_seconds=sum(less.values()),
        first=nights[0],
        worst=worst,
        worst_more_seconds=more.get(worst, 0),
        worst_less_seconds=less.get(worst, 0),
    )


def _circuit(target: Target, channel: int) -> str:
    named = (c.circuit for c in target.channels if c.channel == channel)
    return next(named, f"channel {channel}")


def _lit(run: Run, channel: int, target: Target) -> list[Stretch]:
    """When the lamps of a channel are lit within the period."""
    wanted = next((c for c in target.channels if c.channel == channel), None)
    since = target.start if wanted is not None and wanted.lit_at_start else None
    found: list[Stretch] = []
    for instant, action, _ in run.of_channel(channel):
        at = min(max(instant, target.start), target.end)
        if action is Action.ON:
            since = at if since is None else since
        elif since is not None:
            found.append((since, at))
            since = None
    if since is not None:
        found.append((since, target.end))
    return [(start, end) for start, end in found if start < end]


def _without(stretches: Sequence[Stretch], others: Sequence[Stretch]) -> Iterator[Stretch]:
    """The parts of stretches that lie in none of the others; both are in order."""
    for first, last in stretches:
        start = first
        for other_start, other_end in others:
            if other_end <= start or other_start >= last:
                continue
            if other_start > start:
                yield start, other_start
            start = max(start, other_end)
        if start < last:
            yield start, last


def _by_night(stretches: Iterator[Stretch], zone: Zone) -> dict[date, int]:
    """Seconds by the date of the evening; a night goes from noon to noon."""
    found: dict[date, int] = {}
    for first, last in stretches:
        start = first
        day = zone.local_date(start)
        if start < zone.first_pass(day, NOON_SECONDS):
            day -= ONE_DAY
        while start < last:
            end = min(last, zone.first_pass(day + ONE_DAY, NOON_SECONDS))
            found[day] = found.get(day, 0) + end - start
            start, day = end, day + ONE_DAY
    return found
