"""Positions in files, diagnostics as values, and the one renderer (text and JSON)."""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable
from enum import Enum

from schedcomp.records import Record

WIDTH = 80
SHOWN_PROBLEMS = 10


class Severity(Enum):
    """Problem: no output. Caution: output made, read this. Note: a fact that was used.

    Fault: a mistake of ours, never of the files.
    """

    PROBLEM = "Problem"
    CAUTION = "Caution"
    NOTE = "Note"
    FAULT = "Fault"


class Source(Record):
    """A file as it was read: its name for people and its text.

    Of a part of a file, `lines_before` are the lines before it.
    """

    name: str
    text: str
    lines_before: int = 0

    def __repr__(self) -> str:
        return f"Source({self.name!r})"


class SourceRange(Record):
    """`length` characters of a source from the offset `start` (counted from 0)."""

    source: Source
    start: int
    length: int

    @property
    def line(self) -> int:
        """Line number, counted from 1."""
        return self.source.lines_before + self.source.text.count("\n", 0, self.start) + 1

    @property
    def column(self) -> int:
        """Column of the first character, counted from 1."""
        return self.start - self._line_start + 1

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.start + self.length]

    @property
    def line_text(self) -> str:
        """The whole line that holds the first character, without its line end."""
        end = self.source.text.find("\n", self.start)
        whole = self.source.text[self._line_start : None if end < 0 else end]
        return whole.rstrip("\r")

    @property
    def _line_start(self) -> int:
        return self.source.text.rfind("\n", 0, self.start) + 1


class PhraseText(Record):
    """A phrase and where it stands in its file.

    Where the file spells the phrase with escapes, characters cannot be matched one by one and
    every part of the phrase is shown as the whole of it.
    """

    text: str
    at: SourceRange

    def range(self, start: int, length: int) -> SourceRange:
        if self.at.text != self.text:
            return self.at
        return SourceRange(self.at.source, self.at.start + start, length)


class Diagnostic(Record, kw_only=True):
    """One finding for people; made only by a `Kind` of `schedcomp.messages`."""

    code: str
    severity: Severity
    title: str
    why: str
    fix: str
    at: SourceRange | None = None
    also: tuple[tuple[str, SourceRange], ...] = ()
    has_page: bool = False


def in_order(diagnostics: Iterable[Diagnostic]) -> tuple[Diagnostic, ...]:
    """Sort by file, position and code, and keep one of equal findings."""
    unique = dict.fromkeys(diagnostics)
    return tuple(sorted(unique, key=_position))


def has_problem(diagnostics: Iterable[Diagnostic]) -> bool:
    return any(d.severity is Severity.PROBLEM for d in diagnostics)


def render(diagnostics: Iterable[Diagnostic], shown: int = SHOWN_PROBLEMS) -> str:
    """All findings as text of at most 80 columns; at most `shown` of each severity, then counts."""
    ordered = in_order(diagnostics)
    blocks = []
    totals = []
    for severity in Severity:
        group = [d for d in ordered if d.severity is severity]
        blocks += [render_one(d) for d in group[:shown]]
        if group:
            hidden = f", {shown} shown" if len(group) > shown else ""
            totals.append(f"{len(group)} {severity.value.lower()}{'s'[: len(group) != 1]}{hidden}")
    return "\n\n".join([*blocks, ", ".join(totals)]) + "\n" if blocks else ""


def render_one(finding: Diagnostic) -> str:
    """One finding: what is wrong, where, the user's own line, what it means, what to type."""
    parts = [_wrap(f"{finding.severity.value} {finding.code}: {finding.title}")]
    if finding.at is not None:
        at = finding.at
        parts.append(f"  at {at.source.name}, line {at.line}, column {at.column}")
        parts.append(_excerpt(at))
    for label, also in finding.also:
        parts.append(_wrap(f"{label} (line {also.line}):"))
        parts.append(_excerpt(also))
    parts += [_wrap(line) for line in finding.why.splitlines()]
    if finding.fix:
        parts += _fix(finding.fix)
    if finding.has_page:
        parts.append(f"More: schedcomp explain {finding.code}")
    return "\n".join(parts)


def as_records(diagnostics: Iterable[Diagnostic]) -> list[dict[str, object]]:
    """The same findings as plain records, in the same order, for JSON."""
    return [_record(d) for d in in_order(diagnostics)]


def _record(finding: Diagnostic) -> dict[str, object]:
    record: dict[str, object] = {
        "code": finding.code,
        "severity": finding.severity.value.lower(),
        "title": finding.title,
        "why": finding.why,
        "fix": finding.fix,
    }
    if finding.at is not None:
        record |= _place(finding.at)
    if finding.also:
        record["also"] = [{"label": label, **_place(at)} for label, at in finding.also]
    return record


def _place(at: SourceRange) -> dict[str, object]:
    return {
        "file": at.source.name,
        "line": at.line,
        "column": at.column,
        "length": at.length,
        "text": at.line_text[:1000],
    }


def _position(finding: Diagnostic) -> tuple[str, int, int, str, str]:
    at = finding.at
    place = (at.source.name, at.source.lines_before, at.start) if at else ("", 0, -1)
    return (*place, finding.code, finding.title)


def _wrap(text: str, indent: str = "") -> str:
    return textwrap.fill(
        text, WIDTH, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False
    )


def _fix(fix: str) -> list[str]:
    first, *rest = fix.splitlines()
    return [_wrap(f"To fix: {first}", "        "), *(f"    {line}" for line in rest)]


def _excerpt(at: SourceRange) -> str:
    """The user's own line with carets below; long lines are cut around the carets."""
    number = str(at.line)
    room = WIDTH - len(number) - 3
    line, start = at.line_text, at.column - 1
    cut = 0
    if len(line) > room:
        cut = max(0, min(start - room // 3, len(line) - room))
    shown = line[cut : cut + room]
    start -= cut
    length = max(1, min(at.length, len(shown) - start))
    pad = "".join(c if c == "\t" else " " * _width(c) for c in shown[:start])
    carets = "^" * max(1, sum(_width(c) for c in shown[start : start + length]))
    printable = "".join(c if c.isprintable() or c == "\t" else "?" for c in shown)
    return f"{number} | {printable}\n{' ' * len(number)} | {pad}{carets}"


def _width(char: str) -> int:
    if unicodedata.combining(char):
        return 0
    return 2 if unicodedata.east_asian_width(char) in "WF" else 1
