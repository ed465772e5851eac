"""What a test run found, as findings for people: one for each way in which lamps go wrong."""

from __future__ import annotations

from collections.abc import Iterable

from schedcomp.audit_report import NO_SLOT, AuditReport, Difference, Overlap
from schedcomp.clock import Zone
from schedcomp.diag import Diagnostic
from schedcomp.messages import audit as messages
from schedcomp.messages.kind import Kind
from schedcomp.model import Action, Instant
from schedcomp.records import Record
from schedcomp.target import Target
from schedcomp.told_time import exact_moment_words

_ON = {
    "missing": "do not come on when they should",
    "extra": "come on when they should not",
    "too early": "come on too early",
    "too late": "come on too late",
    "wrong at the start": "come on wrongly if the controller starts with the lamps lit",
}
_OFF = {
    "missing": "do not go off when they should",
    "extra": "go off when they should not",
    "too early": "go off too early",
    "too late": "go off too late",
    "wrong at the start": "go off wrongly if the controller starts with the lamps dark",
}
_What = tuple[int, str, Action]


class _Told(Record):
    circuit: str
    what: str
    count: str
    dates: str


def audit_findings(report: AuditReport, target: Target, zone: Zone) -> tuple[Diagnostic, ...]:
    """Every disagreement of a test run, gathered by circuit and kind; none when it agrees.

    Dates and times are those of the site's clock.
    """
    names = {c.channel: c.circuit for c in target.channels}
    in_runs = [(d, run.name) for run in report.runs for d in run.differences]
    by_kind = _by_kind(d for d, _ in in_runs)
    found = []
    for what, differences in by_kind.items():
        names_of_runs = dict.fromkeys(name for d, name in in_runs if _what(d) == what)
        told = _told(what, differences, names, zone)
        runs = "every run" if len(names_of_runs) == len(report.runs) else "; ".join(names_of_runs)
        found.append(_finding(messages.RUN_DIFFERS, told, runs))
    for what, differences in _by_kind(report.interval_differences).items():
        if what not in by_kind:
            told = _told(what, differences, names, zone)
            found.append(_finding(messages.INTERVAL_DIFFERS, told))
    return (*found, *_either_order(report.overlaps, names, zone))


def _either_order(
    overlaps: Iterable[Overlap], names: dict[int, str], zone: Zone
) -> list[Diagnostic]:
    pairs: dict[tuple[int, int, int], list[Overlap]] = {}
    for overlap in overlaps:
        slots = sorted((overlap.first_slot, overlap.second_slot))
        pairs.setdefault((overlap.channel, slots[0], slots[1]), []).append(overlap)
    return [
        _order_unknown(names.get(channel) or f"channel {channel}", first, second, met, zone)
        for (channel, first, second), met in pairs.items()
    ]


def _order_unknown(
    circuit: str, first_slot: int, second_slot: int, met: list[Overlap], zone: Zone
) -> Diagnostic:
    count, dates = _times(len(met)), _first_and_last([o.start for o in met], zone)
    if second_slot == NO_SLOT:
        return messages.SPECIAL_DAYS_UNSURE.at(None, circuit=circuit, count=count, dates=dates)
    if first_slot == NO_SLOT:
        return messages.MEETS_SPECIAL_DAYS.at(
            None, circuit=circuit, slot=second_slot, count=count, dates=dates
        )
    return messages.ORDER_UNKNOWN.at(
        None,
        circuit=circuit,
        first_slot=first_slot,
        second_slot=second_slot,
        count=count,
        dates=dates,
    )


def _told(what: _What, differences: list[Difference], names: dict[int, str], zone: Zone) -> _Told:
    channel, kind, action = what
    words = _ON if action is Action.ON else _OFF
    instants = sorted({_instant(d) for d in differences})
    return _Told(
        names.get(channel) or f"channel {channel}",
        words[kind],
        _times(len(instants)),
        _first_and_last(instants, zone) + _worst(differences, zone),
    )


def _finding(kind: Kind, told: _Told, runs: str = "") -> Diagnostic:
    return kind.at(
        None, circuit=told.circuit, what=told.what, count=told.count, dates=told.dates, runs=runs
    )


def _by_kind(differences: Iterable[Difference]) -> dict[_What, list[Difference]]:
    found: dict[_What, list[Difference]] = {}
    for difference in differences:
        found.setdefault(_what(difference), []).append(difference)
    return found


def _what(difference: Difference) -> _What:
    return difference.channel, difference.kind, difference.action


def _instant(difference: Difference) -> Instant:
    found = difference.expected if difference.expected is not None else difference.happened
    assert found is not None
    return found


def _worst(differences: list[Difference], zone: Zone) -> str:
    off = [
        (abs(d.happened - d.expected), d.expected, d.happened)
        for d in differences
        if d.expected is not None and d.happened is not None
    ]
    if not off:
        return ""
    _, expected, happened = max(off)
    came, wanted = (exact_moment_words(zone, instant) for instant in (happened, expected))
    return f" Worst: {came} instead of {wanted}."


def _first_and_last(instants: list[Instant], zone: Zone) -> str:
    first, last = exact_moment_words(zone, min(instants)), exact_moment_words(zone, max(instants))
    return f"First {first}, last {last}." if len(instants) > 1 else f"It is {first}."


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"
