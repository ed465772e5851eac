"""Checking a set on a stick: the folder in use, every file of its list, and the program in it."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from schedcomp.diag import Diagnostic
from schedcomp.messages import stick as messages
from schedcomp.output.stick_folder import EXAMPLE, POINTER, files_of, named_set
from schedcomp.output.stick_set import (
    FORMAT,
    FORMAT_KEY,
    MANIFEST,
    STICK_NAMES,
    TRANSFER,
    ListedFile,
    listed,
)
from schedcomp.records import Record
from schedcomp.transfer import Transfer
from schedcomp.transferfile import read_transfer


class CheckedSet(Record, kw_only=True):
    """A set that is whole. `units` are the labels it was copied for."""

    name: str
    transfer: Transfer
    units: tuple[str, ...]
    files: tuple[ListedFile, ...]


class _Manifest(Record):
    program_code: str
    units: tuple[str, ...]
    files: tuple[ListedFile, ...]


def check_set(folder: Path) -> tuple[CheckedSet | None, tuple[Diagnostic, ...]]:
    """Check the set in use in a folder, against its own list; all that is wrong at once.

    OSError where the folder cannot be read.
    """
    whole = Path(os.path.abspath(folder))
    if _is_in_use(whole):
        folder = whole.parent  # the folder of the set itself was named
    if not os.path.exists(folder / POINTER):
        return _not_whole(folder, messages.NO_POINTER.format(pointer=POINTER))
    name = named_set(folder)
    if name is None:
        return _not_whole(folder, messages.STRANGE_POINTER.format(pointer=POINTER))
    if not os.path.isdir(folder / name):
        return _not_whole(folder, messages.NO_SUCH_SET.format(name=name, pointer=POINTER))
    files = files_of(folder / name)
    manifest = _manifest(files.get(MANIFEST, b""))
    if manifest is None:
        return _not_whole(folder, messages.NO_LIST)
    wrong = tuple(_wrong_files(manifest, files))
    if wrong:
        return _not_whole(folder, *wrong)
    where = (folder / name / TRANSFER).as_posix()
    transfer, findings = read_transfer(files[TRANSFER], where)
    if transfer is None:
        return None, findings
    if transfer.program_code != manifest.program_code:
        return _not_whole(
            folder,
            messages.OTHER_CODE.format(listed=manifest.program_code, held=transfer.program_code),
        )
    checked = CheckedSet(name=name, transfer=transfer, units=manifest.units, files=manifest.files)
    return checked, ()


def was_built_there(folder: Path) -> bool:
    """Whether a folder holds what a build wrote and is no stick."""
    names = (folder / name for name in (POINTER, MANIFEST))
    if not os.path.isfile(folder / TRANSFER) or any(map(os.path.exists, names)):
        return False
    try:
        return not _is_in_use(Path(os.path.abspath(folder)))
    except OSError:
        return False


def _is_in_use(folder: Path) -> bool:
    """Whether it is the folder of a set that the stick around it names; OSError as `named_set`."""
    return named_set(folder.parent) == folder.name


def _not_whole(folder: Path, *what: str) -> tuple[None, tuple[Diagnostic, ...]]:
    return None, tuple(
        messages.SET_NOT_WHOLE.at(None, folder=folder, what=one, example=EXAMPLE) for one in what
    )


def _wrong_files(manifest: _Manifest, files: Mapping[str, bytes]) -> Iterator[str]:
    found = {file.name: file for file in listed(files)}
    for file in manifest.files:
        if file.name not in found:
            yield messages.FILE_GONE.format(name=file.name)
        elif found[file.name] != file:
            yield messages.FILE_CHANGED.format(name=file.name)
    wanted = {file.name for file in manifest.files} | {MANIFEST}
    for name in files:
        if name not in wanted:
            yield messages.FILE_STRANGE.format(name=name)
    if TRANSFER not in wanted:
        yield messages.FILE_GONE.format(name=TRANSFER)


def _manifest(data: bytes) -> _Manifest | None:
    """None for whatever is no manifest of this version."""
    try:
        record = json.loads(data)
        if record[FORMAT_KEY] != FORMAT:
            return None
        files = tuple(
            ListedFile(str(f["name"]), int(f["bytes"]), str(f["sha256"])) for f in record["files"]
        )
        units = tuple(str(unit["label"]) for unit in record["units"])
        code = str(record["program_code"])
    except (ValueError, OverflowError, KeyError, TypeError, RecursionError):
        return None
    if not all(file.name in STICK_NAMES for file in files):
        return None
    return _Manifest(code, units, files)
