"""Clauses and promises that a row of a store list accepts, each with its reason."""

from __future__ import annotations

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.fleet.cells import SEVERAL_IN_A_CELL
from schedcomp.fleet.columns import ACCEPT, BECAUSE
from schedcomp.fleet.job import Override, SiteJob
from schedcomp.messages import fleet as messages
from schedcomp.ordinance.model import Accepted
from schedcomp.words import counted, one_line


def accepted_in(job: SiteJob) -> tuple[tuple[Accepted, ...], tuple[Diagnostic, ...]]:
    """What need not be met at this site; a finding where a reason is missing or has no clause."""
    cells = {o.path: o for o in job.overrides if o.path in ((ACCEPT,), (BECAUSE,))}
    clauses, reasons = (_texts(cells.get((title,))) for title in (ACCEPT, BECAUSE))
    at = {path: SourceRange(_row(job), cell.start, cell.length) for path, cell in cells.items()}
    if len(clauses) != len(reasons):
        column, texts, more = (
            (BECAUSE, reasons, "variance 24-118")
            if len(reasons) < len(clauses)
            else (ACCEPT, clauses, "4.2(b)")
        )
        missing = abs(len(clauses) - len(reasons))
        finding = messages.ACCEPT_WITHOUT_REASON.at(
            at.get((ACCEPT,)) or at[BECAUSE,],
            clauses=counted(len(clauses), "clause or promise", "clauses or promises"),
            reasons=counted(len(reasons), "reason"),
            column=column,
            typed=f"{SEVERAL_IN_A_CELL} ".join([*texts, *[more] * missing]),
        )
        return (), (finding,)
    return (
        tuple(
            Accepted(clause=clause, because=reason, at=at[ACCEPT,])
            for clause, reason in zip(clauses, reasons, strict=True)
        ),
        (),
    )


def _texts(cell: Override | None) -> list[str]:
    pieces = [] if cell is None else cell.text.split(SEVERAL_IN_A_CELL)
    return [text for text in map(one_line, pieces) if text]


def _row(job: SiteJob) -> Source:
    return Source(job.listed, job.row, job.lines_before)
