"""What the rules of a site give people to read: clauses not met, conflicts, people, clocks."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone
from schedcomp.diag import Diagnostic
from schedcomp.messages import rules as messages
from schedcomp.model import MINUTE
from schedcomp.near import quoted
from schedcomp.ordinance.people import DARK_WITH_PEOPLE
from schedcomp.ordinance.verdict import (
    ClauseVerdict,
    Conflict,
    Drifted,
    NightFailed,
    PeopleFinding,
    RuleReport,
    Wants,
)
from schedcomp.told_time import clock_words
from schedcomp.words import counted, date_words, join_and


def rule_findings(report: RuleReport, zone: Zone) -> tuple[Diagnostic, ...]:
    """Every finding of a report; what keeps a program back is a problem."""
    found = [_not_met(report, verdict, zone) for verdict in report.failing()]
    found += [_conflict(conflict, zone) for conflict in report.conflicts]
    found += [_drift(v, d) for v in report.year for d in v.drifted]
    found += [
        messages.UNCONFIRMED.at(None, rule=quoted(title, 60), note=_notes(report))
        for title in report.unconfirmed
    ]
    found += list(people_diagnostics(report.people, zone))
    return tuple(found)


def _notes(report: RuleReport) -> str:
    return "".join(f"{note.rstrip('.')}. " for note in report.notes[:1])


# Clauses


def _not_met(report: RuleReport, verdict: ClauseVerdict, zone: Zone) -> Diagnostic:
    clause = quoted(verdict.clause)
    if not verdict.about_hours:
        return _not_met_by_count_or_unit(report, verdict, clause)
    state = _STATES[verdict.wants]
    nights = counted(len(verdict.failed), "night")
    minutes = duration_words(verdict.failed_seconds)
    worst = worst_words(verdict, zone)
    line_at = verdict.worst.at if verdict.worst is not None else None
    also = () if line_at is None else (("The line behind the worst night", line_at),)
    if because := report.is_accepted(verdict):
        what = f"Lamps are {state} its hours on {nights}, {minutes} in all. {worst}"
        return messages.NOT_MET_ACCEPTED.at(
            verdict.at, also=also, clause=clause, because=because, what=what
        )
    return messages.NOT_MET.at(
        verdict.at,
        also=also,
        clause=clause,
        state=state,
        nights=nights,
        minutes=minutes,
        worst=worst,
        more=more_words(verdict),
        fix=_fix(verdict),
    )


def _not_met_by_count_or_unit(
    report: RuleReport, verdict: ClauseVerdict, clause: str
) -> Diagnostic:
    """A clause on the unit, the wiring or the nights declared: no hours of lamps break it."""
    if because := report.is_accepted(verdict):
        what = f"It asks for `{verdict.sentence}`: {verdict.why}."
        return messages.NOT_MET_ACCEPTED.at(verdict.at, clause=clause, because=because, what=what)
    return messages.NOT_MET_BY_COUNT_OR_UNIT.at(
        verdict.at,
        clause=clause,
        why=verdict.why,
        asked=verdict.sentence,
        more=more_words(verdict),
        fix=_fix(verdict),
    )


_STATES = {Wants.DARK: "on inside", Wants.LIGHT: "dark in"}
"""What is wrong with the lamps, to stand before the hours of the clause."""


_CHANGE = {
    Wants.ABILITY: "use a controller that does it, as `schedcomp fit` lists them, or other wiring",
    Wants.FEW_NIGHTS: "declare fewer nights",
}
"""What would meet a clause that is not about hours."""


def duration_words(seconds: int) -> str:
    """Minutes rounded up, so that nothing looks smaller than it is."""
    minutes = -(-seconds // MINUTE)
    return f"{minutes:,} min"


def worst_words(verdict: ClauseVerdict, zone: Zone) -> str:
    """`Worst: Thu 31 Dec 2026, 23:00 until 00:30 (90 min), by ...`."""
    worst = verdict.worst
    if worst is None:
        return ""
    first, last = verdict.failed[0].day, verdict.failed[-1].day
    return f"First {date_words(first)}, last {date_words(last)}. Worst: {night_words(worst, zone)}."


def night_words(night: NightFailed, zone: Zone) -> str:
    """The longest stretch of a night, and the minutes of all of it where there are more.

    `Sun 5 Dec 2027, from 23:00 until 00:30 (90 min; 105 min that night), Lot, by "fri: late"`.
    """
    start, end = (clock_words(zone, t) for t in (night.start, night.end))
    day = date_words(zone.local_date(night.start))
    length = duration_words(night.seconds)
    if night.lacks:
        length = f"{length} {night.lacks}"
    elif night.seconds != night.end - night.start:
        length = f"{duration_words(night.end - night.start)}; {length} that night"
    words = f"{day}, from {start} until {end} ({length})"
    circuit = f", {night.circuit}" if night.circuit else ""
    line = f', by "{night.line}"' if night.line else ""
    return f"{words}{circuit}{line}"


def more_words(verdict: ClauseVerdict) -> str:
    """What costs the pass beside the schedule, and what the rule calls so many nights."""
    parts = []
    if verdict.costs:
        parts.append(f" It would be met without {join_and(verdict.costs)}.")
    for year, count, words in verdict.grades:
        parts.append(f" {counted(count, 'night')} in {year}: {words}.")
    if verdict.on != "exact year":
        parts.append(" The wishes meet it; the program, within its tolerance, does not.")
    return "".join(parts)


def _fix(verdict: ClauseVerdict) -> str:
    accept = f'--accept "{quoted(verdict.clause)}" --because "variance 24-118"'
    if verdict.wants in _CHANGE:
        return f"{_CHANGE[verdict.wants]}, or accept it with a reason\n{accept}"
    if verdict.on != "exact year":
        return f'allow fewer minutes\ntolerance = "3 min"\nor accept it with a reason\n{accept}'
    return f"change the wishes, or accept it with a reason\n{accept}"


# Conflicts and clocks


def _conflict(conflict: Conflict, zone: Zone) -> Diagnostic:
    start, end = conflict.example
    also = () if conflict.lit_at is None else ((f"Clause {conflict.lit}", conflict.lit_at),)
    return messages.CONFLICT.at(
        conflict.dark_at,
        also=also,
        dark=quoted(conflict.dark),
        lit=quoted(conflict.lit),
        circuit=quoted(conflict.circuit),
        nights=counted(conflict.nights, "night"),
        minutes=duration_words(conflict.most_seconds),
        day=date_words(zone.local_date(start)),
        start=clock_words(zone, start),
        end=clock_words(zone, end),
    )


def _drift(verdict: ClauseVerdict, drifted: Drifted) -> Diagnostic:
    slow = drifted.seconds > 0
    minutes = duration_words(abs(drifted.seconds))
    if verdict.wants is Wants.LIGHT:
        fix = f"let the lamps come on {minutes} earlier and go off {minutes} later"
    else:
        fix = f"let the lamps go off {minutes} earlier, and come on {minutes} later"
    return messages.DRIFT.at(
        verdict.at,
        clause=quoted(verdict.clause),
        minutes=minutes,
        way="slow" if slow else "fast",
        nights=counted(drifted.nights, "night"),
        worst=duration_words(drifted.worst_seconds),
        day=date_words(drifted.first),
        fix=fix,
    )


# People


def _when(finding: PeopleFinding) -> str:
    """The night, or the first and the last of several, by the date of its evening."""
    first, last = date_words(finding.first), date_words(finding.last)
    if first == last:
        return f"In the night of {first}"
    return f"First in the night of {first}, last in that of {last}"


def people_diagnostics(found: tuple[PeopleFinding, ...], zone: Zone) -> Iterator[Diagnostic]:
    """Circuits dark while people are there, and all circuits going off at closing."""
    for finding in found:
        fields: dict[str, str] = {
            "nights": counted(finding.nights, "night"),
            "when": _when(finding),
        }
        if finding.kind != DARK_WITH_PEOPLE:
            yield messages.ALL_OFF_WITH_CLOSING.at(None, also=(), **fields)
            continue
        against = ""
        if finding.against:
            clauses = join_and([f'"{quoted(c)}"' for c in finding.against])
            against = f" Clause {clauses} wants it dark then: both cannot be had."
        yield messages.PEOPLE_IN_THE_DARK.at(
            finding.worst.at,
            also=(),
            circuit=quoted(finding.circuit),
            minutes=duration_words(finding.seconds),
            worst=night_words(finding.worst, zone),
            against=against,
            **fields,
        )
