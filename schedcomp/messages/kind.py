"""The form of a diagnostic kind: its code, severity and wording."""

from __future__ import annotations

from schedcomp.diag import Diagnostic, Severity, SourceRange
from schedcomp.records import Record


class Kind(Record, kw_only=True):
    """One kind of finding.

    `title`, `why` and `fix` are templates with named fields; `fix` may have further lines, each
    a line the user can type. `page` is the longer explanation that `explain` prints, "" if the
    message says it all.
    """

    code: str
    severity: Severity
    title: str
    why: str = ""
    fix: str = ""
    page: str = ""

    def at(
        self,
        place: SourceRange | None,
        *,
        also: tuple[tuple[str, SourceRange], ...] = (),
        **fields: object,
    ) -> Diagnostic:
        """This kind of finding at a place, with its fields filled in."""
        return Diagnostic(
            code=self.code,
            severity=self.severity,
            title=self.title.format(**fields),
            why=self.why.format(**fields),
            fix=self.fix.format(**fields),
            at=place,
            also=also,
            has_page=bool(self.page),
        )


def problem(code: str, title: str, why: str = "", fix: str = "", page: str = "") -> Kind:
    return Kind(code=code, severity=Severity.PROBLEM, title=title, why=why, fix=fix, page=page)


def caution(code: str, title: str, why: str = "", fix: str = "", page: str = "") -> Kind:
    return Kind(code=code, severity=Severity.CAUTION, title=title, why=why, fix=fix, page=page)


def note(code: str, title: str, why: str = "", fix: str = "", page: str = "") -> Kind:
    return Kind(code=code, severity=Severity.NOTE, title=title, why=why, fix=fix, page=page)


def fault(code: str, title: str, why: str = "", fix: str = "", page: str = "") -> Kind:
    return Kind(code=code, severity=Severity.FAULT, title=title, why=why, fix=fix, page=page)
