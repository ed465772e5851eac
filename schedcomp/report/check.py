"""What `check` tells a person: a line or two for each clause, people, visits, what was taken."""

from __future__ import annotations

from collections.abc import Iterator

from schedcomp.clock import Zone
from schedcomp.hints import Hint
from schedcomp.model import MINUTE
from schedcomp.ordinance.verdict import ClauseVerdict, Drifted, RuleReport, Status
from schedcomp.ordinance.visits import Visit
from schedcomp.report.words import wrapped
from schedcomp.rule_findings import duration_words, night_words
from schedcomp.rule_words import NO_RULE, people_summary, rule_summary
from schedcomp.told_time import clock_words
from schedcomp.words import counted, date_words, join_and

_SHORT = {
    Status.PASS: "pass",
    Status.FAIL: "FAIL",
    Status.NOT_CHECKABLE: "n/c",
    Status.NOT_APPLYING: "n/a",
}
MOST_CONFLICTS = 5
"""Most pairs told on a screen."""
_LEGEND = "n/c: not checkable by a schedule; n/a: does not apply"


def check_text(
    rules: RuleReport,
    visits: tuple[Visit, ...],
    hints: tuple[Hint, ...],
    zone: Zone,
    no_program: str = "",
    *,
    sun_errs: bool = False,
) -> str:
    """The answer for a terminal, at most 80 columns wide; `no_program` says why none was judged.

    `sun_errs`: the program was judged with its unit's sun times early and late too.
    """
    if not rules.checked:
        blocks = [wrapped(f"{NO_RULE[0].upper()}{NO_RULE[1:]}: none is named.")]
    else:
        clauses = _clauses(rules, zone)
        judged_on = _on_words(rules, no_program, sun_errs)
        blocks = [wrapped(f"{rule_summary(rules)}."), f"{clauses}\n{judged_on}"]
    if rules.conflicts:
        blocks.append("\n".join(_conflicts(rules)))
    blocks.append(_people(rules))
    if hints:
        blocks.append("\n".join(["Would meet it (tried):", *_hints(hints)]))
    if visits:
        blocks.append("\n".join(["Worth a look on site:", *_visits(visits, zone)]))
    if taken := tuple(_taken(rules)):
        blocks.append("\n".join(["Taken without being told by the text:", *taken]))
    return "\n\n".join(blocks) + "\n"


def _clauses(rules: RuleReport, zone: Zone) -> str:
    lines: list[str] = []
    ran = {(v.rule, v.clause): v for v in rules.run}
    width = min(max(len(v.clause) for v in rules.year or rules.run), 20)
    for verdict in rules.year or rules.run:
        run = ran.get((verdict.rule, verdict.clause)) if rules.year else None
        shown = run if run is not None and verdict.met and not run.met else verdict
        head = f"{_SHORT[shown.status]:4}  {verdict.clause:{width}}  "
        text = "; ".join(_verdict_words(shown, rules, zone))
        if shown is run:
            text = f"met by the wishes, not by the program: {text}"
        lines.append(wrapped(text, head))
    return "\n".join(lines)


def _on_words(rules: RuleReport, no_program: str, sun_errs: bool) -> str:
    on = "the exact year" if rules.year else "the test run of the program alone"
    if rules.year and rules.run:
        on = "the exact year and the test run"
    without = f" No program was judged: {no_program}." if no_program else ""
    sun = ", the unit's sun times early, right and late" if sun_errs else ""
    return wrapped(f"Judged on {on}{sun}, by a clock that is right.{without} {_LEGEND}.")


def _verdict_words(verdict: ClauseVerdict, rules: RuleReport, zone: Zone) -> Iterator[str]:
    if verdict.status in (Status.NOT_CHECKABLE, Status.NOT_APPLYING):
        yield verdict.why
        return
    if accepted := rules.is_accepted(verdict):
        yield f"accepted: {accepted}"
    if verdict.failed and verdict.about_hours:
        minutes = duration_words(verdict.failed_seconds)
        first, last = date_words(verdict.failed[0].day), date_words(verdict.failed[-1].day)
        yield f"{counted(len(verdict.failed), 'night')}, {minutes}; first {first}, last {last}"
        worst = verdict.worst
        assert worst is not None
        yield f"worst {night_words(worst, zone)}"
    elif verdict.applying:
        yield f"{verdict.applying:,} of {counted(verdict.nights, 'night')}"
    if verdict.why:
        yield verdict.why
    if verdict.costs:
        yield f"met without {join_and(verdict.costs)}"
    for year, count, words in verdict.grades:
        yield f"{counted(count, 'night')} in {year}: {words}"
    if verdict.margin is not None:
        spare = verdict.margin.seconds // MINUTE
        yield f"watch {date_words(verdict.margin.day)}: {spare:,} min to spare"
    for drifted in verdict.drifted:
        yield _drift_words(drifted)


def _drift_words(drifted: Drifted) -> str:
    way = "slow" if drifted.seconds > 0 else "fast"
    return (
        f"a clock {duration_words(abs(drifted.seconds))} {way} would break it on "
        f"{counted(drifted.nights, 'night')}"
    )


def _conflicts(rules: RuleReport) -> Iterator[str]:
    for found in rules.conflicts[:MOST_CONFLICTS]:
        yield wrapped(
            f"{found.dark} (dark) and {found.lit} (lit) for {found.circuit}: "
            f"{counted(found.nights, 'night')}, up to {duration_words(found.most_seconds)} a night",
            "In conflict: ",
        )
    if len(rules.conflicts) > MOST_CONFLICTS:
        more = len(rules.conflicts) - MOST_CONFLICTS
        yield wrapped(f"{more} more; --json lists them all", "In conflict: ")


def _people(rules: RuleReport) -> str:
    if not rules.people_checked:
        return wrapped("not checked, since no opening hours are known.", "People: ")
    found = people_summary(rules)
    text = found or "nobody who arrives, works or leaves is left in the dark"
    return wrapped(f"{text}.", "People: ")


def _hints(hints: tuple[Hint, ...]) -> Iterator[str]:
    for hint in hints:
        yield wrapped(f"{hint.clause}: {hint.text}", "  ", "    ")
        yield f"    {hint.typed}"


def _visits(visits: tuple[Visit, ...], zone: Zone) -> Iterator[str]:
    for visit in visits:
        when = f"{date_words(zone.local_date(visit.instant))} {clock_words(zone, visit.instant)}"
        state = "lit" if visit.lit else "dark"
        yield wrapped(f"{visit.where}: {state} ({visit.why})", f"  {when}  ", " " * 24)


def _taken(rules: RuleReport) -> Iterator[str]:
    clauses: dict[str, list[str]] = {}
    for verdict in rules.year or rules.run:
        exempt = (f"not for {circuit}, {because}" for circuit, because in verdict.exempt)
        for text in (*verdict.assumed, *exempt):
            clauses.setdefault(text, []).append(verdict.clause)
    for text, names in clauses.items():
        yield wrapped(f"{join_and(names)}: {text}", "  ", "    ")
