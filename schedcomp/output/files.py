"""Writing a set of files into a folder as a whole or not at all.

The new files are completed in `.schedcomp-new`; the old ones then go to `.schedcomp-old`; renaming
`.schedcomp-new` to `.schedcomp-ready` is the turning point; the new ones move in; the old ones go.
No old file ever stands beside a new one. An error before or after the turning point is undone. A
power cut between two renames leaves one of these folders behind, and `settle` (every `write_set`
begins with it) goes back to the old set before the turning point and on to the new one after it.
Until then the folder may lack files: what is left is part of one set, never a mixture.
While one command is at work in a folder, others are refused.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path

from schedcomp.diag import Diagnostic
from schedcomp.messages import writing_files as writing
from schedcomp.output.disk import (
    FULL,
    PROTECTED,
    alone_in,
    is_plain_file,
    is_plain_folder,
    sync_folder,
    words_of,
    write_synced,
)

PICTURES = 99
"""The most drawings that are written as files of their own."""

SET_NAMES = (
    "table.csv",
    "events.csv",
    "special_days.csv",
    "changes.csv",
    "transfer.json",
    "check.json",
    "sheet.html",
    "sheet.pdf",
    "calendar.ics",
    "site.json",
    "site.toml",
    "summary.csv",
    "summary.json",
    "summary.html",
    "worklist.csv",
    *(f"year_{number}.svg" for number in range(1, PICTURES + 1)),
)
"""Every file that a build, a renewal or a fleet run may write; a new set removes those it lacks."""

_NEW = ".schedcomp-new"
_OLD = ".schedcomp-old"
_READY = ".schedcomp-ready"


def write_set(folder: Path, files: Mapping[str, bytes]) -> tuple[Diagnostic, ...]:
    """Replace the set of files in a folder, made if missing.

    Names must be of `SET_NAMES` (ValueError otherwise: our own fault). With a problem in the
    answer, the folder is as it was.
    """
    if unknown := set(files) - set(SET_NAMES):
        raise ValueError(f"not names of a set: {sorted(unknown)}")
    refused = _refusal(folder)
    if refused:
        return refused
    absent = [part for part in (folder, *folder.parents) if not os.path.lexists(part)]
    try:
        os.makedirs(folder, exist_ok=True)
        with alone_in(folder):
            return _replaced(folder, files, absent)
    except BlockingIOError:
        return (writing.BUSY.at(None, folder=folder, again=f"--out {_typed(str(folder))}"),)
    except (OSError, ValueError) as fault:
        _drop_quietly(folder, absent)
        return (_finding(folder, files, fault),)


def _replaced(
    folder: Path, files: Mapping[str, bytes], absent: list[Path]
) -> tuple[Diagnostic, ...]:
    try:
        settle(folder)
        _complete(folder / _NEW, files)
    except OSError as fault:
        _drop_quietly(folder, absent)
        return (_finding(folder, files, fault),)
    return _swap(folder)


def settle(folder: Path) -> None:
    """Finish or undo what an interrupted `write_set` left; OSError if the system refuses."""
    if os.path.isdir(folder / _READY):
        _move_in(folder)
        _forget_old(folder)
    else:
        _go_back(folder)


def _refusal(folder: Path) -> tuple[Diagnostic, ...]:
    """Why this folder is not written into at all."""
    lowest = next(part for part in (folder, *folder.parents) if os.path.lexists(part))
    if not os.path.isdir(lowest):
        return (writing.NOT_A_FOLDER.at(None, found=lowest, suggestion=_other(lowest)),)
    names = _names_in(folder)
    return tuple(
        writing.NAME_TAKEN.at(None, name=name, folder=folder, suggestion=_other(folder))
        for name, is_right in _expected()
        if name in names and not is_right(folder / name)
    )


def _expected() -> Iterator[tuple[str, Callable[[Path], bool]]]:
    """What each name we use must be if it is there."""
    for name in SET_NAMES:
        yield name, is_plain_file
    for name in (_NEW, _OLD, _READY):
        yield name, is_plain_folder


def _complete(new: Path, files: Mapping[str, bytes]) -> None:
    """Write every new file and make sure it is on the disk."""
    os.mkdir(new)
    for name, content in files.items():
        write_synced(new / name, content)
    sync_folder(new)
    sync_folder(new.parent)


def _swap(folder: Path) -> tuple[Diagnostic, ...]:
    try:
        _set_old_aside(folder)
        os.replace(folder / _NEW, folder / _READY)
        sync_folder(folder)
        _move_in(folder)
    except OSError as fault:
        return (_undone(folder, fault),)
    try:
        _forget_old(folder)
    except OSError as fault:
        return (writing.OLD_LEFT.at(None, folder=folder, left=_OLD, words=words_of(fault)),)
    return ()


def _set_old_aside(folder: Path) -> None:
    os.mkdir(folder / _OLD)
    _move_all(folder, folder / _OLD)


def _move_in(folder: Path) -> None:
    _move_all(folder / _READY, folder)


def _forget_old(folder: Path) -> None:
    """`.schedcomp-ready` goes last: while it is there, the new set is the one that counts."""
    _remove_folder(folder / _OLD)
    _remove_folder(folder / _READY)


def _undone(folder: Path, fault: OSError) -> Diagnostic:
    try:
        if os.path.isdir(folder / _READY):
            _move_all(folder, folder / _READY)
            os.replace(folder / _READY, folder / _NEW)
        _go_back(folder)
    except OSError as second:
        return writing.HALF_WAY.at(
            None, folder=folder, words=words_of(second), same=_typed(str(folder))
        )
    if fault.errno in PROTECTED:
        return writing.IN_USE.at(None, folder=folder, suggestion=_other(folder))
    return _finding(folder, {}, fault)


def _go_back(folder: Path) -> None:
    """Before the turning point every file in the folder is an old one."""
    if os.path.isdir(folder / _OLD):
        _move_all(folder / _OLD, folder)
    _remove_folder(folder / _OLD)
    _remove_folder(folder / _NEW)


def _move_all(source: Path, target: Path) -> None:
    names = _names_in(source)
    moved = [name for name in SET_NAMES if name in names]
    for name in moved:
        os.replace(source / name, target / name)
    if moved:
        sync_folder(source)
        sync_folder(target)


def _remove_folder(folder: Path) -> None:
    """Remove one of our own folders with the files of a set in it, and nothing else."""
    if not os.path.isdir(folder):
        return
    for name in _names_in(folder).intersection(SET_NAMES):
        os.unlink(folder / name)
    os.rmdir(folder)


def _names_in(folder: Path) -> frozenset[str]:
    """What is in a folder, broken links too; nothing where there is, or can be, none."""
    if not os.path.isdir(folder):
        return frozenset()
    return frozenset(os.listdir(folder))


def _drop_quietly(folder: Path, absent: list[Path]) -> None:
    """Take away what was begun; the folders too that were made for it."""
    with suppress(OSError, ValueError):
        _remove_folder(folder / _NEW)
        for part in absent:
            os.rmdir(part)


def _finding(folder: Path, files: Mapping[str, bytes], fault: OSError | ValueError) -> Diagnostic:
    other = _other(folder)
    number = fault.errno if isinstance(fault, OSError) else None
    if number in FULL:
        kilobytes = sum(map(len, files.values())) // 1000 + 1
        return writing.DISK_FULL.at(None, folder=folder, kilobytes=kilobytes, suggestion=other)
    if number in PROTECTED:
        return writing.NOT_WRITABLE.at(None, folder=folder, suggestion=other)
    return writing.CANNOT_WRITE.at(None, folder=folder, words=words_of(fault), suggestion=other)


def _other(folder: Path) -> str:
    """A name for another folder, to be typed in the folder where the command was given."""
    return _typed(f"{folder.name or 'program'}-new")


def _typed(path: str) -> str:
    return f'"{path}"' if " " in path else path
