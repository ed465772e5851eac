"""Parts of check.json about rules and people: every clause with its nights."""

from __future__ import annotations

from schedcomp.clock import Zone
from schedcomp.model import MINUTE
from schedcomp.ordinance.verdict import (
    ClauseVerdict,
    Conflict,
    Margin,
    NightFailed,
    PeopleFinding,
    RuleReport,
)
from schedcomp.ordinance.visits import Visit
from schedcomp.output.canonical import Json
from schedcomp.output.check_program import when_json

SHOWN_NIGHTS = 366
"""Most failed nights listed of one clause; their number is always told."""


def rules_json(rules: RuleReport, zone: Zone, most_nights: int | None = SHOWN_NIGHTS) -> Json:
    """Everything about rules; `exact_year` and `test_run` hold the same clauses in order.

    Of each clause at most `most_nights` failed nights are listed; None: all.
    """
    return {
        "titles": rules.titles,
        "unconfirmed": rules.unconfirmed,
        "notes": rules.notes,
        "nights_judged": rules.nights,
        "nights_without_clause": [day.isoformat() for day in rules.without_clause],
        "exact_year": [clause_json(v, zone, most_nights) for v in rules.year],
        "test_run": [clause_json(v, zone, most_nights) for v in rules.run],
        "conflicts": [_conflict(conflict, zone) for conflict in rules.conflicts],
        "people_checked": rules.people_checked,
        "people": [_people(finding, zone) for finding in rules.people],
        "accepted": [{"clause": c, "because": b} for c, b in rules.accepted],
        "keeps_program_back": rules.keeps_program_back,
    }


def clause_json(verdict: ClauseVerdict, zone: Zone, most_nights: int | None) -> Json:
    """One clause on one run of lamps."""
    worst = verdict.worst
    return {
        "rule": verdict.rule,
        "clause": verdict.clause,
        "text": verdict.text,
        "reads": verdict.sentence,
        "on": verdict.on,
        "verdict": verdict.status.value,
        "why": verdict.why,
        "circuits": verdict.circuits,
        "exempt": [{"circuit": c, "because": b} for c, b in verdict.exempt],
        "nights_judged": verdict.nights,
        "nights_applying": verdict.applying,
        "nights_failed": len(verdict.failed),
        "minutes_failed": _minutes(verdict.failed_seconds),
        "first": None if worst is None else verdict.failed[0].day.isoformat(),
        "last": None if worst is None else verdict.failed[-1].day.isoformat(),
        "worst": None if worst is None else _night(worst, zone),
        "failed": [_night(night, zone) for night in verdict.failed[:most_nights]],
        "margin": None if verdict.margin is None else _margin(verdict.margin, zone),
        "costs": verdict.costs,
        "clock_error": [
            {
                "seconds": d.seconds,
                "nights": d.nights,
                "worst_minutes": _minutes(d.worst_seconds),
                "first": d.first.isoformat(),
            }
            for d in verdict.drifted
        ],
        "grades": [{"year": y, "nights": n, "words": w} for y, n, w in verdict.grades],
        "assumed": verdict.assumed,
        "read": verdict.read,
    }


def _minutes(seconds: int) -> float:
    return round(seconds / MINUTE, 2)


def _night(night: NightFailed, zone: Zone) -> Json:
    return {
        "night": night.day.isoformat(),
        "minutes": _minutes(night.seconds),
        "start": when_json(night.start, zone),
        "end": when_json(night.end, zone),
        "circuit": night.circuit,
        "line": night.line,
    }


def _margin(margin: Margin, zone: Zone) -> Json:
    return {
        "minutes": _minutes(margin.seconds),
        "night": margin.day.isoformat(),
        "at": when_json(margin.instant, zone),
    }


def _conflict(conflict: Conflict, zone: Zone) -> Json:
    start, end = conflict.example
    return {
        "dark": conflict.dark,
        "lit": conflict.lit,
        "circuit": conflict.circuit,
        "nights": conflict.nights,
        "most_minutes": _minutes(conflict.most_seconds),
        "first": conflict.first.isoformat(),
        "example": {"start": when_json(start, zone), "end": when_json(end, zone)},
    }


def _people(finding: PeopleFinding, zone: Zone) -> Json:
    return {
        "kind": finding.kind,
        "circuit": finding.circuit,
        "nights": finding.nights,
        "minutes": _minutes(finding.seconds),
        "first": finding.first.isoformat(),
        "last": finding.last.isoformat(),
        "worst": _night(finding.worst, zone),
        "against": finding.against,
    }


def visits_json(visits: tuple[Visit, ...], zone: Zone) -> Json:
    """Where to look on site, in order of time."""
    return [
        {
            "at": when_json(visit.instant, zone),
            "circuit": visit.where,
            "must_be": "lit" if visit.lit else "dark",
            "why": visit.why,
        }
        for visit in visits
    ]
