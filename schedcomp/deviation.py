"""How far the test runs depart from the exact year, by circuit and action."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from schedcomp.audit_report import AuditReport, Run
from schedcomp.model import HOUR, Action, Instant
from schedcomp.program import Certificate
from schedcomp.records import Record
from schedcomp.target import ChannelTarget, Target
from schedcomp.year import CircuitYear, Switching, Year


class Worst(Record):
    """The largest departure in one direction and the asked instant; 0 and None: none at all."""

    seconds: int
    at: Instant | None


class Deviation(Record, kw_only=True):
    """What one action of one circuit does against the exact year, at its worst over all runs."""

    circuit: str
    channel: int
    action: Action
    early: Worst
    late: Worst


class TotalDeviation(Record, kw_only=True):
    """All circuits together over the period: what the program does, and a bound no program of as
    few slots goes below.

    The kWh weigh each circuit by its load; None where no circuit has one.
    """

    seconds: int
    bound_seconds: int
    kwh: float | None
    bound_kwh: float | None

    @property
    def is_least(self) -> bool:
        return self.seconds == self.bound_seconds


def total_deviation(certificate: Certificate) -> TotalDeviation | None:
    """The sums of a certificate; None where it holds no deviations."""
    found = certificate.deviations
    if not found:
        return None
    has_load = any(d.load_kw for d in found)
    return TotalDeviation(
        seconds=sum(d.seconds for d in found),
        bound_seconds=sum(d.bound_seconds for d in found),
        kwh=sum(d.load_kw * d.seconds for d in found) / HOUR if has_load else None,
        bound_kwh=sum(d.load_kw * d.bound_seconds for d in found) / HOUR if has_load else None,
    )


def deviations(year: Year, target: Target, audit: AuditReport) -> tuple[Deviation, ...]:
    """Every circuit's ONs and OFFs over all runs that agree.

    Runs from the opposite state are left out: their first switching repairs the state. Spans and
    gaps that the target changed are not counted here but named with the target.
    """
    runs = [run for run in audit.runs if run.agrees and not run.name.endswith("opposite start")]
    found = []
    for channel in target.channels:
        asked = _asked(channel, year.circuit(channel.circuit))
        for action in Action:
            departures = _departures(asked, action, channel.channel, runs)
            found.append(_deviation(channel, action, departures))
    return tuple(found)


def _deviation(
    channel: ChannelTarget, action: Action, departures: list[tuple[int, Instant]]
) -> Deviation:
    return Deviation(
        circuit=channel.circuit,
        channel=channel.channel,
        action=action,
        early=_worst((-seconds, at) for seconds, at in departures),
        late=_worst(departures),
    )


def _worst(departures: Iterable[tuple[int, Instant]]) -> Worst:
    """The first of the largest figures above 0."""
    seconds, at = max(departures, key=lambda found: (found[0], -found[1]), default=(0, 0))
    return Worst(seconds, at) if seconds > 0 else Worst(0, None)


def _departures(
    asked: list[tuple[Instant, Action]], action: Action, channel: int, runs: Iterable[Run]
) -> list[tuple[int, Instant]]:
    """Seconds by which each switching came late, with the instant that was asked for."""
    return [
        (happened - asked_at, asked_at)
        for run in runs
        for (asked_at, wanted), (happened, _, _) in zip(
            asked, run.of_channel(channel), strict=False
        )
        if wanted is action
    ]


def _asked(channel: ChannelTarget, exact: CircuitYear) -> list[tuple[Instant, Action]]:
    """The target's switchings at the instants of the exact year they stem from."""
    # By date first: most reasons are the same object there, and none has to be hashed.
    by_date: dict[date, list[Switching]] = {}
    for switching in exact.switchings():
        by_date.setdefault(switching.reason.date, []).append(switching)
    return [
        (
            next(
                (
                    one.instant
                    for one in reversed(by_date.get(s.reason.date, []))
                    if one.action is s.action and one.reason == s.reason
                ),
                s.instant,
            ),
            s.action,
        )
        for s in channel.switchings
    ]
