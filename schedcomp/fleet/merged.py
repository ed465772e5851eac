"""A template with the cells of a row in it: its tables with some values replaced.

The new values know their place in the store list, so that whatever is wrong with them is told
there.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path as FilePath

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.fleet.cells import SEVERAL_IN_A_CELL
from schedcomp.fleet.columns import ACCEPT, BECAUSE, COORDINATES, HOURS_FILE, UNITS
from schedcomp.fleet.job import Override
from schedcomp.messages import fleet as messages
from schedcomp.near import near_words, quoted
from schedcomp.records import replace
from schedcomp.sitefile.keys import DAY_TYPES, EVERY_PART, HOLIDAYS
from schedcomp.tomlfile import read_document, read_source
from schedcomp.tomlnodes import Entry, Items, Node, Table, Value
from schedcomp.words import join_and

NAME_KEYS = {"circuit": "name", "unit": "label"}
_PARTS = {"circuit": "[[circuit]]", "unit": "[[unit]]", "people": "[people]", "paper": "[paper]"}
_PAIR = re.compile(r"([^,;/]+)[,;/]([^,;/]+)")
_TWO_NUMBERS = re.compile(r"([+-]?[0-9.]+)[ ]+([+-]?[0-9.]+)")

Findings = tuple[Diagnostic, ...]


def merged(
    root: Table, row: Source, overrides: Sequence[Override], folder: str
) -> tuple[Table, Findings]:
    """The tables of a site; `folder` is where paths in the store list start."""
    found: list[Diagnostic] = []
    # Names last: other columns call circuits and units as the template does.
    for override in sorted(overrides, key=lambda o: o.path[-1] in NAME_KEYS.values()):
        root = _Cell(row, override, folder, found).put_into(root)
    return root, tuple(found)


class _Cell:
    """One override on its way into the tables of a template."""

    __slots__ = ("folder", "found", "override", "row")

    def __init__(
        self, row: Source, override: Override, folder: str, found: list[Diagnostic]
    ) -> None:
        self.row, self.override, self.folder, self.found = row, override, folder, found

    @property
    def at(self) -> SourceRange:
        return SourceRange(self.row, self.override.start, self.override.length)

    def put_into(self, root: Table) -> Table:
        path = self.override.path
        if path in ((ACCEPT,), (BECAUSE,)):
            return root
        if path == (COORDINATES,):
            return self._coordinates(root)
        if path == (HOURS_FILE,):
            return self._hours(root)
        if path == (UNITS,):
            return self._units(root)
        part = path[0]
        if part in NAME_KEYS:
            return self._of_several(root, part, path[1], path[2])
        if part == "day_types" and path[1] not in _keys(_table(root, part)):
            self.found.append(self._not_there(path[1], _keys(_table(root, part)), "day type"))
            return root
        table = _table(root, part) or Table((), self.at, is_part=True)
        if len(path) == 3:
            inner = _table(table, path[1]) or Table((), self.at)
            inner = _with(inner, path[2], self._value(path[2], HOLIDAYS[path[2]]), self.at)
            return _with(root, part, _with(table, path[1], inner, self.at), self.at)
        usual = DAY_TYPES["usual"] if part == "day_types" else '""'
        example = EVERY_PART.get(f"[{part}]", {}).get(path[1], usual)
        value = self._value(path[1], example)
        return _with(root, part, _with(table, path[1], value, self.at), self.at)

    def _of_several(self, root: Table, part: str, name: str, key: str) -> Table:
        """A key of the circuit or unit that is named, or of the only one."""
        items = _items(root, part)
        names = [_name(item, part) for item in items]
        if not name and len(items) != 1:
            self.found.append(self._which(part, key, names))
            return root
        place = 0 if not name else next((i for i, n in enumerate(names) if n == name), None)
        if place is None:
            self.found.append(self._not_there(name, names, part))
            return root
        value = self._value(key, EVERY_PART[_PARTS[part]][key])
        changed = [_with(t, key, value, self.at) if i == place else t for i, t in enumerate(items)]
        return _with_items(root, part, changed, self.at)

    def _coordinates(self, root: Table) -> Table:
        """Latitude and longitude in one cell, `40.5853, -105.0844`."""
        text = self.override.text
        pair = _PAIR.fullmatch(text) or _TWO_NUMBERS.fullmatch(text)
        if pair is None:
            self.found.append(messages.NOT_COORDINATES.at(self.at, found=quoted(text)))
            return root
        table = _table(root, "site") or Table((), self.at, is_part=True)
        for key, group in (("latitude", 1), ("longitude", 2)):
            value = self._scalar(pair[group], pair.start(group), "0")
            table = _with(table, key, value, self.at)
        return _with(root, "site", table, self.at)

    def _hours(self, root: Table) -> Table:
        """The `[hours]` of another file in place of those of the template."""
        path = FilePath(self.folder) / self.override.text
        source, found = read_source(path, self.at)
        self.found += found
        if source is None:
            return root
        document, found = read_document(source, "[hours]")
        self.found += found
        hours = None if document is None else _table(document.root, "hours")
        if hours is None:
            if document is not None and not found:
                self.found.append(messages.NO_HOURS.at(self.at, name=source.name))
            return root
        return _with(root, "hours", hours, self.at)

    def _units(self, root: Table) -> Table:
        """Units by their labels, in place of those of the template."""
        made = [
            Table((Entry("label", self.at, value),), self.at, is_part=True)
            for value in self._pieces()
        ]
        return _with_items(root, "unit", made, self.at)

    def _value(self, key: str, example: str) -> Node:
        """A cell as the kind of value that its key takes."""
        several = SEVERAL_IN_A_CELL in self.override.text and key in ("ordinance", "only", "except")
        if key == "ordinance":
            if several:
                return Items(tuple(map(self._path, self._pieces())), self.at)
            return self._path(self._scalar(self.override.text, 0, example))
        if key == "controller":
            return self._path(self._scalar(self.override.text, 0, example))
        if example.startswith("[") or several:
            return Items(self._pieces(), self.at)
        return self._scalar(self.override.text, 0, example)

    def _pieces(self) -> tuple[Value, ...]:
        """The texts of a cell that holds several."""
        made, start = [], 0
        for piece in self.override.text.split(SEVERAL_IN_A_CELL):
            if piece.strip():
                made.append(self._scalar(piece, start, '""'))
            start += len(piece) + 1
        return tuple(made)

    def _path(self, value: Value) -> Value:
        """The name of a file, which starts at the folder of the store list; or what it is."""
        path = FilePath(self.folder) / str(value.content)
        return replace(value, content=str(path)) if os.path.isfile(path) else value

    def _scalar(self, text: str, start: int, example: str) -> Value:
        """A part of the cell that begins at `start` of its text."""
        word = text.strip()
        at = self.at
        if self.override.inner is not None:
            first = self.override.inner + start + len(text) - len(text.lstrip())
            at = SourceRange(self.row, first, len(word))
        if example.startswith(('"', "[", "{")):
            return Value(word, at, at)
        return Value(_number_or_flag(word), at, at)

    def _which(self, part: str, key: str, names: Sequence[str]) -> Diagnostic:
        title = self.override.title
        if not names:
            return messages.PART_MISSING.at(self.at, title=quoted(title), part=part)
        return messages.WHICH_PART.at(
            self.at,
            title=quoted(title),
            part=part,
            names=join_and([quoted(name) for name in names]),
            typed=f"{part}.{names[0]}.{key}",
        )

    def _not_there(self, name: str, names: Sequence[str], part: str) -> Diagnostic:
        near = (*near_words(name, names), *names)
        title = self.override.title
        typed = title.replace(name, near[0]) if near else title
        return messages.NO_SUCH_PART.at(
            self.at,
            title=quoted(title),
            part=part,
            found=quoted(name),
            names=join_and([quoted(n) for n in names]) or "none",
            typed=typed,
        )


def _number_or_flag(word: str) -> str | int | float | bool:
    """What a TOML file would hold here; a text where it is neither, and then the reader tells."""
    if word.casefold() in ("true", "false"):
        return word.casefold() == "true"
    for kind in (int, float):
        try:
            return kind(word)
        except ValueError:
            continue
    return word


def _table(table: Table | None, key: str) -> Table | None:
    found = None if table is None else next((e.value for e in table.entries if e.key == key), None)
    return found if isinstance(found, Table) else None


def _items(root: Table, key: str) -> list[Table]:
    found = next((e.value for e in root.entries if e.key == key), None)
    items = found.items if isinstance(found, Items) else ()
    return [item for item in items if isinstance(item, Table)]


def _keys(table: Table | None) -> tuple[str, ...]:
    return () if table is None else tuple(entry.key for entry in table.entries)


def _name(item: Table, part: str) -> str:
    found = next((e.value for e in item.entries if e.key == NAME_KEYS[part]), None)
    return str(found.content).strip() if isinstance(found, Value) else ""


def _with(table: Table, key: str, value: Node, at: SourceRange) -> Table:
    """The table with one entry replaced where it stands, or added at the end."""
    if all(entry.key != key for entry in table.entries):
        return replace(table, entries=(*table.entries, Entry(key, at, value)))
    entries = tuple(Entry(e.key, at, value) if e.key == key else e for e in table.entries)
    return replace(table, entries=entries)


def _with_items(root: Table, key: str, items: Sequence[Table], at: SourceRange) -> Table:
    return _with(root, key, Items(tuple(items), at, is_parts=True), at)
