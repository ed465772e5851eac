"""Single files onto the disk and back, past the computer's own memory where it allows that."""

from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

if sys.platform != "win32":
    import fcntl

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
PROTECTED = (errno.EACCES, errno.EPERM, errno.EROFS)
_NO_FOLDER_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.EACCES)
_READ_BYTES = 1 << 20
_NEW = ".schedcomp-new"
_OLD = ".schedcomp-old"
_LOCK = ".schedcomp-lock"


def write_synced(path: Path, content: bytes) -> None:
    """A new file, written and flushed to the disk; OSError if the name is taken."""
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    handle = os.open(path, flags, 0o666)
    try:
        rest = memoryview(content)
        while rest:
            rest = rest[os.write(handle, rest) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def replace_file(path: Path, content: bytes) -> None:
    """A file as a whole or not at all, also in place of an older one; OSError or ValueError."""
    beside = _written_beside(path, content)
    try:
        os.replace(beside, path)
    except OSError:
        _forget(beside)
        raise
    sync_folder(path.parent)


def add_file(path: Path, content: bytes) -> None:
    """As `replace_file`, where nothing has this name yet; FileExistsError otherwise."""
    if os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST))
    replace_file(path, content)


def replace_together(files: Mapping[Path, bytes]) -> None:
    """Files of one folder, the first of which names the others: all of them or none.

    It is the first to go and the last to come, so that after a power cut it is missing rather
    than beside others that do not belong to it.
    """
    with uninterrupted():
        _replace_together(files)


def _replace_together(files: Mapping[Path, bytes]) -> None:
    first, *others = files
    ready: dict[Path, Path] = {}
    aside: dict[Path, Path] = {}
    moved: list[Path] = []
    try:
        for path, content in files.items():
            ready[path] = _written_beside(path, content)
        for path in files:
            if os.path.lexists(path):
                old = path.with_name(f".{path.name}{_OLD}")
                os.replace(path, old)
                aside[path] = old
        for path in (*others, first):
            os.replace(ready[path], path)
            moved.append(path)
        sync_folder(first.parent)
    except OSError:
        _undo(ready, aside, moved)
        raise
    with suppress(OSError):
        for old in aside.values():
            os.unlink(old)


def _undo(ready: Mapping[Path, Path], aside: Mapping[Path, Path], moved: Sequence[Path]) -> None:
    with suppress(OSError):
        for path in moved:
            os.unlink(path)
        for path, old in reversed(list(aside.items())):
            os.replace(old, path)
        for beside in ready.values():
            _forget(beside)


def _written_beside(path: Path, content: bytes) -> Path:
    """A complete file with a name of ours; what an interrupted command left there goes."""
    beside = path.with_name(f".{path.name}{_NEW}")
    _forget(beside)
    try:
        write_synced(beside, content)
    except OSError:
        _forget(beside)
        raise
    return beside


def _forget(path: Path) -> None:
    with suppress(FileNotFoundError):
        os.unlink(path)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Keep other commands of this kind out of a folder, as far as the system can.

    BlockingIOError where another one is at work there. It ends with the process, whatever
    happens to it, and leaves no file behind.
    """
    handle = _lock(folder)
    try:
        with uninterrupted():
            yield
    finally:
        if handle is not None:
            with suppress(OSError):
                os.close(handle)


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Ctrl-C waits until what is in here is done, where the system can do that."""
    if sys.platform == "win32":
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _lock(folder: Path) -> int | None:
    """An open handle that holds the lock, None where there are none."""
    if sys.platform == "win32":
        flags = os.O_CREAT | os.O_EXCL | os.O_TEMPORARY
        try:
            return os.open(folder / _LOCK, flags)
        except FileExistsError:
            raise BlockingIOError from None
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as fault:
        os.close(handle)
        if fault.errno in (errno.EAGAIN, errno.EACCES):
            raise BlockingIOError(*fault.args) from None
        return None
    return handle


def words_of(fault: OSError | ValueError) -> str:
    """What the computer says, for people."""
    return (fault.strerror if isinstance(fault, OSError) else "") or str(fault)


def read_back(path: Path) -> bytes:
    """What a file holds, from the disk itself where the system can be asked for that."""
    handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    try:
        if hasattr(os, "posix_fadvise"):
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
        parts = []
        while part := os.read(handle, _READ_BYTES):
            parts.append(part)
        return b"".join(parts)
    finally:
        os.close(handle)


def sync_folder(folder: Path) -> None:
    """Names onto the disk, where the system offers this for folders."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return
    try:
        os.fsync(handle)
    except OSError as fault:
        if fault.errno not in _NO_FOLDER_SYNC:
            raise
    finally:
        os.close(handle)


def is_plain_file(path: Path) -> bool:
    """Whether it is a file itself and not a link to one."""
    return os.path.isfile(path) and not os.path.islink(path)


def is_plain_folder(path: Path) -> bool:
    return os.path.isdir(path) and not os.path.islink(path)
