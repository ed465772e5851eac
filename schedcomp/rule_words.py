"""The verdict of all rules in a line or two, for the summary and the head of every output."""

from __future__ import annotations

from schedcomp.model import MINUTE
from schedcomp.ordinance.people import DARK_WITH_PEOPLE
from schedcomp.ordinance.verdict import ClauseVerdict, RuleReport, Status
from schedcomp.words import counted, join_and

NO_RULE = "no rule was checked"


def rule_summary(rules: RuleReport) -> str:
    """`3 clauses of TITLE: met on 365 of 365 nights`."""
    if not rules.checked:
        return NO_RULE
    failing = rules.failing()
    titles = join_and(rules.titles)
    head = f"{counted(len(rules.year or rules.run), 'clause')} of {titles}"
    if failing:
        first = failing[0]
        fails = f"{' fails ' if first.about_hours else ': '}{failed_words(first)}"
        return (
            f"NOT MET: {join_and([v.clause for v in failing])} of {head}; {first.clause}{fails}; "
            f"{_nights(rules)}"
        )
    return f"{head}: {_status_counts(rules)}; {_nights(rules)}"


def rule_briefly(rules: RuleReport) -> str:
    """The same on one line."""
    failing = rules.failing()
    if failing:
        return f"NOT MET: {join_and([v.clause for v in failing[:3]])}"
    return f"{_status_counts(rules)}; {_nights(rules)}"


def failed_words(verdict: ClauseVerdict) -> str:
    """`on 12 nights, 340 min`; of a clause that is not about hours what it lacks."""
    if not verdict.about_hours:
        return verdict.why
    minutes = -(-verdict.failed_seconds // MINUTE)
    return f"on {counted(len(verdict.failed), 'night')}, {minutes:,} min"


def _status_counts(rules: RuleReport) -> str:
    words = {
        Status.PASS: "met",
        Status.FAIL: "not met",
        Status.NOT_CHECKABLE: "not checkable by a schedule",
        Status.NOT_APPLYING: "not applying",
    }
    counts = [
        (sum(v.status is status for v in rules.year or rules.run), text)
        for status, text in words.items()
    ]
    return ", ".join(f"{count} {text}" for count, text in counts if count) or "no clause"


def _nights(rules: RuleReport) -> str:
    judged = f"nights judged: {rules.nights:,} of {rules.nights:,}"
    without = len(rules.without_clause)
    return f"{judged}, {without} without any clause" if without else judged


def people_summary(rules: RuleReport) -> str:
    """Where people may be left in the dark, by circuit."""
    parts = []
    for finding in rules.people:
        if finding.kind == DARK_WITH_PEOPLE:
            minutes = -(-finding.seconds // MINUTE)
            nights = counted(finding.nights, "night")
            parts.append(f"{finding.circuit} dark with people there on {nights}, {minutes:,} min")
        else:
            nights = counted(finding.nights, "night")
            parts.append(f"all circuits off within 15 min of closing on {nights}")
    return "; ".join(parts)


def people_briefly(rules: RuleReport) -> str:
    """The same on one line."""
    dark = [f for f in rules.people if f.kind == DARK_WITH_PEOPLE]
    if not dark:
        return people_summary(rules)
    most = max(dark, key=lambda f: f.nights)
    return f"left in the dark on {counted(most.nights, 'night')}, read above"
