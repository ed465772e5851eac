"""Verdicts on rules and promises as they stand on the sheet.

This is the one place where verdicts of a rule enter: rows of clause, what was judged, verdict,
and the night to watch.
"""

from __future__ import annotations

from schedcomp.compiled import Compiled
from schedcomp.model import MINUTE
from schedcomp.ordinance.verdict import ClauseVerdict, RuleReport, Status
from schedcomp.records import Record
from schedcomp.rule_words import failed_words, people_summary, rule_summary
from schedcomp.sheet.blocks import Block, Column, Heading, Table, Text, clean, row, strong
from schedcomp.sheet.wording import Hand
from schedcomp.words import counted, date_words

NO_RULE = "No rule was checked."
_BAD = ("NOT MET", "BROKEN")


class VerdictRow(Record, kw_only=True):
    """One clause or promise. `watch` is the night to watch, "" where there is none."""

    clause: str
    text: str
    verdict: str
    watch: str = ""


def verdict_blocks(compiled: Compiled, hand: Hand) -> tuple[Block, ...]:
    """Rule, then promises."""
    rules = rule_rows(compiled)
    promises = promise_rows(compiled, hand)
    blocks: list[Block] = [Heading(text="Rule")]
    told = f"{rule_summary(compiled.rules)}." if compiled.rules.checked else NO_RULE
    blocks.append(Text(text=clean(told)))
    blocks += [Text(text=clean(text)) for text in _beside(compiled.rules)]
    if rules:
        blocks.append(_table("Clause", rules))
    if promises:
        blocks += [Heading(text="Promises"), _table("Circuit", promises)]
    return tuple(blocks)


def rule_rows(compiled: Compiled) -> tuple[VerdictRow, ...]:
    """One row a clause: the verdict on the exact year, or on the test run where only that fails."""
    rules = compiled.rules
    ran = {(v.rule, v.clause): v for v in rules.run}
    rows = []
    for verdict in rules.year:
        run = ran.get((verdict.rule, verdict.clause))
        shown = run if run is not None and verdict.met and not run.met else verdict
        rows.append(
            VerdictRow(
                clause=clean(shown.clause),
                text=clean(shown.text or shown.sentence),
                verdict=clean(_clause_verdict(shown, rules.is_accepted(shown))),
                watch=_watch(shown),
            )
        )
    return tuple(rows)


def _clause_verdict(verdict: ClauseVerdict, accepted: str) -> str:
    if verdict.status is Status.FAIL:
        text = f"NOT MET{' ' if verdict.about_hours else ': '}{failed_words(verdict)}"
        return f"{text}; accepted: {accepted}" if accepted else text
    if verdict.status is Status.PASS:
        return f"met on {counted(verdict.applying, 'night')}" if verdict.applying else "met"
    return f"{verdict.status.value}: {verdict.why}"


def _watch(verdict: ClauseVerdict) -> str:
    if verdict.worst is not None and verdict.about_hours:
        return f"{date_words(verdict.worst.day)}, the worst"
    if verdict.margin is None:
        return ""
    return f"{date_words(verdict.margin.day)}, {verdict.margin.seconds // MINUTE:,} min to spare"


def _beside(rules: RuleReport) -> list[str]:
    """What stands with the verdicts: what was taken for each clause, people, who confirmed."""
    found = [f"{v.clause}: {text}." for v in rules.year for text in v.assumed]
    found += [f"{v.clause}: not for {c}, {why}." for v in rules.year for c, why in v.exempt]
    found += [f"Accepted although not met: {c}: {because}." for c, because in rules.accepted]
    found += [f"{title}: confirmed by nobody yet." for title in rules.unconfirmed]
    if rules.people:
        found.append(f"People: {people_summary(rules)}.")
    return found


def promise_rows(compiled: Compiled, hand: Hand) -> tuple[VerdictRow, ...]:
    """One row a promise, with the number of dates on which it was judged."""
    found: dict[tuple[str, str], list[bool]] = {}
    for verdict in compiled.promises:
        found.setdefault((verdict.circuit, verdict.text), []).append(verdict.kept)
    return tuple(
        VerdictRow(
            clause=circuit,
            text=hand.phrase(text),
            verdict=_verdict(kept),
        )
        for (circuit, text), kept in found.items()
    )


def _verdict(kept: list[bool]) -> str:
    dates = counted(len(kept), "date")
    if all(kept):
        return f"kept on {dates}"
    return f"BROKEN on {kept.count(False)} of {dates}"


def _table(named: str, rows: tuple[VerdictRow, ...]) -> Table:
    watched = any(r.watch for r in rows)
    columns = [
        Column(title=named, width=3),
        Column(title="What must be", width=6),
        Column(title="Verdict", width=3),
        *([Column(title="Night to watch", width=3)] if watched else []),
    ]
    return Table(
        columns=tuple(columns),
        rows=tuple(
            row(
                strong(r.clause),
                r.text,
                strong(r.verdict) if r.verdict.startswith(_BAD) else r.verdict,
                *([r.watch] if watched else []),
            )
            for r in rows
        ),
    )
