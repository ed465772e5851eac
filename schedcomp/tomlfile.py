"""TOML with the position of every key and value: tomli for the meaning, a scanner for the places.

A file with mistakes is still read as far as it can be, so that all its problems come in one run.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import tomli

from schedcomp.diag import Diagnostic, Source, SourceRange, in_order
from schedcomp.messages import files
from schedcomp.textfile import read_source
from schedcomp.tomlcursor import MAX_TROUBLES
from schedcomp.tomlform import Assignment, BracesAt, ListAt, ScalarAt, Scan, ValueAt
from schedcomp.tomlhints import bad_scalar, not_toml, trouble_found
from schedcomp.tomlnodes import (
    Document,
    Entry,
    Items,
    Node,
    Scalar,
    Table,
    Unreadable,
    Value,
)
from schedcomp.tomlscan import scan
from schedcomp.tomltables import build

__all__ = [
    "Document",
    "Entry",
    "Items",
    "Node",
    "Scalar",
    "Table",
    "Unreadable",
    "Value",
    "read_document",
    "read_source",
]

_BATCH = 200


def read_document(
    source: Source, first_line: str, several: Collection[str] = ()
) -> tuple[Document | None, tuple[Diagnostic, ...]]:
    """The tables of a TOML 1.1 text, and every mistake of writing in it.

    With mistakes the document holds what could be read. None: nothing could. `first_line` is
    what such a file begins with, for an empty one; `several` names the parts of which there may
    be several.
    """
    scanned = scan(source.text)
    if not scanned.statements and not scanned.troubles:
        at = SourceRange(source, 0, 0) if source.text else None
        return None, (files.EMPTY.at(at, name=source.name, first_line=first_line),)
    found = [trouble_found(source, t) for t in scanned.troubles]
    scalars = list(_scalars(scanned))
    contents, refused = _contents(source, scalars)
    found += refused
    root, clashes = build(source, scanned, contents, several)
    found += clashes
    if not found:
        found += _refusal(source)
    return Document(source, root), _first_of(in_order(found))


def _first_of(found: tuple[Diagnostic, ...]) -> tuple[Diagnostic, ...]:
    """The first findings, and that there are more."""
    if len(found) <= MAX_TROUBLES:
        return found
    at = found[MAX_TROUBLES].at
    assert at is not None
    return (*found[:MAX_TROUBLES], files.TOO_MANY.at(at, name=at.source.name))


def _scalars(scanned: Scan) -> Iterator[ScalarAt]:
    pending: list[ValueAt] = [
        s.value for s in reversed(scanned.statements) if isinstance(s, Assignment)
    ]
    while pending:
        value = pending.pop()
        if isinstance(value, ScalarAt):
            yield value
        elif isinstance(value, ListAt):
            pending += reversed(value.items)
        elif isinstance(value, BracesAt):
            pending += [pair.value for pair in reversed(value.pairs)]


def _contents(
    source: Source, scalars: Sequence[ScalarAt]
) -> tuple[dict[int, Scalar], list[Diagnostic]]:
    """The meaning of each value by where it starts, and findings for those without one."""
    contents: dict[int, Scalar] = {}
    found: list[Diagnostic] = []
    for first in range(0, len(scalars), _BATCH):
        batch = scalars[first : first + _BATCH]
        values = _batch_contents(source, batch)
        for scalar, value in zip(batch, values, strict=True):
            if value is not None:
                contents[scalar.start] = value
            else:
                found.append(bad_scalar(source, scalar))
        if len(found) > MAX_TROUBLES:
            break
    return contents, found


def _batch_contents(source: Source, batch: Sequence[ScalarAt]) -> list[Scalar | None]:
    text = source.text
    written = "".join(f"{i} = {text[s.start : s.end]}\n" for i, s in enumerate(batch))
    try:
        return list(tomli.loads(written).values())
    except (ValueError, RecursionError):
        return [_content(text[s.start : s.end]) for s in batch]


def _content(written: str) -> Scalar | None:
    try:
        value: Scalar = tomli.loads(f"v = {written}")["v"]
    except (ValueError, RecursionError):
        return None
    return value


def _refusal(source: Source) -> list[Diagnostic]:
    """Whether tomli refuses a text in which the scanner found nothing wrong."""
    try:
        tomli.loads(source.text)
    except tomli.TOMLDecodeError as error:
        starts = [0, *(i + 1 for i, c in enumerate(source.text) if c == "\n")]
        line = max(1, min(error.lineno, len(starts)))
        place = min(starts[line - 1] + error.colno - 1, max(0, len(source.text) - 1))
        return [not_toml(source, place)]
    except (ValueError, RecursionError):
        return [not_toml(source, 0)]
    return []
