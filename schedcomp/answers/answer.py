"""An answer to a command, and the exit codes."""

from __future__ import annotations

from collections.abc import Mapping

from schedcomp.diag import Diagnostic
from schedcomp.records import Record, field

CLEAN = 0
FINDINGS = 1
USAGE = 2
BAD_FILES = 3

Findings = tuple[Diagnostic, ...]


class Answer(Record, kw_only=True):
    """`record` is what `--json` prints, beside the findings."""

    exit_code: int
    text: str = ""
    record: Mapping[str, object] = field(default_factory=dict)
    findings: Findings = ()
