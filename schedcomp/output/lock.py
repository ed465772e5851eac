"""One run at a time in a folder, by a lock of the operating system: it ends with the process."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NAME = ".schedcomp-lock"


@contextmanager
def locked(folder: Path) -> Iterator[bool]:
    """Whether the folder, which must be there, is ours meanwhile; OSError if it is not writable.

    The file stays: taking it away could take it from another run that waits for it.
    """
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0)
    handle = os.open(folder / NAME, flags, 0o666)
    try:
        yield _lock(handle)
    finally:
        os.close(handle)


def _lock(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
