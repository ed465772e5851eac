"""Scanned statements put together as tables; what clashes is told once and the first is kept."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.messages import files
from schedcomp.messages.kind import Kind
from schedcomp.near import quoted
from schedcomp.tomlcursor import MAX_TROUBLES
from schedcomp.tomlform import (
    Assignment,
    BracesAt,
    Header,
    KeyPart,
    ListAt,
    ScalarAt,
    Scan,
    TroubleKind,
    UnreadableAt,
    ValueAt,
)
from schedcomp.tomlnodes import Entry, Items, Node, Scalar, Table, Unreadable, Value


def build(
    source: Source,
    scanned: Scan,
    contents: Mapping[int, Scalar],
    several: Collection[str] = (),
) -> tuple[Table, list[Diagnostic]]:
    """The root table of a scanned text; `contents` is the meaning of values by their start.

    `several` names the parts that may occur several times.
    """
    builder = _Builder(source, contents, several)
    builder.add_all(scanned)
    return builder.table(builder.root), builder.found


@dataclass(slots=True)
class _Open:
    """A table still being filled. `fixed`: written in braces, so nothing may be added later."""

    start: int
    end: int
    entries: dict[str, tuple[KeyPart, _Child]] = field(default_factory=dict)
    is_part: bool = False
    fixed: bool = False
    has_gaps: bool = False
    repeats: list[_Open] = field(default_factory=list)


@dataclass(slots=True)
class _OpenParts:
    tables: list[_Open]


_Child = _Open | _OpenParts | ScalarAt | ListAt | UnreadableAt


class _Builder:
    def __init__(
        self, source: Source, contents: Mapping[int, Scalar], several: Collection[str]
    ) -> None:
        self.source = source
        self.contents = contents
        self.several = several
        self.root = _Open(0, 0)
        self.found: list[Diagnostic] = []

    def add_all(self, scanned: Scan) -> None:
        current = self.root
        for statement in scanned.statements:
            if isinstance(statement, Header):
                current = self._part(statement)
            else:
                self._assign(current, statement)
        if any(trouble.kind is TroubleKind.TOO_LONG for trouble in scanned.troubles):
            self.root.has_gaps = current.has_gaps = True

    def _range(self, start: int, end: int) -> SourceRange:
        return SourceRange(self.source, start, max(0, end - start))

    # Headers

    def _part(self, header: Header) -> _Open:
        new = _Open(header.start, header.end, is_part=True)
        if not header.key:
            self.root.has_gaps = True
            return new
        parent = self._descend(self.root, header.key[:-1])
        last = header.key[-1]
        if parent is None:
            return new
        if last.name not in parent.entries:
            parent.entries[last.name] = (last, _OpenParts([new]) if header.is_list else new)
            return new
        return self._part_again(header, parent.entries[last.name], new)

    def _part_again(self, header: Header, first: tuple[KeyPart, _Child], new: _Open) -> _Open:
        first_key, known = first
        if header.is_list and isinstance(known, _OpenParts):
            known.tables.append(new)
            return new
        if not header.is_list and isinstance(known, _Open) and not (known.is_part or known.fixed):
            known.is_part = True
            return known
        kind = files.VALUE_AND_PART
        if isinstance(known, _Open) and not known.fixed:
            known.repeats.append(new)
            known.has_gaps = True
            kind = files.MIXED_BRACKETS if header.is_list else self._repeated(header)
        elif isinstance(known, _OpenParts):
            known.tables.append(new)
            new.has_gaps = True
            kind = files.MIXED_BRACKETS
        self._clash(kind, header.key[-1], first_key, header.key)
        return new

    def _repeated(self, header: Header) -> Kind:
        names = ".".join(part.name for part in header.key)
        return files.SEVERAL_PARTS if names in self.several else files.REPEATED_PART

    def _clash(
        self,
        kind: Kind,
        second: KeyPart,
        first: KeyPart,
        key: tuple[KeyPart, ...],
    ) -> None:
        also = (("First given", self._range(first.start, first.end)),)
        name = quoted(".".join(part.name for part in key))
        if len(self.found) > MAX_TROUBLES:
            return
        self.found.append(kind.at(self._range(second.start, second.end), also=also, key=name))

    def _descend(self, table: _Open, path: tuple[KeyPart, ...]) -> _Open | None:
        """The table at the end of a path, made where needed; None where a value is in the way."""
        for part in path:
            if part.name not in table.entries:
                table.entries[part.name] = (part, _Open(part.start, part.end))
            first, child = table.entries[part.name]
            if isinstance(child, _OpenParts):
                table = child.tables[-1]
            elif isinstance(child, _Open) and not child.fixed:
                table = child
            else:
                if not isinstance(child, UnreadableAt):
                    self._clash(files.VALUE_AND_PART, part, first, path)
                return None
        return table

    # Entries

    def _assign(self, table: _Open, assignment: Assignment) -> None:
        if not assignment.key:
            table.has_gaps = True
            return
        parent = self._descend(table, assignment.key[:-1])
        if parent is None:
            return
        last = assignment.key[-1]
        if last.name in parent.entries:
            first, known = parent.entries[last.name]
            is_table = isinstance(known, _Open | _OpenParts) and not (
                isinstance(known, _Open) and known.fixed
            )
            kind = files.VALUE_AND_PART if is_table else files.REPEATED_KEY
            self._clash(kind, last, first, assignment.key)
            return
        parent.entries[last.name] = (last, self._child(assignment.value))

    def _child(self, value: ValueAt) -> _Child:
        if not isinstance(value, BracesAt):
            return value
        made = _Open(value.start, value.end)
        for pair in value.pairs:
            self._assign(made, pair)
        _fix(made)
        return made

    # Filled tables

    def table(self, made: _Open) -> Table:
        entries = tuple(
            Entry(name, self._range(key.start, key.end), self._node(child))
            for name, (key, child) in made.entries.items()
        )
        return Table(
            entries,
            self._range(made.start, made.end),
            has_gaps=made.has_gaps,
            is_part=made.is_part,
            repeats=tuple(self.table(t) for t in made.repeats),
        )

    def _node(self, child: _Child | BracesAt) -> Node:
        if isinstance(child, _Open):
            return self.table(child)
        if isinstance(child, _OpenParts):
            tables = tuple(self.table(t) for t in child.tables)
            return Items(tables, tables[0].at, is_parts=True)
        if isinstance(child, BracesAt):
            return self._node(self._child(child))
        at = self._range(child.start, child.end)
        if isinstance(child, ListAt):
            return Items(tuple(self._node(item) for item in child.items), at)
        if isinstance(child, UnreadableAt) or child.start not in self.contents:
            return Unreadable(at)
        return Value(self.contents[child.start], at, self._inner(child))

    def _inner(self, scalar: ScalarAt) -> SourceRange:
        """The place of a text without its quotes and, after three quotes, its first line end."""
        text, start, end = self.source.text, scalar.start, scalar.end
        if text[start] not in "\"'":
            return self._range(start, end)
        quotes = 3 if text[start : start + 3] in ('"""', "'''") else 1
        inner = start + quotes
        if quotes == 3:
            inner += 2 if text.startswith("\r\n", inner) else int(text.startswith("\n", inner))
        return self._range(inner, end - quotes)


def _fix(table: _Open) -> None:
    table.fixed = True
    for _, child in table.entries.values():
        if isinstance(child, _Open):
            _fix(child)
