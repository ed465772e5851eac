"""Single files onto the disk and back, past the computer's own memory where it allows that."""

from __future__ import annotations

import errno
import os
from pathlib import Path

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
PROTECTED = (errno.EACCES, errno.EPERM, errno.EROFS)
_NO_FOLDER_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.EACCES)
_READ_BYTES = 1 << 20


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
    return path.is_file() and not path.is_symlink()


def is_plain_folder(path: Path) -> bool:
    return path.is_dir() and not path.is_symlink()
