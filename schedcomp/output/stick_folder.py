"""A set on a stick: one file names the folder to use, and changing it is the turning point.

`use-this.txt` names a folder such as `7F3A-92C1` with a complete set in it. A new set is written
into `unfinished`, flushed, read back and compared; then it gets its own name; then `use-this.txt`
is replaced in one step; then sets that it no longer names move into `replaced`. Whatever stops
this, `use-this.txt` names a complete set: the old one before that step, the new one after it.
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from itertools import count
from pathlib import Path

from schedcomp.diag import Diagnostic
from schedcomp.messages import stick as messages
from schedcomp.messages.writing_files import BUSY
from schedcomp.output.disk import (
    FULL,
    PROTECTED,
    alone_in,
    is_plain_file,
    is_plain_folder,
    read_back,
    sync_folder,
    words_of,
    write_synced,
)
from schedcomp.output.stick_set import MANIFEST, STICK_NAMES, StickSet
from schedcomp.records import Record

POINTER = "use-this.txt"
UNFINISHED = "unfinished"
REPLACED = "replaced"
_NEW_POINTER = "use-this.new"
_SET_NAME = re.compile(r"[0-9A-F]{4}-[0-9A-F]{4}(-[0-9]{1,6})?")
_FIRST_LINE = "folder: "
_BLOCK_BYTES = 32_768
"""The smallest room a file takes on a large stick."""
_SPARE_BYTES = 65_536
_LARGEST_BYTES = 30_000_000
EXAMPLE = "schedcomp copy transfer.json E:\\"


class Copied(Record, kw_only=True):
    """`name` is the set's folder; `replaced` are the older sets that moved, by their new names.

    `was_there`: the same set, byte for byte, was in use already.
    """

    name: str
    replaced: tuple[str, ...] = ()
    was_there: bool = False


class _ReadBackWrong(Exception):  # noqa: N818 - it is an answer, not an error of ours
    """Carries the name of a file that came back otherwise."""


def write_stick(folder: Path, found: StickSet) -> tuple[Copied | None, tuple[Diagnostic, ...]]:
    """Put a set into a folder that is there already, and prove it by reading it back.

    With None the set that was in use before still is.
    """
    refused = _refusal(folder, found.files)
    if refused:
        return None, refused
    try:
        with alone_in(folder):
            return _written(folder, found)
    except BlockingIOError:
        return None, (BUSY.at(None, folder=folder, again=EXAMPLE),)
    except OSError as fault:
        return None, (_stopped(folder, found.files, fault),)


def _written(folder: Path, found: StickSet) -> tuple[Copied | None, tuple[Diagnostic, ...]]:
    try:
        _tidy_up(folder)
        name, was_there = _placed(folder, found)
        _point_to(folder, name, found)
    except _ReadBackWrong as wrong:
        finding = messages.NOT_AS_WRITTEN.at(None, folder=folder, name=wrong, example=EXAMPLE)
        return None, (finding,)
    except OSError as fault:
        return None, (_stopped(folder, found.files, fault),)
    try:
        moved = tuple(_set_aside(folder, name))
    except OSError as fault:
        words = words_of(fault)
        caution = messages.NOT_TIDIED.at(None, folder=folder, words=words, pointer=POINTER)
        return Copied(name=name, was_there=was_there), (caution,)
    return Copied(name=name, replaced=moved, was_there=was_there), ()


def named_set(folder: Path) -> str | None:
    """The name of the set in use, None where no file names one in the right form."""
    pointer = folder / POINTER
    if not is_plain_file(pointer):
        return None
    with pointer.open("rb") as stream:
        first = stream.read(200).decode("ascii", errors="replace").partition("\n")[0].strip()
    name = first.removeprefix(_FIRST_LINE)
    return name if first.startswith(_FIRST_LINE) and _SET_NAME.fullmatch(name) else None


def files_of(folder: Path) -> dict[str, bytes]:
    """Every plain file of a set's folder, by name; OSError where it cannot be read."""
    return {p.name: _content(p) for p in sorted(folder.iterdir()) if is_plain_file(p)}


def _content(path: Path) -> bytes:
    """What a file holds; nothing of one that is too large to be of a set."""
    return read_back(path) if path.stat().st_size <= _LARGEST_BYTES else b""


# What would be wrong to begin with


def _refusal(folder: Path, files: Mapping[str, bytes]) -> tuple[Diagnostic, ...]:
    if not os.path.isdir(folder):
        seen = messages.IS_A_FILE if os.path.lexists(folder) else messages.NOTHING_THERE
        return (messages.NO_TARGET.at(None, folder=folder, seen=seen, example=EXAMPLE),)
    strange = [
        name
        for name, is_right in _expected(folder)
        if os.path.lexists(folder / name) and not is_right(folder / name)
    ]
    if strange:
        return tuple(
            messages.LEADS_AWAY.at(None, folder=folder, name=name, example=EXAMPLE)
            for name in strange
        )
    free = _free_bytes(folder)
    if free is not None and free < _needed_bytes(files):
        return (_no_room(folder, files, free),)
    return ()


def _expected(folder: Path) -> Iterator[tuple[str, Callable[[Path], bool]]]:
    """What each name we use must be if it is there."""
    yield POINTER, is_plain_file
    yield _NEW_POINTER, is_plain_file
    for name in (UNFINISHED, REPLACED, *_names_of_sets(folder)):
        yield name, is_plain_folder


def _names_of_sets(folder: Path) -> list[str]:
    """Folders here that are named like sets, in order."""
    try:
        return sorted(p.name for p in folder.iterdir() if _SET_NAME.fullmatch(p.name))
    except OSError:
        return []


def _needed_bytes(files: Mapping[str, bytes]) -> int:
    blocks = sum(-(-len(content) // _BLOCK_BYTES) for content in files.values())
    return blocks * _BLOCK_BYTES + _SPARE_BYTES


def _free_bytes(folder: Path) -> int | None:
    try:
        return shutil.disk_usage(folder).free
    except OSError:
        return None


# Steps


def _tidy_up(folder: Path) -> None:
    """Remove what an interrupted copy left unfinished; nothing else was ever in these places."""
    if os.path.lexists(folder / _NEW_POINTER):
        os.unlink(folder / _NEW_POINTER)
    _remove_set(folder / UNFINISHED)


def _remove_set(folder: Path) -> None:
    """Remove one of our folders with the files of a set in it, and nothing else."""
    if not os.path.isdir(folder):
        return
    for name in STICK_NAMES:
        if os.path.lexists(folder / name):
            os.unlink(folder / name)
    os.rmdir(folder)


def _placed(folder: Path, found: StickSet) -> tuple[str, bool]:
    """The name of a folder that holds exactly this set, and whether it was in use already."""
    for name in _names_of_sets(folder):
        if files_of(folder / name) == dict(found.files):
            return name, named_set(folder) == name
    unfinished = folder / UNFINISHED
    os.mkdir(unfinished)
    for file_name, content in found.files.items():
        write_synced(unfinished / file_name, content)
    sync_folder(unfinished)
    for file_name, content in found.files.items():
        if read_back(unfinished / file_name) != content:
            _remove_set(unfinished)
            raise _ReadBackWrong(file_name)
    name = _free_name(folder, found.program_code)
    os.rename(unfinished, folder / name)
    sync_folder(folder)
    return name, False


def _point_to(folder: Path, name: str, found: StickSet) -> None:
    """The turning point: from here on the new set is the one to use."""
    content = pointer_text(name, found).encode()
    if os.path.lexists(folder / POINTER) and read_back(folder / POINTER) == content:
        return
    write_synced(folder / _NEW_POINTER, content)
    if read_back(folder / _NEW_POINTER) != content:
        os.unlink(folder / _NEW_POINTER)
        raise _ReadBackWrong(POINTER)
    os.replace(folder / _NEW_POINTER, folder / POINTER)
    sync_folder(folder)


def pointer_text(name: str, found: StickSet) -> str:
    """The first line is for programs, the rest for people."""
    units = ", ".join(unit.label for unit in found.units) or "every unit of the site"
    return (
        f"{_FIRST_LINE}{name}\n\n"
        f"Use the program {found.program_code} in the folder {name}: {units}.\n"
        f"Sets in the folder {REPLACED} are older. Do not use them.\n"
    )


def _set_aside(folder: Path, in_use: str) -> Iterator[str]:
    """Move every set but the one in use; the names they have afterwards."""
    for name in _names_of_sets(folder):
        if name == in_use or not is_plain_file(folder / name / MANIFEST):
            continue
        if not os.path.isdir(folder / REPLACED):
            os.mkdir(folder / REPLACED)
        moved = _free_name(folder / REPLACED, name)
        os.rename(folder / name, folder / REPLACED / moved)
        sync_folder(folder / REPLACED)
        sync_folder(folder)
        yield f"{REPLACED}/{moved}"


def _free_name(folder: Path, wanted: str) -> str:
    if not os.path.lexists(folder / wanted):
        return wanted
    base = "-".join(wanted.split("-")[:2])
    names = (f"{base}-{number}" for number in count(2))
    return next(name for name in names if not os.path.lexists(folder / name))


# What went wrong


def _stopped(folder: Path, files: Mapping[str, bytes], fault: OSError) -> Diagnostic:
    with suppress(OSError):
        _tidy_up(folder)
    if fault.errno in FULL:
        return _no_room(folder, files, None)
    kind = messages.WRITE_PROTECTED if fault.errno in PROTECTED else messages.COPY_STOPPED
    return kind.at(None, folder=folder, words=words_of(fault), example=EXAMPLE)


def _no_room(folder: Path, files: Mapping[str, bytes], free: int | None) -> Diagnostic:
    told = "" if free is None else messages.FREE.format(kilobytes=free // 1000)
    needed = -(-_needed_bytes(files) // 1000)
    return messages.NO_ROOM.at(None, folder=folder, needed=needed, free=told, example=EXAMPLE)
