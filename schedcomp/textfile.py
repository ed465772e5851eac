"""Reading a text file of a person: every way in which that goes wrong, as a finding."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from difflib import get_close_matches
from pathlib import Path

from schedcomp.diag import Diagnostic, Source, SourceRange
from schedcomp.messages import files
from schedcomp.plainfile import NotPlain, read_plain

LARGEST_BYTES = 1_000_000
EXAMPLE = "north-lot.toml"
_LONE_RETURN = re.compile(r"\r(?!\n)")

Read = tuple[Source | None, tuple[Diagnostic, ...]]
Seen = dict[str, bytes | None]

_SEEN: ContextVar[Seen | None] = ContextVar("files read", default=None)


@contextmanager
def noting_files() -> Iterator[Seen]:
    """Every file that is read meanwhile, by its path, with what was read of it; None where
    nothing could be.
    """
    seen: Seen = {}
    token = _SEEN.set(seen)
    try:
        yield seen
    finally:
        _SEEN.reset(token)


def read_source(path: Path | str, at: SourceRange | None = None) -> Read:
    """The text of a UTF-8 file of at most 1 MB, without a byte order mark.

    Line ends stay as they are, so that columns are those of the file; a lone carriage return
    becomes a line end. `at` is where another file names this one.
    """
    data, found = read_bytes(path, LARGEST_BYTES + 1, EXAMPLE, at)
    if data is None:
        return None, found
    if len(data) > LARGEST_BYTES:
        most = LARGEST_BYTES // 1_000_000
        return None, (files.TOO_BIG.at(at, path=path, most=most, example=EXAMPLE),)
    return source_from_bytes(str(path), data)


def read_bytes(
    path: Path | str, most_bytes: int, example: str, at: SourceRange | None = None
) -> tuple[bytes | None, tuple[Diagnostic, ...]]:
    """The first bytes of a file; `example` is what such a file could be called."""
    seen = _SEEN.get()
    if seen is not None:
        seen[str(path)] = None
    try:
        place = Path(path)
        if os.path.isdir(place):
            return None, (
                files.IS_FOLDER.at(at, path=path, reading=_reading(place), example=place / example),
            )
        data = read_plain(place, most_bytes)
        if seen is not None:
            seen[str(path)] = data
        return data, ()
    except NotPlain:
        return None, (files.NOT_PLAIN.at(at, path=path, example=example),)
    except FileNotFoundError:
        return None, (_not_found(Path(path), at),)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        return None, (
            files.NOT_READABLE.at(
                at, path=path, reason=(reason or "the name cannot be used").lower(), example=example
            ),
        )


def source_from_bytes(name: str, data: bytes, usual: str = files.ENDINGS[0]) -> Read:
    """As `read_source`, for what a file holds; names of such files usually end with `usual`."""
    suffix = Path(name).suffix.lower()
    ending = suffix if suffix in files.ENDINGS else usual
    as_utf8 = files.SHEET_AS_UTF8 if ending == ".csv" else files.SAVE_AS_UTF8
    if data.startswith((b"\xff\xfe", b"\xfe\xff")) or _looks_like_utf16(data):
        return None, (files.UTF16.at(None, name=name, fix=as_utf8),)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return None, (_not_utf8(name, data, error.start, as_utf8),)
    source = Source(name, _LONE_RETURN.sub("\n", text))
    text = source.text
    zero = text.find("\0")
    if zero >= 0:
        here = SourceRange(source, zero, 1)
        return None, (files.NOT_TEXT.at(here, name=name, line=here.line, ending=ending),)
    return source, ()


def _looks_like_utf16(data: bytes) -> bool:
    """Plain words in UTF-16 have a zero in every second byte."""
    head = data[:200]
    return len(head) > 3 and max(head[::2].count(0), head[1::2].count(0)) > len(head) * 0.4


def _not_utf8(name: str, data: bytes, start: int, fix: str) -> Diagnostic:
    # The byte can be at most three bytes after the first of its character.
    text = data.decode("utf-8", errors="replace")
    shown = len(data[:start].decode("utf-8-sig", errors="replace"))
    source = Source(name, text.removeprefix("\ufeff"))
    here = SourceRange(source, min(shown, max(0, len(source.text) - 1)), 1)
    byte = f"0x{data[start]:02X}"
    return files.NOT_UTF8.at(here, name=name, byte=byte, line=here.line, fix=fix)


def _not_found(path: Path, at: SourceRange | None) -> Diagnostic:
    folder = path.parent
    try:
        names = [p.name for p in folder.iterdir()]
    except OSError:
        return files.NOT_FOUND.at(
            at,
            path=path,
            reading=_reading(path),
            near=f"There is no folder {folder} either.",
            example=_whole(path),
        )
    alike = [name for name in names if path.suffix in ("", Path(name).suffix)]
    near = get_close_matches(path.name, alike, 1) or get_close_matches(path.name, names, 1, 0.8)
    told = f"There is a file {near[0]} in that folder." if near else ""
    example = folder / near[0] if near else _whole(path)
    return files.NOT_FOUND.at(at, path=path, reading=_reading(path), near=told, example=example)


def _reading(path: Path) -> str:
    return f"The folder looked in is {_whole(path.parent if not os.path.isdir(path) else path)}."


def _whole(path: Path) -> Path:
    try:
        return path.absolute()
    except OSError:
        return path
