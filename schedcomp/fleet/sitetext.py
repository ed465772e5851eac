"""The site file that a template and a row come to, as text: one site for all other commands."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

from schedcomp.fleet.job import SiteJob
from schedcomp.messages import fleet as messages
from schedcomp.near import quoted
from schedcomp.tomlnodes import Items, Node, Table, Value

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_PATH_KEYS = ("controller", "ordinance")
_LONG = 60


def site_text(job: SiteJob, root: Table, target: Path) -> str:
    """A whole site file; the paths in it start at `target`, where it will stand."""
    writer = _Writer(Path(job.path).parent, target)
    head = messages.MADE_FROM.format(
        template=quoted(Path(job.path).name),
        listed=quoted(Path(job.listed).name),
        line=job.lines_before + 1,
    )
    return "\n".join([f"# {head}", *writer.lines(root)]) + "\n"


class _Writer:
    __slots__ = ("folder", "target")

    def __init__(self, folder: Path, target: Path) -> None:
        self.folder, self.target = folder, target

    def lines(self, root: Table) -> Iterator[str]:
        parts = [e for e in root.entries if isinstance(e.value, Table) or _is_parts(e.value)]
        for entry in root.entries:
            if entry not in parts:
                yield f"{_key(entry.key)} = {self.value(entry.value)}"
        for entry in parts:
            several = isinstance(entry.value, Items)
            title = f"[[{_key(entry.key)}]]" if several else f"[{_key(entry.key)}]"
            for table in entry.value.items if isinstance(entry.value, Items) else (entry.value,):
                assert isinstance(table, Table)
                yield ""
                yield title
                for inner in table.entries:
                    yield f"{_key(inner.key)} = {self.value(inner.value, inner.key)}"

    def value(self, node: Node, key: str = "") -> str:
        if isinstance(node, Table):
            inside = [f"{_key(e.key)} = {self.value(e.value)}" for e in node.entries]
            return f"{{ {', '.join(inside)} }}" if inside else "{}"
        if isinstance(node, Items):
            each = [self.value(item, key) for item in node.items]
            if sum(map(len, each)) > _LONG:
                return "[\n" + "".join(f"  {item},\n" for item in each) + "]"
            return f"[{', '.join(each)}]"
        assert isinstance(node, Value)
        if isinstance(node.content, str):
            return _text(self._path(node.content) if key in _PATH_KEYS else node.content)
        if isinstance(node.content, bool):
            return "true" if node.content else "false"
        return str(node.content)

    def _path(self, name: str) -> str:
        """A file's path from where the site file will stand; a built-in name as it is."""
        path = self.folder / name
        if not os.path.isfile(path):
            return name
        return Path(os.path.relpath(path, self.target)).as_posix()


def _is_parts(node: Node) -> bool:
    return isinstance(node, Items) and node.is_parts


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    """A basic string of TOML."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else _escape(c) for c in escaped) + '"'


def _escape(char: str) -> str:
    code = ord(char)
    return f"\\u{code:04X}" if code < 0x10000 else f"\\U{code:08X}"
