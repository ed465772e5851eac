"""Verdicts on rules and promises as they stand on the sheet.

This is the one place where verdicts of a rule enter: rows of clause, what was judged, verdict,
and the night to watch.
"""

from __future__ import annotations

from dataclasses import dataclass

from schedcomp.compiled import Compiled
from schedcomp.sheet.blocks import Block, Column, Heading, Table, Text, row, strong
from schedcomp.words import counted

NO_RULE = "No rule was checked."


@dataclass(frozen=True, slots=True, kw_only=True)
class VerdictRow:
    """One clause or promise. `watch` is the night to watch, "" where there is none."""

    clause: str
    text: str
    verdict: str
    watch: str = ""


def verdict_blocks(compiled: Compiled) -> tuple[Block, ...]:
    """Rule, then promises."""
    rules = rule_rows(compiled)
    promises = promise_rows(compiled)
    blocks: list[Block] = [Heading(text="Rule")]
    blocks.append(Text(text=NO_RULE))
    if rules:
        blocks.append(_table(rules))
    if promises:
        blocks += [Heading(text="Promises"), _table(promises)]
    return tuple(blocks)


def rule_rows(compiled: Compiled) -> tuple[VerdictRow, ...]:
    """The verdicts of rules. None are made in this version, and each rule named is told so."""
    return tuple(
        VerdictRow(clause=name, text="the rule named in the site file", verdict="NOT CHECKED")
        for name in compiled.site.ordinances
    )


def promise_rows(compiled: Compiled) -> tuple[VerdictRow, ...]:
    """One row a promise, with the number of dates on which it was judged."""
    found: dict[tuple[str, str], list[bool]] = {}
    for verdict in compiled.promises:
        found.setdefault((verdict.circuit, verdict.text), []).append(verdict.kept)
    return tuple(
        VerdictRow(
            clause=circuit,
            text=text,
            verdict=_verdict(kept),
        )
        for (circuit, text), kept in found.items()
    )


def _verdict(kept: list[bool]) -> str:
    dates = counted(len(kept), "date")
    if all(kept):
        return f"kept on {dates}"
    return f"BROKEN on {kept.count(False)} of {dates}"


def _table(rows: tuple[VerdictRow, ...]) -> Table:
    watched = any(r.watch for r in rows)
    columns = [
        Column(title="Clause or circuit", width=3),
        Column(title="What must be", width=6),
        Column(title="Verdict", width=3),
        *([Column(title="Night to watch", width=3)] if watched else []),
    ]
    return Table(
        columns=tuple(columns),
        rows=tuple(
            row(strong(r.clause), r.text, r.verdict, *([r.watch] if watched else [])) for r in rows
        ),
    )
